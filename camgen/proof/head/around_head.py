"""The disc cutter against what stands on the head: rapid moves, what lies behind, the collar."""

from __future__ import annotations

import numpy as np

from camgen.arrays import Flags, Floats, Ints
from camgen.job.on_arbor import Turned
from camgen.layout import ToothLayout
from camgen.messages import Message
from camgen.proof.common.head_frame import HeadWay, clearances, head_way
from camgen.proof.common.rapid_ways import ways_of
from camgen.proof.evidence import HeadEvidence
from camgen.proof.path import is_rapid
from camgen.proof.result import Proof, ProofId
from camgen.tolerances import ROUNDING, ZERO_ALONG, ZERO_INFEED

__all__ = ["prove_around_head"]

RAPIDS = ProofId("head", "rapids")
BEHIND = ProofId("head", "behind-backing")
BEFORE = ProofId("head", "before-stack")
COLLAR = ProofId("head", "collar")



def prove_around_head(evidence: HeadEvidence) -> tuple[Proof, ...]:
    """Rapid moves clear of the work, the arbor never touched, the cutter's collar clear."""
    layout = evidence.layout
    way = head_way(evidence)
    return (
        _rapids(evidence, layout, way),
        _standing(evidence, way, BEHIND, Message("cutter clear of what stands behind the backing"),
                  layout.after),
        *((_standing(evidence, way, BEFORE, Message("cutter clear of what stands before the stack"),
                     layout.before),) if layout.before_said else ()),
        *_collar(evidence, layout, way),
    )


def _rapids(evidence: HeadEvidence, layout: ToothLayout, way: HeadWay) -> Proof:
    """How deep any rapid move takes the cutter into metal, the zeros off by what they may be."""
    name = Message("rapid moves through the work")
    rows = np.nonzero(is_rapid(evidence.motion))[0]
    rows = rows[~_straight_out(evidence, way, rows)]
    if not len(rows):
        return evidence.at_most(RAPIDS, name, 0.0, 0.0, "mm")
    corners = _in_plane(layout, ways_of(evidence, rows), way.disc[rows])
    # Three legs of either form of each move: (m, 6, 2, 2).
    legs = np.stack([corners[:, :, :-1], corners[:, :, 1:]], axis=3).reshape(len(rows), 6, 2, 2)
    # Where the zeros are, and where both are off towards the work by as much as they may be.
    # On its way straight out it only comes away from where it stands already.
    aside = np.array([(0.0, 0.0), (ZERO_ALONG, -ZERO_INFEED), (-ZERO_ALONG, -ZERO_INFEED)])
    comes = np.where(_outwards(evidence, way, rows), 0.0, 1.0)
    ways = legs[:, None] + (comes[:, None, None, None, None] * aside[None, :, None, None, :])
    each = ways[0].size // 4
    found = clearances(
        ways.reshape(-1, 2, 2), np.repeat(way.disc[rows], each), layout.bodies
    )
    room = np.fmin.reduce(found.reshape(-1, each), axis=1)
    met = np.nonzero(room < -ROUNDING)[0]
    met = met[[not _cleared(evidence, way, int(rows[k])) for k in met]] if len(met) else met
    if not len(met):
        return evidence.at_most(RAPIDS, name, 0.0, 0.0, "mm")
    worst = int(met[np.argmin(room[met])])
    return evidence.at_most(RAPIDS, name, -float(room[worst]), 0.0, "mm", int(rows[worst]))


def _in_plane(layout: ToothLayout, corners: Floats, disc: Floats) -> Floats:
    """Corners (m, 2, 4, 3) of rapid moves as (m, 2, 4, 2) along and away."""
    def signed(axis: str) -> Floats:
        sign = -1.0 if axis[0] == "-" else 1.0
        return np.asarray(corners[..., "XYZ".index(axis[1])] * sign)

    along, infeed = signed(layout.arrangement.along), signed(layout.arrangement.infeed)
    tip = layout.tooth.sizes.tip_diameter / 2
    radius = disc[:, None, None]
    away = tip + radius - infeed if layout.zero == "touch" else -infeed
    return np.stack([along, away], axis=-1)


def _straight_out(evidence: HeadEvidence, way: HeadWay, rows: Ints) -> Flags:
    """(m,) rapids straight out from where the piece before ended a cut at the same angle.

    The cutter stands in the groove it has just made and leaves it the way it deepened it.
    """
    motion = evidence.motion
    before = np.maximum(rows - 1, 0)
    same = np.abs(motion.angle_end[rows] - motion.angle_end[before]) < ROUNDING
    return np.asarray(_outwards(evidence, way, rows) & same & evidence.cut[before] & (rows > 0))


def _outwards(evidence: HeadEvidence, way: HeadWay, rows: Ints) -> Flags:
    """(m,) pieces straight out from the arbor."""
    # Where X is told anew with Y, each by itself is rounded.
    aside = 2 * evidence.increment if evidence.machine.squareness else ROUNDING
    still = np.abs(way.along[rows, 1] - way.along[rows, 0]) < aside
    out = way.away[rows, 1] >= way.away[rows, 0] - ROUNDING
    return np.asarray(still & out)


def _cleared(evidence: HeadEvidence, way: HeadWay, row: int) -> bool:
    """Whether cuts at this angle, since the head last turned, have taken all that a rapid passes.

    Wherever its axis goes, one of them has been at the same place along the arbor and as deep.
    """
    motion = evidence.motion
    turned = np.nonzero(np.abs(motion.angle_end[:row] - motion.angle_start[:row]) > ROUNDING)[0]
    since = int(turned[-1]) + 1 if len(turned) else 0
    low, high = np.sort(way.along[row])
    least = float(way.away[row].min())
    for piece in range(since, row):
        if not evidence.cut[piece]:
            continue
        begin, end = np.sort(way.along[piece])
        if (begin <= low + ROUNDING and end >= high - ROUNDING
                and way.away[piece].max() <= least + ROUNDING):
            return True
    return False


def _standing(
    evidence: HeadEvidence, way: HeadWay, proof: ProofId, name: Message, bodies: tuple[Turned, ...]
) -> Proof:
    """The least room between the cutter, at any time, and what stands on one side of the stack."""
    rows = np.arange(len(evidence.motion))
    rows = rows[np.all(np.isfinite(way.along), axis=1) & np.all(np.isfinite(way.away), axis=1)]
    if not bodies or not len(rows):
        return evidence.proof(proof, name, True, 0.0, 0.0, "mm", 
                              where=Message("nothing stands there"))
    room = clearances(way.segments(rows), way.disc[rows], bodies)
    worst = int(np.argmin(room))
    return evidence.proof(
        proof, name, room[worst] >= -ROUNDING, float(room[worst]), 0.0, "mm", int(rows[worst])
    )


def _collar(evidence: HeadEvidence, layout: ToothLayout, way: HeadWay) -> list[Proof]:
    """The least room between the collar that carries the cutter and the work."""
    collar = {
        number: cutter.arbor / 2 for number, cutter in evidence.cutters.items() if cutter.arbor
    }
    if not collar:
        return []
    radius = np.array([collar.get(int(number), np.nan) for number in evidence.motion.cutter])
    rows = np.nonzero(np.isfinite(radius) & np.all(np.isfinite(way.away), axis=1))[0]
    if not len(rows):
        return []
    room = clearances(way.segments(rows), radius[rows], layout.bodies)
    worst = int(np.argmin(room))
    return [
        evidence.proof(
            COLLAR, Message("cutter's collar clear of the work"), room[worst] > 0,
            float(room[worst]), 0.0, "mm", int(rows[worst]),
        )
    ]
