"""What is told of parts of several jobs on one stock: one sheet, one picture, one report.

The sheet is that of any setup, of the one program; it says which piece lies where. What is measured
of a piece, and what its holes shall be, stands on the sheet of its own job.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from camgen.cutting.time.spent import TimeAccount
from camgen.faults import Refused
from camgen.job.models import StepWords
from camgen.layout import FlatWork
from camgen.library.standing import standing_of_job
from camgen.make.chain import Proved, ProvedSetup
from camgen.make.one_stock.chain import ProvedSide, ProvedStock
from camgen.make.one_stock.half_turn import fits_half_turned, half_turn_check, half_turn_faults
from camgen.make.told.report import report_of, times_of
from camgen.make.told.same_said import sheet_parted
from camgen.make.told.sheet_texts import sheet_of
from camgen.make.told.turning import stand_of_dowels
from camgen.messages import Message
from camgen.plan import PlannedSetup
from camgen.reader.dialect import dialect_of
from camgen.sheet.data import Dowel, HoleTable, TurningOver
from camgen.sheet.page import sheet_html
from camgen.values import dataclass
from camgen.words import words

if TYPE_CHECKING:
    from camgen.preview.setup import Picture

__all__ = ["StockOutput", "output_of_stock", "pictures_of_stock", "used_told"]


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
    unseen = half_turn_faults(stock)
    if unseen:
        raise Refused(unseen)
    proved = _as_one_job(stock)
    times = times_of(proved)
    report = _report(stock, proved, times)
    drawn = pictures_of_stock(stock) if pictures else {}
    sheet = _sheet(stock, proved, times, drawn)
    written = [{one.file: one.text for one in side.programs} for side in stock.sides]
    faults = sheet_parted(sheet, written, report, dialect_of(stock.machine).change_message,
                          [side.read for side in stock.sides])
    if faults:
        raise Refused(faults)
    files = {file: text for side in written for file, text in side.items()}
    files |= {f"{name}.png": picture.content for name, picture in drawn.items()}
    files["sheet.html"] = sheet.encode()
    files["report.json"] = (json.dumps(report, ensure_ascii=False, indent=1) + "\n").encode()
    return StockOutput(files, report)


def pictures_of_stock(stock: ProvedStock) -> dict[str, Picture]:
    """Each side of the stock, by its name, with every part, its name, and the ways of all."""
    # Loaded when asked for: drawing takes longer to load than a part to make.
    from camgen.preview.setup import draw_setup

    say = words(stock.language)
    drawn: dict[str, Picture] = {}
    for side in stock.sides:
        first, *others = (dataclasses.replace(one.layout, called=one.kind.names)
                          for one in side.kinds if one.kind in stock.stock_file.parts)
        drawn[side.name] = draw_setup(
            dataclasses.replace(first, beside=tuple(others)), side.read, stock.machine,
            side.evidence.cutters, side.proofs, stock.stock_file.words.job,
            subtitle=f"{say('materials', stock.material.title)}, {stock.machine.name}",
            names={section.cutter_number: section.cutter for section in side.moves.sections},
            language=stock.language)
    return drawn


def used_told(stock: ProvedStock) -> Message:
    """How much of the stock the parts take."""
    return Message("the parts take {share:.0f} % of the stock's face", share=100 * stock.used)


def _as_one_job(stock: ProvedStock) -> Proved:
    """The whole as the setups of one job; its part is one of them, and nothing told of it."""
    said = stock.stock_file.words
    lead = max(stock.stock_file.parts, key=lambda one: len(one.job_file.job.setups))
    job = lead.job_file.job
    count = sum(len(one.layout.places) for one in stock.parts)
    setups = []
    for side, setup, flat in zip(stock.sides, job.setups, job.flat, strict=False):
        planned = next(one.planned for one in side.kinds if one.kind == lead)
        layout = next(one.layout for one in side.kinds if one.kind == lead)
        places = tuple(place for one in side.kinds if one.kind in stock.stock_file.parts
                       for place in one.layout.places)
        setups.append(ProvedSetup(dataclasses.replace(
            planned, name=side.name, setup=setup, moves=side.moves, cuts=side.cuts,
            of_sections=tuple(_steps(side)),
            work=FlatWork(flat, dataclasses.replace(layout, places=places)),
            remarks=_all_of(side, lambda one: one.remarks),
            notes=_all_of(side, lambda one: one.notes),
            corrected=_all_of(side, lambda one: one.corrected)),
            side.programs, side.read, side.evidence, side.proofs))
    job = job.model_copy(update={"job": said.job, "note": said.note, "quantity": count})
    return Proved(
        dataclasses.replace(lead.job_file, job=job, path=stock.stock_file.path), stock.machine,
        stock.material, stock.stock_file.path.parent, stock.stem, stock.prints, None,
        standing_of_job(stock.prints, 0, None), stock.language, tuple(setups))


def _steps(side: ProvedSide) -> Iterator[StepWords]:
    """The step that each section of a side comes from, in order."""
    come = [iter(one.planned.moves.sections) for one in side.kinds]
    for number in side.of_kind:
        yield side.kinds[number].planned.setup.steps[next(come[number]).step]


def _all_of(
    side: ProvedSide, which: Callable[[PlannedSetup], tuple[Message, ...]]
) -> tuple[Message, ...]:
    """What is said of each kind of piece on a side, with its name, each once."""
    return tuple(dict.fromkeys(
        said for one in side.kinds for said in _of(one.kind.name, which(one.planned))))


def _of(name: str, said: tuple[Message, ...]) -> Iterator[Message]:
    return (Message("{name}: {what}", name=name, what=one) for one in said)


def _pieces(stock: ProvedStock) -> Iterator[dict[str, Any]]:
    """Each piece: its name, its job's file, where it lies, and the proofs of its kind."""
    for one in stock.parts:
        proofs = sum(len(each.proofs) for side in stock.sides for each in side.kinds
                     if each.kind == one.kind)
        for name, (x, y) in zip(one.kind.names, one.kind.places, strict=True):
            yield {"name": name, "job_file": one.kind.job_file.path.name,
                   "job": one.kind.job_file.job.job, "x": round(x, 4), "y": round(y, 4),
                   "turned": round(one.kind.turned, 6), "proofs": proofs}


def _report(stock: ProvedStock, proved: Proved, times: Mapping[str, TimeAccount]) -> dict[str, Any]:
    report = report_of(proved, times, None)
    report.pop("holes", None)
    return {**report, "pieces": list(_pieces(stock)), "stock_used": round(stock.used, 4)}


def _sheet(
    stock: ProvedStock, proved: Proved, times: Mapping[str, TimeAccount],
    drawn: Mapping[str, Picture],
) -> str:
    say = words(stock.language)
    data = sheet_of(proved, times, dict(drawn), say, None)
    lines = [Message("{name}, of {file}, at X {x:g} Y {y:g}, turned {turned:g}°",
                     name=one["name"], file=one["job_file"], x=one["x"], y=one["y"],
                     turned=one["turned"]) for one in _pieces(stock)]
    first, *others = data.setups
    kept = Message("what is measured of a piece, and its record, stand with its own job")
    first = dataclasses.replace(first, measures=(), holes=HoleTable(), turning=None, remarks=(
        *(say.say(one) for one in lines), say.say(used_told(stock)), say.say(kept),
        *first.remarks))
    turned = [dataclasses.replace(one, measures=(), holes=HoleTable(),
                                  turning=turning_of_strip(stock)) for one in others]
    return sheet_html(dataclasses.replace(data, setups=(first, *turned)), stock.language)


def turning_of_strip(stock: ProvedStock) -> TurningOver | None:
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
