"""The setup sheet as one HTML page that prints on A4."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Sequence
from pathlib import Path

from camgen.sheet.corners import corners_left
from camgen.sheet.data import (
    CutterLine,
    DividingLine,
    Instructions,
    Measure,
    MetalRows,
    SetupSheet,
    SheetData,
    StepLine,
)
from camgen.sheet.holes import hole_table, number
from camgen.sheet.markup import Child, Markup, element, html_page, join
from camgen.sheet.pieces import piece_on_stock
from camgen.sheet.turning import turning_over
from camgen.words import Words, words

__all__ = ["cautions_said", "clock", "sheet_html"]

# Printed on every sheet, whatever the job.
_ALWAYS = ("eyes", "hair", "guards", "clamping", "air", "swarf")
# So many cutters stand beside the zero; more stand below it in two columns.
_BESIDE = 4


def clock(seconds: float) -> str:
    """A time for people: minutes and seconds, or hours and minutes.

    >>> clock(42.4), clock(185), clock(4000)
    ('42 s', '3 min 05 s', '1 h 07 min')
    """
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60:02d} s"
    minutes = round(seconds / 60)
    return f"{minutes // 60} h {minutes % 60:02d} min"


def _rounded(value: float) -> str:
    """A speed or feed: whole from ten on, one place below."""
    return f"{value:.0f}" if abs(value) >= 10 else f"{value:.1f}"


def _in_a_line(heading: str, say: Words) -> str:
    """A heading within a line: small letters first, but for German nouns."""
    return heading if say.language == "de" else heading.lower()


def _tick() -> Markup:
    return element("span", class_="tick")


def _table(head: Sequence[tuple[str, str]], rows: Iterable[Sequence[Child]]) -> Markup:
    """A table; each column of ``head`` is its class ("" for none) and its heading."""
    def cell(tag: str, kind: str, content: Child) -> Markup:
        return element(tag, content, class_=kind or None)

    return element(
        "table",
        element("thead", element("tr", *(cell("th", kind, title) for kind, title in head))),
        element("tbody", *(
            element("tr", *(cell("td", kind, content)
                            for (kind, _), content in zip(head, row, strict=True)))
            for row in rows
        )),
    )


def _pairs(pairs: Iterable[tuple[str, Child]]) -> Markup:
    return element("dl", *(join(element("dt", name), element("dd", value))
                           for name, value in pairs if value))


def _list(kind: str, items: Iterable[Child]) -> Markup:
    return element(kind, *(element("li", item) for item in items))


def _head(data: SheetData, say: Words) -> Markup:
    seconds = sum(program.seconds for setup in data.setups for program in setup.programs)
    held, all_of_them = data.proofs
    left = _pairs((
        (say("sheet", "material"), data.material),
        (say("sheet", "quantity"), str(data.quantity)),
        (say("sheet", "note"), data.note),
    ))
    right = _pairs((
        (say("sheet", "machine"), element("span", data.machine, title=data.machine_says)),
        (say("sheet", "total-time"), clock(seconds)),
        (say("sheet", "proofs"),
         say("sheet", "proofs-held", held=held, all=all_of_them) if all_of_them else None),
    ))
    return join(
        element("header",
                element("div", element("h1", data.job, " ",
                                       element("small", _in_a_line(say("sheet", "heading"), say)))),
                element("div", say("sheet", "signature"), class_="done"), class_="head"),
        element("div", left, right, class_="two"),
    )


def cautions_said(cautions: Iterable[str], say: Words) -> tuple[str, ...]:
    """What is always to be minded, then what is here: words of the catalogue, or sentences."""
    return tuple(say("materials", say("cautions", key))
                 for key in dict.fromkeys((*_ALWAYS, *cautions)))


def _cautions(data: SheetData, say: Words) -> Markup:
    return element(
        "section",
        element("h2", say("sheet", "cautions")),
        element("ul", *(element("li", _tick(), one)
                        for one in cautions_said(data.cautions, say)),
                *(element("li", _tick(), element("strong", say.say(one)))
                  for one in data.trusted)),
        element("p", say("sheet", "authority")),
        class_="caution keep",
    )


def _overview(data: SheetData, say: Words) -> Markup:
    head = (("box", ""), ("n", say("sheet", "number")), ("", say("sheet", "setup-short")),
            ("", say("sheet", "programs")), ("n", say("sheet", "time")),
            ("n", say("sheet", "check-sum")))
    rows = ((_tick(), str(place), setup.name, element("code", program.file),
             clock(program.seconds), element("code", program.sum[:8]))
            for place, setup in enumerate(data.setups, 1) for program in setup.programs)
    return element("div", element("h3", say("sheet", "way-through")), _table(head, rows),
                   class_="keep")


def _zero(setup: SetupSheet, say: Words) -> Markup:
    def how(index: int, axis: str, word: str) -> Child:
        size = setup.size[min(index, 1)] if setup.kind == "flat" else setup.size[0]
        if word == "touch" and setup.touched_at:
            word = "touch-outside"
        text = say("zero", word, size=number(size), at=setup.touched_at or f"{axis}0",
                   sum=setup.from_axis)
        return join(_tick(), element("b", axis), " ", text)

    return join(
        element("h3", say("sheet", "zero")),
        *(element("p", how(index, axis, word), class_="hang")
          for index, (axis, word) in enumerate(zip(setup.zero_axes, setup.zero, strict=True))),
    )


def _stations(setup: SetupSheet, say: Words) -> Markup | None:
    """A line for each station's zero: known places are printed, the others written in by hand."""
    if not setup.stations:
        return None
    head = (("box", ""), ("", say("stations", "station")), ("", say("stations", "offset")),
            *(("write", axis) for axis in "XYZ"))
    rows = (
        (_tick(), str(place), element("code", one.offset),
         *((number(value) for value in one.at) if one.at else (None,) * 3))
        for place, one in enumerate(setup.stations, 1)
    )
    notes = [say("stations", "before"),
             say("stations", "heights", room=number(setup.station_room))]
    if setup.station_touch:
        notes.append(say("stations", "touch-off"))
    return element("div", element("h3", say("stations", "heading")), _table(head, rows),
                   *(element("p", _tick(), note, class_="hang") for note in notes), class_="keep")


