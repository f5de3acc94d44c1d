"""Paths of straight lines and circular arcs, kept exact until somebody asks for points.

Lengths are mm, angles degrees where a person reads them and radians inside.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from camgen.tolerances import SAME_POINT
from camgen.values import dataclass

__all__ = [
    "ArcTo",
    "LineTo",
    "Path",
    "Piece",
    "Point",
    "circle",
    "direction",
    "piece_length",
    "polygon",
    "sweep",
    "turn_between",
]



class Point(NamedTuple):
    """A point in the plane, mm."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class LineTo:
    """A straight piece to ``end``."""

    end: Point


@dataclass(frozen=True, slots=True)
class ArcTo:
    """A circular piece to ``end`` about ``centre``; never a whole circle."""

    end: Point
    centre: Point
    clockwise: bool


Piece: TypeAlias = LineTo | ArcTo


def sweep(start: Point, arc: ArcTo) -> float:
    """The signed angle of an arc in radians, positive anticlockwise, 0 to 2π in size.

    >>> round(sweep(Point(1, 0), ArcTo(Point(0, 1), Point(0, 0), clockwise=False)), 6)
    1.570796
    """
    cx, cy = arc.centre
    begin = math.atan2(start.y - cy, start.x - cx)
    finish = math.atan2(arc.end.y - cy, arc.end.x - cx)
    turn = finish - begin
    if arc.clockwise:
        return turn - math.tau if turn > 0 else turn
    return turn + math.tau if turn < 0 else turn


def piece_length(start: Point, piece: Piece) -> float:
    """Length of one piece, mm."""
    if isinstance(piece, LineTo):
        return math.dist(start, piece.end)
    return abs(sweep(start, piece)) * math.dist(start, piece.centre)


