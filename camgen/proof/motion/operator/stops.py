"""Does the program stop where the operator has something to do, and wait where it must?"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from typing import TypeAlias

import numpy as np
import shapely

from camgen.arrays import Flags, Floats, Ints, distinct
from camgen.messages import Message
from camgen.proof.common.head_frame import clearances, head_way
from camgen.proof.common.rooms import room_off
from camgen.proof.common.round_frame import round_way
from camgen.proof.evidence import Evidence, FlatEvidence, HeadEvidence, RoundEvidence
from camgen.proof.ground.planned import Planned
from camgen.proof.motion.operator.messages import prove_messages
from camgen.proof.motion.told import in_lines, skipped, trusted
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import Event, Told

__all__ = ["prove_clear_at_stops", "prove_stops", "room_at_ends"]

CLEAR = ProofId("motion", "clear-at-stops")
STOPS = ProofId("motion", "stops")
UNPLANNED = ProofId("motion", "stops-unplanned")
WAITS = ProofId("motion", "waits")
INSIDE = ProofId("motion", "halted-in-cut")

Windows: TypeAlias = Callable[[Sequence[int]], list[tuple[int, int]]]


def prove_stops(
    evidence: Evidence, planned: Planned, plan_pieces: Ints, read_pieces: Ints
) -> tuple[Proof, ...]:
    """Stops for pauses, cutters changed by hand and turns of a head by hand; waits; none else.

    ``plan_pieces`` and ``read_pieces`` (m,) are pieces that answer each other.
    """
    def windows(wanted: Sequence[int]) -> list[tuple[int, int]]:
        """Between which read pieces each of ``wanted`` must stand."""
        place = np.searchsorted(plan_pieces, np.array(wanted, dtype=np.int64))
        padded = np.concatenate([[-1], read_pieces, [len(evidence.motion)]])
        return [(int(padded[n]) + 1, int(padded[n + 1])) for n in place]

    return (
        *_stops(evidence, planned, windows),
        _waits(evidence, planned, windows),
        _inside(evidence, windows((*planned.dwells, *planned.turned, *planned.pauses))),
        prove_messages(evidence, list(zip(windows(planned.pauses), planned.messages,
                                          strict=True)), windows),
    )


def prove_clear_at_stops(evidence: Evidence) -> Proof:
    """The least room between cutter and work where the program stops, changes cutters or ends.

    There the spindle may stand still, and hands come near.
    """
    name = Message("cutter clear of the work at stops and at the end")
    before = [
        count for kind in ("stop", "optional-stop", "cutter-change", "end")
        for count, _ in evidence.events(kind)
    ]
    rows = distinct(np.array([count - 1 for count in before if count > 0], dtype=np.int64))
    # A program's first stop comes before anything has moved: the place is the last program's.
    if not len(rows):
        return evidence.proof(CLEAR, name, True, 0.0, 0.0, "mm", where=Message("it never stops"))
    room = room_at_ends(evidence, rows)
    worst = int(np.argmin(room))
    return evidence.proof(
        CLEAR, name, room[worst] > 0, min(float(room[worst]), 1e6), 0.0, "mm", int(rows[worst])
    )


def room_at_ends(evidence: Evidence, rows: Ints) -> Floats:
    """(m,) room, mm, between cutter and work where each of the pieces ``rows`` ends."""
    match evidence:
        case FlatEvidence(layout=layout):
            end = evidence.motion.end[rows]
            room = end[:, 2] - layout.top
            beside = shapely.distance(shapely.points(end[:, :2]), layout.stock)
            room = np.maximum(room, beside - np.nan_to_num(evidence.cutter_radius[rows]))
        case HeadEvidence(layout=stack):
            way = head_way(evidence)
            ends = np.stack([way.along[rows, 1], way.away[rows, 1]], axis=1)
            segments = np.repeat(ends[:, None, :], 2, axis=1)
            room = clearances(segments, way.disc[rows], stack.bodies)
        case RoundEvidence(layout=held):
            over = round_way(evidence)
            room = over.out[rows, 1] - max(body.radius for body in held.work)
            beside = np.minimum.reduce([room_off(
                over.plane(rows)[:, 1:].repeat(2, axis=1), 0.0, np.zeros(len(rows)), body)
                for body in held.bodies]) - over.radius[rows]
            room = np.maximum(room, beside)
    return np.asarray(np.where(np.isnan(room), np.inf, room))


def _stops(evidence: Evidence, planned: Planned, windows: Windows) -> tuple[Proof, Proof]:
    """Stops missing, and stops that nobody planned."""
    left_out = {(number, line) for number, program in enumerate(evidence.programs)
                for line in skipped(program)}
    every = [(before, event.line, (number, event.line) in left_out, event.kind)
             for number, before, event in _numbered(evidence)]
    # A stop that the skip switch leaves out is none.
    stops = np.array([before for before, _, out, kind in every if kind == "stop" and not out],
                     dtype=np.int64)
    lines = [line for _, line, out, kind in every if kind == "stop" and not out]
    by_hand = evidence.machine.change.way == "by-hand"
    places = windows(planned.pauses) + (windows(planned.changes) if by_hand else [])
    # A head's message comes first, then the head counts as turned, then comes the stop.
    places += [(before, before + 1) for before, _ in evidence.events("hand-index")]
    # A spindle that is started and stopped by hand takes a stop of its own for each.
    places += _at_knob(evidence)
    # Another belt or gear is set at a stop of its own, where no other stop is near.
    places += _at_belt(evidence)
    # Where a further part begins its own stop comes first; what is planned there comes after it.
    fitted = {before for before, _ in evidence.events("cutter-change")}
    planned_there = {place for first, last in windows(planned.changes) * by_hand
                     for place in fitted if first <= place <= last}
    again = fitted - planned_there
    if by_hand:
        # A cutter put in again where a further part begins wants its stop as well.
        places += [(place, place) for place in again]
    elif evidence.machine.offsets.stands_at:
        # The first cutter of every program is brought to its place at a stop.
        again = _first_fitted(evidence)
        places += [(place, place) for place in again]
    free, missing = _taken(stops, places, again)
    piece = min(missing[0], len(evidence.motion) - 1) if missing else None
    lacking = evidence.at_most(STOPS, Message("stops missing"), len(missing), 0, "stops", piece)
    over = [(before, line) for before, line, still in zip(stops, lines, free, strict=True)
            if still]
    over += [(before, line) for before, line, out, kind in every if out or kind != "stop"]
    return lacking, _unplanned(evidence, planned, windows, over)


def _first_fitted(evidence: Evidence) -> set[int]:
    """Before which piece the first cutter of each program is fitted."""
    found: set[int] = set()
    begun = 0
    for program in evidence.programs:
        found |= {begun + event.before for event in [
            event for event in program.events if event.kind == "cutter-change"][:1]}
        begun += len(program.motion)
    return found


def _at_knob(evidence: Evidence) -> list[tuple[int, int]]:
    """Where the operator is told to start or stop the spindle, and not at a turn of the head.

    What is told before one stop belongs to it; the turn of a head has its own place there.
    """
    found: list[tuple[int, int]] = []
    begun = 0
    together = evidence.machine.spindle_words.stops == "together"
    for program in evidence.programs:
        waiting: list[tuple[int, int]] = []
        turned = False
        for one in program.told:
            if one.kind == "spindle" and isinstance(one, Told) and one.text == "by hand":
                waiting.append((begun + one.before,) * 2)
            elif one.kind == "hand-index":
                turned = together
            elif one.kind in ("stop", "optional-stop"):
                found += [] if turned else waiting
                waiting, turned = [], False
        found += waiting
        begun += len(program.motion)
    return found


def _at_belt(evidence: Evidence) -> list[tuple[int, int]]:
    """Where the operator is told to set a step of the spindle, and no cutter is changed there."""
    found: list[tuple[int, int]] = []
    begun = 0
    by_program = evidence.machine.spindle_words.by_program
    by_hand = evidence.machine.change.way == "by-hand"
    for program in evidence.programs:
        fitted = {event.before for event in program.events if event.kind == "cutter-change"}
        found += [(begun + one.before,) * 2 for one in program.told
                  if isinstance(one, Told) and one.kind == "step" and one.text == "by hand"
                  and by_program and not (by_hand and one.before in fitted)]
        begun += len(program.motion)
    return found


def _numbered(evidence: Evidence) -> Iterator[tuple[int, int, Event]]:
    """Every stop with its program's number and the pieces made before it, over all programs."""
    begun = 0
    for number, program in enumerate(evidence.programs):
        for event in program.events:
            if event.kind in ("stop", "optional-stop"):
                yield number, begun + event.before, event
        begun += len(program.motion)


