"""The proportions of tooth forms, from the table ``data/proportions.yaml``."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from camgen.yamlfile import Document, read_yaml

__all__ = ["proportion"]

TABLE = Path(__file__).parent / "data" / "proportions.yaml"


@cache
def _table() -> Document:
    return read_yaml(TABLE)


def proportion(*words: str) -> float:
    """The figure that stands under ``words`` in the table, as a rule in modules.

    >>> proportion("cycloidal-pinion", "few", "width")
    1.05
    """
    return float(_table().get(words))
