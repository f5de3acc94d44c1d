"""Motion as straight stretches with their times: what pictures draw.

Arcs become chords, rapid moves the dog-legged way that axes take when each runs at its own rate.
Works on whole programs at once; lengths mm, angles degrees, times seconds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np
import shapely
from shapely import LineString

from camgen.arrays import Flags, Floats, Ints
from camgen.cutting.time.motion import motion_seconds
from camgen.proof.path import chords, dog_legs, is_rapid, rapid_rates
from camgen.reader.motion import Kind, Motion
from camgen.reader.waits import Wait
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = ["Track", "piece_seconds", "runs", "simplified", "traced", "with_waits"]


@dataclass(frozen=True)
class Track:
    """m stretches of straight way, in order.

    ``start`` and ``end`` (m, 3) X Y Z; ``piece`` (m,) the piece of motion each belongs to;
    ``since`` and ``until`` (m,) seconds from the program's start; ``angle`` (m,) the dividing
    head's position at its end, degrees; ``cutter`` (m,) the number of the cutter; ``rapid``
    and ``turning`` (m,) true for rapid moves and for turns of the dividing head.
    """

    start: Floats
    end: Floats
    piece: Ints
    since: Floats
    until: Floats
    angle: Floats
    cutter: Ints
    rapid: Flags
    turning: Flags

    def __len__(self) -> int:
        return len(self.piece)

    @property
    def cutting(self) -> Flags:
        """(m,) true for stretches made at a feed."""
        return ~(self.rapid | self.turning)

    @property
    def seconds(self) -> float:
        """Time of the whole."""
        return float(self.until[-1]) if len(self) else 0.0

    def only(self, keep: Flags | Ints | slice) -> Track:
        """The stretches picked by flags, numbers or a slice."""
        return Track(*(getattr(self, field.name)[keep] for field in fields(self)))

    def shifted(self, seconds: float) -> Track:
        """The same with all times later by ``seconds``."""
        return replace(self, since=self.since + seconds, until=self.until + seconds)


def piece_seconds(motion: Motion, machine: Machine, halts: Sequence[int] = ()) -> Floats:
    """(n,) seconds of each piece, speeding up and slowing down included.

    ``halts`` are the pieces before which the axes come to a stand. Changes of cutter and other
    stops themselves take none here.
    """
    time = motion_seconds(
        machine, kind=motion.kind, start=np.nan_to_num(motion.start),
        end=np.nan_to_num(motion.end), feed=motion.feed, centre=motion.centre,
        plane=motion.plane, turns=motion.turns, angle_start=motion.angle_start,
        angle_end=motion.angle_end, halts=halts)
    return np.nan_to_num(time.seconds, posinf=0.0)


def traced(
    motion: Motion, machine: Machine, tolerance: float = 0.002, halts: Sequence[int] = ()
) -> Track:
    """The way of a whole motion as straight stretches, arcs within ``tolerance`` mm.

    ``halts`` as in :func:`piece_seconds`. Stretches that begin where the position is not yet known
    are left out.
    """
    motion = _with_known_axes(motion)
    straight = chords(motion, tolerance)
    rapid = is_rapid(motion)[straight.piece]
    legs = dog_legs(straight.start[rapid], straight.end[rapid], rapid_rates(machine))
    each = np.where(rapid, 3, 1)
    row = np.repeat(np.arange(len(rapid)), each)
    start, end, piece = straight.start[row], straight.end[row], straight.piece[row]
    dogged = rapid[row]
    start[dogged] = legs[:, :3].reshape(-1, 3)
    end[dogged] = legs[:, 1:].reshape(-1, 3)

    seconds = piece_seconds(motion, machine, halts)
    begun = np.cumsum(seconds) - seconds
    # Chords of one piece take equal shares of its time, legs of a rapid their own.
    span = np.ones(len(piece))
    legs_take = (np.abs(end - start)[dogged] / rapid_rates(machine)).max(axis=1, initial=0.0)
    span[dogged] = np.nan_to_num(legs_take)
    whole = np.bincount(piece, weights=span, minlength=len(motion))
    passed = np.cumsum(span)
    before = np.concatenate(([0.0], np.cumsum(whole)))[piece]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(whole[piece] > 0, (passed - before) / whole[piece], 1.0)
        low = np.where(whole[piece] > 0, (passed - span - before) / whole[piece], 0.0)
    turned = (motion.angle_end - motion.angle_start)[piece]
    track = Track(
        start, end, piece,
        begun[piece] + np.clip(low, 0.0, 1.0) * seconds[piece],
        begun[piece] + np.clip(share, 0.0, 1.0) * seconds[piece],
        motion.angle_start[piece] + np.clip(share, 0.0, 1.0) * turned,
        motion.cutter[piece], dogged, (motion.kind == Kind.INDEX)[piece],
    )
    known = np.isfinite(start).all(axis=1) & np.isfinite(end).all(axis=1)
    return track.only(known & (np.any(start != end, axis=1) | track.turning))


def with_waits(track: Track, waits: Sequence[Wait]) -> tuple[Track, Ints]:
    """The same with a stretch of no length for each wait, so that its time is all of the program's.

    Beside it (m,) which of the first track's stretches each was, -1 for waits.
    """
    number = np.arange(len(track))
    if not len(track) or not waits:
        return track, number
    before = np.searchsorted(track.piece, [wait.before for wait in waits])
    lasts = np.array([wait.seconds for wait in waits])
    stood = np.maximum(before - 1, 0)
    # A wait before all motion is where the motion begins.
    where = np.where((before > 0)[:, None], track.end[stood], track.start[0])
    later = np.bincount(before, weights=lasts, minlength=len(track) + 1).cumsum()[:-1]
    moved = replace(track, since=track.since + later, until=track.until + later)
    # Several before one stretch follow one another.
    from_zero = np.where(before > 0, track.until[stood], 0.0)
    until = from_zero + np.cumsum(lasts)
    after = np.minimum(before, len(track) - 1)
    put_in = Track(where, where, track.piece[after], until - lasts, until, track.angle[stood],
                   track.cutter[after], np.zeros(len(lasts), np.bool_),
                   np.zeros(len(lasts), np.bool_))
    return Track(*(np.insert(getattr(moved, field.name), before, getattr(put_in, field.name),
                             axis=0) for field in fields(Track))), np.insert(number, before, -1)


def _with_known_axes(motion: Motion) -> Motion:
    """The same, with an axis that the program never sets taken to stand at 0."""
    never = ~np.isfinite(motion.end).any(axis=0)
    if not never.any():
        return motion
    return replace(motion, start=np.where(never, 0.0, motion.start),
                   end=np.where(never, 0.0, motion.end))


def simplified(lines: Sequence[Floats], tolerance: float) -> list[Floats]:
    """Ways (k, 2) with the points left out that lie within ``tolerance`` of the rest.

    >>> [line.tolist() for line in simplified([np.array([[0., 0.], [1., 0.01], [2., 0.]])], 0.1)]
    [[[0.0, 0.0], [2.0, 0.0]]]
    """
    shapes = np.array([LineString(line) for line in lines], dtype=np.object_)
    slim = shapely.simplify(shapes, tolerance, preserve_topology=False)
    return [shapely.get_coordinates(line) for line in slim]


def runs(flags: Flags) -> list[tuple[int, int]]:
    """First and past-last place of every unbroken run of true.

    >>> import numpy as np
    >>> runs(np.array([True, True, False, True]))
    [(0, 2), (3, 4)]
    """
    edges = np.diff(np.concatenate(([0], np.asarray(flags).astype(np.int8), [0])))
    begins, ends = np.nonzero(edges == 1)[0], np.nonzero(edges == -1)[0]
    return [(int(a), int(b)) for a, b in zip(begins, ends, strict=True)]
