"""What a program says, in every language there is, and as far as letters and figures count."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from functools import lru_cache

from camgen.messages import Message
from camgen.shop.machine import Machine
from camgen.words import languages, program_words

__all__ = ["in_languages", "spelt", "squeezed"]

_SPELT = (("Ø", "D"), ("ø", "D"), ("°", " deg"), ("µ", "u"), ("μ", "u"), ("×", "x"), ("ß", "ss"),
          ("±", "+-"), ("–", "-"), ("—", "-"), ("−", "-"))


def in_languages(
    text: str, told: Callable[[str], str] | None = None
) -> tuple[str, ...]:
    """A message in every language that there is, any other text as it is, as ``told`` writes it."""
    said: tuple[str, ...] = (text,)
    if isinstance(text, Message):
        # Two messages may read alike in English and not in another language.
        said = _said(text, text.template, tuple(text.fields.items()))
    return said if told is None else tuple(map(told, said))


@lru_cache(maxsize=4096)
def _said(text: Message, *_what: object) -> tuple[str, ...]:
    say = [program_words(language) for language in languages()]
    return tuple(dict.fromkeys((str(text), *(one(text) for one in say if one is not None))))


@lru_cache(maxsize=4096)
def squeezed(text: str) -> str:
    """Letters and figures as a control shows them, without blanks.

    >>> squeezed("Third wheel Ø10.9, 57.6° (Größe 5 µm)")
    'THIRDWHEELD10.957.6DEGGROSSE5UM'
    """
    for sign, word in _SPELT:
        text = text.replace(sign, word)
    text = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii").upper()
    return re.sub(r"[^A-Z0-9.+-]", "", text)


def spelt(mm: float, machine: Machine) -> str:
    """A pattern for a length in the program's units, with whatever zeros it is spelt."""
    value = mm / 25.4 if machine.program.units == "inch" else mm
    whole, _, places = f"{abs(value):.{machine.numbers.decimals}f}".partition(".")
    sign = "-" if value < 0 else r"\+?"
    if machine.numbers.point == "never":
        return f"{sign}0*{(whole + places).lstrip('0')}"
    places = places.rstrip("0")
    return f"{sign}0*{whole.lstrip('0')}" + (rf"\.{places}0*" if places else r"(?:\.0*)?")
