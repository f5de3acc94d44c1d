"""``camgen read``: what any program does, as the control of one machine would carry it out.

Lengths mm, feeds mm/min.
"""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from camgen.commands.terminal.figures import ABOVE_ZERO, NamedPath, picture_format
from camgen.commands.terminal.progress import doing
from camgen.commands.terminal.proofs import proof_entry, proof_words
from camgen.commands.terminal.read_page import comparison, page, report, told_of, unsure_words
from camgen.commands.terminal.screen import (
    columns,
    in_spoken,
    speak_as_job,
    tell,
    wrong_use,
)
from camgen.commands.terminal.subprograms import beside, subprogram
from camgen.faults import Fault, Refused, either
from camgen.messages import Message
from camgen.plainfile import plain_bytes
from camgen.reader import read_program
from camgen.reader.beyond import with_limits
from camgen.reader.comparing.events import same_events
from camgen.reader.comparing.motions import Difference, same_motion
from camgen.reader.comparing.together import Together, together
from camgen.reader.motion import ReadProgram
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine
from camgen.signs import shown
from camgen.writing import write_whole

if TYPE_CHECKING:
    from camgen.make.chain import Proved, ProvedSetup
    from camgen.make.variants import Wish

__all__ = ["read"]


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
@click.option("--from-space", type=click.IntRange(min=1), metavar="N",
              help="With --job: PROGRAM starts again at space N, as made by the same word.")
@click.option("--from-step", type=click.IntRange(min=1), metavar="N",
              help="With --job: it starts again at step N.")
@click.option("--from-cutter", metavar="CUTTER", help="With --job: it starts again at this cutter.")
@click.option("--from-station", type=click.IntRange(min=1), metavar="N",
              help="With --job: it starts again at station N.")
@click.option("--air", type=ABOVE_ZERO, metavar="MM",
              help="With --job: it cuts air, raised by so much.")
@click.option("--dry-index", is_flag=True, help="With --job: it only turns the head.")
@click.option("--picture", type=NamedPath(path_type=Path, dir_okay=False), metavar="FILE",
              help="Draw it (PNG, SVG or PDF); with --job also each proof that fails, beside it.")
@click.option("--against", type=NamedPath(path_type=Path), multiple=True, metavar="OTHER",
              help="Another program: do both make the same motion, however they are written? "
                   "Given again for each further part of a split one.")
@click.option("--against-post", metavar="NAME",
              help="The machine that OTHER is for, where it is not the same.")
@click.option("--tolerance", type=ABOVE_ZERO, default=0.002,
              show_default=True, help="How far apart the two ways may be, mm.")
@click.option("--with", "called", type=NamedPath(path_type=Path), multiple=True, metavar="FILE",
              help="A file with a subprogram that PROGRAM calls. Can be given again.")
@click.option("--json", "as_json", is_flag=True, help="The answer, for a program to read.")
def read(programs: tuple[Path, ...], post: str | None, job: Path | None, setup: str | None,
         picture: Path | None, against: tuple[Path, ...], against_post: str | None,
         tolerance: float, called: tuple[Path, ...], as_json: bool, **begins: Any) -> None:
    """Say what PROGRAM does: extents, depths, cutters, speeds, feeds, time, words, warnings.

    Any ISO program can be read, whoever wrote it; several files are the parts of one, in the order
    given. Subprograms are looked for in the program, then among the files beside it. What is not
    known is named with its place, and the figures it leaves unsure are marked. With a job, every
    proof is made on it. The exit status is 3 when something is found for which it must not be run,
    when it differs from the other program, or when a proof fails; 1 when variables or macros leave
    nothing to be told.

    \b
    Examples:
      camgen read plate.nc --post plain-iso
      camgen read plate-1.nc plate-2.nc --post small-memory \\
          --against plate.nc --against-post plain-iso
    """
    if job is not None and against:
        raise wrong_use(Message("--job proves and --against compares: ask for one at a time"))
    if against_post is not None and not against:
        raise wrong_use(Message("--against-post is the machine of what is given by --against"))
    if job is None and any(begins.values()):
        raise wrong_use(
            Message("a program that starts again or cuts air is held against a --job"))
    wish = _wish(post, setup, begins)
    proved = _job(job, wish) if job is not None else None
    machine = proved.machine if proved is not None else find_machine(post or "plain-iso",
                                                                     Path.cwd())
    subprograms = dict(subprogram(path) for path in called)
    if proved is not None:
        meant = _setup_of(proved, setup, programs[0].name)
        _prove(proved, meant,
               _read(programs, machine, subprograms, meant.planned.moves.retract_axis),
               picture, as_json, whole=not wish.changes_moves)
        return
    read_back = [with_limits(one, machine)
                 for one in _read(programs, machine, subprograms)]
    joined = together(read_back)
    told = told_of(joined.program, machine, tuple(one.name for one in read_back))
    if picture is not None:
        _draw(replace(joined.program, name=_named(programs)), machine, picture)
    differences: tuple[Difference, ...] | None = None
    other: Together | None = None
    if against:
        others = find_machine(against_post, Path.cwd()) if against_post else machine
        other = together(_read(against, others, subprograms))
        differences = (
            *same_motion(joined.program.motion, other.program.motion, tolerance,
                         joints=joined.joints, other_joints=other.joints),
            *same_events(joined, other),
        )
    if as_json:
        click.echo(json.dumps(
            report(told, differences, other.program if other else None), indent=2))
    else:
        width = min(columns(), 100)
        lines = page(told, width)
        if other is not None and differences is not None:
            lines += comparison(
                joined.program, other.program, (_named(programs), _named(against)), differences,
                tolerance, width)
        click.echo(shown("\n".join(lines)))
    grave = [*joined.program.findings, *(other.program.findings if other else ())]
    if any(finding.grave for finding in grave) or differences:
        sys.exit(3)


