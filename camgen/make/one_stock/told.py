"""What is told of parts of several jobs on one stock: a sheet, a picture of each side, a report.

The sheet is that of any job, of the programs whole; and of each piece it has what the sheet of its
own job has: its table of holes, its corners, where it lies, what it weighs.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from camgen.cutting.time.spent import TimeAccount
from camgen.faults import Refused
from camgen.make.chain import Proved
from camgen.make.files import Output, drawn_of_job, output_with, page_of_job
from camgen.make.one_stock.as_job import as_one_job, kinds_as_jobs
from camgen.make.one_stock.chain import ProvedKind, ProvedSide, ProvedStock
from camgen.make.one_stock.half_turn import fits_half_turned, half_turn_check, half_turn_faults
from camgen.make.one_stock.metal import StockWeighed, stock_account
from camgen.make.told.corner_table import corners_of
from camgen.make.told.hole_table import holes_of
from camgen.make.told.holes import holes_of_report
from camgen.make.told.pace_told import pace_told
from camgen.make.told.report import report_of, taken_of, times_of, work_notes
from camgen.make.told.sheet_texts import measures_of, sheet_of
from camgen.make.told.turning import stand_of_dowels
from camgen.make.variants import Wish
from camgen.messages import Message
from camgen.sheet.data import (
    Dowel,
    HoleTable,
    Measure,
    PieceSheet,
    PieceWeight,
    SheetData,
    TurningOver,
)
from camgen.sheet.page import sheet_html
from camgen.words import Words, words

if TYPE_CHECKING:
    from camgen.preview.paper.board import Style
    from camgen.preview.setup import Picture

__all__ = ["drawn_of_stock", "left_whole_told", "output_of_stock", "piece_told",
           "report_of_stock", "used_told"]


def output_of_stock(
    stock: ProvedStock, wish: Wish | None = None, *, pictures: bool = True
) -> Output:
    """The files of parts on one stock whose proofs all hold, as far as they are wished for.

    Raises ValueError when one does not: no program leaves unproved; and Refused where the sheet's
    text does not say the same as the programs', or turning over wrongly would not be seen.
    """
    unseen = half_turn_faults(stock)
    if unseen:
        raise Refused(unseen)
    proved = as_one_job(stock, wish)
    if stock.failed or proved.failed:
        raise ValueError("a program that fails a proof is not written")
    times = times_of(proved)
    weighed = stock_account(stock)
    report = report_of_stock(stock, proved, times, weighed)
    drawn: Mapping[str, Picture] = {}
    if pictures:
        # Loaded when asked for: drawing takes longer to load than a part to make.
        from camgen.make.pictures import pictures_of

        drawn = pictures_of(proved)
    sheet = _sheet(stock, proved, times, drawn, weighed)
    return output_with(proved, sheet, report, times, drawn, {
        setup.name: f"{setup.name.replace(stock.called(number), side.name, 1)}.png"
        for setup in proved.setups for number, side in enumerate(stock.sides)
        if setup.name.startswith(stock.called(number))})


def drawn_of_stock(
    stock: ProvedStock, *, page: bool = False, course: bool = False, dark: bool = False,
    style: Style = "png", rapids: bool = False,
) -> Mapping[str, bytes]:
    """Pictures of the sides by their files' names, their ``course`` in time, or the ``page``.

    Raises Refused where all proofs hold and what is drawn does not say the same as the sheet.
    """
    def made(_: Proved) -> Output:
        return output_of_stock(stock, pictures=False)

    proved = as_one_job(stock)
    if page:
        return page_of_job(proved, made)
    end = "-course" if course else ""
    names = {stock.called(number): side.name for number, side in enumerate(stock.sides)}
    return {f"{names[name]}{end}.{style}": picture.content for name, picture in drawn_of_job(
        proved, course=course, dark=dark, style=style, rapids=rapids,
        made=made).items()}


def used_told(stock: ProvedStock) -> Message:
    """How much of the stock the parts take."""
    return Message("the parts take {share:.0f} % of the stock's face", share=100 * stock.used)


def left_whole_told(stock: ProvedStock) -> tuple[Message, ...]:
    """Of a stock that pieces were packed on, how they lie and what is left of it in one piece."""
    packed = stock.stock_file.packed
    if packed is None:
        return ()
    told = Message("packed in rows along {axis}; beyond them {length:.1f} x {width:.1f} mm of the "
                   "stock stay whole", axis=packed.axis, length=packed.free[0],
                   width=packed.free[1])
    return (told, *(Message("{name}: {count} of {all} turned by 90° for less waste; where the "
                            "grain of the sheet matters write keeps-grain: true",
                            name=one.name, count=one.turned, all=one.count)
                    for one in packed.turned))


def piece_told(one: Mapping[str, Any]) -> Message:
    """A piece of the report in a line: its name, its job's file, where it lies."""
    return Message("{name}, of {file}, at X {x:g} Y {y:g}, turned {turned:g}°",
                   name=one["name"], file=one["job_file"], x=one["x"], y=one["y"],
                   turned=one["turned"])


