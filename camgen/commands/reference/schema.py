"""``camgen schema``: the JSON Schema of job files, for editors that complete words."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Literal, TypeAlias

import click

from camgen.commands.terminal.choice import OneOf
from camgen.commands.terminal.figures import NamedPath
from camgen.commands.terminal.screen import tell
from camgen.messages import Message

__all__ = ["FileOf", "schema", "schema_text"]

# What a file is of: a job, or parts of several jobs on one stock.
FileOf: TypeAlias = Literal["job", "stock"]


def schema_text(of: FileOf = "job") -> str:
    """The schema as it is written to a file."""
    from camgen.job.schema import job_schema, stock_schema
    from camgen.steps import step_words

    made = job_schema(step_words()) if of == "job" else stock_schema()
    return json.dumps(made, indent=2, ensure_ascii=False) + "\n"


@click.command()
@click.option("--of", type=OneOf(["job", "stock"]), default="job", show_default=True,
              help="Of which files: jobs, or parts of several jobs on one stock.")
@click.option("--out", type=NamedPath(dir_okay=False, path_type=Path), metavar="FILE",
              help="Write it to FILE instead of showing it.")
def schema(of: FileOf, out: Path | None) -> None:
    """JSON Schema of job files.

    Editors that know JSON Schema complete the words of a job file with it and mark mistakes while
    you write. Tell yours to use it for the files in your folder of jobs.

    Example: camgen schema --out jobs/job.schema.json
    """
    text = schema_text(of)
    if out is None:
        click.echo(text, nl=False)
        return
    from camgen.writing import write_whole

    write_whole(out, text.encode())
    tell(Message("Schema of job files: {file}", file=out) if of == "job" else
         Message("Schema of files of parts on one stock: {file}", file=out))
