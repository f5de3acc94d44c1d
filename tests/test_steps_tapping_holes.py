"""Holes for threads: how wide they may be by length and material, and what the tap then meets."""

from __future__ import annotations

import math

import numpy as np
import pytest
from test_steps_taps import REVERSING, failing, planned
from workshop import read

from camgen.cutting.planner import plan_tapping
from camgen.cutting.planners.tapping import tap_torque
from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.shop.cutters import parse_cutter
from camgen.shop.machines import find_machine
from camgen.shop.materials import find_material
from camgen.shop.tapping_holes import hole_for
from camgen.shop.threads import thread_names, thread_of

MILL = find_machine("plain-iso")

# Only threads, so that it is made of any metal.
SCREWS = """
job: screws
material: brass
made-elsewhere: [outline]
plate:
  thickness: 1.5
  outline: {rectangle: [20, 14], corner: 2}
  holes:
    posts: {at: [[0, 4], [4, 1]], thread: S1.0}
cutters:
  drill: {kind: drill, diameter: 0.80, flute-length: 6, reach: 8}
  tap: {kind: tap, diameter: 1.0, pitch: 0.25, flutes: 3, flute-length: 4, reach: 8, material: hss}
setups:
  - name: top
    stock: {sheet: [30, 24], thickness: 1.5}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 1.8,
              holds-slugs: true}
    steps:
      - drill: {cutter: drill, depth: 3.0}
      - tap: {cutter: tap, holder-gives: 0.3, lead: 0.4}
"""


def drilled(size: float, text: str = SCREWS) -> str:
    return text.replace("diameter: 0.80", f"diameter: {size}")


@pytest.mark.parametrize(("name", "long", "least", "most"), [
    ("S1.0", 0.666, 0.762, 0.798), ("S1.0", 0.67, 0.785, 0.831), ("S1.0", 1.5, 0.785, 0.831),
    ("S1.0", 1.501, 0.810, 0.856), ("S1.0", 5.0, 0.810, 0.856), ("S0.8", 0.5, 0.612, 0.640),
    ("S0.8", 1.2, 0.630, 0.668), ("S0.5", 0.33, 0.381, 0.401), ("S0.5", 0.75, 0.396, 0.422),
])
def test_holes_for_miniature_threads_are_those_published(
    name: str, long: float, least: float, most: float
) -> None:
    """A published drill chart for miniature threads: 1.00, 0.80 and 0.50 UNM."""
    usual = hole_for(thread_of(name), long, "brass-leaded").usual
    assert (usual.least, usual.most) == (least, most)


@pytest.mark.parametrize(("name", "least", "most"), [
    ("M1.6", 1.221, 1.321), ("M2", 1.567, 1.679), ("M2.5", 2.013, 2.138), ("M3", 2.459, 2.599),
    ("M3.5", 2.850, 3.010), ("M4", 3.242, 3.422), ("M5", 4.134, 4.334), ("M6", 4.917, 5.153),
    ("M28x0.35", 27.621, 27.721), ("M36x0.5", 35.459, 35.599), ("M4x0.5", 3.459, 3.599),
])
def test_holes_for_metric_threads_are_those_of_class_6h(
    name: str, least: float, most: float
) -> None:
    """ISO 965-2, from memory; fine ones by ISO 724 and the tolerances of ISO 965-1."""
    usual = hole_for(thread_of(name), 2.0, "brass-leaded").usual
    assert (usual.least, usual.most) == pytest.approx((least, most), abs=5e-4)


def test_the_tolerances_follow_the_standards_formula() -> None:
    """ISO 965-1 (from memory): 433 P − 190 P^1.22 µm up to 0.8 mm, 230 P^0.7 from 1 mm, class 6H,
    rounded; for pitches without a class 6H the table has 5H, 0.8 times as much."""
    pitches = {thread_of(name).pitch for name in thread_names() if name[0] == "M"} | {0.2}
    for pitch in pitches:
        suits = hole_for(thread_of("M8x0.75") if pitch == 0.75 else next(
            (thread_of(name) for name in thread_names()
             if name[0] == "M" and thread_of(name).pitch == pitch), thread_of("M3x0.2")),
            3.0, "brass-leaded").usual
        exact = 433 * pitch - 190 * pitch**1.22 if pitch < 1 else 230 * pitch**0.7
        share = 0.8 if pitch < 0.3 else 1.0
        assert 1000 * (suits.most - suits.least) == pytest.approx(share * exact, rel=0.05), pitch


