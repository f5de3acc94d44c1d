"""What ``camgen make`` writes: all files of a job together, or none, and never over another's."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from camgen.commands.terminal.progress import doing
from camgen.commands.terminal.screen import tell
from camgen.faults import Refused
from camgen.make.chain import Proved
from camgen.make.formerly import no_longer_made
from camgen.make.variants import Wish
from camgen.messages import Message, counted
from camgen.plainfile import plain_bytes, why_not
from camgen.proof.evidence import Evidence
from camgen.proof.result import Proof
from camgen.writing import write_all, write_set

if TYPE_CHECKING:
    from camgen.make.files import Output

__all__ = ["draw_failures", "write_made"]


def write_made(
    folder: Path, proved: Proved, wish: Wish, output: Callable[[], Output], *, pictures: bool
) -> tuple[Output, list[str]]:
    """The files of what is proved, written into ``folder``; and the names of those that an earlier
    run made, that this one does not, and that were changed by hand and so are left.

    Ends with 1 where the folder is another job's or cannot be written to.
    """
    from camgen.make.files import report_name

    _not_anothers(folder, proved.job_file.path.name, proved.job_file.job.job)
    report = report_name(proved)
    before = _report_in(folder / report)
    stale, changed_since = no_longer_made(folder, proved, wish)
    with doing(Message("drawing the pictures, writing the sheet") if pictures
               else Message("writing the sheet")):
        made = output()

    def nobody_else_wrote() -> None:
        """What was looked at above is still what is there, or just what is to be written."""
        if _report_in(folder / report) not in (before, made.files[report]):
            tell(Message("another camgen make wrote to {folder} meanwhile; nothing of this one "
                         "was written.\n    Give another folder with --out, or make it again.",
                         folder=folder), err=True)
            sys.exit(1)

    try:
        write_set(folder, made.files, stale, nobody_else_wrote)
    except OSError as why:
        tell(Message("nothing was written to {folder}: {why}", folder=folder,
                     why=why_not(why)), err=True)
        sys.exit(1)
    return made, changed_since


def draw_failures(
    folder: Path, failing: Sequence[tuple[str, Proved, Evidence, Sequence[Proof]]]
) -> None:
    """Pictures of failing proofs into a folder; of each evidence what its files' names begin with.
    """
    from camgen.make.pictures import failures_of

    with doing(Message("drawing what fails")):
        drawn = {
            folder / f"{name}-failure-{number}.png": picture.content
            for name, proved, evidence, proofs in failing
            for number, picture in enumerate(failures_of(proved, evidence, proofs), 1)
        }
    write_all(drawn)
    tell(counted("{n} picture of what fails is in {folder}.",
                 "{n} pictures of what fails are in {folder}.", len(drawn), folder=folder),
         err=True)


def _report_in(file: Path) -> bytes | None:
    """A report in a folder, None where there is none that can be read."""
    try:
        return plain_bytes(file)
    except Refused:
        return None


def _not_anothers(folder: Path, file: str, job: str) -> None:
    """Ends with 1 when the folder holds the sheet and the report of another job.

    They bear the same names for every job: the mill would be set up by the wrong sheet.
    """
    for report in sorted(folder.glob("report*.json")):
        if not report.is_file():
            continue
        try:
            found = json.loads(plain_bytes(report))
            there = (found["job_file"], found["job"])
        except (Refused, RecursionError, ValueError, KeyError, TypeError):
            if report.name != "report.json":
                continue
            there = (Message("another file"), Message("something else"))
        if there == (file, job):
            continue
        tell(Message("{folder} holds the sheet and the report of {job} ({file}); nothing was "
                     "written.\n    Give another folder with --out, or empty that one first.",
                     folder=folder, job=there[1], file=there[0]), err=True)
        sys.exit(1)
