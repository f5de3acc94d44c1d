"""Clearing an area as a ladder: once along every wall, then parallel rows over what is left.

Every way is planned as a slot, so whatever a row runs into is no more metal than it was planned
for: no engagement has to be bounded. The ways along the walls leave a band as wide as the cutter;
what stands within is cut into strips hardly narrower than the cutter, and down the middle of each
goes a row, just as far as metal stands in the strip. A strip is nowhere further from its row than
half its width, so nothing is left. Rows of strips beside one another are joined to and fro.

Ground that is free before is left out. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import field

import numpy as np
import shapely
import shapely.ops
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats
from camgen.clearing.clearing import Entry
from camgen.clearing.room import deepest_place
from camgen.shapes.offset import Area, offset
from camgen.shapes.path import LineTo, Path, Point
from camgen.values import dataclass

__all__ = ["Ladder", "Rung", "ladder"]

# From one row to the next, as a share of the width that the cutter's end cuts flat: what is left
# over covers how far a cutter bends and runs out. Common practice, no source.
STEP = 0.95
# Chords of regions, mm; and how far inside of where the centre may go rows stay for that.
CHORD, INSIDE = 0.0005, 0.002
# Metal no thicker than twice this is none, mm: what rounding leaves beside a wall.
THIN = 0.001
# Rows are joined, through whatever stands between, where their ends are no further apart, in radii.
JOINED = 5.0
# So many rows are joined at most: a control that holds little can be given them in several parts.
TOGETHER = 60
# A ring on which the cutter goes down is no shorter, in radii.
SHORTEST_RING = 2.0
# A lift takes as long as so many radii of way; from common feeds and rapids of small mills.
LIFT = 20.0
# Rings within are tried in areas of at most so many squares of the step, and so many of them; one
# in the middle at this share of the room there, where there is at least so much, in radii.
MANY_ROWS, MOST_RINGS = 60.0, 4
MIDDLE, LEAST_ROOM = 0.97, 0.05
# Rows this short, mm, are drawn out to it, so that they have a direction.
SHORTEST_ROW = 0.02


@dataclass(frozen=True)
class Rung:
    """One way of the centre, ``path``, all at the feed of a slot; none after a mere way down.

    ``entry`` is how the cutter goes down before; None where it goes over the floor, straight and
    over cleared ground, to the path's start.
    """

    entry: Entry | None
    path: Path | None


@dataclass(frozen=True)
class Ladder:
    """How an area is cleared in slots: ``rungs`` in order, ``step`` mm from row to row.

    ``size`` is the metal that the cutter reaches, mm².
    """

    runs: tuple[Rung, ...]
    step: float
    size: float

    @property
    def length(self) -> float:
        """Length of all ways, mm, those down counted once."""
        return _length(self.runs)


def _length(runs: Sequence[Rung]) -> float:
    ways = [run.path for run in runs]
    ways += [run.entry.path for run in runs if run.entry is not None]
    return math.fsum(way.length for way in ways if way is not None)


# Where a part is entered other than round its edge: the way down, and where the cutter is then.
WayIn = Callable[[Area], tuple[Entry, Point] | None]


def ladder(
    area: Area,
    radius: float,
    allowance: float = 0.0,
    *,
    corner: float = 0.0,
    least_round: float = 0.0,
    way_in: WayIn | None = None,
) -> Ladder | None:
    """The ladder that clears ``area`` with a cutter of ``radius``, ``allowance`` left on walls.

    ``corner`` is the radius of the cutter's corner: no more is left of it than a fillet along the
    walls. No way down lies in a ring smaller than ``least_round``. ``way_in`` may say how each part
    is entered. None where a part is too small to go down round its edge.

    >>> from camgen.shapes.figures import rectangle
    >>> found = ladder(Area(rectangle(10.0, 6.0, 0.6)), 0.5)
    >>> len(found.runs), round(found.length * 1.0 / found.size, 1)
    (2, 1.2)
    """
    reach = radius + allowance
    parts = offset(area, -reach)
    runs: list[Rung] = []
    step, flat = STEP * 2 * (radius - corner), radius - corner
    for part in parts:
        entered = way_in(part) if way_in is not None else None
        if entered is None and (part.outer.length < SHORTEST_RING * radius
                                or _round(part.outer) < least_round):
            return None
        ways = [tuple(_Part(part, radius, flat, step).runs(entered, rings))
                for rings in _rings_within(part, radius, step)]
        shortest = min(ways, key=lambda one: round(_cost(one, radius), 6))
        runs += shortest
    if not runs:
        return None
    within = shapely.union_all([part.region(CHORD).buffer(reach, quad_segs=16) for part in parts])
    return Ladder(tuple(runs), step, float(within.area))


def _cost(runs: Sequence[Rung], radius: float) -> float:
    """Length of the ways, and of each lift what is cut in its time."""
    return _length(runs) + LIFT * radius * sum(run.entry is not None for run in runs)


def _rings_within(part: Area, radius: float, step: float) -> Iterator[list[Path]]:
    """Further rings that might be cut inside those along the walls: none, and ever more of them.

    Where there is no room for whole rings, one in the middle: round an island as far from it as
    from the wall. Only in areas so small that rows are short.
    """
    yield []
    if part.size > MANY_ROWS * step * step:
        return
    rings: list[Path] = []
    inner: tuple[Area, ...] = (part,)
    for _ in range(MOST_RINGS):
        outside = inner
        inner = tuple(one for area in outside for one in offset(area, -step))
        if not inner:
            break
        rings += [path for area in inner for path in area.paths]
        yield list(rings)
    else:
        return
    middles: list[Path] = []
    for area in outside:
        room = deepest_place(area, step / 4)[1]
        if room > LEAST_ROOM * radius and area.islands:
            middles += [one.outer for one in offset(area, -MIDDLE * room)]
    if middles:
        yield rings + middles


def _round(path: Path) -> float:
    return float(shapely.minimum_bounding_radius(path.region(CHORD)))


@dataclass(frozen=True, slots=True)
class _Row:
    """A row in the turned frame: ``y``, from ``begin`` to ``end`` along X, of strip ``number``."""

    number: int
    y: float
    begin: float
    end: float

    def ends(self) -> tuple[tuple[float, float], tuple[float, float]]:
        return (self.begin, self.y), (self.end, self.y)


@dataclass
class _Part:
    """One part of where the centre may go."""

    part: Area
    radius: float
    flat: float
    step: float
    centre: BaseGeometry = field(init=False)
    cleared: list[BaseGeometry] = field(init=False)
    left: tuple[list[_Row], float] | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        self.centre = self.part.region(CHORD).buffer(-INSIDE)
        shapely.prepare(self.centre)
        self.cleared = []

    def runs(
        self, entered: tuple[Entry, Point] | None, further: Sequence[Path]
    ) -> Iterator[Rung]:
        """The ways along the walls, ``further`` rings within, then the rows."""
        rings = list(self.part.paths)
        if entered is None:
            outer = rings.pop(0)
            if not rings and not further:
                outer = self._ending_by_rows(outer)
            yield Rung(Entry("ramp", outer.start, outer), None)
            self._sweep(outer.points(CHORD))
            at = outer.start
        else:
            entry, at = entered
            yield Rung(entry, None)
            self._sweep((entry.path or Path(at, (), closed=False)).points(CHORD))
        inside = list(further)
        while rings or inside:
            if not rings:
                rings, inside = inside, []
            # The next one is the nearest, gone to straight where nothing is in the way.
            near = min(rings, key=lambda one: round(math.dist(at, one.at(one.nearest(at))), 9))
            rings.remove(near)
            ring = near.starting_at(near.nearest(at))
            if self._may(at, ring.start):
                lead = [Path(at, (LineTo(ring.start),), closed=False)]
                yield Rung(None, _joined([*lead, ring] if math.dist(at, ring.start) > CHORD
                                        else [ring]))
            else:
                yield Rung(Entry("ramp", ring.start, ring), None)
            at = ring.start
            self._sweep(ring.points(CHORD))
        yield from self._rows(at)

    def _ending_by_rows(self, outer: Path) -> Path:
        """A ring begun, and so ended, where rows go on from it."""
        self._sweep(outer.points(CHORD))
        self.left = rows, degrees = self._left()
        self.cleared.clear()
        if not rows:
            return outer
        return outer.starting_at(outer.nearest(_turned(rows[0].ends()[0], degrees)))

    def _left(self) -> tuple[list[_Row], float]:
        """The rows over what is not cleared yet, turned by so many degrees."""
        banded = shapely.union_all(self.cleared)
        metal = self.part.region(CHORD).buffer(self.flat, quad_segs=32).difference(
            banded).buffer(-THIN)
        if metal.is_empty:
            return [], 0.0
        degrees = _along(metal)
        return _strips(rotate(metal, -degrees, origin=(0, 0)), self.step,
                       self.flat - 2 * THIN), degrees

    def _rows(self, at: Point) -> Iterator[Rung]:
        # Where a ring begins is nothing to what it leaves.
        rows, degrees = self.left or self._left()
        if not rows:
            return
        centre = rotate(self.centre, -degrees, origin=(0, 0))
        shapely.prepare(centre)
        here = _turned(at, -degrees)
        for chain in _chains(rows, centre, here, JOINED * self.radius):
            # The band along a wall ends a hair outside of where rows may go.
            near = self._pulled_in(centre, here)
            if math.dist(here, chain[0]) > JOINED * self.radius or not _within(
                    centre, near, chain[0]):
                first = _on_ring(centre, chain[0], chain[1])
                if first != chain[0]:
                    chain = [first, *chain]
            else:
                chain = [here, *chain]
            points = [_turned(Point(*one), degrees) for one in chain]
            path = _polyline(points)
            over = self._clear_to(at, path.start)
            yield Rung(None if over else Entry("descent", path.start), path)
            self._sweep(path.points(CHORD))
            at, here = path.end, Point(*chain[-1])

    @staticmethod
    def _pulled_in(centre: BaseGeometry, place: Point) -> Point:
        """The nearest place to one on a wall's way at which rows may be."""
        here = shapely.Point(place)
        if centre.contains(here):
            return place
        near = shapely.ops.nearest_points(centre, here)[0]
        # From its edge it is as far inside again.
        off = math.dist(place, (near.x, near.y))
        more = 1.0 + INSIDE / off if off > 0 else 1.0
        return Point(place.x + more * (near.x - place.x), place.y + more * (near.y - place.y))

    def _sweep(self, points: Floats) -> None:
        way = shapely.LineString(points) if len(points) > 1 else shapely.Point(points[0])
        self.cleared.append(way.buffer(self.flat - THIN, quad_segs=32))

    def _may(self, one: Point, other: Point) -> bool:
        """Whether the centre may go straight from one place to another, both on walls or within."""
        line = shapely.LineString([one, other])
        return bool(self.part.region(CHORD).buffer(CHORD).contains(line))

    def _clear_to(self, one: Point, other: Point) -> bool:
        """Whether the way straight to a place lies over cleared ground."""
        if math.dist(one, other) < CHORD:
            return True
        if not self._may(one, other):
            return False
        way = shapely.LineString([one, other]).buffer(self.flat - 5 * THIN, quad_segs=16)
        near = [one for one in self.cleared if one.intersects(way)]
        return bool(shapely.union_all(near).contains(way))


