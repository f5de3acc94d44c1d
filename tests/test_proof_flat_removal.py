"""Flat work as cut against as meant, on motion set down by hand. Plane geometry."""

from __future__ import annotations

import cmath
import math
from functools import cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_by_hand import Piece, bench_mill, evidence, flat, program
from sampling import few

from camgen.layout import FlatLayout, Tab
from camgen.part.features import Hole
from camgen.proof.flat import edge_cuts, flat_removal
from camgen.proof.flat.flat_removal import prove_flat_removal
from camgen.proof.ground.edges import Edge
from camgen.proof.ground.plan_cuts import PlanCuts, plan_cuts
from camgen.proof.ground.regions import removed
from camgen.proof.ground.work_alike import alike
from camgen.proof.result import Proof
from camgen.shapes.path import Point, polygon
from camgen.shop.cutters import Cutter
from camgen.steps.holes.bore import Bore
from camgen.steps.walls.outline import Outline


def square_lap(
    out: float, depth: float = -1.2, *, right: float | None = None, x: float = 0.0, y: float = 0.0
) -> list[Piece]:
    """Once round the square of 10 mm with the cutter's centre ``out`` mm off it, corners rounded.

    ``right`` is another distance for the side at +x, whose corners are then square.
    """
    far = 5 + out
    side = far if right is None else 5 + right
    rounded = [("line", x + 5, y + far, None), ("cw", x + far, y + 5, None, x + 5, y + 5),
               ("line", x + far, y - 5, None), ("cw", x + 5, y - far, None, x + 5, y - 5)]
    sharp = [("line", x + 5, y + far, None), ("line", x + side, y + far, None),
             ("line", x + side, y - far, None), ("line", x + 5, y - far, None)]
    return [
        ("rapid", x + 5, y - far, None), ("rapid", None, None, 0.5), ("line", None, None, depth),
        ("line", x - 5, y - far, None), ("cw", x - far, y - 5, None, x - 5, y - 5),
        ("line", x - far, y + 5, None), ("cw", x - 5, y + far, None, x - 5, y + 5),
        *(rounded if right is None else sharp), ("rapid", None, None, 5),
    ]


def ring(radius: float, depth: float = -1.2, x: float = 0.0, y: float = 0.0) -> list[Piece]:
    """Down at the right, a full circle of the cutter's centre, up."""
    return [
        ("rapid", x + radius, y, None), ("line", None, None, depth),
        ("ccw", x + radius, y, None, x, y), ("rapid", None, None, 5),
    ]


def answers(layout: FlatLayout, pieces: list[Piece], *steps: object,
            cutter: Cutter | None = None) -> dict[str, Proof]:
    found = prove_flat_removal(
        evidence(layout, program(pieces), steps=steps, cutter=cutter)  # type: ignore[arg-type]
    )
    return {str(proof.id): proof for proof in found}


def test_a_lap_at_the_cutters_radius_leaves_nothing_and_takes_nothing() -> None:
    found = answers(flat(), square_lap(0.5), Outline(cutter="cutter"))
    assert all(proof.holds for proof in found.values())
    assert found["flat.material-missing"].figure == pytest.approx(0, abs=1e-6)
    assert found["flat.material-left"].figure == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("error", [0.004, 0.02, 0.3])
def test_a_side_run_too_close_is_material_missing_by_as_much(error: float) -> None:
    found = answers(flat(), square_lap(0.5, right=0.5 - error), Outline(cutter="cutter"))
    proof = found["flat.material-missing"]
    assert not proof.holds
    assert proof.figure == pytest.approx(1000 * error, abs=0.5)
    # The piece that did it runs up the right-hand side: the tenth of the program.
    assert proof.line == 10


@pytest.mark.parametrize("error", [0.004, 0.02, 0.3])
def test_a_lap_run_too_wide_leaves_as_much(error: float) -> None:
    found = answers(flat(), square_lap(0.5 + error), Outline(cutter="cutter"))
    assert not found["flat.material-left"].holds
    assert found["flat.material-left"].figure == pytest.approx(1000 * error, abs=0.5)
    assert found["flat.material-missing"].holds


def test_a_lap_not_through_the_stock_leaves_the_edge_uncut() -> None:
    found = answers(flat(), square_lap(0.5, depth=-0.99), Outline(cutter="cutter"))
    assert not found["flat.material-left"].holds


def test_a_lap_through_by_nothing_at_all_is_through() -> None:
    found = answers(flat(), square_lap(0.5, depth=-1.0), Outline(cutter="cutter"))
    assert found["flat.material-left"].holds


