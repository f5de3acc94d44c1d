"""``camgen make`` and ``camgen check``: a job from its file to proved programs."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import click

from camgen.commands.terminal.duration import time_words
from camgen.commands.terminal.figures import NamedPath, TrueNumber
from camgen.commands.terminal.progress import doing
from camgen.commands.terminal.proofs import proof_words
from camgen.commands.terminal.screen import (
    heard,
    in_spoken,
    job_called,
    speak_as_job,
    tell,
    wrong_use,
)
from camgen.commands.terminal.stock import made_of_stock
from camgen.commands.terminal.written import draw_failures, write_made
from camgen.faults import all_of
from camgen.job.joined.one_stock.reading import is_one_stock
from camgen.make.chain import Proved, proved_job
from camgen.make.told.account import job_account
from camgen.make.told.report import cautions_of, report_of, taken_of, times_of
from camgen.make.variants import Wish
from camgen.messages import Message, counted, tabled
from camgen.words import languages

__all__ = ["check", "make"]

Command = Callable[..., Any]


def _job_words(command: Command) -> Command:
    """The words ``make`` and ``check`` share."""
    for word in (
        click.option("--json", "as_json", is_flag=True, help="The report, for a program to read."),
        click.option("--language", metavar="CODE", is_eager=True, callback=heard,
                     help="Language of sheet and messages, en, de or fr; else the job's own, and "
                          "of messages CAMGEN_LANGUAGE."),
        click.option("--dry-index", is_flag=True,
                     help="Only turn the dividing head through all spaces."),
        click.option("--air", type=TrueNumber(min=0, min_open=True, max=500), metavar="MM",
                     help="The same programs raised by so much, to cut only air."),
        click.option("--from-station", type=click.IntRange(min=1), metavar="N",
                     help="Start again at station N of a fixture, in the first step left."),
        click.option("--from-cutter", metavar="NAME", help="Start again at this cutter."),
        click.option("--from-step", type=click.IntRange(min=1), metavar="N",
                     help="Start again at step N of the setup."),
        click.option("--from-space", type=click.IntRange(min=1), metavar="N",
                     help="Cut teeth from space N on, after a broken cutter; with --from-step "
                          "where several steps cut teeth."),
        click.option("--setup", metavar="NAME", help="Only this setup."),
        click.option("--post", metavar="NAME", help="Another machine file than the job's own."),
        click.argument("job", type=NamedPath(path_type=Path)),
    ):
        command = word(command)
    return command


@click.command()
@_job_words
@click.option("--out", type=NamedPath(path_type=Path, file_okay=False), metavar="DIR",
              help="Folder for what is made; else out/ and the job file's name.")
@click.option("--pictures/--no-pictures", default=True, help="Draw the pictures (slower).")
@click.option("--changed", is_flag=True,
              help="Go on although a proven job would now be made differently.")
def make(job: Path, as_json: bool, out: Path | None, pictures: bool, changed: bool,
         **wished: Any) -> None:
    """Make programs, pictures, setup sheet and report of a JOB file.

    Each program is read back from its text and proved against the job. If a proof fails nothing
    is written and the exit status is 3. A job proven at the machine gives the same programs again,
    or the answer is what differs.

    Example: camgen make jobs/third-wheel.yaml --out out
    """
    wish = _wish(wished)
    folder = out if out is not None else Path("out") / job.stem
    if is_one_stock(job):
        proved, output = made_of_stock(job, wish, as_json, pictures=pictures)
    else:
        proved, output = _proved(job, wish, as_json), None
        if wish.whole and not changed:
            _same_as_proven(proved, wish)
    from camgen.make.files import output_of

    made, left = write_made(folder, proved, wish, output or partial(
        output_of, proved, pictures=pictures), pictures=pictures)
    if as_json:
        click.echo(json.dumps(made.report, indent=1))
        return
    _tell(proved, made.report, folder, pictures)
    for name in left:
        tell(Message("note: {what}", what=Message(
            "{file} is no longer made, and was changed by hand: it was left; it is no part of what "
            "the sheet tells of", file=folder / name)), before="  ")


@click.command()
@_job_words
@click.option("--pictures", type=NamedPath(path_type=Path, file_okay=False), metavar="DIR",
              help="Where proofs fail, their pictures into this folder, six of a setup.")
def check(job: Path, as_json: bool, pictures: Path | None, **wished: Any) -> None:
    """Plan, write, read back and prove a JOB, and leave no file behind.

    Example: camgen check jobs/third-wheel.yaml
    """
    if is_one_stock(job):
        proved, output = made_of_stock(job, _wish(wished), as_json, pictures=False,
                                       failures=pictures)
        report = output().report
    else:
        proved = _proved(job, _wish(wished), as_json, pictures)
        report = report_of(proved, times_of(proved), job_account(proved))
    if as_json:
        click.echo(json.dumps(report, indent=1))
        return
    _tell(proved, report, None, False)


def _wish(wished: dict[str, Any]) -> Wish:
    """The wish; a wrong word where two things are wished for that cannot be had together."""
    wish = Wish(**wished)
    if wish.post == "":
        raise wrong_use(Message("--post is empty: give the name of a machine file"))
    # A space may be one of a step's.
    given = [f"--{word.replace('_', '-')}"
             for word in ("from_space", "from_step", "from_cutter", "dry_index")
             if getattr(wish, word) and not (word == "from_step" and wish.from_space)]
    given += ["--from-station"] * (bool(wish.from_station)
                                   and bool(wish.from_space or wish.dry_index))
    if len(given) > 1:
        raise wrong_use(Message("{words} cannot be had together: choose one",
                                words=all_of(given)))
    return wish


def _proved(job: Path, wish: Wish, as_json: bool, pictures: Path | None = None) -> Proved:
    """The job through the chain; says what failed and ends with 3 when a proof does not hold."""
    with doing(Message("planning, writing and proving the programs")):
        proved = proved_job(job, wish, lambda long: tell(long, err=True))
    speak_as_job(proved.language)
    if not proved.failed:
        return proved
    if as_json:
        click.echo(json.dumps(report_of(proved, times_of(proved), job_account(proved)), indent=1))
    tell(Message("{job}: {failed} of {count} proofs fail; no program was written.",
                 job=job_called(proved.job_file.job.job), failed=len(proved.failed),
                 count=len(proved.proofs)), err=True)
    from camgen.make.causes.job_places import in_words, job_place

    for setup in proved.setups:
        for proof in (one for one in setup.proofs if not one.holds):
            tell(proof_words(proof), before="  ", err=True)
            place = job_place(proved.job_file, setup, proof)
            tell(in_words(place), before="    ", err=True)
    from camgen.make.causes.corrected_pair import pair_faults

    for cause in pair_faults(proved.job_file):
        tell(cause.said(in_spoken), err=True)
    if pictures is not None:
        draw_failures(pictures, [
            (f"{proved.stem}-{setup.name}", proved, setup.evidence, setup.proofs)
            for setup in proved.setups])
    sys.exit(3)


def _said_otherwise(proved: Proved, wish: Wish) -> bool:
    """Whether the programs are those that were proven but for the language of their messages."""
    from camgen.make.runs.proving import drift

    with doing(Message("making the proven programs again in the language they had")):
        return any(not drift(proved_job(proved.job_file.path, replace(wish, language=language)))
                   for language in languages() if language != proved.language)


def _same_as_proven(proved: Proved, wish: Wish) -> None:
    """Ends with 1 when the job was proven and would not be made as it was."""
    if proved.record is None:
        return
    from camgen.library.fingerprint import as_meant
    from camgen.library.over_runs.corrections import only_corrected
    from camgen.library.standing import last_good
    from camgen.make.runs.proving import drift

    different = drift(proved)
    if not different:
        return
    if proved.standing.state == "proven" and _said_otherwise(proved, wish):
        return
    good = last_good(proved.record.runs)
    taken = only_corrected(proved.job_file.job, good, as_meant(proved.job_file.job)) if good else ()
    if taken and proved.standing.only_job_changed:
        tell(Message("{job} is proven, and what was corrected then is in the job now: measure the "
                     "first piece.", job=job_called(proved.job_file.job.job)), err=True)
        return
    tell(Message("{job} is proven, and would now be made differently:",
                 job=job_called(proved.job_file.job.job)), err=True)
    for line in different:
        tell(line, before="  ", err=True)
    tell(Message("Nothing was written. Add --changed to go on; the programs then count as "
                 "unproven."), err=True)
    sys.exit(1)


# Notes that a run of make tells on the screen; all stand on the sheet.
MOST_NOTES = 5


def _tell(proved: Proved, report: dict[str, Any], folder: Path | None, pictures: bool) -> None:
    """One screen: what was made, that it is proved, what to mind, what to do next."""
    job = proved.job_file.job
    tell(Message("{job}, {quantity} in {material}, for machine file {machine}",
                 job=job_called(job.job), quantity=job.quantity, material=proved.material.title,
                 machine=proved.machine.name))
    width = max(len(entry["file"]) for entry in report["programs"])
    for entry in report["programs"]:
        cutters = ", ".join(entry["cutters"])
        tell(f"  {entry['file']:<{width}}  {time_words(entry['seconds']):>11}  {cutters}")
    if "pieces" in report:
        from camgen.make.one_stock.told import piece_told

        for one in report["pieces"]:
            tell(piece_told(one), before="  ")
    count, standing = len(proved.proofs), proved.standing.told
    tell(Message("All {count} proofs hold, on the programs as read back, but for what is trusted "
                 "below. At the machine: {standing}.", count=count, standing=standing)
         if proved.trusted else
         Message("All {count} proofs hold, on the programs as read back. At the machine: "
                 "{standing}.", count=count, standing=standing))
    for one in proved.trusted:
        tell(Message("trusted: {what}.", what=one.told), before="  ")
    tell(_time_line(report["time"], job.quantity))
    _tell_notes(proved, report, MOST_NOTES if folder is not None else None)
    cautions = [in_spoken(tabled(one, "materials")) for one in cautions_of(proved)]
    if cautions:
        tell(Message("Mind: {cautions}", cautions=" ".join(cautions)))
    tell(Message("First run in air; eyes, hair, guards, clamping; the machine's manual comes "
                 "first."))
    if folder is not None:
        sheet = folder / f"sheet{proved.again}.html"
        tell(Message("Look at the pictures in {folder}, then carry {sheet} to the mill.",
                     folder=folder, sheet=sheet) if pictures else
             Message("Carry {sheet} to the mill.", sheet=sheet))


def _tell_notes(proved: Proved, report: dict[str, Any], most: int | None) -> None:
    """What is not as one would expect, what cutters are taken for last; ``most`` of them, for all
    stand on the sheet."""
    taken = taken_of(proved)
    notes = [*(one for one in report["notes"] if one not in taken), *_warnings(report), *taken]
    shown = notes[:most]
    for one in shown:
        tell(Message("note: {what}", what=one), before="  ")
    if len(notes) > len(shown):
        tell(counted("{n} more is on the sheet", "{n} more are on the sheet",
                     len(notes) - len(shown)), before="  ")


def _time_line(time: dict[str, Any], quantity: int) -> Message:
    """How long all pieces take at the machine, and what would save most of it."""
    changes = time["cutter_changes"]
    line = Message("{pieces}: {time} at the machine, with {cutters} put in",
                   pieces=counted("{n} piece", "{n} pieces", quantity),
                   time=time_words(time["seconds"]),
                   cutters=counted("{n} cutter", "{n} cutters", changes))
    if time["would_save"]:
        most = time["would_save"][0]
        line = Message("{line}; most would be saved by {what}: {time}", line=line,
                       what=most["what"], time=time_words(most["seconds"]))
    line = Message("{sentence}.", sentence=line)
    if "pockets" in time:
        pockets = time["pockets"]
        line = Message("{line} Pockets: {time} of cutting, {over:.2f} times the least at the "
                       "planned rates.", line=line, time=time_words(pockets["cutting"]),
                       over=pockets["cutting_over_floor"])
    return line


def _warnings(report: dict[str, Any]) -> list[Message]:
    """The planner's warnings, each once, with the steps it is for."""
    found: dict[str, list[str]] = {}
    for step in report["steps"]:
        for warning in step["warnings"]:
            found.setdefault(warning, []).append(step["title"])
    return [Message("{steps}: {warning}", steps=tuple(steps), warning=warning)
            for warning, steps in found.items()]
