"""Pockets and blind holes, slice by slice, on motion set down by hand."""

from __future__ import annotations

import math

import pytest
from motion_by_hand import Piece, evidence, flat, program

from camgen.layout import FlatLayout
from camgen.part.features import Hole, Recess
from camgen.part.shape import PartShape
from camgen.proof.flat.flat_removal import prove_flat_removal
from camgen.proof.ground.edges import slices_of
from camgen.proof.result import Proof
from camgen.shapes.figures import rounded
from camgen.shapes.offset import Area
from camgen.shapes.path import Point, circle, polygon
from camgen.shop.cutters import Cutter
from camgen.steps.areas.pocket import PocketStep
from camgen.steps.holes.bore import Bore
from camgen.steps.holes.drill import DrillHoles

SQUARE = polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])


def round_pocket(depth: float = 0.4, island: float = 0.0) -> FlatLayout:
    """A round pocket of 4 mm in the middle of the square, with an island where asked for."""
    islands = (circle(Point(0, 0), island / 2),) if island else ()
    recess = Recess("seat", Area.of(circle(Point(0, 0), 2.0), islands), depth)
    return flat(part=PartShape(SQUARE, recesses=(recess,)))


def rings(depth: float, *radii: float) -> list[Piece]:
    """Full circles of the cutter's centre at one depth, from the inside out."""
    pieces: list[Piece] = [("rapid", radii[0], 0, None)]
    for radius in radii:
        pieces += [("line", radius, 0, depth), ("ccw", radius, 0, None, 0, 0)]
    return [*pieces, ("rapid", None, None, 5)]


# A cutter of 1 mm on these centres leaves nothing of a round of 4 mm.
ALL = (0.1, 0.8, 1.5)


def answers(
    layout: FlatLayout, pieces: list[Piece], *steps: object, cutter: Cutter | None = None
) -> dict[str, Proof]:
    steps = steps or (PocketStep(cutter="cutter"),)
    looked_at = evidence(layout, program(pieces), steps=steps, cutter=cutter)  # type: ignore[arg-type]
    return {str(proof.id): proof for proof in prove_flat_removal(looked_at)}


MISSING, LEFT = "flat.material-missing", "flat.material-left"


def test_a_pocket_cleared_to_its_depth_is_right() -> None:
    found = answers(round_pocket(), rings(-0.4, *ALL))
    assert found[MISSING].figure == pytest.approx(0, abs=1e-3)
    assert found[LEFT].holds


def test_a_pocket_two_hundredths_too_deep_is_material_missing() -> None:
    found = answers(round_pocket(), rings(-0.42, *ALL))
    assert not found[MISSING].holds
    assert found[LEFT].holds


def test_a_pocket_two_hundredths_too_shallow_leaves_its_floor() -> None:
    found = answers(round_pocket(), rings(-0.38, *ALL))
    assert found[MISSING].holds
    assert not found[LEFT].holds


def test_rounding_of_the_depth_to_an_increment_is_neither() -> None:
    found = answers(round_pocket(0.3333), rings(-0.333, *ALL))
    assert found[MISSING].holds
    assert found[LEFT].holds


def test_a_ridge_left_between_two_passes_is_found_on_the_floor() -> None:
    """Rings 1.3 mm apart leave a ridge 0.3 mm wide, 0.15 mm from either."""
    found = answers(round_pocket(), rings(-0.4, 0.2, 1.5))[LEFT]
    assert not found.holds
    assert found.where.startswith("floor of seat")
    assert found.figure == pytest.approx(150, abs=25)


def test_a_wall_cut_past_is_material_missing_by_as_much() -> None:
    found = answers(round_pocket(), rings(-0.4, 0.1, 0.8, 1.52))
    assert found[MISSING].figure == pytest.approx(20, abs=0.5)


def test_an_island_is_part_of_the_part() -> None:
    layout = round_pocket(island=1.0)
    assert answers(layout, rings(-0.4, 1.0, 1.5))[MISSING].holds
    assert answers(layout, rings(-0.4, 1.0, 1.5))[LEFT].holds
    assert answers(layout, rings(-0.4, 0.99, 1.5))[MISSING].figure == pytest.approx(10, abs=0.5)
    assert not answers(layout, rings(-0.4, *ALL))[MISSING].holds


def test_a_through_hole_in_a_pocket_has_its_wall_below_the_floor_only() -> None:
    base = round_pocket()
    part = PartShape(SQUARE, holes=(Hole("bore", Point(0, 0), 1.6),), recesses=base.part.recesses)
    layout = flat(part=part)
    steps = (PocketStep(cutter="cutter"), Bore(cutter="cutter"))
    right = [*rings(-0.4, *ALL), *rings(-1.0, 0.3)]
    assert all(proof.holds for proof in answers(layout, right, *steps).values())
    wide = [*rings(-0.4, *ALL), *rings(-1.0, 0.31)]
    assert answers(layout, wide, *steps)[MISSING].figure == pytest.approx(10, abs=0.5)


