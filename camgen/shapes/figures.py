"""Shapes from numbers: rectangles, slots, polygons with rounded corners, and where holes repeat.

All closed paths run anticlockwise, so that metal inside an outline, or air inside a pocket, lies on
the left. Lengths mm, angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from camgen.faults import Fault, Refused
from camgen.messages import Message, counted
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point, polygon

__all__ = ["arc_slot", "in_rows", "rectangle", "ring_of", "rounded", "slot"]

# Corners flatter than this, in radians, are no corners: nothing is there to round.
FLAT = 1e-9
# A smaller corner radius, mm, is a sharp corner: no cutter knows the difference.
SHARP = 1e-6


def rectangle(length: float, width: float, corner: float = 0.0) -> Path:
    """A rectangle about 0, 0, ``length`` along X, its corners rounded.

    Raises Refused when the corners do not fit.

    >>> round(rectangle(4.0, 2.0, 0.5).area, 4)
    7.7854
    """
    x, y = length / 2, width / 2
    return rounded([(-x, -y), (x, -y), (x, y), (-x, y)], corner)


def slot(begin: tuple[float, float], end: tuple[float, float], width: float) -> Path:
    """All points within half a ``width`` of the line from ``begin`` to ``end``.

    Raises Refused when both ends are the same.

    >>> round(slot((0, 0), (3, 0), 2.0).area, 4)
    9.1416
    """
    length = math.dist(begin, end)
    if length < FLAT:
        raise Refused(Fault(
            Message("a slot begins and ends at the same place"), Message("a circle may be meant")))
    across = ((begin[1] - end[1]) / length, (end[0] - begin[0]) / length)
    half = width / 2

    def beside(point: tuple[float, float], side: float) -> Point:
        return Point(point[0] + side * half * across[0], point[1] + side * half * across[1])

    return Path(
        beside(begin, -1),
        (
            LineTo(beside(end, -1)),
            ArcTo(beside(end, 1), Point(*end), clockwise=False),
            LineTo(beside(begin, 1)),
            ArcTo(beside(begin, -1), Point(*begin), clockwise=False),
        ),
        closed=True,
    )


def arc_slot(
    begin: tuple[float, float], end: tuple[float, float], width: float, centre: tuple[float, float]
) -> Path:
    """All points within half a ``width`` of the arc from ``begin`` anticlockwise to ``end``.

    Raises Refused when the ends are not as far from ``centre``, or the width reaches over it.

    >>> half = arc_slot((2, 0), (-2, 0), 1.0, (0, 0))
    >>> round(half.area, 4) == round(math.pi * (2.5**2 - 1.5**2) / 2 + math.pi * 0.5**2, 4)
    True
    """
    middle = Point(*centre)
    radius, half = math.dist(begin, centre), width / 2
    if abs(math.dist(end, centre) - radius) > 0.002:
        raise Refused(
            Fault(
                Message("the slot's ends lie {first:.4f} and {last:.4f} mm from its centre",
                        first=radius, last=math.dist(end, centre)),
                Message("both must be the radius"),
            )
        )
    if math.dist(begin, end) < FLAT:
        raise Refused(Fault(
            Message("a slot begins and ends at the same place"), Message("a ring may be meant")))
    if half >= radius - FLAT:
        raise Refused(
            Fault(
                Message("a slot {width:g} mm wide reaches over its own centre, {radius:.3f} mm "
                        "away", width=width, radius=radius),
                Message("a narrower slot, or a pocket of another shape"),
            )
        )
    first = math.atan2(begin[1] - middle.y, begin[0] - middle.x)
    last = math.atan2(end[1] - middle.y, end[0] - middle.x)
    while last <= first:
        last += math.tau
    gap = 2 * radius * math.sin((math.tau - (last - first)) / 2)
    if last - first > math.pi and gap <= width:
        raise Refused(Fault(Message("the slot's ends run into one another"),
                            Message("a shorter arc, or a ring")))

    def on(angle: float, far: float) -> Point:
        return Point(middle.x + far * math.cos(angle), middle.y + far * math.sin(angle))

    return Path(
        on(first, radius - half),
        (
            ArcTo(on(first, radius + half), on(first, radius), clockwise=False),
            ArcTo(on(last, radius + half), middle, clockwise=False),
            ArcTo(on(last, radius - half), on(last, radius), clockwise=False),
            ArcTo(on(first, radius - half), middle, clockwise=True),
        ),
        closed=True,
    )


def rounded(
    corners: Sequence[tuple[float, float]], radius: float | Sequence[float]
) -> Path:
    """A polygon with rounded corners, anticlockwise whichever way its corners are given.

    ``radius`` is one for all or one for each corner, 0 for a sharp one. Raises Refused when the
    polygon crosses itself or a corner does not fit between its neighbours, naming the corner.
    """
    points = [Point(*corner) for corner in corners]
    radii = [radius] * len(points) if isinstance(radius, int | float) else list(radius)
    faults = _polygon_faults(points, radii)
    if faults:
        raise Refused(faults)
    if polygon(points).area < 0:
        points.reverse()
        radii.reverse()
    tangents = [
        _tangent_length(points[n - 1], points[n], points[(n + 1) % len(points)], radii[n])
        for n in range(len(points))
    ]
    for number, point in enumerate(points):
        after = (number + 1) % len(points)
        room = math.dist(point, points[after])
        if tangents[number] + tangents[after] > room + 1e-9:
            faults.append(
                Fault(
                    Message("the side from {begin} to {end} is {long:.3f} mm long, its rounded "
                            "corners need {need:.3f} mm", begin=_named(point),
                            end=_named(points[after]), long=room,
                            need=tangents[number] + tangents[after]),
                    Message("smaller corner radii"),
                )
            )
    if faults:
        raise Refused(faults)
    return _joined(points, radii, tangents)


def _polygon_faults(points: Sequence[Point], radii: Sequence[float]) -> list[Fault]:
    if len(points) < 3:
        return [Fault(counted("a polygon of {n} corner encloses nothing",
                              "a polygon of {n} corners encloses nothing", len(points)),
                      Message("3 at least"))]
    if len(radii) != len(points):
        return [
            Fault(
                Message("{radii} corner radii for {corners} corners", radii=len(radii),
                        corners=len(points)),
                Message("one for all, or one for each"),
            )
        ]
    for number, point in enumerate(points):
        if math.dist(point, points[number - 1]) < FLAT:
            return [Fault(Message("two corners at {place}", place=_named(point)),
                          Message("leave one of them out"))]
    region = polygon(points).region(1.0)
    if not region.is_valid or region.area < FLAT:
        return [Fault(Message("the polygon crosses itself"),
                      Message("give its corners in order round it"))]
    return []


def _named(point: Point) -> str:
    return f"X {point.x:g} Y {point.y:g}"


def _tangent_length(before: Point, at: Point, after: Point, radius: float) -> float:
    """How far from the corner an arc of ``radius`` touches its sides: r·|tan(turn/2)|."""
    if radius < SHARP:
        return 0.0
    return radius * abs(math.tan(_turn(before, at, after) / 2))


def _turn(before: Point, at: Point, after: Point) -> float:
    """The angle by which the way turns at a corner, radians, left positive."""
    ux, uy = at.x - before.x, at.y - before.y
    vx, vy = after.x - at.x, after.y - at.y
    return math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)


def _joined(points: Sequence[Point], radii: Sequence[float], tangents: Sequence[float]) -> Path:
    """Sides and corner arcs; begins in the middle of the first side, or where it is straight."""
    count = len(points)
    start = Point((points[0].x + points[1].x) / 2, (points[0].y + points[1].y) / 2)
    half = math.dist(points[0], points[1]) / 2
    if tangents[0] > half:
        start = _towards(points[0], points[1], tangents[0])
    elif tangents[1] > half:
        start = _towards(points[1], points[0], tangents[1])
    pieces: list[Piece] = []
    at = start
    for step in range(1, count + 1):
        number = step % count
        before, here, after = points[number - 1], points[number], points[(number + 1) % count]
        turn = _turn(before, here, after)
        cut = tangents[number]
        if cut == 0.0 or abs(turn) < FLAT:
            at = _line(pieces, at, here)
            continue
        into, out = _towards(here, before, cut), _towards(here, after, cut)
        at = _line(pieces, at, into)
        # The centre lies square to the side at the tangent point, on the inside of the turn.
        length = math.dist(before, here)
        side = math.copysign(radii[number] / length, turn)
        centre = Point(
            into.x - side * (here.y - before.y), into.y + side * (here.x - before.x)
        )
        pieces.append(ArcTo(out, centre, clockwise=turn < 0))
        at = out
    _line(pieces, at, start)
    return Path(start, tuple(pieces), closed=True)


def _line(pieces: list[Piece], at: Point, end: Point) -> Point:
    """Adds a line unless it has no length; gives where the way then is."""
    if math.dist(at, end) > FLAT:
        pieces.append(LineTo(end))
        return end
    return at


def _towards(point: Point, other: Point, distance: float) -> Point:
    share = distance / math.dist(point, other)
    return Point(point.x + (other.x - point.x) * share, point.y + (other.y - point.y) * share)


def ring_of(
    count: int, diameter: float, start: float = 0.0, centre: tuple[float, float] = (0.0, 0.0)
) -> tuple[Point, ...]:
    """``count`` places evenly round a circle, the first at ``start`` degrees, anticlockwise.

    >>> ring_of(2, 10.0, 90.0)[1]
    Point(x=0.0, y=-5.0)
    """
    one = Path(Point(diameter / 2, 0.0), (), closed=False)
    return tuple(
        one.moved(*centre, degrees=start + 360.0 * number / count).start
        for number in range(count)
    )


def in_rows(
    columns: int, rows: int, pitch: tuple[float, float], centre: tuple[float, float] = (0.0, 0.0)
) -> tuple[Point, ...]:
    """Places in rows and columns about ``centre``, every other row backwards.

    >>> in_rows(2, 2, (4.0, 2.0))[:3]
    (Point(x=-2.0, y=-1.0), Point(x=2.0, y=-1.0), Point(x=2.0, y=1.0))
    """
    places = []
    for row in range(rows):
        for step in range(columns):
            column = step if row % 2 == 0 else columns - 1 - step
            places.append(
                Point(
                    centre[0] + (column - (columns - 1) / 2) * pitch[0],
                    centre[1] + (row - (rows - 1) / 2) * pitch[1],
                )
            )
    return tuple(places)
