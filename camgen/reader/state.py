"""What a control holds while it carries out a program, and what it has done so far.

Places are kept in the control's own sense of each axis, mm, in the frame of the work offset in
force, without local shifts. ``nan`` is a place nobody knows; ``inf`` along Z is "up, out of the
way".
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import field
from typing import Final, Literal, TypeAlias

from camgen.reader.dialect import Dialect
from camgen.reader.motion import FIGURES, Event, EventKind, Figure, Kind, Told
from camgen.reader.notes import Notes, Refusals
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = ["COLUMNS", "NAN", "PLANES", "WATCHED", "Row", "State"]

COLUMNS: Final = 15
Row: TypeAlias = tuple[
    float, float, float, float, float, float, float, float, float, float, float, float, float,
    float, float,
]
"""kind, line, end X Y Z, centre X Y Z, plane, turns, angle, feed, speed, cutter, station."""

# The two axes of the plane whose normal is X, Y, Z: ISO 841's order, so that anticlockwise turns
# the first towards the second.
PLANES: Final = ((1, 2), (2, 0), (0, 1))
NAN: Final = math.nan
WATCHED: Final = 8
"""So many moves are told of by their words after a place where hands may have been."""


@dataclass(slots=True)
class State:
    """A control's state, and what it has done so far.

    G words are kept in tenths, −1 where none is in force. ``lost`` are the axes whose place must be
    given anew before anything is cut; ``said`` what need not be said a second time. ``number_step``
    is what block numbers go on by, 0 before it is known and -1 once they have proved uneven.
    ``watch`` is how many of the next moves are told of by their words, since what stands where is
    not known; ``told_words`` which word of a group was told last.
    """

    machine: Machine
    dialect: Dialect
    name: str
    notes: Notes
    rows: list[Row] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    record: list[Event | Told] = field(default_factory=list)
    refusals: Refusals = field(default_factory=Refusals)
    words: dict[str, int] = field(default_factory=dict)
    made_before: int = 0
    angle_before: float = 0.0
    kind_before: float = float(Kind.RAPID)

    motion: int = -1
    plane: int = 2
    absolute: bool = True
    centre_absolute: bool = False
    unit: float = 1.0
    feed_mode: int = 940
    feed: float = NAN
    feed_unit: float = 1.0
    side: int = 400
    length_offset: int = 0
    work: int = 0
    station: int = 1
    to_level: bool = False
    position: list[float] = field(default_factory=lambda: [NAN, NAN, NAN])
    shift: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    old_shift: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    lost: set[int] = field(default_factory=lambda: {0, 1, 2})
    angle: float = 0.0
    turned: bool = False
    rate: float = 0.0
    sense: int = 0
    cutter: int = 0
    selected: int = 0
    cycle: dict[str, float] = field(default_factory=dict)
    return_level: float | None = None
    said: set[str] = field(default_factory=set)
    ended: bool = False
    comment: tuple[int, str] = (0, "")
    numbered: bool = True
    first_number: float = -1.0
    block_number: float = -1.0
    number_step: float = 0.0
    told: int = 0
    told_text: str = ""
    moved_cutting: bool = False
    started: bool = False
    watch: int = WATCHED
    told_words: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.unit = 25.4 if self.machine.program.units == "inch" else 1.0
        self.centre_absolute = self.machine.arcs.style == "absolute"
        self.to_level = self.machine.cycles.return_level in ("G99", "none")
        stands_at = self.machine.offsets.stands_at
        if stands_at is not None:
            self.position = list(stands_at)
            self.lost = set()

    @property
    def made(self) -> int:
        """Pieces of motion made so far."""
        return self.made_before + len(self.rows)

    @property
    def speed(self) -> float:
        """The spindle's speed, rev/min, signed."""
        return self.sense * self.rate

    @property
    def cutting(self) -> bool:
        """Whether the last piece made was a cut: the cutter has not been taken out since."""
        kind = self.rows[-1][0] if self.rows else self.kind_before
        return kind not in (Kind.RAPID, Kind.INDEX)

    @property
    def wrong_length(self) -> bool:
        """Whether no cutter length is in force, or that of a cutter that was taken out."""
        return not self.length_offset or bool(
            self.cutter and self.length_offset != self.cutter)

    def event(self, kind: EventKind, line: int, text: str = "", value: float = 0.0) -> None:
        """Note something done besides moving."""
        event = Event(kind, line, self.made, text, value)
        self.events.append(event)
        self.record.append(event)
        if kind in ("stop", "optional-stop", "cutter-change"):
            self.watch = WATCHED

    def tell(
        self,
        kind: Literal["word", "spindle", "shift", "gone", "way", "head", "skip", "blank"],
        line: int, text: str = "", value: float = NAN, place: Sequence[float] = (NAN, NAN, NAN),
    ) -> None:
        """Note what the control is told; ``place`` in its own sense of each axis."""
        x, y, z = (at * sign for at, sign in zip(place, self.dialect.signs, strict=True))
        self.record.append(Told(kind, line, self.made, text, value, (x, y, z)))

    def tell_word(self, line: int, group: str, code: int, value: float = NAN) -> None:
        """Note a G word (in tenths) that sets something; one that was told last, not again."""
        if self.told_words.get(group) != code or value == value:
            self.told_words[group] = code
            self.tell("word", line, f"G{code / 10:g}", value)

    def tell_way(self, line: int, how: str, target: Sequence[float], given: set[int]) -> None:
        """Note one of the first moves after a place where hands may have been."""
        self.watch -= 1
        self.tell("way", line, how,
                  place=[target[axis] if axis in given else NAN for axis in range(3)])

    def grave(
        self, message: str, line: int, column: int = 0, sort: str = "",
        unsure: tuple[Figure, ...] = (),
    ) -> None:
        """Note something for which this program must not be run.

        ``unsure`` are the figures that cannot be relied on from here on.
        """
        self.notes.add(message, line, column, grave=True, sort=sort, unsure=unsure)

    def unknown(
        self, message: str, line: int, column: int, unsure: tuple[Figure, ...] = FIGURES,
        word: str = "",
    ) -> None:
        """Note something not known: each with its place, however many. ``word``: what it is."""
        self.notes.add(message, line, column, grave=True, unsure=unsure, unknown=True, word=word)

    def refuse(self, message: str, line: int, column: int) -> None:
        """Note something for which nothing can be said of this program."""
        self.refusals.add(message, line, column)

    def once(self, key: str) -> bool:
        """Whether ``key`` is said for the first time."""
        if key in self.said:
            return False
        self.said.add(key)
        return True

    def _emit(
        self,
        kind: Kind,
        line: int,
        end: Sequence[float],
        feed: float,
        centre: Sequence[float] = (NAN, NAN, NAN),
        turns: int = 0,
    ) -> None:
        self.rows.append(
            (
                float(kind), float(line), end[0], end[1], end[2], centre[0], centre[1], centre[2],
                float(self.plane), float(turns), self.angle, feed, self.sense * self.rate,
                float(self.cutter), float(self.station),
            )
        )

    def comment_at(self, line: int) -> str:
        """The comment in this line or the one before it; empty where there is none."""
        said, text = self.comment
        return text if said >= line - 1 else ""
