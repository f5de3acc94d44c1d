"""Wheels with a thicker hub, a pipe or a stepped bore: cut, proved, stacked and refused."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from message_templates import left_in_english
from planting.harness import made
from workshop import DRIVEN, read, strokes

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import machine_for, metal_faults
from camgen.layout import FlatWork, ToothLayout, flat_layout
from camgen.make.chain import Wish, proved_job
from camgen.make.told.account import job_account
from camgen.moves import Arc, Feed
from camgen.plan import PlannedSetup, plan_job
from camgen.shapes.path import Path as Way
from camgen.words import words

RAISED = """hub: {diameter: 2.8, thickness: 0.7}
  pipe: {diameter: 1.7, length: 0.4}
  counterbore: {diameter: 1.2, depth: 0.3}"""
WHEEL = """
job: hour wheel
material: brass-leaded
quantity: 3
wheel:
  teeth: 30
  module: 0.2
  mate: 8
  thickness: 0.3
  bore: 0.8
  RAISED
cutters:
  drill: {kind: drill, diameter: 0.6, flute-length: 5, reach: 6}
  mill: {kind: end-mill, diameter: 0.4, flutes: 2, flute-length: 1.4, reach: 2.4}
  clear: {kind: end-mill, diameter: 2.0, flutes: 3, flute-length: 2, reach: 4}
  teeth: {kind: form-disc, diameter: 20, flutes: 14, thickness: 2, arbor: 12, shank: 8, reach: 20,
          made-for: {form: cycloidal-wheel, module: 0.2, teeth: 30, mate: 8}}
setups:
"""
BLANK = """  - name: blank
    stock: {sheet: [14, 14], thickness: HIGH}
    holding: {by: shellac on a carrier, carrier: brass, carrier-thickness: 3, cut-into: 0.4,
              holds-slugs: true}
    steps:
      - drill: {cutter: drill, holes: [bore]}
      - bore: {cutter: mill, drilled: 0.6}
      - pocket: {cutter: clear}
      - outline: {cutter: mill}
"""
TEETH = """  - name: teeth
    dividing: {stack: 3, backing: 1.5, arbor: 4, zero: touch, MORE
               front: {nut: 3, length: 4}, tailstock: {centre: 3, body: 12, from: 16}}
    steps:
      - cut-teeth: {cutter: teeth}
"""


def job(raised: str = RAISED, *, high: float = 1.1, more: str = "", blank: bool = True,
        teeth: bool = True) -> str:
    return (WHEEL.replace("RAISED", raised) + BLANK.replace("HIGH", f"{high:g}") * blank
            + TEETH.replace("MORE", more) * teeth + "made-elsewhere: [teeth]\n" * (not teeth))


def planned(text: str, number: int = 0) -> PlannedSetup:
    return plan_job(read(text), DRIVEN).setups[number]


def swept(setup: PlannedSetup, title: str, radius: float) -> list[tuple[float, shapely.Geometry]]:
    """What a cutter of that radius passes over below the stock's face in a section, and its Z."""
    found = []
    for section in setup.moves.sections:
        if section.title != title:
            continue
        for stroke in strokes(section.moves):
            if not isinstance(stroke.move, Feed | Arc) or math.isnan(stroke.start[2]):
                continue
            low = min(stroke.start[2], stroke.end[2])
            if low >= 0:
                continue
            if math.dist(stroke.start[:2], stroke.end[:2]) < 1e-6:
                line: shapely.Geometry = shapely.Point(stroke.end[:2])
            else:
                start, piece = stroke.piece
                line = shapely.LineString(Way(start, (piece,), closed=False).points(1e-4))
            found.append((low, line.buffer(radius, quad_segs=64)))
    return found


