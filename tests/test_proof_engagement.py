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
from test_proof_passes import planned_for

from camgen.layout import FlatLayout
from camgen.moves import Arc, Feed, Rapid, Section, SetupMoves
from camgen.part.features import Recess
from camgen.part.shape import PartShape
from camgen.proof.flat.engagement import RAYS, engaged, prove_engagement
from camgen.proof.result import Proof
from camgen.shapes.offset import Area
from camgen.shapes.path import Point, circle, polygon
from camgen.steps.pocket import PocketStep

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
@settings(max_examples=20, deadline=None)
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
