"""Faults planted in the demo jobs' programs are found, and unharmed programs raise no alarm.

The long run plants in every demo job on every machine file; run it with ``-m long -s`` to see the
table. The goal is 99 in 100 of at least 2 000.
"""

from __future__ import annotations

import random
import re
from pathlib import Path

import numpy as np
import pytest
from planting.faults import KINDS
from planting.harness import Made, Outcome, Tally, does_the_same, made, plant
from sampling import sampled

from camgen.reader import read_program
from camgen.reader.motion import Kind
from camgen.shipped import demo_jobs

TOP = Path(__file__).resolve().parent.parent
JOBS = list(demo_jobs())
POSTS = sorted(path.stem for path in (TOP / "postprocessors").glob("*.yaml"))
SEED = 20261125
FEW = [
    ("seconds-pinion", "plain-iso"), ("ratchet-wheel", "with-cycles"),
    ("wheel-by-hand", "hand-dividing"), ("seconds-pinion", "numbers-without-point"),
]


def planted(jobs: list[tuple[Path, str]], each: int) -> tuple[Tally, list[str]]:
    """What came of the faults, and the proofs that fail on unharmed programs."""
    tally = Tally()
    alarms = []
    for job, post in jobs:
        for programs in made(job, post):
            alarm = programs.first_failing(programs.read)
            if alarm is not None:
                # Where a proof fails anyway nothing is shown by its finding a fault.
                alarms.append(f"{programs.name}: {alarm}")
                continue
            tally.add(plant(programs, SEED, each))
    return tally, alarms


def in_words(outcomes: list[Outcome]) -> str:
    return "\n".join(f"{o.kind}: {o.where}: {o.change[0]!r} -> {o.change[1]!r}" for o in outcomes)


def test_faults_planted_in_a_few_programs_are_found() -> None:
    tally, alarms = planted([(TOP / "jobs" / f"{job}.yaml", post) for job, post in FEW[:3]], 1)
    assert not alarms
    assert not [o for o in tally.outcomes if o.crashed], "no fault may end in a traceback"
    assert {o.kind for o in tally.outcomes if o.effect == "motion"} == set(KINDS)
    assert len(tally.outcomes) > 40
    assert tally.share("motion") >= 0.99, in_words(tally.missed())
    assert len(tally.missed("other")) <= 2, in_words(tally.missed("other"))


@pytest.mark.long
def test_faults_planted_in_all_demo_jobs_on_all_machines_are_found() -> None:
    tally, alarms = planted([(job, post) for job in JOBS for post in POSTS], 2)
    print("\n" + tally.table())
    print(in_words(tally.missed()))
    print(in_words(tally.missed("other")))
    assert not alarms, "false alarms:\n" + "\n".join(alarms)
    crashed = [o for o in tally.outcomes if o.crashed]
    assert not crashed, "\n".join(f"{o.where}: {o.crashed}" for o in crashed)
    assert len(tally.outcomes) >= 2000
    assert tally.share("motion") >= 0.99, in_words(tally.missed())


def changed(programs: Made, number: int, line: int, text: str) -> str | None:
    """The proof that finds line ``line`` (from 0) of a program changed to ``text``."""
    lines = programs.texts[number].splitlines()
    lines[line] = text
    read = read_program("\r\n".join(lines), programs.machine, programs.read[number].name)
    return programs.first_failing(
        [*programs.read[:number], read, *programs.read[number + 1 :]])


@pytest.mark.parametrize("post", ["plain-iso", "one-program-per-cutter"])
def test_a_place_gone_to_in_air_that_is_not_the_planned_one_is_found(post: str) -> None:
    """A rapid move at a safe height may meet a clamp, even where the next block mends its place."""
    tried = 0
    for programs in made(TOP / "jobs" / "ratchet-wheel.yaml", post):
        if programs.planned.setup.dividing is not None:
            continue
        for number, read in enumerate(programs.read):
            ups = read.motion.line[read.motion.kind == Kind.RAPID]
            for line in sorted({int(line) - 1 for line in ups}):
                text = read.lines[line]
                word = re.search(r"(?<=[XY])-?\d+\.?\d*", text)
                if word is None:
                    continue
                tried += 1
                other = f"{text[:word.start()]}{float(word[0]) + 2.5:.3f}{text[word.end():]}"
                assert changed(programs, number, line, other), (read.name, line + 1, text, other)
    assert tried >= 8


@pytest.mark.parametrize("post", sampled(["shortest-way-rotary", "signed-rotary-inverse-time"], 2))
def test_a_head_turned_slower_or_quicker_than_it_turns_is_found(post: str) -> None:
    (programs,) = made(TOP / "jobs" / "seconds-pinion.yaml", post)
    read = programs.read[0]
    turns = (read.motion.kind == Kind.INDEX) & np.isfinite(read.motion.feed)
    lines = [int(line) - 1 for line in read.motion.line[turns]][2:8]
    assert len(lines) == 6
    for line in lines:
        text = read.lines[line]
        for factor in (0.7, 1.3):
            other = re.sub(r"F(\d+\.?\d*)", lambda m, by=factor: f"F{float(m[1]) * by:.1f}", text)
            assert changed(programs, 0, line, other), (text, other)


def small() -> Made:
    return made(TOP / "jobs" / "seconds-pinion.yaml", "plain-iso")[0]


def again(programs: Made, text: str) -> str:
    return does_the_same(programs.read[0], read_program(text, programs.machine))


def test_writing_a_program_otherwise_changes_nothing_a_machine_would_do() -> None:
    programs = small()
    text = programs.texts[0]
    assert again(programs, text.replace(" ", "")) == "none"
    assert again(programs, text.lower()) == "none"
    assert again(programs, text.replace("G0 ", "G00 ")) == "none"


def test_what_a_machine_would_do_otherwise_is_seen() -> None:
    programs = small()
    text = programs.texts[0]
    assert again(programs, text.replace("Y0.125", "Y0.126", 1)) == "motion"
    assert again(programs, text.replace("G54", "G55")) == "motion"
    assert again(programs, text.replace("M0\r\n", "", 1)) == "other"


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_kind_of_fault_changes_one_place_of_the_text(kind: str) -> None:
    for job, post in FEW:
        for programs in made(TOP / "jobs" / f"{job}.yaml", post):
            lines = programs.texts[0].splitlines()
            changed = KINDS[kind](lines, random.Random(1), programs.machine)
            if changed is None:
                continue
            assert changed != lines
            same_head = next(n for n, (a, b) in enumerate(zip(lines, changed, strict=False))
                             if a != b)
            same_tail = next(n for n, (a, b) in enumerate(zip(lines[::-1], changed[::-1],
                                                              strict=False)) if a != b)
            assert len(lines) - same_head - same_tail <= 2
            return
    pytest.fail(f"no program offers a place for {kind!r}")
