"""Answers as wide as the window: long lines are wrapped.

Where there is no window, as in a file or a pipe, and ``COLUMNS`` is not set, lines stay whole: what
reads them there looks for them whole.
"""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Sequence

import click

from camgen.signs import shown

__all__ = ["aligned", "columns", "tell", "wrapped"]

_WIDEST = 100
_NARROWEST = 40
_NO_WINDOW = 10_000


def columns() -> int:
    """How wide a line may be."""
    width = shutil.get_terminal_size((_NO_WINDOW, 24)).columns
    return width if width == _NO_WINDOW else max(_NARROWEST, min(width, _WIDEST))


def tell(text: str = "", *, rest: str = "  ", most: int = _NO_WINDOW, err: bool = False) -> None:
    """Say something, each of its lines wrapped.

    What is not seen, such as the codes that move a terminal's cursor, is spelt out. ``rest`` goes
    before what is wrapped of a line; ``most`` is its width where there is no window.
    """
    for line in shown(text).split("\n"):
        click.echo("\n".join(wrapped(line, min(columns(), most), rest)), err=err)


def wrapped(line: str, width: int, rest: str = "  ") -> list[str]:
    """A line in lines of ``width``; those after the first keep its indent and ``rest``.

    >>> wrapped("  note: the spindle, not the metal, limits", 30)
    ['  note: the spindle, not the', '    metal, limits']
    """
    if len(line) <= width:
        return [line]
    indent = line[:len(line) - len(line.lstrip())]
    return textwrap.wrap(line, width, subsequent_indent=indent + rest, break_long_words=False,
                         break_on_hyphens=False)


def aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows of cells as lines, two spaces between.

    >>> aligned([["file", "runs"], ["third-wheel.yaml", "3"]])
    ['file              runs', 'third-wheel.yaml  3']
    """
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    return ["  ".join(cell.ljust(wide) for cell, wide in zip(row, widths, strict=True)).rstrip()
            for row in rows]
