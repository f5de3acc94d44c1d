"""``camgen post``: machine files, looked at, begun and tried.

Lengths mm, feeds mm/min.
"""

from __future__ import annotations

import dataclasses
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import numpy as np

from camgen.commands.terminal.figures import NamedPath
from camgen.commands.terminal.screen import in_spoken, tell
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.plainfile import why_not
from camgen.post.machine_file.draft import draft_text, word_values
from camgen.post.machine_file.explain import (
    UnlikePlainIso,
    differences,
    fields,
    in_sentences,
    yaml_value,
)
from camgen.post.machine_file.sample import changed_by, sample_of, unusual
from camgen.post.trying.first import first_program
from camgen.post.trying.trial import LOWEST, Watch, plain_form, things_to_watch, trial_moves
from camgen.post.writer import Program, write_programs
from camgen.reader import read_program
from camgen.reader.comparing.motions import Difference as NotSame
from camgen.reader.comparing.motions import same_motion
from camgen.reader.motion import Kind, Motion, ReadProgram
from camgen.shipped import shipped_folder
from camgen.shop.machine import Machine
from camgen.shop.machines import FOLDER, find_machine, machine_files, machine_schema, read_machine
from camgen.writing import write_all, write_whole

if TYPE_CHECKING:
    from camgen.commands.trying.small_jobs import Tried

__all__ = ["cuts_alone", "post", "same_cuts"]

_WIDTH = 96


def _tell(text: str, rest: str = "  ") -> None:
    """A paragraph, no wider than a page where there is no window."""
    tell(text, rest=rest, most=_WIDTH)


@click.group()
def post() -> None:
    """Machine files: what a mill's control reads, one YAML file for each machine.

    Begin one with new, look at it with show, and try it in air with try before you trust it.

    Example: camgen post show plain-iso
    """


@post.command("list")
@click.option("--json", "as_json", is_flag=True, help="The answer, for a program to read.")
def list_(as_json: bool) -> None:
    """The machine files there are: the workshop's own, then those shipped.

    Example: camgen post list
    """
    shipped = shipped_folder(FOLDER).resolve()
    rows = []
    faults: list[Fault] = []
    for name, path in machine_files(Path.cwd()).items():
        try:
            machine = read_machine(path)
        except Refused as no:
            faults += no.faults
            continue
        rows.append({"name": name, "describes": machine.describes, "file": str(path),
                     "own": path.parent.resolve() != shipped})
    if as_json:
        click.echo(json.dumps(rows, indent=2))
    else:
        for row in rows:
            tell(Message("{name} (own)", name=row["name"]) if row["own"] else str(row["name"]))
            _tell(f"    {row['describes']}", "")
    if faults:
        raise Refused(faults)


@post.command()
@click.argument("name")
@click.option("--words", is_flag=True, help="Every word of the file, its value and what it is for.")
@click.option("--json", "as_json", is_flag=True, help="The answer, for a program to read.")
def show(name: str, words: bool, as_json: bool) -> None:
    """Explain the machine file NAME in sentences, and list what is not plain ISO in it.

    NAME is a name from camgen post list, or a file.

    Example: camgen post show plain-iso
    """
    machine = find_machine(name, Path.cwd())
    other = differences(machine)
    if as_json:
        click.echo(json.dumps(_shown(machine, other), indent=2))
        return
    if words:
        for field in fields(machine):
            tell(f"{field.path}: {yaml_value(field.value)}")
            tell(field.description, before="    ")
        return
    tell(f"{machine.name}: {machine.describes}")
    tell()
    for sentence in in_sentences(machine):
        _tell(sentence)
    odd = unusual(machine)
    if odd:
        tell()
        tell(Message("Unusual, if it is meant so:"))
        for said in odd:
            tell(said, before="  ", rest="  ", most=_WIDTH)
    tell()
    if not other:
        tell(Message("Nothing in it differs from plain ISO."))
        return
    tell(Message("Differs from plain ISO:"))
    for one in other:
        tell(Message("{word}: {value}  (plain: {plain})", word=one.path, value=one.value,
                     plain=one.plain), before="  ")
        tell(one.description, before="      ", rest="", most=_WIDTH)
        for lines in changed_by(machine, one.path, one.was):
            tell(Message("{before}  becomes  {after}", before=lines.before or Message("no line"),
                         after=lines.after or Message("no line")), before="      ")
    tell()
    tell(Message("Ten lines as this control reads them:"))
    for line in sample_of(machine):
        tell(f"    {line}")


