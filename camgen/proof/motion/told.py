"""What a program tells its control, in order: what the proofs of state and of stops go through."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import TypeAlias

import numpy as np

from camgen.faults import parted
from camgen.messages import NOTHING, Message, counted
from camgen.proof.evidence import Evidence
from camgen.proof.result import Proof, ProofId
from camgen.reader.dialect import dialect_of
from camgen.reader.motion import Event, ReadProgram, Told
from camgen.values import dataclass

__all__ = ["Counted", "Faults", "Parts", "WayOut", "and_more", "in_lines", "level", "listed",
           "longest_wait", "otherwise", "skipped", "stretches", "told_faults", "trusted", "walked",
           "way_out"]

# Words that carry motion out otherwise than it is written, or take it out of the operator's hands.
_OTHERWISE = {
    "G9": Message("an exact stop"), "G61": Message("exact stops"),
    "G61.1": Message("exact stops"), "G64": Message("a path that goes round corners"),
    "G95": Message("feed by the turn"), "M49": Message("overrides locked"),
    "M48": Message("overrides"), "G52": Message("a shift of the zero"),
    "G92": Message("a shift of the zero"), "G92.1": Message("a shift of the zero ended"),
    "G92.2": Message("a shift of the zero ended"), "G92.3": Message("an old shift of the zero"),
}

Parts: TypeAlias = list[tuple[int, int, Event | Told | None]]
"""What one program tells, each with the pieces of motion (first, last + 1) made before it."""


@dataclass(frozen=True)
class WayOut:
    """How the cutter is drawn back: along ``axis`` (0, 1 or 2) to ``to`` mm or beyond it.

    ``outward`` is +1 where the axis grows away from the work, −1 where it falls; ``to`` is nan
    where nobody says.
    """

    axis: int
    to: float
    outward: float

    def beyond(self, place: float, room: float) -> bool:
        """Whether ``place`` mm is clear, to within ``room`` mm; where nobody says, it is."""
        return not (place - self.to) * self.outward < -room


def way_out(evidence: Evidence) -> WayOut:
    """The setup's way out: of the plan where there is one, else of the layout."""
    sign, letter = evidence.layout.infeed
    to = evidence.moves.retract_to if evidence.moves is not None else evidence.layout.clear_at
    return WayOut("XYZ".index(letter), to, -1.0 if sign == "+" else 1.0)


@dataclass(frozen=True)
class Counted:
    """A proof of what programs tell: its id, its sentence, and what is counted."""

    known_by: ProofId
    name: Message
    unit: str


@dataclass(frozen=True)
class Faults:
    """What a proof finds amiss in one program: what, and the line."""

    program: ReadProgram
    begun: int
    found: list[tuple[Message, int]]

    def add(self, what: Message, line: int) -> None:
        """One more."""
        self.found.append((what, line))


def and_more(said: Message, lines: Sequence[int]) -> Message:
    """What is ``said`` of some faults, and in which lines those stand that are not told so.

    >>> [and_more(Message("a stop"), lines) for lines in ([], [7], [7, 9])]
    ['a stop', 'a stop; 1 more, in line 7', 'a stop; 2 more, in lines 7, 9']
    """
    if not lines:
        return said
    named = ", ".join(map(str, lines[:10])) + " …" * (len(lines) > 10)
    return parted((said, counted("{n} more, in line {lines}", "{n} more, in lines {lines}",
                                 len(lines), lines=named)))


def listed(things: Sequence[str]) -> Message:
    """Things with commas between them; nothing where there are none.

    >>> listed(["first.nc", "second.nc"])
    'first.nc, second.nc'
    """
    return Message("{things}", things=tuple(things)) if things else NOTHING


def in_lines(lines: Sequence[int]) -> Message:
    """The first few lines of a program in which something stands.

    >>> in_lines([4, 9])
    'line 4, line 9'
    """
    return listed([Message("line {line}", line=line) for line in lines[:5]])


