"""Every tooth space at its angle, to its depth, right across the stack; and the head's turning.

Angles are degrees as the head is told them, counted on; lengths mm.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np

from camgen.arrays import Flags, Floats, Ints, distinct_rows
from camgen.job.rack import cutter_numbers
from camgen.layout import ToothLayout
from camgen.messages import NOTHING, Message
from camgen.proof.common.head_frame import HeadWay, clearances, head_way
from camgen.proof.common.turning import from_one_side, still_when_cutting, turned_back
from camgen.proof.evidence import HeadEvidence
from camgen.proof.head.ways_meant import MeantWay, nearest_ways, ways_meant
from camgen.proof.result import Proof, ProofId
from camgen.shop.machine import DrivenHead
from camgen.tolerances import ROUNDING
from camgen.values import dataclass

__all__ = ["SpaceCuts", "depth_correction", "forming", "prove_spaces", "space_cuts",
           "wanted_spaces", "whole_depth"]

MISSING = ProofId("head", "spaces-missing")
TWICE = ProofId("head", "spaces-twice")
UNCUT = ProofId("head", "uncut-arc")
ANGLES = ProofId("head", "space-angles")
DEPTH = ProofId("head", "space-depth")
STACK = ProofId("head", "stack-depth")
CENTRE = ProofId("head", "centre-height")
TURNING = ProofId("head", "clear-while-turning")



@dataclass(frozen=True)
class SpaceCuts:
    """k cuts along tooth spaces.

    ``piece`` (k,) their pieces of motion, ``way`` (k,) the number of the way in which each is meant
    to come, ``space`` (k,) the space each is nearest to, from 0,
    ``off`` (k,) degrees it stands beside it, ``low`` and ``high`` (k,) from and to along the arbor,
    ``depth`` (k,) the lesser depth of its two ends.
    """

    piece: Ints
    way: Ints
    space: Ints
    off: Floats
    low: Floats
    high: Floats
    depth: Floats

    def of(self, rows: Flags) -> SpaceCuts:
        """Those of the cuts for which ``rows`` (k,) is true."""
        return SpaceCuts(self.piece[rows], self.way[rows], self.space[rows], self.off[rows],
                         self.low[rows], self.high[rows], self.depth[rows])


# The cuts of one way, and how it is meant.
Formed: TypeAlias = tuple[SpaceCuts, MeantWay]


def whole_depth(evidence: HeadEvidence) -> float:
    """The greatest depth the job wants: the tooth's own and the step's correction."""
    return max(way.depth for way in ways_meant(evidence) if way.forms)


def depth_correction(evidence: HeadEvidence) -> float:
    """What the job adds to the depth of the teeth, mm."""
    setup = next((s for s in evidence.job.setups if s.name == evidence.setup), None)
    says = [step.declares() for step in setup.steps] if setup is not None else []
    return next((one.added("depth") for one in reversed(says) if one.forms_spaces), 0.0)


def forming(evidence: HeadEvidence) -> Flags:
    """(n,) pieces made with a cutter whose form the spaces have; all, where nobody says."""
    setup = next((s for s in evidence.job.setups if s.name == evidence.setup), None)
    numbers = cutter_numbers(evidence.job)
    rough = [numbers[step.cutter] for step in (setup.steps if setup is not None else ())
             if step.declares().roughs_spaces is not None]
    return np.asarray(~np.isin(evidence.motion.cutter, rough))


def space_cuts(evidence: HeadEvidence, way: HeadWay) -> SpaceCuts:
    """The fed pieces below the blank's outside, each with the space it lies in."""
    layout = evidence.layout
    depth = way.depth.min(axis=1)
    piece = np.nonzero(evidence.cut & (depth > ROUNDING - layout.over_tip))[0]
    division = layout.division
    count = division.count
    ways = ways_meant(evidence)
    meets = nearest_ways(evidence, ways, piece, way.across[piece].mean(axis=1))
    turned = np.array([one.stance.turned for one in ways])
    angle = evidence.motion.angle_end[piece] - turned[meets]
    space = np.round(angle * count / 360.0).astype(np.int64) % count
    meant = np.array(division.angles)[space]
    off = np.mod(angle - meant + 180.0, 360.0) - 180.0
    along = way.along[piece]
    return SpaceCuts(piece, meets, space, off, along.min(axis=1), along.max(axis=1), depth[piece])


