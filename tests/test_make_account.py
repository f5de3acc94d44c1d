"""The metal account of jobs against exact solids and against the motion that was read back."""

from __future__ import annotations

import dataclasses
from math import pi
from pathlib import Path

import numpy as np
import pytest
import shapely
from demos import proved_demo

from camgen.layout import FlatLayout
from camgen.make.chain import Proved, proved_job
from camgen.make.files import output_of
from camgen.make.told.account import job_account, offcut_area, part_volume
from camgen.part.features import Cone, Hole, Recess
from camgen.part.shape import PartShape
from camgen.shapes.figures import rectangle
from camgen.shapes.offset import Area
from camgen.shapes.path import Point
from camgen.shipped import shipped_folder

JOBS = shipped_folder("jobs")


@pytest.fixture(scope="module")
def third() -> Proved:
    return proved_demo("third-wheel")


@pytest.mark.long
def test_the_offcuts_are_what_the_programs_leave_in_one_piece(third: Proved) -> None:
    # The cutters swept along the motion read back, wherever they go through; what is left of the
    # sheet falls into blanks, slugs and frame. No formula of the account is used.
    setup = next(one for one in third.setups if isinstance(one.planned.layout, FlatLayout))
    layout = setup.planned.layout
    assert isinstance(layout, FlatLayout)
    job, evidence = third.job_file.job, setup.evidence
    chords, swept = evidence.chords, []
    radius = {section.cutter_number: job.cutters[section.cutter].diameter / 2
              for section in setup.planned.moves.sections if section.cutter != "spot"}
    low = (chords.start[:, 2] < layout.bottom - 1e-9) & (chords.end[:, 2] < layout.bottom - 1e-9)
    cutters = np.asarray(evidence.motion.cutter)[chords.piece]
    for number, size in radius.items():
        mine = low & (cutters == number)
        ways = np.stack((chords.start[mine, :2], chords.end[mine, :2]), axis=1)
        wide = shapely.buffer(shapely.linestrings(ways), size, quad_segs=6)
        swept.append(shapely.union_all(wide))
    left = shapely.get_parts(layout.stock.difference(shapely.union_all(swept)))
    # A blank is where its rim is; the hub's middle is bored away.
    rims = [shapely.Point(x + 0.5 * 10.3, y) for x, y in layout.places]
    blank = [bool(shapely.intersects(piece, rims).any()) for piece in left]
    assert sum(blank) == 8
    # Eight blanks of five openings each, and the frame.
    assert len(left) == 8 + 40 + 1
    offcuts = sum(piece.area for piece, is_blank in zip(left, blank, strict=True) if not is_blank)
    assert offcut_area(job, layout) == pytest.approx(offcuts, rel=5e-3)


def test_stock_parts_chips_and_offcuts_of_a_wheel(third: Proved) -> None:
    account = job_account(third)
    assert account is not None
    # Leaded brass 8.47 g/cm3 (handbooks, from memory); a sheet of 60 by 30 by 0.25 mm.
    assert account.stock == pytest.approx(60 * 30 * 0.25 * 8.47e-3, rel=2e-3)
    assert account.stock == pytest.approx(account.parts + account.chips + account.offcuts)
    assert account.pieces == 8
    assert account.parts < account.offcuts
    assert account.lost == 0


def test_recoverable_share_and_price_reach_report_and_sheet(tmp_path: Path) -> None:
    text = (JOBS / "seconds-wheel.yaml").read_text(encoding="utf-8")
    job = tmp_path / "wheel.yaml"
    job.write_text(text, encoding="utf-8")
    before = proved_job(job)
    assert "\nmetal:" not in text
    job.write_text(text + "metal: {recoverable: 0.95, price: 60}\n", encoding="utf-8")
    proved = proved_job(job)
    account, plain = job_account(proved), job_account(before)
    assert account is not None
    assert plain is not None
    assert plain.value_parts is None
    assert account.lost == pytest.approx(0.05 * account.chips)
    assert account.value_parts == pytest.approx(account.parts * 0.750 * 60)
    output = output_of(proved, pictures=False)
    metal = output.report["metal"]
    assert metal["lost"] == pytest.approx(account.lost, abs=1e-6)
    assert metal["value"]["parts"] == pytest.approx(account.value_parts, abs=0.005)
    sheet = output.files["sheet.html"].decode()
    assert "Value at the price given" in sheet
    assert f"{account.value_parts:.2f}" in sheet
    # It moves nothing: the same job, the same programs.
    assert proved.prints.job == before.prints.job
    assert [one.text for setup in proved.setups for one in setup.programs] == [
        one.text for setup in before.setups for one in setup.programs]


