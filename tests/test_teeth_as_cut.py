"""The wheel as cut against the wheel meant: figures that plane geometry foretells."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few, sampled
from shapely import Polygon

from camgen.faults import Refused
from camgen.teeth.cut.as_cut import _where, as_cut_outline, as_cut_tooth, form_error
from camgen.teeth.forms import pinion_tooth, wheel_tooth

THIRD = wheel_tooth("cycloidal", 75, 0.14, 10)
SPACE = THIRD.space(1e-5, 0.1)
PLACES = np.arange(75) * 360 / 75


@pytest.mark.parametrize(
    "tooth",
    [
        THIRD,
        pinion_tooth("cycloidal", 10, 0.12, 75),
        wheel_tooth("cycloidal", 6, 0.3, 8),
        wheel_tooth("involute", 9, 0.3),
        wheel_tooth("ratchet", 40, 0.2, front=10.0, back="curved"),
        wheel_tooth("cycloidal", 300, 0.05, 12),
    ],
    ids=lambda tooth: f"{tooth.form}-{tooth.sizes.teeth}",
)
def test_cutter_made_for_the_wheel_leaves_the_wheel(tooth) -> None:
    count = tooth.sizes.teeth
    error = form_error(tooth, tooth.space(1e-5, 0.1), np.arange(count) * 360 / count)
    # 0.1 µm is the chord error allowed on the wheel meant.
    assert error.left < 0.15
    assert error.missing < 0.15
    assert max(map(abs, error.thickness)) < 0.15
    assert error.uncut == ()


@pytest.mark.parametrize("offset", [-0.02, -0.005, 0.004, 0.03])
def test_a_wrong_depth_shows_at_the_root_by_as_much(offset: float) -> None:
    error = form_error(THIRD, SPACE, PLACES, depth_offset=offset)
    found, where = ((error.missing, error.missing_where) if offset > 0
                    else (error.left, error.left_where))
    assert found == pytest.approx(abs(offset) * 1000, abs=0.15)
    assert where.endswith("root")


def test_off_centre_height_leans_every_tooth() -> None:
    # The flanks are nearly radial: moved sideways by e they are off by e on one side, in the metal
    # on the other; thickness hardly changes.
    error = form_error(THIRD, SPACE, PLACES, height_offset=0.01)
    assert error.left == pytest.approx(10.0, abs=0.2)
    assert error.missing == pytest.approx(10.0, abs=0.2)
    assert max(map(abs, error.thickness)) < 0.1


def test_one_space_at_a_wrong_angle_is_found_and_named() -> None:
    places = PLACES.copy()
    places[11] += 0.1
    error = form_error(THIRD, SPACE, places)
    arc = math.radians(0.1) * THIRD.sizes.pitch_diameter / 2 * 1000
    assert error.thickness == pytest.approx((-arc, arc), abs=0.1)
    assert error.missing_where.startswith("space 12, flank towards space 13")
    assert error.left_where.startswith("space 12, flank towards space 11")
    # Square to a flank that leans little, the arc at that radius is the distance.
    assert 0.9 * arc < error.missing < 1.06 * arc


@pytest.mark.parametrize("deeper", [0.004, -0.006])
def test_one_space_at_a_wrong_depth_changes_the_teeth_on_both_its_sides(deeper: float) -> None:
    # An involute's flank leans by its pressure angle α at the pitch circle, and stands a quarter of
    # a pitch, θ, beside the infeed: set deeper by d a cutter takes d·sin(α + θ)/cos α along the
    # circle off one flank of each neighbour, and the other teeth keep their thickness.
    tooth = wheel_tooth("involute", 20, 0.5)
    depth = np.zeros(20)
    depth[7] = deeper
    error = form_error(tooth, tooth.space(1e-5, 0.1), np.arange(20) * 18.0, depth_offset=depth)
    lean = math.radians(20.0)
    thinner = -deeper * math.sin(lean + math.radians(4.5)) / math.cos(lean) * 1000
    assert error.thickness == pytest.approx((min(thinner, 0.0), max(thinner, 0.0)), abs=0.1)


def test_every_space_different_still_finds_the_worst() -> None:
    # 75 different errors, two of them much larger; against measuring out each cut by itself.
    random = np.random.default_rng(7)
    turn = random.normal(0, 0.01, 75)
    depth = random.normal(0, 0.002, 75)
    height = random.normal(0, 0.001, 75)
    together = form_error(THIRD, SPACE, PLACES + turn, depth_offset=depth, height_offset=height)
    singly = [
        form_error(THIRD, SPACE, [PLACES[k] + turn[k]], depth_offset=depth[k],
                   height_offset=height[k])
        for k in range(75)
    ]
    assert together.missing == pytest.approx(max(one.missing for one in singly), abs=0.01)
    # A single cut says that all others are uncut; its own edge is judged with neighbours at hand.
    assert together.left > 0


def test_a_space_that_was_forgotten_is_named_with_the_whole_depth() -> None:
    error = form_error(THIRD, SPACE, np.delete(PLACES, 41))
    assert error.uncut == (42,)
    assert error.left == pytest.approx(THIRD.sizes.whole_depth * 1000)
    assert "space 42" in error.left_where


def test_a_cut_that_never_reached_the_blank_is_a_space_uncut() -> None:
    depth = np.zeros(75)
    depth[5] = -0.6
    error = form_error(THIRD, SPACE, PLACES, depth_offset=depth)
    assert error.uncut == (6,)
    assert error.left == pytest.approx(THIRD.sizes.whole_depth * 1000)
    with pytest.raises(Refused, match="reach"):
        as_cut_tooth(THIRD, SPACE, depth_offset=-0.6)


def test_going_round_further_than_a_turn_is_the_same_wheel() -> None:
    assert form_error(THIRD, SPACE, PLACES + 720).left < 0.15
    assert form_error(THIRD, SPACE, -PLACES).left < 0.15


def measured(tooth, made, places, **offsets) -> tuple[float, float]:
    """Material left and missing at the space on the x axis, µm, from polygons cut and measured."""
    cut = as_cut_outline(tooth, made, places, **offsets)
    meant = Polygon(tooth.outline(1e-5))
    pitch = 2 * math.pi / tooth.sizes.teeth
    far = 2 * tooth.tip_radius
    wedge = Polygon([(0, 0), *((far * math.cos(a), far * math.sin(a))
                               for a in np.linspace(-0.9 * pitch, 0.9 * pitch, 9))])
    edge = np.array(cut.exterior.segmentize(0.001).coords)
    edge = edge[shapely.contains_xy(wedge, *edge.T)]
    edge = edge[np.abs(np.arctan2(edge[:, 1], edge[:, 0])) < 0.5 * pitch]
    away = shapely.distance(meant.exterior, shapely.points(edge)) * 1000
    inside = shapely.contains_xy(meant, *edge.T)
    return away[~inside].max(initial=0.0), away[inside].max(initial=0.0)


@pytest.mark.parametrize(("teeth", "mate"), sampled(
    [(60, 8), (64, 10), (100, 10), (30, 8)], 3))
def test_cutter_made_for_another_wheel_shows_its_true_error(teeth: int, mate: int) -> None:
    made = wheel_tooth("cycloidal", teeth, 0.14, mate).space(1e-5, 0.1)
    error = form_error(THIRD, made, PLACES)
    left, missing = measured(THIRD, made, PLACES)
    assert error.left == pytest.approx(left, abs=0.5)
    assert error.missing == pytest.approx(missing, abs=0.5)
    assert max(error.left, error.missing) > 2.0


@settings(max_examples=few(25), deadline=None)
@given(st.sampled_from([6, 8, 10, 14]), st.sampled_from([6, 8, 10, 14]),
       st.floats(-0.01, 0.01), st.floats(-0.01, 0.01), st.floats(-0.3, 0.3))
def test_errors_agree_with_polygons(leaves, made_for, deeper, height, turn) -> None:
    tooth = pinion_tooth("cycloidal", leaves, 0.2, 60)
    made = pinion_tooth("cycloidal", made_for, 0.2, 60).space(1e-5, 0.3)
    places = np.arange(leaves) * 360 / leaves + turn
    offsets = {"depth_offset": deeper, "height_offset": height}
    error = form_error(tooth, made, places, **offsets)
    left, missing = measured(tooth, made, places, **offsets)
    assert error.left == pytest.approx(left, abs=0.5)
    # Where neighbouring cuts overlap inside a tooth, what is missing is deepest between their
    # edges, which the edge that is left does not show.
    assert missing - 0.5 < error.missing < 1.02 * missing + 0.5


def test_blank_left_too_large_shows_at_the_tips() -> None:
    tooth = wheel_tooth("involute", 30, 0.3)
    places = np.arange(30) * 12.0
    error = form_error(tooth, tooth.space(1e-5, 0.2), places,
                       blank_radius=tooth.tip_radius + 0.02)
    assert error.left == pytest.approx(20.0, abs=0.3)
    assert error.missing < 0.15


def test_as_cut_outline_of_the_right_cutter_is_the_wheel() -> None:
    cut = as_cut_outline(THIRD, SPACE, PLACES)
    meant = Polygon(THIRD.outline(1e-5))
    assert cut.is_valid
    assert cut.symmetric_difference(meant).area < 1e-4 * meant.length


def test_as_cut_outline_loses_the_area_of_a_deeper_cut() -> None:
    plain = as_cut_outline(THIRD, SPACE, PLACES).area
    deeper = as_cut_outline(THIRD, SPACE, PLACES, depth_offset=0.01).area
    shallower = as_cut_outline(THIRD, SPACE, PLACES, depth_offset=-0.01).area
    assert deeper < plain < shallower


@settings(max_examples=few(40), deadline=None)
@given(st.floats(-0.02, 0.02), st.floats(-0.02, 0.02))
def test_tips_of_the_cut_tooth_are_where_neighbouring_cuts_meet(depth, height) -> None:
    tooth = as_cut_tooth(THIRD, SPACE, depth_offset=depth, height_offset=height)
    outline = as_cut_outline(THIRD, SPACE, PLACES, depth_offset=depth, height_offset=height)
    radii = np.hypot(*np.array(outline.exterior.coords).T)
    assert tooth.tip_radius == pytest.approx(radii.max(), abs=5e-4)
    assert np.abs(tooth.space).min() == pytest.approx(radii.min(), abs=1e-4)


def test_space_that_is_not_across_the_axis_is_an_error() -> None:
    with pytest.raises(ValueError, match="x axis"):
        form_error(THIRD, SPACE + np.array([0.0, 1.0]), PLACES)


@pytest.mark.parametrize("space", [0, 1, 40, 74])
def test_a_place_is_told_by_its_space_and_by_the_space_on_its_side(space: int) -> None:
    root, tip = THIRD.root_radius, THIRD.tip_radius
    middle = (root + tip) / 2
    name, above, below = space + 1, (space + 1) % 75 + 1, (space - 1) % 75 + 1
    for sense, beside in ((1j, above), (-1j, below)):
        turn = np.exp(0.01 * sense)
        assert str(_where(root * turn, space, THIRD)) == f"space {name}, root"
        flank = f"space {name}, flank towards space {beside}"
        assert str(_where(tip * turn, space, THIRD)) == f"{flank}, tip"
        assert str(_where(middle * turn, space, THIRD)) == f"{flank}, radius {middle:.3f} mm"
