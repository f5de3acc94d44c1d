"""Motion as points along the way with their times: what pictures draw.

Arcs become chords, rapid moves the dog-legged way that axes take when each runs at its own rate.
Works on whole programs at once; lengths mm, angles degrees, times seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from camgen.reader.motion import Kind, Motion
from camgen.shop.machine import DrivenHead, Machine

__all__ = ["Track", "follow", "piece_seconds", "pieces_where", "runs"]

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]
Flags: TypeAlias = NDArray[np.bool_]

# Longest sweep of one chord, radians: a circle is never drawn with fewer than 24 of them.
_COARSEST = np.pi / 12


@dataclass(frozen=True)
class Track:
    """m stretches of straight way, in order.

    ``start`` and ``end`` (m, 3) X Y Z; ``piece`` (m,) the piece of motion each belongs to;
    ``since`` and ``until`` (m,) seconds from the program's start; ``angle`` (m,) the dividing
    head's position at its end, degrees; ``rapid`` (m,) true where no metal may be met.
    """

    start: Floats
    end: Floats
    piece: Ints
    since: Floats
    until: Floats
    angle: Floats
    rapid: Flags

    def __len__(self) -> int:
        return len(self.piece)

    def only(self, keep: Flags) -> Track:
        """The stretches where ``keep`` (m,) is true."""
        return Track(self.start[keep], self.end[keep], self.piece[keep], self.since[keep],
                     self.until[keep], self.angle[keep], self.rapid[keep])


def _sweeps(motion: Motion) -> tuple[Floats, Floats, Ints, Ints]:
    """Signed sweep and radius of each piece (0 where straight), and its plane's two axes."""
    across = np.array([1, 2, 0])[motion.plane]
    up = np.array([2, 0, 1])[motion.plane]
    row = np.arange(len(motion))
    from_u = motion.start[row, across] - motion.centre[row, across]
    from_v = motion.start[row, up] - motion.centre[row, up]
    to_u = motion.end[row, across] - motion.centre[row, across]
    to_v = motion.end[row, up] - motion.centre[row, up]
    turn = np.mod(np.arctan2(to_v, to_u) - np.arctan2(from_v, from_u), 2 * np.pi)
    clockwise = motion.kind == Kind.ARC_CLOCKWISE
    turn = np.where(clockwise, np.mod(-turn, 2 * np.pi), turn)
    # An arc that ends where it starts is a full circle (ISO 6983-1).
    turn = np.where(turn < 1e-9, 2 * np.pi, turn) + 2 * np.pi * motion.turns
    arc = clockwise | (motion.kind == Kind.ARC_ANTICLOCKWISE)
    sweep = np.where(arc, np.where(clockwise, -turn, turn), 0.0)
    radius = np.where(arc, np.hypot(from_u, from_v), 0.0)
    return np.nan_to_num(sweep), np.nan_to_num(radius), across, up


def _axis_times(motion: Motion, machine: Machine) -> Floats:
    """(n, 3) seconds each axis takes for its part of a rapid move."""
    rates = np.array([machine.x.rapid, machine.y.rapid, machine.z.rapid]) / 60.0
    times: Floats = np.abs(motion.end - motion.start) / rates
    return times


def piece_seconds(motion: Motion, machine: Machine) -> Floats:
    """(n,) seconds of each piece at its programmed feed or the axes' rapid rates.

    Speeding up and slowing down are left out: pictures need the order and proportion of times;
    the time of the job is the planner's answer.
    """
    sweep, radius, _, _ = _sweeps(motion)
    chord = np.linalg.norm(motion.end - motion.start, axis=1)
    row = np.arange(len(motion))
    rise = np.where(sweep != 0, (motion.end - motion.start)[row, motion.plane], 0.0)
    length = np.where(sweep != 0, np.hypot(sweep * radius, rise), chord)
    feed = np.where(np.isfinite(motion.feed) & (motion.feed > 0), motion.feed, np.inf) / 60.0
    seconds = np.where(motion.kind == Kind.RAPID, _axis_times(motion, machine).max(axis=1),
                       length / feed)
    turned = np.abs(motion.angle_end - motion.angle_start)
    head = machine.dividing
    rate = head.rapid / 60.0 if isinstance(head, DrivenHead) else 60.0
    seconds = np.where(motion.kind == Kind.INDEX, np.maximum(seconds, turned / rate), seconds)
    return np.asarray(np.nan_to_num(seconds, posinf=0.0), dtype=np.float64)


