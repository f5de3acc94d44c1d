"""Crossings, outlines and bores: the cutter keeps to its side of the wall and reaches all of it."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from sampling import few, sampled
from workshop import WHEEL, Stroke, blanks, strokes

from camgen.faults import Refused
from camgen.layout import FlatLayout
from camgen.moves import Arc, Feed, Rapid
from camgen.plan import PlannedSetup
from camgen.shapes.path import ArcTo, Path, Point, circle, sweep
from camgen.steps.holes.bore import ring_radii
from camgen.steps.moving import Feeds, follow, leads
from camgen.steps.walls.tabs import lifted

MILL = 0.2  # radius of the end mill, mm
CHORD = 1e-5


def flat(planned: PlannedSetup) -> FlatLayout:
    assert isinstance(planned.layout, FlatLayout)
    return planned.layout


def in_metal(planned: PlannedSetup, section: int = 0) -> list[Stroke]:
    """Fed moves with some of their way below the stock's top."""
    return [
        stroke
        for stroke in strokes(planned.moves.sections[section].moves)
        if not isinstance(stroke.move, Rapid)
        and min(stroke.start[2], stroke.end[2]) < flat(planned).top
    ]


def points(stroke: Stroke, tolerance: float = CHORD) -> np.ndarray:
    start, piece = stroke.piece
    return Path(start, (piece,), closed=False).points(tolerance)


def ways(stroke: Stroke) -> tuple[np.ndarray, np.ndarray]:
    """Unit directions in the plane where the move begins and ends."""
    start, piece = stroke.piece
    if not isinstance(piece, ArcTo):
        way = np.subtract(piece.end, start)
        return way / np.hypot(*way), way / np.hypot(*way)
    found = []
    for point in (start, piece.end):
        out = np.subtract(point, piece.centre)
        way = np.array([-out[1], out[0]]) / np.hypot(*out) * (-1 if piece.clockwise else 1)
        found.append(way)
    return found[0], found[1]


@pytest.mark.long
@pytest.mark.parametrize("direction", sampled(["climb", "conventional"], 2))
def test_crossing_out_stays_in_its_opening_and_clears_its_wall(direction: str) -> None:
    planned = blanks(f"cross-out: {{cutter: mill, direction: {direction}}}")
    layout = flat(planned)
    allowed = shapely.union_all(
        [
            opening.moved(x, y).region(1e-6).buffer(-MILL + 1e-5)
            for x, y in layout.places
            for opening in layout.part.openings
        ]
    )
    lines = [points(stroke) for stroke in in_metal(planned) if stroke.start[:2] != stroke.end[:2]]
    tracks = shapely.multilinestrings([shapely.linestrings(line) for line in lines])
    assert allowed.covers(tracks)
    deepest = min(stroke.end[2] for stroke in in_metal(planned))
    swept = shapely.union_all(
        [
            shapely.LineString(points(stroke)).buffer(MILL, quad_segs=32)
            for stroke in in_metal(planned)
            if stroke.start[2] == stroke.end[2] == deepest
        ]
    )
    for x, y in layout.places:
        for opening in layout.part.openings:
            ring = opening.moved(x, y).region(1e-4).exterior
            assert shapely.hausdorff_distance(ring.intersection(swept.buffer(2e-3)), ring) < 0.01
    assert layout.floor <= deepest < layout.bottom


@pytest.mark.parametrize(
    ("step", "inside"), [("cross-out", True), ("outline", False), ("bore", True)]
)
@pytest.mark.parametrize("direction", ["climb", "conventional"])
def test_climb_keeps_the_wall_on_the_right_of_the_cutters_way(
    step: str, inside: bool, direction: str
) -> None:
    """G41 puts the cutter left of the wall (ISO 6983-1), which for M3 is climb milling."""
    planned = blanks(f"{step}: {{cutter: mill, direction: {direction}}}")
    floor = min(stroke.end[2] for stroke in in_metal(planned))
    on_floor = [s for s in in_metal(planned) if s.start[2] == s.end[2] == floor]
    turned = sum(
        sweep(*stroke.piece) for stroke in on_floor if isinstance(stroke.piece[1], ArcTo)
    )
    anticlockwise = turned > 0
    assert anticlockwise == (inside == (direction == "climb"))


