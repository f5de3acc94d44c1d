"""Walls thinner than the job wants, in shapes whose thickness is known, and as they are cut."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_by_hand import Piece, evidence, flat, program
from sampling import few

from camgen.part.features import Hole, Recess
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Shape
from camgen.part.shape import PartShape
from camgen.proof.flat.thin_walls import LEAST_WALL, prove_thin_walls, thin_places
from camgen.proof.result import Proof, ProofId
from camgen.shapes.offset import Area
from camgen.shapes.path import Point, circle, polygon
from camgen.steps.holes.bore import Bore

SQUARE = polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])


def proof(part: PartShape, pieces: list[Piece] | None = None, least: float | None = None) -> Proof:
    looked_at = evidence(flat(part=part), program(pieces or [("rapid", 0, 0, 5)]),
                         steps=(Bore(cutter="cutter"),))
    if least is not None:
        plate = Plate(thickness=1.0, outline=Shape(circle=9.0), least_wall=least)
        job = looked_at.job.model_copy(update={"plate": plate, "wheel": None})
        looked_at = replace(looked_at, job=job)
    found = prove_thin_walls(looked_at)
    return found[0] if found else Proof(ProofId("flat", "none"), "none", "", True, 0, 0, "")


@given(st.floats(0.01, 0.25), st.floats(0, 360), st.floats(0.3, 1.2), st.floats(0.3, 1.2))
@settings(max_examples=few(20), deadline=None)
def test_the_wall_between_two_holes_is_the_gap_between_their_circles(
    gap: float, turn: float, one: float, other: float
) -> None:
    apart = one + other + gap
    x, y = apart * math.cos(math.radians(turn)), apart * math.sin(math.radians(turn))
    part = PartShape(SQUARE, holes=(Hole("a", Point(-x / 2, -y / 2), 2 * one),
                                    Hole("b", Point(x / 2, y / 2), 2 * other)))
    found = proof(part)
    assert found.holds is (gap >= LEAST_WALL) or abs(gap - LEAST_WALL) < 0.005
    if found.where == "or thicker":
        assert found.figure == LEAST_WALL <= gap
        return
    assert found.figure == pytest.approx(gap, abs=0.002)
    assert found.at is not None
    middle = (one - other) / 2 / apart
    assert math.dist(found.at[:2], (x * middle, y * middle)) < 0.15


def test_an_arm_two_hundredths_thick_is_named_and_a_wider_one_is_not() -> None:
    def arm(wide: float) -> Proof:
        left = polygon([(-3, -3), (-wide / 2, -3), (-wide / 2, 3), (-3, 3)])
        right = polygon([(wide / 2, -3), (3, -3), (3, 3), (wide / 2, 3)])
        return proof(PartShape(SQUARE, openings=(left, right)))

    thin = arm(0.02)
    assert (thin.holds, thin.unit) == (False, "mm")
    assert thin.figure == pytest.approx(0.02, abs=1e-6)
    assert arm(0.12).holds
    assert arm(0.12).figure == pytest.approx(0.12, abs=1e-6)
    assert arm(2.0).holds


def test_a_thin_finger_is_a_wall_and_a_sharp_corner_is_none() -> None:
    body = shapely.box(0, 0, 2, 2)
    finger = shapely.union_all([body, shapely.box(2, 1, 3, 1.05)])
    (found,) = thin_places(finger, 0.1)
    assert found.thick == pytest.approx(0.05, abs=0.002)
    for angle in (25, 40, 60, 90, 120):
        high = 2 * math.tan(math.radians(angle / 2))
        assert not list(thin_places(shapely.Polygon([(0, -high), (0, high), (2, 0)]), 0.1))
    assert list(thin_places(shapely.Polygon([(0, -0.1), (0, 0.1), (2, 0)]), 0.1))
    # A part that is thin all over has no thick place beside it.
    middle = shapely.Point(0, 0)
    (whole,) = thin_places(middle.buffer(2).difference(middle.buffer(1.95)), 0.1)
    assert whole.thick == pytest.approx(0.05, abs=0.002)


def test_the_wall_between_a_pocket_and_the_outline_is_looked_at_at_its_depth() -> None:
    near = Recess("seat", Area.of(circle(Point(3.0, 0), 1.95)), 0.4)
    found = proof(PartShape(SQUARE, recesses=(near,)))
    assert not found.holds
    assert found.figure == pytest.approx(0.05, abs=0.001)
    assert "Z 0.000 down" in found.where


def test_a_plate_says_how_thin_a_wall_may_be() -> None:
    part = PartShape(SQUARE, holes=(Hole("a", Point(-1, 0), 1.95), Hole("b", Point(1, 0), 1.95)))
    assert not proof(part).holds
    assert proof(part, least=0.05).holds
    assert not proof(part, least=0.06).holds
    assert proof(part, least=0.0).name == "none"


def test_a_wall_thick_enough_as_meant_and_cut_too_thin_is_named_with_its_line() -> None:
    """Two holes 0.12 mm apart, the second bored 0.03 too large in radius."""
    part = PartShape(SQUARE, holes=(Hole("a", Point(-1.06, 0), 2.0),
                                    Hole("b", Point(1.06, 0), 2.0)))
    ring = [("rapid", -0.56, 0, 5), ("line", None, None, -1.2), ("ccw", -0.56, 0, None, -1.06, 0),
            ("rapid", None, None, 5)]

    def second(radius: float) -> Proof:
        x = 1.06 + radius
        return proof(part, [*ring, ("rapid", x, 0, 5), ("line", None, None, -1.2),
                            ("ccw", x, 0, None, 1.06, 0), ("rapid", None, None, 5)])

    assert second(0.5).holds
    thin = second(0.53)
    assert not thin.holds
    assert thin.figure == pytest.approx(0.09, abs=0.002)
    assert thin.line in (3, 7)


@pytest.mark.parametrize("angle", [40, 60, 90])
def test_the_point_of_a_part_is_no_wall(angle: float) -> None:
    high = 6 * math.tan(math.radians(angle / 2))
    found = proof(PartShape(polygon([(-3, -high), (3, 0), (-3, high)])))
    assert (found.holds, found.figure, found.where) == (True, 0.1, "or thicker")
