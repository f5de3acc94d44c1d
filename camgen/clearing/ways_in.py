"""Where a pass is begun from, and whether the cutter gets there over ground already cleared.

Lengths mm.
"""

from __future__ import annotations

import math

import numpy as np

from camgen.arrays import Floats
from camgen.clearing.ground import COSINES, SINES, Ground, leading, sizes
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shapes.path import Point

__all__ = ["beside_wall", "is_clear_between", "place_beside"]

# The cutter is set down, and moved fast, where its end is at most so many spacings in metal: that
# much the grid does not know.
GRAZE = 0.15
# So many where there is no better place.
LOOSE = 0.75
# A way into a pass is planned for metal twice as wide as a pass takes; it meets so much more for no
# longer than this share of the cutter's radius.
WIDER, MORE, LONGEST = 2.0, 1.15, 0.9


def place_beside(ground: Ground, points: Floats, radial_depth: float) -> Point | None:
    """A place on cleared ground from which a pass along ``points`` is begun.

    The nearest there is, one from which the pass goes on nearly straight before others; none where
    metal stands under the cutter's end wherever it might be set down, or the way from there would
    be a slot.
    """
    start = points[0]
    way = points[1] - start
    way = way / sizes(way[0], way[1])
    far = radial_depth * np.array([0.7, 0.9, 1.1, 1.3, 1.6, 2.0, 2.5, 3.0, 4.0, 5.0])
    around = np.column_stack((COSINES, SINES))[::3]
    places = (start + far[:, None, None] * around).reshape(-1, 2)
    bite = ground.deepest_under(places)
    allowed = ground.allows(places) & ground.allows((places + start) / 2)
    straight = np.tile(-(around @ way), len(far))
    cost = np.round(np.repeat(far, len(around)) * (1.0 - 0.4 * straight), 9)
    order = np.argsort(cost, kind="stable")
    for most in (GRAZE, LOOSE):
        clear = order[(allowed & (bite <= most * ground.spacing))[order]]
        for place in places[clear]:
            if _is_no_slot(ground, place, start, radial_depth):
                return Point(*map(float, place))
    # Where there is no room for another place, as in a slot that was cut on the way down.
    stands = ground.deepest_under(points[:1])[0]
    return Point(*map(float, start)) if stands <= LOOSE * ground.spacing else None


def _is_no_slot(ground: Ground, place: Floats, start: Floats, radial_depth: float) -> bool:
    """Whether a way into a pass meets no more than it is planned for, but for a short stretch."""
    far = math.dist(place, start)
    if far <= LONGEST * ground.radius:
        return True
    count = math.ceil(far / ground.spacing) + 1
    points = place + (start - place) * np.linspace(0.0, 1.0, count)[:, None]
    ways = np.broadcast_to((start - place) / far, points.shape)
    most = MORE * math.acos(max(-1.0, 1 - WIDER * radial_depth / ground.radius))
    over = leading(ground.metal_round(points), ways) > most
    ends = np.flatnonzero(np.diff(np.concatenate(([False], over, [False])).astype(np.int8)))
    longest = (ends[1::2] - ends[::2]).max(initial=0) * far / (count - 1)
    return bool(longest <= LONGEST * ground.radius)


def beside_wall(ground: Ground, points: Floats, radial_depth: float) -> Point:
    """A place from which a way along a wall is begun. Raises Refused where there is none."""
    place = place_beside(ground, points, radial_depth)
    if place is None:
        x, y = points[0].tolist()
        raise Refused(Fault(
            Message("a cutter of {diameter:g} mm finds no place free of metal to go down at "
                    "beside X {x:.2f} Y {y:.2f}, where it is to clear the walls",
                    diameter=2 * ground.radius, x=x, y=y),
            Message("a smaller cutter, or another `entry`"),
        ))
    return place


def is_clear_between(ground: Ground, begin: Point, end: Point) -> bool:
    """Whether the cutter may go straight from ``begin`` to ``end`` and meet nothing."""
    count = math.ceil(math.dist(begin, end) / ground.spacing) + 1
    share = np.linspace(0.0, 1.0, count)[:, None]
    points = np.array(begin) * (1 - share) + np.array(end) * share
    if not ground.allows(points).all():
        return False
    return bool((ground.deepest_bite(points) <= GRAZE * ground.spacing).all())
