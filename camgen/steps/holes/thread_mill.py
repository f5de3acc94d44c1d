"""Thread milling: a right-hand inside thread cut on a helix, from the bottom up.

Going round anticlockwise and up cuts a right-hand thread (the helix rises as a right-hand screw
turns) and climbs, so the chips fall away from the cutter. The centre's circle has the radius
(D − d)/2; it is entered and left on half circles through the hole's middle.
"""

import math
from typing import ClassVar

from pydantic import Field

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, Refused, no_more
from camgen.job.models import StepWords
from camgen.messages import Message
from camgen.moves import Feed, Move
from camgen.part.declaration import Declaration, FindsHoles, MakesThreads, Named
from camgen.part.features import Hole
from camgen.shapes.path import Point, circle
from camgen.shop.cutters import Ability
from camgen.shop.model import Length
from camgen.shop.threads import ScrewThread, thread_of
from camgen.steps.cuts import thread_cut
from camgen.steps.holes.which_holes import (
    bottom_of,
    holes_chosen,
    names_without_hole,
    partly_threaded,
    shortest_way_round,
)
from camgen.steps.kind import FlatBench, PlannedStep, StepKind
from camgen.steps.moving import Feeds, above, away, follow, leads, shifted

__all__ = ["THREAD_MILL", "ThreadMill"]


class ThreadMill(StepWords):
    """Mill the threads that the plate says are in its holes."""

    kind: ClassVar[str] = "thread-mill"
    called: ClassVar[Message] = Message("thread mill")
    holes: tuple[str, ...] | None = Field(
        None, description="names of holes; all with the cutter's thread when left out"
    )
    thread: str = Field(description="the thread to mill, such as S0.8 or M1.6")
    depth: Length | None = Field(None, description="depth of thread; else all of the hole")

    def declares(self) -> Declaration:
        """Threads, in holes of the size that they shall have."""
        holes = Named(self.holes)
        return Declaration(
            (MakesThreads(holes, self.thread, self.depth, round=True),),
            (Ability.MILL_THREAD,),
            (FindsHoles(holes, "hole", depth=self.depth),),
        )


def _meant(bench: FlatBench, words: ThreadMill, thread: ScrewThread) -> tuple[Hole, ...]:
    return tuple(
        hole
        for hole in holes_chosen(bench.layout, words.holes)
        if words.holes is not None or _has(bench, hole, thread)
    )


def _has(bench: FlatBench, hole: Hole, thread: ScrewThread) -> bool:
    """Whether a hole shall have that thread."""
    own = bench.layout.part.thread_in(hole)
    return own is not None and thread.cuts(own.diameter, own.pitch)


def check(bench: FlatBench, words: ThreadMill) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need() + names_without_hole(bench, words.holes)
    try:
        thread = thread_of(words.thread)
    except Refused as no:
        return faults + [Fault(f.message, f.remedy, bench.place("thread")) for f in no.faults]
    if faults:
        return faults
    cutter, holes = bench.cutter, _meant(bench, words, thread)
    if not holes:
        faults.append(
            Fault(
                Message("no hole has a thread {thread}", thread=thread.name),
                Message("give holes of {size:.3f} mm their `thread: {thread}`", size=thread.hole,
                        thread=thread.name),
                bench.place("thread"),
            )
        )
    if cutter.pitch is not None and abs(cutter.pitch - thread.pitch) > 1e-6:
        faults.append(
            Fault(
                Message("the cutter's pitch is {pitch:g} mm, that of {thread} {wanted:g} mm",
                        pitch=cutter.pitch, thread=thread.name, wanted=thread.pitch),
                Message("the cutter of that pitch"),
                bench.place("cutter"),
            )
        )
    for hole in holes:
        if not _has(bench, hole, thread):
            faults.append(
                Fault(
                    Message("hole {hole} has no thread {thread}", hole=hole.name,
                            thread=thread.name),
                    Message("give it its `thread: {thread}`", thread=thread.name),
                    bench.place("holes"),
                )
            )
        elif cutter.diameter >= hole.diameter:
            faults.append(
                Fault(
                    Message("a thread mill of {cutter:g} mm does not go into hole {hole}, "
                            "{diameter:g} mm", cutter=cutter.diameter, hole=hole.name,
                            diameter=hole.diameter),
                    Message("a smaller one"),
                    bench.place("cutter"),
                )
            )
        faults += bottom_of(bench, hole)[1] + _depth(bench, words, hole)
    return list(dict.fromkeys(faults))


