"""Cuts seen from above, against their lines and arcs laid out in many points."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from motion_by_hand import Piece, motion

from camgen.proof.flat.flat_removal import _freed
from camgen.proof.ground.edges import Edge
from camgen.proof.ground.plan_cuts import PlanCuts, plan_cuts
from camgen.shop.cutters import Cutter, parse_cutter

MANY = 4001


def _cuts(*rows: tuple[float, ...]) -> PlanCuts:
    """Rows (x, y, x, y) of lines, (cx, cy, radius, begin, sweep) of arcs."""
    names = ("start", "end", "centre", "begin", "sweep", "radius")
    parts: dict[str, list[object]] = {name: [] for name in names}
    for row in rows:
        if len(row) == 4:
            values = (row[:2], row[2:], (np.nan, np.nan), 0.0, 0.0, 0.0)
        else:
            x, y, radius, begin, sweep = row
            start, end = (
                (x + radius * np.cos(turn), y + radius * np.sin(turn))
                for turn in (begin, begin + sweep)
            )
            values = (start, end, (x, y), begin, sweep, radius)
        for name, value in zip(parts, values, strict=True):
            parts[name].append(value)
    count = len(rows)
    return PlanCuts(
        **{name: np.array(value, dtype=float) for name, value in parts.items()},
        high=np.linspace(0.0, 1.0, count), low=np.linspace(-1.0, -0.5, count),
        wide_top=np.linspace(0.2, 0.3, count), wide_bottom=np.linspace(0.25, 0.0, count),
        piece=np.arange(count), until=np.arange(count) + 10,
    )


CUTS = _cuts(
    (0.0, 0.0, 3.0, 1.0), (2.0, -1.0, 2.0, -1.0), (1.0, 4.0, -2.0, 4.0),
    (0.0, 0.0, 2.0, 0.3, 1.0), (1.0, -1.0, 0.7, 2.0, -4.0), (-1.0, 2.0, 1.5, 6.0, 2 * pi),
    (0.5, 0.5, 3.0, -0.4, 0.8), (0.5, 0.5, 3.0, -2.0, -3.3), (-2.0, 0.0, 0.4, 1.0, pi),
)


def _laid_out(cuts: PlanCuts, row: int) -> np.ndarray:
    share = np.linspace(0.0, 1.0, MANY)[:, None]
    if cuts.sweep[row] == 0:
        return cuts.start[row] + share * (cuts.end[row] - cuts.start[row])
    turn = cuts.begin[row] + share * cuts.sweep[row]
    return cuts.centre[row] + cuts.radius[row] * np.hstack([np.cos(turn), np.sin(turn)])


@pytest.mark.parametrize("row", range(len(CUTS)))
def test_a_cut_is_as_far_away_as_its_nearest_point(row: int) -> None:
    points = np.random.default_rng(row).uniform(-4, 5, (60, 2))
    laid = _laid_out(CUTS, row)
    nearest = np.linalg.norm(points[:, None] - laid[None], axis=2).min(axis=1)
    assert CUTS.distances(points)[:, row] == pytest.approx(nearest, abs=3e-3)
    # On the cut itself, at its ends and beyond the middle, the distance is none.
    on = CUTS.distances(laid[:: MANY // 8])[:, row]
    assert on == pytest.approx(np.zeros(len(on)), abs=1e-6)
    assert CUTS.middles[row] == pytest.approx(laid[MANY // 2], abs=1e-9)


@pytest.mark.parametrize("row", range(len(CUTS)))
def test_bounds_hold_all_that_a_cut_clears_and_no_more(row: int) -> None:
    laid = _laid_out(CUTS, row)
    wide = max(CUTS.wide_top[row], CUTS.wide_bottom[row])
    expected = np.concatenate([laid.min(axis=0) - wide, laid.max(axis=0) + wide])
    assert CUTS.bounds[row] == pytest.approx(expected, abs=1e-5)
    assert row in CUTS.tree.query(CUTS.tree.geometries[row])


def test_the_nearest_of_many_cuts_counts_its_width() -> None:
    points = np.random.default_rng(3).uniform(-4, 5, (40, 2))
    wide = np.linspace(0.0, 2.0, len(CUTS))
    expected = (CUTS.distances(points) - wide).min(axis=1)
    assert CUTS.nearest(points, wide) == pytest.approx(expected)


def test_cuts_along_one_path_are_one_as_deep_as_the_deepest() -> None:
    deeper = replace(CUTS, low=CUTS.low - 0.4, high=CUTS.high - 0.7, until=CUTS.until + 100,
                     piece=CUTS.piece + 100, wide_top=CUTS.wide_top + 0.1,
                     wide_bottom=CUTS.wide_bottom - 0.02)
    both = PlanCuts(**{name: np.concatenate([getattr(CUTS, name), getattr(deeper, name)])
                       for name in CUTS.__dataclass_fields__})
    found = both.distinct()
    assert len(found) == len(CUTS)
    order = np.argsort(found.piece)
    assert found.piece[order].tolist() == CUTS.piece.tolist()
    for name, expected in (("low", deeper.low), ("high", deeper.high), ("until", deeper.until),
                           ("wide_top", deeper.wide_top), ("wide_bottom", CUTS.wide_bottom),
                           ("start", CUTS.start), ("sweep", CUTS.sweep)):
        assert getattr(found, name)[order] == pytest.approx(expected), name
    assert len(CUTS.distinct()) == len(CUTS)
    pair = both.only(np.array([0, len(CUTS)]))
    assert len(pair.distinct()) == 1


def test_cuts_moved_are_the_same_cuts_elsewhere() -> None:
    moved = CUTS.moved(2.0, -3.0)
    points = np.random.default_rng(5).uniform(-4, 5, (10, 2))
    assert moved.distances(points + np.array([2.0, -3.0])) == pytest.approx(CUTS.distances(points))
    assert moved.key != CUTS.key
    assert moved.moved(-2.0, 3.0).key == CUTS.key
    assert replace(CUTS, low=CUTS.low - 1e-5).key != CUTS.key


def test_pieces_are_taken_with_their_levels_and_widths() -> None:
    made = motion([
        ("rapid", 1.0, 0.0, 1.0),
        ("line", 1.0, 0.0, -0.5),
        ("line", 4.0, 0.0, -0.2),
        ("cw", 6.0, 0.0, -0.2, 5.0, 0.0, {"plane": 1, "centre": (5.0, 0.0, -0.2)}),
        ("line", 6.0, 3.0, -1.0),
        ("ccw", 5.0, 4.0, -1.0, 5.0, 3.0),
        ("line", 5.0, 4.0, 0.5),
        ("line", 9.0, 4.0, 0.5),
    ])
    cuts = plan_cuts(made, {1: Cutter(kind="end-mill", diameter=1.0)}, 0.0, -1.0)
    assert sorted(set(cuts.piece.tolist())) == [1, 2, 3, 4, 5, 6]
    assert (cuts.until == cuts.piece).all()

    def of(piece: int) -> PlanCuts:
        return cuts.only(cuts.piece == piece)

    # Straight down or up: to its lowest end at one place.
    for piece, low in ((1, -0.5), (6, -1.0)):
        down = of(piece)
        assert (down.high.tolist(), down.low.tolist()) == ([low], [low])
    slope = of(2)
    assert (slope.high.tolist(), slope.low.tolist()) == ([-0.2], [-0.5])
    assert (slope.wide_top.tolist(), slope.wide_bottom.tolist()) == ([0.5], [0.0])
    level = of(5)
    assert level.sweep.tolist() == pytest.approx([pi / 2])
    assert (level.wide_top.tolist(), level.wide_bottom.tolist()) == ([0.5], [0.5])
    # An arc in an upright plane is a straight way from above, in chords that follow one another.
    upright = of(3)
    assert len(upright) > 3
    assert (upright.sweep == 0).all()
    assert upright.start[0] == pytest.approx([4.0, 0.0])
    assert upright.end[-1] == pytest.approx([6.0, 0.0])
    assert upright.start[1:] == pytest.approx(upright.end[:-1])
    assert upright.high.max() == pytest.approx(-0.2)
    assert upright.low.min() == pytest.approx(-1.2, abs=1e-3)


@pytest.mark.parametrize(("words", "depth", "wide"), [
    ("end-mill 1 2 flutes", 0.3, 0.5),
    ("ball-mill 1 2 flutes", 0.2, 0.4),
    ("ball-mill 1 2 flutes", 0.9, 0.5),
    ("end-mill 1 2 flutes corner 0.2", 0.2, 0.5),
    ("end-mill 1 2 flutes corner 0.2", 0.04, 0.3 + 0.12),
    ("countersink 2 angle 90 tip 0.4", 0.5, 0.7),
    ("countersink 2 angle 90 tip 0.4", 3.0, 1.0),
])
def test_a_cutter_clears_as_wide_as_its_edge_is_at_that_level(
    words: str, depth: float, wide: float
) -> None:
    made = motion([("rapid", 0.0, 0.0, -depth), ("line", 2.0, 0.0, None)])
    (found,) = plan_cuts(made, {1: parse_cutter(words)}, 0.0, -10.0).wide_top
    assert found == pytest.approx(wide)
    assert not len(plan_cuts(made, {1: parse_cutter(words)}, -depth, -10.0))
    assert plan_cuts(made, {}, 0.0, -10.0).wide_top.tolist() == [0.0]


def test_an_edge_is_freed_by_the_last_piece_that_cuts_it_through() -> None:
    square = [("line", 5.5, 5.5, -1.0), ("line", -5.5, 5.5, -1.0), ("line", -5.5, -5.5, -1.0),
              ("line", 5.5, -5.5, -1.0)]
    closing = ("line", 5.5, 5.5, -1.0)
    side = np.linspace(-5.0, 5.0, 21)
    far = np.full(21, 5.0)
    edge = Edge("outline", "outline", np.concatenate([
        np.column_stack(pair) for pair in ((side, far), (-far, side), (side, -far), (far, side))
    ]), np.full(84, 0.5))

    def freed(pieces: list[Piece]) -> int:
        made = motion(pieces, start=(5.5, 5.5, 1.0))
        return _freed(edge, plan_cuts(made, {1: Cutter(kind="end-mill", diameter=1.0)}, 0.0, -1.0))

    assert freed(square) == -1
    assert freed([*square, closing]) == 4
    assert freed([*square, closing, ("line", 7.0, 5.5, -1.0)]) == 4
    # Not through: a tenth of a millimetre is left.
    assert freed([(*piece[:3], -0.9) for piece in (*square, closing)]) == -1
    assert freed([("rapid", 7.0, 5.5, 1.0)]) == -1
