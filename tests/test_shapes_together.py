"""Regions put together, and thin places found, as by looking at all of it at once."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.proof.flat import thin_walls
from camgen.proof.flat.thin_walls import thin_places
from camgen.shapes.together import laid_together

PLACES = st.tuples(st.integers(0, 60), st.integers(0, 60), st.sampled_from([2, 5, 9]),
                   st.booleans())


def shape(x: int, y: int, wide: int, round_: bool) -> shapely.Polygon:
    point = shapely.Point(x / 4, y / 4)
    return point.buffer(wide / 8) if round_ else shapely.box(
        point.x, point.y, point.x + wide / 8, point.y + wide / 4)


@settings(max_examples=few(80), deadline=None)
@given(st.lists(PLACES, max_size=25))
def test_regions_together_are_their_union(places: list[tuple[int, int, int, bool]]) -> None:
    regions = [shape(*one) for one in places]
    together = laid_together(regions)
    assert together.is_valid
    assert together.area == pytest.approx(shapely.union_all(regions).area)
    assert shapely.symmetric_difference(together, shapely.union_all(regions)).area < 1e-9


@settings(max_examples=few(60), deadline=None)
@given(st.lists(PLACES, max_size=12), st.sampled_from([0.1, 0.2, 0.3]))
def test_thin_places_are_where_they_are_with_all_holes_looked_at(
    places: list[tuple[int, int, int, bool]], wide: float
) -> None:
    region = shapely.box(-1, -1, 17, 17).difference(
        shapely.union_all([shape(*one) for one in places]))
    found = sorted((one.thick, one.x, one.y) for one in thin_places(region, wide))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(thin_walls, "_without_lone_holes", lambda region, wide: region)
        whole = sorted((one.thick, one.x, one.y) for one in thin_places(region, wide))
    assert len(found) == len(whole)
    assert np.allclose(np.array(found), np.array(whole), atol=1e-6)


def test_a_hole_alone_is_left_out_and_one_near_another_is_not() -> None:
    region = shapely.box(0, 0, 10, 10)
    for x, y in ((2, 2), (2, 3.1), (7, 7)):
        region = region.difference(shapely.Point(x, y).buffer(0.5))
    (left,) = shapely.get_parts(thin_walls._without_lone_holes(region, 0.2))
    assert len(left.interiors) == 2
    assert [round(one.thick, 2) for one in thin_places(region, 0.2)] == [0.1]
