"""Reading the shop's tables: values with unit, range, source and date.

The shipped tables are one block a subject, beginning at the left edge with its name; only the
block that is asked for is parsed, so that a look-up takes about a millisecond. A workshop's own
table has the same shape and is read with care, as everything written by hand.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from camgen.messages import Message
from camgen.values import dataclass

__all__ = ["Quantity", "Source", "block", "blocks", "quantity", "rule", "source"]

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_HEAD = re.compile(r"^([a-z0-9][a-z0-9-]*):", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Quantity:
    """One value of a table.

    ``low`` and ``high`` are the range in which sources or batches differ, and equal to ``value``
    where none is given. ``source`` is a key of :func:`source`, or the workshop's own words when
    ``own`` is true. ``date`` is the year or month the value was put down.
    """

    value: float
    unit: str
    low: float
    high: float
    source: str
    date: str
    own: bool = False

    def __str__(self) -> str:
        return self.told

    @property
    def told(self) -> str:
        """The value with its unit, and its range where sources differ."""
        value = f"{self.value:g}" + ("" if self.unit == "1" else f" {self.unit}")
        if self.low == self.high:
            return value
        return Message("{value} ({low:g} to {high:g})", value=value, low=self.low, high=self.high)


@dataclass(frozen=True, slots=True)
class Source:
    """Where a value comes from: ``kind`` is standard, paper, memory, practice or estimate."""

    key: str
    kind: str
    date: str
    text: str


@lru_cache(maxsize=8)
def blocks(table: str) -> Mapping[str, str]:
    """The text of each block of a shipped table, by name; nothing is parsed yet."""
    text = (Path(__file__).parent / "data" / f"{table}.yaml").read_text(encoding="utf-8")
    heads = list(_HEAD.finditer(text))
    ends = [head.start() for head in heads[1:]] + [len(text)]
    return {head[1]: text[head.start():end] for head, end in zip(heads, ends, strict=True)}


@lru_cache(maxsize=256)
def block(table: str, name: str) -> Mapping[str, Any]:
    """One block of a shipped table, parsed. Raises KeyError when there is none of that name."""
    parsed: dict[str, Any] = yaml.load(blocks(table)[name], Loader=_LOADER)
    content: dict[str, Any] = parsed[name]
    return content


@lru_cache(maxsize=64)
def source(key: str) -> Source:
    """The source of a shipped value. Raises KeyError when the key is unknown.

    >>> source("kops-vo").date
    '1990'
    """
    entry = block("sources", key)
    return Source(key, str(entry["kind"]), str(entry["date"]), " ".join(entry["text"].split()))


def quantity(entry: Mapping[str, Any]) -> Quantity:
    """A value of a shipped table as a :class:`Quantity`.

    >>> quantity({"value": 8.47, "unit": "g/cm3", "source": "densities"}).high
    8.47
    """
    value = float(entry["value"])
    key = str(entry["source"])
    return Quantity(value, str(entry["unit"]), float(entry.get("low", value)),
                    float(entry.get("high", value)), key,
                    str(entry.get("date", "")) or source(key).date)


@lru_cache(maxsize=64)
def rule(name: str) -> Quantity:
    """One of the planner's own rules.

    >>> rule("fluted-diameter").value
    0.8
    """
    return quantity(block("rules", name))
