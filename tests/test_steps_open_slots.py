"""Slots right through that run out at the edge, and slots as wide as their cutter."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few
from test_steps_open_at_edge import HALF, OUTLINE
from test_steps_taps import REVERSING, failing, planned
from workshop import read

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.job.joined.open_slots import taken_out
from camgen.part.figures import path_of
from camgen.part.plates.plate import Plate
from camgen.shapes.figures import arc_slot, rectangle, slot
from camgen.shapes.path import Path, Point, circle

POCKET = "      - pocket: {cutter: mill%s}\n"
CUT_OUT = "      - cut-out: {cutter: mill%s}\n"
PLATE, CUTTERS = HALF.split("  holes:", 1)[0], "cutters:" + HALF.split("cutters:", 1)[1]


def job(words: str, steps: str, outline: str = "rectangle: [12, 9], corner: 2") -> str:
    plate = PLATE.replace("rectangle: [12, 9], corner: 2", outline)
    return f"{plate}  {words}\n{CUTTERS}{steps}"


def refused(text: str) -> list[str]:
    with pytest.raises(Refused) as no:
        planned(text)
    return [f"{one.message} {one.remedy}" for one in no.value.faults]


OPEN = [
    ("slots: {s: {ends: [[0, 0], [12, 0]], width: 1}}", 6.0 + math.pi / 8),
    ("slots: {s: {ends: [[0, 12], [0, 0]], width: 1, face: under}}", 4.5 + math.pi / 8),
    ("openings: {s: {circle: 4, at: [6, 0]}}", 2 * math.pi),
]


@pytest.mark.parametrize(("words", "less"), OPEN)
def test_a_fork_is_made_with_the_outline_and_proved(words: str, less: float) -> None:
    text = job(words, OUTLINE)
    file = read(text)
    assert job_faults(file, REVERSING) == []
    assert any("cut with the outline" in str(one) for one in file.remarks)
    part = file.job.part
    assert isinstance(part, Plate)
    whole = rectangle(12, 9, 2).area
    assert path_of(part.outline).area == pytest.approx(whole - less, abs=1e-9)
    assert failing(text=text) == set()


@settings(max_examples=few(15), deadline=None)
@given(st.floats(0, 360), st.floats(0.3, 2.0), st.floats(0.5, 5.0), st.integers(0, 3),
       st.booleans())
def test_what_is_taken_out_is_what_plane_geometry_says(
    turned: float, width: float, far: float, begun: int, bent: bool
) -> None:
    plate = circle(Point(0, 0), 6.0).moved(degrees=17.0)
    # From beyond the edge to `far` from the middle; or bent, on half a circle that ends outside.
    hollow = (arc_slot((far, 0), (far, 9.0), width, (far, 4.5)) if bent else
              slot((9, 0), (far, 0), width)).moved(degrees=turned)
    start = [at for at, _ in hollow.laid_out()][begun]
    hollow = hollow.starting_at(hollow.nearest(start))
    made = taken_out(plate, hollow)
    assert made is not None
    reckoned = plate.region(1e-6).difference(hollow.region(1e-6)).area
    assert made.area == pytest.approx(reckoned, abs=1e-3)
    assert made.region(1e-4).is_valid


@pytest.mark.parametrize("hollow", [
    slot((-9, 0), (9, 0), 1.0), slot((0, 0), (2, 0), 1.0), slot((9, 0), (12, 0), 1.0),
    circle(Point(0, 0), 7.0), circle(Point(5, 0), 1.0)])
def test_what_does_not_run_out_at_one_place_is_left_as_it_is(hollow: Path) -> None:
    assert taken_out(circle(Point(0, 0), 6.0), hollow) is None


@pytest.mark.parametrize(("slots", "names", "said"), [
    ("s: {ends: [[0, 0], [12, 0]], width: 1}", "", True),
    ("s: {ends: [[0, 0], [12, 0]], width: 1}, t: {ends: [[-2, 0], [-4, 0]], width: 1}", "", False),
    ("s: {ends: [[0, 0], [12, 0]], width: 1}, t: {ends: [[-2, 0], [-4, 0]], width: 1}",
     ", openings: [t, s]", True),
])
def test_a_step_that_would_cut_it_out_is_told(slots: str, names: str, said: bool) -> None:
    text = job(f"slots: {{{slots}}}", CUT_OUT % names + OUTLINE)
    if not said:
        assert failing(text=text) == set()
        return
    with pytest.raises(Refused, match="cut with the outline"):
        read(text)


@pytest.mark.parametrize(("width", "made"), [(0.8, False), (0.84, False), (0.88, False),
                                             (0.9, True), (1.4, True)])
def test_a_hollow_that_only_the_last_pass_gets_into_is_refused(width: float, made: bool) -> None:
    text = job(f"slots: {{s: {{ends: [[0, 0], [12, 0]], width: {width}}}}}", OUTLINE)
    if made:
        assert failing(text=text) == set()
        return
    said, = refused(text)
    assert "too narrow" in said
    most = said.split("at most ")[1].split()[0]
    smaller = text.replace("mill: {kind: end-mill, diameter: 0.8",
                           f"mill: {{kind: end-mill, diameter: {most}")
    assert failing(text=smaller) == set()


ONCE = [
    "slots: {s: {ends: [[-3, 0], [3, 1]], width: 0.8, depth: 0.4}}",
    "slots: {s: {ends: [[0, -2], [0, 2]], width: 0.8, depth: 0.9, centre: [0, 0]}}",
    "slots: {s: {ends: [[0, 0], [5.9, 0]], width: 0.8, depth: 0.3}}",
    "pockets: {s: {slot: [[-9, 0], [9, 0]], width: 0.8, depth: 0.4}}",
]


@pytest.mark.parametrize("words", ONCE)
@pytest.mark.parametrize("first", [True, False])
def test_a_slot_as_wide_as_the_cutter_is_gone_through_once(words: str, first: bool) -> None:
    text = job(words, POCKET % "" + OUTLINE if first else OUTLINE + POCKET % "")
    assert job_faults(read(text), REVERSING) == []
    assert failing(text=text) == set()
    assert any("expect 0.800 to 0.803 mm" in str(one) for one in planned(text).notes)


def test_what_is_wrong_in_such_a_slot_is_found() -> None:
    text = job(ONCE[0], POCKET % "" + OUTLINE)
    deep = failing(text=text, harm=lambda program: program.replace("Z-0.4", "Z-0.45"))
    assert any(name.startswith("flat.") for name in deep), deep


@pytest.mark.parametrize("word", [", finish: 0.03", ", floor: 0.05"])
def test_no_skin_is_left_in_it(word: str) -> None:
    said, = refused(job(ONCE[0], POCKET % word + OUTLINE))
    assert "leave finish: and floor: out" in said


def test_a_slot_a_little_wider_is_none_of_these() -> None:
    said, = refused(job(ONCE[0].replace("0.8, depth", "0.82, depth"), POCKET % "" + OUTLINE))
    assert "does not fit in" in said


@pytest.mark.parametrize(("half", "filed"), [(0.1, False), (0.2, False), (0.5, True), (2.0, True)])
def test_no_corner_is_said_to_be_left_that_cannot_be(half: float, filed: bool) -> None:
    corners = f"[[-6, -4], [6, -4], [6, 4], [{half}, 4], [0, 0], [-{half}, 4], [-6, 4]]"
    text = job("least-wall: 0.1", OUTLINE, f"polygon: {corners}")
    said = " ".join(refused(text))
    assert ("inside-corners: left" in said) == filed
    if filed:
        left = text.replace("]]}", "]], inside-corners: left}", 1)
        assert failing(text=left) == set()
    else:
        assert "give the corner a radius" in said
