"""One table of every word a control of this sort reads, and what it makes the machine do.

Words as in ISO 6983-1 and as NISTIR 6556, "The NIST RS274NGC Interpreter – Version 3", carries
them out (both from memory). Each row begins at X1 Y2 Z3 with the spindle on, feed 100, in mm, XY
plane and absolute places.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from reader_machines import AT_1_2_3, OPENING, PLAIN, machine, moves, read

from camgen.reader import read_program
from camgen.reader.motion import ReadProgram
from camgen.reader.summary import piece_lengths

R, L, CW, CCW, TURN = 0, 1, 2, 3, 4
TABLE = machine(offsets={"length": "table"}, change={"way": "automatic"})
WITH_LENGTH = AT_1_2_3.replace("G0 Z3.", "G43 H1\nG0 Z3.")

MOVES = [
    ("G0 X5.", [(R, [5, 2, 3])]),
    ("G00X5Y6.Z7.", [(R, [5, 6, 7])]),
    ("G1 X5. Y6. Z7. F50.", [(L, [5, 6, 7])]),
    ("G2 X3. Y2. I1. J0.", [(CW, [3, 2, 3])]),
    ("G3 X3. Y2. I1. J0.", [(CCW, [3, 2, 3])]),
    ("G2 X3. Y2. R1.", [(CW, [3, 2, 3])]),
    ("G18 G2 X3. Z3. I1. K0.", [(CW, [3, 2, 3])]),
    ("G19 G2 Y4. Z3. J1. K0.", [(CW, [1, 4, 3])]),
    ("G18 G3 X3. Z3. R1.", [(CCW, [3, 2, 3])]),
    ("G19 G3 Y4. Z3. R1.", [(CCW, [1, 4, 3])]),
    ("G2 X3. Y2. Z1. I1. J0.", [(CW, [3, 2, 1])]),
    ("G18 G3 X3. Y0. Z3. I1. K0.", [(CCW, [3, 0, 3])]),
    ("G19 G2 X9. Y4. Z3. J1. K0.", [(CW, [9, 4, 3])]),
    ("G2 I1. J0.", [(CW, [1, 2, 3])]),
    ("G3 I1. J0. Z-1.", [(CCW, [1, 2, -1])]),
    ("G18 G2 I1. K0.", [(CW, [1, 2, 3])]),
    ("G4 P0.5", []),
    ("G20\nG1 X1.", [(L, [25.4, 2, 3])]),
    ("G28 X5. Y6.\nG0 X0. Y0.", [(R, [5, 6, 3]), (R, [0, 0, 3]), (R, [0, 0, 3])]),
    ("G30 X5. Z9.\nG0 X0. Z3.", [(R, [5, 2, 9]), (R, [0, 2, 9]), (R, [0, 2, 3])]),
    ("G91 G28 Z2.\nG90 G0 X4.", [(R, [1, 2, 5]), (R, [1, 2, 5]), (R, [4, 2, 5])]),
    ("G40 G1 X5.", [(L, [5, 2, 3])]),
    ("G41 D1 G1 X5.", [(L, [5, 2, 3])]),
    ("G42 D1 G1 X5.", [(L, [5, 2, 3])]),
    ("G49 G1 X5.", [(L, [5, 2, 3])]),
    ("G53 G0 Z0.\nG0 Z5.", [(R, [1, 2, 5]), (R, [1, 2, 5])]),
    ("G54 G1 X5.", [(L, [5, 2, 3])]),
    ("G61 G1 X5.", [(L, [5, 2, 3])]),
    ("G61.1 G1 X5.", [(L, [5, 2, 3])]),
    ("G64 G1 X5.", [(L, [5, 2, 3])]),
    ("G64 P0.01 Q0.01 G1 X5.", [(L, [5, 2, 3])]),
    ("G73 X4. Y4. Z1. R2. Q0.6", [
        (R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1.4]), (R, [4, 4, 1.5]), (L, [4, 4, 1]),
        (R, [4, 4, 3])]),
    ("G76 X4. Y4. Z1. R2. I0.1 J0.", [
        (R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1]), (R, [4.1, 4, 1]), (R, [4.1, 4, 3]),
        (R, [4, 4, 3])]),
    ("G81 X4. Y4. Z1. R2.", [(R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1]), (R, [4, 4, 3])]),
    ("G82 X4. Y4. Z1. R2. P1.", [(R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1]), (R, [4, 4, 3])]),
    ("G83 X4. Y4. Z1. R2. Q0.6", [
        (R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1.4]), (R, [4, 4, 2]), (R, [4, 4, 1.5]),
        (L, [4, 4, 1]), (R, [4, 4, 3])]),
    ("G84 X4. Y4. Z1. R2.", [
        (R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1]), (L, [4, 4, 2]), (R, [4, 4, 3])]),
    ("G85 X4. Y4. Z1. R2.", [
        (R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1]), (L, [4, 4, 2]), (R, [4, 4, 3])]),
    ("G86 X4. Y4. Z1. R2. P1.", [(R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1]), (R, [4, 4, 3])]),
    ("G88 X4. Y4. Z1. R2. P1.", [(R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1]), (R, [4, 4, 3])]),
    ("G89 X4. Y4. Z1. R2. P1.", [
        (R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1]), (L, [4, 4, 2]), (R, [4, 4, 3])]),
    ("G81 X4. Y4. Z1. R2.\nX5.\nG80\nG0 X6.", [
        (R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1]), (R, [4, 4, 3]), (R, [5, 4, 3]),
        (R, [5, 4, 2]), (L, [5, 4, 1]), (R, [5, 4, 3]), (R, [6, 4, 3])]),
    ("G99 G81 X4. Y4. Z1. R2.\nX5.", [
        (R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1]), (R, [4, 4, 2]), (R, [5, 4, 2]),
        (L, [5, 4, 1]), (R, [5, 4, 2])]),
    ("G99 G81 X4. Y4. Z1. R2.\nG98 X5.", [
        (R, [4, 4, 3]), (R, [4, 4, 2]), (L, [4, 4, 1]), (R, [4, 4, 2]), (R, [5, 4, 2]),
        (L, [5, 4, 1]), (R, [5, 4, 3])]),
    ("G91 G1 X5.\nX-1.\nG90 X5.", [(L, [6, 2, 3]), (L, [5, 2, 3])]),
    ("G90.1 G2 X3. Y2. I2. J2.", [(CW, [3, 2, 3])]),
    ("G91.1 G2 X3. Y2. I1. J0.", [(CW, [3, 2, 3])]),
    ("G92 X0.\nG1 X5.", [(L, [6, 2, 3])]),
    ("G92 X0.\nG92.1\nG1 X5.", [(L, [5, 2, 3])]),
    ("G52 X10.\nG1 X5.", [(L, [15, 2, 3])]),
    ("G93 G1 X5. F2.", [(L, [5, 2, 3])]),
    ("G94 G1 X5. F100.", [(L, [5, 2, 3])]),
    ("G95 G1 X5. F0.01", [(L, [5, 2, 3])]),
    ("G97 G1 X5.", [(L, [5, 2, 3])]),
    ("G9 G1 X5.", [(L, [5, 2, 3])]),
    ("/G1 X5.", [(L, [5, 2, 3])]),
    ("/3 G1 X5.", [(L, [5, 2, 3])]),
    ("G1 (TO FIVE) X5. (DONE)", [(L, [5, 2, 3])]),
    ("G1 X5. ; to five (X6.)", [(L, [5, 2, 3])]),
    ("N10 G1 X5.\nN20 X6.", [(L, [5, 2, 3]), (L, [6, 2, 3])]),
    ("g1x5.y6.f50.", [(L, [5, 6, 3])]),
    ("G17G90G40G1X5.Y6.F50.M8", [(L, [5, 6, 3])]),
    ("G 1 X 5. Y 6.", [(L, [5, 6, 3])]),
    ("G01 G64 G90 X5. M8 S5000", [(L, [5, 2, 3])]),
    ("F50.\nG1 X5.", [(L, [5, 2, 3])]),
    ("A30.\nG1 X5.", [(TURN, [1, 2, 3]), (L, [5, 2, 3])]),
    ("X5.", [(R, [5, 2, 3])]),
    ("\n\n  \nG1 X5.", [(L, [5, 2, 3])]),
]


@pytest.mark.parametrize(("words", "made"), MOVES, ids=[words for words, _ in MOVES])
def test_each_word_moves_the_machine_as_the_standard_says(
    words: str, made: list[tuple[int, list[float]]]
) -> None:
    program = read(words)
    assert moves(program) == made
    assert np.isfinite(program.motion.end).all()


def the_last(program: ReadProgram, name: str) -> float:
    return float(getattr(program.motion, name)[-1])


@pytest.mark.parametrize(
    ("words", "name", "value"),
    [
        ("G1 X5. F50.", "feed", 50), ("F50.\nG1 X5.", "feed", 50), ("G1 X5.\nX6.", "feed", 100),
        ("G93 G1 X5. F2.", "feed", 8), ("G95 G1 X5. F0.01", "feed", 120),
        ("G95 G1 X5. F0.01\nG94 X6. F30.", "feed", 30), ("G20\nG1 X1. F2.", "feed", 50.8),
        ("S5000\nG1 X5.", "speed", 5000), ("M5\nG0 X5.", "speed", 0),
        ("M5\nS4000 M3\nG1 X5.", "speed", 4000), ("M5\nM3 S4000\nG1 X5.", "speed", 4000),
        ("G97 S4000\nG1 X5.", "speed", 4000), ("G0 Z9.\nM5\nT2 M6\nG0 X5.", "cutter", 2),
        ("G0 Z9.\nM5\nT2\nM6\nG0 X5.", "cutter", 2), ("A30.\nG1 X5.", "angle_end", 30),
        ("A30.\nG91 A10.\nG90 G1 X5.", "angle_end", 40),
    ],
)
def test_each_word_that_switches_holds_for_what_follows(
    words: str, name: str, value: float
) -> None:
    assert the_last(read(words), name) == pytest.approx(value)


@pytest.mark.parametrize(
    ("words", "kind", "value"),
    [
        ("G4 P1.5", "dwell", 1.5), ("M0 (LOOK)", "stop", 0), ("M1", "optional-stop", 0),
        ("M7", "coolant", 0), ("M8", "coolant", 0), ("M9", "coolant", 0),
        ("G0 Z9.\nM5\nT2 M6", "cutter-change", 2), ("(NOTE)", "comment", 0),
        ("; note", "comment", 0), ("G82 X4. Y4. Z1. R2. P0.5", "dwell", 0.5),
        ("G88 X4. Y4. Z1. R2. P0.5", "stop", 0),
    ],
)
def test_each_word_that_does_something_else_is_an_event(
    words: str, kind: str, value: float
) -> None:
    program = read_program(AT_1_2_3 + words + "\nM30\n%\n", machine(optional_stop=True), "t.nc")
    first = AT_1_2_3.count("\n")
    told = [event for event in program.events if event.kind == kind and event.line > first]
    assert [event.value for event in told] == [value]


@pytest.mark.parametrize("word", ["M2", "M30", "m30", "M 30", "N90 M30"])
def test_each_word_that_ends_a_program_ends_it(word: str) -> None:
    program = read_program(f"{AT_1_2_3}G1 X5.\n{word}\nX6.\n%\n", PLAIN, "t.nc")
    assert moves(program) == [(L, [5, 2, 3])]
    assert ["behind the program's end" in one.message for one in program.findings] == [True]
    behind = f"{AT_1_2_3}G1 X5.\n{word}\n\n%\nX6.\n"
    assert not read_program(behind.replace("X6.", "(SAVED BY HAND)"), PLAIN, "t.nc").findings
    found = read_program(behind, PLAIN, "t.nc").findings
    assert ["behind the last % mark" in one.message for one in found] == [True]
    # A control without marks does not stop at one.
    unmarked = PLAIN.model_copy(update={
        "program": PLAIN.program.model_copy(update={"marks": False})})
    assert any("behind the program's end" in one.message
               for one in read_program(behind, unmarked, "t.nc").findings)


@pytest.mark.parametrize("code", [55, 56, 57, 58, 59, 59.1, 59.2, 59.3])
def test_each_zero_but_the_machines_own_is_named(code: float) -> None:
    found = read(f"G1 X5.\nG0 Z9.\nG{code:g}\nG0 X5.").findings
    assert found
    assert f"G{code:g}" in found[0].message


def test_a_length_from_the_table_is_called_for_and_cancelled() -> None:
    program = read("G1 X5.\nG0 Z9.\nG49", opening=WITH_LENGTH, on=TABLE)
    assert not program.findings
    assert read("G49\nG1 X5.", opening=WITH_LENGTH, on=TABLE).findings[0].grave


@pytest.mark.parametrize(
    ("blocks", "says", "grave"),
    [
        ("G1 G0 X5.", "contradict", True),
        ("G2 G3 I1. J0.", "contradict", True),
        ("G1 G81 X4. Z1. R2.", "contradict", True),
        ("G17 G18", "contradict", True),
        ("G20 G21", "contradict", True),
        ("G90 G91", "contradict", True),
        ("G93 G94", "contradict", True),
        ("G40 G41 D1", "contradict", True),
        ("G43 G49 H1", "contradict", True),
        ("G54 G55", "contradict", True),
        ("G61 G64", "contradict", True),
        ("G98 G99", "contradict", True),
        ("G90.1 G91.1", "contradict", True),
        ("G4 G92 X1. P1.", "contradict", True),
        ("G28 G30", "contradict", True),
        ("M3 M4", "contradict", True),
        ("M0 M1", "stop or end", True),
        ("M98 P1 M99", "stop or end", True),
        ("G1 G1 X5.", "stands twice", False),
        ("X5. X6.", "stands twice", True),
        ("F50. F60.", "stands twice", True),
        ("G1 X5 Y6.", "no decimal point", True),
        ("G1 X5. F50", "", False),
        ("G2 X3.01 Y2. I1. J0.", "does not close", True),
        ("G18 G2 X3.01 Z3. I1. K0.", "does not close", True),
        ("G3 X3. Y2. I1. J0. R1.", "both its centre and R", True),
        ("G4", "how long", True),
        ("G81 X4. R2.", "without Z", True),
        ("G81 X4. Z1.", "without R", True),
        ("G83 X4. Z1. R2.", "bite", True),
        ("G82 X4. Z1. R2.", "P is missing", True),
        ("G81 X4. Z2.5 R2.", "below its bottom", True),
        ("G93 G1 X5.", "G93 wants F", True),
        ("G43", "H", True),
        ("T1.5 M6", "not the number of a cutter", True),
        ("M98", "without the number", True),
        ("G1 X5. Q", "letter Q without a number", True),
        ("G1 X1.2.3", "not a number", True),
        ("G1 (open X5.", "not closed", True),
        ("G1 X5. / Y6.", "stroke in the middle", True),
        ("M77", "M77 is not known", True),
        ("G123 X5.", "G123 is not known", True),
        ("G1 X5. E3.", "E is not a word", True),
        ("M6.5", "M6.5 is not known", True),
    ],
)
def test_each_thing_amiss_is_named(blocks: str, says: str, grave: bool) -> None:
    found = read(blocks).findings
    mine = [one for one in found if says in one.message]
    assert bool(mine) if says else not found, [one.message for one in found]
    assert all(one.grave is grave for one in mine)
    assert all(one.line > AT_1_2_3.count("\n") for one in mine)


@pytest.mark.parametrize(
    ("opening", "blocks", "says"),
    [
        (OPENING.replace("F100.\n", "") + "G0 Z3.\nX1. Y2.\n", "G1 X5.", "F is missing"),
        (OPENING.replace("S12000 M3\n", "") + "G0 Z3.\nX1. Y2.\n", "G1 X5.", "spindle off"),
        (OPENING.replace("S12000 M3", "M3") + "G0 Z3.\nX1. Y2.\n", "G1 X5.", "S is missing"),
        (AT_1_2_3.replace("G21 ", ""), "G1 X5.", "neither G20 nor G21"),
        (AT_1_2_3.replace("G90 ", ""), "G1 X5.", "neither G90 nor G91"),
    ],
)
def test_each_word_missing_at_the_start_is_named(opening: str, blocks: str, says: str) -> None:
    program = read(blocks, opening=opening)
    assert any(says in found.message and found.grave for found in program.findings)


@pytest.mark.parametrize("letter", ["P5", "L2", "Q1.", "H1", "D1", "R2.", "I1.", "K1.", "E1"])
@pytest.mark.parametrize("word", ["M99", "M30", "M2", "M0", "M1", "M98 P100"])
def test_an_address_beside_a_word_that_ends_or_returns_is_never_dropped(
    word: str, letter: str
) -> None:
    def graves(ending: str) -> list[str]:
        body = ending if word == "M99" else "M99"
        call = "M98 P100" if word == "M99" else ending
        program = read_program(AT_1_2_3 + f"{call}\nM30\n%\nO100\nG1 X5.\n{body}\n", PLAIN)
        return [found.message for found in program.findings if found.grave]

    before = graves(word)
    if word[:3] == "M98" and letter[0] in "PL":
        assert (graves(f"{word[:3]} {letter} P100") != before) is (letter[0] == "P")
        return
    assert len(graves(f"{word} {letter}")) == len(before) + 1
    assert len(graves(f"{letter} {word}")) == len(before) + 1


@pytest.mark.parametrize(
    "sign", [*map(chr, (1, 8, 11, 12, 27, 28, 30, 127, 0x85, 0x2028, 0x202e))])
@pytest.mark.parametrize("comment", ["(NOTE X{}G0 Z-50.)", "({})", "(NOTE{})", ";NOTE X{}G0 Z-50."])
def test_a_sign_not_seen_in_a_comment_is_named(comment: str, sign: str) -> None:
    assert not read(f"G1 X5. {comment.format(' ')}").findings
    graves = [one for one in read(f"G1 X5. {comment.format(sign)}").findings if one.grave]
    assert len(graves) == 1
    assert "not seen" in graves[0].message


def test_a_circle_has_its_whole_way_round_in_each_plane() -> None:
    for words in ("G2 I2. J0.", "G18 G3 I2. K0.", "G19 G2 J0. K2."):
        assert piece_lengths(read(words).motion)[-1] == pytest.approx(4 * math.pi)
    helix = piece_lengths(read("G19 G3 J0. K2. X0.").motion)[-1]
    assert helix == pytest.approx(math.hypot(4 * math.pi, 1))
