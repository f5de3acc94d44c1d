"""Cones at the mouths of holes and threads in them: what plane slices cannot hold.

A countersink is judged by how wide it makes its cone at the upper face; a milled thread by the
radius, the pitch and the depth of the helix on which its cutter goes round. Cuts that stay within
the cone or the thread that the job means are then no business of the plane slices. Lengths mm.
"""

from __future__ import annotations

import math

import numpy as np

from camgen.arrays import Flags, Floats, Ints
from camgen.job.models import StepWords
from camgen.layout import FlatLayout
from camgen.messages import NOTHING, Message
from camgen.part.declaration import MakesCones, MakesThreads
from camgen.part.features import Hole, Thread
from camgen.proof.common.said import in_plan
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.holes.tapped import prove_tapped
from camgen.proof.flat.outside_threads import within_outside_threads
from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.proof.result import Proof, ProofId
from camgen.shop.cutters import Ability, Cutter, record_of
from camgen.shop.threads import thread_of
from camgen.tolerances import ROUGH_CHORD

__all__ = ["last_at_cones", "prove_cones_and_threads", "within_cones"]

COUNTERSINK = ProofId("flat", "countersink")
THREAD = ProofId("flat", "thread")
PITCH = ProofId("flat", "thread-pitch")
SHORT = ProofId("flat", "thread-depth")



def within_cones(evidence: FlatEvidence, cuts: PlanCuts, tolerance: float) -> Flags:
    """(k,) cuts that stay within a countersink or a thread that the job means, ``tolerance`` mm."""
    found = np.zeros(len(cuts), dtype=np.bool_)
    if not len(cuts):
        return found
    layout = _layout(evidence)
    pointed, milled = _kinds_of(evidence, cuts)
    for hole in _holes(layout):
        cone, thread = layout.part.cone_width(hole), layout.part.thread_in(hole)
        floor = layout.face - hole.depth if hole.depth is not None else layout.floor
        deep_enough = cuts.low >= floor - tolerance
        for x, y in layout.places:
            if cone:
                wide = _wide_at_top(evidence, cuts, layout.face)
                there = pointed & _upright_at(cuts, x + hole.x, y + hole.y, tolerance)
                room = deep_enough
                if hole.depth is not None:
                    # A point may go on into a hole right through about the same middle.
                    on = max((other.diameter for other in layout.part.holes
                              if math.dist((other.x, other.y), (hole.x, hole.y)) < 1e-6),
                             default=0.0)
                    at_floor = _wide_at_top(evidence, cuts, floor)
                    room = room | (at_floor <= on / 2 + tolerance)
                found |= there & room & (wide <= cone / 2 + tolerance)
            if thread is not None:
                centre = np.array([x + hole.x, y + hole.y])
                reach = _farthest(cuts, centre) + cuts.wide_top
                found |= milled & deep_enough & (reach <= thread.diameter / 2 + tolerance)
    return found | within_outside_threads(evidence, cuts, tolerance)


def last_at_cones(evidence: FlatEvidence, tolerance: float) -> tuple[int, ...]:
    """The last piece of motion at a mouth of each piece of work; -1 where none is cut there.

    ``tolerance`` in mm.
    """
    layout, cuts = _layout(evidence), evidence.flat_cuts
    inside = within_cones(evidence, cuts, tolerance)
    if not np.any(inside):
        return (-1,) * len(layout.places)
    start, until = cuts.start[inside], cuts.until[inside]
    left, low, right, high = layout.part.outline.region(ROUGH_CHORD).bounds
    last = []
    for x, y in layout.places:
        here = (start[:, 0] > x + left) & (start[:, 0] < x + right)
        here &= (start[:, 1] > y + low) & (start[:, 1] < y + high)
        last.append(int(until[here].max(initial=-1)))
    return tuple(last)


def prove_cones_and_threads(evidence: FlatEvidence, tolerance: float) -> tuple[Proof, ...]:
    """Each countersink and thread that this setup's steps are there to make, the worst piece.

    ``tolerance`` in mm.
    """
    layout, cuts = _layout(evidence), evidence.flat_cuts
    setup = next((s for s in evidence.job.setups if s.name == evidence.setup), None)
    answers: list[Proof] = []
    for hole in _holes(layout):
        cone, thread = layout.part.cone_width(hole), layout.part.thread_in(hole)
        for step in setup.steps if setup is not None else ():
            for made in step.declares().at_holes:
                if not made.holes.means(hole.name, hole.group):
                    continue
                if isinstance(made, MakesCones) and cone:
                    answers.append(_countersink(evidence, cuts, hole, tolerance))
                elif isinstance(made, MakesThreads) and thread is not None:
                    answers += _in_thread(evidence, thread, step, made, tolerance)
    return tuple(dict.fromkeys(answers))


