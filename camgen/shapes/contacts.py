"""Where lines and arcs cross, touch or run over one another.

Plane geometry of straight lines and circles, exact but for the rounding of the numbers. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import shapely

from camgen.shapes.path import ArcTo, LineTo, Piece, Point, sweep
from camgen.tolerances import ROUNDING
from camgen.values import dataclass

__all__ = ["Contact", "Laid", "contacts", "pairs_near"]



@dataclass(frozen=True, slots=True)
class Laid:
    """A piece with the point it starts from."""

    start: Point
    piece: Piece

    @property
    def end(self) -> Point:
        """Where it ends."""
        return self.piece.end

    @property
    def radius(self) -> float:
        """Radius of an arc, the mean of the two its ends show; 0 for a line."""
        if isinstance(self.piece, LineTo):
            return 0.0
        centre = self.piece.centre
        return (math.dist(self.start, centre) + math.dist(self.end, centre)) / 2

    def box(self) -> tuple[float, float, float, float]:
        """Least x and y, greatest x and y.

        >>> Laid(Point(1, 0), ArcTo(Point(-1, 0), Point(0, 0), clockwise=False)).box()
        (-1.0, 0.0, 1.0, 1.0)
        """
        xs, ys = [self.start.x, self.end.x], [self.start.y, self.end.y]
        if isinstance(self.piece, ArcTo):
            centre, radius = self.piece.centre, self.radius
            for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
                point = Point(centre.x + dx * radius, centre.y + dy * radius)
                if self.passes(point):
                    xs.append(point.x)
                    ys.append(point.y)
        return float(min(xs)), float(min(ys)), float(max(xs)), float(max(ys))

    def passes(self, point: Point) -> bool:
        """Whether a point of the whole line or circle lies on this part of it."""
        if math.dist(point, self.start) <= ROUNDING or math.dist(point, self.end) <= ROUNDING:
            return True
        if isinstance(self.piece, LineTo):
            dx, dy = self.end.x - self.start.x, self.end.y - self.start.y
            along = (point.x - self.start.x) * dx + (point.y - self.start.y) * dy
            return 0.0 <= along <= dx * dx + dy * dy
        whole = sweep(self.start, self.piece)
        centre = self.piece.centre
        return abs(sweep(self.start, ArcTo(point, centre, self.piece.clockwise))) <= abs(whole)

    @property
    def middle(self) -> Point:
        """Half-way along."""
        if isinstance(self.piece, LineTo):
            return Point((self.start.x + self.end.x) / 2, (self.start.y + self.end.y) / 2)
        centre = self.piece.centre
        half = sweep(self.start, self.piece) / 2
        angle = math.atan2(self.start.y - centre.y, self.start.x - centre.x) + half
        return Point(
            centre.x + self.radius * math.cos(angle), centre.y + self.radius * math.sin(angle)
        )


@dataclass(frozen=True, slots=True)
class Contact:
    """A place where two pieces meet; ``along`` when they run over one another there."""

    at: Point
    along: bool = False


def contacts(one: Laid, other: Laid) -> list[Contact]:
    """Every place where two pieces meet, ends included.

    >>> flat = Laid(Point(0, 0), LineTo(Point(4, 0)))
    >>> contacts(flat, Laid(Point(1, -1), LineTo(Point(1, 1))))
    [Contact(at=Point(x=1.0, y=0.0), along=False)]
    >>> contacts(flat, Laid(Point(3, 0), LineTo(Point(9, 0))))
    [Contact(at=Point(x=3.5, y=0.0), along=True)]
    """
    if _same_carrier(one, other):
        return _shared(one, other)
    first, second = isinstance(one.piece, LineTo), isinstance(other.piece, LineTo)
    if first and second:
        found = _line_line(one, other)
    elif first:
        found = _line_circle(one, other)
    elif second:
        found = _line_circle(other, one)
    else:
        found = _circle_circle(one, other)
    return [Contact(point) for point in found if one.passes(point) and other.passes(point)]


def pairs_near(pieces: Sequence[Laid]) -> Iterator[tuple[int, int]]:
    """Pairs of places in the row, the lesser first, of pieces whose boxes meet."""
    if len(pieces) < 2:
        return
    around = np.array([-ROUNDING, -ROUNDING, ROUNDING, ROUNDING])
    sides = np.array([piece.box() for piece in pieces]) + around
    boxes = shapely.box(*sides.T)
    tree = shapely.STRtree(boxes)
    step = 64  # a few at a time: a heap of pieces on one spot must not fill the memory
    for begin in range(0, len(pieces), step):
        near = tree.query(boxes[begin : begin + step])
        for one, other in zip(*(row.tolist() for row in near), strict=True):
            if begin + one < other:
                yield begin + one, other


def _same_carrier(one: Laid, other: Laid) -> bool:
    """Whether both lie on one straight line or one circle."""
    if isinstance(one.piece, LineTo) and isinstance(other.piece, LineTo):
        longer, shorter = (
            (one, other)
            if math.dist(one.start, one.end) >= math.dist(other.start, other.end)
            else (other, one)
        )
        return all(_off(longer, point) <= ROUNDING for point in (shorter.start, shorter.end))
    if isinstance(one.piece, ArcTo) and isinstance(other.piece, ArcTo):
        return (
            math.dist(one.piece.centre, other.piece.centre) <= ROUNDING
            and abs(one.radius - other.radius) <= ROUNDING
        )
    return False


def _off(line: Laid, point: Point) -> float:
    """How far a point lies from the whole line of a straight piece."""
    dx, dy = line.end.x - line.start.x, line.end.y - line.start.y
    length = math.hypot(dx, dy)
    if length == 0.0:
        return math.dist(point, line.start)
    return abs((point.x - line.start.x) * dy - (point.y - line.start.y) * dx) / length


def _shared(one: Laid, other: Laid) -> list[Contact]:
    """Contacts of two pieces on one line or circle: stretches in common, or ends alone."""
    marks = [point for point in (other.start, other.end) if one.passes(point)]
    marks += [point for point in (one.start, one.end) if other.passes(point)]
    if not marks:
        return []
    if isinstance(one.piece, LineTo):
        begin = min(marks, key=lambda point: math.dist(point, one.start))
        finish = max(marks, key=lambda point: math.dist(point, one.start))
        if math.dist(begin, finish) <= ROUNDING:
            return [Contact(begin)]
        return [Contact(Laid(begin, LineTo(finish)).middle, along=True)]
    # On a circle the marks cut the arc; each part between neighbours is shared or not as a whole.
    centre, clockwise = one.piece.centre, one.piece.clockwise
    marks += [one.start, one.end]
    whole = abs(sweep(one.start, one.piece))

    def turned(point: Point) -> float:
        if math.dist(point, one.start) <= ROUNDING:
            return 0.0
        if math.dist(point, one.end) <= ROUNDING:
            return whole
        return abs(sweep(one.start, ArcTo(point, centre, clockwise)))

    ordered = sorted(marks, key=turned)
    found: list[Contact] = []
    for begin, finish in pairwise(ordered):
        if math.dist(begin, finish) <= ROUNDING:
            continue
        middle = Laid(begin, ArcTo(finish, centre, clockwise)).middle
        if other.passes(middle):
            found.append(Contact(middle, along=True))
    if found:
        return found
    ends = (one.start, one.end)
    return [Contact(point) for point in ends if other.passes(point)]


def _line_line(one: Laid, other: Laid) -> list[Point]:
    ax, ay = one.end.x - one.start.x, one.end.y - one.start.y
    bx, by = other.end.x - other.start.x, other.end.y - other.start.y
    cross = ax * by - ay * bx
    if abs(cross) <= 1e-12 * math.hypot(ax, ay) * math.hypot(bx, by):
        # Parallel, or as good as: only their ends can meet.
        return [
            point for point in (other.start, other.end) if _off(one, point) <= ROUNDING
        ] + [point for point in (one.start, one.end) if _off(other, point) <= ROUNDING]
    share = ((other.start.x - one.start.x) * by - (other.start.y - one.start.y) * bx) / cross
    return [Point(one.start.x + share * ax, one.start.y + share * ay)]


def _line_circle(line: Laid, arc: Laid) -> list[Point]:
    assert isinstance(arc.piece, ArcTo)
    centre, radius = arc.piece.centre, arc.radius
    dx, dy = line.end.x - line.start.x, line.end.y - line.start.y
    length = math.hypot(dx, dy)
    if length == 0.0:
        return []
    ux, uy = dx / length, dy / length
    along = (centre.x - line.start.x) * ux + (centre.y - line.start.y) * uy
    foot = Point(line.start.x + along * ux, line.start.y + along * uy)
    off = math.dist(foot, centre)
    if off > radius + ROUNDING:
        return []
    half = math.sqrt(max(0.0, (radius - off) * (radius + off)))
    if half <= ROUNDING:
        return [foot]
    return [Point(foot.x - half * ux, foot.y - half * uy),
            Point(foot.x + half * ux, foot.y + half * uy)]


def _circle_circle(one: Laid, other: Laid) -> list[Point]:
    assert isinstance(one.piece, ArcTo)
    assert isinstance(other.piece, ArcTo)
    centre, apart = one.piece.centre, math.dist(one.piece.centre, other.piece.centre)
    r, s = one.radius, other.radius
    if apart == 0.0 or apart > r + s + ROUNDING or apart < abs(r - s) - ROUNDING:
        return []
    ux, uy = (other.piece.centre.x - centre.x) / apart, (other.piece.centre.y - centre.y) / apart
    along = (apart * apart + (r - s) * (r + s)) / (2 * apart)
    half = math.sqrt(max(0.0, (r - along) * (r + along)))
    foot = Point(centre.x + along * ux, centre.y + along * uy)
    if half <= ROUNDING:
        return [foot]
    return [Point(foot.x - half * uy, foot.y + half * ux),
            Point(foot.x + half * uy, foot.y - half * ux)]