def _taken(
    places: Ints, windows: Sequence[tuple[int, int]], last_of_all: Collection[int] = ()
) -> tuple[Flags, list[int]]:
    """Which of ``places`` (rising) no window takes, and the ends of windows that find none.

    Those in ``last_of_all`` are taken where there is no other.
    """
    free = np.ones(len(places), dtype=np.bool_)
    missing: list[int] = []
    for first, last in sorted(windows):
        begin, end = np.searchsorted(places, first), np.searchsorted(places, last, side="right")
        fitting = [at for at in range(begin, end) if free[at]]
        if fitting:
            free[min(fitting, key=lambda at: (int(places[at]) in last_of_all, at))] = False
        else:
            missing.append(last)
    return free, missing


def _unplanned(
    evidence: Evidence, planned: Planned, windows: Windows, over: list[tuple[int, int]]
) -> Proof:
    """Stops beyond those wanted: trial stops, further parts' changes and a knob's are meant."""
    machine = evidence.machine
    over.sort()
    free, _ = _taken(np.array([before for before, _ in over], dtype=np.int64),
                     windows(planned.trials))
    left = [one for one, still in zip(over, free, strict=True) if still]
    if not machine.spindle_words.by_program:
        begun = 0
        for program in evidence.programs:
            left = _less(left, [begun + one.before for one in program.told
                                if isinstance(one, Told) and one.kind == "spindle"])
            begun += len(program.motion)
    if trusted(evidence, "M0"):
        left = []
    piece = min(left[0][0], len(evidence.motion) - 1) if left else None
    return evidence.at_most(
        UNPLANNED, Message("stops that were not planned"), len(left), 0, "stops", piece,
        in_lines([line for _, line in left]),
    )


