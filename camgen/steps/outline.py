"""Cutting the part's outline, which sets it free of the stock."""

from __future__ import annotations

import math
from typing import ClassVar

from camgen.faults import Fault
from camgen.shapes.path import ArcTo, Path, Point, circle
from camgen.steps.contour import (
    ContourCut,
    ContourWords,
    contour_faults,
    finish_left,
    plan_contours,
    tab_middles,
    unheld,
)
from camgen.steps.kind import Bench, PlannedStep, StepKind

__all__ = ["OUTLINE", "Outline"]


class Outline(ContourWords):
    """Cut the part out of the stock."""

    kind: ClassVar[str] = "outline"


def _round(path: Path) -> tuple[Point, float] | None:
    """Centre and radius of a path that is one circle."""
    first = path.pieces[0]
    if not isinstance(first, ArcTo):
        return None
    same = all(
        isinstance(piece, ArcTo) and math.dist(piece.centre, first.centre) < 1e-9
        for piece in path.pieces
    )
    return (first.centre, math.dist(path.start, first.centre)) if same else None


def _cut(bench: Bench, words: Outline) -> ContourCut:
    """The outline of one piece, in its own frame: outside a circle, climb runs clockwise."""
    found = _round(bench.flat.part.outline)
    assert found is not None, "blanks of wheels and pinions are round"
    centre, radius = found
    last_radius = radius + bench.cutter.diameter / 2 + words.correction
    clockwise = words.direction == "climb"
    last = circle(centre, last_radius, clockwise=clockwise)
    rough = circle(centre, last_radius + finish_left(bench, words), clockwise=clockwise)
    return ContourCut(rough, last, tab_middles(last, words.tabs, bench.cutter.diameter))


def check(bench: Bench, words: Outline) -> list[Fault]:
    """Faults seen without planning."""
    faults = contour_faults(bench, words) + unheld(bench, words, "the piece")
    layout = bench.flat
    need = bench.cutter.diameter + finish_left(bench, words) + words.correction
    _, _, right, _ = layout.part.outline.region(0.001).bounds
    nearest = min(
        (
            math.dist(one, other) - 2 * right
            for number, one in enumerate(layout.places)
            for other in layout.places[:number]
        ),
        default=math.inf,
    )
    if nearest < need:
        faults.append(
            Fault(
                f"between the pieces {nearest:.2f} mm are left, the cutter needs {need:.2f} mm",
                "a larger `repeat: {pitch: …}` or a smaller cutter",
                bench.place("cutter"),
            )
        )
    return faults


def plan(bench: Bench, words: Outline) -> PlannedStep:
    """The outline of every piece."""
    return plan_contours(bench, words, [_cut(bench, words)], "outline")


OUTLINE = StepKind("outline", Outline, "flat", check, plan)
