"""Do sheet and programs say the same? Both are read as text, as a person at the machine has them.

The sheet's HTML is taken apart again and held against the bytes of the programs and the accounts
of time: nothing here looks at what the sheet was made from.
"""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from html.parser import HTMLParser
from itertools import groupby
from typing import Any

import numpy as np

from camgen.faults import Fault
from camgen.make.told.feed_told import feeds_alike
from camgen.messages import Message
from camgen.reader.dialect import ReadBack, template_in_languages
from camgen.reader.motion import Motion, ReadProgram
from camgen.sheet.page import clock
from camgen.values import dataclass

__all__ = ["Said", "SaidRow", "SaidStep", "each_change", "said_of", "sheet_parted", "unlike"]

_DIAMETER = re.compile(r"\bD ?(\d+(?:\.\d+)?)")
_COMMENT = re.compile(r"\([^()\r\n]*\)|;[^\r\n]*")
_OFFSET = re.compile(r"G5[4-9](?:\.\d)?(?: ?P\d+)?(?!\d)")
_SPELT = (("ä", "ae"), ("ö", "oe"), ("ü", "ue"))


@dataclass(frozen=True)
class SaidRow:
    """A table's row, or a size to be measured: the class of its table and the texts of its cells.
    """

    table: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Said:
    """What a sheet says in its head, or of one setup.

    ``rows`` are of tables and of sizes to be measured (``table`` "measure"), ``lines`` paragraphs,
    ``facts`` what stands behind the words of the head.
    """

    title: str
    rows: tuple[SaidRow, ...]
    lines: tuple[str, ...]
    facts: tuple[str, ...]

    @property
    def steps(self) -> Iterator[SaidStep]:
        """Its steps in their order."""
        for row in self.rows:
            if row.table == "steps" and len(row.cells) == 6:
                number, _, title = row.cells[1].partition(". ")
                speed, feed = ("" if cell == "–" else cell for cell in row.cells[3:5])
                yield SaidStep(int(number), title, row.cells[2], speed, feed, row.cells[5])

    @property
    def cutters(self) -> dict[str, tuple[str, str]]:
        """Name and diameter of each cutter, as they are written, by its number."""
        found: dict[str, tuple[str, str]] = {}
        for line in self.lines:
            one = re.match(r"(\d+) (\S+) (.*)", line)
            size = _DIAMETER.search(one[3]) if one else None
            if one and size:
                found[one[1]] = one[2], size[1]
        return found

    @property
    def order(self) -> list[str]:
        """Numbers of the cutters as its steps need them, one after the other."""
        by_name = {name: number for number, (name, _) in self.cutters.items()}
        return each_change([by_name.get(step.cutter, "") for step in self.steps])

    @property
    def still(self) -> frozenset[str]:
        """Numbers of the cutters that nothing moves with by program: all is done at a stop."""
        moved = {step.cutter for step in self.steps if step.speed or step.feed}
        numbers = {name: number for number, (name, _) in self.cutters.items()}
        return frozenset(numbers[step.cutter] for step in self.steps
                         if step.cutter in numbers and step.cutter not in moved)

    @property
    def orders(self) -> tuple[list[str], list[str]]:
        """The order of its cutters, and the same without those that stand still."""
        return self.order, each_change(one for one in self.order if one not in self.still)

    @property
    def offsets(self) -> list[str]:
        """Work offsets of a fixture's stations, in their order."""
        return [row.cells[2] for row in self.rows
                if len(row.cells) == 6 and _OFFSET.fullmatch(row.cells[2])]


@dataclass(frozen=True)
class SaidStep:
    """A step as the sheet has it; speed and feed are empty where none is said."""

    number: int
    title: str
    cutter: str
    speed: str
    feed: str
    time: str


class _Sheet(HTMLParser):
    """Takes a sheet apart, setup by setup."""

    def __init__(self) -> None:
        super().__init__()
        self.parts: list[tuple[list[str], list[SaidRow], list[str], list[str]]] = []
        self._begin()
        self._table = ""
        self._cells: list[str] | None = None
        self._text: list[str] | None = None
        self._small = False

    def _begin(self) -> None:
        self.parts.append(([], [], [], []))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        kind = dict(attrs).get("class") or ""
        if tag == "section" and "setup" in kind.split():
            self._begin()
        elif tag == "table":
            self._table = kind
        elif tag == "tr":
            self._cells = []
        elif tag == "div" and kind == "measure":
            self._table, self._cells = kind, []
        elif tag in ("td", "p", "h1", "h2", "dd") or (self._measures and tag in ("span", "b")):
            self._text = []
        elif tag == "small":
            self._small = True

    @property
    def _measures(self) -> bool:
        return self._table == "measure" and self._cells is not None

    def handle_data(self, data: str) -> None:
        if self._text is not None and not self._small:
            self._text.append(data)

    def handle_endtag(self, tag: str) -> None:
        titles, rows, lines, facts = self.parts[-1]
        if tag == "small":
            self._small = False
        elif (tag == "tr" or (tag == "div" and self._measures)) and self._cells is not None:
            if self._cells:
                rows.append(SaidRow(self._table, tuple(self._cells)))
            self._cells = None
        elif self._text is None:
            return
        elif self._cells is not None and (tag == "td" or (self._measures and tag in ("span", "b"))):
            self._cells.append("".join(self._text))
            self._text = None
        elif tag in ("p", "h1", "h2", "dd"):
            said = {"p": lines, "dd": facts}.get(tag, titles)
            said.append("".join(self._text).strip())
            self._text = None


