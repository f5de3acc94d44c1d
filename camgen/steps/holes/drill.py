"""Drilling, in one stroke or in pecks."""

import dataclasses
import math
from typing import ClassVar

from pydantic import Field

from camgen.faults import Fault, Refused
from camgen.job.models import StepWords
from camgen.job.order.deeds import elsewhere, features_of_job
from camgen.job.order.holes_made import (
    aimed_at,
    of_its_size,
    suits_thread,
    usual_for_thread,
)
from camgen.messages import Message
from camgen.part.declaration import Declaration, MakesHoles, Named
from camgen.part.features import Hole, Thread
from camgen.shop.cutters import Ability, opening_of
from camgen.shop.model import Length, LengthOrZero
from camgen.steps.cuts import drilling
from camgen.steps.holes.pecks import peck_faults
from camgen.steps.holes.which_holes import (
    bottom_of,
    drill_strokes,
    holes_chosen,
    names_without_hole,
    over_the_edge,
    point_length,
    too_short,
    unusual_for_thread,
)
from camgen.steps.kind import FlatBench, PlannedStep, StepKind

__all__ = ["DRILL", "DrillHoles", "drilled_to"]


# Bites of one hole. Common practice takes tens; no source.
MOST_PECKS = 300
# Drills have rounded sizes: one for a thread may be so much under its minor diameter, mm.
ROUNDED = 0.002


class DrillHoles(StepWords):
    """Drill holes; through, unless a depth is given."""

    kind: ClassVar[str] = "drill"
    called: ClassVar[Message] = Message("drill")
    holes: tuple[str, ...] | None = Field(None, description="names of holes; all when left out")
    depth: Length | None = Field(
        None, description="depth at full diameter; through when left out"
    )
    peck: LengthOrZero | None = Field(
        None, description="depth of one bite, 0 for one stroke; else planned"
    )

    def declares(self) -> Declaration:
        """Holes as wide as the drill, with its point at their end."""
        return Declaration(
            (MakesHoles(Named(self.holes), "as the cutter", self.depth, pointed=True),),
            (Ability.DRILL,))


def drilled_to(bench: FlatBench, hole: Hole) -> float | None:
    """The Z down to which earlier drills of this setup make a hole with their full diameter, wide
    enough for the end of this step's cutter.

    None where none of them does.
    """
    depths = []
    least = opening_of(bench.cutter) or 0.0
    for number, words in enumerate(bench.setup.steps[: bench.number]):
        if isinstance(words, DrillHoles) and hole in holes_chosen(bench.layout, words.holes):
            earlier = dataclasses.replace(bench, number=number)
            if earlier.cutter.diameter >= least - ROUNDED:
                depths.append(_bottom(earlier, words, hole)[0] + point_length(earlier.cutter))
    return min(depths, default=None)


def _bottom(bench: FlatBench, words: DrillHoles, hole: Hole) -> tuple[float, list[Fault]]:
    """The Z of the drill's point, and what stands against it.

    A hole to a depth is drilled so far with the full diameter, unless it is bored afterwards: then
    the point of the smaller drill must not go below its floor.
    """
    layout = bench.layout
    point = point_length(bench.cutter)
    if words.depth is None:
        smaller = bench.cutter.diameter < hole.diameter - 1e-9
        return bottom_of(bench, hole, 0.0 if hole.depth is not None and smaller else point)
    bottom = layout.face - words.depth - point
    if bottom >= layout.floor - 1e-9:
        return bottom, too_short(bench, hole, bottom)
    return bottom, [
        Fault(
            Message("drilling {depth:g} mm deep and the point of {point:.2f} mm go below what may "
                    "be cut into", depth=words.depth, point=point),
            Message("a smaller `depth` or a larger `cut-into`"),
            bench.place("depth"),
        )
    ]


