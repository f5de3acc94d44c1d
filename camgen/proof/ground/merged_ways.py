"""Blocks that stand for several planned pieces, because the control would not read those in time.

Reckoned from both motions alone: the way read back and the way planned, point by point each held
against the other. What may be merged at all is said by the machine file and by the plan: pieces of
one feed that go on without a corner, one of which is over too soon.
"""

from __future__ import annotations

import numpy as np

from camgen.arrays import Flags, Floats
from camgen.proof.path import chords, is_arc, is_cut, lengths, select
from camgen.reader.motion import Kind, Motion
from camgen.shop.machine import MERGED_CORNER, MERGED_PIECES, Machine
from camgen.tolerances import MOTION_CHORD
from camgen.values import dataclass

__all__ = ["MergedRun", "merged_run"]

# So many read pieces that stand for planned ones are looked at.
_READ = 64
# A little over the greatest turn, for the arithmetic.
_SLACK = 1e-6


@dataclass(frozen=True)
class MergedRun:
    """``planned`` pieces answered by ``read`` ones, their ways at most ``off`` mm apart."""

    planned: int
    read: int
    off: float


def merged_run(
    plan: Motion, read: Motion, i: int, j: int, machine: Machine, ends: float, rounding: float
) -> MergedRun | None:
    """How many planned pieces from ``i`` on the read ones from ``j`` on stand for, or None.

    ``ends`` mm is what rounding may put an end off by, ``rounding`` mm what it may a way.
    """
    if machine.merging <= 0.0 or not is_cut(plan)[i] or not is_cut(read)[j]:
        return None
    a, b = select(plan, slice(i, i + MERGED_PIECES)), select(read, slice(j, j + _READ))
    together = _while(_goes_on(a))
    cuts = _while(is_cut(b)[1:] & (b.station[1:] == b.station[:-1])
                  & (b.start[1:] == b.end[:-1]).all(axis=1))
    if together < 2 or a.station[0] != b.station[0]:
        return None
    a, b = select(a, slice(0, together)), select(b, slice(0, cuts))
    if np.abs(b.start[0] - a.start[0]).max() > ends:
        return None
    short = np.minimum.accumulate(lengths(a)) * machine.blocks_per_second * 60.0 < a.feed
    met = (np.abs(a.end[:, None] - b.end[None]).max(axis=2) <= ends) & short[:, None]
    met[0] = False
    for last_read in np.flatnonzero(met.any(axis=0)).tolist():
        for last in np.flatnonzero(met[:, last_read]).tolist():
            off = _apart(select(a, slice(0, last + 1)), select(b, slice(0, last_read + 1)))
            if off <= machine.merging + rounding:
                return MergedRun(last + 1, last_read + 1, off)
    return None


def _while(goes_on: Flags) -> int:
    """How many pieces go together, the first always."""
    ended = np.flatnonzero(~goes_on)
    return 1 + (int(ended[0]) if len(ended) else len(goes_on))


def _goes_on(plan: Motion) -> Flags:
    """(n - 1,) pieces that one feed, one nature and no corner join to the one before."""
    cut = is_cut(plan) & (~is_arc(plan) | (plan.plane == 2))
    rise = np.sign(plan.end[:, 2] - plan.start[:, 2])
    enters, leaves = _directions(plan, plan.start), _directions(plan, plan.end)
    with np.errstate(invalid="ignore"):
        straight = (leaves[:-1] * enters[1:]).sum(axis=1) >= (
            np.cos(np.radians(MERGED_CORNER)) - _SLACK)
    return np.asarray(
        cut[1:] & cut[:-1] & straight & (rise[1:] == rise[:-1]) & (plan.feed[1:] == plan.feed[:-1])
        & (plan.station[1:] == plan.station[:-1]) & (plan.speed[1:] == plan.speed[:-1])
        & (plan.cutter[1:] == plan.cutter[:-1]))


def _directions(plan: Motion, places: Floats) -> Floats:
    """(n, 2) directions seen from above of each piece at a place of it, nan where it has none."""
    way = (plan.end - plan.start)[:, :2]
    out = (places - plan.centre)[:, :2]
    turned = np.column_stack((-out[:, 1], out[:, 0]))
    turned[plan.kind == Kind.ARC_CLOCKWISE] *= -1
    way = np.where(is_arc(plan)[:, None], turned, way)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(way / np.linalg.norm(way, axis=1)[:, None])


def _apart(a: Motion, b: Motion) -> float:
    """How far apart two ways lie, mm; endless where one does not go along the other."""
    first, second = (_points(one) for one in (a, b))
    there, along = _off(first, second)
    back, _ = _off(second, first)
    worst = max(float(there.max()), float(back.max()))
    # Whoever goes along one goes along the other, and never turns back by more than they are apart.
    if (np.maximum.accumulate(along) - along).max() > 2.0 * worst + MOTION_CHORD:
        return np.inf
    return worst


def _points(motion: Motion) -> Floats:
    """(m, 3) the way in short straight stretches: several of every piece, for one may bend away."""
    split = chords(motion, MOTION_CHORD, longest=max(float(lengths(motion).max()) / 8.0, 1e-3))
    return np.vstack((split.start[:1], split.end))


def _off(points: Floats, way: Floats) -> tuple[Floats, Floats]:
    """(m,) how far points lie off a way, mm, and how far along it is the place nearest to each."""
    start, step = way[:-1], np.diff(way, axis=0)
    square = np.maximum((step * step).sum(axis=1), 1e-18)
    share = ((points[:, None] - start) * step).sum(axis=2) / square
    share = np.clip(share, 0.0, 1.0)
    apart = np.linalg.norm(points[:, None] - (start + share[:, :, None] * step), axis=2)
    nearest = np.argmin(apart, axis=1)
    begun = np.concatenate(([0.0], np.cumsum(np.sqrt(square))))
    each = np.arange(len(points))
    return apart[each, nearest], (
        begun[nearest] + share[each, nearest] * np.sqrt(square)[nearest])