def _strips(metal: BaseGeometry, step: float, flat: float) -> list[_Row]:
    """The rows over metal, at most ``step`` apart, each as far as an end of ``flat`` mm must go."""
    x0, y0, x1, y1 = metal.bounds
    count = max(1, math.ceil((y1 - y0) / step - 1e-9))
    high = (y1 - y0) / count
    rows: list[_Row] = []
    for number in range(count):
        low = y0 + number * high
        strip = shapely.clip_by_rect(metal, x0 - 1, low, x1 + 1, low + high)
        spans: list[list[float]] = []
        for begin, end in sorted(_reach(one, low + high / 2, flat)
                                 for one in shapely.get_parts(strip) if one.area > 0):
            if spans and begin <= spans[-1][1]:
                spans[-1][1] = max(spans[-1][1], end)
            else:
                spans.append([begin, end])
        for begin, end in spans:
            more = max(0.0, SHORTEST_ROW - (end - begin)) / 2
            rows.append(_Row(number, low + high / 2, begin - more, end + more))
    return rows


def _reach(one: BaseGeometry, y: float, flat: float) -> tuple[float, float]:
    """From where to where a row at ``y`` goes that clears a piece of metal; the end is round.

    A point is cleared from up to √(flat² − dy²) before it; along a straight edge that is most at
    one of its ends, for it is convex there.
    """
    x, dy = (shapely.get_coordinates(one) - (0.0, y)).T
    before = np.sqrt(np.maximum(flat * flat - dy * dy, 0.0))
    begin, end = float((x + before).min()), float((x - before).max())
    return (begin, end) if begin <= end else ((begin + end) / 2,) * 2


