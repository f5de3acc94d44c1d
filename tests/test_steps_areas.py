"""Pockets before they are cleared: what is left, what is gone, and what only the last pass cuts."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from motion_by_hand import flat
from shapely import box
from workshop import bench_of, strokes

from camgen.layout import FlatLayout
from camgen.moves import Arc
from camgen.part.features import Hole, Recess
from camgen.part.shape import PartShape
from camgen.shapes.figures import rectangle
from camgen.shapes.offset import Area
from camgen.shapes.open_side import OpenArea
from camgen.shapes.path import LineTo, Path, Point, circle, polygon
from camgen.shop.cutters import Cutter
from camgen.steps.areas.pocket import _along, _has_own_walls, _walls
from camgen.steps.areas.pocket_checks import _fillets, _grazing, _not_reached, _slots
from camgen.steps.areas.pocket_cuts import FloorCuts, _down, _gone_before, _taken
from camgen.steps.areas.pocket_ground import Gone, _gap, air, drilled_before
from camgen.steps.areas.pocket_words import PocketStep, finish_of, skin_of
from camgen.steps.holes.bore import Bore
from camgen.steps.holes.drill import DrillHoles
from camgen.steps.kind import FlatBench

SQUARE = polygon([(-9, -7), (9, -7), (9, 7), (-9, 7)])


def mill(wide: float, reach: float = 0.0) -> Cutter:
    return Cutter(kind="end-mill", diameter=wide, flutes=2, flute_length=max(2 * wide, 1.0),
                  reach=max(3 * wide, reach))


def layout(*floors: tuple[Path, float], **more: object) -> FlatLayout:
    """A plate of 18 by 14 mm with pockets called a, b, c."""
    recesses = tuple(Recess(name, Area.of(path), depth)
                     for name, (path, depth) in zip("abc", floors, strict=False))
    return flat(part=PartShape(SQUARE, recesses=recesses), **more)


def cleared(bench: FlatBench, left: float) -> FloorCuts:
    """The only pocket, as if it were cleared up to ``left`` mm from its walls."""
    (recess,) = bench.layout.part.recesses
    return FloorCuts(recess, (OpenArea(recess.area),), (), (), left, True)


def test_what_is_left_is_what_the_step_says_or_what_the_last_one_takes() -> None:
    """A twentieth of the last cutter's diameter on the walls, and nothing on the floor."""
    work, cutters = layout((circle(Point(0, 0), 3), 0.5)), {"big": mill(2.0), "small": mill(0.8)}
    big, small = PocketStep(cutter="big"), PocketStep(cutter="small")
    said = PocketStep(cutter="big", finish=0.07, floor=0.03)
    for steps, left, skin in (((big,), 0.1, 0.0), ((big, small), 0.04, 0.0), ((said,), 0.07, 0.03),
                              ((said, small), 0.07, 0.03), ((big, said), 0.07, 0.03)):
        bench = bench_of(work, cutters, *steps)
        (recess,) = work.part.recesses
        assert finish_of(bench, steps[0], recess) == pytest.approx(left)
        assert skin_of(bench, steps[0], recess) == skin


@pytest.mark.parametrize("beyond", [0.0, 1.5, 3.0])
def test_the_stock_beyond_an_open_side_is_as_wide_as_it_is(beyond: float) -> None:
    stock = box(-20, -20, 9 + beyond, 20)
    work = layout((rectangle(6, 4, 0.5).moved(8, 0), 0.4), stock=stock)
    assert _gap(air(work), work, work.part.recesses[0]) == pytest.approx(beyond, abs=1e-3)
    inside = layout((rectangle(6, 4, 0.5), 0.4), stock=stock)
    assert _gap(air(inside), inside, inside.part.recesses[0]) == math.inf


@pytest.mark.parametrize("wide", [0.4, 1.0, 5.0])
def test_a_neck_is_what_is_longer_than_a_corner_however_wide_the_mill(wide: float) -> None:
    """A slot as wide as the mill and a little more between two rooms; a room alone has corners."""
    room = rectangle(2.4 * wide, 2 * wide, 0.51 * wide)
    for neck in (0.0, 1.02 * wide):
        path = room
        if neck:
            half, far = neck / 2, 1.5 * wide
            path = polygon([(-far, -wide), (-wide, -wide), (-wide, -half), (wide, -half),
                            (wide, -wide), (far, -wide), (far, wide), (wide, wide),
                            (wide, half), (-wide, half), (-wide, wide), (-far, wide)])
        bench = bench_of(layout((path, 0.3)), {"mill": mill(wide)}, PocketStep(cutter="mill"))
        cuts = cleared(bench, 0.05 * wide)
        found = [str(one.message) for one in _slots(bench, cuts)]
        assert [f"{neck:.3f} mm wide" in one for one in found] == [True] * bool(neck)