def prove_spaces(evidence: HeadEvidence) -> tuple[Proof, ...]:
    """Spaces there, single, at their angle, deep enough, right across; the head's turning safe."""
    layout = evidence.layout
    way = head_way(evidence)
    cuts = space_cuts(evidence, way)
    formed = [(cuts.of(cuts.way == number), one)
              for number, one in enumerate(ways_meant(evidence)) if one.forms]
    return (
        *_count(evidence, layout, cuts, formed),
        *_uncut_arc(evidence, layout, cuts),
        _angle(evidence, cuts),
        _depth(evidence, layout, formed),
        _across_stack(evidence, layout, formed),
        _centre_height(evidence, way, cuts),
        from_one_side(evidence, cuts.piece, lambda row: _space(cuts, row)),
        _clear_when_turning(evidence, layout, way),
        still_when_cutting(evidence),
        *turned_back(evidence),
    )


def wanted_spaces(evidence: HeadEvidence, layout: ToothLayout) -> Ints:
    """Numbers, from 0, of the spaces this program is there to cut.

    All that the wheel has, unless the plan starts again at a later one after a broken cutter.
    """
    planned, spaces = evidence.planned, layout.spaces
    first = min(planned.spaces) if planned is not None and planned.spaces else spaces[0]
    return np.arange(max(first, spaces[0]) - 1, spaces[-1])


def _count(
    evidence: HeadEvidence, layout: ToothLayout, cuts: SpaceCuts, formed: list[Formed]
) -> list[Proof]:
    """No space missing its form, in any of the ways that make it, and none cut twice the same by
    one cutter."""
    wanted = wanted_spaces(evidence, layout)
    there = np.ones(len(wanted), dtype=np.bool_)
    for mine, way in formed:
        there &= np.isin(wanted, mine.space[mine.depth >= way.depth - _slack(evidence)])
    missing = wanted[~there]
    where = (Message("space {space}", space=tuple((missing[:8] + 1).tolist())) if len(missing)
             else NOTHING)
    rows = np.column_stack(
        [cuts.space, cuts.off, cuts.low, cuts.high, cuts.depth, cuts.way,
         evidence.motion.cutter[cuts.piece]]
    )
    first, _ = distinct_rows(np.rint(rows * 1e5).astype(np.int64))
    seen = np.zeros(len(rows), dtype=np.bool_)
    seen[first] = True
    again = np.nonzero(~seen)[0]
    return [
        evidence.at_most(
            MISSING, Message("tooth spaces missing"), len(missing), 0, f"of {len(wanted)}",
            where=where
        ),
        evidence.at_most(
            TWICE, Message("tooth spaces cut twice"), len(again), 0, "cuts",
            int(cuts.piece[again[0]]) if len(again) else None,
            _space(cuts, int(again[0])) if len(again) else NOTHING,
        ),
    ]


def _uncut_arc(evidence: HeadEvidence, layout: ToothLayout, cuts: SpaceCuts) -> list[Proof]:
    """Where part-circle teeth end, nothing is cut: what stands there keeps its outside."""
    if not layout.tooth.part_circle:
        return []
    amiss = np.nonzero(~np.isin(cuts.space, np.array(layout.spaces) - 1))[0]
    return [
        evidence.at_most(
            UNCUT, Message("cuts where the circle has no teeth"), len(amiss), 0, "cuts",
            int(cuts.piece[amiss[0]]) if len(amiss) else None,
            _space(cuts, int(amiss[0])) if len(amiss) else NOTHING,
        )
    ]


def _space(cuts: SpaceCuts, row: int) -> Message:
    return Message("space {space}", space=int(cuts.space[row]) + 1)


def _slack(evidence: HeadEvidence) -> float:
    """What rounding may take from a depth, mm."""
    return evidence.increment / 2 + ROUNDING


def _angle(evidence: HeadEvidence, cuts: SpaceCuts) -> Proof:
    """The largest angle between a cut and the space it belongs to."""
    head = evidence.machine.dividing
    limit = 10.0**-evidence.machine.numbers.rotary_decimals
    if isinstance(head, DrivenHead):
        limit = max(limit, head.increment)
    worst = int(np.argmax(np.abs(cuts.off))) if len(cuts.off) else -1
    return evidence.at_most(
        ANGLES, Message("tooth spaces at their angles"),
        3600 * float(abs(cuts.off[worst])) if worst >= 0 else 0.0, 3600 * limit, "arc-seconds",
        int(cuts.piece[worst]) if worst >= 0 else None,
        _space(cuts, worst) if worst >= 0 else NOTHING,
    )


def _depth(evidence: HeadEvidence, layout: ToothLayout, formed: list[Formed]) -> Proof:
    """The largest difference of any space's final depth from the depth wanted, in any way."""
    proofs = [_depth_of(evidence, layout, cuts, way.depth) for cuts, way in formed]
    return max(proofs, key=lambda one: (not one.holds, one.figure))


