"""Crossing-out: cutting the openings between hub, rim and arms out of a blank."""

from typing import ClassVar

from camgen.faults import Fault, Place, Refused, no_less, no_more
from camgen.messages import Message
from camgen.part.declaration import Declaration, MakesCrossing
from camgen.shapes.mirror import mirrored_path
from camgen.shapes.path import Path
from camgen.steps.kind import FlatBench, PlannedStep, StepKind
from camgen.steps.walls.contour import (
    FINISH_SHARE,
    SLUG,
    ContourCut,
    ContourWords,
    closed_wall,
    contour_faults,
    finish_left,
    plan_contours,
    unheld,
)
from camgen.steps.walls.web import at_web
from camgen.tolerances import AREA_CHORD, LEAST_INCREMENT

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
    if part.crossed is None:
        raise Refused(
            Fault(
                Message("there is no crossing to cut out"),
                Message("describe it: `{wheel}`", wheel=(
                    "wheel: {crossing: {arms: 5, hub: …, rim: …, arm: …, corner: …}}")),
                bench.place(),
            )
        )
    try:
        return tuple(
            mirrored_path(path, bench.layout.turned)
            for path in part.crossed.openings(part.tooth().sizes.root_diameter, inset))
    except Refused as no:
        raise Refused(
            [Fault(fault.message, fault.remedy, bench.place()) for fault in no.faults]
        ) from no


def _tight_faults(bench: FlatBench, words: CrossOut) -> list[Fault]:
    """Corners tighter than the way of the cutter that leaves something for the last pass."""
    crossing = bench.job.part.crossed
    if crossing is None:
        return []
    diameter, left = bench.cutter.diameter, finish_left(bench, words)
    away = diameter / 2 + words.correction + left
    word, size = crossing.named_radius(crossing.tightest)
    least = crossing.named_radius(away)[1]
    if size >= least - 1e-9:
        return []
    room = crossing.tightest - words.correction
    most = room / (0.5 + FINISH_SHARE) if words.finish is None else 2 * (room - left)
    remedy = Message("{word}: {least} or more in the wheel", word=word, least=no_less(least))
    if most > LEAST_INCREMENT:
        remedy = Message("{remedy}, or a cutter of at most {most} mm", remedy=remedy,
                         most=no_more(most))
    return [Fault(
        Message("{word} {size:g} mm is too tight for {cutter}: the middle of its way is "
                "{away:.4g} mm off the wall, its radius {radius:g}, {left:g} left for the last "
                "pass and the correction of {correction:g}", word=word, size=size,
                cutter=words.cutter, away=away, radius=diameter / 2, left=left,
                correction=words.correction),
        remedy, Place(path=f"wheel.{crossing.word}.{word}"))]


def _cuts(bench: FlatBench, words: CrossOut) -> list[ContourCut]:
    """The openings of one piece, in its own frame."""
    radius = bench.cutter.diameter / 2 + words.correction
    return [
        closed_wall(bench, words, rough, last)
        for rough, last in zip(
            _inset(bench, radius + finish_left(bench, words)), _inset(bench, radius), strict=True
        )
    ]


def _standing(bench: FlatBench, words: CrossOut) -> FlatBench:
    """The bench with the metal as it stands where the openings are cut."""
    left = finish_left(bench, words)
    away = bench.cutter.diameter / 2 + words.correction + left
    return at_web(bench, _inset(bench, away), bench.cutter.diameter / 2)


def check(bench: FlatBench, words: CrossOut) -> list[Fault]:
    """Faults seen without planning."""
    faults = _tight_faults(bench, words)
    if not faults:
        try:
            bench = _standing(bench, words)
        except Refused as no:
            faults = list(no.faults)
    faults = contour_faults(bench, words) + faults
    if faults:
        return faults
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
    bench = _standing(bench, words)
    return plan_contours(bench, words, _cuts(bench, words), words.called)


CROSS_OUT = StepKind("cross-out", CrossOut, check, plan)