def _in_thread(
    evidence: FlatEvidence, thread: Thread, step: StepWords, made: MakesThreads, tolerance: float
) -> list[Proof]:
    """A thread that a step is there to make: milled where its cutter goes round, else tapped."""
    if not made.round:
        return prove_tapped(evidence, thread, step.cutter, made, tolerance)
    mine = (made.holes.names is not None or made.called is None
            or thread_of(made.called).cuts(thread.diameter, thread.pitch))
    return _thread(evidence, thread, made.depth, tolerance) if mine else []


def _layout(evidence: FlatEvidence) -> FlatLayout:
    return evidence.layout


def _holes(layout: FlatLayout) -> tuple[Hole, ...]:
    """Those with a cone or a thread."""
    return tuple(
        hole for hole in (*layout.part.holes, *layout.part.blind)
        if layout.part.cone_width(hole) or layout.part.thread_in(hole) is not None
    )


def _kinds_of(evidence: FlatEvidence, cuts: PlanCuts) -> tuple[Flags, Flags]:
    """(k,) cuts of pointed cutters, and of thread mills and taps."""
    by = evidence.motion.cutter[cuts.piece]
    records = {number: record_of(cutter) for number, cutter in evidence.cutters.items()}
    return (
        np.isin(by, [n for n, record in records.items() if record.conical]),
        np.isin(by, [n for n, record in records.items() if record.threads]),
    )


def _upright_at(cuts: PlanCuts, x: float, y: float, tolerance: float) -> Flags:
    still = np.all(np.abs(cuts.end - cuts.start) < 1e-9, axis=1) & (cuts.sweep == 0)
    away = np.hypot(cuts.start[:, 0] - x, cuts.start[:, 1] - y)
    return np.asarray(still & (away <= tolerance))


def _wide_at_top(evidence: FlatEvidence, cuts: PlanCuts, top: float) -> Floats:
    """(k,) radius of the cone at the upper face; inf where the cutter's body went in."""
    wide = np.full(len(cuts), np.inf)
    by = evidence.motion.cutter[cuts.piece]
    for number, cutter in evidence.cutters.items():
        if record_of(cutter).conical:
            wide = np.where(by == number, _cone(cutter, top - cuts.low), wide)
    return wide


def _cone(cutter: Cutter, deep: Floats) -> Floats:
    """Half the width of a cone that far above its tip, mm: half the flat and the depth times the
    tangent of half its angle; inf above the cone."""
    wide = cutter.tip / 2 + deep * math.tan(math.radians(cutter.cone_angle / 2))
    return np.asarray(np.where(wide <= cutter.diameter / 2 + 1e-6, wide, np.inf))


def _farthest(cuts: PlanCuts, centre: Floats) -> Floats:
    """(k,) the most that any place of a cut's path is from ``centre``, never too little."""
    straight = np.maximum(
        np.linalg.norm(cuts.start - centre, axis=1), np.linalg.norm(cuts.end - centre, axis=1)
    )
    round_it = np.linalg.norm(np.nan_to_num(cuts.centre) - centre, axis=1) + cuts.radius
    # An arc up to half a turn inside the hole is no farther than its circle is.
    return np.asarray(np.where(cuts.sweep == 0, straight, round_it))


def _countersink(
    evidence: FlatEvidence, cuts: PlanCuts, hole: Hole, tolerance: float
) -> Proof:
    """How wide the cone is at the upper face."""
    layout = _layout(evidence)
    pointed, _ = _kinds_of(evidence, cuts)
    wide = _wide_at_top(evidence, cuts, layout.face)
    worst, made_by, row = -1.0, 0.0, -1
    at = 0.0, 0.0, layout.face
    for x, y in layout.places:
        # A drill goes in with its whole body: what it takes too much is seen in the slices.
        there = pointed & np.isfinite(wide)
        here = np.nonzero(there & _upright_at(cuts, x + hole.x, y + hole.y, tolerance))[0]
        made = float(wide[here].max()) if len(here) else 0.0
        off = min(abs(made - layout.part.cone_width(hole) / 2), 1.0)
        if off > worst:
            worst, made_by = off, made
            row = int(cuts.piece[here[np.argmax(wide[here])]]) if len(here) else -1
            at = x + hole.x, y + hole.y, layout.face
    told = in_plan(at[0], at[1], Message("{wide:.3f} mm wide", wide=2 * made_by) if made_by
                   else Message("not cut"))
    answer = Proof(
        COUNTERSINK.about(hole.name), Message("countersink of {name}",
                                              name=hole.name), evidence.setup,
        worst <= tolerance, round(1000 * worst, 3), round(1000 * tolerance, 6), "µm", told, at=at,
    )
    return evidence.placed(answer, row)


