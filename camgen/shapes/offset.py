"""Parallels of closed paths, exact: lines stay lines and arcs stay arcs.

Every piece of an edge has its parallel, and corners that open get an arc round them. These cross
one another; cut at the crossings, the parts that keep their distance from the whole edge are the
answer, and they chain into closed paths again. Distances are those to lines and arcs themselves:
nothing is approximated by chords.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from camgen.arrays import Floats
from camgen.shapes.path import (
    ArcTo,
    LineTo,
    Path,
    Piece,
    Point,
    direction,
    piece_length,
    polygon,
    sweep,
    turn_between,
)
from camgen.tolerances import ROUNDING, SAME_PLACE
from camgen.values import dataclass

__all__ = ["Area", "distances", "offset"]

# A part this much too near the edge, mm, still keeps its distance.
KEEP = ROUNDING
# Where three parallels meet in a point, a distance a few nanometres beside it has them apart.
NUDGES = (0.0, 2e-6, -2e-6, 5e-6, -5e-6)
CHORD = 5e-5


@dataclass(frozen=True)
class Area:
    """A part of the plane: inside ``outer``, outside every one of ``islands``.

    ``outer`` runs anticlockwise and islands clockwise, so the area lies left of every path.
    """

    outer: Path
    islands: tuple[Path, ...] = ()

    @property
    def paths(self) -> tuple[Path, ...]:
        """All its edges."""
        return (self.outer, *self.islands)

    @property
    def size(self) -> float:
        """mm²."""
        return math.fsum(path.area for path in self.paths)

    def region(self, tolerance: float) -> shapely.Polygon:
        """The same with arcs as chords within ``tolerance`` mm."""
        return _region(self, tolerance)

    @classmethod
    def of(cls, outer: Path, islands: Sequence[Path] = ()) -> Area:
        """From paths that run any way round."""
        return cls(outer if outer.area > 0 else outer.reversed(), tuple(
            path if path.area < 0 else path.reversed() for path in islands))


@lru_cache(maxsize=512)
def _region(area: Area, tolerance: float) -> shapely.Polygon:
    """Kept, because every question about a pocket begins with it."""
    return shapely.Polygon(area.outer.points(tolerance),
                           [island.points(tolerance) for island in area.islands])


@dataclass(frozen=True, slots=True)
class _Part:
    """A piece with its start."""

    start: Point
    piece: Piece

    @property
    def end(self) -> Point:
        return self.piece.end


@lru_cache(maxsize=256)
def offset(area: Area, distance: float) -> tuple[Area, ...]:
    """The area grown by ``distance`` mm, or shrunk where that is negative; maybe in several parts.

    Shrunk by r it is where the centre of a cutter of radius r may go. Parts come in order of the
    least X, then Y, that their outer paths begin at.

    >>> from camgen.shapes.figures import rectangle
    >>> shrunk = offset(Area(rectangle(10.0, 6.0, 1.0)), -0.5)[0]
    >>> round(shrunk.size, 9) == round(rectangle(9.0, 5.0, 0.5).area, 9)
    True
    """
    if distance == 0:
        return (area,)
    rough = area.region(abs(distance) / 100).buffer(distance, quad_segs=12)
    loops = len(shapely.get_rings(rough))
    much = abs(distance) * math.fsum(path.length for path in area.paths) / 50 + SAME_PLACE
    whole: list[tuple[Area, ...]] = []
    for nudge in NUDGES:
        found = _offset(area, distance + nudge)
        # About as much as a parallel by chords has, and as many loops: none was lost.
        if abs(math.fsum(one.size for one in found) - float(rough.area)) <= much:
            whole.append(found)
            if sum(len(one.paths) for one in found) == loops:
                return found
    return whole[0] if whole else _by_chords(area, distance)


def _by_chords(area: Area, distance: float) -> tuple[Area, ...]:
    """The parallel as chords within ``CHORD`` mm, where the exact one loses its way."""
    quarter = math.ceil(math.pi / 4 / math.acos(1 - CHORD / max(abs(distance), CHORD)))
    found = shapely.get_parts(area.region(CHORD).buffer(distance, quad_segs=quarter))
    rings = [[polygon(ring.coords[:-1]) for ring in (part.exterior, *part.interiors)]
             for part in found if part.area > SAME_PLACE]
    return tuple(Area.of(outer, islands) for outer, *islands in rings)


def _offset(area: Area, distance: float) -> tuple[Area, ...]:
    """The parallel at just this distance; a loop may be lost where crossings fall together."""
    parts = _cut_at_crossings(_parallels(area, distance))
    kept = _that_keep_away(parts, area, distance)
    loops = [path for path in _loops(kept) if abs(path.area) > SAME_PLACE]
    outers = [path for path in loops if path.area > 0]
    islands = [path for path in loops if path.area < 0]
    found: list[Area] = []
    for outer in outers:
        if len(outers) == 1:
            found.append(Area(outer, tuple(islands)))
            continue
        within = outer.region(abs(distance) / 100)
        found.append(
            Area(outer, tuple(i for i in islands if within.contains(shapely.Point(i.start)))))
    return tuple(sorted(found, key=lambda one: (one.outer.start.x, one.outer.start.y)))


def _parallels(area: Area, distance: float) -> list[_Part]:
    """The parallel of every piece, and arcs round the corners that open."""
    parts: list[_Part] = []
    for path in area.paths:
        pieces = list(path.laid_out())
        for number, (at, piece) in enumerate(pieces):
            moved = _parallel(at, piece, distance)
            if moved is not None:
                parts.append(moved)
            after_at, after = pieces[(number + 1) % len(pieces)]
            out, into = direction(at, piece, at_end=True), direction(after_at, after)
            turn = turn_between(at, piece, after)
            # Growing opens left turns, shrinking right ones; the rest cross by themselves.
            if turn * distance > 0 and abs(turn) > 1e-9:
                corner, end = piece.end, _beside(piece.end, into, distance)
                parts.append(_Part(_beside(corner, out, distance),
                                   ArcTo(end, corner, clockwise=distance < 0)))
    return parts


def _parallel(at: Point, piece: Piece, distance: float) -> _Part | None:
    """A piece moved to its right by ``distance``; None where nothing is left of an arc."""
    begin, end = direction(at, piece), direction(at, piece, at_end=True)
    start = _beside(at, begin, distance)
    if isinstance(piece, LineTo):
        return _Part(start, LineTo(_beside(piece.end, end, distance)))
    radius = math.dist(at, piece.centre) + (-distance if piece.clockwise else distance)
    if radius <= SAME_PLACE:
        return None
    return _Part(start, ArcTo(_beside(piece.end, end, distance), piece.centre, piece.clockwise))


def _beside(point: Point, way: Point, distance: float) -> Point:
    """``distance`` to the right of a way."""
    return Point(point.x + way.y * distance, point.y - way.x * distance)


# --- crossings ----------------------------------------------------------------------------------


def _cut_at_crossings(parts: Sequence[_Part]) -> list[_Part]:
    """All parts, cut wherever two of them meet."""
    boxes = np.array([_box(part) for part in parts]).reshape(-1, 4)
    cuts: list[list[Point]] = [[] for _ in parts]
    # Only what may meet is looked at: very long outlines have tens of thousands of parts.
    one, other = shapely.STRtree(shapely.box(*boxes.T)).query(shapely.box(
        *(boxes + np.array([-SAME_PLACE, -SAME_PLACE, SAME_PLACE, SAME_PLACE])).T))
    later = other > one
    order = np.lexsort((other[later], one[later]))
    for first, second in zip(one[later][order].tolist(), other[later][order].tolist(), strict=True):
        for point in _meetings(parts[first], parts[second]):
            cuts[first].append(point)
            cuts[second].append(point)
    done: list[_Part] = []
    for part, points in zip(parts, cuts, strict=True):
        at = part.start
        # What meets it at its start may lie a hair before: all the way round, seen along an arc.
        points = [point for point in points if math.dist(at, point) > SAME_PLACE]
        for point in sorted(points, key=lambda point: _share(part, point)):
            if math.dist(at, point) > SAME_PLACE and math.dist(point, part.end) > SAME_PLACE:
                done.append(_Part(at, _ending(part.piece, point)))
                at = point
        done.append(_Part(at, part.piece))
    return done


def _box(part: _Part) -> tuple[float, float, float, float]:
    """Least X, least Y, greatest X, greatest Y that a part may have."""
    (x, y), (u, v), far = part.start, part.end, 0.0
    if isinstance(part.piece, ArcTo):
        (x, y), (u, v) = part.piece.centre, part.piece.centre
        far = math.dist(part.start, part.piece.centre)
    return min(x, u) - far, min(y, v) - far, max(x, u) + far, max(y, v) + far


def _ending(piece: Piece, end: Point) -> Piece:
    return LineTo(end) if isinstance(piece, LineTo) else ArcTo(end, piece.centre, piece.clockwise)


def _share(part: _Part, point: Point) -> float:
    """How far along a part a point of it lies, 0 to 1."""
    piece = part.piece
    if isinstance(piece, LineTo):
        dx, dy = piece.end.x - part.start.x, piece.end.y - part.start.y
        return ((point.x - part.start.x) * dx + (point.y - part.start.y) * dy) / (dx * dx + dy * dy)
    whole = sweep(part.start, piece)
    return sweep(part.start, ArcTo(point, piece.centre, piece.clockwise)) / whole if whole else 0.0


def _meetings(one: _Part, other: _Part) -> list[Point]:
    """Where two parts meet; where they touch once, though nearly twice, in the middle."""
    points = _curves_meet(one, other)
    met = [point for point in points if _is_on(one, point) and _is_on(other, point)]
    return met[:1] if len(points) > 2 else met


def _is_on(part: _Part, point: Point) -> bool:
    """Whether a point of a part's line or circle lies on the part itself."""
    if math.dist(point, part.start) < SAME_PLACE or math.dist(point, part.end) < SAME_PLACE:
        return True
    return 0.0 <= _share(part, point) <= 1.0


