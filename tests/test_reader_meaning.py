"""Words mean what ISO 6983-1 says (from memory), in the order NISTIR 6556 gives (from memory)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from reader_machines import AT_1_2_3, OPENING, PLAIN, grave, last, machine, messages, moves, read

from camgen.reader import read_program

R, L, CW, CCW, TURN = 0, 1, 2, 3, 4


def test_motion_words_hold_until_another() -> None:
    program = read("G1 X5.\nY6.\nG0 Z9.\nX0.")
    assert moves(program) == [(L, [5, 2, 3]), (L, [5, 6, 3]), (R, [5, 6, 9]), (R, [0, 6, 9])]
    assert not program.findings


def test_distances_add_and_places_replace() -> None:
    assert moves(read("G91 G0 X5. Z-1.\nX1.\nG90 X1.")) == [
        (R, [6, 2, 2]), (R, [7, 2, 2]), (R, [1, 2, 2])]


def test_inches_are_lengths_and_feeds_of_25_4_mm() -> None:
    inch = machine(program={"units": "inch"})
    program = read("G1 X2. F10.", opening=AT_1_2_3.replace("G21", "G20"), on=inch)
    assert last(program, "end") == [50.8, 50.8, 76.2]
    assert last(program, "feed") == [254]
    assert program.units == "inch"


def test_a_feed_may_stand_in_a_block_of_its_own() -> None:
    assert last(read("F33.\nG1 X5."), "feed") == [33]


def test_clockwise_is_seen_from_the_positive_end_of_the_third_axis() -> None:
    # ISO 6983-1 and ISO 841 (from memory): G2 from 12 to 3 o'clock, seen from +Z, by the short way.
    program = read("G2 X2. Y1. I0. J-1.")
    assert moves(program) == [(CW, [2, 1, 3])]
    assert last(program, "centre")[:2] == [1, 1]
    assert not program.findings


def test_planes_take_their_own_centres() -> None:
    zx = read("G18 G2 X2. Z2. I0. K-1.")
    assert last(zx, "plane") == [1]
    assert [last(zx, "centre")[axis] for axis in (0, 2)] == [1, 2]
    yz = read("G19 G3 Y3. Z4. J0. K1.")
    assert last(yz, "plane") == [0]
    assert last(yz, "centre")[1:] == [2, 4]
    assert not zx.findings
    assert not yz.findings


def test_an_arc_that_ends_where_it_starts_is_a_full_circle() -> None:
    for words in ("G3 I1. J0.", "G3 X1. Y2. I1. J0.", "G3 I1."):
        program = read(words)
        assert moves(program) == [(CCW, [1, 2, 3])]
        assert not program.findings


def test_an_arc_with_a_third_axis_is_a_helix() -> None:
    assert moves(read("G2 I1. J0. Z1.")) == [(CW, [1, 2, 1])]


@pytest.mark.parametrize(
    ("words", "centre"),
    [
        ("G2 X2. Y1. R1.", (1, 1)),
        ("G3 X2. Y1. R1.", (2, 2)),
        ("G2 X2. Y1. R-1.", (2, 2)),
        ("G3 X2. Y1. R-1.", (1, 1)),
        ("G2 X1. Y4. R1.", (1, 3)),
        ("G2 X1. Y4. R0.9995", (1, 3)),
    ],
)
def test_centres_from_radius(words: str, centre: tuple[float, float]) -> None:
    program = read(words)
    assert last(program, "centre")[:2] == pytest.approx(centre, abs=2e-3)
    assert not program.findings


def test_absolute_centres_by_word_and_by_machine() -> None:
    assert last(read("G90.1 G2 X2. Y1. I1. J1."), "centre")[:2] == [1, 1]
    absolute = machine(arcs={"style": "absolute"})
    assert last(read("G2 X2. Y1. I1. J1.", on=absolute), "centre")[:2] == [1, 1]
    assert last(read("G91.1 G2 X2. Y1. I0. J-1.", on=absolute), "centre")[:2] == [1, 1]


@pytest.mark.parametrize(
    ("end", "closes"), [("X3.0019", True), ("X3.0021", False)]
)
def test_arcs_may_be_two_thousandths_off_and_no_more(end: str, closes: bool) -> None:
    # NISTIR 6556 (from memory): an error where the two radii differ by more than 0.002 mm.
    program = read(f"G3 {end} Y2. I1. J0.")
    assert (not grave(program)) is closes


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("G2 X2. Y1. I0. J-1. R1.", "both its centre and R"),
        ("G2 X2. Y1.", "neither centre nor radius"),
        ("G2 X9. Y1. R1.", "more than twice the radius"),
        ("G2 X1. Y2. R1.", "end is its start"),
        ("G2 I0. J0.", "no radius"),
        ("G2 X2. Y1. I0. J-1. K1.", "not in the arc's plane"),
        ("G90.1 G2 X2. Y1. I1.", "half of an absolute centre"),
        ("G1 X2. I1.", "I without the word"),
        ("G1 X2. R1.", "R without the word"),
    ],
)
def test_arcs_that_cannot_be_are_named(words: str, says: str) -> None:
    assert any(says in message for message in grave(read(words)))


def test_what_follows_an_impossible_arc_begins_at_its_end() -> None:
    program = read("G2 X9. Y1. R1.\nG1 X9. Y5.")
    assert moves(program) == [(L, [9, 1, 3]), (L, [9, 5, 3])]


def test_blocks_to_skip_are_carried_out_and_named_when_they_move() -> None:
    program = read("/G1 X5.\n/M1")
    assert moves(program) == [(L, [5, 2, 3])]
    assert [found.line for found in program.findings] == [AT_1_2_3.count("\n") + 1]


def test_an_arc_all_but_the_whole_way_round_is_named() -> None:
    # On a circle of 2 mm, a step of 0.001 mm along it: the short way and the long way.
    assert not read("G3 X1. Y1.999 I2. J0.").findings
    assert "all but the whole way round" in messages(read("G2 X1. Y1.999 I2. J0."))[0]
    assert not read("G2 I2. J0.").findings


def test_dwell_in_the_machines_word_and_unit() -> None:
    def dwell(words: str, **how: object) -> float:
        program = read(words, on=machine(dwell=how))
        assert not program.findings
        return next(event.value for event in program.events if event.kind == "dwell")

    assert dwell("G4 P0.5") == 0.5
    assert dwell("G4 P500", unit="ms") == 0.5
    assert dwell("G04 X1500", word="X", unit="ms") == 1.5
    assert dwell("G4 F2.", word="F") == 2.0
    assert grave(read("G4 X1.")) == ["G4 without its P word: how long is not said"]
    assert grave(read("G4 P-1."))


def test_spindle_sense_and_speed_go_with_each_piece() -> None:
    program = read("G1 X5.\nS5000\nX6.\nM5\nG0 X7.")
    assert program.motion.speed[-3:].tolist() == [12000, 5000, 0]
    both = machine(spindle={"senses": ["clockwise", "anticlockwise"]})
    assert read("M4\nG1 X5.", on=both).motion.speed[-1] == -12000
    assert grave(read("M4\nG1 X5."))


def test_stops_come_after_the_move_of_their_block() -> None:
    program = read("G1 X5. M0 (LOOK)")
    stop = next(event for event in program.events if event.kind == "stop")
    assert stop.text == "LOOK"
    assert stop.before == len(program.motion)


def test_coolant_and_clamps_are_told() -> None:
    clamped = machine(rotary={"clamp": "M10", "unclamp": "M11"})
    program = read("M8\nM11\nA10.\nM10\nM9", on=clamped)
    kinds = [event.kind for event in program.events]
    assert kinds[-5:] == ["coolant", "unclamp", "clamp", "coolant", "end"]
    assert [event.text for event in program.events if event.kind == "coolant"] == [
        "coolant on", "coolant off"]


def test_feed_by_time_and_by_turn() -> None:
    inverse = read("G93 G1 X4. Y6. F2.\nG94 F50. X0.")
    assert inverse.motion.feed[-2:].tolist() == [10.0, 50.0]
    quarter = read("G93 G2 X2. Y1. I0. J-1. F3.")
    assert quarter.motion.feed[-1] == pytest.approx(3 * math.pi / 2)
    assert grave(read("G93 G1 X5. F2.\nX6.")) == ["G93 wants F in every block that cuts"]
    assert read("G95 G1 X5. F0.01").motion.feed[-1] == pytest.approx(120.0)


def test_changing_the_feed_mode_forgets_the_feed() -> None:
    assert "without a feed" in grave(read("G95\nG94\nG1 X5."))[0]


# Offsets and other coordinates


def test_shifts_move_the_zero_and_not_the_machine() -> None:
    assert moves(read("G92 X0. Y0.\nG0 X1. Y1.\nG92.1\nX0.")) == [(R, [2, 3, 3]), (R, [0, 3, 3])]
    assert moves(read("G52 X10. Y20.\nG0 X1. Y1.\nG52 X0. Y0.\nX1.")) == [
        (R, [11, 21, 3]), (R, [1, 21, 3])]
    assert moves(read("G92 X0.\nG92.2\nG0 X5.\nG92.3\nX5.")) == [(R, [5, 2, 3]), (R, [6, 2, 3])]


def test_absolute_centres_shift_with_the_zero() -> None:
    program = read("G52 X10. Y0.\nG0 X1. Y2.\nG90.1 G2 X2. Y1. I1. J1.")
    assert last(program, "centre")[:2] == [11, 1]
    assert not grave(program)


def test_reference_moves_go_by_their_middle_point() -> None:
    program = read("G28 X5. Y6.\nG0 X0. Y0.")
    assert moves(program)[0] == (R, [5, 6, 3])
    assert moves(read("G91 G28 Z0.\nG90 G0 X4."))[-1] == (R, [4, 2, 3])


def test_up_to_machine_zero_counts_as_the_greatest_height() -> None:
    away = machine(retract={"way": "machine", "machine-z": -5})
    program = read("G1 Z-1.\nG53 G0 Z-5.\nX9.\nG0 Z2.\nG1 Z-1.", on=away)
    assert moves(program)[2] == (R, [9, 2, 3])
    assert not grave(program)
    assert "below the height" in grave(read("G53 G0 Z-6.", on=away))[0]


def test_another_work_offset_is_another_zero() -> None:
    few = machine(offsets={"further": ["G55"]})
    assert "another zero" in grave(read("G56\nG0 Z3.", on=few))[0]
    assert grave(read("G55\nG0 X1. Y2. Z3."))


def test_another_station_is_told_by_its_offset_and_found_anew_from_above() -> None:
    there = read("G1 Z-1.\nG0 Z3.\nG55\nG0 Z3.\nX1. Y2.\nG1 Z-1.\nG0 Z3.")
    assert grave(there) == []
    assert there.motion.station.tolist() == [1, 1, 1, 1, 2, 2, 2, 2]
    assert there.motion.end[-1].tolist() == [1.0, 2.0, 3.0]
    assert "before it has gone clear" in grave(read("G0 Z3.\nG55\nX1. Y2.\nG1 Z-1."))[0]


def test_a_zero_that_changes_while_the_cutter_is_down_is_grave() -> None:
    assert "cutter is down" in grave(read("G1 Z-1.\nG55\nG0 Z3."))[0]
    again = "G1 X9.\n" * 60
    assert "cutter is down" in grave(read(f"{again}G1 Z-1.\nG55\nG0 Z3."))[0]
    assert grave(read("G1 Z-1.\nG54\nG0 Z3.")) == []


def test_lengths_from_the_table_must_be_called_for() -> None:
    table = machine(offsets={"length": "table"}, change={"way": "automatic"})
    opening = AT_1_2_3.replace("G0 Z3.", "G43 H1\nG0 Z3.")
    assert not grave(read("G1 X5.", opening=opening, on=table))
    assert "G43 H is missing" in grave(read("G1 X5.", on=table))[0]
    wrong = read("G1 X5.", opening=opening.replace("H1", "H2"), on=table)
    assert "while cutter 1" in grave(wrong)[0]
    assert grave(read("G43 H1"))
    assert "number H" in grave(read("G43", on=table))[0]


def test_cutter_side_is_said_not_to_be_shown() -> None:
    assert "table" in grave(read("G41 D1\nG1 X5.\nG40"))[0]


# Numbers


def test_numbers_without_points_count_in_the_last_place_where_the_machine_says_so() -> None:
    steps = machine(numbers={"point": "never"})
    opening = "%\nG21 G17 G90 G94 G40 G49 G80 G54\nT1 M6\nS12000 M3\nG0 Z3000\nX1000 Y2000\n"
    program = read("G1 X5000 F1200\nA30500", opening=opening, on=steps)
    assert program.motion.end[-1].tolist() == [5, 2, 3]
    assert program.motion.feed[-2] == 120
    assert program.motion.angle_end[-1] == 30.5


def test_a_lost_point_is_named_where_the_machine_wants_one() -> None:
    program = read("G1 X5")
    found = next(found for found in program.findings if "no decimal point" in found.message)
    assert (found.line, found.column, found.grave) == (AT_1_2_3.count("\n") + 1, 4, True)
    assert not read("G1 X0 Y0").findings
    assert not read("G1 X5", on=machine(numbers={"point": "needed"})).findings


# What is amiss is named, with its place


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("G1 G0 X5.", "contradict"),
        ("G17 G18", "contradict"),
        ("G90 G91", "contradict"),
        ("G28 G92 X1.", "contradict"),
        ("G92 G1 X1.", "both want"),
        ("M3 M5", "contradict"),
        ("M0 M30", "stop or end"),
        ("X1. X2.", "stands twice"),
        ("G5 X1.", "G5 is not carried out"),
        ("G25 X1.", "G25 is not known"),
        ("G1.5 X1.", "G1.5 is not known"),
        ("M77", "M77 is not known"),
        ("E5.", "E is not a word"),
        ("Q5.", "Q without"),
        ("F0.\nG1 X5.", "a feed of 0"),
        ("G1 X5. F-3.", "a feed of -3"),
        ("S90000", "this spindle turns"),
        ("S-5", "a spindle speed of"),
        ("T1.5", "not the number of a cutter"),
        ("M5\nG1 X5.", "spindle off"),
        ("G80\nX5.", "no move word"),
        ("G91 G53 G0 X1.", "G91"),
        ("G2\nG53 X1.", "wants G0 or G1"),
        ("G1 X1.", ""),
    ],
)
def test_what_is_amiss_is_named(words: str, says: str) -> None:
    found = grave(read(words))
    assert any(says in message for message in found) if says else not found, found


def test_words_left_to_the_last_program_are_named() -> None:
    def opening(without: str) -> str:
        return AT_1_2_3.replace(without, "").replace("  ", " ")

    assert "G20 nor G21" in grave(read("", opening=opening("G21")))[0]
    assert "G90 nor G91" in grave(read("", opening=opening("G90")))[0]
    assert "G54" in messages(read("", opening=opening("G54")))[0]
    assert "G40 G80" in messages(read("", opening=opening("G40").replace("G80 ", "")))[0]


def test_cutting_from_an_unknown_place_is_named() -> None:
    assert "Y has been given" in grave(read("G1 X5.", opening=OPENING + "G0 Z3.\nX1.\n"))[0]
    assert "before it has gone clear" in grave(read("", opening=OPENING + "G0 X1. Y2.\n"))[0]
    assert "from a place that is not known" in grave(
        read("G2 X1. Y1. R5.", opening=OPENING + "G0 Z3.\nX1.\n"))[0]


def test_a_new_cutter_by_hand_must_first_go_clear() -> None:
    assert "gone clear" in grave(read("G0 Z9.\nM5\nT2 M6\nM0\nM3\nG0 X9.\nZ1.\nG1 Z0."))[0]
    assert not grave(read("G0 Z9.\nM5\nT2 M6\nM0\nM3\nG0 Z9.\nX9. Y2.\nZ1.\nG1 Z0."))
    assert "while the spindle is on" in grave(read("G1 Z1.\nG0 Z9.\nT2 M6"))[0]


def test_the_cutter_told_must_be_the_cutter_called() -> None:
    assert "told to fit" in grave(read("M5\n(FIT CUTTER 3 DRILL)\nT2 M6"))[0]


def test_a_cutter_may_be_told_by_message_alone() -> None:
    told = machine(change={"word": None})
    program = read("M5\n(FIT CUTTER 3 DRILL D0.8)\nM0\nM3\nG0 Z3.\nX1. Y2.\nG1 Z0.", on=told)
    assert program.motion.cutter[-1] == 3
    change = [event for event in program.events if event.kind == "cutter-change"][-1]
    assert (change.value, change.text) == (3, "DRILL D0.8")


def test_the_machines_own_blocks_are_taken_on_trust() -> None:
    own = machine(insert={"before_step": ["M64 P1"], "program_start": ["G12.3"]})
    program = read("M64 P1\nG12.3\nG1 X5.", on=own)
    assert not grave(program)
    assert len(program.findings) == 2


def test_numbers_of_blocks_show_one_that_is_lost_or_out_of_place() -> None:
    def found(numbers: str) -> list[str]:
        return messages(read("\n".join(
            f"N{number} G1 X{number}." for number in numbers.split())))

    assert found("10 20 30 10 20 30") == []
    assert found("5 7 9 11 13") == []
    assert "may be lost" in found("10 20 40 50")[0]
    assert "out of its place" in found("10 30 20 40")[0]
    assert "doubled" in found("10 20 20 30")[0]
    long = " ".join(str(at) for at in range(10, 2000, 10))
    assert found(long) == []
    assert "N1000 after N980" in found(long.replace(" 990", ""))[0]


def test_endings_are_looked_at() -> None:
    assert "no end word" in grave(read_program(AT_1_2_3 + "%", PLAIN))[0]
    assert "no end word" in grave(read_program(AT_1_2_3, PLAIN))[0]
    assert grave(read_program("", PLAIN))
    assert grave(read_program("\n\n \n", PLAIN))
    assert "% mark at the end" in messages(read_program(AT_1_2_3 + "M30\n", PLAIN))[0]
    assert "% mark at the start" in messages(read_program(AT_1_2_3[2:] + "M30\n%", PLAIN))[0]


def test_nothing_after_the_end_is_carried_out() -> None:
    program = read_program(AT_1_2_3 + "M30\nG1 Z-50.\n%\nG1 Z-50.\n", PLAIN)
    assert program.motion.end[:, 2].min() == 3


def test_line_ends_of_every_sort_give_the_same_lines() -> None:
    text = AT_1_2_3 + "G1 X5.\nM30\n%\n"
    plain = read_program(text, PLAIN)
    for ending in ("\r\n", "\r"):
        other = read_program(text.replace("\n", ending).encode(), PLAIN)
        assert other.lines == plain.lines
        assert np.array_equal(other.motion.line, plain.motion.line)
        assert not other.findings


def test_findings_stay_few_however_bad_the_text() -> None:
    program = read("\n".join(f"G1 X{at + 1}" for at in range(3000)))
    assert 20 <= len(program.findings) <= 25
    assert any("2980 places" in found.message for found in program.findings)


def test_a_cutter_put_in_without_its_own_length_is_grave() -> None:
    """After a change the length of the cutter before it stays in force until G43 is said again."""
    on = machine(change={"way": "automatic"}, offsets={"length": "table"})
    head = ("G90 G21 G17 G94\nT1 M6\nG43 H1\nS12000 M3\nG0 Z5.\nG0 X0. Y0.\nG1 Z-0.1 F50.\n"
            "G0 Z5.\nM5\n")
    tail = "T2 M6\n%sS12000 M3\nG0 Z5.\nG0 X1. Y0.\nG1 Z-0.1 F50.\nG0 Z5.\nM5\nM30"
    wrong = [f.message for f in read(head + tail % "", opening="", on=on).findings if f.grave]
    assert any("cutter 2 with the length of cutter 1 in force" in one for one in wrong), wrong
    right = [f.message for f in read(head + tail % "G43 H2\n", opening="", on=on).findings]
    assert not any("length" in one for one in right), right