def test_the_last_pass_takes_as_long_as_all_its_levels_are() -> None:
    """Round a circle 2.6 mm wide at the planned feed; a long thin mill goes down in several."""
    for reach, several in ((2.4, False), (12.0, True)):
        bench = bench_of(layout((circle(Point(1, 2), 1.7), 0.9)), {"mill": mill(0.8, reach)},
                         PocketStep(cutter="mill"))
        moves, last, seconds = _walls(
            bench, cleared(bench, 0.04), bench.words, 10000.0)  # type: ignore[arg-type]
        levels = {round(one.end[2], 6) for one in strokes(tuple(moves))
                  if isinstance(one.move, Arc) and math.dist(one.end[:2], (1, 2)) > 1.29}
        assert (len(levels) > 1) is several
        around = 2 * math.pi * 1.3
        assert seconds == pytest.approx(60 * len(levels) * around / last.feed, rel=1e-3)


def test_before_a_later_step_all_is_gone_but_the_skin_that_is_kept() -> None:
    work = layout((circle(Point(0, 0), 1.5), 0.5))
    first = PocketStep(cutter="big", floor=0.1, finish=0.06)
    bench = bench_of(work, {"big": mill(2.0), "small": mill(0.8)}, first,
                     PocketStep(cutter="small"))
    (gone,) = (one for one in _gone_before(bench) if math.isfinite(one.depth))
    assert gone.depth == pytest.approx(0.4)
    wide = gone.region.bounds[2] - gone.region.bounds[0]
    assert wide == pytest.approx(2 * (1.5 - 0.06), abs=0.005)


def test_a_pocket_is_begun_anew_only_where_ground_over_itself_ends() -> None:
    work = layout((circle(Point(-5, 0), 1.5), 0.6))
    bench = bench_of(work, {"mill": mill(2.0)}, PocketStep(cutter="mill"))
    (recess,) = work.part.recesses
    over, beside = (circle(Point(x, 0), 1).region(1e-3) for x in (-5, 5))
    for ground, tops in ((over, [0.0, 0.2]), (beside, [0.0])):
        found = _down(bench, bench.words, recess.area, recess,  # type: ignore[arg-type]
                      [Gone(ground, 0.2)], 0.6, 0.3, 0.1)
        assert [one.top for one in found] == tops


@pytest.mark.parametrize(("corner", "depth", "gone"), [
    (0.0, 0.5, [(0.5, 0.0)]), (0.2, 0.5, [(0.3, 0.0), (0.5, 0.2)]), (0.2, 0.2, [(0.2, 0.2)])])
def test_a_rounded_end_clears_its_whole_width_but_for_its_corner_s_height(
    corner: float, depth: float, gone: list[tuple[float, float]]
) -> None:
    cutter = Cutter(kind="bull-end-mill", diameter=2.0, corner_radius=corner) if corner else mill(2)
    bench = bench_of(layout((circle(Point(0, 0), 3.0), 0.5)), {"mill": cutter},
                     PocketStep(cutter="mill"))
    found = [(one.depth, 2.9 - one.region.bounds[2])
             for one in _taken(bench, cleared(bench, 0.1), 0.1, depth)]
    assert found == [(pytest.approx(deep), pytest.approx(short, abs=0.005)) for deep, short in gone]


def test_a_floor_has_walls_of_its_own_unless_its_pocket_goes_deeper() -> None:
    work = layout((circle(Point(0, 0), 1), 0.3))
    (recess,) = work.part.recesses
    mine, deeper, other = (
        FloorCuts(replace(recess, group=group, depth=depth), (), (), (), 0.1, True)
        for group, depth in (("seat", 0.3), ("seat", 0.5), ("well", 0.9)))
    assert not _has_own_walls(mine, [mine, deeper, other])
    assert _has_own_walls(deeper, [mine, deeper, other])
    assert _has_own_walls(mine, [mine, other])
    assert not _has_own_walls(replace(mine, last=False), [mine])


