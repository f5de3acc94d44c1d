"""Stock as it is faced: with which cuts, over which ground, and from when on.

Lengths mm.
"""

from __future__ import annotations

import numpy as np
from shapely.geometry.base import BaseGeometry

from camgen.layout import FlatLayout
from camgen.proof.evidence import FlatEvidence
from camgen.proof.ground.plan_cuts import PlanCuts, plan_cuts
from camgen.proof.ground.regions import removed
from camgen.proof.path import select
from camgen.tolerances import GROUND_CHORD

__all__ = ["cleared_above", "faced_from", "facing"]



def facing(evidence: FlatEvidence, layout: FlatLayout) -> tuple[PlanCuts, int]:
    """The cuts made before anything goes below the face, and how many pieces of motion they are."""
    motion = evidence.motion
    with np.errstate(invalid="ignore"):
        deeper = evidence.cut & (
            np.fmin(motion.start[:, 2], motion.end[:, 2]) < layout.face - evidence.increment)
    until = int(np.argmax(deeper)) if deeper.any() else len(motion)
    cuts = plan_cuts(select(motion, np.arange(until)), evidence.cutters, layout.top,
                     layout.face + evidence.increment)
    return cuts, until


def cleared_above(evidence: FlatEvidence, layout: FlatLayout, cuts: PlanCuts) -> BaseGeometry:
    """What was brought down to the face, seen from above."""
    level = layout.face + evidence.increment
    return removed(cuts.only(cuts.high <= level), level).buffer(GROUND_CHORD)


def faced_from(evidence: FlatEvidence) -> int | None:
    """The number of the piece of motion from which no stock stands above the face any more.

    None where nothing was to be faced, or some of the stock was left.
    """
    layout = evidence.layout
    if layout.over <= 0:
        return None
    cuts, _ = facing(evidence, layout)
    if not cleared_above(evidence, layout, cuts).covers(layout.stock):
        return None
    level = cuts.high <= layout.face + evidence.increment
    return int(cuts.until[level].max()) + 1
