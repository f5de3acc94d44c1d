"""Do pictures and pages say the same as the sheet and the programs? All are read as text.

A picture's texts are taken as they were drawn, with what it says of itself; a page is taken apart
again, and its figures are read out of the bytes it carries. Nothing here looks at what they were
made from.
"""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby, pairwise, takewhile
from typing import Any, Final

import numpy as np

from camgen.faults import Fault
from camgen.make.told.feed_told import feeds_alike
from camgen.make.told.same_said import Said, each_change, said_of, unlike
from camgen.messages import Message
from camgen.preview.carried import TIMES_A_SECOND, taken_apart
from camgen.words import Words

__all__ = ["DrawnTexts", "courses_parted", "page_parted", "pictures_parted"]

DrawnTexts = tuple[Sequence[str], str]
"""The texts on a picture in the order they were drawn, and what it says of itself."""

# What a size beside the wheel is called on the picture, and among what is to be measured.
_SIZES: Final = {
    "tip": "tip-diameter", "root": "root-diameter", "depth": "whole-depth",
    "tip-diameter": "tip-diameter", "root-diameter": "root-diameter", "whole-depth": "whole-depth",
}
_NUMBER: Final = re.compile(r"\d+(?:\.\d+)?")
# Time without motion: what the axis of a picture leaves out.
_STANDING: Final = ("dwell", "cutter change")
# The page's times and figures are of 32 bits; the sheet's are rounded to seconds.
_SECONDS, _SHARE = 1.0, 0.002
# What stands before a text beside a bar: the bar's length.
_SCALE: Final = re.compile(r"^[\d.e-]+ mm, ")
# A cutter at work for more than this share of the time has room for its name.
_LONG: Final = 0.4


def pictures_parted(
    sheet: str, pictures: Mapping[str, DrawnTexts], report: Mapping[str, Any], say: Words
) -> tuple[Fault, ...]:
    """Where pictures and sheet part; ``pictures`` by the setup's name, ``say`` in their language.
    """
    head, *setups = said_of(sheet)
    names = _names(setups, say)
    told: list[str] = []
    for setup, (texts, says) in pictures.items():
        if setup not in names:
            told.append(f"{setup} is drawn, and is not on the sheet")
            continue
        said, times = setups[names.index(setup)], _times(report, setup)
        told += [f"{setup}: {what}" for what in (
            *_titles(texts, f"{head.title}: {setup}"), *_verdict(texts, report, setup, say),
            *_on_flat(texts, says, said, times, say, whole=not _part_of(report, setup)),
            *_named(texts, said, report, setup, say), *_on_teeth(texts, says, said, say))]
    told += [f"{name} is not drawn" for name in names if name not in pictures]
    return tuple(unlike(Message("the pictures and the sheet"), what) for what in told)


def courses_parted(
    sheet: str, courses: Mapping[str, DrawnTexts], report: Mapping[str, Any], say: Words
) -> tuple[Fault, ...]:
    """Where pictures of the course in time part from sheet and report; as :func:`pictures_parted`.
    """
    head, *setups = said_of(sheet)
    names = _names(setups, say)
    forms = [_form(say("pictures", word)) for word in ("says-course", "says-course-teeth")]
    told: list[str] = []
    for setup, (texts, says) in courses.items():
        if setup not in names:
            told.append(f"{setup} is drawn, and is not on the sheet")
            continue
        said, times = setups[names.index(setup)], _times(report, setup)
        whole = not _part_of(report, setup)
        told += [f"{setup}: {what}" for what in _titles(texts, f"{head.title}: {setup}")]
        found = next((found for form in forms if (found := form.fullmatch(says))), None)
        told += [f"{setup}: {what}" for what in (
            _minutes(found, said, times, whole=whole) if found else ("it says no time",))]
    told += [f"{name} is not drawn" for name in names if name not in courses]
    return tuple(unlike(Message("the pictures and the sheet"), what) for what in told)


def _names(setups: Sequence[Said], say: Words) -> list[str]:
    """Names of the setups, out of their headings."""
    form = _form(say("sheet", "setup"))
    return [found["name"] if (found := form.fullmatch(said.title)) else "" for said in setups]


def _form(text: str) -> re.Pattern[str]:
    """What finds the fields of a text of the catalogue."""
    return re.compile("".join(
        re.escape(part) if place % 2 == 0 else f"(?P<{part}>.+?)"
        for place, part in enumerate(re.split(r"{(\w+)}", text))), re.DOTALL)


def _times(report: Mapping[str, Any], setup: str) -> Mapping[str, Any]:
    """The account of a setup's time."""
    return next((one for one in report["time"]["setups"] if one["setup"] == setup), {})


