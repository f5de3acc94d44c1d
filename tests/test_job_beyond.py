"""Cutters too short in their edges, ways beyond the machine's travel, walls too thin: each is told
by its word before anything is proved, and what is just enough is planned."""

from __future__ import annotations

import re

import pytest
from job_sweep import JOBS
from sampling import sampled
from workshop import DRIVEN, read

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import job_faults
from camgen.plan import plan_job
from camgen.shop.machine import Machine

# A plate 1.5 mm thick and a wheel of 1 mm, cut right through by 0.05 mm; a pocket 1 mm deep.
HOLDING = ("holding: {by: shellac on brass, carrier: brass, carrier-thickness: 6, cut-into: 1, "
           "holds-slugs: true}")
PLATE = f"""
job: short edges
material: brass
made-elsewhere: [outline, holes, openings, pockets]
plate:
  thickness: 1.5
  outline: {{circle: 10}}
  holes: {{wide: {{diameter: 1.5, at: [[3, 0]]}}}}
  openings: {{eye: {{circle: 2.4, at: [0, -3]}}}}
  pockets: {{bay: {{circle: 2.4, depth: 1.0, at: [0, 2.5]}}}}
cutters:
  mill: {{kind: end-mill, diameter: 0.8, flutes: 2, %(mill)s, reach: 3}}
setups:
  - name: one
    stock: {{sheet: [14, 14], thickness: 1.5}}
    {HOLDING}
    steps:
      - %(step)s: {{cutter: mill}}
"""
WHEEL = f"""
job: short edges
material: brass
made-elsewhere: [bore, outline, teeth]
wheel:
  {{teeth: 40, module: 0.2, mate: 10, thickness: 1.0, bore: 0.80,
   crossing: {{arms: 4, hub: 2.4, rim: 0.6, arm: 0.5, corner: 0.3}}}}
cutters:
  mill: {{kind: end-mill, diameter: 0.5, flutes: 2, %(mill)s, reach: 3}}
setups:
  - name: one
    stock: {{sheet: [14, 14], thickness: 1.0}}
    {HOLDING}
    steps:
      - cross-out: {{cutter: mill}}
"""
# How deep each step goes beside standing metal, mm.
DEEP = {"outline": 1.55, "cut-out": 1.55, "bore": 1.55, "pocket": 1.0, "cross-out": 1.05}


def answers(text: str, machine: Machine = DRIVEN) -> tuple[Fault, ...]:
    job = read(text)
    try:
        found = job_faults(job, machine)
        if found:
            return tuple(found)
        plan_job(job, machine)
    except Refused as no:
        return no.faults
    return ()


@pytest.mark.parametrize("shank", ["", "shank: 3", "shank: same", "shank: hair", "shank: thin"])
@pytest.mark.parametrize("edges", [-0.01, 0.0, 0.01])
@pytest.mark.parametrize("step", sampled(DEEP, 9))
def test_edges_shorter_than_a_cut_is_deep_are_named_unless_the_shank_is_relieved(
    step: str, edges: float, shank: str
) -> None:
    wide = 0.5 if step == "cross-out" else 0.8
    thick = {"": "", "shank: same": f", shank: {wide}", "shank: hair": f", shank: {wide - 0.006}",
             "shank: thin": f", shank: {wide - 0.02}", "shank: 3": ", shank: 3"}[shank]
    mill = f"flute-length: {DEEP[step] + edges:g}{thick}"
    text = WHEEL % {"mill": mill} if step == "cross-out" else PLATE % {
        "mill": mill, "step": step}
    found = answers(text)
    if edges < 0 and shank != "shank: thin":
        (fault,) = found
        assert "flute-length" in f"{fault.message} {fault.remedy} {fault.place.path}" or (
            "cuts over" in fault.message), fault
        assert fault.place.line
    else:
        assert found == ()


def test_the_flute_length_that_is_offered_is_enough() -> None:
    words = {"step": "outline"}
    (fault,) = answers(PLATE % {"mill": "flute-length: 1.52", **words})
    offered = re.search(r"flute-length: ([\d.]+)", fault.remedy)
    assert offered
    assert answers(PLATE % {"mill": f"flute-length: {offered[1]}", **words}) == ()


# --- travel ---------------------------------------------------------------------------------------

REPEATED = PLATE.replace("    steps:", "    repeat: {columns: 2, rows: 1, pitch: [12, 12]}\n"
                         "    steps:").replace("[14, 14]", "[30, 14]")
ONE = {"mill": "flute-length: 2"}


def with_travel(**travel: float) -> Machine:
    return DRIVEN.model_copy(update={
        axis: DRIVEN.axis(axis.upper()).model_copy(update={"travel": far})
        for axis, far in travel.items()})


