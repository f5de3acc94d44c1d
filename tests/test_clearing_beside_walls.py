"""Where a cutter goes down beside a wall: on cleared ground, or it is refused with the place.

A wall of a pocket, of a post in one, or of what is left round a part, on either hand of the way
along it; what is cleared begins near the wall, as far off as can be used, or too far.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from sampling import sampled
from shapely.geometry.base import BaseGeometry

from camgen.clearing.ground import Ground
from camgen.clearing.ways_in import beside_wall, place_beside
from camgen.faults import Refused
from camgen.shapes.offset import Area
from camgen.shapes.path import polygon

RADIUS, DEPTH = 1.0, 0.5
# Places are looked for as far as five radial depths off.
FARTHEST = 5.0 * DEPTH

OUTER = polygon([(-9, -8), (9, -8), (9, 8), (-9, 8)])
INNER = polygon([(-6, -4), (6, -4), (6, 4), (-6, 4)])
# Of each wall: the ground, the Y of its upper wall, and to which side of that the cutter is.
WALLS: dict[str, tuple[Area, float, float]] = {
    "pocket": (Area(OUTER, ()), 8.0, -1.0),
    "post": (Area(OUTER, (INNER,)), 4.0, 1.0),
    "outline": (Area(polygon([(-12, -9), (12, -9), (12, 9), (-12, 9)]), (INNER,)), 4.0, 1.0),
}


def beyond(wall: str, off: float) -> BaseGeometry:
    """All of the ground that is farther than ``off`` from the upper wall."""
    area, y, side = WALLS[wall]
    low, high = (y + off, 100) if side > 0 else (-100, y - off)
    far = shapely.box(-100, low, 100, high)
    return area.region(0.01).intersection(far)


def way(wall: str, hand: str) -> np.ndarray:
    """Along the upper wall, one radius off, with it on the left or on the right hand."""
    _, y, side = WALLS[wall]
    at = y + side * RADIUS
    points = np.column_stack((np.linspace(-1.0, 4.0, 26), np.full(26, at)))
    # Going along +X what is above lies to the left.
    return points if (hand == "left") == (side < 0) else points[::-1]


@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize("wall", WALLS)
@pytest.mark.parametrize(("off", "found"), sampled([
    (0.3, True), (FARTHEST - 0.3, True), (FARTHEST + 0.3, False), (math.inf, False)], 12))
def test_a_cutter_goes_down_on_cleared_ground_or_not_at_all(
    wall: str, hand: str, off: float, found: bool
) -> None:
    gone = beyond(wall, off) if math.isfinite(off) else None
    ground = Ground.of(WALLS[wall][0], RADIUS, RADIUS, gone)
    points = way(wall, hand)
    place = place_beside(ground, points, DEPTH)
    assert (place is not None) == found
    if place is None:
        with pytest.raises(Refused, match=(
                rf"finds no place free of metal .* X {points[0][0]:.2f} Y {points[0][1]:.2f}")):
            beside_wall(ground, points, DEPTH)
        return
    assert place == beside_wall(ground, points, DEPTH)
    assert math.dist(place, points[0]) <= FARTHEST + 1e-9
    # All under its end is gone, but for what a step of the ground's grid may hide.
    assert gone is not None
    under = shapely.Point(place).buffer(RADIUS - 2 * ground.spacing)
    assert gone.buffer(1e-6).covers(under)
    assert WALLS[wall][0].region(0.01).buffer(ground.spacing).covers(
        shapely.Point(place).buffer(RADIUS))
