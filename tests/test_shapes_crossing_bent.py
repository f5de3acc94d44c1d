"""Crossings with bent arms and round openings, held against an independent construction; refusals
whose numbers work."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from sampling import few
from shapely.affinity import rotate

from camgen.faults import Refused
from camgen.shapes.crossing import crossing_openings, round_openings
from camgen.shapes.path import ArcTo, LineTo, direction


def arms_apart(arms: int, rim: float, wide: float, bend: float) -> shapely.Geometry:
    """Arms as bands about the middle line, drawn by points: no word of the exact construction."""
    radius, sense = abs(bend), math.copysign(1.0, bend)
    angle = np.linspace(0.0, min(math.pi, 2 * math.asin(min(1.0, rim / 2 / radius)) + 0.5), 500)
    line = np.column_stack([radius * np.sin(angle), sense * radius * (1 - np.cos(angle))])
    arm = shapely.LineString(line).buffer(wide / 2, cap_style="flat")
    return shapely.union_all([rotate(arm, 360 * k / arms, origin=(0, 0)) for k in range(arms)])


@settings(max_examples=few(25), deadline=None)
@given(arms=st.integers(2, 8), hub=st.floats(0.2, 0.5), wide=st.floats(0.03, 0.1),
       corner=st.floats(0.01, 0.05), bend=st.floats(0.6, 3.0), left=st.booleans())
def test_bent_arms_leave_what_bands_and_rings_leave(
    arms: int, hub: float, wide: float, corner: float, bend: float, left: bool
) -> None:
    rim = 10.0
    hub, wide, corner, bend = (rim * one for one in (hub, wide, corner, bend))
    bend = bend if left else -bend
    try:
        found = crossing_openings(arms, hub, rim, wide, wide, corner, 0.0, bend)
    except Refused:
        assume(False)
        raise
    regions = [opening.region(1e-4) for opening in found]
    assert len(found) == arms
    assert all(region.is_valid and opening.area > 0
               for region, opening in zip(regions, found, strict=True))
    middle = shapely.Point(0.0, 0.0)
    free = (middle.buffer(rim / 2, quad_segs=400).difference(middle.buffer(hub / 2, quad_segs=400))
            .difference(arms_apart(arms, rim, wide, bend)))
    rounded = free.buffer(-corner, quad_segs=32).buffer(corner, quad_segs=32)
    both = shapely.union_all(regions)
    assert rounded.symmetric_difference(both).area < 2e-3 * both.area
    # Rim, hub and arms keep their sizes.
    reach = np.hypot(*np.concatenate([opening.points(1e-4) for opening in found]).T)
    assert reach.max() == pytest.approx(rim / 2, abs=1e-6)
    assert reach.min() >= hub / 2 - 1e-6
    apart = shapely.distance(regions[0], regions[-1])
    assert apart == pytest.approx(wide, abs=2e-3) if reach.min() < hub / 2 + 1e-6 else True
    assert apart >= wide - 1e-3


@settings(max_examples=few(25), deadline=None)
@given(arms=st.integers(3, 7), at_rim=st.floats(0.03, 0.09), at_hub=st.floats(0.03, 0.09),
       bend=st.floats(0.8, 3.0), share=st.floats(0.0, 1.0))
def test_tapered_bent_arms_are_as_wide_as_ordered_and_a_cutter_touches_every_wall(
    arms: int, at_rim: float, at_hub: float, bend: float, share: float
) -> None:
    rim, hub, corner = 10.0, 3.5, 0.25
    at_rim, at_hub, bend = rim * at_rim, rim * at_hub, rim * bend
    assume(at_hub < 0.9 * hub * math.sin(math.pi / arms))
    try:
        walls = crossing_openings(arms, hub, rim, at_rim, at_hub, corner, 0.0, bend)
        paths = crossing_openings(arms, hub, rim, at_rim, at_hub, corner, share * corner, bend)
    except Refused:
        assume(False)
        raise
    ring = shapely.LinearRing(walls[0].points(1e-6))
    off = shapely.distance(shapely.points(paths[0].points(0.001)), ring)
    assert off.max() <= share * corner + 1e-5
    assert off.min() >= share * corner - 1e-5
    # Every joint is smooth.
    laid = list(walls[0].laid_out())
    for (at, piece), (start, after) in zip(laid, laid[1:] + laid[:1], strict=True):
        out, into = direction(at, piece, at_end=True), direction(start, after)
        assert math.dist(out, into) < 1e-5
    # The long arcs beside arm 1, at hub and rim: half a width off its middle line.
    beside = [(at, piece) for at, piece in laid if isinstance(piece, ArcTo)
              and math.dist(piece.centre, (0, 0)) > rim / 2]
    assert beside
    at, edge = beside[-1]
    assert isinstance(edge, ArcTo)
    for radius, wide in ((hub / 2, at_hub), (rim / 2, at_rim)):
        angle = 2 * math.asin(radius / 2 / bend)
        x = (bend - wide / 2) * math.sin(angle)
        y = bend - (bend - wide / 2) * math.cos(angle)
        assert math.dist((x, y), edge.centre) == pytest.approx(math.dist(at, edge.centre), abs=1e-6)


def test_a_very_wide_bend_is_a_straight_arm() -> None:
    straight = crossing_openings(5, 2.4, 9.0, 0.45, 0.6, 0.25)[0]
    bent = crossing_openings(5, 2.4, 9.0, 0.45, 0.6, 0.25, 0.0, 9000.0)[0]
    off = straight.region(1e-4).symmetric_difference(bent.region(1e-4)).area
    assert off < 0.01 * straight.area


@given(st.integers(2, 12), st.floats(0.4, 3.0), st.floats(3.0, 20.0), st.floats(0.0, 0.19))
def test_round_openings_are_circles_where_they_belong(
    circles: int, diameter: float, around: float, inset: float
) -> None:
    found = round_openings(circles, diameter, around, inset)
    for number, opening in enumerate(found):
        angle = math.tau * number / circles
        middle = shapely.Point(around / 2 * math.cos(angle), around / 2 * math.sin(angle))
        off = shapely.distance(shapely.points(opening.points(0.001)), middle)
        assert off == pytest.approx(diameter / 2 - inset, abs=1e-9)
    assert len(found) == circles


def remedies(*of: float) -> list[str]:
    with pytest.raises(Refused) as no:
        crossing_openings(*of)  # type: ignore[arg-type]
    (fault,) = no.value.faults
    return re.split(r", (?=corner|arms|bend)| or (?=arms|corner|a smaller)", str(fault.remedy))


@pytest.mark.parametrize("of", [
    (5, 8.8, 9.0, 0.45, 0.45, 0.25, 0.0, 0.0),
    (12, 2.4, 9.0, 2.4, 2.4, 0.25, 0.0, 0.0),
    (2, 1.0, 4.0, 3.9, 3.9, 0.25, 0.0, 0.0),
    (8, 3.0, 9.0, 1.0, 0.8, 1.4, 0.0, 0.0),
    (8, 3.0, 9.0, 1.0, 1.0, 1.4, 0.0, 9.0),
    (5, 2.4, 9.0, 0.45, 0.45, 0.25, 0.0, 2.0),
    (5, 2.4, 9.0, 0.45, 0.45, 0.25, 0.0, -2.0),
])
def test_every_number_of_a_refusal_works(of: tuple[float, ...]) -> None:
    tried = 0
    for remedy in remedies(*of):
        number = re.search(r"\d[\d.]*", remedy)
        if number is None:
            continue
        arms, hub, rim, at_rim, at_hub, corner, inset, bend = of
        if "corner:" in remedy:
            corner = float(number[0])
        elif "mm wide" in remedy:
            at_rim = at_hub = float(number[0])
        elif "arms:" in remedy:
            arms = int(number[0])
        elif "bend:" in remedy:
            assert ("-" in remedy) == (bend < 0)
            bend = math.copysign(float(number[0]), bend)
        tried += 1
        assert len(crossing_openings(int(arms), hub, rim, at_rim, at_hub, corner, inset,
                                     bend)) == arms
    assert tried


def test_lines_and_arcs_alone() -> None:
    for bend in (0.0, 6.0, -6.0):
        for opening in crossing_openings(4, 2.4, 9.0, 0.45, 0.45, 0.25, 0.1, bend):
            assert all(isinstance(piece, LineTo | ArcTo) for piece in opening.pieces)