def _thread(
    evidence: FlatEvidence, thread: Thread, depth: float | None, tolerance: float
) -> list[Proof]:
    """Radius, pitch and depth of the helix at a hole, at the worst piece of work."""
    hole = thread.hole
    layout, motion = _layout(evidence), evidence.motion
    sweep, _, radius = evidence.sweep
    cutters = [n for n, cutter in evidence.cutters.items()
               if record_of(cutter).can(Ability.MILL_THREAD)]
    rise = motion.end[:, 2] - motion.start[:, 2]
    level = np.hypot(*(motion.end[:, :2] - motion.start[:, :2]).T)
    with np.errstate(invalid="ignore"):
        rising = np.isin(motion.cutter, cutters) & evidence.cut & (
            (np.abs(rise) > 1e-9) & ((level > 1e-9) | (sweep != 0)))
    bottom = layout.bottom if hole.depth is None else layout.face - hole.depth
    if depth is not None:
        bottom = max(bottom, layout.face - depth)
    off_wall = off_pitch = short = 0.0
    told, row, place = NOTHING, -1, (0.0, 0.0)
    for x, y in layout.places:
        centre = np.array([x + hole.x, y + hole.y])
        near = np.linalg.norm(np.nan_to_num(motion.start[:, :2]) - centre, axis=1)
        rows: Ints = np.nonzero(rising & (near < thread.diameter / 2))[0]
        if not len(rows):
            off_wall, told = 1.0, in_plan(float(centre[0]), float(centre[1]), Message("not cut"))
            short = off_pitch = 1.0
            row, place = -1, (float(centre[0]), float(centre[1]))
            break
        turned = _turned(motion.start[rows, :2], motion.end[rows, :2], sweep[rows], centre)
        cutter = evidence.cutters[int(motion.cutter[rows[0]])]
        reach = np.where(
            sweep[rows] != 0,
            radius[rows] + np.linalg.norm(np.nan_to_num(motion.centre[rows, :2]) - centre, axis=1),
            near[rows],
        )
        wall = float(np.abs(reach + cutter.diameter / 2 - thread.diameter / 2).max())
        angle = float(turned.sum())
        # A right-hand thread rises as its helix turns anticlockwise.
        pitch = 2 * math.pi * float(rise[rows].sum()) / angle if angle else 0.0
        turns = abs(angle) / (2 * math.pi)
        lowest = float(np.minimum(motion.start[rows, 2], motion.end[rows, 2]).min())
        highest = float(np.maximum(motion.start[rows, 2], motion.end[rows, 2]).max())
        if wall >= off_wall:
            off_wall, row = wall, int(rows[0])
            place = float(centre[0]), float(centre[1])
            over = 2 * float(reach.max()) + cutter.diameter
            told = in_plan(*place, Message("{over:.4f} mm over it", over=over))
        off_pitch = max(off_pitch, abs(pitch - thread.pitch) * max(1.0, turns))
        short = max(short, lowest - bottom, layout.face - highest, 0.0)
    limit = round(1000 * tolerance, 6)
    return [
        evidence.placed(
            Proof(id.about(hole.name), name, evidence.setup, off <= tolerance,
                  round(1000 * min(off, 1.0), 3), limit, "µm", told, at=(*place, layout.face)), row)
        for id, name, off in (
            (THREAD, Message("thread of {name}", name=hole.name), off_wall),
            (PITCH, Message("pitch of the thread of {name}", name=hole.name), off_pitch),
            (SHORT, Message("depth the thread of {name} lacks", name=hole.name), short),
        )
    ]


def _turned(start: Floats, end: Floats, sweep: Floats, centre: Floats) -> Floats:
    """(r,) radians each piece turns about ``centre``: an arc's own sweep, a chord's angle."""
    a, b = start - centre, end - centre
    cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    dot = (a * b).sum(axis=1)
    return np.asarray(np.where(sweep != 0, sweep, np.arctan2(cross, dot)))
