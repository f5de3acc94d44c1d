"""Floors by the exact profile of the cutters that were over them, on motion set down by hand.

A ball end of radius r on passes s apart leaves ridges r − √(r² − s²/4) high; a corner radius c
leaves a fillet of its own radius along a wall. Elementary geometry.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_by_hand import Piece, evidence, flat, program
from sampling import few
from shapely import box

from camgen.layout import FlatLayout
from camgen.part.features import Cone, Hole, Recess, Thread
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Shape
from camgen.part.shape import PartShape
from camgen.proof.evidence import Evidence
from camgen.proof.flat.flat_removal import prove_flat_removal
from camgen.proof.flat.floors import _in_cones, _over, prove_floors
from camgen.proof.ground.standing import profiles_of, standing
from camgen.proof.result import Proof
from camgen.shapes.figures import rectangle
from camgen.shapes.offset import Area
from camgen.shapes.path import Point, polygon
from camgen.shop.cutters import Cutter
from camgen.steps.areas.pocket import PocketStep
from camgen.steps.holes.drill import DrillHoles

SQUARE = polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])
FLAT = Cutter(kind="end-mill", diameter=1.0)
BALL = Cutter(kind="ball-end-mill", diameter=1.0)
BULL = Cutter(kind="bull-end-mill", diameter=1.0, corner_radius=0.2)
LEFT = "flat.material-left"


def with_pocket(fillet: float = 0.0, depth: float = 0.4) -> FlatLayout:
    """A pocket of 4 by 4 mm."""
    area = Area.of(polygon([(-2, -2), (2, -2), (2, 2), (-2, 2)]))
    return flat(part=PartShape(SQUARE, recesses=(Recess("seat", area, depth, fillet=fillet),)))


def rows(step: float, depth: float, cutter: int = 1, inset: float = 0.5) -> list[Piece]:
    """Back and forth over the pocket and once round its walls; its sharp corners are left."""
    edge = 2 - inset
    way: list[Piece] = [("rapid", -edge, -edge, 5), ("line", None, None, -depth)]
    for n, y in enumerate(np.linspace(-edge, edge, math.ceil(2 * edge / step - 1e-9) + 1)):
        ends = (-edge, edge) if n % 2 == 0 else (edge, -edge)
        way += [("line", ends[0], float(y), None), ("line", ends[1], None, None)]
    way += [("line", x, y, None) for x, y in
            ((edge, edge), (-edge, edge), (-edge, -edge), (edge, -edge), (edge, edge))]
    way.append(("rapid", None, None, 5))
    return [(*piece, {"cutter": cutter}) for piece in way]


def looked_at(pieces: list[Piece], layout: FlatLayout, *cutters: Cutter) -> Evidence:
    found = evidence(layout, program(pieces), steps=(PocketStep(cutter="cutter"),))
    return replace(found, cutters=dict(enumerate(cutters, 1)))


def floor(pieces: list[Piece], layout: FlatLayout, *cutters: Cutter) -> Proof:
    return prove_floors(looked_at(pieces, layout, *cutters))[0]


def rounded(layout: FlatLayout) -> FlatLayout:
    """The pocket with corners that a cutter of 1 mm gets into."""
    (recess,) = layout.part.recesses
    area = Area.of(rectangle(4, 4, 0.5))
    return replace(layout, part=replace(layout.part, recesses=(replace(recess, area=area),)))


def test_a_flat_floor_at_its_depth_is_right_and_deeper_or_higher_is_told() -> None:
    layout = rounded(with_pocket())
    proof = floor(rows(0.4, 0.4), layout, FLAT)
    assert (str(proof.id), proof.holds, proof.figure) == ("flat.floor: seat", True, 0.0)
    deep = floor(rows(0.4, 0.41), layout, FLAT)
    assert (deep.holds, deep.figure) == (False, 10.0)
    assert "too deep" in deep.where
    high = floor(rows(0.4, 0.395), layout, FLAT)
    assert (high.holds, high.figure) == (False, 5.0)
    assert "standing on it" in high.where
    assert high.line > 0


def test_of_several_pieces_the_one_that_is_off_by_most_is_told_up_or_down() -> None:
    layout = replace(rounded(with_pocket()), places=((0.0, 0.0), (20.0, 0.0)),
                     stock=box(-20, -20, 40, 20))
    for depths, figure, how in (((0.41, 0.396), 10.0, "too deep"),
                                ((0.396, 0.41), 10.0, "too deep"),
                                ((0.391, 0.404), 9.0, "standing on it")):
        pieces = [*rows(0.4, depths[0]), ("rapid", None, None, 5.0),
                  *[(one[0], None if one[1] is None else one[1] + 20.0, *one[2:])
                    for one in rows(0.4, depths[1])]]
        proof = floor(pieces, layout, FLAT)
        assert proof.figure == pytest.approx(figure)
        assert how in proof.where


@pytest.mark.parametrize("cutters", [(BALL,), (BULL, BALL.model_copy(update={"diameter": 3.0}))])
def test_under_a_cutter_that_is_not_flat_points_are_as_close_as_a_tenth_of_its_radius(
    cutters: tuple[Cutter, ...]
) -> None:
    seen = looked_at(rows(0.4, 0.4), rounded(with_pocket()), *cutters)
    (edge,) = (one for piece in seen.slices for one in piece.edges.edges if one.floor)
    inner = box(-1.5, -1.0, 1.5, 1.0)
    points, apart = _over(seen, edge, inner)
    step = math.sqrt(float(edge.apart[0]))
    assert apart == pytest.approx(step / math.ceil(step / 0.05))
    assert len(points) == pytest.approx(6.0 / apart**2, rel=0.05)
    for axis, far in ((0, 1.5), (1, 1.0)):
        assert np.abs(points[:, axis]).max() == pytest.approx(far, abs=apart)
    coarse, none = _over(looked_at(rows(0.4, 0.4), rounded(with_pocket()), FLAT), edge, inner)
    assert (none, len(coarse)) == (0.0, pytest.approx(6.0 / float(edge.apart[0]), rel=0.1))
    # Of a floor on which at most one of the coarse points lies, there is nothing between to see.
    at = edge.points[np.argmin(np.hypot(*edge.points.T))]
    for wide, single in ((0.2, True), (1.2, False)):
        strip = box(at[0] - 0.1 * step, at[1] - 0.1 * step, at[0] + wide * step,
                    at[1] + 0.1 * step)
        assert (_over(seen, edge, strip)[1] == 0.0) is single


@pytest.mark.parametrize("step", [0.17, 0.3, 0.5])
def test_a_ball_end_leaves_ridges_of_its_profile(step: float) -> None:
    """On a floor whose walls a flat cutter has made, no deeper than the ridges' feet.

    Between the points at first looked at the ridges are higher by up to a third.
    """
    layout = rounded(with_pocket(fillet=0.5, depth=0.6))
    proof = floor(rows(step, 0.6), layout, BALL)
    apart = 3.0 / math.ceil(3.0 / step - 1e-9)
    ridge = 1000 * (0.5 - math.sqrt(0.25 - apart**2 / 4))
    assert proof.figure == pytest.approx(ridge, rel=0.03, abs=0.1)
    assert proof.figure <= ridge + 0.6
    assert proof.holds is (proof.figure <= 3.0)


def test_ridges_within_rounding_are_no_fault_of_the_plane_slices_either() -> None:
    layout = rounded(with_pocket())
    walls = rows(0.4, 0.4)
    fine = rows(0.1, 0.4, cutter=2, inset=0.55)
    high = rows(0.4, 0.39)
    both = [*high, *walls[-6:-1], *fine]
    seen = looked_at([*walls, *fine], layout, FLAT, BALL)
    found = {str(p.id): p for p in prove_flat_removal(seen)}
    assert found[LEFT].holds
    # The flat cutter 10 µm higher and only the ball end to its depth, but for a rim at the wall.
    only = prove_floors(looked_at(both, layout, FLAT, BALL))[0]
    assert only.figure == pytest.approx(10, abs=0.1)


def test_a_corner_radius_leaves_a_fillet_which_a_pocket_may_allow() -> None:
    strict = rounded(with_pocket())
    proof = floor(rows(0.4, 0.4), strict, BULL)
    assert not proof.holds
    beside = 0.005
    meant = 0.2 - math.sqrt(0.2**2 - (0.2 - beside) ** 2)
    assert proof.figure == pytest.approx(1000 * meant, abs=12)
    allowed = rounded(with_pocket(fillet=0.2))
    assert floor(rows(0.4, 0.4), allowed, BULL).holds
    found = {str(p.id): p for p in prove_flat_removal(looked_at(rows(0.4, 0.4), allowed, BULL))}
    assert found[LEFT].holds
    assert found["flat.material-missing"].holds


def test_a_fillet_larger_than_the_pocket_allows_is_named() -> None:
    layout = rounded(with_pocket(fillet=0.15))
    found = looked_at(rows(0.4, 0.4), layout, BULL)
    assert not prove_floors(found)[0].holds
    assert not {str(p.id): p for p in prove_flat_removal(found)}[LEFT].holds


def test_a_sharp_cutter_in_a_pocket_that_allows_a_fillet_is_right_too() -> None:
    layout = rounded(with_pocket(fillet=0.2))
    found = looked_at(rows(0.4, 0.4), layout, FLAT)
    assert prove_floors(found)[0].holds
    assert all(proof.holds for proof in prove_flat_removal(found))


def test_a_pointed_cutter_scratching_a_floor_is_as_deep_as_it_goes() -> None:
    cone = Cutter(kind="engraver", diameter=1.0, point_angle=60)
    scratch: list[Piece] = [
        (*piece, {"cutter": 2}) for piece in
        (("rapid", 0, 0, 5), ("line", None, None, -0.42), ("line", 0.5, 0.3, None),
         ("rapid", None, None, 5))]
    proof = floor([*rows(0.4, 0.4), *scratch], rounded(with_pocket()), FLAT, cone)
    assert not proof.holds
    # A cone of 60 degrees is 23 µm wide at the floor when its point is 20 µm below it: points over
    # the floor are farther apart, so the proof of what is missing tells the depth.
    found = looked_at([*rows(0.4, 0.4), *scratch], rounded(with_pocket()), FLAT, cone)
    missing = {str(p.id): p for p in prove_flat_removal(found)}["flat.material-missing"]
    assert missing.figure == pytest.approx(20, abs=0.1)


def test_a_hole_drilled_to_a_depth_has_its_point_for_a_floor_and_a_bored_one_a_flat_one() -> None:
    hole = Hole("steady", Point(0, 0), 1.0, depth=0.5)
    layout = flat(part=PartShape(SQUARE, blind=(hole,)))
    stroke: list[Piece] = [("rapid", 0, 0, 5), ("line", None, None, -0.8), ("rapid", None, None, 5)]
    drill = Cutter(kind="drill", diameter=1.0)
    found = evidence(layout, program(stroke), steps=(DrillHoles(cutter="cutter"),), cutter=drill)
    assert prove_floors(found) == ()
    bored = evidence(layout, program([stroke[0], ("line", None, None, -0.52), stroke[2]]),
                     steps=(DrillHoles(cutter="cutter"),), cutter=FLAT)
    (proof,) = prove_floors(bored)
    assert (proof.holds, proof.figure) == (False, 20.0)


def test_a_floor_left_too_thin_is_named_with_how_thin() -> None:
    layout = rounded(with_pocket(depth=0.9))
    found = looked_at(rows(0.4, 0.9), layout, FLAT)
    plate = Plate(thickness=1.0, outline=Shape(circle=10.0))
    job = found.job.model_copy(update={"plate": plate, "wheel": None})
    proof = prove_floors(replace(found, job=job))[-1]
    assert (str(proof.id), proof.holds) == ("flat.thinnest-floor", False)
    assert (proof.figure, proof.limit) == (pytest.approx(0.1), 0.15)
    thin = job.model_copy(update={"plate": plate.model_copy(update={"least_floor": 0.1})})
    assert prove_floors(replace(found, job=thin))[-1].holds
    below = replace(layout, part=replace(layout.part, beneath=(Hole("sink", Point(1, 1), 0.6,
                                                                         depth=0.05),)))
    found = looked_at(rows(0.4, 0.9), below, FLAT)
    proof = prove_floors(replace(found, job=thin))[-1]
    assert (proof.holds, proof.figure) == (False, pytest.approx(0.05))


@given(st.floats(0.0, 0.6), st.sampled_from(["flat", "ball", "bull", "cone"]))
@settings(max_examples=few(40), deadline=None)
def test_what_stands_beside_a_stroke_follows_the_cutter_s_profile(away: float, kind: str) -> None:
    cutters = {"flat": FLAT, "ball": BALL, "bull": BULL,
               "cone": Cutter(kind="chamfer-mill", diameter=1.0, point_angle=90, tip=0.2)}
    meant = {
        "flat": 0.0,
        "ball": 0.5 - math.sqrt(max(0.0, 0.25 - away**2)),
        "bull": 0.2 - math.sqrt(max(0.0, 0.04 - max(0.0, away - 0.3) ** 2)),
        "cone": max(0.0, away - 0.1),
    }[kind]
    found = evidence(flat(), program([("rapid", 0, 0, 5), ("line", None, None, -0.8)]),
                     cutter=cutters[kind])
    cuts = found.flat_cuts
    profiles = profiles_of(cuts, found.motion.cutter[cuts.piece], found.cutters)
    height, by = standing(cuts, profiles, np.array([[away, 0.0]]), None, 0.0)
    expected = -0.8 + meant if away < 0.5 else 0.0
    assert height[0] == pytest.approx(min(expected, 0.0), abs=1e-9)
    assert bool(by[0] >= 0) is (expected < 0)


@pytest.mark.parametrize("pairs", [1, 7, 60, 10_000_000])
def test_metal_is_the_same_in_whatever_blocks_it_is_asked_for(
    pairs: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Very many points under very many cuts are looked at block by block, and memory is bounded."""
    steps = [("rapid", 0, 0, 5), ("line", None, None, -0.1)]
    for k in range(1, 12):
        steps += [("line", k % 3, k % 2, None), ("line", None, None, -0.1 - 0.05 * k)]
    found = evidence(flat(), program(steps), cutter=FLAT)
    cuts = found.flat_cuts
    profiles = profiles_of(cuts, found.motion.cutter[cuts.piece], found.cutters)
    points = np.random.default_rng(1).uniform(-1, 3, (50, 2))
    before = np.arange(50) % (len(found.motion) + 1)
    for asked in (None, before):
        whole = standing(cuts, profiles, points, asked, 0.0)
        monkeypatch.setattr("camgen.proof.ground.standing.PAIRS", pairs)
        parts = standing(cuts, profiles, points, asked, 0.0)
        monkeypatch.undo()
        assert len(set(whole[0])) > 3
        assert np.array_equal(whole[0], parts[0])
        assert np.array_equal(whole[1], parts[1])


