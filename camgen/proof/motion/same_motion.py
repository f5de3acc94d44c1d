"""Is the motion read back the motion that was planned? Path, angle, feed, speed and cutter."""

from __future__ import annotations

import numpy as np

from camgen.messages import Message
from camgen.proof.evidence import Evidence
from camgen.proof.ground.matching import MIDDLES, Match
from camgen.proof.ground.turns import angles_apart, counts_whole_turns
from camgen.proof.motion.limits import farthest_turns
from camgen.proof.motion.operator.stops import prove_stops
from camgen.proof.motion.pace import slowest_by_pace
from camgen.proof.path import is_arc, is_cut
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import Kind, Motion
from camgen.shop.machine import DrivenHead

__all__ = ["prove_same_motion"]

MOVES = ProofId("motion", "moves")
PATH = ProofId("motion", "path")
ANGLES = ProofId("motion", "angles")
FEEDS = ProofId("motion", "feeds")
SPEEDS = ProofId("motion", "speed-sense-cutter")

# What a feed may differ by from the plan, as a share, besides the rounding of its last figure.
FEED_SHARE = 0.002


def prove_same_motion(evidence: Evidence) -> tuple[Proof, ...]:
    """Path, angle, feed, speed and cutter of everything against the plan."""
    planned, found = evidence.planned, evidence.matched
    if planned is None or found is None:
        return ()
    plan, read = planned.motion, evidence.motion
    step = evidence.increment
    answers: list[Proof] = [_odd(plan, read, found, evidence)]
    # Chords in place of arcs, and blocks merged for the control's pace, may be off by more.
    chords = is_arc(plan)[found.planned] & ~is_arc(read)[found.read] & ~found.merged
    limits = (MIDDLES * step + np.where(chords, evidence.machine.arcs.tolerance, 0.0)
              + np.where(found.merged, evidence.machine.merging, 0.0))
    worst = int(np.argmax(found.off - limits)) if len(found.off) else -1
    answers.append(
        evidence.at_most(
            PATH, Message("path as planned"), float(found.off[worst]) if worst >= 0 else 0.0,
            float(limits[worst]) if worst >= 0 else MIDDLES * step,
            "mm", int(found.read[worst]) if worst >= 0 else None,
        )
    )
    answers.append(_angles(plan, read, found, evidence))
    answers.append(_feeds(plan, read, found, evidence))
    answers.append(_speeds(plan, read, found, evidence))
    if found.stray < 0 and found.missing < 0:
        answers += prove_stops(evidence, planned, found.planned, found.read)
    return tuple(answers)


def _odd(plan: Motion, read: Motion, found: Match, evidence: Evidence) -> Proof:
    """The first move that is not the planned one; what comes after it is not looked at."""
    name = Message("moves that were not planned, or are missing")
    if found.stray < 0 and found.missing < 0:
        return evidence.at_most(MOVES, name, 0, 0, "moves")
    piece = found.stray if found.stray >= 0 else len(read) - 1
    if found.missing < 0:
        what = Message("not planned")
    elif found.stray < 0:
        what = Message("missing after this")
    else:
        apart = np.nan_to_num(np.abs(plan.end[found.missing] - read.end[found.stray]))
        turned = abs(float(plan.angle_end[found.missing] - read.angle_end[found.stray]))
        off = float(apart.max())
        what = (Message("not the planned move: ends {off:.3f} mm off, {turned:.3f} degrees off",
                        off=off, turned=turned) if turned > 0
                else Message("not the planned move: ends {off:.3f} mm off", off=off))
    where = (Message("{where}, {what}", where=evidence.place(piece), what=what)
             if piece >= 0 else what)
    return evidence.proof(MOVES, name, False, 1, 0, "moves", piece if piece >= 0 else None, where)