def said_of(sheet: str) -> tuple[Said, ...]:
    """The sheet's head and then each setup."""
    found = _Sheet()
    found.feed(sheet)
    return tuple(Said(titles[0] if titles else "", tuple(rows), tuple(lines), tuple(facts))
                 for titles, rows, lines, facts in found.parts)


def each_change(values: Iterable[str]) -> list[str]:
    """Values one after the other, each once where it stays; empty ones are left out.

    >>> each_change(["1", "1", "", "2", "1"])
    ['1', '2', '1']
    """
    return [one for one, _ in groupby(value for value in values if value)]


def sheet_parted(
    sheet: str, programs: Sequence[Mapping[str, bytes]], report: Mapping[str, Any],
    change: ReadBack | None, read: Sequence[Sequence[ReadProgram]],
) -> tuple[Fault, ...]:
    """Where sheet and programs part; empty where they say the same.

    ``programs`` are those of each setup by file name, and ``read`` what the reader made of them;
    ``change`` finds ``cutter`` and ``text`` in what an operator is told at a change, None where
    nothing is told.
    """
    head, *setups = said_of(sheet)
    told = list(_sums(head.rows, programs, report))
    if len(setups) != len(programs):
        told.append(f"it tells of {len(setups)} setups, there are {len(programs)}")
    seconds: dict[str, list[float]] = {}
    for step in report["steps"]:
        seconds.setdefault(step["setup"], []).append(step["seconds"])
    for number, (said, files, of, times) in enumerate(
            zip(setups, programs, read, seconds.values(), strict=False), 1):
        text = b"\n".join(files.values()).decode("ascii", "replace")
        told += [f"setup {number}: {what}" for what in (
            *_speeds(said, text), *_cutters(said, text, change), *_offsets(said, text),
            *_steps(said, of), *_times(said, times))]
    return tuple(unlike(Message("the sheet and the programs"), what) for what in told)


def unlike(these: Message, what: str) -> Fault:
    """The fault that texts of one job do not say the same.

    ``what`` is for those who mend the program, and is said in English alone.
    """
    return Fault(Message("{these} do not say the same: {what}", these=these, what=what),
                 Message("nothing is written: this is a fault of camgen's; please report it with "
                         "the job file"))


def _sums(
    rows: Sequence[SaidRow], programs: Sequence[Mapping[str, bytes]], report: Mapping[str, Any],
) -> Iterator[str]:
    """Every program's file, its bytes' sum and its time."""
    seconds = {one["file"]: one["seconds"] for one in report["programs"]}
    said = {row.cells[3]: row.cells for row in rows if len(row.cells) == 6}
    for files in programs:
        for name, text in files.items():
            cells = said.pop(name, None)
            if cells is None:
                yield f"{name} is not on it"
                continue
            if cells[5] != hashlib.sha256(text).hexdigest()[:8]:
                yield f"the sum of {name} is another"
            if cells[4] != clock(seconds[name]):
                yield f"{name} takes {clock(seconds[name])}, not {cells[4]}"
    yield from (f"{name} is on it, and is not made" for name in said)


@cache
def _speed() -> re.Pattern[str]:
    """The speed of a word S, or of what tells to start the spindle by hand in any language."""
    by_hand = "|".join(_before_first_field(said) for template in (
        "START SPINDLE CLOCKWISE AT {speed:.0f} REV/MIN",
        "START SPINDLE ANTICLOCKWISE AT {speed:.0f} REV/MIN",
    ) for said in template_in_languages(template))
    steps = "|".join(
        rf"{re.escape(said.split('{')[0].strip())}\s+.+?\s+"
        rf"{re.escape(said.split('}')[1].split('{')[0].strip())}"
        for template in ("SPINDLE AT {step} FOR {speed:.0f} REV/MIN",
                         "SET SPINDLE AT {step} FOR {speed:.0f} REV/MIN")
        for said in template_in_languages(template))
    return re.compile(rf"S(\d+(?:\.\d+)?)|(?:{by_hand}|{steps})\s+(\d+)", re.IGNORECASE)


@cache
def _step() -> re.Pattern[str]:
    """The comment that a step begins with, in any language."""
    words = "|".join(map(_before_first_field, template_in_languages("STEP {number} {title}")))
    return re.compile(rf"(?:{words})\s+(\d+) (.+)", re.IGNORECASE)


def _before_first_field(template: str) -> str:
    return r"\s+".join(map(re.escape, template.split("{")[0].split()))


