"""The form of a run at the machine, for ``camgen library record``: a file, options, or asked."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click
import yaml

from camgen.commands.terminal.screen import tell
from camgen.faults import Fault, Refused
from camgen.job.part import limits_of
from camgen.make.chain import Proved
from camgen.make.runs.recording import (
    Form,
    cutters_of,
    read_form,
    sizes_to_measure,
)
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
        raise Refused(Fault("a record needs at least the date and the pieces made",
                            "give --when and --made, or --form FILE (--blank prints one)"))
    given = {**options, **{word: {name: _numbers(name, values)
                                  for name, values in options[word].items()}
                           for word in ("sizes", "limits")}}
    return read_form(yaml.safe_dump(given), "the options"), "the options"


def _asked(proved: Proved) -> dict[str, Any]:
    """Ask in the order in which things are looked at after a run; an empty answer is none."""
    job = proved.job_file.job
    tell(f"{job.job}: what came of it? An empty answer leaves a thing out.")
    answers: dict[str, Any] = {
        "when": click.prompt("date (year-month-day)"),
        "made": click.prompt("pieces made, good and bad", type=int, default=job.quantity),
        "scrapped": click.prompt("of these scrapped", type=int, default=0),
        "material-lot": click.prompt("material lot", default="", show_default=False),
        "sizes": {},
        "limits": {},
        "corrections": [],
        "photos": [],
    }
    said = limits_of(job)
    for name, (nominal, unit) in sizes_to_measure(proved).items():
        values = click.prompt(f"{name}, should be {nominal:.3f} {unit} (values with commas)",
                              default="", show_default=False)
        if not values.strip():
            continue
        answers["sizes"][name] = values
        if name not in said:
            limits = click.prompt("  its limits, least and most (0.79,0.81)", default="",
                                  show_default=False)
            if limits.strip():
                answers["limits"][name] = limits
    answers["cutters"] = [
        {"name": name, "verdict": verdict} for name in cutters_of(proved)
        if (verdict := click.prompt(f"cutter {name}",
                                    type=click.Choice(["", "fine", "chattered", "broke", "worn"]),
                                    default="", show_default=False))
    ]
    while text := click.prompt("correction, as teeth:depth=0.01", default="", show_default=False):
        answers["corrections"].append(correction_of(text))
    answers["remarks"] = click.prompt("remarks", default="", show_default=False)
    return answers


def pair(text: str, option: str) -> tuple[str, str]:
    """Name and value of an option. Raises Refused where it is not NAME=VALUE."""
    name, sign, value = text.partition("=")
    if not sign or not name.strip() or not value.strip():
        raise Refused(Fault(f"{option} {text!r} is not NAME=VALUE", f"such as {option} bore=0.801"))
    return name.strip(), value.strip()


def _numbers(name: str, values: str) -> list[float]:
    try:
        return [float(value) for value in values.split(",")]
    except ValueError as why:
        raise Refused(Fault(f"{values!r} for {name} is no list of numbers",
                            "numbers with a point, commas between: 0.801,0.802")) from why


def correction_of(text: str) -> dict[str, Any]:
    """A correction as the form has it, of SETUP:WHAT=BY, mm. Raises Refused."""
    what, by = pair(text, "--correction")
    setup, sign, thing = what.rpartition(":")
    return {"setup": setup, "what": thing if sign else what, "by": _numbers(what, by)[0]}
