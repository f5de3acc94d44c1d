"""Plants faults in the programs of jobs and counts which of them the proofs find.

A fault that leaves a machine doing exactly what it did is no fault: whether it does is found by
comparing what the two texts make it do, never by a list of exceptions.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, fields
from functools import lru_cache
from pathlib import Path

import numpy as np

from camgen.faults import Refused
from camgen.job.models import Job
from camgen.job.reading import read_job
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import each_proof, gather, prove_motion
from camgen.proof.ground.planned import Planned, lay_out
from camgen.proof.path import is_arc, is_cut, moves_nothing, plane_axes, select, sweeps
from camgen.reader import read_program
from camgen.reader.motion import Motion, ReadProgram
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine
from camgen.steps import step_words
from camgen.words import program_words
from planting.faults import KINDS

__all__ = ["Made", "Outcome", "Tally", "does_the_same", "made", "plant"]

# Words that set where and how everything after them is meant.
_SETTING = ("G20", "G21", "G54", "G55", "G56", "G57", "G58", "G59", "G43", "G92")
# A path that differs by less than this, mm, is the same for any machine with steps of 0.001 mm.
NOTHING = 0.001
_DOING = ("stop", "optional-stop", "dwell", "cutter-change", "coolant", "clamp", "unclamp",
          "hand-index", "end")


@dataclass(frozen=True)
class Made:
    """One setup of one job on one machine: its programs as written and as read."""

    name: str
    job: Job
    machine: Machine
    planned: PlannedSetup
    texts: tuple[str, ...]
    read: tuple[ReadProgram, ...]
    laid_out: Planned

    def first_failing(self, programs: Sequence[ReadProgram], with_plan: bool = True) -> str | None:
        """Name of the first proof that does not hold on these programs.

        Programs that move as this setup's own do are asked the proofs of motion alone, where all
        else that they say is looked at: what is cut by the same way is proved already.
        """
        evidence = gather(
            self.planned.name, self.job, self.machine, self.planned.layout,
            self.planned.moves, programs, planned_cuts=self.planned.cuts,
        )
        if not with_plan:
            evidence = gather(
                self.planned.name, self.job, self.machine, self.planned.layout, None, programs,
                evidence.cutters,
            )
        else:
            # The same plan every time, laid out once.
            vars(evidence)["planned"] = self.laid_out
        proofs = each_proof
        if with_plan and all(map(_moves_alike, programs, self.read)):
            proofs = prove_motion
        return next((str(proof.id) for proof in proofs(evidence) if not proof.holds), None)


def _moves_alike(one: ReadProgram, two: ReadProgram) -> bool:
    """Whether the same is moved, to the last bit, and clamped and stopped as often; on any lines.
    """
    return one is two or (_did(one) == _did(two) and all(
        np.array_equal(getattr(one.motion, column.name), getattr(two.motion, column.name),
                       equal_nan=True)
        for column in fields(Motion) if column.name != "line"))


def _did(program: ReadProgram) -> list[tuple[str, float]]:
    return [(event.kind, event.value) for event in program.events if event.kind in _DOING]


@dataclass(frozen=True)
class Outcome:
    """What came of one planted fault.

    ``effect``: "none", "motion" (motion, speed, feed or where it is) or "other" (a stop, a wait,
    coolant). ``found`` is the proof that found it, None when none did; ``crashed`` what was raised
    that should not have been.
    """

    kind: str
    where: str
    effect: str
    found: str | None
    crashed: str = ""
    change: tuple[str, str] = ("", "")


def made(job_path: Path, post: str, language: str = "en") -> tuple[Made, ...]:
    """Every setup of a job on a machine, its messages in ``language``."""
    return _made_once(job_path.read_bytes(), job_path, post, language)


@lru_cache(maxsize=60)
def _made_once(_: bytes, job_path: Path, post: str, language: str) -> tuple[Made, ...]:
    return tuple(_made(job_path, post, language))


def _made(job_path: Path, post: str, language: str) -> Iterator[Made]:
    job_file = read_job(job_path, step_words())
    machine = find_machine(post, job_path.parent.parent)
    for planned in plan_job(job_file, machine).setups:
        programs = write_programs(planned.moves, machine, stem=job_path.stem,
                                  spoken=program_words(language))
        texts = tuple(program.text.decode("ascii") for program in programs)
        read = tuple(
            read_program(text, machine, program.file, infeed=planned.moves.retract_axis)
            for text, program in zip(texts, programs, strict=True)
        )
        name = f"{job_path.stem} {planned.name}, {post}"
        name += "" if language == "en" else f", {language}"
        yield Made(name, job_file.job, machine, planned, texts, read, lay_out(planned.moves))


def does_the_same(a: ReadProgram, b: ReadProgram) -> str:
    """"none" when two programs make a machine do the same; else what differs: "motion", "other"."""
    if any(a.words.get(word, 0) != b.words.get(word, 0) for word in _SETTING):
        return "motion"
    one, two = a.motion, b.motion
    one, two = select(one, ~moves_nothing(one)), select(two, ~moves_nothing(two))
    if len(one) != len(two) or np.any(one.kind != two.kind):
        return "motion"
    for name in ("start", "end", "angle_start", "angle_end", "feed", "cutter", "station"):
        if not np.allclose(getattr(one, name), getattr(two, name), 0, 1e-9, equal_nan=True):
            return "motion"
    cuts = is_cut(one)
    if np.any(one.speed[cuts] != two.speed[cuts]):
        return "motion"
    arcs = is_arc(one)
    if np.any(one.plane[arcs] != two.plane[arcs]) or np.any(one.turns[arcs] != two.turns[arcs]):
        return "motion"
    # Centres of short arcs may differ and the path stay the same: the path is looked at.
    if np.any(np.abs(_along(select(one, arcs)) - _along(select(two, arcs))) > NOTHING):
        return "motion"
    if np.any(one.speed != two.speed):
        return "other"
    return "none" if _did(a) == _did(b) else "other"


def _along(arcs: Motion) -> np.ndarray:
    """Points (n, 7, 3) along arcs, evenly spaced by angle."""
    sweep, begin, radius = sweeps(arcs)
    points = np.repeat(arcs.start[:, None, :], 7, axis=1)
    each = np.arange(len(arcs))
    first, second = plane_axes(arcs)
    for k in range(7):
        angle = begin + sweep * (k + 1) / 8
        points[each, k, first] = arcs.centre[each, first] + radius * np.cos(angle)
        points[each, k, second] = arcs.centre[each, second] + radius * np.sin(angle)
    return points


@dataclass
class Tally:
    """Outcomes by kind."""

    outcomes: list[Outcome] = field(default_factory=list)

    def add(self, outcomes: Iterable[Outcome]) -> None:
        """Count more."""
        self.outcomes.extend(outcomes)

    def share(self, effect: str = "motion") -> float:
        """Share of the faults with this effect that were found."""
        some = [o for o in self.outcomes if o.effect == effect]
        return sum(o.found is not None for o in some) / len(some) if some else 1.0

    def missed(self, effect: str = "motion") -> list[Outcome]:
        """Faults with this effect that no proof found."""
        return [o for o in self.outcomes if o.effect == effect and o.found is None]

    def table(self) -> str:
        """Kinds of faults against what came of them."""
        rows = ["| fault | planted | no effect | motion: found | missed | other: found | missed |",
                "| --- | --- | --- | --- | --- | --- | --- |"]
        for kind in [*KINDS, "all"]:
            some = [o for o in self.outcomes if kind in ("all", o.kind)]
            count = Counter((o.effect, o.found is not None) for o in some)
            rows.append(
                f"| {kind} | {len(some)} | {count['none', True] + count['none', False]} | "
                f"{count['motion', True]} | {count['motion', False]} | {count['other', True]} | "
                f"{count['other', False]} |"
            )
        return "\n".join(rows)


def plant(
    programs: Made, seed: int, each: int, kinds: Iterable[str] = KINDS, with_plan: bool = True
) -> Iterator[Outcome]:
    """Plant ``each`` faults of every kind, one at a time, in one setup's programs."""
    chance = random.Random(f"{seed} {programs.name}")
    for kind in kinds:
        for _ in range(each):
            number = chance.randrange(len(programs.texts))
            lines = programs.texts[number].splitlines()
            changed = KINDS[kind](lines, chance, programs.machine)
            if changed is None:
                break
            yield _outcome(programs, kind, number, lines, changed, with_plan)


def _outcome(
    programs: Made, kind: str, number: int, lines: list[str], changed: list[str], with_plan: bool
) -> Outcome:
    place = next(
        (n for n, (a, b) in enumerate(zip(lines, changed, strict=False)) if a != b),
        min(len(lines), len(changed)) - 1,
    )
    where = f"{programs.name}, line {place + 1}"
    change = (lines[place], changed[place] if place < len(changed) else "")
    text = "\r\n".join(changed) + "\r\n"
    try:
        read = read_program(text, programs.machine, programs.read[number].name,
                            infeed=programs.planned.moves.retract_axis)
    except Refused as no:
        return Outcome(kind, where, "motion", f"refused: {no.faults[0].message}", "", change)
    except Exception as error:
        return Outcome(kind, where, "motion", None, repr(error), change)
    effect = does_the_same(programs.read[number], read)
    if effect == "none":
        return Outcome(kind, where, effect, None, "", change)
    every = [*programs.read[:number], read, *programs.read[number + 1 :]]
    try:
        found = programs.first_failing(every, with_plan)
    except Exception as error:
        return Outcome(kind, where, effect, None, repr(error), change)
    return Outcome(kind, where, effect, found, "", change)
