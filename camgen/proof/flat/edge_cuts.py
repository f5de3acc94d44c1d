"""How the edges of the finished part were cut: material missing and left along each of them."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely

from camgen.arrays import Floats, Ints
from camgen.proof.ground.edges import RUN, Edge, Edges
from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.values import dataclass

__all__ = ["EdgeCut", "measure"]

# Runs and cuts near them looked at together, in pairs.
TOGETHER = 50_000


@dataclass(frozen=True)
class EdgeCut:
    """How an edge was cut, at each of its points (n,), mm.

    ``left`` is material standing beyond the edge at the lower face (negative: cut past it),
    ``skimmed`` the same reckoned with cuts of any depth, ``missing`` material taken from the part
    at any depth (negative: none); ``by`` the piece of motion that came nearest at any depth;
    ``began`` and ``ended`` the first and last piece that touched the edge, -1 where none.
    """

    edge: Edge
    left: Floats
    skimmed: Floats
    missing: Floats
    by: Ints
    began: int
    ended: int


def measure(
    edges: Edges, cuts: PlanCuts, reach: float, top: float = math.inf
) -> list[EdgeCut]:
    """How the edges were cut by ``cuts``, both in the part's frame.

    What a cut takes is reckoned no deeper than it goes below ``top``, the slice's upper face.
    ``reach`` mm is how much further than a cutter's radius cuts are looked for: beyond it a figure
    says no more than that it is greater.
    """
    count = len(edges.runs)
    left = np.full((count, RUN), np.inf)
    missing = np.full((count, RUN), -np.inf)
    by = np.full((count, RUN), -1, dtype=np.int64)
    began = np.full(count, np.iinfo(np.int64).max)
    ended = np.full(count, -1, dtype=np.int64)
    middle, spread = edges.middles
    wide = np.maximum(cuts.wide_top, cuts.wide_bottom)
    around = spread + reach
    run, cut = cuts.tree.query(shapely.box(
        middle[:, 0] - around, middle[:, 1] - around, middle[:, 0] + around, middle[:, 1] + around))
    near = cuts.apart(middle[run][:, None, :], cut)[:, 0] <= spread[run] + wide[cut] + reach
    run, cut = run[near], cut[near]
    order = np.lexsort((cut, run))
    run, cut = run[order], cut[order]
    for begin, end in _blocks(run):
        some, of = run[begin:end], cut[begin:end]
        away = cuts.apart(edges.runs[some], of)
        over_top = np.where(cuts.wide_top > 0, cuts.wide_top, -np.inf)[of][:, None] - away
        over_top = np.minimum(over_top, (top - cuts.low)[of][:, None])
        over_bottom = np.where(cuts.wide_bottom > 0, cuts.wide_bottom, -np.inf)[of][:, None] - away
        first = np.nonzero(np.concatenate([[True], some[1:] != some[:-1]]))[0]
        each = some[first]
        missing[each] = np.maximum.reduceat(over_top, first)
        left[each] = -np.maximum.reduceat(over_bottom, first)
        most = over_top == missing[some]
        by[each] = np.maximum.reduceat(np.where(most, cuts.piece[of][:, None], -1), first)
        touched = np.any(over_top > -reach, axis=1)
        np.minimum.at(began, some[touched], cuts.piece[of[touched]])
        np.maximum.at(ended, some[touched], cuts.until[of[touched]])
    answers = []
    for edge, a, b in zip(edges.edges, edges.first[:-1], edges.first[1:], strict=True):
        n = len(edge.points)
        gone = missing[a:b].reshape(-1)[:n]
        start, end = int(began[a:b].min()), int(ended[a:b].max())
        answers.append(
            EdgeCut(
                edge, left[a:b].reshape(-1)[:n], -gone, gone, by[a:b].reshape(-1)[:n],
                start if end >= 0 else -1, end,
            )
        )
    return answers


def _blocks(run: Ints) -> Iterator[tuple[int, int]]:
    """Stretches of sorted numbers of runs, none parted, of about ``TOGETHER`` each: what is looked
    at together fits into memory however many there are."""
    begin = 0
    while begin < len(run):
        end = min(begin + TOGETHER, len(run))
        if end < len(run):
            end = int(np.searchsorted(run, run[end - 1], side="right"))
        yield begin, end
        begin = end
