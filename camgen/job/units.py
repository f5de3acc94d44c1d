"""Lengths written in inches, turned to mm by what the models say is a length."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from camgen.yamlfile.length_units import MM_PER_INCH, FileUnits
from camgen.yamlfile.wanted import Wanted

__all__ = ["in_mm"]


def in_mm(model: type[BaseModel], data: Any) -> Any:
    """The plain data of a file in inches with every length and feed of ``model`` in mm.

    Data that does not fit the model is left as it is, for the checking that follows to name.

    >>> from camgen.shop.cutters import Cutter
    >>> in_mm(Cutter, {"kind": "end-mill", "diameter": 0.25, "flutes": 2})
    {'kind': 'end-mill', 'diameter': 6.35, 'flutes': 2}
    """
    return _converted(Wanted(model, None), data)


def _converted(wanted: Wanted | None, data: Any) -> Any:
    if wanted is None:
        return data
    if isinstance(data, dict):
        return {word: _converted(wanted.inside(word, data), value) for word, value in data.items()}
    if isinstance(data, tuple):
        return tuple(_converted(wanted.inside(n, data), value) for n, value in enumerate(data))
    if isinstance(data, bool) or not isinstance(data, (int, float)):
        return data
    if any(isinstance(mark, FileUnits) for mark in wanted.marks()):
        return round(data * MM_PER_INCH, 9)
    return data
