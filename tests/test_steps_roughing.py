"""Spaces roughed by one cutter and formed by another: within the form, in order, everywhere."""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from arrangements import WAYS
from hypothesis import given, settings
from hypothesis import strategies as st
from planting.harness import Made, made
from sampling import few, sampled
from test_head_arrangements import drawn_up
from workshop import read

from camgen.faults import Fault, Refused
from camgen.plan import plan_job
from camgen.proof import each_proof, gather
from camgen.reader import read_program
from camgen.shop.machines import find_machine
from camgen.teeth.cut.bought import space_beside
from camgen.teeth.cut.roughed import straight_slot, within
from camgen.teeth.forms import wheel_tooth

TOP = Path(__file__).resolve().parent.parent
POSTS = [path.stem for path in sorted((TOP / "postprocessors").glob("*.yaml"))
         if find_machine(path.stem, TOP).dividing is not None]
JOB = """
job: leaves
post: plain-iso
material: brass
made-elsewhere: [bore, outline]
wheel: {{teeth: 12, module: 0.2, mate: 60, thickness: 0.5, bore: 0.8}}
cutters:
  saw: {{kind: slitting-saw, diameter: 18, flutes: 40, material: hss, thickness: 0.15, arbor: 8,
        shank: 6, reach: 15}}
  worn: &disc {{kind: form-disc, diameter: 16, flutes: 12, material: hss, thickness: 2, arbor: 8,
         shank: 6, reach: 15,
         made-for: {{form: cycloidal-wheel, module: 0.2, teeth: 12, mate: 60}}}}
  fine: {{kind: form-disc, diameter: 16, flutes: 12, material: hss, thickness: 2, arbor: 8,
         shank: 6, reach: 15,
         made-for: {{form: cycloidal-wheel, module: 0.14, teeth: 30, mate: 60}}}}
  teeth: *disc
setups:
  - name: teeth
    dividing: {{stack: 2, backing: 1.5, arbor: 1.6, zero: {zero}, slender: true{more}}}
    holding: {{by: arbor}}
    steps:
{steps}
"""
SAW, TEETH = "cutter: saw, leave: 0.05", "cutter: teeth"
WAYS_OF = [
    (SAW, f"{TEETH}, trial-spaces: 2, trial-short: 0.02"),
    (f"{SAW}, passes: 2, order: each-round", f"{TEETH}, passes: 3, order: each-round"),
    ("cutter: worn, leave: 0.03", f"{TEETH}, depth-correction: -0.01"),
    (f"{SAW}, passes: 2, last-cut: 0.1", "cutter: fine, leave: 0.02, last-cut: 0.05",
     f"{TEETH}, passes: 3, last-cut: 0.02"),
]


def text(steps: tuple[str, ...], zero: str = "touch", more: str = "") -> str:
    return JOB.format(zero=zero, more=more,
                      steps="\n".join(f"      - cut-teeth: {{{one}}}" for one in steps))


def refused(*steps: str, more: str = "", post: str = "plain-iso", zero: str = "touch"
            ) -> list[Fault]:
    try:
        plan_job(read(text(steps, zero, more)), find_machine(post, TOP))
    except Refused as no:
        return list(no.faults)
    return []


def programs(folder: Path, steps: tuple[str, ...], post: str = "plain-iso", zero: str = "touch",
             more: str = "") -> Made:
    path = folder / "jobs" / "leaves.yaml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text(steps, zero, more), encoding="utf-8")
    (one,) = made(path, post)
    return one


@pytest.mark.parametrize(("post", "how", "zero", "steps"), sampled(
    product(POSTS, WAYS[::3], ["touch", "axis"], WAYS_OF), 47))
