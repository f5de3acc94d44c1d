"""The sheet's table of holes: sizes, how to gauge them, and what to write when they are off."""

from __future__ import annotations

import re

import pytest
from workshop import read

from camgen.job.models import Setup
from camgen.layout import FlatLayout, flat_layout
from camgen.make.told.hole_table import holes_of
from camgen.sheet.data import HoleLine, HoleStep, HoleTable, SetupSheet, SheetData
from camgen.sheet.page import sheet_html
from camgen.words import languages, words

PLATE = """
job: plate
material: brass
made-elsewhere: [outline]
limits: {feet-2: [1.198, 1.204]}
plate:
  thickness: 1.2
  outline: {circle: 20}
  holes:
    feet: {diameter: 1.2, at: [[5, 0], [-5, 0], [5, 3]]}
    posts: {at: [[0, 5]], thread: S1.0}
    dowels: {diameter: 1.0, fit: H7, at: [[0, -5]]}
  jewels:
    third: {diameter: 1.5, at: [[1, 2]], through: 0.8,
            end-shake: {jewel: 0.35, arbor: 2.40, between: 2.30, wanted: 0.03}}
    fourth: {diameter: 1.5, at: [[-3, 2]], fit: P7}
cutters:
  d12: {kind: drill, diameter: 1.2}
  d08: {kind: drill, diameter: 0.8}
  tap-drill: {kind: drill, diameter: 0.76}
  reamer: {kind: reamer, diameter: 1.0}
  bar: {kind: boring-bar, diameter: 1.489}
  thread: {kind: thread-mill, diameter: 0.6, pitch: 0.25, flutes: 3, reach: 3}
  mill: {kind: end-mill, diameter: 0.6}
setups:
  - name: top
    stock: {disc: 26, thickness: 1.2}
    holding: {by: wax, carrier: brass, carrier-thickness: 3, cut-into: 0.5, holds-slugs: true}
    steps:
      - drill: {cutter: d12, holes: [feet]}
      - drill: {cutter: d08, holes: [third-through, fourth, dowels]}
      - drill: {cutter: tap-drill, holes: [posts]}
      - ream: {cutter: reamer, holes: [dowels], drilled: 0.95}
      - bore: {cutter: mill, holes: [third], drilled: 0.8, correction: 0.004}
      - fine-bore: {cutter: bar, holes: [fourth], drilled: 1.45}
      - thread-mill: {cutter: thread, thread: S1.0, holes: [posts]}
"""


def table(text: str = PLATE, language: str = "en") -> tuple[HoleStep, ...]:
    job = read(text).job
    return holes_of(job, job.setups[0], layout(text)[1], words(language)).steps


def layout(text: str) -> tuple[Setup, FlatLayout]:
    job = read(text).job
    return job.setups[0], flat_layout(job, job.flat[0])


def line(steps: tuple[HoleStep, ...], name: str) -> tuple[HoleStep, HoleLine]:
    return next((step, hole) for step in steps for hole in step.holes
                if hole.name.split(" ")[0] == name)


def test_every_hole_stands_once_under_the_step_that_finishes_it() -> None:
    steps = table()
    names = [hole.name for step in steps for hole in step.holes]
    assert len(names) == len(set(names))
    assert len(names) == 8
    assert line(steps, "posts")[0].title.startswith("Step 7, thread")
    assert line(steps, "dowels")[0].title.startswith("Step 4, ream")
    assert line(steps, "third")[0].title.startswith("Step 5, bore")


def test_a_fitted_hole_has_its_place_its_size_its_limits_and_its_gauge() -> None:
    _, third = line(table(), "third")
    assert (third.x, third.y, third.depth) == (1.0, 2.0, pytest.approx(0.48))
    # A hundredth under the jewel, three micrometres either way.
    assert third.size == pytest.approx(1.49)
    assert third.limits == pytest.approx((1.487, 1.493))
    assert third.gauge == "plug 1.487 goes, 1.493 does not"
    # ISO 286-2 (from memory): P7 up to 3 mm is -16/-6, H7 0/+10 µm.
    assert line(table(), "fourth")[1].limits == pytest.approx((1.484, 1.494))
    assert line(table(), "dowels")[1].limits == pytest.approx((1.0, 1.01))


def test_limits_that_the_job_says_of_a_hole_are_its_own() -> None:
    _, foot = line(table(), "feet-2")
    assert foot.limits == (1.198, 1.204)
    assert [line(table(), name)[1].limits for name in ("feet-1", "feet-3")] == [None, None]