def check(bench: FlatBench, words: DrillHoles) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need() + names_without_hole(bench, words.holes)
    for hole in holes_chosen(bench.layout, words.holes):
        if bench.cutter.diameter > hole.diameter and not of_its_size(hole, bench.cutter.diameter):
            suits = suits_thread(bench.job, hole)
            faults.append(
                Fault(
                    Message("drill {drill:g} mm is larger than hole '{hole}', {size}",
                            drill=bench.cutter.diameter, hole=hole.name, size=aimed_at(hole)),
                    Message("a drill of the hole's size, or smaller and then `bore`")
                    if suits is None or hole.limits is None else usual_for_thread(suits),
                    bench.place("cutter"),
                )
            )
        over = over_the_edge(bench, hole, bench.cutter.diameter)
        if over > 0.0:
            faults.append(Fault(
                Message("drill {drill:g} mm runs {over:.3g} mm over the outline in hole '{hole}': "
                        "it would be drawn out at the edge", drill=bench.cutter.diameter,
                        over=over, hole=hole.name),
                Message("`bore` it with an end mill"), bench.place("cutter")))
        bottom, amiss = _bottom(bench, words, hole)
        faults += amiss
        bites = (bench.layout.face - bottom) / words.peck if words.peck else 1.0
        if bites > MOST_PECKS:
            faults.append(Fault(
                Message("a peck of {peck:g} mm makes {bites:.0f} bites of hole '{hole}', and more "
                        "than {most} are no use", peck=words.peck, bites=bites, hole=hole.name,
                        most=MOST_PECKS),
                Message("a deeper peck, or leave it out to have it planned"),
                bench.place("peck")))
    return list(dict.fromkeys(faults))


def plan(bench: FlatBench, words: DrillHoles) -> PlannedStep:
    """A stroke, in pecks where the hole is deep, at each hole."""
    layout = bench.layout
    holes = holes_chosen(layout, words.holes)
    bottoms = {hole.name: _bottom(bench, words, hole)[0] for hole in holes}
    cut = drilling(bench, layout.face - min(bottoms.values()) - point_length(bench.cutter))
    peck = cut.peck if words.peck is None else words.peck
    deep = layout.face - min(bottoms.values())
    faults = peck_faults(bench, words.peck, cut, deep) if words.peck is not None else []
    if faults:
        raise Refused(faults)
    # As a program can say it: bites that are rounded each would add up to another depth.
    step = bench.machine.coarsest
    peck = max(math.floor(peck / step + 1e-6), 1) * step if peck else 0.0
    if words.peck is not None:
        cut = dataclasses.replace(cut, peck=peck)
    moves = drill_strokes(
        bench, holes, cut.feed, lambda hole: bottoms[hole.name],
        peck=lambda hole: peck if peck < layout.face - bottoms[hole.name] - 1e-9 else 0.0,
    )
    return PlannedStep(bench.section(words.called, cut.speed, moves), cut,
                       notes=_deeper(words, holes) + _by_hand(bench, holes))


def _by_hand(bench: FlatBench, holes: tuple[Hole, ...]) -> tuple[Message, ...]:
    """What is told of holes drilled for threads that another hand taps."""
    threads = {one.hole.name: one for one in features_of_job(bench.job) if isinstance(one, Thread)}
    return unusual_for_thread(
        bench, [hole for hole in holes if hole.name in threads
                and elsewhere(bench.job, threads[hole.name])
                and of_its_size(hole, bench.cutter.diameter)],
        lambda _: bench.cutter.diameter, lambda hole: hole.depth or bench.layout.thickness)


def _deeper(words: DrillHoles, holes: tuple[Hole, ...]) -> tuple[Message, ...]:
    """Holes drilled deeper than they are said to be: for a lead, or by a slip."""
    return tuple(
        Message("drill: {name} is drilled {depth:g} mm deep at its full width, and {deep:g} mm "
                "is its depth", name=name, depth=words.depth, deep=deep)
        for name, deep in dict.fromkeys((hole.group or hole.name, hole.depth) for hole in holes)
        if deep is not None and words.depth is not None and words.depth > deep + 1e-9)


DRILL = StepKind("drill", DrillHoles, check, plan)
