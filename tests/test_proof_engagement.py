"""Engagement measured on motion set down by hand, against plane geometry.

A cutter of radius r that takes a strip a wide from a straight edge meets metal over
arccos(1 − a/r) of its circle; in a full slot over half of it.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_by_hand import MILL, Piece, evidence, flat, program
from sampling import few
from test_proof_passes import planned_for

from camgen.layout import FlatLayout
from camgen.moves import Arc, Feed, Rapid, Section, SetupMoves
from camgen.part.features import Recess
from camgen.part.shape import PartShape
from camgen.proof.flat.load.engagement import (
    RAYS,
    _entered,
    cleared_before,
    engaged,
    prove_engagement,
)
from camgen.proof.ground.plan_cuts import PlanCuts, plan_cuts
from camgen.proof.ground.same_ways import same_ways
from camgen.proof.result import Proof
from camgen.shapes.offset import Area
from camgen.shapes.path import Point, circle, polygon
from camgen.steps.areas.pocket import PocketStep

RADIUS = MILL.diameter / 2
STEP = 180 / RAYS


def angles(pieces: list[Piece], which: list[int]) -> np.ndarray:
    looked_at = evidence(flat(), program(pieces))
    return engaged(looked_at, np.array(which), RADIUS)[2]


def test_a_slot_in_solid_metal_meets_half_the_circle() -> None:
    found = angles([("line", -5, 0, -0.5), ("line", 5, 0, None)], [1])
    # Near its beginning the plunge has cleared a round already.
    assert np.median(found) == pytest.approx(180)


@given(st.floats(0.05, 0.95))
@settings(max_examples=few(20), deadline=None)
def test_a_strip_beside_a_slot_meets_the_angle_of_its_width(share: float) -> None:
    width = share * 2 * RADIUS
    pieces: list[Piece] = [("line", -9, 0, -0.5), ("line", 9, 0, None), ("line", 9, width, None),
                           ("line", -9, width, None)]
    found = angles(pieces, [3])
    meant = math.degrees(math.acos(1 - width / RADIUS))
    assert np.median(found) == pytest.approx(meant, abs=STEP)


def test_ground_cleared_deeper_counts_and_ground_not_as_deep_does_not() -> None:
    again: list[Piece] = [("line", -5, 0, -0.5), ("line", 5, 0, None), ("line", -5, 0, None)]
    assert angles(again, [2]).max() == 0
    deeper = [*again[:2], ("line", 5, 0, -0.8), ("line", -5, 0, None)]
    assert np.median(angles(deeper, [3])) == pytest.approx(180)


def test_beside_the_stock_there_is_no_metal() -> None:
    """Along the edge of the stock, its centre on it, a cutter meets a quarter turn of metal."""
    found = angles([("line", 20, -9, -0.5), ("line", 20, 9, None)], [1])
    assert np.median(found) == pytest.approx(90, abs=STEP)


def pocket(rings: list[float], width: float) -> Proof:
    """A round pocket of 6 mm cleared on rings from the middle out, planned for strips ``width``."""
    recess = Recess("seat", Area.of(circle(Point(0, 0), 3.0)), 0.4)
    square = polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])
    layout: FlatLayout = flat(part=PartShape(square, recesses=(recess,)))
    pieces: list[Piece] = [("rapid", rings[0], 0, 5), ("line", None, None, -0.4)]
    moves: list[object] = [Rapid(z=5), Rapid(x=rings[0], y=0), Feed(100, z=-0.4)]
    for radius in rings:
        pieces += [("line", radius, 0, None, {"feed": 40.0}), ("ccw", radius, 0, None, 0, 0)]
        moves += [Feed(40, x=radius, y=0), Arc(100, (0, 0), False, x=radius, y=0, full=True)]
    pieces.append(("rapid", None, None, 5))
    moves.append(Rapid(z=5))
    section = Section("pocket", 0, "cutter", 1, "CUTTER", 10000.0, tuple(moves))  # type: ignore[arg-type]
    looked_at = planned_for(
        evidence(layout, program(pieces), steps=(PocketStep(cutter="cutter"),)), 0.4
    )
    cut = replace(looked_at.planned_cuts[0], width=width)
    looked_at = replace(looked_at, moves=SetupMoves("work", (section,)), planned_cuts=(cut,))
    return prove_engagement(looked_at)[0]


def test_rings_close_enough_together_hold() -> None:
    """Rings that grow meet more than straight strips as wide, so they must lie closer."""
    assert pocket([0.3 + 0.11 * n for n in range(21)], 0.2).holds


def test_rings_twice_as_far_apart_do_not() -> None:
    found = pocket([0.3, 0.7, 1.1, 1.5, 1.9, 2.3, 2.5], 0.2)
    assert not found.holds
    assert found.figure > math.degrees(math.acos(1 - 0.4 / RADIUS))


def test_the_level_way_once_over_where_the_cutter_came_down_is_a_part_of_the_entry() -> None:
    """Down and gone, down round a corner and back over it, down a turn and once round it."""
    gone: list[Piece] = [("rapid", -9, -9, 0), ("line", -7, -9, -0.2), ("rapid", None, None, 5)]
    corner: list[Piece] = [
        ("rapid", 0, 0, 0), ("line", 2, 0, -0.2), ("line", 2, 2, -0.4), ("line", 2, 0, None),
        ("line", 0, 0, None), ("line", -2, 0, None), ("rapid", None, None, 5)]
    turn: list[Piece] = [
        ("rapid", 7, 0, 0), ("ccw", 7, 0, -0.4, 6, 0), ("ccw", 5, 0, None, 6, 0),
        ("ccw", 7, 0, None, 6, 0), ("line", 8, 0, None), ("rapid", None, None, 5)]
    looked_at = evidence(flat(), program([*gone, *corner, *turn]))
    begun = len(gone), len(gone) + len(corner)
    assert _entered(looked_at).tolist() == [begun[0] + 3, begun[0] + 4, begun[1] + 2, begun[1] + 3]
    assert _entered(evidence(flat(), program(gone))).tolist() == []


ROUNDS = st.tuples(st.sampled_from([1.0, 1.4, 3.0]), st.sampled_from([-0.2, -0.4, -0.6]),
                   st.sampled_from([-2.0, 0.0, 0.3]), st.sampled_from(["ccw", "cw"]))
LINES = st.tuples(st.integers(-4, 4), st.integers(-4, 4), st.sampled_from([-0.2, -0.4, -0.6]))


def plainly(cuts: PlanCuts, points: np.ndarray, piece: int, level: float) -> np.ndarray:
    """Which of (m, 2) points any cut before a piece, as deep, has been over."""
    some = cuts.only((cuts.piece < piece) & (cuts.high <= level + 1e-6))
    return np.any(some.distances(points) < some.wide_top - 1e-6, axis=1)


@given(st.lists(st.one_of(ROUNDS, LINES), min_size=2, max_size=14), st.sampled_from([0.0, 45.0]))
@settings(max_examples=few(48), deadline=None)
def test_ways_gone_again_and_again_are_asked_as_if_each_were_asked(
    made: list[tuple[float, ...]], point: float
) -> None:
    """Ground cleared is the same whether ways are asked once or every cut is asked by itself."""
    pieces: list[Piece] = [("rapid", 0, 0, 5)]
    for one in made * 2:
        if len(one) == 4:
            radius, deep, x, way = one
            pieces += [("line", x + radius, 0, deep), (way, x + radius, 0, None, x, 0)]
        else:
            x, y, deep = one
            pieces += [("line", None, None, deep), ("line", x, y, None)]
    motion = program(pieces).motion
    cutter = MILL.model_copy(update={"corner_radius": 0.1 if point else 0.0})
    cuts = plan_cuts(motion, {1: cutter}, 0.0, -1.0)
    random = np.random.default_rng(len(pieces))
    middle = random.uniform(-4, 4, (60, 2))
    points = middle[:, None, :] + random.uniform(-RADIUS, RADIUS, (60, 7, 2)) / math.sqrt(2)
    piece = random.integers(1, len(motion) + 1, 60)
    level = random.choice([-0.2, -0.4, -0.6], 60)
    found = cleared_before(same_ways(cuts), middle, points, piece, level, RADIUS)
    meant = [plainly(cuts, points[n], int(piece[n]), float(level[n])) for n in range(60)]
    assert found.tolist() == np.array(meant).tolist()


@pytest.mark.parametrize("steep", [0.1, 0.5, 1.0])
def test_a_slope_gone_again_meets_nothing_and_one_a_little_lower_does(steep: float) -> None:
    """Ground on a slope is as high as the slope is there, not as its upper end."""
    up: list[Piece] = [("rapid", -3, 0, 5), ("line", -3, 0, -1.0),
                       ("line", -3 + 0.8 / steep, 0, -0.2)]
    assert angles([*up, *up], [5]).max() == 0
    lower: list[Piece] = [("rapid", -3, 0, 5), ("line", -3, 0, -1.2),
                          ("line", -3 + 0.8 / steep, 0, -0.4)]
    assert np.median(angles([*up, *lower], [5])) > 90
    # What stands no higher than a quarter of the cutter's radius is none, and a little more is.
    for by, met in ((0.12, False), (0.15, True)):
        lower = [("rapid", -3, 0, 5), ("line", -3, 0, -1.0 - by),
                 ("line", -3 + 0.8 / steep, 0, -0.2 - by)]
        assert bool(angles([*up, *lower], [5]).max() > 0) is met
    bow: list[Piece] = [("rapid", 3, 0, 5), ("line", 3, 0, -0.2), ("ccw", -3, 0, -1.0, 0, 0)]
    assert angles([*bow, *bow], [5]).max() <= STEP
