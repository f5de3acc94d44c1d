"""What is above a cutter's edges, swept along its way: no place is left out between samples."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_by_hand import MILL, Piece, bench_mill, flat, program
from sampling import few
from shapely import box
from shapely.geometry import Polygon

from camgen.job.models import Job, Setup
from camgen.proof.evidence import gather
from camgen.proof.result import Proof
from camgen.proof.table.cutter_body import prove_cutter_body
from camgen.proof.table.swept import Stretches, _first_times, _upright
from camgen.shop.cutters import Cutter

# Opens wide ground first; then a mill whose shank is thick goes over it.
WIDE = Cutter(kind="end-mill", diameter=8.0, flute_length=10.0)
THICK = MILL.model_copy(update={"flute_length": 0.5, "shank": 4.0, "reach": 40.0})
SECOND: dict[str, object] = {"cutter": 2}


def body(pieces: list[Piece], cutter: Cutter = THICK, part: str = "shank",
         stock: Polygon | None = None) -> Proof:
    job = Job(job="by hand", material="brass", cutters={"wide": WIDE, "cutter": cutter},
              setups=(Setup(name="work"),))
    layout = flat(thickness=3.0, stock=box(-80, -80, 80, 80) if stock is None else stock)
    found = prove_cutter_body(
        gather("work", job, bench_mill(), layout, None, [program(pieces)], {1: WIDE, 2: cutter}))
    return {str(proof.id): proof for proof in found}[f"table.cutter-body: {part}, cutter 2"]


def opened(gap: tuple[float, float] | None = None) -> list[Piece]:
    """A groove 8 mm wide along X from −60 to 60, 2 mm deep; a wall may stand across it.

    ``gap`` is where along X its two halves end.
    """
    ends = [(-60.0, 60.0)] if gap is None else [(-60.0, gap[0] - 4), (gap[1] + 4, 60.0)]
    pieces: list[Piece] = []
    for begin, end in ends:
        pieces += [("rapid", begin, 0, 5), ("line", None, None, -2), ("line", end, None, None),
                   ("rapid", None, None, 5)]
    return pieces


def over(y: float, kind: str = "line", z: float = -1.0) -> list[Piece]:
    """One long way through the groove by the second cutter, below its flutes' length."""
    return [("rapid", -55, y, 5, SECOND), ("line", None, None, z, SECOND),
            (kind, 55, y, None, SECOND), ("rapid", None, None, 5, SECOND)]


@settings(max_examples=few(25), deadline=None)
@given(st.floats(-1.97, 1.97), st.sampled_from(["line", "rapid"]))
def test_a_shank_in_a_groove_wider_than_itself_is_clear_on_every_way(y: float, kind: str) -> None:
    assert body([*opened(), *over(y, kind)]).holds


@settings(max_examples=few(25), deadline=None)
@given(st.floats(2.02, 3.4), st.sampled_from([-1, 1]), st.sampled_from(["line", "rapid"]))
def test_a_shank_too_near_the_wall_of_a_groove_is_caught(y: float, side: int, kind: str) -> None:
    found = body([*opened(), *over(side * y, kind)])
    assert not found.holds
    assert found.figure == pytest.approx(0.5)


@settings(max_examples=few(25), deadline=None)
@given(st.floats(-40, 40), st.floats(0.02, 0.5), st.sampled_from(["line", "rapid"]))
def test_a_thin_wall_planted_across_a_long_way_is_caught(
    x: float, thick: float, kind: str
) -> None:
    found = body([*opened((x, x + thick)), *over(0.0, kind)])
    assert not found.holds
    assert found.figure == pytest.approx(0.5)


def test_what_is_in_metal_and_what_may_only_be_near_it_is_said_with_the_end_s_height() -> None:
    """At 2 mm from the middle the shank touches the wall, to within a chord."""
    for y, near in ((2.0, True), (2.1, False)):
        found = body([*opened(), *over(y)])
        assert not found.holds
        assert found.where.startswith(f"X -55.000 Y {y:.3f} Z -1.000, the shank's end at Z -0.500")
        assert ("not shown" in found.where) is near


