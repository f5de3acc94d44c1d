"""Rapid moves against stock and clamps; each axis runs at its own rate."""

from __future__ import annotations

import pytest
from motion_by_hand import Piece, bench_mill, evidence, flat, program
from shapely import box

from camgen.layout import Clamp, FlatLayout
from camgen.proof.result import Proof
from camgen.proof.table.rapids import prove_flat_rapids
from camgen.proof.table.upright import prove_upright
from camgen.shop.machine import LinearAxis, Machine


def answers(
    pieces: list[Piece], layout: FlatLayout | None = None, machine: Machine | None = None,
    **more: object,
) -> dict[str, Proof]:
    looked_at = evidence(
        layout or flat(), program(pieces, **more), machine=machine  # type: ignore[arg-type]
    )
    return {str(proof.id): proof for proof in
            (*prove_flat_rapids(looked_at), *prove_upright(looked_at))}


def stock(pieces: list[Piece], **more: object) -> Proof:
    return answers(pieces, **more)["table.rapids"]  # type: ignore[arg-type]


def test_travel_above_the_stock_is_clear() -> None:
    assert stock([("rapid", 10, 10, 5), ("rapid", None, None, 0.1)]).holds


def test_a_rapid_move_down_into_metal_is_named_with_its_depth() -> None:
    found = stock([("rapid", 10, 10, 5), ("rapid", None, None, -0.3)])
    assert (found.holds, found.line) == (False, 2)
    assert found.figure == pytest.approx(0.3)


def test_a_rapid_move_beside_the_stock_may_go_as_low_as_it_likes() -> None:
    assert stock([("rapid", 25, 0, 5), ("rapid", None, None, -3), ("rapid", 25, 10, -3)]).holds


def test_straight_up_out_of_a_cut_is_clear() -> None:
    assert stock([("line", 0, 0, -0.8), ("line", 3, 0, None), ("rapid", None, None, 5)]).holds


def test_down_again_where_the_cutter_has_been_as_deep_is_clear_and_deeper_is_not() -> None:
    peck: list[Piece] = [("line", 0, 0, -0.8), ("rapid", None, None, 0.5)]
    assert stock([*peck, ("rapid", None, None, -0.7)]).holds
    assert not stock([*peck, ("rapid", None, None, -0.9)]).holds


def test_sideways_at_depth_is_clear_only_in_a_slot_already_cut() -> None:
    slot: list[Piece] = [("line", 0, 0, -0.8), ("line", 8, 0, None)]
    assert stock([*slot, ("rapid", 2, 0, None)]).holds
    assert not stock([*slot, ("rapid", 2, 1, None)]).holds
    assert not stock([*slot, ("rapid", 9, 0, None)]).holds


def test_a_slot_cut_by_a_later_move_does_not_count() -> None:
    assert not stock([("line", 0, 0, -0.8), ("rapid", 8, 0, None), ("line", 0, 0, None)]).holds


def test_the_dog_leg_hits_a_clamp_that_the_straight_way_misses() -> None:
    """Equal rates: 45° first, then along X. The straight way from 0,0 to 20,10 passes (15, 7.5)."""
    layout = flat(clamps=(Clamp(box(14, 9, 16, 11), 6.0),))
    slow_y = bench_mill(y=LinearAxis(rapid=1000), x=LinearAxis(rapid=2000))
    way: list[Piece] = [("rapid", 20, 10, None)]
    found = answers(way, layout)["table.clamps"]
    assert not found.holds
    assert found.figure == pytest.approx(1.0)
    # With Y at half the rate both arrive together, and the way is straight.
    assert answers(way, layout, slow_y)["table.clamps"].holds


def test_the_straight_way_must_be_clear_too_for_controls_that_take_it() -> None:
    layout = flat(clamps=(Clamp(box(14, 6.5, 16, 8), 6.0),))
    assert not answers([("rapid", 20, 10, None)], layout)["table.clamps"].holds


def test_fed_moves_into_clamps_are_named_too() -> None:
    layout = flat(clamps=(Clamp(box(14, -1, 16, 1), 2.0),))
    assert not answers([("line", 20, 0, 1)], layout)["table.clamps"].holds
    assert answers([("line", 13.4, 0, 1)], layout)["table.clamps"].holds
    assert not answers([("line", 13.6, 0, 1)], layout)["table.clamps"].holds
