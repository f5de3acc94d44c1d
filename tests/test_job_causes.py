"""Refusals that name the cause: which cutter, which word, and a figure that works."""

from __future__ import annotations

import re

import pytest
from workshop import DRIVEN, read

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import job_faults
from camgen.plan import plan_job
from camgen.shop.machine import Machine

REVERSING = DRIVEN.model_copy(update={
    "spindle": DRIVEN.spindle.model_copy(update={"reversal_seconds": 0.2})})

PLATE = """
job: causes
material: brass
made-elsewhere: [outline]
plate:
  thickness: 1.5
  outline: {rectangle: [20, 14], corner: 2}
  holes:
    feet: {diameter: 1.2, at: [[-8, 0]], counterbore: {diameter: 3.0, depth: 0.5}}
    one: {thread: M1.6, %(more)sat: [[2, 2], [5, 2]]}
  openings: {slit: {slot: [[-3, -4], [3, -4]], width: %(wide)s}}
cutters:
  d12: {kind: drill, diameter: 1.2, flute-length: 8, reach: 10}
  own: {kind: drill, diameter: %(drill)s, flute-length: 8, reach: 10}
  head: {kind: counterbore, diameter: %(head)s, flutes: 3, flute-length: 4, reach: 8}
  cutter: {%(cutter)s, reach: 8, flute-length: 4}
  mill: {kind: end-mill, diameter: 1.0, flutes: 2, flute-length: 3, reach: 4}
setups:
  - name: top
    stock: {sheet: [30, 24], thickness: 1.5}
    holding: {by: wax, carrier: brass, carrier-thickness: 6, cut-into: 4, holds-slugs: true}
    steps:
      - drill: {cutter: d12, holes: [feet]}
      - counterbore: {cutter: head, holes: [feet-counterbore]}
      - drill: {cutter: own, holes: [one], depth: 4}
      - %(step)s
      - cut-out: {cutter: mill%(out)s}
"""
RIGHT = {"more": "", "wide": "2.0", "drill": "1.221", "head": "3.0", "out": "",
         "cutter": "kind: tap, diameter: 1.6, pitch: 0.35",
         "step": "tap: {cutter: cutter, holder-gives: 2.0}"}
MILL = {"cutter": "kind: thread-mill, diameter: 1.0, pitch: 0.35, shank: 0.8",
        "step": "thread-mill: {cutter: cutter, thread: M1.6}"}


def answers(machine: Machine = REVERSING, **words: str) -> list[Fault]:
    job = read(PLATE % {**RIGHT, **words})
    found = job_faults(job, machine)
    if found:
        return found
    try:
        plan_job(job, machine)
    except Refused as no:
        return list(no.faults)
    return []


def test_the_unharmed_plate_is_planned() -> None:
    assert answers() == []
    assert not job_faults(read(PLATE % {**RIGHT, **MILL}), REVERSING)


@pytest.mark.parametrize(("cutter", "word", "value"), [
    ("kind: tap, diameter: 1.6, pitch: 0.2", "pitch", "0.35"),
    ("kind: tap, diameter: 1.4, pitch: 0.35", "diameter", "1.6"),
    ("kind: tap, diameter: 1.4, pitch: 0.3", "diameter", "1.6"),
])
def test_a_tap_of_another_size_is_the_cause_and_not_a_missing_step(
    cutter: str, word: str, value: str
) -> None:
    (fault,) = answers(cutter=cutter)
    assert fault.message.startswith("tap finds no hole of its thread: cutter cuts")
    assert fault.place.path == f"cutters.cutter.{word}"
    assert f"write {word}: {value} with cutter" in fault.remedy