@pytest.mark.parametrize("step", ["cross-out", "outline", "bore"])
def test_the_last_pass_is_entered_and_left_along_its_own_direction(step: str) -> None:
    planned = blanks(f"{step}: {{cutter: mill}}")
    floor = min(stroke.end[2] for stroke in in_metal(planned))
    moving = list(strokes(planned.moves.sections[0].moves))
    kinks = 0
    for before, after in itertools.pairwise(moving):
        if isinstance(before.move, Rapid) or isinstance(after.move, Rapid):
            continue
        level = all(s.start[2] == s.end[2] == floor for s in (before, after))
        if not level or before.start[:2] == before.end[:2]:
            continue
        if np.dot(ways(before)[1], ways(after)[0]) < 1 - 1e-6:
            kinks += 1
    # Only where roughing ends and the arc onto the finished wall begins may the cutter turn
    # sharply: once for a wall, twice for a bore, whose arc begins in the middle of the hole.
    walls = {"cross-out": 20, "outline": 4, "bore": 4}[step]
    assert kinks <= walls * (2 if step == "bore" else 1)


def test_no_rapid_is_made_below_the_clearance_and_each_moves_one_way() -> None:
    planned = blanks(
        "spot: {cutter: spot}",
        "drill: {cutter: drill}",
        "bore: {cutter: mill, drilled: 0.6}",
        "cross-out: {cutter: mill}",
        "outline: {cutter: mill}",
    )
    layout = flat(planned)
    for section in planned.moves.sections:
        for stroke in strokes(section.moves):
            if not isinstance(stroke.move, Rapid):
                continue
            rises = stroke.end[2] >= stroke.start[2]
            across = stroke.move.x is not None or stroke.move.y is not None
            assert stroke.end[2] >= layout.top + layout.clearance
            assert not (across and stroke.move.z is not None)
            # Within a step it goes as low as what stands there allows: here the face alone.
            high = {layout.safe_height, layout.face + layout.clearance}
            if across:
                assert stroke.start[2] in high
            else:
                assert rises or stroke.start[2] in high or math.isnan(stroke.start[2])


def test_a_section_begins_and_ends_at_the_safe_height() -> None:
    planned = blanks("bore: {cutter: mill}", "outline: {cutter: mill}")
    for section in planned.moves.sections:
        assert section.moves[0] == section.moves[-1] == Rapid(z=planned.moves.retract_to)
        assert planned.moves.retract_axis == "Z"


@pytest.mark.parametrize("step", ["cross-out", "outline", "bore"])
def test_the_way_down_into_metal_is_never_steeper_than_the_ramp(step: str) -> None:
    planned = blanks(f"{step}: {{cutter: mill}}")
    steepest = math.tan(math.radians(planned.cuts[0].ramp_angle))
    for stroke in in_metal(planned):
        fall = stroke.start[2] - stroke.end[2]
        if fall <= 0 or stroke.start[2] > 0:
            continue
        start, piece = stroke.piece
        length = Path(start, (piece,), closed=False).length
        assert fall <= length * steepest * (1 + 1e-6)


def test_no_lap_goes_deeper_than_the_planned_depth() -> None:
    planned = blanks("outline: {cutter: mill}")
    heights = [stroke.end[2] for stroke in in_metal(planned)]
    # Two half circles to a lap.
    falls = [before - after for before, after in zip(heights, heights[2:], strict=False)]
    assert max(falls) <= planned.cuts[0].depth * (1 + 1e-9)


