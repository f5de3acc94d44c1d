"""What a word without quotes means in a YAML file."""

from __future__ import annotations

import re
from typing import Any

__all__ = ["NUMBER", "WHOLE", "unquoted_value"]

WHOLE = re.compile(r"[-+]?(?:0|[1-9][0-9]{0,17})")
NUMBER = re.compile(r"[-+]?(?:[0-9]+\.[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]{1,3})?")
_BARE: dict[str, Any] = {"": None, "~": None}
for _word in ("null", "true", "false", "yes", "no", "on", "off"):
    _meaning = None if _word == "null" else _word in ("true", "yes", "on")
    for _spelt in (_word, _word.capitalize(), _word.upper()):
        _BARE[_spelt] = _meaning
_BARE |= {".inf": float("inf"), "-.inf": float("-inf"), ".nan": float("nan")}


def unquoted_value(text: str) -> Any:
    """What a bare word means.

    >>> [unquoted_value(word) for word in ("75", "0.25", "no", "1e-3", "010", "1:30", "a b")]
    [75, 0.25, False, '1e-3', '010', '1:30', 'a b']
    """
    if text in _BARE:
        return _BARE[text]
    first = text[0]
    if first.isdigit() or first in "+-.":
        if WHOLE.fullmatch(text):
            return int(text)
        if NUMBER.fullmatch(text):
            return float(text)
    return text
