"""Tapping: a thread cut by a tap in a holder that gives along its length.

Nothing ties the spindle's turning to the axis, so the feed is the pitch times the speed and the
holder takes up the rest. At the bottom the axis stands while the spindle is turned the other way:
meanwhile the tap goes on by itself, and back again; where one of the two takes longer it hangs
behind by as much. So it is drawn out by as much farther before it is turned back, and waits there.
"""

from typing import ClassVar

from pydantic import Field

from camgen.faults import Fault, Refused, no_less
from camgen.job.models import StepWords
from camgen.messages import Message
from camgen.part.declaration import Declaration, FindsHoles, MakesThreads, Named
from camgen.part.features import Hole, Thread
from camgen.shop.cutters import Ability
from camgen.shop.model import Length, LengthOrZero
from camgen.steps.cuts import tapping
from camgen.steps.holes.drill import drilled_to
from camgen.steps.holes.which_holes import (
    beneath_closed,
    bottom_of,
    drill_strokes,
    drilled_in,
    holes_chosen,
    names_without_hole,
    partly_threaded,
    unusual_for_thread,
)
from camgen.steps.kind import FlatBench, PlannedStep, StepKind

__all__ = ["TAP", "Tap", "lead_of", "run_on"]

# The tapered lead of a plug tap in pitches; and what stays free below a tap in a hole with a floor,
# for its chips, in pitches. Common practice, no source.
LEAD_PITCHES = 3.0
ROOM_PITCHES = 1.0


class Tap(StepWords):
    """Tap the holes that the plate says have the tap's thread."""

    kind: ClassVar[str] = "tap"
    called: ClassVar[Message] = Message("tap")
    holes: tuple[str, ...] | None = Field(
        None, description="names of holes; all with the tap's thread when left out"
    )
    depth: Length | None = Field(
        None, description="depth of full thread; else all of a hole through, and all that can be "
        "had of another"
    )
    lead: LengthOrZero | None = Field(
        None, description="length of the tap's tapered lead; else three pitches"
    )
    holder_gives: Length = Field(
        description="how far the tap's holder gives along its length, out of its rest"
    )

    def declares(self) -> Declaration:
        """Threads of the tap's own size, in holes of the size that they shall have."""
        holes = Named(self.holes)
        deep = None if self.depth is None else self.depth + (self.lead or 0.0)
        return Declaration(
            (MakesThreads(holes, None, self.depth, self.lead),),
            (Ability.TAP,),
            (FindsHoles(holes, "hole", depth=deep),),
        )


def run_on(rpm: float, seconds: float, pitch: float) -> float:
    """How far a tap goes on while the spindle comes to a stop on its way to the other sense, mm.

    In half of the time of a reversal, slowing down evenly, it makes n · t/2 · 1/2 turns (geometry).

    >>> run_on(600.0, 0.5, 0.25)
    0.3125
    """
    return rpm / 60.0 * seconds / 4.0 * pitch


def lead_of(lead: float | None, pitch: float) -> float:
    """Length of a tap's lead, mm: as given, else three pitches."""
    return LEAD_PITCHES * pitch if lead is None else lead


def _meant(bench: FlatBench, words: Tap) -> tuple[Hole, ...]:
    return tuple(
        hole for hole in holes_chosen(bench.layout, words.holes)
        if words.holes is not None or _its_thread(bench, hole)
    )


def _its_thread(bench: FlatBench, hole: Hole) -> bool:
    pitch = bench.cutter.pitch or 0.0
    thread = bench.layout.part.thread_in(hole)
    return (thread is not None and abs(thread.diameter - bench.cutter.diameter) < 1e-6
            and abs(thread.pitch - pitch) < 1e-6)


def _said(thread: Thread | None) -> Message:
    """What the job says of a hole's thread."""
    if thread is None:
        return Message("has no thread")
    return Message("has a thread of {diameter:g} mm with pitch {pitch:g} mm",
                   diameter=thread.diameter, pitch=thread.pitch)


def check(bench: FlatBench, words: Tap) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need() + names_without_hole(bench, words.holes)
    if bench.machine.spindle.reversal_seconds is None:
        faults.append(
            Fault(
                Message("the machine file {machine} does not say that its spindle may be reversed "
                        "with a tap in the work", machine=bench.machine.name),
                Message("`thread-mill` the holes, or tap them by hand and leave this step out; "
                        "where it can, say {words} in the machine file",
                        words="spindle: {reversal-seconds: …}"),
                bench.place(),
            )
        )
    cutter = bench.cutter
    if faults or cutter.pitch is None:
        return faults
    holes = _meant(bench, words)
    if not holes:
        faults.append(
            Fault(
                Message("no hole has a thread of {diameter:g} mm and pitch {pitch:g} mm",
                        diameter=cutter.diameter, pitch=cutter.pitch),
                Message("give holes their `thread:`"),
                bench.place("cutter"),
            )
        )
    faults += [
        Fault(
            Message("the tap cuts {diameter:g} mm with pitch {pitch:g} mm, hole {hole} {said}",
                    diameter=cutter.diameter, pitch=cutter.pitch, hole=hole.name,
                    said=_said(bench.layout.part.thread_in(hole))),
            Message("the tap of its thread, or give the hole its `thread:`"),
            bench.place("holes" if words.holes is not None else "cutter"),
        )
        for hole in holes if not _its_thread(bench, hole)
    ]
    return faults


