"""What a program says, in every language there is, and as far as letters and figures count."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from functools import lru_cache

from camgen.words import languages, program_words

__all__ = ["in_languages", "squeezed"]

_SPELT = (("Ø", "D"), ("ø", "D"), ("°", " deg"), ("µ", "u"), ("μ", "u"), ("×", "x"), ("ß", "ss"),
          ("±", "+-"), ("–", "-"), ("—", "-"), ("−", "-"))


def in_languages(
    text: str, told: Callable[[str], str] | None = None
) -> tuple[str, ...]:
    """A program's words in every language that there is, each as ``told`` writes it."""
    said = _said(text)
    return said if told is None else tuple(map(told, said))


@lru_cache(maxsize=4096)
def _said(text: str) -> tuple[str, ...]:
    said = [text]
    for language in languages():
        say = program_words(language)
        if say is not None:
            said.append(say(text))
    return tuple(dict.fromkeys(said))


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
