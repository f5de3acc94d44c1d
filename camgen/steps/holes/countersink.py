"""Countersinking: a cone at the mouth of a hole, for a screw's head, a lead-in or an oil sink."""

from typing import ClassVar

from pydantic import Field

from camgen.faults import Fault
from camgen.job.models import StepWords
from camgen.messages import Message
from camgen.part.declaration import Declaration, MakesCones, Named
from camgen.part.features import Hole
from camgen.shop.cutters import Ability
from camgen.steps.cuts import drilling
from camgen.steps.holes.which_holes import (
    cone_has_room,
    drill_strokes,
    holes_chosen,
    names_without_hole,
    point_length,
    too_short,
)
from camgen.steps.kind import FlatBench, PlannedStep, StepKind

__all__ = ["COUNTERSINK", "DWELL", "Countersink", "none_sunk", "sink_faults"]

# Seconds the cutter turns at full depth, so that the cone comes out round. Common practice, no
# source.
DWELL = 0.3


class Countersink(StepWords):
    """Countersink the holes that the plate says are countersunk."""

    kind: ClassVar[str] = "countersink"
    called: ClassVar[Message] = Message("countersink")
    holes: tuple[str, ...] | None = Field(
        None, description="names of holes; all that are countersunk when left out"
    )

    def declares(self) -> Declaration:
        """Cones of the holes that shall have one."""
        return Declaration((MakesCones(Named(self.holes)),), (Ability.SINK,))


def _meant(bench: FlatBench, words: Countersink) -> tuple[Hole, ...]:
    part = bench.layout.part
    return tuple(
        hole
        for hole in holes_chosen(bench.layout, words.holes)
        if part.cone_width(hole) or words.holes is not None
    )


def check(bench: FlatBench, words: Countersink) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need() + names_without_hole(bench, words.holes)
    holes = _meant(bench, words)
    if not holes and not faults:
        faults.append(none_sunk(bench))
    for hole in holes:
        faults += sink_faults(bench, hole)
    return faults


def none_sunk(bench: FlatBench) -> Fault:
    """The fault of a step that finds no hole with a cone."""
    return Fault(Message("no hole is countersunk"),
                 Message("give holes their `countersink:` width"), bench.place())


def sink_faults(bench: FlatBench, hole: Hole) -> list[Fault]:
    """Faults of the cone of one hole, cut by the bench's cutter."""
    layout, cutter = bench.layout, bench.cutter
    wide = layout.part.cone_width(hole)
    deep = point_length(cutter, wide)
    if not wide:
        return [
            Fault(
                Message("hole {hole} is not countersunk", hole=hole.name),
                Message("give it its `countersink:` width"),
                bench.place("holes"),
            )
        ]
    if wide > cutter.diameter:
        return [
            Fault(
                Message("the cone of {hole}, {wide:g} mm, is wider than the cutter, "
                        "{diameter:g} mm", hole=hole.name, wide=wide,
                        diameter=cutter.diameter),
                Message("a larger cutter"),
                bench.place("cutter"),
            )
        ]
    if not cone_has_room(layout, cutter, hole):
        return [
            Fault(
                Message("the cone of {hole} is {deep:.2f} mm deep, its hole {depth:g} mm",
                        hole=hole.name, deep=deep, depth=hole.depth),
                Message("a flatter point, or a deeper or wider hole"),
                bench.place("cutter"),
            )
        ]
    if short := too_short(bench, hole, layout.face - deep):
        return short
    if layout.face - deep < layout.floor:
        return [
            Fault(
                Message("the cone of {hole} is {deep:.2f} mm deep, below what may be cut into",
                        hole=hole.name, deep=deep),
                Message("a flatter point"),
                bench.place("cutter"),
            )
        ]
    return []


def plan(bench: FlatBench, words: Countersink) -> PlannedStep:
    """One stroke and a moment's dwell at each hole."""
    layout = bench.layout
    holes = _meant(bench, words)

    def deep(hole: Hole) -> float:
        return point_length(bench.cutter, layout.part.cone_width(hole))

    deepest = max(deep(hole) for hole in holes)
    cut = drilling(bench, deepest, drilled=min(hole.diameter for hole in holes))
    moves = drill_strokes(
        bench, holes, cut.feed,
        lambda hole: layout.face - deep(hole), dwell=lambda _: DWELL,
    )
    return PlannedStep(bench.section(words.called, cut.speed, moves), cut)


COUNTERSINK = StepKind("countersink", Countersink, check, plan)