def _curves_meet(one: _Part, other: _Part) -> list[Point]:
    """Where the whole lines or circles of two parts meet."""
    a, b = one.piece, other.piece
    if isinstance(a, LineTo) and isinstance(b, LineTo):
        ux, uy = a.end.x - one.start.x, a.end.y - one.start.y
        vx, vy = b.end.x - other.start.x, b.end.y - other.start.y
        cross = ux * vy - uy * vx
        if abs(cross) < 1e-12 * math.hypot(ux, uy) * math.hypot(vx, vy):
            return []
        wx, wy = other.start.x - one.start.x, other.start.y - one.start.y
        share = (wx * vy - wy * vx) / cross
        return [Point(one.start.x + share * ux, one.start.y + share * uy)]
    if isinstance(a, ArcTo) and isinstance(b, ArcTo):
        apart = math.dist(a.centre, b.centre)
        if apart < SAME_PLACE:
            return []
        radius, second = math.dist(one.start, a.centre), math.dist(other.start, b.centre)
        nx, ny = (b.centre.x - a.centre.x) / apart, (b.centre.y - a.centre.y) / apart
        away = (apart**2 + radius**2 - second**2) / (2 * apart)
        return _line_meets_circle(nx, ny, away, a.centre, radius)
    line, arc = (one, other) if isinstance(a, LineTo) else (other, one)
    assert isinstance(arc.piece, ArcTo)
    length = math.dist(line.start, line.end)
    nx, ny = (line.start.y - line.end.y) / length, (line.end.x - line.start.x) / length
    centre = arc.piece.centre
    away = nx * (line.start.x - centre.x) + ny * (line.start.y - centre.y)
    return _line_meets_circle(nx, ny, away, centre, math.dist(arc.start, centre))


