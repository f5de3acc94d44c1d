"""Corners of a wall that a cutter does not get into.

A corner is sharp by what the cutter leaves in it and not by its angle: the joints of a curve drawn
as many lines and arcs leave less than anybody finds.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats
from camgen.faults import Fault
from camgen.messages import Message
from camgen.shapes.path import ArcTo, LineTo, Path, Point, turn_between
from camgen.steps.kind import FlatBench
from camgen.tolerances import LEAST_INCREMENT, LEFT_IN_CORNER
from camgen.values import dataclass

__all__ = ["TightCorner", "corner_faults", "tight_corners"]

# A joint of pieces that turns less than this, radians, is none.
STRAIGHT = 1e-5
# Chords of walls and of the ways of centres, mm: a tenth of what may be left.
FINE = LEFT_IN_CORNER / 20
# So many corners of one sort are told one by one, and of more so many places.
TOLD = 4
# Fewer joints in a row than this are no curve.
CURVE = 3


@dataclass(frozen=True)
class TightCorner:
    """Where a corner is deepest, and its radius, mm; 0 where it is sharp.

    ``in_lines``: a curve drawn as short lines, which the cutter would get into. Along an arc as
    tight as that feed and engagement are reckoned by its radius; of lines nobody knows it.
    """

    at: Point
    radius: float
    in_lines: bool = False


@dataclass(frozen=True)
class _Place:
    """A place of a wall that may lie in a corner: the joint after piece ``number``, or its middle.

    ``radius`` is that of an arc, 0 at a joint. Of a joint ``sharp`` says that it is a corner by
    itself, ``short`` that two lines meet there, each shorter than the cutter is wide.
    """

    at: Point
    number: int
    radius: float = 0.0
    sharp: bool = False
    short: bool = False


def tight_corners(
    bench: FlatBench, path: Path, *, outside: bool = False, within: BaseGeometry | None = None,
    correction: float = 0.0,
) -> list[TightCorner]:
    """The corners of a wall that the bench's cutter cannot get into.

    The cutter works to the left of ``path``, or ``outside`` to its right, ``correction`` mm further
    off the wall than its radius. Only corners ``within`` a region count, where one is given.
    """
    radius = bench.cutter.diameter / 2 + correction
    places = [one for one in _places(path, radius, outside)
              if within is None or within.covers(shapely.Point(one.at))]
    if not places:
        return []
    ground = _ground(path, radius, outside)
    left = _left_at(places, ground, radius)
    deep = left > LEFT_IN_CORNER
    corners = _gathered([one for one, is_deep in zip(places, deep, strict=True) if is_deep],
                        left[deep], ground, radius)
    short = [one for one, is_deep in zip(places, deep, strict=True) if one.short and not is_deep]
    if len(short) >= CURVE:
        bent = _left_at(short, ground, 2 * radius) > LEFT_IN_CORNER
        corners += _curves([one for one, is_bent in zip(short, bent, strict=True) if is_bent],
                           len(path.pieces))
    return corners


def _places(path: Path, radius: float, outside: bool) -> Iterator[_Place]:
    """The joints of a wall that are hollow, and the middles of hollow arcs that are tighter than
    the cutter."""
    for number, (at, piece) in enumerate(path.laid_out()):
        if isinstance(piece, ArcTo) and piece.clockwise == outside:
            own = math.dist(at, piece.centre)
            if own < radius - 1e-6:
                middle = Path(at, (piece,), closed=False)
                yield _Place(middle.at(middle.length / 2), number, own)
        place = (number + 1) % len(path.pieces)
        after = path.pieces[place]
        turn = turn_between(at, piece, after)
        if (turn < -STRAIGHT if outside else turn > STRAIGHT):
            short = (isinstance(piece, LineTo) and isinstance(after, LineTo)
                     and max(path.lengths[number], path.lengths[place]) < 2 * radius)
            sharp = radius * (1 / math.cos(turn / 2) - 1) > LEFT_IN_CORNER
            yield _Place(piece.end, number, sharp=sharp, short=short)


def _ground(path: Path, radius: float, outside: bool) -> BaseGeometry:
    """What lies on the cutter's side of a wall, as far as the cutter has to do with it."""
    region = path.region(FINE)
    if (path.area > 0) != outside:
        return region
    x0, y0, x1, y1 = region.bounds
    far = 6 * radius
    return shapely.box(x0 - far, y0 - far, x1 + far, y1 + far).difference(region)


def _centres(ground: BaseGeometry, radius: float) -> BaseGeometry:
    # An arc of so many chords to the quarter is within FINE of round.
    return ground.buffer(-radius, quad_segs=max(8, math.ceil(0.6 * math.sqrt(radius / FINE))))


