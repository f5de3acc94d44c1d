"""Counterbores and holes to a depth that run out at the part's edge: made and proved."""

from __future__ import annotations

import pytest
from test_steps_taps import REVERSING, failing, planned
from workshop import read

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults

HALF = """
job: half open
material: brass
plate:
  thickness: 1.5
  outline: {rectangle: [12, 9], corner: 2}
  holes:
    screw: {diameter: 0.8, at: [[%s, 0]], counterbore: {diameter: 2.4, depth: 0.5}}
cutters:
  drill: {kind: drill, diameter: 0.80, flute-length: 6, reach: 8}
  wide: {kind: drill, diameter: 2.0, flute-length: 6, reach: 8}
  sink: {kind: counterbore, diameter: 2.4, flutes: 2, flute-length: 4, reach: 8}
  mill: {kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.4, reach: 3}
setups:
  - name: top
    stock: {sheet: [18, 15], thickness: 1.5}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 0.6,
              holds-slugs: true}
    steps:
"""
DRILL = "      - drill: {cutter: drill, holes: [screw]}\n"
BORE = "      - bore: {cutter: mill, holes: [screw-counterbore]}\n"
SINK = "      - counterbore: {cutter: sink, holes: [screw-counterbore]}\n"
OUTLINE = "      - outline: {cutter: mill}\n"


@pytest.mark.parametrize("steps", [DRILL + BORE + OUTLINE, OUTLINE + DRILL + BORE,
                                   DRILL + SINK + OUTLINE, DRILL + OUTLINE + SINK])
@pytest.mark.parametrize("x", [5.2, 5.35])
def test_a_half_open_counterbore_is_made_and_proved(steps: str, x: float) -> None:
    text = HALF % x + steps
    assert job_faults(read(text), REVERSING) == []
    assert failing(text=text) == set()
    over = x + 1.2 - 6.0
    assert any(f"runs {over:.3g} mm over the outline" in str(one) for one in planned(text).notes)


def test_one_that_stays_within_is_told_of_by_nobody() -> None:
    notes = planned(HALF % 4.5 + DRILL + BORE + OUTLINE).notes
    assert not any("over the outline" in str(one) for one in notes)


def test_what_is_left_of_its_wall_or_cut_too_deep_is_found() -> None:
    text = HALF % 5.2 + DRILL + BORE + OUTLINE
    small = failing(text=text, harm=lambda program: program.replace("X6. ", "X5.98 "))
    deep = failing(text=text, harm=lambda program: program.replace("Z-0.5", "Z-0.55"))
    assert any(name.startswith("flat.") for name in small), small
    assert any(name.startswith("flat.") for name in deep), deep


@pytest.mark.parametrize("hole", [
    "screw: {diameter: 2.4, at: [[5.2, 0]]}", "screw: {diameter: 2.4, depth: 0.5, at: [[6.1, 0]]}"])
def test_holes_right_through_or_with_their_middle_outside_stay_refused(hole: str) -> None:
    text = (HALF % 5.2).replace(
        "screw: {diameter: 0.8, at: [[5.2, 0]], counterbore: {diameter: 2.4, depth: 0.5}}", hole)
    faults = job_faults(read(text + OUTLINE), REVERSING)
    assert any("does not lie within the outline" in one.message for one in faults)


@pytest.mark.parametrize(("word", "across"), [
    ("slots: {s: {ends: [[%d, 0], [%d, 0]], width: 1}}", True),
    ("slots: {s: {ends: [[0, %d], [0, %d]], width: 1}}", True),
    ("openings: {s: {rectangle: [1, 1], at: [%d, %d]}}", False),
])
def test_an_opening_over_the_edge_is_told_where_it_belongs(word: str, across: bool) -> None:
    # Across the plate, which it would part; or wholly beside it.
    head, holes = (HALF % 5.2).split("  holes:", 1)
    text = f"{head}  {word % ((-12, 12) if across else (30, 30))}\n  holes:{holes}{OUTLINE}"
    fault, = [one for one in job_faults(read(text), REVERSING)
              if "does not lie within the outline" in one.message]
    assert ("belongs into the outline" in str(fault.remedy)) == across


def test_a_drill_is_not_drawn_out_at_the_edge() -> None:
    text = (HALF % 5.2).replace(
        "{diameter: 0.8, at: [[5.2, 0]], counterbore: {diameter: 2.4, depth: 0.5}}",
        "{diameter: 2.4, depth: 0.6, at: [[5.2, 0]]}")
    with pytest.raises(Refused, match=r"runs 0\.2 mm over the outline") as no:
        planned(text + DRILL.replace("drill, holes", "wide, holes"))
    assert "`bore` it" in no.value.faults[0].remedy
    bored = text + BORE.replace("screw-counterbore", "screw") + OUTLINE
    assert job_faults(read(bored), REVERSING) == []
    assert failing(text=bored) == set()
