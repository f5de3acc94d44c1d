"""Plates whose outline, openings, pockets and holes are taken from drawings."""

from __future__ import annotations

import math
import subprocess
import sys
from itertools import product
from pathlib import Path

import pytest
from ezdxf.filemanagement import new as new_drawing
from sampling import sampled

from camgen.faults import Refused
from camgen.job.file import JobFile
from camgen.job.reading import read_job
from camgen.layout import part_shape
from camgen.library.fingerprint import as_meant, fingerprint
from camgen.library.shelf import shelf
from camgen.part.figures import area_of, path_of
from camgen.steps import step_words

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">
<g id="edge"><rect x="0" y="0" width="20" height="10"/></g>
<g id="hollows"><circle cx="5" cy="5" r="%s"/><circle cx="5" cy="5" r="1"/>
<rect x="10" y="2" width="4" height="4"/></g>
<g id="windows"><circle cx="17" cy="5" r="1"/></g>
<g id="screws"><circle cx="2" cy="2" r="0.5"/><circle cx="18" cy="8" r="0.5"/>
<circle cx="18" cy="2" r="0.7"/></g>
</svg>
"""
JOB = """
job: bridge
material: brass
plate:
  thickness: 1.0
  outline: {drawing: %(file)s, layer: edge}
  holes:
    screws: {diameter: 1.0, drawing: %(file)s, layer: screws}
  openings:
    window: {drawing: %(file)s, layer: windows}
  pockets:
    hollow: {depth: 0.4, drawing: %(file)s, layer: hollows}
cutters:
  drill: {kind: drill, diameter: 1.0, flute-length: 6, reach: 8}
setups:
  - name: top
    stock: {sheet: [60, 60], thickness: 1.0}
    steps:
      - drill: {cutter: drill}