def _angles(plan: Motion, read: Motion, found: Match, evidence: Evidence) -> Proof:
    off = angles_apart(plan.angle_end[found.planned], read.angle_end[found.read],
                       limited=counts_whole_turns(evidence.machine))
    # A large turn may be written as several: the last of them ends where it is meant to.
    between = np.append(found.planned[1:] == found.planned[:-1], False) & (
        plan.kind[found.planned] == Kind.INDEX)
    off[: len(between)][between[: len(off)]] = 0.0
    limit = 10.0**-evidence.machine.numbers.rotary_decimals
    worst = int(np.argmax(off)) if len(off) else -1
    return evidence.at_most(
        ANGLES, Message("head turned as planned"), float(off[worst]) if worst >= 0 else 0.0, limit,
        "degrees", int(found.read[worst]) if worst >= 0 else None,
    )


def _feeds(plan: Motion, read: Motion, found: Match, evidence: Evidence) -> Proof:
    meant, got = plan.feed[found.planned], read.feed[found.read]
    # Half of the last figure, and a little for the arithmetic.
    rounding = np.full(len(meant), 0.51 * 10.0**-evidence.machine.numbers.feed_decimals)
    turned = (plan.kind[found.planned] == Kind.INDEX) & np.isfinite(got)
    if evidence.machine.program.feed == "per-turn":
        # No feed a turn is rounded up: a whole last figure, so many turns a minute.
        speed = np.abs(read.speed[found.read])
        rounding = np.where(turned, rounding, 2.0 * rounding * np.maximum(speed, 1.0))
    if evidence.machine.program.units == "inch":
        rounding[~turned] *= 25.4
    head = evidence.machine.dividing
    if isinstance(head, DrivenHead) and turned.any():
        # A turn that is made at a feed is made at the head's own rate.
        meant = np.where(turned, head.feed_limit, meant)
        if evidence.machine.rotary.turn == "inverse-time":
            degrees = np.abs(read.angle_end - read.angle_start)[found.read]
            rounding = np.where(turned, rounding * degrees, rounding)
            # The first turn of a program is timed for the farthest that it may go.
            first = farthest_turns(evidence)
            share = np.array([min(1.0, float(there) / first[row]) if row in first else 1.0
                              for row, there in zip(found.read, degrees, strict=True)])
            meant = meant * share
    fed = np.isfinite(meant)
    # A block too short for the control may be slower, but no slower than it must be.
    least = np.where(turned, meant, slowest_by_pace(evidence, found.read, meant))
    # Where up would be too fast a feed is rounded down: a whole last figure.
    down = np.where(turned, rounding, 2.0 * rounding)
    beyond = np.maximum(np.maximum(got - meant - rounding, least - got - down), 0.0) / np.where(
        fed, meant, 1.0)
    beyond = np.where(fed, np.where(np.isfinite(got), beyond, 1.0), 0.0)
    # What is no longer than rounding may be the last of an arc, or the first of what follows it.
    tiny = (evidence.length[found.read] <= MIDDLES * evidence.increment) & ~turned
    beyond = np.where(tiny, 0.0, beyond)
    worst = int(np.argmax(beyond)) if len(beyond) else -1
    return evidence.at_most(
        FEEDS, Message("feeds as planned"), 100 * float(beyond[worst]) if worst >= 0 else 0.0,
        100 * FEED_SHARE, "%", int(found.read[worst]) if worst >= 0 else None,
    )


def _speeds(plan: Motion, read: Motion, found: Match, evidence: Evidence) -> Proof:
    """Speed, sense and cutter at every cut."""
    cutting = is_cut(plan)[found.planned]
    off = np.abs(plan.speed[found.planned] - read.speed[found.read])
    other = plan.cutter[found.planned] != read.cutter[found.read]
    off = np.where(other & (read.cutter[found.read] != 0), np.maximum(off, 1e6), off)
    if not evidence.machine.spindle_words.by_program:
        off = np.where(read.speed[found.read] == 0, 0.0, off)
    off = np.where(cutting, off, 0.0)
    worst = int(np.argmax(off)) if len(off) else -1
    return evidence.at_most(
        SPEEDS, Message("speed, sense and cutter as planned"),
        float(off[worst]) if worst >= 0 else 0.0,
        max(1.0, evidence.machine.spindle.speed_step), "rev/min",
        int(found.read[worst]) if worst >= 0 else None,
    )
