"""Metal taken away along the way: what is left at the end, and how far the cutter was engaged.

The stock is a field of heights on a square grid, lowered under the cutter stretch by stretch. That
is coarse beside the proofs, which work on exact geometry; it is made for looking. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import shapely
from numpy.typing import NDArray

from camgen.arrays import Floats
from camgen.layout import FlatLayout
from camgen.preview.course.track import Track
from camgen.shop.cutters import Cutter, record_of
from camgen.values import dataclass

__all__ = ["Removal", "cleared_width", "end_rise", "remove"]

# Cells: a tenth of the smallest cutter, but no more than this many in all.
_MOST_CELLS = 1_200_000
# Points on the leading half of the cutter's circle.
_RAYS = 37
_EVEN = 1e-6


@dataclass(frozen=True)
class Removal:
    """What a flat program takes away.

    ``height`` (rows, columns) is the top of the metal in each cell, nan off the stock; ``x`` and
    ``y`` the cells' middles, ``cell`` their size. ``engaged`` (m,) is the largest angle of the
    cutter's circle in metal on each stretch, degrees: 180 for a full slot, 360 where it goes
    straight down into metal, 0 in air. ``removed`` (m,) is the volume each stretch took, mm³.
    """

    height: NDArray[np.float32]
    x: Floats
    y: Floats
    cell: float
    engaged: Floats
    removed: Floats


def remove(layout: FlatLayout, track: Track, cutters: Mapping[int, Cutter]) -> Removal:
    """Run the whole way through the stock."""
    low_x, low_y, high_x, high_y = layout.stock.bounds
    used = [cutters[number].diameter for number in set(track.cutter.tolist()) if number in cutters]
    cell = max(min(used, default=0.5) / 10.0,
               math.sqrt((high_x - low_x) * (high_y - low_y) / _MOST_CELLS))
    x = np.arange(low_x + cell / 2, high_x, cell)
    y = np.arange(low_y + cell / 2, high_y, cell)
    grid_x, grid_y = np.meshgrid(x, y)
    inside = shapely.contains_xy(layout.stock, grid_x, grid_y)
    height = np.where(inside, np.float32(layout.top), np.float32(np.nan)).astype(np.float32)
    engaged = np.zeros(len(track))
    removed = np.zeros(len(track))
    deep = np.minimum(track.start[:, 2], track.end[:, 2]) < layout.top - _EVEN
    turns = np.linspace(-math.pi / 2, math.pi / 2, _RAYS)
    rays = np.column_stack((np.cos(turns), np.sin(turns)))
    for row in np.nonzero(deep & track.cutting)[0].tolist():
        cutter = cutters.get(int(track.cutter[row]))
        if cutter is None:
            continue
        engaged[row], removed[row] = _cut(
            height, x, y, cell, track.start[row], track.end[row], cutter, rays)
    return Removal(height, x, y, cell, engaged, removed)


def _cut(
    height: NDArray[np.float32], x: Floats, y: Floats, cell: float, start: Floats, end: Floats,
    cutter: Cutter, rays: Floats,
) -> tuple[float, float]:
    """One stretch: the angle engaged before it, then the metal under it gone; volume taken."""
    radius = cutter.diameter / 2
    way_x, way_y = float(end[0] - start[0]), float(end[1] - start[1])
    length = math.hypot(way_x, way_y)
    left = int((min(start[0], end[0]) - radius - x[0]) / cell)
    right = int((max(start[0], end[0]) + radius - x[0]) / cell) + 2
    lower = int((min(start[1], end[1]) - radius - y[0]) / cell)
    upper = int((max(start[1], end[1]) + radius - y[0]) / cell) + 2
    columns = slice(max(left, 0), max(right, 0))
    rows = slice(max(lower, 0), max(upper, 0))
    field = height[rows, columns]
    if not field.size:
        return 0.0, 0.0
    from_x = x[columns] - start[0]
    from_y = (y[rows] - start[1])[:, None]
    if length < _EVEN:
        beside = from_x * from_x + from_y * from_y
        floor = np.full_like(beside, min(start[2], end[2]))
        angle = 360.0
    else:
        share = np.clip((from_x * way_x + from_y * way_y) / length**2, 0.0, 1.0)
        beside = (from_x - share * way_x) ** 2 + (from_y - share * way_y) ** 2
        floor = float(start[2]) + share * float(end[2] - start[2])
        angle = _leading(height, x, y, cell, start, end, radius, rays, length)
    floor = floor + end_rise(cutter, beside)
    under = (beside <= radius * radius) & (field > floor + _EVEN)
    if not under.any():
        return 0.0, 0.0
    taken = np.where(under, field - floor, 0.0)
    np.copyto(field, floor.astype(np.float32), where=under)
    return angle, float(taken.sum()) * cell * cell


def end_rise(cutter: Cutter, beside: Floats) -> Floats:
    """How far the cutter's end stands above its lowest point, mm, at squared distances from it."""
    radius = cutter.diameter / 2
    if record_of(cutter).conical:
        slope = math.tan(math.radians(cutter.cone_angle / 2))
        return np.asarray(np.maximum(np.sqrt(beside) - cutter.tip / 2, 0.0) / slope)
    corner = cutter.corner
    in_corner = np.clip(np.sqrt(beside) - (radius - corner), 0.0, corner)
    return np.asarray(corner - np.sqrt(corner**2 - in_corner**2))


def cleared_width(cutter: Cutter, depth: float) -> float:
    """Width a cutter clears at a face when its lowest point is ``depth`` mm below it, mm.

    >>> cleared_width(Cutter(kind="spot-drill", diameter=3.0, point_angle=90.0), 0.2)
    0.4
    """
    if record_of(cutter).conical:
        wide = cutter.tip + 2 * depth * math.tan(math.radians(cutter.cone_angle / 2))
        return min(cutter.diameter, round(wide, 9))
    corner = cutter.corner
    if corner > depth:
        return cutter.diameter - 2 * (corner - math.sqrt(corner**2 - (corner - depth) ** 2))
    return cutter.diameter


def _leading(
    height: NDArray[np.float32], x: Floats, y: Floats, cell: float, start: Floats, end: Floats,
    radius: float, rays: Floats, length: float,
) -> float:
    """Largest angle of the leading half in metal, degrees, at places a radius apart."""
    along_x, along_y = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    places = np.linspace(0.0, 1.0, max(1, math.ceil(length / radius)), endpoint=False)
    reach = radius + 0.5 * cell
    ahead_x = reach * (rays[:, 0] * along_x - rays[:, 1] * along_y)
    ahead_y = reach * (rays[:, 0] * along_y + rays[:, 1] * along_x)
    way = end - start
    column = np.rint((start[0] + places[:, None] * way[0] + ahead_x - x[0]) / cell).astype(np.int64)
    row = np.rint((start[1] + places[:, None] * way[1] + ahead_y - y[0]) / cell).astype(np.int64)
    on = (column >= 0) & (column < height.shape[1]) & (row >= 0) & (row < height.shape[0])
    level = height[np.where(on, row, 0), np.where(on, column, 0)]
    depth = (start[2] + places * way[2])[:, None]
    metal = on & (level > depth + _EVEN)
    return float(metal.sum(axis=1).max()) / len(rays) * 180.0