def test_web_hub_and_pipe_are_left_to_height_and_nothing_is_cut_of_them() -> None:
    cuts = swept(planned(job(teeth=False)), "pocket", 1.0)
    assert min(low for low, _ in cuts) == pytest.approx(0.3 - 1.1, abs=1e-9)
    root = shapely.Point(0, 0).buffer(3.0, quad_segs=200)
    for below, diameter in ((0.0, 1.7), (-0.4, 2.8)):
        stands = shapely.Point(0, 0).buffer(diameter / 2 - 0.002, quad_segs=200)
        lower = shapely.union_all([area for low, area in cuts if low < below - 1e-6])
        assert lower.intersection(stands).area < 1e-6
        # And all round it, to the blank's edge, everything is gone.
        around = root.difference(shapely.Point(0, 0).buffer(diameter / 2 + 0.004, quad_segs=200))
        assert around.difference(lower).area < 1e-4
    assert len({round(low, 6) for low, _ in cuts if low in (-0.4, -0.8)} | {-0.4, -0.8}) == 2


def test_a_program_for_other_sizes_is_found_out(tmp_path: Path) -> None:
    path = tmp_path / "wheel.yaml"
    path.write_text(job(teeth=False), encoding="utf-8")
    (programs,) = made(path, "plain-iso")
    # It is no program for a hub or pipe a little wider, a web thinner, or a deeper counterbore.
    for one, other in (("", ""), ("diameter: 2.8, th", "diameter: 2.82, th"),
                       ("thickness: 0.3\n", "thickness: 0.28\n"),
                       ("diameter: 1.7, l", "diameter: 1.72, l"),
                       ("diameter: 1.2, depth: 0.3", "diameter: 1.2, depth: 0.32")):
        text = path.read_text(encoding="utf-8")
        assert one in text
        wanted = read(text.replace(one, other) if one else text).job
        layout = flat_layout(wanted, wanted.flat[0])
        asked = replace(programs, job=wanted, planned=replace(programs.planned, work=FlatWork(
            wanted.flat[0], layout)))
        failing = asked.first_failing(programs.read, with_plan=False)
        assert (failing is None) == (not one), (other, failing)


def stack(text: str) -> ToothLayout:
    layout = planned(text, -1).layout
    assert isinstance(layout, ToothLayout)
    return layout


@pytest.mark.parametrize(("raised", "high"), [
    (RAISED, 1.1), ("hub: {diameter: 2, thickness: 0.5}", 0.5),
    ("pipe: {diameter: 1.6, length: 1.2}", 1.5), ("", 0.3),
])
@pytest.mark.parametrize("front", [0.0, 0.8])
def test_a_stack_knows_where_its_webs_are(raised: str, high: float, front: float) -> None:
    more = f"front-backing: {front}," if front else ""
    if raised:
        more += " spacers: 6.2,"
    layout = stack(job(raised, high=high, more=more, blank=False))
    wanted = [(front + n * high + high - 0.3, front + (n + 1) * high) for n in range(3)]
    assert sum(layout.webs, ()) == pytest.approx(sum(wanted, ()))
    assert layout.stack_to == pytest.approx(front + 3 * high)
    blank = layout.blank_radius
    solid = [(one.begin, one.end) for one in layout.bodies
             if one.name == "blanks" and one.radius == blank]
    wanted = wanted if raised else [(front, front + 0.9)]
    assert sum(solid, ()) == pytest.approx(sum(wanted, ()))
    rings = [one for one in layout.bodies if one.name == "spacer"]
    assert len(rings) == (3 if raised else 0)
    assert all(one.end - one.begin == pytest.approx(high - 0.3) and one.radius == 3.1
               for one in rings)


def test_the_sheet_says_how_blanks_with_hubs_lie_and_what_backs_them() -> None:
    bare, backed = (stack(job(more=more, blank=False)).notes for more in ("", "spacers: 6.2,"))
    assert "0.800 to 1.100 mm behind the free face" in str(bare[0])
    assert "gaps of 0.800 mm" in str(bare[1])
    assert "3 rings, D 6.2 mm, bored to go over a hub of 2.8 mm and faced to 0.800" in str(
        backed[1])
    assert not [one for one in stack(job("", blank=False)).notes if "hub" in str(one)]
    for language in ("de", "fr"):
        assert not [one for one in (*bare, *backed) if left_in_english(words(language), one)]