def _shown(machine: Machine, other: tuple[UnlikePlainIso, ...]) -> dict[str, Any]:
    return {
        "name": machine.name, "describes": machine.describes,
        "sentences": in_sentences(machine),
        "differences": [
            {"word": one.path, "value": one.value, "plain": one.plain, "about": one.description,
             "sample": [{"before": lines.before, "after": lines.after}
                        for lines in changed_by(machine, one.path, one.was)]}
            for one in other
        ],
        "unusual": unusual(machine),
        "words": {field.path: yaml_value(field.value) for field in fields(machine)},
    }


@post.command()
@click.argument("name")
@click.option("--describes", metavar="SENTENCE", help="What sort of machine it is.")
@click.option("--like", metavar="OTHER", help="Begin with the words of another machine file.")
@click.option("--set", "settings", multiple=True, metavar="WORD=VALUE",
              help="Set a word, such as numbers.decimals=4. Can be given again.")
@click.option("--ask/--no-ask", default=None,
              help="Ask the main questions; done at a terminal where no --set is given.")
def new(name: str, describes: str | None, like: str | None, settings: tuple[str, ...],
        ask: bool | None) -> None:
    """Begin the machine file NAME in the workshop's folder postprocessors.

    Every word a machine file may have stands in it with what it is for.

    Example: camgen post new corner-mill --set arcs.style=radius --set numbers.decimals=4
    """
    path = Path.cwd() / FOLDER / f"{name}.yaml"
    if path.exists():
        raise Refused(Fault(
            Message("{file} is there already", file=f"{FOLDER}/{name}.yaml"),
            Message("choose another name, or edit that file"),
        ))
    values = word_values(settings)
    if ask or (ask is None and not settings and like is None and sys.stdin.isatty()):
        from camgen.commands.trying.asking import asked

        values = {**asked(), **values}
        describes = describes or click.prompt(
            in_spoken(Message("In one sentence, what machine is it")),
            default=in_spoken(Message("say here in one sentence what machine this is")))
    begun = find_machine(like, Path.cwd()) if like else None
    describes = describes or in_spoken(
        Message("a machine like {name}", name=begun.name) if begun else
        Message("say here in one sentence what machine this is"))
    text = draft_text(name, describes, values, begun)
    write_whole(path, text.encode())
    tell(Message("{file} is written. Look through it, then:", file=path.relative_to(Path.cwd())))
    tell(f"    camgen post show {name}")
    tell(f"    camgen post try {name}")


@post.command("try")
@click.argument("name")
@click.option("--out", type=NamedPath(file_okay=False, path_type=Path), default=Path("."),
              metavar="DIR", help="Where to write the test program; else here.")
