"""A plate's two faces in the layout: where they lie, and how the part lies once turned over."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from two_sided import PLATE
from workshop import read

from camgen.layout import FlatLayout, flat_layout
from camgen.part.features import Hole, Recess
from camgen.shapes.mirror import mirrored_path
from camgen.shapes.path import ArcTo, LineTo, Path, Point, circle


def layouts(text: str = PLATE) -> list[FlatLayout]:
    job = read(text).job
    return [flat_layout(job, setup) for setup in job.flat]


def turned_in_space(x: float, y: float, about: str) -> tuple[float, float]:
    """A point of the plate turned half a turn about an axis in space, by the rotation matrix.

    Rodrigues' formula for 180 degrees: R = 2·u·uᵀ − 1.
    """
    axis = np.array([1.0, 0.0, 0.0]) if about == "X" else np.array([0.0, 1.0, 0.0])
    turn = 2.0 * np.outer(axis, axis) - np.eye(3)
    u, v, _ = turn @ np.array([x, y, 0.0])
    return float(u), float(v)


def test_depths_count_from_the_face_as_finished_not_from_the_raw_stock() -> None:
    train, dial = layouts()
    assert (train.top, train.bottom) == (0.0, -1.9)
    assert train.face == pytest.approx(-0.15)
    # 0.15 mm below the plate's under face are left for the other setup to take off.
    assert train.back == pytest.approx(-1.75)
    assert train.spare == pytest.approx(0.15)
    assert (dial.top, dial.bottom) == (0.0, -1.75)
    assert (dial.face, dial.back) == pytest.approx((-0.15, -1.75))
    assert train.thickness == pytest.approx(1.6) == dial.thickness


def test_zero_on_the_carrier_puts_the_faces_above_it() -> None:
    text = PLATE.replace("zero: {dowel: dowels-1}", "zero: {dowel: dowels-1, z: carrier}")
    dial = layouts(text)[1]
    assert (dial.bottom, dial.back) == pytest.approx((0.0, 0.0))
    assert (dial.top, dial.face) == pytest.approx((1.75, 1.6))
    assert dial.floor == pytest.approx(-0.5)
    # Travel counts from the stock, wherever zero lies.
    assert dial.safe_height == pytest.approx(1.75 + 5.0)


@pytest.mark.parametrize("about", ["X", "Y"])
def test_a_part_turned_over_lies_as_a_half_turn_in_space_puts_it(about: str) -> None:
    train, dial = layouts(PLATE.replace("about Y", f"about {about}"))
    drawn = {hole.name: hole for hole in train.part.holes}
    for hole in dial.part.holes:
        x, y = turned_in_space(drawn[hole.name].x, drawn[hole.name].y, about)
        assert (hole.x, hole.y) == pytest.approx((x, y))
    # The zero is where the first dowel's hole came.
    (x, y), = dial.places
    assert (x, y) == tuple(-at for at in turned_in_space(-8.0, 0.0, about))
    second = turned_in_space(8.0 + 8.0, 1.0, about)
    assert [(one.name, one.x, one.y) for one in dial.dowels] == [
        ("dowels-1", 0.0, 0.0), ("dowels-2", *second)]


def test_each_setup_sees_as_its_own_what_is_on_the_face_that_looks_up() -> None:
    train, dial = layouts()
    assert [one.name for one in train.part.blind] == ["third"]
    assert {one.name for one in dial.part.blind} == {"sunk", "feet-counterbore"}
    assert [one.pocket for one in train.part.recesses] == ["barrel"]
    assert [one.pocket for one in dial.part.recesses] == ["dial"]
    beneath = {one.name for one in dial.part.beneath}
    assert beneath == {"third", "barrel"}
    # A cone is on one face of its hole only.
    seat = next(one for one in dial.part.beneath if one.name == "third")
    assert isinstance(seat, Hole)
    assert dial.part.cone_width(seat) == 0.0
    assert train.part.cone_width(seat) == 1.3


def test_a_pocket_turned_over_keeps_its_area_and_runs_the_same_way_round() -> None:
    train, dial = layouts()
    drawn = next(one for one in train.part.beneath if isinstance(one, Recess))
    lies = dial.part.recesses[0]
    assert lies.area.size == pytest.approx(drawn.area.size, abs=1e-12)
    assert lies.area.outer.area > 0
    points = drawn.area.outer.points(0.01)
    there = np.array([turned_in_space(x, y, "Y") for x, y in points])
    assert np.allclose(sorted(map(tuple, there)), sorted(map(tuple, lies.area.outer.points(0.01))),
                       atol=1e-9)


def test_what_an_earlier_setup_cut_free_is_the_stock_of_the_next() -> None:
    dial = layouts()[1]
    x, y = dial.places[0]
    assert dial.stock.bounds == pytest.approx((x - 10, y - 10, x + 10, y + 10), abs=0.01)
    skin = PLATE.replace("outline: {cutter: mill}", "outline: {cutter: mill, skin: 0.05}")
    # A skin keeps it in its sheet, which is turned over with it.
    assert layouts(skin)[1].stock.bounds == pytest.approx((x - 15, y - 15, x + 15, y + 15))


coordinate = st.floats(-50, 50, allow_nan=False).map(lambda value: round(value, 3))


@given(coordinate, coordinate, st.floats(0.1, 20), st.sampled_from(["X", "Y"]))
def test_turning_over_twice_is_not_turning_over(
    x: float, y: float, radius: float, about: str
) -> None:
    path = circle(Point(x, y), radius)
    twice = mirrored_path(mirrored_path(path, about), about)  # type: ignore[arg-type]
    assert math.dist(twice.start, path.start) < 1e-9
    assert twice.area == pytest.approx(path.area)


@given(st.lists(st.tuples(coordinate, coordinate), min_size=3, max_size=8, unique=True),
       st.sampled_from(["X", "Y"]))
def test_a_path_turned_over_has_the_same_area_and_length(
    corners: list[tuple[float, float]], about: str
) -> None:
    start = Point(*corners[0])
    pieces = [LineTo(Point(*corner)) for corner in corners[1:]]
    middle = Point((pieces[-1].end.x + start.x) / 2, (pieces[-1].end.y + start.y) / 2)
    path = Path(start, (*pieces, ArcTo(start, middle, clockwise=False)), closed=True)
    over = mirrored_path(path, about)  # type: ignore[arg-type]
    assert over.length == pytest.approx(path.length)
    # A mirror image runs the other way round; run backwards it has the same area again.
    assert over.area == pytest.approx(path.area, abs=1e-6)


def test_a_sheet_that_was_not_cut_through_is_turned_over_with_the_piece_in_it() -> None:
    """The piece lies near the sheet's front left corner; turned about Y that is the right one."""
    text = PLATE.replace("stock: {sheet: [30, 30], thickness: 1.9}",
                         "stock: {sheet: [50, 40], thickness: 1.9}\n"
                         "    repeat: {pitch: [1, 1], first: [14, 12]}")
    text = text.replace("outline: {cutter: mill}", "outline: {cutter: mill, skin: 0.05}")
    train, dial = layouts(text)
    (x, y), = train.places
    assert train.stock.bounds == pytest.approx((x - 14, y - 12, x + 36, y + 28))
    (x, y), = dial.places
    assert dial.stock.bounds == pytest.approx((x - 36, y - 12, x + 14, y + 28))
