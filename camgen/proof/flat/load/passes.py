"""Depth taken at once: each pass against the depth it was planned for.

Whether a cutter goes down into metal that it may not meet is looked at with all that must find
its hole open. Lengths mm.
"""

from __future__ import annotations

import numpy as np
import shapely

from camgen.arrays import Floats, Ints
from camgen.messages import Message
from camgen.proof.common.planned_depths import planned_depths, section_depths
from camgen.proof.evidence import FlatEvidence
from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.proof.ground.same_ways import same_ways
from camgen.proof.result import Proof, ProofId

__all__ = ["drops", "prove_flat_passes"]

PASS = ProofId("flat", "pass-depth")

# Arcs told to slides that were measured are parted at other places: a ramp is then looked at a
# little farther on, where it is deeper, mm.
PARTED = 0.005


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
    """(k,) how far, mm, each cut goes below the lowest before it along the same way, or the top.

    Where the middle of a cut lies in ground that was cleared before it, it is reckoned from there:
    beside such ground less than half the cutter's width is in metal, which is a matter of width and
    not of depth. That is looked at only where a cut would else take more than ``allowed`` (k,).
    """
    along = same_ways(cuts, wide=False)
    again = along.group[along.order[1:]] == along.group[along.order[:-1]]
    lowest_before = np.full(len(cuts), np.inf)
    lowest_before[along.order[1:][again]] = along.lowest[:-1][again]
    deep = np.nonzero(np.minimum(lowest_before, top) - cuts.low > allowed)[0]
    if len(deep):
        lowest_before[deep] = np.minimum(lowest_before[deep], _beside(cuts, deep))
    return np.asarray(np.maximum(np.minimum(lowest_before, top) - cuts.low, 0.0))


def _beside(cuts: PlanCuts, which: Ints) -> Floats:
    """How deep the ground at the middle of cuts ``which`` (m,) was cleared before them, inf if not.

    Each way is looked at once, as deep as it was gone until then: it may be gone again later.
    """
    along = same_ways(cuts)
    ways = along.ways
    middle = cuts.only(which).middles
    lowest = np.full(len(which), np.inf)
    row, near = ways.tree.query(shapely.points(middle))
    at = along.before(near, cuts.piece[which[row]])
    row, near, at = row[at >= 0], near[at >= 0], at[at >= 0]
    gone = ways.apart(middle[row][:, None, :], near)[:, 0] < ways.wide_top[near]
    np.minimum.at(lowest, row[gone], along.lowest[at[gone]])
    return lowest


def _depths(
    evidence: FlatEvidence, cuts: PlanCuts, drop: Floats, section: Ints, depths: list[float],
    by_cutter: dict[int, float],
) -> list[Proof]:
    """The deepest pass of each section, and of each cutter where it is in none."""
    cutter = evidence.motion.cutter[cuts.piece]
    sections = evidence.moves.sections if evidence.moves is not None else ()
    wanted = [
        (Message("step {number}", number=one.step + 1), np.nonzero(section == number)[0], depth)
        for number, (one, depth) in enumerate(zip(sections, depths, strict=False))
    ]
    wanted += [
        (Message("cutter {number}", number=number),
         np.nonzero((cutter == number) & (section < 0))[0], depth)
        for number, depth in sorted(by_cutter.items())
    ]
    answers: dict[str, tuple[float, Proof]] = {}
    for which, rows, planned in wanted:
        if not len(rows) or not np.isfinite(planned):
            continue
        worst = int(rows[np.argmax(drop[rows])])
        over = float(drop[worst]) - planned
        proof = evidence.at_most(
            PASS.about(which), Message("depth of one pass, {which}",
                                       which=which), float(drop[worst]),
            planned + 2 * evidence.increment + (PARTED if evidence.machine.measured else 0.0),
            "mm", int(cuts.piece[worst]),
        )
        # A step may have several sections.
        if which not in answers or over > answers[which][0]:
            answers[which] = over, proof
    return [proof for _, proof in answers.values()]
