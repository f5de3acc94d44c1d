"""Ways down into a pocket other than round its edge: holes that are drilled, and straight ramps.

Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely

from camgen.clearing.clearing import Clearing
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shapes.offset import Area, offset
from camgen.shapes.path import LineTo, Path, Point
from camgen.steps.areas.pocket_ground import Drilled
from camgen.steps.kind import FlatBench
from camgen.tolerances import AREA_CHORD

__all__ = ["into_metal", "nearest_hole", "no_hole", "no_room_for_ramp", "ramp_about"]

# Ramps: least length of one in radii of the cutter, the most, and the directions that are tried.
LEAST_RAMP = 2.0
MOST_RAMP = 10.0
DIRECTIONS = 36


def nearest_hole(
    holes: Sequence[Drilled], area: Area, radius: float, left: float, place: Point
) -> Drilled | None:
    """The hole nearest to a place from which the cutter gets there."""
    parts = [part.region(AREA_CHORD) for part in offset(area, -radius - left)]
    mine = [part for part in parts if part.distance(shapely.Point(place)) < AREA_CHORD]
    there = [
        hole for hole in holes
        if any(part.contains(shapely.Point(hole.hole.x, hole.hole.y)) for part in mine)
    ]
    return min(there, default=None,
               key=lambda hole: round(math.dist(place, (hole.hole.x, hole.hole.y)), 9))


def no_hole(bench: FlatBench, place: Point) -> Fault:
    wide = bench.cutter.diameter
    return Fault(
        Message("no hole is drilled to go down in about X {x:.2f} Y {y:.2f}", x=place.x, y=place.y),
        Message("a `drill` step before it with a hole there, {wide:g} mm wide or more, nearly as "
                "deep as the pocket and clear of its walls; or `entry: helix`", wide=wide),
    )


def no_room_for_ramp(radius: float, middle: Point) -> Fault:
    """That a ramp about a place is too short to go down on."""
    return Fault(
        Message("there is no room for a ramp of {length:.2f} mm about X {x:.2f} Y {y:.2f}",
                length=LEAST_RAMP * radius, x=middle.x, y=middle.y),
        Message("`entry: helix`, a smaller cutter, or a hole drilled first"),
    )


def ramp_about(area: Area, radius: float, left: float, middle: Point) -> Path:
    """The longest straight way about ``middle`` on which the centre may go, within a limit."""
    best: tuple[float, Point, Point] | None = None
    for part in offset(area, -radius - left):
        region = part.region(AREA_CHORD)
        if not region.contains(shapely.Point(middle)):
            continue
        for number in range(DIRECTIONS):
            angle = math.pi * number / DIRECTIONS
            x, y = math.cos(angle), math.sin(angle)
            ends = [
                _as_far(region, middle, sign * x, sign * y, MOST_RAMP * radius / 2)
                for sign in (-1.0, 1.0)
            ]
            length = round(math.dist(*ends), 6)
            if best is None or length > best[0]:
                best = (length, ends[0], ends[1])
    if best is None or best[0] < LEAST_RAMP * radius:
        raise Refused(no_room_for_ramp(radius, middle))
    return Path(best[1], (LineTo(best[2]),), closed=False)


def _as_far(
    region: shapely.Polygon, start: Point, x: float, y: float, most: float
) -> Point:
    """The furthest point from ``start`` one way, without leaving the region."""
    end = Point(start.x + most * x, start.y + most * y)
    line = shapely.LineString([start, end]).intersection(region)
    own = [part for part in getattr(line, "geoms", [line])
           if part.distance(shapely.Point(start)) < AREA_CHORD]
    far = max((shapely.Point(start).distance(shapely.Point(c)) for one in own
               for c in one.coords), default=0.0)
    far = max(0.0, min(far, most) - AREA_CHORD)
    return Point(start.x + far * x, start.y + far * y)


def into_metal(found: Clearing) -> Iterator[Point]:
    """Where an area is entered round and round, in the middle of the metal."""
    for entry, passes in zip(found.entries, found.passes, strict=True):
        if entry.path is not None and entry.path.closed and (
            entry.kind == "helix" or passes
        ):
            middle = entry.path.region(AREA_CHORD).representative_point()
            yield Point(middle.x, middle.y)
