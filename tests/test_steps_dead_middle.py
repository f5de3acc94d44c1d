"""Mills whose end does not cut at its middle, by every step that mills: proved or refused."""

from __future__ import annotations

import dataclasses
import math
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few, sampled
from workshop import DRIVEN, WHEEL, blanks, read

from camgen.cutting.planner import plan_milling
from camgen.faults import Refused
from camgen.layout import FlatLayout
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import gather
from camgen.proof.table.holes_found import prove_holes_found
from camgen.proof.table.ramps import prove_ramps
from camgen.reader import read_program
from camgen.shop.cutters import Cutter, bears_under, least_round
from camgen.shop.materials import find_material
from camgen.steps.moving import MOST_TURNS, lap_count

JOB = """
job: an end that does not cut at its middle
material: brass
{elsewhere}plate:
  thickness: 1.2
  outline: {{circle: 8}}
{features}
cutters:
  dead: {{kind: end-mill, diameter: {wide:g}, flutes: 4, flute-length: {flutes:g}, reach: {reach:g},
         plunges: {plunges}}}
  drill: {{kind: drill, diameter: {drill:g}, flute-length: 8, reach: 10}}
setups:
  - name: one
    stock: {{sheet: [12, 12], thickness: 1.2}}
    holding: {{by: shellac, carrier: brass, carrier-thickness: 6, cut-into: 2.2, holds-slugs: true}}
    steps:
"""
HOLE = "  holes:\n    pin: {diameter: %g, at: [[0, 0]]}"
ROUND = "  pockets:\n    seat: {circle: %g, at: [0, 0], depth: 0.5}"
SLOT = "  slots:\n    way: {ends: [[-2, 0], [2, 0]], width: %g%s}"
CUT = plan_milling(find_material("brass"), Cutter(kind="end-mill", diameter=0.8), DRIVEN, 0.8, 1.0)
NO_WAY = "no room to go round|does not cut at the middle"
POST = "does not cut at (the|its) middle|does not fit"


def job(features: str, *steps: str, wide: float = 0.8, drill: float = 1.0,
        plunges: str = "false") -> str:
    alone = not any("outline" in step for step in steps)
    text = JOB.format(features=features, wide=wide, flutes=3 * wide, reach=4 * wide, drill=drill,
                      plunges=plunges, elsewhere="made-elsewhere: [outline]\n" if alone else "")
    return text + "".join(f"      - {step}\n" for step in steps)


def failing(setup: PlannedSetup, text: str) -> list[str]:
    """What is found wrong on the way down, by the program read back."""
    programs = [read_program(one.text, DRIVEN, "one.nc")
                for one in write_programs(setup.moves, DRIVEN, stem="one")]
    evidence = gather(setup.name, read(text).job, DRIVEN, setup.layout, setup.moves, programs,
                      planned_cuts=setup.cuts)
    return [f"{one.id}: {one.where}" for one in (*prove_ramps(evidence),
                                                 *prove_holes_found(evidence)) if not one.holds]


def answer(text: str) -> bool:
    """Whether the job makes a program, which then holds; else it is refused with a word for it."""
    try:
        (setup,) = plan_job(read(text), DRIVEN).setups
    except Refused as no:
        if not all(fault.place.line and fault.remedy for fault in no.faults):
            raise
        return False
    assert failing(setup, text) == []
    return True


@pytest.mark.parametrize(("features", "steps", "drill"), sampled([
    (ROUND % 2.2, ["pocket: {cutter: dead}"], 1.0),
    (ROUND % 3, ["pocket: {cutter: dead, entry: ramp}"], 1.0),
    (ROUND % 3 + "\n" + HOLE % 1.0, ["drill: {cutter: drill}",
                                     "pocket: {cutter: dead, entry: drilled, entry-holes: [pin]}"],
     1.0),
    (SLOT % (1.0, ", depth: 0.5"), ["pocket: {cutter: dead}"], 1.0),
    (SLOT % (1.0, ", depth: 0.5"), ["pocket: {cutter: dead, entry: ramp}"], 1.0),
    (SLOT % (1.2, ""), ["cut-out: {cutter: dead}"], 1.0),
    (HOLE % 1.6, ["bore: {cutter: dead}"], 1.0),
    (HOLE % 1.0, ["drill: {cutter: drill}", "bore: {cutter: dead, drilled: 0.6}"], 0.6),
    ("", ["outline: {cutter: dead}"], 1.0),
    ("", ["outline: {cutter: dead, skin: 0.05, cut-skin: true}"], 1.0),
], 18, ids=["helix", "ramp", "drilled", "slot", "slot by ramp", "cut-out", "bore", "bore drilled",
            "outline", "skin"]))
def test_what_can_be_made_is_made(features: str, steps: list[str], drill: float) -> None:
    assert answer(job(features, *steps, drill=drill))


@pytest.mark.parametrize("high", sampled([0.15, 0.4], 2))
def test_beside_tabs_it_comes_down_by_no_more_than_it_bears(high: float) -> None:
    text = job("", f"outline: {{cutter: dead, tabs: {{count: 3, width: 0.8, height: {high}}}}}"
               ).replace("circle: 8", "circle: 4").replace("thickness: 1.2", "thickness: 0.8")
    assert answer(text)
    (setup,) = plan_job(read(text), DRIVEN).setups
    assert setup.cuts[0].depth <= bears_under(Cutter(kind="end-mill", diameter=0.8, plunges=False))


