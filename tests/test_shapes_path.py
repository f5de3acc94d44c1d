"""Paths of lines and arcs: lengths, areas and parts against plane geometry and shapely."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from camgen.shapes.path import ArcTo, LineTo, Path, Point, circle, polygon, sweep

FINE = 1e-6


def slot(length: float, radius: float, degrees: float = 0.0) -> Path:
    """A slot: two straight sides and two half circles, anticlockwise."""
    half = length / 2
    right, left = Point(half, 0.0), Point(-half, 0.0)
    return Path(
        Point(-half, -radius),
        (
            LineTo(Point(half, -radius)),
            ArcTo(Point(half, radius), right, clockwise=False),
            LineTo(Point(-half, radius)),
            ArcTo(Point(-half, -radius), left, clockwise=False),
        ),
        closed=True,
    ).moved(0.7, -0.3, degrees)


slots = st.builds(
    slot, st.floats(0.1, 50.0), st.floats(0.05, 20.0), st.floats(-360.0, 360.0)
)


@given(slots)
def test_area_and_length_are_those_of_the_exact_figure(path: Path) -> None:
    side = path.lengths[0]
    radius = path.lengths[1] / math.pi
    assert path.area == pytest.approx(2 * radius * side + math.pi * radius**2, rel=1e-9)
    assert path.length == pytest.approx(2 * side + 2 * math.pi * radius, rel=1e-9)
    assert path.region(FINE).area == pytest.approx(path.area, rel=1e-3)
    assert path.reversed().area == pytest.approx(-path.area, rel=1e-9)


@given(slots, st.sampled_from([0.1, 0.01, 0.001]))
def test_chords_stay_within_the_tolerance(path: Path, tolerance: float) -> None:
    points = path.points(tolerance)
    middles = (points[1:] + points[:-1]) / 2
    exact = shapely.LineString(path.points(1e-5))
    distances = shapely.distance(shapely.points(middles), exact)
    assert distances.max() <= tolerance * 1.001 + 1e-5
    np.testing.assert_array_equal(points[0], points[-1])


@given(slots, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_part_of_a_path_has_its_length_and_its_ends(path: Path, one: float, two: float) -> None:
    begin, finish = sorted((one * path.length, two * path.length))
    part = path.between(begin, finish)
    assert part.length == pytest.approx(finish - begin, abs=1e-8)
    assert math.dist(part.start, path.at(begin)) < 1e-7
    assert math.dist(part.end, path.at(finish)) < 1e-7


@given(slots, st.floats(0.0, 2.0))
def test_beginning_elsewhere_changes_nothing_else(path: Path, share: float) -> None:
    other = path.starting_at(share * path.length)
    assert other.area == pytest.approx(path.area, rel=1e-9)
    assert other.length == pytest.approx(path.length, rel=1e-9)
    assert math.dist(other.start, path.at(share % 1.0 * path.length)) < 1e-6


@given(slots, st.floats(-60.0, 60.0), st.floats(-60.0, 60.0))
def test_the_nearest_place_is_the_one_shapely_finds(path: Path, x: float, y: float) -> None:
    point = Point(x, y)
    found = path.at(path.nearest(point))
    line = shapely.LineString(path.points(1e-6))
    assert math.dist(found, point) == pytest.approx(line.distance(shapely.Point(x, y)), abs=2e-3)


@given(st.floats(0.01, 100.0), st.floats(-720.0, 720.0), st.booleans())
def test_a_circle_is_two_half_turns(radius: float, start: float, clockwise: bool) -> None:
    whole = circle(Point(1.0, 2.0), radius, start, clockwise)
    assert len(whole.pieces) == 2
    for at, piece in whole.laid_out():
        assert isinstance(piece, ArcTo)
        turn = sweep(at, piece)
        assert abs(turn) == pytest.approx(math.pi, abs=1e-9)
        assert (turn < 0) == clockwise


def test_quarter_turns_are_exact() -> None:
    square = polygon([(0, 0), (3, 0), (3, 2), (0, 2)])
    assert square.moved(degrees=90).end == (0, 0)
    assert [tuple(piece.end) for piece in square.moved(degrees=90).pieces] == [
        (0, 3), (-2, 3), (-2, 0), (0, 0)
    ]
    assert square.area == 6


def test_a_closed_path_must_close() -> None:
    with pytest.raises(ValueError, match="end where it starts"):
        Path(Point(0, 0), (LineTo(Point(1, 0)),), closed=True)
    with pytest.raises(ValueError, match="encloses nothing"):
        Path(Point(0, 0), (LineTo(Point(1, 0)),), closed=False).region(0.1)