def _left_at(places: Sequence[_Place], ground: BaseGeometry, radius: float) -> Floats:
    """(n,) metal that a cutter leaves at places of a wall, mm; inf where it does not get in."""
    centres = _centres(ground, radius)
    if centres.is_empty:
        return np.full(len(places), np.inf)
    points = shapely.points([one.at for one in places])
    return np.asarray(shapely.distance(points, centres)) - radius - 2 * FINE


def _gathered(
    places: Sequence[_Place], left: Floats, ground: BaseGeometry, radius: float
) -> list[TightCorner]:
    """One corner for each stretch of metal that a cutter leaves, where it is deepest."""
    if not places:
        return []
    reached = _centres(ground, radius).buffer(radius + LEFT_IN_CORNER / 2, quad_segs=64)
    rest = shapely.get_parts(ground.difference(reached))
    tree = shapely.STRtree(rest)
    which = tree.nearest(shapely.points([one.at for one in places])) if len(rest) else [
        0 for _ in places]
    together: dict[int, list[int]] = defaultdict(list)
    for number, part in enumerate(which):
        together[int(part)].append(number)
    corners = []
    for numbers in together.values():
        deepest = max(numbers, key=lambda number: float(left[number]))
        radii = [places[number].radius for number in numbers if places[number].radius]
        sharp = not radii or places[deepest].sharp
        corners.append(TightCorner(places[deepest].at, 0.0 if sharp else min(radii)))
    return corners


def _curves(places: Sequence[_Place], count: int) -> list[TightCorner]:
    """One corner for each row of joints of short lines, in the middle of the row."""
    rows: list[list[_Place]] = []
    for one in places:
        if rows and one.number - rows[-1][-1].number == 1:
            rows[-1].append(one)
        else:
            rows.append([one])
    if len(rows) > 1 and (rows[0][0].number - rows[-1][-1].number) % count == 1:
        rows[0] = rows.pop() + rows[0]
    return [TightCorner(row[len(row) // 2].at, 0.0, in_lines=True)
            for row in rows if len(row) >= CURVE]


def corner_faults(
    bench: FlatBench, corners: Sequence[TightCorner], correction: float = 0.0
) -> list[Fault]:
    """A fault for each corner, named with the largest cutter that gets in; many of one sort are
    said once, with their count and the first of their places. ``correction`` as it was asked."""
    faults: list[Fault] = []
    sharp = [one for one in corners if not one.radius and not one.in_lines]
    bent = [one for one in corners if one.radius]
    lines = [one for one in corners if one.in_lines]
    for several in (sharp, bent, lines):
        if len(several) <= TOLD:
            faults += [_fault(bench, one, correction) for one in several]
        else:
            faults.append(_summed_up(bench, several, correction))
    return faults


def _fault(bench: FlatBench, corner: TightCorner, correction: float) -> Fault:
    what, remedy = _told(corner, correction)
    return Fault(
        Message("the corner at X {x:.3f} Y {y:.3f} {what}: a cutter of {diameter:g} mm does not "
                "get into it", x=corner.at.x, y=corner.at.y, what=what,
                diameter=bench.cutter.diameter), remedy, bench.place("cutter"))


def _summed_up(bench: FlatBench, corners: Sequence[TightCorner], correction: float) -> Fault:
    """More corners of one sort than are told one by one."""
    tightest = min(corners, key=lambda one: one.radius)
    what, remedy = _told(tightest, correction)
    places = tuple(Message("X {x:.3f} Y {y:.3f}", x=one.at.x, y=one.at.y)
                   for one in corners[:TOLD])
    return Fault(
        Message("a cutter of {diameter:g} mm does not get into {count} corners, at {places} and so "
                "on: the tightest {what}", diameter=bench.cutter.diameter, count=len(corners),
                places=places, what=what),
        remedy, bench.place("cutter"))


def _told(corner: TightCorner, correction: float) -> tuple[Message, Message]:
    """What a corner is like, and what to do."""
    if corner.in_lines:
        return (Message("lies in a curve of short lines tighter than the cutter is wide"),
                Message("draw that curve as arcs, or a smaller cutter"))
    if not corner.radius:
        return Message("is sharp"), Message("give the corner a radius")
    most = 2 * (corner.radius - max(correction, 0.0))
    remedy = (Message("a cutter of at most {most:g} mm, or a larger corner radius",
                      most=math.floor(1000 * most + 1e-6) / 1000)
              if most > LEAST_INCREMENT else Message("a larger corner radius"))
    if correction <= 0:
        return Message("has a radius of {radius:g} mm", radius=corner.radius), remedy
    return Message("has a radius of {radius:g} mm and the correction is {correction:g} mm",
                   radius=corner.radius, correction=correction), remedy
