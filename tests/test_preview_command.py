"""``camgen preview``: pictures and pages of jobs and programs, and plain answers to bad words."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from sampling import sampled

from camgen.commands.preview import preview
from camgen.faults import Refused
from camgen.preview.carried import taken_apart

JOB = Path(__file__).resolve().parent.parent / "jobs" / "ratchet-wheel.yaml"
SQUARE = """%
G21 G90 G17
T1 M6
S12000 M3
G0 Z5.
G0 X0. Y0.
G1 Z-0.2 F60.
X10. F120.
Y10.
G3 X0. Y0. I-5. J-5.
G0 Z5.
M30
%
"""


def run(*words: str | Path) -> str:
    answer = CliRunner().invoke(preview, [str(word) for word in words], catch_exceptions=False)
    assert answer.exit_code == 0, answer.output
    return answer.output


@pytest.mark.parametrize(("word", "ending", "begins"), sampled([
    ("", "-blanks.png", b"\x89PNG"), ("--page", ".html", b"<!DOCTYPE html>"),
    ("--course", "-blanks-course.png", b"\x89PNG"),
], 4, 1))
def test_a_job_is_drawn_setup_by_setup(
    word: str, ending: str, begins: bytes, tmp_path: Path
) -> None:
    said = run(JOB, *([word] if word else []), "--out", tmp_path)
    file = tmp_path / f"ratchet-wheel{ending}"
    assert str(file) in said.splitlines()
    assert file.read_bytes().startswith(begins)


@pytest.mark.parametrize("style", sampled(["png", "svg", "pdf"], 3))
def test_any_program_is_drawn(style: str, tmp_path: Path) -> None:
    program = tmp_path / "square.nc"
    program.write_text(SQUARE)
    run(program, "--format", style, "--dark", "--out", tmp_path / "out")
    content = (tmp_path / "out" / f"square.{style}").read_bytes()
    assert content.startswith({"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}[style])
    run(program, "--page", "--out", tmp_path / "out")
    page = (tmp_path / "out" / "square.html").read_text()
    work = json.loads(re.findall(r'id="work">(.*?)</script>', page, re.DOTALL)[0])
    assert "X10. F120." in "\n".join(taken_apart(work["setups"][0])[1])


def test_a_file_that_is_not_there_is_said_so_and_nothing_is_written(tmp_path: Path) -> None:
    with pytest.raises(Refused, match="no such file"):
        run(tmp_path / "none.nc", "--out", tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_what_is_not_a_program_is_drawn_as_the_nothing_it_is(tmp_path: Path) -> None:
    for number, text in enumerate(("", "hello\n", "G0 X1.\n" * 3, "%\n%\n")):
        program = tmp_path / f"odd{number}.nc"
        program.write_text(text)
        run(program, *(["--page"] if number % 2 else []), "--out", tmp_path / "out")
