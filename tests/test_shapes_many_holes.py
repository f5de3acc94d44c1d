"""Very many holes: an order of each once, not much longer than it need be, at a cost as their sum.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from sampling import sampled

from camgen.shapes import tour
from camgen.shapes.path import Point
from camgen.shapes.tour import hole_order, tour_length


def scattered(count: int, seed: int = 1) -> list[Point]:
    chance = random.Random(seed)
    return [Point(chance.random() * 100, chance.random() * 100) for _ in range(count)]


def length(points: list[Point], order: tuple[int, ...]) -> float:
    return tour_length(np.array([(p.x, p.y) for p in points]), order, closed=False)


@pytest.mark.parametrize("count", sampled([1201, 1500], 2))
def test_many_holes_are_each_visited_once_on_a_way_near_the_shortest(
    monkeypatch: pytest.MonkeyPatch, count: int
) -> None:
    monkeypatch.setattr(tour, "_MOST_KICKS", 70)
    points = scattered(count)
    order = hole_order(points, Point(0, 0))
    assert sorted(order) == list(range(count))
    # A random way's shortest is about 0.7124 of the root of count and area (Applegate, Bixby,
    # Chvátal and Cook 2006, from memory).
    assert length(points, order) < 1.25 * 0.7124 * math.sqrt(count * 100 * 100)


@pytest.mark.parametrize("points", sampled([
    [Point(1.0, 1.0)] * 1250, [Point(float(x), 0.0) for x in range(1250)],
    [Point(0.0, -float(y)) for y in range(1250)],
], 3))
def test_holes_in_one_line_or_in_one_place_have_an_order_too(points: list[Point]) -> None:
    order = hole_order(points, Point(0, 0))
    assert sorted(order) == list(range(1250))
    assert length(points, order) <= 1250
