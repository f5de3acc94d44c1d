"""What passes leave: skins on the walls, and necks too narrow for any pass.

The cutter is led along each wall. Where it would meet little more than planned it goes at the full
feed, where up to twice as much more slowly; where still more, as in a neck hardly wider than
itself, the metal is a slot and must have been taken out as one before. Lengths mm, engagements
radians.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from camgen.arrays import Flags, Floats
from camgen.clearing.equal_engagement import MOST, ways_along
from camgen.clearing.ground import SPACING, Ground, leading, resampled
from camgen.clearing.ways_in import beside_wall, is_clear_between
from camgen.shapes.offset import Area
from camgen.shapes.path import Path, Point
from camgen.values import dataclass

__all__ = ["Wall", "slots_along", "uncut_walls", "walls_along"]

# Engagement against θ from which metal is a slot, and the most that may be, radians.
SLOT, WIDEST = 1.8, 0.75 * math.pi
# A skin thinner than twice this, in spacings, is not told from none.
SKIN = 0.02
# Stretches are begun and ended so many radii before and after what they are for.
BEFORE = 0.5
# A slot is at least so many radii long. Places looked at along a path, in spacings.
SOON = 0.5
STEP = 0.7


@dataclass(frozen=True)
class Wall:
    """A way of the centre along a wall.

    ``slow`` are the stretches of it, mm along the path from and to, on which up to twice the
    planned angle of metal is met. ``begin`` and ``over_cleared`` are those of a pass.
    """

    path: Path
    slow: tuple[tuple[float, float], ...]
    begin: Point
    over_cleared: bool


def slots_along(ground: Ground, part: Area, theta: float) -> Iterator[Path]:
    """Stretches of walls that are slots, one after the other, as the ones before leave them.

    Each must have been swept before the next is asked for.
    """
    for path in part.paths:
        _, met = _met_along(ground, path)
        for begin, end in _stretches(met > _slot(theta), path, BEFORE * ground.radius):
            way = _between(path, begin, end)
            _, again = _met_along(ground, way)
            # Where the foot of a wall is met in a corner it is soon past.
            if np.count_nonzero(again > _slot(theta)) > SOON / SPACING / STEP:
                yield way


def uncut_walls(ground: Ground, part: Area) -> list[Path]:
    """The stretches of a part's walls beside which there is metal, as the ground is now."""
    found: list[Path] = []
    for path in part.paths:
        points, _ = _met_along(ground, path)
        metal = ground.deepest_bite(points) > SKIN * ground.spacing
        found += [_between(path, *one) for one in _stretches(metal, path, BEFORE * ground.radius)]
    return found


def walls_along(
    ground: Ground, walls: Sequence[Path], theta: float, radial_depth: float, at: Point | None
) -> Iterator[Wall]:
    """The ways along walls, one after the other, each swept; ``at`` is where the cutter is."""
    for path in walls:
        if path.closed and at is not None:
            path = path.starting_at(path.nearest(at))
        points, met = _met_along(ground, path)
        begin = beside_wall(ground, points, radial_depth)
        over = at is not None and is_clear_between(ground, at, begin)
        slow = tuple(_stretches(met > MOST * theta, path, ground.spacing))
        ground.sweep(np.concatenate((np.array([begin]), points)))
        at = path.end
        yield Wall(path, slow, begin, over)


def _slot(theta: float) -> float:
    return min(SLOT * theta, WIDEST)


def _met_along(ground: Ground, path: Path) -> tuple[Floats, Floats]:
    """Points (n, 2) evenly along a path, and the engagement (n,) at each."""
    points = resampled(path.points(ground.spacing / 50), STEP * ground.spacing)
    if path.closed and len(points) < 4:
        points = np.concatenate((points, points[1:], points[1:]))
    return points, leading(ground.metal_round(points), ways_along(points, path.closed))


def _stretches(chosen: Flags, path: Path, more: float) -> list[tuple[float, float]]:
    """From and to, mm along the path, where points along it are chosen, and ``more`` about that.

    On a closed path the last may go on over the path's start: it ends behind the path's length.
    """
    if not chosen.any():
        return []
    length = path.length
    step = length / (len(chosen) - 1)
    places = np.flatnonzero(chosen)
    breaks = np.flatnonzero(np.diff(places) * step > 4 * more)
    begins = places[np.concatenate(([0], breaks + 1))] * step - more
    ends = places[np.concatenate((breaks, [len(places) - 1]))] * step + more
    found = list(zip(begins.tolist(), ends.tolist(), strict=True))
    if not path.closed:
        return [(max(begin, 0.0), min(end, length)) for begin, end in found]
    if found[-1][1] >= found[0][0] + length:
        if len(found) == 1:
            return [(0.0, length)]
        (_, first), (last, _) = found[0], found[-1]
        found = [*found[1:-1], (last, first + length)]
    elif found[0][0] < 0:
        found = [*found[1:], (found[0][0] + length, found[0][1] + length)]
    return found


def _between(path: Path, begin: float, end: float) -> Path:
    """A stretch of a path, which may go on over a closed one's start; the whole stays closed."""
    length = path.length
    if path.closed and end - begin >= length - 1e-9:
        return path
    if end <= length:
        return path.between(begin, end)
    first, second = path.between(begin, length), path.between(0.0, end - length)
    return Path(first.start, (*first.pieces, *second.pieces), closed=False)