def test_a_scratch_of_any_depth_across_the_part_is_material_missing() -> None:
    pieces = [*square_lap(0.5), ("rapid", 0, 0, None), ("line", None, None, -0.01),
              ("line", 2, 0, None), ("rapid", None, None, 5)]
    proof = answers(flat(), pieces, Outline(cutter="cutter"))["flat.material-missing"]
    assert not proof.holds
    # As deep as it goes into the part, though it runs 5 mm from the nearest edge.
    assert proof.figure == pytest.approx(10)


def test_edges_that_no_step_is_to_finish_may_stay() -> None:
    layout = flat(holes=[Hole("bore", Point(0, 0), 3.0)])
    found = answers(layout, ring(1.0), Bore(cutter="cutter"))
    assert all(proof.holds for proof in found.values())


@given(st.floats(-0.2, 0.2))
@settings(max_examples=few(25), deadline=None)
def test_a_bored_hole_is_found_as_large_as_it_is_made(error: float) -> None:
    layout = flat(holes=[Hole("bore", Point(0, 0), 3.0)])
    proof = answers(layout, ring(1.0 + error / 2), Bore(cutter="cutter"))["flat.wall: bore"]
    if abs(abs(error) / 2 - 0.003) > 1e-5:
        assert proof.holds == (abs(error) / 2 < 0.003)
    assert float(proof.where.split()[0]) == pytest.approx(3.0 + error, abs=2e-4)
    assert proof.figure == pytest.approx(1000 * abs(error) / 2, abs=0.2)


def test_a_hole_in_the_wrong_place_is_found_missing_on_one_side_and_left_on_the_other() -> None:
    layout = flat(holes=[Hole("bore", Point(0, 0), 3.0)])
    found = answers(layout, ring(1.0, x=0.01), Bore(cutter="cutter"))
    assert found["flat.material-missing"].figure == pytest.approx(10, abs=0.2)
    assert found["flat.material-left"].figure == pytest.approx(10, abs=0.2)


def test_a_drills_point_must_go_through_not_only_its_tip() -> None:
    """A point of 118° on 1 mm is 0.3004 mm long (trigonometry)."""
    layout = flat(holes=[Hole("bore", Point(0, 0), 1.0)])
    drill = Cutter(kind="drill", diameter=1.0, point_angle=118)
    long = [("rapid", 0, 0, 0.5), ("line", 0, 0, -1.31), ("rapid", 0, 0, 5)]
    short = [("rapid", 0, 0, 0.5), ("line", 0, 0, -1.25), ("rapid", 0, 0, 5)]
    assert answers(layout, long, Bore(cutter="cutter"), cutter=drill)["flat.wall: bore"].holds
    found = answers(layout, short, Bore(cutter="cutter"), cutter=drill)["flat.wall: bore"]
    lacking = (0.3004 - 0.25) * math.tan(math.radians(59))
    assert found.figure == pytest.approx(1000 * lacking, rel=0.02)


def test_tabs_stand_where_they_are_meant_to_and_hold_the_piece() -> None:
    tab = Tab(-5.5, 0.0, 1.2, -0.7)
    layout = flat(tabs=(tab,), holds_slugs=False)
    up = square_lap(0.5)
    left_side = up.index(("line", -5.5, 5, None))
    up[left_side : left_side + 1] = [
        ("line", -5.5, -1, None), ("line", None, None, -0.7), ("line", -5.5, 1, None),
        ("line", None, None, -1.2), ("line", -5.5, 5, None),
    ]
    found = answers(layout, up, Outline(cutter="cutter"))
    assert all(proof.holds for proof in found.values())
    # Between centres 2 mm apart a round cutter leaves 1 mm at its middle and 2 mm at the wall.
    held = found["flat.tabs"]
    assert held.figure == pytest.approx(2.0, abs=0.2)
    assert not answers(layout, square_lap(0.5), Outline(cutter="cutter"))[
        "flat.tabs"].holds


def test_a_hole_near_a_tab_is_no_edge_that_tabs_would_hold() -> None:
    tab = Tab(-5.5, 0.0, 1.2, -0.7)
    layout = flat(holes=(Hole("pin", Point(-4.2, 0.0), 1.0),), tabs=(tab,), holds_slugs=False)
    up = square_lap(0.5)
    left_side = up.index(("line", -5.5, 5, None))
    up[left_side : left_side + 1] = [
        ("line", -5.5, -1, None), ("line", None, None, -0.7), ("line", -5.5, 1, None),
        ("line", None, None, -1.2), ("line", -5.5, 5, None),
    ]
    hole = [("rapid", -4.2, 0.0, None), ("line", None, None, -1.2), ("rapid", None, None, 5)]
    found = answers(layout, [*hole, *up], Bore(cutter="cutter"), Outline(cutter="cutter"))
    assert found["flat.tabs"].holds
    assert all(proof.holds for proof in found.values())


