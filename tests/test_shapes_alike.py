"""Areas of one shape that lie elsewhere: recognised, and cleared by the same ways moved."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pocket_programs import proved
from sampling import few

from camgen.clearing.alike import how_moved
from camgen.clearing.clearing import cleared
from camgen.shapes.figures import rectangle
from camgen.shapes.offset import Area
from camgen.shapes.path import Path, Point, circle

SHAPE = Area.of(rectangle(3.0, 2.0, 0.5), (circle(Point(0.4, 0.1), 0.4),))


@given(st.floats(-40, 40), st.floats(-40, 40), st.floats(-360, 360))
@settings(max_examples=few(60), deadline=None)
def test_a_shape_moved_and_turned_is_found_to_be_so(dx: float, dy: float, degrees: float) -> None:
    there = Area(*_moved(dx, dy, degrees))
    moved = how_moved(SHAPE, there)
    assert moved is not None
    for path, own in zip(SHAPE.paths, there.paths, strict=True):
        np.testing.assert_allclose(moved.path(path).points(0.01), own.points(0.01), atol=1e-8)


def _moved(dx: float, dy: float, degrees: float) -> tuple[Path, tuple[Path, ...]]:
    outer, *islands = (path.moved(dx, dy, degrees) for path in SHAPE.paths)
    return outer, tuple(islands)


@pytest.mark.parametrize(
    "other",
    [Area.of(rectangle(3.0, 2.0, 0.5)),
     Area.of(rectangle(3.0, 2.001, 0.5), (circle(Point(0.4, 0.1), 0.4),)),
     Area.of(rectangle(3.0, 2.0, 0.5), (circle(Point(-0.4, 0.1), 0.4),))],
)
def test_other_shapes_and_mirrored_ones_are_not(other: Area) -> None:
    assert how_moved(SHAPE, other) is None


def test_a_clearing_is_moved_with_all_that_it_has() -> None:
    found = cleared(SHAPE, 0.3, 0.1, 0.03)
    moved = how_moved(SHAPE, Area(*_moved(7.0, -2.0, 30.0)))
    assert moved is not None
    there = moved.clearing(found)
    assert there.length == pytest.approx(found.length)
    assert there.size == found.size
    cosine, sine = math.cos(math.radians(30)), math.sin(math.radians(30))
    for one, other in zip(found.entries, there.entries, strict=True):
        x, y = one.start
        assert other.start == pytest.approx((7 + x * cosine - y * sine, -2 + x * sine + y * cosine))


PLATE = """  pockets:
    a: {rectangle: [3, 2], corner: 0.5, at: [-3, 0.2], depth: 0.4}
    b: {rectangle: [3, 2], corner: 0.5, at: [3.1, 0.7], turned: 33, depth: 0.4}"""


def test_alike_pockets_are_cut_alike_and_proved() -> None:
    done = proved(PLATE, "pocket: {cutter: mill}")
    assert not done.failed
    moves = done.setups[0].evidence
    x = (moves.motion.start[:, 0] + moves.motion.end[:, 0]) / 2
    lengths = [moves.length[moves.cut & side] for side in (x < 0, x > 0)]
    assert len(lengths[0]) == len(lengths[1])
    np.testing.assert_allclose(lengths[0], lengths[1], atol=0.005)
