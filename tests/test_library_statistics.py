"""Run charts and capability against worked figures."""

from __future__ import annotations

import pytest

from camgen.library.over_runs.statistics import (
    ENOUGH,
    capability,
    chart_limits,
    cutter_lives,
    size_histories,
)
from camgen.library.record import (
    CutterUsed,
    JobFingerprints,
    Pieces,
    ProofRecord,
    Run,
    SizeMeasured,
)

# Viscosity of fifteen batches of primer paint: the worked example of control charts for single
# values in Montgomery, Introduction to Statistical Quality Control (figures from memory): mean
# 33.52, mean range 0.48, limits 34.80 and 32.24, range limit 1.57.
VISCOSITY = (33.75, 33.05, 34.00, 33.81, 33.46, 34.02, 33.68, 33.27, 33.49, 33.20, 33.62, 33.00,
             33.54, 33.12, 33.84)


def test_chart_limits_agree_with_the_worked_viscosity_example() -> None:
    limits = chart_limits(VISCOSITY)
    assert limits.mean == pytest.approx(33.52, abs=0.005)
    assert limits.mean_range == pytest.approx(0.48, abs=0.005)
    assert limits.upper == pytest.approx(34.80, abs=0.015)
    assert limits.lower == pytest.approx(32.24, abs=0.015)
    assert limits.range_upper == pytest.approx(1.57, abs=0.02)
    assert limits.beyond == ()


def test_a_value_beyond_three_deviations_is_pointed_out() -> None:
    assert chart_limits((*VISCOSITY, 36.0)).beyond == (15,)


def test_capability_is_one_when_three_deviations_reach_the_limits() -> None:
    # By the definition of ISO 22514-2: limits six deviations apart about the mean give 1.
    values = [10.0 - 1.0, 10.0 + 1.0] * 20
    deviation = (40 / 39) ** 0.5
    found = capability(values, 10 - 3 * deviation, 10 + 3 * deviation)
    assert found.performance == pytest.approx(1.0)
    assert found.nearest == pytest.approx(1.0)
    off = capability(values, 10 - 3 * deviation, 10 + 6 * deviation)
    assert off.nearest == pytest.approx(1.0)
    assert off.performance == pytest.approx(1.5)


def test_no_capability_is_claimed_of_few_pieces() -> None:
    with pytest.raises(ValueError, match="too few"):
        capability([1.0] * (ENOUGH - 1), 0.0, 2.0)
    with pytest.raises(ValueError, match="two values"):
        chart_limits([1.0])


def _run(verdict: str, spaces: int, measured: tuple[float, ...] = ()) -> Run:
    return Run(
        when="2026-01-02", post="plain-iso", pieces=Pieces(made=1),
        cutters=(CutterUsed(name="teeth", what="form-disc 20", spaces=spaces, minutes=2.0,
                            verdict=verdict),),  # type: ignore[arg-type]
        sizes=(SizeMeasured(size="bore", nominal=0.8, lower=0.79, upper=0.81,
                            measured=measured),) if measured else (),
        prints=JobFingerprints(job="a", tables="b", machine="c", writer="d"),
    )


def test_a_cutters_life_ends_when_it_breaks_and_a_new_one_begins() -> None:
    record = ProofRecord(form=1, job="x", runs=(
        _run("fine", 75), _run("broke", 40), _run("fine", 80)))
    (life,) = cutter_lives(record)
    assert life.lives == (("broke", 115, 4.0),)
    assert (life.spaces, life.minutes) == (80, 2.0)


def test_sizes_are_followed_over_all_runs_and_judged_by_their_limits() -> None:
    record = ProofRecord(form=1, job="x", runs=(
        _run("", 1, (0.8, 0.82)), _run("", 1), _run("", 1, (0.78,))))
    (history,) = size_histories(record)
    assert history.values == (0.8, 0.82, 0.78)
    assert history.runs == (1, 1, 3)
    assert history.outside == 2
