"""What is left for the hand: corners to file, and tabs and skins that hold until they are cut.

Measured on the motion read back. No more stands in corners than the sheet says, from the corner as
it is drawn to the nearest way of a cutter that went down to the foot of the wall. Tabs stand as
wide and as high as the job says, where they are planned, until a step is to go through them.
Lengths mm.
"""

from __future__ import annotations

import numpy as np
import shapely

from camgen.arrays import Flags, Floats, Ints
from camgen.job.order.corners_made import corners_made
from camgen.messages import Message
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.wanted_edges import tolerance_of
from camgen.proof.ground.plan_cuts import plan_cuts
from camgen.proof.result import Proof, ProofId

__all__ = ["prove_corners_left", "prove_tabs_whole"]

LEFT = ProofId("flat", "left-in-corners")
WHOLE = ProofId("flat", "tabs-whole")


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


def prove_tabs_whole(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """How far a cutter goes into tabs, or through skins, below their tops: none may.

    What goes through a tab in a step that is to do so comes after it has held.
    """
    layout = evidence.layout
    tabs = [tab for tab in layout.tabs if tab.ends is not None]
    if not tabs:
        return ()
    tolerance = tolerance_of(evidence)
    worst, at = 0.0, -1
    for top in sorted({tab.top for tab in tabs}):
        some = [tab for tab in tabs if tab.top == top]
        ends = np.array([tab.ends for tab in some])
        until = np.array([np.inf if tab.until is None else tab.until for tab in some])
        places = np.array(layout.places)
        both = (places[:, None, None] + ends).reshape(-1, 2, 2)
        # Beneath a skin there is no more than a place.
        one_place = np.all(both[:, 0] == both[:, 1], axis=1)
        stand = np.where(one_place, shapely.points(both[:, 0]), shapely.linestrings(both))
        until = np.tile(until, len(places))
        ways, piece = _below(evidence, top - tolerance)
        radius = np.nan_to_num(evidence.cutter_radius[piece])
        if not len(ways):
            continue
        way, tab = shapely.STRtree(stand).query(ways, predicate="dwithin",
                                                distance=float(radius.max()))
        mine = _step(evidence)[piece[way]] < until[tab]
        way, tab = way[mine], tab[mine]
        deep = radius[way] - shapely.distance(ways[way], stand[tab])
        if len(deep) and deep.max() > worst:
            worst, at = float(deep.max()), int(piece[way[int(np.argmax(deep))]])
    return (evidence.at_most(
        WHOLE, Message("cut into tabs or a skin that are to hold"), round(1000 * worst, 3),
        round(1000 * tolerance, 6), "µm", at if worst > 0 else None),)


def _below(evidence: FlatEvidence, level: float) -> tuple[Floats, Ints]:
    """What of the cuts goes below a level, from above as straight lines, and of which pieces."""
    chords = evidence.chords
    low = np.minimum(chords.start[:, 2], chords.end[:, 2]) < level
    rows: Flags = low & evidence.cut[chords.piece]
    start, end, piece = chords.start[rows], chords.end[rows], chords.piece[rows]
    fall = end[:, 2] - start[:, 2]
    with np.errstate(divide="ignore", invalid="ignore"):
        crossed = np.clip((level - start[:, 2]) / fall, 0.0, 1.0)
    first = np.where((start[:, 2] > level), crossed, 0.0)[:, None]
    last = np.where((end[:, 2] > level), crossed, 1.0)[:, None]
    way = end[:, :2] - start[:, :2]
    lines = np.stack([start[:, :2] + way * first, start[:, :2] + way * last], axis=1)
    known = np.isfinite(lines).all(axis=(1, 2))
    return np.asarray(shapely.linestrings(lines[known])), piece[known]


def _step(evidence: FlatEvidence) -> Ints:
    """(n,) number of the step that each piece of motion belongs to; -1 of none."""
    steps = [one.step for one in evidence.moves.sections] if evidence.moves is not None else []
    return np.array([*steps, -1], dtype=np.int64)[evidence.section]
