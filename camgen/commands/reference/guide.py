"""``camgen guide``: the guides, read at the bench."""

from __future__ import annotations

from pathlib import Path

import click

from camgen.commands.terminal.figures import NamedPath
from camgen.commands.terminal.screen import columns, spoken, tell
from camgen.guides import Guide, find_guide, guide_names
from camgen.messages import Message

__all__ = ["guide"]


@click.command()
@click.argument("name", default="")
@click.option("--files", "folder", metavar="DIR", type=NamedPath(path_type=Path),
              help="Write the guide's files into DIR; nothing there is overwritten.")
def guide(name: str, folder: Path | None) -> None:
    """The guides: all by name, or guide NAME.

    Example: camgen guide first-wheel
    """
    if not name:
        wide = max(map(len, guide_names()))
        for one in guide_names():
            click.echo(f"{one:{wide}}  {find_guide(one, spoken()).title}")
        tell(Message("Read one:  camgen guide {name}", name=guide_names()[0]))
        return
    found = _found(name)
    if folder is None:
        click.echo(found.shown(min(columns(), 88)), nl=False)
        return
    _write(found, folder)


def _found(name: str) -> Guide:
    from camgen.faults import Fault, Refused, did_you_mean

    try:
        return find_guide(name, spoken())
    except KeyError:
        raise Refused(Fault(
            Message("there is no guide '{name}'", name=name),
            did_you_mean(name, guide_names(), Message("camgen guide names them all")))) from None


def _write(found: Guide, folder: Path) -> None:
    from camgen.faults import Fault, Place, Refused
    from camgen.plainfile import why_not
    from camgen.writing import write_all

    files = {folder / name: text.encode() for name, text in found.files.items()}
    if not files:
        raise Refused(Fault(Message("guide {name} has no files", name=found.name),
                            Message("read it:  camgen guide {name}", name=found.name)))
    there = [path for path in files if path.exists()]
    if there:
        raise Refused([Fault(Message("there is a file of this name, nothing is overwritten"),
                             Message("give another folder"), Place(str(path)))
                       for path in there])
    try:
        write_all(files)
    except OSError as error:
        raise Refused(Fault(
            Message("the folder cannot be written: {why}", why=why_not(error)),
            Message("give the name of a folder where you may write"),
            Place(str(folder)))) from None
    tell(Message("Written: {files}", files=", ".join(map(str, files))))
