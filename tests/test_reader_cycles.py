"""Fixed cycles are taken apart into the strokes that NISTIR 6556 gives (from memory)."""

from __future__ import annotations

import pytest
from reader_machines import AT_1_2_3, PLAIN, machine, messages, moves, read

R, L = 0, 1  # rapid, line


def test_the_worked_example_in_absolute_coordinates() -> None:
    # NISTIR 6556, section on G81, first example (from memory).
    program = read("G90 G81 G98 X4. Y5. Z1.5 R2.8")
    assert moves(program) == [
        (R, [4, 5, 3]), (R, [4, 5, 2.8]), (L, [4, 5, 1.5]), (R, [4, 5, 3])]
    assert not program.findings


def test_the_worked_example_by_distances_and_three_times() -> None:
    # NISTIR 6556, section on G81, second example (from memory).
    program = read("G91 G81 G98 X4. Y5. Z-0.6 R1.8 L3")
    assert moves(program) == [
        (R, [1, 2, 4.8]),
        (R, [5, 7, 4.8]), (L, [5, 7, 4.2]), (R, [5, 7, 4.8]),
        (R, [9, 12, 4.8]), (L, [9, 12, 4.2]), (R, [9, 12, 4.8]),
        (R, [13, 17, 4.8]), (L, [13, 17, 4.2]), (R, [13, 17, 4.8])]


def test_g99_comes_back_to_the_r_level_and_g98_to_the_height_before() -> None:
    assert moves(read("G99 G81 X4. Y5. Z1.5 R2.8"))[-1] == (R, [4, 5, 2.8])
    assert moves(read("G98 G81 X4. Y5. Z1.5 R2.8"))[-1] == (R, [4, 5, 3])


def test_the_height_before_is_that_of_the_first_hole_of_a_series() -> None:
    series = read("G99 G81 X4. Y5. Z1.5 R2.8\nG98 X6.\nG80")
    assert moves(series)[-1] == (R, [6, 5, 3])


def test_r_above_the_height_before_is_gone_to_first() -> None:
    assert moves(read("G81 X4. Y5. Z1.5 R4."))[0] == (R, [1, 2, 4])


def test_cycle_words_hold_from_hole_to_hole_until_g80() -> None:
    program = read("G81 G99 X4. Y5. Z1.5 R2.8\nX6.\nY7. Z1.\nG80\nG0 X0.")
    assert [end for kind, end in moves(program) if kind == L] == [
        [4, 5, 1.5], [6, 5, 1.5], [6, 7, 1]]
    assert moves(program)[-1] == (R, [0, 7, 2.8])


def test_pecks_come_out_and_go_back_short_of_the_last_depth() -> None:
    pecks = moves(read("G83 G99 X1. Y2. Z0. R2. Q0.8"))
    assert [end[2] for kind, end in pecks if kind == L] == [1.2, 0.4, 0.0]
    assert [end[2] for kind, end in pecks if kind == R] == [2, 2, 1.3, 2, 0.5, 2]


def test_chip_breaking_stays_in_the_hole() -> None:
    pecks = moves(read("G73 G99 X1. Y2. Z0. R2. Q0.8"))
    assert [end[2] for kind, end in pecks if kind == R] == [2, 1.3, 0.5, 2]


@pytest.mark.parametrize(
    ("word", "out", "dwells", "stops"),
    [("G81", R, 0, 0), ("G82 P0.5", R, 1, 0), ("G84", L, 0, 0), ("G74", L, 0, 0),
     ("G85", L, 0, 0), ("G86 P0.5", R, 1, 0), ("G88 P0.5", R, 1, 1), ("G89 P0.5", L, 1, 0)],
)
def test_how_each_cycle_comes_out_of_the_hole(
    word: str, out: int, dwells: int, stops: int
) -> None:
    # NISTIR 6556 (from memory): drill, dwell, tap, bore, bore and stop, bore by hand, bore, dwell.
    program = read(f"{word} G99 X1. Y2. Z0. R2.")
    assert moves(program) == [(R, [1, 2, 2]), (L, [1, 2, 0]), (out, [1, 2, 2])]
    kinds = [event.kind for event in program.events]
    assert kinds.count("dwell") == dwells
    assert kinds.count("stop") == stops


def test_a_tap_is_backed_out_with_the_spindle_reversed() -> None:
    program = read("G84 G99 X1. Y2. Z0. R2.\nG80")
    assert program.motion.speed[-2:].tolist() == [12000, -12000]


def test_a_boring_bar_is_drawn_out_with_the_spindle_stopped() -> None:
    assert read("G86 P0.1 G99 X1. Y2. Z0. R2.").motion.speed[-2:].tolist() == [12000, 0]


def test_fine_boring_moves_off_the_wall_before_it_comes_out() -> None:
    assert moves(read("G76 G99 X1. Y2. Z0. R2. I0.1 J0.")) == [
        (R, [1, 2, 2]), (L, [1, 2, 0]), (R, [1.1, 2, 0]), (R, [1.1, 2, 2]), (R, [1, 2, 2])]


def test_back_boring_goes_down_aside_and_bores_upwards() -> None:
    # NISTIR 6556, G87 (from memory): offset, down, to the centre, up to K, down, aside, out.
    assert moves(read("G87 G98 X1. Y2. Z-1. R2.5 I0.2 J0. K0.")) == [
        (R, [1, 2, 2.5]), (R, [1.2, 2, 2.5]), (R, [1.2, 2, -1]), (R, [1, 2, -1]), (L, [1, 2, 0]),
        (L, [1, 2, -1]), (R, [1.2, 2, -1]), (R, [1.2, 2, 3]), (R, [1, 2, 3])]


def test_cycles_drill_along_the_normal_of_their_plane() -> None:
    opening = AT_1_2_3 + "G18\n"
    program = read("G81 G99 X4. Z5. Y0. R1.", opening=opening)
    assert moves(program, opening) == [(R, [4, 2, 5]), (R, [4, 1, 5]), (L, [4, 0, 5]),
                                       (R, [4, 1, 5])]


def test_words_of_the_machine_file_name_its_cycles() -> None:
    own = machine(cycles={"use": True, "drill": "G181", "cancel": "G180"})
    program = read("G181 G99 X4. Y5. Z1.5 R2.8\nG180", on=own)
    assert moves(program)[-2:] == [(L, [4, 5, 1.5]), (R, [4, 5, 2.8])]
    assert not program.findings
    assert "not known" in messages(read("G181 X4. Z1. R2.", on=PLAIN))[0]


@pytest.mark.parametrize(
    ("blocks", "says"),
    [
        ("G81 X4. Y5. R2.", "without Z"),
        ("G81 X4. Y5. Z1.", "without R"),
        ("G81 X4. Y5. Z2.5 R2.", "below its bottom"),
        ("G83 X4. Y5. Z1. R2.", "bite Q"),
        ("G83 X4. Y5. Z1. R2. Q0.", "bite Q"),
        ("G83 X4. Y5. Z1. R2. Q0.000001", "pecks"),
        ("G82 X4. Y5. Z1. R2.", "P is missing"),
        ("G81 X4. Y5. Z1. R2. L-1", "times"),
        ("G81 X4. Y5. Z1. R2. L1.5", "times"),
        ("G81 X4. Y5. Z1. R2. L9000000", "times"),
        ("G80 X4.", "ends a cycle"),
    ],
)
def test_cycles_that_cannot_be_are_named(blocks: str, says: str) -> None:
    found = [finding for finding in read(blocks).findings if finding.grave]
    assert any(says in finding.message for finding in found), found
