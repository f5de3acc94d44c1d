"""What is being done, told while it is done: on a terminal only, and gone when it is over."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

import click

from camgen.commands.terminal.screen import columns, in_spoken
from camgen.messages import Message

__all__ = ["doing"]


@contextmanager
def doing(what: Message) -> Iterator[None]:
    """Say ``what`` is being done until it is; nothing where errors go to a file or a program."""
    if not sys.stderr.isatty():
        yield
        return
    # No longer than the window: a line that was broken could not be taken back.
    line = f"{in_spoken(what)} ..."[:columns() - 1]
    click.echo(line, nl=False, err=True)
    try:
        yield
    finally:
        click.echo("\r" + " " * len(line) + "\r", nl=False, err=True)
