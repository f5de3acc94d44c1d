"""Figures and names of files given on the command line."""

from __future__ import annotations

import math
import os
from pathlib import Path
from typing import Any, Literal, TypeAlias

import click

from camgen.commands.terminal.screen import in_spoken
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.signs import in_one_line

__all__ = ["ABOVE_ZERO", "ANY", "NamedPath", "PictureFormat", "TrueNumber", "picture_format"]

PictureFormat: TypeAlias = Literal["png", "svg", "pdf"]


class TrueNumber(click.FloatRange):
    """A number within bounds that is really one: neither ``nan`` nor ``inf`` is taken.

    >>> TrueNumber(min=0).convert("2.5", None, None)
    2.5
    """

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        return _true(self, super().convert(value, param, ctx), param, ctx)


class _AnyNumber(click.types.FloatParamType):
    """The same, without bounds; help tells none."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        return _true(self, super().convert(value, param, ctx), param, ctx)


def _true(sort: click.ParamType[Any], value: Any, param: click.Parameter | None,
          ctx: click.Context | None) -> float:
    if not math.isfinite(value):
        sort.fail(in_spoken(Message("{value} is no figure to work with.", value=value)), param,
                  ctx)
    return float(value)


class NamedPath(click.Path):
    """The name of a file or folder; an empty one, as an unset variable gives, is a wrong word."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> Any:
        if value == "":
            self.fail(in_spoken(Message("the name is empty.")), param, ctx)
        if in_one_line(str(value)) != str(value):
            self.fail(in_spoken(Message("{name}: a name in which signs cannot be seen.",
                                        name=in_one_line(str(value)))), param, ctx)
        if not self.file_okay and os.path.exists(value) and not os.path.isdir(value):
            self.fail(in_spoken(Message("{name} is no folder.", name=value)), param, ctx)
        return super().convert(value, param, ctx)


def picture_format(picture: Path) -> PictureFormat:
    """The picture's format by the file's ending. Raises Refused for others."""
    ending = picture.suffix.lstrip(".").lower()
    if ending not in ("png", "svg", "pdf"):
        raise Refused(Fault(Message("no picture is made as '{name}'", name=picture.name),
                            Message("end it in png, svg or pdf")))
    return ending  # type: ignore[return-value]


ABOVE_ZERO = TrueNumber(min=0, min_open=True)
ANY = _AnyNumber()
