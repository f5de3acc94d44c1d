"""Round holes brought to size over several setups: what they are after the last of them.

A setup's own proof leaves to a later one what that one's declaration makes. In the last of them
the cuts of all are held together against the whole hole. Lengths mm.
"""

from __future__ import annotations

import math

import numpy as np

from camgen.arrays import Floats
from camgen.job.order.deeds import deeds_of, features_of_job, makes
from camgen.messages import NOTHING, Message
from camgen.part.features import Hole
from camgen.proof.common.before import left_before
from camgen.proof.common.said import in_plan
from camgen.proof.evidence import FlatEvidence
from camgen.proof.ground.standing import profiles_of, standing
from camgen.proof.result import Proof, ProofId
from camgen.values import dataclass

__all__ = ["Shared", "prove_over_setups", "shared_holes"]

WHOLE = ProofId("flat", "hole-over-setups")
# Circles on which metal is looked for in a hole, and points on each.
RINGS, ROUND = 4, 72


@dataclass(frozen=True)
class Shared:
    """Names of the holes that a setup and others make: ``later`` those that go on after it,
    ``ended`` those that it is the last to make."""

    later: frozenset[str]
    ended: frozenset[str]


def shared_holes(evidence: FlatEvidence) -> Shared:
    """The holes that a setup does not make alone; none where several pieces lie on the table."""
    job = evidence.job
    here = next((n for n, one in enumerate(job.setups) if one.name == evidence.setup), -1)
    later: set[str] = set()
    ended: set[str] = set()
    deeds = deeds_of(job) if len(evidence.layout.places) == 1 and here >= 0 else ()
    for hole in features_of_job(job):
        if not isinstance(hole, Hole):
            continue
        by = {deed.number for deed in deeds
              if any(makes(deed, made, hole) for made in deed.says.holes)}
        if here in by and len(by) > 1:
            (ended if here == max(by) else later).add(hole.name)
    return Shared(frozenset(later), frozenset(ended))


def prove_over_setups(evidence: FlatEvidence, tolerance: float) -> tuple[Proof, ...]:
    """How much metal, mm, all setups together leave in each hole that this one is the last to make.

    ``tolerance`` in mm.
    """
    layout, names = evidence.layout, shared_holes(evidence).ended
    answers = []
    for hole in (*layout.part.holes, *layout.part.blind):
        if hole.name not in names:
            continue
        x, y = layout.places[0]
        points = np.array([x + hole.x, y + hole.y]) + _disc(hole.diameter / 2 - tolerance)
        left = _metal(evidence, hole, points)
        worst = int(np.argmax(left))
        at = float(points[worst, 0]), float(points[worst, 1]), layout.face
        figure = round(1000 * max(float(left[worst]), 0.0), 3)
        limit = round(1000 * tolerance, 6)
        where = in_plan(at[0], at[1]) if figure > limit else NOTHING
        answers.append(Proof(
            WHOLE.about(hole.name), Message("metal in {name} after all setups",
                                            name=hole.name), evidence.setup,
            figure <= limit, figure, limit, "µm", where, at=at))
    return tuple(answers)


def _metal(evidence: FlatEvidence, hole: Hole, points: Floats) -> Floats:
    """(m,) how much metal stands over the hole's floor at points, or anywhere in one through."""
    layout, cuts = evidence.layout, evidence.flat_cuts
    profiles = profiles_of(cuts, evidence.motion.cutter[cuts.piece], evidence.cutters)
    height, _ = standing(cuts, profiles, points, None, layout.top)
    under = np.full(len(points), layout.back if hole.depth is None else layout.face - hole.depth)
    for one in left_before(evidence):
        if one.from_below:
            np.maximum(under, one.left(points), out=under)
        else:
            np.minimum(height, one.left(points), out=height)
    return np.asarray(height - under)


def _disc(radius: float) -> Floats:
    """Points (q, 2) over a circle's area, its rim first."""
    angle = 2 * math.pi * np.arange(ROUND) / ROUND
    rim = np.column_stack([np.cos(angle), np.sin(angle)])
    return np.concatenate(
        [*(radius * (RINGS - n) / RINGS * rim for n in range(RINGS)), np.zeros((1, 2))])
