"""Areas cleared as a ladder of slots: nothing is left within reach, nothing is gone beside it."""

from __future__ import annotations

import math
import time

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.clearing.ladder import STEP, Ladder, ladder
from camgen.shapes.figures import rectangle, rounded, slot
from camgen.shapes.offset import Area, offset
from camgen.shapes.path import Path, Point, circle

RADIUS, LEFT = 0.4, 0.04
STAR = Area(rounded([((8.0, 4.4)[n % 2] * math.cos(math.pi * n / 7),
                      (8.0, 4.4)[n % 2] * math.sin(math.pi * n / 7)) for n in range(14)], 0.5))
AREAS = {
    "rectangle": Area(rectangle(7.0, 4.0, 0.6)),
    "ring with four islands": Area.of(circle(Point(0, 0), 8.0), [
        circle(Point(*place), 1.2) for place in ((4.5, 0), (0, 4.5), (-4.5, 0), (0, -4.5))]),
    "star": STAR,
    "ring": Area.of(circle(Point(0, 0), 3.2), [circle(Point(0, 0), 1.2)]),
    "channel": Area(slot((-5.0, 0.0), (5.0, 0.0), 1.8)),
}


def ways(found: Ladder) -> list[Path]:
    return [way for rung in found.runs
            for way in (rung.entry and rung.entry.path, rung.path) if way is not None]


def swept(found: Ladder, radius: float) -> shapely.Geometry:
    return shapely.union_all([shapely.LineString(way.points(1e-4)).buffer(radius, quad_segs=48)
                              for way in ways(found)])


def holds(area: Area, found: Ladder, radius: float, left: float, flat: float) -> None:
    """By plane geometry: all within reach is gone over, and no wall comes nearer than is left."""
    parts = offset(area, -radius - left)
    reach = shapely.union_all([one.region(1e-4).buffer(flat - 2e-3, quad_segs=48)
                               for one in parts])
    assert reach.difference(swept(found, flat)).area < 1e-6
    kept = shapely.union_all([one.region(1e-4).buffer(1e-3) for one in parts])
    for way in ways(found):
        assert kept.covers(shapely.LineString(way.points(1e-4)))


@pytest.mark.parametrize("name", AREAS)
def test_nothing_is_left_and_no_wall_is_touched(name: str) -> None:
    found = ladder(AREAS[name], RADIUS, LEFT)
    assert found is not None
    holds(AREAS[name], found, RADIUS, LEFT, RADIUS)


@pytest.mark.parametrize(("name", "most"), [("rectangle", 1.25), ("star", 1.3),
                                            ("ring with four islands", 1.35)])
def test_the_ways_are_little_longer_than_the_metal_over_the_cutters_width(
    name: str, most: float
) -> None:
    found = ladder(AREAS[name], RADIUS, LEFT)
    assert found is not None
    assert found.length * 2 * RADIUS <= most * found.size


def test_each_goes_on_from_the_one_before_or_over_what_is_cleared() -> None:
    """What is not entered anew begins where the one before ended, or is reached over its band."""
    found = ladder(AREAS["ring with four islands"], RADIUS, LEFT)
    assert found is not None
    gone: list[Path] = []
    at = None
    for rung in found.runs:
        if rung.entry is None:
            assert at is not None
            assert rung.path is not None
            line = shapely.LineString([at, rung.path.start])
            clear = shapely.union_all([shapely.LineString(way.points(1e-4)).buffer(RADIUS)
                                       for way in gone])
            assert line.length < 1e-6 or clear.covers(line.buffer(RADIUS - 6e-3))
        elif rung.entry.path is None:
            place = shapely.Point(rung.entry.start).buffer(RADIUS - 6e-3)
            assert shapely.union_all([shapely.LineString(way.points(1e-4)).buffer(RADIUS)
                                      for way in gone]).covers(place)
        else:
            gone.append(rung.entry.path)
            at = rung.entry.path.start
        if rung.path is not None:
            gone.append(rung.path)
            at = rung.path.end


def test_a_part_too_small_to_go_down_round_its_edge_has_no_ladder() -> None:
    assert ladder(Area(circle(Point(0, 0), 0.5)), RADIUS, LEFT) is None
    assert ladder(Area(rectangle(6, 4, 0.6)), RADIUS, LEFT, least_round=5.0) is None


@settings(max_examples=few(12), deadline=None)
@given(st.floats(1.6, 9.0), st.floats(1.6, 5.0), st.floats(0.15, 0.7), st.floats(0.0, 0.3),
       st.floats(0.0, 180.0), st.floats(-0.3, 0.3))
def test_any_turned_rectangle_with_an_island(
    length: float, width: float, radius: float, corner: float, turned: float, aside: float
) -> None:
    outer = rectangle(length, width, min(length, width) / 4).moved(0.0, 0.0, turned)
    size = min(length, width) / 6
    island = circle(Point(aside * size, aside * size), size)
    area = Area.of(outer, [island] if size > 0.2 else [])
    found = ladder(area, radius, 0.05 * radius, corner=corner * radius)
    if found is not None:
        flat = radius - corner * radius
        assert found.step == pytest.approx(STEP * 2 * flat)
        holds(area, found, radius, 0.05 * radius, flat)


def test_a_large_field_is_soon_planned() -> None:
    """60 by 40 mm with a 0.8 mm mill: 20 ms were measured, and 10 s are the most that may be."""
    begun = time.process_time()
    found = ladder(Area(rectangle(60.0, 40.0, 1.0)), RADIUS, LEFT)
    assert time.process_time() - begun < 2.0
    assert found is not None
    assert found.length * 2 * RADIUS <= 1.1 * found.size
