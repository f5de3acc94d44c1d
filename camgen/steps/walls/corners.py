"""What is told of corners of a wall that a step's cutter does not get into."""

from __future__ import annotations

import math
from collections.abc import Sequence

from camgen.faults import Fault
from camgen.job.order.corners_made import corners_made
from camgen.messages import Message, counted
from camgen.part.tight import TightCorner
from camgen.steps.kind import FlatBench
from camgen.tolerances import LEAST_INCREMENT, ROUNDING

__all__ = ["corner_faults", "left_notes"]

# So many corners of one sort are told one by one, and of more so many places.
TOLD = 4


def left_notes(bench: FlatBench) -> tuple[Message, ...]:
    """What is told of the corners that a step leaves to a file."""
    own = bench.cutter.diameter / 2
    corners = [one.corner for one, wall in corners_made((bench.words,), bench.layout.part)
               if abs(one.corner.radius - own - max(wall, 0.0)) < ROUNDING]
    if not corners:
        return ()
    most = max(corners, key=lambda one: one.left)
    return (counted(
        "{n} corner is left to a file: {left:.3f} mm from the corner to the round of the cutter, "
        "at X {x:.3f} Y {y:.3f}",
        "{n} corners are left to a file: at the most {left:.3f} mm from the corner to the round of "
        "the cutter, at X {x:.3f} Y {y:.3f}", len(corners), left=most.left, x=most.at.x,
        y=most.at.y),)


def corner_faults(
    bench: FlatBench, corners: Sequence[TightCorner], correction: float = 0.0
) -> list[Fault]:
    """A fault for each corner, named with the largest cutter that gets in; many of one sort are
    said once, with their count and the first of their places. ``correction`` as asked, mm."""
    faults: list[Fault] = []
    sharp = [one for one in corners if not one.radius and not one.in_lines]
    bent = [one for one in corners if one.radius]
    lines = [one for one in corners if one.in_lines]
    for several in (sharp, bent, lines):
        if len(several) <= TOLD:
            faults += [_fault(bench, one, correction) for one in several]
        else:
            faults.append(_summed_up(bench, several, correction))
    return faults


def _fault(bench: FlatBench, corner: TightCorner, correction: float) -> Fault:
    what, remedy = _told(corner, correction)
    return Fault(
        Message("the corner at X {x:.3f} Y {y:.3f} {what}: a cutter of {diameter:g} mm does not "
                "get into it", x=corner.at.x, y=corner.at.y, what=what,
                diameter=bench.cutter.diameter), remedy, bench.place("cutter"))


def _summed_up(bench: FlatBench, corners: Sequence[TightCorner], correction: float) -> Fault:
    """More corners of one sort than are told one by one."""
    tightest = min(corners, key=lambda one: one.radius)
    what, remedy = _told(tightest, correction)
    places = tuple(Message("X {x:.3f} Y {y:.3f}", x=one.at.x, y=one.at.y)
                   for one in corners[:TOLD])
    return Fault(
        Message("a cutter of {diameter:g} mm does not get into {count} corners, at {places} and so "
                "on: the tightest {what}", diameter=bench.cutter.diameter, count=len(corners),
                places=places, what=what),
        remedy, bench.place("cutter"))


def _told(corner: TightCorner, correction: float) -> tuple[Message, Message]:
    """What a corner is like, and what to do."""
    if corner.in_lines:
        return (Message("lies in a curve of short lines tighter than the cutter is wide"),
                Message("draw that curve as arcs, or a smaller cutter"))
    if not corner.radius and corner.is_gap:
        return Message("is a gap that closes at {angle:.0f}°", angle=corner.opening), Message(
            "give the corner a radius: in so narrow a gap more would be left than a corner")
    if not corner.radius:
        return Message("is sharp"), Message(
            "give the corner a radius, or say `inside-corners: left` to file it by hand")
    most = 2 * (corner.radius - max(correction, 0.0))
    remedy = (Message("a cutter of at most {most:g} mm, or a larger corner radius",
                      most=math.floor(1000 * most + 1e-6) / 1000)
              if most > LEAST_INCREMENT else Message("a larger corner radius"))
    if correction <= 0:
        return Message("has a radius of {radius:g} mm", radius=corner.radius), remedy
    return Message("has a radius of {radius:g} mm and the correction is {correction:g} mm",
                   radius=corner.radius, correction=correction), remedy
