"""Areas that reach over the part's edge: cleared to the edge and over it, and nothing else touched.
"""

from __future__ import annotations

import math
import re

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from sampling import few, sampled
from shapely.geometry.base import BaseGeometry

from camgen.faults import Refused
from camgen.shapes.figures import rectangle, rounded
from camgen.shapes.offset import Area, offset
from camgen.shapes.open_side import OpenArea, opened
from camgen.shapes.path import ArcTo, Path, Point, circle, polygon

PLATE = circle(Point(0, 0), 8.0)
RADIUS = 0.4


def swept(found: tuple[OpenArea, ...], radius: float = RADIUS) -> BaseGeometry:
    """What a cutter clears that goes wherever it may (shapely, within a few tenths of a µm)."""
    return shapely.union_all(
        [part.region(1e-4).buffer(radius, quad_segs=64)
         for one in found for part in offset(one.area, -radius)]
    )


@settings(max_examples=few(40), deadline=None)
@given(
    st.floats(1.2, 5.0), st.floats(1.2, 5.0), st.floats(0.0, 360.0), st.floats(-25.0, 25.0),
    st.floats(0.3, 1.0),
)
def test_nothing_is_left_to_the_edge_and_nothing_else_is_touched(
    length: float, width: float, around: float, lean: float, over: float
) -> None:
    """Rectangles with corners as round as the cutter, reaching over the edge of a round plate."""
    corner = min(RADIUS + 0.05, 0.49 * min(length, width))
    assume(corner >= RADIUS)
    shape = rectangle(length, width, corner).moved(degrees=lean)
    shape = shape.moved(8.0 - length * (0.5 - over / 2), 0.0).moved(degrees=around)
    area = Area(shape)
    found = opened(area, PLATE, RADIUS)
    assert len(found) == 1
    assert found[0].walls is not None
    part, wanted = PLATE.region(1e-4), shape.region(1e-4)
    gone = swept(found)
    assert wanted.intersection(part).difference(gone).area < 5e-4
    assert gone.intersection(part).difference(wanted).area < 5e-4


def test_walls_stay_lines_and_arcs_and_go_on_straight_over_the_edge() -> None:
    shape = rectangle(6.0, 4.0, 0.5).moved(8.0, 0.0)
    (one,) = opened(Area(shape), PLATE, RADIUS)
    (wall,) = one.walls or ()
    kinds = [type(piece).__name__ for piece in wall.pieces]
    assert kinds == ["LineTo"] * 2 + ["ArcTo", "LineTo", "ArcTo"] + ["LineTo"] * 2
    # The wall at Y 2 goes on to at least a radius beyond the plate's edge, at Y 2 still.
    for end in (wall.start, wall.end):
        assert abs(end.y) == pytest.approx(2.0, abs=1e-9)
        assert math.hypot(*end) >= 8.0 + RADIUS
    # What closes it is the plate's own circle, grown: an arc about its middle.
    arcs = [piece for piece in one.area.outer.pieces if isinstance(piece, ArcTo)]
    assert any(math.dist(arc.centre, (0, 0)) < 1e-9 for arc in arcs)


def test_an_area_inside_the_part_is_as_it_was() -> None:
    area = Area(rectangle(4.0, 3.0, 0.5))
    assert opened(area, PLATE, RADIUS) == (OpenArea(area),)


def test_an_edge_that_lies_on_the_parts_own_edge_is_open() -> None:
    plate = polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])
    shape = polygon([(2, -2), (5, -2), (5, 2), (2, 2)])
    (one,) = opened(Area(shape), plate, RADIUS)
    assert one.area.outer.region(0.01).bounds[2] >= 5 + RADIUS


def test_a_channel_right_across_has_two_walls() -> None:
    (one,) = opened(Area(rectangle(30.0, 3.0)), PLATE, RADIUS)
    assert len(one.walls or ()) == 2


def test_a_step_along_a_whole_side_has_one_wall_and_no_corner() -> None:
    (one,) = opened(Area(polygon([(5, -20), (20, -20), (20, 20), (5, 20)])), PLATE, RADIUS)
    (wall,) = one.walls or ()
    xs = {round(x, 6) for x, _ in [wall.start, *(piece.end for piece in wall.pieces)]}
    assert xs == {5.0}


def test_islands_stay_and_those_beside_the_part_do_not_count() -> None:
    shape = rectangle(8.0, 6.0, 0.5).moved(8.0, 0.0)
    near, beside = circle(Point(6.0, 0.0), 0.7), circle(Point(11.0, 0.0), 0.5)
    (one,) = opened(Area.of(shape, [near, beside]), PLATE, RADIUS)
    assert len(one.area.islands) == 1
    assert len(one.walls or ()) == 2


def test_a_pocket_over_all_of_the_part_has_no_wall_and_one_beside_it_is_none() -> None:
    (one,) = opened(Area(rectangle(30.0, 30.0)), PLATE, RADIUS)
    assert one.walls == ()
    assert opened(Area(rectangle(2.0, 2.0).moved(20.0, 0.0)), PLATE, RADIUS) == ()


def test_where_the_cutter_finds_no_room_over_the_edge_it_is_refused() -> None:
    """A gap in the outline, too narrow for the cutter, with the pocket on one side of it."""
    comb = rounded(
        [(-5, -5), (5, -5), (5, 5), (0.3, 5), (0.3, -2), (-0.3, -2), (-0.3, 5), (-5, 5)], 0.0
    )
    shape: Path = rectangle(2.0, 1.6).moved(-1.3, 1.0)
    with pytest.raises(Refused, match="no room to go on over"):
        opened(Area(shape), comb, RADIUS)


@pytest.mark.parametrize("around", [0.0, 37.0, 90.0, 200.0])
@pytest.mark.parametrize("top", sampled([7.8, 7.9, 7.95], 3))
def test_a_wall_with_no_room_over_the_edge_is_told_at_its_own_end(
    top: float, around: float
) -> None:
    """A wall hardly within a round plate meets its edge at a flat angle (x² + y² = r²)."""
    shape = rectangle(5.0, 3.0, 0.6).moved(0.0, top - 1.5).moved(degrees=around)
    with pytest.raises(Refused, match="no room to go on over") as no:
        opened(Area(shape), PLATE, RADIUS)
    said = re.search(r"X (-?[\d.]+) Y (-?[\d.]+)", no.value.faults[0].message)
    assert said
    turn, half = math.radians(around), math.sqrt(8.0**2 - top**2)
    ends = [(x * math.cos(turn) - top * math.sin(turn), x * math.sin(turn) + top * math.cos(turn))
            for x in (-half, half)]
    assert min(math.dist(end, (float(said[1]), float(said[2]))) for end in ends) < 0.03
