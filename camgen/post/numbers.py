"""Numbers as a control reads them.

Everything is counted in whole steps of the last decimal place (*counts*): rounding happens once,
when a length becomes a count, and the text of a count is exact.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, TypeAlias

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.machine import NumberWords

__all__ = ["WordTexts", "grid_of", "number_written"]

FiguresWord: TypeAlias = Literal["figures", "feed-figures", "rotary-figures"]


def number_written(
    counts: int, decimals: int, words: NumberWords, which: FiguresWord = "figures"
) -> str:
    """The number ``counts`` × 10^-``decimals`` as the machine file spells it.

    ``which`` word says how many figures come before the places where zeros are kept. Raises
    Refused for a number that has more.

    >>> number_written(-2500, 3, NumberWords())
    '-2.5'
    >>> number_written(2000, 3, NumberWords()), number_written(2000, 3, NumberWords(point="needed"))
    ('2.', '2')
    >>> number_written(500, 3, NumberWords(leading_zero=False, trailing_zeros=True, plus=True))
    '+.500'
    >>> number_written(5000, 3, NumberWords(point="never"))
    '5000'
    """
    sign = "-" if counts < 0 else "+" if words.plus else ""
    if words.point == "never" and words.zeros != "no-leading":
        return sign + _fixed(abs(counts), decimals, words, which)
    if words.point == "never":
        return f"{sign}{abs(counts)}"
    whole, part = divmod(abs(counts), 10**decimals)
    places = f"{part:0{decimals}d}" if decimals else ""
    if not words.trailing_zeros:
        places = places.rstrip("0")
    if places:
        head = str(whole) if whole or words.leading_zero else ""
        return f"{sign}{head}.{places}"
    return f"{sign}{whole}." if words.point == "always" else f"{sign}{whole}"


def _fixed(counts: int, decimals: int, words: NumberWords, which: FiguresWord) -> str:
    """A number of so many figures without its point.

    >>> _fixed(1500, 3, NumberWords(point="never", zeros="all"), "figures")
    '001500'
    >>> _fixed(1500, 3, NumberWords(point="never", zeros="no-trailing"), "feed-figures")
    '00015'
    """
    figures = {"figures": words.figures, "feed-figures": words.feed_figures,
               "rotary-figures": words.angle_figures}[which]
    text = f"{counts:0{figures + decimals}d}"
    if len(text) > figures + decimals:
        raise Refused(Fault(
            Message("{number:.6g} has more than {n} figures before its places",
                    number=counts * 10.0**-decimals, n=figures),
            Message("write numbers.{word}: {n} in the machine file, or as many as the control "
                    "reads", word=which, n=len(text) - decimals)))
    if words.zeros == "no-trailing":
        text = text.rstrip("0") or "0"
    return text


def grid_of(increment: float, last_place: float) -> int:
    """How many last places one step of the machine is: 1 where the last place is the coarser.

    Both in the same unit. A machine that steps 0.005 mm and is written in thousandths is written
    in fives; one whose increment is no whole number of last places (a metric machine written in
    inches) rounds by itself, and is written to the last place.

    >>> grid_of(0.005, 0.001), grid_of(0.001, 0.001), grid_of(0.001, 0.00254)
    (5, 1, 1)
    """
    steps = increment / last_place
    whole = round(steps)
    return whole if whole > 1 and abs(steps - whole) < 1e-6 * whole else 1


class WordTexts(dict[int, str]):
    """Texts of one letter's words, by count, each made once.

    >>> words = WordTexts("X", lambda counts: str(counts))
    >>> words[12], len(words)
    ('X12', 1)
    """

    def __init__(self, letter: str, spell: Callable[[int], str]) -> None:
        super().__init__()
        self._letter = letter
        self._spell = spell

    def __missing__(self, counts: int) -> str:
        text = self[counts] = self._letter + self._spell(counts)
        return text
