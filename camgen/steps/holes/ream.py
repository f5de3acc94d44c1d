"""Reaming: a drilled hole brought to size by a cutter of that size, in and out at the feed."""

from typing import ClassVar

from pydantic import Field

from camgen.faults import Fault, Refused, no_less
from camgen.job.models import StepWords
from camgen.job.order.deeds import elsewhere
from camgen.job.order.holes_made import aimed_at, of_its_size
from camgen.job.order.opened import open_for, opened_at
from camgen.messages import Message
from camgen.part.declaration import Declaration, FindsHoles, MakesHoles, Named
from camgen.part.features import Hole
from camgen.shop.cutters import Ability, opening_of
from camgen.shop.model import Length, LengthOrZero
from camgen.shop.reaming import for_reamer
from camgen.steps.cuts import drilling
from camgen.steps.holes.drill import drilled_to
from camgen.steps.holes.which_holes import (
    beneath_closed,
    bottom_of,
    drill_strokes,
    drilled_in,
    holes_chosen,
    names_without_hole,
    seats_something,
)
from camgen.steps.kind import FlatBench, PlannedStep, StepKind

__all__ = ["REAM", "Ream"]

# The lead of a reamer, which cuts under size, as a share of its diameter. Common practice, no
# source.
LEAD_SHARE = 0.25


class Ream(StepWords):
    """Ream holes."""

    kind: ClassVar[str] = "ream"
    called: ClassVar[Message] = Message("ream")
    holes: tuple[str, ...] | None = Field(None, description="names of holes; all when left out")
    drilled: Length | None = Field(
        None, description="diameter of the hole already there; else as the steps before make it"
    )
    lead: LengthOrZero | None = Field(
        None, description="length of the reamer's tapered lead, which cuts under size; else a "
        "quarter of its diameter"
    )

    def declares(self) -> Declaration:
        """Holes as wide as the reamer, open already but for what it takes off."""
        holes = Named(self.holes)
        return Declaration((MakesHoles(holes, "as the cutter"),), (Ability.REAM,),
                           (FindsHoles(holes, "cutter", self.drilled),))


def check(bench: FlatBench, words: Ream) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need() + names_without_hole(bench, words.holes)
    size = bench.cutter.diameter
    for hole in holes_chosen(bench.layout, words.holes):
        if not of_its_size(hole, size):
            faults.append(
                Fault(
                    Message("reamer {reamer:g} mm does not make hole {hole}, {size}", reamer=size,
                            hole=hole.name, size=aimed_at(hole)),
                    Message("a reamer of {diameter:g} mm, to 0.006 mm", diameter=hole.diameter),
                    bench.place("cutter"),
                )
            )
        faults += _to_the_floor(bench, words, hole) or bottom_of(
            bench, hole, _further(bench, words, hole))[1]
    drilled = drilled_in(bench, words.drilled, holes_chosen(bench.layout, words.holes))
    if drilled >= size:
        faults.append(
            Fault(
                Message("a hole drilled {drilled:g} mm leaves nothing for a reamer of {size:g} mm",
                        drilled=drilled, size=size),
                _smaller(bench, words) if words.drilled is not None else
                Message("drill it {less:.2g} mm smaller before; or write drilled: in this step, "
                        "where it comes from elsewhere smaller than it shall be",
                        less=for_reamer(size).usual),
                bench.place("drilled"),
            )
        )
    return list(dict.fromkeys(faults))


def _smaller(bench: FlatBench, words: Ream) -> Message:
    """What to do about a hole that is said to be too wide; what comes so is not reamed at all."""
    size = bench.cutter.diameter
    there = [hole for hole in holes_chosen(bench.layout, words.holes) if elsewhere(bench.job, hole)]
    if not there:
        return Message("drill {less:.2g} mm smaller, and write drilled: so",
                       less=for_reamer(size).usual)
    return Message(
        "{names} stands under made-elsewhere: too: where it comes finished, leave this step out; "
        "where it comes {less:.2g} mm under {size:g} mm, write drilled: with that size",
        names=tuple(dict.fromkeys(hole.group or hole.name for hole in there)),
        less=for_reamer(size).usual, size=size)


def _lead(bench: FlatBench, words: Ream) -> float:
    """Length of the reamer's lead, mm: as given, else a share of its diameter."""
    return LEAD_SHARE * bench.cutter.diameter if words.lead is None else words.lead


def _further(bench: FlatBench, words: Ream, hole: Hole) -> float:
    """How far the lead goes on below a hole, mm; one brought from elsewhere may end at its floor.
    """
    comes = hole.depth is not None and elsewhere(bench.job, hole)
    return 0.0 if comes else _lead(bench, words)


def _open_deep(bench: FlatBench, hole: Hole) -> float:
    """How deep from the face a hole to a depth is open for the reamer's end before this step."""
    return open_for(opened_at(bench.job, bench.setup, bench.number, hole),
                    opening_of(bench.cutter) or 0.0, bench.layout.side, bench.layout.thickness)


