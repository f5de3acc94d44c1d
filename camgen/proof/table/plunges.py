"""Down into metal no faster than planned: straight down, on a helix or on a ramp.

How fast a cutter sinks is its feed, and on a slope the share of it that goes down. Where that is
more than the fastest plunge planned for it, no metal may stand under its end. What stands there is
read off the cuts before. Flat work, lengths mm, feeds mm/min.
"""

from __future__ import annotations

import numpy as np

from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.proof.common.metal_left import MetalAsLeft
from camgen.proof.common.said import in_space
from camgen.proof.evidence import FlatEvidence
from camgen.proof.path import chords, select
from camgen.proof.result import Proof, ProofId
from camgen.proof.table.holes_found import GIVE, deepest
from camgen.proof.table.solids import finds
from camgen.shop.cutters import Cutter
from camgen.tolerances import ROUNDING

__all__ = ["prove_plunges"]

DOWN = ProofId("table", "straight-down")

# Feeds up to this share over a planned one are it.
SAME_FEED = 1.02
# Of a cutter's end so much is looked at: its rim may graze a wall, and the metal beside which a way
# down is planned.
WITHIN = 0.8


def prove_plunges(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """For each cutter whose end may meet solid metal: how deep in it it sinks too fast."""
    if evidence.moves is None:
        return ()
    planned: dict[int, float] = {}
    for section, cut in zip(evidence.moves.sections, evidence.planned_cuts, strict=False):
        fastest = max(one.plunge_feed for one in (cut, *cut.others))
        planned[section.cutter_number] = max(fastest, planned.get(section.cutter_number, 0.0))
    return tuple(
        _too_fast(evidence, evidence.layout, number, cutter, planned[number])
        for number, cutter in sorted(evidence.cutters.items())
        # What may not meet solid metal has proofs of its own.
        if planned.get(number) and finds(cutter) is None)


def _too_fast(
    evidence: FlatEvidence, layout: FlatLayout, number: int, cutter: Cutter, planned: float
) -> Proof:
    """How deep a cutter is in metal where it sinks faster than ``planned``."""
    id = DOWN.about(f"cutter {number}")
    name = Message("down into metal too fast, cutter {number}", number=number)
    motion = evidence.motion
    with np.errstate(invalid="ignore"):
        falls = (motion.end[:, 2] < motion.start[:, 2] - ROUNDING) & (
            motion.end[:, 2] < layout.top - ROUNDING)
    # A rapid has a proof of its own.
    rows = np.nonzero(falls & evidence.cut & (motion.cutter == number) & ~evidence.repeated
                      & (motion.feed > SAME_FEED * planned))[0]
    if not len(rows):
        return evidence.at_most(id, name, 0.0, 0.0, "mm")
    split = chords(select(motion, rows), GIVE, longest=max(cutter.diameter / 8, 0.05),
                   steepest=1.0)
    way = split.end - split.start
    with np.errstate(invalid="ignore", divide="ignore"):
        sinks = motion.feed[rows[split.piece]] * -way[:, 2] / np.linalg.norm(way, axis=1)
    fast = np.nonzero(sinks > SAME_FEED * planned)[0]
    if not len(fast):
        return evidence.at_most(id, name, 0.0, 0.0, "mm")
    piece, end = rows[split.piece[fast]], split.end[fast]
    worst, depth = deepest(MetalAsLeft(evidence, layout), piece, end, cutter,
                           WITHIN * cutter.diameter / 2, GIVE + 2 * evidence.increment)
    if depth <= ROUNDING:
        return evidence.at_most(id, name, 0.0, 0.0, "mm", int(piece[worst]))
    x, y, z = end[worst].tolist()
    return evidence.at_most(
        id, name, depth, 0.0, "mm", int(piece[worst]),
        Message("{place}: sinks at {sinks:.0f} mm/min in metal, planned are {planned:.0f}",
                place=in_space(x, y, z), sinks=sinks[fast[worst]],
                planned=planned))
