"""Curves drawn as many short lines become arcs, true to what is drawn; sides stay sides."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.part.tight import tight_corners
from camgen.shapes.figures import rectangle
from camgen.shapes.fitting import curved
from camgen.shapes.path import ArcTo, LineTo, Path, Point, polygon

WITHIN = 0.002


def lobed(sides: int, size: float, deep: float, lobes: int) -> list[tuple[float, float]]:
    turn = np.linspace(0.0, math.tau, sides, endpoint=False)
    far = size * (1 + deep * np.cos(lobes * turn))
    return [(float(r * math.cos(t)), float(r * math.sin(t)))
            for r, t in zip(far, turn, strict=True)]


def apart(one: Path, other: Path) -> float:
    """The most that either is off the other, mm, on points a few micrometres apart."""
    lines = [shapely.LineString(path.points(1e-6)) for path in (one, other)]
    dense = [shapely.segmentize(line, 0.02) for line in lines]
    return max(float(shapely.distance(shapely.points(np.asarray(a.coords)), b).max())
               for a, b in (dense, reversed(dense)))


@settings(max_examples=few(12), deadline=None)
@given(st.integers(100, 800), st.floats(1.0, 8.0), st.floats(0.0, 0.12), st.integers(2, 5),
       st.integers(0, 99), st.booleans())
@example(200, 6.0, 0.1, 2, 7, True)
def test_a_curve_of_lines_is_kept_true_wherever_it_begins(
    sides: int, size: float, deep: float, lobes: int, begin: int, backwards: bool
) -> None:
    points = lobed(sides, size, deep, lobes)
    points = points[begin:] + points[:begin]
    drawn = polygon(points[::-1] if backwards else points)
    made = curved(drawn, WITHIN)
    assert apart(drawn, made) <= WITHIN + 2e-5
    assert made.closed
    assert len(made.pieces) <= len(drawn.pieces)
    # None of its joints is a corner where none of the lines' joints was.
    if not tight_corners(drawn if drawn.area > 0 else drawn.reversed(), 0.4):
        assert not tight_corners(made if made.area > 0 else made.reversed(), 0.4)


def test_two_hundred_points_round_an_oval_are_few_arcs() -> None:
    oval = polygon([(8 * math.cos(math.tau * n / 200), 5 * math.sin(math.tau * n / 200))
                    for n in range(200)])
    made = curved(oval, WITHIN)
    assert all(isinstance(piece, ArcTo) for piece in made.pieces)
    assert len(made.pieces) < 40


@pytest.mark.parametrize("sides", [3, 6, 12, 40])
def test_polygons_stay_polygons(sides: int) -> None:
    drawn = polygon(lobed(sides, 5.0, 0.0, 1))
    assert curved(drawn, WITHIN) == drawn


def test_arcs_and_sides_stay_as_they_are_drawn() -> None:
    drawn = rectangle(8.0, 5.0, 1.0)
    assert curved(drawn, WITHIN) == drawn
    # A row of places along one side is that side.
    row = [Point(float(x), 0.0) for x in range(10)]
    square = polygon([*row, Point(9.0, 9.0), Point(0.0, 9.0)])
    made = curved(square, WITHIN)
    assert all(isinstance(piece, LineTo) for piece in made.pieces)
    assert made.area == pytest.approx(81.0)
