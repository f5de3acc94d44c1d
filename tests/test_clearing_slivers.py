"""Slivers thinner than the grid, left between two passes, under the cutter's end."""

from __future__ import annotations

import pytest
import shapely

from camgen.clearing.clearing import Clearing, Entry, Pass
from camgen.clearing.slivers import slivers_under
from camgen.shapes.path import LineTo, Path, Point

RADIUS = 0.4


def straight(y: float) -> Pass:
    begin = Point(0.0, y)
    return Pass(Path(begin, (LineTo(Point(4.0, y)),), closed=False), begin, True)


@pytest.mark.parametrize("aside", [0.0, 0.2, 0.3])
@pytest.mark.parametrize(("sliver", "told"), [
    (-0.1, False), (0.0, False), (0.001, False), (0.005, True), (0.02, True), (0.039, True),
    (0.06, True), (0.079, True), (0.09, False), (0.3, False)])
def test_a_sliver_between_two_passes_is_found_where_the_cutter_comes_down_on_it(
    sliver: float, told: bool, aside: float
) -> None:
    """Two straight passes leave a strip as wide as they lie apart less the cutter's width; one
    twice as wide as the grid, 0.04 mm, is not of this kind."""
    half = RADIUS + sliver / 2
    place = Point(2.0, aside)
    last = Pass(Path(place, (LineTo(Point(2.5, aside)),), closed=False), place, False)
    found = Clearing((Entry("descent", Point(0.0, half)),),
                     ((straight(half), straight(-half), last),), (), 0.8)
    assert (place in slivers_under(found, RADIUS)) == told


def test_beside_a_sliver_the_cutter_comes_down_on_none() -> None:
    half = RADIUS + 0.01
    place = Point(2.0, half)
    last = Pass(Path(place, (LineTo(Point(2.5, half)),), closed=False), place, False)
    found = Clearing((Entry("descent", Point(0.0, half)),),
                     ((straight(half), straight(-half), last),), (), 0.8)
    assert place not in slivers_under(found, RADIUS)


@pytest.mark.parametrize("sliver", [0.0, 0.005, 0.039, 0.06, 0.3])
def test_a_sliver_between_a_pass_and_ground_that_was_free_is_found(sliver: float) -> None:
    """Beside a groove, which no way of this clearing has cut, a pass leaves a strip."""
    groove = shapely.box(-1, sliver, 5, 3)
    place = Point(2.0, 0.2)
    last = Pass(Path(place, (LineTo(Point(2.5, 0.2)),), closed=False), place, False)
    found = Clearing((Entry("descent", Point(0.0, 2.0)),), ((straight(-RADIUS), last),), (), 0.8,
                     free=groove)
    assert (place in slivers_under(found, RADIUS)) == (0.005 <= sliver < 0.08)
