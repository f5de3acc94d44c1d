"""``camgen read`` says what a program does, in words and as JSON."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from demos import proved_demo
from reader_machines import AT_1_2_3

from camgen.commands.preview import preview
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


@pytest.mark.parametrize("name", ["O0007.nc", "7.nc", "o7", "STEP.nc"])
def test_a_subprogram_in_a_file_beside_is_found(tmp_path: Path, name: str) -> None:
    number = "%\nO0007\n" if name == "STEP.nc" else ""
    (tmp_path / name).write_text(number + "G91 G0 X1.\nG90 M99\n")
    (tmp_path / "O8.nc").write_text("%\nO0008\nG91 G0 X99.\nG90 M99\n%\n")
    result = run(tmp_path, GOOD.replace("G4 P1.5", "M98 P7"))
    assert result.exit_code == 0, result.output
    assert "X 1.000 to 8.000" in result.output
    assert re.search(rf"read too +{name}", result.output)


def test_a_subprogram_that_is_nowhere_is_named_and_the_rest_is_told(tmp_path: Path) -> None:
    (tmp_path / "O8.nc").write_text("%\nO0008\nG91 G0 X99.\nG90 M99\n%\n")
    result = run(tmp_path, GOOD.replace("G4 P1.5", "M98 P7"))
    assert result.exit_code == 3
    line = AT_1_2_3.count("\n") + 5
    assert f"subprogram 7, line {line}, column 1" in result.output
    assert f"every figure from line {line} on" in result.output
    assert "X 1.000 to 7.000" in result.output


def test_a_folder_full_of_other_files_is_no_hindrance(tmp_path: Path) -> None:
    (tmp_path / "O7.nc").mkdir()
    (tmp_path / "7").write_bytes(bytes(range(256)))
    os.mkfifo(tmp_path / "o7")
    (tmp_path / "gone.nc").symlink_to(tmp_path / "nowhere")
    result = run(tmp_path, GOOD.replace("G4 P1.5", "M98 P7"))
    assert result.exit_code == 3
    assert "subprogram 7," in result.output


UNKNOWN = GOOD.replace("X5.\n", "X5.\nM77\nG68 X0. Y0. R30.\nCYCLE81(1,2)\n").replace(
    "G4 P1.5", "M77\nG1 B4. X5.")


def test_unknown_words_are_named_with_line_and_column_and_figures_given(tmp_path: Path) -> None:
    first = AT_1_2_3.count("\n") + 3
    result = run(tmp_path, UNKNOWN)
    assert result.exit_code == 3
    text = " ".join(result.output.split())
    for words in (
        f"M77, line {first}, column 1; line {first + 5}, column 1",
        f"G68 (turning the coordinates), line {first + 1}, column 1",
        f"CYCLE81, line {first + 2}, column 1", f"axis B, line {first + 6}, column 4",
        f"speeds, cutters, turns of the head, time from line {first} on",
        f"extents, depths from line {first + 1} on", "travel? X 1.000 to 7.000", "time? ",
        "12000 rev/min",
    ):
        assert words in text, (words, text)
    answer = json.loads(run(tmp_path, UNKNOWN, "--json").output)
    assert answer["unsure"]["time"] == {"file": "plate.nc", "line": first}
    assert answer["cutting"]["Z"] == [-0.5, 3.0]
    assert [found["column"] for found in answer["findings"] if found["grave"]] == [1, 1, 1, 1, 4]


@pytest.mark.parametrize("width", [60, 80, 100])
@pytest.mark.parametrize("text", [GOOD, UNKNOWN])
def test_the_page_keeps_to_its_width_and_to_one_screen(
    tmp_path: Path, width: int, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    lines = run(tmp_path, text).output.splitlines()
    assert max(map(len, lines)) <= width
    assert len(lines) <= 30
    told = lines[next(n for n, line in enumerate(lines) if line.startswith("  ")):]
    # A label in its own column, and what is said beside it.
    assert all(line.startswith("  ") and line[12] == " " and line[13] != " " for line in told
               if "nothing amiss" not in line)


def test_programs_with_macros_are_refused_with_every_line(tmp_path: Path) -> None:
    result = run(tmp_path, GOOD.replace("X5.\n", "X#1\nM77\nX#2\n"))
    assert isinstance(result.exception, Refused)
    first = AT_1_2_3.count("\n") + 2
    variable, unknown = result.exception.faults
    assert (variable.place.line, variable.place.column) == (first, 2)
    assert f"line {first + 2}, column 2" in variable.message
    assert (unknown.place.line, unknown.place.column) == (first + 1, 1)


ONE = AT_1_2_3 + "G1 Z-1.\nX5.\nG0 Z3.\nX8.\nG1 Z-1.\nX9.\nG0 Z3.\nM5\nM30\n%\n"
FIRST = AT_1_2_3 + "G1 Z-1.\nX5.\nG0 Z9.\nM5\nM30\n%\n"
SECOND = AT_1_2_3.replace("X1. Y2.", "X8. Y2.") + "G1 Z-1.\nX9.\nG0 Z3.\nM5\nM30\n%\n"


def in_folder(folder: Path, **texts: str) -> list[str]:
    for name, text in texts.items():
        (folder / f"{name}.nc").write_text(text)
    return [str(folder / f"{name}.nc") for name in texts]


def test_parts_are_compared_with_the_whole_as_one_motion(tmp_path: Path) -> None:
    one, first, second = in_folder(tmp_path, one=ONE, first=FIRST, second=SECOND)
    for words in ([first, second, "--against", one],
                  [one, "--against", first, "--against", second],
                  [first, second, "--against", first, "--against", second]):
        result = CliRunner().invoke(read, words)
        assert result.exit_code == 0, result.output
        assert "the same motion" in result.output
    result = CliRunner().invoke(read, [one, "--against", second, "--against", first])
    assert result.exit_code == 3
    (tmp_path / "second.nc").write_text(SECOND.replace("X9.", "X9.1"))
    result = CliRunner().invoke(read, [one, "--against", first, "--against", second])
    assert result.exit_code == 3
    assert re.search(r"line \d+ against line \d+ of second.nc", result.output)
    answer = json.loads(CliRunner().invoke(
        read, [one, "--against", first, "--against", second, "--json"]).output)
    assert answer["differences"][0]["other_file"] == "second.nc"


def test_parts_are_told_as_one_program(tmp_path: Path) -> None:
    first, second = in_folder(tmp_path, first=FIRST, second=SECOND + "")
    result = CliRunner().invoke(read, [first, second, "--picture", str(tmp_path / "p.svg")])
    assert result.exit_code == 0, result.output
    assert "2 parts, first.nc to second.nc" in result.output
    assert "X 1.000 to 9.000" in result.output
    assert (tmp_path / "p.svg").stat().st_size > 1000


def test_two_programs_for_two_machines_are_compared(tmp_path: Path) -> None:
    metric = GOOD.replace("G4 P1.5\n", "").replace("X7. Y0. I0. J-2.", "X7. Y0. I0. J-2.")
    inch = re.sub(
        r"([XYZIJF])(-?[\d.]+)", lambda m: f"{m[1]}{float(m[2]) / 25.4:.6f}",
        metric.replace("G21", "G20"))
    one, two = in_folder(tmp_path, one=metric, two=inch)
    result = CliRunner().invoke(read, [one, "--against", two, "--against-post", "plain-iso-inch"])
    assert result.exit_code == 0, result.output
    assert CliRunner().invoke(read, [one, "--against", two]).exit_code in (0, 3)
    assert CliRunner().invoke(read, [one, "--against-post", "plain-iso"]).exit_code == 2


def test_no_proof_is_called_held_where_a_word_is_not_known(tmp_path: Path) -> None:
    jobs = Path(__file__).resolve().parent.parent / "jobs"
    path = tmp_path / "ratchet-wheel-blanks.nc"
    (program,) = proved_demo("ratchet-wheel").setups[0].programs
    path.write_bytes(program.text)
    job = ["--job", str(jobs / "ratchet-wheel.yaml")]
    good = CliRunner().invoke(read, [str(path), *job])
    assert good.exit_code == 0, good.output
    lines = path.read_text().splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("G1"))
    path.write_text("\n".join([*lines[:at], "M77", *lines[at:]]) + "\n")
    result = CliRunner().invoke(read, [str(path), *job])
    assert result.exit_code == 3
    assert "no proof holds" in result.output
    assert f"from line {at + 1} on" in " ".join(result.output.split())
    answer = json.loads(CliRunner().invoke(read, [str(path), *job, "--json"]).output)
    assert not any(proof["holds"] for proof in answer)


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    result = CliRunner().invoke(read, [str(tmp_path / "none.nc")])
    assert isinstance(result.exception, Refused)
    assert isinstance(run(tmp_path, GOOD, "--post", "no-such").exception, Refused)


def test_a_picture_of_a_program_shows_its_subprograms_beside(tmp_path: Path) -> None:
    (tmp_path / "O7.nc").write_text("O7\nM77\nG91 G1 X40.\nG90 M99\n")
    path = tmp_path / "plate.nc"
    path.write_text(GOOD.replace("G4 P1.5", "M98 P7"))
    result = CliRunner().invoke(preview, [str(path), "--out", str(tmp_path / "p")])
    assert result.exit_code == 0, result.output
    assert "line 2 of O7.nc: M77" in result.output
