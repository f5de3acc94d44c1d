"""Arcs on a machine's grid: radii that agree, nothing that becomes a full circle by rounding."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.post.arcs import ArcBlock, ArcLimits, arc_limits, arc_pieces
from camgen.shop.machine import ArcWords

MM = 0.001
NIST_RADII_AGREE = 0.002
"""mm, NISTIR 6556, "The NIST RS274NGC Interpreter – Version 3" (from memory)."""

STYLES = st.sampled_from([
    ArcWords(),
    ArcWords(style="absolute"),
    ArcWords(style="radius"),
    ArcWords(quadrants=True),
    ArcWords(largest_sweep=60.0),
    ArcWords(style="radius", quadrants=True, smallest_radius=0.05, largest_radius=50.0),
    ArcWords(style="none"),
])
COUNT_MM = st.sampled_from([MM, 0.00254, 0.01])


@st.composite
def arcs(draw: st.DrawFn) -> tuple[tuple[float, float], float, float, float, bool, bool]:
    """Centre, radius, first direction, sweep, clockwise, full; in mm and radians."""
    centre = (draw(st.floats(-50, 50)), draw(st.floats(-50, 50)))
    radius = math.exp(draw(st.floats(math.log(1e-4), math.log(200.0))))
    start = draw(st.floats(-math.pi, math.pi))
    full = draw(st.booleans()) and draw(st.booleans())
    sweep = 2 * math.pi if full else draw(st.one_of(
        st.floats(1e-7, 2 * math.pi - 1e-7),
        st.sampled_from([math.pi / 2, math.pi, 3 * math.pi / 2, 2 * math.pi - 1e-6, 1e-5]),
    ))
    return centre, radius, start, sweep, draw(st.booleans()), full


def pieces_of(
    arc: tuple[tuple[float, float], float, float, float, bool, bool], limits: ArcLimits,
    count_mm: float,
) -> tuple[list[ArcBlock], tuple[int, int], tuple[int, int], tuple[float, float], float]:
    """The blocks of an arc, its rounded ends, its centre and radius in counts."""
    (cx, cy), radius, start, sweep, clockwise, full = arc
    turn = -sweep if clockwise else sweep
    c = (cx / count_mm, cy / count_mm)
    r = radius / count_mm
    p = (c[0] + r * math.cos(start), c[1] + r * math.sin(start))
    q = p if full else (c[0] + r * math.cos(start + turn), c[1] + r * math.sin(start + turn))
    here, end = (round(p[0]), round(p[1])), (round(q[0]), round(q[1]))
    return arc_pieces(here, end, p, q, c, clockwise, full, limits), here, end, c, r


def sweep_read(start: tuple[int, int], piece: ArcBlock, clockwise: bool) -> float:
    """The sweep a control makes of one block: more than nothing, up to a full turn."""
    assert piece.centre is not None
    u = (start[0] - piece.centre[0], start[1] - piece.centre[1])
    v = (piece.a - piece.centre[0], piece.b - piece.centre[1])
    turn = math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])
    turn = -turn if clockwise else turn
    return turn if turn > 0 else turn + 2 * math.pi


@settings(max_examples=few(120), deadline=None)
@given(arcs(), STYLES, COUNT_MM)
@example(((0.0, 0.0), 1.0, 0.0, 2 * math.pi - 1e-6, False, False), ArcWords(), MM)
@example(((0.0, 0.0), 1.0, 0.3, 1e-5, True, False), ArcWords(), MM)
def test_blocks_join_up_and_end_at_the_rounded_end(
    arc: tuple[tuple[float, float], float, float, float, bool, bool], words: ArcWords,
    count_mm: float,
) -> None:
    limits = arc_limits(words, count_mm, 1)
    pieces, here, end, _, _ = pieces_of(arc, limits, count_mm)
    for piece in pieces:
        assert (piece.a, piece.b) != here, "a block that goes nowhere"
        here = (piece.a, piece.b)
    assert here == end


@settings(max_examples=few(120), deadline=None)
@given(arcs(), STYLES, COUNT_MM)
def test_both_radii_of_every_arc_agree_as_the_nist_rule_asks(
    arc: tuple[tuple[float, float], float, float, float, bool, bool], words: ArcWords,
    count_mm: float,
) -> None:
    limits = arc_limits(words, count_mm, 1)
    pieces, here, _, _, _ = pieces_of(arc, limits, count_mm)
    for piece in pieces:
        if piece.centre is not None:
            radii = [math.dist(point, piece.centre) for point in (here, (piece.a, piece.b))]
            assert abs(radii[0] - radii[1]) * count_mm <= NIST_RADII_AGREE + 1e-9
            assert min(radii) > 0
        here = (piece.a, piece.b)


@settings(max_examples=few(120), deadline=None)
@given(arcs(), STYLES)
def test_no_block_sweeps_more_than_asked_and_radius_form_stays_well_below_half_a_turn(
    arc: tuple[tuple[float, float], float, float, float, bool, bool], words: ArcWords,
) -> None:
    limits = arc_limits(words, MM, 1)
    pieces, here, _, _, radius = pieces_of(arc, limits, MM)
    whole = arc[3]
    total = 0.0
    for piece in pieces:
        if piece.centre is not None:
            swept = sweep_read(here, piece, arc[4])
            # Rounding both ends of a short arc turns them by up to a count each.
            slack = 3.0 / radius
            assert swept <= limits.longest_sweep + slack
            if words.style == "radius":
                assert swept < math.pi
            total += swept
        here = (piece.a, piece.b)
    assert total <= whole + (len(pieces) + 1) * 3.0 / radius


@settings(max_examples=few(120), deadline=None)
@given(arcs(), STYLES, COUNT_MM)
def test_what_is_written_lies_on_the_planned_arc(
    arc: tuple[tuple[float, float], float, float, float, bool, bool], words: ArcWords,
    count_mm: float,
) -> None:
    limits = arc_limits(words, count_mm, 1)
    pieces, here, _, centre, radius = pieces_of(arc, limits, count_mm)
    for piece in pieces:
        to = (piece.a, piece.b)
        if piece.centre is None:
            middle = ((here[0] + to[0]) / 2, (here[1] + to[1]) / 2)
        else:
            swept = sweep_read(here, piece, arc[4]) / 2 * (-1 if arc[4] else 1)
            u = (here[0] - piece.centre[0], here[1] - piece.centre[1])
            middle = (piece.centre[0] + u[0] * math.cos(swept) - u[1] * math.sin(swept),
                      piece.centre[1] + u[0] * math.sin(swept) + u[1] * math.cos(swept))
        off = abs(math.dist(middle, centre) - radius)
        # One count for rounding, two where a coarse grid leaves the centre no nearer place.
        assert off <= 2.1 + words.tolerance / count_mm
        here = to


@pytest.mark.parametrize("words", [ArcWords(), ArcWords(style="absolute"),
                                   ArcWords(style="radius"), ArcWords(quadrants=True)])
@pytest.mark.parametrize("clockwise", [False, True])
@pytest.mark.parametrize("radius", [0.05, 0.4, 3.217, 25.0])
def test_a_circle_is_at_most_four_blocks(
    words: ArcWords, clockwise: bool, radius: float
) -> None:
    arc = ((1.2345, -7.654), radius, 0.7, 2 * math.pi, clockwise, True)
    pieces, _, _, _, _ = pieces_of(arc, arc_limits(words, MM, 1), MM)
    crossings = 5 if words.quadrants else 4
    assert 2 <= len(pieces) <= crossings
    on_axis = ((0.0, 0.0), 2.5, 0.0, 2 * math.pi, clockwise, True)
    assert len(pieces_of(on_axis, arc_limits(words, MM, 1), MM)[0]) <= 4


@pytest.mark.parametrize(("words", "blocks"), [
    (ArcWords(), 2), (ArcWords(largest_sweep=100.0), 4), (ArcWords(largest_sweep=179.0), 3),
    (ArcWords(style="radius"), 3), (ArcWords(style="radius", largest_sweep=119.0), 4),
    (ArcWords(style="radius", largest_sweep=80.0), 5),
])
def test_a_circle_is_parted_no_oftener_than_its_form_asks(words: ArcWords, blocks: int) -> None:
    circle = ((0.0, 0.0), 2.5, 0.0, 2 * math.pi, False, True)
    assert len(pieces_of(circle, arc_limits(words, MM, 1), MM)[0]) == blocks


@pytest.mark.parametrize(("tolerance", "grid", "error"), [
    (0.01, 1, 9.2928), (0.01, 5, 6.464), (0.001, 1, 0.2928), (0.001, 5, 0.25), (0.002, 5, 0.5)])
def test_chords_leave_room_for_the_rounding_of_their_ends(
    tolerance: float, grid: int, error: float
) -> None:
    limits = arc_limits(ArcWords(tolerance=tolerance), MM, grid)
    assert limits.chord_error == pytest.approx(error)
    assert limits.grid == grid


def test_an_arc_that_rounds_to_nothing_is_dropped() -> None:
    limits = arc_limits(ArcWords(), MM, 1)
    tiny = ((0.0, 0.0), 5.0, 0.00001, 0.00002, False, False)
    assert pieces_of(tiny, limits, MM)[0] == []


def test_a_nearly_closed_circle_stays_a_circle_when_its_ends_round_together() -> None:
    limits = arc_limits(ArcWords(), MM, 1)
    nearly = ((0.0, 0.0), 5.0, 0.0, 2 * math.pi - 1e-6, False, False)
    pieces, here, end, _, _ = pieces_of(nearly, limits, MM)
    assert here == end
    assert [(piece.a, piece.b) for piece in pieces] == [(-5000, 0), (5000, 0)]


@settings(max_examples=few(120), deadline=None)
@given(arcs(), st.sampled_from([0.0005, 0.002, 0.02]))
def test_chords_keep_within_their_stated_error(
    arc: tuple[tuple[float, float], float, float, float, bool, bool], tolerance: float
) -> None:
    words = ArcWords(style="none", tolerance=tolerance)
    pieces, here, _, centre, radius = pieces_of(arc, arc_limits(words, 0.0001, 1), 0.0001)
    for piece in pieces:
        assert piece.centre is None
        middle = ((here[0] + piece.a) / 2, (here[1] + piece.b) / 2)
        if radius * 0.0001 > tolerance:
            assert abs(math.dist(middle, centre) - radius) * 0.0001 <= tolerance + 1e-6
        here = (piece.a, piece.b)
