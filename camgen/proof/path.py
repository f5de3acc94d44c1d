"""The way the cutter's point takes, worked out of motion arrays: sweeps, chords, dog-legs.

Lengths mm, angles radians inside, feeds and rates mm/min. Everything works on whole programs.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from camgen.arrays import Flags, Floats, Ints
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.reader.motion import Kind, Motion
from camgen.shop.machine import Machine
from camgen.tolerances import SAME_PLACE
from camgen.values import dataclass

__all__ = [
    "Chords",
    "chords",
    "dog_legs",
    "is_arc",
    "is_cut",
    "is_rapid",
    "joined",
    "lengths",
    "moves_nothing",
    "plane_axes",
    "rapid_rates",
    "select",
    "sweeps",
]


FAR: Final = 10_000.0
"""No bench mill goes so far in one move, mm."""
MOST_CHORDS: Final = 5_000_000
"""So many stretches at most are looked at: with what is reckoned of each, within a gigabyte."""


@dataclass(frozen=True)
class Chords:
    """m straight stretches in place of a motion's pieces.

    ``start`` and ``end`` (m, 3), ``piece`` (m,) the piece each stands for.
    """

    start: Floats
    end: Floats
    piece: Ints


def is_arc(motion: Motion) -> Flags:
    """(n,) true for arcs of either sense."""
    return np.asarray(
        (motion.kind == Kind.ARC_CLOCKWISE) | (motion.kind == Kind.ARC_ANTICLOCKWISE)
    )


def is_cut(motion: Motion) -> Flags:
    """(n,) true for pieces made at a feed."""
    return np.asarray(is_arc(motion) | (motion.kind == Kind.LINE))


def is_rapid(motion: Motion) -> Flags:
    """(n,) true for rapid moves."""
    return np.asarray(motion.kind == Kind.RAPID)


def select(motion: Motion, which: Flags | Ints | slice) -> Motion:
    """The pieces of a motion picked by flags, by numbers in that order, or as a slice."""
    return Motion(*(getattr(motion, name)[which] for name in _FIELDS))


def joined(motions: tuple[Motion, ...]) -> Motion:
    """Several motions one after another."""
    if len(motions) == 1:
        return motions[0]
    return Motion(*(np.concatenate([getattr(m, name) for m in motions]) for name in _FIELDS))


_FIELDS = (
    "kind", "line", "start", "end", "centre", "plane", "turns", "angle_start", "angle_end",
    "feed", "speed", "cutter", "station",
)


def plane_axes(motion: Motion) -> tuple[Ints, Ints]:
    """(n,) numbers of the first and second axis of each piece's plane (ISO 841 order).

    Seen from the positive end of the normal, anticlockwise turns the first towards the second:
    X to Y about Z, Y to Z about X, Z to X about Y.
    """
    return np.array([1, 2, 0])[motion.plane], np.array([2, 0, 1])[motion.plane]


def sweeps(motion: Motion) -> tuple[Floats, Floats, Floats]:
    """(n,) signed sweep in radians, angle begun at and radius at the start; 0 where straight.

    An arc ending where it starts, to within :data:`SAME_PLACE`, is a full circle.
    """
    n = len(motion)
    sweep, begin, radius = np.zeros(n), np.zeros(n), np.zeros(n)
    rows = np.nonzero(is_arc(motion))[0]
    if not len(rows):
        return sweep, begin, radius
    first, second = (axis[rows] for axis in plane_axes(motion))
    u0 = motion.start[rows, first] - motion.centre[rows, first]
    v0 = motion.start[rows, second] - motion.centre[rows, second]
    u1 = motion.end[rows, first] - motion.centre[rows, first]
    v1 = motion.end[rows, second] - motion.centre[rows, second]
    a0 = np.arctan2(v0, u0)
    turn = np.arctan2(v1, u1) - a0
    clockwise = motion.kind[rows] == Kind.ARC_CLOCKWISE
    turn = np.mod(np.where(clockwise, -turn, turn), 2 * np.pi)
    closed = np.hypot(u1 - u0, v1 - v0) < SAME_PLACE
    turn = np.where(closed, 2 * np.pi, turn) + 2 * np.pi * motion.turns[rows]
    sweep[rows] = np.where(clockwise, -turn, turn)
    begin[rows] = a0
    radius[rows] = np.hypot(u0, v0)
    return sweep, begin, radius


def lengths(motion: Motion) -> Floats:
    """(n,) length of each piece's path, mm; helices with their rise."""
    distance: Floats = np.linalg.norm(motion.end - motion.start, axis=1)
    rows = np.nonzero(is_arc(motion))[0]
    if len(rows):
        sweep, _, radius = sweeps(motion)
        rise = (motion.end - motion.start)[rows, motion.plane[rows]]
        distance[rows] = np.hypot(sweep[rows] * radius[rows], rise)
    return distance