def test_a_thread_mill_for_another_thread_is_named_at_its_word() -> None:
    (fault,) = answers(cutter=MILL["cutter"], step="thread-mill: {cutter: cutter, thread: M1.4}")
    assert "no hole has a thread M1.4, which thread-mill makes" in fault.message
    assert fault.place.path == "setups[0].steps[3].thread-mill.thread"
    # Of the right name, the cutter's pitch is the cause.
    found = answers(cutter=MILL["cutter"].replace("0.35", "0.3"), step=MILL["step"])
    assert any("the cutter's pitch is 0.3 mm" in one.message for one in found)


@pytest.mark.parametrize("size", ["1.25", "1.22", "1.3", "1.2", "1.35"])
def test_the_usual_drills_for_a_thread_are_taken_and_others_answered_with_them(size: str) -> None:
    """ISO 965-2, from memory: the minor diameter of M1.6 in class 6H is 1.221 to 1.321 mm."""
    found = answers(drill=size)
    assert bool(found) == (size in ("1.2", "1.35"))
    if found:
        assert "1.221 to 1.321 mm are usual" in found[0].remedy
        assert answers(drill="1.25") == []


@pytest.mark.parametrize(("said", "size"), [("1.25", "1.3"), ("1.3", "1.25"), ("1.23", "1.25")])
def test_a_hole_said_otherwise_than_its_drill_is_answered_with_the_word_that_takes_it(
    said: str, size: str
) -> None:
    found = answers(drill=size, more=f"diameter: {said}, ")
    offered = re.search(r"diameter: ([\d.]+) with one", found[0].remedy)
    assert offered is not None
    assert answers(drill=size, more=f"diameter: {offered[1]}, ") == []


def test_a_drill_far_from_the_thread_is_not_offered_as_its_size() -> None:
    (fault,) = answers(drill="1.4")
    assert "diameter: 1.4" not in fault.remedy


@pytest.mark.parametrize("size", ["3.2", "3.05"])
def test_a_counterbore_too_wide_is_named_at_its_cutter(size: str) -> None:
    (fault,) = answers(head=size)
    assert f"head, a counterbore of {size} mm, leaves it at that" in fault.message
    assert fault.place.path == "setups[0].steps[1].counterbore.cutter"
    assert "Drill" not in fault.remedy


@pytest.mark.parametrize(("wide", "out", "word"), [
    ("0.95", "", "cutter"), ("1.05", "", "cutter"), ("1.05", ", finish: 0.04", "finish"),
    ("1.05", ", finish: 0.02", ""), ("2.0", "", ""),
])
def test_what_is_left_for_the_last_pass_is_told_from_a_cutter_that_is_too_large(
    wide: str, out: str, word: str
) -> None:
    found = answers(wide=wide, out=out)
    assert bool(found) == bool(word)
    if not found:
        return
    assert found[0].place.path.endswith(word)
    if wide == "0.95":
        assert "a cutter of 1 mm does not get into it" in found[0].message
        return
    assert "left for the last pass" in found[0].message
    offered = re.search(r"finish: ([\d.]+)", found[0].remedy)
    assert offered is not None
    assert answers(wide=wide, out=f", finish: {offered[1]}") == []


def test_a_fly_cutter_in_flat_work_is_told_what_its_step_is_done_with() -> None:
    found = []
    try:
        answers(cutter="kind: fly-cutter, diameter: 8, flutes: 1", step="face: {cutter: cutter}")
    except Refused as no:
        found = [one for one in no.faults if "is not done with cutter" in one.message]
    (fault,) = found
    assert fault.message.startswith("face is not done with cutter: a fly-cutter cuts the spaces")
    assert "end-mill" in fault.remedy
    assert "made-for" not in fault.remedy


@pytest.mark.parametrize("sign", ["", "-"])
def test_a_correction_beyond_what_far_lets_through_says_up_to_what_that_is(sign: str) -> None:
    (fault,) = answers(out=f", correction: {sign}0.45, far: true")
    offered = re.search(r"far: true goes up to ([\d.]+) mm", fault.remedy)
    assert offered is not None
    found = answers(out=f", correction: {sign}{offered[1]}, far: true")
    assert not any("is more than a cutter" in one.message for one in found)