@click.option("--json", "as_json", is_flag=True, help="The answer, for a program to read.")
def try_(name: str, out: Path, as_json: bool) -> None:
    """Write a test piece to be run in air, and the list of what to watch.

    First a program that goes 1 mm and back, slowly, whatever the file says. The next uses every
    word that the machine file NAME has, stays well above the program's zero, and needs no cutter.
    Then a small plate, wheel and pinion, proved as any job is, and a plate to measure the machine
    by. All are read back first: where that does not give the motion that is meant, nothing is
    written and the exit status is 3.

    Example: camgen post try my-mill --out try
    """
    machine = find_machine(name, Path.cwd())
    from camgen.commands.trying.slow_start import not_slow
    from camgen.commands.trying.small_jobs import measuring_plate, small_jobs

    first = first_program(machine, f"first-{machine.name}")
    programs = write_programs(trial_moves(machine), machine, stem=f"try-{machine.name}",
                              before=1)
    read = tuple(read_program(one.text, machine, one.file) for one in programs)
    slow = read_program(first.text, machine, first.file)
    wrong = not_slow(slow) + _wrong(machine, programs, read)
    small: tuple[Tried, ...] = ()
    if not wrong:
        file = _file_of(name)
        small = tuple(small_jobs(machine, file, 1 + len(programs)))
        come = 1 + len(programs) + sum(len(one.programs) for one in small)
        small = (*small, measuring_plate(machine, file, come))
    wrong += [Message("{what}: {proof}", what=one.called, proof=proof)
              for one in small for proof in one.failed]
    programs, read = (first, *programs), (slow, *read)
    watch = things_to_watch(machine, tuple(one.file for one in programs))
    if not wrong:
        made = [*programs, *(program for one in small for program in one.programs)]
        try:
            write_all({out / one.file: one.text for one in made})
        except OSError as why:
            raise Refused(Fault(
                Message("nothing can be written to {folder}: {why}", folder=out,
                        why=why_not(why)),
                Message("give another folder with --out"))) from None
    if as_json:
        click.echo(json.dumps(_tried(programs, read, wrong, watch, small), indent=2))
    elif wrong:
        tell(Message("The test program does not read back as it is meant; it was not written:"),
             err=True)
        for line in wrong:
            tell(line, before="  ", err=True)
    else:
        _page(out, programs, read, watch, small)
    if wrong:
        sys.exit(3)
    refused = [fault for one in small for fault in one.faults]
    if refused:
        raise Refused(refused)


def _file_of(name: str) -> str:
    """The machine file itself, for jobs that stand elsewhere."""
    if name.endswith((".yaml", ".yml")) or "/" in name:
        return str(Path(name).resolve())
    return str(machine_files(Path.cwd())[name].resolve())


def _wrong(
    machine: Machine, programs: tuple[Program, ...], read: tuple[ReadProgram, ...]
) -> list[Message]:
    """What the programs read back have wrong, in words."""
    wrong = [
        _at(one, finding.line, finding.message)
        for one in read for finding in one.findings if finding.grave
    ]
    for one in read:
        low = one.motion.end[:, 2]
        if len(low) and float(low.min()) < LOWEST - 0.01:
            wrong.append(Message("{program}: goes down to Z{z:.3f}", program=one.name,
                                 z=float(low.min())))
    plain = plain_form(machine)
    meant = [read_program(one.text, plain, one.file)
             for one in write_programs(trial_moves(machine), plain, stem="plain")]
    step = max(machine.axis(name).increment for name in "XYZ")
    place = 10.0**-machine.numbers.decimals * (25.4 if machine.program.units == "inch" else 1.0)
    wrong += [
        _at(read[0], one.line, one.what)
        for one in same_cuts(
            [one.motion for one in read], [one.motion for one in meant], machine,
            3 * max(place, step) + 2 * machine.arcs.tolerance,
        )
    ]
    return wrong


def _at(program: ReadProgram, line: int, what: Message) -> Message:
    return Message("{file}, line {line}: {what}", file=program.name, line=line, what=what)


def same_cuts(
    ours: Sequence[Motion], plain: Sequence[Motion], machine: Machine, tolerance: float
) -> tuple[NotSame, ...]:
    """How what programs cut differs from the plain form, feeds aside that differ by rounding."""
    rounding = 10.0**-machine.numbers.feed_decimals * (
        25.4 if machine.program.units == "inch" else 1.0
    )
    return tuple(
        one for one in same_motion(cuts_alone(ours), cuts_alone(plain), tolerance)
        if one.unit != "mm/min" or one.amount > rounding
    )


def cuts_alone(motions: Sequence[Motion]) -> Motion:
    """What several programs cut, the head's place counted within one turn.

    How each gets clear, which way round a head turns and how a cutter is named is the machine
    file's own business.
    """
    joined = {
        field.name: np.concatenate([getattr(motion, field.name) for motion in motions])
        for field in dataclasses.fields(Motion)
    }
    cuts = (joined["kind"] != Kind.RAPID) & (joined["kind"] != Kind.INDEX)
    kept = {name: values[cuts] for name, values in joined.items()}
    turn = np.round(kept["angle_end"] % 360.0, 6) % 360.0
    none = np.zeros_like(kept["cutter"])
    return Motion(**{**kept, "angle_start": turn, "angle_end": turn, "cutter": none})