def _less(stops: list[tuple[int, int]], places: Sequence[int]) -> list[tuple[int, int]]:
    """The stops less one at each of ``places``, where there is one."""
    left = list(stops)
    for place in places:
        at = next((n for n, (before, _) in enumerate(left) if before == place), None)
        if at is not None:
            del left[at]
    return left


def _waits(evidence: Evidence, planned: Planned, windows: Windows) -> Proof:
    """Every planned wait, where it was planned and as long."""
    got = list(_dwells(evidence))
    free = [True] * len(got)
    places = np.array([before for before, _ in got], dtype=np.int64)
    missing: list[int] = []
    for (first, last), seconds in zip(windows(planned.dwells), planned.waits, strict=True):
        begin, end = np.searchsorted(places, first), np.searchsorted(places, last, side="right")
        fitting = next((n for n in range(begin, end)
                        if free[n] and got[n][1] >= seconds - 1e-6), None)
        if fitting is None:
            missing.append(last)
        else:
            free[fitting] = False
    piece = min(missing[0], len(evidence.motion) - 1) if missing else None
    return evidence.at_most(WAITS, Message("waits missing or too short"), len(missing), 0, "waits",
                            piece)


def _inside(evidence: Evidence, windows: Sequence[tuple[int, int]]) -> Proof:
    """Stops, waits and spindle words right after a cut, where the cutter is still in the metal."""
    found: list[tuple[int, int]] = []
    begun = 0
    for program in evidence.programs:
        for one in program.told:
            if one.before and evidence.cut[begun + one.before - 1] and (
                one.kind in ("stop", "optional-stop", "dwell", "spindle")
            ):
                found.append((begun + one.before, one.line))
        begun += len(program.motion)
    meant = sorted(windows)
    firsts = np.array([first for first, _ in meant], dtype=np.int64)
    wrong = []
    for before, line in found:
        at = int(np.searchsorted(firsts, before, side="right")) - 1
        if at < 0 or before > meant[at][1]:
            wrong.append((before, line))
    return evidence.at_most(
        INSIDE, Message("stops, waits or spindle words inside a cut"), len(wrong), 0, "words",
        wrong[0][0] - 1 if wrong else None,
        in_lines([line for _, line in wrong]),
    )


def _dwells(evidence: Evidence) -> Iterator[tuple[int, float]]:
    """How many pieces are made before each wait, and its seconds.

    Waits one after the other, with nothing moved, started or stopped between, are one.
    """
    begun = 0
    for program in evidence.programs:
        turned = [one.line for one in program.told if one.kind == "spindle"]
        turned += [one.line for one in program.events if one.kind not in ("dwell", "comment")]
        last: Event | None = None
        seconds = 0.0
        for event in (one for one in program.events if one.kind == "dwell"):
            if last is not None and (last.before != event.before or any(
                    last.line <= line <= event.line for line in turned)):
                yield begun + last.before, seconds
                seconds = 0.0
            last, seconds = event, seconds + event.value
        if last is not None:
            yield begun + last.before, seconds
        begun += len(program.motion)