def test_every_machine_roughs_and_forms_however_the_head_stands(
        post: str, how: tuple[str, str, str], zero: str, steps: tuple[str, ...], tmp_path: Path
) -> None:
    machine = find_machine(post, TOP)
    more = ", arrangement: {{along: {}, infeed: {}, across: {}}}".format(*how)
    if drawn_up(how, post):
        return  # refused, and told why: test_head_arrangements.py
    if machine.offsets.length == "table" and (zero == "touch" or how[2] != "Z"):
        said = [str(fault.remedy) for fault in refused(*steps, more=more, post=post, zero=zero)]
        assert any("zero: axis" in one or "across: Z" in one for one in said)
        return
    one = programs(tmp_path, steps, post, zero, more)
    if machine.offsets.stands_at and zero == "axis":
        return  # the place where its machine file has the cutter stand may lie in the stack
    assert one.first_failing(one.read) is None


REFUSED = [
    ((TEETH, TEETH), "the spaces are cut twice: step 1 forms them already"),
    ((SAW,), "no step after this one forms them"),
    ((TEETH, SAW), "no step after this one forms them"),
    (("cutter: teeth, leave: 0.05", TEETH), "both roughs and forms"),
    ((f"{SAW}, trial-spaces: 2", TEETH), "trial-spaces is for the step that forms"),
    ((f"{SAW}, depth-correction: 0.01", TEETH), "depth-correction is for the step that forms"),
    (("cutter: saw, leave: 2", TEETH), "cuts nothing"),
    (("cutter: saw", TEETH), "cannot be done with saw"),
    ((SAW, "cutter: saw, leave: 0.1", TEETH), "finds nothing left to cut"),
]


@pytest.mark.parametrize(("steps", "said"), REFUSED)
def test_what_cannot_be_meant_is_refused_with_its_place(steps: tuple[str, ...], said: str) -> None:
    assert not refused(SAW, TEETH)
    faults = refused(*steps)
    assert any(said in str(fault.message) for fault in faults), faults
    assert all(fault.place.line > 0 and fault.remedy for fault in faults)
    assert all("add leave:" in fault.remedy for fault in faults
               if "cannot be done with saw" in fault.message)


@pytest.mark.parametrize("saw", [0.33, 0.5])
def test_a_saw_that_would_take_metal_of_the_teeth_is_told_what_may_be(saw: float) -> None:
    def with_saw(width: float, leave: float) -> list[Fault]:
        job = text((f"cutter: saw, leave: {leave}", TEETH)).replace("thickness: 0.15",
                                                                   f"thickness: {width}")
        try:
            plan_job(read(job), find_machine("plain-iso", TOP))
        except Refused as no:
            return list(no.faults)
        return []

    (fault,) = with_saw(saw, 0.002)
    assert "would cut" in str(fault.message)
    for word, figure in re.findall(r"(leave:|a saw) ([\d.]+)", str(fault.remedy)):
        good = (saw, float(figure)) if word == "leave:" else (float(figure), 0.002)
        assert not with_saw(*good)
    thinner = re.search(r"a saw ([\d.]+)", str(fault.remedy))
    assert thinner is not None
    assert with_saw(float(thinner[1]) + 0.004, 0.002)


@settings(max_examples=few(60), deadline=None)
@given(teeth=st.integers(6, 200), width=st.floats(0.02, 0.6), leave=st.floats(0.002, 0.4),
       correction=st.sampled_from([0.0, -0.01, 0.02]))
def test_a_slot_lies_within_a_space_where_no_point_of_its_line_lies_in_it(
        teeth: int, width: float, leave: float, correction: float) -> None:
    """Reckoned otherwise: by the points of the tooth's line, each held against the slot."""
    tooth = wheel_tooth("cycloidal", teeth, 0.2, 10)
    depth = tooth.sizes.whole_depth + correction - leave
    if depth <= 0.02:
        return
    found = within(tooth, straight_slot(width), depth, tooth.tip_radius, correction=correction)
    line = tooth.chain(0.0001) - correction
    floor = tooth.tip_radius - depth
    inside = (line.real > floor) & (np.abs(line.imag) < width / 2)
    deep = np.minimum(line.real - floor, width / 2 - np.abs(line.imag))[inside]
    by_points = float(deep.max(initial=0.0))
    if by_points > 0.003:
        assert found.beyond > 0.0
    if found.beyond > 0.003:
        assert by_points > 0.0
    assert (found.beyond > 0.0) != (found.left > 0.0) or found.beyond == found.left == 0.0