def _line_meets_circle(
    nx: float, ny: float, away: float, centre: Point, radius: float
) -> list[Point]:
    """Where the line with unit normal n, ``away`` from the centre, meets the circle.

    Where it nearly touches there are three: its foot, then the two."""
    if abs(away) > radius + SAME_PLACE:
        return []
    foot = Point(centre.x + away * nx, centre.y + away * ny)
    rest = radius * radius - away * away
    along = math.sqrt(max(0.0, rest))
    if along <= SAME_PLACE:
        return [foot]
    touching = [foot] if rest <= (SAME_PLACE / 100) * radius else []
    return [*touching, Point(foot.x - ny * along, foot.y + nx * along),
            Point(foot.x + ny * along, foot.y - nx * along)]


# --- what keeps its distance --------------------------------------------------------------------


def _that_keep_away(parts: Sequence[_Part], area: Area, distance: float) -> list[_Part]:
    """The parts whose middles are nowhere nearer to the edge, and on the right side of it."""
    parts = [part for part in parts if piece_length(part.start, part.piece) > SAME_PLACE]
    if not parts:
        return []
    middles = np.array([
        Path(part.start, (part.piece,), closed=False).at(piece_length(part.start, part.piece) / 2)
        for part in parts])
    far = ~_nearer(middles, area.paths, abs(distance) - KEEP)
    inside = shapely.contains_xy(area.region(abs(distance) / 10), middles[:, 0], middles[:, 1])
    return [
        part
        for part, is_far, is_inside in zip(parts, far, inside, strict=True)
        if is_far and bool(is_inside) == (distance < 0)
    ]


def _nearer(points: Floats, paths: Sequence[Path], than: float) -> NDArray[np.bool_]:
    """(n,) whether each of ``points`` (n, 2) is nearer than ``than`` mm to one of ``paths``.

    Of each piece only the points about it are looked at, so that long outlines take no longer than
    their sum.
    """
    near = np.zeros(len(points), dtype=np.bool_)
    wide = than + SAME_PLACE
    tree = shapely.STRtree(np.asarray(shapely.points(points)))
    for path in paths:
        for at, piece in path.laid_out():
            low_x, low_y, high_x, high_y = _box(_Part(at, piece))
            some = tree.query(shapely.box(low_x - wide, low_y - wide, high_x + wide, high_y + wide))
            if len(some):
                near[some] |= _from_piece(points[some], at, piece) < than
    return near


