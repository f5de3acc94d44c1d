"""Hole plates: the examples of US Army Ordnance text OD1644, and arithmetic."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.dividing import (
    angle_settings,
    compound_settings,
    divide,
    divide_by_hand,
    hole_settings,
    nearest_counts,
)
from camgen.faults import Refused
from camgen.shop.machine import HandHead

# OD1644 "Milling machine operations": both sides of the plate it shows, head 40:1.
PLATES = (
    (24, 25, 28, 30, 34, 37, 38, 39, 41, 42, 43),
    (46, 47, 49, 51, 53, 54, 57, 58, 59, 62, 66),
)


def of(count: int, plates=PLATES) -> set[tuple[int, int, int]]:
    return {(one.turns, one.holes, one.circle) for one in hole_settings(count, 40, plates)}


def test_six_divisions_as_od1644_has_them() -> None:
    # "6 turns and 12 spaces on an 18-hole circle", or 26 spaces on 39.
    assert (6, 26, 39) in of(6)
    assert (6, 12, 18) in of(6, [(18, 39)])


def test_forty_two_divisions_as_od1644_has_them() -> None:
    # "40 spaces on a 42-hole circle", or 20 on 21.
    assert (0, 40, 42) in of(42)
    assert (0, 20, 21) in of(42, [(21,)])


def test_angles_as_od1644_has_them() -> None:
    # One turn is 9 degrees = 540 minutes; 54 minutes are 2 spaces on a 20-hole circle.
    whole = angle_settings(9, 40, [(20,)])[0]
    assert (whole.turns, whole.holes, whole.error) == (1, 0, 0)
    exact = angle_settings(54 / 60, 40, [(20,)])[0]
    assert (exact.turns, exact.holes, exact.error) == (0, 2, 0)
    # 24 minutes are about 1 space on 23: 540/23 = 23.478 minutes, 31.3 seconds short.
    about = angle_settings(24 / 60, 40, [(23,)])[0]
    assert (about.turns, about.holes) == (0, 1)
    assert about.error == pytest.approx((540 / 23 - 24) * 60)


def test_127_cannot_be_had_and_the_answer_says_what_can() -> None:
    with pytest.raises(Refused) as no:
        divide_by_hand(127, 40, PLATES)
    text = str(no.value)
    assert "127 divisions cannot be made" in text
    assert "125" in text
    assert "130" in text
    # The nearest repeated move: 40/127 = 0.314961 turns; 17/54 is 0.314815, off by 4.7 arc-seconds
    # of the work each time, and 127 times that after a round.
    off = (Fraction(17, 54) - Fraction(40, 127)) * 360 * 3600 / 40
    assert "17 holes on the 54 circle" in text
    assert f"{abs(float(off)):.1f} arc-seconds" in text
    assert f"{abs(float(off)) * 127 / 60:.1f} arc-minutes" in text


def test_127_by_nearest_holes_never_sums_its_error() -> None:
    division = divide_by_hand(127, 40, PLATES, nearest_hole=True)
    circles = {circle for plate in PLATES for circle in plate}
    half_hole = 360 * 3600 / (40 * min(circles)) / 2
    assert division.worst_place_arcsec <= half_hole
    assert division.closing_arcsec <= division.worst_single_arcsec <= 2 * half_hole
    assert len(division.settings) == 127
    assert not division.choices


@settings(max_examples=few(150), deadline=None)
@given(st.integers(2, 1000), st.sampled_from([40, 60, 90, 27.5]))
def test_every_setting_turns_the_work_by_its_share_exactly(count: int, ratio: float) -> None:
    for one in hole_settings(count, ratio, PLATES):
        turns = one.turns + Fraction(one.holes, one.circle)
        assert turns * 360 / Fraction(ratio) == Fraction(360, count)
        assert 0 <= one.holes < one.circle
        assert one.circle in PLATES[one.plate - 1]


@settings(max_examples=few(60), deadline=None)
@given(st.integers(2, 1000))
def test_all_circles_that_serve_are_found(count: int) -> None:
    # Against trying every number of holes.
    turn = Fraction(40, count)
    tried = {
        (holes // circle, holes % circle, circle)
        for plate in PLATES for circle in plate
        for holes in [round(turn * circle)] if Fraction(holes, circle) == turn
    }
    assert of(count) == tried


def test_the_simplest_circle_leads_and_is_used() -> None:
    division = divide(6, HandHead(plates=((39, 18, 66), (24,))))
    assert [one.circle for one in division.choices] == [18, 24, 39, 66]
    assert division.settings[1] == "6 turns and 12 holes on the 18 circle, to hole 12"
    assert division.worst_single_arcsec == division.closing_arcsec == 0


def test_settings_follow_the_pin_from_hole_to_hole() -> None:
    division = divide_by_hand(42, 40, [(42,)])
    assert division.settings[0] == "start in hole 0 of the 42 circle"
    assert division.settings[1] == "40 holes on the 42 circle, to hole 40"
    assert division.settings[2].endswith("to hole 38")
    # Round once, the 43rd move would end where the first began.
    assert (40 * 42) % 42 == 0
    assert divide_by_hand(40, 40, [(24,)]).settings[1] == "1 turn on the 24 circle, to hole 0"


@settings(max_examples=few(20), deadline=None)
@given(st.integers(2, 1000))
def test_settings_fit_a_short_message(count: int) -> None:
    division = divide_by_hand(count, 40, PLATES, nearest_hole=True)
    for text in division.settings:
        assert len(text) <= 60
        assert text.isascii()


def test_compound_indexing_of_69_as_the_books_have_it() -> None:
    # 21/23 - 11/33 = 40/69 (from memory, any text on indexing).
    assert Fraction(21, 23) - Fraction(11, 33) == Fraction(40, 69)
    assert any(
        (one.first, one.first_circle, one.second, one.second_circle) == (21, 23, -11, 33)
        for one in compound_settings(69, 40, [(23, 33)], keep=10)
    )


@settings(max_examples=few(60), deadline=None)
@given(st.integers(2, 500))
def test_compound_moves_add_up(count: int) -> None:
    for one in compound_settings(count, 40, PLATES, keep=5):
        turn = Fraction(one.first, one.first_circle) + Fraction(one.second, one.second_circle)
        assert turn == Fraction(40, count)
        assert {one.first_circle, one.second_circle} <= set(PLATES[one.plate - 1])


def test_nearest_counts_can_be_had_and_none_nearer_can() -> None:
    below, above = nearest_counts(127, 40, PLATES, keep=1)
    for count in range(below, above + 1):
        assert bool(hole_settings(count, 40, PLATES)) == (count in (below, above))


@pytest.mark.parametrize(
    ("count", "ratio", "plates", "word"),
    [
        (1, 40, PLATES, "cannot be made"),
        (1001, 40, PLATES, "cannot be made"),
        (12, 0, PLATES, "ratio"),
        (12, 40, (), "no hole circles"),
        (12, 40, ((),), "no hole circles"),
        (12, 40, ((24, 1),), "no circle"),
    ],
)
def test_bad_heads_and_counts_are_refused(count, ratio, plates, word) -> None:
    with pytest.raises(Refused, match=word):
        divide_by_hand(count, ratio, plates)


def test_more_spaces_than_holes_are_refused() -> None:
    with pytest.raises(Refused, match="more than"):
        divide_by_hand(997, 1, [(24, 30)], nearest_hole=True)
