"""Thread milling: a right-hand inside thread cut on a helix, from the bottom up.

Going round anticlockwise and up cuts a right-hand thread (the helix rises as a right-hand screw
turns) and climbs, so the chips fall away from the cutter. The centre's circle has the radius
(D − d)/2; it is entered and left on half circles through the hole's middle.
"""

from __future__ import annotations

import math
from typing import ClassVar

from pydantic import Field

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, Refused
from camgen.job.models import StepWords
from camgen.moves import Feed, Move
from camgen.shapes.path import Point, circle
from camgen.shop.model import Length
from camgen.steps.cuts import thread_cut
from camgen.steps.holes import bottom_of, chosen, hole_faults
from camgen.steps.kind import Bench, PlannedStep, StepKind
from camgen.steps.moving import Feeds, above, away, follow, leads, shifted
from camgen.steps.threads import Thread, thread_of

__all__ = ["THREAD_MILL", "ThreadMill"]

# A tapping hole may differ from the minor diameter by so much of the pitch: the crest is then a
# little thin or a little flat. Common practice, no source.
HOLE_SHARE = 0.25


class ThreadMill(StepWords):
    """Mill threads in holes."""

    kind: ClassVar[str] = "thread-mill"
    holes: tuple[str, ...] | None = Field(None, description="names of holes; all when left out")
    thread: str = Field(description="name of the thread, such as S0.8 or M1.6")
    depth: Length | None = Field(None, description="depth of thread; else all of the hole")


def _thread(bench: Bench, words: ThreadMill) -> tuple[Thread | None, list[Fault]]:
    try:
        return thread_of(words.thread), []
    except Refused as no:
        return None, [Fault(f.message, f.remedy, bench.place("thread")) for f in no.faults]


def check(bench: Bench, words: ThreadMill) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need_cutter("thread-mill") + hole_faults(bench, words.holes)
    thread, unknown = _thread(bench, words)
    if thread is None or faults:
        return faults + unknown
    cutter = bench.cutter
    if cutter.pitch is not None and abs(cutter.pitch - thread.pitch) > 1e-6:
        faults.append(
            Fault(
                f"the cutter's pitch is {cutter.pitch:g} mm, that of {thread.name} "
                f"{thread.pitch:g} mm",
                "the cutter of that pitch",
                bench.place("cutter"),
            )
        )
    for hole in chosen(bench.flat, words.holes):
        if abs(hole.diameter - thread.hole) > HOLE_SHARE * thread.pitch:
            faults.append(
                Fault(
                    f"hole {hole.name}, {hole.diameter:g} mm, is none for {thread.name}",
                    f"a hole of {thread.hole:.3f} mm",
                    bench.place("thread"),
                )
            )
        if cutter.diameter >= hole.diameter:
            faults.append(
                Fault(
                    f"a thread mill of {cutter.diameter:g} mm does not go into hole {hole.name}, "
                    f"{hole.diameter:g} mm",
                    "a smaller one",
                    bench.place("cutter"),
                )
            )
        faults += bottom_of(bench, hole)[1]
    return list(dict.fromkeys(faults))


def plan(bench: Bench, words: ThreadMill) -> PlannedStep:
    """Each hole in turn."""
    layout = bench.flat
    thread = thread_of(words.thread)
    cut = thread_cut(bench, thread.diameter)
    one: list[Move] = []
    for hole in chosen(layout, words.holes):
        bottom = bottom_of(bench, hole)[0]
        if words.depth is not None:
            bottom = max(bottom, layout.top - words.depth)
        one += _one(bench, thread, Point(hole.x, hole.y), bottom, cut)
    moves = away(layout)
    for x, y in layout.places:
        moves += shifted(one, x, y)
    remarks = (
        f"{thread.name}: right-hand thread, pitch {thread.pitch:g} mm, in a hole of "
        f"{thread.hole:.3f} mm; try it with the screw or a plug gauge",
    )
    return PlannedStep(bench.section("thread", cut.speed, moves), cut, remarks)


def _one(
    bench: Bench, thread: Thread, centre: Point, bottom: float, cut: CutPlan
) -> list[Move]:
    """Down the middle, out to the thread, up its turns, back to the middle."""
    layout = bench.flat
    radius = (thread.diameter - bench.cutter.diameter) / 2
    # The planner's feed is already that of the centre on this circle.
    feeds = Feeds.on(bench.machine, cut.feed, cut.plunge_feed, 0.0)
    ring = circle(centre, radius)
    onto, off = leads(ring, True, radius / 2, radius)
    turns = math.ceil((layout.top - bottom) / thread.pitch - 1e-9) + 1
    moves = above(layout, centre)
    moves.append(Feed(feeds.straight, z=bottom))
    moves += follow(onto, feeds, wall_on_right=True)
    for turn in range(turns):
        low = bottom + turn * thread.pitch
        rise = ((0.0, low), (ring.length, low + thread.pitch))
        moves += follow(ring, feeds, wall_on_right=True, heights=rise)
    moves += follow(off, feeds, wall_on_right=True)
    return moves + away(layout)


THREAD_MILL = StepKind("thread-mill", ThreadMill, "flat", check, plan)
