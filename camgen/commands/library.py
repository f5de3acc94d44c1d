"""``camgen library``: the proven jobs of a workshop."""

from __future__ import annotations

import csv
import io
import json
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import click

from camgen.commands.terminal.figures import ANY, NamedPath
from camgen.commands.terminal.progress import doing
from camgen.commands.terminal.records.into_the_job import asked_into_job, job_taking
from camgen.commands.terminal.records.run_form import correction_of, filled, pair
from camgen.commands.terminal.records.runs_told import (
    history_words,
    life_words,
    tell_correction,
    tell_run,
)
from camgen.commands.terminal.records.shelf_standing import shop_fingerprints, standing_on_shelf
from camgen.commands.terminal.screen import (
    aligned,
    columns,
    in_spoken,
    speak_as_job,
    spoken,
    tell,
)
from camgen.faults import Fault, Place, Refused
from camgen.job.file import workshop_of
from camgen.job.joined.one_stock.reading import is_one_stock
from camgen.job.reading import read_job
from camgen.library.fingerprint import as_meant, fingerprint
from camgen.library.over_runs.drifting import drift_told
from camgen.library.over_runs.statistics import SizeHistory, cutter_lives, size_histories
from camgen.library.pack import packed, packed_fingerprints, unpack
from camgen.library.record import (
    JobFingerprints,
    ProofRecord,
    add_run,
    read_record,
    record_path,
)
from camgen.library.shelf import LookedFor, ShelfEntry, found, shelf
from camgen.library.standing import last_good, prints, standing_of_job
from camgen.make.chain import proved_job
from camgen.make.runs.proving import (
    as_it_ran,
    as_made,
    as_run,
    drift,
    motion_words,
    pairs_of,
    value_words,
)
from camgen.make.runs.recording import blank_form, filled_run, kept_programs, luggage
from camgen.make.variants import Wish
from camgen.messages import Message, counted
from camgen.plainfile import plain_bytes
from camgen.shop.machines import find_machine
from camgen.shop.materials import find_material
from camgen.signs import in_one_line
from camgen.steps import step_words
from camgen.writing import write_whole

__all__ = ["library"]

_MAKING = Message("planning, writing and proving the programs")
# So many files that cannot be read are named, so that they push no answer off the screen.
_MOST_BROKEN = 8
_COLUMNS = {"file": Message("file"), "job": Message("job"), "teeth": Message("teeth"),
            "module": Message("module"), "material": Message("material"), "runs": Message("runs"),
            "last": Message("last")}
_SORTED = ("file", "job", "teeth", "module", "material", "post", "runs", "last")


@click.group()
def library() -> None:
    """Proven jobs: record a run, find a job, see what changed since it was proven.

    Example: camgen library status jobs
    """


def _folder_word(command: Any) -> Any:
    return click.option("--folder", type=NamedPath(path_type=Path, file_okay=False, exists=True),
                        default=Path("jobs") if Path("jobs").is_dir() else Path(),
                        show_default=True, help="Folder of job files.")(command)


def _entries(folder: Path) -> tuple[ShelfEntry, ...]:
    """The shelf, with a bar on a terminal when there is much to read."""
    if not sys.stderr.isatty():
        return shelf(folder, step_words())
    with click.progressbar(length=1, label=in_spoken(Message("reading jobs")),
                           file=sys.stderr) as bar:
        def told(done: int, whole: int) -> None:
            bar.length = whole
            bar.update(done - bar.pos)

        return shelf(folder, step_words(), told)