"""


def faults(path: Path) -> list[str]:
    """What is told of a job."""
    try:
        read_job(path, step_words())
    except Refused as no:
        return [f"{fault}" for fault in no.faults]
    return []


def written(folder: Path, file: str = "drawings/bridge.svg", radius: str = "3",
            job: str = JOB) -> Path:
    drawing = folder / "jobs" / file
    drawing.parent.mkdir(parents=True, exist_ok=True)
    drawing.write_text(SVG % radius, encoding="utf-8")
    path = folder / "jobs" / "bridge.yaml"
    path.write_text(job % {"file": file}, encoding="utf-8")
    return path


def drawn(folder: Path, **more: str) -> JobFile:
    return read_job(written(folder, **more), step_words())


def test_outline_openings_pockets_and_holes_come_from_a_drawing(tmp_path: Path) -> None:
    job_file = drawn(tmp_path)
    plate = job_file.job.plate
    assert plate is not None
    assert [path.name for path in job_file.sources].count("bridge.svg") == 1, "packed with the job"
    assert path_of(plate.outline).area == pytest.approx(200)
    assert list(plate.pockets) == ["hollow-1", "hollow-2"]
    areas = sorted(area_of(pocket).region(1e-4).area for pocket in plate.pockets.values())
    assert areas == pytest.approx([16, math.pi * (9 - 1)], rel=1e-3)
    assert path_of(plate.openings["window"]).area == pytest.approx(math.pi)
    shape = part_shape(job_file.job)
    assert len(shape.holes) == 2, "the third circle is not of this hole's diameter"
    assert math.dist((shape.holes[0].x, shape.holes[0].y), (shape.holes[1].x, shape.holes[1].y)) \
        == pytest.approx(math.hypot(16, 6))


def test_a_shape_drawn_can_be_put_elsewhere_and_turned(tmp_path: Path) -> None:
    moved = JOB.replace("outline: {", "outline: {at: [100, 0], turned: 90, ")
    plain = written(tmp_path / "plain")
    path = written(tmp_path, job=moved)
    one, other = (read_job(p, step_words()).job.plate for p in (plain, path))
    assert one is not None
    assert other is not None
    left, low, right, high = path_of(one.outline).region(0.01).bounds
    turned = path_of(other.outline).region(0.01).bounds
    assert turned == pytest.approx((100 - high, left, 100 - low, right))


def test_the_fingerprint_is_that_of_what_is_drawn_not_of_the_files_name(tmp_path: Path) -> None:
    def print_of(folder: str, **more: str) -> str:
        return fingerprint(as_meant(drawn(tmp_path / folder, **more).job))

    assert print_of("a") == print_of("b", file="other.svg")
    assert print_of("a") != print_of("c", radius="3.001")


def test_the_shelf_sees_a_drawing_change(tmp_path: Path) -> None:
    path = written(tmp_path)
    before = shelf(path.parent, step_words())
    written(tmp_path, radius="2.9")
    after = shelf(path.parent, step_words())
    assert before != after


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("layer: edge", "layer: egde", "no layer egde"),
        ("layer: edge", "layer: hollows", "3 outlines are drawn there"),
        ("layer: windows", "layer: hollows", "within another"),
        ("diameter: 1.0, drawing", "diameter: 1.2, drawing", "no circle of 1.2 mm"),
        ("{drawing: %(file)s, layer: edge}", "{drawing: none.dxf, layer: edge}",
         "none.dxf is a drawing that is not there"),
        ("layer: edge", "layer: edge, circle: 3", "circle and path"),
    ],
)
def test_faulty_drawings_are_answered_at_their_place(
    tmp_path: Path, old: str, new: str, fault: str
) -> None:
    from camgen.job.checks.whole_job import check_job
    from camgen.shop.machines import find_machine

    assert old in JOB
    with pytest.raises(Refused, match=fault) as no:
        check_job(drawn(tmp_path, job=JOB.replace(old, new)), find_machine("plain-iso", None))
    assert all(told.place.file for told in no.value.faults)


def test_drawings_are_loaded_only_by_jobs_that_have_them() -> None:
    script = (
        "import sys; from pathlib import Path; from camgen.job.reading import read_job;"
        "from camgen.steps import step_words; from camgen.shipped import shipped_folder;"
        "read_job(shipped_folder('jobs') / 'third-wheel.yaml', step_words());"
        "sys.exit('camgen.drawings.drawing' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0


@pytest.mark.parametrize(("kind", "unit"), sampled(product(["dxf", "svg"], ["m", "foot"]), 3))
def test_a_drawing_in_larger_units_than_it_was_drawn_in_is_named_with_where_it_reaches(
    tmp_path: Path, kind: str, unit: str
) -> None:
    across = {"m": 1000.0, "foot": 304.8}[unit]
    file = f"drawings/bridge.{kind}"
    path = written(tmp_path, file if kind == "svg" else "drawings/other.svg")
    if kind == "svg":
        drawing = path.parent / file
        drawing.write_text((SVG % "3").replace('width="40mm" height="40mm"', (
            f'width="{40 * across}mm" height="{40 * across}mm"')), encoding="utf-8")
    else:
        document = new_drawing(units=6 if unit == "m" else 2)
        for layer in ("edge", "windows", "hollows", "screws"):
            document.modelspace().add_lwpolyline(
                [(0, 0), (20, 0), (20, 10), (0, 10)], close=True, dxfattribs={"layer": layer})
        document.saveas(path.parent / file)
        path.write_text(JOB % {"file": file}, encoding="utf-8")
    far = [fault for fault in faults(path) if "an outline reaches to X" in fault]
    # 20 m or ft along X; what is small enough to be some part is drawn within 10 m.
    assert bool(far) == (20 * across > 10_000), faults(path)
    assert all("set the drawing's units" in fault for fault in far)


@pytest.mark.parametrize("bulge", sampled([1e-3, 1e-4, 1e-5, 1e-7, -1e-4], 2))
def test_a_side_hardly_bent_is_as_it_is_drawn(tmp_path: Path, bulge: float) -> None:
    path = written(tmp_path, "drawings/other.svg")
    document = new_drawing(units=4)
    for layer in ("edge", "windows", "hollows"):
        document.modelspace().add_lwpolyline(
            [(1, 1, bulge), (41, 1, 0), (41, 21, 0), (1, 21, 0)], format="xyb", close=True,
            dxfattribs={"layer": layer})
    document.modelspace().add_circle((5, 5), 0.5, dxfattribs={"layer": "screws"})
    document.saveas(path.parent / "drawings/flat.dxf")
    path.write_text(JOB % {"file": "drawings/flat.dxf"}, encoding="utf-8")
    plate = read_job(path, step_words()).job.plate
    assert plate is not None
    # The segment under a chord c with the sagitta s = c b / 2 is about 2 c s / 3.
    assert path_of(plate.outline).area == pytest.approx(40 * 20 + 40 * 20 * bulge * 2 / 3, abs=0.02)
