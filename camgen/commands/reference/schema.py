"""``camgen schema``: the JSON Schema of job files, for editors that complete words."""

from __future__ import annotations

import json
from pathlib import Path

import click

from camgen.commands.terminal.figures import NamedPath
from camgen.commands.terminal.screen import tell
from camgen.messages import Message

__all__ = ["schema", "schema_text"]


def schema_text() -> str:
    """The schema as it is written to a file."""
    from camgen.job.schema import job_schema
    from camgen.steps import step_words

    return json.dumps(job_schema(step_words()), indent=2, ensure_ascii=False) + "\n"


@click.command()
@click.option("--out", type=NamedPath(dir_okay=False, path_type=Path), metavar="FILE",
              help="Write it to FILE instead of showing it.")
def schema(out: Path | None) -> None:
    """JSON Schema of job files.

    Editors that know JSON Schema complete the words of a job file with it and mark mistakes while
    you write. Tell yours to use it for the files in your folder of jobs.

    Example: camgen schema --out jobs/job.schema.json
    """
    text = schema_text()
    if out is None:
        click.echo(text, nl=False)
        return
    from camgen.writing import write_whole

    write_whole(out, text.encode())
    tell(Message("Schema of job files: {file}", file=out))
