"""The order in which passes are made: near ones after one another, none before what it builds on.

Two passes further apart than the cutter is wide do not know of one another: what one clears the
other never meets. So any order will do that keeps that of near ones. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from camgen.arrays import Floats
from camgen.clearing.equal_engagement import is_closed
from camgen.clearing.ground import sizes
from camgen.shapes.path import Point
from camgen.values import dataclass

__all__ = ["Row", "near_ones_together", "nearest_first"]


@dataclass(frozen=True)
class Row:
    """A pass as a row of ``points`` (n, 2), begun from ``begin`` (2,)."""

    begin: Floats
    points: Floats

    @property
    def whole(self) -> Floats:
        """The way in and the pass, one row of points."""
        return np.concatenate((self.begin[None, :], self.points))


def near_ones_together(rows: Sequence[Row], apart: float, at: Floats | None) -> Iterator[Row]:
    """The rows, always one next whose nearer ones before it, within ``apart`` mm, are done.

    Of those the one that begins nearest to where the one before ended; ``at`` is where that was
    before the first.
    """
    lines = np.array([shapely.LineString(row.whole) for row in rows], dtype=object)
    one, other = shapely.STRtree(lines).query(lines, predicate="dwithin", distance=apart)
    waits_for = [0] * len(rows)
    frees: list[list[int]] = [[] for _ in rows]
    for before, after in zip(one.tolist(), other.tolist(), strict=True):
        if before < after:
            frees[before].append(after)
            waits_for[after] += 1
    ready = [number for number, count in enumerate(waits_for) if not count]
    here = rows[0].begin if at is None and rows else at
    while ready and here is not None:
        far = [(round(math.dist(rows[number].begin, here), 6), number) for number in ready]
        best = min(far)[1]
        ready.remove(best)
        yield rows[best]
        here = rows[best].points[-1]
        for number in sorted(frees[best]):
            waits_for[number] -= 1
            if not waits_for[number]:
                ready.append(number)


def nearest_first(rows: list[Floats], at: Point | None) -> Iterator[Floats]:
    """Rows of points, always the one next that begins nearest; closed ones begin anywhere."""
    if not rows:
        return
    rest = list(rows)
    here = rest[0][0] if at is None else np.array(at)
    while rest:
        best, turned, least = 0, 0, math.inf
        for number, row in enumerate(rest):
            if is_closed(row):
                away = row[:-1] - here
                far = sizes(away[:, 0], away[:, 1])
                place = int(np.argmin(far))
                nearest = float(far[place])
            else:
                place, nearest = 0, math.dist(row[0], here)
            if nearest < least - 1e-9:
                best, turned, least = number, place, nearest
        row = rest.pop(best)
        if turned:
            row = np.concatenate((row[turned:-1], row[: turned + 1]))
        here = row[-1]
        yield row
