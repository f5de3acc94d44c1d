"""Tapped threads: the tap that goes in, how far, and whether it is fed as its pitch asks.

A tap makes its own thread; what a program can spoil is its place, its depth, the sense it turns in
and a feed that pulls at the threads; and where it is turned back again before it is out of them, by
as much as it may hang behind. Lengths mm.
"""

from __future__ import annotations

import math

import numpy as np

from camgen.arrays import Ints
from camgen.layout import FlatLayout
from camgen.messages import NOTHING, Message
from camgen.part.declaration import MakesThreads
from camgen.part.features import Thread
from camgen.proof.common.said import in_plan
from camgen.proof.evidence import FlatEvidence
from camgen.proof.ground.running_on import runs_on
from camgen.proof.result import Proof, ProofId
from camgen.shop.cutters import Cutter

__all__ = ["prove_tapped"]

THREAD = ProofId("flat", "thread")
PULL = ProofId("flat", "tap-feed")
SHORT = ProofId("flat", "thread-depth")
OUT = ProofId("flat", "tap-out")

# How far feed and turning may part over the depth of a thread, as a share of its pitch: a holder
# takes that up without a mark on the threads. Common practice, no source.
PULL_SHARE = 0.1
# The tapered lead of a tap where the job says none, in pitches. Common practice, no source.
LEAD_PITCHES = 3.0


def prove_tapped(
    evidence: FlatEvidence, thread: Thread, name: str, made: MakesThreads, tolerance: float
) -> list[Proof]:
    """The thread of one hole on every piece of work by the cutter ``name``, the worst figures.

    Without words that name it, a hole that has another thread than the tap's is none of the step's.
    ``tolerance`` in mm.
    """
    layout, hole = evidence.layout, thread.hole
    cutter = evidence.job.cutters.get(name)
    number = next((n for n, one in evidence.cutters.items() if one is cutter), None)
    if cutter is None or cutter.pitch is None:
        return []
    if made.holes.names is None and not _is_for(cutter, thread):
        return []
    wrong = max(abs(cutter.diameter - thread.diameter), abs(cutter.pitch - thread.pitch))
    lead = LEAD_PITCHES * cutter.pitch if made.lead is None else made.lead
    wanted = _wanted(layout, thread, made.depth, lead)
    short = pull = within = 0.0
    told = NOTHING
    row, place = -1, (0.0, 0.0)
    for x, y in layout.places:
        place = x + hole.x, y + hole.y
        down, out = _strokes(evidence, number, place, layout.face, tolerance)
        if not len(down) or not len(out):
            wrong = pull = short = within = math.inf
            row, told = -1, in_plan(*place, Message("not cut"))
            break
        lowest = float(evidence.motion.end[down, 2].min())
        parted = max(_pull(evidence, rows, cutter.pitch, sense, layout.face - lowest)
                     for rows, sense in ((down, 1.0), (out, -1.0)))
        lacks = max(0.0, lowest + lead - wanted)
        if row < 0 or parted > pull or lacks > short:
            row = int(down[np.argmin(evidence.motion.end[down, 2])])
            told = in_plan(*place, Message("full to {full:.3f} mm",
                                           full=layout.face - lowest - lead))
        pull, short = max(pull, parted), max(short, lacks)
        # Turned back at the top it must be out, also where it hangs behind by what it runs on.
        further = runs_on(cutter, evidence.machine, float(np.abs(evidence.motion.speed[out]).max()))
        highest = float(evidence.motion.end[out, 2].max())
        within = max(within, layout.face + further - highest)
    at = (*place, layout.face)
    return [
        evidence.placed(
            Proof(id.about(hole.name), name, evidence.setup, off <= limit,
                  round(1000 * min(off, 1.0), 3), round(1000 * limit, 6), "µm", told, at=at), row)
        for id, name, off, limit in (
            (THREAD, Message("thread of {name}", name=hole.name), wrong, tolerance),
            (PULL, Message("feed of the tap against its pitch, {name}", name=hole.name), pull,
             PULL_SHARE * cutter.pitch),
            (SHORT, Message("depth the thread of {name} lacks", name=hole.name), short, tolerance),
            (OUT, Message("tap still in the thread of {name} where it is turned back",
                          name=hole.name), within, tolerance),
        )
    ]


def _is_for(cutter: Cutter, thread: Thread) -> bool:
    return abs(cutter.diameter - thread.diameter) < 1e-6 and \
        abs((cutter.pitch or 0.0) - thread.pitch) < 1e-6


def _wanted(layout: FlatLayout, thread: Thread, depth: float | None, lead: float) -> float:
    """The Z down to which the thread must be full.

    In a hole with a floor where nothing is said: a pitch is left for chips, and the run of the tap
    while it is reversed; no more can be asked than that there is a thread.
    """
    if depth is not None:
        return layout.face - depth
    if thread.depth is None:
        return layout.back
    return layout.face - min(thread.pitch, max(0.0, thread.depth - lead))


def _strokes(
    evidence: FlatEvidence, number: int | None, place: tuple[float, float], face: float,
    tolerance: float,
) -> tuple[Ints, Ints]:
    """Fed pieces of the tap straight down into one hole, and straight out of it."""
    motion = evidence.motion
    here = np.hypot(motion.end[:, 0] - place[0], motion.end[:, 1] - place[1]) <= tolerance
    here &= np.hypot(motion.start[:, 0] - place[0], motion.start[:, 1] - place[1]) <= tolerance
    here &= evidence.cut & (motion.cutter == number)
    rise = motion.end[:, 2] - motion.start[:, 2]
    deep = np.minimum(motion.end[:, 2], motion.start[:, 2]) < face
    return (np.nonzero(here & deep & (rise < 0))[0], np.nonzero(here & deep & (rise > 0))[0])


def _pull(
    evidence: FlatEvidence, rows: Ints, pitch: float, sense: float, deep: float
) -> float:
    """How far feed and turning part over the depth, mm; all of it where it turns the wrong way."""
    motion = evidence.motion
    speed, feed = motion.speed[rows] * sense, motion.feed[rows]
    if np.any(speed <= 0) or not np.all(feed > 0):
        return math.inf
    return float(np.abs(feed / speed / pitch - 1.0).max()) * deep
