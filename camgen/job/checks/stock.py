"""Whether the pieces of a toothed part lie on their stock, and cutters suit what is cut of them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from camgen.faults import Fault
from camgen.job.checks.bench import CheckBench, WordPath, centres_of, extent_of
from camgen.job.models import FlatSetup, StepWords, Stock
from camgen.job.part import blank_diameter
from camgen.messages import Message
from camgen.part.declaration import Declaration, MakesCones, MakesCrossing, MakesPockets
from camgen.part.wheels.wheel import Wheel
from camgen.shop.cutters import (
    cuts_over,
    cutting_length,
    is_relieved,
    reach_of,
    record_of,
    stands_out,
)
from camgen.tolerances import LEAST_INCREMENT

__all__ = ["step_faults", "stock_faults"]


def stock_faults(bench: CheckBench, at: WordPath, setup: FlatSetup) -> Iterator[Fault]:
    """Stock too thin or too small for the pieces, pieces over one another or under a clamp."""
    stock = setup.stock
    thick, wanted = stock.thickness, bench.part.height
    if abs(thick - wanted) > LEAST_INCREMENT:
        yield Fault(Message("the stock is {thick:g} mm thick and the {word} {wanted:g} mm",
                            thick=thick, word=bench.part.word, wanted=wanted),
                    Message("a wheel is not faced here, its stock is taken to thickness "
                            "before: as thick as hub and pipe are high, {wanted:g} mm",
                            wanted=wanted) if bench.part.raised
                    else
                    Message("no step takes stock to thickness: make {thickness_word} and stock "
                            "agree", thickness_word=bench.part.thickness_word),
                    bench.place(*at, "stock", "thickness"))
    blank = blank_diameter(bench.job, bench.tooth)
    pieces = centres_of(setup)
    width, height = extent_of(setup, blank)
    if stock.rectangle is not None:
        long, wide = stock.rectangle
        what = "sheet" if stock.sheet is not None else "bar"
        if width > long + LEAST_INCREMENT or height > wide + LEAST_INCREMENT:
            yield Fault(Message("the pieces take {width:.2f} × {height:.2f} mm and the {what} is "
                                "{long:g} × {wide:g} mm", width=width, height=height, what=what,
                                long=long, wide=wide),
                        Message("a larger {what}, fewer pieces or a smaller pitch", what=what),
                        bench.place(*at, "stock", what))
        else:
            yield from _first(bench, at, setup, stock.rectangle, blank)
    elif stock.disc is not None:
        reach = max(math.hypot(x, y) for x, y in pieces) + blank / 2
        if 2 * reach > stock.disc + LEAST_INCREMENT:
            yield Fault(Message("the pieces need a disc of {across:.2f} mm and it is {disc:g} mm",
                                across=2 * reach, disc=stock.disc),
                        Message("a larger disc, fewer pieces or a smaller pitch"),
                        bench.place(*at, "stock", "disc"))
    repeat = setup.repeat
    if repeat is not None:
        for count, pitch, way in ((repeat.columns, repeat.pitch[0], "X"),
                                  (repeat.rows, repeat.pitch[1], "Y")):
            if count > 1 and pitch < blank:
                yield Fault(Message("pieces of {blank:.3f} mm overlap at a pitch of {pitch:g} mm "
                                    "along {way}", blank=blank, pitch=pitch, way=way),
                            Message("the pitch is one piece and the cutter at least"),
                            bench.place(*at, "repeat", "pitch"))
    yield from _clamps(bench, at, setup, stock, blank)


def _first(
    bench: CheckBench, at: WordPath, setup: FlatSetup, size: tuple[float, float], blank: float
) -> Iterator[Fault]:
    """Pieces that begin at a corner of the stock must end on it as well."""
    if setup.repeat is None or setup.repeat.first is None:
        return
    for (x, y), extent, long, way in zip(
        (setup.repeat.first,) * 2, extent_of(setup, blank), size, "XY", strict=True
    ):
        begin = (x if way == "X" else y) - blank / 2
        if begin < -LEAST_INCREMENT or begin + extent > long + LEAST_INCREMENT:
            yield Fault(Message("the pieces lie from {begin:.2f} to {end:.2f} mm along {way}, and "
                                "the stock from 0 to {long:g} mm", begin=begin, end=begin + extent,
                                way=way, long=long),
                        Message("first: is the middle of the first piece, from the left end and "
                                "the front edge"), bench.place(*at, "repeat", "first"))


def _clamps(
    bench: CheckBench, at: WordPath, setup: FlatSetup, stock: Stock, blank: float
) -> Iterator[Fault]:
    """Clamps over a piece."""
    if setup.holding is None:
        return
    length, width = stock.rectangle or (stock.disc or 0.0, stock.disc or 0.0)
    # Clamps are given from the program's zero, pieces lie about the middle of the stock.
    middle_x = {"centre": 0.0, "left": length / 2, "right": -length / 2}[setup.zero_x]
    middle_y = {"centre": 0.0, "front": width / 2, "back": -width / 2}[setup.zero.y]
    for n, (x0, y0, x1, y1, _) in enumerate(setup.holding.clamps):
        left, right = sorted((x0, x1))
        low, high = sorted((y0, y1))
        place = bench.place(*at, "holding", "clamps", n)
        for x, y in centres_of(setup):
            x, y = x + middle_x, y + middle_y
            off = math.hypot(max(left - x, 0.0, x - right), max(low - y, 0.0, y - high))
            if off < blank / 2:
                yield Fault(Message("the clamp lies over the piece at X {x:g} Y {y:g}", x=x, y=y),
                            Message("put it, or the pieces, somewhere else"), place)
                break


def step_faults(
    bench: CheckBench, at: WordPath, setup: FlatSetup, step: StepWords
) -> Iterator[Fault]:
    """Cutters too short or too wide for what a step of the wheel asks of them."""
    cutter = bench.job.cutters.get(step.cutter)
    if cutter is None or not record_of(cutter).whole_width:
        return
    says = step.declares()
    depth = _deepest(bench, says, setup)
    named = ("cutters", step.cutter)
    if cutting_length(cutter) < depth - 1e-9 and not is_relieved(cutter):
        told, write = cuts_over(cutter)
        yield Fault(Message("{cutter} {told} and must go {depth:g} mm deep", cutter=step.cutter,
                            told=told, depth=depth),
                    Message("above its edges it would rub: take one with longer flutes, or say "
                            "shank: where it is relieved{write}", write=write),
                    bench.place(*named, "flute-length"))
    if reach_of(cutter) < depth + setup.clearance:
        told, write = stands_out(cutter)
        yield Fault(Message("{cutter} {told} and must go {depth:g} mm deep, with {clearance:g} mm "
                            "to spare above the stock", cutter=step.cutter, told=told, depth=depth,
                            clearance=setup.clearance),
                    Message("the collet would come down on the stock: let the cutter stand out "
                            "further{write}", write=write), bench.place(*named, "reach"))
    if says.makes_a(MakesCrossing) and bench.part.crossed is None:
        yield Fault(Message("there is no crossing to cut out"),
                    Message("add crossing: to the wheel, or leave this step out"), bench.place(*at))
    bore = bench.part.bore
    holes = tuple(says.holes)
    if says.makes_a(MakesPockets) and not _raised_on(bench, setup):
        yield Fault(Message("there is no hub to clear round"),
                    Message("add hub: or pipe: to the wheel, or leave this step out")
                    if setup.face == "upper" else
                    Message("add under: {typed} to the wheel, or leave this step out",
                            typed="{hub: …}"), bench.place(*at))
    if holes and not bore:
        yield Fault(Message("there is no hole to {kind}", kind=step.kind),
                    Message("add bore: to the part, or leave this step out"), bench.place(*at))
    elif any(one.round and one.holes.means("bore") for one in holes) and cutter.diameter >= bore:
        yield Fault(Message("{cutter}, {diameter:g} mm, is not smaller than the bore, {bore:g} mm",
                            cutter=step.cutter, diameter=cutter.diameter, bore=bore),
                    Message("boring goes round in a circle: take a cutter of two thirds of the "
                            "bore or less"), bench.place(*at, "cutter"))


def _raised_on(bench: CheckBench, setup: FlatSetup) -> tuple[tuple[float, float], ...]:
    """What stands above the web on the face that a setup has up."""
    return bench.part.raised_on(setup.face) if isinstance(bench.part, Wheel) else ()


def _deepest(bench: CheckBench, says: Declaration, setup: FlatSetup) -> float:
    """How deep a step goes below the face: right through but for pockets and seats."""
    if says.makes_a(MakesPockets):
        tops = [top for _, top in _raised_on(bench, setup)]
        return max(tops, default=bench.part.thickness) - bench.part.thickness
    mouth = bench.part.side(setup.face).counterbore if isinstance(bench.part, Wheel) else None
    if mouth is not None and list(says.at_holes) and not any(
            one.holes.means("bore") for one in says.at_holes):
        return mouth.depth
    return max((one.depth for one in says.at_holes
                if not isinstance(one, MakesCones) and one.depth is not None),
               default=setup.stock.thickness)
