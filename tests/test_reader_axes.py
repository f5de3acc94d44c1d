"""The dividing head, and axes with letters and senses of their own, as the reader takes them."""

from __future__ import annotations

import pytest
from reader_machines import AT_1_2_3, grave, last, machine, moves, read

from camgen.reader.motion import Kind

R, L, CW, CCW, TURN = 0, 1, 2, 3, 4


# The dividing head


@pytest.mark.parametrize(
    ("way", "words", "angles"),
    [
        ("absolute", ("A350.", "A370.", "A-10."), [350, 370, -10]),
        ("one-way", ("A350.", "A10.", "A5."), [350, 370, 725]),
        ("shortest", ("A170.", "A200.", "A10.", "A350."), [170, 200, 370, 350]),
        ("signed", ("A90.", "A-80.", "A10.", "A-360."), [90, 80, 370, 360]),
        ("incremental", ("G91 A90.", "A-80."), [90, 10]),
    ],
)
def test_the_head_turns_as_its_control_takes_the_word(
    way: str, words: tuple[str, ...], angles: list[float]
) -> None:
    head = {"kind": "driven", "take_up": 0}
    program = read("G0 " + "\n".join(words), on=machine(rotary={"way": way}, dividing=head))
    assert program.motion.angle_end[-len(angles):].tolist() == pytest.approx(angles)
    assert set(program.motion.kind[-len(angles):].tolist()) == {int(Kind.INDEX)}
    assert not program.findings


def test_a_head_that_counts_backwards_turns_the_other_way() -> None:
    reversed_head = machine(dividing={"kind": "driven", "sense": "reversed"})
    assert read("G0 A30.", on=reversed_head).motion.angle_end[-1] == -30


def test_half_a_turn_is_not_certain_by_the_shorter_way() -> None:
    assert "which way round" in grave(read("G0 A180.", on=machine(rotary={"way": "shortest"})))[0]


def test_an_axis_that_is_not_there_is_named() -> None:
    assert "no such axis" in grave(read("G0 B5."))[0]
    assert "no such axis" in grave(read("G0 A5.", on=machine(dividing=None)))[0]


def test_a_second_head_must_stand_where_it_is_to_stand() -> None:
    two = machine(second_rotary={"letter": "B", "stands_at": 90})
    assert not read("G0 B90.", on=two).findings
    assert grave(read("G0 B80.", on=two))


def test_a_head_turned_by_hand_is_told_by_message() -> None:
    by_hand = machine(dividing={"kind": "by-hand", "plates": [[15, 16]]})
    program = read("(SPACE 2 AT 4.8 DEG 0 TURNS 8 HOLES ON 15)\nM0", on=by_hand)
    told = [event for event in program.events if event.kind == "hand-index"]
    assert [event.value for event in told] == [4.8]
    assert program.motion.angle_end[-1] == 4.8
    assert program.motion.kind[-1] == Kind.INDEX


# Axes with letters and senses of their own


def test_an_axis_that_counts_backwards_mirrors_the_way() -> None:
    mirrored = machine(x={"sense": "reversed"})
    program = read("G2 X2. Y1. I0. J-1.", on=mirrored)
    assert moves(program) == [(CCW, [-2, 1, 3])]
    assert last(program, "centre")[:2] == [-1, 1]


def test_an_axis_may_have_a_letter_of_its_own() -> None:
    lettered = machine(z={"letter": "W"})
    program = read("G1 W1.", opening=AT_1_2_3.replace("Z3.", "W3."), on=lettered)
    assert moves(program, AT_1_2_3) == [(L, [1, 2, 1])]
    assert not program.findings
