"""A probe by what the programs tell: touched as planned, zeros set by just that, still, slow."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from camgen.messages import Message
from camgen.moves import Touch
from camgen.proof.evidence import Evidence
from camgen.proof.motion.told import Counted, Faults, Parts, walked
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import Event, ReadProgram, Told

__all__ = ["prove_touches"]

TOUCHES = ProofId("motion", "touches")
STILL = ProofId("motion", "spindle-still-with-probe")
SLOW = ProofId("motion", "probe-slow")

_ASKED = (
    Counted(TOUCHES, Message("touches and zeros otherwise than planned"), "touches"),
    Counted(STILL, Message("spindle turning with the probe in it"), "starts"),
)


def prove_touches(evidence: Evidence) -> Iterator[Proof]:
    """Each touch in its order, its zero set at once, the spindle still, and slowly all the way."""
    told = any(isinstance(one, Told) and one.kind in ("touch", "zero")
               for program in evidence.programs for one in program.told)
    if not told and not evidence.probes:
        return
    planned = [] if evidence.moves is None else [
        move for section in evidence.moves.sections for move in section.moves
        if isinstance(move, Touch)]
    walk = _Walk(evidence, planned)

    def over(program: ReadProgram, begun: int, parts: Parts, found: tuple[Faults, ...]) -> None:
        walk.over(parts, *found, last=program is evidence.programs[-1])

    yield from walked(evidence, _ASKED, over)
    yield _slow(evidence)


class _Walk:
    """Goes through what the programs tell, one after another."""

    def __init__(self, evidence: Evidence, planned: list[Touch]) -> None:
        self.evidence = evidence
        self.planned = planned
        self.next = 0
        self.cutter = 0
        self.room = 2 * evidence.increment
        self.owed: Touch | None = None

    def over(self, parts: Parts, touches: Faults, still: Faults, *, last: bool) -> None:
        """All that is amiss in one program."""
        turning, line = 0.0, 1
        for first, until, one in parts:
            if self.owed is not None and until > first and one is not None:
                touches.add(Message("moves on, and the zero is not set by what was touched"),
                            one.line)
                self.owed = None
            if one is None:
                continue
            line = one.line
            if isinstance(one, Event):
                if one.kind == "cutter-change":
                    self.cutter = int(one.value)
                continue
            if one.kind == "spindle":
                turning = one.value
            elif one.kind == "touch":
                self._touch(one, touches)
            elif one.kind == "zero":
                self._zero(one, touches)
            if turning and self.cutter in self.evidence.probes and one.kind in (
                    "spindle", "touch", "way"):
                still.add(Message("the spindle turns at {speed:.0f} rev/min, and the probe is in "
                                  "it", speed=abs(turning)), one.line)
        if self.owed is not None:
            touches.add(Message("ends, and the zero is not set by what was touched"), line)
        if last and self.evidence.moves is not None and self.next < len(self.planned):
            touches.add(Message("{count} touches are planned, and {made} made",
                                count=len(self.planned), made=self.next), line)

    def _touch(self, told: Told, faults: Faults) -> None:
        if self.cutter not in self.evidence.probes:
            faults.add(Message("touches with cutter {cutter}, which is no probe",
                               cutter=self.cutter), told.line)
        wanted = self.planned[self.next] if self.next < len(self.planned) else None
        self.next += 1
        if self.evidence.moves is None:
            return
        if wanted is None or told.text != wanted.axis or told.value != wanted.sign or not (
                abs(told.place["XYZ".index(told.text)] - wanted.to) <= self.room):
            faults.add(
                Message("touches along {axis} at {place:.3f}", axis=told.text,
                        place=told.place["XYZ".index(told.text)]) if wanted is None else
                Message("touches along {axis} at {place:.3f}, and {sign}{wanted} {to:.3f} is "
                        "planned", axis=told.text, place=told.place["XYZ".index(told.text)],
                        sign="+" if wanted.sign > 0 else "-", wanted=wanted.axis, to=wanted.to),
                told.line)
        self.owed = wanted

    def _zero(self, told: Told, faults: Faults) -> None:
        owed, self.owed = self.owed, None
        axis = "XYZ".index(told.text)
        if self.evidence.moves is not None and (owed is None or owed.axis != told.text or not (
                abs(told.place[axis] - owed.to) <= self.room)):
            faults.add(Message("sets the zero of {axis} so that it stands at {place:.3f}, and that "
                               "was not touched", axis=told.text, place=told.place[axis]),
                       told.line)


def _slow(evidence: Evidence) -> Proof:
    """How fast the probe is fed."""
    motion, words = evidence.motion, evidence.machine.probing
    name = Message("feed of the probe")
    mine = np.isin(motion.cutter, evidence.probes)
    fed = np.nonzero(mine & ~np.isnan(motion.feed))[0]
    limit = words.feed if words is not None else 0.0
    worst = int(fed[np.argmax(motion.feed[fed])]) if len(fed) else None
    feed = float(motion.feed[worst]) if worst is not None else 0.0
    # Feeds have so many places: what they are rounded up by.
    rounded = 10.0**-evidence.machine.numbers.feed_decimals * (
        25.4 if evidence.machine.program.units == "inch" else 1.0)
    return evidence.at_most(SLOW, name, max(0.0, feed - rounded), limit, "mm/min", worst)
