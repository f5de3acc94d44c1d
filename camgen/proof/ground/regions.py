"""What cuts clear, as regions seen from above."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.proof.ground.plan_cuts import PlanCuts

__all__ = ["removed"]


def removed(cuts: PlanCuts, depth: float, tolerance: float = 0.0005) -> BaseGeometry:
    """The region cleared at Z ``depth`` mm by flat-ended cutters, its arcs as chords.

    For pictures and for areas; figures are measured along edges instead.
    """
    shapes = []
    for row in np.nonzero(cuts.low < depth + 1e-6)[0]:
        wide = float(cuts.wide_top[row])
        if wide <= 0:
            continue
        shapes.append(_swept(cuts, int(row), wide, tolerance))
    return shapely.union_all(shapes)


def _swept(cuts: PlanCuts, row: int, wide: float, tolerance: float) -> BaseGeometry:
    """What one cut clears: the line or arc widened by the cutter's radius."""
    quarter = max(4, math.ceil(math.pi / 4 / math.acos(max(0.0, 1 - tolerance / wide))))
    if cuts.sweep[row] == 0:
        line = shapely.LineString([cuts.start[row], cuts.end[row]])
        if line.length == 0:
            return shapely.Point(cuts.start[row]).buffer(wide, quad_segs=quarter)
        return line.buffer(wide, quad_segs=quarter)
    radius, sweep = float(cuts.radius[row]), float(cuts.sweep[row])
    outer = radius + wide
    step = 2 * math.acos(max(0.0, 1 - tolerance / outer))
    count = max(2, math.ceil(abs(sweep) / step))
    angle = cuts.begin[row] + np.linspace(0, sweep, count + 1)
    ray = np.column_stack([np.cos(angle), np.sin(angle)])
    centre = cuts.centre[row]
    if abs(sweep) >= 2 * math.pi - 1e-9:
        ring: BaseGeometry = shapely.Point(centre).buffer(outer, quad_segs=count)
        if radius > wide:
            ring = ring.difference(shapely.Point(centre).buffer(radius - wide, quad_segs=count))
        return ring
    inner = max(radius - wide, 0.0)
    band = shapely.Polygon(
        np.concatenate([centre + ray * outer, (centre + ray * inner)[::-1]])
    ).buffer(0)
    ends = [
        shapely.Point(point).buffer(wide, quad_segs=quarter)
        for point in (cuts.start[row], cuts.end[row])
    ]
    return shapely.union_all([band, *ends])