@dataclass(frozen=True)
class Path:
    """Lines and arcs joined end to end from ``start``; a closed one comes back to it exactly."""

    start: Point
    pieces: tuple[Piece, ...]
    closed: bool

    def __post_init__(self) -> None:
        if self.closed and math.dist(self.start, self.end) > 1e-6:
            raise ValueError("a closed path must end where it starts")

    @property
    def end(self) -> Point:
        """Where the path ends."""
        return self.pieces[-1].end if self.pieces else self.start

    def laid_out(self) -> Iterator[tuple[Point, Piece]]:
        """Each piece with the point it starts from."""
        at = self.start
        for piece in self.pieces:
            yield at, piece
            at = piece.end

    @cached_property
    def lengths(self) -> tuple[float, ...]:
        """Length of each piece, mm."""
        return tuple(piece_length(at, piece) for at, piece in self.laid_out())

    @cached_property
    def length(self) -> float:
        """Length of the whole, mm.

        >>> round(circle(Point(0, 0), 1.0).length, 6)
        6.283185
        """
        return math.fsum(self.lengths)

    @cached_property
    def area(self) -> float:
        """Area enclosed, mm², positive for an anticlockwise path; by Green's theorem, exact.

        >>> round(circle(Point(3, 4), 1.0, clockwise=True).area, 6)
        -3.141593
        """
        twice = 0.0
        for at, piece in self.laid_out():
            twice += at.x * piece.end.y - piece.end.x * at.y
            if isinstance(piece, ArcTo):
                angle = sweep(at, piece)
                twice += math.dist(at, piece.centre) ** 2 * (angle - math.sin(angle))
        return twice / 2

    def reversed(self) -> Path:
        """The same path run the other way."""
        starts = [at for at, _ in self.laid_out()]
        pieces: list[Piece] = []
        for at, piece in zip(reversed(starts), reversed(self.pieces), strict=True):
            if isinstance(piece, LineTo):
                pieces.append(LineTo(at))
            else:
                pieces.append(ArcTo(at, piece.centre, not piece.clockwise))
        return Path(self.end, tuple(pieces), self.closed)

    def moved(self, dx: float = 0.0, dy: float = 0.0, degrees: float = 0.0) -> Path:
        """Turned anticlockwise about the origin by ``degrees``, then shifted."""
        cosine, sine = _turn(degrees)

        def move(point: Point) -> Point:
            return Point(
                point.x * cosine - point.y * sine + dx, point.x * sine + point.y * cosine + dy
            )

        return Path(
            move(self.start),
            tuple(
                LineTo(move(piece.end))
                if isinstance(piece, LineTo)
                else ArcTo(move(piece.end), move(piece.centre), piece.clockwise)
                for piece in self.pieces
            ),
            self.closed,
        )

    def starting_at(self, distance: float) -> Path:
        """A closed path begun ``distance`` mm further on."""
        if not self.closed:
            raise ValueError("only a closed path can be begun elsewhere")
        distance %= self.length
        if distance < SAME_POINT or self.length - distance < SAME_POINT:
            return self
        first = self.between(0.0, distance)
        rest = self.between(distance, self.length)
        return Path(rest.start, (*rest.pieces, *first.pieces), closed=True)

    def between(self, begin: float, finish: float) -> Path:
        """The open part from ``begin`` to ``finish`` mm along the path.

        >>> half = circle(Point(0, 0), 1.0).between(0.0, 3.141592653589793)
        >>> round(half.end.x, 6), len(half.pieces)
        (-1.0, 1)
        """
        if not -SAME_POINT <= begin <= finish <= self.length + SAME_POINT:
            raise ValueError("the part wanted does not lie on the path")
        start: Point | None = None
        pieces: list[Piece] = []
        passed = 0.0
        for (at, piece), length in zip(self.laid_out(), self.lengths, strict=True):
            low, high = max(begin - passed, 0.0), min(finish - passed, length)
            passed += length
            if high - low <= SAME_POINT:
                continue
            if start is None:
                start = at if low <= SAME_POINT else _along(at, piece, low / length)
            if high >= length - SAME_POINT:
                pieces.append(piece)
            else:
                pieces.append(_ending(piece, _along(at, piece, high / length)))
        if start is None:
            start = self.at(begin)
        return Path(start, tuple(pieces), closed=False)

    def at(self, distance: float) -> Point:
        """The point ``distance`` mm along the path."""
        for (at, piece), length in zip(self.laid_out(), self.lengths, strict=True):
            if distance <= length:
                return _along(at, piece, distance / length if length else 0.0)
            distance -= length
        return self.end

    def nearest(self, point: Point) -> float:
        """How far along the path, in mm, the place nearest to ``point`` lies.

        >>> round(circle(Point(0, 0), 2.0).nearest(Point(0, 9)), 6)
        3.141593
        """
        best, found, passed = math.inf, 0.0, 0.0
        for (at, piece), length in zip(self.laid_out(), self.lengths, strict=True):
            share = _nearest_share(at, piece, point)
            distance = math.dist(_along(at, piece, share), point)
            if distance < best:
                best, found = distance, passed + share * length
            passed += length
        return found

    def points(self, tolerance: float) -> NDArray[np.float64]:
        """Points (n, 2) along the path, no chord further than ``tolerance`` mm from its arc.

        A closed path's first point comes again at its end.
        """
        parts: list[NDArray[np.float64]] = [np.array([self.start])]
        for at, piece in self.laid_out():
            if isinstance(piece, LineTo):
                parts.append(np.array([piece.end]))
                continue
            radius = math.dist(at, piece.centre)
            angle = sweep(at, piece)
            step = 2 * math.acos(max(0.0, 1 - tolerance / radius)) if radius else math.pi
            count = max(1, math.ceil(abs(angle) / min(step, math.pi / 4) - 1e-9))
            begin = math.atan2(at.y - piece.centre.y, at.x - piece.centre.x)
            angles = begin + angle * np.arange(1, count + 1) / count
            arc = np.column_stack(
                (
                    piece.centre.x + radius * np.cos(angles),
                    piece.centre.y + radius * np.sin(angles),
                )
            )
            arc[-1] = piece.end
            parts.append(arc)
        points = np.concatenate(parts)
        if self.closed:
            points[-1] = points[0]
        return points

    def region(self, tolerance: float) -> Polygon:
        """The area inside a closed path, its arcs as chords within ``tolerance`` mm."""
        if not self.closed:
            raise ValueError("an open path encloses nothing")
        return Polygon(self.points(tolerance))


