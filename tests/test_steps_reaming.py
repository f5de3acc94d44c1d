"""Reaming: one rule for what is left for a reamer, in the plan, the checks and the advice."""

from __future__ import annotations

import pytest
from test_steps_taps import REVERSING, failing, planned
from workshop import read

from camgen.cutting.planner import plan_drilling
from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.shop.cutters import parse_cutter
from camgen.shop.machines import find_machine
from camgen.shop.materials import find_material
from camgen.shop.reaming import for_reamer

REAMED = """
job: reamed plate
material: brass
made-elsewhere: [outline]
plate:
  thickness: 1.0
  outline: {rectangle: [20, 14], corner: 2}
  holes:
    pins: {diameter: 1.2, at: [[0, 4], [4, 1]]}
cutters:
  drill: {kind: drill, diameter: 1.15, flute-length: 6, reach: 8}
  mill: {kind: end-mill, diameter: 0.6, flutes: 2, flute-length: 2.1, reach: 2.6}
  reamer: {kind: reamer, diameter: 1.2, flutes: 4, flute-length: 6, reach: 10, material: hss}
setups:
  - name: top
    stock: {sheet: [30, 24], thickness: 1.0}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 1.8,
              holds-slugs: true}
    steps:
      - drill: {cutter: drill, depth: 2.0}
      - ream: {cutter: reamer}
"""


@pytest.mark.parametrize(("diameter", "most"), [(2.3, 0.13), (4.3, 0.25)])
def test_no_more_is_left_than_handbooks_give(diameter: float, most: float) -> None:
    """Handbook tables, from memory: 0.13 to 0.25 mm on the diameter at 2.3 to 4.3 mm."""
    left = for_reamer(diameter)
    assert left.most == pytest.approx(most, rel=0.08)
    assert left.least < left.usual < left.most


def test_one_rule_is_told_planned_and_checked() -> None:
    usual = for_reamer(1.2).usual
    cut = plan_drilling(find_material("brass"), parse_cutter("hss reamer 1.2 4 flutes reach 6"),
                        find_machine("plain-iso"), 1.0)
    assert any(f"leave {usual:.2g} mm on the diameter" in one for one in map(str, cut.warnings))
    torn = REAMED.replace("diameter: 1.15", "diameter: 0.9")
    (fault,) = job_faults(read(torn), REVERSING)[:1]
    assert f"{usual:.2g} mm are usually left for it" in fault.message
    assert f"to {1.2 - usual:.4g} mm first" in fault.remedy


@pytest.mark.parametrize(("drill", "said"), [
    (1.19, "rubs"), (1.18, ""), (1.15, ""), (1.13, ""), (1.12, "torn"), (1.05, "torn")])
def test_more_or_less_than_is_usual_is_told(drill: float, said: str) -> None:
    text = REAMED.replace("diameter: 1.15", f"diameter: {drill}")
    assert job_faults(read(text), REVERSING) == []
    notes = [one for one in map(str, planned(text).notes) if one.startswith("ream: ")]
    assert [said in one for one in notes] == ([True] if said else [])
    assert failing(text=text) == set()


@pytest.mark.parametrize("passes", ["", ", passes: 2"])
@pytest.mark.parametrize("less", [-0.06, -0.04, -0.02])
def test_a_hole_bored_so_much_smaller_is_reamed(less: float, passes: str) -> None:
    """A negative correction of the diameter leaves the reamer's share."""
    text = REAMED.replace("diameter: 1.15", "diameter: 1.05").replace(
        "      - ream:",
        f"      - bore: {{cutter: mill, correction: {less}{passes}}}\n      - ream:")
    assert job_faults(read(text), REVERSING) == []
    assert failing(text=text) == set()
    assert not [one for one in map(str, planned(text).notes) if one.startswith("ream: ")]


def test_a_lead_that_goes_below_the_bore_needs_a_drill_as_wide_there() -> None:
    """A bore ends just below the piece, and the drill before it is narrower than where the lead of
    a reamer begins, 0.85 of its diameter: it is the word that is told, not a failed proof."""
    text = REAMED.replace("diameter: 1.15", "diameter: 0.9").replace(
        "      - ream:", "      - bore: {cutter: mill, correction: -0.06}\n      - ream:")
    with pytest.raises(Refused, match=r"needs it 1\.02 mm wide there") as no:
        planned(text)
    assert "drill it with 1.02 mm or more before that step, with depth: 1.3" in (
        no.value.faults[0].remedy)
    assert failing(text=text.replace("diameter: 0.9", "diameter: 1.02")) == set()
    square = text.replace("ream: {cutter: reamer}", "ream: {cutter: reamer, lead: 0}")
    assert failing(text=square) == set()
    relieved = text.replace("cut-into: 1.8", "cut-into: 1.8, relieved: 1.8")
    assert failing(text=relieved) == set()


def test_a_hole_bored_to_size_leaves_the_reamer_nothing_and_says_so() -> None:
    text = REAMED.replace("diameter: 1.15", "diameter: 0.9").replace(
        "      - ream:", "      - bore: {cutter: mill}\n      - ream:")
    with pytest.raises(Refused, match="leaves nothing for a reamer"):
        planned(text)
