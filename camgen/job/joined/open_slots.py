"""Slots and openings right through that run out at the edge: they are part of the outline.

What the outline step then follows is the outline with them taken out of it, in exact lines and
arcs. One that reaches over the edge in more than one place would part the plate, and stays as it
is: that is told where the plate is looked at. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Final, TypeVar

import shapely

from camgen.faults import Fault, Refused
from camgen.job.models import Job
from camgen.messages import Message
from camgen.part.called import thing_called
from camgen.part.declaration import MakesOpenings
from camgen.part.figures import path_of, typed_pieces
from camgen.part.plates.floors import slot_path
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Shape, Slot
from camgen.shapes.contacts import Laid, contacts
from camgen.shapes.path import Path, Point
from camgen.tolerances import AREA_CHORD, SAME_PLACE
from camgen.values import dataclass
from camgen.yamlfile import Document

__all__ = ["FromOpenSlots", "taken_out", "with_open_slots"]

_Thing = TypeVar("_Thing", Shape, Slot)

# Crossings nearer to one another than this, mm, are no mouth that a cutter gets into; so near to a
# crossing nobody can tell on which side the wall goes on.
NARROW: Final = 0.01


@dataclass(frozen=True)
class FromOpenSlots:
    """A job whose outline holds what is open at the edge; what is told of it, and what is amiss."""

    job: Job
    remarks: tuple[Message, ...] = ()
    faults: tuple[Fault, ...] = ()


def with_open_slots(job: Job, document: Document) -> FromOpenSlots:
    """The job with every slot and opening that runs out at its plate's edge taken into the outline.

    Steps that name such a one, or of which nothing is left to cut, are faults.
    """
    match job.given:
        case (Plate() as plate,):
            pass
        case _:
            return FromOpenSlots(job)
    outline = _path(plate.outline)
    if outline is None:
        return FromOpenSlots(job)
    gone: dict[str, str] = {}
    for word, name, path in _through(plate):
        if (less := taken_out(outline, path)) is not None:
            outline, gone[name] = less, word
    if not gone:
        return FromOpenSlots(job)
    plate = plate.model_copy(update={
        "outline": Shape(path=typed_pieces(outline), inside_corners=plate.outline.inside_corners),
        "openings": _kept(plate.openings, gone), "slots": _kept(plate.slots, gone)})
    remarks = tuple(
        Message("{what} is open at the edge: it is cut with the outline",
                what=thing_called(word, name)) for name, word in gone.items())
    rest = {*plate.openings, *(name for name, one in plate.slots.items() if one.depth is None)}
    return FromOpenSlots(job.with_part(plate), remarks,
                         tuple(_named(job, document, gone, bool(rest))))


def taken_out(outline: Path, hollow: Path) -> Path | None:
    """A closed outline, anticlockwise, with a closed hollow taken out that crosses it in two
    places; None where it crosses it otherwise.

    >>> from camgen.shapes.figures import rectangle, slot
    >>> fork = taken_out(rectangle(10, 6), slot((0, 0), (9, 0), 1.0))
    >>> round(60 - (5 + 3.141592653589793 / 8) - fork.area, 9) if fork else None
    0.0
    """
    places = _crossings(outline, hollow)
    if places is None:
        return None
    metal, free = outline.region(AREA_CHORD), hollow.region(AREA_CHORD)
    edges = [run for run in _halves(outline, *places) if not _lies_in(run, free)]
    walls = [run for run in _halves(hollow, *places) if _lies_in(run, metal)]
    if len(edges) != 1 or len(walls) != 1:
        return None
    (edge,), (wall,) = edges, walls
    wall = wall.reversed()
    if math.dist(edge.end, wall.start) > SAME_PLACE or math.dist(wall.end, edge.start) > SAME_PLACE:
        return None
    found = Path(edge.start, (*edge.pieces, *wall.pieces), closed=True)
    return found if found.area > 0 else None


def _crossings(outline: Path, hollow: Path) -> tuple[Point, Point] | None:
    """The two places in which two closed paths cross; None where they are not two."""
    found: list[Point] = []
    for at, piece in outline.laid_out():
        one = Laid(at, piece)
        x0, y0, x1, y1 = one.box()
        for start, other_piece in hollow.laid_out():
            other = Laid(start, other_piece)
            u0, v0, u1, v1 = other.box()
            if u0 > x1 + NARROW or u1 < x0 - NARROW or v0 > y1 + NARROW or v1 < y0 - NARROW:
                continue
            for contact in contacts(one, other):
                if contact.along:
                    return None
                if all(math.dist(contact.at, point) > SAME_PLACE for point in found):
                    found.append(contact.at)
    if len(found) != 2 or math.dist(*found) < NARROW:
        return None
    return found[0], found[1]


def _halves(path: Path, first: Point, second: Point) -> tuple[Path, Path]:
    """The two parts of a closed path between two places of it."""
    turned = path.starting_at(path.nearest(first))
    middle = turned.nearest(second)
    return turned.between(0.0, middle), turned.between(middle, turned.length)


def _lies_in(run: Path, region: shapely.Polygon) -> bool:
    return bool(shapely.contains_xy(region, *run.at(run.length / 2)))


def _path(shape: Shape) -> Path | None:
    try:
        return path_of(shape)
    except Refused:
        return None  # told where the plate is looked at


def _through(plate: Plate) -> Iterator[tuple[str, str, Path]]:
    """What goes right through and may belong to the outline: its word, its name and its path."""
    for name, one in plate.slots.items():
        if one.depth is None:
            try:
                yield "slots", name, slot_path(one)
            except Refused:
                continue  # told where the plate is looked at
    edge = plate.outline.inside_corners or plate.inside_corners
    for name, shape in plate.openings.items():
        alike = (shape.inside_corners or plate.inside_corners) == edge
        if alike and (path := _path(shape)) is not None:
            yield "openings", name, path


def _kept(things: Mapping[str, _Thing], gone: Mapping[str, str]) -> dict[str, _Thing]:
    return {name: one for name, one in things.items() if name not in gone}


def _named(
    job: Job, document: Document, gone: Mapping[str, str], rest: bool
) -> Iterator[Fault]:
    """Steps that would cut out what the outline step cuts."""
    for number, setup in enumerate(job.setups):
        for n, step in enumerate(setup.steps):
            for made in step.declares().makes:
                if not isinstance(made, MakesOpenings):
                    continue
                names = made.openings.names
                mine = [name for name in gone if names is not None and name in names]
                if names is None and not rest:
                    mine = list(gone)
                for name in mine:
                    yield Fault(
                        Message("{what} is open at the edge: it is cut with the outline",
                                what=thing_called(gone[name], name)),
                        Message("leave it out here"),
                        document.place(("setups", number, "steps", n)))
