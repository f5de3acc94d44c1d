"""Figures and names of files given on the command line."""

from __future__ import annotations

import math
import os
from typing import Any

import click

from camgen.signs import in_one_line

__all__ = ["ABOVE_ZERO", "ANY", "NamedPath", "TrueNumber"]


class TrueNumber(click.FloatRange):
    """A number within bounds that is really one: neither ``nan`` nor ``inf`` is taken.

    >>> TrueNumber(min=0).convert("2.5", None, None)
    2.5
    """

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        figure = float(super().convert(value, param, ctx))
        if not math.isfinite(figure):
            self.fail(f"{value} is no figure to work with.", param, ctx)
        return figure


class NamedPath(click.Path):
    """The name of a file or folder; an empty one, as an unset variable gives, is a wrong word."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> Any:
        if value == "":
            self.fail("the name is empty.", param, ctx)
        if in_one_line(str(value)) != str(value):
            self.fail(f"{in_one_line(str(value))}: a name in which signs cannot be seen.", param,
                      ctx)
        if not self.file_okay and os.path.exists(value) and not os.path.isdir(value):
            self.fail(f"{value} is no folder.", param, ctx)
        return super().convert(value, param, ctx)


ABOVE_ZERO = TrueNumber(min=0, min_open=True)
ANY = TrueNumber()
