"""``camgen preview``: look before you cut, at a job or at any program."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from camgen.commands.choice import OneOf
from camgen.commands.figures import NamedPath
from camgen.plainfile import plain_bytes
from camgen.writing import write_all

if TYPE_CHECKING:
    from camgen.make.chain import Proved
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
@click.option("--dark", is_flag=True, help="Pictures on dark ground.")
@click.option("--post", metavar="NAME",
              help="Machine file: instead of the job's own, or to read PROGRAM with.")
@click.option("--out", type=NamedPath(path_type=Path, file_okay=False), metavar="DIR",
              help="Folder for what is made; else out/ and the file's name.")
def preview(what: tuple[Path, ...], page: bool, course: bool, style: Style, dark: bool,
            post: str | None, out: Path | None) -> None:
    """Draw what the programs of a JOB do, or any PROGRAM, whoever wrote it.

    Everything drawn is read back from the program's text. A job whose proofs fail is drawn too, so
    that you can see why; no program is written.

    Example: camgen preview jobs/third-wheel.yaml --page
    """
    for path in what:
        if len(what) > 1 and path.name.endswith(".proof.yaml"):
            continue  # jobs/*.yaml names the records beside the jobs too
        is_job = path.suffix.lower() in (".yaml", ".yml")
        files = _of_job(path, page, course, style, dark, post) if is_job else (
            _of_program(path, page, style, dark, post))
        folder = out if out is not None else Path("out") / path.stem
        try:
            write_all({folder / name: content for name, content in files.items()})
        except OSError as why:
            click.echo(f"nothing was written to {folder}: {why.strerror or why}", err=True)
            sys.exit(1)
        for name in files:
            click.echo(str(folder / name))


def _of_job(
    path: Path, page: bool, course: bool, style: Style, dark: bool, post: str | None
) -> dict[str, bytes]:
    from camgen.make.chain import proved_job
    from camgen.make.pictures import courses_of, pages_of, pictures_of
    from camgen.make.variants import Wish

    proved = proved_job(path, Wish(post))
    _tell_failed(proved)
    if page:
        return {f"{proved.stem}-{name}.html": content.encode()
                for name, content in pages_of(proved).items()}
    if course:
        return {f"{proved.stem}-{name}-course.{style}": picture.content
                for name, picture in courses_of(proved, dark=dark, style=style).items()}
    return {f"{proved.stem}-{name}.{style}": picture.content
            for name, picture in pictures_of(proved, dark=dark, style=style).items()}


def _tell_failed(proved: Proved) -> None:
    for proof in proved.failed:
        click.echo(f"does not hold: {proof.setup}: {proof.name}, {proof.figure:g} {proof.unit} "
                   f"against {proof.limit:g}", err=True)


def _of_program(
    path: Path, page: bool, style: Style, dark: bool, post: str | None
) -> dict[str, bytes]:
    from camgen.preview.bench import bench_page
    from camgen.reader import read_program
    from camgen.shop.machines import find_machine

    machine = find_machine(post or "plain-iso", Path.cwd())
    content = plain_bytes(path)
    program = read_program(content, machine, path.name)
    for finding in program.findings:
        if finding.grave:
            click.echo(f"line {finding.line}: {finding.message}", err=True)
    if page:
        return {f"{path.stem}.html": bench_page(
            None, [program], machine, {}, path.name,
            subtitle=f"read for {machine.name}").encode()}
    return {f"{path.stem}.{style}": program_picture(program, machine, style, dark=dark)}


def program_picture(
    program: ReadProgram, machine: Machine, style: Style, *, dark: bool = False
) -> bytes:
    """The picture of a program of which no more is known than its text."""
    from camgen.preview.setup import draw_setup

    return draw_setup(None, [program], machine, {}, (), program.name,
                      subtitle=f"read for {machine.name}", format=style, dark=dark).content
