"""Lines and arcs through a row of points, no further from them than is allowed."""

from __future__ import annotations

import math

import numpy as np

from camgen.arrays import Floats
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point

__all__ = ["fitted"]

# An arc turns less than this, radians, so that its centre is well known from three points.
MOST_TURN = math.pi * 0.9


def fitted(points: Floats, tolerance: float, closed: bool = False) -> Path:
    """A path that passes each of ``points`` (n, 2) within ``tolerance`` mm, of few pieces.

    Every piece begins and ends on a point. From each place the longest line or arc that fits is
    taken. A ``closed`` row has its first point again at its end.

    >>> turn = np.linspace(0.0, math.pi / 2, 51)
    >>> path = fitted(np.column_stack((np.cos(turn), np.sin(turn))), 0.001)
    >>> len(path.pieces), round(path.length, 4)
    (1, 1.5708)
    """
    pieces: list[Piece] = []
    at, last = 0, len(points) - 1
    while at < last:
        end, piece = _longest(points, at, last, tolerance)
        pieces.append(piece)
        at = end
    return Path(Point(*map(float, points[0])), tuple(pieces), closed)


def _longest(points: Floats, at: int, last: int, tolerance: float) -> tuple[int, Piece]:
    """The furthest point that one piece reaches from ``at``, and that piece."""
    good = at + 1
    piece: Piece = LineTo(_point(points[good]))
    step = 2
    # Reach out in growing steps, then close in: what fits far mostly fits near.
    while good < last:
        far = min(at + step, last)
        found = _piece(points[at : far + 1], tolerance)
        if found is None:
            break
        good, piece = far, found
        step *= 2
    low, high = good, min(at + step, last + 1)
    while high - low > 1:
        middle = (low + high) // 2
        found = _piece(points[at : middle + 1], tolerance)
        if found is None:
            high = middle
        else:
            low, piece = middle, found
    return low, piece


def _piece(points: Floats, tolerance: float) -> Piece | None:
    """One line or arc from the first to the last point that passes all of them, or None."""
    start, end = points[0], points[-1]
    chord = end - start
    length = float(np.hypot(*chord))
    if len(points) == 2 or length == 0.0:
        return LineTo(_point(end)) if length and len(points) == 2 else None
    off = ((points - start) @ np.array([-chord[1], chord[0]])) / length
    along = ((points - start) @ chord) / length
    if np.abs(off).max() <= tolerance and np.all(np.diff(along) > 0):
        return LineTo(_point(end))
    return _arc(points, off, length, tolerance)


def _arc(points: Floats, off: Floats, length: float, tolerance: float) -> ArcTo | None:
    """The arc over the chord with the sagitta that the middle points show."""
    start, end = points[0], points[-1]
    sagitta = float(off[np.argmax(np.abs(off))])
    if abs(sagitta) < tolerance / 10:
        return None
    radius = (length**2 / 4 + sagitta**2) / (2 * abs(sagitta))
    turn = 4 * math.atan(2 * abs(sagitta) / length)
    if turn > MOST_TURN:
        return None
    # A bulge to the left of the chord (off > 0) is an arc that goes round clockwise.
    clockwise = sagitta > 0
    middle = (start + end) / 2
    left = np.array([start[1] - end[1], end[0] - start[0]]) / length
    centre = middle + left * (sagitta - math.copysign(radius, sagitta))
    out = points - centre
    if np.abs(np.hypot(out[:, 0], out[:, 1]) - radius).max() > tolerance:
        return None
    angles = np.unwrap(np.arctan2(out[:, 1], out[:, 0]))
    steps = np.diff(angles)
    if not (np.all(steps < 0) if clockwise else np.all(steps > 0)):
        return None
    return ArcTo(_point(end), _point(centre), clockwise)


def _point(values: Floats) -> Point:
    return Point(float(values[0]), float(values[1]))
