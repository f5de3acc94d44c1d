"""Does the program stay within what the machine can do: travel, feed, spindle speed?"""

from __future__ import annotations

import dataclasses

import numpy as np

from camgen.messages import Message
from camgen.moves import Index
from camgen.proof.evidence import Evidence
from camgen.proof.path import is_rapid, select, sweeps
from camgen.proof.result import Proof, ProofId
from camgen.reader.dialect import dialect_of
from camgen.reader.motion import Kind, Motion
from camgen.shop.machine import DrivenHead

__all__ = ["axis_feeds", "farthest_turns", "prove_limits", "spans"]

TRAVEL = ProofId("motion", "travel")
FEED = ProofId("motion", "axis-feed")
TURNING = ProofId("motion", "turning-rate")
HIGHEST = ProofId("motion", "highest-speed")
LOWEST = ProofId("motion", "lowest-speed")


def prove_limits(evidence: Evidence) -> tuple[Proof, ...]:
    """Travel of each axis, feed against each axis's limit, spindle speed against its range."""
    return (*_travel(evidence), _feed(evidence), *_turning(evidence), *_speed(evidence))


def spans(motion: Motion) -> np.ndarray:
    """(3, 2) least and greatest coordinate of each axis over the whole path, arcs included.

    nan where an axis is never known.
    """
    points = [motion.start, motion.end]
    rows = np.nonzero(np.isin(motion.kind, (2, 3)))[0]
    if len(rows):
        arcs = select(motion, rows)
        sweep, begin, radius = sweeps(arcs)
        first = np.array([1, 2, 0])[arcs.plane]
        second = np.array([2, 0, 1])[arcs.plane]
        each = np.arange(len(rows))
        least = np.minimum(begin, begin + sweep)
        # A circle's outermost points lie at whole quarter turns, where these are in the sweep.
        for quarter in range(4):
            passed = np.mod(quarter * np.pi / 2 - least, 2 * np.pi) <= np.abs(sweep) + 1e-12
            if np.any(passed):
                point = arcs.start.copy()
                axis = first if quarter % 2 == 0 else second
                out = radius if quarter < 2 else -radius
                point[each, axis] = arcs.centre[each, axis] + out
                points.append(point[passed])
    everything = np.concatenate(points) if points else np.zeros((0, 3))
    if not len(everything):
        return np.full((3, 2), np.nan)
    return np.stack(
        [np.fmin.reduce(everything, axis=0), np.fmax.reduce(everything, axis=0)], axis=1
    )


def _travel(evidence: Evidence) -> list[Proof]:
    """Each axis's span of coordinates, as the slides are told them, against its travel."""
    layout, motion = evidence.layout, evidence.motion
    unknown = False
    if layout.stations > 1:
        if layout.station_at:
            # Counted from the first station's zero.
            zeros = np.array([(0.0, 0.0, 0.0), *layout.station_at])
            station = np.clip(motion.station, 0, len(layout.station_at))
            # A piece begins where the one before it ended, at that one's station.
            before = np.concatenate((station[:1], station[:-1]))
            away = zeros[station]
            motion = dataclasses.replace(
                motion, start=motion.start + zeros[before], end=motion.end + away,
                centre=motion.centre + away,
            )
        else:
            unknown = True
    span = _as_told(spans(motion), evidence)
    answers = []
    for number, name in enumerate("XYZ"):
        low, high = span[number]
        if not np.isfinite(low):
            continue
        ends = motion.end[:, number]
        piece = int(np.nanargmax(np.abs(np.nan_to_num(ends) - (low + high) / 2)))
        answers.append(
            evidence.at_most(
                TRAVEL.about(name), Message("travel of {name}", name=name), high - low,
                evidence.machine.axis(name).travel, "mm", piece,
                Message("{axis} {low:.3f} to {high:.3f} at each station; where the stations' "
                        "zeros lie is not known here", axis=name, low=low, high=high) if unknown
                else Message("{axis} {low:.3f} to {high:.3f}", axis=name, low=low, high=high),
            )
        )
    return answers


def _as_told(span: np.ndarray, evidence: Evidence) -> np.ndarray:
    """(3, 2) the span that the slides are told, where they were measured: travel is their own."""
    slides = dialect_of(evidence.machine).slides
    if slides is None:
        return span
    return np.stack(slides.told_span(span[:, 0], span[:, 1]), axis=1)


