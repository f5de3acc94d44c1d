"""Depth taken at once: each pass against the depth it was planned for.

Whether a cutter goes down into metal that it may not meet is looked at with all that must find
its hole open. Lengths mm.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from camgen.arrays import Floats, Ints
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.proof.common.metal_left import MetalAsLeft
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
# Of a cut beside the stock so many places along it, so many directions, and shares of its radius.
PLACES, ROUND = 9, 24
OUT = (0.35, 0.7, 0.95, 0.999)


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
    allowed = np.where(np.isfinite(allowed), allowed, 0.0)
    drop = drops(cuts, layout.top, allowed)
    # Beside the stock, where the middle of a cut is in air, only what it reaches into counts.
    deep = np.nonzero(drop > allowed)[0]
    deep = deep[~shapely.contains_xy(layout.stock, *cuts.middles[deep].T)]
    if len(deep):
        drop[deep] = np.minimum(drop[deep], _reached_into(cuts, deep, layout))
    deep = np.nonzero(drop > allowed)[0]
    if len(deep) and (ground := MetalAsLeft(evidence, layout)).others:
        drop[deep] = np.minimum(drop[deep], _below_what_was_left(evidence, cuts, deep, ground))
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
    """
    return _cleared(cuts, cuts.middles[which], cuts.piece[which])


def _cleared(cuts: PlanCuts, points: Floats, piece: Ints) -> Floats:
    """(m,) how deep the ground at ``points`` (m, 2) was cleared before a piece each, inf if not.

    Each way is looked at once, as deep as it was gone until then: it may be gone again later.
    """
    along = same_ways(cuts)
    ways = along.ways
    lowest = np.full(len(points), np.inf)
    row, near = ways.tree.query(shapely.points(points))
    at = along.before(near, piece[row])
    row, near, at = row[at >= 0], near[at >= 0], at[at >= 0]
    gone = ways.apart(points[row][:, None, :], near)[:, 0] < ways.wide_top[near]
    np.minimum.at(lowest, row[gone], along.lowest[at[gone]])
    return lowest


def _reached_into(cuts: PlanCuts, which: Ints, layout: FlatLayout) -> Floats:
    """(m,) how far, mm, cuts ``which`` go below the highest of the stock that they reach into.

    Looked at on a net of places as wide as each cut; of one that meets no stock it is 0.
    """
    some = cuts.only(which)
    wide = some.wide_top[:, None, None, None]
    share = np.linspace(0.0, 1.0, PLACES)[None, :, None]
    angle = some.begin[:, None] + some.sweep[:, None] * share[..., 0]
    ray = np.stack([np.cos(angle), np.sin(angle)], axis=2) * some.radius[:, None, None]
    straight = some.start[:, None] + (some.end - some.start)[:, None] * share
    curved = (some.sweep != 0)[:, None, None]
    at = np.where(curved, np.nan_to_num(some.centre)[:, None] + ray, straight)
    turn = np.arange(0, 2 * np.pi, 2 * np.pi / ROUND)
    far = np.array([[math.cos(one), math.sin(one)] for one in turn])
    net = at[:, :, None, None] + wide[:, :, None] * (
        np.array(OUT)[:, None, None] * far[None])[None, None]
    points = net.reshape(-1, 2)
    owner = np.repeat(np.arange(len(which)), len(points) // len(which))
    met = shapely.contains_xy(layout.stock, *points.T)
    points, owner = points[met], owner[met]
    ground = np.minimum(_cleared(cuts, points, some.piece[owner]), layout.top)
    highest = np.full(len(which), -np.inf)
    np.maximum.at(highest, owner, ground)
    return np.asarray(np.maximum(highest - some.low, 0.0))


def _below_what_was_left(
    evidence: FlatEvidence, cuts: PlanCuts, which: Ints, ground: MetalAsLeft
) -> Floats:
    """(m,) how far, mm, cuts ``which`` go below the metal on their way that others left too.

    As where their own setup cleared it, what counts is the line of the cutter's middle: beside what
    is open, less than half its width is in metal.
    """
    piece = cuts.piece[which]
    ends = evidence.motion.start[piece, :2], cuts.middles[which], evidence.motion.end[piece, :2]
    metal = np.max([ground.at(np.asarray(points), piece) for points in ends], axis=0)
    return np.asarray(np.maximum(metal - cuts.low[which], 0.0))


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
