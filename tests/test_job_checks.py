"""A job as a thing of metal: what cannot be is named before anything is planned."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import check_job, job_faults, machine_for
from camgen.job.reading import JobFile, parse_job, read_job
from camgen.shipped import demo_jobs, shipped_folder
from camgen.shop.machine import HandHead, LinearAxis, Machine, Spindle
from camgen.steps import step_words
from camgen.yamlfile import read_yaml, validate

DEMOS = demo_jobs()


@pytest.fixture(scope="module")
def machine() -> Machine:
    return validate(Machine, read_yaml(shipped_folder("postprocessors") / "plain-iso.yaml"))


def demo(name: str, **changes: Any) -> JobFile:
    """A demo job with values changed: ``wheel__bore=3`` sets that word of the file."""
    data = yaml.safe_load((shipped_folder("jobs") / f"{name}.yaml").read_text("utf-8"))
    for way, value in changes.items():
        *words, last = [int(word) if word.isdigit() else word.replace("_", "-")
                        for word in way.split("__")]
        at = data
        for word in words:
            at = at[word]
        at[last] = value
    return parse_job(yaml.safe_dump(data, sort_keys=False), Path(f"{name}.yaml"), step_words())


def faults(job_file: JobFile, machine: Machine | None = None) -> list[Fault]:
    return job_faults(job_file, machine)


def only(job_file: JobFile, machine: Machine | None = None) -> Fault:
    found = faults(job_file, machine)
    assert len(found) == 1, [str(fault) for fault in found]
    return found[0]


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_demo_jobs_are_free_of_faults(path: Path) -> None:
    assert faults(read_job(path, step_words())) == []


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_demo_jobs_fit_the_plain_machine(path: Path, machine: Machine) -> None:
    assert faults(read_job(path, step_words()), machine) == []


def test_there_are_the_five_demo_jobs_of_the_deck_watch() -> None:
    jobs = [read_job(path, step_words()).job for path in DEMOS]
    parts = [job.wheel or job.pinion for job in jobs]
    assert len(jobs) >= 5
    assert {part.form for part in parts if part} >= {"cycloidal", "ratchet"}
    assert sum(job.pinion is not None for job in jobs) == 1
    assert {job.material for job in jobs} >= {"brass-leaded", "gold-750-yellow", "tool-steel",
                                              "free-cutting-steel"}


def test_the_train_of_the_demo_jobs_makes_a_seconds_hand() -> None:
    """Centre wheel 80 on third pinion 10, third wheel 75 on seconds pinion 10: 60 turns an hour;
    seconds wheel 80 on escape pinion 8 with 15 teeth: 18 000 beats an hour (from memory, any
    horology text)."""
    third = read_job(shipped_folder("jobs") / "third-wheel.yaml", step_words()).job.wheel
    seconds = read_job(shipped_folder("jobs") / "seconds-wheel.yaml", step_words()).job.wheel
    pinion = read_job(shipped_folder("jobs") / "seconds-pinion.yaml", step_words()).job.pinion
    assert third is not None
    assert seconds is not None
    assert pinion is not None
    assert (pinion.mate, pinion.leaves, pinion.module) == (third.teeth, third.mate, third.module)
    turns = 80 / 10 * third.teeth / pinion.leaves
    assert turns == 60
    assert seconds.mate == 8
    assert turns * seconds.teeth / seconds.mate * 15 * 2 == 18_000


def test_a_cutter_for_another_number_of_teeth_is_no_fault() -> None:
    """Its error of form is measured by the proof, not forbidden."""
    assert faults(demo("third-wheel", cutters__teeth__made_for__teeth=80)) == []


def test_a_form_cutter_that_no_tooth_setup_uses_is_not_looked_at() -> None:
    spare = {"kind": "fly-cutter", "diameter": 10, "flutes": 1,
             "made-for": {"form": "involute", "module": 1, "teeth": 20}}
    assert faults(demo("third-wheel", cutters__spare=spare)) == []


@pytest.mark.parametrize(("name", "changes", "at", "words"), [
    ("third-wheel", {"wheel__bore": 10.2}, "wheel.bore", "larger than the hub"),
    ("ratchet-wheel", {"wheel__bore": 8.5}, "wheel.bore", "root diameter"),
    ("third-wheel", {"wheel__crossing__rim": 5.1}, "wheel.crossing.rim", "fills the whole wheel"),
    ("third-wheel", {"wheel__crossing__corner": 1.8}, "wheel.crossing", ""),
    ("third-wheel", {"wheel__crossing__arm-at-hub": 1.5}, "wheel.crossing.arm-at-hub", "meet"),
    ("third-wheel", {"cutters__mill__diameter": 0.9, "wheel__crossing__corner": 0.5},
     "setups[0].steps[2].bore.cutter", "is not smaller than the bore"),
    ("ratchet-wheel", {"wheel__depth": 4}, "wheel.depth", ""),
    ("seconds-pinion", {"setups__0__dividing__stack": 3}, "setups[0].dividing.stack",
     "without a hole cannot be stacked"),
    ("seconds-pinion", {"pinion__bore": 1.2}, "pinion.bore", "root diameter"),
    ("wheel-by-hand", {"setups__0__stock__disc": 26}, "setups[0].stock.disc",
     "the pieces need a disc of"),
    ("third-wheel", {"setups__1__dividing__blank": 30}, "setups[1].dividing.blank", "twice"),
])
def test_what_cannot_be_is_named_at_its_word(
    name: str, changes: dict[str, Any], at: str, words: str
) -> None:
    found = faults(demo(name, **changes))
    assert any(fault.place.path == at and words in fault.message for fault in found), found
    assert all(fault.place.line > 0 for fault in found)


def test_the_smallest_disc_for_three_blanks_in_a_row() -> None:
    """Three blanks 9.5 mm apart: 2 × 9.5 and one blank; plane geometry."""
    fault = only(demo("wheel-by-hand", setups__0__stock__disc=26))
    need = float(fault.message.split("disc of ")[1].split(" mm")[0])
    assert faults(demo("wheel-by-hand", setups__0__stock__disc=round(need + 0.01, 2))) == []


def test_a_machine_without_a_head_is_named_where_the_job_names_it(machine: Machine) -> None:
    bare = machine.model_copy(update={"dividing": None})
    fault = only(demo("third-wheel"), bare)
    assert fault.place.path == "post"
    assert "has no dividing head" in fault.message


def test_a_division_that_the_plates_do_not_give_is_named_at_the_teeth(machine: Machine) -> None:
    """127 cannot be had by plain indexing on these circles (OD1644's plate, first side)."""
    plates = ((24, 25, 28, 30, 34, 37, 38, 39, 41, 42, 43),)
    by_hand = machine.model_copy(update={"dividing": HandHead(plates=plates)})
    changes = {"wheel__teeth": 127, "cutters__fly__made_for__teeth": 127, "wheel__mate": 12,
               "setups__0__stock__disc": 120, "setups__0__repeat__pitch": [30, 30]}
    found = faults(demo("wheel-by-hand", **changes), by_hand)
    assert any(fault.place.path == "wheel.teeth" and "127" in fault.message for fault in found)


def test_the_stack_counts_with_its_run_in_against_the_travel(machine: Machine) -> None:
    """√(h(2r − h)) for h 0.444 and r 10 is 2.947 mm: plane geometry."""
    need = 8 * 0.25 + 1.5 + 2.947 + 0.5
    short = machine.model_copy(update={"x": LinearAxis(travel=need - 0.01)})
    enough = machine.model_copy(update={"x": LinearAxis(travel=need + 0.01)})
    teeth_only = demo("third-wheel", setups__0__repeat={"columns": 1, "rows": 1, "pitch": [13, 13]})
    paths = [fault.place.path for fault in faults(teeth_only, short)]
    assert "setups[1].dividing.stack" in paths
    paths = [fault.place.path for fault in faults(teeth_only, enough)]
    assert "setups[1].dividing.stack" not in paths


def test_speeds_and_feeds_of_ones_own_must_be_within_the_machine(machine: Machine) -> None:
    slow = machine.model_copy(update={"spindle": Spindle(lowest=100, highest=3000)})
    job = demo("third-wheel", setups__1__steps__0={
        "cut-teeth": {"cutter": "teeth", "speed": 4000, "feed": 5000}})
    assert [fault.place.path for fault in faults(job, slow)] == [
        "setups[1].steps[0].cut-teeth.speed", "setups[1].steps[0].cut-teeth.feed"]


def test_all_faults_come_together_in_the_order_of_the_file(machine: Machine) -> None:
    job = demo("third-wheel", material="brss", wheel__bore=3.0, setups__1__dividing__blank=9.0,
               cutters__teeth__made_for__module=0.2)
    with pytest.raises(Refused) as no:
        check_job(job, machine)
    places = [fault.place.path for fault in no.value.faults]
    assert places == ["material", "wheel.bore", "cutters.teeth.made-for.module",
                      "setups[1].dividing.blank"]
    lines = [fault.place.line for fault in no.value.faults]
    assert lines == sorted(lines)


def test_a_material_of_the_workshops_own_is_found(tmp_path: Path) -> None:
    job = demo("third-wheel", material="our-own")
    assert only(job).place.path == "material"
    (tmp_path / "materials.yaml").write_text("our-own: {like: brass-leaded}\n")
    assert job_faults(job, None, tmp_path) == []


def test_an_unknown_machine_is_named_together_with_all_else() -> None:
    job = demo("third-wheel", post="plain-izo", wheel__bore=3.0)
    with pytest.raises(Refused) as no:
        machine_for(job)
    assert [fault.place.path for fault in no.value.faults] == ["post", "wheel.bore"]
    assert "plain-iso" in no.value.faults[0].remedy


def test_a_machine_asked_for_by_hand_comes_before_the_jobs_own() -> None:
    assert machine_for(demo("third-wheel")).name == "plain-iso"
    assert machine_for(demo("third-wheel"), "hand-dividing").name == "hand-dividing"


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_demo_jobs_fit_the_machine_they_name(path: Path) -> None:
    job_file = read_job(path, step_words())
    assert machine_for(job_file).name == job_file.job.post
