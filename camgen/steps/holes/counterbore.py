"""Counterboring: a flat-bottomed cutter of the hole's own size, into a hole that is there already.
"""

from typing import ClassVar

from pydantic import Field

from camgen.faults import Fault
from camgen.job.models import StepWords
from camgen.job.order.holes_made import SAME_SIZE
from camgen.messages import Message
from camgen.part.declaration import Declaration, FindsHoles, MakesHoles, Named
from camgen.shop.cutters import Ability
from camgen.shop.model import Length
from camgen.steps.cuts import drilling
from camgen.steps.holes.which_holes import (
    bottom_of,
    drill_strokes,
    drilled_in,
    holes_chosen,
    names_without_hole,
    open_at_edge,
)
from camgen.steps.kind import FlatBench, PlannedStep, StepKind

__all__ = ["COUNTERBORE", "CounterboreHoles"]

# Turns the cutter makes at full depth, so that the floor comes out flat. Common practice, no
# source.
TURNS = 3.0


class CounterboreHoles(StepWords):
    """Bring counterbores and other flat-bottomed holes to size with a counterbore."""

    kind: ClassVar[str] = "counterbore"
    called: ClassVar[Message] = Message("counterbore")
    holes: tuple[str, ...] = Field(min_length=1, description="names of holes")
    drilled: Length | None = Field(
        None, description="diameter of the hole already there; else as the steps before make it"
    )

    def declares(self) -> Declaration:
        """Flat-bottomed holes as wide as the cutter, about a hole that it enters."""
        holes = Named(self.holes)
        return Declaration((MakesHoles(holes, "as the cutter"),), (Ability.COUNTERBORE,),
                           (FindsHoles(holes, "cutter", self.drilled),))


def check(bench: FlatBench, words: CounterboreHoles) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need() + names_without_hole(bench, words.holes)
    size = bench.cutter.diameter
    for hole in holes_chosen(bench.layout, words.holes):
        if abs(hole.diameter - size) > SAME_SIZE:
            faults.append(
                Fault(
                    Message("counterbore {size:g} mm does not make hole {hole}, {diameter:g} mm",
                            size=size, hole=hole.name, diameter=hole.diameter),
                    Message("a counterbore of the hole's size, or `bore` it with an end mill"),
                    bench.place("cutter"),
                )
            )
        if hole.depth is None:
            faults.append(
                Fault(
                    Message("hole {hole} goes right through", hole=hole.name),
                    Message("`drill`, `ream` or `bore` it"),
                    bench.place("holes"),
                )
            )
        else:
            faults += bottom_of(bench, hole)[1]
    drilled = drilled_in(bench, words.drilled, holes_chosen(bench.layout, words.holes))
    if drilled >= size:
        faults.append(
            Fault(
                Message("a hole of {drilled:g} mm leaves nothing for a counterbore of {size:g} mm",
                        drilled=drilled, size=size),
                Message("the hole that it enters is smaller"),
                bench.place("drilled"),
            )
        )
    return list(dict.fromkeys(faults))


def plan(bench: FlatBench, words: CounterboreHoles) -> PlannedStep:
    """One stroke and a few turns at the floor of each hole."""
    holes = holes_chosen(bench.layout, words.holes)
    cut = drilling(
        bench, max(hole.depth or 0.0 for hole in holes),
        drilled=drilled_in(bench, words.drilled, holes),
    )
    moves = drill_strokes(
        bench, holes, cut.feed, lambda hole: bottom_of(bench, hole)[0],
        dwell=lambda _: round(60.0 * TURNS / cut.speed, 3),
    )
    return PlannedStep(bench.section(words.called, cut.speed, moves), cut,
                       notes=open_at_edge(bench, holes))


COUNTERBORE = StepKind("counterbore", CounterboreHoles, check, plan)