def test_a_deeper_floor_cut_as_far_beyond_its_edge_as_rounding_lets_be_is_no_fault() -> None:
    """A pocket within a pocket, its wall 2 µm beyond where it is meant."""
    shallow = Recess("seat", Area.of(rectangle(4, 4, 0.5)), 0.2)
    for shift in np.linspace(0, 0.2, 9):
        inner = Area.of(rectangle(2, 2, 0.5).moved(float(shift), float(shift) / 3))
        deep = Recess("deep", inner, 0.4)
        layout = flat(part=PartShape(SQUARE, recesses=(shallow, deep)))
        over = [(word, *(None if at is None else
                         at * (0.502 / 1.5) + (0, shift, shift / 3)[axis] if axis in (1, 2) else at
                         for axis, at in enumerate(where, 1)), more)
                for word, *where, more in rows(0.4, 0.4)]
        found = looked_at([*rows(0.4, 0.2), *over], layout, FLAT)
        assert [proof.holds for proof in prove_floors(found)] == [True, True]


@pytest.mark.parametrize(("angle", "depth", "wide"), [
    (90.0, 0.5, 1.0), (90.0, 1.6, 0.0), (60.0, 0.5, 1.5 - 0.5 * math.tan(math.pi / 6))])
def test_what_cones_and_threads_of_holes_reach_on_a_floor_below_the_face(
    angle: float, depth: float, wide: float
) -> None:
    """A cone 3 mm wide at the face, a thread of 1.2 mm; each beside the middle in X and in Y."""
    sunk, tapped = Hole("sunk", Point(1, -2), 0.8), Hole("tapped", Point(-3, 2), 0.9)
    part = PartShape(SQUARE, holes=(sunk,), blind=(tapped,), threads=(Thread(tapped, 1.2, 0.25),),
                     cones=(Cone(sunk, "countersink", 3.0, "upper"),))
    sink = Cutter(kind="countersink", diameter=4.0, point_angle=angle)
    seen = replace(evidence(flat(part=part), program([])), cutters={1: sink, 2: FLAT})
    for x, y, radius in ((1, -2, wide), (-3, 2, 0.6)):
        around = 2 * math.pi * np.arange(8) / 8
        for off, within in ((-0.01, radius > 0), (0.02, False)):
            points = np.column_stack([x + (radius + off) * np.cos(around),
                                      y + (radius + off) * np.sin(around)])
            found = _in_cones(seen, seen.layout, points, depth)  # type: ignore[arg-type]
            assert found.tolist() == [within] * 8
