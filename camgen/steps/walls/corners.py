"""Corners of a wall that a cutter does not get into."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from camgen.faults import Fault
from camgen.messages import Message
from camgen.shapes.path import ArcTo, Path, Point, turn_between
from camgen.steps.kind import FlatBench
from camgen.values import dataclass

__all__ = ["TightCorner", "corner_faults", "tight_corners"]

# A joint of pieces that turns more than this, radians, is a corner.
SHARP_TURN = 1e-3
# A curve may be drawn as many short lines: where they turn so little that no more metal than this,
# mm, is left in each joint, the joints are no corners while the cutter gets into the whole curve.
CURVE_LEFT = 0.001
# Chords of walls and of the ways of centres, mm: a tenth of what may be left.
FINE = 0.0001
# So many corners are told one by one; a drawing may have thousands.
TOLD = 8


@dataclass(frozen=True)
class TightCorner:
    """Where a corner ends, and its radius, mm; 0 where it is sharp.

    ``in_lines``: a curve drawn as short lines, which the cutter would get into. Along an arc as
    tight as that feed and engagement are reckoned by its radius; of lines nobody knows it.
    """

    at: Point
    radius: float
    in_lines: bool = False


def tight_corners(
    bench: FlatBench, path: Path, *, outside: bool = False, within: BaseGeometry | None = None
) -> list[TightCorner]:
    """The corners of a wall that the bench's cutter cannot get into.

    ``path`` runs anticlockwise; the cutter works inside it, or ``outside``. Only corners ``within``
    a region count, where one is given.
    """
    found: list[TightCorner] = []
    slight: list[Point] = []
    radius = bench.cutter.diameter / 2
    for number, (at, piece) in enumerate(path.laid_out()):
        if within is not None and not (within.covers(shapely.Point(piece.end))
                                       or within.covers(shapely.Point(at))):
            continue
        if isinstance(piece, ArcTo) and piece.clockwise == outside:
            own = math.dist(at, piece.centre)
            if own < radius - 1e-6:
                found.append(TightCorner(piece.end, own))
        if within is not None and not within.covers(shapely.Point(piece.end)):
            continue
        after = path.pieces[(number + 1) % len(path.pieces)]
        turn = turn_between(at, piece, after)
        if (turn < -SHARP_TURN if outside else turn > SHARP_TURN):
            if radius * (1 / math.cos(turn / 2) - 1) > CURVE_LEFT:
                found.append(TightCorner(piece.end, 0.0))
            else:
                slight.append(piece.end)
    sharp = _left_in(path, slight, radius, outside)
    tight = [at for at in _left_in(path, slight, 2 * radius, outside) if at not in sharp]
    return [*found, *(TightCorner(at, 0.0) for at in sharp),
            *(TightCorner(at, 0.0, in_lines=True) for at in tight)]


def _left_in(path: Path, points: Sequence[Point], radius: float, outside: bool) -> list[Point]:
    """The points of a wall that a cutter of this radius stays farther from than may be left."""
    if not points:
        return []
    ground: BaseGeometry = path.region(FINE)
    if outside:
        x0, y0, x1, y1 = ground.bounds
        far = 3 * radius
        ground = shapely.box(x0 - far, y0 - far, x1 + far, y1 + far).difference(ground)
    # An arc of so many chords to the quarter is within FINE of round.
    centres = ground.buffer(-radius, quad_segs=max(8, math.ceil(0.6 * math.sqrt(radius / FINE))))
    if centres.is_empty:
        return list(points)
    off = shapely.distance(shapely.points(points), centres.boundary) - radius
    return [at for at, left in zip(points, off.tolist(), strict=True)
            if left > CURVE_LEFT + 2 * FINE]


def corner_faults(bench: FlatBench, corners: Sequence[TightCorner]) -> list[Fault]:
    """A fault for each corner, named with the largest cutter that gets in; many are summed up."""
    if len(corners) <= TOLD + 1:
        return [_fault(bench, one) for one in corners]
    rest = corners[TOLD:]
    tightest = min(rest, key=lambda one: one.radius)
    x, y = [one.at.x for one in rest], [one.at.y for one in rest]
    what, remedy = _told(tightest)
    return [_fault(bench, one) for one in corners[:TOLD]] + [Fault(
        Message("{count} more corners, at X {x0:.3f} to {x1:.3f}, Y {y0:.3f} to {y1:.3f}, into "
                "which a cutter of {diameter:g} mm does not get: the tightest, at X {x:.3f} Y "
                "{y:.3f}, {what}", count=len(rest), x0=min(x), x1=max(x), y0=min(y), y1=max(y),
                diameter=bench.cutter.diameter, x=tightest.at.x, y=tightest.at.y, what=what),
        remedy, bench.place("cutter"))]


def _fault(bench: FlatBench, corner: TightCorner) -> Fault:
    what, remedy = _told(corner)
    return Fault(
        Message("the corner at X {x:.3f} Y {y:.3f} {what}: a cutter of {diameter:g} mm does not "
                "get into it", x=corner.at.x, y=corner.at.y, what=what,
                diameter=bench.cutter.diameter), remedy, bench.place("cutter"))


def _told(corner: TightCorner) -> tuple[Message, Message]:
    """What a corner is like, and what to do."""
    if corner.in_lines:
        return (Message("lies in a curve of short lines tighter than the cutter is wide"),
                Message("draw that curve as arcs, or a smaller cutter"))
    if corner.radius:
        return (Message("has a radius of {radius:g} mm", radius=corner.radius),
                Message("a cutter of at most {most:g} mm, or a larger corner radius",
                        most=2 * corner.radius))
    return Message("is sharp"), Message("give the corner a radius")
