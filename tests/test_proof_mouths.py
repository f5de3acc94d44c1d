"""Countersinks and milled threads, on motion set down by hand."""

from __future__ import annotations

import dataclasses
import math

import pytest
from motion_by_hand import Piece, evidence, flat, program

from camgen.layout import FlatLayout
from camgen.part.features import Cone, Hole, Thread
from camgen.part.shape import PartShape
from camgen.proof.flat.flat_removal import prove_flat_removal
from camgen.proof.result import Proof
from camgen.shapes.path import Point, polygon
from camgen.shop.cutters import Cutter
from camgen.steps.holes.countersink import Countersink
from camgen.steps.holes.thread_mill import ThreadMill

SQUARE = polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])
MISSING = "flat.material-missing"
CONE = Cutter(kind="countersink", diameter=3.0, point_angle=90)
# M1.6: pitch 0.35 mm (ISO 261).
MILL = Cutter(kind="thread-mill", diameter=1.1, pitch=0.35)
HOLE = Hole("screw", Point(1, 1), 1.0, "screw")


def with_sunk(hole: Hole) -> FlatLayout:
    cones = (Cone(hole, "countersink", 2.0, "upper"),)
    if hole.depth is None:
        return flat(part=PartShape(SQUARE, holes=(hole,), cones=cones))
    return flat(part=PartShape(SQUARE, blind=(hole,), cones=cones))


def sunk(depth: float, x: float = 1.0, hole: Hole = HOLE) -> dict[str, Proof]:
    """The answers for one stroke of the countersink."""
    pieces: list[Piece] = [
        ("rapid", x, 1, 0.5), ("line", x, 1, -depth), ("rapid", None, None, 5)]
    looked_at = evidence(with_sunk(hole), program(pieces), steps=(Countersink(cutter="cutter"),),
                         cutter=CONE)
    return {str(proof.id): proof for proof in prove_flat_removal(looked_at)}


def test_a_cone_as_wide_as_meant_is_right_and_not_missing_from_the_plate() -> None:
    """At 90 degrees a cone is twice as wide as it is deep."""
    found = sunk(1.0)
    assert found["flat.countersink: screw"].figure == pytest.approx(0, abs=1e-3)
    assert found["flat.countersink: screw"].holds
    assert found[MISSING].holds


@pytest.mark.parametrize("off", [0.01, -0.01])
def test_a_cone_too_deep_or_too_shallow_is_off_by_as_much(off: float) -> None:
    found = sunk(1.0 + off)
    assert not found["flat.countersink: screw"].holds
    assert found["flat.countersink: screw"].figure == pytest.approx(10, abs=0.1)
    assert found[MISSING].holds is (off < 0)


def test_a_cone_beside_its_hole_is_missing_from_the_plate() -> None:
    found = sunk(1.0, x=1.05)
    assert not found["flat.countersink: screw"].holds
    assert not found[MISSING].holds


def test_a_cone_through_the_floor_of_its_hole_is_missing_from_the_plate() -> None:
    blind = dataclasses.replace(HOLE, depth=0.8)
    assert not sunk(1.0, hole=blind)[MISSING].holds
    assert sunk(1.0, hole=dataclasses.replace(HOLE, depth=1.0))[MISSING].holds


def threaded(
    *, pitch: float = 0.35, over: float = 1.6, turns: int = 4, clockwise: bool = False,
    chords: int = 0,
) -> dict[str, Proof]:
    """The answers for a helix from 1 mm down, up through the upper face."""
    hole = Hole("screw", Point(1, 1), 1.221, "screw")
    part = PartShape(SQUARE, holes=(hole,), threads=(Thread(hole, 1.6, 0.35),))
    radius = (over - MILL.diameter) / 2
    pieces: list[Piece] = [
        ("rapid", 1, 1, 0.5), ("line", 1, 1, -1.0), ("line", 1 + radius, 1, None)]
    z = -1.0
    for _ in range(turns):
        if not chords:
            word = "cw" if clockwise else "ccw"
            pieces.append((word, 1 + radius, 1, z + pitch, 1, 1))
        for number in range(1, chords + 1):
            angle = 2 * math.pi * number / chords
            pieces.append(("line", 1 + radius * math.cos(angle), 1 + radius * math.sin(angle),
                           z + pitch * number / chords))
        z += pitch
    pieces += [("line", 1, 1, None), ("rapid", None, None, 5)]
    step = ThreadMill(cutter="cutter", thread="M1.6")
    looked_at = evidence(flat(part=part), program(pieces), steps=(step,), cutter=MILL)
    return {str(proof.id): proof for proof in prove_flat_removal(looked_at)}


THREAD, PITCH, DEPTH = (
    "flat.thread: screw", "flat.thread-pitch: screw", "flat.thread-depth: screw")


@pytest.mark.parametrize("chords", [0, 200])
def test_a_thread_as_meant_is_right_and_not_missing_from_the_plate(chords: int) -> None:
    found = threaded(chords=chords)
    assert all(found[name].holds for name in (THREAD, PITCH, DEPTH, MISSING))
    assert found[PITCH].figure == pytest.approx(0, abs=1e-3)


def test_a_thread_too_wide_is_off_and_missing_from_the_plate() -> None:
    found = threaded(over=1.62)
    assert found[THREAD].figure == pytest.approx(10, abs=0.1)
    assert not found[MISSING].holds


def test_another_pitch_is_found() -> None:
    assert not threaded(pitch=0.36)[PITCH].holds


def test_a_left_hand_thread_is_found() -> None:
    assert not threaded(clockwise=True)[PITCH].holds


def test_a_thread_that_stops_below_the_upper_face_is_found() -> None:
    found = threaded(turns=2)
    assert found[DEPTH].figure == pytest.approx(300, abs=0.1)
    assert not found[DEPTH].holds