def _chains(
    rows: list[_Row], centre: BaseGeometry, at: Point, far: float
) -> Iterator[list[tuple[float, float]]]:
    """Rows joined to and fro, each chain as points; begun at what is nearest to the one before."""
    rest = dict.fromkeys(rows)
    by_number: dict[int, list[_Row]] = {}
    for row in rows:
        by_number.setdefault(row.number, []).append(row)

    def beside(row: _Row, way: int) -> list[_Row]:
        return [one for one in by_number.get(row.number + way, ()) if one in rest
                and one.begin < row.end + far and one.end > row.begin - far]

    while rest:
        outermost = [row for row in rest if not beside(row, 1) or not beside(row, -1)]
        first, place = min(
            ((row, end) for row in outermost for end in row.ends()),
            key=lambda pair: (round(math.dist(at, pair[1]), 6), pair[0].number, pair[1]))
        chain = [place, first.ends()[1 if place == first.ends()[0] else 0]]
        del rest[first]
        way, row, count = (1 if beside(first, 1) else -1), first, 1
        while count < TOGETHER:
            here = chain[-1]
            found = min(
                ((one, end) for one in beside(row, way) for end in one.ends()
                 if math.dist(here, end) <= far and _within(centre, here, end)),
                key=lambda pair: round(math.dist(here, pair[1]), 6), default=None)
            if found is None:
                break
            row, place = found
            del rest[row]
            chain += [place, row.ends()[1 if place == row.ends()[0] else 0]]
            count += 1
        yield chain
        at = Point(*chain[-1])


