"""What a control has done so far, what it was told besides moving, and what is to be said of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import field
from functools import lru_cache
from typing import Final, Literal, TypeAlias

from camgen.messages import Message
from camgen.reader.motion import FIGURES, Event, EventKind, Figure, Kind, Told
from camgen.reader.notes import Notes, Refusals
from camgen.reader.slides import Slides
from camgen.values import dataclass

__all__ = ["COLUMNS", "NAN", "WATCHED", "Journal", "MotionRow", "not_shown"]

COLUMNS: Final = 15
MotionRow: TypeAlias = tuple[
    float, float, float, float, float, float, float, float, float, float, float, float, float,
    float, float,
]
"""kind, line, end X Y Z, centre X Y Z, plane, turns, angle, feed, speed, cutter, station."""

NAN: Final = math.nan
WATCHED: Final = 8
"""So many moves are told of by their words after a place where hands may have been."""


@lru_cache(maxsize=256)
def not_shown(word: str) -> Message:
    """What is said of a word that nothing is known of; a foreign program may have it everywhere."""
    return Message("{word} is not known here: what it makes the machine do is not shown", word=word)


@dataclass(slots=True)
class Journal:
    """Everything done and said, in order.

    ``signs`` are the senses of the axes against ISO 841's, ``slides`` what was measured of them;
    ``rows`` the pieces of motion since the last were taken away, ``made_before`` how many that
    were, with the angle and the kind of the last; ``words`` how often each word was read; ``said``
    what need not be said a second time.
    ``watch`` is how many of the next moves are told of by their words, since what stands where is
    not known; ``told_words`` which word of a group was told last.
    """

    notes: Notes
    signs: tuple[float, float, float]
    slides: Slides | None = None
    rows: list[MotionRow] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    record: list[Event | Told] = field(default_factory=list)
    refusals: Refusals = field(default_factory=Refusals)
    words: dict[str, int] = field(default_factory=dict)
    made_before: int = 0
    angle_before: float = 0.0
    kind_before: float = float(Kind.RAPID)
    said: set[str] = field(default_factory=set)
    comment: tuple[int, str] = (0, "")
    watch: int = WATCHED
    told_words: dict[str, int] = field(default_factory=dict)

    @property
    def made(self) -> int:
        """Pieces of motion made so far."""
        return self.made_before + len(self.rows)

    @property
    def cutting(self) -> bool:
        """Whether the last piece made was a cut: the cutter has not been taken out since."""
        kind = self.rows[-1][0] if self.rows else self.kind_before
        return kind not in (Kind.RAPID, Kind.INDEX)

    def event(self, kind: EventKind, line: int, text: str = "", value: float = 0.0) -> None:
        """Note something done besides moving."""
        event = Event(kind, line, self.made, text, value)
        self.events.append(event)
        self.record.append(event)
        if kind in ("stop", "optional-stop", "cutter-change"):
            self.watch = WATCHED

    def tell(
        self,
        kind: Literal["word", "spindle", "step", "shift", "gone", "way", "head", "skip", "blank",
                      "pulse", "answered", "touch", "zero", "length"],
        line: int, text: str = "", value: float = NAN, place: Sequence[float] = (NAN, NAN, NAN),
    ) -> None:
        """Note what the control is told; ``place`` in its own sense of each axis."""
        x, y, z = (at * sign for at, sign in zip(place, self.signs, strict=True))
        self.record.append(Told(kind, line, self.made, text, value, (x, y, z)))

    def tell_word(self, line: int, group: str, code: int, value: float = NAN) -> None:
        """Note a G word (in tenths) that sets something; one that was told last, not again."""
        if self.told_words.get(group) != code or value == value:
            self.told_words[group] = code
            self.tell("word", line, f"G{code / 10:g}", value)

    def tell_way(self, line: int, how: str, target: Sequence[float], given: set[int]) -> None:
        """Note one of the first moves after a place where hands may have been."""
        self.watch -= 1
        if self.slides is not None:
            x, y, z = (at * sign for at, sign in zip(target, self.signs, strict=True))
            target = [at * sign for at, sign in zip(self.slides.stands_alone((x, y, z)),
                                                    self.signs, strict=True)]
        self.tell("way", line, how,
                  place=[target[axis] if axis in given else NAN for axis in range(3)])

    def grave(
        self, message: Message, line: int, column: int = 0, sort: str = "",
        unsure: tuple[Figure, ...] = (),
    ) -> None:
        """Note something for which this program must not be run.

        ``unsure`` are the figures that cannot be relied on from here on.
        """
        self.notes.add(message, line, column, grave=True, sort=sort, unsure=unsure)

    def unknown(
        self, message: Message, line: int, column: int, unsure: tuple[Figure, ...] = FIGURES,
        word: str = "",
    ) -> None:
        """Note something not known: each with its place, however many. ``word``: what it is."""
        self.notes.add(message, line, column, grave=True, unsure=unsure, unknown=True, word=word)

    def refuse(self, message: Message, line: int, column: int) -> None:
        """Note something for which nothing can be said of this program."""
        self.refusals.add(message, line, column)

    def once(self, key: str) -> bool:
        """Whether ``key`` is said for the first time."""
        if key in self.said:
            return False
        self.said.add(key)
        return True

    def comment_at(self, line: int) -> str:
        """The comment in this line or the one before it; empty where there is none."""
        said, text = self.comment
        return text if said >= line - 1 else ""