def test_one_of_very_many_stretches_touches_and_is_found_at_its_line() -> None:
    """More than ten thousand short ways in a groove; a single one comes 0.06 mm too near."""
    xs = np.linspace(-50, 50, 10_400)
    ways: list[Piece] = [("line", round(float(x), 4), 0.3 * math.sin(n), None, SECOND)
                         for n, x in enumerate(xs)]
    begin: list[Piece] = [*opened(), ("rapid", -50, 0, 5, SECOND),
                          ("line", None, None, -1.0, SECOND)]
    assert body([*begin, *ways]).holds
    at = 7_301
    ways[at] = ("line", ways[at][1], 2.06, None, SECOND)
    found = body([*begin, *ways])
    assert not found.holds
    assert found.line in (len(begin) + at + 1, len(begin) + at + 2)


def test_a_post_left_standing_meets_the_spindles_nose() -> None:
    """Stock far above the work: the nose, wider than the nut, comes down beside it."""
    short = MILL.model_copy(update={"reach": 1.0, "holder": 0.9})
    down: list[Piece] = [("rapid", 0, 0, 30, SECOND), ("line", None, None, -22, SECOND)]
    beside = box(10, -2, 14, 2)
    found = body(down, short, "spindle's nose", beside)
    assert not found.holds
    assert found.figure == pytest.approx(1.0)
    with pytest.raises(KeyError):
        body(down, short, "spindle's nose", box(30, -2, 34, 2))
    with pytest.raises(KeyError):
        body([*down[:1], ("line", None, None, -20.9, SECOND)], short, "spindle's nose", beside)


@settings(max_examples=few(20), deadline=None)
@given(st.floats(0, 2 * math.pi), st.floats(2.4, 3.6))
def test_a_sloping_way_is_judged_by_how_low_the_shank_is_beside_each_wall(
    turn: float, away: float
) -> None:
    """Out of the ground straight up a slope: far from the wall the shank is above the stock."""
    wide: list[Piece] = [("rapid", 0, 0, 5), ("line", None, None, -2), ("rapid", None, None, 5)]
    x, y = away * math.cos(turn), away * math.sin(turn)
    start: list[Piece] = [("rapid", 0, 0, 5, SECOND), ("line", None, None, -1.0, SECOND)]
    # The wall is 4 mm from the middle and the shank 2 mm: it may come 2 mm across below the top.
    steep = (2.0 - 0.05) / away
    for share, holds in ((steep, True), ((2.0 + 0.05) / away, False)):
        rise = -1.0 + 0.5 / share
        assert body([*wide, *start, ("line", x, y, rise, SECOND)]).holds is holds


def test_a_way_is_upright_where_neither_x_nor_y_changes() -> None:
    start = np.array([[3.0, -2.0, 1.0], [3.0, -2.0, 1.0], [3.0, -2.0, 1.0], [0.0, 0.0, 1.0]])
    end = np.array([[3.0, -2.0, -1.0], [3.1, -2.0, -1.0], [3.0, -2.1, 1.0], [0.0, 0.0, -4.0]])
    assert _upright(Stretches(start, end, np.arange(4))).tolist() == [True, False, False, True]


def test_a_way_gone_again_or_back_is_looked_at_once_where_it_was_first_gone() -> None:
    a, b, c = (0.0, 0.0, 0.0), (1.0, 2.0, -1.0), (1.0, 2.0, 0.5)
    ways = [(b, c), (a, b), (b, a), (a, b), (c, b), (a, c)]
    first = _first_times(Stretches(*(np.array(side) for side in zip(*ways, strict=True)),
                                   np.array([5, 4, 3, 7, 1, 9])))
    # In the order given, of each way the one with the lowest piece.
    assert sorted(first.piece.tolist()) == [1, 3, 9]