def report_of_stock(
    stock: ProvedStock, proved: Proved, times: Mapping[str, TimeAccount], weighed: StockWeighed
) -> dict[str, Any]:
    """The report of all together, with each piece, and the holes and the weight of each kind."""
    report = report_of(proved, times, weighed.account, _notes(stock, proved))
    report["metal"]["of"] = [{"name": one.name, "pieces": one.pieces, "part": round(one.grams, 6)}
                             for one in weighed.kinds]
    report["holes"] = [
        {"piece": kind.name, **entry, "setup": names.get(entry["setup"], entry["setup"])}
        for kind, part in zip(stock.stock_file.kinds, kinds_as_jobs(stock), strict=True)
        for names in [{setup.name: stock.called(number)
                       for number, setup in enumerate(part.setups)}]
        for entry in holes_of_report(part)]
    return {**report, "pieces": list(_pieces(stock)), "stock_used": round(stock.used, 4)}


def _notes(stock: ProvedStock, proved: Proved) -> tuple[Message, ...]:
    """What is not as one would expect: of each kind of piece with its name, of cutters once."""
    return (
        *left_whole_told(stock),
        *dict.fromkeys(Message("{name}: {what}", name=kind.name, what=one)
                       for kind, part in zip(stock.stock_file.kinds, kinds_as_jobs(stock),
                                             strict=True) for one in work_notes(part)),
        *(Message("{setup}: {remark}", setup=setup.name, remark=one)
          for setup in proved.setups for one in pace_told(setup.evidence)),
        *taken_of(proved))


def _pieces(stock: ProvedStock) -> Iterator[dict[str, Any]]:
    """Each piece: its name, its job's file, where it lies, and the proofs of its kind."""
    for one in stock.parts:
        proofs = sum(len(each.proofs) for side in stock.sides for each in side.kinds
                     if each.kind == one.kind)
        for name, (x, y) in zip(one.kind.names, one.kind.places, strict=True):
            yield {"name": name, "job_file": one.kind.job_file.path.name,
                   "job": one.kind.job_file.job.job, "x": round(x, 4), "y": round(y, 4),
                   "turned": round(one.kind.turned, 6), "proofs": proofs}


def _sheet(
    stock: ProvedStock, proved: Proved, times: Mapping[str, TimeAccount],
    drawn: Mapping[str, Picture], weighed: StockWeighed,
) -> str:
    say = words(stock.language)
    data = sheet_of(proved, times, dict(drawn), say, weighed.account)
    setups = []
    for made, setup in zip(proved.setups, data.setups, strict=True):
        number = next(n for n in range(len(stock.sides))
                      if made.name.startswith(stock.called(n)))
        side = stock.sides[number]
        told = (*([] if number else [used_told(stock), *left_whole_told(stock)]),
                Message("a run is recorded, and a size corrected, with the job of each part"))
        setups.append(dataclasses.replace(
            setup, measures=_measures(side, say), holes=HoleTable(), corners=(),
            pieces=tuple(_piece(stock, one, number, say) for one in side.kinds),
            turning=_turning_of_strip(stock) if number else None,
            remarks=(*(say.say(one) for one in told), *setup.remarks)))
    metal = data.metal
    if metal is not None:
        metal = dataclasses.replace(metal, each=tuple(
            PieceWeight(one.name, one.pieces, one.grams) for one in weighed.kinds))
    whole: SheetData = dataclasses.replace(data, setups=tuple(setups), metal=metal)
    return sheet_html(whole, stock.language)


def _measures(side: ProvedSide, say: Words) -> tuple[Measure, ...]:
    """What is to be measured of the parts besides their holes, what is alike once."""
    found: dict[tuple[str, float], Measure] = {}
    for one in side.kinds:
        job = one.kind.job_file.job
        for measure in measures_of(job, one.planned.work, say):
            if measure.what != "bore":
                found.setdefault((measure.what, measure.nominal), measure)
    return tuple(found.values())


def _piece(stock: ProvedStock, one: ProvedKind, number: int, say: Words) -> PieceSheet:
    """What the sheet says of pieces of one kind on a side."""
    kind, layout, setup = one.kind, one.layout, one.planned.setup
    job = kind.job_file.job
    if kind in stock.stock_file.parts:
        here = [piece for piece in _pieces(stock) if piece["name"] in kind.names]
        lines = [say.say(piece_told(piece)) for piece in here] if number == 0 else [
            say.say(Message("{name}, now at X {x:g} Y {y:g}", name=name, x=round(x, 4),
                            y=round(y, 4)))
            for name, (x, y) in zip(kind.names, layout.places, strict=True)]
        own = {mine: called for mine, called in kind.cutters.items() if mine != called}
        if own and number == 0:
            lines.append(say.say(Message(
                "cutters of {file} by their names here: {names}", file=kind.job_file.path.name,
                names=tuple(f"{mine} = {called}" for mine, called in own.items()))))
    else:
        lines = [say.say(Message("holes in the frame of the stock, for its dowels"))]
    return PieceSheet(kind.name, tuple(lines), holes_of(job, setup, layout, say),
                      corners_of(setup, layout, say))


def _turning_of_strip(stock: ProvedStock) -> TurningOver | None:
    """How the stock is turned over and laid on its dowels, with the hole to see by that it lies
    right; None where it is not turned."""
    strip = stock.strip
    if strip is None:
        return None
    dowels = tuple(Dowel(one.name, one.diameter, one.x, one.y) for one in strip.on_second)
    layout = stock.sides[1].kinds[0].layout
    hole = half_turn_check(stock)
    return TurningOver(
        face=layout.side, axis=strip.axis, dowels=dowels, stand=stand_of_dowels(layout),
        alike=fits_half_turned(stock), check=hole[0] if hole is not None else None,
        solid=True, strip=True)
