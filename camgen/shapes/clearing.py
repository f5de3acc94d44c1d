"""Clearing an area with a bounded engagement: the cleared ground grows from an entry.

The engagement of a cutter moving one way is the angle of its leading half that stands in metal; in
a straight cut of radial depth a it is θ = arccos(1 − a/r). For every place of the cutter's centre
it is reckoned from the ground cleared so far, as if the cutter moved along the front with the metal
on its right. The next pass is the line on which it is just θ: nearer to the front in a hollow,
where more metal stands round the cutter, further on round a bulge. So engagement, not step-over, is
what stays the same. Passes end at the walls; where a pass as laid would meet more than θ after all,
as where it runs into the foot of a wall, it stops before and leaves that for a later one. What is
left at the end is a thin skin on the walls, for a pass along them.

Ground is kept as two distances on a grid: from every point to the edge of the area, exact, and to
the nearest place where the cutter's centre has been.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from camgen.faults import Fault, Refused
from camgen.shapes.fitting import fitted
from camgen.shapes.offset import Area, distances, offset
from camgen.shapes.path import Path, Point, circle

__all__ = ["Clearing", "Pass", "cleared", "deepest_place", "engagement_of"]

Floats = NDArray[np.float64]
# Grid spacing against the cutter's radius; directions the cutter's edge is looked at in.
SPACING = 0.1
DIRECTIONS = 36
# A pass stops where it would meet this much more than planned.
MOST = 1.08
# Levels, as shares of θ, at which passes are looked for once there are none at the one before: what
# stands in corners is taken more carefully.
LEVELS = (1.0, 0.7, 0.49)
# Least engagement, as a share of θ, worth a pass; least length of one, in spacings.
WORTH = 0.5
SHORTEST = 3.0
# The helix into the metal: radius against the cutter's, and the least room for one at all.
HELIX = 0.6
LEAST_HELIX = 0.15


@dataclass(frozen=True)
class Pass:
    """One way of the cutter's centre through metal.

    ``begin`` is a place on cleared ground beside its start, to go down at and in from.
    ``over_cleared``: it may be gone to straight from the end of the pass before, over ground
    already cleared; else the cutter must be lifted.
    """

    path: Path
    begin: Point
    over_cleared: bool


@dataclass(frozen=True)
class Clearing:
    """How an area is cleared, by one cutter.

    ``entries`` (circles of the centre's helix) each with the ``passes`` that start from it.
    ``walls`` are closed centre paths along what has been left. ``planned`` is θ, radians.
    """

    entries: tuple[Path, ...]
    passes: tuple[tuple[Pass, ...], ...]
    walls: tuple[Path, ...]
    planned: float

    @property
    def length(self) -> float:
        """Length of all passes, mm, walls not counted."""
        return math.fsum(one.path.length for passes in self.passes for one in passes)


def engagement_of(radius: float, radial_depth: float) -> float:
    """θ = arccos(1 − a/r), radians: engagement of a straight cut ``radial_depth`` wide.

    >>> round(math.degrees(engagement_of(0.5, 0.15)), 2)
    45.57
    """
    return math.acos(1.0 - radial_depth / radius)


def cleared(
    area: Area, radius: float, radial_depth: float, allowance: float = 0.0
) -> Clearing:
    """Passes that clear ``area`` with a cutter of ``radius``, ``radial_depth`` mm wide at most.

    ``allowance`` mm is left on every wall. Raises Refused when the cutter does not fit into the
    area, or finds no room in it for a helix.
    """
    if not 0 < radial_depth <= radius:
        raise Refused(
            Fault(
                f"a radial depth of {radial_depth:g} mm is not between 0 and the cutter's radius, "
                f"{radius:g} mm",
                "a tenth to a third of the cutter's diameter is usual",
            )
        )
    reach = radius + allowance
    parts = offset(area, -reach)
    if not parts:
        raise Refused(_too_narrow(area, radius))
    ground = _Ground.of(area, radius, reach)
    theta = engagement_of(radius, radial_depth)
    entries: list[Path] = []
    passes: list[tuple[Pass, ...]] = []
    for part in parts:
        place, room = deepest_place(part, radius * SPACING)
        if room < LEAST_HELIX * radius:
            raise Refused(_no_helix(place, room, radius))
        helix = circle(place, min(HELIX * radius, room))
        ground.sweep(helix.points(radius * SPACING / 4))
        ground.sweep(np.array([place, place]))
        entries.append(helix)
        passes.append(tuple(_grown(ground, theta, radial_depth, part, helix.start)))
    walls = tuple(path for part in parts for path in part.paths)
    return Clearing(tuple(entries), tuple(passes), walls, theta)


def _too_narrow(area: Area, radius: float) -> Fault:
    place, room = deepest_place(area, radius * SPACING)
    return Fault(
        f"a cutter of {2 * radius:g} mm does not fit in: there are {2 * room:.2f} mm at "
        f"X {place.x:.2f} Y {place.y:.2f}, the widest place",
        f"a cutter below {2 * room:.2f} mm",
    )


def _no_helix(place: Point, room: float, radius: float) -> Fault:
    largest = 2 * (room + radius) / (1 + LEAST_HELIX)
    return Fault(
        f"a cutter of {2 * radius:g} mm finds no room to go down in a helix at "
        f"X {place.x:.2f} Y {place.y:.2f}, the widest place",
        f"a cutter of at most {largest:.2f} mm, or a hole drilled first",
    )


def deepest_place(area: Area, spacing: float) -> tuple[Point, float]:
    """The place furthest from the edge, to within a fraction of ``spacing``, and that distance."""
    x0, y0, x1, y1 = area.region(spacing / 10).bounds
    # Coarse first, then finer about the best place, so that large areas cost no more than small.
    step = max(x1 - x0, y1 - y0) / 40
    xs, ys = np.arange(x0, x1 + step, step), np.arange(y0, y1 + step, step)
    region = area.region(spacing / 10)
    best, room = Point((x0 + x1) / 2, (y0 + y1) / 2), -1.0
    while True:
        grid = np.array(np.meshgrid(xs, ys, indexing="ij")).reshape(2, -1).T
        inside = shapely.contains_xy(region, grid[:, 0], grid[:, 1])
        if inside.any():
            far = distances(grid[inside], area.paths)
            number = int(np.argmax(np.round(far, 9)))
            if far[number] > room:
                room = float(far[number])
                best = Point(*map(float, grid[inside][number]))
        if step < spacing / 20:
            return best, max(room, 0.0)
        xs = best.x + step * np.linspace(-1.5, 1.5, 13)
        ys = best.y + step * np.linspace(-1.5, 1.5, 13)
        step /= 4


@dataclass(frozen=True)
class _Ground:
    """The grid: ``inside`` (nx, ny) distance from the area's edge, negative outside; ``been`` to
    where the cutter's centre has been, at most three radii."""

    x: Floats
    y: Floats
    spacing: float
    radius: float
    reach: float
    inside: Floats
    been: Floats

    @classmethod
    def of(cls, area: Area, radius: float, reach: float) -> _Ground:
        spacing = SPACING * radius
        region = area.region(spacing / 50)
        x0, y0, x1, y1 = region.bounds
        x = np.arange(x0 - 4 * spacing, x1 + 5 * spacing, spacing)
        y = np.arange(y0 - 4 * spacing, y1 + 5 * spacing, spacing)
        grid = np.array(np.meshgrid(x, y, indexing="ij")).reshape(2, -1).T
        far = distances(grid, area.paths)
        within = shapely.contains_xy(region, grid[:, 0], grid[:, 1])
        inside = np.where(within, far, -far).reshape(len(x), len(y))
        been = np.full_like(inside, 3 * radius)
        return cls(x, y, spacing, radius, reach, inside, been)

    def sweep(self, points: Floats) -> None:
        """The cutter's centre has gone along ``points`` (n, 2)."""
        # Between two places so far apart the cleared edge is no more than spacing/20 short.
        places = _resampled(points, 2 * self.spacing)
        wide = math.ceil((self.radius + 3 * self.spacing) / self.spacing)
        columns = np.rint((places[:, 0] - self.x[0]) / self.spacing).astype(int)
        rows = np.rint((places[:, 1] - self.y[0]) / self.spacing).astype(int)
        for (px, py), i, j in zip(places, columns, rows, strict=True):
            across = slice(max(i - wide, 0), i + wide + 1)
            up = slice(max(j - wide, 0), j + wide + 1)
            window = self.been[across, up]
            far = np.hypot((self.x[across] - px)[:, None], self.y[up] - py)
            np.minimum(window, far, out=window)

    def _weights(self, x: Floats, y: Floats) -> tuple[NDArray[np.int64], Floats, Floats]:
        """For points: number of the cell in the flat grid, and how far across it they lie."""
        across = (x - self.x[0]) / self.spacing
        up = (y - self.y[0]) / self.spacing
        i = np.clip(across.astype(np.int64), 0, len(self.x) - 2)
        j = np.clip(up.astype(np.int64), 0, len(self.y) - 2)
        return i * len(self.y) + j, across - i, up - j

    def _between(
        self, values: Floats, cell: NDArray[np.int64], u: Floats, v: Floats
    ) -> Floats:
        flat = values.ravel()
        step = len(self.y)
        low = flat[cell] * (1 - u) + flat[cell + step] * u
        high = flat[cell + 1] * (1 - u) + flat[cell + step + 1] * u
        return np.asarray(low * (1 - v) + high * v)

    def room(self, points: Floats) -> Floats:
        """(n,) distance of points from the area's edge."""
        return self._between(self.inside, *self._weights(points[:, 0], points[:, 1]))

    def meets(self, points: Floats) -> NDArray[np.bool_]:
        """(n,) whether the cutter, standing there, would be in metal and not only touch it."""
        edge = self._edge_in_metal(points)
        return np.asarray((edge > 0.75 * self.spacing).any(axis=1))

    def metal_round(self, points: Floats) -> Floats:
        """(n, directions) how much metal, 0 to 1, stands at the cutter's edge about each point."""
        return np.clip(0.5 + self._edge_in_metal(points) / self.spacing, 0.0, 1.0)

    def _edge_in_metal(self, points: Floats) -> Floats:
        """(n, directions) how deep in metal, mm, the cutter's edge stands; negative: off it."""
        x = points[:, 0, None] + self.radius * _COSINES
        y = points[:, 1, None] + self.radius * _SINES
        cell, u, v = self._weights(x, y)
        return np.minimum(
            self._between(self.inside, cell, u, v),
            self._between(self.been, cell, u, v) - self.radius,
        )


_ANGLES = np.arange(DIRECTIONS) * math.tau / DIRECTIONS
_COSINES, _SINES = np.cos(_ANGLES), np.sin(_ANGLES)


def _leading(metal: Floats, ways: Floats) -> Floats:
    """(n,) angle of metal in the half of the edge that leads, for unit ``ways`` (n, 2)."""
    ahead = ways[:, 0, None] * _COSINES + ways[:, 1, None] * _SINES
    share = np.clip(0.5 + ahead * DIRECTIONS / math.tau, 0.0, 1.0)
    return np.asarray((metal * share).sum(axis=1) * math.tau / DIRECTIONS)


def _along_front(metal: Floats) -> Floats:
    """(n, 2) unit ways along the front, the metal on the right."""
    x, y = metal @ _COSINES, metal @ _SINES
    size = np.hypot(x, y)
    size[size == 0] = 1.0
    return np.column_stack((-y / size, x / size))


def _grown(
    ground: _Ground, theta: float, radial_depth: float, part: Area, at: Point
) -> Iterator[Pass]:
    """Pass after pass, until none is worth making."""
    mine = part.region(ground.spacing / 10).buffer(2 * ground.spacing)
    shapely.prepare(mine)
    level = 0
    while level < len(LEVELS):
        wanted = LEVELS[level] * theta
        found = [
            points
            for line in _lines(ground, wanted, radial_depth)
            for points in _safe_stretches(ground, line, wanted, theta)
            if shapely.contains_xy(mine, *points[len(points) // 2])
        ]
        if not found:
            level += 1
            continue
        for points in _nearest_first(found, at):
            begin = _beside(ground, points, radial_depth)
            over = _is_cleared(ground, at, begin)
            closed = bool(np.allclose(points[0], points[-1]))
            path = fitted(points, ground.spacing / 20, closed)
            ground.sweep(np.concatenate((np.array([begin]), points)))
            at = path.end
            yield Pass(path, begin, over)


def _nearest_first(rows: list[Floats], at: Point) -> Iterator[Floats]:
    """Rows of points, always the one next that begins nearest; closed ones begin anywhere."""
    rest = list(rows)
    here = np.array(at)
    while rest:
        best, turned, least = 0, 0, math.inf
        for number, row in enumerate(rest):
            if np.allclose(row[0], row[-1]):
                far = np.hypot(*(row[:-1] - here).T)
                place = int(np.argmin(far))
            else:
                far, place = np.array([math.dist(row[0], here)]), 0
            if far[place] < least - 1e-9:
                best, turned, least = number, place, float(far[place])
        row = rest.pop(best)
        if turned:
            row = np.concatenate((row[turned:-1], row[: turned + 1]))
        here = row[-1]
        yield row


def _beside(ground: _Ground, points: Floats, radial_depth: float) -> Point:
    """A place on cleared ground from which a pass along ``points`` is begun.

    The nearest there is, one from which the pass goes on nearly straight before others.
    """
    start = points[0]
    way = points[1] - start
    way = way / np.hypot(*way)
    far = radial_depth * np.array([0.7, 0.9, 1.1, 1.3, 1.6, 2.0, 2.5, 3.0])
    around = np.column_stack((_COSINES, _SINES))[::3]
    places = (start + far[:, None, None] * around).reshape(-1, 2)
    clear = ~ground.meets(places)
    clear &= ground.room(places) >= ground.reach - ground.spacing / 50
    if not clear.any():
        return Point(*map(float, start))
    straight = np.tile(-(around @ way), len(far))
    cost = np.repeat(far, len(around)) * (1.0 - 0.4 * straight)
    best = int(np.argmin(np.where(clear, np.round(cost, 9), np.inf)))
    return Point(*map(float, places[best]))


def _is_cleared(ground: _Ground, begin: Point, end: Point) -> bool:
    """Whether the cutter may go straight from ``begin`` to ``end`` and meet nothing."""
    count = math.ceil(math.dist(begin, end) / ground.spacing) + 1
    share = np.linspace(0.0, 1.0, count)[:, None]
    points = np.array(begin) * (1 - share) + np.array(end) * share
    if ground.room(points).min() < ground.reach - ground.spacing / 10:
        return False
    return not ground.meets(points).any()


def _safe_stretches(
    ground: _Ground, line: Floats, wanted: float, theta: float
) -> Iterator[Floats]:
    """A line smoothed, kept within the walls, and cut where it would meet too much metal."""
    if float(ground.metal_round(line).sum(axis=1).max()) * math.tau / DIRECTIONS < WORTH * wanted:
        return
    closed = bool(np.allclose(line[0], line[-1]))
    points = _resampled(line, 0.7 * ground.spacing)
    if len(points) < 4:
        return
    points = _smoothed(points, closed)
    meets = _leading(ground.metal_round(points), _ways(points, closed))
    most = MOST * theta if wanted == theta else theta
    good = (meets <= most) & (ground.room(points) >= ground.reach - ground.spacing / 50)
    if closed and good.all():
        yield points
        return
    if closed:
        # Begin where the line is no good, so that no stretch is parted by the seam.
        first = int(np.argmin(good[:-1]))
        points = np.concatenate((points[first:-1], points[: first + 1]))
        good = np.concatenate((good[first:-1], good[: first + 1]))
    changes = np.flatnonzero(np.diff(np.concatenate(([False], good, [False])).astype(np.int8)))
    for begin, end in changes.reshape(-1, 2):
        stretch = points[begin:end]
        if len(stretch) > 2 and _length(stretch) > SHORTEST * ground.spacing:
            yield stretch


def _length(points: Floats) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def _resampled(points: Floats, spacing: float) -> Floats:
    """Points ``spacing`` apart, or a little less or more, along a row of points."""
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    count = max(2, round(along[-1] / spacing) + 1)
    places = np.linspace(0.0, along[-1], count)
    return np.column_stack(
        (np.interp(places, along, points[:, 0]), np.interp(places, along, points[:, 1]))
    )


def _smoothed(points: Floats, closed: bool) -> Floats:
    """Each point drawn towards its neighbours, four times; ends stay."""
    for _ in range(4):
        if closed:
            ring = points[:-1]
            ring = (np.roll(ring, 1, axis=0) + 2 * ring + np.roll(ring, -1, axis=0)) / 4
            points = np.concatenate((ring, ring[:1]))
        else:
            middle = (points[:-2] + 2 * points[1:-1] + points[2:]) / 4
            points = np.concatenate((points[:1], middle, points[-1:]))
    return points


def _ways(points: Floats, closed: bool) -> Floats:
    """(n, 2) unit directions along a row of points."""
    if closed:
        ring = points[:-1]
        way = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
        way = np.concatenate((way, way[:1]))
    else:
        way = np.gradient(points, axis=0)
    return np.asarray(way / np.maximum(np.hypot(*way.T), 1e-12)[:, None])


# --- lines of equal engagement ------------------------------------------------------------------


def _lines(ground: _Ground, wanted: float, radial_depth: float) -> list[Floats]:
    """Lines on which the engagement is ``wanted``, as rows of points, the metal on their right."""
    # Engagement is 0 where the centre has been and half a turn far out; only the band between,
    # where the line can be, is looked at.
    band = (ground.inside > ground.reach - 2 * ground.spacing) & (
        ground.been < 1.7 * radial_depth + ground.spacing
    )
    near = band & (ground.been > 0.45 * radial_depth)
    i, j = np.nonzero(near)
    excess = np.where(band, -wanted, math.pi)
    if len(i):
        points = np.column_stack((ground.x[i], ground.y[j]))
        metal = ground.metal_round(points)
        excess[i, j] = _leading(metal, _along_front(metal)) - wanted
    return _level_lines(ground, excess, band)


# By which of a cell's corners lie above (1 lower left, 2 lower right, 4 upper right, 8 upper left):
# the sides (0 lower, 1 right, 2 upper, 3 left) that a line comes in and goes out by, what is above
# on its right.
_CELLS: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((3, 0),), 2: ((0, 1),), 3: ((3, 1),), 4: ((1, 2),), 5: ((3, 0), (1, 2)), 6: ((0, 2),),
    7: ((3, 2),), 8: ((2, 3),), 9: ((2, 0),), 10: ((2, 3), (0, 1)), 11: ((2, 1),), 12: ((1, 3),),
    13: ((1, 0),), 14: ((0, 3),),
}
_Side = tuple[int, int, int]


def _level_lines(ground: _Ground, values: Floats, known: NDArray[np.bool_]) -> list[Floats]:
    """Lines where ``values`` are 0, cell by cell, chained."""
    above = values > 0
    kind = (
        above[:-1, :-1] * 1 + above[1:, :-1] * 2 + above[1:, 1:] * 4 + above[:-1, 1:] * 8
    )
    whole = known[:-1, :-1] & known[1:, :-1] & known[1:, 1:] & known[:-1, 1:]
    cells = np.argwhere(whole & (kind > 0) & (kind < 15))
    following: dict[_Side, _Side] = {}
    for i, j in cells.tolist():
        for begin, end in _CELLS[int(kind[i, j])]:
            following[_side(begin, i, j)] = _side(end, i, j)
    lines: list[Floats] = []
    ends = set(following.values())
    for start in [side for side in following if side not in ends]:
        lines.append(_walked(ground, values, following, start))
    while following:
        lines.append(_walked(ground, values, following, next(iter(following))))
    return [line for line in lines if len(line) > 1]


def _side(which: int, i: int, j: int) -> _Side:
    """A side of a cell as the grid's own: 0 along x or 1 along y, from node i, j."""
    return {0: (0, i, j), 1: (1, i + 1, j), 2: (0, i, j + 1), 3: (1, i, j)}[which]


def _walked(
    ground: _Ground, values: Floats, following: dict[_Side, _Side], start: _Side
) -> Floats:
    sides = [start]
    while sides[-1] in following:
        sides.append(following.pop(sides[-1]))
    along, i, j = np.array(sides).T
    second = (i + (along == 0), j + (along == 1))
    low, high = values[i, j], values[second]
    share = low / (low - high)
    x = ground.x[i] + np.where(along == 0, share, 0.0) * ground.spacing
    y = ground.y[j] + np.where(along == 1, share, 0.0) * ground.spacing
    return np.column_stack((x, y))
