"""Plain words about values: how they were written, and what was probably meant."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from camgen.faults import either, nearest
from camgen.messages import NOTHING, Message
from camgen.yamlfile.length_units import length_remedy
from camgen.yamlfile.unquoted import NUMBER, WHOLE

__all__ = [
    "as_shown",
    "bound_words",
    "choice_remedy",
    "listing",
    "number_remedy",
    "number_text",
    "pattern_words",
    "text_remedy",
]

_PATTERNS = {
    "^[a-z0-9][a-z0-9-]*$": Message("small letters, figures and hyphens only"),
    "^[A-Za-z0-9]{1,4}$": Message("one to four letters or figures"),
}


def pattern_words(pattern: str) -> Message:
    """What a name may be made of; nothing where the pattern is not one of those known here."""
    return _PATTERNS.get(pattern, NOTHING)


def number_text(value: float) -> str:
    """A number as it is typed, in whatever unit."""
    return f"{value:g}" if isinstance(value, float) else str(value)


def bound_words(kind: str, context: Mapping[str, Any]) -> Message:
    """The bound that a number crossed, ``kind`` being the model library's word for it."""
    bound = next((context[name] for name in ("gt", "ge", "lt", "le") if name in context), "")
    text = number_text(bound) if isinstance(bound, (int, float)) else str(bound)
    if kind == "greater_than":
        return Message("more than {bound}", bound=text)
    if kind == "greater_than_equal":
        return Message("{bound} or more", bound=text)
    if kind == "less_than":
        return Message("less than {bound}", bound=text)
    return Message("{bound} or less", bound=text)


def as_shown(value: Any, spelt: str | None) -> str:
    """The value as the person wrote it, shortened."""
    if isinstance(value, dict):
        return Message("a group of words")
    if isinstance(value, tuple):
        return Message("a list")
    text = spelt if spelt is not None else str(value)
    text = " ".join(text.split())
    if not text:
        return Message("an empty text")
    return text if len(text) <= 40 else f"{text[:37]}…"


def listing(words: Sequence[str]) -> Message:
    """
    >>> listing(["a", "b", "c"])
    'a, b or c'
    """
    return either(dict.fromkeys(words)) if words else NOTHING


def choice_remedy(value: Any, spelt: str | None, choices: Sequence[str]) -> Message:
    """What may be written instead, the likeliest first."""
    allowed = listing(choices)
    if isinstance(value, bool) and spelt is not None:
        same = next((word for word in choices if word == spelt.lower()), "")
        if same:
            return Message('YAML reads {spelt} as {read}. Write "{word}", in quotes', spelt=spelt,
                           read=_truth(value), word=same)
        return Message("YAML reads {spelt} as {read}. Allowed: {allowed}", spelt=spelt,
                       read=_truth(value), allowed=allowed)
    near = nearest(str(value), choices) if isinstance(value, str) else ""
    if near:
        return Message("did you mean {near}? Allowed: {allowed}", near=near, allowed=allowed)
    return Message("allowed: {allowed}", allowed=allowed)


def text_remedy(value: Any, spelt: str | None) -> Message:
    """How a text is written that was read as something else."""
    if isinstance(value, bool):
        return Message('YAML reads a bare {spelt} as {read}. If the word is meant, put it in '
                       'quotes: "{spelt}"', spelt=spelt, read=_truth(value))
    if isinstance(value, (int, float)):
        return Message('put it in quotes: "{spelt}"', spelt=spelt)
    return Message("write one word, or a text in quotes")


def _truth(value: bool) -> str:
    return "true" if value else "false"


def _sixties(found: re.Match[str]) -> Message:
    parts = [float(figure) for figure in found[0].split(":")]
    sixties = 0.0
    for figure in parts:
        sixties = sixties * 60 + figure
    return Message("YAML reads {text} in sixties, as {sixties:g}. Write {sixties:g}, or "
                   "{minutes:g} if minutes of arc or time are meant", text=found[0],
                   sixties=sixties, minutes=parts[0] + parts[1] / 60)


def _exponent(found: re.Match[str]) -> Message:
    return Message("YAML takes {text} for a word. Write {number}", text=found[0],
                   number=f"{float(found[0]):.9f}".rstrip("0").rstrip("."))


# Numbers as people write them and YAML does not read them, with what to say of each.
_MISSPELT_NUMBERS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], Message]], ...] = (
    (re.compile(r"[-+]?[0-9]*,[0-9]+"),
     lambda found: Message("decimals are written with a point: {number}",
                           number=found[0].replace(",", "."))),
    (re.compile(r"[-+]?[0-9]+[eE][-+]?[0-9]{1,3}"), _exponent),
    (re.compile(r"[-+]?[0-9]+(:[0-5]?[0-9])+(\.[0-9]*)?"), _sixties),
    (re.compile(r"[-+]?0[0-9_]+"),
     lambda found: Message("a leading 0 makes YAML count in eights. Write {number}",
                           number=found[0].replace("0", "", 1))),
    (re.compile(r"[-+]?0[xob][0-9a-fA-F_]+"),
     lambda _: Message("write the number in ordinary figures")),
    (re.compile(r"[-+]?[0-9]{1,3}([_' ][0-9]{3})+(\.[0-9]*)?"),
     lambda found: Message("write it without separators: {number}",
                           number=re.sub("[_ ']", "", found[0]))),
    (re.compile(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}.*"),
     lambda _: Message("this is a date. Write a number")),
    (re.compile(r"([0-9]+)\s*/\s*([1-9][0-9]*)"),
     lambda found: Message("work the fraction out: {number:g}",
                           number=int(found[1]) / int(found[2]))),
    (re.compile(r"[-+]?[0-9]*\.?[0-9]+\s*([;/(!]|--).*"),
     lambda _: Message("a remark begins with #")),
)


def number_remedy(
    value: Any, spelt: str | None, whole: bool, *, of_file: bool = False, in_inches: bool = False
) -> Message:
    """What was probably meant by a value that is no number; nothing where that is not clear.

    ``of_file`` and ``in_inches`` as for :func:`length_remedy`.

    >>> number_remedy("0,25", "0,25", False)
    'decimals are written with a point: 0.25'
    >>> number_remedy("1e-3", "1e-3", False)
    'YAML takes 1e-3 for a word. Write 0.001'
    """
    if isinstance(value, bool):
        return Message("YAML reads {spelt} as {read}. Write the number", spelt=spelt,
                       read=_truth(value))
    if isinstance(value, float):
        if not whole:
            return NOTHING
        if abs(value) < 1e9:
            return Message("write it without a decimal point. Perhaps {near} is meant",
                           near=round(value))
        return Message("write it without a decimal point")
    if not isinstance(value, str):
        return Message("write one number")
    text = value.strip().replace("\u2212", "-").replace("\u2013", "-").replace("\u00a0", " ")
    if spelt is None and (WHOLE.fullmatch(text) or NUMBER.fullmatch(text)):
        return Message("in quotes it is text. Write {text} without quotes", text=text)
    if text != value.strip() and (WHOLE.fullmatch(text) or NUMBER.fullmatch(text)):
        return Message("the minus sign is not the one of the keyboard. Write {text}", text=text)
    for pattern, remedy in _MISSPELT_NUMBERS:
        found = pattern.fullmatch(text)
        if found is not None:
            return remedy(found)
    return length_remedy(text, of_file=of_file, in_inches=in_inches)
