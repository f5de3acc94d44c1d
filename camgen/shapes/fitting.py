"""Lines and arcs through a row of points, no further from them than is allowed."""

from __future__ import annotations

import math

import numpy as np
import shapely

from camgen.arrays import Floats
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point, turn_between

__all__ = ["FEWEST", "curved", "fitted", "furthest_apart"]

# Lines that turn by more than this, radians, where they meet are sides and no curve; so are fewer
# than so many of them.
MOST_JOINT, FEWEST = 0.1, 6
# Of the tolerance, arcs in place of lines may take this share at the points; the rest is for what
# they bulge between them.
AT_POINTS = 0.25
# Curves of a larger radius, mm, stay lines: their centres lie where no part can.
LARGEST = 1000.0
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


def curved(path: Path, tolerance: float) -> Path:
    """A path with arcs for its curves drawn as many short lines.

    No arc is further than ``tolerance`` mm from the lines that it stands for, at their ends and
    between them. Lines that are no curve, and arcs that are drawn, stay.

    >>> from camgen.shapes.path import polygon
    >>> turn = np.linspace(0.0, 2 * math.pi, 400, endpoint=False)
    >>> drawn = polygon([(5 * math.cos(one), 5 * math.sin(one)) for one in turn])
    >>> len(curved(drawn, 0.001).pieces) < 5, len(curved(drawn, 0.0001).pieces)
    (True, 400)
    """
    pieces: list[Piece] = []
    run: list[Point] = [path.start]
    laid = [*path.laid_out()]
    for number, (at, piece) in enumerate(laid):
        if isinstance(piece, ArcTo):
            pieces += _run(run, tolerance)
            pieces.append(piece)
            run = [piece.end]
            continue
        run.append(piece.end)
        if number + 1 < len(laid) and abs(turn_between(
                at, piece, laid[number + 1][1])) > MOST_JOINT:
            pieces += _run(run, tolerance)
            run = [piece.end]
    pieces += _run(run, tolerance)
    return Path(path.start, tuple(pieces), path.closed)


def furthest_apart(path: Path, other: Path, fine: float) -> float:
    """How far two paths that stand for one line lie apart at the most, mm; found to ``fine`` mm.

    >>> from camgen.shapes.path import circle
    >>> round(furthest_apart(circle(Point(0, 0), 1.0), circle(Point(0, 0), 1.001), 1e-5), 4)
    0.001
    """
    rows = path.points(fine), other.points(fine)
    lines = [shapely.LineString(row) for row in rows]
    return max(float(shapely.distance(shapely.points(row), line).max())
               for row, line in zip(rows, reversed(lines), strict=True))


def _run(run: list[Point], tolerance: float) -> list[Piece]:
    """The pieces for a row of lines through points: arcs where they are a curve."""
    lines: list[Piece] = [LineTo(point) for point in run[1:]]
    if len(lines) < FEWEST:
        return lines
    points = np.array(run)
    chords = np.hypot(*np.diff(points, axis=0).T)
    found: list[Piece] = []
    at = 0
    whole = bool(np.array_equal(points[0], points[-1]))
    for start, piece in fitted(points, AT_POINTS * tolerance, whole).laid_out():
        end = next(number for number in range(at + 1, len(run)) if run[number] == piece.end)
        bent = isinstance(piece, ArcTo) and end - at >= 3
        if isinstance(piece, ArcTo) and bent:
            # Between two points the arc bulges by l²/8r beyond its chord.
            radius = math.dist(start, piece.centre)
            bulge = float(chords[at:end].max()) ** 2 / (8 * radius)
            bent = bulge <= (1 - AT_POINTS) * tolerance and radius < LARGEST
        found += [piece] if bent else lines[at:end]
        at = end
    return found


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