@pytest.mark.parametrize("left", [0.0, 0.3])
def test_an_open_pocket_is_gone_along_its_walls_and_not_beyond_them(left: float) -> None:
    """A mill of 1 mm inside two sides of a pocket of 8 by 4 mm; its way goes round all four."""
    way = polygon([(-3.5, -1.5), (3.5, -1.5), (3.5, 1.5), (-3.5, 1.5)])
    below = Path(Point(-4, -2), (LineTo(Point(4, -2)),), closed=False)
    above = Path(Point(4, 2), (LineTo(Point(-4, 2)),), closed=False)
    found = _along(way, (below, above), 0.5, left)
    assert sorted(round(one.start.y, 6) for one in found) == [-1.5, 1.5]
    for one in found:
        assert one.start.y == pytest.approx(one.end.y)
        assert 7.0 - 2 * left - 0.1 <= one.length <= 7.0 - 2 * left + 1e-6
    assert _along(way, None, 0.5, left) == [way]
    assert _along(way, (), 0.5, left) == []


def test_every_pocket_is_looked_at_for_a_wall_that_only_touches_the_edge() -> None:
    """One well inside, one with its side drawn along the edge, one that touches it twice."""
    work = layout((rectangle(3, 3, 0.5), 0.4), (rectangle(2, 2, 0.5).moved(-8, 3), 0.4),
                  (circle(Point(1, 0), 7), 0.4))
    bench = bench_of(work, {"mill": mill(0.8)}, PocketStep(cutter="mill"))
    (fault,) = _grazing(bench, bench.words)  # type: ignore[arg-type]
    assert "pocket c touches the part's edge about X 1.00 Y " in str(fault.message)


def test_holes_that_steps_before_have_made_are_as_wide_and_deep_as_they_made_them() -> None:
    """A drill of 1 mm has a point of 0.3 mm: 0.5 / tan 59°; a floor of its own width is full."""
    through, floored = Hole("a", Point(1, 2), 1.0), Hole("b", Point(-3, 0), 1.6, depth=0.7)
    work = flat(part=PartShape(SQUARE, holes=(through,), blind=(floored,)))
    cutters = {"drill": Cutter(kind="drill", diameter=1.0), "mill": mill(0.8)}
    last = PocketStep(cutter="mill")
    for step, made in (
        (Bore(cutter="mill"), [(0.5, math.inf), (0.8, 0.7)]),
        (Bore(cutter="mill", holes=("b",)), [(0.8, 0.7)]),
        (DrillHoles(cutter="drill"), [(0.5, math.inf), (0.5, 0.7 - 0.3004)]),
        (DrillHoles(cutter="drill", depth=0.5), [(0.5, 0.5), (0.5, 0.5)]),
    ):
        found = drilled_before(bench_of(work, cutters, step, last))
        assert [(one.radius, one.depth) for one in found] == [
            (radius, pytest.approx(depth, abs=1e-3)) for radius, depth in made]


def test_an_end_that_is_left_too_little_flat_is_told_with_the_most_its_corner_may_have() -> None:
    """Three tenths of the diameter stay flat: of 2 mm a corner may take 0.7 mm on each side."""
    work = flat(part=PartShape(SQUARE, recesses=(
        Recess("a", Area.of(circle(Point(0, 0), 4)), 1.5, fillet=1.0),)))
    for corner, told in ((0.7, False), (0.75, True)):
        cutter = Cutter(kind="bull-end-mill", diameter=2.0, corner_radius=corner)
        bench = bench_of(work, {"mill": cutter}, PocketStep(cutter="mill"))
        found = list(_fillets(bench, bench.words))  # type: ignore[arg-type]
        assert [str(one.remedy) for one in found] == ["a corner radius of 0.7 mm at most"] * told


def test_a_corner_that_the_last_cutter_does_not_reach_may_be_left_to_a_smaller_one() -> None:
    bench = bench_of(layout((rectangle(6, 4, 0.5), 0.4)), {"mill": mill(2.0)},
                     PocketStep(cutter="mill"))
    (fault, *_) = _not_reached(bench, cleared(bench, 0.1))
    assert str(fault.remedy).endswith("or a `pocket` step after this one with a cutter that does")
    assert _not_reached(replace(bench, layout=layout((rectangle(6, 4, 1.1), 0.4))),
                        cleared(bench_of(layout((rectangle(6, 4, 1.1), 0.4)), {"mill": mill(2.0)},
                                         PocketStep(cutter="mill")), 0.05)) == []
