"""A size that drifts or wanders over the runs is named, and one that does neither is left alone."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.library.over_runs.drifting import Trend, drift_of, drift_told
from camgen.library.over_runs.statistics import SizeHistory


def history(size: str, runs: list[list[float]], limits: tuple[float, float] | None = None
            ) -> SizeHistory:
    pairs = [(number, value) for number, values in enumerate(runs, 1) for value in values]
    low, high = limits or (None, None)
    return SizeHistory(size, "mm", 0.22, low, high, tuple(number for number, _ in pairs),
                       tuple(value for _, value in pairs))


@pytest.mark.parametrize(("size", "up", "said"), [
    ("tooth-thickness", True, "the cutter wears and cuts narrower"),
    ("over-pins", True, "the cutter wears and cuts narrower"),
    ("tooth-thickness", False, "runs out sideways"),
    ("root", True, "shallower"), ("root", False, "deeper"), ("whole-depth", True, "deeper"),
    ("outside", True, "the cutter wears"), ("bore", False, "the cutter wears"),
])
def test_a_steady_change_is_named_with_what_to_do(size: str, up: bool, said: str) -> None:
    step = 0.001 if up else -0.001
    told = drift_told(history(size, [[0.22 + step * n] for n in range(6)]))
    assert said in told
    assert "0.005" in told


def test_a_limit_ahead_is_foretold() -> None:
    runs = [[0.22 + 0.001 * n] for n in range(6)]
    assert "in about 5 pieces" in drift_told(history("over-pins", runs, (0.21, 0.23)))
    assert "in about" not in drift_told(history("over-pins", runs, (0.21, 0.224)))


def test_a_zero_that_wanders_from_run_to_run() -> None:
    runs = [[10.06, 10.061], [10.085, 10.086], [10.059, 10.06], [10.08, 10.082]]
    found = drift_of(history("root", runs))
    assert found is not None
    assert found.way is Trend.BOTH
    assert "touched differently each time" in drift_told(history("root", runs))
    # Pieces of one run that differ as much among themselves wander no more than that.
    assert drift_of(history("root", [[10.06, 10.085], [10.086, 10.061], [10.06, 10.08]])) is None


@pytest.mark.parametrize("runs", [
    [[0.22]], [[0.22, 0.22, 0.22, 0.22, 0.22, 0.22]], [[0.22], [0.221], [0.22], [0.221]],
    # Rising, but by less than is measured.
    [[0.22 + 0.0002 * n] for n in range(6)],
])
def test_what_does_not_drift_is_left_alone(runs: list[list[float]]) -> None:
    assert drift_told(history("tooth-thickness", runs)) == ""


@settings(max_examples=few(60), deadline=None)
@given(st.randoms(use_true_random=False))
def test_a_trend_is_seen_through_scatter_and_turns_with_its_sign(chance: random.Random) -> None:
    values = [0.22 + 0.002 * n + chance.uniform(-0.002, 0.002) for n in range(12)]
    rising = drift_of(history("over-pins", [[value] for value in values]))
    falling = drift_of(history("over-pins", [[0.44 - value] for value in values]))
    assert rising is not None
    assert falling is not None
    assert (rising.way, falling.way) == (Trend.UP, Trend.DOWN)
    assert rising.each == pytest.approx(falling.each, abs=1e-6)
    assert rising.each == pytest.approx(0.002, abs=0.001)
