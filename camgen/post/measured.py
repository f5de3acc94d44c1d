"""Where slides and head are sent, so that the cutter comes to where it is meant.

What was measured stands in the machine file: how far a slide really goes, by a scale or a table;
how far the angle from X to Y is from a right one; how far the head stands from where it is told.
Lengths mm, angles degrees, errors of the head arc-seconds.
"""

from __future__ import annotations

from bisect import bisect_right
from itertools import pairwise
from math import cos, hypot, radians, tan

from camgen.moves import Plane
from camgen.shop.machine import DrivenHead, LinearAxis, Machine
from camgen.values import dataclass

__all__ = ["Sent", "sent_by", "turned_to"]


@dataclass(frozen=True, slots=True)
class Table:
    """Places of a slide and what it is told to come there, both rising, from the work's zero."""

    there: tuple[float, ...]
    told: tuple[float, ...]

    def told_for(self, place: float) -> float:
        """What the slide is told, so that it stands at ``place``.

        >>> slide = Table((0.0, 10.01), (0.0, 10.0))
        >>> slide.told_for(5.005), round(slide.told_for(11.01), 3)
        (5.0, 11.0)
        """
        there, told = self.there, self.told
        after = bisect_right(there, place)
        if after == 0:
            return told[0] + place - there[0]
        if after == len(there):
            return told[-1] + place - there[-1]
        share = (place - there[after - 1]) / (there[after] - there[after - 1])
        return told[after - 1] + share * (told[after] - told[after - 1])


def _table(axis: LinearAxis) -> Table | None:
    """A slide's table, counted from the zero of the work."""
    if not axis.errors:
        return None
    zero = axis.errors_zero
    places = tuple(place for place, _ in axis.errors)
    stands = tuple(place + error for place, error in axis.errors)
    # Beyond its ends a table says no more than at them.
    (low, low_stands), (high, high_stands) = (places[0], stands[0]), (places[-1], stands[-1])
    if zero <= low:
        at_zero = zero + low_stands - low
    elif zero >= high:
        at_zero = zero + high_stands - high
    else:
        after = bisect_right(places, zero)
        share = (zero - places[after - 1]) / (places[after] - places[after - 1])
        at_zero = stands[after - 1] + share * (stands[after] - stands[after - 1])
    return Table(tuple(one - at_zero for one in stands), tuple(one - zero for one in places))


@dataclass(frozen=True, slots=True)
class Sent:
    """What is told in place of what is meant.

    ``tables`` for each axis, None where a scale says all; ``scales`` how far each slide goes for a
    mm told, along the way that is meant; ``lean`` by how much X is told more for each mm of Y.
    """

    tables: tuple[Table | None, Table | None, Table | None]
    scales: tuple[float, float, float]
    lean: float

    @property
    def coupled(self) -> bool:
        """Whether places cannot be told axis by axis with a scale for each."""
        return self.lean != 0.0 or any(self.tables)

    def bends(self, first: int, second: int) -> bool:
        """Whether circles in the plane of two axes are no circles as they are told."""
        return bool(self.tables[first] or self.tables[second] or self.lean
                    or self.scales[first] != self.scales[second])

    def leaves(self, plane: Plane) -> bool:
        """Whether a way in a plane is told as one that leaves it: with Y, X is moved along."""
        return plane == "YZ" and self.lean != 0.0

    def told(self, axis: int, mm: float) -> float:
        """What an axis is told for a place of its own, mm."""
        table = self.tables[axis]
        if table is None:
            return mm / self.scales[axis]
        return table.told_for(mm * self._upright if axis == 1 else mm)

    def bent_at(self, start: list[float | None], end: list[float | None]) -> list[float]:
        """Shares of a straight way at which it passes a place of a table, where it is told bent."""
        found: set[float] = set()
        for axis, table in enumerate(self.tables):
            a, b = start[axis], end[axis]
            if table is None or a is None or b is None:
                continue
            if axis == 0 and self.lean:
                a, b = a + self.lean * (start[1] or 0.0), b + self.lean * (end[1] or 0.0)
            if axis == 1 and self.lean:
                a, b = a * self._upright, b * self._upright
            if a != b:
                found.update(share for place in table.there
                             if 1e-6 < (share := (place - a) / (b - a)) < 1.0 - 1e-6)
        return sorted(found)

    @property
    def _upright(self) -> float:
        """How far the slide of Y goes for each mm of Y."""
        return hypot(1.0, self.lean)


def sent_by(machine: Machine) -> Sent:
    """How the slides of a machine are sent.

    A machine of which nothing was measured is told what is meant, to the last bit.

    >>> from camgen.shop.machines import find_machine
    >>> sent_by(find_machine("plain-iso")).told(0, 12.3)
    12.3
    """
    lean = tan(radians(machine.squareness))
    x, y, z = (machine.axis(name) for name in "XYZ")
    upright = cos(radians(machine.squareness))
    return Sent((_table(x), _table(y), _table(z)), (x.scale, y.scale * upright, z.scale), lean)


def turned_to(head: DrivenHead, degrees: float) -> float:
    """What a head is told, so that it has turned through ``degrees`` from where it stands at 0.

    >>> head = DrivenHead(errors=((0.0, 0.0), (90.0, 36.0), (180.0, 0.0)))
    >>> round(turned_to(head, 450.01), 6)
    450.0
    """
    if not head.errors:
        return degrees
    # Over one turn and into the next, so that every angle lies between two.
    (first, error), (last, behind) = head.errors[0], head.errors[-1]
    points = [(last - 360.0, behind), *head.errors, (first + 360.0, error)]
    stands = [place + off / 3600.0 for place, off in points]

    def inverse(stand: float) -> float:
        for (low, (at, _)), (high, (after, _)) in pairwise(zip(stands, points, strict=True)):
            if stand <= high:
                return at + (stand - low) / (high - low) * (after - at)
        return points[-1][0] + stand - stands[-1]

    start = _error_at_zero(points)
    turns, within = divmod(degrees + start, 360.0)
    told = inverse(within)
    return told + 360.0 * turns


def _error_at_zero(points: list[tuple[float, float]]) -> float:
    """How far on a head stands that is told 0, degrees."""
    for (low, error), (high, after) in pairwise(points):
        if low <= 0.0 <= high:
            return (error + (after - error) * (0.0 - low) / (high - low)) / 3600.0
    return 0.0
