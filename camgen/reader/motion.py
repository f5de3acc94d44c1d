"""Motion as a control would make it of a program's text.

Arrays rather than objects: proofs and pictures work on whole programs at once. Lengths are mm,
angles degrees, feeds mm/min, speeds rev/min, times seconds, whatever units the program is in.
"""

from __future__ import annotations

from enum import IntEnum
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from camgen.values import dataclass

__all__ = ["Event", "Finding", "Kind", "Motion", "ReadProgram"]

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]


class Kind(IntEnum):
    """What a piece of motion is."""

    RAPID = 0
    LINE = 1
    ARC_CLOCKWISE = 2
    ARC_ANTICLOCKWISE = 3
    INDEX = 4


@dataclass(frozen=True)
class Motion:
    """n pieces of motion in the order they are made.

    ``kind`` (n,) of :class:`Kind`; ``line`` (n,) the program's line, from 1; ``start`` and ``end``
    (n, 3) X Y Z; ``centre`` (n, 3), absolute, meaningless along the normal of ``plane`` and nan for
    straight moves; ``plane`` (n,) the axis normal to the arc, 0 X, 1 Y, 2 Z; ``turns`` (n,) whole
    turns beyond the first of an arc; ``angle_start`` and ``angle_end`` (n,) the dividing head's
    position, degrees, counted on without wrapping; ``feed`` (n,) mm/min along the path, nan for
    rapids; ``speed`` (n,) rev/min, negative when anticlockwise, 0 when off; ``cutter`` (n,) number
    of the cutter in the spindle, 0 before any is known.

    Each piece starts where the one before it ended. The reader leaves no gaps: a place nobody knows
    yet is taken to be the first one given after it, so that the first moves may go nowhere; a
    height "up, out of the way" (reference point, machine zero) to be the greatest of the program.
    Which cuts begin at such places is told by the findings.
    """

    kind: Ints
    line: Ints
    start: Floats
    end: Floats
    centre: Floats
    plane: Ints
    turns: Ints
    angle_start: Floats
    angle_end: Floats
    feed: Floats
    speed: Floats
    cutter: Ints

    def __len__(self) -> int:
        return len(self.kind)


EventKind: TypeAlias = Literal[
    "stop", "optional-stop", "dwell", "cutter-change", "coolant", "clamp", "unclamp", "end",
    "comment", "hand-index",
]


@dataclass(frozen=True, slots=True)
class Event:
    """Something a program does besides moving.

    ``before`` is the number of pieces of motion made before it. ``text`` holds a comment, a stop's
    message, or a word; ``value`` a dwell's seconds, a cutter's number or a hand index's degrees.
    A hand index is a piece of motion too.
    """

    kind: EventKind
    line: int
    before: int
    text: str = ""
    value: float = 0.0


@dataclass(frozen=True, slots=True)
class Finding:
    """Something about the text that a person should know. ``grave``: do not run this program."""

    message: str
    line: int
    column: int = 0
    grave: bool = False


@dataclass(frozen=True)
class ReadProgram:
    """A program as read: its text's lines, the motion, the events, the findings."""

    name: str
    lines: tuple[str, ...]
    motion: Motion
    events: tuple[Event, ...]
    findings: tuple[Finding, ...]
    units: Literal["mm", "inch"]
    words: dict[str, int]
