"""Holes brought to size on a circle: the rounds it takes, and what is offered where none fits."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from typing import Any

import pytest
from motion_by_hand import flat
from workshop import bench_of, strokes

from camgen.moves import Arc
from camgen.part.features import Hole
from camgen.shapes.path import Point
from camgen.shop.cutters import Cutter
from camgen.steps.holes.bore import BORE, Bore
from camgen.steps.kind import FlatBench


def bench(wide: float, cutter: float, **words: Any) -> FlatBench:
    """One hole ``wide`` mm in 1 mm brass, bored by an end mill."""
    mill = Cutter(kind="end-mill", diameter=cutter, flutes=2, flute_length=3.0, reach=4.0)
    layout = flat(holes=[Hole("eye", Point(1.0, -2.0), wide)])
    return bench_of(layout, {"mill": mill}, Bore(cutter="mill", **words))


def faults(wide: float, cutter: float, **words: Any) -> list[tuple[str, str]]:
    made = bench(wide, cutter, **words)
    return [(str(one.message), str(one.remedy)) for one in BORE.check(made, made.words)]


def offered(remedy: str, word: str) -> float:
    found = re.search(rf"{word} ([\d.]+\d)", remedy)
    assert found is not None, remedy
    return float(found[1])


@pytest.mark.parametrize(("wide", "drilled"), [(6.0, 0.0), (6.0, 4.0), (1.4, 0.0)])
def test_it_goes_round_wider_and_wider_by_no_more_than_the_mill_clears(
    wide: float, drilled: float
) -> None:
    """Before the last pass each round reaches 0.8 of the mill's radius further out at most."""
    made = bench(wide, 1.0, drilled=drilled, finish=0.04)
    planned = BORE.plan(made, made.words)
    found: list[float] = []
    for stroke in strokes(planned.section.moves):
        if isinstance(stroke.move, Arc) and stroke.move.centre == (1.0, -2.0):
            radius = math.dist(stroke.start[:2], (1.0, -2.0))
            if not found or abs(radius - found[-1]) > 1e-9:
                found.append(radius)
    last = (wide - 1.0) / 2
    assert found[-2:] == [pytest.approx(last - 0.04), pytest.approx(last)]
    opened = [max(0.0, (drilled - 1.0) / 2), *found]
    assert all(0 < after - before < 0.4 + 1e-9
               for before, after in pairwise(opened))


@pytest.mark.parametrize("words", [{}, {"finish": 0.25}, {"correction": 0.05},
                                   {"correction": -0.05, "finish": 0.1}])
@pytest.mark.parametrize("wide", [0.8, 1.7])
def test_where_a_mill_has_no_room_the_widest_is_offered_that_has(
    wide: float, words: dict[str, float]
) -> None:
    ((message, remedy),) = faults(wide, wide, **words)
    assert "no room to go round" in message
    most = offered(remedy, "at most")
    assert faults(wide, most, **words) == []
    assert "no room" in faults(wide, most + 0.011, **words)[0][0] or (
        "no way round" in faults(wide, most + 0.011, **words)[0][0])


def test_where_too_much_is_left_for_the_last_pass_less_is_offered() -> None:
    ((message, remedy),) = faults(1.3, 1.0, finish=0.14)
    assert "no way round" in message
    most = offered(remedy, "finish:")
    assert most < 0.14
    assert faults(1.3, 1.0, finish=most) == []
