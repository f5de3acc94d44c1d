"""Cuts gathered by the way they run along, so that a way gone a thousand times is asked once.

A lap that a program repeats is the same way, and so are the laps of a wall at several depths.
Lengths mm.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

import numpy as np

from camgen.arrays import Floats, Ints
from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.values import dataclass

__all__ = ["STEP", "SameWays", "in_steps", "same_ways"]

# Numbers are compared as so many parts of a millimetre.
PARTS_OF_A_MM = 1e5
# A cut that rises or falls is looked at in stretches of at most so much, mm: metal no thicker than
# that on a slope is none.
STEP = 0.02
# In so many stretches at most: what falls by more than 100 mm is looked at in longer ones.
MOST_STEPS = 5000


@dataclass(frozen=True)
class SameWays:
    """k cuts in g groups, each of one way and, where it was asked for, one width cleared.

    ``group`` (k,) is each cut's; ``order`` (k,) the cuts by group, then by time; ``first`` (g,) the
    places in ``order`` where groups begin.
    """

    cuts: PlanCuts
    group: Ints
    order: Ints
    first: Ints

    @cached_property
    def ways(self) -> PlanCuts:
        """(g) the first cut along each way."""
        return self.cuts.only(self.order[self.first])

    @cached_property
    def highest(self) -> Floats:
        """(k,) in the ``order``: how high the lowest of a way's cuts is at its highest, so far."""
        return self._least_so_far(self.cuts.high)

    @cached_property
    def lowest(self) -> Floats:
        """(k,) in the ``order``: how low a way's cuts have been so far."""
        return self._least_so_far(self.cuts.low)

    def _least_so_far(self, values: Floats) -> Floats:
        """By doubling, so that its time grows as k·log k."""
        least, group = values[self.order], self.group[self.order]
        step = 1
        while np.any(same := group[step:] == group[:-step]):
            least[step:] = np.where(same, np.minimum(least[step:], least[:-step]), least[step:])
            step *= 2
        return least

    @cached_property
    def _pieces(self) -> int:
        return int(self.cuts.piece.max(initial=0)) + 2

    @cached_property
    def _keys(self) -> Ints:
        return np.asarray(self.group[self.order] * self._pieces + self.cuts.piece[self.order])

    def before(self, group: Ints, piece: Ints) -> Ints:
        """(p,) place in the ``order`` of the last cut of a group before a piece; -1 if none is."""
        at = np.searchsorted(self._keys, group * self._pieces + piece) - 1
        return np.asarray(np.where(at >= self.first[group], at, -1))


def in_steps(cuts: PlanCuts, begin: Floats, end: Floats) -> PlanCuts:
    """The cuts, those that rise or fall from ``begin`` to ``end`` (k,) in stretches of ``STEP``.

    All in mm. What goes straight up or down stays as it is.
    """
    aside = (cuts.sweep != 0) | np.any(np.abs(cuts.end - cuts.start) > 1e-9, axis=1)
    count = np.where(aside, np.ceil(np.abs(end - begin) / STEP - 1e-9), 1)
    count = np.clip(count, 1, MOST_STEPS)
    parts = count.astype(np.int64)
    if not len(cuts) or parts.max() == 1:
        return cuts
    row = np.repeat(np.arange(len(cuts)), parts)
    number = np.arange(len(row)) - np.repeat(np.cumsum(parts) - parts, parts)
    low, high = number / parts[row], (number + 1) / parts[row]
    some, split = cuts.only(row), parts[row] > 1
    heights = np.stack([begin[row] + (end - begin)[row] * share for share in (low, high)])
    ends = []
    for share, whole in ((low, some.start), (high, some.end)):
        angle = some.begin + some.sweep * share
        ray = np.column_stack([np.cos(angle), np.sin(angle)]) * some.radius[:, None]
        along = some.start + (some.end - some.start) * share[:, None]
        at = np.where((some.sweep != 0)[:, None], some.centre + ray, along)
        ends.append(np.where(split[:, None], at, whole))
    return replace(
        some, start=ends[0], end=ends[1],
        begin=some.begin + np.where(split, some.sweep * low, 0.0),
        sweep=np.where(split, some.sweep / parts[row], some.sweep),
        high=np.where(split, heights.max(axis=0), some.high),
        low=np.where(split, heights.min(axis=0), some.low))


def same_ways(cuts: PlanCuts, *, wide: bool = True) -> SameWays:
    """The cuts by their ways; one way cut to several widths is several, unless not ``wide``.

    Numbers that differ by less than a hundred-thousandth of a millimetre are the same.
    """
    table = [cuts.start, cuts.end, np.nan_to_num(cuts.centre), cuts.sweep]
    table += [cuts.wide_top] if wide else []
    key = np.rint(np.column_stack(table) * PARTS_OF_A_MM).astype(np.int64)
    order = np.lexsort((cuts.piece, *key.T))
    ordered = key[order]
    new = np.ones(len(cuts), dtype=np.bool_)
    new[1:] = np.any(ordered[1:] != ordered[:-1], axis=1)
    group = np.empty(len(cuts), dtype=np.int64)
    group[order] = np.cumsum(new) - 1
    return SameWays(cuts, group, order, np.flatnonzero(new))