def _depth_of(
    evidence: HeadEvidence, layout: ToothLayout, cuts: SpaceCuts, wanted: float
) -> Proof:
    limit = evidence.increment
    if not len(cuts.piece):
        return evidence.proof(DEPTH, Message("depth of tooth spaces"), False, wanted, limit, "mm",
                              where=Message("nothing is cut"))
    deepest = np.full(layout.division.count, -np.inf)
    np.maximum.at(deepest, cuts.space, cuts.depth)
    cut = np.nonzero(np.isfinite(deepest))[0]
    off = np.abs(deepest[cut] - wanted)
    worst = int(np.argmax(off))
    space = int(cut[worst])
    piece = int(cuts.piece[np.argmax(np.where(cuts.space == space, cuts.depth, -np.inf))])
    return evidence.at_most(
        DEPTH, Message("depth of tooth spaces"), float(off[worst]), limit, "mm", piece,
        Message("space {space}: {deep:.3f} mm deep, {wanted:.3f} wanted", space=space + 1,
                deep=deepest[space], wanted=wanted),
    )


def _across_stack(evidence: HeadEvidence, layout: ToothLayout, formed: list[Formed]) -> Proof:
    """How much of the stack is not at full depth in the worst space, in the worst way.

    A disc is at its depth only where its axis is, so the axis itself must pass both faces.
    """
    return max((_across_in(evidence, layout, cuts, way.depth) for cuts, way in formed),
               key=lambda one: one.figure)


def _across_in(
    evidence: HeadEvidence, layout: ToothLayout, cuts: SpaceCuts, depth: float
) -> Proof:
    count = layout.division.count
    deep = cuts.depth >= depth - _slack(evidence)
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    covered = np.zeros(count)
    begin = np.clip(cuts.low, layout.stack_from, layout.stack_to)
    end = np.clip(cuts.high, layout.stack_from, layout.stack_to)
    np.minimum.at(low, cuts.space[deep], cuts.low[deep])
    np.maximum.at(high, cuts.space[deep], cuts.high[deep])
    np.add.at(covered, cuts.space[deep], (end - begin)[deep])
    wanted = wanted_spaces(evidence, layout)
    stack = layout.stack_to - layout.stack_from
    short = np.maximum(low - layout.stack_from, layout.stack_to - high)
    short = np.maximum(short, stack - covered)
    short = np.minimum(np.maximum(short, 0.0), stack)[wanted]
    worst = int(np.argmax(short)) if len(short) else -1
    return evidence.at_most(
        STACK, Message("stack not at full depth"), float(short[worst]) if worst >= 0 else 0.0,
        ROUNDING, "mm",
        where=(Message("space {space}", space=int(wanted[worst]) + 1)
               if worst >= 0 and short[worst] > 0 else NOTHING),
    )


def _centre_height(evidence: HeadEvidence, way: HeadWay, cuts: SpaceCuts) -> Proof:
    """How far from centre height, or from where it is set over to, any space is cut."""
    meant = np.array([one.stance.across for one in ways_meant(evidence)])[cuts.way]
    height = np.abs(way.across[cuts.piece] - meant[:, None]).max(axis=1, initial=0.0)
    height = np.where(np.isnan(height), np.inf, height)
    worst = int(np.argmax(height)) if len(height) else -1
    figure = float(height[worst]) if worst >= 0 else 0.0
    return evidence.at_most(
        CENTRE, Message("cutter at centre height"), min(figure, 1e6), evidence.increment / 2, "mm",
        int(cuts.piece[worst]) if worst >= 0 else None,
    )


def _clear_when_turning(evidence: HeadEvidence, layout: ToothLayout, way: HeadWay) -> Proof:
    """The least room between cutter and work while the head turns."""
    motion = evidence.motion
    turns = np.nonzero(np.abs(motion.angle_end - motion.angle_start) > ROUNDING)[0]
    name = Message("cutter clear while the head turns")
    if not len(turns):
        return evidence.proof(TURNING, name, True, layout.clearance, 0.0, "mm",
                              where=Message("it never turns"))
    room = clearances(way.segments(turns), way.disc[turns], layout.bodies)
    room = np.where(np.isnan(room), np.inf, room)
    worst = int(np.argmin(room))
    return evidence.proof(
        TURNING, name, room[worst] > 0, min(float(room[worst]), 1e6), 0.0, "mm", int(turns[worst])
    )
