"""The ground a cutter clears, on a grid: how far from the edge, how far from where it has been.

Two distances are kept at every node: to the edge of the area, exact, and to the nearest place where
the cutter's centre has been. Ground that was free of metal before counts as if the centre had been
one radius inside it. Reckoned so that every machine finds the same: by roots and products, which
are exact to the last place by IEEE 754, and by sums of multiples of a power of two, which no order
of adding changes. Lengths mm, angles radians.
"""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Flags, Floats
from camgen.shapes.offset import Area, distances
from camgen.shapes.path import Path
from camgen.values import dataclass

__all__ = ["COSINES", "DIRECTIONS", "SINES", "SPACING", "TILE", "Ground",
           "all_round", "along_front", "leading", "resampled", "row_length", "sizes"]

Number = TypeVar("Number", np.float64, np.int64)
# Grid spacing against the cutter's radius; directions the cutter's edge is looked at in.
SPACING = 0.1
DIRECTIONS = 36
# Distances are told up to so many radii; nodes along one side of a tile.
FAR = 3.0
# Nodes so many spacings outside the area bear on nothing.
OUTSIDE = 4.0
TILE = 8
# Shares of metal are multiples of one over this, and so are directions of the next.
STEPS, FINE = 1024, 2.0**20
# The leading half looked at ray by ray, where metal counts from so many spacings on.
RAYS, THINNEST = 60, 0.05


def _directions(turn: list[float]) -> tuple[Floats, Floats]:
    return (np.array([round(math.cos(angle) * FINE) / FINE for angle in turn]),
            np.array([round(math.sin(angle) * FINE) / FINE for angle in turn]))


COSINES, SINES = _directions([n * math.tau / DIRECTIONS for n in range(DIRECTIONS)])
RAY_COSINES, RAY_SINES = _directions(
    [((n + 0.5) / RAYS - 0.5) * math.pi for n in range(RAYS)]
)

# Places under the cutter's end, its edge among them: circles, and its middle.
_CIRCLES = np.array([1.0, 0.8, 0.6, 0.4, 0.2, 0.0])[:, None]
UNDER_X, UNDER_Y = (_CIRCLES * COSINES).ravel(), (_CIRCLES * SINES).ravel()


def sizes(x: Floats, y: Floats) -> Floats:
    """√(x² + y²), the same to the last place everywhere."""
    return np.asarray(np.sqrt(x * x + y * y))


