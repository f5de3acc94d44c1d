"""``camgen words``: what the words of a job file mean, from the models that check it."""

from __future__ import annotations

import textwrap

import click

from camgen.commands.terminal.screen import columns
from camgen.messages import Message

__all__ = ["reference_text", "words"]


def reference_text(wanted: str, width: int) -> str:
    """Every word, or those that are or stand beneath ``wanted``, in lines of ``width``.

    Raises Refused when there is no such word.
    """
    from camgen.faults import Fault, Refused, did_you_mean
    from camgen.job.reference import word_entries
    from camgen.job.schema import job_schema
    from camgen.steps import step_words

    entries = word_entries(job_schema(step_words()))
    chosen = [one for one in entries if not wanted or wanted in one.path]
    if not chosen:
        known = sorted({word for one in entries for word in one.path})
        raise Refused(Fault(Message("'{word}' is no word of a job file", word=wanted),
                            did_you_mean(wanted, known, Message("camgen words shows all"))))
    lines: list[str] = []
    for one in chosen:
        lead = "  " * (len(one.path) - 1)
        way = " > ".join(one.path) if wanted and one.path[-1] == wanted else lead + one.path[-1]
        # What the words of files are for is said in English, as their schema says it.
        lines.append(f"{way}: {one.value}" + (", needed" if one.needed else "")
                     + (f", else {one.default}" if one.default else ""))
        if one.says:
            lines.append(f"{lead}    {one.says}")
    return "\n".join(
        wrapped for line in lines for wrapped in textwrap.wrap(
            line, width, subsequent_indent=" " * (len(line) - len(line.lstrip())),
            break_on_hyphens=False))


@click.command()
@click.argument("word", default="")
def words(word: str) -> None:
    """What the words of a job file mean: all, or WORD and those beneath it.

    For each: what may be written behind it, what holds without it, what it is for.

    Example: camgen words crossing
    """
    click.echo(reference_text(word, min(columns(), 80)))
