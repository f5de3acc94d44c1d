"""``camgen read``: what any program does, as the control of one machine would carry it out."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import click

from camgen.commands.duration import time_words
from camgen.commands.figures import ABOVE_ZERO, NamedPath
from camgen.commands.proofs import proof_entry, proof_words
from camgen.cutting.time import motion_seconds
from camgen.faults import Fault, Place, Refused
from camgen.plainfile import plain_bytes
from camgen.reader import read_program
from camgen.reader.compare import Difference, same_events, same_motion
from camgen.reader.motion import ReadProgram
from camgen.reader.summary import CutterUse, Summary, summary_of
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine
from camgen.writing import write_whole

if TYPE_CHECKING:
    from camgen.make.chain import Proved, ProvedSetup

Style: TypeAlias = Literal["png", "svg", "pdf"]

__all__ = ["read"]

_MOST_SHOWN = 25


@click.command()
@click.argument("programs", metavar="PROGRAM...", nargs=-1, required=True,
                type=NamedPath(path_type=Path))
@click.option("--post", metavar="NAME",
              help="The machine whose control is to read it: a name or a machine file; else the "
                   "job's, else plain-iso.")
@click.option("--job", type=NamedPath(path_type=Path), metavar="JOB",
              help="Prove PROGRAM against this job; the parts of a split program one after "
                   "the other.")
@click.option("--setup", metavar="NAME", help="The job's setup, where the file's name is not it.")
@click.option("--picture", type=NamedPath(path_type=Path, dir_okay=False), metavar="FILE",
              help="Draw it (PNG, SVG or PDF); with --job also each proof that fails, beside it.")
@click.option("--against", type=NamedPath(path_type=Path), metavar="OTHER",
              help="Another program: do both make the same motion, however they are written?")
@click.option("--tolerance", type=ABOVE_ZERO, default=0.002,
              show_default=True, help="How far apart the two ways may be, mm.")
@click.option("--with", "called", type=NamedPath(path_type=Path), multiple=True, metavar="FILE",
              help="A file with a subprogram that PROGRAM calls. Can be given again.")
@click.option("--json", "as_json", is_flag=True, help="The answer, for a program to read.")
def read(programs: tuple[Path, ...], post: str | None, job: Path | None, setup: str | None,
         picture: Path | None, against: Path | None, tolerance: float,
         called: tuple[Path, ...], as_json: bool) -> None:
    """Say what PROGRAM does: extents, depths, cutters, speeds, feeds, time, words, warnings.

    Any ISO program can be read, whoever wrote it. With a job, every proof is made on it. The exit
    status is 3 when something is found for which it must not be run, when it differs from the
    other program, or when a proof fails.

    Example: camgen read plate.nc --post plain-iso
    """
    if len(programs) > 1 and (job is None or against is not None):
        raise click.UsageError("several programs are the parts of one only with --job")
    proved = _job(job, post) if job is not None else None
    machine = proved.machine if proved is not None else find_machine(post or "plain-iso",
                                                                     Path.cwd())
    subprograms = dict(_subprogram(path) for path in called)
    read_back = [read_program(plain_bytes(one), machine, one.name, subprograms=subprograms)
                 for one in programs]
    if proved is not None:
        _prove(proved, setup, read_back, picture, as_json)
        return
    program, told = programs[0], read_back[0]
    seconds, waiting = _times(told, machine)
    summary = summary_of(told, seconds)
    total = float(seconds.sum()) + waiting
    if picture is not None:
        _draw(told, machine, picture)
    differences: tuple[Difference, ...] | None = None
    if against is not None:
        other = read_program(plain_bytes(against), machine, against.name, subprograms=subprograms)
        differences = (
            *same_motion(told.motion, other.motion, tolerance), *same_events(told, other)
        )
    if as_json:
        click.echo(json.dumps(
            _report(told, machine, summary, total, waiting, differences), indent=2))
    else:
        click.echo("\n".join(_page(told, machine, summary, total, waiting)))
        if against is not None and differences is not None:
            click.echo("\n".join(_comparison(program.name, against.name, differences, tolerance)))
    if any(finding.grave for finding in told.findings) or differences:
        sys.exit(3)


def _job(job: Path, post: str | None) -> Proved:
    from camgen.make.chain import proved_job
    from camgen.make.variants import Wish

    return proved_job(job, Wish(post))


def _prove(
    proved: Proved, name: str | None, programs: list[ReadProgram], picture: Path | None,
    as_json: bool,
) -> None:
    """Every proof of one setup, on programs that may have come from anywhere."""
    from camgen.proof import gather, prove_evidence

    setup = _setup_of(proved, name, programs[0].name)
    evidence = gather(setup.name, proved.job_file.job, proved.machine, setup.planned.layout,
                      setup.planned.moves, programs, planned_cuts=setup.planned.cuts)
    proofs = prove_evidence(evidence)
    failed = [proof for proof in proofs if not proof.holds]
    if picture is not None:
        from camgen.make.pictures import failures_of, picture_of

        write_whole(picture, picture_of(proved, setup, programs, proofs, _format(picture)).content)
        for number, one in enumerate(
                failures_of(proved, evidence, proofs, _format(picture)), 1):
            write_whole(picture.with_stem(f"{picture.stem}-failure-{number}"), one.content)
    if as_json:
        click.echo(json.dumps([proof_entry(proof) for proof in proofs], indent=2))
    else:
        names = ", ".join(program.name for program in programs)
        click.echo(f"{names} as setup {setup.name} of {proved.job_file.job.job}: "
                   f"{len(proofs) - len(failed)} of {len(proofs)} proofs hold")
        for proof in failed:
            click.echo(f"  {proof_words(proof)}")
    if failed:
        sys.exit(3)


def _setup_of(proved: Proved, name: str | None, file: str) -> ProvedSetup:
    """The setup asked for, or the one whose name the file bears."""
    setups = {setup.name: setup for setup in proved.setups}
    if name is None:
        borne = [word for word in setups if f"-{word}" in file]
        name = max(borne, key=len) if borne else next(iter(setups)) if len(setups) == 1 else ""
    if name not in setups:
        raise Refused(Fault("which setup of the job this program is for is not clear",
                            "say it: --setup " + " or ".join(setups)))
    return setups[name]


def _draw(program: ReadProgram, machine: Machine, picture: Path) -> None:
    from camgen.commands.preview import program_picture

    write_whole(picture, program_picture(program, machine, _format(picture)))


def _format(picture: Path) -> Style:
    """The picture's format by the file's ending. Raises Refused for others."""
    ending = picture.suffix.lstrip(".").lower()
    if ending not in ("png", "svg", "pdf"):
        raise Refused(Fault(f"no picture is made as {picture.name!r}", "end it in png, svg or pdf"))
    return ending  # type: ignore[return-value]


def _subprogram(path: Path) -> tuple[int, bytes]:
    """Number and text of a subprogram's file: its first O word, else the figures of its name."""
    text = plain_bytes(path)
    found = re.search(rb"^\s*[O:]\s*(\d{1,8})", text, re.IGNORECASE | re.MULTILINE)
    figures = found[1].decode() if found else "".join(re.findall(r"\d", path.stem))[:8]
    if not figures:
        raise Refused(Fault(
            "which subprogram this file holds is not said",
            "let it begin with its number, such as O9001", Place(str(path)),
        ))
    return int(figures), text


