"""Stock faced to a thickness: is all of it taken down, and how thick is what is left?

Everything that the setup cuts later counts from the face so made. Lengths mm.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from camgen.layout import FlatLayout
from camgen.proof.evidence import Evidence
from camgen.proof.flat.flat_removal import removed
from camgen.proof.flat.plan_cuts import PlanCuts, plan_cuts
from camgen.proof.result import Proof, ProofId
from camgen.proof.way import select

__all__ = ["faced_from", "prove_facing"]

ABOVE = ProofId("flat", "metal-above-face")
THICKNESS = ProofId("flat", "thickness")

# Half a micrometre is given away to chords, as in rapid moves.
CHORD = 0.0005
# Less than this, mm², is the rounding of numbers.
NOTHING = 1e-6


def _facing(evidence: Evidence, layout: FlatLayout) -> tuple[PlanCuts, int]:
    """The cuts made before anything goes below the face, and how many pieces of motion they are."""
    motion = evidence.motion
    with np.errstate(invalid="ignore"):
        deeper = evidence.cut & (
            np.fmin(motion.start[:, 2], motion.end[:, 2]) < layout.face - evidence.increment)
    until = int(np.argmax(deeper)) if deeper.any() else len(motion)
    cuts = plan_cuts(select(motion, np.arange(until)), evidence.cutters, layout.top,
                     layout.face + evidence.increment)
    return cuts, until


def _cleared(evidence: Evidence, layout: FlatLayout, cuts: PlanCuts) -> BaseGeometry:
    """What was brought down to the face, seen from above."""
    level = layout.face + evidence.increment
    return removed(cuts.only(cuts.high <= level), level).buffer(CHORD)


def faced_from(evidence: Evidence) -> int | None:
    """The number of the piece of motion from which no stock stands above the face any more.

    None where nothing was to be faced, or some of the stock was left.
    """
    layout = evidence.layout
    assert isinstance(layout, FlatLayout)
    if layout.over <= 0:
        return None
    cuts, _ = _facing(evidence, layout)
    if not _cleared(evidence, layout, cuts).covers(layout.stock):
        return None
    level = cuts.high <= layout.face + evidence.increment
    return int(cuts.until[level].max()) + 1


def prove_facing(evidence: Evidence) -> tuple[Proof, ...]:
    """Metal left above the face of any piece, and the thickness that facing leaves."""
    layout = evidence.layout
    assert isinstance(layout, FlatLayout)
    if layout.over <= 0:
        return ()
    cuts, _ = _facing(evidence, layout)
    part = layout.part.outline.region(CHORD)
    parts = shapely.union_all([translate(part, x, y) for x, y in layout.places])
    left = parts.difference(_cleared(evidence, layout, cuts))
    where = ""
    if left.area > NOTHING:
        spot = left.representative_point()
        where = f"X {spot.x:.2f} Y {spot.y:.2f}"
    lowest = float(cuts.low.min()) if len(cuts) else layout.top
    row = int(cuts.piece[np.argmin(cuts.low)]) if len(cuts) else None
    return (
        evidence.at_most(ABOVE, "metal left above the face", round(float(left.area), 6), NOTHING,
                         "mm²", where=where),
        evidence.at_most(THICKNESS, "thickness as faced, off by", 1000 * abs(lowest - layout.face),
                         1000 * evidence.increment, "µm", row,
                         f"{lowest - layout.bottom:.4f} mm left"),
    )
