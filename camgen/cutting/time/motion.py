"""How long motion takes on a machine that must accelerate and a control that must read.

The model: along a run of blocks the cutter's speed rises and falls at the acceleration the axes
allow, never above the feed, never above what the curve allows (v² ≤ a·ρ), never so fast that a
block would last less than the control needs to read one. At a corner the control slows down until
no axis' speed jumps by more than its acceleration can make in the time of one block; with
``exact_stop`` it comes to rest at every corner. It looks ahead as far as needed. Rapids start and
end at rest, each axis at its own rate: the path is dog-legged and the last axis sets the time.

Everything is arrays of n pieces in the order they are made. Lengths mm, speeds mm/s inside, feeds
mm/min as programmed, accelerations mm/s², angles degrees, times s.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeAlias

import numpy as np

from camgen.arrays import Floats, Ints
from camgen.shop.machine import DrivenHead, HandHead, Machine
from camgen.values import dataclass

__all__ = [
    "MotionTime",
    "along_path",
    "dog_leg_seconds",
    "index_seconds",
    "motion_seconds",
    "path_seconds",
    "trapezoid_seconds",
]

# The numbers of the kinds of motion, as everywhere in the program.
RAPID, LINE, CLOCKWISE, ANTICLOCKWISE, INDEX = range(5)
Directions: TypeAlias = tuple[Floats, Floats, Floats, Floats, Floats]


def trapezoid_seconds(distance: Floats, rate: Floats | float,
                      acceleration: Floats | float) -> Floats:
    """Time from rest to rest over ``distance`` ≥ 0 at most at ``rate``.

    √(4s/a) where the rate is not reached, s ≤ v²/a; else s/v + v/a (uniform acceleration).
    In mm and seconds, or in degrees and seconds.

    >>> trapezoid_seconds(np.array([0.0, 1.0, 100.0]), 10.0, 100.0).tolist()
    [0.0, 0.2, 10.1]
    """
    distance = np.abs(np.asarray(distance, dtype=float))
    rate = np.asarray(rate, dtype=float)
    acceleration = np.asarray(acceleration, dtype=float)
    long = distance * acceleration >= rate * rate
    return np.where(long, distance / rate + rate / acceleration,
                    np.sqrt(4.0 * distance / acceleration))


def dog_leg_seconds(travel: Floats, rapids: Floats, accelerations: Floats) -> Floats:
    """Time of rapids, each axis at its own rate: the slowest axis's. ``travel`` (n, axes) mm.

    ``rapids`` mm/s and ``accelerations`` mm/s², one for each axis.

    >>> dog_leg_seconds(np.array([[100.0, 1.0, 0.0]]), np.array([10.0, 10.0, 1.0]),
    ...                 np.array([100.0, 100.0, 100.0])).tolist()
    [10.1]
    """
    found: Floats = trapezoid_seconds(travel, rapids, accelerations).max(axis=1)
    return found


def along_path(directions: Floats, limits: Floats) -> Floats:
    """The most along each direction when every axis has its own limit: min over axes of limit/|u|.

    ``directions`` (n, axes) of unit length, ``limits`` (axes,).

    >>> along_path(np.array([[0.6, 0.8], [1.0, 0.0]]), np.array([3.0, 3.2])).tolist()
    [4.0, 3.0]
    """
    with np.errstate(divide="ignore"):
        found: Floats = (limits / np.abs(directions)).min(axis=1)
    return found


def path_seconds(
    lengths: Floats,
    speeds: Floats,
    enter: Floats,
    leave: Floats,
    acceleration: Floats,
    blocks_per_second: float,
    *,
    radius: Floats | None = None,
    halts: Iterable[int] = (),
    exact_stop: bool = False,
) -> Floats:
    """Time of each of n pieces of a path driven in one go, from rest to rest.

    ``lengths`` mm and programmed ``speeds`` mm/s (n,); ``enter`` and ``leave`` (n, 3) unit vectors
    of the path at the pieces' ends; ``acceleration`` (n,) along the path; ``radius`` (n,) of the
    curve, inf where straight. ``halts`` are the pieces before which the motion comes to rest.

    With w the square of the speed at a joint, uniform acceleration gives |w₂ − w₁| ≤ 2as over a
    piece. So w at every joint is the least over all joints m of W_m plus the sum of 2as between, W
    the joint's own bound: two running minima give it exactly, with no loop.

    >>> path_seconds(np.array([1.0, 1.0]), np.array([10.0, 10.0]), np.eye(3)[[0, 0]],
    ...              np.eye(3)[[0, 0]], np.array([50.0, 50.0]), 1e9).round(6).tolist()
    [0.2, 0.2]
    """
    lengths = np.asarray(lengths, dtype=float)
    moving = lengths > 0.0
    if not moving.all():
        # A piece of no length takes no time and does not halt its neighbours.
        places = np.concatenate(([0], np.cumsum(moving)))
        found = np.zeros(len(lengths))
        found[moving] = path_seconds(
            lengths[moving], speeds[moving], enter[moving], leave[moving], acceleration[moving],
            blocks_per_second, radius=None if radius is None else radius[moving],
            halts=[int(places[min(max(halt, 0), len(lengths))]) for halt in halts],
            exact_stop=exact_stop)
        return found
    count = len(lengths)
    if count == 0:
        return np.zeros(0)
    top = np.minimum(speeds, lengths * blocks_per_second)
    if radius is not None:
        top = np.minimum(top, np.sqrt(acceleration * radius))
    # The speed at each joint: no more than either piece's, and what the corner allows.
    turn = np.linalg.norm(enter[1:] - leave[:-1], axis=1)
    jump = np.minimum(acceleration[1:], acceleration[:-1]) / blocks_per_second
    straight = turn < 1e-6
    corner = np.where(straight, np.inf, 0.0 if exact_stop else
                      jump / np.where(straight, 1.0, turn))
    bound = np.zeros(count + 1)
    bound[1:-1] = np.minimum(np.minimum(top[1:], top[:-1]), corner) ** 2
    for halt in halts:
        bound[min(max(halt, 0), count)] = 0.0
    climbed = np.concatenate(([0.0], np.cumsum(2.0 * acceleration * lengths)))
    forward = climbed + np.minimum.accumulate(bound - climbed)
    backward = np.minimum.accumulate((bound + climbed)[::-1])[::-1] - climbed
    square = np.maximum(np.minimum(forward, backward), 0.0)
    first, last = np.sqrt(square[:-1]), np.sqrt(square[1:])
    reached = np.sqrt(np.minimum(top * top,
                                 (square[:-1] + square[1:]) / 2.0 + acceleration * lengths))
    reached = np.maximum(reached, np.maximum(first, last))
    ramps = (2.0 * reached * reached - square[:-1] - square[1:]) / (2.0 * acceleration)
    even = np.maximum(lengths - ramps, 0.0)
    seconds: Floats = (2.0 * reached - first - last) / acceleration + even / reached
    return seconds


def index_seconds(
    degrees: Floats, machine: Machine, feed: Floats | float = np.nan
) -> tuple[Floats, Floats]:
    """Turning time and clamping time of each index, (n,) each; ``degrees`` turned.

    A driven head turns at ``feed`` degrees/min, (n,), as far as it follows. Where that is nan it
    turns at its rapid rate, or at its fastest feed where the machine file says that it turns by fed
    moves. One turned by hand takes the time its description says for each.
    """
    head = machine.dividing
    degrees = np.abs(np.asarray(degrees, dtype=float))
    if isinstance(head, DrivenHead) and head.pulses is not None:
        return (degrees * (head.pulses / 360.0 * head.pulse_seconds),
                np.where(degrees > 0.0, 2.0 * head.clamp_seconds, 0.0))
    if isinstance(head, DrivenHead):
        rate = head.rapid if machine.rotary.turn == "rapid" else head.feed_limit
        asked = np.broadcast_to(np.asarray(feed, dtype=float), degrees.shape)
        rates = np.where(asked > 0.0, np.minimum(asked, head.feed_limit), rate)
        turning = trapezoid_seconds(degrees, rates / 60.0, head.acceleration)
        return turning, np.where(degrees > 0.0, 2.0 * head.clamp_seconds, 0.0)
    if isinstance(head, HandHead):
        return np.where(degrees > 0.0, head.seconds, 0.0), np.zeros_like(degrees)
    return np.zeros_like(degrees), np.zeros_like(degrees)


@dataclass(frozen=True)
class MotionTime:
    """Time of each of n pieces: ``seconds`` (n,), of it ``clamping`` (n,); ``lengths`` (n,) mm.

    ``as_programmed`` (n,) is what a machine without inertia would take at the programmed feed.
    """

    seconds: Floats
    clamping: Floats
    lengths: Floats
    as_programmed: Floats


def motion_seconds(
    machine: Machine,
    *,
    kind: Ints,
    start: Floats,
    end: Floats,
    feed: Floats,
    centre: Floats | None = None,
    plane: Ints | None = None,
    turns: Ints | None = None,
    angle_start: Floats | None = None,
    angle_end: Floats | None = None,
    halts: Iterable[int] = (),
    exact_stop: bool = False,
    directions: Directions | None = None,
) -> MotionTime:
    """Time of each piece of a program's motion on ``machine``.

    ``kind`` (n,) is 0 rapid, 1 line, 2 arc clockwise, 3 arc anticlockwise, 4 index; ``start`` and
    ``end`` (n, 3) X Y Z; ``feed`` (n,) mm/min along the path; ``centre`` (n, 3); ``plane`` (n,) the
    axis normal to an arc; ``turns`` (n,) whole turns beyond the first; ``angle_start`` and
    ``angle_end`` (n,) the head's position. ``halts`` are the pieces before which a stop, a dwell or
    a cutter change stands. ``directions`` are those of the same motion from
    :func:`fed_directions`, where it is timed more than once.
    """
    kind = np.asarray(kind)
    count = len(kind)
    start, end = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    axes = (machine.x, machine.y, machine.z)
    accelerations = np.array([axis.acceleration for axis in axes])
    rates = np.array([axis.rapid for axis in axes]) / 60.0
    feed_rates = np.array([axis.feed_limit for axis in axes]) / 60.0
    travel = end - start
    lengths = np.linalg.norm(travel, axis=1)
    seconds = np.zeros(count)
    clamping = np.zeros(count)
    plain = np.zeros(count)

    rapid = kind == RAPID
    seconds[rapid] = dog_leg_seconds(travel[rapid], rates, accelerations)
    plain[rapid] = (np.abs(travel[rapid]) / rates).max(axis=1, initial=0.0)
    index = kind == INDEX
    if index.any() and angle_start is not None and angle_end is not None:
        turning, clamp = index_seconds(np.asarray(angle_end)[index]
                                       - np.asarray(angle_start)[index], machine,
                                       np.asarray(feed, dtype=float)[index])
        seconds[index], clamping[index], plain[index] = turning + clamp, clamp, turning + clamp

    fed = np.flatnonzero(~rapid & ~index)
    if len(fed):
        if directions is None:
            directions = fed_directions(kind, start, end, centre, plane, turns)
        enter, leave, radius, arc_lengths, sharpest = directions
        lengths[fed] = arc_lengths
        speeds = np.asarray(feed, dtype=float)[fed] / 60.0
        speeds = np.minimum(np.where(np.isfinite(speeds) & (speeds > 0.0), speeds, np.inf),
                            along_path(sharpest, feed_rates))
        along = along_path(sharpest, accelerations)
        # A rapid or an index between two pieces brings the motion to rest.
        gaps = {int(place) + 1 for place in np.flatnonzero(np.diff(fed) > 1)}
        stops = {int(np.searchsorted(fed, halt)) for halt in halts}
        seconds[fed] = path_seconds(arc_lengths, speeds, enter, leave, along,
                                    machine.blocks_per_second, radius=radius, halts=gaps | stops,
                                    exact_stop=exact_stop)
        plain[fed] = arc_lengths / speeds
    return MotionTime(seconds, clamping, lengths, plain)


def fed_directions(
    kind: Ints, start: Floats, end: Floats, centre: Floats | None, plane: Ints | None,
    turns: Ints | None,
) -> Directions:
    """Unit vectors at both ends, radius and length of the fed pieces among all, in their order.

    The arrays are those of :func:`motion_seconds`; the last one holds, for the axes' limits, the
    largest part any axis takes in the piece.
    """
    fed = np.flatnonzero((kind != RAPID) & (kind != INDEX))
    return _directions(
        kind[fed], start[fed], end[fed],
        None if centre is None else np.asarray(centre, dtype=float)[fed],
        None if plane is None else np.asarray(plane)[fed],
        None if turns is None else np.asarray(turns)[fed])


def _directions(
    kind: Ints, start: Floats, end: Floats, centre: Floats | None, plane: Ints | None,
    turns: Ints | None,
) -> Directions:
    """Unit vectors at both ends, radius and length of fed pieces.

    The last array holds, for the axes' limits, the largest part any axis takes in the piece: for an
    arc 1 along both axes of its plane, for it may pass through either.
    """
    count = len(kind)
    travel = end - start
    lengths = np.linalg.norm(travel, axis=1)
    safe = np.where(lengths > 0.0, lengths, 1.0)[:, None]
    enter = np.where(lengths[:, None] > 0.0, travel / safe, np.array([1.0, 0.0, 0.0]))
    leave = enter.copy()
    sharpest = enter.copy()
    radius = np.full(count, np.inf)
    arcs = np.flatnonzero((kind == CLOCKWISE) | (kind == ANTICLOCKWISE))
    if centre is None or not len(arcs):
        return enter, leave, radius, lengths, sharpest
    normal = np.full(len(arcs), 2) if plane is None else plane[arcs].astype(int)
    row = np.arange(len(arcs))
    first, second = (normal + 1) % 3, (normal + 2) % 3
    spokes: list[tuple[Floats, Floats]] = []
    for points in (start, end):
        spoke = points[arcs] - centre[arcs]
        spokes.append((spoke[row, first], spoke[row, second]))
    (u0, v0), (u1, v1) = spokes
    size = np.maximum(np.hypot(u0, v0), 1e-12)
    sense = np.where(kind[arcs] == ANTICLOCKWISE, 1.0, -1.0)
    sweep = sense * (np.arctan2(v1, u1) - np.arctan2(v0, u0)) % (2.0 * np.pi)
    sweep = np.where(sweep < 1e-9, 2.0 * np.pi, sweep)
    if turns is not None:
        sweep = sweep + 2.0 * np.pi * turns[arcs]
    rise = travel[arcs][row, normal]
    flat = size * sweep
    along = np.hypot(flat, rise)
    lengths[arcs] = along
    radius[arcs] = size * (along / np.maximum(flat, 1e-12)) ** 2
    for (u, v), into in ((spokes[0], enter), (spokes[1], leave)):
        reach = np.maximum(np.hypot(u, v), 1e-12)
        tangent = np.zeros((len(arcs), 3))
        tangent[row, first] = -sense * v / reach * flat / along
        tangent[row, second] = sense * u / reach * flat / along
        tangent[row, normal] = rise / along
        into[arcs] = tangent
    worst = np.zeros((len(arcs), 3))
    worst[row, first] = worst[row, second] = flat / along
    worst[row, normal] = np.abs(rise) / along
    sharpest[arcs] = worst
    return enter, leave, radius, lengths, sharpest
