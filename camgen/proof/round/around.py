"""A cutter over turned work: rapid moves, depth of a pass, and the head's turning. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from camgen.arrays import Flags, Floats, Ints
from camgen.job.on_arbor import Turned
from camgen.messages import NOTHING, Message
from camgen.proof.common.rooms import room_off
from camgen.proof.common.round_frame import RoundWay, rapid_legs, round_way
from camgen.proof.common.turning import from_one_side, still_when_cutting, turned_back
from camgen.proof.evidence import RoundEvidence
from camgen.proof.path import is_rapid
from camgen.proof.result import Proof, ProofId
from camgen.proof.round.sections import round_cuts
from camgen.tolerances import ROUNDING, ZERO_ALONG, ZERO_INFEED

__all__ = ["prove_around"]

RAPIDS = ProofId("round", "rapids")
TURNING = ProofId("round", "clear-while-turning")
PASSES = ProofId("round", "pass-depth")


def prove_around(evidence: RoundEvidence) -> Iterator[Proof]:
    """Rapids clear of the metal, passes no deeper than planned, the head turned from one side with
    the cutter clear and still."""
    way = round_way(evidence)
    cuts = round_cuts(evidence, way)
    yield _rapids(evidence, way)
    yield _passes(evidence, way)
    yield from_one_side(evidence, cuts.piece,
                        lambda row: Message("at {angle:g} degrees", angle=float(
                            cuts.turned[row] % 360.0)))
    yield _clear_when_turning(evidence, way)
    yield still_when_cutting(evidence)
    yield from turned_back(evidence)


def _rapids(evidence: RoundEvidence, way: RoundWay) -> Proof:
    """How far any rapid move takes the cutter into metal, its zeros off by what they may be."""
    name = Message("rapid moves through the work")
    rows = np.nonzero(is_rapid(evidence.motion))[0]
    rows = rows[~_straight_out(evidence, way, rows)]
    if not len(rows):
        return evidence.at_most(RAPIDS, name, 0.0, 0.0, "mm")
    legs = rapid_legs(evidence, rows)
    plane = legs[..., :2].reshape(-1, 2, 2)
    low = legs[..., 2].min(axis=2).reshape(-1) - ZERO_INFEED
    radius = np.repeat(way.radius[rows], 6)
    room = _rooms(plane, radius, low, evidence.layout.work) - ZERO_ALONG
    worst = np.fmin.reduce(room.reshape(-1, 6), axis=1)
    met = np.nonzero(worst < -ROUNDING)[0]
    met = met[[not _cleared(evidence, way, int(rows[k])) for k in met]] if len(met) else met
    if not len(met):
        return evidence.at_most(RAPIDS, name, 0.0, 0.0, "mm")
    at = int(met[np.argmin(worst[met])])
    return evidence.at_most(RAPIDS, name, -float(worst[at]), 0.0, "mm", int(rows[at]))


def _rooms(
    plane: Floats, radius: Floats, low: Floats, bodies: tuple[Turned, ...]
) -> Floats:
    """(m,) room between the cutter's end, ``low`` over the axis, and bodies; infinite over them."""
    room = np.full(len(plane), np.inf)
    for body in bodies:
        for part in body.slices():
            room = np.minimum(room, room_off(plane, 0.0, np.maximum(low, 0.0), part) - radius)
    return room


def _straight_out(evidence: RoundEvidence, way: RoundWay, rows: Ints) -> Flags:
    """(m,) rapids straight out of what the piece before has just cut at the same angle."""
    motion = evidence.motion
    before = np.maximum(rows - 1, 0)
    aside = 2 * evidence.increment if evidence.machine.squareness else ROUNDING
    still = ((np.abs(way.along[rows, 1] - way.along[rows, 0]) < aside)
             & (np.abs(way.right[rows, 1] - way.right[rows, 0]) < aside))
    out = way.out[rows, 1] >= way.out[rows, 0] - ROUNDING
    same = np.abs(motion.angle_end[rows] - motion.angle_end[before]) < ROUNDING
    return np.asarray(still & out & same & evidence.cut[before] & (rows > 0))


def _cleared(evidence: RoundEvidence, way: RoundWay, row: int) -> bool:
    """Whether cuts at this angle went straight down there before, and as deep."""
    motion = evidence.motion
    mine = np.nonzero(evidence.cut[:row]
                      & (np.abs(motion.angle_end[:row] - motion.angle_end[row]) < ROUNDING))[0]
    here = (np.abs(way.along[mine] - way.along[row, 1]).max(axis=1, initial=0.0) < ROUNDING)
    here &= np.abs(way.right[mine] - way.right[row, 1]).max(axis=1, initial=0.0) < ROUNDING
    if not np.any(here) or np.ptp(way.along[row]) > ROUNDING or np.ptp(way.right[row]) > ROUNDING:
        return False
    return bool(way.out[mine[here]].min() <= way.out[row].min() + ROUNDING)


def _passes(evidence: RoundEvidence, way: RoundWay) -> Proof:
    """By how much any way across takes more at once than was planned for, mm."""
    name = Message("passes deeper than planned")
    if evidence.moves is None or not evidence.planned_cuts:
        return evidence.at_most(PASSES, name, 0.0, 0.0, "mm")
    rows = np.nonzero(evidence.cut & (evidence.section >= 0))[0]
    aside = np.ptp(way.right[rows], axis=1) + np.ptp(way.along[rows], axis=1) > ROUNDING
    rows = rows[aside]
    standing: dict[tuple[float, float], float] = {}
    worst, where = 0.0, -1
    for row in rows.tolist():
        low, high = np.sort(way.along[row])
        key = (round(float(way.turned[row]) % 360.0, 4), round(float(low), 4))
        top = standing.get(key, evidence.layout.radius_over(
            low - way.radius[row], high + way.radius[row])[1])
        out = float(way.out[row].min())
        over = top - out - evidence.planned_cuts[evidence.section[row]].depth
        standing[key] = min(out, top)
        if over > worst:
            worst, where = over, row
    return evidence.at_most(PASSES, name, worst, evidence.increment + ROUNDING, "mm",
                            where if where >= 0 else None)


def _clear_when_turning(evidence: RoundEvidence, way: RoundWay) -> Proof:
    """The least room between the cutter and the work while the head turns."""
    motion, name = evidence.motion, Message("cutter clear while the head turns")
    turns = np.nonzero(np.abs(motion.angle_end - motion.angle_start) > ROUNDING)[0]
    if not len(turns):
        return evidence.proof(TURNING, name, True, evidence.layout.clearance, 0.0, "mm",
                              where=Message("it never turns"))
    low = way.out[turns].min(axis=1)
    beside = np.array([_over(evidence, float(one)) for one in low])
    room = np.maximum(_rooms(way.plane(turns), way.radius[turns], np.zeros(len(turns)),
                             evidence.layout.bodies), beside)
    room = np.where(np.isnan(room), np.inf, room)
    worst = int(np.argmin(room))
    return evidence.proof(TURNING, name, room[worst] > 0, min(float(room[worst]), 1e6), 0.0, "mm",
                          int(turns[worst]), NOTHING if room[worst] > 0 else None)


def _over(evidence: RoundEvidence, low: float) -> float:
    """How far an end so ``low`` is over the thickest of the work."""
    return low - max(body.radius for body in evidence.layout.work)
