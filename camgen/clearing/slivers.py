"""Slivers thinner than the grid, under the cutter's end where it is set down between passes.

The grid says where the cutter may be set down, and sees no metal much thinner than itself. What
stands under the end there is found by plane geometry, from the ways before and from what was free
before them; pieces wider than that would have been seen. Lengths mm.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats
from camgen.clearing.clearing import Clearing
from camgen.clearing.ground import SPACING
from camgen.shapes.path import Point

__all__ = ["slivers_under"]

# Of the end so much is looked at, as a share of its radius: its rim may graze a wall.
WITHIN = 0.85
# Chords of the ways, as a share of the radius; pieces thinner than twice this, mm, are none.
CHORD_SHARE, THIN = 1e-3, 0.001
# A sliver is at most so many spacings wide: in the middle of one that wide the grid, which goes by
# how far metal is from what is cleared, still has it within what it does not know.
WIDE = 2.0
# Ground that was free before is drawn so much too small, mm.
FREE = 0.002


@lru_cache(maxsize=8)
def slivers_under(found: Clearing, radius: float) -> frozenset[Point]:
    """The places of a clearing where the cutter is set down upon a sliver of metal.

    Kept, because every level of a pocket asks again.
    """
    rows: list[Floats] = []
    places: list[tuple[int, Point]] = []
    for entry, passes in zip(found.entries, found.passes, strict=True):
        if entry.path is not None:
            rows.append(entry.path.points(CHORD_SHARE * radius))
        for one in passes:
            places.append((len(rows), one.begin))
            rows.append(np.concatenate(([one.begin], one.path.points(CHORD_SHARE * radius))))
    for wall in found.walls:
        places.append((len(rows), wall.begin))
        rows.append(np.concatenate(([wall.begin], wall.path.points(CHORD_SHARE * radius))))
    if not places:
        return frozenset()
    lines = np.array([shapely.LineString(row) for row in rows], dtype=np.object_)
    tree = shapely.STRtree(lines)
    return frozenset(
        place for before, place in places
        if _on_sliver(tree, lines, before, place, radius, found.free))


def _on_sliver(
    tree: shapely.STRtree, lines: np.ndarray, before: int, place: Point, radius: float,
    free: BaseGeometry | None,
) -> bool:
    """Whether what the first ``before`` ways left under the cutter's end is a sliver."""
    middle = shapely.Point(place)
    near = tree.query(middle, predicate="dwithin", distance=2 * radius)
    near = np.sort(near[near < before])
    if not len(near):
        return False
    x, y = place
    far = 2.1 * radius
    ways = shapely.clip_by_rect(lines[near], x - far, y - far, x + far, y + far)
    gone = shapely.union_all(shapely.buffer(ways, radius, quad_segs=64))
    end: BaseGeometry = middle.buffer(WITHIN * radius, quad_segs=32)
    if free is not None:
        end = end.difference(shapely.clip_by_rect(free, x - far, y - far, x + far, y + far).buffer(
            FREE))
    wide = WIDE * SPACING * radius
    return any(
        not piece.buffer(-THIN).is_empty and piece.buffer(-wide / 2).is_empty
        for piece in shapely.get_parts(end.difference(gone)))