def _instructions(what: Instructions) -> Markup:
    return element("div", element("h3", what.heading), _list("ol", what.steps),
                   element("p", what.note, class_="note") if what.note else None, class_="keep")


def _again(what: Instructions) -> Markup:
    """Before all else, each to be ticked."""
    return element("div", element("h3", what.heading),
                   *(element("p", _tick(), step, class_="hang") for step in what.steps),
                   element("p", element("strong", what.note)), class_="keep")


def _stand(lines: Sequence[str], say: Words) -> Markup:
    return element("div", element("h3", say("stand", "heading")),
                   *(element("p", _tick(), line, class_="hang") for line in lines), class_="keep")


def _dividing(dividing: DividingLine, say: Words) -> Markup:
    way = (say("dividing", "by-pulse", count=dividing.count, pulses=dividing.pulses)
           if dividing.pulses else
           say("dividing", "driven" if dividing.driven else "by-hand", count=dividing.count,
               letter=dividing.driven, take_up=number(dividing.take_up)))
    errors = say("dividing", "errors", worst=f"{dividing.worst_arcsec:.1f}",
                 closing=f"{dividing.closing_arcsec:.1f}",
                 closing_um=f"{dividing.closing_um:.1f}")
    return element(
        "div", element("h3", say("sheet", "dividing")), element("p", way), element("p", errors),
        element("p", say("dividing", "first"), " ", "; ".join(dividing.first_settings))
        if dividing.first_settings else None,
        element("p", _tick(), say("dividing", "count-out"), class_="hang"),
        element("p", _tick(), say("dividing", "mark"), class_="hang"), class_="keep",
    )


