"""Tables of which the default run takes a sample, and the long run the whole.

Of what hypothesis draws the default run takes an eighth of the examples, always the same; all of
them, drawn anew, are taken with ``HYPOTHESIS_PROFILE=search``.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from typing import Any

import pytest

__all__ = ["Run", "few", "sampled", "taken"]


class Run:
    """What this run of the tests asks for, as ``conftest`` heard it."""

    long = True


def taken(cases: Iterable[Any]) -> list[Any]:
    """Cases of which some are marked long, without those where the run takes none that are."""
    return [case for case in cases
            if Run.long or not any(mark.name == "long" for mark in getattr(case, "marks", ()))]


def few(examples: int) -> int:
    """How many of so many examples are drawn: an eighth, or all where it is searched."""
    return examples if os.environ.get("HYPOTHESIS_PROFILE") == "search" else max(4, examples // 8)


def sampled(
    cases: Iterable[Any], every: int, first: int = 0, *, single: bool = False,
    ids: Sequence[str] = (),
) -> list[Any]:
    """Cases for ``parametrize``: one of ``every`` from the ``first`` on, the others marked long.

    A case is a tuple of arguments, or a ``single`` one, which may itself be a tuple. Where two
    tables are crossed, sample the one whose neighbours are most alike, or cross them first and take
    a count that divides neither. Where a run leaves out what is long, none of it is made.
    """
    made = []
    for place, case in enumerate(cases):
        long = place % every != first % every
        if long and not Run.long:
            continue
        given = case if isinstance(case, tuple) and not single else (case,)
        made.append(pytest.param(*given, marks=(pytest.mark.long,) if long else (),
                                 id=ids[place] if ids else None))
    return made
