"""The questions of ``camgen post new``, asked at the keyboard."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from camgen.commands.terminal.screen import in_spoken, tell
from camgen.messages import Message
from camgen.post.machine_file.questions import (
    ARRANGEMENT,
    DRAWING,
    HEAD_DRAWING,
    QUESTIONS,
    FigureQuestion,
    answered,
    standing_so,
)

__all__ = ["asked"]

_WAYS = ("-X", "+X", "-Y", "+Y", "-Z", "+Z")


def asked() -> dict[str, Any]:
    """The answers of the person at the keyboard, as values by path."""
    click.echo(DRAWING)
    tell(Message("Left as seen from above, Y+ away from you; right as seen from in front, Z+ up. "
                 "The arrows say where the cutter goes over the work: a table that moves goes the "
                 "other way."))
    values: dict[str, Any] = {}
    for question in QUESTIONS:
        if isinstance(question, FigureQuestion):
            values |= _figures(question)
            continue
        words = list(question.answers)
        word = click.prompt(in_spoken(question.text), type=click.Choice(words), default=words[0])
        values |= question.answers[word]
        if "dividing.kind" in question.answers[word]:
            values |= _head()
    return values


def _figures(question: FigureQuestion) -> dict[str, Any]:
    """Figures, asked for until they can be."""
    values: dict[str, Any] = click.prompt(
        in_spoken(question.text), default=question.usual,
        value_proc=_heard(lambda answer: answered(question, answer)))
    return values


def _head() -> dict[str, Any]:
    """How the head stands."""
    click.echo(HEAD_DRAWING)
    tell(Message("From above: 1 the head, 2 the blank on its arbor, 3 the disc. Here it goes into "
                 "the metal along +Y and through the blank along -X, towards the head; Z sets the "
                 "centre height. On your machine:"))
    along, infeed = ARRANGEMENT
    through = click.prompt(in_spoken(along), type=click.Choice(_WAYS), default="-X")
    values: dict[str, Any] = click.prompt(
        in_spoken(infeed), default="+Y" if through[1] != "Y" else "+X",
        value_proc=_heard(lambda answer: standing_so(through, _way(answer))))
    return values


def _way(answer: str) -> str:
    """One of the six ways, or ValueError."""
    if answer.strip().upper() not in _WAYS:
        raise ValueError(Message("one of {ways}", ways=_WAYS))
    return answer.strip().upper()


def _heard(take: Callable[[str], dict[str, Any]]) -> Callable[[str], dict[str, Any]]:
    """``take`` for a question that is asked again with what would be right."""
    def hear(answer: str) -> dict[str, Any]:
        try:
            return take(answer)
        except ValueError as why:
            said = why.args[0]
            raise click.UsageError(
                in_spoken(said) if isinstance(said, Message) else str(said)) from None

    return hear