def _part_of(report: Mapping[str, Any], setup: str) -> str:
    """The setup of which programs made again, named after it, are a part; empty if none."""
    return next((one["setup"] for one in report["proofs"]
                 if setup.startswith(f"{one['setup']}-")
                 and not _times(report, one["setup"])), "")


def _titles(texts: Sequence[str], title: str) -> Iterator[str]:
    """The title, which may be cut in its middle."""
    def is_it(text: str) -> bool:
        begin, cut, end = text.partition("…")
        return text == title or bool(cut and title.startswith(begin) and title.endswith(end))

    if not any(map(is_it, texts)):
        yield f"its title is not {title}"


def _verdict(
    texts: Sequence[str], report: Mapping[str, Any], setup: str, say: Words
) -> Iterator[str]:
    """How many proofs of the setup hold.

    Of a program that starts again, or cuts air, those of the whole setup that it is a part of too.
    """
    holds = [one["holds"] for one in report["proofs"]
             if one["setup"] == setup or _part_of(report, setup) == one["setup"]]
    verdict = say("pictures", "verdict", held=sum(holds), all=len(holds))
    if verdict not in texts:
        yield f"it does not say: {verdict}"


def _on_flat(
    texts: Sequence[str], says: str, said: Said, times: Mapping[str, Any], say: Words, *,
    whole: bool,
) -> Iterator[str]:
    """Cutters, their sizes and order, and the time, where flat work is drawn."""
    found = _form(say("pictures", "says-flat")).fullmatch(says)
    if not found:
        return
    sizes = {float(one) for one in _NUMBER.findall(found["sizes"])}
    wanted = {float(size) for _, size in said.cutters.values()}
    moved = {float(size) for number, (_, size) in said.cutters.items() if number not in said.still}
    if sizes not in (wanted, moved):
        yield f"cutters of {_listed(sizes)} mm, {_listed(wanted)} on the sheet"
    yield from _minutes(found, said, times, whole=whole)


def _minutes(
    found: re.Match[str], said: Said, times: Mapping[str, Any], *, whole: bool
) -> Iterator[str]:
    """The minutes of motion that a picture says."""
    moving = times["seconds"] - sum(times["by_kind"].get(kind, 0.0) for kind in _STANDING)
    minutes = float(found["minutes"])
    # Of several stations one is drawn; begun again, the others may have more to cut.
    longest = 1.0 if not said.offsets else len(said.offsets) if whole else np.inf
    if not minutes - 0.06 - _SHARE * minutes <= moving / 60 <= longest * (minutes + 0.06) * 1.002:
        yield f"{minutes:g} min of motion, {moving / 60:.1f} in the report"


def _named(
    texts: Sequence[str], said: Said, report: Mapping[str, Any], setup: str, say: Words
) -> Iterator[str]:
    """The cutters over the axis of time, by name or number, in their order."""
    if say("pictures", "moving") not in texts:
        return
    names = {name: number for number, (name, _) in said.cutters.items()}
    begin = list(texts).index(say("pictures", "moving")) + 1
    over = list(takewhile(lambda text: text != "0", texts[begin:]))
    drawn = [names.get(text, text) for text in over]
    # One whose time is too short for its name is not named.
    order = iter(said.order)
    if not all(one in order for one in drawn):
        yield f"cutters come in the order {', '.join(over)}, {', '.join(said.order)} on the sheet"
    # What is drawn is motion, without dwells and changes.
    runs = [(cutter, sum(one["moving"] for one in steps)) for cutter, steps in groupby(
        (one for one in report["steps"] if one["setup"] == setup
         and names.get(one["cutter"]) not in said.still), lambda one: one["cutter"])]
    if not runs:
        return
    cutter, longest = max(runs, key=lambda run: run[1])
    if longest > _LONG * sum(seconds for _, seconds in runs) and names.get(cutter) not in drawn:
        yield f"{cutter} is at work the longest and is not named"


