"""Is the cutter where the machine file has cutters changed and the work loaded?

The way there is free with Z drawn up in the machine's own coordinates, or across flat work at the
safe height; on the dividing head nothing else will do. Whether a place lies in the frame of the
work is seen in the motion; one in the machine's own coordinates is told, and holds until something
moves again in X, Y or Z.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from camgen.messages import Message
from camgen.proof.evidence import Evidence
from camgen.proof.motion.told import Counted, Faults, Parts, walked, way_out
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import Event, ReadProgram, Told
from camgen.shop.machine import Machine, PlaceToGo

__all__ = ["is_place_to_go", "prove_places"]

CHANGED = ProofId("motion", "changed-at-place")
PARKED = ProofId("motion", "parked")
_ASKED = (
    Counted(CHANGED, Message("cutters changed at their place"), "moves"),
    Counted(PARKED, Message("parked at the end"), "programs"),
)


def is_place_to_go(machine: Machine, told: Told, room: float) -> bool:
    """Whether axes are sent by G53 to one of the machine file's places, to ``room`` mm, X and Y
    alone."""
    return told.text == "G53" and any(
        place is not None and place.counted == "machine" and _sent_there(place, told, room)
        for place in (machine.change.place, machine.retract.park))


def _sent_there(place: PlaceToGo, told: Told, room: float) -> bool:
    wanted = [math.nan, math.nan, math.nan]
    for axis, mm in place.axes:
        wanted[axis] = mm
    return all(
        math.isnan(here) == math.isnan(there) and not abs(here - there) > room
        for here, there in zip(told.place, wanted, strict=True))


def prove_places(evidence: Evidence) -> Iterator[Proof]:
    """Every change at its place, and parked at the end, where the machine file has such places."""
    machine = evidence.machine

    def walk(
        program: ReadProgram, begun: int, parts: Parts, found: tuple[Faults, ...]
    ) -> None:
        _Walk(evidence, begun, *found).over(parts)

    asked = {CHANGED: machine.change.place, PARKED: machine.retract.park}
    if any(asked.values()):
        yield from (proof for proof in walked(evidence, _ASKED, walk)
                    if _wanted(evidence, asked[proof.id]) is not None)


def _wanted(evidence: Evidence, place: PlaceToGo | None) -> PlaceToGo | None:
    """The place as far as this setup goes there: on the head only with Z drawn up, and never where
    the cutter stands below the work."""
    if evidence.layout.infeed == ("+", "Z"):
        return None
    if place is None or way_out(evidence).axis == 2:
        return place
    return place if place.counted == "machine" and evidence.machine.retract.way != "plain" else None


class _Walk:
    """Goes through what one program tells the control."""

    def __init__(self, evidence: Evidence, begun: int, changed: Faults, parked: Faults) -> None:
        self.evidence, self.begun = evidence, begun
        self.machine = evidence.machine
        self.changed, self.parked = changed, parked
        self.way = way_out(evidence)
        self.room = evidence.increment
        self.up = False  # Z drawn up as the machine file has it, and not moved since.
        self.drawn = -1  # The piece by which it was.
        self.sent: Told | None = None
        self.cutter = 0

    def over(self, parts: Parts) -> None:
        """All that is amiss."""
        change = _wanted(self.evidence, self.machine.change.place)
        park = _wanted(self.evidence, self.machine.retract.park)
        for first, until, one in parts:
            self._moved(first, until)
            if one is None:
                continue
            if isinstance(one, Told) and one.kind == "gone":
                self._gone(one)
            elif isinstance(one, Told) and one.kind == "way":
                # What is told before it moves: nothing that was told holds on.
                self.up = self.up and math.isnan(one.place[2])
                self.sent = None
            elif isinstance(one, Event) and one.kind == "cutter-change":
                if change is not None and (self.cutter or self._at_first()):
                    self._look(change, one.line, until, self.changed)
                self.cutter = int(one.value)
            elif isinstance(one, Event) and one.kind == "end" and park is not None:
                self._look(park, one.line, until, self.parked)

    def _moved(self, first: int, until: int) -> None:
        """Pieces made: what was said of the machine's own coordinates holds no longer."""
        motion = self.evidence.motion
        rows = np.arange(first, until)
        if self.sent is not None:
            # The move to the place itself is one of them.
            others = rows[rows != self.sent.before + self.begun]
            self.sent = None if len(others) else self.sent
        rows = rows[rows != self.drawn]
        if len(rows) and (motion.start[rows, 2] != motion.end[rows, 2]).any():
            self.up = False

    def _gone(self, told: Told) -> None:
        retract = self.machine.retract
        axes = {axis for axis in range(3) if not math.isnan(told.place[axis])}
        if axes == {2}:
            word = {"machine": "G53", "reference": "G28"}.get(retract.way, "")
            self.up = told.text == word and (
                word == "G28" or abs(told.place[2] - retract.machine_z) <= self.room)
            self.drawn = told.before + self.begun
            return
        if 2 in axes:
            self.up = False
        self.sent = told

    def _at_first(self) -> bool:
        """Whether the first cutter is fitted at the place too: with Z drawn up at the start."""
        machine = self.machine
        late = self.way.axis != 2 and machine.offsets.length == "touch-off"
        return (machine.retract.way != "plain" and machine.offsets.stands_at is None and not late)

    def _look(self, place: PlaceToGo, line: int, until: int, found: Faults) -> None:
        """Whether it stands there, and came there with the cutter clear."""
        names = " ".join(f"{'XY'[axis]}{mm:g}" for axis, mm in place.axes)
        if place.counted == "machine":
            there = self.sent is not None and self.sent.text == "G53" and _sent_there(
                place, self.sent, self.room)
        else:
            there = until > self.begun and all(
                abs(float(self.evidence.motion.end[until - 1, axis]) - mm) <= self.room
                for axis, mm in place.axes)
        if not there:
            found.add(Message("not at {place}, where the machine file has it", place=names), line)
        elif self.machine.retract.way != "plain":
            if not self.up:
                found.add(Message("at {place}, and Z was not drawn up before", place=names), line)
        elif until > self.begun:
            row = until - 1
            height = self.evidence.motion.start[row, self.way.axis]
            if not self.way.beyond(float(np.nan_to_num(height, nan=math.inf)), self.room):
                found.add(Message("goes to {place} below the safe height", place=names), line)
