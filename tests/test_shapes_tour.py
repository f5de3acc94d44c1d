"""The order of holes, held against open tours whose shortest length is known."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from sampling import few, sampled

from camgen.shapes.path import Point
from camgen.shapes.tour import hole_order, round_tour, tour_length

# TSPLIB 95 (Reinelt), open data, with the lengths of its optimal tours; three are drilling jobs.
SHORTEST = {"a280": 2579, "u159": 42080, "pcb442": 50778, "berlin52": 7542}


def _places(name: str) -> NDArray[np.float64]:
    lines = (Path(__file__).parent / "data" / "tsplib" / f"{name}.tsp").read_text().splitlines()
    words = [line.split() for line in lines]
    return np.array([(float(w[1]), float(w[2])) for w in words if len(w) == 3 and w[0].isdigit()])


def _whole_length(places: NDArray[np.float64], order: tuple[int, ...]) -> int:
    """Each distance rounded to a whole number, as TSPLIB defines EUC_2D."""
    way = places[[*order, order[0]]]
    steps = np.hypot(*np.diff(way, axis=0).T)
    return int(np.floor(steps + 0.5).sum())


@pytest.mark.long
@pytest.mark.parametrize("name", sampled(SHORTEST, 6))
def test_tours_come_within_five_per_cent_of_the_shortest(name: str) -> None:
    places = _places(name)
    tour = round_tour(places)
    assert sorted(tour) == list(range(len(places)))
    assert SHORTEST[name] <= _whole_length(places, tour) <= 1.05 * SHORTEST[name]


def test_the_way_from_the_start_is_no_longer_than_the_tour_less_its_longest_step() -> None:
    places = _places("berlin52")
    order = hole_order([Point(*place) for place in places[1:]], Point(*places[0]))
    way = tour_length(places, [0, *(place + 1 for place in order)], closed=False)
    assert way <= 1.05 * SHORTEST["berlin52"]


spots = st.lists(
    st.tuples(st.integers(-20, 20), st.integers(-20, 20)), min_size=0, max_size=7, unique=True)


@settings(max_examples=few(60), deadline=None)
@given(spots, st.tuples(st.integers(-20, 20), st.integers(-20, 20)))
def test_few_holes_are_visited_by_nearly_the_shortest_way_of_all(
    holes: list[tuple[int, int]], start: tuple[int, int]
) -> None:
    points = [Point(float(x), float(y)) for x, y in holes]
    order = hole_order(points, Point(*map(float, start)))
    assert sorted(order) == list(range(len(points)))
    where = [start, *holes]

    def length(way: tuple[int, ...]) -> float:
        return sum(math.dist(where[a], where[b]) for a, b in itertools.pairwise((0, *way)))

    best = min(map(length, itertools.permutations(range(1, len(where)))))
    assert length(tuple(place + 1 for place in order)) <= 1.1 * best + 1e-9


@settings(max_examples=few(20), deadline=None)
@given(st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=1, max_size=60))
def test_every_hole_once_and_always_in_the_same_order(holes: list[tuple[float, float]]) -> None:
    points = [Point(*hole) for hole in holes]
    order = hole_order(points, Point(0.0, 0.0))
    assert sorted(order) == list(range(len(points)))
    assert hole_order(list(points), Point(0.0, 0.0)) == order


def test_distances_kept_or_reckoned_when_asked_for_give_the_same_order(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    points = [Point(math.sin(7 * n) * 9, math.cos(5 * n) * 9) for n in range(25)]
    kept = hole_order(points, Point(0.0, 0.0))
    monkeypatch.setattr("camgen.shapes.tour._KEPT", 0)
    assert hole_order(points, Point(0.0, 0.0)) == kept