def _within(centre: BaseGeometry, one: Sequence[float], other: Sequence[float]) -> bool:
    return bool(centre.contains(shapely.LineString([one, other])))


def _on_ring(
    centre: BaseGeometry, place: tuple[float, float], ahead: tuple[float, float]
) -> tuple[float, float]:
    """Where a row carried on backwards comes to the edge of where the centre may go: the band along
    the wall has been cleared there."""
    x0, _, x1, _ = centre.bounds
    far = (x0 - 1 if ahead[0] > place[0] else x1 + 1, place[1])
    line = shapely.LineString([place, far]).intersection(centre)
    mine = [one for one in shapely.get_parts(line)
            if one.distance(shapely.Point(place)) < 1e-9]
    ends = [tuple(map(float, end)) for one in mine for end in one.coords]
    return max(ends, key=lambda end: abs(end[0] - place[0]), default=place)  # type: ignore[return-value]


def _along(metal: BaseGeometry) -> float:
    """The direction of the longer side of the metal's least rectangle, degrees."""
    corners = shapely.get_coordinates(metal.minimum_rotated_rectangle)
    if len(corners) < 4:
        return 0.0
    sides = np.diff(corners[:3], axis=0)
    longer = max(sides.tolist(), key=lambda side: round(math.hypot(*side), 6))
    degrees = math.degrees(math.atan2(longer[1], longer[0])) % 180.0
    return 0.0 if min(degrees, 180.0 - degrees) < 1e-6 else degrees


def _turned(point: Sequence[float], degrees: float) -> Point:
    if degrees == 0:
        return Point(float(point[0]), float(point[1]))
    return Path(Point(*point), (), closed=False).moved(0.0, 0.0, degrees).start


def _polyline(points: Sequence[Point]) -> Path:
    kept = [points[0]]
    for point in points[1:]:
        if math.dist(point, kept[-1]) > CHORD:
            kept.append(point)
    return Path(kept[0], tuple(LineTo(point) for point in kept[1:]), closed=False)


def _joined(paths: Sequence[Path]) -> Path:
    """One open path of several that follow each other."""
    return Path(paths[0].start, tuple(piece for path in paths for piece in path.pieces),
                closed=False)
