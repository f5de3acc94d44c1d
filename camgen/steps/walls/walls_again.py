"""A wall that several steps of a setup cut: whether what one of them speaks of is there then.

What stands on a wall, or below it, is no more than the steps before left; so a skin, tabs or metal
beyond the drawing that a later step speaks of may not be there. All walls of a setup are gone
through once, in the order of its steps.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import field
from functools import lru_cache
from typing import TYPE_CHECKING, TypeAlias

from camgen.faults import Fault
from camgen.messages import Message
from camgen.part.declaration import Made, MakesCrossing, MakesOpenings, MakesOutline
from camgen.steps.kind import FlatBench
from camgen.tolerances import SAME_POINT
from camgen.values import dataclass

if TYPE_CHECKING:
    from camgen.job.models import Setup
    from camgen.steps.walls.contour import ContourWords

__all__ = ["again_faults", "cut_later"]

# A kind of wall and its name; a name of None where a step means all of them.
Wall: TypeAlias = tuple[type[Made], str | None]


@dataclass(frozen=True)
class _Cut:
    """One step at a wall: its number, and what it leaves ``standing`` below all along it, mm.

    ``alike`` is the same for steps that leave the same tabs at the same places.
    """

    number: int
    words: ContourWords
    standing: float
    alike: Hashable


@dataclass(frozen=True)
class _Before:
    """What the steps until now have left on one wall.

    ``lowest`` are the two that left least below and do not leave the same tabs, ``closest`` the one
    that left least beyond the drawing.
    """

    lowest: tuple[_Cut, ...] = ()
    closest: _Cut | None = None

    def with_(self, cut: _Cut) -> _Before:
        """After one more step."""
        lowest: dict[Hashable, _Cut] = {}
        for one in sorted((*self.lowest, cut), key=lambda one: one.standing):
            lowest.setdefault(one.alike, one)
        closest = self.closest
        if closest is None or cut.words.correction < closest.words.correction:
            closest = cut
        return _Before(tuple(lowest.values())[:2], closest)

    def deeper(self, cut: _Cut, height: float) -> _Cut | None:
        """A step that left less than ``height`` where another leaves that much."""
        return next((one for one in self.lowest
                     if one.alike != cut.alike and one.standing < height - SAME_POINT), None)


@dataclass(frozen=True)
class _Clashes:
    """By the numbers of steps: the earlier one that says the same, that went deeper, that took the
    wall further; and the later one that goes through what a step leaves."""

    same: dict[int, int] = field(default_factory=dict)
    deeper: dict[int, int] = field(default_factory=dict)
    further: dict[int, _Cut] = field(default_factory=dict)
    later: dict[int, int] = field(default_factory=dict)


class _This:
    """A setup as itself: asked for again, it is known without being looked through."""

    def __init__(self, setup: Setup) -> None:
        self.setup = setup

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _This) and self.setup is other.setup

    def __hash__(self) -> int:
        return id(self.setup)


def again_faults(bench: FlatBench, words: ContourWords) -> list[Fault]:
    """Faults of a step whose walls an earlier one of the setup has cut, each told once."""
    clashes = _clashes(_This(bench.setup))
    if (number := clashes.same.get(bench.number)) is not None:
        return [Fault(
            Message("this step says just what step {number} says, which has cut these walls: "
                    "nothing is left for it to find", number=number + 1),
            Message("leave it out, or give step {number} a skin or another cutter",
                    number=number + 1), bench.place())]
    return list(_of(bench, words, clashes))


def cut_later(bench: FlatBench) -> int | None:
    """The number of the first later step that goes through what this one leaves standing below."""
    return _clashes(_This(bench.setup)).later.get(bench.number)


def _of(bench: FlatBench, words: ContourWords, clashes: _Clashes) -> Iterator[Fault]:
    if (further := clashes.further.get(bench.number)) is not None:
        number = further.number + 1
        yield Fault(
            Message("{left:g} mm are to be left on the walls beyond the drawing, and step {number} "
                    "has left {before:g} mm there", left=words.correction, number=number,
                    before=further.words.correction),
            Message("the same correction in step {number}, or a larger one", number=number),
            bench.place(*(("correction",) if words.correction else ())))
    if (deeper := clashes.deeper.get(bench.number)) is None:
        return
    if words.tabs is None:
        word, message = "skin", Message(
            "a skin of {skin:g} mm is to be left below, and step {number} has gone deeper along "
            "the same walls", skin=words.kept_skin, number=deeper + 1)
    else:
        word, message = "tabs", Message(
            "tabs {height:g} mm high are to be left below, and step {number} has gone deeper along "
            "the same walls", height=words.tabs.height, number=deeper + 1)
    yield Fault(message, Message("the same {word} in step {number}, or this step before it",
                                 word=word, number=deeper + 1), bench.place(word))


@lru_cache(maxsize=4)
def _clashes(this: _This) -> _Clashes:
    from camgen.steps.walls.contour import ContourWords

    found = _Clashes()
    said: dict[str, int] = {}
    before: dict[Wall, _Before] = {}
    waiting: dict[Wall, list[_Cut]] = {}
    for number, words in enumerate(this.setup.steps):
        walls = [wall for made in words.declares().makes for wall in _walls(made)]
        if not walls or not isinstance(words, ContourWords):
            continue
        cut = _cut(number, words)
        if (first := said.setdefault(repr(words), number)) != number:
            found.same[number] = first
        for wall in walls:
            for met in _met(wall, before):
                _look(found, cut, before[met])
            for met in _met(wall, waiting):
                waiting[met] = [one for one in waiting[met] if not _goes_through(found, cut, one)]
        for wall in walls:
            before[wall] = before.get(wall, _Before()).with_(cut)
            if _height(cut.words):
                waiting.setdefault(wall, []).append(cut)
    return found


def _look(found: _Clashes, cut: _Cut, before: _Before) -> None:
    """One step against what those before it left on a wall."""
    closest = before.closest
    if closest is not None and cut.words.correction > closest.words.correction + SAME_POINT:
        found.further.setdefault(cut.number, closest)
    height = _height(cut.words)
    deeper = before.deeper(cut, height) if height else None
    if deeper is not None:
        found.deeper.setdefault(cut.number, deeper.number)


def _goes_through(found: _Clashes, cut: _Cut, earlier: _Cut) -> bool:
    """Whether a step goes through what an earlier one left below, which is noted."""
    if cut.alike == earlier.alike or cut.standing >= _height(earlier.words) - SAME_POINT:
        return False
    found.later.setdefault(earlier.number, cut.number)
    return True


def _cut(number: int, words: ContourWords) -> _Cut:
    """``alike`` of steps without tabs is each its own."""
    alike: Hashable = number
    if words.tabs is not None:
        tabs = words.tabs
        alike = (tabs.count, tabs.width, tabs.height, words.cutter, words.correction,
                 words.direction)
    return _Cut(number, words, words.kept_skin or 0.0, alike)


def _height(words: ContourWords) -> float:
    """How high what a step leaves for good stands, mm; 0 where it goes through."""
    return words.tabs.height if words.tabs is not None else words.kept_skin or 0.0


def _walls(made: Made) -> list[Wall]:
    """The walls right through that a step cuts."""
    if isinstance(made, MakesOpenings):
        names = made.openings.names
        return [(MakesOpenings, None)] if names is None else [(MakesOpenings, n) for n in names]
    return [(type(made), None)] if isinstance(made, MakesOutline | MakesCrossing) else []


def _met(wall: Wall, known: dict[Wall, _Before] | dict[Wall, list[_Cut]]) -> list[Wall]:
    """Those of the walls known that are this one, or of which this is one."""
    kind, name = wall
    if name is None:
        return [one for one in known if one[0] is kind]
    return [one for one in ((kind, name), (kind, None)) if one in known]
