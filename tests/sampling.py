"""Tables of which the default run takes a sample, and the long run the whole.

Of what hypothesis draws the default run takes a quarter of the examples, always the same; all of
them, drawn anew, are taken with ``HYPOTHESIS_PROFILE=search``.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from typing import Any

import pytest

__all__ = ["few", "sampled"]


def few(examples: int) -> int:
    """How many of so many examples are drawn: a quarter, or all where it is searched."""
    return examples if os.environ.get("HYPOTHESIS_PROFILE") == "search" else max(5, examples // 4)


def sampled(
    cases: Iterable[Any], every: int, first: int = 0, *, single: bool = False
) -> list[Any]:
    """Cases for ``parametrize``: one of ``every`` from the ``first`` on, the others marked long.

    A case is a tuple of arguments, or a ``single`` one, which may itself be a tuple. Where two
    tables are crossed, sample the one whose neighbours are most alike, or cross them first and take
    a count that divides neither.
    """
    taken = []
    for place, case in enumerate(cases):
        marks = () if place % every == first % every else (pytest.mark.long,)
        given = case if isinstance(case, tuple) and not single else (case,)
        taken.append(pytest.param(*given, marks=marks))
    return taken
