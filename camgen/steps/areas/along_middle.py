"""Slots as wide as their cutter: gone down and through once along the middle, to and fro.

Nothing is left on the walls, for there is nothing that could take it off. Such a slot becomes as
wide as the cutter turns, so never narrower than its edges. Lengths mm.
"""

from __future__ import annotations

import math
from typing import Final

from camgen.clearing.clearing import Entry
from camgen.clearing.ladder import Ladder, Rung
from camgen.cutting.body import body_of
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.part.features import Recess
from camgen.shapes.offset import Area
from camgen.shapes.open_side import OpenArea
from camgen.shapes.path import ArcTo, LineTo, Path, Point, sweep
from camgen.shop.materials import edge_of
from camgen.steps.areas.pocket_ladder import Chosen, slot_cut
from camgen.steps.kind import FlatBench
from camgen.tolerances import AREA_CHORD

__all__ = ["AS_WIDE", "middle_of", "once_along", "once_areas", "width_told"]

AS_WIDE: Final = 1e-4
"""A slot is as wide as a cutter when they differ by no more, mm."""
# A shorter way is none to go down along, in the cutter's radii. Common practice, no source.
SHORTEST: Final = 0.5


def middle_of(area: Area, radius: float) -> Path | None:
    """The middle line of a slot with round ends as wide as a cutter of a ``radius``; None where the
    area is none.

    >>> from camgen.shapes.figures import slot
    >>> way = middle_of(Area(slot((0, 0), (3, 0), 0.6)), 0.3)
    >>> (round(way.length, 6), len(way.pieces)) if way else None
    (3.0, 1)
    """
    if area.islands or len(area.outer.pieces) != 4:
        return None
    laid = list(area.outer.laid_out())
    ends = [n for n, (at, piece) in enumerate(laid) if _is_end(at, piece, radius)]
    for first in ends:
        last = (first + 2) % 4
        if last not in ends:
            continue
        (_, side), (_, other) = laid[(first + 1) % 4], laid[(first + 3) % 4]
        begin, end = (laid[n][1] for n in (first, last))
        if not (isinstance(begin, ArcTo) and isinstance(end, ArcTo)):
            continue
        way: Path | None = None
        if isinstance(side, LineTo) and isinstance(other, LineTo):
            way = Path(begin.centre, (LineTo(end.centre),), closed=False)
        elif (isinstance(side, ArcTo) and isinstance(other, ArcTo)
              and math.dist(side.centre, other.centre) < AS_WIDE
              and side.clockwise != other.clockwise):
            way = Path(begin.centre, (ArcTo(end.centre, side.centre, side.clockwise),),
                       closed=False)
        if way is not None and way.length > SHORTEST * radius:
            return way
    return None


def _is_end(at: Point, piece: object, radius: float) -> bool:
    return (isinstance(piece, ArcTo) and abs(math.dist(at, piece.centre) - radius) < AS_WIDE / 2
            and abs(abs(sweep(at, piece)) - math.pi) < 1e-3)


def once_along(bench: FlatBench, area: Area, deep: float, left: bool) -> Chosen | None:
    """How a slot as wide as the bench's cutter is cut ``deep`` mm down; None where it is none.

    Raises Refused if it cannot be, as where the job wants something ``left`` on walls or floor.
    """
    way = middle_of(area, bench.cutter.diameter / 2)
    if way is None:
        return None
    if left:
        raise Refused(Fault(
            Message("a slot as wide as the cutter, {diameter:g} mm, leaves no room for a skin on "
                    "walls or floor", diameter=bench.cutter.diameter),
            Message("leave finish: and floor: out, it is then gone through once along its middle; "
                    "or a narrower cutter")))
    cut, levels = slot_cut(bench, deep)
    found = Ladder((Rung(Entry("ramp", way.start, way), None),), 0.0,
                   float(area.region(AREA_CHORD).area))
    return Chosen(found, cut, levels, 60 * found.length / cut.feed * levels, math.inf)


def once_areas(recess: Recess, outline: Path) -> tuple[OpenArea, ...]:
    """The area of such a slot; open where it runs over the part's edge."""
    part = outline.region(AREA_CHORD).buffer(2 * AREA_CHORD)
    inside = part.contains(recess.area.region(AREA_CHORD))
    return (OpenArea(recess.area, None if inside else ()),)


def width_told(bench: FlatBench, recess: Recess) -> Message:
    """What width may be expected of a slot that is gone through once."""
    cutter = bench.cutter
    run_out = body_of(cutter, bench.machine, edge_of(cutter)).run_out
    return Message(
        "slot {name} is as wide as the cutter and is gone through once along its middle: expect "
        "{least:.3f} to {most:.3f} mm, the cutter and its run-out; a narrower cutter brings both "
        "walls to size", name=recess.name, least=cutter.diameter, most=cutter.diameter + run_out)
