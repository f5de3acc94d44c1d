"""What a job says is made by a step of it, or said to be made elsewhere; and in an order."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pytest
import yaml
from message_templates import left_in_english
from sampling import sampled

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import job_faults
from camgen.job.order.all_made import order_remarks, stack_remarks
from camgen.job.order.found import found_remarks
from camgen.job.reading import JobFile, parse_job
from camgen.plan import plan_job
from camgen.shipped import shipped_folder
from camgen.shop.machines import find_machine
from camgen.steps import step_words
from camgen.words import words


def data_of(name: str) -> dict[str, Any]:
    text = (shipped_folder("jobs") / f"{name}.yaml").read_text("utf-8")
    data = yaml.safe_load(text)
    assert isinstance(data, dict)
    return data


def job_from(data: dict[str, Any]) -> JobFile:
    text = yaml.safe_dump(data, sort_keys=False)
    return parse_job(text, Path("job.yaml"), step_words())


def without(data: dict[str, Any], *kinds: str) -> dict[str, Any]:
    """The job without these kinds of step; a setup left with none goes too."""
    for setup in data["setups"]:
        setup["steps"] = [step for step in setup["steps"] if not set(step) & set(kinds)]
    data["setups"] = [setup for setup in data["setups"] if setup["steps"]]
    return data


def found(data: dict[str, Any]) -> list[Fault]:
    return job_faults(job_from(data))


@pytest.mark.parametrize(
    ("left_out", "feature", "line", "step"),
    [
        (("cross-out",), "crossing", "crossing:", "cross-out"),
        (("spot", "drill", "bore"), "bore", "bore:", "bore"),
        (("cut-teeth",), "teeth", "teeth:", "cut-teeth"),
        (("outline",), "outline", "wheel:", "outline"),
    ],
)
def test_what_no_step_of_a_wheel_makes_is_refused_unless_it_is_made_elsewhere(
    left_out: tuple[str, ...], feature: str, line: str, step: str
) -> None:
    data = without(data_of("third-wheel"), *left_out)
    (fault,) = found(data)
    assert "no step makes" in fault.message
    assert f"- {step}:" in fault.remedy
    assert f"made-elsewhere: [{feature}]" in fault.remedy
    text = yaml.safe_dump(data, sort_keys=False)
    assert text.splitlines()[fault.place.line - 1].strip().startswith(line)
    assert found({**data, "made-elsewhere": [feature]}) == []


def test_all_that_is_not_made_is_told_at_once() -> None:
    data = without(data_of("third-wheel"), "drill", "bore", "cross-out", "outline")
    assert len(found(data)) == 3


def test_blanks_that_only_go_on_the_head_need_no_word() -> None:
    data = data_of("third-wheel")
    data["setups"] = [setup for setup in data["setups"] if "dividing" in setup]
    assert found(data) == []


@pytest.mark.parametrize(
    ("change", "feature"),
    sampled([
        (("pocket",), "pockets"), (("outline",), "outline"), (("bore", "drill"), "holes"),
    ], 2),
)
def test_what_no_step_of_a_plate_makes_is_refused(change: tuple[str, ...], feature: str) -> None:
    data = without(data_of("train-plate"), *change)
    # Without its holes the plate cannot be laid on dowels either, which is told besides.
    faults = [fault for fault in found(data) if "dowel" not in fault.message]
    assert any(f"made-elsewhere: [{feature}]" in fault.remedy for fault in faults)
    assert all("no step makes" in fault.message for fault in faults)
    elsewhere = found({**data, "made-elsewhere": [feature, "jewels", "threads"]})
    assert [fault for fault in elsewhere if "dowel" not in fault.message] == []


def test_a_hole_that_no_step_names_is_refused_by_its_name() -> None:
    data = data_of("train-plate")
    for step in data["setups"][0]["steps"]:
        if "holes" in step.get("drill", {}):
            step["drill"]["holes"] = [h for h in step["drill"]["holes"] if h != "dial-feet"]
    (fault,) = found(data)
    assert fault.message == "no step makes the hole dial-feet"


def teeth_only(*elsewhere: str) -> dict[str, Any]:
    data = without(data_of("third-wheel"), "spot", "drill", "bore", "outline", "cross-out")
    return {**data, "made-elsewhere": list(elsewhere)} if elsewhere else data


BLANK = ("bore", "outline", "crossing")


@pytest.mark.parametrize("named", [
    some for many in (1, 2) for some in itertools.permutations(BLANK, many)])
def test_a_blank_of_which_some_is_named_and_some_not_is_refused(named: tuple[str, ...]) -> None:
    (fault,) = found(teeth_only(*named))
    for word in BLANK:
        assert (word in fault.message.split("no step makes its")[1]) == (word not in named)
    followed = fault.remedy.split("[")[1].split("]")[0].split(", ")
    assert found(teeth_only(*followed)) == []


@pytest.mark.parametrize("named", [(), BLANK])
def test_what_a_blank_is_taken_to_come_with_is_said(named: tuple[str, ...]) -> None:
    job = job_from(teeth_only(*named))
    assert job_faults(job) == []
    (remark,) = found_remarks(job.job, 0)
    for word in BLANK:
        assert word in remark
    plan = plan_job(job, find_machine("plain-iso", None))
    assert remark in plan.setups[0].remarks
    for language in ("de", "fr"):
        assert words(language).say(remark) != remark
        assert "bore" not in words(language).say(remark)


def test_a_wheel_whose_blank_is_made_here_takes_nothing_to_be_there() -> None:
    job = job_from(data_of("third-wheel"))
    assert [found_remarks(job.job, number) for number in range(len(job.job.setups))] == [(), ()]


@pytest.mark.parametrize("step", [
    {"tap": {"cutter": "tap", "holder-gives": 1.0}},
    {"ream": {"cutter": "reamer", "holes": ["pins"], "drilled": 0.76}},
    {"counterbore": {"cutter": "sinker", "holes": ["case"]}},
])
def test_a_hole_from_elsewhere_that_is_worked_in_here_is_said(step: dict[str, Any]) -> None:
    data = {
        "job": "plate", "material": "brass", "made-elsewhere": ["outline", "holes", "threads"],
        "plate": {"thickness": 1.2, "outline": {"circle": 14}, "holes": {
            "screws": {"thread": "S1.0", "at": [[-4, 0], [4, 0]]},
            "pins": {"diameter": 0.8, "at": [[0, 4]]},
            "case": {"diameter": 0.8, "at": [[0, -4]],
                     "counterbore": {"diameter": 1.7, "depth": 0.4}}}},
        "cutters": {
            "tap": {"kind": "tap", "diameter": 1.0, "pitch": 0.25, "reach": 8, "material": "hss"},
            "reamer": {"kind": "reamer", "diameter": 0.8, "reach": 8},
            "sinker": {"kind": "counterbore", "diameter": 1.7, "flutes": 3, "reach": 8}},
        "setups": [{"name": "one", "stock": {"sheet": [20, 20], "thickness": 1.2},
                    "steps": [step]}],
    }
    ((name, words_of),) = step.items()
    hole = (words_of.get("holes") or ["screws"])[0]
    said = found_remarks(job_from(data).job, 0)
    assert len(said) == 1
    assert said[0].startswith(f"{hole} is taken to be there, made elsewhere"), name
    assert ("0.76" if name == "ream" else "0.") in said[0]


def test_teeth_before_the_blank_is_cut_out_are_refused() -> None:
    data = data_of("third-wheel")
    data["setups"].reverse()
    (fault,) = found(data)
    assert "before setup blanks" in fault.message
    assert fault.remedy == "put blanks first"


def test_a_stack_goes_on_the_arbor_only_once_it_is_bored() -> None:
    data = without(data_of("third-wheel"), "outline")
    data["made-elsewhere"] = ["outline"]
    data["setups"].reverse()
    (fault,) = found(data)
    assert "the blank is bored" in fault.message
    assert found({**data, "made-elsewhere": ["outline", "bore"]}) == []


def test_openings_may_be_cut_after_the_teeth() -> None:
    data = without(data_of("third-wheel"), "spot", "drill", "bore", "outline")
    data["made-elsewhere"] = ["outline", "bore"]
    data["setups"].reverse()
    assert found(data) == []


def outline_first(name: str) -> dict[str, Any]:
    data = data_of(name)
    data["setups"][0]["steps"].insert(0, data["setups"][0]["steps"].pop())
    return data


def test_an_outline_before_other_steps_is_remarked_on_where_something_holds_the_piece() -> None:
    job = job_from(outline_first("third-wheel"))
    (remark,) = order_remarks(job.job.setups[0])
    assert "from then on the piece is held by what it lies on alone" in remark
    plan = plan_job(job, find_machine("plain-iso", None))
    assert remark in plan.setups[0].remarks
    for language in ("de", "fr"):
        assert not left_in_english(words(language), remark)
        assert "outline" not in words(language).say(remark)
    assert order_remarks(job_from(data_of("third-wheel")).job.setups[0]) == ()


def test_an_outline_that_leaves_the_piece_loose_is_refused() -> None:
    data = outline_first("third-wheel")
    data["setups"][0]["holding"]["holds-slugs"] = False
    with pytest.raises(Refused, match="nothing holds the piece"):
        plan_job(job_from(data), find_machine("plain-iso", None))


def test_a_stack_larger_than_the_pieces_asked_for_is_noted_and_not_refused() -> None:
    data = data_of("third-wheel")
    data["quantity"] = 1
    data["setups"][1]["dividing"]["stack"] = 40
    assert stack_remarks(job_from(data).job) == ("stack of 40, but 1 piece is asked for",)
    assert found(data) == []
    data["quantity"] = 40
    assert stack_remarks(job_from(data).job) == ()
