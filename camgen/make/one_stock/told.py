"""What is told of parts of several jobs on one stock: one sheet, one picture, one report.

The sheet is that of any setup, of the one program; it says which piece lies where. What is measured
of a piece, and what its holes shall be, stands on the sheet of its own job.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from camgen.cutting.time.spent import TimeAccount
from camgen.faults import Refused
from camgen.layout import FlatWork
from camgen.library.standing import standing_of_job
from camgen.make.chain import Proved, ProvedSetup
from camgen.make.one_stock.chain import ProvedStock
from camgen.make.told.report import report_of, times_of
from camgen.make.told.same_said import sheet_parted
from camgen.make.told.sheet_texts import sheet_of
from camgen.messages import Message
from camgen.reader.dialect import dialect_of
from camgen.sheet.data import HoleTable
from camgen.sheet.page import sheet_html
from camgen.values import dataclass
from camgen.words import words

if TYPE_CHECKING:
    from camgen.preview.setup import Picture

__all__ = ["StockOutput", "output_of_stock", "picture_of_stock", "used_told"]


@dataclass(frozen=True)
class StockOutput:
    """The files by name, and the report."""

    files: Mapping[str, bytes]
    report: dict[str, Any]


def output_of_stock(stock: ProvedStock, *, pictures: bool = True) -> StockOutput:
    """The files of parts on one stock whose proofs all hold.

    Raises ValueError when one does not: no program leaves unproved; and Refused where the sheet's
    text does not say the same as the programs'.
    """
    if stock.failed:
        raise ValueError("a program that fails a proof is not written")
    proved = _as_one_job(stock)
    times = times_of(proved)
    report = _report(stock, proved, times)
    drawn = picture_of_stock(stock) if pictures else None
    sheet = _sheet(stock, proved, times, drawn)
    faults = sheet_parted(sheet, [{one.file: one.text for one in stock.programs}], report,
                          dialect_of(stock.machine).change_message, [stock.read])
    if faults:
        raise Refused(faults)
    files = {one.file: one.text for one in stock.programs}
    if drawn is not None:
        files[f"{stock.stem}.png"] = drawn.content
    files["sheet.html"] = sheet.encode()
    files["report.json"] = (json.dumps(report, ensure_ascii=False, indent=1) + "\n").encode()
    return StockOutput(files, report)


def picture_of_stock(stock: ProvedStock) -> Picture:
    """The stock with every part, each with its name, and the ways of all."""
    # Loaded when asked for: drawing takes longer to load than a part to make.
    from camgen.preview.setup import draw_setup

    first, *others = (dataclasses.replace(one.layout, called=one.kind.names)
                      for one in stock.kinds)
    say = words(stock.language)
    return draw_setup(
        dataclasses.replace(first, beside=tuple(others)), stock.read, stock.machine,
        stock.evidence.cutters, stock.proofs, stock.stock_file.words.job,
        subtitle=f"{say('materials', stock.material.title)}, {stock.machine.name}",
        names={section.cutter_number: section.cutter for section in stock.moves.sections},
        language=stock.language)


def used_told(stock: ProvedStock) -> Message:
    """How much of the stock the parts take."""
    return Message("the parts take {share:.0f} % of the stock's face", share=100 * stock.used)


def _as_one_job(stock: ProvedStock) -> Proved:
    """The whole as one setup of one job; its part is the first one's, and nothing told of it."""
    said, first = stock.stock_file.words, stock.kinds[0]
    places = tuple(place for one in stock.kinds for place in one.layout.places)
    setup, = first.kind.job_file.job.flat
    planned = dataclasses.replace(
        first.planned, name=stock.stem, moves=stock.moves, cuts=stock.cuts,
        work=FlatWork(setup, dataclasses.replace(first.layout, places=places)),
        remarks=tuple(dict.fromkeys(
            remark for one in stock.kinds for remark in _of(one.kind.name, one.planned.remarks))),
        notes=tuple(dict.fromkeys(
            note for one in stock.kinds for note in _of(one.kind.name, one.planned.notes))),
        corrected=tuple(dict.fromkeys(
            note for one in stock.kinds for note in _of(one.kind.name, one.planned.corrected))))
    file = first.kind.job_file
    job = file.job.model_copy(update={
        "job": said.job, "note": said.note, "quantity": len(places)})
    return Proved(
        dataclasses.replace(file, job=job, path=stock.stock_file.path), stock.machine,
        stock.material, stock.stock_file.path.parent, stock.stem, stock.prints, None,
        standing_of_job(stock.prints, 0, None), stock.language,
        (ProvedSetup(planned, stock.programs, stock.read, stock.evidence, stock.proofs),))


def _of(name: str, said: tuple[Message, ...]) -> Iterator[Message]:
    return (Message("{name}: {what}", name=name, what=one) for one in said)


def _pieces(stock: ProvedStock) -> Iterator[dict[str, Any]]:
    """Each piece: its name, its job's file, where it lies, and the proofs of its kind."""
    for one in stock.kinds:
        for name, (x, y) in zip(one.kind.names, one.kind.places, strict=True):
            yield {"name": name, "job_file": one.kind.job_file.path.name,
                   "job": one.kind.job_file.job.job, "x": round(x, 4), "y": round(y, 4),
                   "turned": round(one.kind.turned, 6), "proofs": len(one.proofs)}


def _report(stock: ProvedStock, proved: Proved, times: Mapping[str, TimeAccount]) -> dict[str, Any]:
    report = report_of(proved, times, None)
    report.pop("holes", None)
    return {**report, "pieces": list(_pieces(stock)), "stock_used": round(stock.used, 4)}


def _sheet(
    stock: ProvedStock, proved: Proved, times: Mapping[str, TimeAccount], drawn: Picture | None
) -> str:
    say = words(stock.language)
    data = sheet_of(proved, times, {stock.stem: drawn} if drawn is not None else {}, say, None)
    lines = [Message("{name}, of {file}, at X {x:g} Y {y:g}, turned {turned:g}°",
                     name=one["name"], file=one["job_file"], x=one["x"], y=one["y"],
                     turned=one["turned"]) for one in _pieces(stock)]
    setup, = data.setups
    kept = Message("what is measured of a piece, and its record, stand with its own job")
    setup = dataclasses.replace(setup, measures=(), holes=HoleTable(), remarks=(
        *(say.say(one) for one in lines), say.say(used_told(stock)), say.say(kept),
        *setup.remarks))
    return sheet_html(dataclasses.replace(data, setups=(setup,)), stock.language)