def _tried(
    programs: tuple[Program, ...], read: tuple[ReadProgram, ...], wrong: list[Message],
    watch: tuple[Watch, ...], small: tuple[Tried, ...],
) -> dict[str, Any]:
    return {
        "programs": [one.file for one in programs] if not wrong else [],
        "small": [{"what": one.called, "programs": [made.file for made in one.programs],
                   "proofs": one.proofs, "refused": [fault.message for fault in one.faults]}
                  for one in small],
        "words": {word: sum(one.words.get(word, 0) for one in read)
                  for one in read for word in one.words},
        "wrong": wrong,
        "watch": [{"where": one.where, "see": one.see, "mend": one.mend} for one in watch],
    }


def _page(
    out: Path, programs: tuple[Program, ...], read: tuple[ReadProgram, ...],
    watch: tuple[Watch, ...], small: tuple[Tried, ...],
) -> None:
    """What was written and what to watch, for a terminal or a printer."""
    for one, told in zip(programs, read, strict=True):
        words = " ".join(word for word in told.words if word[0] in "GM")
        tell(Message("{file}: {count} lines, read back as meant", file=out / one.file,
                     count=len(told.lines)))
        _tell(Message("    words: {words}", words=words), " " * 7)
        for finding in told.findings:
            if one is programs[0] and finding.grave:
                continue  # Nothing turns and nothing is fitted: that is meant.
            tell(Message("line {line}: {what}", line=finding.line, what=finding.message),
                 before="    ")
    if any(job.programs for job in small):
        tell(Message("These cut metal; fit stock and cutters as their comments say, and only once "
                     "all below is as it should be:"))
    for job in small:
        for made in job.programs:
            tell(Message("{file}: {what}, {proofs} proofs held", file=out / made.file,
                         what=job.called, proofs=job.proofs), before="  ")
    tell()
    tell(Message("Run {first} before anything else, a hand at feed hold: it must go 1 mm up, 1 mm "
                 "to the right and 1 mm away, in two seconds each. Farther: program.units, "
                 "numbers.point. Otherwise: the sense and the letter of the axis.",
                 first=programs[0].file), most=_WIDTH)
    tell()
    tell(Message("Run it in air and watch, in this order:"))
    for number, item in enumerate(watch, start=1):
        _tell(Message("[ ] {number:2d}  {where}: {see}.", number=number, where=item.where,
                      see=item.see), " " * 8)
        _tell(Message("        mind: {what}", what=item.mend) if number == 1 else
              Message("        if not: {what}", what=item.mend), "")


@post.command()
@click.argument("name")
@click.option("--readings", type=NamedPath(dir_okay=False, path_type=Path), metavar="FILE",
              help="What was read; left out, a form for it is shown.")
@click.option("--write", is_flag=True, help="Put the words into the machine file.")
def measured(name: str, readings: Path | None, write: bool) -> None:
    """Set the machine file NAME to what was read from the machine.

    Programs are then written so that the work comes out true: scale, squareness and the head's
    errors are put right, holes come to from one side. Cut the measuring plate of camgen post try
    first.

    Example: camgen post measured my-mill --readings readings.yaml --write
    """
    from camgen.commands.trying.measuring import readings_form, take_readings

    if readings is None:
        click.echo(readings_form(find_machine(name, Path.cwd())), nl=False)
    else:
        take_readings(name, readings, write=write)


@post.command()
@click.option("--out", type=NamedPath(dir_okay=False, path_type=Path), metavar="FILE",
              help="Write it to FILE instead of showing it.")
def schema(out: Path | None) -> None:
    """JSON Schema of machine files, for editors that complete words.

    Example: camgen post schema --out postprocessors/machine.schema.json
    """
    text = json.dumps(machine_schema(), indent=2, ensure_ascii=False) + "\n"
    if out is None:
        click.echo(text, nl=False)
    else:
        write_whole(out, text.encode())
        tell(Message("Schema of machine files: {file}", file=out))
