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
from camgen.shapes.fitting import curved
from camgen.shapes.parallels.chains import loops_of
from camgen.shapes.parallels.parts import (
    Alongside,
    box,
    cut_at_crossings,
    without_back_and_forth,
)
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
# No place of a parallel by chords is this much further from the edge than it should be.
BESIDE = 4 * CHORD


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
    # By its chords an arc round a corner lacks 0.3 % of a round.
    length = math.fsum(path.length for path in area.paths) + math.pi * abs(distance)
    much = abs(distance) * length / 50 + SAME_PLACE
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
    """The parallel of few pieces within ``BESIDE`` mm, where the exact one loses its way.

    It is never nearer to the edge than ``distance``: chords lie outside of what is nearer, and the
    arcs that stand for them, within ``CHORD``, are reckoned with. What is nearer is put together
    piece by piece: a whole edge's buffer leaves small hollows out.
    """
    far = abs(distance) + CHORD
    near = shapely.union_all([one for path in area.paths for at, piece in path.laid_out()
                              for one in _nearer_than(at, piece, far)])
    region = area.region(CHORD)
    found = shapely.get_parts(region.union(near) if distance > 0 else region.difference(near))
    rings = [[curved(polygon(ring.coords[:-1]), CHORD)
              for ring in (part.exterior, *part.interiors)]
             for part in found if part.area > SAME_PLACE]
    return tuple(Area.of(outer, islands) for outer, *islands in rings)


def _nearer_than(at: Point, piece: Piece, far: float) -> list[shapely.Polygon]:
    """All that is less than ``far`` mm from a piece, but about its start, and hardly more."""
    found = [shapely.Polygon(_around(piece.end, far, 0.0, math.tau)[:-1])]
    if isinstance(piece, LineTo):
        way = direction(at, piece)
        sides = [_beside(end, way, aside) for end, aside in (
            (at, far), (piece.end, far), (piece.end, -far), (at, -far))]
        return [*found, shapely.Polygon(sides)]
    begin = math.atan2(at.y - piece.centre.y, at.x - piece.centre.x)
    radius, whole = math.dist(at, piece.centre), sweep(at, piece)
    inner = [piece.centre] if radius <= far else [
        Point(piece.centre.x + (radius - far) * math.cos(angle),
              piece.centre.y + (radius - far) * math.sin(angle))
        for angle in begin + whole * np.linspace(1, 0, _chords(radius + far, whole) + 1)]
    return [*found, shapely.Polygon([*_around(piece.centre, radius + far, begin, whole), *inner])]


def _chords(radius: float, turn: float) -> int:
    """So many chords that none is more than half of ``CHORD`` within its arc."""
    return math.ceil(abs(turn) / 2 / math.acos(1 - min(CHORD / 2 / radius, 1.0))) + 1


def _around(centre: Point, radius: float, begin: float, turn: float) -> list[Point]:
    """Points of chords that lie outside of an arc, from angle ``begin`` on, radians."""
    count = _chords(radius, turn)
    out = radius / math.cos(turn / count / 2)
    return [Point(centre.x + out * math.cos(angle), centre.y + out * math.sin(angle))
            for angle in begin + turn * np.linspace(0, 1, count + 1)]


def _offset(area: Area, distance: float) -> tuple[Area, ...]:
    """The parallel at just this distance; a loop may be lost where crossings fall together."""
    parts = cut_at_crossings(_parallels(area, distance))
    kept = without_back_and_forth(_that_keep_away(parts, area, distance))
    loops = [path for path in loops_of(kept) if abs(path.area) > SAME_PLACE]
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


def _parallels(area: Area, distance: float) -> list[Alongside]:
    """The parallel of every piece, and arcs round the corners that open."""
    parts: list[Alongside] = []
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
                parts.append(Alongside(_beside(corner, out, distance),
                                       ArcTo(end, corner, clockwise=distance < 0)))
    return parts


def _parallel(at: Point, piece: Piece, distance: float) -> Alongside | None:
    """A piece moved to its right by ``distance``; None where nothing is left of an arc."""
    begin, end = direction(at, piece), direction(at, piece, at_end=True)
    start = _beside(at, begin, distance)
    if isinstance(piece, LineTo):
        return Alongside(start, LineTo(_beside(piece.end, end, distance)))
    radius = math.dist(at, piece.centre) + (-distance if piece.clockwise else distance)
    if radius <= SAME_PLACE:
        return None
    return Alongside(start, ArcTo(_beside(piece.end, end, distance), piece.centre, piece.clockwise))


def _beside(point: Point, way: Point, distance: float) -> Point:
    """``distance`` to the right of a way."""
    return Point(point.x + way.y * distance, point.y - way.x * distance)


# --- what keeps its distance --------------------------------------------------------------------


def _that_keep_away(parts: Sequence[Alongside], area: Area, distance: float) -> list[Alongside]:
    """The parts whose middles are nowhere nearer to the edge, and on the right side of it."""
    parts = [part for part in parts if piece_length(part.start, part.piece) > SAME_PLACE]
    if not parts:
        return []
    middles = np.array([
        Path(part.start, (part.piece,), closed=False).at(piece_length(part.start, part.piece) / 2)
        for part in parts])
    far = ~_nearer(middles, area.paths, abs(distance) - KEEP)
    # Ring by ring: an island that touches the outer edge makes no sound polygon with it.
    inside, *within = (shapely.contains_xy(path.region(abs(distance) / 10), *middles.T)
                       for path in area.paths)
    inside &= ~np.any(within, axis=0) if within else True
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
            low_x, low_y, high_x, high_y = box(Alongside(at, piece))
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