@dataclass(frozen=True)
class Ground:
    """``inside`` (nx, ny) distance from the area's edge, negative outside; ``been`` to where the
    cutter's centre has been; mm, at most a few radii. ``stale`` are the tiles near which something
    was cleared since it was looked at last. ``reach`` is how near to the edge the centre may come.
    """

    x: Floats
    y: Floats
    spacing: float
    radius: float
    reach: float
    inside: Floats
    been: Floats
    stale: Flags

    @classmethod
    def of(
        cls, area: Area, radius: float, reach: float, gone: BaseGeometry | None = None
    ) -> Ground:
        """The ground of ``area`` with nothing cleared but ``gone``."""
        spacing = SPACING * radius
        x0, y0, x1, y1 = area.region(spacing / 50).bounds
        across = _tiles(x1 - x0, spacing)
        up = _tiles(y1 - y0, spacing)
        x: Floats = x0 - 4 * spacing + np.arange(float(across * TILE)) * spacing
        y: Floats = y0 - 4 * spacing + np.arange(float(up * TILE)) * spacing
        inside = _from_edge(area, x, y, spacing, FAR * reach)
        been = np.full_like(inside, FAR * radius)
        if gone is not None and not gone.is_empty:
            # Nobody asks what is gone well outside the area.
            asked = inside > -OUTSIDE * spacing
            been = np.minimum(been, radius + _from_region(gone, x, y, FAR * radius, asked))
        return cls(x, y, spacing, radius, reach, inside, been,
                   np.ones((across, up), dtype=np.bool_))

    def sweep(self, points: Floats) -> None:
        """The cutter's centre has gone along ``points`` (n, 2)."""
        # Between two places so far apart the cleared edge is no more than spacing/20 short.
        places = resampled(points, 2 * self.spacing)
        wide = math.ceil((self.radius + 3 * self.spacing) / self.spacing)
        columns = np.rint((places[:, 0] - self.x[0]) / self.spacing).astype(int)
        rows = np.rint((places[:, 1] - self.y[0]) / self.spacing).astype(int)
        for (px, py), i, j in zip(places.tolist(), columns.tolist(), rows.tolist(), strict=True):
            across = slice(max(i - wide, 0), i + wide + 1)
            up = slice(max(j - wide, 0), j + wide + 1)
            dx, dy = self.x[across] - px, self.y[up] - py
            far = np.sqrt((dx * dx)[:, None] + dy * dy)
            window = self.been[across, up]
            np.minimum(window, far, out=window)
        # What a node meets lies one radius from it, what was cleared one radius from the way.
        seen = 2 * wide
        for i, j in set(zip((columns // TILE).tolist(), (rows // TILE).tolist(), strict=True)):
            tiles = math.ceil(seen / TILE)
            self.stale[max(i - tiles, 0) : i + tiles + 1, max(j - tiles, 0) : j + tiles + 1] = True

    def fill(self, region: BaseGeometry) -> None:
        """The cutter's centre might have gone everywhere in a region: nothing is met there."""
        x0, y0, x1, y1 = region.bounds
        i, k = np.searchsorted(self.x, (x0, x1))
        j, m = np.searchsorted(self.y, (y0, y1))
        within = shapely.contains_xy(region, *np.meshgrid(self.x[i:k], self.y[j:m], indexing="ij"))
        self.been[i:k, j:m][within] = 0.0
        self.stale[:] = True

    def _between(self, x: Floats, y: Floats, *fields: Floats) -> list[Floats]:
        """Values of fields at points, by those at the corners of the cells they lie in."""
        across = (x - self.x[0]) / self.spacing
        up = (y - self.y[0]) / self.spacing
        i = _bounded(across.astype(np.int64), 0, len(self.x) - 2)
        j = _bounded(up.astype(np.int64), 0, len(self.y) - 2)
        across -= i
        up -= j
        step = len(self.y)
        cell = i * step + j
        found = []
        for field in fields:
            flat = field.ravel()
            low = flat[cell]
            low += (flat[cell + step] - low) * across
            high = flat[cell + 1]
            high += (flat[cell + step + 1] - high) * across
            high -= low
            high *= up
            high += low
            found.append(high)
        return found

    def _depth(self, x: Floats, y: Floats) -> Floats:
        """How deep in metal points lie, mm; negative: off it."""
        inside, been = self._between(x, y, self.inside, self.been)
        been -= self.radius
        return np.asarray(np.minimum(inside, been, out=inside))

    def room(self, points: Floats) -> Floats:
        """(n,) distance of points from the area's edge."""
        return self._between(points[:, 0], points[:, 1], self.inside)[0]

    def apart(self, points: Floats) -> Floats:
        """(n,) distance of points from where the centre has been, or would have been."""
        return self._between(points[:, 0], points[:, 1], self.been)[0]

    def deepest_bite(self, points: Floats) -> Floats:
        """(n,) how deep in metal the cutter's edge would stand at most; negative: clear of it."""
        return np.asarray(self._edge_in_metal(points).max(axis=1))

    def deepest_under(self, points: Floats) -> Floats:
        """(n,) how deep in metal the cutter's whole end would stand at most, edge and within."""
        x = points[:, 0, None] + self.radius * UNDER_X
        y = points[:, 1, None] + self.radius * UNDER_Y
        return np.asarray(self._depth(x, y).max(axis=1))

    def allows(self, points: Floats) -> Flags:
        """(n,) whether the cutter's centre may be there at all."""
        return self.room(points) >= self.reach - self.spacing / 50

    def metal_round(self, points: Floats) -> Floats:
        """(n, directions) how much metal, 0 to 1, stands at the cutter's edge about each point."""
        share = self._edge_in_metal(points)
        share *= STEPS / self.spacing
        share += STEPS / 2
        return np.rint(_bounded(share, 0, STEPS), out=share) / STEPS

    def met_by_rays(self, points: Floats, ways: Floats) -> Floats:
        """(n,) angle of metal, however thin, in the half of the edge that leads, radians."""
        ahead_x = ways[:, 0, None] * RAY_COSINES - ways[:, 1, None] * RAY_SINES
        ahead_y = ways[:, 0, None] * RAY_SINES + ways[:, 1, None] * RAY_COSINES
        x = points[:, 0, None] + self.radius * ahead_x
        y = points[:, 1, None] + self.radius * ahead_y
        deep = self._depth(x, y) > THINNEST * self.spacing
        return np.asarray(deep.sum(axis=1) * (math.pi / RAYS))

    def _edge_in_metal(self, points: Floats) -> Floats:
        """(n, directions) how deep in metal, mm, the cutter's edge stands; negative: off it."""
        x = points[:, 0, None] + self.radius * COSINES
        y = points[:, 1, None] + self.radius * SINES
        return self._depth(x, y)


def _bounded(values: NDArray[Number], least: int, most: int) -> NDArray[Number]:
    """The same array, held between two values; in less time than ``np.clip`` for a few."""
    np.maximum(values, least, out=values)
    np.minimum(values, most, out=values)
    return values


def leading(metal: Floats, ways: Floats) -> Floats:
    """(n,) angle of metal in the half of the edge that leads, for unit ``ways`` (n, 2)."""
    ahead = ways[:, 0, None] * COSINES + ways[:, 1, None] * SINES
    ahead *= STEPS * DIRECTIONS / math.tau
    ahead += STEPS / 2
    share = np.rint(_bounded(ahead, 0, STEPS), out=ahead)
    share *= metal
    return np.asarray(share.sum(axis=1) * (math.tau / DIRECTIONS / STEPS))


def along_front(metal: Floats) -> Floats:
    """(n, 2) unit ways along the front, the metal on the right."""
    x, y = metal @ COSINES, metal @ SINES
    size = sizes(x, y)
    size[size == 0] = 1.0
    return np.column_stack((-y / size, x / size))


def all_round(metal: Floats) -> Floats:
    """(n,) angle of metal in the whole edge."""
    return np.asarray(metal.sum(axis=1) * (math.tau / DIRECTIONS))


def row_length(points: Floats) -> float:
    """Length of a row of points (n, 2), mm."""
    steps = np.diff(points, axis=0)
    return float(sizes(steps[:, 0], steps[:, 1]).cumsum()[-1])


def resampled(points: Floats, spacing: float) -> Floats:
    """Points ``spacing`` apart, or a little less or more, along a row of points."""
    steps = np.diff(points, axis=0)
    along = np.concatenate(([0.0], np.cumsum(sizes(steps[:, 0], steps[:, 1]))))
    count = max(2, round(along[-1] / spacing) + 1)
    places = np.linspace(0.0, along[-1], count)
    return np.column_stack(
        (np.interp(places, along, points[:, 0]), np.interp(places, along, points[:, 1]))
    )


def _tiles(length: float, spacing: float) -> int:
    return math.ceil((length / spacing + 9) / TILE)


def _from_edge(area: Area, x: Floats, y: Floats, spacing: float, far: float) -> Floats:
    """(nx, ny) distance from the edge, up to ``far``, negative outside.

    Every piece of the edge only reckons with the nodes near it.
    """
    nearest = np.full((len(x), len(y)), far)
    for path in area.paths:
        for at, piece in path.laid_out():
            one = Path(at, (piece,), closed=False)
            around = one.points(spacing)
            low, high = around.min(axis=0) - far - spacing, around.max(axis=0) + far + spacing
            i, k = np.searchsorted(x, (low[0], high[0]))
            j, m = np.searchsorted(y, (low[1], high[1]))
            if i < k and j < m:
                grid = np.stack(np.meshgrid(x[i:k], y[j:m], indexing="ij"), axis=-1)
                there = distances(grid.reshape(-1, 2), [one]).reshape(grid.shape[:2])
                np.minimum(nearest[i:k, j:m], there, out=nearest[i:k, j:m])
    region = area.region(spacing / 50)
    shapely.prepare(region)
    within = shapely.contains_xy(region, *np.meshgrid(x, y, indexing="ij"))
    return np.asarray(np.round(np.where(within, nearest, -nearest), 9))


def _from_region(
    region: BaseGeometry, x: Floats, y: Floats, far: float, asked: Flags
) -> Floats:
    """(nx, ny) distance from a region, up to ``far``, negative inside; ``far`` where not asked."""
    near = region.intersection(shapely.box(x[0] - far, y[0] - far, x[-1] + far, y[-1] + far))
    shapely.prepare(near)
    grid_x, grid_y = (one[asked] for one in np.meshgrid(x, y, indexing="ij"))
    within = shapely.contains_xy(near, grid_x, grid_y)
    edge = _sides(near)
    apart = np.full(grid_x.size, far)
    if len(edge):
        tree = shapely.STRtree(edge)
        (which, _), found = tree.query_nearest(
            shapely.points(grid_x, grid_y), max_distance=far, return_distance=True,
            all_matches=False,
        )
        apart[which] = np.minimum(found, far)
    apart = np.round(apart, 9)
    answer = np.full(asked.shape, far)
    answer[asked] = np.where(within, -apart, apart)
    return answer


def _sides(region: BaseGeometry) -> NDArray[np.object_]:
    """The sides of a region, each a line of its own."""
    parts = shapely.get_parts(shapely.get_parts(region))
    rings = shapely.get_rings(parts[shapely.get_type_id(parts) == shapely.GeometryType.POLYGON])
    rows = [shapely.get_coordinates(ring) for ring in rings]
    ends = [np.stack((corners[:-1], corners[1:]), axis=1) for corners in rows]
    if not ends:
        return np.empty(0, dtype=object)
    return np.asarray(shapely.linestrings(np.concatenate(ends)), dtype=object)
