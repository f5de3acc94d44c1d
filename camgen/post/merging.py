"""Short blocks merged into longer ones, where the control would not read them in time.

Blocks that are over before the control has read the next make it stutter with the cutter in the
metal. Before such a block is fed slower, it and its neighbours become one line, or one arc where
the machine file allows arcs, no farther from the way as planned than `Machine.merging`. Every end
is an end that was planned, so that nothing adds up. Never merged are blocks of different feeds,
ramps with level ways, and what lies on both sides of a corner. Lengths mm, angles radians.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import atan2, cos, hypot, inf, pi, sin, tan
from typing import Final, TypeAlias

from camgen.moves import Arc, Drill, Feed, Move, Rapid, Section, SetupMoves, Station
from camgen.shop.machine import MERGED_CORNER, MERGED_PIECES, Machine
from camgen.values import dataclass

__all__ = ["merged"]

Place: TypeAlias = tuple[float, float, float]

# A piece goes on along what it is merged into: its way is turned off it by no more than 60 degrees.
_GOES_ALONG: Final = 0.5
# Arcs of more are left to those that were planned, and less than the least is a line.
_LONGEST_SWEEP: Final = pi * 2 / 3
_LEAST_SWEEP: Final = 1e-4
_NO_WAY: Final = 1e-9
# Groups of more pieces than a few are tried in steps that grow by so much.
_GROWS: Final = 1.25
# What a merging weighs against time, s: of two that save as much, the one that merges less.
_WEIGHT: Final = 1e-6


@dataclass(frozen=True, slots=True)
class _Piece:
    """A line, or an arc in XY of at most half a circle: ``sweep`` is positive anticlockwise."""

    start: Place
    end: Place
    length: float
    centre: tuple[float, float] = (0.0, 0.0)
    sweep: float = 0.0

    def direction(self, place: Place) -> tuple[float, float]:
        """Its direction seen from above at its start or end, of length 1."""
        if not self.sweep:
            x, y = self.end[0] - self.start[0], self.end[1] - self.start[1]
        else:
            side = 1.0 if self.sweep > 0 else -1.0
            x, y = side * (self.centre[1] - place[1]), side * (place[0] - self.centre[0])
        long = hypot(x, y)
        return x / long, y / long

    def farthest(self, directions: Sequence[tuple[float, float]]) -> Iterator[tuple[float, float]]:
        """Where an arc comes farthest towards any of ``directions``, of length 1, seen from above.
        """
        if not self.sweep:
            return
        radius = hypot(self.start[0] - self.centre[0], self.start[1] - self.centre[1])
        begin = atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])
        side = 1.0 if self.sweep > 0 else -1.0
        for x, y in directions:
            if (side * (atan2(y, x) - begin)) % (2 * pi) < abs(self.sweep):
                yield self.centre[0] + radius * x, self.centre[1] + radius * y


@dataclass(frozen=True, slots=True)
class _Line:
    """The line that pieces may become."""

    start: Place
    end: Place

    def off(self, x: float, y: float) -> float:
        """How far a place lies aside."""
        along = (self.end[0] - self.start[0], self.end[1] - self.start[1])
        across = (x - self.start[0]) * along[1] - (y - self.start[1]) * along[0]
        return abs(across) / hypot(*along)

    def share(self, place: Place) -> float:
        """How much of the way is done at a place."""
        along = (self.end[0] - self.start[0], self.end[1] - self.start[1])
        done = (place[0] - self.start[0]) * along[0] + (place[1] - self.start[1]) * along[1]
        return done / (along[0] ** 2 + along[1] ** 2)

    def direction(self, _: Place) -> tuple[float, float]:
        """The direction seen from above, of length 1."""
        x, y = self.end[0] - self.start[0], self.end[1] - self.start[1]
        long = hypot(x, y)
        return x / long, y / long

    def worst_places(self, piece: _Piece) -> Iterator[tuple[float, float]]:
        """Where within a piece it may lie farther aside than at its ends."""
        x, y = self.direction(self.start)
        return piece.farthest(((y, -x), (-y, x)))

    def move(self, feed: float, z: float | None) -> Move:
        """The move to make."""
        return Feed(feed, self.end[0], self.end[1], z)


@dataclass(frozen=True, slots=True)
class _Bend:
    """The arc that pieces may become."""

    start: Place
    end: Place
    centre: tuple[float, float]
    radius: float
    sweep: float

    def off(self, x: float, y: float) -> float:
        """How far a place lies aside."""
        return abs(hypot(x - self.centre[0], y - self.centre[1]) - self.radius)

    def share(self, place: Place) -> float:
        """How much of the way is done at a place."""
        ax, ay = self.start[0] - self.centre[0], self.start[1] - self.centre[1]
        bx, by = place[0] - self.centre[0], place[1] - self.centre[1]
        return atan2(ax * by - ay * bx, ax * bx + ay * by) / self.sweep

    def direction(self, place: Place) -> tuple[float, float]:
        """The direction seen from above, of length 1."""
        side = 1.0 if self.sweep > 0 else -1.0
        x, y = side * (self.centre[1] - place[1]), side * (place[0] - self.centre[0])
        long = hypot(x, y)
        return x / long, y / long

    def worst_places(self, piece: _Piece) -> Iterator[tuple[float, float]]:
        """Where within a piece it may lie farther aside than at its ends."""
        if piece.sweep:
            x, y = piece.centre[0] - self.centre[0], piece.centre[1] - self.centre[1]
            apart = hypot(x, y)
            if apart > _NO_WAY:
                yield from piece.farthest(((x / apart, y / apart), (-x / apart, -y / apart)))
            return
        along = (piece.end[0] - piece.start[0], piece.end[1] - piece.start[1])
        share = ((self.centre[0] - piece.start[0]) * along[0]
                 + (self.centre[1] - piece.start[1]) * along[1]) / (along[0] ** 2 + along[1] ** 2)
        if 0.0 < share < 1.0:
            yield piece.start[0] + share * along[0], piece.start[1] + share * along[1]

    def move(self, feed: float, z: float | None) -> Move:
        """The move to make."""
        return Arc(feed, self.centre, self.sweep < 0, self.end[0], self.end[1], z)


def merged(setup: SetupMoves, machine: Machine) -> SetupMoves:
    """The setup's moves with short ones merged, as far as the machine's pace asks for it."""
    if machine.merging <= 0.0:
        return setup
    sections = tuple(_merged_section(section, machine) for section in setup.sections)
    if all(one is was for one, was in zip(sections, setup.sections, strict=True)):
        return setup
    return replace(setup, sections=sections)


def _merged_section(section: Section, machine: Machine) -> Section:
    """A section, the same one where nothing is merged."""
    found: list[Move] = []
    run = _Run(machine)
    at: list[float | None] = [None, None, None]
    for move in section.moves:
        piece = None
        if isinstance(move, Feed | Arc):
            before = (at[0], at[1], at[2])
            piece = _piece(move, before)
        if piece is None or not run.goes_on(piece, move):
            found += run.written()
            run = _Run(machine)
        if piece is None:
            found.append(move)
        else:
            run.add(piece, move)
        _go(at, move)
    found += run.written()
    if len(found) == len(section.moves):
        return section
    return replace(section, moves=tuple(found))


def _go(at: list[float | None], move: Move) -> None:
    """Where the plan stands after a move."""
    if isinstance(move, Feed | Arc | Rapid):
        for axis, mm in enumerate((move.x, move.y, move.z)):
            if mm is not None:
                at[axis] = mm
    elif isinstance(move, Drill):
        at[:] = move.x, move.y, move.travel
    elif isinstance(move, Station):
        at[:] = None, None, None


def _piece(
    move: Feed | Arc, start: tuple[float | None, float | None, float | None]
) -> _Piece | None:
    """A move that may be merged with others, None for any other."""
    x, y, z = start
    if x is None or y is None or z is None:
        return None
    end = (x if move.x is None else move.x, y if move.y is None else move.y,
           z if move.z is None else move.z)
    if isinstance(move, Feed):
        flat = hypot(end[0] - x, end[1] - y)
        if flat < _NO_WAY:
            return None
        return _Piece((x, y, z), end, hypot(flat, end[2] - z))
    if move.plane != "XY" or move.full:
        return None
    ax, ay = x - move.centre[0], y - move.centre[1]
    bx, by = end[0] - move.centre[0], end[1] - move.centre[1]
    sweep = atan2(ax * by - ay * bx, ax * bx + ay * by)
    radius = hypot(ax, ay)
    if (sweep >= 0) == move.clockwise or abs(sweep) * radius < _NO_WAY:
        return None
    return _Piece((x, y, z), end, hypot(sweep * radius, end[2] - z), move.centre, sweep)


class _Run:
    """Pieces one after another that may become fewer: of one feed, one nature, with no corner."""

    def __init__(self, machine: Machine) -> None:
        self._machine = machine
        self._least = 1.0 / machine.blocks_per_second
        self._pieces: list[_Piece] = []
        self._moves: list[Feed | Arc] = []

    def goes_on(self, piece: _Piece, move: Move) -> bool:
        """Whether a piece may be merged with the last one."""
        if not self._pieces:
            return True
        last, before = self._pieces[-1], self._moves[-1]
        if not isinstance(move, Feed | Arc) or move.feed != before.feed or (
                _nature(last) != _nature(piece)):
            return False
        a, b = last.direction(last.end), piece.direction(piece.start)
        return a[0] * b[0] + a[1] * b[1] >= cos(MERGED_CORNER * pi / 180.0)

    def add(self, piece: _Piece, move: Move) -> None:
        """One more piece."""
        assert isinstance(move, Feed | Arc)
        self._pieces.append(piece)
        self._moves.append(move)

    def written(self) -> Sequence[Move]:
        """The moves of the run, as few of them too short as can be."""
        if len(self._pieces) < 2:
            return self._moves
        feed = self._moves[0].feed / 60.0
        lasts = [piece.length / feed for piece in self._pieces]
        if min(lasts) >= self._least:
            return self._moves
        # The least time lost up to the end of each piece, where the group that ends there begins,
        # and what that group becomes.
        best = [0.0] + [inf] * len(lasts)
        begins = [0] * (len(lasts) + 1)
        becomes: list[_Line | _Bend | None] = [None] * (len(lasts) + 1)
        for first in range(len(lasts)):
            if best[first] == inf:
                continue
            for last, cost, one in self._groups(first, lasts):
                if best[first] + cost < best[last + 1]:
                    best[last + 1] = best[first] + cost
                    begins[last + 1], becomes[last + 1] = first, one
        moves: list[Move] = []
        end = len(lasts)
        while end:
            one = becomes[end]
            if one is None:
                moves.append(self._moves[end - 1])
            else:
                level = one.start[2] == one.end[2]
                moves.append(one.move(self._moves[0].feed, None if level else one.end[2]))
            end = begins[end]
        return moves[::-1]

    def _groups(
        self, first: int, lasts: Sequence[float]
    ) -> Iterator[tuple[int, float, _Line | _Bend | None]]:
        """Groups from piece ``first`` on: their last, what time and doubt they cost, the result.

        Those that last long enough, or the largest where none does.
        """
        one: _Line | _Bend | None = None
        last, size = first, 1
        whole, after, shortest, off = lasts[first], 0.0, lasts[first], 0.0
        while True:
            if whole >= self._least:
                yield last, self._doubt(one, off), one
            # Nothing is added to what is long enough at both ends.
            if whole >= self._least and after >= self._least and lasts[last] >= self._least:
                return
            size = max(size + 1, int(size * _GROWS))
            if size > MERGED_PIECES or first + size > len(lasts):
                break
            added = lasts[last + 1:first + size]
            shortest = min(shortest, *added)
            if shortest >= self._least:
                return
            fit = _fit(self._pieces[first:first + size], self._machine)
            if fit is None:
                break
            one, off = fit
            last = first + size - 1
            whole, after = whole + sum(added), after + sum(added)
        if whole < self._least:
            yield last, self._least - whole + self._doubt(one, off), one

    def _doubt(self, one: _Line | _Bend | None, off: float) -> float:
        """What a merging weighs."""
        return 0.0 if one is None else _WEIGHT * (1.0 + off / self._machine.merging)


def _nature(piece: _Piece) -> int:
    """Whether a piece goes down, level or up: -1, 0 or 1."""
    rise = piece.end[2] - piece.start[2]
    return (rise > 0) - (rise < 0)


def _fit(pieces: Sequence[_Piece], machine: Machine) -> tuple[_Line | _Bend, float] | None:
    """The line or arc that comes nearest to pieces, and how near, mm; None where none is near."""
    start, end = pieces[0].start, pieces[-1].end
    if hypot(end[0] - start[0], end[1] - start[1]) < _NO_WAY:
        return None
    line = _Line(start, end)
    found: tuple[_Line | _Bend, float] | None = None
    off = _farthest_off(line, pieces, machine.merging)
    if off <= machine.merging:
        found = line, off
    bend = _bend(line, pieces, machine)
    if bend is not None:
        off = _farthest_off(bend, pieces, machine.merging)
        if off <= machine.merging and (found is None or off < found[1]):
            found = bend, off
    return found


def _bend(line: _Line, pieces: Sequence[_Piece], machine: Machine) -> _Bend | None:
    """An arc from the first start to the last end that comes near, where such may be written.

    Seen from any place of it the two ends are the same angle apart, half a circle less half its
    sweep: the mean over joints and middles, those far from the ends weighing more.
    """
    arcs = machine.arcs
    rises = line.start[2] != line.end[2]
    if arcs.style == "none" or "XY" not in arcs.planes or (rises and not arcs.helices):
        return None
    (ax, ay, _), (bx, by, _) = line.start, line.end
    total = weight = 0.0
    for x, y in _places_of(pieces):
        share = line.share((x, y, 0.0))
        if not 0.0 < share < 1.0:
            return None
        here = (share * (1.0 - share)) ** 2
        ux, uy, vx, vy = ax - x, ay - y, bx - x, by - y
        seen = atan2(ux * vy - uy * vx, ux * vx + uy * vy)
        total += here * 2.0 * (seen - pi if seen > 0 else seen + pi)
        weight += here
    sweep = total / weight if weight else 0.0
    if not _LEAST_SWEEP < abs(sweep) < _LONGEST_SWEEP:
        return None
    half = hypot(bx - ax, by - ay) / 2.0
    radius = half / sin(abs(sweep) / 2.0)
    if not arcs.smallest_radius * 1.01 < radius < arcs.largest_radius * 0.99:
        return None
    x, y = line.direction(line.start)
    up = half / tan(sweep / 2.0)
    return _Bend(line.start, line.end, ((ax + bx) / 2.0 - up * y, (ay + by) / 2.0 + up * x),
                 radius, sweep)


def _places_of(pieces: Sequence[_Piece]) -> Iterator[tuple[float, float]]:
    """Joints of pieces, and their middles, seen from above."""
    for number, piece in enumerate(pieces):
        if number:
            yield piece.start[0], piece.start[1]
        x, y = (piece.start[0] + piece.end[0]) / 2.0, (piece.start[1] + piece.end[1]) / 2.0
        if piece.sweep:
            away = hypot(x - piece.centre[0], y - piece.centre[1])
            if away > _NO_WAY:
                out = hypot(piece.start[0] - piece.centre[0],
                            piece.start[1] - piece.centre[1]) / away
                x = piece.centre[0] + out * (x - piece.centre[0])
                y = piece.centre[1] + out * (y - piece.centre[1])
        yield x, y


def _farthest_off(one: _Line | _Bend, pieces: Sequence[_Piece], within: float) -> float:
    """How far pieces lie off what they would become, mm; endless where they do not go along it.

    Aside and in height both, and no less where it is more than ``within`` than that.
    """
    worst = 0.0
    low, high = one.start[2], one.end[2]
    for piece in pieces:
        for place in (piece.start, piece.end):
            x, y = one.direction(place)
            a, b = piece.direction(place)
            if a * x + b * y < _GOES_ALONG:
                return inf
            up = 0.0 if low == high else place[2] - low - one.share(place) * (high - low)
            worst = max(worst, hypot(one.off(place[0], place[1]), up))
        if worst > within:
            return worst
        for x, y in one.worst_places(piece):
            # In height it is off by no more than at the piece's ends, for both rise evenly.
            worst = max(worst, one.off(x, y))
    return worst
