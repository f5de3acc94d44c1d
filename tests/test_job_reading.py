"""Job files read: units, steps and where every word stood."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any, ClassVar, Literal

import pytest
import yaml
from pydantic import BaseModel, Field
from sampling import sampled

from camgen.faults import Fault, Place, Refused
from camgen.job.models import Job, StepWords
from camgen.job.reading import JobFile, parse_job, read_job
from camgen.job.units import in_mm
from camgen.part.declaration import Declaration, MakesFace, MakesMarks, Named
from camgen.shipped import demo_jobs
from camgen.shop.cutters import Ability
from camgen.shop.model import Length
from camgen.steps import step_words


class Dimple(StepWords):
    """A kind of step that no room of the program knows: the reader takes what it is given."""

    kind: ClassVar[str] = "dimple"
    depth: Length | None = None
    passes: int = Field(1, ge=1)
    way: Literal["in", "out"] = "in"

    def declares(self) -> Declaration:
        return Declaration((MakesMarks(Named(), self.depth),), (Ability.SPOT,))


KINDS = {"dimple": Dimple}

TEXT = """job: a wheel
units: {units}
material: brass
wheel: {{teeth: 60, module: 0.2, mate: 10, thickness: 0.02, bore: 0.04}}
cutters:
  mill: {{kind: end-mill, diameter: 0.02, run-out: 0.0001}}
setups:
  - name: one
    stock: {{sheet: [2, 1], thickness: 0.02}}
    repeat: {{columns: 2, pitch: [0.6, 0.6]}}
    safe-height: 0.2
    clearance: 0.06
    holding: {{by: wax, clamps: [[-1, -1, 0, 0, 0.1]]}}
    steps:
      - dimple: {{cutter: mill, depth: 0.01, feed: 2, speed: 5000}}
      - dimple:
          cutter: mill