def _read(
    paths: tuple[Path, ...], machine: Machine, subprograms: dict[int, bytes], infeed: str = ""
) -> list[ReadProgram]:
    """Programs as read; refused with the faults of all of them."""
    found: list[ReadProgram] = []
    faults: list[Fault] = []
    for path in paths:
        try:
            with doing(Message("reading {file}", file=path.name)):
                found.append(read_program(plain_bytes(path), machine, path.name,
                                          subprograms=subprograms, beside=beside(path),
                                          infeed=infeed))
        except Refused as no:
            faults.extend(no.faults)
    if faults:
        raise Refused(faults)
    return found


def _named(paths: tuple[Path, ...]) -> str:
    """Files in words, in the language of answers."""
    if len(paths) == 1:
        return paths[0].name
    return in_spoken(Message("{first} to {last} ({count} parts)", first=paths[0].name,
                             last=paths[-1].name, count=len(paths)))


def _wish(post: str | None, setup: str | None, begins: dict[str, Any]) -> Wish:
    """The job as PROGRAM was made of it: of one setup only where it starts within that."""
    from camgen.make.variants import Wish

    wish = Wish(post, **begins)
    return replace(wish, setup=setup) if wish.changes_moves else wish


def _job(job: Path, wish: Wish) -> Proved:
    from camgen.make.chain import proved_job

    with doing(Message("planning, writing and proving the programs")):
        proved = proved_job(job, wish)
    speak_as_job(proved.language)
    return proved


def _prove(
    proved: Proved, setup: ProvedSetup, programs: list[ReadProgram], picture: Path | None,
    as_json: bool, *, whole: bool,
) -> None:
    """Every proof of one setup, on programs that may have come from anywhere.

    Those that start again, cut air or only turn the head are proved as motion.
    """
    from camgen.proof import gather, prove_evidence, prove_motion

    evidence = gather(setup.name, proved.job_file.job, proved.machine, setup.planned.layout,
                      setup.planned.moves, programs, planned_cuts=setup.planned.cuts,
                      earlier=[one.evidence for one in proved.setups],
                      header=setup.evidence.header)
    proofs = prove_evidence(evidence) if whole else tuple(prove_motion(evidence))
    failed = [proof for proof in proofs if not proof.holds]
    doubted = [program for program in programs if program.unsure]
    if picture is not None:
        from camgen.make.pictures import failures_of, picture_of

        style = picture_format(picture)
        write_whole(picture, picture_of(proved, setup, programs, proofs, style).content)
        for number, one in enumerate(failures_of(proved, evidence, proofs, style), 1):
            write_whole(picture.with_stem(f"{picture.stem}-failure-{number}"), one.content)
    if as_json:
        click.echo(json.dumps(
            [{**proof_entry(proof), "holds": proof.holds and not doubted, "sure": not doubted}
             for proof in proofs], indent=2))
    else:
        names = ", ".join(program.name for program in programs)
        what = Message("{programs} as setup {setup} of {job}", programs=names, setup=setup.name,
                       job=proved.job_file.job.job)
        if doubted:
            tell(Message("{what}: no proof holds, since not all of it is known", what=what))
            for program in doubted:
                tell(Message("{program}: not sure: {figures}", program=program.name,
                             figures=unsure_words(program)), before="  ")
            tell(Message("of {count} proofs {failed} fail on what is known:", count=len(proofs),
                         failed=len(failed)), before="  ")
        else:
            tell(Message("{what}: {held} of {count} proofs hold", what=what,
                         held=len(proofs) - len(failed), count=len(proofs)))
        from camgen.make.causes.job_places import in_words, job_place

        held = replace(setup, evidence=evidence, whole=None)
        for proof in failed:
            tell(proof_words(proof), before="  ")
            tell(in_words(job_place(proved.job_file, held, proof)), before="    ")
    if failed or doubted:
        sys.exit(3)


def _setup_of(proved: Proved, name: str | None, file: str) -> ProvedSetup:
    """The setup asked for, or the one whose name the file bears."""
    setups = {setup.name: setup for setup in proved.setups}
    if name is None:
        borne = [word for word in setups if f"-{word}" in file]
        name = max(borne, key=len) if borne else next(iter(setups)) if len(setups) == 1 else ""
    if name not in setups:
        # One that starts within a setup bears where it starts behind the setup's name.
        varied = [word for word in setups if word.startswith(f"{name}-")] if name else []
        name = varied[0] if len(varied) == 1 else name
    if name not in setups:
        # A run in air or without cutting is asked for by the name that the job has.
        own = [setup.name for setup in proved.job_file.job.setups if any(
            word == setup.name or word.startswith(f"{setup.name}-") for word in setups)]
        raise Refused(Fault(
            Message("which setup of the job this program is for is not clear"),
            Message("say it: --setup {setups}", setups=either(own))))
    return setups[name]


def _draw(program: ReadProgram, machine: Machine, picture: Path) -> None:
    from camgen.commands.preview import program_picture

    write_whole(picture, program_picture(program, machine, picture_format(picture)))