def circle(
    centre: Point, radius: float, start_angle: float = 0.0, clockwise: bool = False
) -> Path:
    """A whole circle in two arcs, from ``start_angle`` degrees."""
    cosine, sine = _turn(start_angle)
    start = Point(centre[0] + radius * cosine, centre[1] + radius * sine)
    across = Point(centre[0] - radius * cosine, centre[1] - radius * sine)
    middle = Point(*centre)
    return Path(
        start, (ArcTo(across, middle, clockwise), ArcTo(start, middle, clockwise)), closed=True
    )


def polygon(points: Sequence[tuple[float, float]]) -> Path:
    """A closed path of straight lines through ``points``."""
    corners = [Point(*point) for point in points]
    return Path(
        corners[0], tuple(LineTo(point) for point in (*corners[1:], corners[0])), closed=True
    )


def direction(start: Point, piece: Piece, at_end: bool = False) -> Point:
    """The unit direction of a piece at its start or its end.

    >>> direction(Point(1, 0), ArcTo(Point(0, 1), Point(0, 0), clockwise=False))
    Point(x=0.0, y=1.0)
    """
    if isinstance(piece, LineTo):
        length = math.dist(start, piece.end)
        return Point((piece.end.x - start.x) / length, (piece.end.y - start.y) / length)
    point = piece.end if at_end else start
    dx, dy = point.x - piece.centre.x, point.y - piece.centre.y
    size = math.hypot(dx, dy) * (-1.0 if piece.clockwise else 1.0)
    return Point(0.0 - dy / size, dx / size)


def turn_between(start: Point, piece: Piece, after: Piece) -> float:
    """The angle by which the way turns from one piece to the next, radians, left positive.

    >>> round(turn_between(Point(0, 0), LineTo(Point(1, 0)), LineTo(Point(1, 1))), 6)
    1.570796
    """
    out, into = direction(start, piece, at_end=True), direction(piece.end, after)
    return math.atan2(out.x * into.y - out.y * into.x, out.x * into.x + out.y * into.y)


def _turn(degrees: float) -> tuple[float, float]:
    """Cosine and sine, exact at the quarter turns so that symmetric parts stay so."""
    quarter = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    angle = math.radians(degrees)
    return quarter.get(degrees % 360.0, (math.cos(angle), math.sin(angle)))


def _along(start: Point, piece: Piece, share: float) -> Point:
    """The point at ``share`` of a piece's length."""
    if isinstance(piece, LineTo):
        return Point(
            start.x + (piece.end.x - start.x) * share, start.y + (piece.end.y - start.y) * share
        )
    radius = math.dist(start, piece.centre)
    angle = math.atan2(start.y - piece.centre.y, start.x - piece.centre.x)
    angle += sweep(start, piece) * share
    return Point(
        piece.centre.x + radius * math.cos(angle), piece.centre.y + radius * math.sin(angle)
    )


def _nearest_share(start: Point, piece: Piece, point: Point) -> float:
    """The share of a piece's length at which it comes nearest to ``point``."""
    if isinstance(piece, LineTo):
        dx, dy = piece.end.x - start.x, piece.end.y - start.y
        size = dx * dx + dy * dy
        share = ((point.x - start.x) * dx + (point.y - start.y) * dy) / size if size else 0.0
        return min(1.0, max(0.0, share))
    whole = sweep(start, piece)
    facing = sweep(start, ArcTo(point, piece.centre, piece.clockwise))
    if abs(facing) <= abs(whole):
        return facing / whole if whole else 0.0
    nearer_start = math.dist(start, point) <= math.dist(piece.end, point)
    return 0.0 if nearer_start else 1.0


def _ending(piece: Piece, end: Point) -> Piece:
    """The same piece cut short at ``end``."""
    if isinstance(piece, LineTo):
        return LineTo(end)
    return ArcTo(end, piece.centre, piece.clockwise)
