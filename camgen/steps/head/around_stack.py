"""A disc cutter coming along the arbor, against what stands before and behind the stack."""

from __future__ import annotations

import math

from camgen.faults import Fault, no_more
from camgen.job.on_arbor import Turned
from camgen.layout import ToothLayout, place_of
from camgen.messages import Message
from camgen.steps.kind import HeadBench
from camgen.values import dataclass

__all__ = ["BENEATH", "Sweep", "chord_reach", "standing_faults"]

# A thing may pass under the cutter's lowest point with so much between them, mm: what sizes taken
# with a caliper and an arbor that does not run quite true may be off. Common practice, no source.
BENEATH = 0.02


def chord_reach(depth: float, radius: float) -> float:
    """√(h(2r − h)): how far before and behind its axis a disc of ``radius`` is at ``depth``, mm.

    >>> round(chord_reach(0.444, 10.0), 3)
    2.947
    """
    return math.sqrt(max(0.0, depth * (2 * radius - depth)))


@dataclass(frozen=True)
class Sweep:
    """A disc of ``radius`` whose axis goes along the arbor from ``start`` to ``stop``, its edge
    down to ``lowest`` mm from the arbor's axis, and comes straight out at both ends.
    """

    radius: float
    start: float
    stop: float
    lowest: float

    def half(self, away: float) -> float:
        """Half the width of what the disc passes, ``away`` mm from the arbor's axis."""
        over = away - self.lowest
        # Where it comes straight out it passes its whole width at every height above its middle.
        return self.radius if over >= self.radius else chord_reach(over, self.radius)

    def room(self, body: Turned) -> float:
        """The least room along the arbor between the disc and a body; inf where it passes below.

        Negative where the disc would pass through it.
        """
        rooms = [math.inf]
        for part in body.slices():
            if part.radius + BENEATH <= self.lowest:
                continue
            half = self.half(part.radius)
            rooms.append(max(self.start - half - part.end, part.begin - self.stop - half))
        return min(rooms)


def standing_faults(bench: HeadBench, sweep: Sweep) -> list[Fault]:
    """The cutter must pass nothing before or behind the stack but what is lower than its groove."""
    layout = bench.layout
    return [
        fault
        for word, bodies in (("front", layout.before), ("behind", layout.behind))
        for body in bodies
        for fault in _standing(bench, layout, sweep, word, body)
    ]


def _standing(
    bench: HeadBench, layout: ToothLayout, sweep: Sweep, word: str, body: Turned
) -> list[Fault]:
    room = sweep.room(body)
    if room >= layout.clearance - 1e-9:
        return []
    half = sweep.half(body.radius)
    if word == "front":
        there, reaches = -body.end, half - sweep.start
    else:
        there, reaches = body.begin - layout.stack_to, sweep.stop + half - layout.stack_to
    off = math.ceil((reaches + layout.clearance) * 10) / 10
    lower = 2 * (sweep.lowest - BENEATH)
    wide, away = 2 * body.radius, abs(there)
    if word == "front":
        message = Message(
            "the cutter would pass through the {body} before the stack, {wide:g} mm in diameter "
            "and {away:.2f} mm before the free face: at that height it reaches {reaches:.2f} mm "
            "before the free face", body=body.called, wide=wide, away=away, reaches=reaches)
        remedy = Message("let it stand {off:g} mm or more before the free face, or take a smaller "
                         "cutter", off=off)
    else:
        message = Message(
            "the cutter would pass through the {body} behind the stack, {wide:g} mm in diameter "
            "and {away:.2f} mm behind the blanks: at that height it reaches {reaches:.2f} mm "
            "behind the blanks", body=body.called, wide=wide, away=away, reaches=reaches)
        remedy = Message("let it stand {off:g} mm or more behind the blanks, or take a smaller "
                         "cutter", off=off)
    if lower > 0:
        remedy = Message(
            "make it at most {most} mm wide; or {remedy}; what stands between must be no thicker "
            "than that either", most=no_more(lower, 0.01), remedy=remedy)
    named = "tailstock" if body.name.startswith("tailstock") else word
    return [
        Fault(
            message,
            remedy,
            place_of(bench.job, bench.setup, "dividing", named),
        )
    ]