def moves_nothing(motion: Motion) -> Flags:
    """(n,) true where a piece neither moves an axis nor turns the head."""
    near = np.all(np.abs(motion.end - motion.start) < SAME_PLACE, axis=1) & ~is_arc(motion)
    return np.asarray(near & (np.abs(motion.angle_end - motion.angle_start) < SAME_PLACE))


def chords(
    motion: Motion, tolerance: float, longest: float = np.inf, steepest: float = np.inf
) -> Chords:
    """Cuts as straight stretches, arcs by chords no further than ``tolerance`` mm from them.

    Rapids stay one stretch. ``longest`` mm also splits long pieces; one that goes down by more
    than ``steepest`` mm for each mm along as if it went down by so much, straight down not at all.
    Raises Refused where there would be more than :data:`MOST_CHORDS`.
    """
    sweep, begin, radius = sweeps(motion)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(radius > 0, tolerance / np.where(radius > 0, radius, 1.0), 1.0)
        step = 2 * np.arccos(np.clip(1 - ratio, 0.0, 1.0))
    step = np.clip(step, 1e-4, np.pi / 4)
    count = np.where(sweep != 0, np.ceil(np.abs(sweep) / step - 1e-9), 1.0)
    if np.isfinite(longest):
        way = lengths(motion)
        if np.isfinite(steepest):
            rise = np.where(is_arc(motion) & (motion.plane != 2), 0.0,
                            motion.end[:, 2] - motion.start[:, 2])
            along = np.sqrt(np.maximum(way * way - rise * rise, 0.0))
            way = np.minimum(way, along * math.hypot(1.0, steepest))
        count = np.maximum(count, np.ceil(np.nan_to_num(way) / longest - 1e-9))
    if not float(np.sum(count)) <= MOST_CHORDS:
        each = np.nan_to_num(lengths(motion))
        single = float(each.max()) > FAR
        raise Refused(Fault(
            Message("a way of {long:.3g} m is too long to be looked at in small steps",
                    long=each.sum() / 1000),
            Message("look in the program for a number without its point") if single else
            Message("fewer steps or pieces at a time, or two jobs")))
    number = np.maximum(count, 1).astype(np.int64)
    piece = np.repeat(np.arange(len(motion)), number)
    within = np.arange(len(piece)) - np.repeat(np.cumsum(number) - number, number)
    low = _at(motion, piece, within / number[piece], sweep, begin, radius)
    high = _at(motion, piece, (within + 1) / number[piece], sweep, begin, radius)
    return Chords(low, high, piece)


def _at(
    motion: Motion, piece: Ints, share: Floats, sweep: Floats, begin: Floats, radius: Floats
) -> Floats:
    """Points (m, 3) at ``share`` of the way along the pieces."""
    start, end = motion.start[piece], motion.end[piece]
    point: Floats = start + (end - start) * share[:, None]
    curved = np.nonzero((sweep[piece] != 0) & (share > 0) & (share < 1))[0]
    if len(curved):
        of = piece[curved]
        first, second = (axis[of] for axis in plane_axes(motion))
        angle = begin[of] + sweep[of] * share[curved]
        last = np.hypot(
            motion.end[of, first] - motion.centre[of, first],
            motion.end[of, second] - motion.centre[of, second],
        )
        reach = radius[of] + (last - radius[of]) * share[curved]
        point[curved, first] = motion.centre[of, first] + reach * np.cos(angle)
        point[curved, second] = motion.centre[of, second] + reach * np.sin(angle)
    whole = share >= 1
    point[whole] = end[whole]
    return point


def rapid_rates(machine: Machine) -> Floats:
    """(3,) rapid rates of X, Y, Z in mm/min."""
    return np.array([machine.x.rapid, machine.y.rapid, machine.z.rapid])


def dog_legs(start: Floats, end: Floats, rates: Floats) -> Floats:
    """Corners (n, 4, 3) of rapid moves when each axis runs at its own rate until it arrives.

    Places in mm, rates in mm/min.

    >>> import numpy as np
    >>> way = dog_legs(np.array([[0., 0., 0.]]), np.array([[10., 5., 0.]]), np.full(3, 2000.))
    >>> way[0, :, :2].tolist()
    [[0.0, 0.0], [0.0, 0.0], [5.0, 5.0], [10.0, 5.0]]
    """
    way = end - start
    times = np.abs(way) / rates
    arrive = np.sort(times, axis=1)
    corners = np.empty((len(start), 4, 3))
    corners[:, 0] = start
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for leg in range(3):
            share = np.where(times > 0, np.minimum(arrive[:, leg : leg + 1] / times, 1.0), 1.0)
            corners[:, leg + 1] = np.where(times > 0, start + way * share, start)
    corners[:, 3] = end
    return corners
