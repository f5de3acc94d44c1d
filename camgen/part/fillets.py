"""Corners of any closed path rounded by arcs tangent to what lies beside them. Lengths mm."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point, sweep, turn_between
from camgen.tolerances import LEFT_IN_CORNER, ROUNDING
from camgen.values import dataclass

__all__ = ["Beside", "Fillet", "filleted", "tangent_fillets", "turned_by", "with_fillets"]

# So many pieces on either side of a corner are asked whether its fillet touches them.
REACH = 40


@dataclass(frozen=True)
class Fillet:
    """An arc of ``radius`` about ``centre`` between two places of a path, mm along it, in the
    corner ``at`` a point.

    ``left`` says that its centre lies to the left of the path: the path turns left there.
    """

    at: Point
    begin: float
    end: float
    centre: Point
    radius: float
    left: bool


@dataclass(frozen=True)
class Beside:
    """A piece of a path that a fillet may touch, from ``start``, and how far along it begins; None
    for its start alone, where a circle may touch a corner that stands out."""

    start: Point
    piece: Piece | None
    along: float


def filleted(path: Path, radius: float) -> Path:
    """A closed path with each of its corners rounded, hollow or not.

    A joint is a corner where the fillet takes or leaves more than ``LEFT_IN_CORNER``; arcs that
    are drawn stay. Raises Refused, naming the corners, where the radius does not fit.

    >>> from camgen.shapes.path import polygon
    >>> square = polygon([(0, 0), (4, 0), (4, 4), (0, 4)])
    >>> round(filleted(square, 1.0).area - (16 - (4 - math.pi)), 9)
    0.0
    """
    pieces = [Beside(at, piece, along) for (at, piece), along in zip(
        path.laid_out(), itertools.accumulate(path.lengths, initial=0.0), strict=False)]
    count = len(pieces)
    corners: list[tuple[int, float]] = []
    for number, (at, piece) in enumerate(path.laid_out()):
        turn = turn_between(at, piece, path.pieces[(number + 1) % count])
        if radius * (1 / max(math.cos(turn / 2), 1e-9) - 1) > LEFT_IN_CORNER:
            corners.append((number, turn))
    sharp = {number for number, _ in corners}
    faults: list[Fault] = []
    fillets: list[Fillet] = []
    for number, turn in corners:
        before = list(_on_from(pieces, number, -1, sharp))
        after = list(_on_from(pieces, (number + 1) % count, 1, sharp))
        found = next(tangent_fillets(path, path.pieces[number].end, before, after, radius,
                                     turn > 0), None)
        if found is None:
            faults.append(_no_room(path.pieces[number].end, radius))
        else:
            fillets.append(found)
    if faults:
        raise Refused(faults)
    return with_fillets(path, fillets)


def _no_room(at: Point, radius: float) -> Fault:
    return Fault(Message("a corner radius of {radius:g} mm does not fit in the corner at X {x:.3f} "
                         "Y {y:.3f}", radius=radius, x=at.x, y=at.y),
                 Message("a smaller corner radius, or draw that corner round"))


def _on_from(
    pieces: Sequence[Beside], first: int, step: int, sharp: set[int]
) -> Iterator[Beside]:
    """Pieces from one on, backwards or forwards, up to the next corner."""
    number = first
    for _ in range(min(REACH, len(pieces) // 2 + 1)):
        yield pieces[number]
        joint = number if step > 0 else (number - 1) % len(pieces)
        if joint in sharp:
            return
        number = (number + step) % len(pieces)


def tangent_fillets(
    path: Path, at: Point, before: Sequence[Beside], after: Sequence[Beside], radius: float,
    left: bool,
) -> Iterator[Fillet]:
    """Arcs of a radius for the corner ``at`` a point that touch one piece ``before`` it and one
    ``after`` it, the nearest to the corner first."""
    pairs = sorted(itertools.product(range(len(before)), range(len(after))), key=sum)
    for one, other in pairs:
        for centre in _meetings(_carrier(before[one], radius, left),
                                _carrier(after[other], radius, left)):
            begin, end = (_touched(beside, centre, radius, left)
                          for beside in (before[one], after[other]))
            if begin is not None and end is not None:
                turn = (end - begin) % path.length
                if turn < path.length / 2:
                    yield Fillet(at, begin % path.length, end % path.length, centre, radius, left)


def with_fillets(path: Path, fillets: Iterable[Fillet]) -> Path:
    """A closed path with fillets in the place of what lies between their ends.

    Raises Refused where two of them need the same piece of the path.
    """
    row = sorted(fillets, key=lambda one: one.begin)
    if not row:
        return path
    whole = path.length
    pieces: list[Piece] = []
    faults: list[Fault] = []
    # Begun where the first one ends, so that what lies between two fillets never runs over 0.
    begun = path.starting_at(row[0].end)
    start = Point(*begun.start)
    for number, one in enumerate(row):
        following = row[(number + 1) % len(row)]
        begin = (one.end - row[0].end) % whole
        if number == 0 or whole - begin < ROUNDING:
            begin = 0.0
        room = (following.begin - one.end) % whole
        if whole - room < 1e-6:
            room = 0.0
        overlap = (following.begin - one.begin) % whole < (one.end - one.begin) % whole - 1e-6
        if len(row) > 1 and overlap:
            faults.append(_no_room(one.at, one.radius))
            continue
        between = begun.between(begin, min(begin + room, whole)) if room > ROUNDING else None
        if between is not None:
            pieces += between.pieces
        last = number == len(row) - 1
        here = start if last else begun.at((following.end - row[0].end) % whole)
        pieces.append(ArcTo(here, following.centre, clockwise=not following.left))
    if faults:
        raise Refused(faults)
    return Path(start, tuple(pieces), closed=True)


# --- circles that touch ---------------------------------------------------------------------------


@dataclass(frozen=True)
class _Carrier:
    """Where the centres of touching circles lie: a line through ``point`` along ``way``, or a
    circle of ``radius`` about it."""

    point: complex
    way: complex
    radius: float


def _carrier(beside: Beside, radius: float, left: bool) -> _Carrier | None:
    start = complex(*beside.start)
    if beside.piece is None:
        return _Carrier(start, 0, radius)
    side = 1.0 if left else -1.0
    if isinstance(beside.piece, LineTo):
        way = complex(*beside.piece.end) - start
        if way == 0:
            return None
        way /= abs(way)
        return _Carrier(start + side * radius * 1j * way, way, 0.0)
    centre = complex(*beside.piece.centre)
    own = abs(start - centre) + (side if beside.piece.clockwise else -side) * radius
    return _Carrier(centre, 0, own) if own > ROUNDING else None


def _meetings(one: _Carrier | None, other: _Carrier | None) -> list[Point]:
    """Where two carriers meet: at most two places."""
    if one is None or other is None:
        return []
    if one.way and other.way:
        cross = (one.way.conjugate() * other.way).imag
        if abs(cross) < 1e-9:
            return []
        along = (((other.point - one.point).conjugate() * other.way).imag) / cross
        found = [one.point + along * one.way]
    elif one.way or other.way:
        line, ring = (one, other) if one.way else (other, one)
        along = ((ring.point - line.point) * line.way.conjugate()).real
        foot = line.point + along * line.way
        rest = ring.radius**2 - abs(foot - ring.point) ** 2
        if rest < 0:
            return []
        half = math.sqrt(rest)
        found = [foot + half * line.way, foot - half * line.way]
    else:
        apart = abs(other.point - one.point)
        if apart < ROUNDING:
            return []
        towards = (other.point - one.point) / apart
        along = (apart**2 + one.radius**2 - other.radius**2) / (2 * apart)
        rest = one.radius**2 - along**2
        if rest < 0:
            return []
        off = math.sqrt(rest) * 1j
        found = [one.point + towards * (along + off), one.point + towards * (along - off)]
    return [Point(one.real, one.imag) for one in found]


def _touched(beside: Beside, centre: Point, radius: float, left: bool) -> float | None:
    """How far along the path a circle touches a piece of it, on the side asked for; None where it
    does not touch it between its ends."""
    if beside.piece is None:
        return beside.along
    alone = Path(beside.start, (beside.piece,), closed=False)
    share = alone.nearest(centre)
    foot = alone.at(share)
    if abs(math.dist(foot, centre) - radius) > ROUNDING:
        return None
    way = _way(beside.start, beside.piece, foot)
    side = (way.conjugate() * (complex(*centre) - complex(*foot))).imag
    return beside.along + share if (side > 0) == left else None


def _way(start: Point, piece: Piece, at: Point) -> complex:
    if isinstance(piece, LineTo):
        return complex(*piece.end) - complex(*start)
    out = complex(*at) - complex(*piece.centre)
    return out * (-1j if piece.clockwise else 1j)


def turned_by(fillet: Fillet, path: Path) -> float:
    """The angle that a fillet turns through, radians."""
    begin, end = path.at(fillet.begin), path.at(fillet.end)
    return abs(sweep(begin, ArcTo(end, fillet.centre, clockwise=not fillet.left)))
