"""Where hands go in: spindle still, coolant off, the cutter drawn back; and up to speed after.

Before the first block nobody knows whether the spindle turns or coolant runs. A stop ends both on
many controls and on others neither, so that after it they are said again.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from camgen.messages import Message
from camgen.proof.evidence import Evidence
from camgen.proof.motion.told import Counted, Faults, Parts, level, skipped, walked, way_out
from camgen.proof.path import is_cut
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import Event, Kind, ReadProgram, Told
from camgen.shop.machine import HandHead
from camgen.values import dataclass

__all__ = ["prove_hands"]


STILL = ProofId("motion", "spindle-still")
COOLANT = ProofId("motion", "coolant-off")
DRAWN = ProofId("motion", "drawn-back-at-stops")
SPEED = ProofId("motion", "up-to-speed")

_ASKED = (
    Counted(STILL, Message("spindle still where hands go in"), "stops"),
    Counted(COOLANT, Message("coolant off where hands go in"), "stops"),
    Counted(DRAWN, Message("cutter drawn back where hands go in"), "stops"),
    Counted(SPEED, Message("spindle up to speed before the cutter comes near"), "starts"),
)


@dataclass(frozen=True)
class _Found:
    """What is amiss in one program, by proof, in the order of those asked."""

    spindle: Faults
    coolant: Faults
    drawn: Faults
    waits: Faults


def prove_hands(evidence: Evidence) -> Iterator[Proof]:
    """Spindle, coolant and cutter at every stop and change; the waits after every start."""
    def walk(
        program: ReadProgram, begun: int, parts: Parts, found: tuple[Faults, ...]
    ) -> None:
        _Walk(evidence, begun, skipped(program), _Found(*found)).over(parts)

    yield from walked(evidence, _ASKED, walk)


# Where hands go in, or may think they do.
_STOPS = Message("the program stops")
_CHANGED = Message("a cutter is changed")
_ONLY_TURNS = Message("the head only turns, as if the spindle were off")


class _Walk:
    """Goes through what one program tells the control; spindle nan where not known."""

    def __init__(
        self, evidence: Evidence, begun: int, left_out: frozenset[int], found: _Found
    ) -> None:
        self.evidence = evidence
        self.found = found
        self.machine = evidence.machine
        self.begun = begun
        self.left_out = left_out
        self.way = way_out(evidence)
        self.room = evidence.room
        self.speed = math.nan
        self.wait, self.waited = 0.0, 0.0
        self.started = 0
        self.coolant = "not known" if self._fitted() else "off"
        self.at_knob = self.at_head = False
        # Hands are in since a stop, nothing has moved; and the line where the spindle starts then.
        self.hands_in, self.idle = False, 0
        self.up = False
        self.gone: set[int] = set()
        planned = evidence.planned
        self.dry = planned is not None and not is_cut(planned.motion).any()

    def _fitted(self) -> bool:
        return bool(self.machine.coolant.flood or self.machine.coolant.air)

    def over(self, parts: Parts) -> None:
        """All that is amiss."""
        for first, until, one in parts:
            if until > first:
                self._pieces(first, until)
            if isinstance(one, Event):
                self._event(one, until - 1 if until > self.begun else -1)
            elif one is not None:
                self._told(one, until)

    def _pieces(self, first: int, until: int) -> None:
        motion = self.evidence.motion
        rows = np.arange(first, until)
        # A turn by hand counts as a piece too, and moves nothing by itself.
        if not isinstance(self.machine.dividing, HandHead) or (
                motion.kind[rows] != Kind.INDEX).any():
            self.hands_in, self.idle = False, 0
        if self.up:
            deep = (motion.end[rows, 2] != motion.start[rows, 2]) & ~np.isin(rows, list(self.gone))
            self.up = not bool(deep.any())
        if self.dry and self.speed and self.machine.spindle_words.by_program:
            turns = rows[motion.kind[rows] == Kind.INDEX]
            if len(turns):
                self._still(_ONLY_TURNS, int(motion.line[turns[0]]))
        if not (self.wait or math.isnan(self.speed)):
            return
        near = self.evidence.cut[rows].copy()
        if self.wait and not math.isnan(self.way.to):
            inside = (motion.end[rows, self.way.axis] - self.way.to) * self.way.outward
            near |= inside < -self.room
        if not near.any():
            return
        line = int(motion.line[rows[np.argmax(near)]])
        if self.wait:
            self.found.waits.add(
                Message("comes near without a wait of {wait:g} s after the spindle's start in line "
                        "{started}", wait=self.wait, started=self.started), line)
        elif self.machine.spindle_words.by_program:
            self.found.waits.add(Message("cuts, and whether the spindle turns is not known"), line)
        self.wait = 0.0
        self.speed = 0.0 if math.isnan(self.speed) else self.speed

    def _told(self, told: Told, row: int) -> None:
        if told.kind in ("gone", "way"):
            self.hands_in, self.idle = False, 0
        if told.kind == "spindle":
            self._spindle(told)
        elif told.kind == "gone":
            self.gone.add(row)
            # Where Z is sent along, it goes up (placing reads any other as a fault).
            self.up = self.up or not math.isnan(told.place[2])
        elif told.kind == "way" and not math.isnan(told.place[2]):
            self.up = False

    def _spindle(self, told: Told) -> None:
        words, spindle = self.machine.spindle_words, self.machine.spindle
        if told.value and self.hands_in:
            self.idle = told.line
        if self.wait and told.value not in (0.0, self.speed) and told.line != self.started:
            self.found.waits.add(
                Message("another speed without a wait of {wait:g} s after the start in line "
                        "{started}", wait=self.wait, started=self.started), told.line)
        if told.text == "by hand":
            self.at_knob = True
        elif told.value and told.value != self.speed and words.dwell:
            reversed_ = self.speed * told.value < 0 and spindle.reversal_seconds
            self.wait, self.waited = float(reversed_ or spindle.start_seconds), 0.0
            self.started = told.line
        if not told.value:
            self.wait = 0.0
        self.speed = told.value

    def _event(self, event: Event, row: int) -> None:
        if event.kind == "dwell":
            # Two waits one after the other are as long as both.
            self.waited += event.value
            if self.waited >= self.wait - 1e-6:
                self.wait = 0.0
        elif event.kind == "coolant":
            self.coolant = "off" if event.text.endswith("off") else "on"
        elif event.kind == "hand-index":
            self.at_head = True
        elif event.kind == "cutter-change":
            self._change(event, row)
        elif event.kind in ("stop", "optional-stop"):
            self._stop(event, row)

    def _stop(self, event: Event, row: int) -> None:
        sure = event.kind == "stop" and event.line not in self.left_out
        if sure and not self.at_knob:
            if self.idle:
                self.found.spindle.add(
                    Message("the spindle is started in line {line}, between two stops with nothing "
                            "moved: hands may still be in", line=self.idle), event.line)
            self.hands_in, self.idle = True, 0
        if sure and not self.at_knob:
            self._still(_STOPS, event.line)
        if sure and (not self.at_knob or self.at_head):
            if self.coolant != "off":
                self.found.coolant.add(
                    Message("coolant is on where the program stops") if self.coolant == "on"
                    else Message("coolant is not known where the program stops"), event.line)
            if not self.at_head:
                self._clear(_STOPS, event.line, row, planned=True)
        if not self.at_knob and self.speed and self.machine.spindle_words.by_program:
            self.speed = math.nan
        self.at_knob = self.at_head = False

    def _still(self, where: Message, line: int) -> None:
        """The spindle stands: by word, or by the hand that has its knob."""
        by_program = self.machine.spindle_words.by_program
        if self.speed and (by_program or not math.isnan(self.speed)):
            self.found.spindle.add(
                Message("whether the spindle still turns is not known where {where}", where=where)
                if math.isnan(self.speed)
                else Message("the spindle turns at {speed:.0f} rev/min where {where}",
                             speed=abs(self.speed), where=where), line)

    def _change(self, event: Event, row: int) -> None:
        change, retract = self.machine.change, self.machine.retract
        if change.way == "one-program-each" and row < 0:
            return
        self._still(_CHANGED, event.line)
        # At the head the zero of the infeed may only be set at this stop: nothing has moved yet.
        at_start = row < 0 and self.way.axis != 2
        below = self.way.axis == 2 and self.way.outward < 0
        if not below and retract.way != "plain" and not self.up and not at_start:
            self.found.drawn.add(Message("a cutter is changed, and Z was not drawn up before"),
                                 event.line)
        self._clear(_CHANGED, event.line, row, planned=False)
        self.wait = 0.0
        if change.way == "automatic":
            self.speed = 0.0

    def _clear(self, where: Message, line: int, row: int, *, planned: bool) -> None:
        """Drawn back along the way out; a planned pause may stop nearer, off the work."""
        if row < self.begun or (self.up and self.way.axis == 2):
            return
        if planned and not self.evidence.cut[row]:
            return
        at = level(self.evidence, row, self.way.axis)
        if not self.way.beyond(at, self.room):
            self.found.drawn.add(
                Message("{where} with the cutter at {axis} {at:.3f}, not drawn back", where=where,
                        axis="XYZ"[self.way.axis], at=at), line)
