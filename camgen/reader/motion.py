"""Motion as a control would make it of a program's text.

Arrays rather than objects: proofs and pictures work on whole programs at once. Lengths are mm,
angles degrees, feeds mm/min, speeds rev/min, times seconds, whatever units the program is in.
"""

from __future__ import annotations

from enum import IntEnum
from typing import Final, Literal, TypeAlias, get_args

from camgen.arrays import Floats, Ints
from camgen.messages import Message
from camgen.values import dataclass

__all__ = [
    "FIGURES", "Event", "Figure", "Finding", "Kind", "Motion", "ReadProgram", "Told", "file_of",
]



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
    of the cutter in the spindle, 0 before any is known; ``station`` (n,) which of the machine
    file's work offsets is in force, from 1 as where none is said, 0 for one that it does not name.
    How the stations' zeros lie to each other is not known: each piece ends at a place counted from
    its own.

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
    station: Ints

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


_NOWHERE: Final = (float("nan"),) * 3


@dataclass(frozen=True, slots=True)
class Told:
    """Something a control is told that is no event: what it holds from then on.

    ``before`` is the number of pieces of motion made before it. ``kind`` is

    - "word": a G or M word, ``text`` as in G54, which sets something; ``value`` its figure, such as
      the H of G43, nan where it has none;
    - "spindle": ``value`` rev/min from here on, negative when anticlockwise, 0 when off;
    - "step": the spindle is set to the step of ``value`` rev/min, ``text`` "by hand" or "by word";
    - "shift": the zero is shifted, to ``place`` from where the work offset has it; ``text`` holds
      the axes that G92 says the place of;
    - "gone": axes are sent to places in the machine's own coordinates, ``place``, by ``text`` G28,
      G30 or G53; nan for axes that are not named; ``value`` is nan where they go from where they
      stand, 0 where they go by a middle point, 1 where that is gone to from a place not known;
    - "way": one of the first moves after the start, a stop, a change of cutter or of the zero, by
      the words as they stand: ``text`` "rapid", "feed", "arc", "turn" or "second rotary", ``place``
      where it is sent, nan for axes that are not named;
    - "head": the dividing head is told where to stand for the first time in the program;
    - "skip": the block from here on has a stroke before it; ``text`` "stop" where it holds nothing
      but M0 or M1;
    - "blank": an empty comment;
    - "pulse": the head is turned by one step of its own; "answered": its answer is waited for;
    - "touch": a probe is moved along the axis ``text`` until it touches, meant to be at ``place``
      of it, ``value`` 1 towards greater places, -1 towards smaller ones;
    - "zero": the axis ``text`` is said to stand at ``place`` there, for good;
    - "length": a T word brings in the length offset ``value``, 0 where it ends it.
    """

    kind: Literal["word", "spindle", "step", "shift", "gone", "way", "head", "skip", "blank",
                  "pulse", "answered", "touch", "zero", "length"]
    line: int
    before: int
    text: str = ""
    value: float = float("nan")
    place: tuple[float, float, float] = _NOWHERE


Figure: TypeAlias = Literal["places", "depths", "feeds", "speeds", "cutters", "turns", "time"]
"""A part of what is said of a program: its extents, how deep it goes, and so on."""
FIGURES: Final[tuple[Figure, ...]] = get_args(Figure)


@dataclass(frozen=True, slots=True)
class Finding:
    """Something about the text that a person should know. ``grave``: do not run this program.

    ``unsure`` are the figures that cannot be relied on from here on, because the text says
    something that is not known here; ``word`` is then what is not known, where it is one word.
    """

    message: Message
    line: int
    column: int = 0
    grave: bool = False
    unsure: tuple[Figure, ...] = ()
    word: str = ""


@dataclass(frozen=True)
class ReadProgram:
    """A program as read: its text's lines, the motion, the events, the findings.

    ``unsure`` is, for each figure that cannot be relied on, the line from which on, in the order
    the control comes to them. ``told`` are the events once more, in their order among all else that
    the control is told. ``files`` are the names of other files whose lines follow the
    program's own, each with the number of its lines that come before: subprograms that stand
    beside it, or further parts of one program.
    """

    name: str
    lines: tuple[str, ...]
    motion: Motion
    events: tuple[Event, ...]
    findings: tuple[Finding, ...]
    units: Literal["mm", "inch"]
    words: dict[str, int]
    unsure: tuple[tuple[Figure, int], ...] = ()
    files: tuple[tuple[str, int], ...] = ()
    told: tuple[Event | Told, ...] = ()

    def where(self, line: int) -> tuple[str, int]:
        """The file that line ``line`` stands in, and which line of it that is."""
        name, before = file_of(self.name, self.files, line)
        return name, line - before


def file_of(name: str, files: tuple[tuple[str, int], ...], line: int) -> tuple[str, int]:
    """The file that ``line`` stands in, ``name`` where no other's; and how many lines precede it.

    >>> file_of("a.nc", (("b.nc", 20), ("c.nc", 30)), 25)
    ('b.nc', 20)
    """
    before = 0
    for other, first in files:
        if line > first:
            name, before = other, first
    return name, before