def _to_the_floor(bench: FlatBench, words: Ream, hole: Hole) -> list[Fault]:
    """A hole with a floor that would stay under size there, as long as the lead is.

    Where the floor is meant, as of a seat, only a cutter with a square end brings it to size so
    deep; a plain hole may be drilled deeper, where that leaves a floor.
    """
    lead, layout = _lead(bench, words), bench.layout
    if hole.depth is None or lead <= 0.0 or elsewhere(bench.job, hole):
        return []
    there = _open_deep(bench, hole)
    if there < hole.depth - 1e-6 or there >= hole.depth + lead - 1e-6:
        return []  # not open to its own floor is told with the job
    square = Message("`fine-bore`, `bore` or `counterbore` it; or say lead: of a reamer whose lead "
                     "is shorter")
    deep = float(no_less(hole.depth + lead, 0.01))
    return [Fault(
        Message("the lead of {cutter}, {lead:.3g} mm, leaves {hole} under size at its floor: it is "
                "{depth:g} mm deep and open for {there:.4g} mm", cutter=bench.words.cutter,
                lead=lead, hole=hole.name, depth=hole.depth, there=there),
        square if seats_something(layout, hole) else
        Message("drill it first with depth: {deep:g}; where the plate is too thin for that, "
                "{square}", deep=deep, square=square),
        bench.place("holes" if words.holes is not None else "cutter"),
    )]


def _not_drilled_so_deep(
    bench: FlatBench, words: Ream, bottoms: dict[str, float]
) -> list[Fault]:
    """Holes that earlier drills of this setup leave too shallow: a reamer's end does not cut."""
    layout, faults = bench.layout, []
    for hole in holes_chosen(layout, tuple(bottoms)):
        drilled, bottom = drilled_to(bench, hole), bottoms[hole.name]
        if hole.depth is None and drilled is not None and bottom < drilled - 1e-9:
            faults.append(
                Fault(
                    Message("the reamer would go {deep:.2f} mm deep in {hole}, which is drilled "
                            "with the full diameter for {drilled:.2f} mm",
                            deep=layout.face - bottom, hole=hole.name,
                            drilled=layout.face - drilled),
                    Message("drill it with depth: {depth} where that may be cut into",
                            depth=no_less(layout.face - bottom + 0.05, 0.01)),
                    bench.place("holes" if words.holes is not None else "cutter"),
                )
            )
        faults += beneath_closed(bench, hole, bottom, bench.place("cutter"), drilled)
    return faults


def plan(bench: FlatBench, words: Ream) -> PlannedStep:
    """One stroke at each hole. Raises Refused where the hole is not drilled so deep."""
    layout = bench.layout
    holes = holes_chosen(layout, words.holes)
    bottoms = {
        hole.name: bottom_of(bench, hole, _further(bench, words, hole))[0]
        for hole in holes
    }
    faults = _not_drilled_so_deep(bench, words, bottoms)
    if faults:
        raise Refused(faults)
    drilled = drilled_in(bench, words.drilled, holes)
    cut = drilling(bench, layout.face - min(bottoms.values()), drilled=drilled)
    moves = drill_strokes(bench, holes, cut.feed, lambda hole: bottoms[hole.name], feed_out=True)
    return PlannedStep(bench.section(words.called, cut.speed, moves), cut,
                       notes=_notes(bench, words, holes) + _much_or_little(bench, drilled))


def _much_or_little(bench: FlatBench, drilled: float) -> tuple[Message, ...]:
    """What is told of a hole that leaves the reamer more or less than is usual."""
    size, usual = bench.cutter.diameter, for_reamer(bench.cutter.diameter)
    left = size - drilled
    if not drilled or usual.least - 1e-6 <= left <= usual.most + 1e-6:
        return ()
    gives = (Message("it rubs and does not cut") if left < usual.least else
             Message("the chips fill its flutes and the wall is torn"))
    return (Message("ream: {left:.3g} mm are left on the diameter of {size:g} mm, {least:.2g} to "
                    "{most:.2g} are usual, such as a hole of {hole:.4g} mm: {gives}", left=left,
                    size=size, least=usual.least, most=usual.most, hole=size - usual.usual,
                    gives=gives),)


def _notes(bench: FlatBench, words: Ream, holes: tuple[Hole, ...]) -> tuple[Message, ...]:
    """Holes with a floor that come from elsewhere: how deep they were drilled is not known here."""
    lead = _lead(bench, words)
    groups = dict.fromkeys(hole.group or hole.name for hole in holes
                           if hole.depth is not None and elsewhere(bench.job, hole))
    return tuple(Message("ream: {name} comes from elsewhere; the reamer goes to its floor, and "
                         "its lead leaves the last {lead:.3g} mm under size", name=name,
                         lead=lead) for name in groups) if lead else ()


REAM = StepKind("ream", Ream, check, plan)
