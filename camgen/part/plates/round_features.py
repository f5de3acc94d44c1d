"""What a plate's words for round holes ask for: holes, counterbores, seats, cones and threads.

One name in the file may stand for several holes about one middle: a seat and what goes on below
it. Lengths mm, in the part's frame.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from camgen.messages import Message
from camgen.part.called import NamesGiven, thing_called
from camgen.part.features import Cone, Hole, NamePath, Thread
from camgen.part.figures import places_of
from camgen.part.plates.end_shake import seat_depth
from camgen.part.plates.plate_words import Face, JewelHole, PlateHole
from camgen.shapes.path import Point
from camgen.shop.fits import Limits, class_limits, press_limits
from camgen.shop.tapping_holes import HoleForThread, hole_for
from camgen.shop.threads import thread_of

if TYPE_CHECKING:
    from camgen.part.plates.plate import Plate

__all__ = [
    "SEAT",
    "diameter_of",
    "hole_for_thread",
    "hole_limits",
    "jewel_limits",
    "round_features",
    "round_holes_of",
    "round_names",
]

# What is added to a hole's name for the wider one at its mouth, to a jewel's for that below it.
SEAT = "-counterbore"
_BELOW = "-through"


def diameter_of(hole: PlateHole) -> float:
    """A hole's diameter, mm; where only a thread is said, that of the hole for it.

    Raises Refused for threads that are none.
    """
    if hole.diameter is not None:
        return hole.diameter
    # The reader of job files saw to it that there is one of the two.
    return round(thread_of(hole.thread or "").hole, 3)


def hole_limits(hole: PlateHole) -> Limits | None:
    """Least and most of a hole's diameter, mm, by the class it was given; None without one.

    Raises Refused for classes that are none.
    """
    if hole.fit is None:
        return None
    return class_limits(diameter_of(hole), hole.fit)


def hole_for_thread(
    hole: PlateHole, thickness: float, material: str, long: float | None = None
) -> HoleForThread | None:
    """What a hole may be for the thread in it, ``long`` mm; else as long as the hole is deep
    beneath its counterbore in a plate of ``thickness`` mm. None without a thread.

    Raises Refused for threads that are none.
    """
    if hole.thread is None:
        return None
    seat = 0.0 if hole.counterbore is None else hole.counterbore.depth
    whole = max((thickness if hole.depth is None else hole.depth) - seat, 0.0)
    return hole_for(thread_of(hole.thread), whole if long is None else min(long, whole), material)


def jewel_limits(jewel: JewelHole, material: str) -> Limits:
    """Least and most of a jewel hole's diameter, mm. Raises Refused for classes that are none."""
    if jewel.fit is not None:
        return class_limits(jewel.diameter, jewel.fit)
    return press_limits(jewel.diameter, material, jewel.under)


def round_holes_of(plate: Plate, material: str) -> Iterator[Hole]:
    """All round holes of a plate of ``material``, in the order of its description."""
    return (one for one in round_features(plate, material) if isinstance(one, Hole))


def round_features(plate: Plate, material: str) -> Iterator[Hole | Cone | Thread]:
    """The same, each followed by the cone at its mouth and the thread in it."""
    for name, hole in plate.holes.items():
        yield from _of_hole(name, hole, material, plate.thickness)
    for name, jewel in plate.jewels.items():
        yield from _of_jewel(name, jewel, material, plate.thickness)


def round_names(plate: Plate) -> Iterator[NamesGiven]:
    """The names of all its round holes, whatever their sizes, in the order of its description."""
    for name, hole in plate.holes.items():
        at, places = ("plate", "holes", name), places_of(hole)
        yield _names(thing_called("holes", name), name, places, at)
        if hole.counterbore is not None:
            yield _names(Message("the counterbore of {hole}", hole=name), f"{name}{SEAT}", places,
                         at)
    for name, jewel in plate.jewels.items():
        at, places = ("plate", "jewels", name), places_of(jewel)
        yield _names(thing_called("jewels", name), name, places, at)
        if jewel.through is not None:
            yield _names(Message("the hole below the seat of {name}", name=name),
                         f"{name}{_BELOW}", places, at)


def _names(said: Message, group: str, places: tuple[Point, ...], at: NamePath) -> NamesGiven:
    return NamesGiven(said, group, tuple(own for own, _ in _named(group, places)), at)


def _of_hole(
    name: str, hole: PlateHole, material: str, thickness: float
) -> Iterator[Hole | Cone | Thread]:
    at, word, places = ("plate", "holes", name), ("holes",), places_of(hole)
    thread = thread_of(hole.thread) if hole.thread else None
    limits = hole_limits(hole)
    diameter = diameter_of(hole) if limits is None else round(limits.middle, 6)
    if hole.diameter is None:
        # Said by its thread alone, it may be drilled to any size that suits the thread.
        suits = hole_for_thread(hole, thickness, material)
        limits = None if suits is None else suits.may
    for own, place in _named(name, places):
        made = Hole(own, place, diameter, name, hole.depth, limits, hole.face, at, word)
        yield made
        if hole.countersink:
            yield Cone(made, "countersink", hole.countersink, hole.face,
                       at=(*at, "countersink"), elsewhere=(*word, "countersinks"))
        if thread is not None:
            yield Thread(made, thread.diameter, thread.pitch, (*at, "thread"), (*word, "threads"))
    if hole.counterbore is not None:
        group = f"{name}{SEAT}"
        for own, place in _named(group, places):
            yield Hole(own, place, hole.counterbore.diameter, group, hole.counterbore.depth,
                       None, hole.face, at, word)


def _of_jewel(
    name: str, jewel: JewelHole, material: str, thickness: float
) -> Iterator[Hole | Cone]:
    at, word, places = ("plate", "jewels", name), ("jewels",), places_of(jewel)
    limits, depth = jewel_limits(jewel, material), seat_depth(jewel, thickness)
    for own, place in _named(name, places):
        seat = Hole(own, place, round(limits.middle, 6), name, depth, limits, jewel.face, at, word)
        yield seat
        if jewel.lead_in:
            yield Cone(seat, "lead-in", jewel.lead_in, jewel.face,
                       at=(*at, "lead-in"), elsewhere=(*word, "lead-ins"))
    if jewel.through is not None:
        group = f"{name}{_BELOW}"
        beyond: Face = "under" if jewel.face == "upper" else "upper"
        for own, place in _named(group, places):
            on = Hole(own, place, jewel.through, group, None, None, beyond, at, word)
            yield on
            if jewel.oil_sink:
                yield Cone(on, "oil-sink", jewel.oil_sink, beyond,
                           at=(*at, "oil-sink"), elsewhere=(*word, "oil-sinks"))


def _named(group: str, places: tuple[Point, ...]) -> Iterator[tuple[str, Point]]:
    """Each place with a name of its own: the group's where it is the only one."""
    if len(places) == 1:
        yield group, places[0]
        return
    for number, place in enumerate(places, start=1):
        yield f"{group}-{number}", place