def test_every_hole_has_its_place_in_the_setup_it_is_finished_in() -> None:
    """Turned over about Y a part's X runs the other way, and the zero is where the setup has it
    (geometry): the table has X and Y as the program does."""
    told = {hole.name: (hole.x, hole.y) for step in table() for hole in step.holes}
    assert told["feet-3"] == (5.0, 3.0)
    assert told["posts"] == (0.0, 5.0)
    assert told["feet-2"] == (-5.0, 0.0)
    two = PLATE.replace("1.2, at: [[5, 0]", "1.2, face: under, depth: 0.5, at: [[5, 0]").replace(
        "      - drill: {cutter: d12, holes: [feet]}\n", "") + """
  - name: under
    face: under
    turned-over: about Y
    stock: {left-by: top, thickness: 1.2}
    zero: {dowel: dowels, z: carrier}
    steps:
      - drill: {cutter: d12, holes: [feet]}
"""
    job = read(two).job
    under = holes_of(job, job.setups[1], flat_layout(job, job.flat[1]), words("en")).steps
    found = {hole.name: (hole.x, hole.y) for step in under for hole in step.holes}
    # dowels lies at 0, -5 and is now 0, 0.
    assert found == {"feet-1": (-5.0, 5.0), "feet-2": (5.0, 5.0), "feet-3": (-5.0, 8.0)}
    several = PLATE.replace("disc: 26", "sheet: [60, 30]").replace(
        "    steps:\n", "    repeat: {columns: 2, rows: 1, pitch: [26, 26]}\n    steps:\n")
    places = layout(several)[1].places
    assert len(places) == 2
    job = read(several).job
    counted = holes_of(job, job.setups[0], layout(several)[1], words("en")).counted
    assert f"X {places[0][0]:.3f}" in counted
    foot = line(table(several), "feet-3")[1]
    assert (foot.x, foot.y) == (5.0, 3.0)


def test_what_to_write_when_a_hole_is_off_is_reckoned_from_what_is_written_now() -> None:
    correct = line(table(), "third")[0].correct
    assert "0.01 mm too small" in correct
    assert "correction: 0.014;" in correct
    assert "correction: -0.006 " in correct
    assert "set the bar bar out by 0.005" in line(table(), "fourth")[0].correct
    assert "cutters: reamer" in line(table(), "dowels")[0].correct


def test_a_job_in_inches_is_corrected_in_inches() -> None:
    inches = """
job: plate
units: inch
material: brass
made-elsewhere: [outline]
plate:
  thickness: 0.05
  outline: {circle: 1}
  holes: {feet: {diameter: 0.05, at: [[0, 0]]}}
cutters: {mill: {kind: end-mill, diameter: 0.03}}
setups:
  - name: top
    stock: {disc: 1.2, thickness: 0.05}
    steps: [bore: {cutter: mill, correction: 0.0002}]
"""
    correct = line(table(inches), "feet")[0].correct
    # 0.0002 inch and a hundredth of a millimetre, 0.00039 inch.
    assert "correction: 0.0006;" in correct


def test_a_seats_line_says_what_end_shake_it_gives_and_how_to_have_more() -> None:
    _, third = line(table(), "third")
    assert "gives 0.030 mm of end-shake (usual 0.02 to 0.05)" in third.note
    assert "0.01 mm deeper" in third.note
    assert "outside" not in third.note
    deep = PLATE.replace("through: 0.8,\n", "through: 0.8, depth: 0.55,\n").replace(
        ", wanted: 0.03", ", pressed-from: inside")
    _, third = line(table(deep), "third")
    assert "gives 0.100 mm of end-shake" in third.note
    assert "outside what is usual" in third.note
    # From the outside what is left of the plate carries the jewel: 1.2 less 1.09 is 0.11.
    outside = deep.replace("pressed-from: inside", "pressed-from: outside").replace(
        "depth: 0.55", "depth: 1.09")
    _, third = line(table(outside), "third")
    assert "gives 0.010 mm" in third.note
    assert "0.01 mm shallower" in third.note


@pytest.mark.parametrize("language", languages())
def test_the_table_is_on_the_sheet_in_every_language(language: str) -> None:
    say = words(language)
    sheet = SetupSheet(
        name="top", kind="flat", programs=(), stock="", holding="", zero_axes=(), zero=(),
        size=(1, 1), safe_height=5, clearance=0.5, cutters=(), steps=(),
        holes=HoleTable(table(language=language)))
    html = sheet_html(SheetData("plate", "", "brass", 1, "bench", "", "1", (sheet,)), language)
    for key in ("heading", "hole", "limits", "gauge", "measured", "through"):
        assert say("holes", key) in html
    assert "1.487–1.493" in html
    # Nothing of the catalogue is left unfilled.
    assert not re.search(r"{\w+}", html.split("<body>")[1])
    if language != "en":
        assert "goes" not in html.split("<body>")[1]
