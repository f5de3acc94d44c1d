"""``camgen start``: a workshop folder with examples to begin from."""

from __future__ import annotations

import re
from pathlib import Path

import click

from camgen.commands.terminal.figures import NamedPath
from camgen.commands.terminal.screen import tell
from camgen.messages import Message
from camgen.plainfile import why_not

__all__ = ["start", "workshop_files"]

# The machine file that is copied under a name of its own, for the workshop to change.
FIRST_MACHINE = "plain-iso"
OWN_MACHINE = "my-mill"
_NEW_FOLDER = Message("give the name of a new folder")


def workshop_files() -> dict[str, bytes]:
    """The files of a new workshop folder: path inside it, contents."""
    from camgen.commands.reference.schema import schema_text
    from camgen.shipped import demo_jobs, shipped_folder

    here = Path(__file__).resolve().parent / "workshop"
    files = {path.name: path.read_bytes() for path in sorted(here.iterdir()) if path.is_file()}
    for path in demo_jobs():
        files[f"jobs/{path.name}"] = path.read_bytes()
    for folder in ("drawings", "stocks"):
        for path in sorted((shipped_folder("jobs") / folder).iterdir()):
            files[f"jobs/{folder}/{path.name}"] = path.read_bytes()
    files["jobs/job.schema.json"] = schema_text().encode()
    files["jobs/stock.schema.json"] = schema_text("stock").encode()
    machines = shipped_folder("postprocessors")
    schema = "machine.schema.json"
    files[f"postprocessors/{schema}"] = (machines / schema).read_bytes()
    machine = (machines / f"{FIRST_MACHINE}.yaml").read_text("utf-8")
    machine = re.sub(rf"^name: {FIRST_MACHINE}$", f"name: {OWN_MACHINE}", machine, flags=re.M)
    files[f"postprocessors/{OWN_MACHINE}.yaml"] = (
        "# Your own mill, to begin with a copy of plain-iso: put in what its manual says.\n"
        + machine).encode()
    return files


@click.command()
@click.argument("folder", metavar="DIR", type=NamedPath(path_type=Path))
def start(folder: Path) -> None:
    """Make the workshop folder DIR, with demo jobs, a machine file to change and a first page.

    Nothing that is there already is overwritten.

    Example: camgen start workshop
    """
    from camgen.faults import Fault, Place, Refused
    from camgen.writing import write_all

    if folder.exists() and not folder.is_dir():
        raise Refused(Fault(Message("this is a file, not a folder"), _NEW_FOLDER,
                            Place(str(folder))))
    files = workshop_files()
    there = [name for name in files if (folder / name).exists()]
    if there:
        raise Refused(Fault(
            Message("{file} and {more} more are there already, nothing is overwritten",
                    file=there[0], more=len(there) - 1) if len(there) > 1 else
            Message("{file} is there already, nothing is overwritten", file=there[0]),
            _NEW_FOLDER, Place(str(folder))))
    try:
        write_all({folder / name: content for name, content in files.items()})
    except OSError as error:
        raise Refused(Fault(
            Message("the folder cannot be written: {why}", why=why_not(error)),
            Message("give the name of a folder where you may write"),
            Place(str(folder)))) from None
    tell(Message("A workshop folder in {folder}: {count} files. Read its README.txt first.\n"
                 "Next:\n"
                 "    cd {folder}\n"
                 "    camgen make jobs/third-wheel.yaml --out out", folder=folder,
                 count=len(files)))
