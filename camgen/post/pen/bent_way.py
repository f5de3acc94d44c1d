"""An arc as slides are told it that were measured: a circle for the cutter, none for the slides."""

from __future__ import annotations

from collections.abc import Iterator
from math import acos, atan2, ceil, cos, hypot, pi, sin

from camgen.moves import Arc
from camgen.post.pen.position import Position
from camgen.values import dataclass

__all__ = ["BentWay", "bent_way"]

_SMALLEST = 0.02
"""Sweeps below this, radians, are not parted further: the grid is coarser than what they gain."""


@dataclass(frozen=True)
class BentWay:
    """The way of one arc by its share, 0 to 1: as meant in mm, as told in counts."""

    position: Position
    axes: tuple[int, int, int]
    start: tuple[float | None, float | None, float | None]
    goal: tuple[float | None, float | None, float | None]
    middle: tuple[float, float]
    radius: float
    begin: float
    turn: float

    def place(self, share: float) -> tuple[float | None, float | None, float | None]:
        """Where the cutter is meant to be, X Y Z."""
        first, second, normal = self.axes
        found: list[float | None] = [None, None, None]
        if share in (0.0, 1.0):
            return self.goal if share else self.start
        angle = self.begin + self.turn * share
        found[first] = self.middle[0] + self.radius * cos(angle)
        found[second] = self.middle[1] + self.radius * sin(angle)
        low, high = self.start[normal], self.goal[normal]
        found[normal] = high if low is None or high is None else low + share * (high - low)
        return found[0], found[1], found[2]

    def _told(self, axis: int, place: tuple[float | None, float | None, float | None]) -> float:
        spelling = self.position.blocks.spelling
        mm = place[axis]
        if mm is None:
            raise ValueError("an arc must start from a known place")
        if axis == 0:
            mm += spelling.sent.lean * (place[1] or 0.0)
        return spelling.scaled(axis, mm)

    def told(self, share: float) -> tuple[float, float]:
        """What the plane's two axes are told, counts before they are rounded."""
        place = self.place(share)
        return self._told(self.axes[0], place), self._told(self.axes[1], place)

    def counts(self, share: float) -> tuple[int, int]:
        """The same on the machine's grid."""
        grids = self.position.blocks.spelling.grids
        a, b = self.told(share)
        first, second = grids[self.axes[0]], grids[self.axes[1]]
        return round(a / first) * first, round(b / second) * second

    def rise(self, share: float) -> int | None:
        """What the third axis is told, counts; None where it is not known where it stands."""
        normal = self.axes[2]
        place = self.place(share)
        if place[normal] is None:
            return None
        grid = self.position.blocks.spelling.grids[normal]
        return round(self._told(normal, place) / grid) * grid

    def chords(self, error: float) -> list[float]:
        """Shares of the ends of lines no farther than ``error`` mm from the arc, without 1."""
        sweep = 2.0 * acos(1.0 - error / self.radius) if self.radius > error else pi / 2.0
        count = max(1, ceil(abs(self.turn) / sweep - 1e-9))
        return [k / count for k in range(1, count)]

    def centre(self, begin: float, end: float) -> tuple[float, float]:
        """The middle of the circle through the ends and the middle of a stretch as it is told."""
        (ax, ay), (bx, by), (cx, cy) = (self.told(share)
                                        for share in (begin, (begin + end) / 2.0, end))
        bx, by, cx, cy = bx - ax, by - ay, cx - ax, cy - ay
        twice = 2.0 * (bx * cy - by * cx)
        b, c = bx * bx + by * by, cx * cx + cy * cy
        return ax + (cy * b - by * c) / twice, ay + (bx * c - cx * b) / twice

    def stretches(self, error: float) -> Iterator[tuple[float, float]]:
        """Stretches whose circle is within ``error`` counts of the way, in their order."""
        halves = max(1, ceil(abs(self.turn) / pi - 1e-9))
        for number in range(halves):
            yield from self._parted(number / halves, (number + 1) / halves, error)

    def _parted(self, begin: float, end: float, error: float) -> Iterator[tuple[float, float]]:
        middle = (begin + end) / 2.0
        if abs(self.turn) * (end - begin) > _SMALLEST and not self._is_near(begin, end, error):
            yield from self._parted(begin, middle, error)
            yield from self._parted(middle, end, error)
        else:
            yield begin, end

    def _is_near(self, begin: float, end: float, error: float) -> bool:
        """Whether a stretch as told is a circle's, to within ``error`` counts."""
        a, b = self.centre(begin, end)
        at, until = self.told(begin), (end - begin)
        radius = hypot(at[0] - a, at[1] - b)
        for share in (0.125, 0.25, 0.375, 0.625, 0.75, 0.875):
            there = self.told(begin + share * until)
            if abs(hypot(there[0] - a, there[1] - b) - radius) > error:
                return False
        return True


def bent_way(position: Position, move: Arc, goal: list[float | None]) -> BentWay:
    """The way of an arc from where the plan stands to ``goal``, X Y Z in mm."""
    plane = position.blocks.spelling.planes[move.plane]
    x, y, z = position.meant
    start = (x, y, z)
    start_a, start_b = start[plane.first], start[plane.second]
    goal_a, goal_b = goal[plane.first], goal[plane.second]
    if start_a is None or start_b is None or goal_a is None or goal_b is None:
        raise ValueError("an arc must start from a known place")
    from_a, from_b = start_a - move.centre[0], start_b - move.centre[1]
    to_a, to_b = goal_a - move.centre[0], goal_b - move.centre[1]
    sweep = 2.0 * pi if move.full else atan2(from_a * to_b - from_b * to_a,
                                             from_a * to_a + from_b * to_b)
    if not move.full:
        sweep = -sweep if move.clockwise else sweep
        if abs(from_a - to_a) + abs(from_b - to_b) < 1e-9:
            sweep = 0.0
        elif sweep <= 0.0:
            sweep += 2.0 * pi
    return BentWay(
        position, (plane.first, plane.second, plane.normal), start, (goal[0], goal[1], goal[2]),
        move.centre, hypot(from_a, from_b), atan2(from_b, from_a),
        -sweep if move.clockwise else sweep,
    )
