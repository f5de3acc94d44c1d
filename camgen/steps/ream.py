"""Reaming: a drilled hole brought to size by a cutter of that size, in and out at the feed."""

from typing import ClassVar

from pydantic import Field

from camgen.faults import Fault, Refused, no_less
from camgen.job.deeds import elsewhere
from camgen.job.made_holes import aimed_at, of_its_size
from camgen.job.models import StepWords
from camgen.part.declaration import Declaration, FindsHoles, MakesHoles, Named
from camgen.shop.cutters import Ability
from camgen.shop.model import Length
from camgen.steps.cuts import drilling
from camgen.steps.drill import drilled_to
from camgen.steps.holes import (
    beneath_closed,
    bottom_of,
    chosen,
    drilled_in,
    hole_faults,
    strokes,
)
from camgen.steps.kind import FlatBench, PlannedStep, StepKind

__all__ = ["REAM", "Ream"]

# The lead of a reamer, which cuts under size, as a share of its diameter. Common practice, no
# source.
LEAD_SHARE = 0.25


class Ream(StepWords):
    """Ream holes."""

    kind: ClassVar[str] = "ream"
    holes: tuple[str, ...] | None = Field(None, description="names of holes; all when left out")
    drilled: Length | None = Field(
        None, description="diameter of the hole already there; else as the steps before make it"
    )

    def declares(self) -> Declaration:
        """Holes as wide as the reamer, open already but for what it takes off."""
        holes = Named(self.holes)
        return Declaration((MakesHoles(holes, "as the cutter"),), (Ability.REAM,),
                           (FindsHoles(holes, "cutter", self.drilled),))


def check(bench: FlatBench, words: Ream) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need() + hole_faults(bench, words.holes)
    size = bench.cutter.diameter
    for hole in chosen(bench.layout, words.holes):
        if not of_its_size(hole, size):
            faults.append(
                Fault(
                    f"reamer {size:g} mm does not make hole {hole.name}, {aimed_at(hole)}",
                    f"a reamer of {hole.diameter:g} mm, to 0.006 mm",
                    bench.place("cutter"),
                )
            )
        faults += bottom_of(bench, hole, _lead(bench) if hole.depth is None else 0.0)[1]
    drilled = drilled_in(bench, words.drilled, chosen(bench.layout, words.holes))
    if drilled >= size:
        faults.append(
            Fault(
                f"a hole drilled {drilled:g} mm leaves nothing for a reamer of {size:g} mm",
                _smaller(bench, words) if words.drilled is not None else
                "drill it a few hundredths smaller before; or write drilled: in this step, where "
                "it comes from elsewhere smaller than it shall be",
                bench.place("drilled"),
            )
        )
    return list(dict.fromkeys(faults))


def _smaller(bench: FlatBench, words: Ream) -> str:
    """What to do about a hole that is said to be too wide; what comes so is not reamed at all."""
    there = [hole for hole in chosen(bench.layout, words.holes) if elsewhere(bench.job, hole)]
    if not there:
        return "drill a few hundredths smaller, and write drilled: so"
    names = ", ".join(dict.fromkeys(hole.group or hole.name for hole in there))
    return (f"{names} stands under made-elsewhere: too: where it comes finished, leave this step "
            f"out; where it comes a few hundredths under {bench.cutter.diameter:g} mm, write "
            "drilled: with that size")


def _lead(bench: FlatBench) -> float:
    return LEAD_SHARE * bench.cutter.diameter


def _not_drilled_so_deep(
    bench: FlatBench, words: Ream, bottoms: dict[str, float]
) -> list[Fault]:
    """Holes that earlier drills of this setup leave too shallow: a reamer's end does not cut."""
    layout, faults = bench.layout, []
    for hole in chosen(layout, tuple(bottoms)):
        drilled, bottom = drilled_to(bench, hole), bottoms[hole.name]
        if drilled is not None and bottom < drilled - 1e-9:
            faults.append(
                Fault(
                    f"the reamer would go {layout.face - bottom:.2f} mm deep in {hole.name}, which "
                    f"is drilled with the full diameter for {layout.face - drilled:.2f} mm",
                    f"drill it with depth: {no_less(layout.face - bottom + 0.05, 0.01)}"
                    + (" where that may be cut into" if hole.depth is None else
                       ", or `bore` it: a reamer's end does not cut"),
                    bench.place("holes" if words.holes is not None else "cutter"),
                )
            )
        faults += beneath_closed(bench, hole, bottom, "reamer", bench.place("cutter"))
    return faults


def plan(bench: FlatBench, words: Ream) -> PlannedStep:
    """One stroke at each hole. Raises Refused where the hole is not drilled so deep."""
    layout = bench.layout
    holes = chosen(layout, words.holes)
    bottoms = {
        hole.name: bottom_of(bench, hole, _lead(bench) if hole.depth is None else 0.0)[0]
        for hole in holes
    }
    faults = _not_drilled_so_deep(bench, words, bottoms)
    if faults:
        raise Refused(faults)
    drilled = drilled_in(bench, words.drilled, holes)
    cut = drilling(bench, layout.face - min(bottoms.values()), drilled=drilled)
    moves = strokes(bench, holes, cut.feed, lambda hole: bottoms[hole.name], feed_out=True)
    return PlannedStep(bench.section("ream", cut.speed, moves), cut)


REAM = StepKind("ream", Ream, check, plan)