@pytest.mark.parametrize(("name", "pitch", "drill"), [
    ("M3.5", 0.6, 2.9), ("M4", 0.7, 3.3), ("M4.5", 0.75, 3.75), ("M5", 0.8, 4.2), ("M6", 1.0, 5.0),
    ("M4x0.5", 0.5, 3.5), ("M28×0.35", 0.35, 27.65), ("M2.5x0.35", 0.35, 2.15),
])
def test_larger_and_fine_threads_have_their_pitch_and_drill(
    name: str, pitch: float, drill: float
) -> None:
    """ISO 261 and ISO 2306, from memory."""
    thread = thread_of(name)
    assert (thread.pitch, thread.drill) == (pitch, drill)
    # ISO 724: 5/8 of the height on either side of the pitch line, H = √3/2 P.
    assert thread.hole == pytest.approx(thread.diameter - 2 * 5 / 8 * math.sqrt(3) / 2 * pitch,
                                        abs=1e-5)


def test_a_pitch_that_is_none_is_answered_with_those_that_are() -> None:
    with pytest.raises(Refused, match=r"no thread M28x0\.4 is known") as no:
        thread_of("M28x0.4")
    assert "M28x0.35" in no.value.faults[0].remedy
    with pytest.raises(Refused, match=r"no thread M70x0\.5 is known"):
        thread_of("M70x0.5")
    assert thread_of("M6x1").name == "M6"


def test_every_thread_has_standard_drills_within_its_own_limits() -> None:
    for name in thread_names():
        thread = thread_of(name)
        for share in (0.4, 1.0, 2.0, 4.0):
            for metal in ("brass-leaded", "stainless-316l"):
                suits = hole_for(thread, share * thread.diameter, metal)
                assert suits.drills, name
                for drill in suits.drills:
                    assert suits.usual.least <= drill + 1e-9 <= suits.usual.most + 2e-9, name
                assert suits.may.least <= suits.usual.least < suits.usual.most <= suits.may.most
                assert suits.may.least <= thread.hole < suits.may.least + 0.0101


def test_the_torque_of_a_tap_is_that_of_its_triangle() -> None:
    """Chip by chip over the triangle from hole to tip: kc · width · radius, summed (geometry)."""
    hole, diameter, kc = 0.8, 1.0, 1000.0
    radius = np.linspace(hole / 2, diameter / 2, 20_001)
    width = 2 * (diameter / 2 - radius) * math.tan(math.pi / 6)
    summed = float(np.trapezoid(kc * width * radius, radius))
    factor = tap_torque(kc, diameter, hole) / summed
    assert 1.5 <= factor <= 2.5
    # And the same factor everywhere.
    half = np.linspace(0.3, 0.5, 20_001)
    other = float(np.trapezoid(kc * 2 * (0.5 - half) * math.tan(math.pi / 6) * half, half))
    assert tap_torque(kc, diameter, 0.6) / other == pytest.approx(factor, rel=1e-6)


@pytest.mark.parametrize("size", [0.76, 0.8, 0.85])
def test_drills_that_suit_the_thread_are_taken_and_proved(size: float) -> None:
    text = drilled(size)
    assert job_faults(read(text), REVERSING) == []
    assert failing(text=text) == set()
    notes = [str(note) for note in planned(text).notes]
    assert bool(notes) is (size != 0.8)
    if size == 0.76:
        assert "0.785 to 0.831 mm are usual, such as a drill of 0.8 mm" in notes[0]


@pytest.mark.parametrize("size", [0.7, 0.75, 0.87, 0.95])
@pytest.mark.parametrize("said", [False, True])
def test_drills_that_do_not_are_refused_with_the_range_and_the_drills(
    size: float, said: bool
) -> None:
    text = drilled(size)
    if said:
        text = text.replace("thread: S1.0", f"thread: S1.0, diameter: {size}")
    faults = job_faults(read(text), REVERSING)
    told = [one for one in faults if "0.785 to 0.831 mm are usual" in one.remedy]
    assert told, faults
    assert "drills within that: 0.8" in told[0].remedy
    assert "0.76 to 0.856 mm" in told[0].message


def test_a_thread_taken_less_deep_than_its_hole_is_looked_at_as_it_is_cut() -> None:
    short = drilled(0.8).replace("lead: 0.4", "lead: 0.4, depth: 0.6")
    (note,) = [one for one in map(str, planned(short).notes) if "usual" in one] or [""]
    assert note == ""
    wide = drilled(0.85).replace("lead: 0.4", "lead: 0.4, depth: 0.6")
    (note,) = [one for one in map(str, planned(wide).notes) if "usual" in one]
    assert "0.762 to 0.798 mm are usual" in note
    assert "less full" in note


@pytest.mark.parametrize("metal", ["pinion-steel", "tool-steel-annealed", "stainless-316l",
                                   "titanium-grade-5"])
def test_in_steel_a_wider_hole_makes_the_tap_strong_enough(metal: str) -> None:
    text = SCREWS.replace("material: brass", f"material: {metal}", 1)
    with pytest.raises(Refused, match="torsion") as no:
        planned(drilled(0.76, text))
    assert " mm or more for it" in no.value.faults[0].remedy
    (drill,) = hole_for(thread_of("S1.0"), 1.5, metal).drills
    assert drill == 0.85
    one = planned(drilled(drill, text))
    assert job_faults(read(drilled(drill, text)), REVERSING) == []
    assert failing(text=drilled(drill, text)) == set()
    assert any("by hand" in str(warning) for warning in one.cuts[-1].warnings)


