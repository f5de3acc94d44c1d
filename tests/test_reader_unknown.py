"""What is not known is named, the rest is told, and what is not sure of it is said."""

from __future__ import annotations

import pytest
from reader_machines import AT_1_2_3, PLAIN, moves, read

from camgen.faults import Refused
from camgen.reader import read_program

FIRST = AT_1_2_3.count("\n") + 1


@pytest.mark.parametrize(
    ("word", "unsure"),
    [
        ("M77", {"speeds", "cutters", "turns", "time"}),
        ("G25", {"places", "depths", "feeds", "speeds", "cutters", "turns", "time"}),
        ("G68 X0. Y0. R45.", {"places", "depths", "time"}),
        ("G10 L2 P1 X3.", {"places", "depths", "time"}),
        ("G44 H1", {"depths"}),
        ("G96 S100", {"speeds", "feeds", "time"}),
        ("G41 D1", {"places", "time"}),
        ("B30.", {"turns", "time"}),
        ("U3.", {"places", "depths", "time"}),
        ("M98 P77", {"places", "depths", "feeds", "speeds", "cutters", "turns", "time"}),
        ("TRANS", {"places", "depths", "feeds", "speeds", "cutters", "turns", "time"}),
        ("G97 S12000", set()),
        ("G61.1", set()),
        ("G4 P1.", set()),
    ],
)
def test_a_word_that_is_not_known_makes_some_figures_unsure(word: str, unsure: set[str]) -> None:
    program = read(f"G1 X5.\n{word}\nX6.")
    assert {figure for figure, _ in program.unsure} == unsure
    assert all(line == FIRST + 1 for _, line in program.unsure)
    assert moves(program)[0] == (1, [5, 2, 3])
    assert moves(program)[-1] == (1, [6, 2, 3])
    grave = [found for found in program.findings if found.grave]
    assert bool(grave) == bool(unsure)
    assert all(found.line == FIRST + 1 and found.column for found in grave if found.unsure)


@pytest.mark.parametrize(
    "word",
    ["G10 L2 P1 X9.", "G68 X9. Y9. R45.", "G51 X9. Y9. P2.", "G16 X9.", "G12 I3. X9.",
     "G13 I3. X9.", "G15 X9.", "G32 X9. F1.", "G33 X9. F1.", "G50 X9.", "G51.1 X9.", "G50.1 X9.",
     "G69 X9.", "G96 S100 X9."],
)
def test_axis_words_of_a_word_not_carried_out_are_no_move(word: str) -> None:
    assert moves(read(f"G1 X5.\n{word}\nX6.")) == [(1, [5, 2, 3]), (1, [6, 2, 3])]


@pytest.mark.parametrize("word", ["G5", "G5.1", "G6", "G7", "G11", "G31", "G38.2", "G44 H1",
                                  "G54.1 P1", "G60"])
def test_axis_words_beside_other_words_not_carried_out_are_a_move(word: str) -> None:
    assert moves(read(f"G1 X5.\n{word} X9.\nX6.")) == [
        (1, [5, 2, 3]), (1, [9, 2, 3]), (1, [6, 2, 3])]


def test_the_first_line_that_makes_a_figure_unsure_is_told() -> None:
    program = read("G44 H1\nG1 X5.\nM77\nG44 H1\nM78")
    assert dict(program.unsure) == {
        "depths": FIRST, "speeds": FIRST + 2, "cutters": FIRST + 2, "turns": FIRST + 2,
        "time": FIRST + 2}


def test_every_place_of_an_unknown_word_is_named() -> None:
    program = read("\n".join("G1 X5. M77" for _ in range(300)))
    assert [(found.line, found.column) for found in program.findings] == [
        (FIRST + n, 8) for n in range(300)]


@pytest.mark.parametrize("word", ["G65 P9010 A1.", "G66 P9010 X1.", "#1=5", "G1 X[1+2]", "GOTO 5"])
def test_macros_are_refused_with_all_that_is_not_known(word: str) -> None:
    with pytest.raises(Refused) as no:
        read(f"G1 X5.\n{word}\nM77\n{word}\nM77")
    refused, unknown = no.value.faults
    assert refused.place.line == FIRST + 1
    assert refused.place.column
    assert f"line {FIRST + 3}" in refused.message
    assert refused.remedy
    assert (unknown.place.line, unknown.place.column) == (FIRST + 2, 1)
    assert f"line {FIRST + 4}, column 1" in unknown.message


def test_many_lines_that_cannot_be_known_are_named_as_ranges() -> None:
    with pytest.raises(Refused) as no:
        read("\n".join(["G1 X#1"] * 40 + ["G1 X1."] + ["G1 X#1"] * 40))
    assert len(no.value.faults) == 1
    message = str(no.value)
    assert f"{FIRST + 13}–{FIRST + 39}, {FIRST + 41}–{FIRST + 80}" in message
    assert len(message) < 900


def test_a_subprogram_read_by_itself_is_shown_once_through() -> None:
    program = read_program("O100\nG21 G90\n" + AT_1_2_3[2:] + "G1 X5.\nM99\n", PLAIN, "t.nc")
    assert program.motion.end[-1].tolist() == [5, 2, 3]
    assert any("without end" in found.message and found.grave for found in program.findings)


def test_a_subprogram_in_a_file_beside_is_asked_for_once_and_read() -> None:
    asked: list[int] = []

    def beside(number: int) -> tuple[str, str] | None:
        asked.append(number)
        return (f"O{number}.nc", "%\nO0007 (STEP)\nG91 G0 X1.\nM77\nG90 M99\n%\nG1 Z-9.\n") if (
            number == 7) else None

    program = read_program(
        AT_1_2_3 + "M98 P7 L2\nM98 P8\nM98 P7\nM98 P8\nM30\n%\n", PLAIN, "t.nc", beside=beside)
    assert moves(program) == [(0, [2, 2, 3]), (0, [3, 2, 3]), (0, [4, 2, 3])]
    assert asked == [7, 8]
    missing = [found for found in program.findings if "subprogram 8" in found.message]
    assert [(found.line, found.column) for found in missing] == [(FIRST + 1, 1), (FIRST + 3, 1)]
    # A finding in the other file is told by its own lines.
    inside = next(found for found in program.findings if "M77" in found.message)
    assert program.where(inside.line) == ("O7.nc", 4)
    assert program.where(2) == ("t.nc", 2)


def test_subprograms_beside_may_call_others_and_be_long() -> None:
    # Longer than a page of lines that are read at once, so that one begins in the middle of a page.
    body = "G91\n" + "X0.001\n" * 3 + "G90\n" + "G1 X1. F100.\nX2.\n" * 9000
    texts = {1: f"O1\n{body}M98 P2\nM99\n", 2: "O2\nG1 X3.\nM99\n"}

    def beside(number: int) -> tuple[str, str] | None:
        return (f"{number}", texts[number]) if number in texts else None

    text = AT_1_2_3 + "M98 P1\nM98 P2\nM30\n%\n"
    quick = read_program(text, PLAIN, "t", beside=beside)
    slow = read_program(text, PLAIN, "t", beside=beside, fast=False)
    assert quick.motion.end.tolist() == slow.motion.end.tolist()
    assert quick.motion.end[-1].tolist() == [3, 2, 3]
    assert len(quick.motion) > 18_000
    assert not quick.unsure


@pytest.mark.long
def test_findings_are_bounded_however_many_sorts_there_are() -> None:
    program = read("\n".join(f"ABC{n} M{n + 100}" for n in range(30_000)))
    assert len(program.findings) <= 20_100
