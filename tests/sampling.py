"""Tables of which the default run takes a sample, and the long run the whole."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest

__all__ = ["sampled"]


def sampled(cases: Iterable[Any], every: int, first: int = 0) -> list[Any]:
    """Cases for ``parametrize``: one of ``every`` from the ``first`` on, the others marked long.

    A case is a tuple of arguments, or a single one. Where two tables are crossed, sample the one
    whose neighbours are most alike, or cross them first and take a count that divides neither.
    """
    taken = []
    for place, case in enumerate(cases):
        marks = () if place % every == first % every else (pytest.mark.long,)
        given = case if isinstance(case, tuple) else (case,)
        taken.append(pytest.param(*given, marks=marks))
    return taken
