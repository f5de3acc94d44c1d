"""Divisions on a driven head: absolute, rounded once, errors as the drive really makes them."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.dividing import LARGEST_COUNT, divide, divide_driven
from camgen.faults import Refused
from camgen.shop.machine import DrivenHead

COUNTS = st.integers(2, LARGEST_COUNT)


@settings(max_examples=few(120), deadline=None)
@given(COUNTS, st.sampled_from([0.001, 0.0001, 0.005, 0.01]), st.sampled_from([40, 72, 90, 180]),
       st.sampled_from([400, 3200, 10_000]))
def test_every_angle_is_within_half_a_step_of_its_own_place(count, increment, ratio, steps) -> None:
    division = divide_driven(count, increment, ratio, steps)
    half = (increment + 360 / (ratio * steps)) / 2 * 3600
    assert len(division.angles) == len(division.errors) == count
    for space, (angle, error) in enumerate(zip(division.angles, division.errors, strict=True)):
        assert abs(angle - 360 * space / count) <= increment / 2 * (1 + 1e-9)
        assert abs(error) <= half * (1 + 1e-9)
        # What is written is a whole number of increments.
        assert abs(angle / increment - round(angle / increment)) < 1e-6


@settings(max_examples=few(60), deadline=None)
@given(COUNTS)
def test_nothing_adds_up_round_the_circle(count: int) -> None:
    # With summed and rounded pitches the closing error would grow with the count; here the closing
    # pitch is no worse than two roundings.
    division = divide_driven(count, 0.001, 90, 3200)
    assert division.closing_arcsec <= 2 * (0.001 + 360 / (90 * 3200)) / 2 * 3600 + 1e-9
    assert division.closing_arcsec <= division.worst_single_arcsec
    singles = [after - before for before, after in
               zip(division.errors, (*division.errors[1:], division.errors[0]), strict=True)]
    assert sum(singles) == pytest.approx(0, abs=1e-6)
    assert max(map(abs, singles)) == pytest.approx(division.worst_single_arcsec, abs=1e-9)


def test_seven_divisions_by_hand_reckoning() -> None:
    # 360/7 = 51.428571…: written 51.429; one motor step is 360/(90·3200) = 0.00125°, so the drive
    # stands at 41143 steps = 51.42875°, 0.643 arc-seconds too far.
    division = divide_driven(7, 0.001, 90, 3200)
    assert division.angles[1] == 51.429
    assert division.errors[1] == pytest.approx((51.42875 - 360 / 7) * 3600)
    # The last space, 308.571428…: written 308.571, which is 246856.8 steps, so 246857 = 308.57125°,
    # 0.643 arc-seconds short; the closing pitch is too long by as much.
    assert division.angles[6] == 308.571
    assert division.errors[6] == pytest.approx((308.57125 - 360 * 6 / 7) * 3600)
    assert division.closing_arcsec == pytest.approx(abs(308.57125 - 360 * 6 / 7) * 3600)
    assert division.worst_place_arcsec == pytest.approx(max(map(abs, division.errors)))


def test_angles_that_come_out_even_have_no_error() -> None:
    for count in (2, 3, 4, 5, 6, 8, 9, 10, 12, 15, 18, 20, 24, 72, 75, 80, 90, 120, 360):
        division = divide_driven(count, 0.001, 90, 3200)
        if (Fraction(360, count) * 800).denominator == 1:
            assert division.worst_single_arcsec == 0
            assert division.closing_arcsec == 0


def test_micrometres_are_the_arc_at_the_radius() -> None:
    division = divide_driven(7, 0.001, 90, 3200)
    # One degree at a radius of 57.29578 mm is 1 mm of arc.
    assert division.micrometres(3600, 180 / math.pi) == pytest.approx(1000)


def test_the_heads_own_error_is_added_as_a_bound() -> None:
    head = DrivenHead(pitch_error=30.0)
    division = divide(75, head)
    assert division.head_arcsec == 30
    assert division.bound_arcsec == division.worst_single_arcsec + 30


def test_a_head_too_coarse_for_the_count_is_refused() -> None:
    with pytest.raises(Refused, match="finer than"):
        divide_driven(1000, 1.0, 90, 3200)
    with pytest.raises(Refused, match="finer than"):
        divide_driven(1000, 0.001, 1, 200)


@pytest.mark.parametrize("count", [-3, 0, 1, 1001])
def test_counts_out_of_range_are_refused(count: int) -> None:
    with pytest.raises(Refused, match="cannot be made"):
        divide_driven(count, 0.001, 90, 3200)


@pytest.mark.parametrize(("increment", "ratio", "steps"), [(0, 90, 3200), (0.001, 0, 3200),
                                                           (0.001, 90, 0), (-1, 90, 3200),
                                                           (0.001, math.nan, 3200)])
def test_a_head_without_steps_is_refused(increment, ratio, steps) -> None:
    with pytest.raises(Refused, match="above 0"):
        divide_driven(12, increment, ratio, steps)
