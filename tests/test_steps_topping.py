"""Blanks larger than the tips, whose rest a topping cutter takes with the spaces."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from camgen.job.reading import parse_job
from camgen.make.causes.corrected_pair import pair_faults
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import each_proof, gather
from camgen.reader import read_program
from camgen.shop.machines import find_machine
from camgen.steps import step_words
from camgen.teeth.cut.as_cut import form_error
from camgen.teeth.cut.bought import topped_space
from camgen.teeth.forms import wheel_tooth

JOB = """
job: topped
post: plain-iso
material: brass
made-elsewhere: [bore, outline]
wheel: {{teeth: 20, module: 0.3, form: involute, thickness: 0.5, bore: 0.8}}
cutters:
  teeth: {{kind: form-disc, diameter: 16, flutes: 12, material: hss, thickness: 2, arbor: 8,
          shank: 6, reach: 15{topping}, made-for: {{form: involute, module: 0.3, teeth: 20}}}}
setups:
  - name: teeth
    dividing: {{stack: 2, backing: 1.5, arbor: 1.6, zero: touch, slender: true, blank: {blank}}}
    holding: {{by: arbor}}
    steps:
      - cut-teeth: {{cutter: teeth, passes: 2{words}}}
"""
TIP = 6.6


def failing(blank: float, topping: bool, words: str = "") -> list[str]:
    file = parse_job(JOB.format(blank=blank, topping=", topping: yes" if topping else "",
                                words=words), Path("topped.yaml"), step_words())
    machine = find_machine("plain-iso")
    one = plan_job(file, machine).setups[0]
    programs = [read_program(program.text, machine, program.file)
                for program in write_programs(one.moves, machine, stem="x")]
    evidence = gather(one.name, file.job, machine, one.layout, one.moves, programs,
                      planned_cuts=one.cuts)
    assert one.cuts[0].depth * one.cuts[0].passes == pytest.approx(0.675 + (blank - TIP) / 2)
    return [proof.id.word for proof in each_proof(evidence) if not proof.holds]


@pytest.mark.parametrize("blank", [TIP, 6.7, 6.85])
def test_what_stands_above_the_tips_is_taken_by_a_topping_cutter_alone(blank: float) -> None:
    assert failing(blank, topping=True) == []
    assert failing(blank, topping=True, words=", trial-spaces: 2, trial-short: 0.02") == []
    plain = failing(blank, topping=False)
    assert plain == ([] if blank == TIP else ["tooth-material-left"])


@pytest.mark.parametrize(("blank", "topping", "said"), [
    (6.7, False, "topping: yes with the cutter"), (6.95, True, "blank: 6.9 or less"),
    (6.85, True, ""), (TIP, False, ""),
])
def test_how_large_a_blank_may_be_is_told(blank: float, topping: bool, said: str) -> None:
    file = parse_job(JOB.format(blank=blank, topping=", topping: yes" if topping else "",
                                words=""), Path("topped.yaml"), step_words())
    remedies = [str(fault.remedy) for fault in pair_faults(file)]
    assert (remedies == []) if not said else any(said in one for one in remedies)


@pytest.mark.parametrize(("form", "teeth"), [("involute", 12), ("cycloidal", 60), ("cycloidal", 8)])
def test_tips_lie_on_the_tip_circle_and_deeper_by_what_the_cutter_goes_deeper(
        form: str, teeth: int) -> None:
    wheel = wheel_tooth(form, teeth, 0.2, 40)
    blank = wheel.tip_radius + 0.08
    space = topped_space(wheel).polygon(wheel.root_radius, blank + 0.2)
    angles = np.arange(teeth) * 360.0 / teeth
    at = form_error(wheel, space, angles, blank_radius=blank)
    assert at.left < 0.3
    assert at.missing < 0.3
    high = form_error(wheel, space, angles, blank_radius=blank, depth_offset=-0.03)
    assert high.left == pytest.approx(30.0, abs=1.0)
    low = form_error(wheel, space, angles, blank_radius=blank, depth_offset=0.03)
    assert low.missing == pytest.approx(30.0, abs=1.0)