def test_a_plate_is_weighed_with_its_recesses_and_blind_holes() -> None:
    mouth = Hole("sunk", Point(0, 3), 1.0)
    part = PartShape(
        rectangle(20, 10),
        holes=(Hole("through", Point(-5, 0), 2.0), mouth),
        cones=(Cone(mouth, "countersink", 2.0, "upper"),),
        blind=(Hole("blind", Point(5, 0), 1.0, depth=1.0),
               Hole("in the recess", Point(5, -2.5), 1.0, depth=0.4)),
        recesses=(Recess("recess", Area(rectangle(2, 2).moved(5, -2.5)), 0.5),),
    )
    # By hand: box less cylinders; the cone of a countersink of 90 degrees, 1 to 2 mm, 0.5 deep, is
    # a frustum of pi h/3 (R2 + Rr + r2) less its cylinder.
    sunk = pi * 0.5 / 3 * (1 + 0.5 + 0.25) - pi * 0.25 * 0.5
    # The shallower hole in the recess takes nothing more.
    exact = 20 * 10 * 2 - pi * 1 * 2 - pi * 0.25 * 1 - pi * 0.25 * 2 - sunk - 2 * 2 * 0.5
    assert part_volume(None, part, 0.0, 2.0) == pytest.approx(exact, rel=1e-4)


BOTH = """\
job: both
material: gold-750-yellow
plate:
  thickness: 1
  outline: {rectangle: [8, 5]}
  holes: {pins: {diameter: 0.8, at: [[2, 1], [-2, -1]]}}
  openings: {eye: {circle: 2.4}}
cutters:
  d: {kind: drill, diameter: 0.8, flute-length: 4, reach: 6}
  m: {kind: end-mill, diameter: 0.6, flutes: 2, flute-length: 1.8, reach: 4}
setups:
  - name: one
    stock: {sheet: [20, 12], thickness: THICK}
    holding: &wax {by: wax, carrier: brass, carrier-thickness: 5, cut-into: 0.6, holds-slugs: true}
    steps: [FACE1drill: {cutter: d}FIRST]
  - name: two
    face: under
    turned-over: about Y
    stock: {left-by: one, thickness: LEFT}
    zero: {dowel: pins-1}
    holding: *wax
    steps: [FACE2SECOND]
"""
OUT = "outline: {cutter: m}"
TABS = "outline: {cutter: m, tabs: {count: 3, width: 0.8, height: 0.3}}"
EYE = "cut-out: {cutter: m}"


@pytest.mark.parametrize(("thick", "faces", "first", "second", "frame"), [
    ("1", "", [EYE], [OUT], 1.0), ("1", "", [EYE, TABS], [], 1.0), ("1", "", [], [EYE, OUT], 1.0),
    ("1.3", "second", [EYE], [OUT], 1.0), ("1.3", "both", [], [EYE, OUT], 1.0),
])
def test_of_a_plate_cut_out_in_either_setup_the_slot_is_chips(
    tmp_path: Path, thick: str, faces: str, first: list[str], second: list[str], frame: float
) -> None:
    left = {"": thick, "second": thick, "both": "1.1"}[faces]
    steps = {"FACE1": "face: {cutter: m, to: 1.1}, " if faces == "both" else "",
             "FACE2": "face: {cutter: m}, " if faces else "",
             "FIRST": "".join(f", {one}" for one in first),
             "SECOND": ", ".join(second) or "countersink: {cutter: d}"}
    text = BOTH.replace("THICK", thick).replace("LEFT", left)
    for word, said in steps.items():
        text = text.replace(word, said)
    if not second:
        # Worked from below besides: a blind hole.
        text = text.replace("pins: {", "low: {diameter: 0.8, at: [[-3, 1.5]], depth: 0.3, "
                            "face: under}, pins: {").replace(
            "countersink: {cutter: d}", "bore: {cutter: m, holes: [low]}").replace(
            "drill: {cutter: d}", "drill: {cutter: d, holes: [pins]}")
    path = tmp_path / "both.yaml"
    path.write_text(text, "utf-8")
    proved = proved_job(path)
    assert proved.failed == ()
    account = job_account(proved)
    assert account is not None
    # By hand: the mill of 0.6 leaves 0.03 for its last pass, so its slots are 0.63 wide: round the
    # plate 2 (8 + 5) 0.63 and four quarter rounds, within the eye of 2.4 a slug of 1.14 is left.
    slot = 26 * 0.63 + pi * 0.63**2
    slug = pi * (1.2 - 0.63) ** 2
    # Yellow gold of 750/125/125: 15.45 g/cm3 by the mixture rule.
    gram = 15.45e-3
    assert account.offcuts == pytest.approx((240 - 40 - slot + slug) * frame * gram, rel=2e-3)
    assert account.stock == pytest.approx(240 * float(thick) * gram, rel=1e-3)
    assert account.stock == pytest.approx(account.parts + account.chips + account.offcuts)
    # It is that of the whole run, whichever setup is asked for.
    for setup in proved.setups:
        assert job_account(dataclasses.replace(proved, setups=(setup,))) == account