def test_a_pocket_in_a_pocket_has_its_wall_below_the_first_floor_only() -> None:
    outer = Recess("seat", Area.of(circle(Point(0, 0), 2.0)), 0.3)
    inner = Recess("deep", Area.of(circle(Point(0, 0), 1.2)), 0.6)
    layout = flat(part=PartShape(SQUARE, recesses=(outer, inner)))
    right = [*rings(-0.3, *ALL), *rings(-0.6, 0.1, 0.7)]
    assert all(proof.holds for proof in answers(layout, right).values())
    deep = [*rings(-0.3, *ALL), *rings(-0.6, 0.1, 0.75)]
    assert answers(layout, deep)[MISSING].figure == pytest.approx(50, abs=0.5)
    assert len(slices_of(layout, 0.1)) == 3


def test_a_blind_hole_may_have_a_drills_point_below_its_depth_and_no_more() -> None:
    """A point of 118° on 1 mm is 0.3004 mm long (trigonometry)."""
    layout = flat(part=PartShape(SQUARE, blind=(Hole("dimple", Point(1, 1), 1.0, "dimple", 0.4),)))
    drill = Cutter(kind="drill", diameter=1.0, point_angle=118)
    point = 0.5 / math.tan(math.radians(59))

    def hole(depth: float) -> list[Piece]:
        return [("rapid", 1, 1, 0.5), ("line", 1, 1, -depth), ("rapid", None, None, 5)]

    right = answers(layout, hole(0.4 + point), DrillHoles(cutter="cutter"), cutter=drill)
    assert right[MISSING].holds
    assert right["flat.wall: dimple"].holds
    through = [("rapid", 1, 1, 0.5), ("line", 1, 1, -0.4 - point), ("line", 3, 1, None),
               ("rapid", None, None, 5)]
    dragged = answers(layout, through, DrillHoles(cutter="cutter"), cutter=drill)
    assert not dragged[MISSING].holds
    shallow = answers(layout, hole(0.35 + point), DrillHoles(cutter="cutter"), cutter=drill)
    assert not shallow[LEFT].holds


def test_an_outline_cut_through_a_pocket_open_at_its_side_is_right() -> None:
    """The pocket reaches over the edge: there the outline has no wall above the floor."""
    recess = Recess("step", Area.of(polygon([(3, -2), (8, -2), (8, 2), (3, 2)])), 0.4)
    layout = flat(part=PartShape(SQUARE, recesses=(recess,)))
    upper = slices_of(layout, 0.05)[0]
    outline = next(edge for edge in upper.edges.edges if edge.name == "outline")
    beside = (outline.points[:, 0] > 4.99) & (abs(outline.points[:, 1]) < 1.9)
    assert not beside.any()
    lower = slices_of(layout, 0.05)[1]
    assert any((edge.points[:, 0] > 4.99).any() for edge in lower.edges.edges)


def open_pocket(*ends: float) -> dict[str, Proof]:
    """A pocket open at X 5, cut in five rows along X that begin at these places."""
    shape = rounded([(3, -2), (8, -2), (8, 2), (3, 2)], 0.5)
    layout = flat(part=PartShape(SQUARE, recesses=(Recess("step", Area.of(shape), 0.4),)))
    pieces: list[Piece] = []
    for y, end in zip((-1.5, -0.75, 0.0, 0.75, 1.5), ends, strict=True):
        pieces += [("rapid", end, y, 0.5), ("line", end, y, -0.4), ("line", 3.5, y, None),
                   ("rapid", None, None, 5)]
    pieces += [("rapid", 3.5, -1.5, 0.5), ("line", 3.5, -1.5, -0.4), ("line", 3.5, 1.5, None),
               ("rapid", None, None, 5)]
    return answers(layout, pieces)


def test_ground_gone_beyond_an_open_side_is_not_missing_from_the_part() -> None:
    """Nor is anything left where the rows begin only just beyond the edge."""
    for begin in (6.2, 5.1):
        found = open_pocket(*[begin] * 5)
        assert found[MISSING].figure == pytest.approx(0, abs=0.5)
        assert found[LEFT].figure == pytest.approx(0, abs=0.5)


def test_a_lip_left_at_an_open_side_is_found() -> None:
    """A cutter of radius 0.5 that stops at X 4.3 does not reach the edge at X 5."""
    found = open_pocket(5.2, 5.2, 4.3, 5.2, 5.2)[LEFT]
    assert not found.holds
    assert found.where.startswith("floor of step, X 4.")


def test_a_wall_that_ends_before_the_edge_is_left_there() -> None:
    """Stopping 0.2 mm before the edge leaves √(r² + 0.2²) − r to the corner (plane geometry)."""
    found = open_pocket(4.8, 5.2, 5.2, 5.2, 5.2)[LEFT]
    assert found.figure == pytest.approx(1000 * (math.hypot(0.5, 0.2) - 0.5), abs=1.0)
    assert found.where.startswith("step, X 5.000 Y -2.000")
