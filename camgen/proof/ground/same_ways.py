"""Cuts gathered by the way they run along, so that a way gone a thousand times is asked once.

A lap that a program repeats is the same way, and so are the laps of a wall at several depths.
Lengths mm.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.proof.way import Floats, Ints
from camgen.values import dataclass

__all__ = ["SameWays", "same_ways"]

# Numbers are compared as so many parts of a millimetre.
SAME = 1e5


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


def same_ways(cuts: PlanCuts, *, wide: bool = True) -> SameWays:
    """The cuts by their ways; one way cut to several widths is several, unless not ``wide``.

    Numbers that differ by less than a hundred-thousandth of a millimetre are the same.
    """
    table = [cuts.start, cuts.end, np.nan_to_num(cuts.centre), cuts.sweep]
    table += [cuts.wide_top] if wide else []
    key = np.rint(np.column_stack(table) * SAME).astype(np.int64)
    order = np.lexsort((cuts.piece, *key.T))
    ordered = key[order]
    new = np.ones(len(cuts), dtype=np.bool_)
    new[1:] = np.any(ordered[1:] != ordered[:-1], axis=1)
    group = np.empty(len(cuts), dtype=np.int64)
    group[order] = np.cumsum(new) - 1
    return SameWays(cuts, group, order, np.flatnonzero(new))