def test_the_whole_job_is_proved_and_weighed(tmp_path: Path) -> None:
    path = tmp_path / "wheel.yaml"
    path.write_text(job(more="spacers: 6.2,"), encoding="utf-8")
    proved = proved_job(path, Wish(post="plain-iso"))
    assert not proved.failed
    named = [str(proof.name) for proof in proved.proofs]
    assert {"floor of web", "floor of hub", "bore-counterbore concentric with bore"} <= {
        *named}, named
    only = tmp_path / "only.yaml"
    only.write_text(job(more="spacers: 6.2,", blank=False), encoding="utf-8")
    teeth = proved_job(only, Wish(post="plain-iso"))
    assert not teeth.failed
    # From cylinders: what stands above the web, less the bore and its mouth.
    over = math.pi / 4 * (2.8**2 * 0.4 + 1.7**2 * 0.4 - 0.8**2 * 0.8 - (1.2**2 - 0.8**2) * 0.3)
    plain = tmp_path / "plain.yaml"
    plain.write_text(job("", high=0.3, blank=False), encoding="utf-8")
    heavier = [job_account(one)
               for one in (proved_job(plain, Wish(post="plain-iso")), teeth, proved)]
    flat, from_blank, from_sheet = (one.parts for one in heavier if one is not None)
    density = proved.material.density.value
    assert from_blank - flat == pytest.approx(3 * over * density / 1000, rel=1e-6)
    assert from_sheet == pytest.approx(from_blank, rel=2e-3)


WRONG = [
    ("hub: {diameter: 2.8, thickness: 0.3}", "no thicker than the wheel"),
    ("hub: {diameter: 5.6, thickness: 0.7}", "where the teeth are cut"),
    ("pipe: {diameter: 5.6, length: 0.7}", "where the teeth are cut"),
    ("pipe: {diameter: 1.6, length: 0.01}", "stands out too little"),
    ("hub: {diameter: 0.9, thickness: 0.7}", "too little wall about 0.8 mm"),
    ("pipe: {diameter: 0.7, length: 0.7}", "too little wall about 0.8 mm"),
    ("hub: {diameter: 1.3, thickness: 0.7}\n  counterbore: {diameter: 1.2, depth: 0.2}",
     "too little wall about 1.2 mm"),
    ("counterbore: {diameter: 0.8, depth: 0.1}", "not wider than the bore"),
    ("counterbore: {diameter: 1.2, depth: 0.3}", "leaves 0 mm of a wheel of 0.3 mm"),
    ("counterbore: {diameter: 5.4, depth: 0.1}", "too little wall about it in the web"),
    ("hub: {diameter: 2.8, thickness: 0.7}\n"
     "  crossing: {arms: 3, hub: 2.4, rim: 0.4, arm: 0.5, corner: 0.22}", "cut into the hub"),
    ("hub: {diameter: 2.8, thickness: 0.7}\n  counterbore: {diameter: 2.3, depth: 0.5}\n"
     "  crossing: {arms: 3, hub: 2.8, rim: 0.4, arm: 0.5, corner: 0.22}", ""),
]


def faults(text: str) -> list[Fault]:
    return [fault for fault in metal_faults(read(text), DRIVEN)
            if "wheel." in str(fault.place.path)]


@pytest.mark.parametrize(("raised", "said"), WRONG)
def test_sizes_that_cannot_be_are_refused_and_the_remedy_works(raised: str, said: str) -> None:
    found = faults(job(raised, high=0.7, blank=False, teeth=True))
    if not said:
        assert not found
        return
    (fault,) = found
    assert said in str(fault.message)
    for language in ("de", "fr"):
        assert not [one for one in (fault.message, fault.remedy)
                    if left_in_english(words(language), one)]
    write = re.match(r"(\w+): ([\d.]+) or (?:less|more)", str(fault.remedy))
    assert write, fault.remedy
    at = str(fault.place.path).split(".")[1]
    mended = re.sub(rf"({at}: {{[^}}]*{write[1]}: )[\d.]+", rf"\g<1>{write[2]}", raised)
    assert mended != raised
    assert not faults(job(mended, high=0.7, blank=False))


