"""The order of holes: short travel, the same on every machine.

A fixed number of steps is taken, never a fixed time, so that the same holes always give the same
order, and with it the same program. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from camgen.shapes.path import Point

__all__ = ["hole_order", "round_tour", "tour_length"]

_NEIGHBOURS = 8
_BREADTH = 3
_DEPTH = 6
_SPAN = 30
# Disturbances for each place, and the most in all, so that a thousand holes take seconds.
_KICKS_LEAST = 100
_KICKS_EACH = 2
_MOST_KICKS = 1000
# Distances among so many places at most are kept.
_KEPT = 1200
# So many places are looked at together; more are taken in parts.
_AT_ONCE = 1200
_IN_A_PART = 200
# Shorter gains than this are rounding, not gain.
_LEAST_GAIN = 1e-9


def tour_length(points: NDArray[np.float64], order: Sequence[int], *, closed: bool = True) -> float:
    """Length of the way through ``points`` (n, 2) in ``order``; back to its start when closed."""
    way = points[list(order)]
    steps = np.diff(np.vstack((way, way[:1])) if closed else way, axis=0)
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum())


def hole_order(points: Sequence[Point], start: Point) -> tuple[int, ...]:
    """The order in which to visit ``points`` so that the way from ``start`` is short.

    The way ends at whichever hole it likes. Found by chains of exchanges between near
    neighbours (Lin and Kernighan 1973) with a fixed number of small disturbances (iterated local
    search, Johnson and McGeoch 1997; both from memory). Equal inputs give equal orders.

    >>> row = [Point(x, 0.0) for x in (3.0, 1.0, 2.0, 5.0, 4.0)]
    >>> hole_order(row, Point(0.0, 0.0))
    (1, 2, 0, 4, 3)
    """
    if not points:
        return ()
    if len(points) > _AT_ONCE:
        # One way is found and gone forwards or back: the next cutter begins where this one ended.
        way = _in_parts(tuple(points))
        first, last = (math.hypot(points[at].x - start.x, points[at].y - start.y)
                       for at in (way[0], way[-1]))
        return way if first <= last else way[::-1]
    return _way(points, start)


def _way(
    points: Sequence[Point], start: Point, most_kicks: int | None = None
) -> tuple[int, ...]:
    """The order of so few places that they are looked at together."""
    # A closed tour through the start and a place that is near everything is an open way.
    where = np.array([(start.x, start.y), *((p.x, p.y) for p in points)])
    tour = _Search(where, open_end=True).best(most_kicks)
    first = tour.index(0)
    round_ = tour[first:] + tour[:first]
    # The place of no distance stands just before or just after the start.
    end = len(where)
    way = round_ if round_[-1] == end else [round_[0], *reversed(round_[1:])]
    return tuple(place - 1 for place in way if place not in (0, end))


@lru_cache(maxsize=16)
def _in_parts(points: tuple[Point, ...]) -> tuple[int, ...]:
    """The order of many places: parts along a curve that fills the plane, each part by itself.

    So the cost grows as their number and not as its square. The curve is Hilbert's (1891; from
    memory): places near along it lie near one another.
    """
    where = np.array([(p.x, p.y) for p in points])
    along = np.argsort(_along_curve(where), kind="stable")
    count = -(-len(points) // _IN_A_PART)
    order: list[int] = []
    for part in np.array_split(along, count):
        here = points[order[-1] if order else int(along[0])]
        way = _way([points[place] for place in part], here, _MOST_KICKS // count)
        order += [int(part[place]) for place in way]
    return tuple(order)


def _along_curve(points: NDArray[np.float64], levels: int = 16) -> NDArray[np.int64]:
    """(n,) how far along Hilbert's curve each of ``points`` (n, 2) lies."""
    low = points.min(axis=0)
    size = max(float((points.max(axis=0) - low).max()), 1e-9)
    cells = ((points - low) / size * (2**levels - 1)).astype(np.int64)
    x, y = cells[:, 0].copy(), cells[:, 1].copy()
    far = np.zeros(len(points), dtype=np.int64)
    for level in range(levels - 1, -1, -1):
        side = 1 << level
        right, above = (x & side) > 0, (y & side) > 0
        far += side * side * ((3 * right) ^ above)
        # Turn the quarter so that the curve in it begins where the one before it ended.
        flip = ~above & right
        x[flip], y[flip] = side - 1 - x[flip], side - 1 - y[flip]
        swap = ~above
        x[swap], y[swap] = y[swap], x[swap].copy()
        x &= side - 1
        y &= side - 1
    return far


