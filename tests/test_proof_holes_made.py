"""Holes as the program makes them: middles and diameters read off its motion."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from demos import proved_demo
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_by_hand import Piece, evidence, flat, program
from sampling import few

from camgen.make.told.holes import holes_of_report
from camgen.part.features import Hole
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Shape
from camgen.part.plates.round_features import round_holes_of
from camgen.part.shape import PartShape
from camgen.proof.flat.holes.holes_made import holes_made, prove_concentric
from camgen.shapes.path import Point, polygon
from camgen.shop.cutters import Cutter
from camgen.steps.holes.bore import Bore
from camgen.steps.holes.drill import DrillHoles

SQUARE = polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])


def bored(radius: float, x: float = 1.0, y: float = 2.0, low: float = -1.2) -> list[Piece]:
    """Round a circle of the cutter's centre, once at depth."""
    return [("rapid", x + radius, y, 0.5), ("line", None, None, low),
            ("ccw", x + radius, y, None, x, y), ("rapid", None, None, 5)]


def test_a_hole_gone_round_is_as_large_as_its_circle_and_the_cutter() -> None:
    """The wall lies at the circle's radius and the cutter's: 2 · (1.0 + 0.5) mm across."""
    hole = Hole("bore", Point(1, 2), 3.0)
    looked_at = evidence(flat(part=PartShape(SQUARE, holes=(hole,))), program(bored(1.0)),
                         steps=(Bore(cutter="cutter"),))
    (made,) = holes_made(looked_at)
    assert (made.x, made.y, made.diameter) == pytest.approx((1.0, 2.0, 3.0), abs=1e-9)
    assert made.off == pytest.approx(0.0, abs=1e-9)
    assert made.out_of_round == pytest.approx(0.0, abs=1e-9)


@given(st.floats(-0.2, 0.2), st.floats(-0.2, 0.2), st.floats(0.7, 1.1))
@settings(max_examples=few(40))
def test_a_hole_off_its_place_or_size_is_told_as_it_is(dx: float, dy: float, radius: float) -> None:
    hole = Hole("bore", Point(1, 2), 3.0)
    looked_at = evidence(flat(part=PartShape(SQUARE, holes=(hole,))),
                         program(bored(radius, 1 + dx, 2 + dy)), steps=(Bore(cutter="cutter"),))
    (made,) = holes_made(looked_at)
    assert (made.x, made.y) == pytest.approx((1 + dx, 2 + dy), abs=1e-9)
    assert made.diameter == pytest.approx(2 * radius + 1.0, abs=1e-9)
    assert made.off == pytest.approx(math.hypot(dx, dy), abs=1e-9)


def test_a_circle_of_chords_is_measured_by_its_corners() -> None:
    """A way of 720 chords about the middle reaches its radius at each corner."""
    angles = np.linspace(0, 2 * np.pi, 721)
    pieces: list[Piece] = [("rapid", 2, 2, 0.5), ("line", None, None, -1.2)]
    pieces += [("line", 1 + math.cos(a), 2 + math.sin(a), None) for a in angles[1:].tolist()]
    hole = Hole("bore", Point(1, 2), 3.0)
    looked_at = evidence(flat(part=PartShape(SQUARE, holes=(hole,))), program(pieces),
                         steps=(Bore(cutter="cutter"),))
    (made,) = holes_made(looked_at)
    assert made.diameter == pytest.approx(3.0, abs=1e-5)


def test_half_a_circle_is_no_round_hole() -> None:
    half: list[Piece] = [("rapid", 2, 2, 0.5), ("line", None, None, -1.2),
                         ("ccw", 0, 2, None, 1, 2), ("rapid", None, None, 5)]
    hole = Hole("bore", Point(1, 2), 3.0)
    looked_at = evidence(flat(part=PartShape(SQUARE, holes=(hole,))), program(half),
                         steps=(Bore(cutter="cutter"),))
    (made,) = holes_made(looked_at)
    assert made.out_of_round > 0.1


def test_a_drilled_hole_is_the_drills_and_a_seat_is_not_the_hole_below_it() -> None:
    seat, below = Hole("seat", Point(1, 2), 3.0, depth=0.5), Hole("below", Point(1, 2), 1.0)
    stroke: list[Piece] = [*bored(1.0, low=-0.5), ("rapid", 1, 2, 0.5), ("line", 1, 2, -1.5)]
    layout = flat(part=PartShape(SQUARE, holes=(below,), blind=(seat,)))
    found = {one.name: one for one in holes_made(
        evidence(layout, program(stroke), steps=(Bore(cutter="cutter"),)))}
    assert found["seat"].diameter == pytest.approx(3.0)
    # Through goes what the cutter, 1 mm, plunged.
    assert found["below"].diameter == pytest.approx(1.0)
    drilled = evidence(layout, program(stroke[-2:]), steps=(DrillHoles(cutter="cutter"),),
                       cutter=Cutter(kind="drill", diameter=1.0))
    assert [one.name for one in holes_made(drilled)] == ["below", "seat"]
    assert holes_made(drilled)[0].diameter == pytest.approx(1.0)


@pytest.mark.long
def test_a_report_tells_each_hole_of_the_demo_plate_as_it_is_made() -> None:
    proved = proved_demo("train-plate")
    meant = {one.name: one for one in round_holes_of(proved.job_file.job.plate, "brass-leaded")}
    told = holes_of_report(proved)
    assert {one["name"] for one in told} == set(meant)
    for one in told:
        hole = meant[one["name"]]
        # Both ends of a circle are rounded to a thousandth.
        assert (one["x"], one["y"]) == pytest.approx((hole.place.x, hole.place.y), abs=0.001)
        assert one["diameter"] == pytest.approx(hole.diameter, abs=0.002)
        assert one["within"] is (None if hole.limits is None else True)
    names = {str(proof.id) for proof in proved.proofs}
    seats = [name for name in meant if f"{name}-through" in meant]
    assert seats
    assert {f"flat.concentric: {name}, {name}-through" for name in seats} <= names


def test_holes_of_one_middle_bored_apart_are_not_concentric() -> None:
    seat, below = Hole("seat", Point(1, 2), 3.0, depth=0.5), Hole("below", Point(1, 2), 1.0)
    layout = flat(part=PartShape(SQUARE, holes=(below,), blind=(seat,)))
    steps = (Bore(cutter="cutter"),)
    plate = Plate(thickness=1.0, outline=Shape(rectangle=(10.0, 10.0)))
    for off, holds in ((0.0, True), (0.01, False)):
        stroke: list[Piece] = [*bored(1.0, x=1 + off, low=-0.5), ("rapid", 1, 2, 0.5),
                               ("line", 1, 2, -1.5)]
        looked_at = evidence(layout, program(stroke), steps=steps)
        job = looked_at.job.model_copy(update={"plate": plate, "wheel": None})
        looked_at = replace(looked_at, job=job)
        (proof,) = prove_concentric(looked_at)
        assert (str(proof.id), proof.holds) == ("flat.concentric: seat, below", holds)
        assert proof.figure == pytest.approx(1000 * off, abs=1e-6)
