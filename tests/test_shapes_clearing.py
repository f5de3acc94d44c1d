"""Clearing with bounded engagement, measured on the paths by plane geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from engagement import Measured, concentric, disc, entered, measured
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few, sampled

from camgen.clearing.clearing import Clearing, cleared, engagement_of
from camgen.clearing.room import deepest_place
from camgen.faults import Refused
from camgen.shapes.figures import rectangle, rounded
from camgen.shapes.fitting import fitted
from camgen.shapes.offset import Area, offset
from camgen.shapes.path import ArcTo, Path, Point, circle

RADIUS, DEPTH = 0.5, 0.15

AREAS = {
    "angle": Area(rounded([(0, 0), (4.6, 0), (4.6, 2.4), (2.4, 2.4), (2.4, 4.6), (0, 4.6)], 0.6)),
    "ring with an island": Area.of(circle(Point(0, 0), 3.2), [circle(Point(0.3, 0), 0.9)]),
    "star": Area(
        rounded(
            [
                ((3.6, 1.8)[n % 2] * math.cos(math.pi * n / 5),
                 (3.6, 1.8)[n % 2] * math.sin(math.pi * n / 5))
                for n in range(10)
            ],
            [0.55, 0.2] * 5,
        )
    ),
}


def ways(found: Clearing) -> list[Path]:
    return [one.path for passes in found.passes for one in passes]


@pytest.fixture(scope="module", params=sampled(AREAS, 3))
def worked(request: pytest.FixtureRequest) -> tuple[Area, Clearing, Measured]:
    """An area, how it is cleared, and the engagement measured on that."""
    area = AREAS[request.param]
    found = cleared(area, RADIUS, DEPTH)
    start = shapely.union_all([entered(entry, RADIUS) for entry in found.entries])
    begins = [one.begin for passes in found.passes for one in passes]
    return area, found, measured(area, RADIUS, start, ways(found), 0.05, begins)


def test_the_cutter_never_meets_much_more_metal_than_planned(
    worked: tuple[Area, Clearing, Measured]
) -> None:
    _, found, engaged = worked
    assert found.planned == pytest.approx(math.acos(1 - DEPTH / RADIUS))
    assert engaged.angle.max() <= 1.25 * found.planned
    assert engaged.share_at_most(1.1 * found.planned) >= 0.95


def test_no_metal_is_gone_over_twice(worked: tuple[Area, Clearing, Measured]) -> None:
    """All the passes together are no longer than the area over the radial depth."""
    area, found, engaged = worked
    assert found.length <= 1.05 * area.size / DEPTH
    met = engaged.angle > 0.02
    assert engaged.length[met].sum() / engaged.length.sum() > 0.95


def test_passes_and_walls_clear_all_that_the_cutter_can_reach(
    worked: tuple[Area, Clearing, Measured]
) -> None:
    area, found, engaged = worked
    (reach,) = offset(area, -RADIUS)
    swept = shapely.union_all(
        [
            shapely.LineString(wall.path.points(1e-4)).buffer(RADIUS, quad_segs=32)
            for wall in found.walls
        ]
    )
    left = engaged.left.difference(swept).intersection(
        reach.region(1e-3).buffer(RADIUS - 0.01, quad_segs=32)
    )
    assert left.area < 1e-3


def test_the_skin_left_for_the_walls_is_thinner_than_a_pass(
    worked: tuple[Area, Clearing, Measured]
) -> None:
    area, _, engaged = worked
    (reach,) = offset(area, -RADIUS - DEPTH)
    inner = reach.region(1e-3).buffer(RADIUS, quad_segs=32)
    assert engaged.left.intersection(inner).area < 0.01 * area.size


def test_the_centre_stays_where_the_cutter_touches_no_wall(
    worked: tuple[Area, Clearing, Measured]
) -> None:
    area, found, _ = worked
    ring = shapely.union_all([shapely.LinearRing(path.points(1e-4)) for path in area.paths])
    region = area.region(1e-4)
    for path in (*ways(found), *(one.path for one in found.entries if one.path is not None)):
        line = shapely.LineString(path.points(1e-3))
        assert region.contains(line)
        assert line.distance(ring) >= RADIUS - 0.004


def test_the_old_way_of_parallels_meets_far_more(worked: tuple[Area, Clearing, Measured]) -> None:
    """The measure beside it: parallels of the edge, cut from the inside out, overrun the plan."""
    area, found, engaged = worked
    rings = concentric(area, RADIUS, DEPTH)
    centre, _ = deepest_place(area, 0.05)
    old = measured(area, RADIUS, disc(centre, RADIUS), rings, 0.05)
    assert old.angle.max() > 1.5 * found.planned
    assert old.angle.max() > engaged.angle.max()


def test_the_same_area_is_cleared_the_same_way() -> None:
    area = Area(rectangle(3.0, 2.0, 0.6))
    assert cleared(area, RADIUS, DEPTH) == cleared(area, RADIUS, DEPTH)


def test_what_is_left_on_the_walls_is_left_everywhere() -> None:
    area = Area(rectangle(4.0, 3.0, 0.8))
    found = cleared(area, RADIUS, DEPTH, allowance=0.1)
    ring = shapely.LinearRing(area.outer.points(1e-4))
    for path in (*ways(found), *(one.path for one in found.walls)):
        assert shapely.LineString(path.points(1e-3)).distance(ring) >= RADIUS + 0.1 - 0.004


def test_an_area_in_two_parts_is_entered_twice() -> None:
    """Two squares joined by a neck too narrow for the cutter."""
    bell = rounded(
        [(-3, -1), (-1, -1), (-1, -0.3), (1, -0.3), (1, -1), (3, -1),
         (3, 1), (1, 1), (1, 0.3), (-1, 0.3), (-1, 1), (-3, 1)],
        0.0,
    )
    found = cleared(Area(bell), RADIUS, DEPTH)
    assert len(found.entries) == 2
    sides = [np.sign(entry.start.x) for entry in found.entries]
    for side, passes in zip(sides, found.passes, strict=True):
        assert passes
        assert all(np.sign(one.path.start.x) == side for one in passes)


@pytest.mark.parametrize(
    ("area", "radius", "words"),
    [
        (Area(rectangle(4.0, 0.9)), 0.5, "does not fit in: there are 0.90 mm"),
        (Area(rectangle(1.1, 1.1, 0.55)), 0.5, "finds no room to go down in a helix"),
    ],
)
def test_an_area_too_small_for_the_cutter_is_refused_with_the_largest_that_fits(
    area: Area, radius: float, words: str
) -> None:
    with pytest.raises(Refused, match=words) as no:
        cleared(area, radius, 0.1)
    assert "a cutter" in no.value.faults[0].remedy


@settings(max_examples=few(25))
@given(st.floats(1.0, 8.0), st.floats(1.0, 8.0))
def test_the_deepest_place_of_a_rectangle_is_on_its_middle_line(x: float, y: float) -> None:
    place, room = deepest_place(Area(rectangle(x, y)), 0.05)
    assert room == pytest.approx(min(x, y) / 2, abs=0.01)
    assert abs(place.x) <= max(0.0, (x - y) / 2) + 0.02
    assert abs(place.y) <= max(0.0, (y - x) / 2) + 0.02


@given(
    st.lists(
        st.tuples(st.floats(-5.0, 5.0), st.floats(-5.0, 5.0)), min_size=3, max_size=12, unique=True
    ),
    st.sampled_from([0.001, 0.02, 0.3]),
)
def test_lines_and_arcs_pass_every_point_within_the_tolerance(
    corners: list[tuple[float, float]], tolerance: float
) -> None:
    points = np.array(corners)
    if np.hypot(*np.diff(points, axis=0).T).min() < 1e-3:
        return
    path = fitted(points, tolerance)
    line = shapely.LineString(path.points(1e-4))
    assert shapely.distance(shapely.points(points), line).max() <= tolerance + 2e-4
    assert path.start == tuple(points[0])
    assert path.end == tuple(points[-1])


def test_arcs_are_found_again_from_their_points() -> None:
    turn = np.linspace(0.3, 2.1, 80)
    arc = np.column_stack((2 * np.cos(turn), 2 * np.sin(turn)))
    line = arc[-1] + np.linspace(0.05, 1.0, 20)[:, None] * (-math.sin(2.1), math.cos(2.1))
    path = fitted(np.concatenate((arc, line)), 0.0005)
    assert len(path.pieces) <= 3
    first = path.pieces[0]
    assert isinstance(first, ArcTo)
    assert not first.clockwise
    assert math.dist(first.centre, (0, 0)) < 0.01


def test_engagement_of_half_and_full_radial_depth() -> None:
    """Plane geometry: a cut as wide as the radius engages a quarter turn of the leading half."""
    assert engagement_of(0.5, 0.5) == pytest.approx(math.pi / 2)
    assert engagement_of(0.5, 0.25) == pytest.approx(math.pi / 3)