def round_tour(points: NDArray[np.float64]) -> tuple[int, ...]:
    """A short closed tour through ``points`` (n, 2)."""
    return tuple(_Search(points, open_end=False).best())


class _Search:
    """One search: the tour as a list and each place's position in it.

    With ``open_end`` a last place is added that is no distance from any, but for a long one to all
    but the start when the start is not beside it: so the tour cut there is a way from the start.
    """

    def __init__(self, points: NDArray[np.float64], *, open_end: bool) -> None:
        self.x = [float(v) for v in points[:, 0]]
        self.y = [float(v) for v in points[:, 1]]
        self.free = len(points) if open_end else -1
        n = len(points)
        near = _neighbours(points, min(_NEIGHBOURS, n - 1))
        if open_end:
            near.append([])
        places = range(len(near))
        self.far: Sequence[Sequence[float] | _Row] = (
            [[self.length(a, b) for b in places] for a in places] if n <= _KEPT
            else [_Row(self, a) for a in places])
        # The nearest of each place, each with its distance.
        self.near = [[(b, self.length(a, b)) for b in near[a]] for a in places]
        self.tour = _first_tour(points, near[:n])
        if open_end:
            # The start is to stand beside the free place; the tour is turned so, then held so.
            at = self.tour.index(0)
            self.tour = [*self.tour[at:], *self.tour[:at], self.free]
        self.position = [0] * len(self.tour)
        for place, city in enumerate(self.tour):
            self.position[city] = place

    def length(self, a: int, b: int) -> float:
        """Distance between two places; none from the free place, and the start keeps to it."""
        if a == self.free or b == self.free:
            return -1e6 if a == 0 or b == 0 else 0.0
        return math.hypot(self.x[a] - self.x[b], self.y[a] - self.y[b])

    def best(self, most_kicks: int | None = None) -> list[int]:
        """The best tour found, disturbed ``most_kicks`` times at most."""
        n = len(self.tour)
        if n < 8:
            return self._tried_all()
        self._improve(list(self.tour), [])
        random = 12345
        most = _MOST_KICKS if most_kicks is None else most_kicks
        for _ in range(min(_KICKS_LEAST + _KICKS_EACH * n, most)):
            # A generator of whole numbers (Park and Miller's minimal standard): the same anywhere.
            random = random * 16807 % 2147483647
            at = random % n
            random = random * 16807 % 2147483647
            self._kick(at, random)
        return self.tour

    def _tried_all(self) -> list[int]:
        """So few places that every order can be tried."""
        import itertools

        first, *rest = self.tour
        return min(
            ([first, *order] for order in itertools.permutations(rest)),
            key=lambda tour: sum(self.far[tour[i - 1]][tour[i]] for i in range(len(tour))),
        )

    def _reverse(self, i: int, j: int) -> None:
        """Turn round the stretch from position ``i`` to ``j``, going forward, perhaps over the end.

        The rest is turned instead when that is shorter: as a ring it is the same.
        """
        tour, position, n = self.tour, self.position, len(self.tour)
        inside = (j - i) % n + 1
        if inside * 2 > n:
            i, j = (j + 1) % n, (i - 1) % n
            inside = n - inside
        if i <= j:
            tour[i:j + 1] = tour[i:j + 1][::-1]
            for place in range(i, j + 1):
                position[tour[place]] = place
            return
        for _ in range(inside // 2):
            a, b = tour[i], tour[j]
            tour[i], tour[j] = b, a
            position[b], position[a] = i, j
            i = (i + 1) % n
            j = (j - 1) % n

    def _improve(self, queue: list[int], undo: list[tuple[int, int]]) -> float:
        """Take every gain found from the queued places; the sum gained. Turns go into ``undo``."""
        waiting = set(queue)
        gained = 0.0
        while queue:
            city = queue.pop()
            waiting.discard(city)
            while True:
                gain, touched = self._chain(city, undo)
                if gain <= 0.0:
                    break
                gained += gain
                for end in touched:
                    if end not in waiting:
                        waiting.add(end)
                        queue.append(end)
        return gained

    def _chain(self, first: int, undo: list[tuple[int, int]]) -> tuple[float, list[int]]:
        """A chain of turns from ``first``, kept as far as it gains most (Lin and Kernighan 1973).

        The edge from ``first`` to its neighbour is opened; the neighbour is joined to a place near
        it, which frees that place's own neighbour, which is joined in turn.
        """
        for forward in (True, False):
            step = 1 if forward else -1
            second = self._beside(first, step)
            options = self._options(first, second, step, self.far[first][second])
            for option in sorted(options)[:_BREADTH]:
                gain, touched = self._try(first, second, step, option, undo)
                if gain > 0.0:
                    return gain, touched
        return 0.0, []

    def _beside(self, city: int, step: int) -> int:
        return self.tour[(self.position[city] + step) % len(self.tour)]

    def _try(self, first: int, second: int, step: int, option: tuple[float, int, int],
             undo: list[tuple[int, int]]) -> tuple[float, list[int]]:
        from_first = self.far[first]
        begin = len(undo)
        best, best_turns = _LEAST_GAIN, begin
        touched = [first, second]
        open_gain = 0.0
        for depth in range(_DEPTH):
            if depth:
                options = self._options(first, second, step, open_gain)
                if not options:
                    break
                option = min(options)
            open_gain, city, freed = -option[0], option[1], option[2]
            # Turn the stretch from the opened end to the freed place: it then stands beside first.
            i, j = (self.position[second], self.position[freed])[::step]
            self._reverse(i, j)
            undo.append((i, j))
            touched += (city, freed)
            second = freed
            if self._beside(first, step) != second:
                step = -step  # the rest of the ring was turned instead
            closed = open_gain - from_first[freed]
            if closed > best:
                best, best_turns = closed, len(undo)
        while len(undo) > best_turns:
            self._reverse(*undo.pop())
        return (best, touched) if best_turns > begin else (0.0, [])

    def _options(self, first: int, second: int, step: int,
                 open_gain: float) -> list[tuple[float, int, int]]:
        """What the gain before closing would be, negative; the place to join ``second`` to, and
        the one it frees."""
        tour, position, far, n = self.tour, self.position, self.far, len(self.tour)
        options = []
        for city, away in self.near[second]:
            gain = open_gain - away
            if gain <= _LEAST_GAIN:
                break
            freed = tour[(position[city] - step) % n]
            if first in (city, freed) or freed == second:
                continue
            options.append((-(gain + far[freed][city]), city, freed))
        return options

    def _kick(self, at: int, random: int) -> None:
        """Let two short neighbouring stretches change places, improve, go back if that is no gain.

        The double bridge of Martin, Otto and Felten (1991), kept local.
        """
        tour, n = self.tour, len(self.tour)
        span = min(_SPAN, (n - 3) // 2)
        spans = [1 + random % span, 1 + (random >> 8) % span]
        ends = [at, (at + spans[0]) % n, (at + sum(spans)) % n]
        (p, q), (r, s), (t, u) = ((tour[end], tour[(end + 1) % n]) for end in ends)
        far = self.far
        lost = far[p][s] + far[t][q] + far[r][u] - far[p][q] - far[r][s] - far[t][u]
        undo: list[tuple[int, int]] = []
        # Turn the first stretch, turn the second, then turn both as one: they stand exchanged.
        for a, b, count in ((q, r, spans[0]), (s, t, spans[1]), (r, s, sum(spans))):
            i, j = self.position[a], self.position[b]
            if (j - i) % n + 1 != count:
                i, j = j, i  # the ring has been turned round
            self._reverse(i, j)
            undo.append((i, j))
        if self._improve([p, q, r, s, t, u], undo) < lost + _LEAST_GAIN:
            for i, j in reversed(undo):
                self._reverse(i, j)


class _Row:
    """Distances of one place from others, reckoned when asked for."""

    def __init__(self, search: _Search, place: int) -> None:
        self.search, self.place = search, place

    def __getitem__(self, other: int) -> float:
        return self.search.length(self.place, other)


def _neighbours(points: NDArray[np.float64], count: int) -> list[list[int]]:
    """The ``count`` nearest of each place, nearest first; a stretch of places at a time."""
    found: list[list[int]] = []
    for begin in range(0, len(points), 512):
        gap = points[begin:begin + 512, None, :] - points[None, :, :]
        square = (gap**2).sum(axis=2)
        rows = np.arange(len(square))
        square[rows, begin + rows] = np.inf
        near = np.argsort(square, axis=1, kind="stable")[:, :count]
        found += near.tolist()
    return found


def _first_tour(points: NDArray[np.float64], near: list[list[int]]) -> list[int]:
    """From each place to the nearest not yet visited."""
    left = np.ones(len(points), dtype=np.bool_)
    tour = [0]
    left[0] = False
    for _ in range(len(points) - 1):
        here = tour[-1]
        there = next((city for city in near[here] if left[city]), -1)
        if there < 0:
            rest = np.nonzero(left)[0]
            gap = points[rest] - points[here]
            there = int(rest[np.argmin((gap**2).sum(axis=1))])
        left[there] = False
        tour.append(there)
    return tour
