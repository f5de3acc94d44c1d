"""The form of a run at the machine, for ``camgen library record``: a file, options, or asked."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click
import yaml

from camgen.commands.terminal.screen import in_spoken, tell
from camgen.faults import Fault, Refused
from camgen.job.part import limits_of
from camgen.make.chain import Proved
from camgen.make.runs.recording import (
    Form,
    cutters_of,
    read_form,
    sizes_to_measure,
)
from camgen.messages import Message
from camgen.plainfile import plain_text

__all__ = ["correction_of", "filled", "pair"]


def filled(proved: Proved, file: Path | None, options: dict[str, Any]) -> tuple[Form, str]:
    """The form, from a file, from options, or by asking, and where its faults stand.

    Raises Refused for what is no form, and where date and pieces are not given.
    """
    if file is not None:
        return read_form(plain_text(file), str(file)), str(file)
    if options["when"] is None and options["made"] is None and sys.stdin.isatty():
        options = _asked(proved)
    if options["when"] is None or options["made"] is None:
        raise Refused(Fault(
            Message("a record needs at least the date and the pieces made"),
            Message("give --when and --made, or --form FILE (--blank prints one)")))
    given = {**options, **{word: {name: _numbers(name, values)
                                  for name, values in options[word].items()}
                           for word in ("sizes", "limits")}}
    name = in_spoken(Message("the options"))
    return read_form(yaml.safe_dump(given), name), name


def _asked(proved: Proved) -> dict[str, Any]:
    """Ask in the order in which things are looked at after a run; an empty answer is none."""
    job = proved.job_file.job
    tell(Message("{job}: what came of it? An empty answer leaves a thing out.", job=job.job))
    answers: dict[str, Any] = {
        "when": click.prompt(in_spoken(Message("date (year-month-day)"))),
        "made": click.prompt(in_spoken(Message("pieces made, good and bad")), type=int,
                             default=job.quantity),
        "scrapped": click.prompt(in_spoken(Message("of these scrapped")), type=int, default=0),
        "material-lot": _left_out(Message("material lot")),
        "sizes": {},
        "limits": {},
        "corrections": [],
        "photos": [],
    }
    said = limits_of(job)
    for name, (nominal, unit) in sizes_to_measure(proved).items():
        values = _left_out(Message("{size}, should be {nominal:.3f} {unit} (values with commas)",
                                   size=name, nominal=nominal, unit=unit))
        if not values.strip():
            continue
        answers["sizes"][name] = values
        if name not in said:
            limits = _left_out(Message("  its limits, least and most (0.79,0.81)"))
            if limits.strip():
                answers["limits"][name] = limits
    answers["cutters"] = [
        {"name": name, "verdict": verdict} for name in cutters_of(proved)
        if (verdict := click.prompt(in_spoken(Message("cutter {number}", number=name)),
                                    type=click.Choice(["", "fine", "chattered", "broke", "worn"]),
                                    default="", show_default=False))
    ]
    while text := _left_out(Message("correction, as teeth:depth=0.01")):
        answers["corrections"].append(correction_of(text))
    answers["remarks"] = _left_out(Message("remarks"))
    return answers


def _left_out(question: Message) -> str:
    """The answer to what may be left out."""
    answer: str = click.prompt(in_spoken(question), default="", show_default=False)
    return answer


def pair(text: str, option: str) -> tuple[str, str]:
    """Name and value of an option. Raises Refused where it is not NAME=VALUE."""
    name, sign, value = text.partition("=")
    if not sign or not name.strip() or not value.strip():
        raise Refused(Fault(
            Message("{option} '{text}' is not NAME=VALUE", option=option, text=text),
            Message("such as {option} bore=0.801", option=option)))
    return name.strip(), value.strip()


def _numbers(name: str, values: str) -> list[float]:
    try:
        return [float(value) for value in values.split(",")]
    except ValueError as why:
        raise Refused(Fault(
            Message("'{values}' for {name} is no list of numbers", values=values, name=name),
            Message("numbers with a point, commas between: 0.801,0.802"))) from why


def correction_of(text: str) -> dict[str, Any]:
    """A correction as the form has it, of SETUP:WHAT=BY, mm. Raises Refused."""
    what, by = pair(text, "--correction")
    setup, sign, thing = what.rpartition(":")
    return {"setup": setup, "what": thing if sign else what, "by": _numbers(what, by)[0]}