def test_windows_of_a_crossing_are_cut() -> None:
    wheel = WHEEL.replace("reach: 1.6}", "reach: 1.6, plunges: false}").replace(
        "job: third wheel", "job: third wheel\nmade-elsewhere: [bore, outline, teeth]")
    assert "plunges" in wheel
    setup = blanks("cross-out: {cutter: mill}", wheel=wheel)
    assert isinstance(setup.layout, FlatLayout)


@pytest.mark.parametrize(("features", "steps"), [
    (HOLE % 1.2, ["bore: {cutter: dead}"]),
    (ROUND % 1.2, ["pocket: {cutter: dead}"]),
    (ROUND % 0.92, ["pocket: {cutter: dead}"]),
    ("  openings:\n    eye: {circle: 1.2, at: [0, 0]}", ["cut-out: {cutter: dead}"]),
], ids=["bore", "pocket", "pocket of its width", "cut-out"])
def test_where_a_post_would_stay_it_is_refused_in_words(features: str, steps: list[str]) -> None:
    with pytest.raises(Refused, match=POST):
        plan_job(read(job(features, *steps)), DRIVEN)


@settings(max_examples=3, deadline=None)
@given(wide=st.sampled_from([0.3, 0.5, 0.8, 1.5]), share=st.floats(1.1, 2.6),
       drilled=st.sampled_from([0.0, 0.3, 0.5, 0.7]))
def test_any_bore_is_proved_or_refused(wide: float, share: float, drilled: float) -> None:
    hole, drill = round(wide * share, 3), round(wide * drilled, 3)
    steps = [f"bore: {{cutter: dead, drilled: {drill:g}}}"]
    if drilled:
        steps.insert(0, "drill: {cutter: drill}")
    made = answer(job(HOLE % hole, *steps, wide=wide, drill=drill or 1.0))
    # A thinner one does not reach through the plate.
    if wide >= 0.8 and (share > 1.75 or (drilled >= 0.5 and share > 1.25)):
        assert made


@pytest.mark.long
@settings(max_examples=4, deadline=None)
@given(share=st.floats(1.06, 2.4), entry=st.sampled_from(["helix", "ramp"]),
       plunges=st.sampled_from(["true", "false"]))
def test_any_round_pocket_is_proved_or_refused(share: float, entry: str, plunges: str) -> None:
    made = answer(job(ROUND % round(0.8 * share, 3),
                      f"pocket: {{cutter: dead, entry: {entry}}}", plunges=plunges))
    if share > 1.75 and entry == "helix":
        assert made


@pytest.mark.parametrize("wide", [0.1, 0.8, 6.0])
def test_the_least_round_is_more_than_half_the_dead_middle(wide: float) -> None:
    """On a circle of radius ρ all within d/4 − ρ of its middle is under the dead middle d/2."""
    dead = Cutter(kind="end-mill", diameter=wide, plunges=False)
    assert least_round(dead) > wide / 4
    assert least_round(Cutter(kind="end-mill", diameter=wide)) == 0


@pytest.mark.parametrize(("plunges", "over"), sampled(product(
    ["true", "false"], [0.0, 1e-6, 0.001, 0.01, 0.03, 0.04, 0.05]), 24))
def test_a_bore_hardly_wider_than_its_cutter_is_answered_at_once(over: float, plunges: str) -> None:
    """Of 0.88 mm a cutter of 0.8 with its usual last pass keeps no way round at all."""
    text = job(HOLE % 1.6, "bore: {cutter: dead}", plunges=plunges)
    assert answer(text)
    wide = 0.88 + over
    narrow = job(HOLE % 1.6, "bore: {cutter: dead}", plunges=plunges).replace(
        "diameter: 1.6", f"diameter: {wide:.6f}")
    if plunges == "false" or over < 0.04:
        with pytest.raises(Refused, match=NO_WAY):
            plan_job(read(narrow), DRIVEN)
    else:
        assert answer(narrow)


@settings(max_examples=few(200), deadline=None)
@given(radius=st.one_of(st.just(0.0), st.floats(1e-18, 1.0)), angle=st.floats(0.0, 20.0),
       depth=st.floats(1e-6, 1.0), deep=st.floats(0.001, 10.0))
def test_every_way_down_has_an_end_or_is_refused(
        radius: float, angle: float, depth: float, deep: float) -> None:
    cut = dataclasses.replace(CUT, depth=depth, ramp_angle=angle)
    each = min(depth, math.tau * radius * math.tan(math.radians(angle)))
    if each * MOST_TURNS < deep:
        with pytest.raises(Refused, match="gone along more than") as no:
            lap_count(math.tau * radius, deep, cut)
        assert all(fault.remedy for fault in no.value.faults)
        return
    count = lap_count(math.tau * radius, deep, cut)
    assert 1 <= count <= MOST_TURNS
    assert deep / count <= each * (1 + 1e-6)
