"""How wide a bounded pass is: as clears most in a minute, its engagement still kept."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from bench_clearing import measured_of
from bench_clearing_time import job_of, written
from test_shapes_clearing_rest import CASES

from camgen.clearing.clearing import cleared
from camgen.cutting.planner import plan_milling
from camgen.job.reading import read_job
from camgen.plan import plan_job
from camgen.shop.machines import find_machine
from camgen.shop.materials import find_material
from camgen.steps import step_words
from camgen.steps.areas.pocket_ladder import WIDTH_SHARES


def test_the_widest_pass_keeps_its_engagement_too() -> None:
    area, radius, gone = CASES["an L after a cutter that left a skin"]
    found = cleared(area, radius, 2 * WIDTH_SHARES[-1] * radius, gone=gone)
    done = measured_of(area, radius, found, gone)
    angle = np.concatenate([one.angle for one in done])
    length = np.concatenate([one.length for one in done])
    met = angle > 0.02
    within = length[met & (angle <= 1.1 * found.planned)].sum()
    assert within >= 0.99 * length[met].sum()


@pytest.mark.parametrize("material", [
    "brass", pytest.param("pinion-steel", marks=pytest.mark.long),
    pytest.param("gold-750", marks=pytest.mark.long)])
def test_a_rest_cutter_takes_the_width_that_clears_most_in_a_minute(
    material: str, tmp_path: Path
) -> None:
    """A square cleared by two cutters: the second one meets ground that is free."""
    job = job_of({"square": {"rectangle": [2.6, 2.6], "corner": 0.45, "depth": 0.6}})
    job["material"] = material
    job["cutters"]["large"] = {"kind": "end-mill", "diameter": 2.0, "flutes": 2,
                               "flute-length": 4, "reach": 6}
    job["setups"][0]["steps"] = [{"pocket": {"cutter": "large"}}, {"pocket": {"cutter": "mill"}}]
    job_file = read_job(written(tmp_path, job), step_words())
    machine, cutter = find_machine("plain-iso", tmp_path), job_file.job.cutters["mill"]
    planned = plan_job(job_file, machine).setups[0]
    cut = planned.cuts[-1]

    def rate(width: float) -> float:
        """mm² of floor in a minute, to the whole depth."""
        one = plan_milling(find_material(material), cutter, machine, width, 0.6)
        return width * one.feed / one.passes

    usual = [rate(share * cutter.diameter) for share in WIDTH_SHARES]
    assert cut.width > 0.15 * cutter.diameter
    assert rate(cut.width) >= max(usual) / 1.05
