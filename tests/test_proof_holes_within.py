"""A hole that another feature takes away has no wall left to be proved; what it leaves has."""

from __future__ import annotations

import pytest
from workshop import DRIVEN, read

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.layout import FlatLayout
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import prove
from camgen.proof.ground.edges import slices_of
from camgen.reader import read_program

JOB = """
job: plate
material: brass
made-elsewhere: [outline]
plate:
  thickness: 1.2
  outline: {circle: 8}
  holes: {%s}
  openings: {%s}
cutters:
  drill: {kind: drill, diameter: 0.8, flute-length: 6, reach: 8}
  mill: {kind: end-mill, diameter: 0.6, flute-length: 2.4, reach: 2.8}
setups:
  - name: one
    stock: {sheet: [16, 16], thickness: 1.2}
    holding: {by: shellac on brass, cut-into: 0.5, holds-slugs: true}
    steps:
      - drill: {cutter: drill}
"""
CUT = "      - cut-out: {cutter: mill}\n"
BORE = "      - bore: {cutter: mill, holes: [w], drilled: 0.8}\n"


def hole(x: float, name: str = "h", wide: float = 0.8) -> str:
    return f"{name}: {{at: [[{x}, 0]], diameter: {wide}}}"


@pytest.mark.parametrize(("text", "gone"), [
    (JOB % (hole(0), "o: {circle: 2}") + CUT, "h"),
    (JOB % (hole(0.5), "o: {rectangle: [2, 1.4], corner: 0.4}") + CUT, "h"),
    (JOB % (f"{hole(1)}, {hole(1, 'w', 1.4)}", "") + BORE, "h"),
])
def test_a_hole_within_another_feature_is_proved_with_that_one(text: str, gone: str) -> None:
    job = read(text)
    planned = plan_job(job, DRIVEN).setups[0]
    programs = [read_program(one.text, DRIVEN, one.file)
                for one in write_programs(planned.moves, DRIVEN, stem="plate")]
    found = {str(one.id): one.holds for one in prove(job, planned, DRIVEN, programs)}
    assert [name for name, holds in found.items() if not holds] == []
    assert f"flat.wall: {gone}" not in found
    assert isinstance(planned.layout, FlatLayout)
    (piece,) = slices_of(planned.layout, 0.05)
    assert {edge.name for edge in piece.edges.edges} == {
        "outline", "w" if "w:" in text else "o"}


@pytest.mark.parametrize(("x", "names"), [
    (0.5, {"o"}), (0.59, {"o"}), (1.5, {"o", "h"}), (2.5, {"o", "h"}),
])
def test_one_beside_it_keeps_its_wall(x: float, names: set[str]) -> None:
    """It lies within the opening, 2 mm wide, up to 0.6 off the middle."""
    layout = plan_job(read(JOB % (hole(x), "o: {circle: 2}") + CUT), DRIVEN).setups[0].layout
    assert isinstance(layout, FlatLayout)
    (piece,) = slices_of(layout, 0.05)
    assert {edge.name for edge in piece.edges.edges} == {"outline"} | names


@pytest.mark.parametrize("x", [0.7, 1.0, 1.3])
def test_one_over_its_wall_is_refused_and_both_are_named(x: float) -> None:
    try:
        faults = job_faults(read(JOB % (hole(x), "o: {circle: 2}") + CUT), DRIVEN)
    except Refused as no:
        faults = list(no.faults)
    assert any("o runs into h" in fault.message for fault in faults)