def _on_teeth(texts: Sequence[str], says: str, said: Said, say: Words) -> Iterator[str]:
    """The spaces, the sizes to be measured and the cutter, where teeth are drawn."""
    found = _form(say("pictures", "says-teeth")).match(says)
    if not found:
        return
    measures = {row.cells[0]: row.cells[1] for row in said.rows
                if row.table == "measure" and len(row.cells) > 1}
    sizes: dict[str, str] = {}
    for text, after in pairwise(texts):
        if _NUMBER.fullmatch(after):
            sizes.setdefault(text, after)
    # Beside a pair in mesh sizes have short names, which stand elsewhere too.
    short = say("pictures", "off-by") in sizes
    for drawn, measured in _SIZES.items():
        size = sizes.get(say("pictures", drawn)) if short == ("-" not in drawn) else None
        wanted = measures.get(say("measures", measured))
        if size and wanted and float(size) != float(wanted.split()[0]):
            yield f"{say('pictures', drawn)} {size}, {wanted} on the sheet"
    for word in ("tip", "root"):
        wanted = measures.get(say("measures", f"{word}-diameter"))
        if wanted and float(found[word]) != float(wanted.split()[0]):
            yield f"it says {found[word]}, {wanted} on the sheet"
    count = _form(say("pictures", "spaces-cut"))
    for drawn_text in texts:
        text = _SCALE.sub("", drawn_text)
        # The text ends in its count, which a form without an end would cut short.
        spaces = re.fullmatch(count.pattern, text, re.DOTALL)
        if spaces and spaces["all"] != found["teeth"]:
            yield f"{spaces['all']} spaces, {found['teeth']} teeth"
        if spaces and not any(spaces["all"] in _NUMBER.findall(line) for line in said.lines):
            yield f"{spaces['all']} spaces, which the sheet does not tell of"
        disc = re.fullmatch(_form(say("pictures", "disc")).pattern, text.split(" · ")[0])
        if disc and float(disc["diameter"]) not in {
                float(size) for _, size in said.cutters.values()}:
            yield f"a cutter of D {disc['diameter']}, which is not on the sheet"


def _listed(values: set[float]) -> str:
    return ", ".join(f"{value:g}" for value in sorted(values))


def page_parted(
    sheet: str, page: str, programs: Mapping[str, Mapping[str, bytes]],
    report: Mapping[str, Any], say: Words,
) -> tuple[Fault, ...]:
    """Where a job's page parts from sheet and programs, ``programs`` by the setup's name."""
    head, *setups = said_of(sheet)
    names = _names(setups, say)
    told: list[str] = []
    if [html.unescape(one) for one in re.findall(r"<h1>(.*?)</h1>", page)] != [head.title]:
        told.append(f"its title is not {head.title}")
    work = json.loads(re.findall(
        r'<script type="application/json" id="work">(.*?)</script>', page, re.DOTALL)[0])
    shown = [one["name"] for one in work["setups"]]
    if shown != names:
        told.append(f"it shows {', '.join(shown)}; on the sheet are {', '.join(names)}")
    told += [f"{one['name']}: {what}" for one in work["setups"] if one["name"] in names
             for what in _scene(one, setups[names.index(one["name"])], programs[one["name"]],
                                float(_times(report, one["name"])["seconds"]))]
    return tuple(unlike(Message("the pages and the programs"), what) for what in told)


def _scene(
    work: Mapping[str, Any], said: Said, programs: Mapping[str, bytes], seconds: float
) -> Iterator[str]:
    """Text, cutters, their order, speeds, feeds and time of one setup on the page."""
    arrays, found = taken_apart(work)
    lines = [line for text in programs.values()
             for line in text.decode("ascii", "replace").splitlines()]
    shown = [line.rstrip("\r\n") for line in found if line]
    if shown != [line for line in lines if line]:
        yield "the text it shows is not the programs'"
    for number, (name, size) in said.cutters.items():
        one = work["cutters"].get(number, {"name": "none", "diameter": 0})
        if (one["name"], float(one["diameter"])) != (name, float(size)):
            yield (f"cutter {number} is {one['name']}, D {one['diameter']:g}; {name}, D {size} on "
                   "the sheet")
    order = each_change(str(one) if one else "" for one in arrays["cutter"].tolist())
    if order not in said.orders:
        yield f"cutters come in the order {', '.join(order)}, {', '.join(said.order)} on the sheet"
    numbers = {name: int(number) for number, (name, _) in said.cutters.items()}
    for step in said.steps:
        mine = arrays["cutter"] == numbers.get(step.cutter, 0)
        speed = np.abs(arrays["speed"][mine & (arrays["kind"] != 0)])
        feed = arrays["feed"][mine & (arrays["kind"] == 1)]
        if step.speed and not np.any(np.abs(speed - float(step.speed)) <= 1):
            yield f"{step.number}. {step.title} at no {step.speed} rev/min"
        if step.feed and len(feed) and not feeds_alike(feed, float(step.feed)).any():
            yield f"{step.number}. {step.title} at no {step.feed} mm/min"
    whole = float(arrays["until"][-1]) / TIMES_A_SECOND if len(arrays["until"]) else 0.0
    if abs(whole - seconds) > _SECONDS + _SHARE * seconds:
        yield f"{whole:.0f} s on it, {seconds:.0f} in the report"