@library.command("list")
@_folder_word
@click.argument("words", nargs=-1)
@click.option("--teeth", type=int, help="Teeth or leaves.")
@click.option("--module", type=ANY, help="Module, mm.")
@click.option("--material", default="", help="Part of the material's name.")
@click.option("--post", default="", help="Part of the machine file's name.")
@click.option("--cutter", default="", help="Part of a cutter's name or kind and size.")
@click.option("--size", type=ANY, help="Any size in the job, mm, to 0.005.")
@click.option("--sort", type=click.Choice(_SORTED), default="file", show_default=True)
@click.option("--json", "form", flag_value="json", help="For a program to read.")
@click.option("--csv", "form", flag_value="csv", help="For a spreadsheet.")
def list_(folder: Path, words: tuple[str, ...], teeth: int | None, module: float | None,
          material: str, post: str, cutter: str, size: float | None, sort: str,
          form: str | None) -> None:
    """Find jobs; WORDS are looked for in names, notes and remarks.

    Example: camgen library list --teeth 75 --material gold
    """
    entries = _entries(folder)
    wanted = LookedFor(teeth, module, material, post, cutter, size, words)
    chosen = sorted(found(entries, wanted), key=lambda entry: (getattr(entry, sort), entry.file))
    rows = [_row(entry) for entry in chosen if not entry.faults]
    if form == "json":
        click.echo(json.dumps(rows, indent=1))
    elif form == "csv":
        out = io.StringIO()
        writer = csv.DictWriter(out, list(rows[0]) if rows else ["file"], lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
        click.echo(out.getvalue(), nl=False)
    else:
        _table(rows, ("file", "job", "teeth", "module", "material", "runs", "last"))
    _broken(entries, folder)


def _row(entry: ShelfEntry) -> dict[str, Any]:
    return {word: getattr(entry, word) for word in (
        "file", "job", "part", "teeth", "module", "material", "post", "quantity", "runs", "made",
        "scrapped", "last")}


def _table(rows: list[dict[str, Any]], names: tuple[str, ...]) -> None:
    """The jobs as a table, or where that is too wide for the window a paragraph for each."""
    if not rows:
        tell(Message("no job fits"))
        return
    cells = [[f"{row[name]:g}" if isinstance(row[name], float) and row[name]
              else str(row[name] or "-") for name in names] for row in rows]
    heads = [in_spoken(_COLUMNS[name]) for name in names]
    lines = aligned([heads, *cells])
    if max(map(len, lines)) <= columns():
        for line in lines:
            click.echo(in_one_line(line))
        return
    for row in cells:
        tell(f"{row[0]}: {row[1]}, " + ", ".join(
            f"{name} {cell}" for name, cell in zip(heads[2:], row[2:], strict=True)
            if cell != "-"), rest="    ")


def _broken(entries: tuple[ShelfEntry, ...], folder: Path) -> None:
    """Name the files that cannot be read; they hide none of the others.

    Where there are files and none of them can be read, that is a refusal: it ends with status 1.
    """
    broken = [entry for entry in entries if entry.faults]
    for entry in broken[:_MOST_BROKEN]:
        faults = _faults_told(entry, folder)
        first, more = faults[0].splitlines()[0], len(faults) - 1
        tell(Message("cannot be read: {fault} (and {more} more)", fault=first, more=more) if more
             else Message("cannot be read: {fault}", fault=first), err=True)
    if len(broken) > _MOST_BROKEN:
        tell(Message("{count} more cannot be read: a --folder further down names them",
                     count=len(broken) - _MOST_BROKEN), err=True)
    if entries and all(entry.faults for entry in entries):
        sys.exit(1)


def _faults_told(entry: ShelfEntry, folder: Path) -> Sequence[str]:
    """Why a broken job cannot be read; the index keeps that in English."""
    if spoken() == "en":
        return entry.faults
    path = folder / entry.file
    try:
        read_job(path, step_words())
        read_record(record_path(path))
    except Refused as no:
        return [fault.said(in_spoken) for fault in no.faults]
    return entry.faults


@library.command()
@_folder_word
@click.option("--json", "as_json", is_flag=True, help="For a program to read.")
def status(folder: Path, as_json: bool) -> None:
    """Say of each job: proven and unchanged, proven but changed, or never run.

    Example: camgen library status --folder jobs
    """
    entries = _entries(folder)
    known: dict[tuple[str, str], JobFingerprints | str] = {}
    rows = []
    for entry in entries:
        if entry.faults:
            continue
        key = (entry.post, entry.material)
        if key not in known:
            known[key] = shop_fingerprints(folder, *key)
        rows.append((entry, standing_on_shelf(entry, known[key], folder)))
    if as_json:
        click.echo(json.dumps(
            [{"file": e.file, "job": e.job, "state": s.state, "changed": list(s.changed)}
             for e, s in rows], indent=1))
    else:
        width = max((len(entry.file) for entry, _ in rows), default=0)
        for entry, state in rows:
            tell(state.told, before=f"{entry.file:<{width}}  ")
    _broken(entries, folder)


def _record_of(job: Path) -> ProofRecord:
    record = read_record(record_path(job))
    if record is None or not record.runs:
        # A name that no job has is no job without a record.
        plain_bytes(job, most=1)
        if is_one_stock(job):
            read_job(job, step_words())
        raise Refused(Fault(Message("this job has no record"),
                            Message("record a run: camgen library record {job}", job=job),
                            Place(str(job))))
    return record


@library.command()
@click.argument("job", type=NamedPath(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="For a program to read.")
@click.option("--chart", type=NamedPath(path_type=Path, dir_okay=False), metavar="FILE",
              help="Draw the sizes run by run (PNG, SVG or PDF).")
def show(job: Path, as_json: bool, chart: Path | None) -> None:
    """Show the runs of a JOB: pieces, sizes against nominal, corrections, cutters' lives.

    Example: camgen library show jobs/third-wheel.yaml
    """
    record = _record_of(job)
    if as_json:
        click.echo(json.dumps(record.model_dump(mode="json", by_alias=True), indent=1))
    else:
        for number, run in enumerate(record.runs, 1):
            tell_run(number, run)
        for history in size_histories(record):
            tell(history_words(history))
            _tell_drift(history)
        for life in cutter_lives(record):
            tell(life_words(life))
    if chart is not None:
        from camgen.library.over_runs.chart import draw_chart

        write_whole(chart, draw_chart(record, _format(chart), in_spoken))


def _tell_drift(history: SizeHistory) -> None:
    drift = drift_told(history)
    if drift:
        tell(drift, before="  ")


def _format(file: Path) -> str:
    """The picture's format by the file's ending."""
    return file.suffix.lstrip(".").lower() or "png"


@library.command()
@click.argument("job", type=NamedPath(path_type=Path))
@click.option("--form", type=NamedPath(path_type=Path, dir_okay=False), metavar="FILE",
              help="A filled form.")
@click.option("--blank", is_flag=True, help="Print an empty form for this job and stop.")
@click.option("--post", metavar="NAME", help="Another machine file than the job's own.")
@click.option("--when", metavar="DATE", help="Date of the run, as 2026-03-01.")
@click.option("--made", type=int, help="Pieces made, good and bad.")
@click.option("--scrapped", type=int, default=0, help="Of these, scrapped.")
@click.option("--lot", default="", help="Material lot.")
@click.option("--size", "sizes", multiple=True, metavar="NAME=V[,V]", help="Measured sizes, mm.")
@click.option("--limit", "limits", multiple=True, metavar="NAME=LEAST,MOST",
              help="Limits of a size, mm, where not as in the job.")
@click.option("--cutter", "cutters", multiple=True, metavar="NAME=VERDICT",
              help="fine, chattered, broke or worn.")
@click.option("--correction", "corrections", multiple=True, metavar="SETUP:WHAT=BY",
              help="What was corrected at the machine: mm, of inch jobs too.")
@click.option("--remark", default="", help="Anything worth knowing next time.")
@click.option("--photo", "photos", multiple=True, help="Path from the job's folder.")
@click.option("--sure", is_flag=True, help="Take sizes that are far off what they should be.")
@click.option("--take", is_flag=True, help="Write what was corrected into the job file too.")
def record(job: Path, form: Path | None, blank: bool, post: str | None, when: str | None,
           made: int | None, scrapped: int, lot: str, sizes: tuple[str, ...],
           limits: tuple[str, ...], cutters: tuple[str, ...], corrections: tuple[str, ...],
           remark: str, photos: tuple[str, ...], sure: bool, take: bool) -> None:
    """Record a run of a JOB at the machine; asks at a terminal, or takes options or a form.

    Example: camgen library record jobs/third-wheel.yaml --when 2026-03-01 --made 8
    """
    with doing(_MAKING):
        proved = proved_job(job, Wish(post=post))
    speak_as_job(proved.language)
    if blank:
        click.echo(blank_form(proved, in_spoken), nl=False)
        return
    run = filled_run(proved, *filled(proved, form, {
        "when": when, "made": made, "scrapped": scrapped, "material-lot": lot,
        "sizes": dict(pair(text, "--size") for text in sizes),
        "limits": dict(pair(text, "--limit") for text in limits),
        "cutters": [{"name": name, "verdict": verdict} for name, verdict in
                    (pair(text, "--cutter") for text in cutters)],
        "corrections": [correction_of(text) for text in corrections],
        "remarks": remark, "photos": list(photos),
    }), today=date.today(), sure=sure)
    asks = form is None and when is None and made is None
    into = asked_into_job(proved, run, take=take, asks=asks)
    number = add_run(record_path(job), proved.job_file.job.job, run, kept_programs(proved),
                     job_taking(proved, into.words))
    tell(Message("run {number} of {job} is recorded in {file}", number=number,
                 job=proved.job_file.job.job, file=record_path(job)))
    for fix in run.corrections:
        tell_correction(fix)
    for line in into.told:
        tell(line)
    measured = {one.size for one in run.sizes}
    for history in size_histories(_record_of(job)) if measured else ():
        if history.size in measured:
            _tell_drift(history)


@library.command()
@click.argument("job", type=NamedPath(path_type=Path))
@click.argument("other", required=False, type=NamedPath(path_type=Path))
@click.option("--post", metavar="NAME", help="Another machine file than the jobs' own.")
@click.option("--json", "as_json", is_flag=True, help="For a program to read.")
@click.option("--picture", type=NamedPath(path_type=Path, dir_okay=False), metavar="FILE",
              help="Draw both paths (PNG, SVG or PDF).")
def compare(job: Path, other: Path | None, post: str | None, as_json: bool,
            picture: Path | None) -> None:
    """Compare a JOB with its proven self, or two jobs: in words, then as motion.

    Example: camgen library compare jobs/third-wheel.yaml jobs/seconds-wheel.yaml
    """
    with doing(_MAKING):
        here = proved_job(job, Wish(post=post))
    speak_as_job(here.language)
    motion: tuple[str, ...] = ()
    if other is None:
        good = last_good(_record_of(job).runs)
        if good is None:
            raise Refused(Fault(Message("this job is not proven: no piece came right yet"),
                                Message("name another job to compare it with"),
                                Place(str(record_path(job)))))
        lines = drift(here)
        kept = any(one.kept for one in good.programs)
        names = (in_spoken(Message("{job}, as run {when}", job=here.job_file.job.job,
                                   when=good.when)), in_spoken(Message("as made now")))
        before, after = as_it_ran(here) if kept or picture is not None else {}, as_made(here)
    else:
        with doing(_MAKING):
            there = proved_job(other, Wish(post=post))
        lines = tuple(value_words(as_run(here), as_run(there)))
        names = (here.job_file.job.job, there.job_file.job.job)
        before, after = as_made(here), as_made(there)
    if before:
        motion = motion_words(before, after)
    if picture is not None:
        from camgen.library.paths import draw_paths

        write_whole(picture, draw_paths(pairs_of(before, after), names, _format(picture)))
    if as_json:
        click.echo(json.dumps({"changes": list(lines), "motion": list(motion)}, indent=1))
        return
    for line in (*lines, *motion):
        tell(line)
    if not lines and not motion:
        tell(Message("no difference: the same programs come out"))


@library.command()
@click.argument("job", type=NamedPath(path_type=Path))
@click.option("--to", "archive", required=True, type=NamedPath(path_type=Path, dir_okay=False),
              metavar="FILE", help="The archive to write, a ZIP file.")
def pack(job: Path, archive: Path) -> None:
    """Pack a JOB with all it needs, to be unpacked elsewhere.

    Example: camgen library pack jobs/third-wheel.yaml --to third-wheel.zip
    """
    from camgen.make.files import output_of

    with doing(_MAKING):
        proved = proved_job(job)
    speak_as_job(proved.language)
    if proved.failed:
        raise Refused(Fault(counted("{n} proof fails", "{n} proofs fail", len(proved.failed)),
                            Message("see camgen check {job}", job=job)))
    files = luggage(proved, output_of(proved, pictures=False).files)
    own = job.resolve().relative_to(proved.workshop.resolve()).as_posix()
    write_whole(archive, packed(files, proved.job_file.job.job, own, proved.prints))
    tell(Message("{count} files packed in {archive}", count=len(files), archive=archive))


@library.command("unpack")
@click.argument("archive", type=NamedPath(path_type=Path, dir_okay=False))
@click.option("--to", "folder", required=True, type=NamedPath(path_type=Path, file_okay=False),
              metavar="DIR", help="The workshop folder to unpack into.")
def unpack_(archive: Path, folder: Path) -> None:
    """Unpack a packed job; every file is checked, none is overwritten.

    Example: camgen library unpack third-wheel.zip --to workshop
    """
    unpacked = unpack(archive, folder)
    for path in unpacked:
        tell(str(path))
    packed_programs = [path for path in unpacked if path.parent == folder / "programs"
                       and path.suffix not in (".html", ".json", ".png")]
    packed_as = packed_fingerprints(archive)
    if packed_as is None:
        return
    job_file, was = packed_as
    path = folder / job_file
    workshop = workshop_of(path)
    job = read_job(path, step_words()).job
    now = prints(fingerprint(as_meant(job)), find_machine(job.post, workshop),
                 find_material(job.material, workshop))
    state = standing_of_job(now, 1, was)
    tell(Message("{job} means here what it meant as it was packed.", job=job.job)
         if not state.changed else
         Message("{job} differs here from what was packed: {things}", job=job.job,
                 things=state.changed))
    if packed_programs:
        tell(Message(
            "The {count} programs are as the archive has them, and were not proved here: `camgen "
            "make {job}` makes and proves them anew, `camgen read {program} --job {job}` holds one "
            "against the job.", count=len(packed_programs), job=path,
            program=packed_programs[0]))