def _times(program: ReadProgram, machine: Machine) -> tuple[Any, float]:
    """(n,) seconds of each piece of motion, and the seconds spent waiting and changing cutters."""
    motion = program.motion
    halting = ("stop", "dwell", "cutter-change", "hand-index")
    seconds = motion_seconds(
        machine, kind=motion.kind, start=motion.start, end=motion.end, feed=motion.feed,
        centre=motion.centre, plane=motion.plane, turns=motion.turns,
        angle_start=motion.angle_start, angle_end=motion.angle_end,
        halts=[event.before for event in program.events if event.kind in halting],
    ).seconds
    waiting = sum(event.value for event in program.events if event.kind == "dwell")
    waiting += machine.change.seconds * sum(
        event.kind == "cutter-change" for event in program.events
    )
    return seconds, waiting


def _page(
    program: ReadProgram, machine: Machine, summary: Summary, total: float, waiting: float
) -> list[str]:
    """The answer on one screen."""
    page = [
        f"{program.name}, read as {machine.name} reads it: {summary.blocks} blocks, "
        f"{len(program.motion)} moves, {program.units}",
        f"  time      {time_words(total)}, of it {time_words(waiting)} waiting and changing "
        "cutters",
    ]
    for name, both in (("travel", summary.travel), ("cutting", summary.cutting)):
        if both is not None:
            page.append(f"  {name:<9} " + "   ".join(
                f"{axis} {low:.3f} to {high:.3f}"
                for axis, low, high in zip("XYZ", *both, strict=True)
            ) + "  mm")
    page += [f"  cutter {use.number:<2} {_use_words(use)}" for use in summary.cutters]
    if summary.turns:
        page.append(
            f"  head      {summary.turns} turns, {summary.turned[0]:g}° to {summary.turned[1]:g}°"
        )
    if summary.stops:
        page.append(f"  stops     {summary.stops}")
    words = "  ".join(f"{word} {count}" for word, count in program.words.items())
    page.append(f"  words     {words}")
    if not program.findings:
        page.append("  nothing amiss was found in the text")
    for finding in program.findings[:_MOST_SHOWN]:
        where = f"line {finding.line}" + (f", column {finding.column}" if finding.column else "")
        page.append(f"  {'DO NOT RUN' if finding.grave else 'note'}  {where}: {finding.message}")
    if len(program.findings) > _MOST_SHOWN:
        page.append(f"  and {len(program.findings) - _MOST_SHOWN} more; --json has them all")
    return page


