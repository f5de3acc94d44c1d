"""``camgen make`` and ``camgen check``: a job from its file to proved programs."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from camgen.make import Made, Wish, make_job
from camgen.writing import write_all

__all__ = ["check", "make"]

Command = Callable[..., Any]


def _job_words(command: Command) -> Command:
    """The words ``make`` and ``check`` share."""
    for word in (
        click.option("--json", "as_json", is_flag=True, help="The report, for a program to read."),
        click.option("--from-space", type=click.IntRange(min=1), metavar="N",
                     help="Start tooth cutting again at space N, after a broken cutter."),
        click.option("--post", metavar="NAME", help="Another machine file than the job's own."),
        click.argument("job", type=click.Path(path_type=Path)),
    ):
        command = word(command)
    return command


@click.command()
@_job_words
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), metavar="DIR",
              help="Folder for what is made; else one beside the job, named after it.")
@click.option("--pictures/--no-pictures", default=True, help="Draw the pictures (slower).")
def make(job: Path, post: str | None, from_space: int | None, as_json: bool, out: Path | None,
         pictures: bool) -> None:
    """Make programs, pictures, setup sheet and report of a JOB file.

    Each program is read back from its text and proved against the job; if a proof fails nothing
    is written and the exit status is 3.

    Example: camgen make jobs/third-wheel.yaml --out out
    """
    made = make_job(job, Wish(post=post, from_space=from_space, pictures=pictures))
    if made.failed:
        _tell_failure(made, as_json)
        sys.exit(3)
    folder = out if out is not None else Path("out") / job.stem
    write_all({folder / name: content for name, content in made.files.items()})
    _tell(made, as_json, folder)


@click.command()
@_job_words
def check(job: Path, post: str | None, from_space: int | None, as_json: bool) -> None:
    """Plan, write, read back and prove a JOB, and leave no file behind.

    Example: camgen check jobs/third-wheel.yaml
    """
    made = make_job(job, Wish(post=post, from_space=from_space, pictures=False))
    if made.failed:
        _tell_failure(made, as_json)
        sys.exit(3)
    _tell(made, as_json, None)


def time_words(seconds: float) -> str:
    """A duration as said at the bench.

    >>> time_words(42.4), time_words(754), time_words(4000)
    ('42 s', '12 min 34 s', '1 h 07 min')
    """
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60:02d} s"
    return f"{whole // 3600} h {round(whole % 3600 / 60):02d} min"
