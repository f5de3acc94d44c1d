"""A choice of words on the command line that says which one may have been meant."""

from __future__ import annotations

from typing import Any

import click

from camgen.faults import nearest

__all__ = ["OneOf"]


class OneOf(click.Choice[str]):
    """One of a few words."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> str:
        """The word chosen. Raises BadParameter, with the nearest word, where it is none of them."""
        if value not in self.choices:
            near = nearest(str(value), self.choices)
            self.fail(f"{value!r} is none of {', '.join(self.choices)}."
                      + (f" Did you mean {near!r}?" if near else ""), param, ctx)
        return super().convert(value, param, ctx)
