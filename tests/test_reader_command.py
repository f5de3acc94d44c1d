"""``camgen read`` says what a program does, in words and as JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from reader_machines import AT_1_2_3

from camgen.commands.read import read
from camgen.faults import Refused

GOOD = AT_1_2_3 + "G1 Z-0.5\nX5.\nG2 X7. Y0. I0. J-2.\nG0 Z3.\nG4 P1.5\nM5\nM30\n%\n"


def run(folder: Path, text: str, *words: str) -> Result:
    path = folder / "plate.nc"
    path.write_text(text)
    return CliRunner().invoke(read, [str(path), *words])


def test_a_program_is_told_on_one_screen(tmp_path: Path) -> None:
    result = run(tmp_path, GOOD)
    assert result.exit_code == 0, result.output
    for words in ("Z -0.500 to 3.000", "12000 rev/min", "100 mm/min", "MILL", "nothing amiss"):
        assert words in result.output
    assert len(result.output.splitlines()) < 25


def test_the_answer_as_json(tmp_path: Path) -> None:
    result = run(tmp_path, GOOD, "--json")
    answer = json.loads(result.output)
    # A quarter circle from 5 2 about 5 0, no further out than its ends; by hand.
    assert answer["cutting"] == {"X": [1.0, 7.0], "Y": [0.0, 2.0], "Z": [-0.5, 3.0]}
    assert answer["cutters"][0]["length"] == pytest.approx(3.5 + 4 + 3.14159, abs=1e-3)
    assert answer["cutters"][0]["speeds"] == [12000, 12000]
    assert answer["waiting_seconds"] == pytest.approx(1.5 + 120)
    assert answer["seconds"] > answer["waiting_seconds"]
    assert answer["words"]["G2"] == 1
    assert answer["findings"] == []


def test_extents_reach_round_the_bulge_of_an_arc(tmp_path: Path) -> None:
    text = GOOD.replace("G2 X7. Y0. I0. J-2.", "G3 X5. Y2. I0. J1.\nG2 X5. Y4. R-1.")
    answer = json.loads(run(tmp_path, text, "--json").output)
    assert answer["cutting"]["X"] == [1.0, 6.0]
    assert answer["cutting"]["Y"] == [2.0, 4.0]


def test_what_forbids_running_it_is_told_and_ends_with_three(tmp_path: Path) -> None:
    result = run(tmp_path, GOOD.replace("X5.", "X5 G7"))
    assert result.exit_code == 3
    assert "DO NOT RUN" in result.output
    assert "column 4" in result.output


def test_two_programs_are_compared(tmp_path: Path) -> None:
    other = tmp_path / "other.nc"
    other.write_text(GOOD.replace("X5.\n", "X3.\nX5.0\n").replace("G0 Z3.\nG4", "G00 Z3.\nG4"))
    result = run(tmp_path, GOOD, "--against", str(other))
    assert result.exit_code == 0, result.output
    assert "the same motion" in result.output
    other.write_text(GOOD.replace("X5.\n", "X5.1\n").replace("I0. J-2.", "I-0.1 J-2."))
    result = run(tmp_path, GOOD, "--against", str(other))
    assert result.exit_code == 3
    assert "differ" in result.output
    answer = json.loads(run(tmp_path, GOOD, "--json", "--against", str(other)).output)
    assert answer["same_motion"] is False
    assert answer["differences"][0]["line"] > 0


def test_a_subprogram_may_be_given_with_the_program(tmp_path: Path) -> None:
    called = tmp_path / "O7.nc"
    called.write_text("%\nO0007\nG91 G0 X1.\nG90 M99\n%\n")
    text = GOOD.replace("G4 P1.5", "M98 P7")
    assert run(tmp_path, text, "--with", str(called)).exit_code == 0
    refused = run(tmp_path, text)
    assert isinstance(refused.exception, Refused)


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    result = CliRunner().invoke(read, [str(tmp_path / "none.nc")])
    assert isinstance(result.exception, Refused)
    assert isinstance(run(tmp_path, GOOD, "--post", "no-such").exception, Refused)
