"""Two plates whose holes meet because one takes its places from the other's job."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from demos import proved_demo
from hypothesis import given
from hypothesis import strategies as st

from camgen.faults import Fault, Refused
from camgen.job.joined.another_plate import seen_from
from camgen.job.reading import JobFile, read_job
from camgen.layout import part_shape
from camgen.library.fingerprint import as_meant, fingerprint
from camgen.library.shelf import shelf
from camgen.make.runs.recording import luggage
from camgen.part.plates.plate_words import Matches
from camgen.shapes.path import Point
from camgen.shipped import shipped_folder
from camgen.steps import step_words

LOWER = """
job: lower plate
material: brass
made-elsewhere: [holes, jewels, outline]
plate:
  thickness: 1.5
  outline: {circle: 24}
  holes:
    pillars: {diameter: 1.2, at: [[9, 0], [0, 9], [-9, 0]]}
    posts: {thread: S1.0, at: [[4, 4]]}
  jewels:
    third: {diameter: 1.2, at: [[3, 2]]}
cutters: {drill: {kind: drill, diameter: 1.0}}
setups:
  - name: top
    stock: {disc: 30, thickness: 1.5}
    holding: {by: wax, carrier: brass, carrier-thickness: 3, cut-into: 0.5, holds-slugs: true}
    steps: [spot: {cutter: drill}]
"""
UPPER = """
job: upper plate
material: brass
made-elsewhere: [holes, jewels, outline]
plate:
  thickness: 1.0
  outline: {circle: 24}
  matches: {job: lower.yaml%s}
  holes:
    pillars: {diameter: 0.8, places-of: [pillars]}
    screw: {diameter: 1.1, places-of: [posts]}
  jewels:
    third: {diameter: 1.0, places-of: [third]}
cutters: {drill: {kind: drill, diameter: 1.0}}
setups:
  - name: top
    stock: {disc: 30, thickness: 1.0}
    holding: {by: wax, carrier: brass, carrier-thickness: 3, cut-into: 0.5, holds-slugs: true}
    steps: [spot: {cutter: drill}]
"""


def pair(folder: Path, words: str = "", lower: str = LOWER, upper: str = UPPER) -> Path:
    (folder / "lower.yaml").write_text(lower)
    path = folder / "upper.yaml"
    path.write_text(upper % words if "%s" in upper else upper)
    return path


def read(path: Path) -> JobFile:
    return read_job(path, step_words())


def places(path: Path) -> dict[str, tuple[float, float]]:
    part = part_shape(read(path).job)
    return {hole.name: (hole.x, hole.y) for hole in (*part.holes, *part.blind)}


def faults(path: Path) -> tuple[Fault, ...]:
    with pytest.raises(Refused) as no:
        read(path)
    return tuple(no.value.faults)


def test_holes_lie_where_the_other_plates_lie(tmp_path: Path) -> None:
    path = pair(tmp_path)
    lower, upper = places(tmp_path / "lower.yaml"), places(path)
    for name in ("pillars-1", "pillars-2", "pillars-3", "third"):
        assert upper[name] == lower[name]
    assert upper["screw"] == lower["posts"]


def test_seen_from_the_other_face_they_lie_the_other_way(tmp_path: Path) -> None:
    upper = places(pair(tmp_path, ", mirrored: true"))
    assert upper["third"] == (-3.0, 2.0)
    assert upper["pillars-1"] == (-9.0, 0.0)


def test_a_bridge_counts_from_its_own_zero_and_its_own_way_round(tmp_path: Path) -> None:
    """Put back on the other plate by hand, each place is the other's."""
    upper = places(pair(tmp_path, ", zero: [1, -2], turned: 30"))
    cosine, sine = math.cos(math.radians(30)), math.sin(math.radians(30))
    for name, wanted in (("third", (3.0, 2.0)), ("screw", (4.0, 4.0))):
        x, y = upper[name]
        back = (1 + x * cosine - y * sine, -2 + x * sine + y * cosine)
        assert back == pytest.approx(wanted, abs=1e-8)


@given(
    st.floats(-50, 50), st.floats(-50, 50), st.floats(-360, 360), st.booleans(),
    st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=2, max_size=5),
)
def test_however_a_part_lies_its_holes_keep_their_distances(
    x: float, y: float, turned: float, mirrored: bool, holes: list[tuple[float, float]]
) -> None:
    lies = Matches(job="other.yaml", zero=(x, y), turned=turned, mirrored=mirrored)
    seen = [seen_from(lies, Point(*hole)) for hole in holes]
    for a, b, p, q in zip(holes, holes[1:], seen, seen[1:], strict=False):
        assert math.dist(p, q) == pytest.approx(math.dist(a, b), abs=1e-7)