def distances(points: Floats, paths: Sequence[Path]) -> Floats:
    """(n,) distance of each of ``points`` (n, 2) from the nearest of all ``paths``, mm; exact.

    >>> from camgen.shapes.path import circle
    >>> distances(np.array([[3.0, 4.0]]), [circle(Point(0, 0), 2.0)])
    array([3.])
    """
    nearest = np.full(len(points), np.inf)
    for path in paths:
        for at, piece in path.laid_out():
            nearest = np.minimum(nearest, _from_piece(points, at, piece))
    return nearest


def _from_piece(points: Floats, at: Point, piece: Piece) -> Floats:
    if isinstance(piece, LineTo):
        way = np.subtract(piece.end, at)
        square = float(way @ way)
        share = np.clip((points - at) @ way / square, 0.0, 1.0) if square else 0.0
        return np.asarray(np.hypot(*(points - at - np.multiply.outer(share, way)).T))
    whole = sweep(at, piece)
    out = points - piece.centre
    begin = math.atan2(at.y - piece.centre.y, at.x - piece.centre.x)
    turn = np.arctan2(out[:, 1], out[:, 0]) - begin
    facing = np.mod(turn if whole >= 0 else -turn, math.tau) <= abs(whole)
    radius = math.dist(at, piece.centre)
    ends = np.minimum(np.hypot(*(points - at).T), np.hypot(*(points - piece.end).T))
    return np.asarray(np.where(facing, np.abs(np.hypot(*out.T) - radius), ends))


# --- chaining -----------------------------------------------------------------------------------


def _loops(parts: list[_Part]) -> list[Path]:
    """Closed paths made of the parts; what leads nowhere is left out."""
    parts = _without_loose_ends(parts)
    follow = _followers(parts)
    free = [True] * len(parts)
    loops: list[Path] = []
    for first in range(len(parts)):
        if not free[first]:
            continue
        chain = [first]
        free[first] = False
        while True:
            end = parts[chain[-1]].end
            if math.dist(end, parts[first].start) < 10 * SAME_PLACE:
                loops.append(_joined([parts[number] for number in chain]))
                break
            following = next((one for one in follow[chain[-1]] if free[one]), None)
            if following is None:
                break
            chain.append(following)
            free[following] = False
    return loops


def _followers(parts: Sequence[_Part]) -> list[list[int]]:
    """For each part those that begin where it ends, the nearest first."""
    follow: list[list[int]] = [[] for _ in parts]
    if not parts:
        return follow
    starts = np.array([part.start for part in parts])
    ends = np.array([part.end for part in parts])
    end, start = shapely.STRtree(np.asarray(shapely.points(starts))).query(
        shapely.points(ends), predicate="dwithin", distance=20 * SAME_PLACE)
    apart = np.hypot(*(ends[end] - starts[start]).T)
    joined = apart < 10 * SAME_PLACE
    end, start, apart = end[joined], start[joined], apart[joined]
    for place in np.lexsort((start, apart, end)).tolist():
        follow[end[place]].append(int(start[place]))
    return follow


def _without_loose_ends(parts: list[_Part]) -> list[_Part]:
    """Parts that another follows and precedes; short wrong ends beside a crossing go."""
    while parts:
        follow = _followers(parts)
        preceded = {one for ones in follow for one in ones}
        good = [bool(ones) and number in preceded for number, ones in enumerate(follow)]
        if all(good):
            return parts
        parts = [part for part, is_good in zip(parts, good, strict=True) if is_good]
    return parts


def _joined(parts: Sequence[_Part]) -> Path:
    """One closed path, pieces of the same line or circle made one where they were only cut."""
    pieces: list[Piece] = []
    at = parts[0].start
    starts = [at]
    for number, part in enumerate(parts):
        end = parts[0].start if number == len(parts) - 1 else part.end
        piece = _ending(part.piece, end)
        if pieces and _goes_on(starts[-1], pieces[-1], piece):
            pieces[-1] = piece
        else:
            pieces.append(piece)
            starts.append(end)
            if number:
                starts[-2] = at
        at = end
    return Path(parts[0].start, tuple(pieces), closed=True)


def _goes_on(start: Point, before: Piece, piece: Piece) -> bool:
    """Whether a piece goes on along the arc before it, and both make less than a half turn more."""
    return (
        isinstance(before, ArcTo)
        and isinstance(piece, ArcTo)
        and before.clockwise == piece.clockwise
        and math.dist(before.centre, piece.centre) < SAME_PLACE
        and abs(sweep(start, before)) + abs(sweep(before.end, piece)) < math.pi
    )
