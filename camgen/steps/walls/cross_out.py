"""Crossing-out: cutting the openings between hub, rim and arms out of a blank."""

from typing import ClassVar

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.part.declaration import Declaration, MakesCrossing
from camgen.shapes.crossing import crossing_openings
from camgen.shapes.path import Path
from camgen.steps.kind import FlatBench, PlannedStep, StepKind
from camgen.steps.walls.contour import (
    SLUG,
    ContourCut,
    ContourWords,
    closed_wall,
    contour_faults,
    finish_left,
    plan_contours,
    unheld,
)
from camgen.tolerances import AREA_CHORD

__all__ = ["CROSS_OUT", "CrossOut"]

class CrossOut(ContourWords):
    """Cut the wheel's openings."""

    kind: ClassVar[str] = "cross-out"
    called: ClassVar[Message] = Message("cross out")

    def declares(self) -> Declaration:
        """The wheel's openings."""
        return self.declared(MakesCrossing())


def _inset(bench: FlatBench, inset: float) -> tuple[Path, ...]:
    """The wheel's openings shrunk by ``inset`` mm."""
    part = bench.job.part
    if part.crossing is None:
        raise Refused(
            Fault(
                Message("there is no crossing to cut out"),
                Message("describe it: `{wheel}`", wheel=(
                    "wheel: {crossing: {arms: 5, hub: …, rim: …, arm: …, corner: …}}")),
                bench.place(),
            )
        )
    crossing = part.crossing
    try:
        return crossing_openings(
            crossing.arms,
            crossing.hub,
            part.tooth().sizes.root_diameter - 2 * crossing.rim,
            crossing.arm,
            crossing.arm if crossing.arm_at_hub is None else crossing.arm_at_hub,
            crossing.corner,
            inset,
        )
    except Refused as no:
        raise Refused(
            [Fault(fault.message, fault.remedy, bench.place()) for fault in no.faults]
        ) from no


def _cuts(bench: FlatBench, words: CrossOut) -> list[ContourCut]:
    """The openings of one piece, in its own frame."""
    radius = bench.cutter.diameter / 2 + words.correction
    return [
        closed_wall(bench, words, rough, last)
        for rough, last in zip(
            _inset(bench, radius + finish_left(bench, words)), _inset(bench, radius), strict=True
        )
    ]


def check(bench: FlatBench, words: CrossOut) -> list[Fault]:
    """Faults seen without planning."""
    faults = contour_faults(bench, words)
    try:
        openings = _inset(bench, bench.cutter.diameter / 2 + words.correction)
        _inset(bench, bench.cutter.diameter / 2 + words.correction + finish_left(bench, words))
    except Refused as no:
        return [*faults, *no.faults]
    slug = openings[0].region(AREA_CHORD).buffer(-bench.cutter.diameter / 2 - SLUG)
    if not slug.is_empty:
        faults += unheld(bench, words, Message("the slugs"))
    return faults


def plan(bench: FlatBench, words: CrossOut) -> PlannedStep:
    """Every opening of every piece."""
    return plan_contours(bench, words, _cuts(bench, words), words.called)


CROSS_OUT = StepKind("cross-out", CrossOut, check, plan)
