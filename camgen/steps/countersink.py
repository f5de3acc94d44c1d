"""Countersinking: a cone at the mouth of a hole, for a screw's head, a lead-in or an oil sink."""

from __future__ import annotations

from typing import ClassVar

from pydantic import Field

from camgen.faults import Fault
from camgen.job.models import StepWords
from camgen.moves import Drill, Move
from camgen.shop.model import Length
from camgen.steps.cuts import drilling
from camgen.steps.holes import centres, chosen, hole_faults, point_length
from camgen.steps.kind import Bench, PlannedStep, StepKind
from camgen.steps.moving import away

__all__ = ["COUNTERSINK", "Countersink"]

# Seconds the cutter turns at full depth, so that the cone comes out round. Common practice, no
# source.
DWELL = 0.3


class Countersink(StepWords):
    """Countersink holes."""

    kind: ClassVar[str] = "countersink"
    holes: tuple[str, ...] | None = Field(None, description="names of holes; all when left out")
    width: Length = Field(description="diameter of the cone at the upper face")


def check(bench: Bench, words: Countersink) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need_cutter("countersink", "spot-drill") + hole_faults(bench, words.holes)
    layout, cutter = bench.flat, bench.cutter
    if words.width > cutter.diameter:
        faults.append(
            Fault(
                f"a cone {words.width:g} mm wide is wider than the cutter, {cutter.diameter:g} mm",
                "a larger cutter or a smaller width",
                bench.place("width"),
            )
        )
    deep = point_length(cutter, words.width)
    if layout.top - deep < layout.floor:
        faults.append(
            Fault(
                f"a cone {words.width:g} mm wide is {deep:.2f} mm deep, below what may be cut into",
                "a smaller width or a flatter point",
                bench.place("width"),
            )
        )
    for hole in chosen(layout, words.holes):
        if hole.diameter >= words.width:
            faults.append(
                Fault(
                    f"a cone {words.width:g} mm wide leaves no mark at hole {hole.name}, "
                    f"{hole.diameter:g} mm",
                    "a larger width",
                    bench.place("width"),
                )
            )
    return faults


def plan(bench: Bench, words: Countersink) -> PlannedStep:
    """One stroke and a moment's dwell at each hole."""
    layout = bench.flat
    holes = chosen(layout, words.holes)
    deep = point_length(bench.cutter, words.width)
    cut = drilling(bench, deep, drilled=min(hole.diameter for hole in holes))
    moves: list[Move] = away(layout)
    for _, centre in centres(layout, holes):
        moves.append(
            Drill(
                centre.x,
                centre.y,
                clearance=layout.top + layout.clearance,
                bottom=layout.top - deep,
                feed=cut.feed,
                travel=layout.safe_height,
                dwell=DWELL,
            )
        )
    moves += away(layout)
    return PlannedStep(bench.section("countersink", cut.speed, moves), cut)


COUNTERSINK = StepKind("countersink", Countersink, "flat", check, plan)
