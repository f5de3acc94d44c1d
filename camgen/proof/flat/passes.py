"""Depth taken at once: each pass against the depth it was planned for.

Whether a cutter goes down into metal that it may not meet is looked at with all that must find
its hole open. Lengths mm.
"""

from __future__ import annotations

import numpy as np
import shapely

from camgen.proof.common.planned_depths import planned_depths, section_depths
from camgen.proof.evidence import FlatEvidence
from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.proof.result import Proof, ProofId
from camgen.proof.way import Floats, Ints

__all__ = ["drops", "prove_flat_passes"]

PASS = ProofId("flat", "pass-depth")


def prove_flat_passes(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """The deepest single pass of each cutter."""
    layout = evidence.layout
    cuts = evidence.flat_cuts
    if not len(cuts):
        return ()
    depths = section_depths(evidence)
    # A piece that answers nothing planned may go as deep as its cutter goes in any section.
    by_cutter = planned_depths(evidence)
    section = evidence.section[cuts.piece]
    allowed = np.array([by_cutter.get(int(n), 0.0) for n in evidence.motion.cutter[cuts.piece]])
    known = (section >= 0) & (section < len(depths))
    allowed[known] = np.array([*depths, 0.0])[section[known]]
    # A cut within its planned depth even when all above it still stands needs no closer look.
    drop = drops(cuts, layout.top, np.where(np.isfinite(allowed), allowed, 0.0))
    return tuple(
        _depths(evidence, cuts, drop, np.where(known, section, -1), depths, by_cutter))



def drops(cuts: PlanCuts, top: float, allowed: Floats) -> Floats:
    """(k,) how far each cut goes below the lowest cut before it along the same way, or the top.

    Where the middle of a cut lies in ground that was cleared before it, it is reckoned from there:
    beside such ground less than half the cutter's width is in metal, which is a matter of width and
    not of depth. That is looked at only where a cut would else take more than ``allowed`` (k,).
    """
    group, order = _groups(cuts)
    # In the order they are made, the lowest so far along each way.
    lowest_before = np.full(len(cuts), np.inf)
    sorted_low = cuts.low[order]
    sorted_group = group[order]
    first = np.nonzero(np.concatenate([[True], sorted_group[1:] != sorted_group[:-1]]))[0]
    for begin, end in zip(first, [*first[1:], len(order)], strict=True):
        if end - begin > 1:
            lowest_before[order[begin + 1 : end]] = np.minimum.accumulate(
                sorted_low[begin : end - 1]
            )
    heads = order[first]
    deep = np.nonzero(np.minimum(lowest_before, top) - cuts.low > allowed)[0]
    if len(deep):
        lowest_before[deep] = np.minimum(
            lowest_before[deep], _beside(cuts, heads, group, deep)
        )
    return np.asarray(np.maximum(np.minimum(lowest_before, top) - cuts.low, 0.0))


def _groups(cuts: PlanCuts) -> tuple[Ints, Ints]:
    """(k,) the number of the way each cut runs along, and the order by way, then by time."""
    key = np.rint(
        np.column_stack([cuts.start, cuts.end, np.nan_to_num(cuts.centre), cuts.sweep]) * 1e5
    ).astype(np.int64)
    order = np.lexsort((cuts.piece, *key.T))
    ordered = key[order]
    new = np.concatenate([[True], np.any(ordered[1:] != ordered[:-1], axis=1)])
    group = np.empty(len(cuts), dtype=np.int64)
    group[order] = np.cumsum(new) - 1
    return group, order


def _beside(cuts: PlanCuts, heads: Ints, group: Ints, which: Ints) -> Floats:
    """How deep the ground at the middle of cuts ``which`` (m,) was cleared before them, inf if not.

    ``heads`` are the first cuts along each way, ``group`` (k,) the way of each cut.
    """
    ways = cuts.only(heads)
    last = np.full(len(heads), -1, dtype=np.int64)
    np.maximum.at(last, group, cuts.piece)
    low = np.full(len(heads), np.inf)
    np.minimum.at(low, group, cuts.low)
    number = group[heads]
    last, low = last[number], low[number]
    middle = cuts.only(which).middles
    lowest = np.full(len(which), np.inf)
    box = ways.bounds
    tree = shapely.STRtree(shapely.box(box[:, 0], box[:, 1], box[:, 2], box[:, 3]))
    row, near = tree.query(shapely.points(middle))
    before = last[near] < cuts.piece[which[row]]
    row, near = row[before], near[before]
    gone = ways.apart(middle[row][:, None, :], near)[:, 0] < ways.wide_top[near]
    np.minimum.at(lowest, row[gone], low[near[gone]])
    return lowest


def _depths(
    evidence: FlatEvidence, cuts: PlanCuts, drop: Floats, section: Ints, depths: list[float],
    by_cutter: dict[int, float],
) -> list[Proof]:
    """The deepest pass of each section, and of each cutter where it is in none."""
    cutter = evidence.motion.cutter[cuts.piece]
    sections = evidence.moves.sections if evidence.moves is not None else ()
    wanted = [
        (f"step {one.step + 1}", np.nonzero(section == number)[0], depth)
        for number, (one, depth) in enumerate(zip(sections, depths, strict=False))
    ]
    wanted += [
        (f"cutter {number}", np.nonzero((cutter == number) & (section < 0))[0], depth)
        for number, depth in sorted(by_cutter.items())
    ]
    answers: dict[str, tuple[float, Proof]] = {}
    for which, rows, planned in wanted:
        if not len(rows) or not np.isfinite(planned):
            continue
        worst = int(rows[np.argmax(drop[rows])])
        over = float(drop[worst]) - planned
        proof = evidence.at_most(
            PASS.about(which), f"depth of one pass, {which}", float(drop[worst]),
            planned + 2 * evidence.increment, "mm", int(cuts.piece[worst]),
        )
        # A step may have several sections.
        if which not in answers or over > answers[which][0]:
            answers[which] = over, proof
    return [proof for _, proof in answers.values()]
