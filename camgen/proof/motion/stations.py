"""A fixture of several stations: each cut, each once, its zero called where the cutter is clear.

What is cut at a station is held against the layout in that station's own frame. Stations that are
cut alike to the last figure are held against it once.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Iterator

import numpy as np

from camgen.arrays import Floats
from camgen.faults import parted
from camgen.messages import Message
from camgen.moves import SetupMoves, Station
from camgen.proof.evidence import Evidence, FlatEvidence
from camgen.proof.path import is_cut, lengths
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import Event, Motion
from camgen.reader.stations import at_station

__all__ = ["at_each_station", "prove_stations"]

STATIONS = ProofId("motion", "stations")
CHANGES = ProofId("motion", "station-changes-clear")
ZERO = ProofId("motion", "zero-after-stops")

# Of what a cutter is planned to cut at a station, or, without a plan, of what it cuts at most of
# them: less is a station left out, more is one cut twice.
SOME, TWICE = 0.6, 1.5
STOPS = ("stop", "optional-stop", "cutter-change")


def prove_stations(evidence: Evidence) -> tuple[Proof, ...]:
    """Every station cut once by every cutter, no other called, none while the cutter is down.

    Nor does anything move after a stop before the zero was said again: at a stop the zeros of
    several stations are set, and another one may be left in force.
    """
    if evidence.layout.stations == 1:
        return ()
    return _each_once(evidence), _changed_clear(evidence), _said_after_stops(evidence)


def _each_once(evidence: Evidence) -> Proof:
    """Stations left out, cut twice, or not of this fixture, by what each cutter cuts at each."""
    motion, cut, layout = evidence.motion, evidence.cut, evidence.layout
    zeros = evidence.machine.offsets.stations
    wrong: list[tuple[Message, int]] = []
    strange = np.nonzero(cut & ((motion.station < 1) | (motion.station > layout.stations)))[0]
    if len(strange):
        wrong.append((Message("cuts at a zero that is no station's"), int(strange[0])))
    for cutter in sorted(set(motion.cutter[cut].tolist())):
        mine = cut & (motion.cutter == cutter)
        each = _cut_at(motion, cutter, layout.stations)
        if evidence.planned is not None:
            usual = _cut_at(evidence.planned.motion, cutter, layout.stations)
        else:
            done = np.sort(each[each > 0])
            usual = np.full(layout.stations, done[(len(done) - 1) // 2] if len(done) else 0.0)
        for number, cut_here in enumerate(each, start=1):
            here = np.nonzero(mine & (motion.station == number))[0]
            station = Message("station {number}", number=number)
            if number <= len(zeros):
                station = Message("{station} ({zero})", station=station, zero=zeros[number - 1])
            if cut_here < SOME * usual[number - 1]:
                wrong.append((
                    Message("{station} is only in part cut by cutter {cutter}", station=station,
                            cutter=cutter) if cut_here
                    else Message("{station} is not cut by cutter {cutter}", station=station,
                                 cutter=cutter), -1))
            elif cut_here > TWICE * usual[number - 1]:
                wrong.append((Message("{station} is cut more than once by cutter {cutter}",
                                      station=station, cutter=cutter), int(here[0])))
    piece = next((piece for _, piece in wrong if piece >= 0), None)
    return evidence.at_most(
        STATIONS, Message("stations left out or cut twice"), len(wrong), 0, "stations", piece,
        parted(what for what, _ in wrong) if wrong else None,
    )


def _cut_at(motion: Motion, cutter: int, stations: int) -> Floats:
    """(stations,) how many mm a cutter cuts at each station."""
    length = np.nan_to_num(np.where(is_cut(motion) & (motion.cutter == cutter),
                                    lengths(motion), 0.0))
    return np.array([length[motion.station == number].sum() for number in range(1, stations + 1)])


def _changed_clear(evidence: Evidence) -> Proof:
    """How far below the safe height the cutter is where another zero comes into force."""
    motion, moves = evidence.motion, evidence.moves
    clear = moves.retract_to if moves is not None else evidence.layout.safe_height
    name = Message("cutter clear where the station changes")
    changed = np.nonzero(
        (motion.station[1:] != motion.station[:-1])
        & (evidence.program_of[1:] == evidence.program_of[:-1])
    )[0]
    if not len(changed):
        return evidence.at_most(CHANGES, name, 0.0, 0.0, "mm")
    below = np.nan_to_num(clear - motion.end[changed, 2], nan=np.inf)
    worst = int(np.argmax(below))
    return evidence.at_most(
        CHANGES, name, max(0.0, float(below[worst])), evidence.increment / 2, "mm",
        int(changed[worst]),
    )


def _said_after_stops(evidence: Evidence) -> Proof:
    """Stops after which the program moves on in whatever zero the control was left with."""
    zeros = evidence.machine.offsets.stations
    silent = []
    for program in evidence.programs:
        stop = 0
        for one in program.told:
            if isinstance(one, Event):
                stop = one.line if one.kind in STOPS else stop
            elif one.kind == "word" and one.text in zeros:
                stop = 0
            elif one.kind == "way" and stop:
                silent.append(Message("{file}, line {line}", file=program.name, line=stop))
                stop = 0
    return evidence.at_most(
        ZERO, Message("zero said again after every stop"), len(silent), 0, "stops",
        where=parted(silent[:3]) if silent else None,
    )


def at_each_station(
    evidence: FlatEvidence, proofs: Callable[[FlatEvidence], Iterable[Proof]]
) -> Iterator[Proof]:
    """Flat work's ``proofs`` in the frame of each station, of each proof the worst.

    With one station they are simply the evidence's own.
    """
    layout = evidence.layout
    if layout.stations == 1:
        yield from proofs(evidence)
        return
    ways: dict[bytes, tuple[int, FlatEvidence]] = {}
    for number in range(1, layout.stations + 1):
        here = _evidence_at(evidence, number)
        if np.any(here.cut):  # one left out is told of by the proof of the stations
            ways.setdefault(_key(here.motion), (number, here))
    if len(ways) <= 1:
        for _, here in ways.values():
            yield from proofs(here)
        return
    worst: dict[ProofId, Proof] = {}
    for number, here in ways.values():
        for proof in proofs(here):
            before = worst.get(proof.id)
            if before is None or (before.holds and not proof.holds):
                where = (Message("{where}, station {number}", where=proof.where, number=number)
                         if proof.where else Message("station {number}", number=number))
                worst[proof.id] = dataclasses.replace(proof, where=where)
    yield from worst.values()


def _evidence_at(evidence: FlatEvidence, number: int) -> FlatEvidence:
    """What is known of one station alone."""
    moves = evidence.moves
    here = evidence.of_programs(
        _moves_at(moves, number) if moves is not None else None,
        [at_station(program, number) for program in evidence.programs])
    # Between its visits the cutter is elsewhere: it comes back from where it left.
    motion = here.motion
    start = np.concatenate((motion.start[:1], motion.end[:-1]))
    return dataclasses.replace(
        here, layout=dataclasses.replace(evidence.layout, stations=1),
        motion=dataclasses.replace(motion, start=start))


def _moves_at(moves: SetupMoves, number: int) -> SetupMoves:
    """What is planned at one station."""
    sections = []
    for section in moves.sections:
        kept, here = [], False
        for move in section.moves:
            if isinstance(move, Station):
                here = move.number == number
            if here:
                kept.append(move)
        sections.append(dataclasses.replace(section, moves=tuple(kept)))
    return dataclasses.replace(moves, sections=tuple(sections))


def _key(motion: Motion) -> bytes:
    """What stations cut alike to the last figure have in common."""
    return b"".join(
        np.round(getattr(motion, one.name).astype(np.float64), 9).tobytes()
        for one in dataclasses.fields(Motion)
        if one.name not in ("line", "station")
    )
