"""Shapes round a circle and in rows: as if each had been written out."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few
from shapely.affinity import rotate

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.job.file import JobFile
from camgen.job.joined.patterns import repeated
from camgen.job.reading import parse_job
from camgen.layout import FlatLayout
from camgen.make.chain import proved_job
from camgen.part.figures import path_of
from camgen.part.plates.place_words import Ring
from camgen.part.plates.plate_words import Shape
from camgen.plan import plan_job
from camgen.shop.machines import find_machine
from camgen.steps import step_words

JOB = """\
job: dial plate
material: brass
plate:
  thickness: 0.6
  outline: {circle: 20}
  openings:
    windows: {slot: [[-1, 0], [1, 0]], width: 1.4, ring: {count: 3, diameter: 11, start: 90}}
  pockets:
    feet: {rectangle: [2, 1.6], corner: 0.5, depth: 0.2, rows: {columns: 2, pitch: [5, 1]},
           islands: []}
cutters:
  mill: {kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2, reach: 3}
setups:
  - name: plate
    stock: {sheet: [26, 26], thickness: 0.6}
    holding: {by: shellac, carrier: brass, carrier-thickness: 6, cut-into: 0.3, holds-slugs: true}
    steps:
      - pocket: {cutter: mill, pockets: [feet]}
      - cut-out: {cutter: mill, openings: [windows]}
      - outline: {cutter: mill}
"""


def job_of(text: str) -> JobFile:
    return parse_job(text, Path("pattern.yaml"), step_words())


def test_every_shape_of_a_pattern_is_cut_and_a_step_may_speak_of_all(tmp_path: Path) -> None:
    path = tmp_path / "pattern.yaml"
    path.write_text(JOB, "utf-8")
    proved = proved_job(path)
    assert all(proof.holds for proof in proved.proofs)
    layout = proved.setups[0].evidence.layout
    assert isinstance(layout, FlatLayout)
    part = layout.part
    assert part.opening_names == ("windows-1", "windows-2", "windows-3")
    assert [one.name for one in part.recesses] == ["feet-1", "feet-2"]
    middles = [path.region(0.001).centroid for path in part.openings]
    assert [round(math.degrees(math.atan2(p.y, p.x)) % 360) for p in middles] == [90, 210, 330]
    assert all(math.hypot(p.x, p.y) == pytest.approx(5.5, abs=1e-6) for p in middles)


def test_one_of_a_pattern_is_spoken_of_by_its_number_and_the_others_are_missed() -> None:
    text = JOB.replace("[windows]", "[windows-1, windows-3]")
    faults = job_faults(job_of(text), find_machine("plain-iso"))
    assert ["windows-2" in fault.message for fault in faults] == [True]


def test_a_name_that_is_none_of_a_pattern_is_named() -> None:
    job_file = job_of(JOB.replace("[windows]", "[window]"))
    with pytest.raises(Refused) as no:
        plan_job(job_file, find_machine("plain-iso"))
    (fault,) = no.value.faults
    assert "'window'" in fault.message
    assert fault.place.line == 1 + JOB[:JOB.index("cut-out")].count("\n")


@pytest.mark.parametrize(("old", "new", "said"), [
    ("outline: {circle: 20}", "outline: {circle: 20, rows: {columns: 2, pitch: [1, 1]}}",
     "a plate has one outline"),
    ("width: 1.4, ring", "width: 1.4, at: [1, 0], ring", "may mean the middle of it"),
    ("outline: {circle: 20}", "outline: {circle: 20, at: [[0, 0], [1, 1]]}",
     "a plate has one outline"),
    ("  pockets:\n", "    windows-2: {circle: 1}\n  pockets:\n",
     "place 2 of the opening windows and the opening windows-2 are both called windows-2"),
    ("islands: []", "islands: [{circle: 0.2, at: [0, 0], rows: {pitch: [1, 1], columns: 2}}]",
     "may mean the middle of it"),
    ("diameter: 11, start", "diameter: 0, upright: true, start",
     "windows would stand 3 times at one place"),
])
def test_patterns_that_cannot_be_are_refused_at_their_words(old: str, new: str, said: str) -> None:
    with pytest.raises(Refused) as no:
        job_of(JOB.replace(old, new))
    assert [said in fault.message for fault in no.value.faults] == [True]
    assert all(fault.place.line > 0 for fault in no.value.faults)


@settings(max_examples=few(40), deadline=None)
@given(st.integers(1, 12), st.floats(1.0, 30.0), st.floats(-360.0, 360.0), st.floats(0.0, 90.0))
def test_a_pattern_round_a_circle_is_the_first_shape_turned_about_its_middle(
    count: int, diameter: float, start: float, turned: float
) -> None:
    """Against shapely's own turning of polygons."""
    middle = (1.5, -2.0)
    ring = Ring(count=count, diameter=diameter, start=start, at=middle)
    found = repeated(Shape(rectangle=(2.0, 1.0), turned=turned, ring=ring))
    first = path_of(found[0]).region(1e-4)
    assert len(found) == count
    for number, one in enumerate(found):
        meant = rotate(first, 360.0 * number / count, origin=middle)
        assert shapely.symmetric_difference(path_of(one).region(1e-4), meant).area < 1e-6
