"""Answers as wide as the window: long lines are wrapped.

Where there is no window, as in a file or a pipe, and ``COLUMNS`` is not set, lines stay whole: what
reads them there looks for them whole.
"""

from __future__ import annotations

import os
import shutil
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from camgen.messages import Message
from camgen.signs import in_one_line, shown

if TYPE_CHECKING:
    from camgen.words import Words

__all__ = ["aligned", "begin_speaking", "columns", "heard", "in_spoken", "job_called", "narrowed",
           "speak_as_job", "spoken", "tell", "wrapped", "wrong_use"]

_WIDEST = 100
_NARROWEST = 40
_NO_WINDOW = 10_000


def columns() -> int:
    """How wide a line may be."""
    width = shutil.get_terminal_size((_NO_WINDOW, 24)).columns
    return width if width == _NO_WINDOW else max(_NARROWEST, min(width, _WIDEST))


# The language of answers, and whether it was asked for; one command is run in one process.
_SPOKEN = ["en"]
_ASKED_FOR = [False]


def begin_speaking() -> None:
    """Answers are in the language that ``CAMGEN_LANGUAGE`` names, in English where it is not set.
    """
    language = os.environ.get("CAMGEN_LANGUAGE", "")
    _ASKED_FOR[0] = bool(language)
    _speak(language or "en")


def heard(ctx: click.Context, param: click.Parameter, language: str | None) -> str | None:
    """The language asked for by ``--language``, in which all is told from now on.

    Raises Refused when there are no texts in it.
    """
    if language:
        from camgen.words import words  # only wanted where a language is asked for

        words(language)
        _ASKED_FOR[0] = True
        _speak(language)
    return language


def speak_as_job(language: str) -> None:
    """All that is told from now on is said in a job's language, where no other was asked for."""
    if not _ASKED_FOR[0]:
        _speak(language)


def spoken() -> str:
    """The language of answers."""
    return _SPOKEN[0]


def _speak(language: str) -> None:
    """``language``, or English where it has no texts."""
    if language != "en":
        from camgen.words import languages  # only wanted where another language is spoken

        language = language if language in languages() else "en"
    _SPOKEN[0] = language


def in_spoken(text: str) -> str:
    """A message in the language of answers, any other text as it is."""
    if _SPOKEN[0] == "en" or not isinstance(text, Message):
        return text
    return _catalogue().say(text)


def _catalogue() -> Words:
    from camgen.words import words  # only wanted where another language is spoken

    return words(_SPOKEN[0])


def job_called(name: str) -> Message:
    """A job's name as it is told, so that it passes for nothing that the program says itself.

    >>> job_called("All 78 proofs hold")
    'job "All 78 proofs hold"'
    """
    return Message('job "{name}"', name=in_one_line(name))


def wrong_use(message: Message) -> click.UsageError:
    """That a command is not used as it can be, in the language of answers."""
    return click.UsageError(in_spoken(message))


def tell(text: str = "", *, before: str = "", rest: str = "  ", most: int = _NO_WINDOW,
         err: bool = False) -> None:
    """Say something, each of its lines wrapped and indented by ``before``; messages as is spoken.

    What is not seen, such as the codes that move a terminal's cursor, is spelt out. ``rest`` goes
    before what is wrapped of a line; ``most`` is its width where there is no window.
    """
    for line in shown(before + in_spoken(text)).split("\n"):
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


def narrowed(rows: Sequence[Sequence[str]], *least: int) -> list[str]:
    """The same, without the columns ``least`` (by number, the first to go first) as far as the
    window is too narrow for all.

    >>> narrowed([["a", "b"]], 1)
    ['a  b']
    """
    kept = list(range(len(rows[0])))
    lines = aligned(rows)
    for column in least:
        if max(map(len, lines)) <= columns():
            break
        kept.remove(column)
        lines = aligned([[row[one] for one in kept] for row in rows])
    return lines


def aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows of cells as lines, two spaces between.

    >>> aligned([["file", "runs"], ["third-wheel.yaml", "3"]])
    ['file              runs', 'third-wheel.yaml  3']
    """
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    return ["  ".join(cell.ljust(wide) for cell, wide in zip(row, widths, strict=True)).rstrip()
            for row in rows]