def test_one_hole_of_several_is_taken_by_its_number(tmp_path: Path) -> None:
    upper = UPPER.replace("[posts]", "[pillars-2, posts]")
    found = places(pair(tmp_path, upper=upper % ""))
    assert (found["screw-1"], found["screw-2"]) == ((0.0, 9.0), (4.0, 4.0))


def test_a_hole_that_the_other_plate_has_not_is_a_fault_with_the_nearest(tmp_path: Path) -> None:
    (fault,) = faults(pair(tmp_path, upper=UPPER.replace("[third]", "[thrid]") % ""))
    assert "lower.yaml has no hole called thrid" in fault.message
    assert "third" in fault.remedy
    assert fault.place.line == 13


def test_places_of_no_plate_at_all_are_a_fault(tmp_path: Path) -> None:
    upper = UPPER.replace("  matches: {job: lower.yaml%s}\n", "")
    found = faults(pair(tmp_path, upper=upper))
    assert len(found) == 3
    assert all("none is named" in fault.message for fault in found)


def test_two_plates_cannot_take_their_places_from_each_other(tmp_path: Path) -> None:
    lower = LOWER.replace("  holes:\n", "  matches: {job: upper.yaml}\n  holes:\n")
    found = faults(pair(tmp_path, lower=lower))
    assert any("in its turn" in fault.message for fault in found)
    own = UPPER.replace("lower.yaml", "upper.yaml")
    assert any("in its turn" in fault.message for fault in faults(pair(tmp_path, upper=own % "")))


def test_a_plate_that_is_not_there_or_is_none_is_a_fault(tmp_path: Path) -> None:
    upper = UPPER.replace("lower.yaml", "nowhere.yaml") % ""
    assert any("nowhere.yaml" in str(fault) for fault in faults(pair(tmp_path, upper=upper)))
    broken = LOWER.replace("thickness: 1.5\n", "thickness: much\n", 1)
    found = faults(pair(tmp_path, lower=broken))
    assert found[0].place.file.endswith("lower.yaml")


def test_a_hole_moved_in_the_other_job_changes_this_ones_fingerprint(tmp_path: Path) -> None:
    path = pair(tmp_path)
    before = fingerprint(as_meant(read(path).job))
    pair(tmp_path, lower=LOWER + "# a remark\n")
    assert fingerprint(as_meant(read(path).job)) == before
    pair(tmp_path, lower=LOWER.replace("lower plate", "another name"))
    assert fingerprint(as_meant(read(path).job)) == before
    pair(tmp_path, lower=LOWER.replace("[[3, 2]]", "[[3.01, 2]]"))
    assert fingerprint(as_meant(read(path).job)) != before


def test_the_other_job_is_one_of_the_files_a_job_is_made_of(tmp_path: Path) -> None:
    path = pair(tmp_path)
    assert [one.name for one in read(path).sources] == ["lower.yaml"]
    first = {one.file: one.print for one in shelf(tmp_path, step_words())}
    pair(tmp_path, lower=LOWER.replace("[[3, 2]]", "[[3.01, 2]]"))
    again = {one.file: one.print for one in shelf(tmp_path, step_words())}
    assert first["upper.yaml"] != again["upper.yaml"]


def test_written_in_inches_a_part_lies_on_one_in_millimetres(tmp_path: Path) -> None:
    inches = """
job: cock
units: inch
material: brass
made-elsewhere: [holes, outline]
plate:
  thickness: 0.04
  outline: {circle: 1}
  matches: {job: lower.yaml, zero: [0.1, 0]}
  holes: {screw: {diameter: 0.04, places-of: [posts]}}
cutters: {drill: {kind: drill, diameter: 0.04}}
setups:
  - name: top
    stock: {disc: 1.2, thickness: 0.04}
    steps: [spot: {cutter: drill}]
"""
    found = places(pair(tmp_path, upper=inches))
    assert found["screw"] == pytest.approx((4 - 2.54, 4.0))


def test_the_demo_bridge_is_bored_where_the_demo_plate_is() -> None:
    jobs = shipped_folder("jobs")
    bridge, plate = places(jobs / "train-bridge.yaml"), places(jobs / "train-plate.yaml")
    # Its zero lies 2.2 mm up the plate.
    for own, other in (("screws-1", "bridge-screws-1"), ("screws-2", "bridge-screws-2"),
                       ("pins-1", "bridge-pins-1"), ("pins-2", "bridge-pins-2"),
                       ("third", "third"), ("fourth", "fourth")):
        x, y = bridge[own]
        assert (x, y + 2.2) == pytest.approx(plate[other], abs=1e-9)


@pytest.mark.long
def test_a_bridge_moves_house_with_the_plate_it_lies_on() -> None:
    packed = luggage(proved_demo("train-bridge"), {})
    assert {"jobs/train-bridge.yaml", "jobs/train-plate.yaml",
            "jobs/drawings/train-bridge.dxf"} <= set(packed)
