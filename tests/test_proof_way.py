"""The way worked out of motion arrays: arcs, chords, dog-legs. Plane geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_by_hand import motion
from sampling import few

from camgen.proof.motion.limits import spans
from camgen.proof.path import chords, dog_legs, lengths, sweeps


def test_a_quarter_turn_clockwise_sweeps_minus_ninety_degrees() -> None:
    found = motion([("cw", 1, 0, 0, 0, 0)], start=(0, 1, 0))
    assert math.degrees(sweeps(found)[0][0]) == pytest.approx(-90)


def test_an_arc_that_ends_where_it_starts_is_a_full_circle() -> None:
    found = motion([("ccw", 1, 0, 0, 0, 0)], start=(1, 0, 0))
    assert sweeps(found)[0][0] == pytest.approx(2 * math.pi)
    assert lengths(found)[0] == pytest.approx(2 * math.pi)


def test_a_helix_is_as_long_as_the_hypotenuse_of_its_circle_and_its_rise() -> None:
    found = motion([("ccw", 1, 0, -3, 0, 0)], start=(1, 0, 0))
    assert lengths(found)[0] == pytest.approx(math.hypot(2 * math.pi, 3))


@pytest.mark.parametrize(("plane", "along"), [(2, "x"), (1, "z"), (0, "y")])
def test_clockwise_is_seen_from_the_positive_end_of_the_planes_normal(
    plane: int, along: str
) -> None:
    """ISO 6983-1 with ISO 841: anticlockwise turns X to Y, Y to Z, Z to X."""
    first = "xyz".index(along)
    second = (first + 1) % 3
    start, end = [0.0] * 3, [0.0] * 3
    start[first], end[second] = 1.0, 1.0
    found = motion(
        [("ccw", *end, 0, 0, {"plane": plane, "centre": (0.0, 0.0, 0.0)})], start=tuple(start)
    )
    assert math.degrees(sweeps(found)[0][0]) == pytest.approx(90)


def test_a_way_down_is_split_as_if_it_were_no_steeper_than_is_asked() -> None:
    """4 along X or 3 along X and 4 along Y, and 12 down: as long as 4·√2, 5·√2; an arc as it is."""
    for end, plane, parts in (((5, 2, 3), 2, 8), ((5, 2, -9), 2, 12), ((4, 6, -9), 2, 15),
                              ((1, 2, -9), 2, 1)):
        found = motion([("line", *end, {"plane": plane})], start=(1, 2, 3))
        assert len(chords(found, 0.001, longest=0.5, steepest=1.0).piece) == parts
    half: dict[str, object] = {"plane": 1, "centre": (1.0, 2.0, 0.0)}
    for steepest in (1.0, math.inf):
        found = motion([("cw", 1, 2, -3, 0, 0, half)], start=(1, 2, 3))
        assert len(chords(found, 0.1, longest=0.5, steepest=steepest).piece) == math.ceil(
            3 * math.pi / 0.5)


@given(
    st.floats(0.05, 20), st.floats(-180, 180), st.floats(1, 359), st.booleans(),
    st.sampled_from([0.0001, 0.001, 0.01]),
)
@settings(max_examples=few(60), deadline=None)
def test_chords_stay_within_their_tolerance_of_the_arc(
    radius: float, begin: float, turn: float, clockwise: bool, tolerance: float
) -> None:
    a = math.radians(begin)
    b = a - math.radians(turn) if clockwise else a + math.radians(turn)
    start = (radius * math.cos(a), radius * math.sin(a), 0.0)
    end = (radius * math.cos(b), radius * math.sin(b), 0.0)
    found = motion([("cw" if clockwise else "ccw", *end, 0, 0)], start=start)
    split = chords(found, tolerance)
    middle = np.linalg.norm((split.start + split.end)[:, :2] / 2, axis=1)
    assert np.all(np.abs(middle - radius) <= tolerance * 1.001 + 1e-9)
    np.testing.assert_allclose(split.end[-1], end, atol=1e-9)
    total = np.linalg.norm(split.end - split.start, axis=1).sum()
    assert total == pytest.approx(radius * math.radians(turn), rel=0.03)


@given(
    st.lists(st.floats(-50, 50), min_size=3, max_size=3),
    st.lists(st.floats(100, 3000), min_size=3, max_size=3),
)
@settings(max_examples=few(60), deadline=None)
def test_each_axis_of_a_rapid_move_runs_at_its_own_rate(
    to: list[float], rates: list[float]
) -> None:
    way = dog_legs(np.zeros((1, 3)), np.array([to]), np.array(rates))[0]
    np.testing.assert_allclose(way[-1], to)
    times = np.sort(np.abs(to) / np.array(rates))
    for leg in range(3):
        passed = times[leg]
        expected = np.sign(to) * np.minimum(np.abs(to), np.array(rates) * passed)
        np.testing.assert_allclose(way[leg + 1], expected, atol=1e-6)


def test_the_span_of_an_arc_counts_its_bulge_not_only_its_ends() -> None:
    found = motion([("cw", 3, 4, 0, 0, 0)], start=(-3, 4, 0))
    span = spans(found)
    assert span[1, 1] == pytest.approx(5)
    assert span[0].tolist() == pytest.approx([-3, 3])
