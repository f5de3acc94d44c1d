"""Plain words about values: how they were written, and what was probably meant."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from camgen.faults import nearest
from camgen.yamlfile.bare import NUMBER, WHOLE

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
    "^[a-z0-9][a-z0-9-]*$": "Small letters, figures and hyphens only.",
    "^[A-Za-z0-9]{1,4}$": "One to four letters or figures.",
}


def pattern_words(pattern: str) -> str:
    return _PATTERNS.get(pattern, "")


def number_text(value: float) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def bound_words(kind: str, context: Mapping[str, Any]) -> str:
    bound = next((context[name] for name in ("gt", "ge", "lt", "le") if name in context), "")
    text = number_text(bound) if isinstance(bound, (int, float)) else str(bound)
    return {"greater_than": f"more than {text}", "greater_than_equal": f"{text} or more",
            "less_than": f"less than {text}", "less_than_equal": f"{text} or less"}[kind]


def as_shown(value: Any, spelt: str | None) -> str:
    """The value as the person wrote it, shortened."""
    if isinstance(value, dict):
        return "a group of words"
    if isinstance(value, tuple):
        return "a list"
    text = spelt if spelt is not None else str(value)
    text = " ".join(text.split())
    if not text:
        return "an empty text"
    return text if len(text) <= 40 else f"{text[:37]}…"


def listing(words: Sequence[str]) -> str:
    """
    >>> listing(["a", "b", "c"])
    'a, b or c'
    """
    words = list(dict.fromkeys(words))
    return " or ".join(part for part in (", ".join(words[:-1]), words[-1] if words else "")
                       if part)


def choice_remedy(value: Any, spelt: str | None, choices: Sequence[str]) -> str:
    allowed = f"Allowed: {listing(choices)}."
    if isinstance(value, bool) and spelt is not None:
        same = next((word for word in choices if word == spelt.lower()), "")
        if same:
            return (f'YAML reads {spelt} as {"true" if value else "false"}. Write "{same}", in '
                    "quotes.")
        return f"YAML reads {spelt} as {'true' if value else 'false'}. {allowed}"
    near = nearest(str(value), choices) if isinstance(value, str) else ""
    return f"Did you mean {near}? {allowed}" if near else allowed


def text_remedy(value: Any, spelt: str | None) -> str:
    if isinstance(value, bool):
        return (f"YAML reads a bare {spelt} as {'true' if value else 'false'}. If the word is "
                f'meant, put it in quotes: "{spelt}".')
    if isinstance(value, (int, float)):
        return f'Put it in quotes: "{spelt}".'
    return "Write one word, or a text in quotes."


def _sixties(found: re.Match[str]) -> str:
    text = found[0]
    parts = [float(figure) for figure in text.split(":")]
    sixties = 0.0
    for figure in parts:
        sixties = sixties * 60 + figure
    return (f"YAML reads {text} in sixties, as {sixties:g}. Write {sixties:g}, or "
            f"{parts[0] + parts[1] / 60:g} if minutes of arc or time are meant.")


def _exponent(found: re.Match[str]) -> str:
    return f"YAML takes {found[0]} for a word. Write {float(found[0]):.9f}".rstrip("0").rstrip(
        ".") + "."


# Numbers as people write them and YAML does not read them, with what to say of each.
_MISSPELT_NUMBERS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], str]], ...] = (
    (re.compile(r"[-+]?[0-9]*,[0-9]+"),
     lambda found: f"Decimals are written with a point: {found[0].replace(',', '.')}."),
    (re.compile(r"[-+]?[0-9]+[eE][-+]?[0-9]{1,3}"), _exponent),
    (re.compile(r"[-+]?[0-9]+(:[0-5]?[0-9])+(\.[0-9]*)?"), _sixties),
    (re.compile(r"[-+]?0[0-9_]+"),
     lambda found: "A leading 0 makes YAML count in eights. Write "
                   f"{found[0].replace('0', '', 1)}."),
    (re.compile(r"[-+]?0[xob][0-9a-fA-F_]+"), lambda _: "Write the number in ordinary figures."),
    (re.compile(r"[-+]?[0-9]{1,3}([_' ][0-9]{3})+(\.[0-9]*)?"),
     lambda found: f"Write it without separators: {re.sub('[_ ]|' + chr(39), '', found[0])}."),
    (re.compile(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}.*"), lambda _: "This is a date. Write a number."),
    (re.compile(r"([0-9]+)\s*/\s*([1-9][0-9]*)"),
     lambda found: f"Work the fraction out: {int(found[1]) / int(found[2]):g}."),
    (re.compile(r"[-+]?[0-9]*\.?[0-9]+\s*([;/(!]|--).*"), lambda _: "A remark begins with #."),
)


def number_remedy(value: Any, spelt: str | None, whole: bool) -> str:
    """What was probably meant by a value that is no number.

    >>> number_remedy("0,25", "0,25", False)
    'Decimals are written with a point: 0.25.'
    >>> number_remedy("1e-3", "1e-3", False)
    'YAML takes 1e-3 for a word. Write 0.001.'
    """
    if isinstance(value, bool):
        return f"YAML reads {spelt} as {'true' if value else 'false'}. Write the number."
    if isinstance(value, float):
        near = f" Perhaps {round(value)} is meant." if abs(value) < 1e9 else ""
        return f"Write it without a decimal point.{near}" if whole else ""
    if not isinstance(value, str):
        return "Write one number."
    text = value.strip().replace("\u2212", "-").replace("\u2013", "-").replace("\u00a0", " ")
    if spelt is None and (WHOLE.fullmatch(text) or NUMBER.fullmatch(text)):
        return f"In quotes it is text. Write {text} without quotes."
    if text != value.strip() and (WHOLE.fullmatch(text) or NUMBER.fullmatch(text)):
        return f"The minus sign is not the one of the keyboard. Write {text}."
    for pattern, remedy in _MISSPELT_NUMBERS:
        found = pattern.fullmatch(text)
        if found is not None:
            return remedy(found)
    measured = re.fullmatch(r"(?:[ØøD]\s*)?([-+]?[0-9]*\.?[0-9]+)\s*([^\W\d_]{1,10}|[°%\"'])?",
                            text)
    if measured:
        return f"Write the number alone: {measured[1]}." if len(measured[1]) < 20 else (
            "Write the number alone.")
    return ""
