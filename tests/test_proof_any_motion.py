"""Whatever a program does, proving it ends in answers and never in an error."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_by_hand import Piece, evidence, flat, program, stack
from sampling import few
from shapely import box

from camgen.layout import Clamp, FlatLayout, ToothLayout
from camgen.part.features import Hole, Recess
from camgen.part.shape import PartShape
from camgen.proof import prove_evidence
from camgen.shapes.offset import Area
from camgen.shapes.path import Point, circle, polygon
from camgen.steps.areas.pocket import PocketStep
from camgen.steps.head.cut_teeth_words import CutTeeth
from camgen.steps.holes.bore import Bore
from camgen.steps.walls.outline import Outline

LENGTH = st.floats(-30, 30) | st.sampled_from([0.0, -0.5, 5.0, -1.0, 0.444])
PLACE = LENGTH | st.none()
PIECE: st.SearchStrategy[Piece] = st.one_of(
    st.tuples(st.just("rapid"), PLACE, PLACE, PLACE),
    st.tuples(st.just("line"), PLACE, PLACE, PLACE),
    st.tuples(st.sampled_from(["cw", "ccw"]), LENGTH, LENGTH, PLACE, LENGTH, LENGTH),
    st.tuples(st.just("index"), st.floats(-720, 720) | st.sampled_from([0.0, 4.8])),
)
PLATE = flat(
    part=PartShape(
        polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)]), (), (Hole("bore", Point(2, 2), 1.5),), (),
        (Hole("dimple", Point(-3, 0), 1.0, "dimple", 0.4),),
        (Recess("seat", Area.of(circle(Point(0, -2), 1.5)), 0.3),),
    ),
    clamps=(Clamp(box(14, -2, 18, 2), 3.0),), places=((-6.0, 0.0), (6.0, 0.0)), holds_slugs=False,
)
STEPS = (Outline(cutter="cutter"), Bore(cutter="cutter"), PocketStep(cutter="cutter"))


def check(layout: FlatLayout | ToothLayout, pieces: list[Piece], speed: float, cutter: int,
          steps: tuple[object, ...]) -> None:
    read = program(pieces, speed=speed, cutter=cutter)
    looked_at = evidence(layout, read, steps=steps)  # type: ignore[arg-type]
    for proof in prove_evidence(looked_at):
        assert proof.name
        assert math.isfinite(proof.figure), proof
        assert math.isfinite(proof.limit), proof
        assert 0 <= proof.line <= len(pieces)
        assert proof.holds in (True, False)


@given(st.lists(PIECE, max_size=12), st.sampled_from([0.0, 10000.0, -500.0]), st.integers(0, 2))
@settings(max_examples=few(60), deadline=None)
def test_any_motion_over_a_plate_is_answered(
    pieces: list[Piece], speed: float, cutter: int
) -> None:
    check(PLATE, pieces, speed, cutter, STEPS)


@given(st.lists(PIECE, max_size=12), st.sampled_from([0.0, 10000.0]), st.integers(0, 2))
@settings(max_examples=few(60), deadline=None)
def test_any_motion_about_the_head_is_answered(
    pieces: list[Piece], speed: float, cutter: int
) -> None:
    check(stack(), pieces, speed, cutter, (CutTeeth(cutter="cutter"),))


@pytest.mark.parametrize("layout", [PLATE, stack()])
def test_a_program_that_does_nothing_fails_for_what_it_leaves(
    layout: FlatLayout | ToothLayout
) -> None:
    steps = STEPS if isinstance(layout, FlatLayout) else (CutTeeth(cutter="cutter"),)
    found = prove_evidence(evidence(layout, program([("rapid", 0, 0, 9)]), steps=steps))
    assert any(not proof.holds for proof in found)


def test_places_that_are_not_known_are_no_error() -> None:
    read = program([("rapid", 0, 0, 9), ("line", 1, 1, -0.5)])
    read.motion.start[0] = np.nan
    read.motion.end[0, 2] = np.nan
    assert prove_evidence(evidence(PLATE, read, steps=STEPS))