def test_a_tab_left_too_high_is_material_left() -> None:
    layout = flat(tabs=(Tab(-5.5, 0.0, 1.2, -0.7),), holds_slugs=False)
    up = square_lap(0.5)
    at = up.index(("line", -5.5, 5, None))
    up[at : at + 1] = [("line", -5.5, -1, None), ("line", None, None, -0.5),
                       ("line", -5.5, 1, None), ("line", None, None, -1.2),
                       ("line", -5.5, 5, None)]
    assert not answers(layout, up, Outline(cutter="cutter"))["flat.material-left"].holds


@pytest.mark.parametrize("together", [1, 3, 7])
def test_looking_at_few_pairs_at_once_finds_the_same(
    together: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    layout = flat(holes=[Hole("bore", Point(0, 0), 3.0)])
    pieces = [*ring(1.0), *square_lap(0.6), *square_lap(0.5, right=0.48)]
    steps = (Outline(cutter="cutter"), Bore(cutter="cutter"))
    whole = answers(layout, pieces, *steps)
    assert not whole["flat.material-missing"].holds
    monkeypatch.setattr(edge_cuts, "TOGETHER", together)
    assert answers(layout, pieces, *steps) == whole


def test_a_piece_cut_free_and_then_bored_is_named() -> None:
    layout = flat(holes=[Hole("bore", Point(0, 0), 3.0)], holds_slugs=False)
    steps = (Outline(cutter="cutter"), Bore(cutter="cutter"))
    first = answers(layout, [*ring(1.0), *square_lap(0.5)], *steps)
    assert first["flat.cut-after-free"].holds
    after = answers(layout, [*square_lap(0.5), *ring(1.0)], *steps)
    assert not after["flat.cut-after-free"].holds


def test_a_fault_in_one_piece_of_many_is_found_at_its_place() -> None:
    places = ((-10.0, 0.0), (10.0, 0.0))
    layout = flat(places=places, stock=shapely.box(-20, -10, 20, 10))
    pieces = [*square_lap(0.5, x=-10), *square_lap(0.5, x=10, right=0.49)]
    proof = answers(layout, pieces, Outline(cutter="cutter"))["flat.material-missing"]
    assert proof.figure == pytest.approx(10, abs=0.5)
    assert "X 15.0" in proof.where


@pytest.mark.parametrize("turned", [False, True])
def test_cuts_at_all_ends_of_a_long_piece_belong_to_it(turned: bool) -> None:
    """4 mm by 16 mm, or turned, beside its frame's middle; each side in turn is 10 µm too near."""
    wide, high = (8.0, 2.0) if turned else (2.0, 8.0)
    corners = [(1 - wide, -high), (1 + wide, -high), (1 + wide, high), (1 - wide, high)]
    layout = flat(polygon(corners))
    for side in range(4):
        pieces: list[Piece] = []
        for number, ((x0, y0), (x1, y1)) in enumerate(
                zip(corners, [*corners[1:], corners[0]], strict=True)):
            off = 0.5 - 0.01 * (number == side)
            dx, dy = off * np.sign(y1 - y0), off * np.sign(x0 - x1)
            pieces += [("rapid", x0 + dx, y0 + dy, 5), ("line", None, None, -1.2),
                       ("line", x1 + dx, y1 + dy, None), ("rapid", None, None, 5)]
        found = answers(layout, pieces, Outline(cutter="cutter"))["flat.material-missing"]
        assert found.figure == pytest.approx(10, abs=0.5)
        assert found.line == 4 * side + 3


def test_going_below_what_may_be_cut_into_is_named() -> None:
    found = answers(flat(), square_lap(0.5, depth=-1.6), Outline(cutter="cutter"))
    assert found["flat.depth-below-floor"].figure == pytest.approx(0.1)
    assert not found["flat.depth-below-floor"].holds


def test_what_the_job_asks_to_be_left_on_the_wall_is_no_fault() -> None:
    step = Outline(cutter="cutter", correction=0.05)
    assert all(p.holds for p in answers(flat(), square_lap(0.55), step).values())
    assert not all(p.holds for p in answers(flat(), square_lap(0.5), step).values())


def _into(part: shapely.Polygon, gone: shapely.Geometry) -> float:
    """How far from the part's edge the farthest place of it that is gone lies."""
    # Along a straight side too: its ends may lie nearer to the edge than its middle.
    sides = shapely.segmentize(shapely.intersection(part, gone), 0.02)
    points = shapely.points(shapely.get_coordinates(sides))
    return float(shapely.distance(part.boundary, points).max(initial=0.0))


@given(st.floats(0.15, 0.9), st.floats(-0.3, 0.3), st.integers(0, 2**31))
@settings(max_examples=few(20), deadline=None)
def test_figures_along_edges_agree_with_the_areas_of_a_second_way(
    out: float, lean: float, seed: int
) -> None:
    """Material missing and left, found with regions of polygons instead of distances."""
    rng = np.random.default_rng(seed)
    pieces = square_lap(out, right=out + lean)
    x, y = rng.uniform(-3, 3, 2)
    pieces += [("rapid", x, y, None), ("line", None, None, -0.5), ("rapid", None, None, 5)]
    layout = flat()
    holding = evidence(layout, program(pieces), steps=(Outline(cutter="cutter"),))
    cuts = plan_cuts(holding.motion, holding.cutters, layout.top, layout.bottom)
    part = layout.part.outline.region(1e-4)
    through = cuts.low < -1
    # The plunge in the part goes half a millimetre deep, wherever it is; the lap goes through.
    deepest = max(_into(part, removed(cuts.only(through), -1e-3, 1e-5)),
                  min(0.5, _into(part, removed(cuts.only(~through), -1e-3, 1e-5))))
    found = {str(proof.id): proof for proof in prove_flat_removal(holding)}
    missing = found["flat.material-missing"].figure
    assert missing >= 1000 * deepest - 0.6
    assert missing <= 1000 * max(0.5, deepest) + 0.6
    deep = removed(cuts, layout.bottom, 1e-5)
    edge = shapely.points(shapely.get_coordinates(part.boundary.segmentize(0.02)))
    left = float(shapely.distance(edge, deep).max())
    assert found["flat.material-left"].figure == pytest.approx(1000 * left, abs=0.6)


def test_arcs_written_as_chords_are_given_their_tolerance() -> None:
    from camgen.proof.flat.wanted_edges import tolerance_of
    from camgen.shop.machine import ArcWords

    plain = evidence(flat(), program(square_lap(0.5)))
    chords = evidence(flat(), program(square_lap(0.5)),
                      machine=bench_mill(arcs=ArcWords(style="none", tolerance=0.004)))
    assert tolerance_of(chords) == pytest.approx(tolerance_of(plain) + 0.004)


@given(
    st.floats(0.1, 5), st.floats(-180, 180), st.floats(5, 355), st.booleans(),
    st.floats(-3, 3), st.floats(-3, 3),
)
@settings(max_examples=few(60), deadline=None)
def test_boxes_and_distances_of_arcs_agree_with_points_along_them(
    radius: float, begin: float, turn: float, clockwise: bool, x: float, y: float
) -> None:
    from camgen.proof.path import chords

    a = math.radians(begin)
    b = a + math.radians(-turn if clockwise else turn)
    start = (radius * math.cos(a), radius * math.sin(a), -0.5)
    end = (radius * math.cos(b), radius * math.sin(b), -0.5)
    way: list[Piece] = [("cw" if clockwise else "ccw", *end, 0, 0)]
    looked_at = evidence(flat(), program(way, start=start))
    cuts = looked_at.flat_cuts
    split = chords(looked_at.motion, 1e-6, longest=0.01)
    points = np.concatenate([split.start, split.end])[:, :2]
    box = cuts.bounds[0]
    wide = cuts.wide_top[0]
    np.testing.assert_allclose(box[:2], points.min(axis=0) - wide, atol=2e-5)
    np.testing.assert_allclose(box[2:], points.max(axis=0) + wide, atol=2e-5)
    nearest = np.hypot(*(points - [x, y]).T).min()
    assert cuts.distances(np.array([[x, y]]))[0, 0] == pytest.approx(nearest, abs=0.006)


@pytest.mark.parametrize(("radius", "turn"), [(3.0, 90.0), (1.3, 300.0), (0.3, 120.0)])
def test_a_region_cleared_is_all_that_is_nearer_than_the_cutter_s_radius(
    radius: float, turn: float
) -> None:
    """Of an arc, a line, a stroke down and a whole circle, and not of what is less deep."""
    end = cmath.rect(radius, math.radians(turn))
    down: list[Piece] = [("rapid", radius, 0, 5), ("line", None, None, -0.5)]
    cuts = evidence(flat(), program([
        *down, ("ccw", end.real, end.imag, None, 0, 0), ("line", 4, -4, None),
        ("rapid", -3, -3, 5), ("line", None, None, -0.5), ("cw", -3, -3, None, -4, -3),
        ("rapid", -4, 4, 5), ("line", None, None, -0.2), ("line", 4, 4, None)])).flat_cuts
    region = removed(cuts, -0.4)
    deep = cuts.only(np.nonzero(cuts.low < -0.4)[0])
    points = np.random.default_rng(3).uniform(-5.5, 5.5, (4000, 2))
    off = deep.distances(points).min(axis=1) - 0.5
    inside = shapely.contains_xy(region, points[:, 0], points[:, 1])
    assert inside[off < -0.001].all()
    assert not inside[off > 0.001].any()


@pytest.mark.parametrize("together", [1, 5, 64, 10_000_000])
def test_what_is_nearest_is_the_same_in_whatever_blocks_it_is_asked_for(
    together: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = [("rapid", 0, 0, 5), ("line", 0, 0, -0.5)]
    steps += [("line", k % 4, k % 3, None) for k in range(1, 15)]
    cuts = evidence(flat(), program(steps)).flat_cuts
    points = np.random.default_rng(2).uniform(-1, 4, (30, 2))
    wide = np.linspace(0.1, 0.9, len(cuts))
    plain = (cuts.distances(points) - wide).min(axis=1)
    monkeypatch.setattr("camgen.proof.ground.plan_cuts._TOGETHER", together)
    assert np.array_equal(cuts.nearest(points, wide), plain)


@cache
def _two_laps() -> tuple[Edge, PlanCuts]:
    seen = evidence(flat(), program([*square_lap(1.0), *square_lap(1.3, -0.5)]))
    edge = next(one for one in seen.slices[-1].edges.edges if one.name == "outline")
    return edge, seen.flat_cuts


@given(st.lists(st.tuples(st.integers(0, 9), st.sampled_from([0.5, 2.0, 20.0]),
                          st.sampled_from([-1.1, -0.6, -0.2, 0.0])), min_size=1, max_size=6))
@settings(max_examples=few(20), deadline=None)
def test_tabs_over_one_another_are_measured_as_one_after_another(
    said: list[tuple[int, float, float]],
) -> None:
    """The plain way: every tab at all its points, the last one says how much."""
    edge, cuts = _two_laps()
    tabs = [Tab(*edge.points[at * (len(edge.points) // 10)], radius, top)
            for at, radius, top in said]
    over = np.linspace(-0.1, 0.2, len(edge.points))
    plain = over.copy()
    for tab in tabs:
        here = np.hypot(*(edge.points - (tab.x, tab.y)).T) <= tab.radius
        if tab.top >= -0.001:
            plain[here] = np.minimum(plain[here], 0.0)
            continue
        low = cuts.only(cuts.high <= tab.top + 0.002)
        plain[here] = np.inf if not len(low) else (
            low.distances(edge.points[here]) - low.wide_top).min(axis=1) - 0.03
    found = flat_removal._beside_tabs(edge, tabs, over, cuts, 0.0, 0.03, 0.001)
    assert np.array_equal(found, plain)


@pytest.mark.parametrize("side", [None, 0, 1, 2, 3])
def test_pieces_of_work_are_alike_where_all_about_them_is_cut_alike(side: int | None) -> None:
    """Two of them on both sides of the zero; of the second one side is cut a little deeper."""
    places = ((-14.0, 7.0), (12.0, -8.0))
    pieces: list[Piece] = []
    for number, (x, y) in enumerate(places):
        ends = [(-5.55, -5), (-5.55, 5), (5.55, 5), (5.55, -5), (-5, 5.55), (5, 5.55),
                (-5, -5.55), (5, -5.55)]
        for at, ((x0, y0), (x1, y1)) in enumerate(zip(ends[::2], ends[1::2], strict=True)):
            deep = 0.6 if (number, at) == (1, side) else 0.5
            pieces += [("rapid", x + x0, y + y0, 5), ("line", None, None, -deep),
                       ("line", x + x1, y + y1, None), ("rapid", None, None, 5)]
    layout = flat(places=places, stock=shapely.box(-40, -40, 40, 40))
    seen = evidence(layout, program(pieces))
    distinct, again = alike(layout, seen.flat_cuts)
    assert distinct == ((0,) if side is None else (0, 1))
    half = len(again) // 2
    assert again.tolist() == [False] * half + [side is None] * half
