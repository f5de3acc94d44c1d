"""Closed paths chained of parts that begin where others end. Lengths mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from camgen.shapes.parallels.parts import Alongside, ending
from camgen.shapes.path import ArcTo, Path, Piece, Point, sweep
from camgen.tolerances import SAME_PLACE

__all__ = ["loops_of"]



def loops_of(parts: list[Alongside]) -> list[Path]:
    """Closed paths made of the parts; what leads nowhere is left out."""
    parts = _without_loose_ends(parts)
    follow = _followers(parts)
    free = [True] * len(parts)
    loops: list[Path] = []
    for first in range(len(parts)):
        if not free[first]:
            continue
        chain = [first]
        free[first] = False
        while True:
            end = parts[chain[-1]].end
            if math.dist(end, parts[first].start) < 10 * SAME_PLACE:
                loops.append(_joined([parts[number] for number in chain]))
                break
            following = next((one for one in follow[chain[-1]] if free[one]), None)
            if following is None:
                break
            chain.append(following)
            free[following] = False
    return loops


def _followers(parts: Sequence[Alongside]) -> list[list[int]]:
    """For each part those that begin where it ends, the nearest first."""
    follow: list[list[int]] = [[] for _ in parts]
    if not parts:
        return follow
    starts = np.array([part.start for part in parts])
    ends = np.array([part.end for part in parts])
    end, start = shapely.STRtree(np.asarray(shapely.points(starts))).query(
        shapely.points(ends), predicate="dwithin", distance=20 * SAME_PLACE)
    apart = np.hypot(*(ends[end] - starts[start]).T)
    joined = apart < 10 * SAME_PLACE
    end, start, apart = end[joined], start[joined], apart[joined]
    for place in np.lexsort((start, apart, end)).tolist():
        follow[end[place]].append(int(start[place]))
    return follow


def _without_loose_ends(parts: list[Alongside]) -> list[Alongside]:
    """Parts that another follows and precedes; short wrong ends beside a crossing go."""
    while parts:
        follow = _followers(parts)
        preceded = {one for ones in follow for one in ones}
        good = [bool(ones) and number in preceded for number, ones in enumerate(follow)]
        if all(good):
            return parts
        parts = [part for part, is_good in zip(parts, good, strict=True) if is_good]
    return parts


def _joined(parts: Sequence[Alongside]) -> Path:
    """One closed path, pieces of the same line or circle made one where they were only cut."""
    pieces: list[Piece] = []
    begin = at = parts[0].start
    for number, part in enumerate(parts):
        end = parts[0].start if number == len(parts) - 1 else part.end
        piece = ending(part.piece, end)
        if pieces and _goes_on(begin, pieces[-1], piece):
            pieces[-1] = piece
        else:
            pieces.append(piece)
            begin = at
        at = end
    return Path(parts[0].start, tuple(pieces), closed=True)


def _goes_on(start: Point, before: Piece, piece: Piece) -> bool:
    """Whether a piece goes on along the arc before it, and both make less than a half turn more."""
    return (
        isinstance(before, ArcTo)
        and isinstance(piece, ArcTo)
        and before.clockwise == piece.clockwise
        and math.dist(before.centre, piece.centre) < SAME_PLACE
        and abs(sweep(start, before)) + abs(sweep(before.end, piece)) < math.pi
    )
