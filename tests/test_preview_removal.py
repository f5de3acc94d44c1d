"""The field of heights: engagement and volume against plane geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from preview_scenes import MILL, blanks, outside, overlaps, program, teeth

from camgen.layout import FlatLayout
from camgen.moves import Arc, Feed, Rapid, Section
from camgen.part.shape import PartShape
from camgen.preview.course.flat_course import board_of_course, work_of
from camgen.preview.course.removal import Removal, remove
from camgen.preview.course.tooth_course import tooth_work
from camgen.preview.course.track import traced
from camgen.preview.flat.section import height_left, upright_walls
from camgen.preview.head.cut_teeth import cut_of
from camgen.preview.paper.strips import course_of
from camgen.shapes.path import Point, circle
from camgen.shop.cutters import Cutter

LAYOUT = FlatLayout(shapely.box(-5, -5, 5, 5), 0.0, -1.0, -1.0,
                    PartShape(circle(Point(0, 0), 1.0)), ((0.0, 0.0),), (), True, 5.0, 0.5)


def run(*moves: Rapid | Feed | Arc) -> Removal:
    read = program("cut", Section("mill", 0, "mill", 1, "MILL", 1000, moves))
    return remove(LAYOUT, traced(read.motion, MILL), {1: Cutter(kind="end-mill", diameter=1.0)})


def test_a_slot_is_engaged_all_round_its_leading_half_and_air_not_at_all() -> None:
    done = run(Rapid(-8, 0, 1), Rapid(z=-0.5), Feed(60, -6, 0, -0.5), Feed(60, 2, 0, -0.5),
               Feed(60, -2, 0, -0.5))
    assert done.engaged[-3:].tolist() == pytest.approx([0.0, 180.0, 0.0], abs=6.0)
    # From outside to 2: a slot of 7 mm by 1 mm and the half circle at its end, 0.5 deep.
    assert done.removed.sum() == pytest.approx(0.5 * (7 + math.pi / 8), rel=0.01)


@pytest.mark.parametrize("step", [0.15, 0.3, 0.5, 0.8])
def test_beside_a_slot_the_angle_follows_from_the_step_over(step: float) -> None:
    done = run(Rapid(-8, 0, -0.5), Feed(60, 8, 0, -0.5), Rapid(8, step, -0.5),
               Feed(60, -8, step, -0.5))
    # A cutter of radius r that takes a strip of width a is engaged over acos(1 − a/r) (geometry).
    meant = math.degrees(math.acos(1 - step / 0.5))
    assert done.engaged[-1] == pytest.approx(meant, abs=8.0)


def test_going_straight_down_is_told_from_going_across() -> None:
    done = run(Rapid(0, 0, 1), Feed(20, z=-0.25), Feed(20, z=-0.25), Feed(20, z=-0.5))
    assert done.engaged[-2:].tolist() == [360.0, 360.0]
    assert done.removed.sum() == pytest.approx(0.5 * math.pi / 4, rel=0.02)


def test_what_is_left_has_the_depth_cut_and_nothing_else_changed() -> None:
    done = run(Rapid(2, 0, 1), Feed(20, z=-0.4), Arc(60, (0, 0), False, 2, 0, full=True))
    far = np.hypot(*np.meshgrid(done.x, done.y))
    ring = (far > 1.6) & (far < 2.4)
    rest = (far < 1.4) | (far > 2.6)
    assert np.unique(done.height[ring]).tolist() == pytest.approx([-0.4])
    assert np.unique(done.height[rest]).tolist() == [0.0]


def test_the_force_in_time_is_that_of_a_full_slot_worked_out_by_hand() -> None:
    read = program("slot", Section("mill", 0, "mill", 1, "MILL", 12000,
                                   (Rapid(-4, 0, -0.2), *(Feed(120, -4 + n / 2, 0, -0.2)
                                                         for n in range(1, 17)))))
    track = traced(read.motion, MILL, 0.005)
    cutters = {1: Cutter(kind="end-mill", diameter=1.0, flutes=2)}
    course = course_of(track, work_of(track, 0.0, remove(LAYOUT, track, cutters)),
                       np.nan_to_num(read.motion.feed[track.piece]),
                       read.motion.speed[track.piece], cutters, (700.0, 0.27), 20)
    # Slot: a = D = 1, depth 0.2, feed 2 mm/s; chip load 120/(12000·2) = 0.005; over φ = π the mean
    # chip is 2·0.005/π; kc = 700·h^−0.27 (VDI 3323, groups 26-28); edge speed π·1·200 mm/s.
    chip = 2 * 0.005 / math.pi
    force = 1.0 * 0.2 * 2.0 * 700.0 * chip**-0.27 / (math.pi * 200.0)
    # Cells and spans do not fit each other, so single spans scatter; the mean does not.
    assert course.force[4:16].mean() == pytest.approx(force, rel=0.05)
    assert course.engaged[8:12].tolist() == pytest.approx([180.0] * 4, abs=12.0)
    assert course.depth.max() == pytest.approx(0.2)


def test_texts_of_the_course_keep_apart_and_it_says_what_it_shows() -> None:
    layout, read, cutters, _ = blanks(2, 1)
    board, says = board_of_course(layout, [read], MILL, cutters, "blanks",
                                  cutting_force=(700.0, 0.27))
    assert overlaps(board) == []
    assert outside(board) == []
    assert "mm³ removed" in says


def test_a_pointed_cutter_leaves_a_cone_and_a_section_shows_it() -> None:
    # Straight down 1 mm with a 90° point of 2 mm: a cone of 1 mm radius, volume π/3 (geometry).
    read = program("cone", Section("spot", 0, "spot", 1, "SPOT", 1000,
                                   (Rapid(0, 0, 1), Feed(20, z=-1.0))))
    track = traced(read.motion, MILL)
    spot = {1: Cutter(kind="spot-drill", diameter=2.0, point_angle=90.0)}
    done = remove(LAYOUT, track, spot)
    assert done.removed.sum() == pytest.approx(math.pi / 3, rel=0.02)
    places = np.linspace(-1.5, 1.5, 31)
    left = height_left(0.0, track, spot, places, 0.0)
    assert left == pytest.approx(np.minimum(np.abs(places) - 1.0, 0.0), abs=1e-9)
    beside = height_left(0.0, track, spot, places, 0.6)
    assert beside == pytest.approx(np.minimum(np.hypot(places, 0.6) - 1.0, 0.0), abs=1e-9)


def test_a_section_across_a_ramp_is_as_deep_as_the_way_there() -> None:
    read = program("ramp", Section("mill", 0, "mill", 1, "MILL", 1000, (
        Rapid(-4, 0, 0), Feed(60, 4, 0, -0.8))))
    cutters = {1: Cutter(kind="end-mill", diameter=1.0)}
    left = height_left(0.0, traced(read.motion, MILL), cutters, np.array([0.0, 2.0, 4.2, 4.6]), 0.0)
    assert left == pytest.approx([-0.4, -0.6, -0.8, 0.0], abs=1e-6)


def test_tooth_cutting_takes_what_the_wheel_lacks_of_its_blank() -> None:
    layout, read, cutters = teeth(20, 0.3, 8)
    track = traced(read.motion, MILL)
    work = tooth_work(layout, track, cutters)
    lacks = math.pi * layout.blank_radius**2 - cut_of(layout, track, cutters).wheel.area
    assert work.removed.sum() == pytest.approx(lacks * 2.0, rel=1e-3)
    # Two layers, each half the depth: acos(1 − a/R), and a face is met √(a(2R − a)) before.
    layer = layout.tooth.sizes.whole_depth / 2
    met = work.removed > 0
    assert np.degrees(np.arccos(1 - layer / 10)) == pytest.approx(work.engaged[met])
    lasts = (work.ended - work.begun)[met]
    way = 2.0 + math.sqrt(layer * (20 - layer))
    # At 60 mm/min a millimetre takes a second; the machine speeds up and slows down besides.
    assert lasts == pytest.approx(way, rel=0.05)


def test_the_force_at_a_tooth_is_worked_out_by_hand() -> None:
    layout, read, cutters = teeth(20, 0.3, 8)
    track = traced(read.motion, MILL)
    work = tooth_work(layout, track, cutters)
    course = course_of(track, work, np.nan_to_num(read.motion.feed[track.piece]),
                       read.motion.speed[track.piece], cutters, (700.0, 0.27), 4000)
    row = int(np.nonzero(work.removed > 0)[0][0])
    angle = math.radians(work.engaged[row])
    turning = 4000 / 60
    flutes = cutters[4].flutes
    chip = 1.0 / turning / flutes * (1 - math.cos(angle)) / angle
    power = work.removed[row] / (work.ended[row] - work.begun[row]) * 700.0 * chip**-0.27
    force = power / (math.pi * 20.0 * turning)
    middle = (work.begun[row] + work.ended[row]) / 2
    assert course.force[int(middle / course.seconds * 4000)] == pytest.approx(force, rel=0.01)
    assert course.depth.max() == pytest.approx(layout.tooth.sizes.whole_depth)


@pytest.mark.parametrize("angle", [10.0, 30.0, 60.0, 90.0, 120.0])
@pytest.mark.parametrize("deep", [0.02, 0.4, 0.8])
def test_walls_of_a_section_are_upright_and_cones_are_not(angle: float, deep: float) -> None:
    places = np.linspace(-2.0, 2.0, 400)
    apart = places[1] - places[0]
    # A groove with upright walls, deeper than any slope between two places; beside it a cone.
    wall = np.where(np.abs(places + 1.0) < 0.3, -deep - 12 * apart, 0.0)
    cone = np.minimum(0.0, np.abs(places - 1.0) / math.tan(math.radians(angle / 2)) - deep)
    drawn = upright_walls(places, np.minimum(wall, cone))
    step = np.diff(drawn, axis=0)
    upright = step[:, 0] == 0
    assert upright.sum() == 2
    assert np.abs(step[upright, 1]) == pytest.approx(deep + 12 * apart)
    assert np.all(np.abs(step[~upright, 1]) <= 12 * step[~upright, 0] + 1e-9)
    assert set(places) <= set(drawn[:, 0])
