"""Bought cutters a hair off the job's module, and traces whose fault is named for what it is."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from message_templates import left_in_english
from workshop import DRIVEN

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.job.reading import read_job
from camgen.plan import plan_job
from camgen.steps import step_words
from camgen.teeth.cut.bought import Heights
from camgen.teeth.cut.traced import traced_line
from camgen.words import words

JOB = """
job: old wheel
material: brass
wheel: {{teeth: 60, module: {module}, mate: 10, thickness: 0.3, bore: 1.0{own}}}
cutters:
  t: {{kind: form-disc, diameter: 20, flutes: 14, material: hss, thickness: 2, arbor: 12, shank: 8,
       reach: 20,
       ground: {{module: 0.3, addendum: 1.38, radius: 1.93, thickness: 1.57, depth: 2.95}}}}
setups:
  - name: teeth
    dividing: {{stack: 1, backing: 1.5, arbor: 6, zero: touch,
                front: {{nut: 6, length: 5}}, tailstock: {{centre: 4, body: 16, from: 18}}}}
    steps:
      - cut-teeth: {{cutter: t}}
"""


@pytest.mark.parametrize(("module", "seen"), [
    # What nobody sees is 5 µm along the pitch circle: 1.59 µm of module.
    (0.3, False), (0.2985, False), (0.3015, False), (0.2984, True), (0.3016, True), (0.31, True)])
def test_a_module_that_nobody_tells_from_the_cutters_is_told_and_not_refused(
    tmp_path: Path, module: float, seen: bool
) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(JOB.format(module=module, own=", tooth: as-cut"), encoding="utf-8")
    read = read_job(path, step_words())
    faults = job_faults(read)
    assert bool(faults) == seen
    for fault in faults:
        assert "is ground for module 0.3" in fault.message
        assert "write module: 0.3 with the wheel, which is then 18.000 mm" in fault.remedy
        for language in ("de", "fr"):
            assert not left_in_english(words(language), fault.remedy)
    if not seen:
        notes = [str(one) for one in plan_job(read, DRIVEN).setups[0].notes]
        told = [one for one in notes if "is ground for module 0.3" in one]
        assert bool(told) == (module != 0.3)
        off = 1000 * math.pi * abs(module - 0.3)
        assert all(f"together are {off:.1f} µm narrower" in one for one in told)
    path.write_text(JOB.format(module=module, own=""), encoding="utf-8")
    named = [fault for fault in job_faults(read_job(path, step_words()))
             if "is ground for module 0.3" in fault.message]
    assert bool(named) == (module != 0.3)


def space(
    gap: tuple[float, float] | None = None, closed: int = 0, flare: float = 0.25, power: float = 1
) -> list[tuple[float, float]]:
    """A space 0.4 mm deep, 0.2 wide at its bottom: a flank without its points between two heights,
    or a line of so many points across its top."""
    up = np.linspace(0.0, 0.4, 40)
    left = [(-0.1 - flare * high**power, high) for high in up[::-1]]
    right = [(0.1 + flare * high**power, high) for high in up]
    bottom = [(x, 0.0) for x in np.linspace(-0.1, 0.1, 12)[1:-1]]
    if gap is not None:
        right = [one for one in right if not gap[0] < one[1] < gap[1]]
    top = [(x, 0.4) for x in np.linspace(right[-1][0], left[0][0], closed)] if closed else []
    return [*left, *bottom, *right, *top]


def wrong(points: list[tuple[float, float]], opens: str | None) -> str:
    try:
        traced_line(points, opens, None, Heights())  # type: ignore[arg-type]
    except Refused as no:
        (fault,) = no.faults
        for language in ("de", "fr"):
            assert not left_in_english(words(language), fault.message)
        return str(fault.message)
    return ""


@pytest.mark.parametrize("opens", [None, "up", "down", "left", "right"])
@pytest.mark.parametrize(("flare", "power"), [(0.0, 1), (0.25, 1), (1.0, 2)])
def test_a_gap_in_a_flank_and_a_line_across_the_top_are_named(
    opens: str | None, flare: float, power: float
) -> None:
    def lying(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
        turned = [(y, x) if opens in ("left", "right") else (x, y) for x, y in points]
        return [(-x, y) if opens == "left" else (x, -y) if opens == "down" else (x, y)
                for x, y in turned]

    assert wrong(lying(space(flare=flare, power=power)), opens) == ""
    for low, high in ((0.1, 0.3), (0.12, 0.36)):
        said = wrong(lying(space((low, high), flare=flare, power=power)), opens)
        assert "one flank lacks its points from 0." in said
        assert float(said.split("from ")[1].split()[0]) == pytest.approx(low, abs=0.011)
    for closed in (20, 60):
        said = wrong(lying(space(closed=closed, flare=flare, power=power)), opens)
        assert "goes all round" in said
