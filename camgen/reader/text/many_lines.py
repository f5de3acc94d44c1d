"""Many lines of program text taken apart at once, as arrays.

Only plain lines: words of moves and feeds with well-formed numbers. Every other line is marked as
not plain and left to :func:`camgen.reader.text.words.split_block`, which reads any line; for plain
lines both give the same words.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from camgen.arrays import Flags, Floats, Ints
from camgen.reader.dialect import Dialect
from camgen.values import dataclass

__all__ = [
    "LETTERS", "PAGE_LINES", "PLANE", "TURN", "Columns", "F", "G", "I", "N", "Page", "R", "X",
]


# Columns of a page's table of words.
G: Final = 0
X: Final = 1
I: Final = 4  # noqa: E741 - the word's letter
F: Final = 7
TURN: Final = 8
R: Final = 9
N: Final = 10
PLANE: Final = 11
LETTERS: Final = 12
_NOT_PLAIN: Final = 15

PAGE_LINES: Final = 16_384
"""Lines taken apart at once: bounds the memory used in passing."""

# Classes of characters, and which may follow which once blanks are left out.
_ILLEGAL, _LETTER, _DIGIT, _POINT, _SIGN, _END, _BLANK = range(7)
_CLASS = np.zeros(256, dtype=np.uint8)
_CLASS[ord("A") : ord("Z") + 1] = _LETTER
_CLASS[ord("a") : ord("z") + 1] = _LETTER
_CLASS[ord("0") : ord("9") + 1] = _DIGIT
_CLASS[ord(".")] = _POINT
_CLASS[[ord("+"), ord("-")]] = _SIGN
_CLASS[ord("\n")] = _END
_CLASS[[ord(" "), ord("\t")]] = _BLANK
_WRONG = np.ones((8, 8), dtype=np.bool_)
for _before, _after in (
    (_LETTER, (_DIGIT, _POINT, _SIGN)),
    (_SIGN, (_DIGIT, _POINT)),
    (_DIGIT, (_DIGIT, _POINT, _LETTER, _END)),
    (_POINT, (_DIGIT, _LETTER, _END)),
    (_END, (_LETTER, _END)),
):
    _WRONG[_before, list(_after)] = False
_WRONG_FLAT = _WRONG.ravel()
_NUMERIC = np.zeros(8, dtype=np.bool_)
_NUMERIC[[_DIGIT, _POINT, _SIGN]] = True
_MOST_DIGITS = 15
_POWERS = 10.0 ** np.arange(_MOST_DIGITS + 1)


@dataclass(frozen=True)
class Columns:
    """Where a machine's letters stand in the table, and what their numbers are worth.

    ``column`` (256,) by character; ``places`` (16,) what to divide a number without a point by;
    ``pointed`` (16,) true where a number needs a point.
    """

    column: NDArray[np.uint8]
    places: Floats
    pointed: Flags

    @classmethod
    def of(cls, dialect: Dialect, *, turns: bool) -> Columns:
        """``turns``: the rotary word is a plain one, counted on without wrapping."""
        order: dict[str, int] = {"G": G, "F": F, "R": R, "N": N, "I": I, "J": I + 1, "K": I + 2}
        order.update((letter, X + axis) for letter, axis in dialect.axes.items())
        if turns and dialect.rotary:
            order[dialect.rotary] = TURN
        column = np.full(256, _NOT_PLAIN, dtype=np.uint8)
        places = np.ones(16)
        pointed = np.zeros(16, dtype=np.bool_)
        for letter, at in order.items():
            column[ord(letter)] = column[ord(letter.lower())] = at
            places[at] = dialect.places.get(letter, 1.0)
            pointed[at] = letter in dialect.pointed
        return cls(column, places, pointed)


@dataclass(frozen=True)
class Page:
    """Some lines of a program.

    ``table`` (lines, LETTERS): numbers by letter, nan where absent. ``until`` (lines,): the first
    line from here on that is not plain, counted within the page. ``word_column`` and
    ``word_value`` (words,) in order, those of line i from ``word_from[i]`` to ``word_from[i + 1]``.
    """

    first: int
    table: Floats
    until: Ints
    word_column: NDArray[np.uint8]
    word_value: Floats
    word_from: Ints

    @classmethod
    def of(cls, lines: Sequence[str], first: int, columns: Columns) -> Page:
        """Take ``lines``, the first of which has number ``first``, apart."""
        count = len(lines)
        text = ("\n".join(lines) + "\n").encode("latin-1", "replace")
        raw = np.frombuffer(text, dtype=np.uint8)
        kind = _CLASS[raw]
        bad = np.zeros(count, dtype=np.bool_)
        blank = kind == _BLANK
        apart: Flags | None = None
        if blank.any():
            kept = np.flatnonzero(~blank)
            raw, kind = raw[kept], kind[kept]
            apart = np.diff(kept, prepend=-1) > 1
        before = np.empty_like(kind)
        before[0] = _END
        before[1:] = kind[:-1]
        wrong = _WRONG_FLAT[before * 8 + kind]
        if apart is not None:
            wrong |= apart & _NUMERIC[before] & _NUMERIC[kind]
        ends = np.flatnonzero(kind == _END)
        bad[np.searchsorted(ends, np.flatnonzero(wrong))] = True
        if bad.any():
            # Nothing on a line that is not plain may run on into the words of the line before.
            kept = np.flatnonzero(~np.repeat(bad, np.diff(ends, prepend=-1)) | (kind == _END))
            raw, kind = raw[kept], kind[kept]
            ends = np.flatnonzero(kind == _END)

        letters = np.flatnonzero(kind == _LETTER)
        words = len(letters)
        word_line = np.searchsorted(ends, letters)
        value, misspelt = _numbers(raw, kind, letters)
        bad[word_line[misspelt]] = True
        column = columns.column[raw[letters]]
        unpointed = _unpointed(kind, letters, words)
        value = np.where(unpointed, value / columns.places[column], value)
        # Some programs say G17 with every arc: words of the plane have a column of their own.
        column[(column == G) & ((value == 17) | (value == 18) | (value == 19))] = PLANE
        doubtful = (column == _NOT_PLAIN) | (unpointed & columns.pointed[column] & (value != 0))
        doubtful |= (column == G) & ~((value >= 0) & (value <= 3) & (value == np.floor(value)))
        doubtful |= (column == F) & ~(value > 0)
        bad[word_line[doubtful]] = True

        table = np.full((count, LETTERS), np.nan)
        plain = ~doubtful
        table[word_line[plain], column[plain]] = value[plain]
        twice = np.bincount(word_line[plain], minlength=count) != (~np.isnan(table)).sum(axis=1)
        bad |= twice
        until = np.where(bad, np.arange(count), count)
        until = np.minimum.accumulate(until[::-1])[::-1]
        return cls(
            first, table, until, column, value,
            np.searchsorted(word_line, np.arange(count + 1)),
        )


def _unpointed(kind: NDArray[np.uint8], letters: Ints, words: int) -> Flags:
    """(words,) true where the number has no decimal point."""
    points = np.flatnonzero(kind == _POINT)
    unpointed = np.ones(words, dtype=np.bool_)
    unpointed[np.searchsorted(letters, points) - 1] = False
    return unpointed


def _numbers(
    raw: NDArray[np.uint8], kind: NDArray[np.uint8], letters: Ints
) -> tuple[Floats, Flags]:
    """(words,) values, and which of them are misspelt or too long to be worked out here.

    A value is its digits as a whole number divided by a power of ten: both are exact in floating
    point up to 15 digits, so the quotient is the nearest number, as ``float()`` gives it.
    """
    words = len(letters)
    if not words:
        return np.zeros(0), np.zeros(0, dtype=np.bool_)
    word_of = np.cumsum(kind == _LETTER, dtype=np.int32)
    digits = np.flatnonzero(kind == _DIGIT)
    of = word_of[digits] - 1  # On plain lines a letter stands before every digit.
    many = np.bincount(of, minlength=words)
    until = np.cumsum(many)
    power = until[of] - 1 - np.arange(len(digits))
    misspelt = (many == 0) | (many > _MOST_DIGITS)
    power = np.minimum(power, _MOST_DIGITS)
    whole = np.bincount(
        of, weights=(raw[digits] - np.uint8(48)) * _POWERS[power], minlength=words
    )
    points = np.flatnonzero(kind == _POINT)
    at = word_of[points] - 1
    misspelt |= np.bincount(at, minlength=words) > 1
    decimals = np.zeros(words, dtype=np.int64)
    decimals[at] = np.minimum(until[at] - np.searchsorted(digits, points), _MOST_DIGITS)
    value = whole / _POWERS[decimals]
    minus = raw[np.minimum(letters + 1, len(raw) - 1)] == ord("-")
    return np.where(minus, -value, value), misspelt