def test_a_pipe_as_wide_as_its_hub_is_told_to_be_the_hub() -> None:
    (fault,) = faults(job("hub: {diameter: 2, thickness: 0.5}\n  pipe: {diameter: 2, length: 0.4}"))
    assert "not narrower than the hub" in str(fault.message)
    assert not faults(job("hub: {diameter: 2, thickness: 0.9}"))


@pytest.mark.parametrize(("raised", "more", "said"), [
    ("", "spacers: 6.2,", "these have none"), (RAISED, "spacers: 4,", "back none"),
    (RAISED, "spacers: 9,", "stand above the blanks"),
])
def test_spacers_that_back_nothing_or_stand_above_are_refused(
    raised: str, more: str, said: str
) -> None:
    text = job(raised, high=1.1 if raised else 0.3, more=more, blank=False)
    told = metal_faults(read(text), DRIVEN)
    assert [said in str(fault.message) for fault in told] == [True]
    write = re.search(r"spacers: ([\d.]+)", str(told[0].remedy))
    if write:
        again = job(raised, high=1.1, more=f"spacers: {write[1]},", blank=False)
        assert not metal_faults(read(again), DRIVEN)


def test_stock_is_as_thick_as_hub_and_pipe_are_high() -> None:
    with pytest.raises(Refused) as no:
        machine_for(read(job(high=0.7, teeth=False)))
    assert any("as hub and pipe are high, 1.1 mm" in str(one.remedy) for one in no.value.faults)


def test_that_a_wheel_is_not_faced_is_said_also_where_a_face_step_stands() -> None:
    faced = job(high=1.5).replace("      - drill: {cutter: drill",
                                  "      - face: {cutter: clear}\n      - drill: {cutter: drill", 1)
    assert "- face:" in faced
    with pytest.raises(Refused) as no:
        machine_for(read(faced))
    assert any("a wheel is not faced here" in str(one.remedy) and "1.1 mm" in str(one.remedy)
               for one in no.value.faults)


def test_a_correction_beyond_belief_names_what_an_end_mill_has() -> None:
    text = job().replace("bore: {cutter: mill,", "bore: {cutter: mill, correction: 0.3,", 1)
    assert "correction: 0.3" in text
    with pytest.raises(Refused) as no:
        planned(text)
    (fault,) = no.value.faults
    assert "profile of the cutter" in str(fault.remedy)
    assert "made-for" not in str(fault.remedy)
    assert planned(text.replace("correction: 0.3", "correction: 0.01"))


@pytest.mark.parametrize(("text", "said"), [
    (job("", high=0.3, teeth=False), "no hub to clear round"),
    (job(teeth=False).replace("      - pocket: {cutter: clear}\n", ""), "no step makes"),
])
def test_a_hub_and_its_step_go_together(text: str, said: str) -> None:
    with pytest.raises(Refused) as no:
        machine_for(read(text))
    assert any(said in str(one.message) for one in no.value.faults), no.value


@settings(max_examples=40, deadline=None)
@given(hub=st.floats(0.3, 7), thick=st.floats(0.1, 3), pipe=st.floats(0.3, 7),
       seat=st.floats(0.3, 7), deep=st.floats(0.01, 3))
def test_what_is_not_refused_has_walls_everywhere(
    hub: float, thick: float, pipe: float, seat: float, deep: float
) -> None:
    hub, thick, pipe, seat, deep = (round(one, 3) for one in (hub, thick, pipe, seat, deep))
    text = job(f"hub: {{diameter: {hub}, thickness: {thick}}}\n"
               f"  pipe: {{diameter: {pipe}, length: 0.4}}\n"
               f"  counterbore: {{diameter: {seat}, depth: {deep}}}", blank=False)
    if faults(text):
        return
    root = read(text).job.part.tooth().sizes.root_diameter
    # Slice by slice, from the upper face down: outside and inside of the metal.
    top = thick + 0.4
    for below in [top * n / 97 for n in range(97)]:
        outside = pipe if below < 0.4 else hub if below < top - 0.3 else root
        inside = seat if below < deep else 0.8
        assert outside - inside >= 0.2 - 0.003, (below, outside, inside)
    assert top - deep >= 0.1 - 0.002
