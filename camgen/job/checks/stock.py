"""Whether the pieces of a toothed part lie on their stock, and cutters suit what is cut of them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from camgen.faults import Fault
from camgen.job.checks.bench import CheckBench, WordPath, centres_of, extent_of
from camgen.job.models import FlatSetup, StepWords, Stock
from camgen.job.part import blank_diameter
from camgen.part.declaration import MakesCones, MakesCrossing
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
    thick, wanted = stock.thickness, bench.part.thickness
    if abs(thick - wanted) > LEAST_INCREMENT:
        yield Fault(f"the stock is {thick:g} mm thick and the {bench.part.word} {wanted:g} mm",
                    f"No step takes stock to thickness: make {bench.part.thickness_word} and "
                    "stock agree.",
                    bench.place(*at, "stock", "thickness"))
    blank = blank_diameter(bench.job, bench.tooth)
    pieces = centres_of(setup)
    width, height = extent_of(setup, blank)
    if stock.rectangle is not None:
        long, wide = stock.rectangle
        what = "sheet" if stock.sheet is not None else "bar"
        if width > long + LEAST_INCREMENT or height > wide + LEAST_INCREMENT:
            yield Fault(f"the pieces take {width:.2f} × {height:.2f} mm and the {what} is "
                        f"{long:g} × {wide:g} mm", f"A larger {what}, fewer pieces or a "
                        "smaller pitch.", bench.place(*at, "stock", what))
        else:
            yield from _first(bench, at, setup, stock.rectangle, blank)
    elif stock.disc is not None:
        reach = max(math.hypot(x, y) for x, y in pieces) + blank / 2
        if 2 * reach > stock.disc + LEAST_INCREMENT:
            yield Fault(f"the pieces need a disc of {2 * reach:.2f} mm and it is "
                        f"{stock.disc:g} mm", "A larger disc, fewer pieces or a smaller pitch.",
                        bench.place(*at, "stock", "disc"))
    repeat = setup.repeat
    if repeat is not None:
        for count, pitch, way in ((repeat.columns, repeat.pitch[0], "X"),
                                  (repeat.rows, repeat.pitch[1], "Y")):
            if count > 1 and pitch < blank:
                yield Fault(f"pieces of {blank:.3f} mm overlap at a pitch of {pitch:g} mm "
                            f"along {way}", "The pitch is one piece and the cutter at least.",
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
            yield Fault(f"the pieces lie from {begin:.2f} to {begin + extent:.2f} mm along "
                        f"{way}, and the stock from 0 to {long:g} mm",
                        "first: is the middle of the first piece, from the left end and the "
                        "front edge.", bench.place(*at, "repeat", "first"))


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
                yield Fault(f"the clamp lies over the piece at X {x:g} Y {y:g}",
                            "Put it, or the pieces, somewhere else.", place)
                break


def step_faults(
    bench: CheckBench, at: WordPath, setup: FlatSetup, step: StepWords
) -> Iterator[Fault]:
    """Cutters too short or too wide for what a step of the wheel asks of them."""
    stock = setup.stock
    cutter = bench.job.cutters.get(step.cutter)
    if cutter is None or not record_of(cutter).whole_width:
        return
    says = step.declares()
    depth = max((one.depth for one in says.at_holes
                 if not isinstance(one, MakesCones) and one.depth is not None),
                default=stock.thickness)
    named = ("cutters", step.cutter)
    if cutting_length(cutter) < depth - 1e-9 and not is_relieved(cutter):
        told, write = cuts_over(cutter)
        yield Fault(f"{step.cutter} {told} and must go {depth:g} mm deep",
                    "Above its edges it would rub: take one with longer flutes, or say shank: "
                    f"where it is relieved{write}.", bench.place(*named, "flute-length"))
    if reach_of(cutter) < depth + setup.clearance:
        told, write = stands_out(cutter)
        yield Fault(f"{step.cutter} {told} and must go {depth:g} mm "
                    f"deep, with {setup.clearance:g} mm to spare above the stock",
                    "The collet would come down on the stock: let the cutter stand out "
                    f"further{write}.", bench.place(*named, "reach"))
    crosses, crossing = says.makes_a(MakesCrossing), bench.part.crossing
    if crosses and crossing is not None:
        corner = crossing.corner
        if corner < cutter.diameter / 2 - 1e-9:
            yield Fault(f"corner radius {corner:g} mm is smaller than that of the cutter "
                        f"{step.cutter}, {cutter.diameter / 2:g} mm",
                        f"Corners of {cutter.diameter / 2:g} mm or more, or a cutter of at "
                        f"most {2 * corner:g} mm.", bench.place("wheel", "crossing", "corner"))
    if crosses and crossing is None:
        yield Fault("there is no crossing to cut out",
                    "Add crossing: to the wheel, or leave this step out.", bench.place(*at))
    bore = bench.part.bore
    holes = tuple(says.holes)
    if holes and not bore:
        yield Fault(f"there is no hole to {step.kind}",
                    "Add bore: to the part, or leave this step out.", bench.place(*at))
    elif any(one.round for one in holes) and cutter.diameter >= bore:
        yield Fault(f"{step.cutter}, {cutter.diameter:g} mm, is not smaller than the bore, "
                    f"{bore:g} mm", "Boring goes round in a circle: take a cutter of two "
                    "thirds of the bore or less.", bench.place(*at, "cutter"))
