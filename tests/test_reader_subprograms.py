"""Subprograms called, repeated and missing, as the reader carries them out."""

from __future__ import annotations

import pytest
from reader_machines import AT_1_2_3, PLAIN, moves, read

from camgen.faults import Refused
from camgen.reader import read_program

R, L, CW, CCW, TURN = 0, 1, 2, 3, 4


SUB = "G91 G0 X1.\nG90 M99"


def test_subprograms_are_called_and_repeated() -> None:
    text = AT_1_2_3 + f"M98 P100 L3\nG0 Y0.\nM30\nO100\n{SUB}\n%\n"
    program = read_program(text, PLAIN, "t")
    assert moves(program) == [(R, [2, 2, 3]), (R, [3, 2, 3]), (R, [4, 2, 3]), (R, [4, 0, 3])]
    assert not program.findings
    # Some controls take eight figures for how often and which, others for one number.
    eight = read_program(text.replace("P100 L3", "P00030100"), PLAIN, "t")
    assert moves(eight) == moves(program)
    assert [one.grave for one in eight.findings] == [True]
    assert "controls differ" in eight.findings[0].message


def test_subprograms_may_stand_in_files_of_their_own() -> None:
    program = read_program(AT_1_2_3 + "M98 P7\nM30\n%\n", PLAIN, "t", subprograms={7: SUB})
    assert moves(program) == [(R, [2, 2, 3])]


def test_a_subprogram_may_bear_the_number_nought_and_be_called_no_time() -> None:
    for call, made in (("M98 P0", [(R, [2, 2, 3])]), ("M98 P0 L0", []), ("M98 P0 L1", [
            (R, [2, 2, 3])])):
        program = read_program(AT_1_2_3 + f"{call}\nM30\n%\n", PLAIN, "t", subprograms={0: SUB})
        assert moves(program) == made, call
        assert not program.findings
    for call in ("M98 P-1", "M98 P1.5", "M98 P0 L-1", "M98 P0 L1.5", "M98 P0 L10001"):
        program = read_program(AT_1_2_3 + f"{call}\nM30\n%\n", PLAIN, "t", subprograms={0: SUB})
        assert moves(program) == []
        assert [one.grave for one in program.findings] == [True], call


def test_subprograms_may_call_one_another() -> None:
    text = AT_1_2_3 + "M98 P1 L2\nM30\nO1\nM98 P2 L2\nM99\nO2\n" + SUB + "\n%\n"
    assert len(moves(read_program(text, PLAIN, "t"))) == 4


@pytest.mark.parametrize(
    ("tail", "says"),
    [
        ("M98 P1\nM30\nO1\nM98 P1\nM99\n%", "deep"),
        ("G1 X#1\nM30\n%", "variable"),
    ],
)
def test_what_cannot_be_known_is_refused(tail: str, says: str) -> None:
    with pytest.raises(Refused) as no:
        read_program(AT_1_2_3 + tail, PLAIN, "t.nc")
    assert says in str(no.value)
    assert no.value.faults[0].place.line > 0
    assert no.value.faults[0].remedy


def test_subprograms_without_end_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("camgen.reader.program.MOST_REPEATED", 2000)
    text = AT_1_2_3 + "M98 P1 L9999\nM30\nO1\nM98 P2 L9999\nM99\nO2\nG4 P1.\nM99\n%"
    with pytest.raises(Refused, match="blocks long"):
        read_program(text, PLAIN)


def test_all_variables_are_named_at_once() -> None:
    with pytest.raises(Refused) as no:
        read("G1 X#1\nY#2\n#3=4\nM77\nIF [#1 GT 2] GOTO 5")
    first = AT_1_2_3.count("\n") + 1
    variable, jump, unknown = no.value.faults
    assert variable.place.line == first
    assert f"line {first + 1}, column 2; line {first + 2}, column 1" in variable.message
    assert (jump.place.line, unknown.place.line) == (first + 4, first + 3)
    assert "M77" in unknown.message
