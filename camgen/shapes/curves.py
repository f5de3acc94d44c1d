"""Curves that are not of lines and arcs, turned into lines and arcs to a stated tolerance.

Circles stay exact whatever turns, shifts or mirrors them; what a drawing squeezes into an ellipse,
and all Bézier curves, come as arcs and lines that keep within the tolerance. Lengths mm, angles
radians.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from camgen.arrays import Floats
from camgen.messages import Message
from camgen.shapes.fitting import fitted
from camgen.shapes.path import ArcTo, LineTo, Piece, Point

__all__ = ["bezier", "conic", "sampled"]

# Of the tolerance, the chords between sample points take a tenth, the arcs laid over them the rest.
CHORDS, ARCS = 0.1, 0.8
# An ellipse whose axes differ by less than this share is a circle that a file has rounded.
ROUND = 1e-9
# More points than this along one curve are refused work: the curve is absurd for its tolerance.
MOST_POINTS = 100_000


def conic(
    centre: Point, first: Point, second: Point, begin: float, turn: float, tolerance: float
) -> tuple[Point, list[Piece]]:
    """The arc ``centre + first·cos t + second·sin t`` for t from ``begin`` over ``turn``.

    ``first`` and ``second`` are conjugate half axes, so that any plane transform of a circle or
    an ellipse is given by transforming them. Returns the start and the pieces. Equal and upright
    half axes give a true arc; others keep within ``tolerance`` mm of the ellipse.

    >>> start, pieces = conic(Point(0, 0), Point(2, 0), Point(0, 2), 0.0, math.tau, 0.002)
    >>> start, len(pieces)
    (Point(x=2.0, y=0.0), 2)
    >>> _, pieces = conic(Point(0, 0), Point(2, 0), Point(0, 1), 0.0, math.tau, 0.002)
    >>> all(isinstance(piece, ArcTo) for piece in pieces)
    True
    """
    turn = max(-math.tau, min(math.tau, turn))
    sizes = math.hypot(*first), math.hypot(*second)
    dot = first.x * second.x + first.y * second.y

    def at(angle: float) -> Point:
        cosine, sine = math.cos(angle), math.sin(angle)
        return Point(
            centre.x + first.x * cosine + second.x * sine,
            centre.y + first.y * cosine + second.y * sine,
        )

    whole = math.tau - abs(turn) < 1e-12
    start = at(begin)
    end = start if whole else at(begin + turn)
    longest = max(sizes)
    if abs(sizes[0] - sizes[1]) <= ROUND * longest and abs(dot) <= ROUND * longest**2:
        clockwise = (first.x * second.y - first.y * second.x < 0) != (turn < 0)
        if abs(turn) <= 1.5 * math.pi:
            return start, [ArcTo(end, centre, clockwise)]
        middle = at(begin + turn / 2)
        return start, [ArcTo(middle, centre, clockwise), ArcTo(end, centre, clockwise)]
    # A chord over dt strays by at most max|r''|·dt²/8, and |r''| is at most the longer conjugate
    # pair put together (remainder of linear interpolation).
    bend = math.hypot(*sizes)
    count = max(8, math.ceil(abs(turn) * math.sqrt(bend / (8 * CHORDS * tolerance))))
    if count > MOST_POINTS:
        raise ValueError(Message("the ellipse is absurdly large for its tolerance"))
    angles = begin + turn * np.linspace(0.0, 1.0, count + 1)
    points = (
        np.array(centre) + np.outer(np.cos(angles), first) + np.outer(np.sin(angles), second)
    )
    points[0], points[-1] = start, end
    return start, list(_fit(points, tolerance, whole))


def bezier(controls: Sequence[Point], tolerance: float) -> list[Piece]:
    """A Bézier curve from the first control point, within ``tolerance`` mm.

    >>> quarter = [Point(1, 0), Point(1, 0.5523), Point(0.5523, 1), Point(0, 1)]
    >>> len(bezier(quarter, 0.002))
    1
    """
    points = np.array(controls, dtype=np.float64)
    degree = len(points) - 1
    second = np.diff(points, 2, axis=0)
    # |B''| is at most degree·(degree−1) times the largest second difference of the control points,
    # and a chord over dt strays by at most max|B''|·dt²/8 (remainder of linear interpolation).
    bend = degree * (degree - 1) * float(np.hypot(second[:, 0], second[:, 1]).max())
    count = max(1, math.ceil(math.sqrt(bend / (8 * CHORDS * tolerance))))
    if count > MOST_POINTS:
        raise ValueError(Message("the curve is absurdly long for its tolerance"))
    share = np.linspace(0.0, 1.0, count + 1)[:, None]
    level = [np.broadcast_to(point, (count + 1, 2)) for point in points]
    while len(level) > 1:
        level = [a + (b - a) * share for a, b in pairwise(level)]
    row = np.array(level[0])
    row[0], row[-1] = points[0], points[-1]
    return list(_fit(row, tolerance, closed=bool(np.array_equal(points[0], points[-1]))))


def sampled(
    evaluate: Callable[[Floats], Floats], knots: Sequence[float], tolerance: float
) -> tuple[Point, list[Piece]]:
    """A smooth curve between each two of ``knots``, within ``tolerance`` mm as far as sampled.

    ``evaluate`` gives points (n, 2) for parameters (n,). Each span is halved again and again until
    the new points lie within a tenth of the tolerance of the chords between the old ones, from
    eight chords a span on.
    """
    spans = list(pairwise(knots))
    rows: list[Floats] = []
    for low, high in spans:
        count = 8
        row = evaluate(np.linspace(low, high, count + 1))
        while True:
            count *= 2
            if count * len(spans) > MOST_POINTS:
                raise ValueError(Message("the curve is absurdly long for its tolerance"))
            finer = evaluate(np.linspace(low, high, count + 1))
            strays = finer[1::2] - (row[:-1] + row[1:]) / 2
            row = finer
            # A point off the chord's middle may still be on the chord; a span run at uneven speed
            # is then halved once more than it need be.
            if float(np.hypot(strays[:, 0], strays[:, 1]).max()) <= CHORDS * tolerance:
                break
        rows.append(row if not rows else row[1:])
    points = np.concatenate(rows)
    closed = bool(np.hypot(*(points[0] - points[-1])) < 1e-9)
    if closed:
        points[-1] = points[0]
    return Point(*map(float, points[0])), list(_fit(points, tolerance, closed))


def _fit(points: Floats, tolerance: float, closed: bool) -> Sequence[Piece]:
    """Lines and arcs through a row of close points, doubled points left out."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    keep = np.concatenate(([True], steps > 1e-12))
    keep[-1] = True
    points = points[keep]
    if len(points) > 2 and float(np.hypot(*(points[-1] - points[-2]))) <= 1e-12:
        points = np.delete(points, -2, axis=0)
    if len(points) < 2 or (len(points) == 2 and np.array_equal(points[0], points[1])):
        return []
    if len(points) == 2:
        return [LineTo(Point(*map(float, points[1])))]
    return fitted(points, ARCS * tolerance, closed).pieces