@pytest.mark.parametrize("metal", ["pinion-steel", "tool-steel-annealed", "stainless-316l"])
@pytest.mark.parametrize("hole", [0.76, 0.78, 0.8])
def test_the_hole_that_is_told_does_hold(metal: str, hole: float) -> None:
    tap, found = parse_cutter("hss tap 1.0 pitch 0.25 reach 6"), find_material(metal)
    with pytest.raises(Refused) as no:
        plan_tapping(found, tap, MILL, 1.5, hole=hole)
    wide = float(no.value.faults[0].remedy.split("a hole of ")[1].split()[0])
    assert plan_tapping(found, tap, MILL, 1.5, hole=wide).torque > 0
    with pytest.raises(Refused):
        plan_tapping(found, tap, MILL, 1.5, hole=wide - 0.02)


def test_where_no_hole_helps_the_hand_does() -> None:
    tap = parse_cutter("hss tap 0.5 pitch 0.2 reach 4")
    with pytest.raises(Refused, match="torsion") as no:
        plan_tapping(find_material("stainless-316l"), tap, MILL, 0.7)
    assert "tap by hand" in no.value.faults[0].remedy


def test_it_is_the_same_in_inches_and_on_the_other_face() -> None:
    text = SCREWS.replace("job: screws", "job: screws\nunits: inch")
    for mm, inch in (("1.5", "0.0591"), ("[20, 14], corner: 2", "[0.8, 0.55], corner: 0.08"),
                     ("[[0, 4], [4, 1]]", "[[0, 0.16], [0.16, 0.04]]"), ("0.80", "0.0315"),
                     ("[30, 24]", "[1.2, 0.95]"), ("thickness: 5, cut-into: 1.8",
                                                   "thickness: 0.2, cut-into: 0.07")):
        text = text.replace(mm, inch)
    text = text.replace("flute-length: 6, reach: 8", "flute-length: 0.24, reach: 0.31").replace(
        "diameter: 1.0, pitch: 0.25, flutes: 3, flute-length: 4, reach: 8",
        f"diameter: {1 / 25.4:.8f}, pitch: {0.25 / 25.4:.8f}, flutes: 3, flute-length: 0.16, "
        "reach: 0.31").replace("depth: 3.0", "depth: 0.118").replace(
        "holder-gives: 0.3, lead: 0.4", "holder-gives: 0.012, lead: 0.016")
    assert job_faults(read(text), REVERSING) == []
    assert failing(text=text) == set()
    under = SCREWS.replace(
        "  - name: top\n", "  - name: top\n    face: under\n    turned-over: about Y\n"
    ).replace("S1.0}", "S1.0, face: under, depth: 1.0}").replace(", depth: 3.0", "").replace(
        "lead: 0.4", "lead: 0.15")
    assert job_faults(read(under), REVERSING) == []
    assert failing(text=under) == set()


def test_threads_of_one_diameter_are_told_apart_by_their_pitch() -> None:
    """A step that names no holes mills those of its thread only: ISO 261 has several pitches."""
    text = SCREWS.replace("posts: {at: [[0, 4], [4, 1]], thread: S1.0}",
                          "fine: {at: [[0, 4]], thread: M2.5x0.35}\n"
                          "    coarse: {at: [[5, 1]], thread: M2.5}").replace(
        "  tap: {kind: tap, diameter: 1.0, pitch: 0.25, flutes: 3, flute-length: 4, reach: 8, "
        "material: hss}",
        "  tap: {kind: thread-mill, diameter: 1.6, pitch: 0.35, flutes: 3, reach: 6}\n"
        "  tap-2: {kind: thread-mill, diameter: 1.6, pitch: 0.45, flutes: 3, reach: 6}").replace(
        "diameter: 0.80", "diameter: 2.1").replace(
        "drill, depth: 3.0}", "drill, holes: [coarse], depth: 2.0}\n"
        "      - drill: {cutter: drill-2, holes: [fine], depth: 2.0}").replace(
        "cutters:\n",
        "cutters:\n  drill-2: {kind: drill, diameter: 2.2, flute-length: 6, reach: 8}\n"
        ).replace("cut-into: 1.8", "cut-into: 2.0").replace(
        "      - tap: {cutter: tap, holder-gives: 0.3, lead: 0.4}\n",
        "      - thread-mill: {cutter: tap, thread: M2.5x0.35}\n"
        "      - thread-mill: {cutter: tap-2, thread: M2.5}\n")
    assert job_faults(read(text), REVERSING) == []
    assert failing(text=text) == set()
    one = text.replace("      - thread-mill: {cutter: tap-2, thread: M2.5}\n", "")
    assert any("coarse" in fault.message for fault in job_faults(read(one), REVERSING))
