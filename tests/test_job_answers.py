"""One word of a job wrong at a time: the answer names that word, and what it offers is accepted."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sampling import sampled
from workshop import read

from camgen.faults import Fault, Refused, no_less, no_more
from camgen.job.checks.whole_job import job_faults
from camgen.job.order.deeds import features_of_job
from camgen.job.order.opened import opened_before
from camgen.job.part import limits_of
from camgen.make.causes.corrected_pair import pair_faults
from camgen.make.chain import proved_job
from camgen.part.features import Hole
from camgen.plan import plan_job
from camgen.shipped import shipped_folder
from camgen.shop.fits import class_limits
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine

PLATE = """
job: answers
material: brass
plate:
  thickness: 1.2
  outline: {circle: 14}
  holes:
    pins: {diameter: 0.8, at: [[0, 4], [0, -4]]}
    wide: {diameter: 1.5, at: [[3, 0]]}
    blind: {diameter: 0.8, depth: 0.6, at: [[-4.5, 2]]}
    screws: {thread: S1.0, countersink: 1.3, at: [[-4, -2]]}
  pockets: {bay: {rectangle: [3, 2], corner: 0.6, depth: 0.4, at: [-1, 0]}}
cutters:
  cone: {kind: spot-drill, diameter: 2.0, point-angle: 90, reach: 6}
  sink: {kind: countersink, diameter: 3, flutes: 3, reach: 8}
  d076: {kind: drill, diameter: 0.76, flute-length: 6, reach: 8}
  d08: {kind: drill, diameter: 0.8, flute-length: 6, reach: 8}
  tm: {kind: thread-mill, diameter: 0.6, pitch: 0.25, flutes: 3, reach: 2}
  tap: {kind: tap, diameter: 1.0, pitch: 0.25, flute-length: 5, reach: 8, material: hss}
  mill: {kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.0, reach: 2.4}
  fine: {kind: end-mill, diameter: 0.6, flutes: 2, flute-length: 2.0, reach: 2.4}
setups:
  - name: one
    stock: {sheet: [20, 20], thickness: 1.2}
    holding: {by: shellac on brass, carrier: brass, carrier-thickness: 6, cut-into: 2.4,
              holds-slugs: true}
    steps:
"""
STEPS = {
    "spot": "cutter: cone, holes: [pins, wide, blind]",
    "drill": "cutter: d08, holes: [pins, wide, blind]",
    "drill-2": "cutter: d076, holes: [screws], depth: 2.0",
    "bore": "cutter: fine, holes: [wide]",
    "countersink": "cutter: sink",
    "thread-mill": "cutter: tm, thread: S1.0",
    "pocket": "cutter: mill",
    "outline": "cutter: mill",
}
# Each with the step, the words that are wrong in it, the word that is to be named, and the words
# as the remedy has them; `{}` stands for the figure that the remedy offers for that word.
WRONG = [
    ("spot", "depth: 0.9", "depth", "depth: {}"),
    ("spot", "depth: 0.42", "depth", "depth: {}"),
    ("spot", "feed: 0.1", "feed", "feed: {}"),
    # Blind holes are drilled in the same step: no depth suits them all.
    ("drill", "depth: 1.15", "depth", ""),
    ("drill", "depth: 0.3", "depth", ""),
    ("drill", "depth: 1.1999", "depth", ""),
    ("drill", "peck: 0.001", "peck", ""),
    ("drill", "peck: 0.02", "peck", "peck: {}"),
    ("drill", "feed: 0.1", "feed", "feed: {}"),
    ("drill", "speed: 100", "speed", ""),
    ("bore", "finish: 0.8", "finish", ""),
    ("bore", "finish: 0.45", "finish", "finish: {}"),
    ("bore", "finish: 0.00001", "finish", "finish: {}"),
    ("bore", "finish: 0.0001, passes: 20", "finish", "finish: {}, passes: 20"),
    ("bore", "feed: 0.01", "feed", "feed: {}"),
    ("bore", "drilled: 1.2", "drilled", "drilled: {}"),
    ("bore", "correction: 0.5", "correction", "correction: 0.075"),
    ("thread-mill", "depth: 1.3", "depth", "depth: {}"),
    ("thread-mill", "depth: 0.1", "depth", ""),
    ("pocket", "finish: 0.00001", "finish", "finish: {}"),
    ("pocket", "floor: 0.0001", "floor", "floor: {}"),
    ("pocket", "feed: 0.01", "feed", "feed: {}"),
    ("outline", "finish: 0.00001", "finish", "finish: {}"),
    ("outline", "finish: 0.9", "finish", "finish: {}"),
    ("outline", "tabs: {count: 12, width: 4, height: 0.3}", "tabs",
     "tabs: {{count: {}, width: 4, height: 0.3}}"),
    ("outline", "tabs: {count: 3, width: 0.01, height: 0.3}", "width",
     "tabs: {{count: 3, width: {}, height: 0.3}}"),
    ("outline", "skin: 0.001", "skin", "skin: {}"),
    ("outline", "feed: 9000", "feed", "feed: 300"),
]


@pytest.fixture(scope="module")
def machine() -> Machine:
    return find_machine("with-cycles", None)


def plate_with(step: str = "", words: str = "") -> str:
    lines = []
    for name, said in STEPS.items():
        kind = re.sub(r"-\d$", "", name)
        lines.append(f"      - {kind}: {{{said}{f', {words}' if name == step and words else ''}}}")
    return PLATE + "\n".join(lines) + "\n"


def answers(text: str, machine: Machine) -> tuple[Fault, ...]:
    job = read(text)
    found = job_faults(job, machine)
    if found:
        return tuple(found)
    try:
        plan_job(job, machine)
    except Refused as no:
        return no.faults
    return ()


def test_the_plate_as_it_is_right_is_planned(machine: Machine) -> None:
    assert answers(plate_with(), machine) == ()


@pytest.mark.parametrize(("step", "wrong", "word", "right"), sampled(
    WRONG, 9, ids=[f"{step} {wrong}" for step, wrong, _, _ in WRONG]))
def test_a_word_that_is_wrong_is_named_with_what_to_write(
    step: str, wrong: str, word: str, right: str, machine: Machine
) -> None:
    named = [one for one in answers(plate_with(step, wrong), machine)
             if one.place.path.split(".")[-1] == word]
    assert named, answers(plate_with(step, wrong), machine)
    assert named[0].remedy
    if "{}" in right:
        key = "count" if word == "tabs" else word
        offered = (re.search(rf"{key}: ([\d.]+)", named[0].remedy)
                   or re.match(r"([\d.]+) mm", named[0].remedy))
        assert offered, named[0].remedy
        right = right.format(offered[1].rstrip("."))
    else:
        right = right.replace("{{", "{").replace("}}", "}")
    assert answers(plate_with(step, right), machine) == (), right


def test_a_thread_is_not_both_milled_and_tapped(machine: Machine) -> None:
    text = plate_with() + "      - tap: {cutter: tap, holes: [screws], holder-gives: 1.0}\n"
    (fault,) = [one for one in answers(text, machine) if "crosses the first" in one.message]
    assert "screws" in fault.message
    assert fault.place.path == "setups[0].steps[8].tap"


@pytest.mark.parametrize("set_to", [1.5, 1.6, 1.48])
def test_a_bar_set_wrong_is_named_and_not_the_drill(set_to: float, machine: Machine) -> None:
    text = plate_with().replace("      - bore: {cutter: fine, holes: [wide]}",
                                "      - fine-bore: {cutter: bar, holes: [wide], drilled: 0.8}")
    text = text.replace("wide: {diameter: 1.5", "wide: {diameter: 1.49").replace(
        "setups:", f"  bar: {{kind: boring-bar, diameter: {set_to}, shank: 0.6, reach: 4}}\n"
        "setups:")
    (fault,) = [one for one in answers(text, machine) if "shall be" in one.message]
    assert fault.place.path == "cutters.bar.diameter"
    assert "diameter: 1.49" in fault.remedy


@pytest.mark.parametrize("deep", ["0.3", "1.0"])
def test_a_hole_drilled_on_a_part_of_its_depth_is_not_called_drilled(
    deep: str, machine: Machine
) -> None:
    text = plate_with("bore", "drilled: 0.8").replace(
        "cutter: d08, holes: [pins, wide, blind]", f"cutter: d08, holes: [wide], depth: {deep}")
    text = text.replace("      - bore", "      - drill: {cutter: d08, holes: [pins, blind]}\n"
                        "      - bore")
    (fault,) = answers(text, machine)
    assert fault.place.path.endswith("bore.drilled")
    assert f"so {float(deep):g} of 1.2 mm deep" in fault.message
    assert answers(text.replace(f"depth: {deep}", "depth: 1.2"), machine) == ()


@pytest.mark.parametrize("height", [5.0, 30.0, 199.0])
def test_a_plates_safe_height_is_held_against_the_machines_travel(
    height: float, machine: Machine
) -> None:
    low = machine.model_copy(update={"z": machine.z.model_copy(update={"travel": 20.0})})
    text = plate_with().replace("    stock:", f"    safe-height: {height}\n    stock:")
    found = [one for one in answers(text, low) if one.place.path == "setups[0].safe-height"]
    assert bool(found) == (height + 1.2 > 20.0)
    if found:
        offered = re.search(r"safe-height: ([\d.]+)", found[0].remedy)
        assert offered
        again = text.replace(f"safe-height: {height}", f"safe-height: {offered[1]}")
        assert answers(again, low) == ()


@pytest.mark.parametrize("kind", ["tap", "ream"])
def test_a_step_that_makes_its_hole_with_the_other_face_up_is_named(
    kind: str, machine: Machine
) -> None:
    hole, own = (("screws", "cutter: tap, holder-gives: 1.0") if kind == "tap" else
                 ("blind", "cutter: reamer"))
    text = plate_with().replace("screws: {", "screws: {depth: 0.9, face: under, ").replace(
        "blind: {", "blind: {face: under, ").replace(
        "setups:", "  reamer: {kind: reamer, diameter: 0.8, reach: 8}\nsetups:").replace(
        ", depth: 2.0}", "}") + (
        "  - name: two\n    face: under\n    turned-over: about Y\n    zero: {dowel: pins-1}\n"
        "    stock: {left-by: one, thickness: 1.2}\n    steps:\n"
        f"      - {kind}: {{{own}, holes: [{hole}]}}\n")
    found = [one for one in answers(text, machine) if "no step before it makes" in one.message]
    assert found
    assert "put that step in a setup with face: under" in found[0].remedy


def wheel(old: str, new: str) -> tuple[Fault, ...]:
    text = (shipped_folder("jobs") / "third-wheel.yaml").read_text("utf-8")
    assert old in text
    return tuple(pair_faults(read(text.replace(old, new))))


@pytest.mark.parametrize("blank", [10.951, 10.96, 11.2, 12.0])
def test_a_blank_larger_than_its_tips_is_named(blank: float) -> None:
    found = wheel("dividing: {", f"dividing: {{blank: {blank}, ") \
        if "dividing: {" in (shipped_folder("jobs") / "third-wheel.yaml").read_text("utf-8") \
        else wheel("    dividing:\n", f"    dividing:\n      blank: {blank}\n")
    assert bool(found) == (blank > 10.958)
    if found:
        assert found[0].place.path.endswith("dividing.blank")
        offered = re.search(r"blank: ([\d.]+)", found[0].remedy)
        assert offered
        assert float(offered[1]) <= 10.958


@pytest.mark.parametrize(("count", "refused"), [(75, False), (74, False), (40, True), (20, True)])
def test_a_cutter_made_for_too_different_a_count_is_named(count: int, refused: bool) -> None:
    text = (shipped_folder("jobs") / "third-wheel.yaml").read_text("utf-8")
    made = re.search(r"made-for: \{[^}]*teeth: 75", text)
    assert made
    found = tuple(pair_faults(read(text.replace(
        made[0], made[0].replace("teeth: 75", f"teeth: {count}")))))
    assert bool(found) == refused
    if found:
        assert found[0].place.path.endswith("made-for.teeth")


@given(st.floats(0.001, 400.0), st.sampled_from([0.001, 0.01, 0.1]))
def test_figures_offered_lie_on_the_side_that_is_allowed(size: float, step: float) -> None:
    least, most = float(no_less(size, step)), float(no_more(size, step))
    # To within what a check grants beside its limit, a ten-thousandth of what is typed.
    assert size - 2e-5 * step <= least <= size + step
    assert size - step - 2e-5 * step <= most <= size + 2e-5 * step


def test_every_figure_read_from_a_path_is_where_it_says(tmp_path: Path, machine: Machine) -> None:
    """Places are those of the file: the line named holds the word named."""
    for step, wrong, word, _ in WRONG[:6]:
        text = plate_with(step, wrong)
        for one in answers(text, machine):
            if one.place.path.split(".")[-1] == word:
                assert f"{word}:" in text.splitlines()[one.place.line - 1]


@pytest.mark.parametrize("fit", sampled(["H6", "F7", "H8"], 3, 2))
@pytest.mark.parametrize("way", sampled(["drill", "ream", "fine-bore"], 12, 2))
def test_in_a_fit_however_wide_a_size_that_is_accepted_is_proved(
    fit: str, way: str, machine: Machine, tmp_path: Path
) -> None:
    """Its least, middle and most are accepted, and proved; a micrometre beyond is neither."""
    limits = class_limits(1.5, fit)
    for size in sorted({limits.least, limits.middle, round(limits.middle + 0.005, 4), limits.most,
                        round(limits.most + 0.001, 4), round(limits.least - 0.001, 4)}):
        cutter = {
            "drill": f"  last: {{kind: drill, diameter: {size:.4f}, flute-length: 6, reach: 8}}\n",
            "ream": f"  last: {{kind: reamer, diameter: {size:.4f}, reach: 8}}\n",
            "fine-bore": f"  last: {{kind: boring-bar, diameter: {size:.4f}, shank: 0.8, reach: 4}}"
                         "\n"}[way]
        text = plate_with().replace("wide: {diameter: 1.5", f"wide: {{diameter: 1.5, fit: {fit}")
        text = text.replace("setups:", "  d149: {kind: drill, diameter: 1.49, flute-length: 6, "
                            f"reach: 8}}\n{cutter}setups:")
        first = ("" if way == "drill" else
                 "      - drill: {cutter: d149, holes: [wide], depth: 2.0}\n")
        text = text.replace("      - bore: {cutter: fine, holes: [wide]}\n",
                            f"{first}      - {way}: {{cutter: last, holes: [wide]}}\n")
        found = answers(text, machine)
        within = limits.least - 1e-6 <= size <= limits.most + 1e-6
        assert (not found) == within, (size, found)
        if found:
            offered = re.search(r"(?:diameter:|with|reamer of) ([\d.]+)", found[0].remedy)
            assert offered, found[0].remedy
            text = text.replace(f"diameter: {size:.4f}", f"diameter: {offered[1]}")
            assert answers(text, machine) == (), offered[1]
        if fit == "H8" and size == limits.most:
            file = tmp_path / "wide.yaml"
            file.write_text(text, encoding="utf-8")
            assert not proved_job(file).failed


def test_a_countersink_without_a_point_follows_its_hole_or_a_spot(machine: Machine) -> None:
    first = plate_with().replace("      - countersink: {cutter: sink}\n", "")
    before = first.replace("    steps:\n", "    steps:\n      - countersink: {cutter: sink}\n")
    (fault,) = answers(before, machine)
    assert fault.place.path == "setups[0].steps[0].countersink.cutter"
    assert "put step 4 of one, which makes it, before it" in fault.remedy
    spotted = before.replace("    steps:\n", "    steps:\n      - spot: {cutter: cone, "
                             "holes: [screws]}\n")
    assert answers(spotted, machine) == ()
    pointed = before.replace("countersink: {cutter: sink}", "countersink: {cutter: cone}")
    assert answers(pointed, machine) == ()


def test_one_tap_does_not_cut_a_thread_twice(machine: Machine) -> None:
    text = plate_with().replace("      - thread-mill: {cutter: tm, thread: S1.0}\n", "")
    text = text.replace("depth: 2.0}", "depth: 2.6}").replace("cut-into: 2.4", "cut-into: 3.4")
    tap = "      - tap: {cutter: tap, holes: [screws], holder-gives: 1.0, lead: 0.3}\n"
    assert answers(text + tap, machine) == ()
    (fault,) = answers(text + tap + tap, machine)
    assert "crosses the first" in fault.message


@pytest.mark.parametrize(("said", "refused"), [
    ("pins: [0.79, 0.82]", False), ("pins-2: [0.79, 0.82]", False), ("pins: [0.9, 1.0]", True),
    ("pinz: [0.79, 0.82]", True), ("wide: [1.49, 1.51]", False)])
def test_limits_hold_for_holes_by_the_one_name_of_several(said: str, refused: bool) -> None:
    text = plate_with().replace("material: brass\n", f"material: brass\nlimits: {{{said}}}\n", 1)
    if refused:
        with pytest.raises(Refused) as no:
            read(text)
        assert no.value.faults[0].place.path.startswith("limits.")
        if "pinz" in said:
            assert no.value.faults[0].remedy == "did you mean pins?"
        return
    least, most = (float(one) for one in re.findall(r"[\d.]+", said.split("[")[1]))
    found = limits_of(read(text).job)
    assert set(found) == ({"pins-1", "pins-2"} if said.startswith("pins:")
                          else {said.split(":")[0]})
    assert set(found.values()) == {(least, most)}


def test_a_hole_said_to_come_finished_and_reamed_here_is_told_what_it_may_be(
    machine: Machine
) -> None:
    text = plate_with().replace(
        "material: brass\n", "material: brass\nmade-elsewhere: [blind]\n", 1)
    text = text.replace("holes: [pins, wide, blind]", "holes: [pins, wide]").replace(
        "setups:", "  reamer: {kind: reamer, diameter: 0.8, reach: 8}\nsetups:")
    for drilled, named in (("0.805", True), ("0.8", True), ("0.77", False)):
        step = f"      - ream: {{cutter: reamer, holes: [blind], drilled: {drilled}}}\n"
        found = answers(text + step, machine)
        assert bool(found) == named, found
        if found:
            assert "blind stands under made-elsewhere: too" in found[0].remedy


def test_a_pocket_over_a_hole_counts_as_open(machine: Machine) -> None:
    job = read(plate_with().replace("at: [-1, 0]}}", "at: [2.6, 0]}}")).job
    wide = next(one for one in features_of_job(job) if one.name == "wide")
    assert isinstance(wide, Hole)
    before, after = opened_before(job, 0, 6, wide), opened_before(job, 0, 7, wide)
    (more,) = set(after) - set(before)
    # The wall that is nearest to its middle: 1.5 - 0.4 mm along X and 1 mm across.
    assert more.diameter == pytest.approx(2.0, abs=0.01)
    assert (more.begin, more.end) == (0.0, 0.4)
