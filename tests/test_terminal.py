"""The terminal: help, suggestions, narrow windows, plain consoles, completion."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.shell_completion import ShellComplete
from click.testing import CliRunner
from sampling import sampled

from camgen.cli import COMMANDS, group
from camgen.commands.reference.words import reference_text
from camgen.commands.terminal.progress import doing
from camgen.faults import Refused
from camgen.job.models import Job
from camgen.job.reference import word_entries
from camgen.job.schema import job_schema
from camgen.shop.cutters import Cutter
from camgen.steps import STEPS, step_words

CALL = "from camgen.cli import main; main()"


def every_command(
    command: click.Command = group, way: tuple[str, ...] = ()
) -> Iterator[tuple[str, ...]]:
    yield way
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            assert below is not None
            yield from every_command(below, (*way, name))


def test_every_help_fits_its_window_and_gives_an_example() -> None:
    for way in every_command():
        for width in (60, 100):
            answer = CliRunner().invoke(group, [*way, "--help"], terminal_width=width)
            assert answer.exit_code == 0, way
            assert max(map(len, answer.output.splitlines())) <= width, way
            # A bound that is none is not told.
            assert "<=None" not in answer.output, way
        words = " ".join(answer.output.split())
        assert " ".join(("camgen", *way[:1])) in re.split("Examples?:", words)[-1] or not way, way


def test_camgen_alone_says_what_to_do_first() -> None:
    output = CliRunner().invoke(group, []).output
    assert "First time? camgen start" in output
    assert "_CAMGEN_COMPLETE" in output
    for name in COMMANDS:
        assert f"  {name} " in output


@pytest.mark.parametrize(("typed", "meant"), [
    (["mkae"], "'make'"),
    (["make", "x.yaml", "--langage", "de"], "--language"),
    (["preview", "x.yaml", "--format", "pgn"], "'png'"),
    (["mesh", "75", "0.14", "10", "--form", "cyclodial"], "'cycloidal'"),
])
def test_a_wrong_word_is_answered_with_the_right_one(typed: list[str], meant: str) -> None:
    answer = CliRunner().invoke(group, typed)
    assert answer.exit_code == 2
    assert meant in answer.output.partition("ean")[2]


def test_the_tab_key_completes_commands_and_options() -> None:
    def completed(args: list[str], begun: str) -> list[str]:
        shell = ShellComplete(group, {}, "camgen", "_CAMGEN_COMPLETE")
        return [item.value for item in shell.get_completions(args, begun)]

    assert completed([], "mak") == ["make"]
    assert "--language" in completed(["make"], "--l")
    assert completed(["preview", "--format"], "s") == ["svg"]


@pytest.mark.parametrize("encoding", sampled(["cp1252", "cp437", "ascii"], 4))
def test_no_console_is_too_plain(encoding: str) -> None:
    answer = subprocess.run(
        [sys.executable, "-c", CALL, "speeds", "--material", "brass", "--cutter",
         "end-mill 0.4 2 flutes reach 1.6"], capture_output=True, check=False,
        env={**os.environ, "PYTHONIOENCODING": encoding})
    assert answer.returncode == 0, answer.stderr
    assert answer.stderr == b""
    assert b"\x1b" not in answer.stdout
    if encoding == "cp1252":
        assert "<= 180 m/min" in answer.stdout.decode(encoding)
        assert "4 µm" in answer.stdout.decode(encoding)


def test_every_word_of_a_job_file_is_in_the_reference_and_explained() -> None:
    entries = word_entries(job_schema(step_words()))
    assert [one.path for one in entries if not one.says] == []
    top = {one.path[0] for one in entries}
    assert top == {field.alias for field in Job.model_fields.values()}
    cutter = {one.path[-1] for one in entries if one.path[:2] == ("cutters", "NAME")}
    assert cutter >= {field.alias for field in Cutter.model_fields.values()}
    for kind, step in step_words().items():
        words = {one.path[-1] for one in entries if one.path[:3] == ("setups", "steps", kind)}
        assert words >= {field.alias for field in step.model_fields.values()}
    assert len(step_words()) == len(STEPS)


def test_the_reference_is_read_at_sixty_columns() -> None:
    text = reference_text("", 60)
    assert max(map(len, text.splitlines())) <= 60
    assert "trial-spaces: whole number from 0 to 50, else 0" in text
    with pytest.raises(Refused, match="crossing"):
        reference_text("crosing", 60)


def test_nothing_is_told_of_progress_but_on_a_terminal(tmp_path: Path) -> None:
    answer = CliRunner().invoke(group, ["make", "jobs/seconds-pinion.yaml", "--no-pictures",
                                        "--out", str(tmp_path)])
    assert answer.exit_code == 0
    assert "..." not in answer.output
    assert "\r" not in answer.output


def test_on_a_terminal_what_is_done_is_told_and_taken_back(
        monkeypatch: pytest.MonkeyPatch) -> None:
    class Window(io.StringIO):
        def isatty(self) -> bool:
            return True

    window = Window()
    monkeypatch.setenv("COLUMNS", "60")
    monkeypatch.setattr(sys, "stderr", window)
    for what in ("drawing the picture", "drawing " + "a-long-name-" * 12):
        with doing(what):
            told = window.getvalue().rpartition("\r")[2]
            assert told.startswith("drawing")
            assert len(told) < 60
        assert window.getvalue().endswith("\r" + " " * len(told) + "\r")
