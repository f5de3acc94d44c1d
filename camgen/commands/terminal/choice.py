"""A choice of words on the command line that says which one may have been meant."""

from __future__ import annotations

from typing import Any

import click

from camgen.commands.terminal.screen import in_spoken
from camgen.faults import nearest
from camgen.messages import Message

__all__ = ["OneOf"]


class OneOf(click.Choice[str]):
    """One of a few words."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> str:
        """The word chosen. Raises BadParameter, with the nearest word, where it is none of them."""
        if value not in self.choices:
            near = nearest(str(value), self.choices)
            what = Message("'{word}' is none of {words}.", word=value, words=tuple(self.choices))
            self.fail(in_spoken(
                Message("{what} Did you mean '{near}'?", what=what, near=near) if near else what),
                param, ctx)
        return super().convert(value, param, ctx)
