"""``camgen preview``: look before you cut, at a job or at any program."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from camgen.commands.terminal.choice import OneOf
from camgen.commands.terminal.figures import NamedPath
from camgen.commands.terminal.progress import doing
from camgen.commands.terminal.proofs import proof_words
from camgen.commands.terminal.screen import heard, speak_as_job, tell, wrong_use
from camgen.commands.terminal.subprograms import beside
from camgen.messages import Message
from camgen.plainfile import plain_bytes, why_not
from camgen.values import dataclass
from camgen.writing import write_all

if TYPE_CHECKING:
    from camgen.make.chain import Proved
    from camgen.make.variants import Wish
    from camgen.reader.motion import ReadProgram
    from camgen.shop.machine import Machine

__all__ = ["preview", "program_picture"]

Style = Literal["png", "svg", "pdf"]


@click.command()
@click.argument("what", metavar="JOB|PROGRAM...", nargs=-1, required=True,
                type=NamedPath(path_type=Path))
@click.option("--page", is_flag=True,
              help="A page to step through in a browser, instead of pictures.")
@click.option("--course", is_flag=True,
              help="Depth, feed, engagement and force in time; stock before and after.")
@click.option("--format", "style", type=OneOf(["png", "svg", "pdf"]), default="png",
              show_default=True, help="What kind of pictures.")
@click.option("--rapids", is_flag=True,
              help="All rapid moves in the pictures, also where they are many.")
@click.option("--dark", is_flag=True, help="Pictures on dark ground.")
@click.option("--post", metavar="NAME",
              help="Machine file: instead of the job's own, or to read PROGRAM with.")
@click.option("--language", metavar="CODE", is_eager=True, callback=heard,
              help="Language of what is drawn and told, en, de or fr; else the job's own, and "
                   "of what is told CAMGEN_LANGUAGE.")
@click.option("--out", type=NamedPath(path_type=Path, file_okay=False), metavar="DIR",
              help="Folder for what is made; else out/ and the file's name.")
def preview(what: tuple[Path, ...], page: bool, course: bool, style: Style, rapids: bool,
            dark: bool, post: str | None, language: str | None, out: Path | None) -> None:
    """Draw what the programs of a JOB do, or any PROGRAM, whoever wrote it.

    Everything drawn is read back from the program's text. A job whose proofs fail is drawn too, so
    that you can see why; no program is written.

    Example: camgen preview jobs/third-wheel.yaml --page
    """
    wanted = _Wanted(page, course, style, rapids, dark, post, language)
    for path in what:
        if len(what) > 1 and path.name.endswith(".proof.yaml"):
            continue  # jobs/*.yaml names the records beside the jobs too
        is_job = path.suffix.lower() in (".yaml", ".yml")
        files = _of_job(path, wanted) if is_job else _of_program(path, wanted)
        folder = out if out is not None else Path("out") / path.stem
        try:
            write_all({folder / name: content for name, content in files.items()})
        except OSError as why:
            tell(Message("nothing was written to {folder}: {why}", folder=folder,
                         why=why_not(why)), err=True)
            sys.exit(1)
        for name in files:
            tell(str(folder / name))


@dataclass(frozen=True)
class _Wanted:
    """What is to be drawn, and how."""

    page: bool
    course: bool
    style: Style
    rapids: bool
    dark: bool
    post: str | None
    language: str | None


def _of_job(path: Path, wanted: _Wanted) -> dict[str, bytes]:
    from camgen.job.joined.one_stock.reading import is_one_stock
    from camgen.make.variants import Wish as Wished

    wish = Wished(wanted.post, language=wanted.language)
    if is_one_stock(path):
        return _of_stock(path, wish, wanted)
    with doing(Message("planning and proving {job}", job=path.stem)):
        from camgen.make.chain import proved_job

        proved = proved_job(path, wish)
    speak_as_job(proved.language)
    _tell_failed(proved)
    with doing(Message("drawing {job}", job=path.stem)):
        from camgen.make.files import drawn_of_job, page_of_job

        if wanted.page:
            return dict(page_of_job(proved))
        end = "-course" if wanted.course else ""
        return {f"{proved.stem}-{name}{end}.{wanted.style}": picture.content for name, picture
                in drawn_of_job(proved, course=wanted.course, dark=wanted.dark,
                                style=wanted.style, rapids=wanted.rapids).items()}


def _of_stock(path: Path, wish: Wish, wanted: _Wanted) -> dict[str, bytes]:
    """The same of parts of several jobs on one stock."""
    from camgen.commands.terminal.stock import stock_as_job
    from camgen.make.one_stock.told import drawn_of_stock

    stock, proved = stock_as_job(path, wish)
    _tell_failed(proved)
    with doing(Message("drawing {job}", job=path.stem)):
        return dict(drawn_of_stock(stock, page=wanted.page, course=wanted.course,
                                   dark=wanted.dark, style=wanted.style,
                                   rapids=wanted.rapids))


def _tell_failed(proved: Proved) -> None:
    for proof in proved.failed:
        tell(Message("does not hold: {proof}", proof=proof_words(proof)), err=True)


def _of_program(path: Path, wanted: _Wanted) -> dict[str, bytes]:
    from camgen.preview.page import bench_page
    from camgen.preview.scene import Scene
    from camgen.reader import read_program
    from camgen.shop.machines import find_machine
    from camgen.words import words

    if wanted.course:
        raise wrong_use(Message(
            "{file} is a program: only of a job is it known what it works on, which --course "
            "needs.", file=path))
    language = wanted.language or "en"
    machine = find_machine(wanted.post or "plain-iso", Path.cwd())
    content = plain_bytes(path)
    with doing(Message("reading {file}", file=path.name)):
        program = read_program(content, machine, path.name, beside=beside(path))
    for finding in program.findings:
        if finding.grave:
            file, line = program.where(finding.line)
            place = (Message("line {line}", line=line) if file == path.name
                     else Message("line {line} of {file}", line=line, file=file))
            tell(Message("{where}: {what}", where=place, what=finding.message), err=True)
    with doing(Message("drawing {job}", job=path.name)):
        if wanted.page:
            return {f"{path.stem}.html": bench_page(
                [Scene(path.stem, None, [program], {}, {}, words(language)(
                    "pictures", "read-for", machine=machine.name))],
                machine, path.name, language=language).encode()}
        return {f"{path.stem}.{wanted.style}": program_picture(
            program, machine, wanted.style, dark=wanted.dark, language=language,
            rapids=wanted.rapids)}


def program_picture(
    program: ReadProgram, machine: Machine, style: Style, *, dark: bool = False,
    language: str = "en", rapids: bool = False,
) -> bytes:
    """The picture of a program of which no more is known than its text."""
    from camgen.preview.setup import draw_setup
    from camgen.words import words

    return draw_setup(None, [program], machine, {}, (), program.name,
                      subtitle=words(language)("pictures", "read-for", machine=machine.name),
                      format=style, dark=dark, language=language, rapids=rapids).content
