"""Openings of crossed-out wheels: sizes as a gauge would find them, insets, symmetry, refusals."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from camgen.faults import Refused
from camgen.shapes.crossing import crossing_openings
from camgen.shapes.path import ArcTo, LineTo, Path, Point

FINE = 1e-6


class Sizes(NamedTuple):
    arms: int
    hub: float
    rim: float
    at_rim: float
    at_hub: float
    corner: float


@st.composite
def sizes(draw: st.DrawFn) -> Sizes:
    rim = draw(st.floats(2.0, 30.0))
    return Sizes(
        draw(st.integers(2, 8)),
        rim * draw(st.floats(0.15, 0.6)),
        rim,
        rim * draw(st.floats(0.02, 0.1)),
        rim * draw(st.floats(0.02, 0.14)),
        rim * draw(st.floats(0.005, 0.06)),
    )


def openings(of: Sizes, inset: float = 0.0) -> tuple[Path, ...]:
    try:
        return crossing_openings(*of, inset)
    except Refused:
        assume(False)
        raise


def directions(path: Path) -> list[tuple[Point, Point]]:
    """Of each piece the unit directions at its start and its end."""
    found = []
    for at, piece in path.laid_out():
        if isinstance(piece, LineTo):
            length = math.dist(at, piece.end)
            way = Point((piece.end.x - at.x) / length, (piece.end.y - at.y) / length)
            found.append((way, way))
            continue
        ways = []
        for point in (at, piece.end):
            dx, dy = point.x - piece.centre.x, point.y - piece.centre.y
            size = math.hypot(dx, dy) * (-1 if piece.clockwise else 1)
            ways.append(Point(-dy / size, dx / size))
        found.append((ways[0], ways[1]))
    return found


@given(sizes())
def test_every_joint_is_smooth(of: Sizes) -> None:
    ways = directions(openings(of)[0])
    for (_, before), (after, _) in zip(ways, ways[1:] + ways[:1], strict=True):
        assert math.dist(before, after) < 1e-5


@given(sizes())
def test_openings_lie_between_hub_and_rim_and_are_all_alike(of: Sizes) -> None:
    found = openings(of)
    assert len(found) == of.arms
    turned = found[0].points(0.01)
    for number, opening in enumerate(found):
        assert opening.closed
        assert opening.area > 0
        points = opening.points(0.01)
        reach = np.hypot(*points.T)
        # A chord of the hub's circle would cut inside it, a point of it does not.
        assert reach.min() >= of.hub / 2 - 1e-9
        assert reach.max() <= of.rim / 2 + 1e-9
        angle = math.tau * number / of.arms
        back = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
        np.testing.assert_allclose(points @ back.T, turned, atol=1e-9)
    shapes = [opening.region(0.001) for opening in found]
    assert all(shape.is_valid for shape in shapes)
    assert shapely.union_all(shapes).area == pytest.approx(sum(s.area for s in shapes), rel=1e-9)


@given(sizes())
def test_each_opening_is_its_own_mirror_image(of: Sizes) -> None:
    opening = openings(of)[0]
    angle = math.pi / of.arms
    c, s = math.cos(2 * angle), math.sin(2 * angle)
    mirrored = opening.points(0.001) @ np.array([[c, s], [s, -c]])
    shape = shapely.Polygon(mirrored)
    assert shape.symmetric_difference(opening.region(0.001)).area < 1e-6 * opening.area + 1e-9


@given(sizes())
def test_corners_of_no_radius_leave_the_area_of_sector_less_arms(of: Sizes) -> None:
    """Plane geometry: a ring between two radii less, per arm, a strip square-ended by both circles.

    The strip of width w between circles r and R has w/2 √(R²−w²/4) + R² asin(w/2R), less the same
    with r.
    """
    width = of.at_rim
    tiny = of.rim * 1e-7
    assume(of.hub / 2 * math.sin(math.pi / of.arms) > width)

    def half(radius: float) -> float:
        return width / 2 * math.sqrt(radius**2 - width**2 / 4) + radius**2 * math.asin(
            width / 2 / radius
        )

    inner, outer = of.hub / 2, of.rim / 2
    expected = math.pi * (outer**2 - inner**2) / of.arms - (half(outer) - half(inner))
    found = openings(Sizes(of.arms, of.hub, of.rim, width, width, tiny))[0]
    assert found.area == pytest.approx(expected, rel=1e-5)


@given(sizes(), st.floats(0.0, 1.0))
def test_an_inset_opening_is_the_path_of_a_cutter_that_touches_every_wall(
    of: Sizes, share: float
) -> None:
    inset = share * of.corner
    walls, path = openings(of)[0], openings(of, inset)[0]
    ring = shapely.LinearRing(walls.points(1e-6))
    distances = shapely.distance(shapely.points(path.points(0.001)), ring)
    assert distances.max() <= inset + 1e-5
    assert distances.min() >= inset - 1e-5
    # What the cutter leaves is nothing: the path widened by its radius is the opening again.
    swept = path.region(1e-5).buffer(inset, quad_segs=64)
    assert swept.symmetric_difference(walls.region(1e-5)).area < 2e-4 * of.rim * of.rim


@given(sizes())
def test_arms_are_as_wide_as_ordered(of: Sizes) -> None:
    """The edges' straight parts, carried on to the radii of hub and rim, stand half a width off."""
    opening = openings(of)[0]
    lines = [(at, piece.end) for at, piece in opening.laid_out() if isinstance(piece, LineTo)]
    at, end = lines[-1]  # the lower edge, beside arm 1 on the x axis
    assume(math.dist(at, end) > 1e-3)

    def height(x: float) -> float:
        return at.y + (end.y - at.y) * (x - at.x) / (end.x - at.x)

    assert height(of.rim / 2) == pytest.approx(of.at_rim / 2, abs=1e-6)
    assert height(of.hub / 2) == pytest.approx(of.at_hub / 2, abs=1e-6)


def test_arms_that_meet_before_the_hub_leave_an_opening_of_three_sides() -> None:
    opening = crossing_openings(6, 1.0, 9.0, 0.8, 0.8, 0.2)[0]
    assert not any(
        isinstance(piece, ArcTo) and piece.clockwise for piece in opening.pieces
    ), "no part of the hub's circle is left"
    assert sum(isinstance(piece, LineTo) for piece in opening.pieces) == 2


@pytest.mark.parametrize(
    ("of", "inset", "words"),
    [
        (Sizes(5, 2.4, 9.0, 0.45, 0.45, 0.15), 0.2, "smaller than the cutter"),
        (Sizes(5, 8.8, 9.0, 0.45, 0.45, 0.25), 0.0, "no room for two corners"),
        (Sizes(12, 2.4, 9.0, 2.4, 2.4, 0.25), 0.0, "leave no opening"),
        (Sizes(2, 1.0, 4.0, 3.9, 3.9, 0.25), 0.0, "leave no opening"),
    ],
)
def test_what_cannot_be_is_refused_in_words(of: Sizes, inset: float, words: str) -> None:
    with pytest.raises(Refused, match=words) as no:
        crossing_openings(*of, inset)
    assert all(fault.remedy for fault in no.value.faults)
