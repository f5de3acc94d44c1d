"""The sides of a stock with parts of several jobs, planned: what lies where, and whether any part
or its cutters come into another, a clamp, a dowel or a tab.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence

import shapely
from shapely.affinity import translate

from camgen.faults import Fault
from camgen.job.joined.one_stock.reading import PieceKind, StockFile
from camgen.layout import FlatLayout, FlatWork, Strip
from camgen.messages import Message
from camgen.plan import Plan, PlannedSetup
from camgen.proof.flat.neighbours import deepest_meeting
from camgen.proof.ground.plan_cuts import plan_cuts
from camgen.proof.ground.planned import lay_out
from camgen.tolerances import STOCK_CHORD

__all__ = ["LaidKind", "Side", "clashes", "cut_into", "first_side", "outlines_of", "second_side"]


@dataclasses.dataclass(frozen=True)
class LaidKind:
    """A kind of piece on one side, ``number`` of its kind in the file."""

    number: int
    kind: PieceKind
    planned: PlannedSetup
    layout: FlatLayout


# What lies on the stock and must stay whole: its name and what it takes of the plan.
Whole = tuple[str, shapely.Polygon]


@dataclasses.dataclass(frozen=True)
class Side:
    """One side planned: ``outlines`` of every kind in the file, whether it is worked here or not,
    ``tabs`` that hold its pieces from before, ``dowels`` that stand there."""

    name: str
    laid: tuple[LaidKind, ...]
    outlines: tuple[tuple[Whole, ...], ...]
    tabs: tuple[Whole, ...] = ()
    dowels: tuple[Whole, ...] = ()

    def others(self, number: int) -> list[Whole]:
        """What is on the stock beside the pieces of one kind."""
        return [one for m, each in enumerate(self.outlines) if m != number for one in each]


def _laid(stock_file: StockFile, plans: Sequence[Plan], side: int) -> tuple[LaidKind, ...]:
    found = []
    for number, (kind, plan) in enumerate(zip(stock_file.kinds, plans, strict=True)):
        for planned in plan.setups[side:side + 1]:
            match planned.work:
                case FlatWork() as work:
                    found.append(LaidKind(number, kind, planned, work.layout))
    return tuple(found)


def first_side(stock_file: StockFile, plans: Sequence[Plan], name: str) -> Side:
    laid = _laid(stock_file, plans, 0)
    return Side(name, laid, tuple(
        tuple(outlines_of(one.kind, one.layout)) if one.kind in stock_file.parts else
        tuple(_with_walls(one.layout)) for one in laid))


def second_side(
    stock_file: StockFile, plans: Sequence[Plan], strip: Strip, first: Side, name: str
) -> Side:
    laid = _laid(stock_file, plans, 1)
    tabs = [(name, strip.region(shapely.Point(x + tab.x, y + tab.y).buffer(tab.radius).difference(
                outline)))
            for one, outlines in zip(first.laid, first.outlines, strict=True)
            for (name, outline), (x, y) in zip(outlines, one.layout.places, strict=False)
            for tab in one.layout.tabs]
    return Side(
        name, laid,
        tuple(tuple((name, strip.region(region)) for name, region in each)
              for each in first.outlines[:len(stock_file.parts)]),
        tuple(tabs),
        tuple((one.name, shapely.Point(one.x, one.y).buffer(one.diameter / 2))
              for one in strip.on_second))


def outlines_of(kind: PieceKind, layout: FlatLayout) -> list[Whole]:
    """Each piece of a kind by its name, as it lies on the stock."""
    part = layout.part.outline.region(STOCK_CHORD)
    return [(name, translate(part, x, y))
            for name, (x, y) in zip(kind.names, layout.places, strict=True)]


def _with_walls(layout: FlatLayout) -> list[Whole]:
    """The dowels' holes in the frame, with what must stand round them: half a diameter."""
    # A dowel's wall holds against the cut. Common practice, no source.
    return [(one.name, shapely.Point(one.x, one.y).buffer(one.diameter))
            for one in layout.part.holes]


def clashes(stock_file: StockFile, side: Side) -> Iterator[Fault]:
    """Pieces that lie over one another, or under a clamp."""
    pieces = [(stock_file.kinds[number], *one)
              for number, each in enumerate(side.outlines) for one in each]
    for n, (kind, name, region) in enumerate(pieces):
        place = stock_file.place_of(kind)
        for _, other, there in pieces[:n]:
            if region.intersection(there).area > STOCK_CHORD:
                yield Fault(Message("{name} lies over {other}", name=name, other=other),
                            Message("move one of them"), place)
        for number, clamp in enumerate(side.laid[0].layout.clamps):
            if region.intersects(clamp.plan):
                yield Fault(Message("{name} lies under clamp {number}", name=name,
                                    number=number + 1), Message("move one of them"), place)


def cut_into(stock_file: StockFile, side: Side) -> Iterator[Fault]:
    """Pieces into which the cutters of another would cut, and what else they would run into."""
    for one in side.laid:
        kind, planned, layout = one.kind, one.planned, one.layout
        job = kind.job_file.job
        laid = lay_out(planned.moves)
        cutters = {each.cutter_number: job.cutters[each.cutter] for each in planned.moves.sections}
        cuts = plan_cuts(laid.motion, cutters, layout.top, layout.bottom)
        place = stock_file.place_of(kind)
        others = side.others(one.number)
        # What is faced off stands above every part.
        low = cuts.only(cuts.low < layout.face - STOCK_CHORD)
        met = deepest_meeting(low, [region for _, region in others])
        if met is not None and met.depth > STOCK_CHORD:
            section = planned.moves.sections[int(laid.section[int(low.piece[met.cut])])]
            yield Fault(
                Message("{step} of {name} would cut {depth:.2f} mm into {other}",
                        step=section.title, name=kind.name, depth=met.depth,
                        other=others[met.region][0]),
                Message("move them apart by so much, or take a smaller cutter"), place)
        met = deepest_meeting(cuts, [clamp.plan for clamp in layout.clamps])
        if met is not None:
            yield Fault(Message("the cutters of {name} would run {depth:.2f} mm into clamp "
                                "{number}", name=kind.name, depth=met.depth,
                                number=met.region + 1),
                        Message("move one of them"), place)
        met = deepest_meeting(cuts, [region for _, region in side.dowels])
        if met is not None:
            yield Fault(Message("the cutters of {name} would run {depth:.2f} mm into the dowel "
                                "in {hole}", name=kind.name, depth=met.depth,
                                hole=side.dowels[met.region][0]),
                        Message("move one of them"), place)
        met = deepest_meeting(cuts, [region for _, region in side.tabs])
        if met is not None and met.depth > STOCK_CHORD:
            yield Fault(Message("the cutters of {name} would run {depth:.2f} mm into a tab that "
                                "holds {other}", name=kind.name, depth=met.depth,
                                other=side.tabs[met.region][0]),
                        Message("cut it out in its second setup, or move them apart"), place)