def axis_feeds(motion: Motion, length: np.ndarray) -> np.ndarray:
    """(n, 3) fastest feed asked of each axis, mm/min, during each fed piece; 0 for rapids.

    On an arc of a quarter turn or more an axis of the plane takes the whole feed at some moment;
    shorter ones are counted the same, which is on the safe side by at most the cosine.
    """
    feed = np.nan_to_num(motion.feed)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        share = np.abs(motion.end - motion.start) / np.where(length > 0, length, np.inf)[:, None]
    share = np.nan_to_num(share)
    rows = np.nonzero(np.isin(motion.kind, (2, 3)))[0]
    if len(rows):
        normal = motion.plane[rows]
        rise = share[rows, normal]
        level = np.sqrt(np.maximum(0.0, 1 - rise**2))
        share[rows, (normal + 1) % 3] = level
        share[rows, (normal + 2) % 3] = level
    fast = feed[:, None] * share
    fast[is_rapid(motion)] = 0.0
    return np.asarray(fast)


def _feed(evidence: Evidence) -> Proof:
    """The feed asked of any axis, as a share of what it follows."""
    limits = np.array([evidence.machine.axis(name).feed_limit for name in "XYZ"])
    motion = evidence.motion
    none = evidence.cut & ~(np.nan_to_num(motion.feed) > 0)
    if np.any(none):
        first = int(np.argmax(none))
        return evidence.proof(FEED, Message("feed of the axes"), False, 0.0, 100.0, "% of limit",
                              first,
                              Message("no feed given, {place}", place=evidence.place(first)))
    share = (axis_feeds(motion, evidence.length) / limits).max(axis=1, initial=0.0)
    piece = int(np.argmax(share)) if len(share) else None
    return evidence.at_most(
        FEED, Message("feed of the axes"), 100 * float(share[piece]) if piece is not None else 0.0,
        100.0, "% of limit", piece,
    )


def _turning(evidence: Evidence) -> list[Proof]:
    """The rate, degrees a minute, of turns of the head that are made at a feed."""
    head = evidence.machine.dividing
    motion = evidence.motion
    rows = np.nonzero((motion.kind == Kind.INDEX) & np.isfinite(motion.feed))[0]
    if not isinstance(head, DrivenHead) or not len(rows):
        return []
    feeds = motion.feed.copy()
    if evidence.machine.rotary.turn == "inverse-time":
        # Its time is what is given: a turn that goes farther than is thought is so much faster.
        for row, farthest in farthest_turns(evidence).items():
            far = abs(motion.angle_end[row] - motion.angle_start[row])
            feeds[row] *= max(1.0, farthest / far) if far > 0 else 1.0
    fastest = int(rows[np.argmax(feeds[rows])])
    # Inverse-time feeds are rounded, and so is what they come to.
    limit = head.feed_limit * 1.01
    return [
        evidence.at_most(
            TURNING, Message("rate of turning of the head"), float(feeds[fastest]), limit,
            "degrees/min", fastest,
        )
    ]


def farthest_turns(evidence: Evidence) -> dict[int, float]:
    """The first turn of the head in each program, and how many degrees it may go at most.

    Where the head stands before it nobody knows: a program may have been broken off anywhere, or
    the head turned by hand. A turn counted from where it stands is as long as it says.
    """
    motion, way = evidence.motion, evidence.machine.rotary.way
    if evidence.machine.rotary.from_where_it_stands:
        return {}
    found: dict[int, float] = {}
    turns = np.nonzero(motion.kind == Kind.INDEX)[0]
    reach = max((abs(move.degrees) for section in evidence.moves.sections
                 for move in section.moves if isinstance(move, Index)),
                default=0.0) if evidence.moves is not None else 0.0
    for row in turns[np.unique(evidence.program_of[turns], return_index=True)[1]].tolist():
        end = abs(float(motion.angle_end[row]))
        found[row] = {"shortest": 180.0, "absolute": max(360.0, reach + end)}.get(way, 360.0)
    return found


def _speed(evidence: Evidence) -> list[Proof]:
    """The spindle's speed wherever it turns."""
    spindle = evidence.machine.spindle
    speed = np.abs(evidence.motion.speed)
    turning = np.nonzero(speed > 0)[0]
    if not len(turning):
        return []
    fastest = int(turning[np.argmax(speed[turning])])
    slowest = int(turning[np.argmin(speed[turning])])
    return [
        evidence.at_most(
            HIGHEST, Message("spindle's highest speed"), float(speed[fastest]), spindle.highest,
            "rev/min", fastest,
        ),
        evidence.proof(
            LOWEST, Message("spindle's lowest speed"), speed[slowest] >= spindle.lowest - 1e-6,
            float(speed[slowest]), spindle.lowest, "rev/min", slowest,
        ),
    ]