"""


def read(units: str = "mm") -> JobFile:
    return parse_job(TEXT.format(units=units), Path("a.yaml"), KINDS)


def test_millimetres_are_taken_as_they_are() -> None:
    job = read().job
    assert job.setups[0].stock is not None
    assert job.setups[0].stock.sheet == (2, 1)
    assert job.setups[0].steps == (Dimple(cutter="mill", depth=0.01, feed=2, speed=5000),
                                   Dimple(cutter="mill"))


def test_inches_become_millimetres_wherever_a_length_or_feed_is_meant() -> None:
    """One inch is 25.4 mm exactly (international yard and pound agreement, 1959)."""
    job = read("inch").job
    setup = job.setups[0]
    step = setup.steps[0]
    assert isinstance(step, Dimple)
    assert setup.stock is not None
    assert setup.repeat is not None
    assert setup.holding is not None
    assert job.wheel is not None
    assert (setup.stock.sheet, setup.stock.thickness) == ((50.8, 25.4), 0.508)
    assert setup.repeat.pitch == (15.24, 15.24)
    assert setup.holding.clamps == ((-25.4, -25.4, 0.0, 0.0, 2.54),)
    assert (setup.safe_height, setup.clearance) == (5.08, 1.524)
    assert (job.cutters["mill"].diameter, job.cutters["mill"].run_out) == (0.508, 0.00254)
    assert (job.wheel.thickness, job.wheel.bore) == (0.508, 1.016)
    assert (step.depth, step.feed) == (0.254, 50.8)
    # What is no length stays: speeds, counts, and the module, which is in mm by definition.
    assert (step.speed, job.wheel.module, job.wheel.teeth) == (5000, 0.2, 60)


def test_defaults_are_millimetres_in_an_inch_file_too() -> None:
    text = TEXT.format(units="inch").replace("    safe-height: 0.2\n", "")
    assert parse_job(text, Path("a.yaml"), KINDS).job.setups[0].safe_height == 5.0


def test_faulty_data_is_left_for_the_checking_that_follows() -> None:
    data = {"wheel": {"bore": "wide", "nothing": 3}, "cutters": 4, "setups": (None, {"name": True})}
    assert in_mm(Job, data) == data


def test_places_may_leave_out_the_word_of_the_step() -> None:
    job_file = read()
    with_word = job_file.place("setups", 0, "steps", 0, "dimple", "depth")
    assert with_word == job_file.place("setups", 0, "steps", 0, "depth")
    assert (with_word.line, with_word.column) == (15, 39)


def test_a_fault_that_knows_its_path_is_given_its_line() -> None:
    job_file = read()
    fault = job_file.located(Fault("too deep", "", Place(path="setups[0].steps[0].dimple.depth")))
    assert fault.place == Place("a.yaml", 15, 39, "setups[0].steps[0].dimple.depth",
                                ("setup one", "step 1 (dimple)", "depth"))
    elsewhere = Fault("other", "", Place(file="b.yaml", line=3, path="x"))
    assert job_file.located(elsewhere) is elsewhere
    assert job_file.located(Fault("nowhere")) == Fault("nowhere")


def test_faults_of_steps_and_of_the_rest_come_together_in_order() -> None:
    text = TEXT.format(units="mm").replace("bore: 0.04", "bor: 0.04").replace(
        "speed: 5000", "speed: 0, way: inn").replace("cutter: mill\n", "cuter: mill\n")
    with pytest.raises(Refused) as no:
        parse_job(text, Path("a.yaml"), KINDS)
    planted = [
        (4, "wheel.bor"),
        (15, "setups[0].steps[0].dimple.speed"),
        (15, "setups[0].steps[0].dimple.way"),
        (17, "setups[0].steps[1].dimple.cuter"),
    ]
    told = [(fault.place.line, fault.place.path) for fault in no.value.faults]
    # A step that only dimples leaves more to tell of, as soon as the rest is looked at.
    assert [one for one in told if one in planted] == planted
    assert [line for line, _ in told] == sorted(line for line, _ in told)


def test_ranges_are_told_in_the_files_own_figures() -> None:
    text = TEXT.format(units="inch").replace("depth: 0.01", "depth: -0.5")
    with pytest.raises(Refused, match=r"depth: -0.5 is not allowed"):
        parse_job(text, Path("a.yaml"), KINDS)


@pytest.mark.parametrize("text", ["- a\n- b\n", "75\n", "job\n", "'x'\n", "[]\n", "null\n"])
def test_a_file_that_is_no_job_at_all_is_said_to_be_none(text: str) -> None:
    with pytest.raises(Refused, match="the file is no job"):
        parse_job(text, Path("a.yaml"), KINDS)


def test_a_missing_file_is_refused_with_its_name(tmp_path: Path) -> None:
    with pytest.raises(Refused, match=r"wheel.yaml: there is no such file"):
        read_job(tmp_path / "wheel.yaml", KINDS)


def test_a_new_kind_of_step_needs_nothing_of_the_reader() -> None:
    class Polish(StepWords):
        kind: ClassVar[str] = "polish"
        strokes: int = Field(ge=1)

        def declares(self) -> Declaration:
            return Declaration((MakesFace(),), (Ability.MILL_FLOOR,))

    text = TEXT.format(units="mm").replace("- dimple: {cutter: mill, depth: 0.01, feed: 2, "
                                           "speed: 5000}", "- polish: {cutter: mill, strokes: 3}")
    job = parse_job(text, Path("a.yaml"), {**KINDS, "polish": Polish}).job
    assert job.setups[0].steps[0] == Polish(cutter="mill", strokes=3)


def in_inches(model: type[BaseModel], data: Any) -> Any:
    """The data with every number divided by 25.4 that reading would multiply."""
    def divided(before: Any, after: Any) -> Any:
        if isinstance(before, dict):
            return {word: divided(before[word], after[word]) for word in before}
        if isinstance(before, (list, tuple)):
            return [divided(*pair) for pair in zip(before, after, strict=True)]
        return before / 25.4 if before != after else before

    def as_tuples(part: Any) -> Any:
        if isinstance(part, dict):
            return {word: as_tuples(value) for word, value in part.items()}
        return tuple(map(as_tuples, part)) if isinstance(part, list) else part

    return divided(data, in_mm(model, as_tuples(data)))


def same(one: Any, other: Any) -> bool:
    if isinstance(one, float):
        return math.isclose(one, other, rel_tol=0, abs_tol=1e-8)
    if isinstance(one, BaseModel):
        return type(one) is type(other) and all(
            same(getattr(one, name), getattr(other, name))
            for name in type(one).model_fields if name != "units")
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(one[word], other[word]) for word in one)
    if isinstance(one, tuple):
        return len(one) == len(other) and all(map(same, one, other))
    return bool(one == other)


# A job based on another is written in that one's units.
@pytest.mark.parametrize("path", sampled([path for path in demo_jobs()
                                  if "based-on" not in path.read_text("utf-8")], 2),
                         ids=lambda path: path.stem)
def test_a_demo_job_written_in_inches_is_the_same_job(path: Path) -> None:
    kinds = step_words()
    data = yaml.safe_load(path.read_text("utf-8"))
    inches = in_inches(Job, data)
    assert inches != data
    inches["units"] = "inch"
    for setup in inches["setups"]:
        setup["steps"] = [{kind: in_inches(kinds[kind], words) for kind, words in step.items()}
                          for step in setup["steps"]]
    again = parse_job(yaml.safe_dump(inches), path, kinds).job
    assert same(read_job(path, kinds).job, again)
