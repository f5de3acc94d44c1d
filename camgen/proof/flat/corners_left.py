"""Corners left to a file: no more stands in them than the sheet says.

Measured on the motion read back, from the corner as it is drawn to the nearest way of a cutter that
went down to the foot of the wall. Lengths mm.
"""

from __future__ import annotations

import numpy as np

from camgen.job.order.corners_made import corners_made
from camgen.messages import Message
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.wanted_edges import tolerance_of
from camgen.proof.ground.plan_cuts import plan_cuts
from camgen.proof.result import Proof, ProofId

__all__ = ["prove_corners_left"]

LEFT = ProofId("flat", "left-in-corners")


def prove_corners_left(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """How much more than the sheet says stands in the worst of the corners left to a file."""
    layout = evidence.layout
    number = next((n for n, setup in enumerate(evidence.job.setups)
                   if setup.name == evidence.setup), None)
    if number is None or not layout.part.corners_left:
        return ()
    later = {one for setup in evidence.job.setups[number + 1:]
             for one, _ in corners_made(setup.steps, layout.part)}
    corners = [pair for pair in corners_made(evidence.job.setups[number].steps, layout.part)
               if pair[0] not in later]
    foot = max((tab.top for tab in layout.tabs), default=layout.bottom)
    worst, where = -np.inf, Message("none")
    for depth, fillet in sorted({(one.depth or 0.0, one.fillet) for one, _ in corners}):
        bottom = layout.face - depth + fillet if depth else foot
        cuts = plan_cuts(evidence.motion, evidence.cutters, layout.face,
                         bottom + evidence.increment)
        cuts = cuts.only(cuts.wide_bottom > 0)
        some = [pair for pair in corners
                if (pair[0].depth or 0.0, pair[0].fillet) == (depth, fillet)]
        points = np.array([one.corner.at for one, _ in some])
        said = np.array([one.corner.left + wall for one, wall in some])
        for x, y in layout.places:
            made = (cuts.nearest(points + np.array((x, y)), cuts.wide_bottom) if len(cuts)
                    else np.full(len(points), 1.0))
            row = int(np.argmax(made - said))
            if made[row] - said[row] > worst:
                worst = float(made[row] - said[row])
                where = Message("{left:.4f} mm are left at X {x:.3f} Y {y:.3f}",
                                left=float(made[row]), x=points[row, 0] + x, y=points[row, 1] + y)
    if not corners:
        return ()
    return (evidence.at_most(LEFT, Message("more left in corners than is said"),
                             round(1000 * max(worst, 0.0), 3),
                             1000 * _allowed(evidence, [one.corner.angle for one, _ in corners]),
                             "µm", where=where),)


def _allowed(evidence: FlatEvidence, angles: list[float]) -> float:
    """What rounding may add: a way off its walls by as much is off the corner by that over the
    sine of half the angle, mm."""
    return tolerance_of(evidence) / float(np.sin(np.radians(min(angles)) / 2))
