"""Lost motion of the table: holes come to from one side, and what it makes of a circle.

A slide with lost motion stands elsewhere by so much, coming from the other side. A hole that is
made where the table stands still is therefore always come to from smaller places. A circle cannot
be: there the axes turn round in the cut. Lengths mm.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Iterator

from camgen.faults import Fault, no_more
from camgen.messages import Message
from camgen.moves import Arc, Drill, Feed, Move, Pause, Rapid, Section, Station
from camgen.part.declaration import MakesHoles
from camgen.part.features import Hole
from camgen.shop.machine import Machine
from camgen.steps.kind import FlatBench
from camgen.tolerances import ROUNDING
from camgen.yamlfile.length_units import MM_PER_INCH

__all__ = ["come_to_from_one_side", "on_a_grid_enough", "round_enough", "roundness_notes"]

_PAST = 0.5
"""How far before a hole the table goes, at least; common practice, no source."""
_TIMES = 5.0
"""And how many times its lost motion."""
_PLACES = "numbers.decimals"


def come_to_from_one_side(section: Section, machine: Machine) -> Section:
    """The section with a short approach before each hole that would be come to from beyond.

    At the height that is moved at between holes. A machine without lost motion leaves all as it
    was.
    """
    past = tuple(max(_PAST, _TIMES * lost) if lost else 0.0
                 for lost in (machine.x.lost, machine.y.lost))
    if not any(past) or not any(isinstance(move, Drill) for move in section.moves):
        return section
    lean = math.tan(math.radians(machine.squareness))
    return dataclasses.replace(section, moves=tuple(_approached(section.moves, past, lean)))


def _approached(moves: Iterable[Move], past: tuple[float, ...], lean: float) -> Iterator[Move]:
    """The moves, with the approaches."""
    table = _Table(past, lean)
    height: float | None = None
    for move in moves:
        match move:
            case Drill():
                to = table.before(move.x, move.y)
                if to != (None, None):
                    if height is None or height < move.travel:
                        yield Rapid(z=move.travel)
                    yield Rapid(x=to[0], y=to[1])
                    table.go(*to)
                table.go(move.x, move.y)
                height = move.travel
                if move.aside != (0.0, 0.0):
                    # Off the wall and back: from which side hangs on the way the tip points.
                    table = _Table(past, lean)
            case Arc():
                table.go(move.x, move.y, turned=True)
                height = height if move.z is None else move.z
            case Rapid() | Feed():
                table.go(move.x, move.y)
                height = height if move.z is None else move.z
            case Station() | Pause():
                # Hands may move the table.
                table = _Table(past, lean)
            case _:
                pass
        yield move


class _Table:
    """Where X and Y stand, and whether their slides surely came there from smaller places.

    Where X and Y are not at a right angle the slide of X moves by ``lean`` for each mm of Y.
    """

    def __init__(self, past: tuple[float, ...], lean: float) -> None:
        self.past, self.lean = past, lean
        self.here: list[float | None] = [None, None]
        self.sure = [False, False]

    def go(self, x: float | None, y: float | None, *, turned: bool = False) -> None:
        """Go there; ``turned`` where an axis may turn round on the way."""
        sure = self._arrives(x, y)
        self.sure = [one and not turned for one in sure]
        self.here = self._there(x, y)

    def _there(self, x: float | None, y: float | None) -> list[float | None]:
        return [self.here[0] if x is None else x, self.here[1] if y is None else y]

    def _slides(self, place: list[float | None]) -> tuple[float | None, float | None]:
        x, y = place
        if not self.lean or x is None:
            return x, y
        return (None if y is None else x + self.lean * y), y

    def _arrives(self, x: float | None, y: float | None) -> list[bool]:
        """Whether each slide comes to a place from smaller ones, going straight there."""
        before, after = self._slides(self.here), self._slides(self._there(x, y))
        arrives = []
        for now, there, sure, past in zip(before, after, self.sure, self.past, strict=True):
            if there == now:
                arrives.append(sure)
            elif now is None or there is None or there < now:
                arrives.append(False)
            else:
                arrives.append(sure or there - now >= past)
        return arrives

    def before(self, x: float, y: float) -> tuple[float | None, float | None]:
        """Where each axis goes first, so that it comes to a hole from there; None: as it is."""
        arrives = self._arrives(x, y)
        # Before the hole in Y, the slide of X is there too.
        both = bool(self.lean) and not all(arrives) and all(self.past)
        to = [there - past if past and (both or not one) else None
              for there, past, one in zip((x, y), self.past, arrives, strict=True)]
        return to[0], to[1]


def round_enough(bench: FlatBench, holes: Iterable[Hole]) -> list[Fault]:
    """Faults for holes whose limits are narrower than what lost motion takes off a circle."""
    lost = _lost(bench.machine)
    faults = []
    for hole in holes:
        band = None if hole.limits is None else hole.limits.most - hole.limits.least
        if band is None or lost <= band or _made_again(bench, hole):
            continue
        faults.append(Fault(
            Message("hole '{hole}' may vary by {band:.3f} mm, and going round it with {lost:g} mm "
                    "of lost motion in X or Y leaves flats of about that", hole=hole.name,
                    band=band, lost=lost),
            Message("bring it to size where the table stands still: `ream` or `fine-bore` after a "
                    "smaller hole; or take up the lost motion and correct lash in the machine "
                    "file"),
            bench.place("holes") if "holes" in bench.words.model_fields_set else bench.place(),
            tuple(f"{name}.{'lash' if axis.lash else 'backlash'}" for name, axis in
                  (("x", bench.machine.x), ("y", bench.machine.y)) if axis.lost),
        ))
    return faults


def on_a_grid_enough(bench: FlatBench, holes: Iterable[Hole]) -> list[Fault]:
    """Faults for holes whose limits are narrower than what the axes' increments leave of a circle.

    The ends of a diameter are each rounded by half an increment, so it may be off by a whole one.
    A grid of places, the same for all axes, may be wider than half the limits and the circle still
    fall well on it: whether it does, is proved of the hole as written.
    """
    machine = bench.machine
    numbers = machine.numbers.decimals
    unit = MM_PER_INCH if machine.program.units == "inch" else 1.0
    steps = [("x.increment", machine.x.increment), ("y.increment", machine.y.increment),
             # Circles are written on the coarsest grid of all three.
             ("z.increment", machine.z.increment),
             (_PLACES, unit * 10.0**-numbers)]
    faults = []
    for hole in holes:
        most = math.inf if hole.limits is None else (hole.limits.most - hole.limits.least) / 2
        words = tuple(word for word, step in steps
                      if step > (2 if word == _PLACES else 1) * most + ROUNDING)
        if not words or _made_again(bench, hole):
            continue
        coarsest = max(step for word, step in steps if word in words)
        places = math.ceil(-math.log10((most + ROUNDING) / unit))
        faults.append(Fault(
            Message("hole '{hole}' may be {most:.4g} mm wider or narrower than {diameter:.4f} mm, "
                    "and with {words} in machine file {machine} a circle may come out "
                    "{step:.4g} mm wide or narrow across an axis", hole=hole.name, most=most,
                    diameter=hole.diameter, step=coarsest, machine=machine.name,
                    words=tuple(f"{word}: {numbers if word == _PLACES else f'{step:g}'}"
                                for word, step in steps if word in words)),
            Message("bring it to size where the table stands still: `ream` or `fine-bore` after a "
                    "smaller hole; or, if the machine steps as finely, write {words} or "
                    "finer",
                    words=tuple(f"{word}: {places if word == _PLACES else no_more(most, 0.0001)}"
                                for word in words)),
            bench.place("holes") if "holes" in bench.words.model_fields_set else bench.place(),
        ))
    return faults


def _made_again(bench: FlatBench, hole: Hole) -> bool:
    """Whether a step after this one brings the same hole to size without going round in it."""
    return any(
        isinstance(made, MakesHoles) and not made.round and made.size == "as the cutter"
        and made.holes.means(hole.name, hole.group)
        for step in bench.setup.steps[bench.number + 1:] for made in step.declares().makes)


def roundness_notes(bench: FlatBench) -> tuple[Message, ...]:
    """What is to be expected of circles gone round with lost motion."""
    lost = _lost(bench.machine)
    if not lost:
        return ()
    return (Message("{title}: with {lost:g} mm of lost motion in X or Y expect holes out of round "
                    "by about that, and narrower by as much where an axis turns round",
                    title=bench.words.called, lost=lost),)


def _lost(machine: Machine) -> float:
    return max(machine.x.lost, machine.y.lost)
