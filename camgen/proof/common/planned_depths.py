"""The depth of one pass that each section of the plan, and each cutter, was planned for.

Lengths mm.
"""

from __future__ import annotations

import numpy as np

from camgen.proof.evidence import Evidence
from camgen.shop.cutters import record_of

__all__ = ["planned_depths", "section_depths"]


def section_depths(evidence: Evidence) -> list[float]:
    """The depth of one pass each section was planned for; no bound for a drill's one stroke."""
    if evidence.moves is None:
        return []
    depths = []
    for section, cut in zip(evidence.moves.sections, evidence.planned_cuts, strict=False):
        cutter = evidence.cutters.get(section.cutter_number)
        axial = cutter is not None and record_of(cutter).axial
        depths.append((cut.peck or np.inf) if axial else cut.depth)
    return depths


def planned_depths(evidence: Evidence) -> dict[int, float]:
    """The depth of one pass each cutter was planned for, the greatest of its sections.

    A drill that goes through in one stroke has none.
    """
    depths: dict[int, float] = {}
    sections = evidence.moves.sections if evidence.moves is not None else ()
    for section, depth in zip(sections, section_depths(evidence), strict=False):
        depths[section.cutter_number] = max(depths.get(section.cutter_number, 0.0), depth)
    return {number: depth for number, depth in depths.items() if np.isfinite(depth)}