def _cutters(setup: SetupSheet, say: Words) -> Markup:
    def line(cutter: CutterLine) -> Markup:
        out = "" if cutter.stick_out is None else say(
            "sheet", "stick-out", length=number(cutter.stick_out))
        taken = say("sheet", "taken", sizes=", ".join(cutter.taken)) if cutter.taken else ""
        offset = cutter.offset and say(
            "sheet", "length-offset", number=cutter.number, word=cutter.offset)
        words = ", ".join(part for part in (cutter.what, out, offset) if part)
        sense = None if cutter.clockwise else join(
            ", ", element("b", say("sheet", "anticlockwise")))
        return element("p", _tick(), element("b", f"{cutter.number} {cutter.name}"), " ", words,
                       sense, element("small", "; ", taken) if taken else None, class_="hang")

    many = len(setup.cutters) > _BESIDE
    return join(element("h3", say("sheet", "cutters")),
                element("div", *(line(each) for each in setup.cutters),
                        class_="columns" if many else None))


def _steps(setup: SetupSheet, say: Words) -> Markup:
    """The steps with boxes to tick; under each, across the whole width, why it is cut so."""
    head = (("box", ""), ("step", say("sheet", "step")), ("", say("sheet", "cutter")),
            ("n key", say("sheet", "speed")), ("n key", say("sheet", "feed")),
            ("n", say("sheet", "time")))
    first: dict[tuple[str, ...], int] = {}

    def rows(step: StepLine) -> Markup:
        # What was said of an earlier step word for word is not said again.
        earlier = first.setdefault(step.why, step.number) if step.why else step.number
        way = (element("b", say("sheet", f"way-{step.way}")), ". ") if step.way else ()
        because = join(*way, " ".join(step.why) if earlier == step.number else None)
        again = None if earlier == step.number else element(
            "small", ", ", say("sheet", "as-step", number=earlier))
        cells = (_tick(), join(f"{step.number}. {step.title}", again), step.cutter,
                 _rounded(step.speed) if step.speed else "–",
                 _rounded(step.feed) if step.feed else "–", clock(step.seconds))
        return element(
            "tbody",
            element("tr", *(element("td", cell, class_=kind or None)
                            for (kind, _), cell in zip(head, cells, strict=True))),
            element("tr", element("td"), element("td", because, class_="why", colspan="5"))
            if because else None,
            class_="keep")

    return element(
        "div", element("h3", say("sheet", "order")),
        element("table",
                element("thead", element("tr", *(element("th", title, class_=kind or None)
                                                 for kind, title in head))),
                *(rows(step) for step in setup.steps),
                class_="steps"))


def _measures(measures: Sequence[Measure], say: Words) -> Markup:
    def cell(measure: Measure) -> Markup:
        what = say("measures", measure.what,
                   at=number(measure.at) if measure.at is not None else "")
        size = f"{measure.nominal:.3f} {measure.unit}"
        return element(
            "div", element("span", what), element("b", size), element("span", class_="write"),
            element("small", measure.correct) if measure.correct else None, class_="measure")

    return element("div", element("h3", say("sheet", "measure")),
                   element("div", *(cell(each) for each in measures), class_="two measures"),
                   class_="keep")


def _picture(setup: SetupSheet) -> Markup | None:
    if setup.picture is None:
        return None
    coded = base64.b64encode(setup.picture).decode("ascii")
    return element("figure", element("img", src=f"data:{setup.picture_type};base64,{coded}",
                                     alt=setup.picture_says or setup.name))