# The outline is gone round at 0.4 mm, and led onto beyond; openings at 0.4 mm within.
@pytest.mark.parametrize(("text", "step", "axis", "least", "most", "word"), sampled([
    (PLATE, "outline", "x", 10.8, 12.5, "plate"),
    (PLATE, "outline", "y", 10.8, 12.5, "plate"),
    (PLATE, "cut-out", "y", 1.6, 1.7, "plate"),
    (PLATE, "bore", "x", 0.7, 0.8, "plate"),
    (PLATE, "pocket", "y", 1.6, 1.7, "plate"),
    (PLATE, "face", "x", 14.0, 20.0, "setups[0].stock"),
    (REPEATED, "outline", "x", 22.8, 24.5, "setups[0].repeat"),
    (REPEATED, "cut-out", "x", 13.6, 13.7, "setups[0].repeat"),
], 2))
def test_ways_beyond_the_machines_travel_are_told_by_what_takes_them(
    text: str, step: str, axis: str, least: float, most: float, word: str
) -> None:
    job = text % {**ONE, "step": step}
    if step == "face":
        job = job.replace("14], thickness: 1.5", "14], thickness: 1.6")
    assert answers(job, with_travel(**{axis: most})) == ()
    (fault,) = answers(job, with_travel(**{axis: least - 0.1}))
    assert "travels" in fault.message
    assert fault.place.path == word
    assert fault.place.line


def test_a_cut_below_the_stock_counts_in_the_travel_of_z() -> None:
    job = (PLATE % {**ONE, "step": "outline"}).replace("    steps:",
                                                       "    safe-height: 8\n    steps:")
    assert answers(job, with_travel(z=9.55)) == ()
    for travel in (9.54, 9.5, 9.0):
        (fault,) = answers(job, with_travel(z=travel))
        assert fault.place.path == "setups[0].safe-height"
        offered = re.search(r"safe-height: ([\d.]+)", fault.remedy)
        assert offered
        again = job.replace("safe-height: 8", f"safe-height: {offered[1]}")
        assert answers(again, with_travel(z=travel)) == ()


def test_what_is_asked_beyond_the_travel_is_told_before_any_of_it_is_planned(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    places = [(x, y) for x in (-78, 20, 78.5) for y in (-78, 30, 70)]
    eyes = ", ".join(f"o{n}: {{circle: 1.2, at: [{x}, {y}]}}" for n, (x, y) in enumerate(places))
    text = (PLATE % {**ONE, "step": "cut-out"}).replace("[14, 14]", "[170, 170]")
    text = text.replace("{circle: 10}", "{rectangle: [163, 163]}")
    text = text.replace("eye: {circle: 2.4, at: [0, -3]}", eyes)
    monkeypatch.setattr("camgen.plan.planned_steps", pytest.fail)
    found = answers(text, with_travel(x=120.0, y=140.0))
    assert [fault.place.path for fault in found] == ["plate", "plate"]
    assert "along X" in found[0].message
    assert "156." in found[0].message
    assert "along Y" in found[1].message


# --- thin walls of a crossing ---------------------------------------------------------------------


@pytest.mark.parametrize(("word", "before", "after"), [
    ("arm", "arm: 0.5", "arm: 0.01"),
    ("arm", "arm: 0.5", "arm: 0.09"),
    ("arm", "arm: 0.5", "arm: 0.09, arm-at-hub: 0.4"),
    ("arm-at-hub", "arm: 0.5", "arm: 0.5, arm-at-hub: 0.09"),
    ("rim", "rim: 0.6", "rim: 0.09"),
    ("hub", "hub: 2.4", "hub: 0.98"),
])
def test_a_wall_of_a_crossing_thinner_than_may_be_is_named(
    word: str, before: str, after: str
) -> None:
    job = JOBS["wheel"]
    assert before in job
    found = job_faults(read(job.replace(before, after)), DRIVEN)
    assert f"wheel.crossing.{word}" in [fault.place.path for fault in found]
    fault = next(one for one in found if one.place.path == f"wheel.crossing.{word}"
                 and "thinner than a wall" in one.message)
    size = re.search(r": ([\d.]+) or more", fault.remedy)
    let = re.search(r"least-wall: ([\d.]+)", fault.remedy)
    assert size
    assert let
    number = after.rpartition(" ")[2] if word != "arm" else after.split(": ")[1].split(",")[0]
    for again in (job.replace(before, after.replace(number, size[1])),
                  job.replace(before, after).replace("bore: 0.80",
                                                     f"bore: 0.80, least-wall: {let[1]}")):
        assert not [one for one in job_faults(read(again), DRIVEN)
                    if "thinner than a wall" in one.message]
