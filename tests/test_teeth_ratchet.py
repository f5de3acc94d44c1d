"""Ratchet wheels: fronts, backs, depth, and what is refused."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from camgen.faults import Refused
from camgen.teeth.outlines.curves import FlankArc, Line
from camgen.teeth.outlines.ratchet import _least_radius, cutter_offset, ratchet_tooth


@pytest.mark.parametrize("back", ["straight", "curved"])
@pytest.mark.parametrize("front", [0.0, 5.0, 10.0, 20.0])
def test_front_lies_on_a_line_r_sin_beta_from_the_middle(front: float, back: str) -> None:
    # Geometry; a published clockmaker's note on escape-wheel cutters uses 10 degrees.
    tooth = ratchet_tooth(30, 0.3, front=front, back=back)
    line = [piece for piece in tooth.profile if isinstance(piece, Line)][-1]
    way = (line.end - line.start) / abs(line.end - line.start)
    beside = abs((line.end.conjugate() * way).imag)
    assert beside == pytest.approx(cutter_offset(tooth.tip_radius, front), abs=1e-9)
    assert abs(line.end) == pytest.approx(tooth.tip_radius)
    # Undercut means that the foot of the front lies inside the tooth, at the larger angle.
    assert np.angle(line.start) >= np.angle(line.end) - 1e-12


def test_sizes_are_measured_at_the_tips() -> None:
    sizes = ratchet_tooth(40, 0.25, depth=0.35).sizes
    assert sizes.tip_diameter == sizes.pitch_diameter == 10.0
    assert sizes.root_diameter == pytest.approx(9.3)
    assert sizes.whole_depth == pytest.approx(0.35)


@pytest.mark.parametrize("back", ["straight", "curved"])
@pytest.mark.parametrize(("teeth", "depth"), [(12, 0.8), (30, 0.5), (48, 0.4), (120, 0.3)])
def test_the_deepest_point_is_the_root_and_lies_on_the_x_axis(teeth, depth, back) -> None:
    tooth = ratchet_tooth(teeth, 0.4, front=6.0, back=back, depth=depth)
    points = tooth.chain(1e-6)
    lowest = points[np.argmin(np.abs(points))]
    assert abs(lowest) == pytest.approx(tooth.root_radius, abs=1e-9)
    assert abs(lowest.imag) < 1e-9
    assert points.real.min() == pytest.approx(tooth.root_radius, abs=1e-9)


def test_rounding_joins_back_and_front_without_a_corner() -> None:
    for back in ("straight", "curved"):
        for front in (0.0, 12.0):
            pieces = ratchet_tooth(24, 0.4, front=front, back=back).profile

            def heading(piece, end: bool) -> complex:
                if isinstance(piece, Line):
                    way = piece.end - piece.start
                else:
                    out = (piece.end if end else piece.start) - piece.centre
                    way = out * 1j * math.copysign(1, piece.sweep)
                return way / abs(way)

            # The pieces are: land, back, two arcs of the rounding, front, land.
            assert len(pieces) == 6
            for before, after in itertools.pairwise(pieces[1:5]):
                assert abs(before.end - after.start) < 1e-9
                assert abs(heading(before, True) - heading(after, False)) < 1e-6


def test_curved_back_bulges_outwards_but_stays_within_the_tip_circle() -> None:
    tooth = ratchet_tooth(30, 0.3, back="curved", depth=0.4)
    back = tooth.profile[1]
    assert isinstance(back, FlankArc)
    points = back.at(np.linspace(0, 1, 100))
    chord = back.end - back.start
    left = ((points[1:-1] - back.start) / chord).imag
    assert left.max() < 0, "the arc lies to the right of its chord, outside the tooth's body"
    assert np.abs(points).max() <= tooth.tip_radius + 1e-12


@pytest.mark.parametrize(
    ("teeth", "words", "fault"),
    [
        (5, {}, "at least 6"),
        (20, {"depth": 4.2}, "body"),
        (20, {"front": 30.0, "depth": 2.6}, "body"),
        (8, {"depth": 0.3}, "dip"),
        (6, {"front": 20.0}, "dip"),
    ],
)
def test_ratchets_that_cannot_be_are_refused(teeth, words, fault) -> None:
    with pytest.raises(Refused, match=fault):
        ratchet_tooth(teeth, 0.5, **words)


@pytest.mark.parametrize(
    "piece",
    [
        Line(3 + 1j, 1 + 0.2j),
        Line(1 + 0.2j, 3 + 1j),
        Line(2 - 3j, 2 + 1j),
        FlankArc(3 + 0j, 1 + 0j, 2.5),
        FlankArc(3 + 0j, 1 + 0j, 4.0),
        FlankArc(0.5 - 2j, 0.5 + 0j, -0.4),
        FlankArc(0.5 - 2j, 0.5 + 0j, -3.0),
        FlankArc(1.5 + 1j, 1 + 1j, 0.3),
    ],
)
def test_the_least_radius_of_a_piece_is_its_nearest_point(piece: Line | FlankArc) -> None:
    nearest = float(np.abs(piece.at(np.linspace(0.0, 1.0, 4001))).min())
    assert _least_radius(piece) == pytest.approx(nearest, abs=1e-6)