def _setup(place: int, setup: SetupSheet, say: Words) -> Markup:
    programs = join(*(
        join(element("code", program.file), element("br"))
        for program in setup.programs
    ))
    facts = _pairs((
        (say("sheet", "programs"), programs),
        (say("sheet", "stock"), setup.stock),
        (say("sheet", "holding"), setup.holding),
        (say("sheet", "held"), setup.held),
        (say("sheet", "safe-height"),
         say("sheet", "heights", safe=number(setup.safe_height),
             clearance=number(setup.clearance))),
    ))
    many = len(setup.cutters) > _BESIDE
    beside = element("div", _dividing(setup.dividing, say)) if setup.dividing else None
    centring = element("div", _instructions(setup.centring)) if setup.centring else None
    return element(
        "section",
        element("h2", say("sheet", "setup", number=place, name=setup.name)),
        _again(setup.again) if setup.again else None,
        element("div", element("div", facts, None if many else _cutters(setup, say),
                               class_="facts"),
                element("div", _zero(setup, say), class_="zero"), class_="two"),
        _cutters(setup, say) if many else None,
        _stations(setup, say),
        turning_over(setup.turning, say) if setup.turning else None,
        _stand(setup.stand, say) if setup.stand else None,
        element("div", centring, beside, class_="two") if centring or beside else None,
        # In the middle of what is read, so that it never stands on a page alone.
        _picture(setup),
        _steps(setup, say),
        hole_table(setup.holes, say) if setup.holes.steps else None,
        corners_left(setup.corners, say) if setup.corners else None,
        *(piece_on_stock(one, say) for one in setup.pieces),
        _measures(setup.measures, say) if setup.measures else None,
        element("ul", *(element("li", remark) for remark in setup.remarks), class_="note")
        if setup.remarks else None,
        class_="setup",
    )


def _metal(metal: MetalRows, say: Words) -> Markup:
    fine = metal.fineness / 1000
    price = metal.price

    def row(name: str, grams: float) -> tuple[Child, ...]:
        share = f"{grams * fine:.3f} g" if fine else "–"
        worth = () if price is None else (f"{grams * (fine or 1.0) * price:.2f}",)
        return (name, f"{grams:.3f} g", share, *worth, None)

    head = (("", metal.alloy), ("n", "g"), ("n", say("sheet", "metal-fine")),
            *((("n", say("sheet", "metal-value")),) if price is not None else ()),
            ("write", say("sheet", "metal-weighed")))
    rows = [row(say("sheet", "metal-in"), metal.stock),
            row(say("sheet", "metal-parts"), metal.parts),
            *(row(say("sheet", "metal-each", name=one.name, count=one.pieces), one.grams)
              for one in metal.each),
            row(say("sheet", "metal-swarf"), metal.swarf)]
    if metal.lost > 0:
        rows.append(row(say("sheet", "metal-lost"), metal.lost))
    return element("section", element("h3", say("sheet", "metal")), _table(head, tuple(rows)),
                   class_="keep")


def _last_run(data: SheetData, say: Words) -> Markup:
    return element(
        "section", element("h3", say("sheet", "last-run")), element("p", data.standing),
        element("ul", *(element("li", line) for line in data.last_run)) if data.last_run else None,
        class_="keep")


def _on_every_page(data: SheetData, say: Words) -> str:
    """A rule of style for the foot of each printed page: job, version, page of pages."""
    whose = f"{data.job} · {say('sheet', 'version', version=data.version)}"
    return (f"@page {{ @bottom-left {{ content: {_quoted(whose)}; font: 9pt sans-serif; }} "
            "@bottom-right { content: counter(page) \" / \" counter(pages); "
            "font: 9pt sans-serif; } }\n")


def _quoted(words: str) -> str:
    """A text as style sheets write one: every sign that is no letter or figure by its number.

    >>> _quoted('a"</b')
    '"a\\\\22 \\\\3C \\\\2F b"'
    """
    return '"' + "".join(one if one.isalnum() or one == " " else f"\\{ord(one):X} "
                         for one in words) + '"'


def sheet_html(data: SheetData, language: str = "en") -> str:
    """The sheet as a page that needs nothing but itself.

    Raises Refused when there are no texts in ``language``.
    """
    say = words(language)
    style = (Path(__file__).resolve().parent / "style.css").read_text(encoding="utf-8")
    style += _on_every_page(data, say)
    cover = element(
        "section", _head(data, say), _cautions(data, say), _overview(data, say),
        _metal(data.metal, say) if data.metal else None,
        _last_run(data, say) if data.standing else None,
        element("h3", say("sheet", "notes")), element("div", class_="lines"),
        element("p", say("sheet", "measured-note"), " ",
                say("sheet", "version", version=data.version), class_="note"),
        class_="cover")
    body = join(cover, *(_setup(place, setup, say)
                         for place, setup in enumerate(data.setups, 1)))
    return html_page(language, say("sheet", "title", job=data.job), style, body)
