"""Parts of several jobs on one stock: what is cut for one leaves every other whole.

Each cut's way seen from above, lines exact and arcs in chords, is held against the outlines of all
other parts: it keeps away from them by what its cutter clears.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from camgen.arrays import Ints
from camgen.messages import Message
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.wanted_edges import tolerance_of
from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.proof.result import Proof, ProofId
from camgen.values import dataclass

__all__ = ["Meeting", "deepest_meeting", "prove_neighbours"]

NEIGHBOURS = ProofId("flat", "neighbours-whole")
# Chords of an arc of radius r stray from it by r(1 - cos(half a chord's angle)): of 5 mm by 0.4 µm.
_CHORD = 0.025


@dataclass(frozen=True)
class Meeting:
    """How far cuts go into a region, mm: by which cut, into which of several regions."""

    depth: float
    cut: int
    region: int


def deepest_meeting(cuts: PlanCuts, regions: Sequence[shapely.Polygon]) -> Meeting | None:
    """Where cuts go deepest into any of the regions; None where they keep clear of all."""
    wide = np.maximum(cuts.wide_top, cuts.wide_bottom)
    worst: Meeting | None = None
    for number, region in enumerate(regions):
        x0, y0, x1, y1 = region.bounds
        low_x, low_y, high_x, high_y = cuts.bounds.T
        near = np.flatnonzero(
            (wide > 0) & (low_x < x1) & (high_x > x0) & (low_y < y1) & (high_y > y0))
        if not len(near):
            continue
        shapely.prepare(region)
        depth = wide[near] - shapely.distance(_ways(cuts, near), region)
        most = int(np.argmax(depth))
        if depth[most] > 0 and (worst is None or depth[most] > worst.depth):
            worst = Meeting(float(depth[most]), int(near[most]), number)
    return worst


def _ways(cuts: PlanCuts, which: Ints) -> list[shapely.Geometry]:
    ways: list[shapely.Geometry] = []
    for n in which.tolist():
        if cuts.sweep[n]:
            count = max(2, int(np.ceil(abs(cuts.sweep[n]) / _CHORD)) + 1)
            angle = cuts.begin[n] + cuts.sweep[n] * np.linspace(0.0, 1.0, count)
            ways.append(shapely.LineString(cuts.centre[n] + cuts.radius[n] * np.column_stack(
                [np.cos(angle), np.sin(angle)])))
        else:
            ways.append(shapely.LineString([cuts.start[n], cuts.end[n]]))
    return ways


def prove_neighbours(
    evidence: FlatEvidence, names: Sequence[str], outlines: Sequence[shapely.Polygon]
) -> Proof:
    """How far the cuts of one job go into parts of the others, which are called ``names``."""
    allowed, cuts = tolerance_of(evidence), evidence.flat_cuts
    # What is faced off the stock stands above every part.
    cuts = cuts.only(cuts.low < evidence.layout.face - allowed)
    found = deepest_meeting(cuts, outlines)
    name = Message("cut into a neighbour")
    if found is None:
        return evidence.at_most(NEIGHBOURS, name, 0.0, allowed, "mm")
    piece = int(cuts.piece[found.cut])
    return evidence.at_most(
        NEIGHBOURS, name, found.depth, allowed, "mm", piece,
        Message("{other}, at {place}", other=names[found.region], place=evidence.place(piece)))
