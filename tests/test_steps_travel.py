"""How far apart things lie against how far a machine's table travels."""

from __future__ import annotations

import pytest
from motion_by_hand import flat
from shapely import box
from workshop import DRIVEN, bench_of

from camgen.messages import Message
from camgen.moves import Arc, Drill, Feed, Rapid, Section
from camgen.shapes.path import polygon
from camgen.shop.cutters import Cutter
from camgen.steps.travel import _ways, asked_beyond_travel, planned_beyond_travel
from camgen.steps.walls.outline import Outline

# 30 mm by 12 mm, beside the frame's middle; two of them 40 mm apart along X and 10 along Y.
PART = polygon([(-4, -2), (26, -2), (26, 10), (-4, 10)])
PLACES = ((0.0, 0.0), (40.0, 10.0))


@pytest.mark.parametrize(("places", "x", "y", "axes"), [
    (PLACES[:1], 30.0, 12.0, ""), (PLACES[:1], 29.9, 12.0, "X"), (PLACES[:1], 30.0, 11.9, "Y"),
    (PLACES, 70.0, 22.0, ""), (PLACES, 69.9, 22.0, "X"), (PLACES, 69.9, 21.9, "XY")])
def test_outlines_farther_apart_than_the_table_travels_are_told(
    places: tuple[tuple[float, float], ...], x: float, y: float, axes: str
) -> None:
    machine = DRIVEN.model_copy(update={
        name: DRIVEN.axis(name.upper()).model_copy(update={"travel": far})  # type: ignore[arg-type]
        for name, far in (("x", x), ("y", y))})
    bench = bench_of(flat(PART, places=places, stock=box(-20, -20, 80, 40)),
                     {"mill": Cutter(kind="end-mill", diameter=1.0)}, Outline(cutter="mill"))
    found = asked_beyond_travel(bench.job, bench.setup, bench.layout, machine)
    assert [f"mm along {axis} and bench travels" in str(one.message)
            for one, axis in zip(found, axes, strict=True)] == [True] * len(axes)


def test_the_ways_of_moves_reach_as_far_as_they_go() -> None:
    """A bar drawn aside, an arc over the top, what is spoken of, in every quarter."""
    moves = (Rapid(z=5), Feed(100, x=-3, y=2),
             Drill(x=1, y=2, clearance=1, bottom=-4, feed=50, travel=6, aside=(0.3, -0.2)),
             Drill(x=7, y=9, clearance=1, bottom=-2, feed=50, travel=6, aside=(-0.3, 0.2)),
             Rapid(x=-8, y=0, z=3), Arc(100, (-10, 0), False, x=-12, y=0))
    found = list(_ways(Section(Message("cut"), 2, "mill", 1, Message("MILL"), 1000.0, moves)))
    assert found[2:4] == [((1, 1.8, -4), (1.3, 2, 6)), ((6.7, 9, -2), (7, 9.2, 6))]
    assert max(high[1] for _, high in found[5:]) == pytest.approx(2)
    assert min(low[1] for low, _ in found[5:]) == pytest.approx(0)
    machine = DRIVEN.model_copy(update={
        "x": DRIVEN.axis("X").model_copy(update={"travel": 18.9})})
    bench = bench_of(flat(PART), {"mill": Cutter(kind="end-mill", diameter=1.0)},
                     *[Outline(cutter="mill")] * 3)
    section = Section(Message("cut"), 2, "mill", 1, Message("MILL"), 1000.0, moves)
    (fault,) = planned_beyond_travel(bench.job, bench.setup, bench.layout, machine, [section])
    assert "19.0 mm along X" in str(fault.message)
