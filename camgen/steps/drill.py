"""Drilling, in one stroke or in pecks."""

from __future__ import annotations

from typing import ClassVar

from pydantic import Field

from camgen.faults import Fault
from camgen.job.models import StepWords
from camgen.moves import Drill as Stroke
from camgen.moves import Move
from camgen.shop.model import Length, LengthOrZero
from camgen.steps.cuts import drilling
from camgen.steps.holes import centres, chosen, hole_faults, point_length, through
from camgen.steps.kind import Bench, PlannedStep, StepKind
from camgen.steps.moving import away

__all__ = ["DRILL", "DrillHoles"]


class DrillHoles(StepWords):
    """Drill holes; through, unless a depth is given."""

    kind: ClassVar[str] = "drill"
    holes: tuple[str, ...] | None = Field(None, description="names of holes; all when left out")
    depth: Length | None = Field(
        None, description="depth at full diameter; through when left out"
    )
    peck: LengthOrZero | None = Field(
        None, description="depth of one bite, 0 for one stroke; else planned"
    )


def _bottom(bench: Bench, words: DrillHoles) -> tuple[float, list[Fault]]:
    point = point_length(bench.cutter)
    if words.depth is None:
        return through(bench, point)
    layout = bench.flat
    bottom = layout.top - words.depth - point
    if bottom >= layout.floor - 1e-9:
        return bottom, []
    return bottom, [
        Fault(
            f"drilling {words.depth:g} mm deep and the point of {point:.2f} mm go below what may "
            "be cut into",
            "a smaller `depth` or a larger `cut-into`",
            bench.place("depth"),
        )
    ]


def check(bench: Bench, words: DrillHoles) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need_cutter("drill") + hole_faults(bench, words.holes)
    for hole in chosen(bench.flat, words.holes):
        if bench.cutter.diameter > hole.diameter + 1e-9:
            faults.append(
                Fault(
                    f"drill {bench.cutter.diameter:g} mm is larger than hole {hole.name!r}, "
                    f"{hole.diameter:g} mm",
                    "a drill of the hole's size, or smaller and then `bore`",
                    bench.place("cutter"),
                )
            )
    return faults + _bottom(bench, words)[1]


def plan(bench: Bench, words: DrillHoles) -> PlannedStep:
    """A stroke, in pecks where the hole is deep, at each hole."""
    layout = bench.flat
    bottom, _ = _bottom(bench, words)
    deep = layout.top - bottom
    cut = drilling(bench, deep - point_length(bench.cutter))
    peck = cut.peck if words.peck is None else words.peck
    moves: list[Move] = away(layout)
    for _, centre in centres(layout, chosen(layout, words.holes)):
        moves.append(
            Stroke(
                centre.x,
                centre.y,
                clearance=layout.top + layout.clearance,
                bottom=bottom,
                feed=cut.feed,
                travel=layout.safe_height,
                peck=peck if peck < deep - 1e-9 else 0.0,
            )
        )
    moves += away(layout)
    return PlannedStep(bench.section("drill", cut.speed, moves), cut)


DRILL = StepKind("drill", DrillHoles, "flat", check, plan)
