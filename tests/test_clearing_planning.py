"""How much planning pockets costs: each thing is worked out once, and little more than geometry."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench_clearing_time import (
    KEPT,
    MILL,
    POCKETS,
    SMALL,
    STEP,
    bare_seconds,
    job_of,
    planning_seconds,
    written,
)

from camgen.job.reading import read_job
from camgen.plan import plan_job
from camgen.shop.machines import find_machine
from camgen.steps import step_words
from camgen.steps.areas import pocket_cuts, pocket_ladder

# Over a bare ladder, less what a plate with hardly a pocket takes: 2 to 20 measured, small pockets
# the most; held with room for a machine that does other things too.
MOST_OVER = 60.0


def test_what_a_pocket_step_cuts_is_worked_out_once_however_many_steps_follow(
    tmp_path: Path,
) -> None:
    """Check, plan and remarks ask of every step, and each later step of all before it."""
    pockets = {name: {"circle": 3.0, "at": [6.0 * number, 0], "depth": 0.3}
               for number, name in enumerate(("one", "two", "three", "four"))}
    job = job_of(pockets)
    job["setups"][0]["steps"] = [{"pocket": {"cutter": "mill", "pockets": [name]}}
                                 for name in pockets]
    file = written(tmp_path, job)
    for kept in KEPT:
        kept.cache_clear()
    plan_job(read_job(file, step_words()), find_machine("plain-iso", tmp_path))
    assert pocket_cuts._kept_cuts.cache_info().misses == len(pockets)
    assert pocket_ladder._laddered.cache_info().misses <= len(pockets)


@pytest.mark.long
@pytest.mark.parametrize("name", ["20 x 20", "60 x 40", "ring with four islands"])
def test_a_ladder_is_planned_in_little_more_than_its_geometry_takes(
    name: str, tmp_path: Path
) -> None:
    small = planning_seconds(written(tmp_path, job_of(SMALL)))
    file = written(tmp_path, job_of(POCKETS[name]))
    spent = planning_seconds(file)
    plan = plan_job(read_job(file, step_words()), find_machine("plain-iso", tmp_path))
    bare = bare_seconds(plan.setups[0].layout, MILL / 2, STEP * MILL)
    assert spent - small < MOST_OVER * bare
    assert spent < 10.0
