"""Tabs of every width and height hold all proofs, or are refused in words; so do narrow pockets."""

from __future__ import annotations

from pathlib import Path

import pytest
from job_sweep import answer
from sampling import sampled

TABS = """
job: tabs
material: brass
post: plain-iso
plate:
  thickness: {thick}
  outline: {{{outline}}}
cutters:
  mill: {{kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.0, reach: 2.4}}
setups:
  - name: one
    stock: {{sheet: [16, 16], thickness: {thick}}}
    holding: {{by: shellac on brass, carrier: brass, carrier-thickness: 6, cut-into: 2.6}}
    steps:
      - outline: {{cutter: mill, tabs: {{count: 2, width: {width}, height: {height}}}}}
"""
BAY = """
job: bay
material: brass
post: plain-iso
made-elsewhere: [outline]
plate:
  thickness: 1.2
  outline: {{rectangle: [9, 9], corner: 1}}
  pockets:
    bay: {{rectangle: [4, 3], corner: 0.6, depth: 0.2, islands: [{{circle: {island}}}]}}
cutters:
  mill: {{kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.0, reach: 2.4}}
setups:
  - name: one
    stock: {{sheet: [12, 12], thickness: 1.2}}
    holding: {{by: wax}}
    steps:
      - pocket: {{cutter: mill}}
"""


def refused(text: str, folder: Path) -> str:
    """What is said against a job; that it is proved where nothing is."""
    faults, failed = answer(text, folder)
    assert faults or not failed, [str(proof.id) for proof in failed]
    assert all(fault.place.line for fault in faults)
    return " ".join(fault.message for fault in faults)


# An opening that its cutter clears whole leaves no slug, and asks for no tabs; a wider one does.
OPENINGS = TABS.replace("  outline: {{{outline}}}", "  outline: {{circle: 12}}\n{opening}").replace(
    "width: {width}, height: {height}", "width: 0.8, height: 0.3")
INSIDE = "      - cut-out: {{cutter: mill}}\n"
OUTLINE = OPENINGS[OPENINGS.index("      - outline"):]


@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize(("opening", "slug"), sampled([
    ("slots: {s: {ends: [[-2, 0], [2, 0]], width: 0.9}}", False),
    ("slots: {s: {ends: [[2, 2], [-2, 2]], centre: [0, 2], width: 1.58}}", False),
    ("openings: {s: {rectangle: [4, 1.2], corner: 0.45, turned: 40}}", False),
    ("openings: {s: {rectangle: [4, 3], corner: 0.45}}", True),
    ("slots: {s: {ends: [[2, 0], [-2, 0]], centre: [0, 0], width: 1.7}}", True)], 2))
def test_an_opening_cleared_whole_has_no_slug_to_hold(
    opening: str, slug: bool, first: bool, tmp_path: Path
) -> None:
    steps = INSIDE + OUTLINE if first else OUTLINE.rstrip() + "\n" + INSIDE
    text = OPENINGS.replace(OUTLINE, steps).format(opening="  " + opening, thick=1.2)
    assert ("nothing holds the slugs" in refused(text, tmp_path)) == slug


@pytest.mark.parametrize("outline", ["circle: 12", "rectangle: [11, 9], corner: 1"])
@pytest.mark.parametrize(("width", "height"), sampled([
    (0.4, 0.3), (0.8, 0.3), (3.0, 0.39), (0.4, 0.41), (0.8, 0.8), (1.6, 1.0), (0.3, 1.15)], 3))
def test_tabs_wider_and_higher_than_the_cutter_are_cut_round(
    outline: str, width: float, height: float, tmp_path: Path
) -> None:
    text = TABS.format(outline=outline, width=width, height=height, thick=1.2)
    assert refused(text, tmp_path) == ""


def test_tabs_as_high_as_the_stock_are_refused(tmp_path: Path) -> None:
    text = TABS.format(outline="circle: 12", width=0.8, height=1.2, thick=1.2)
    assert "stand through the whole stock" in refused(text, tmp_path)


# The cutter is 0.8 wide and leaves 0.04 on each wall.
@pytest.mark.parametrize(("gap", "said"), sampled([
    (0.78, "narrower than the cutter"), (0.799, "narrower than the cutter"),
    (0.8, "by the last pass alone"), (0.8002, "by the last pass alone"),
    (0.801, "by the last pass alone"), (0.84, "by the last pass alone"),
    (0.87, "by the last pass alone"), (0.9, "")], 9))
def test_a_neck_hardly_wider_than_its_cutter_is_refused_or_proved(
    gap: float, said: str, tmp_path: Path
) -> None:
    found = refused(BAY.format(island=round(3 - 2 * gap, 6)), tmp_path)
    assert said in found
    assert bool(said) == bool(found)


RIM = BAY.replace("rectangle: [9, 9], corner: 1", "circle: 12").replace(
    "bay: {{rectangle: [4, 3], corner: 0.6, depth: 0.2, islands: [{{circle: {island}}}]}}",
    "bay: {{rectangle: [5, 3], corner: 0.6, depth: 0.2, at: [0, {at}]}}").replace(
    "sheet: [12, 12]", "sheet: [16, 16]")


@pytest.mark.parametrize(("top", "said"), sampled([
    (5.9, "no room to go on over"), (5.998, "touches the part's edge about X"),
    (6.0, "touches the part's edge about X 0.00 Y 6.00"),
    (6.002, "touches the part's edge about X"),
    (6.06, "")], 3, 1))
def test_a_wall_that_touches_the_edge_is_told(top: float, said: str, tmp_path: Path) -> None:
    found = refused(RIM.format(at=round(top - 1.5, 6)), tmp_path)
    assert said in found
    assert bool(said) == bool(found)
