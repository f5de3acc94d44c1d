"""Through the piece into a carrier that is not open: told in words of the job, and its remedies."""

from __future__ import annotations

import re
from itertools import product

import pytest
from message_templates import left_in_english
from sampling import sampled
from test_steps_taps import REVERSING
from workshop import read

from camgen.faults import Refused
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import Evidence, gather
from camgen.proof.table.holes_found import prove_holes_found
from camgen.reader import read_program
from camgen.words import words

JOB = """
job: threads from the other side
material: brass
plate:
  thickness: 1.2
  outline: {{circle: 14}}
  holes:
    dowels: {{diameter: 1.0, at: [[-5, 0], [5, 0]]}}
    {hole}
cutters:
  small: {{kind: drill, diameter: {small}, flute-length: 6, reach: 8}}
  d10: {{kind: drill, diameter: 1.0, flute-length: 8, reach: 10}}
  tap: {{kind: tap, diameter: 1.0, pitch: 0.25, flute-length: 6, reach: 8, material: hss}}
  reamer: {{kind: reamer, diameter: 0.8, flutes: 4, flute-length: 6, reach: 8}}
  mill: {{kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.4, reach: 2.8}}
setups:
  - name: up
    stock: {{sheet: [22, 22], thickness: 1.2}}
    holding: {{by: shellac, carrier: brass, carrier-thickness: 6, cut-into: 2.2, holds-slugs: true}}
    steps:
      - drill: {{cutter: d10, holes: [dowels]}}
      - drill: {{cutter: small, holes: [work], depth: 2.7}}
      - outline: {{cutter: mill}}
  - name: down
    {turned}
    stock: {{left-by: up, thickness: 1.2}}
    zero: {{dowel: dowels-1}}
    holding: {{by: shellac, carrier: brass, carrier-thickness: 6, cut-into: 2.2,
              holds-slugs: true{more}}}
    steps:
"""
WORK = {
    "tap": ("work: {{thread: S1.0, {face}at: [[0, -4], [0, 4]]}}", "0.76",
            "tap: {cutter: tap, holder-gives: 1.0}"),
    "reamer": ("work: {{diameter: 0.8, {face}at: [[0, -4], [0, 4]]}}", "0.75",
               "ream: {cutter: reamer, holes: [work]}"),
}
AGAIN = "drill: {cutter: small, holes: [work], depth: 2.7}"


def job(work: str, axis: str, *, relieved: str = "", again: bool = False) -> str:
    hole, small, step = WORK[work]
    text = JOB.format(
        hole=hole.format(face="face: under, " if axis else ""), small=small,
        turned=f"face: under\n    turned-over: about {axis}" if axis else "face: upper",
        more=f", relieved: {relieved}" if relieved else "")
    return text + "".join(f"      - {one}\n" for one in ([AGAIN] if again else []) + [step])


def refused(text: str) -> str:
    with pytest.raises(Refused) as no:
        plan_job(read(text), REVERSING)
    fault, *more = no.value.faults
    assert fault.place.line
    # The same of every hole alike.
    assert {one.place.line for one in more} <= {fault.place.line}
    return f"{fault.message} | {fault.remedy}"


def failing(text: str) -> list[str]:
    found, earlier, job_file = [], list[Evidence](), read(text)
    for setup in plan_job(job_file, REVERSING).setups:
        programs = [read_program(one.text, REVERSING, f"{setup.name}.nc")
                    for one in write_programs(setup.moves, REVERSING, stem=setup.name)]
        one = gather(setup.name, job_file.job, REVERSING, setup.layout, setup.moves, programs,
                     planned_cuts=setup.cuts, earlier=earlier)
        found += [f"{proof.id}: {proof.where}" for proof in prove_holes_found(one)
                  if not proof.holds]
        earlier.append(one)
    return found


@pytest.mark.parametrize(("work", "axis"), sampled(product(WORK, ["", "X", "Y"]), 4))
def test_a_closed_carrier_is_told_with_remedies_that_work(work: str, axis: str) -> None:
    told = refused(job(work, axis))
    assert "work-1" in told
    assert "no step of this setup opens what lies beneath" in told
    (deep,) = re.findall(r"relieved: ([0-9.]+)", told)
    assert failing(job(work, axis, relieved=deep)) == []
    assert failing(job(work, axis, again=True)) == []


@pytest.mark.parametrize("work", WORK)
def test_a_carrier_relieved_less_is_refused(work: str) -> None:
    (deep,) = re.findall(r"relieved: ([0-9.]+)", refused(job(work, "Y")))
    assert "opens what lies beneath" in refused(job(work, "Y", relieved=f"{float(deep) / 2:.2f}"))


def test_what_is_taken_of_the_carrier_is_told_in_every_language() -> None:
    setup = plan_job(read(job("tap", "X", relieved="2")), REVERSING).setups[1]
    (told,) = [one for one in setup.remarks if "relieved" in one]
    assert "2 mm" in told
    assert all(not left_in_english(words(language), told) for language in ("de", "fr"))


def test_only_under_holes_it_is_open() -> None:
    """The proof finds metal in a relieved carrier beside the holes, and below what is relieved."""
    text = job("tap", "Y", relieved="2")
    assert failing(text) == []
    setup = plan_job(read(text), REVERSING).setups[1]
    programs = [read_program(one.text, REVERSING, "down.nc")
                for one in write_programs(setup.moves, REVERSING, stem="down")]
    alone = gather("down", read(text).job, REVERSING, setup.layout, setup.moves, programs,
                   planned_cuts=setup.cuts, earlier=[])
    assert any(not one.holds for one in prove_holes_found(alone))