def test_a_cutter_made_for_the_space_lies_in_it_as_deep_as_it_is() -> None:
    for form, teeth in (("cycloidal", 60), ("cycloidal", 8), ("involute", 20)):
        tooth = wheel_tooth(form, teeth, 0.2, 10)
        whole = tooth.sizes.whole_depth
        assert within(tooth, space_beside(tooth), whole, tooth.tip_radius).beyond < 0.0003
        assert within(tooth, space_beside(tooth), whole + 0.02, tooth.tip_radius).beyond > 0.015
        assert within(tooth, space_beside(tooth), whole - 0.05, tooth.tip_radius).left > 0.001


def test_who_forms_is_planned_for_what_is_left_and_never_for_less_than_a_fifth() -> None:
    alone, = plan_job(read(text((TEETH,))), find_machine("plain-iso", TOP)).setups[0].cuts
    rough, after = plan_job(read(text((SAW, TEETH))), find_machine("plain-iso", TOP)).setups[0].cuts
    assert 0.2 * alone.force < after.force < alone.force
    assert rough.width == pytest.approx(0.15, rel=0.02)
    # A slot's section beside the whole space's, by hand: width times depth.
    whole = alone.width * alone.depth * alone.passes
    share = 0.15 * rough.depth * rough.passes / whole
    assert after.force / alone.force == pytest.approx(1.0 - share, abs=0.03)


PLANTED = [
    ("roughed-within", lambda line, step: line.replace(DEEP[0], DEEP[1]) if step == 1 else line),
    ("roughed-before", lambda line, step: "" if step == 1 and line.startswith("G1 X") else line),
    ("spaces-missing", lambda line, step: "" if step == 2 and line.startswith("G1 X") else line),
]
DEEP = ["", ""]


@pytest.mark.parametrize(("proof", "change"), PLANTED, ids=[one[0] for one in PLANTED])
def test_what_roughing_spoils_or_leaves_out_is_found(proof: str, change: object, tmp_path: Path
                                                     ) -> None:
    assert callable(change)
    one = programs(tmp_path, (SAW, TEETH))
    whole = one.planned.layout.tooth.sizes.whole_depth  # type: ignore[union-attr]
    DEEP[:] = [f"Y{whole - 0.05:.3f}".rstrip("0"), f"Y{whole + 0.05:.3f}"]
    assert proof not in _failing(one, one.texts[0])
    step, lines = 0, []
    for line in one.texts[0].split("\n"):
        step = int(line[6]) if line.startswith("(STEP") else step
        lines.append(change(line, step))
    assert f"head.{proof}" in _failing(one, "\n".join(lines))


def _failing(one: Made, program: str) -> list[str]:
    again = read_program(program.encode(), one.machine, "x.nc",
                         infeed=one.planned.moves.retract_axis)
    evidence = gather(one.planned.name, one.job, one.machine, one.planned.layout,
                      one.planned.moves, [again], planned_cuts=one.planned.cuts)
    return [str(proof.id) for proof in each_proof(evidence) if not proof.holds]


def test_each_cutter_is_told_its_own_zeros(tmp_path: Path) -> None:
    alone, both = programs(tmp_path, (TEETH,)), programs(tmp_path, (SAW, TEETH))
    assert "(SET ZERO OF Y FOR THIS CUTTER)" in alone.texts[0]
    assert both.texts[0].count("(SET ZERO OF Y Z FOR THIS CUTTER)") == 2
    said = " ".join(both.planned.remarks)
    assert "set Z anew" in said
    assert "half a pitch, 15.000°" in said
