"""Faults whose path is right are found too, and harmless spellings raise no alarm.

States left on, words in the wrong order, stops and waits gone, messages that lie, marks. The long
run plants them in every demo job on every machine file and prints the table; the default one in a
few programs. ``NEEDS`` says of the kinds that cannot matter on every machine what they need.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from planting.harmless import SPELLINGS
from planting.harness import Made, made
from planting.slips import NEEDS, SLIPS
from sampling import sampled

from camgen.faults import Refused
from camgen.reader import read_program
from camgen.shipped import demo_jobs

TOP = Path(__file__).resolve().parent.parent
JOBS = list(demo_jobs())
POSTS = sorted(path.stem for path in (TOP / "postprocessors").glob("*.yaml"))
SEED = 20261130
LANGUAGES = ("en", "de", "fr")
FEW = [("seconds-pinion", "plain-iso"), ("seconds-pinion", "with-cycles"),
       ("wheel-by-hand", "hand-dividing"), ("seconds-pinion", "numbers-without-point"),
       ("seconds-pinion", "small-memory"), ("ratchet-wheel", "with-cycles"),
       ("ratchet-wheel", "signed-rotary-inverse-time"), ("ratchet-wheel", "shortest-way-rotary"),
       ("ratchet-wheel", "upright-rotary-horizontal-cutter")]
# Programs in parts, and messages in other languages.
SPOKEN = [("wheel-by-hand", "hand-dividing", "de"), ("wheel-by-hand", "hand-dividing", "fr"),
          ("wheel-by-hand", "one-program-per-cutter", "de")]


@dataclass
class Count:
    """Of each kind how many were found and which were not."""

    found: Counter[str] = field(default_factory=Counter)
    missed: dict[str, list[str]] = field(default_factory=dict)
    crashed: list[str] = field(default_factory=list)

    def share(self, kind: str) -> float:
        """Share of a kind that was found; 1 where none could be planted."""
        missed = len(self.missed.get(kind, ()))
        return self.found[kind] / max(1, self.found[kind] + missed) if missed else 1.0

    def table(self) -> str:
        """Kinds against what came of them."""
        rows = ["| fault | found | missed |", "| --- | --- | --- |"]
        rows += [f"| {kind} | {self.found[kind]} | {len(self.missed.get(kind, ()))} |"
                 for kind in SLIPS]
        lost = sum(len(some) for some in self.missed.values())
        return "\n".join([*rows, f"| all | {self.found.total()} | {lost} |"])


def answer(programs: Made, number: int, lines: list[str]) -> str | None:
    """What finds a changed program: a refusal, or the proof that does not hold."""
    try:
        read = read_program("\r\n".join(lines) + "\r\n", programs.machine,
                            programs.read[number].name)
    except Refused as no:
        return f"refused: {no.faults[0].message}"
    return programs.first_failing(
        [*programs.read[:number], read, *programs.read[number + 1:]])


def plant(
    programs: Made, each: int, count: Count, only: str = "", share: float = 1.0
) -> None:
    """Every kind, or those whose names hold ``only``, ``each`` times in one setup's programs.

    ``share`` of the kinds are planted, drawn for each setup: none is planted in flat work alone.
    """
    chance = random.Random(f"{SEED} {programs.name}")
    for kind, fault in SLIPS.items():
        if only not in kind or random.Random(f"{kind} {programs.name}").random() > share:
            continue
        for _ in range(each):
            number = chance.randrange(len(programs.texts))
            lines = programs.texts[number].splitlines()
            changed = fault(lines, chance, programs.machine)
            if changed is None or changed == lines:
                break
            try:
                found = answer(programs, number, changed)
            except Exception as error:
                count.crashed.append(f"{kind}: {programs.name}: {error!r}")
                continue
            if found is None:
                at = next((n for n, (a, b) in enumerate(zip(lines, changed, strict=False))
                           if a != b), 0)
                count.missed.setdefault(kind, []).append(
                    f"{programs.name}, line {at + 1}: {lines[at]!r} -> {changed[at]!r}")
            else:
                count.found[kind] += 1


def told(count: Count) -> str:
    """The kinds that are not always found."""
    return "\n".join(f"{kind}: {count.found[kind]} found, {len(some)} missed, as {some[0]}"
                     for kind, some in sorted(count.missed.items()))


def test_faults_of_state_planted_in_a_few_programs_are_found() -> None:
    count = Count()
    for job, post in FEW[::3]:
        for programs in made(TOP / "jobs" / f"{job}.yaml", post):
            assert programs.first_failing(programs.read) is None, programs.name
            plant(programs, 1, count, share=0.1)
    for job, post, language in SPOKEN[::2]:
        for programs in made(TOP / "jobs" / f"{job}.yaml", post, language):
            plant(programs, 1, count, only="message")
    assert not count.crashed, "\n".join(count.crashed)
    assert count.found.total() > 25
    assert not count.missed, told(count)


@pytest.mark.long
def test_faults_of_state_planted_in_all_demo_jobs_on_all_machines_are_found() -> None:
    count = Count()
    for number, job in enumerate(JOBS):
        for place, post in enumerate(POSTS):
            # Each language in turn, so that every machine file has every language.
            for programs in made(job, post, LANGUAGES[(number + place) % len(LANGUAGES)]):
                plant(programs, 1, count)
    print("\n" + count.table())
    print(told(count))
    assert not count.crashed, "\n".join(count.crashed)
    never = [kind for kind in SLIPS if not count.found[kind] and kind not in count.missed]
    assert set(never) <= set(NEEDS), never
    assert all(count.share(kind) >= 0.995 for kind in SLIPS), told(count)


def test_there_are_enough_kinds_and_those_that_need_something_say_what() -> None:
    assert len(SLIPS) >= 68
    assert len(SPELLINGS) >= 60
    assert set(NEEDS) <= set(SLIPS)


def spelt(programs: Made, name: str, seed: int) -> str | None:
    """What alarm a harmless spelling raises."""
    lines = programs.texts[0].splitlines()
    changed = SPELLINGS[name](lines, random.Random(seed), programs.machine)
    if changed is None:
        return None
    return answer(programs, 0, changed)


def alarms(job: str, post: str, every: int = 1) -> list[str]:
    """The spellings, or one of ``every``, of a job's programs that raise an alarm."""
    return [f"{programs.name}: {name}: {alarm}"
            for programs in made(TOP / "jobs" / f"{job}.yaml", post)
            for name in list(SPELLINGS)[::every]
            if (alarm := spelt(programs, name, SEED)) is not None]


@pytest.mark.parametrize(("job", "post"), sampled([
    ("seconds-pinion", post) for post in ("plain-iso", "hand-dividing", "small-memory")], 3))
def test_harmless_spellings_raise_no_alarm(job: str, post: str) -> None:
    found = alarms(job, post, 3)
    assert not found, "\n".join(found)


@pytest.mark.long
@pytest.mark.parametrize("post", POSTS)
def test_harmless_spellings_of_all_demo_jobs_raise_no_alarm(post: str) -> None:
    found = [one for job in JOBS for one in alarms(job.stem, post)]
    assert not found, "\n".join(found[:40])


@pytest.mark.long
def test_every_spelling_is_taken_by_some_machine() -> None:
    taken = set()
    for job, post in FEW:
        for programs in made(TOP / "jobs" / f"{job}.yaml", post):
            lines = programs.texts[0].splitlines()
            taken |= {name for name, one in SPELLINGS.items()
                      if one(lines, random.Random(SEED), programs.machine) is not None}
    assert taken == set(SPELLINGS), set(SPELLINGS) - taken