def _depth(bench: FlatBench, words: ThreadMill, hole: Hole) -> list[Fault]:
    """A thread deeper than its hole, or that ends within the cone at its mouth."""
    if words.depth is None:
        return []
    layout = bench.layout
    whole = layout.thickness if hole.depth is None else hole.depth
    thread = layout.part.thread_in(hole)
    wide = layout.part.cone_width(hole)
    # Cones of 90 degrees unless their cutter is another, which is told with it.
    cone = max(0.0, wide - (thread.diameter if thread else hole.diameter)) / 2
    if words.depth > whole + 1e-9:
        return [Fault(
            Message("a thread {depth:g} mm deep in hole {hole}, which is {whole:g} mm deep",
                    depth=words.depth, hole=hole.name, whole=whole),
            Message("depth: {most} or less, or leave it out for all of the hole",
                    most=no_more(whole)), bench.place("depth"))]
    if words.depth <= cone + 1e-9:
        return [Fault(
            Message("a thread {depth:g} mm deep in hole {hole} ends in the cone at its mouth, "
                    "which is {cone:.3g} mm deep", depth=words.depth, hole=hole.name, cone=cone),
            Message("deeper, or leave depth: out for all of the hole"), bench.place("depth"))]
    return []


def plan(bench: FlatBench, words: ThreadMill) -> PlannedStep:
    """Each hole in turn."""
    layout = bench.layout
    thread = thread_of(words.thread)
    cut = thread_cut(bench, thread.diameter)
    one: list[Move] = []
    for hole in shortest_way_round(bench, _meant(bench, words, thread)):
        bottom = bottom_of(bench, hole)[0]
        if words.depth is not None:
            bottom = max(bottom, layout.face - words.depth)
        one += _one(bench, thread, Point(hole.x, hole.y), bottom, cut)
    moves = away(layout)
    for x, y in layout.places:
        moves += shifted(one, x, y)
    remarks = (
        Message("{name}: right-hand thread, pitch {pitch:g} mm, in a hole of {hole:.3f} mm; try "
                "it with the screw or a plug gauge", name=thread.name, pitch=thread.pitch,
                hole=thread.hole),
    )
    notes = partly_threaded(layout, _meant(bench, words, thread),
                            lambda hole: words.depth or hole.depth or layout.thickness)
    return PlannedStep(bench.section(Message("thread"), cut.speed, moves), cut, remarks,
                       notes=notes)


def _one(
    bench: FlatBench, thread: ScrewThread, centre: Point, bottom: float, cut: CutPlan
) -> list[Move]:
    """Down the middle, out to the thread, up its turns, back to the middle."""
    layout = bench.layout
    radius = (thread.diameter - bench.cutter.diameter) / 2
    # The planner's feed is already that of the centre on this circle.
    feeds = Feeds.on(bench.machine, cut.feed, cut.plunge_feed, 0.0)
    ring = circle(centre, radius)
    onto, off = leads(ring, True, radius / 2, radius)
    turns = math.ceil((layout.face - bottom) / thread.pitch - 1e-9) + 1
    moves = above(layout, centre)
    moves.append(Feed(feeds.straight, z=bottom))
    moves += follow(onto, feeds, wall_on_right=True)
    for turn in range(turns):
        low = bottom + turn * thread.pitch
        rise = ((0.0, low), (ring.length, low + thread.pitch))
        moves += follow(ring, feeds, wall_on_right=True, heights=rise)
    moves += follow(off, feeds, wall_on_right=True)
    return moves + away(layout)


THREAD_MILL = StepKind("thread-mill", ThreadMill, check, plan)