def follow(motion: Motion, machine: Machine, tolerance: float = 0.002) -> Track:
    """The way of a whole motion as straight stretches, arcs within ``tolerance`` mm."""
    n = len(motion)
    if n == 0:
        none = np.zeros(0)
        return Track(np.zeros((0, 3)), np.zeros((0, 3)), np.zeros(0, np.int64), none, none, none,
                     np.zeros(0, np.bool_))
    sweep, radius, across, up = _sweeps(motion)
    safe = np.maximum(radius, 1e-12)
    chord = 2 * np.arccos(np.clip(1 - tolerance / safe, -1.0, 1.0))
    chord = np.clip(chord, 1e-3, _COARSEST)
    count = np.where(sweep != 0, np.ceil(np.abs(sweep) / chord), 1).astype(np.int64)
    rapid = motion.kind == Kind.RAPID
    count = np.where(rapid, 3, np.maximum(count, 1))

    piece = np.repeat(np.arange(n), count)
    number = np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count) + 1
    share = number / count[piece]
    begin, finish = motion.start[piece], motion.end[piece]
    point = begin + share[:, None] * (finish - begin)

    curved = sweep[piece] != 0
    where = np.nonzero(curved)[0]
    of = piece[where]
    u, v = across[of], up[of]
    angle = np.arctan2(motion.start[of, v] - motion.centre[of, v],
                       motion.start[of, u] - motion.centre[of, u]) + share[where] * sweep[of]
    last = share[where] >= 1.0
    point[where, u] = np.where(last, motion.end[of, u],
                               motion.centre[of, u] + radius[of] * np.cos(angle))
    point[where, v] = np.where(last, motion.end[of, v],
                               motion.centre[of, v] + radius[of] * np.sin(angle))

    times = _axis_times(motion, machine)
    ordered = np.sort(times, axis=1)
    dog_leg = np.nonzero(rapid[piece])[0]
    of = piece[dog_leg]
    reached = ordered[of, number[dog_leg] - 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        along = np.where(times[of] > 0, np.minimum(reached[:, None] / times[of], 1.0), 1.0)
    point[dog_leg] = motion.start[of] + along * (motion.end[of] - motion.start[of])

    before = np.empty_like(point)
    before[1:] = point[:-1]
    first = number == 1
    before[first] = motion.start[piece[first]]

    seconds = piece_seconds(motion, machine)
    begun = np.cumsum(seconds) - seconds
    fraction = share.copy()
    longest = ordered[of, 2]
    fraction[dog_leg] = np.where(longest > 0, reached / np.where(longest > 0, longest, 1.0), 1.0)
    until = begun[piece] + fraction * seconds[piece]
    since = np.empty_like(until)
    since[1:] = until[:-1]
    since[first] = begun[piece[first]]
    turned = motion.angle_start[piece] + fraction * (motion.angle_end - motion.angle_start)[piece]
    track = Track(before, point, piece, since, until, turned, rapid[piece])
    # Legs of a rapid in which nothing moves say nothing; an index stays, though it goes nowhere.
    moved = np.any(before != point, axis=1) | ~track.rapid
    return track.only(moved)


def pieces_where(track: Track, flags: Flags) -> Flags:
    """(m,) true where the piece a stretch belongs to is true in ``flags`` (n,)."""
    return np.asarray(flags, dtype=np.bool_)[track.piece]


def runs(track: Track, flags: Flags) -> list[tuple[int, int]]:
    """First and past-last stretch of every unbroken run where ``flags`` (m,) is true.

    >>> import numpy as np
    >>> nothing = np.zeros((4, 3)); t = np.zeros(4); p = np.arange(4)
    >>> track = Track(nothing, nothing, p, t, t, t, np.zeros(4, bool))
    >>> runs(track, np.array([True, True, False, True]))
    [(0, 2), (3, 4)]
    """
    edges = np.diff(np.concatenate(([0], flags.astype(np.int8), [0])))
    begins, ends = np.nonzero(edges == 1)[0], np.nonzero(edges == -1)[0]
    return [(int(a), int(b)) for a, b in zip(begins, ends, strict=True)]
