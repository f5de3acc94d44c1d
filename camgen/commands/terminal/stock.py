"""``camgen make`` and ``camgen check`` of parts of several jobs on one stock."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click

from camgen.commands.terminal.duration import time_words
from camgen.commands.terminal.progress import doing
from camgen.commands.terminal.proofs import proof_words
from camgen.commands.terminal.screen import job_called, speak_as_job, tell, wrong_use
from camgen.library.standing import standing_of_job
from camgen.make.variants import Wish
from camgen.messages import Message
from camgen.plainfile import why_not
from camgen.writing import write_set

__all__ = ["make_stock"]


def make_stock(
    path: Path, wish: Wish, folder: Path | None, *, pictures: bool, as_json: bool
) -> None:
    """Make the one program, sheet, picture and report into ``folder``, or only prove them.

    If a proof fails nothing is written and the exit status is 3.
    """
    if not wish.whole or wish.setup is not None:
        raise wrong_use(Message("parts of several jobs on one stock are made whole: leave {words} "
                                "out", words="--setup, --air, --from-…"))
    # Loaded when asked for: few jobs are such.
    from camgen.make.one_stock.chain import proved_stock
    from camgen.make.one_stock.told import output_of_stock, used_told

    with doing(Message("planning, writing and proving the programs")):
        stock = proved_stock(path, wish.post, wish.language)
    speak_as_job(stock.language)
    name = job_called(stock.stock_file.words.job)
    if stock.failed:
        tell(Message("{job}: {failed} of {count} proofs fail; no program was written.", job=name,
                     failed=len(stock.failed), count=len(stock.proofs)), err=True)
        for proof in stock.failed:
            tell(proof_words(proof), before="  ", err=True)
        sys.exit(3)
    output = output_of_stock(stock, pictures=pictures)
    if folder is not None:
        try:
            write_set(folder, output.files, (), lambda: None)
        except OSError as why:
            tell(Message("nothing was written to {folder}: {why}", folder=folder,
                         why=why_not(why)), err=True)
            sys.exit(1)
    if as_json:
        click.echo(json.dumps(output.report, indent=1))
        return
    pieces = output.report["pieces"]
    tell(Message("{job}, {quantity} in {material}, for machine file {machine}", job=name,
                 quantity=len(pieces), material=stock.material.title,
                 machine=stock.machine.name))
    for entry in output.report["programs"]:
        tell(f"  {entry['file']}  {time_words(entry['seconds'])}  {', '.join(entry['cutters'])}")
    for one in pieces:
        tell(Message("{name}, of {file}, at X {x:g} Y {y:g}, turned {turned:g}°",
                     name=one["name"], file=one["job_file"], x=one["x"], y=one["y"],
                     turned=one["turned"]), before="  ")
    tell(used_told(stock), before="  ")
    standing = standing_of_job(stock.prints, 0, None).told
    tell(Message("All {count} proofs hold, on the programs as read back. At the machine: "
                 "{standing}.", count=len(stock.proofs), standing=standing))
    for note in output.report["notes"]:
        tell(Message("note: {what}", what=note), before="  ")
    tell(Message("First run in air; eyes, hair, guards, clamping; the machine's manual comes "
                 "first."))
    if folder is not None:
        tell(Message("Look at the pictures in {folder}, then carry {sheet} to the mill.",
                     folder=folder, sheet=folder / "sheet.html") if pictures else
             Message("Carry {sheet} to the mill.", sheet=folder / "sheet.html"))
