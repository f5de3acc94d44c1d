"""Parts of parallels: cut wherever two of them meet, lines and arcs alike. Lengths mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from camgen.shapes.path import ArcTo, LineTo, Piece, Point, sweep
from camgen.tolerances import SAME_PLACE
from camgen.values import dataclass

__all__ = ["Alongside", "box", "cut_at_crossings", "ending", "without_back_and_forth"]


@dataclass(frozen=True, slots=True)
class Alongside:
    """A piece with its start."""

    start: Point
    piece: Piece

    @property
    def end(self) -> Point:
        return self.piece.end



def cut_at_crossings(parts: Sequence[Alongside]) -> list[Alongside]:
    """All parts, cut wherever two of them meet."""
    boxes = np.array([box(part) for part in parts]).reshape(-1, 4)
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
    done: list[Alongside] = []
    for part, points in zip(parts, cuts, strict=True):
        at = part.start
        # What meets it at its start may lie a hair before: all the way round, seen along an arc.
        points = [point for point in points if math.dist(at, point) > SAME_PLACE]
        for point in sorted(points, key=lambda point: _share(part, point)):
            if math.dist(at, point) > SAME_PLACE and math.dist(point, part.end) > SAME_PLACE:
                done.append(Alongside(at, ending(part.piece, point)))
                at = point
        done.append(Alongside(at, part.piece))
    return done


def box(part: Alongside) -> tuple[float, float, float, float]:
    """Least X, least Y, greatest X, greatest Y that a part may have."""
    (x, y), (u, v), far = part.start, part.end, 0.0
    if isinstance(part.piece, ArcTo):
        (x, y), (u, v) = part.piece.centre, part.piece.centre
        far = math.dist(part.start, part.piece.centre)
    return min(x, u) - far, min(y, v) - far, max(x, u) + far, max(y, v) + far


def ending(piece: Piece, end: Point) -> Piece:
    return LineTo(end) if isinstance(piece, LineTo) else ArcTo(end, piece.centre, piece.clockwise)


def _share(part: Alongside, point: Point) -> float:
    """How far along a part a point of it lies, 0 to 1."""
    piece = part.piece
    if isinstance(piece, LineTo):
        dx, dy = piece.end.x - part.start.x, piece.end.y - part.start.y
        return ((point.x - part.start.x) * dx + (point.y - part.start.y) * dy) / (dx * dx + dy * dy)
    whole = sweep(part.start, piece)
    return sweep(part.start, ArcTo(point, piece.centre, piece.clockwise)) / whole if whole else 0.0


def _meetings(one: Alongside, other: Alongside) -> list[Point]:
    """Where two parts meet; where they touch once, though nearly twice, in the middle."""
    if _on_one_curve(one, other):
        points = [one.start, one.end, other.start, other.end]
        return [point for point in points if _is_on(one, point) and _is_on(other, point)]
    points = _curves_meet(one, other)
    met = [point for point in points if _is_on(one, point) and _is_on(other, point)]
    return met[:1] if len(points) > 2 else met


def _on_one_curve(one: Alongside, other: Alongside) -> bool:
    """Whether two parts lie on the same line or the same circle."""
    a, b = one.piece, other.piece
    if isinstance(a, ArcTo) and isinstance(b, ArcTo):
        radii = math.dist(one.start, a.centre) - math.dist(other.start, b.centre)
        return math.dist(a.centre, b.centre) < SAME_PLACE and abs(radii) < SAME_PLACE
    if isinstance(a, ArcTo) or isinstance(b, ArcTo):
        return False
    ux, uy = a.end.x - one.start.x, a.end.y - one.start.y
    far = SAME_PLACE * math.hypot(ux, uy)
    return all(abs(ux * (point.y - one.start.y) - uy * (point.x - one.start.x)) < far
               for point in (other.start, b.end))


def _is_on(part: Alongside, point: Point) -> bool:
    """Whether a point of a part's line or circle lies on the part itself."""
    if math.dist(point, part.start) < SAME_PLACE or math.dist(point, part.end) < SAME_PLACE:
        return True
    return 0.0 <= _share(part, point) <= 1.0


def _curves_meet(one: Alongside, other: Alongside) -> list[Point]:
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


def without_back_and_forth(parts: list[Alongside]) -> list[Alongside]:
    """Parts without the two that run along one another where walls are just as far apart.

    Between them nothing of an area is left, only a way that leads nowhere.
    """
    if not parts:
        return parts
    starts = np.array([part.start for part in parts])
    ends = np.array([part.end for part in parts])
    one, other = shapely.STRtree(np.asarray(shapely.points(starts))).query(
        shapely.points(ends), predicate="dwithin", distance=SAME_PLACE)
    back = (one < other) & (np.hypot(*(starts[one] - ends[other]).T) < SAME_PLACE)
    gone: set[int] = set()
    for first, second in zip(one[back].tolist(), other[back].tolist(), strict=True):
        if not {first, second} & gone and _is_way_back(parts[first].piece, parts[second].piece):
            gone |= {first, second}
    return [part for number, part in enumerate(parts) if number not in gone]


def _is_way_back(one: Piece, other: Piece) -> bool:
    """Whether of two pieces between the same ends one goes as the other came."""
    if isinstance(one, ArcTo) and isinstance(other, ArcTo):
        return (one.clockwise != other.clockwise
                and math.dist(one.centre, other.centre) < SAME_PLACE)
    return isinstance(one, LineTo) and isinstance(other, LineTo)