def _speeds(said: Said, text: str) -> Iterator[str]:
    """Every speed of a step is one that the program starts the spindle at."""
    spoken = {f"{float(one or other):.0f}" for one, other in _speed().findall(text)}
    for step in said.steps:
        if step.speed and f"{float(step.speed):.0f}" not in spoken:
            yield f"{step.number}. {step.title} at {step.speed} rev/min, which no program says"


def _times(said: Said, seconds: Sequence[float]) -> Iterator[str]:
    """Every step takes as long as the report tells."""
    for step, long in zip(said.steps, seconds, strict=False):
        # The report's tenths may round to the other second.
        if step.time not in (clock(long), clock(long - 0.05), clock(long + 0.05)):
            yield f"{step.number}. {step.title} takes {clock(long)}, not {step.time}"


def _offsets(said: Said, text: str) -> Iterator[str]:
    """The stations' work offsets are those that the programs call, in that order.

    A program that starts again at a station goes on round to the ones before it.
    """
    if not said.offsets:
        return
    spoken = list(dict.fromkeys(_OFFSET.findall(_COMMENT.sub("", text))))
    meant = [one for one in said.offsets if one in spoken]
    if spoken not in [meant[first:] + meant[:first] for first in range(len(meant) or 1)]:
        yield f"offsets {', '.join(said.offsets)} on it, {', '.join(spoken)} in the program"


@dataclass(frozen=True)
class _Stretch:
    """What programs do of one step: its number and title as they say it, the pieces of motion."""

    number: int
    title: str
    motion: Motion
    pieces: slice

    def of(self, values: Any) -> set[float]:
        """The values above 0 of its pieces, each once."""
        here = np.abs(np.nan_to_num(np.asarray(values[self.pieces], dtype=np.float64)))
        here = here[here > 0]
        return set(here[np.flatnonzero(np.diff(here, prepend=0.0))].tolist())


def _stretches(programs: Sequence[ReadProgram]) -> Iterator[_Stretch]:
    """The steps of programs as their comments tell them; one of number 0 where they tell none."""
    for program in programs:
        told = [(event.before, found) for event in program.events if event.kind == "comment"
                if (found := _step().match(event.text))]
        ends = [before for before, _ in told[1:]] + [len(program.motion)]
        for (before, found), end in zip(told, ends, strict=False):
            yield _Stretch(int(found[1]), found[2], program.motion, slice(before, end))
        if not told:
            yield _Stretch(0, "", program.motion, slice(0, None))


def _steps(said: Said, programs: Sequence[ReadProgram]) -> Iterator[str]:
    """Number, title, order, cutter, speed and feed of every step."""
    stretches = list(_stretches(programs))
    spoken = each_change(f"{one.number} {_plain(one.title)}" for one in stretches if one.number)
    order = each_change(f"{step.number} {_plain(step.title)}" for step in said.steps)
    # A comment may be too long for its line.
    if spoken and not (len(order) == len(spoken) and all(
            one.startswith(other) for one, other in zip(order, spoken, strict=True))):
        yield f"the steps are {', '.join(order)} on it, {', '.join(spoken)} in the program"
    numbers = {name: float(number) for number, (name, _) in said.cutters.items()}
    for step in said.steps:
        what = f"{step.number}. {step.title}"
        here = [one for one in stretches if one.number in (0, step.number)
                and _plain(step.title).startswith(_plain(one.title))]
        cutters, speeds, feeds = (set().union(*(one.of(getattr(one.motion, word)) for one in here))
                                  for word in ("cutter", "speed", "feed"))
        if cutters and numbers.get(step.cutter) not in cutters:
            yield f"{what} is cut by {step.cutter} on it, by another in the program"
        if step.speed and speeds and not any(
                abs(one - float(step.speed)) <= 1 for one in speeds):
            yield f"{what} at {step.speed} rev/min, which no program says there"
        # On arcs feeds are others.
        if step.feed and feeds and not feeds_alike(np.array(list(feeds)), float(step.feed)).any():
            yield f"{what} at {step.feed} mm/min, which no program says there"


def _plain(title: str) -> str:
    """A title in the letters of a program, without blanks."""
    for letter, spelt in _SPELT:
        title = title.lower().replace(letter, spelt)
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9]", "", plain.lower())


def _cutters(said: Said, text: str, change: ReadBack | None) -> Iterator[str]:
    """Number, size and order of the cutters, where the program tells the operator of them."""
    sheet = said.cutters
    comments = _COMMENT.findall(text) if change is not None else []
    found_all = [change.search(one) for one in comments] if change is not None else []
    spoken = [(one["cutter"], one["text"]) for one in found_all if one]
    for number, what in spoken:
        if number not in sheet:
            yield f"cutter {number} is fitted, and is not on it"
            continue
        size = _DIAMETER.search(what)
        if size is not None and float(size[1]) != float(sheet[number][1]):
            yield f"cutter {number} is D {sheet[number][1]} on it, D {size[1]} in the program"
    fitted = each_change(number for number, _ in spoken)
    if spoken and said.order != fitted:
        yield (f"cutters come in the order {', '.join(said.order)} on it, {', '.join(fitted)} in "
               "the program")
