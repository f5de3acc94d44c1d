"""What stands alone when passes and walls are done: pieces of metal too small to bound a pass.

A piece of which the cutter's edge can meet no more than a share of the planned angle has no line of
equal engagement about it worth a pass. Straight through its middle, along its length, twice that
is met at most, which again is no more than planned. The grid only tells where to look: what stands
there is found by plane geometry, for it may be narrower than the grid.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats
from camgen.clearing.along_walls import Wall
from camgen.clearing.equal_engagement import MOST, ways_along
from camgen.clearing.ground import Ground, leading, resampled
from camgen.clearing.ways_in import beside_wall, is_clear_between
from camgen.shapes.offset import Area
from camgen.shapes.path import LineTo, Path, Point

__all__ = ["remnants"]

# Pieces no wider than twice this, mm, are not told from none; chords, in spacings.
THIN = 0.001
CHORD_SHARE = 0.005
# A way is begun with its middle so many radii before the metal. Directions that are tried, and ways
# aside of a piece's middle, in radii.
BEYOND = 1.1
TURNS = 12
ASIDE = (0.0, 0.3, -0.3, 0.6, -0.6, 0.85, -0.85)
# One piece may need several ways: no more than so many in all.
TIMES = 40


def remnants(
    ground: Ground, parts: tuple[Area, ...], gone: BaseGeometry | None, ways: Sequence[Floats],
    theta: float, radial_depth: float,
) -> Iterator[Wall]:
    """Ways through all that stands within the cutter's reach, each swept; as ways along walls are.

    ``parts`` are where the centre may go, ``ways`` rows of points along which it has gone, and
    ``gone`` was free before.
    """
    chord = CHORD_SHARE * ground.spacing
    centres = shapely.union_all([part.region(chord) for part in parts])
    metal = _standing(ground, centres, gone, ways)
    at = Point(*map(float, ways[-1][-1])) if ways else None
    for _ in range(TIMES):
        pieces = [one for one in shapely.get_parts(metal) if not one.buffer(-THIN).is_empty]
        if not pieces:
            return
        ends = _through(max(pieces, key=lambda one: one.area), centres, ground.radius)
        if ends is None:
            return
        points = resampled(ends, 0.7 * ground.spacing)
        met = leading(ground.metal_round(points), ways_along(points, closed=False))
        start, end = (Point(*map(float, one)) for one in ends)
        path = Path(start, (LineTo(end),), closed=False)
        begin = beside_wall(ground, points, radial_depth)
        over = at is not None and is_clear_between(ground, at, begin)
        slow = ((0.0, path.length),) if (met > MOST * theta).any() else ()
        ground.sweep(np.concatenate((np.array([begin]), points)))
        metal = metal.difference(_swept(ends, ground.radius))
        at = end
        yield Wall(path, slow, begin, over)


def _standing(
    ground: Ground, centres: BaseGeometry, gone: BaseGeometry | None, ways: Sequence[Floats]
) -> BaseGeometry:
    """The metal left within the cutter's reach."""
    i, j = np.nonzero((ground.been > ground.radius - ground.spacing) & (ground.inside > 0))
    corners = np.column_stack((ground.x[i], ground.y[j]))
    if not len(corners):
        return shapely.Polygon()
    # As far as the cutter reaches for certain: skins of rounding on walls are none.
    reached = centres.buffer(ground.radius - THIN, quad_segs=32)
    doubtful = shapely.contains_xy(centres.buffer(ground.radius, quad_segs=32), corners)
    x, y = corners[doubtful].T
    cells = shapely.union_all(shapely.box(
        x - ground.spacing, y - ground.spacing, x + ground.spacing, y + ground.spacing))
    metal = cells.intersection(reached)
    if gone is not None:
        metal = metal.difference(gone)
    if metal.is_empty or not ways:
        return metal
    lines = [shapely.LineString(way) for way in ways]
    near = shapely.STRtree(lines).query(metal, predicate="dwithin", distance=ground.radius)
    swept = [lines[number].buffer(ground.radius, quad_segs=32) for number in sorted(near.tolist())]
    return metal.difference(shapely.union_all(swept))


def _swept(way: Floats, radius: float) -> BaseGeometry:
    return shapely.LineString(way).buffer(radius, quad_segs=32)


def _through(piece: BaseGeometry, centres: BaseGeometry, radius: float) -> Floats | None:
    """(2, 2) the ends of a way of the centre along a piece, through its middle, or as near to that
    as it may come; None where it may not."""
    corners = shapely.get_coordinates(piece)
    middle = np.array(piece.centroid.coords[0])
    away = corners - middle
    long = shapely.get_coordinates(piece.minimum_rotated_rectangle)
    sides = np.diff(long[:3], axis=0) if len(long) > 2 else np.array([[1.0, 0.0]])
    side = max(sides.tolist(), key=lambda one: round(math.hypot(*one), 6))
    angle = math.atan2(side[1], side[0])
    best, most = None, 0.0
    for turn in range(TURNS):
        turned = angle + turn * math.pi / TURNS
        way = np.array((math.cos(turned), math.sin(turned)))
        left = np.array((-way[1], way[0]))
        along = away @ way
        for aside in ASIDE:
            start = middle + aside * radius * left
            ends = (start + (along.min() - BEYOND * radius) * way,
                    start + (along.max() + (BEYOND - 1) * radius) * way)
            for one in shapely.get_parts(shapely.LineString(ends).intersection(centres)):
                found = shapely.get_coordinates(one)
                if len(found) != 2 or one.length < THIN:
                    continue
                taken = piece.intersection(_swept(found, radius)).area / piece.area
                if taken > most + 1e-3:
                    best, most = found, taken
            if most > 1 - 1e-6:
                return best
    return best
