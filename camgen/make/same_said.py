"""Do sheet and programs say the same? Both are read as text, as a person at the machine has them.

The sheet's HTML is taken apart again and held against the bytes of the programs and the accounts
of time: nothing here looks at what the sheet was made from.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from html.parser import HTMLParser
from typing import Any

from camgen.faults import Fault
from camgen.reader.dialect import Message
from camgen.sheet.page import clock
from camgen.values import dataclass

__all__ = ["SaidRow", "parted", "rows_of"]

_DIAMETER = re.compile(r"\bD ?(\d+(?:\.\d+)?)")
_COMMENT = re.compile(r"\([^()\r\n]*\)|;[^\r\n]*")
_SPEED = re.compile(r"S(\d+(?:\.\d+)?)|(?:AT|MIT|A) (\d+) (?:REV/MIN|U/MIN|TR/MIN)")


@dataclass(frozen=True)
class SaidRow:
    """A table's row: the classes of its table and the texts of its cells."""

    table: str
    cells: tuple[str, ...]


class _Sheet(HTMLParser):
    """Takes a sheet apart: rows of tables and what is said of cutters, setup by setup."""

    def __init__(self) -> None:
        super().__init__()
        self.setups: list[tuple[list[SaidRow], list[str]]] = [([], [])]
        self._table = ""
        self._cells: list[str] | None = None
        self._text: list[str] | None = None
        self._small = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        kind = dict(attrs).get("class") or ""
        if tag == "section" and "setup" in kind.split():
            self.setups.append(([], []))
        elif tag == "table":
            self._table = kind
        elif tag == "tr":
            self._cells = []
        elif tag in ("td", "p"):
            self._text = []
        elif tag == "small":
            self._small = True

    def handle_data(self, data: str) -> None:
        if self._text is not None and not self._small:
            self._text.append(data)

    def handle_endtag(self, tag: str) -> None:
        rows, lines = self.setups[-1]
        if tag == "small":
            self._small = False
        elif tag == "td" and self._cells is not None and self._text is not None:
            self._cells.append("".join(self._text))
            self._text = None
        elif tag == "p" and self._text is not None:
            lines.append("".join(self._text))
            self._text = None
        elif tag == "tr" and self._cells:
            rows.append(SaidRow(self._table, tuple(self._cells)))
            self._cells = None


def rows_of(sheet: str) -> list[tuple[list[SaidRow], list[str]]]:
    """The sheet's head and then each setup: rows of tables, and paragraphs."""
    found = _Sheet()
    found.feed(sheet)
    return found.setups


def parted(
    sheet: str, programs: Sequence[Mapping[str, bytes]], report: Mapping[str, Any],
    change: Message | None,
) -> tuple[Fault, ...]:
    """Where sheet and programs part; empty where they say the same.

    ``programs`` are those of each setup by file name; ``change`` finds ``cutter`` and ``text`` in
    what an operator is told at a change, None where nothing is told.
    """
    head, *setups = rows_of(sheet)
    told = list(_sums(head[0], programs, report))
    if len(setups) != len(programs):
        told.append(f"it tells of {len(setups)} setups, there are {len(programs)}")
    for number, ((rows, lines), files) in enumerate(zip(setups, programs, strict=False), 1):
        text = b"\n".join(files.values()).decode("ascii", "replace")
        told += [f"setup {number}: {what}" for what in (
            *_speeds(rows, text), *_cutters(rows, lines, text, change))]
    return tuple(Fault(f"the sheet and the programs do not say the same: {what}",
                       "Nothing is written. This is a fault of camgen's: please report it with "
                       "the job file.") for what in told)


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


def _speeds(rows: Sequence[SaidRow], text: str) -> Iterator[str]:
    """Every speed of a step is one that the program starts the spindle at."""
    spoken = {f"{float(one or other):.0f}" for one, other in _SPEED.findall(text)}
    for row in rows:
        if row.table == "steps" and len(row.cells) == 6 and row.cells[3] != "–" and (
                f"{float(row.cells[3]):.0f}" not in spoken):
            yield f"{row.cells[1]} at {row.cells[3]} rev/min, which no program says"


def _cutters(
    rows: Sequence[SaidRow], lines: Sequence[str], text: str, change: Message | None
) -> Iterator[str]:
    """Number, size and order of the cutters, where the program tells the operator of them."""
    sheet: dict[str, tuple[str, str]] = {}
    for line in lines:
        found = re.match(r"(\d+) (\S+) (.*)", line)
        size = _DIAMETER.search(found[3]) if found else None
        if found and size:
            sheet[found[1]] = (found[2], size[1])
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
    if not spoken:
        return
    by_name = {name: number for number, (name, _) in sheet.items()}
    steps = [by_name.get(row.cells[2], "") for row in rows
             if row.table == "steps" and len(row.cells) == 6]
    order = [one for at, one in enumerate(steps) if one and (not at or steps[at - 1] != one)]
    fitted = [one for at, (one, _) in enumerate(spoken) if not at or spoken[at - 1][0] != one]
    if order != fitted:
        yield (f"cutters come in the order {', '.join(order)} on it, {', '.join(fitted)} in the "
               "program")