@given(st.floats(0.25, 5.0), st.floats(0.05, 0.24), st.floats(1.0, 500.0))
def test_the_wall_of_a_hole_sees_the_feed_that_was_planned(
    hole: float, cutter: float, feed: float
) -> None:
    """The wall passes F·R/(R − r) when the axis goes at F (plane geometry): so F is lowered."""
    feeds = Feeds(feed, feed / 3, cutter, acceleration=1e9)
    axis = feeds.on_arc(hole - cutter, inside=True)
    assert axis * hole / (hole - cutter) == pytest.approx(feed)


@given(st.floats(0.02, 5.0), st.floats(0.02, 1.0), st.booleans(),
       st.tuples(*[st.sampled_from((-0.5, 0.0, 0.5))] * 2), st.sampled_from((0.001, 0.00254, 0.01)))
def test_z_follows_a_slope_also_when_its_ends_are_rounded(
    level: float, rise: float, down: bool, rounded: tuple[float, float], step: float
) -> None:
    """A line's Z goes at F·Δz over its length (plane geometry), with Δz as written."""
    feeds = Feeds(1000.0, 600.0, 0.2, 250.0, upright=600.0, rounding=step)
    feed = feeds.sloped(1000.0, level, rise if down else -rise)
    written = math.hypot(level + 2 * rounded[0] * step, rise + 2 * rounded[1] * step)
    assert feed * (rise + 2 * rounded[1] * step) / written <= 600.0 * (1 + 1e-9)


def test_small_arcs_keep_to_the_machines_acceleration() -> None:
    """v² = a·ρ: 250 mm/s² on a circle of 0.1 mm radius allow 5 mm/s."""
    feeds = Feeds(1000.0, 100.0, 0.2, acceleration=250.0)
    assert feeds.on_arc(0.1, inside=False) == pytest.approx(300.0)


@given(
    st.floats(0.05, 20.0),
    st.floats(0.01, 0.45),
    st.floats(0.01, 1.0),
    st.booleans(),
    st.booleans(),
)
def test_lead_arcs_are_tangent_and_begin_where_there_is_room(
    radius: float, lead_share: float, room_share: float, clockwise: bool, climb: bool
) -> None:
    wall_on_right = climb
    path = circle(Point(1.0, -2.0), radius, 33.0, clockwise)
    lead = lead_share * radius
    room = room_share * lead
    onto, off = leads(path, wall_on_right, lead, room)
    ring = math.dist(path.start, (1.0, -2.0))
    inside = clockwise != wall_on_right
    for end in (onto.start, off.end):
        off_path = math.dist(end, (1.0, -2.0)) - ring
        assert off_path == pytest.approx(-room if inside else room, abs=1e-7)
    assert math.dist(onto.end, path.start) < 1e-9
    arc = Stroke(follow(onto, Feeds(1, 1, 1, 1), climb)[0], (*onto.start, 0), (*onto.end, 0))
    first = Stroke(
        follow(path, Feeds(1, 1, 1, 1), climb)[0], (*path.start, 0), (*path.pieces[0].end, 0)
    )
    assert np.dot(ways(arc)[1], ways(first)[0]) == pytest.approx(1.0)


@given(
    st.floats(-1.0, -0.1),
    st.floats(0.0, 0.3),
    st.lists(st.floats(0.0, 8.0), min_size=1, max_size=4),
    st.floats(0.05, 0.5),
    st.floats(-0.8, 0.0),
)
def test_over_a_tab_the_cutter_is_never_lower_than_its_top(
    finish: float, fall: float, middles: list[float], half: float, top: float
) -> None:
    length = 8.0
    profile = lifted(((0.0, finish + fall), (length, finish)), middles, half, top)
    assert [at for at, _ in profile] == sorted(at for at, _ in profile)
    places = np.linspace(0.0, length, 801)
    heights = np.interp(places, *zip(*profile, strict=True))
    plain = finish + fall - fall * places / length
    off = np.min(
        [np.abs((places - m + length / 2) % length - length / 2) for m in middles], axis=0
    )
    expected = np.maximum(plain, top - np.maximum(0.0, off - half))
    np.testing.assert_allclose(heights, expected, atol=1e-9)


