"""Milling slots along turned work with an end mill as wide as they are.

Where the work before a slot is thinner than its floor the cutter comes in from there; else it goes
straight down at the slot's beginning. Lengths mm.
"""

import math
from collections.abc import Iterator
from typing import ClassVar

from pydantic import Field

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, did_you_mean
from camgen.job.models import StepWords
from camgen.messages import Message
from camgen.moves import Move
from camgen.part.declaration import Declaration, MakesSlotsRound, Named
from camgen.part.features import RoundSlot
from camgen.shop.cutters import Ability, record_of
from camgen.steps.kind import PlannedStep, RoundBench, StepKind
from camgen.steps.round.frame import RoundFrame, at_each_place
from camgen.steps.round.holding import reach_faults, stiff_cut
from camgen.tolerances import ZERO_ALONG

__all__ = ["MILL_SLOTS"]

# A cutter is as wide as a slot where it is within this of it, mm: as ends mills are ground. Common
# practice, no source.
AS_WIDE = 0.002


class MillSlots(StepWords):
    """Mill slots along turned work held in the dividing head."""

    kind: ClassVar[str] = "mill-slots"
    called: ClassVar[Message] = Message("mill slots")
    slots: tuple[str, ...] | None = Field(None, description="names of slots; all when left out")
    passes: int | None = Field(None, ge=1, le=50, description="depths to cut in; else planned")

    def declares(self) -> Declaration:
        """The slots, at all their angles."""
        return Declaration((MakesSlotsRound(Named(self.slots)),), (Ability.MILL_WALL,))


def _chosen(bench: RoundBench, words: MillSlots) -> list[RoundSlot]:
    return [one for one in bench.layout.made if isinstance(one, RoundSlot)
            and Named(words.slots).means(one.name)]


def _opens(bench: RoundBench, one: RoundSlot, place: float) -> bool:
    return bench.layout.open_before(place + one.begin, bench.layout.part.slot_floor(one))


def _way(bench: RoundBench, one: RoundSlot, place: float) -> tuple[float, float]:
    """Where the cutter's axis goes down along the work, and where it ends."""
    radius = bench.cutter.diameter / 2
    end = place + one.end - radius
    if _opens(bench, one, place):
        return place + one.begin - radius - bench.layout.clearance - ZERO_ALONG, end
    return place + one.begin + radius, end


def _check(bench: RoundBench, words: MillSlots) -> list[Fault]:
    """Faults seen without planning."""
    faults, part, cutter = bench.need(), bench.layout.part, bench.cutter
    faults += [Fault(Message("no slots are called {name}", name=name),
                     did_you_mean(name, sorted(part.slots),
                                  Message("the part's slots: {names}", names=tuple(part.slots))),
                     bench.place("slots"))
               for name in words.slots or () if name not in part.slots]
    if not faults and not part.slots:
        faults.append(Fault(Message("the part has no slots"), Message("add slots: under turned:"),
                            bench.place()))
    if faults:
        return faults
    for one in _chosen(bench, words):
        if abs(cutter.diameter - one.width) > AS_WIDE or cutter.corner > 0:
            faults.append(Fault(
                Message("{cutter} does not leave slots {wide:g} mm wide with a square floor",
                        cutter=bench.words.cutter, wide=one.width),
                Message("an end mill of {wide:g} mm with a sharp corner", wide=one.width),
                bench.place("cutter")))
        for place in bench.layout.places:
            begin, end = _way(bench, one, place)
            if not _opens(bench, one, place) and not record_of(cutter).plunges:
                faults.append(Fault(
                    Message("{cutter} cannot go straight down, and metal stands before the slots "
                            "{name}", cutter=bench.words.cutter, name=one.name),
                    Message("an end mill that cuts to its middle"), bench.place("cutter")))
            faults += reach_faults(bench, begin, end, part.slot_floor(one))
    return list(dict.fromkeys(faults))


def _plan(bench: RoundBench, words: MillSlots) -> PlannedStep:
    """All slots, angle after angle, each in passes over its whole length."""
    frame, layout, chosen = RoundFrame(bench.layout), bench.layout, _chosen(bench, words)
    deepest = max(one.depth for one in chosen)
    cut = stiff_cut(bench, bench.cutter.diameter, deepest, words.passes,
                    [one.begin for one in chosen])
    at: dict[int, list[Move]] = {}
    for one in chosen:
        for angle in one.angles:
            moves = at.setdefault(layout.head_place(angle), [])
            for place in layout.places:
                moves += _one_slot(bench, frame, cut, one, place)
    return PlannedStep(
        bench.section(words.called, cut.speed, at_each_place(bench, frame, at)), cut,
        tuple(_remarks(chosen)))


def _one_slot(
    bench: RoundBench, frame: RoundFrame, cut: CutPlan, one: RoundSlot, place: float
) -> list[Move]:
    """One slot of one piece, from clear of the work to clear of it."""
    layout, (begin, end) = bench.layout, _way(bench, one, place)
    floor = layout.part.slot_floor(one)
    over = floor + one.depth + layout.clearance
    count = math.ceil(one.depth / cut.depth - 1e-9)
    moves: list[Move] = []
    for level in range(1, count + 1):
        out = floor + one.depth * (1 - level / count)
        moves += [frame.along(begin), frame.across(0.0)]
        moves += ([frame.out(out)] if _opens(bench, one, place)
                  else [frame.out(over), frame.into(cut.plunge_feed, out)])
        if end > begin + 1e-9:
            moves.append(frame.fed_along(cut.feed, end))
        moves.append(frame.out(frame.clear_out))
    return moves


def _remarks(chosen: list[RoundSlot]) -> Iterator[Message]:
    for one in chosen:
        yield Message("{name}: {count} slots {wide:.3f} mm wide and {deep:.3f} mm deep, from "
                      "{begin:.3f} to {end:.3f} mm behind the free end", name=one.name,
                      count=len(one.angles), wide=one.width, deep=one.depth, begin=one.begin,
                      end=one.end)


MILL_SLOTS = StepKind("mill-slots", MillSlots, _check, _plan)
