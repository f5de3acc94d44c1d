"""Does a rapid move meet metal? Each axis runs at its own rate, so the way is dog-legged.

Controls that make rapid moves straight exist too: both ways must be clear. Lengths mm.
"""

from __future__ import annotations

import itertools

import numpy as np
import shapely

from camgen.arrays import Flags, Ints
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.proof.common.faced import faced_from
from camgen.proof.common.rapid_ways import ways_of
from camgen.proof.evidence import FlatEvidence
from camgen.proof.ground.plan_cuts import plan_cuts
from camgen.proof.ground.regions import removed
from camgen.proof.path import is_rapid, select
from camgen.proof.result import Proof, ProofId
from camgen.shop.cutters import record_of
from camgen.tolerances import ROUNDING

__all__ = ["prove_flat_rapids"]

RAPIDS = ProofId("table", "rapids")

# Earlier pieces looked at first for one that has already cleared the place gone into.
LOOK_BACK = 6


def prove_flat_rapids(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """No rapid move through stock."""
    layout = evidence.layout
    return (_stock(evidence, layout),)



def _stock(evidence: FlatEvidence, layout: FlatLayout) -> Proof:
    """How deep below the stock's top any rapid move runs into metal."""
    motion = evidence.motion
    with np.errstate(invalid="ignore"):
        low = np.fmin(motion.start[:, 2], motion.end[:, 2])
        deep = np.nonzero(is_rapid(motion) & (low < layout.top - ROUNDING))[0]
    name = Message("rapid moves through stock")
    faced = faced_from(evidence) if len(deep) else None
    if faced is not None:
        with np.errstate(invalid="ignore"):
            deep = deep[(deep < faced) | (low[deep] < layout.face - ROUNDING)]
    if not len(deep):
        return evidence.at_most(RAPIDS, name, 0.0, 0.0, "mm")
    deep = deep[~_where_it_has_cut(evidence, deep)]
    worst, at = 0.0, None
    for row in deep:
        depth = _runs_into(evidence, layout, int(row))
        if depth > worst:
            worst, at = depth, int(row)
    return evidence.at_most(RAPIDS, name, worst, 0.0, "mm", at)


def _where_it_has_cut(evidence: FlatEvidence, rows: Ints) -> Flags:
    """(m,) rapids straight up, or straight down to where the same cutter has just been."""
    motion = evidence.motion
    start, end = motion.start[rows], motion.end[rows]
    with np.errstate(invalid="ignore"):
        upright = np.all(np.abs(end[:, :2] - start[:, :2]) < ROUNDING, axis=1)
        fine = upright & (end[:, 2] >= start[:, 2])
        for back in range(1, LOOK_BACK + 1):
            before = rows - back
            possible = before >= 0
            before = np.maximum(before, 0)
            there = np.all(np.abs(motion.end[before, :2] - end[:, :2]) < ROUNDING, axis=1)
            there &= motion.end[before, 2] <= end[:, 2] + ROUNDING
            there &= evidence.cut[before] & (motion.cutter[before] == motion.cutter[rows])
            fine |= upright & possible & there
    return np.asarray(fine)


def _runs_into(evidence: FlatEvidence, layout: FlatLayout, row: int) -> float:
    """Depth, mm below the top, at which one rapid move meets metal; 0 when it meets none.

    Everything cut before it, by flat cutters and as deep, is clear.
    """
    motion = evidence.motion
    radius = evidence.cutter_radius[row]
    radius = float(radius) if np.isfinite(radius) else 0.0
    bar = evidence.cutters.get(int(motion.cutter[row]))
    if bar is not None and record_of(bar).bores and bar.shank and motion.speed[row] == 0:
        # Stopped, it is as wide as its shank but for its tip, which is proved to go off the wall.
        radius = bar.shank / 2
    earlier = plan_cuts(
        select(motion, np.arange(row)), evidence.cutters, layout.top, layout.bottom
    )
    worst = 0.0
    for way in ways_of(evidence, np.array([row]))[0]:
        for a, b in itertools.pairwise(way):
            low = float(min(a[2], b[2]))
            if low >= layout.top - ROUNDING:
                continue
            body = shapely.LineString([a[:2], b[:2]]).buffer(radius + ROUNDING, quad_segs=16)
            metal = body.intersection(layout.stock)
            if metal.is_empty or low < layout.bottom - 10 * radius - 1e3:
                continue
            # Half a micrometre is given away to chords.
            cleared = removed(earlier, max(low, layout.bottom)).buffer(0.0005)
            if not cleared.covers(metal):
                worst = max(worst, layout.top - low)
    return worst
