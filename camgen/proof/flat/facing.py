"""Stock faced to a thickness: is all of it taken down, and how thick is what is left?

Everything that the setup cuts later counts from the face so made. Lengths mm.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.affinity import translate

from camgen.messages import NOTHING, Message
from camgen.proof.common.faced import cleared_above, facing
from camgen.proof.evidence import FlatEvidence
from camgen.proof.result import Proof, ProofId
from camgen.tolerances import GROUND_CHORD

__all__ = ["prove_facing"]

ABOVE = ProofId("flat", "metal-above-face")
THICKNESS = ProofId("flat", "thickness")

# Less than this, mm², is the rounding of numbers.
ROUNDING_AREA = 1e-6



def prove_facing(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """Metal left above the face of any piece, and the thickness that facing leaves."""
    layout = evidence.layout
    if layout.over <= 0:
        return ()
    cuts, _ = facing(evidence, layout)
    part = layout.part.outline.region(GROUND_CHORD)
    parts = shapely.union_all([translate(part, x, y) for x, y in layout.places])
    left = parts.difference(cleared_above(evidence, layout, cuts))
    where = NOTHING
    if left.area > ROUNDING_AREA:
        spot = left.representative_point()
        where = Message("X {x:.2f} Y {y:.2f}", x=spot.x, y=spot.y)
    lowest = float(cuts.low.min()) if len(cuts) else layout.top
    row = int(cuts.piece[np.argmin(cuts.low)]) if len(cuts) else None
    return (
        evidence.at_most(ABOVE, Message("metal left above the face"), round(float(left.area), 6),
                         ROUNDING_AREA, "mm²", where=where),
        evidence.at_most(THICKNESS, Message("thickness as faced, off by"),
                         1000 * abs(lowest - layout.face),
                         1000 * evidence.increment, "µm", row,
                         Message("{left:.4f} mm left", left=lowest - layout.bottom)),
    )
