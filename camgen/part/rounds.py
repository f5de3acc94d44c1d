"""Every round hole that a plate's description asks for: holes, their counterbores, jewel holes.

One name in the file may stand for several holes about one middle: a seat and what goes on below
it. Lengths mm, in the part's frame.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from camgen.part.end_shake import seat_depth
from camgen.part.figures import places_of
from camgen.part.plate_words import Face, JewelHole, Mouth, PlateHole
from camgen.shapes.path import Point
from camgen.shop.fits import Limits, class_limits, press_limits
from camgen.shop.threads import Thread, thread_of
from camgen.values import dataclass

if TYPE_CHECKING:
    from camgen.part.plate import Plate

__all__ = ["Round", "diameter_of", "hole_limits", "jewel_limits", "rounds_of"]


@dataclass(frozen=True)
class Round:
    """A round hole: ``at`` its words in the file, ``group`` the name it shares with its like.

    ``depth`` is None for a hole right through, ``countersink`` the width of its cone, 0 for none;
    ``limits`` are those of its diameter, where it has any; ``face`` is the one that depth and cone
    are on; ``mouth`` is what the cone is for.
    """

    at: tuple[str, str]
    name: str
    group: str
    place: Point
    diameter: float
    depth: float | None = None
    countersink: float = 0.0
    thread: Thread | None = None
    limits: Limits | None = None
    face: Face = "upper"
    mouth: Mouth | None = None


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


def jewel_limits(jewel: JewelHole, material: str) -> Limits:
    """Least and most of a jewel hole's diameter, mm. Raises Refused for classes that are none."""
    if jewel.fit is not None:
        return class_limits(jewel.diameter, jewel.fit)
    return press_limits(jewel.diameter, material, jewel.under)


def rounds_of(plate: Plate, material: str) -> Iterator[Round]:
    """All round holes of a plate of ``material``, in the order of its description."""
    for name, hole in plate.holes.items():
        at, places = ("holes", name), places_of(hole)
        thread = thread_of(hole.thread) if hole.thread else None
        limits = hole_limits(hole)
        diameter = diameter_of(hole) if limits is None else round(limits.middle, 6)
        for own, place in _named(name, places):
            yield Round(at, own, name, place, diameter, hole.depth, hole.countersink or 0.0,
                        thread, limits, hole.face,
                        "countersink" if hole.countersink else None)
        if hole.counterbore is not None:
            group = f"{name}-counterbore"
            for own, place in _named(group, places):
                yield Round(at, own, group, place, hole.counterbore.diameter,
                            hole.counterbore.depth, face=hole.face)
    for name, jewel in plate.jewels.items():
        at, places = ("jewels", name), places_of(jewel)
        limits, depth = jewel_limits(jewel, material), seat_depth(jewel, plate.thickness)
        for own, place in _named(name, places):
            yield Round(at, own, name, place, round(limits.middle, 6), depth,
                        jewel.lead_in or 0.0, limits=limits, face=jewel.face,
                        mouth="lead-in" if jewel.lead_in else None)
        if jewel.through is not None:
            group = f"{name}-through"
            beyond: Face = "under" if jewel.face == "upper" else "upper"
            for own, place in _named(group, places):
                yield Round(at, own, group, place, jewel.through, None, jewel.oil_sink or 0.0,
                            face=beyond, mouth="oil-sink" if jewel.oil_sink else None)


def _named(group: str, places: tuple[Point, ...]) -> Iterator[tuple[str, Point]]:
    """Each place with a name of its own: the group's where it is the only one."""
    if len(places) == 1:
        yield group, places[0]
        return
    for number, place in enumerate(places, start=1):
        yield f"{group}-{number}", place