def test_tabs_stand_where_the_layout_says_and_nowhere_else() -> None:
    planned = blanks(
        "cross-out: {cutter: mill, tabs: {count: 2, width: 0.3, height: 0.1}}", holds_slugs=False
    )
    layout = flat(planned)
    assert len(layout.tabs) == 2 * 5
    top = layout.bottom + 0.1
    assert {tab.top for tab in layout.tabs} == {top}
    x, y = layout.places[0]
    low = shapely.union_all(
        [
            shapely.LineString(points(s)).buffer(MILL, quad_segs=16)
            for s in in_metal(planned)
            if max(s.start[2], s.end[2]) < top - 1e-9 and s.start[:2] != s.end[:2]
            # The piece looked at, of four 13 mm apart.
            and math.dist(s.end[:2], (x, y)) < 6.5
        ]
    )
    for opening in layout.part.openings:
        wall = opening.moved(x, y)
        near = [
            tab
            for tab in layout.tabs
            if shapely.Point(tab.x + x, tab.y + y).distance(wall.region(0.001)) < MILL
        ]
        assert len(near) == 2
        held = wall.region(0.001).exterior.difference(low.buffer(0.003))
        inside = shapely.union_all(
            [shapely.Point(tab.x + x, tab.y + y).buffer(tab.radius) for tab in near]
        )
        assert inside.covers(held)
        # Each tab is at least as wide at its top as was asked for.
        parts = [part for part in getattr(held, "geoms", [held]) if part.length > 0.1]
        assert sum(part.length for part in parts) >= 2 * 0.3


def test_pieces_that_would_come_loose_are_refused() -> None:
    for step, what in (("cross-out", "slugs"), ("outline", "piece")):
        with pytest.raises(Refused, match=f"nothing holds the {what}") as no:
            blanks(f"{step}: {{cutter: mill}}", holds_slugs=False)
        assert no.value.faults[0].place.line > 0


@given(st.floats(0.01, 5.0), st.floats(0.02, 1.0), st.floats(0.0, 1.0))
def test_boring_rings_leave_no_core_and_take_no_more_than_their_share(
    last: float, cutter: float, open_share: float
) -> None:
    open_radius = last * open_share - cutter
    radii = ring_radii(last, cutter, open_radius)
    assert radii[-1] == pytest.approx(last)
    assert radii[0] < cutter or radii[0] - cutter <= open_radius + cutter
    steps = [after - before for before, after in itertools.pairwise(radii)]
    assert all(0 < step <= 0.8 * cutter * (1 + 1e-9) for step in steps)


def test_the_bore_is_brought_to_size_and_sprung() -> None:
    planned = blanks(
        "bore: {cutter: mill, drilled: 0.6, passes: 2, finish: 0.02, spring-passes: 1}"
    )
    arcs = [
        stroke
        for stroke in in_metal(planned)
        if isinstance(stroke.move, Arc) and stroke.start[2] == stroke.end[2]
    ]
    x, y = flat(planned).places[0]
    radii = [
        math.dist(stroke.start[:2], stroke.move.centre)
        for stroke in arcs
        if math.dist(stroke.move.centre, (x, y)) < 1e-9  # type: ignore[union-attr]
    ]
    # Half circles: the flat roughing lap, one finishing lap, the last one, the spring pass.
    expected = [0.18, 0.18, 0.19, 0.19, 0.2, 0.2, 0.2, 0.2]
    assert radii == pytest.approx(expected)


def test_a_correction_changes_the_size_by_as_much() -> None:
    plain = blanks("bore: {cutter: mill}")
    larger = blanks("bore: {cutter: mill, correction: 0.01}")
    widest = [
        max(
            math.dist(s.end[:2], flat(p).places[0])
            for s in in_metal(p)
            if math.dist(s.end[:2], flat(p).places[0]) < 2
        )
        for p in (plain, larger)
    ]
    assert widest[1] - widest[0] == pytest.approx(0.005)