def _bottom(bench: FlatBench, words: Tap, hole: Hole, further: float) -> float:
    """The Z at which the axis stands while the tap goes ``further`` by itself, mm.

    Raises Refused where the tap would meet a floor, or have no full thread behind its lead.
    """
    layout, pitch = bench.layout, bench.cutter.pitch or 0.0
    lead = lead_of(words.lead, pitch)
    faults: list[Fault] = []
    if words.depth is not None:
        axis = layout.face - words.depth - lead
    elif hole.depth is None:
        tip, faults = bottom_of(bench, hole, lead + further)
        axis = tip + further
    else:
        axis = layout.face - hole.depth + ROOM_PITCHES * pitch + further
    tip = axis - further
    ground = [layout.floor] if hole.depth is None else [layout.face - hole.depth]
    drilled = drilled_to(bench, hole)
    if drilled is not None:
        ground.append(drilled)
    if not faults and tip < max(ground) - 1e-9:
        faults.append(
            Fault(
                Message("the tap would go {deep:.2f} mm deep in {hole}: its lead of {lead:.2f} and "
                        "{further:.2f} mm while the spindle is reversed; the hole is open for "
                        "{open:.2f} mm", deep=layout.face - tip, hole=hole.name, lead=lead,
                        further=further, open=layout.face - max(ground)),
                Message("drill it with depth: {depth} where that may be cut into, or a smaller "
                        "`depth`, a tap with a shorter lead, a slower `speed`",
                        depth=no_less(layout.face - tip + 0.05, 0.01)),
                bench.place("depth" if words.depth is not None else "cutter"),
            )
        )
    if not faults:
        faults += beneath_closed(
            bench, hole, tip, bench.place("depth" if words.depth is not None else "cutter"),
            drilled)
    if not faults and layout.face - axis - lead < pitch:
        faults.append(
            Fault(
                Message("of the thread in {hole} no more than {full:.2f} mm would be full",
                        hole=hole.name, full=layout.face - axis - lead),
                Message("a deeper hole, or a tap with a shorter lead"),
                bench.place("cutter"),
            )
        )
    if faults:
        raise Refused(faults)
    return axis


def plan(bench: FlatBench, words: Tap) -> PlannedStep:
    """A stroke down and, the spindle the other way round, up again at each hole."""
    layout, cutter = bench.layout, bench.cutter
    pitch, seconds = cutter.pitch or 0.0, bench.machine.spindle.reversal_seconds or 0.0
    fastest = words.holder_gives / run_on(1.0, seconds, pitch)
    if max(words.speed or 0.0, bench.machine.spindle.lowest) > fastest:
        raise Refused(
            Fault(
                Message("the holder gives {gives:g} mm, and a spindle that needs {seconds:g} s to "
                        "be reversed may turn no faster than {fastest:.0f} rev/min with this tap",
                        gives=words.holder_gives, seconds=seconds, fastest=fastest),
                Message("a holder that gives more, a slower `speed`, or `thread-mill`"),
                bench.place("holder-gives"),
            )
        )
    holes = _meant(bench, words)
    lead = lead_of(words.lead, pitch)
    deep = words.depth or max(
        (layout.thickness if hole.depth is None else hole.depth - lead) for hole in holes)
    wide = drilled_in(bench, None, holes) or min(hole.diameter for hole in holes)
    cut = tapping(bench, deep, fastest, wide)
    further = run_on(cut.speed, seconds, pitch)
    bottoms = {hole.name: _bottom(bench, words, hole, further) for hole in holes}
    if layout.safe_height < layout.face + further:
        raise Refused(Fault(
            Message("while the spindle is reversed the tap goes on by {further:.2f} mm, and the "
                    "safe height is {safe:g} mm above the work: it would not be out of the thread "
                    "when it is turned back", further=further,
                    safe=layout.safe_height - layout.face),
            Message("safe-height: {least} or more, or a slower `speed`",
                    least=no_less(layout.face + further - layout.top, 0.1)), bench.place()))
    moves = drill_strokes(
        bench, holes, cut.feed, lambda hole: bottoms[hole.name], feed_out=True, reverses=True,
        further=further,
    )
    remarks = (
        Message("tap in a holder that gives {holder_gives:g} mm: while the spindle is reversed "
                "the tap goes on by {further:.2f} mm; a drop of oil in every hole, try it with "
                "the screw", holder_gives=words.holder_gives, further=further),
    )
    notes = partly_threaded(layout, holes, lambda hole: layout.face - bottoms[hole.name] - lead)
    notes += unusual_for_thread(
        bench, holes, lambda hole: drilled_in(bench, None, (hole,)),
        lambda hole: min(words.depth or hole.depth or layout.thickness,
                         hole.depth or layout.thickness))
    return PlannedStep(bench.section(words.called, cut.speed, moves), cut, remarks, notes=notes)


TAP = StepKind("tap", Tap, check, plan)
