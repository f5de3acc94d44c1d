"""Does the program stop where the operator has something to do, and wait where it must?"""

from __future__ import annotations

import numpy as np
import shapely

from camgen.layout import FlatLayout
from camgen.proof.evidence import Evidence
from camgen.proof.head.head_frame import clearances, head_way
from camgen.proof.motion.planned import Planned
from camgen.proof.result import Proof, ProofId
from camgen.proof.way import Ints

__all__ = ["prove_clear_at_stops", "prove_stops"]

CLEAR = ProofId("motion", "clear-at-stops")
STOPS = ProofId("motion", "stops")
WAITS = ProofId("motion", "waits")


def prove_stops(
    evidence: Evidence, planned: Planned, plan_pieces: Ints, read_pieces: Ints
) -> tuple[Proof, ...]:
    """Stops for pauses, cutters changed by hand and turns of a head by hand; waits for the spindle.

    ``plan_pieces`` and ``read_pieces`` (m,) are pieces that answer each other.
    """
    return (
        _stops(evidence, planned, plan_pieces, read_pieces),
        _waits(evidence, planned),
    )


def prove_clear_at_stops(evidence: Evidence) -> Proof:
    """The least room between cutter and work where the program stops, changes cutters or ends.

    There the spindle may stand still, and hands come near.
    """
    name = "cutter clear of the work at stops and at the end"
    before = [
        count for kind in ("stop", "cutter-change", "end") for count, _ in evidence.events(kind)
    ]
    rows = np.unique(np.array([count - 1 for count in before if count > 0], dtype=np.int64))
    # A program's first stop comes before anything has moved: the place is the last program's.
    if not len(rows):
        return evidence.proof(CLEAR, name, True, 0.0, 0.0, "mm", where="it never stops")
    layout = evidence.layout
    if isinstance(layout, FlatLayout):
        end = evidence.motion.end[rows]
        room = end[:, 2] - layout.top
        beside = shapely.distance(shapely.points(end[:, :2]), layout.stock)
        room = np.maximum(room, beside - np.nan_to_num(evidence.cutter_radius[rows]))
    else:
        way = head_way(evidence)
        ends = np.stack([way.along[rows, 1], way.away[rows, 1]], axis=1)
        segments = np.repeat(ends[:, None, :], 2, axis=1)
        room = clearances(segments, way.disc[rows], layout.bodies)
    room = np.where(np.isnan(room), np.inf, room)
    worst = int(np.argmin(room))
    return evidence.proof(
        CLEAR, name, room[worst] > 0, min(float(room[worst]), 1e6), 0.0, "mm", int(rows[worst])
    )


def _stops(
    evidence: Evidence, planned: Planned, plan_pieces: Ints, read_pieces: Ints
) -> Proof:
    stops = np.array([before for before, _ in evidence.events("stop")], dtype=np.int64)
    wanted = list(planned.pauses)
    if evidence.machine.change.way == "by-hand":
        wanted += planned.changes
    # Between which read pieces each wanted stop must stand.
    place = np.searchsorted(plan_pieces, np.array(wanted, dtype=np.int64))
    padded = np.concatenate([[-1], read_pieces, [len(evidence.motion)]])
    windows = [(int(padded[n]) + 1, int(padded[n + 1])) for n in place]
    # A head's message comes first, then the head counts as turned, then comes the stop.
    windows += [(before, before + 1) for before, _ in evidence.events("hand-index")]
    free = np.ones(len(stops), dtype=np.bool_)
    missing: list[int] = []
    for first, last in sorted(windows):
        begin, end = np.searchsorted(stops, first), np.searchsorted(stops, last, side="right")
        fitting = np.nonzero(free[begin:end])[0]
        if len(fitting):
            free[begin + fitting[0]] = False
        else:
            missing.append(last)
    piece = min(missing[0], len(evidence.motion) - 1) if missing else None
    return evidence.at_most(STOPS, "stops missing", len(missing), 0, "stops", piece)


def _waits(evidence: Evidence, planned: Planned) -> Proof:
    """A wait at every start of the spindle, where the machine wants one, and every planned wait."""
    words = evidence.machine.spindle_words
    wanted = planned.dwells
    if words.by_program and words.dwell and evidence.machine.spindle.start_seconds > 0:
        wanted += sum(
            program.words.get(word, 0) for program in evidence.programs for word in ("M3", "M4")
        )
    cycles, reversals = evidence.machine.cycles, planned.reversals
    if reversals and not (cycles.use and cycles.tap):
        # Written out, the spindle is turned the other way and back by words of its own: the one in
        # the work waits as long as that takes, the one above it for nothing.
        if words.by_program and words.dwell and evidence.machine.spindle.start_seconds > 0:
            wanted -= 2 * reversals
        wanted += reversals
    else:
        reversals = 0
    got = evidence.events("dwell")
    short = [
        event for _, event in got if event.value < evidence.machine.spindle.start_seconds - 1e-6
    ]
    lacking = max(0, wanted - len(got)) + max(0, len(short) - planned.dwells - reversals)
    return evidence.at_most(WAITS, "waits missing or too short", lacking, 0, "waits")
