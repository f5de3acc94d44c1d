"""Depth of passes, plunges, and the cutter above its edges, on motion set down by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from motion_by_hand import DISC, MILL, Piece, evidence, flat, program, stack
from shapely import box

from camgen.cutting.answer import CutPlan
from camgen.layout import Clamp, FlatLayout
from camgen.moves import Feed, Rapid, Section, SetupMoves
from camgen.proof.evidence import Evidence
from camgen.proof.flat.load.passes import drops, prove_flat_passes
from camgen.proof.head.tooth_passes import prove_tooth_passes
from camgen.proof.result import Proof
from camgen.proof.table.cutter_body import prove_cutter_body
from camgen.shop.cutters import Cutter

MOVES = SetupMoves("work", (Section("cut", 0, "cutter", 1, "CUTTER", 10000.0, (Rapid(z=5.0),)),))


def planned_for(looked_at: Evidence, depth: float) -> Evidence:
    """The same evidence with cutter 1 planned for passes of ``depth``."""
    cut = CutPlan(
        speed=10000, surface_speed=30, chip_load=0.01, feed=100, plunge_feed=50, depth=depth,
        width=1.0, limits=(), governed_by={}, warnings=(),
    )
    return replace(looked_at, moves=MOVES, planned_cuts=(cut,))


def passes(pieces: Sequence[Piece], depth: float, cutter: Cutter | None = None) -> dict[str, Proof]:
    looked_at = planned_for(evidence(flat(), program(pieces), cutter=cutter), depth)
    return {str(proof.id): proof for proof in prove_flat_passes(looked_at)}


def lap(depth: float, out: float = 6.0) -> list[Piece]:
    """Down at the right and once round a circle."""
    return [("line", out, 0, depth), ("ccw", out, 0, None, 0, 0)]


DOWN: list[Piece] = [("rapid", 6, 0, 0)]
NAME = "flat.pass-depth: cutter 1"


def test_passes_of_the_planned_depth_hold_and_a_level_left_out_does_not() -> None:
    three = [*DOWN, *lap(-0.3), *lap(-0.6), *lap(-0.9)]
    found = passes(three, 0.3)[NAME]
    assert found.holds
    assert found.figure == pytest.approx(0.3)
    two = [*DOWN, *lap(-0.3), *lap(-0.9)]
    found = passes(two, 0.3)[NAME]
    assert (found.holds, found.line) == (False, 4)
    assert found.figure == pytest.approx(0.6)


def test_a_ramp_takes_as_much_as_it_has_gone_down_in_a_whole_lap() -> None:
    ramp: list[Piece] = [("ccw", 6, 0, -0.3, 0, 0), ("ccw", 6, 0, -0.6, 0, 0),
                         ("ccw", 6, 0, -0.6, 0, 0)]
    assert passes([*DOWN, *ramp], 0.3)[NAME].holds
    assert not passes([*DOWN, *ramp[1:]], 0.3)[NAME].holds


def test_a_finishing_lap_beside_cleared_ground_may_go_to_the_full_depth_at_once() -> None:
    rough = [*DOWN, *lap(-0.3), *lap(-0.6), *lap(-0.9)]
    assert passes([*rough, *lap(-0.9, out=5.95)], 0.3)[NAME].holds
    assert not passes([*rough, *lap(-0.9, out=4.5)], 0.3)[NAME].holds


def test_ground_cleared_only_later_does_not_count() -> None:
    late = [*DOWN, *lap(-0.9, out=5.95), *lap(-0.3), *lap(-0.6), *lap(-0.9)]
    assert not passes(late, 0.3)[NAME].holds


def test_a_wall_gone_round_again_leaves_the_first_time_as_it_was() -> None:
    """Ground counts from when it was first cleared, though it is gone over once more later."""
    wall = [*lap(-0.3), *lap(-0.6), *lap(-0.9), *lap(-0.9, out=5.95)]
    assert passes([*DOWN, *wall, *wall], 0.3)[NAME].holds
    late = [*DOWN, *lap(-0.9, out=5.95), *lap(-0.3), *lap(-0.6), *lap(-0.9)]
    assert not passes([*late, *wall], 0.3)[NAME].holds


def test_ground_cleared_by_a_narrower_cutter_is_no_wider_than_it() -> None:
    """A way gone by a wide cutter, not deep, and deep by a narrow one is deep where that was."""
    narrow = {"cutter": 2}
    ring: list[Piece] = [("line", 6, 0, -0.3), ("ccw", 6, 0, None, 0, 0),
                         ("line", 6, 0, -0.9, narrow), ("ccw", 6, 0, None, 0, 0, narrow)]
    looked_at = evidence(flat(), program([*DOWN, *ring, ("line", 6.2, 0, -0.9),
                                          ("ccw", 6.2, 0, None, 0, 0)]))
    thin = MILL.model_copy(update={"diameter": 0.3})
    looked_at = replace(looked_at, cutters={**looked_at.cutters, 2: thin})
    found = drops(looked_at.flat_cuts, 0.0, np.zeros(len(looked_at.flat_cuts)))
    assert found[-1] == pytest.approx(0.6)


def test_without_a_plan_no_depth_is_judged() -> None:
    looked_at = evidence(flat(), program([*DOWN, *lap(-0.9)]))
    assert prove_flat_passes(looked_at) == ()


def test_drops_are_reckoned_from_the_lowest_so_far_not_from_the_last() -> None:
    pieces = [*DOWN, *lap(-0.6), *lap(-0.2), *lap(-0.7)]
    looked_at = evidence(flat(), program(pieces))
    found = drops(looked_at.flat_cuts, 0.0, np.zeros(len(looked_at.flat_cuts)))
    rounds = looked_at.flat_cuts.sweep != 0
    assert found[rounds].tolist() == pytest.approx([0.6, 0.0, 0.1])


def test_a_form_cutter_must_not_take_two_passes_in_one() -> None:
    """Half the depth, then the rest, planned for half; and all at once."""
    layout = stack()
    depth = layout.tooth.sizes.whole_depth

    def one(*depths: float) -> Proof:
        pieces: list[Piece] = []
        for deep in depths:
            pieces += [("rapid", 3.5, -0.5, 0), ("rapid", None, deep, None),
                       ("line", -2.1, None, None), ("rapid", None, -0.5, None)]
        looked_at = evidence(layout, program(pieces, start=(3.5, -0.5, 0)), cutter=DISC)
        return prove_tooth_passes(planned_for(looked_at, depth / 2))[0]

    assert one(depth / 2, depth).holds
    assert not one(depth).holds
    assert one(depth).figure == pytest.approx(depth)


def body(cutter: Cutter, depth: float, layout: FlatLayout | None = None) -> dict[str, Proof]:
    pieces = [("rapid", 6, 0, 5), ("line", 6, 0, -depth), ("line", 8, 0, None)]
    looked_at = evidence(layout or flat(thickness=3.0), program(pieces), cutter=cutter)
    return {str(proof.id): proof for proof in prove_cutter_body(looked_at)}


def test_a_slot_deeper_than_the_flutes_rubs_unless_the_neck_is_thinner() -> None:
    name = "table.cutter-body: shank, cutter 1"
    short = MILL.model_copy(update={"reach": 9.0, "flute_length": 1.0})
    assert body(short, 0.9)[name].holds
    rubbing = body(short, 1.1)[name]
    assert (rubbing.holds, rubbing.figure) == (False, pytest.approx(0.1))
    assert not body(short.model_copy(update={"shank": 3.0}), 1.1)[name].holds
    # Straight down a relieved neck follows its edges; sideways it meets what they do not reach.
    relieved = short.model_copy(update={"shank": 0.9})
    sideways = body(relieved, 1.1)[name]
    assert (sideways.holds, sideways.line) == (False, 3)
    down = [("rapid", 6, 0, 5), ("line", 6, 0, -1.1)]
    drilled = prove_cutter_body(evidence(flat(thickness=3.0), program(down), cutter=relieved))
    assert all(proof.holds for proof in drilled)


def test_a_thick_shank_is_named_only_where_a_wall_stands_within_it() -> None:
    """A groove 1 mm deep is widened till the shank, 2 mm thick, goes below its edge."""
    name = "table.cutter-body: shank, cutter 1"
    thick = MILL.model_copy(update={"reach": 9.0, "flute_length": 0.6, "shank": 2.0})
    def groove(half: float) -> Proof:
        wide: list[Piece] = [("rapid", -8, 0, 5), ("line", None, None, -0.5)]
        for y in np.arange(-half, half + 0.01, 0.4):
            wide += [("line", -8, float(y), None), ("line", 8, float(y), None),
                     ("line", -8, float(y), None)]
        wide += [("rapid", None, None, 5), ("rapid", -6, 0, 5), ("line", None, None, -1.0),
                 ("line", 6, 0, None), ("rapid", None, None, 5)]
        looked_at = evidence(flat(thickness=3.0), program(wide), cutter=thick)
        return {str(proof.id): proof for proof in prove_cutter_body(looked_at)}[name]

    assert groove(0.8).holds
    beside = groove(0.4)
    assert not beside.holds
    assert beside.figure == pytest.approx(0.4)
    assert beside.at is not None
    assert beside.at[2] == pytest.approx(-1.0)


def test_an_island_left_in_a_pocket_meets_the_shank() -> None:
    name = "table.cutter-body: shank, cutter 1"
    thick = MILL.model_copy(update={"reach": 9.0, "flute_length": 0.6, "shank": 3.0})
    around: list[Piece] = [("rapid", 3.4, 0, 5)]
    for level in (-0.5, -1.0):
        for radius in (3.4, 2.6, 1.8):
            around += [("line", radius, 0, level), ("ccw", radius, 0, None, 0, 0)]
        around += [("line", 3.4, 0, None)]
    looked_at = evidence(flat(thickness=3.0), program(around), cutter=thick)
    found = {str(proof.id): proof for proof in prove_cutter_body(looked_at)}[name]
    assert not found.holds
    assert found.figure == pytest.approx(0.4)


def test_the_collet_must_stay_out_of_metal_that_stands_and_may_go_beside_the_stock() -> None:
    cutter = MILL.model_copy(update={"reach": 2.0})
    name = "table.cutter-body: collet, cutter 1"
    assert body(cutter, 1.5)[name].holds
    assert body(cutter, 2.5)[name].figure == pytest.approx(0.5)
    assert body(cutter, 2.5)[name].line == 2
    small = flat(thickness=3.0, stock=box(-20, -20, 5.4, 20))
    assert not body(cutter, 2.5, small)[name].holds
    slim = cutter.model_copy(update={"holder": 1.1})
    assert name not in body(slim, 2.5, small)


def test_the_collet_must_stay_above_clamps_near_the_cut_and_need_not_above_far_ones() -> None:
    cutter = MILL.model_copy(update={"reach": 2.0})
    name = "table.collet-and-clamps: cutter 1"
    near = flat(thickness=3.0, clamps=(Clamp(box(12, -1, 14, 1), 1.0),))
    found = body(cutter, 1.5, near)[name]
    assert not found.holds
    assert found.figure == pytest.approx(-0.5)
    far = flat(thickness=3.0, clamps=(Clamp(box(-19, -1, -17, 1), 1.0),))
    assert name not in body(cutter, 1.5, far)


def test_a_finishing_lap_may_take_its_levels_deeper_than_the_roughing() -> None:
    rough = [*DOWN, *lap(-0.3), *lap(-0.6), *lap(-0.9)]
    levels = [*lap(-0.45, out=5.95), *lap(-0.9, out=5.95)]
    assert passes([*rough, *levels], 0.3)[NAME].holds


def test_each_step_is_held_to_its_own_depth_though_another_may_go_deeper() -> None:
    """The same cutter in two steps, planned for 0.2 and 0.5: the first takes 0.4 in one pass."""
    def way(x: float, depth: float) -> tuple[list[Piece], tuple[Rapid | Feed, ...]]:
        pieces: list[Piece] = [("rapid", None, None, 5), ("rapid", x, 0, 5),
                               ("line", None, None, -depth), ("line", None, 8, None),
                               ("rapid", None, None, 5)]
        moves = (Rapid(z=5), Rapid(x=x, y=0), Feed(100, z=-depth), Feed(100, y=8), Rapid(z=5))
        return pieces, moves

    def found(first: float) -> dict[str, Proof]:
        (one, his), (two, hers) = way(-6, first), way(6, 0.5)
        looked_at = planned_for(evidence(flat(), program([*one, *two])), 0.2)
        moves = SetupMoves("work", tuple(
            Section("cut", step, "cutter", 1, "CUTTER", 10000.0, some)
            for step, some in enumerate((his, hers))))
        cuts = (looked_at.planned_cuts[0], replace(looked_at.planned_cuts[0], depth=0.5))
        looked_at = replace(looked_at, moves=moves, planned_cuts=cuts)
        return {str(proof.id): proof for proof in prove_flat_passes(looked_at)}

    assert all(proof.holds for proof in found(0.2).values())
    deep = found(0.4)
    assert not deep["flat.pass-depth: step 1"].holds
    assert deep["flat.pass-depth: step 1"].figure == pytest.approx(0.4)
    assert deep["flat.pass-depth: step 2"].holds


@pytest.mark.parametrize("lower", [0.3, 0.9])
def test_beside_the_stock_only_what_is_reached_into_counts(lower: float) -> None:
    """Stock little larger than the part is faced; round it the middle of the cutter is in air."""
    little = box(-5.2, -5.2, 5.2, 5.2)
    rows: list[Piece] = []
    for row in range(11):
        y = -5.2 + 1.04 * row
        rows += [("rapid", -6, y, 0), ("line", -6, y, -0.5), ("line", 6, y, -0.5)]
    around = [*rows, ("rapid", -5.4, -5.4, 0), ("line", -5.4, -5.4, -0.5 - lower),
              ("line", 5.4, -5.4, None), ("line", 5.4, 5.4, None)]
    wide = MILL.model_copy(update={"diameter": 1.2})
    looked_at = planned_for(evidence(flat(stock=little), program(around), cutter=wide), 0.5)
    (proof,) = prove_flat_passes(looked_at)
    assert proof.holds == (lower <= 0.5)
    assert proof.figure == pytest.approx(max(0.5, lower))
    unfaced = planned_for(evidence(flat(stock=little), program(around[len(rows):]), cutter=wide),
                          0.5)
    assert prove_flat_passes(unfaced)[0].figure == pytest.approx(0.5 + lower)
