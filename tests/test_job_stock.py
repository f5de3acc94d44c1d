"""Bars, and pieces counted from a corner: where they lie, what is refused, what is told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from demos import proved_demo

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import job_faults
from camgen.job.reading import parse_job
from camgen.layout import FlatLayout
from camgen.make.chain import proved_job
from camgen.make.files import output_of
from camgen.make.told.account import job_account
from camgen.plan import plan_job
from camgen.shipped import shipped_folder
from camgen.shop.machine import DrivenHead, Machine
from camgen.steps import step_words

MILL = Machine(name="bench", describes="a bench mill for tests", dividing=DrivenHead())
JOB = """
job: blanks
material: brass
made-elsewhere: [teeth]
wheel: {teeth: 75, module: 0.14, mate: 10, thickness: 0.25, bore: 0.80}
cutters:
  mill: {kind: end-mill, diameter: 0.40, flute-length: 0.8, reach: 1.6}
setups:
  - name: blanks
    stock: {bar: 14, length: 60, thickness: 0.25}
    holding: {by: shellac on brass, cut-into: 0.3, holds-slugs: true}
    repeat: {columns: 3, pitch: [13, 13], first: [8, 7]}
    steps: [bore: {cutter: mill}, outline: {cutter: mill}]
"""
COCK = shipped_folder("jobs") / "balance-cock.yaml"


def changed(*changes: tuple[str, str]) -> str:
    text = JOB
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    return text


def laid(text: str) -> FlatLayout:
    layout = plan_job(parse_job(text, Path("bar.yaml"), step_words()), MILL).setups[0].layout
    assert isinstance(layout, FlatLayout)
    return layout


def faults(text: str) -> tuple[Fault, ...]:
    try:
        job_file = parse_job(text, Path("bar.yaml"), step_words())
    except Refused as no:
        return tuple(no.faults)
    return tuple(job_faults(job_file))


def test_a_bar_lies_along_x_from_its_stop() -> None:
    layout = laid(JOB)
    assert layout.stock.bounds == pytest.approx((0, -7, 60, 7))
    assert layout.places == ((8, 0), (21, 0), (34, 0))


def test_the_zero_of_a_bar_may_be_said() -> None:
    right = laid(changed(("thickness: 0.25}\n    holding", "thickness: 0.25}\n    zero: {x: right}"
                                                          "\n    holding")))
    assert right.stock.bounds == pytest.approx((-60, -7, 0, 7))
    assert right.places[0] == pytest.approx((-52, 0))
    front = laid(changed(("thickness: 0.25}\n    holding", "thickness: 0.25}\n    zero: {y: front}"
                                                          "\n    holding")))
    assert front.stock.bounds == pytest.approx((0, 0, 60, 14))
    assert front.places[0] == pytest.approx((8, 7))


def test_pieces_from_a_corner_and_about_the_middle_are_the_same_where_they_meet() -> None:
    about = laid(changed((", first: [8, 7]", ""), ("bar: 14, length: 60", "sheet: [60, 14]")))
    corner = laid(changed(("first: [8, 7]", "first: [17, 7]"),
                          ("bar: 14, length: 60", "sheet: [60, 14]")))
    assert corner.stock.equals(about.stock)
    assert np.array(corner.places) == pytest.approx(np.array(about.places))


@pytest.mark.parametrize(("before", "after", "said"), [
    (", length: 60", "", "the bar has no length"),
    ("bar: 14, length: 60", "sheet: [60, 14], length: 60", "length is for bars only"),
    ("bar: 14, length: 60", "bar: 14, length: 60, disc: 20", "both a bar and a disc"),
    ("length: 60", "length: 30", "the bar is 30 × 14 mm"),
    ("first: [8, 7]", "first: [4, 7]", "along X, and the stock from 0 to 60 mm"),
    ("first: [8, 7]", "first: [8, 5]", "along Y, and the stock from 0 to 14 mm"),
    ("bar: 14, length: 60", "disc: 60", "a disc has no corner"),
])
def test_bars_and_corners_that_cannot_be_are_refused(before: str, after: str, said: str) -> None:
    found = faults(changed((before, after)))
    assert any(said in fault.message for fault in found), found
    assert all(fault.remedy for fault in found)


def test_a_plate_that_hangs_over_its_stock_is_refused(tmp_path: Path) -> None:
    text = COCK.read_text(encoding="utf-8")
    path = tmp_path / "cock.yaml"
    path.write_text(text.replace("first: [9, 5.5]", "first: [9, 3]"), encoding="utf-8")
    with pytest.raises(Refused, match=r"lie on the stock: 1\.00 mm over its front"):
        proved_job(path)


def test_the_sheet_and_the_account_of_metal_know_the_bar() -> None:
    proved = proved_demo(COCK.stem)
    assert proved.failed == ()
    sheet = output_of(proved, pictures=False).files["sheet.html"].decode()
    assert "bar 11 x 1.2 mm, 42 mm of it from the stop, 2 pieces" in sheet
    assert "left edge of the stock" in sheet
    account = job_account(proved)
    assert account is not None
    # Tool steel as the table has it, 7.85 g/cm3.
    assert account.stock == pytest.approx(11 * 1.2 * 42 * 7.85e-3)
    assert account.pieces == 2


def test_the_cocks_inside_corner_limits_the_cutter(tmp_path: Path) -> None:
    text = COCK.read_text(encoding="utf-8")
    path = tmp_path / "cock.yaml"
    path.write_text(text.replace("mill: {kind: end-mill, diameter: 1.0",
                                 "mill: {kind: end-mill, diameter: 2.5"), encoding="utf-8")
    with pytest.raises(Refused) as no:
        proved_job(path)
    corners = [fault for fault in no.value.faults if "has a radius of 1.2 mm" in fault.message]
    assert corners
    assert "at most 2.4 mm" in corners[0].remedy


def test_one_piece_is_not_many(tmp_path: Path) -> None:
    text = COCK.read_text(encoding="utf-8").replace("quantity: 2", "quantity: 1").replace(
        "columns: 2", "columns: 1")
    path = tmp_path / "cock.yaml"
    path.write_text(text, encoding="utf-8")
    sheet = output_of(proved_job(path), pictures=False).files["sheet.html"].decode()
    assert "42 mm of it from the stop, 1 piece" in sheet
    assert "1 pieces" not in sheet