def test_fed_moves_down_keep_to_the_plunging_feed() -> None:
    planned = blanks(
        "outline: {cutter: mill, tabs: {count: 3, width: 0.4, height: 0.12}}", holds_slugs=False
    )
    plunge = planned.cuts[0].plunge_feed
    for stroke in in_metal(planned):
        fall = stroke.start[2] - stroke.end[2]
        if fall <= 0 or not isinstance(stroke.move, Feed | Arc):
            continue
        start, piece = stroke.piece
        length = math.hypot(Path(start, (piece,), closed=False).length, fall)
        assert stroke.move.feed * fall / length <= plunge * (1 + 1e-9)


@pytest.mark.parametrize("step", ["cross-out", "outline"])
def test_a_skin_is_left_under_the_whole_wall_and_told(step: str) -> None:
    planned = blanks(f"{step}: {{cutter: mill, skin: 0.02}}", holds_slugs=False)
    layout = flat(planned)
    heights = {stroke.end[2] for stroke in in_metal(planned)}
    assert min(heights) == pytest.approx(layout.bottom + 0.02)
    assert all(tab.top == pytest.approx(layout.bottom + 0.02) for tab in layout.tabs)
    walls = layout.part.openings if step == "cross-out" else (layout.part.outline,)
    covered = shapely.union_all(
        [shapely.Point(tab.x, tab.y).buffer(tab.radius) for tab in layout.tabs]
    )
    assert all(covered.covers(wall.region(0.001).exterior) for wall in walls)
    assert any("skin of 0.02 mm" in remark for remark in planned.remarks)


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        ("skin: 0.25", "whole stock"),
        ("skin: 0.02, tabs: {width: 0.3, height: 0.1}", "tabs and a skin"),
        ("tabs: {width: 0.3, height: 0.3}", "through the whole stock"),
        ("finish: 0.2", "more than half the cutter"),
    ],
)
def test_what_cannot_be_left_on_a_wall_is_refused(words: str, fault: str) -> None:
    with pytest.raises(Refused, match=fault) as no:
        blanks(f"outline: {{cutter: mill, {words}}}")
    assert no.value.faults[0].place.line > 0


@settings(max_examples=few(48), suppress_health_check=[HealthCheck.filter_too_much])
@given(
    st.integers(50, 120),
    st.floats(8.0, 11.0),
    st.integers(3, 6),
    st.floats(0.3, 0.6),
    st.floats(0.2, 0.5),
    st.sampled_from(["climb", "conventional"]),
)
def test_no_wheel_makes_the_cutter_leave_its_opening(
    teeth: int, diameter: float, arms: int, arm: float, corner: float, direction: str
) -> None:
    wheel = (
        WHEEL.replace("teeth: 75", f"teeth: {teeth}", 1)
        .replace("module: 0.14", f"module: {diameter / teeth:.4f}", 1)
        .replace("arms: 5", f"arms: {arms}")
        .replace("arm: 0.45", f"arm: {arm:.3f}, arm-at-hub: {1.3 * arm:.3f}")
        .replace("corner: 0.25", f"corner: {corner:.3f}")
    )
    try:
        planned = blanks(f"cross-out: {{cutter: mill, direction: {direction}}}", wheel=wheel)
    except Refused:
        assume(False)
        raise
    layout = flat(planned)
    x, y = layout.places[0]
    allowed = shapely.union_all(
        [
            opening.moved(x, y).region(1e-5).buffer(-MILL + 2e-3, quad_segs=64)
            for opening in layout.part.openings
        ]
    )
    size = layout.part.outline.lengths[0]
    for stroke in in_metal(planned):
        if stroke.start[:2] != stroke.end[:2] and math.dist(stroke.end[:2], (x, y)) < size / 3:
            assert allowed.covers(shapely.LineString(points(stroke, 1e-4)))