def told_faults(
    evidence: Evidence, known_by: ProofId, name: Message, unit: str, faults: list[Faults]
) -> Proof:
    """The proof that there are none; it names the first few, with their programs and lines."""
    every = [(one.program, what, line) for one in faults for what, line in one.found]
    where, program, line = NOTHING, "", 0
    if every:
        where = and_more(parted(
            Message("{file}, line {line}: {what}", file=program.where(line)[0],
                    line=program.where(line)[1], what=what) for program, what, line in every[:3]
        ), [line for _, _, line in every[3:]])
        program, line = every[0][0].name, every[0][2]
    return Proof(known_by, name, evidence.setup, not every, float(len(every)), 0.0, unit, where,
                 line, program=program)


def walked(
    evidence: Evidence, asked: Sequence[Counted],
    walk: Callable[[ReadProgram, int, Parts, tuple[Faults, ...]], None],
) -> Iterator[Proof]:
    """The proofs ``asked``, out of one walk through what each program tells.

    ``walk`` is given a program, how many pieces come before it, its parts, and faults to add to,
    one for each proof asked and in their order; it keeps what the control holds meanwhile.
    """
    found: list[tuple[Faults, ...]] = []
    for program, begun, parts in stretches(evidence):
        mine = tuple(Faults(program, begun, []) for _ in asked)
        walk(program, begun, parts, mine)
        found.append(mine)
    for place, one in enumerate(asked):
        yield told_faults(evidence, one.known_by, one.name, one.unit,
                          [mine[place] for mine in found])


def longest_wait(evidence: Evidence) -> float:
    """Seconds beyond which a wait is a slip; infinity where no plan says what is wanted.

    Twice the longest wanted, and never less than a minute. Common practice, no source.
    """
    machine, planned = evidence.machine, evidence.planned
    if planned is None:
        return math.inf
    spindle = machine.spindle
    wanted = (*planned.waits, spindle.start_seconds, spindle.reversal_seconds or 0.0,
              sum(seconds for _, seconds in machine.spindle_words.warm_up))
    return max(60.0, 2.0 * max(wanted))


def trusted(evidence: Evidence, word: str) -> bool:
    """Whether a word stands in the machine file's own blocks or among its safe words."""
    number = float(word[1:])
    code = round(number * 10) if word[0] == "G" else round(number)
    return (word[0], code) in dialect_of(evidence.machine).trusted


def otherwise(evidence: Evidence, word: str) -> Message | None:
    """How a word carries motion out otherwise than it is written, where that is not meant."""
    offsets = evidence.machine.offsets
    meant = word == offsets.shift or (word == "G92" and offsets.stands_at) or (
        word == "G95" and evidence.machine.program.feed == "per-turn")
    if word not in _OTHERWISE or meant or trusted(evidence, word):
        return None
    return _OTHERWISE[word]


def skipped(program: ReadProgram) -> frozenset[int]:
    """Lines whose block the skip switch leaves out."""
    return frozenset(one.line for one in program.told
                     if isinstance(one, Told) and one.kind == "skip")


def stretches(
    evidence: Evidence,
) -> Iterator[tuple[ReadProgram, int, Parts]]:
    """Each program, how many pieces came before it, and its told things with the pieces before.

    The pieces (first, last + 1) are counted over all programs; the last stretch has no told thing.
    """
    begun = 0
    for program in evidence.programs:
        at = begun
        parts: Parts = []
        for one in program.told:
            parts.append((at, begun + one.before, one))
            at = begun + one.before
        end = begun + len(program.motion)
        parts.append((at, end, None))
        yield program, begun, parts
        begun = end


def level(evidence: Evidence, row: int, axis: int) -> float:
    """Where a piece ends along an axis, mm; nan where no piece is."""
    return float(evidence.motion.end[row, axis]) if row >= 0 else float(np.nan)