def _use_words(use: CutterUse) -> str:
    """What one cutter does, in a line."""
    parts = [f"Z {use.low[2]:.3f} to {use.high[2]:.3f} mm"]
    if use.speeds:
        low, high = use.speeds
        parts.append(f"{low:g} rev/min" if low == high else f"{low:g} to {high:g} rev/min")
    if use.feeds:
        low, high = use.feeds
        parts.append(f"{low:g} mm/min" if low == high else f"{low:g} to {high:g} mm/min")
    parts.append(f"{use.length:.0f} mm cut")
    if use.seconds is not None:
        parts.append(time_words(use.seconds))
    return ", ".join(parts) + (f" ({use.text})" if use.text else "")


def _comparison(
    name: str, other: str, differences: tuple[Difference, ...], tolerance: float
) -> list[str]:
    if not differences:
        return [f"{name} and {other} make the same motion, to {tolerance:g} mm"]
    page = [f"{name} and {other} differ:"]
    for found in differences:
        lines = " against ".join(
            f"line {line}" if line else "nothing" for line in (found.line, found.other_line)
        )
        amount = f", {found.amount:.4g} {found.unit}" if found.amount and found.unit else ""
        page.append(f"  {lines}: {found.what}{amount}")
    return page


def _report(
    program: ReadProgram,
    machine: Machine,
    summary: Summary,
    total: float,
    waiting: float,
    differences: tuple[Difference, ...] | None,
) -> dict[str, Any]:
    """The answer for a program to read."""
    report: dict[str, Any] = {
        "program": program.name,
        "post": machine.name,
        "blocks": summary.blocks,
        "moves": len(program.motion),
        "units": program.units,
        "seconds": round(total, 3),
        "waiting_seconds": round(waiting, 3),
        "travel": _bounds(summary.travel),
        "cutting": _bounds(summary.cutting),
        "cutters": [
            {
                "number": use.number, "text": use.text, "speeds": use.speeds, "feeds": use.feeds,
                "bounds": _bounds((use.low, use.high)), "length": round(use.length, 3),
                "seconds": None if use.seconds is None else round(use.seconds, 3),
            }
            for use in summary.cutters
        ],
        "head": {"turns": summary.turns, "degrees": summary.turned},
        "stops": summary.stops,
        "words": program.words,
        "findings": [
            {"line": found.line, "column": found.column, "grave": found.grave,
             "message": found.message}
            for found in program.findings
        ],
    }
    if differences is not None:
        report["same_motion"] = not differences
        report["differences"] = [
            {"what": found.what, "line": found.line, "other_line": found.other_line,
             "amount": found.amount, "unit": found.unit}
            for found in differences
        ]
    return report


def _bounds(both: tuple[tuple[float, ...], tuple[float, ...]] | None) -> dict[str, Any] | None:
    if both is None:
        return None
    return {axis: [low, high] for axis, low, high in zip("XYZ", *both, strict=True)}
