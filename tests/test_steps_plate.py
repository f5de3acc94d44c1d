"""Plates: pockets, holes to a depth, outlines of any shape, and what a cutter cannot reach."""

from __future__ import annotations

import itertools
import math

import pytest
import shapely
from sampling import sampled
from workshop import DRIVEN, PLATE, Stroke, plate, read, strokes

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.layout import FlatLayout
from camgen.moves import Arc, Drill, Rapid
from camgen.plan import PlannedSetup
from camgen.shapes.path import Path

# A barrel that is cleared sooner.
SMALLER = PLATE.replace("barrel: {circle: 6,", "barrel: {circle: 4.4,")

MILL = 0.4


def flat(planned: PlannedSetup) -> FlatLayout:
    assert isinstance(planned.layout, FlatLayout)
    return planned.layout


def fed(planned: PlannedSetup) -> list[Stroke]:
    return [
        stroke
        for stroke in strokes(planned.moves.sections[0].moves)
        if not isinstance(stroke.move, Rapid)
    ]


def line(stroke: Stroke) -> shapely.LineString:
    start, piece = stroke.piece
    if stroke.start[:2] == stroke.end[:2]:
        return shapely.LineString([start, start])
    return shapely.LineString(Path(start, (piece,), closed=False).points(1e-4))


@pytest.fixture(scope="module")
def pockets() -> PlannedSetup:
    return plate("pocket: {cutter: mill}", text=SMALLER)


@pytest.mark.long
def test_a_pocket_is_cleared_to_its_walls_and_floor_and_no_further(
    pockets: PlannedSetup,
) -> None:
    for recess in flat(pockets).part.recesses:
        area = recess.area.region(1e-4)
        floor = -recess.depth
        mine = [
            s
            for s in fed(pockets)
            if min(s.start[2], s.end[2]) < 0 and area.contains(shapely.Point(s.end[:2]))
        ]
        assert min(s.end[2] for s in mine) == pytest.approx(floor)
        allowed = area.buffer(-MILL + 0.004, quad_segs=64)
        assert all(allowed.contains(line(s)) for s in mine)
        on_floor = [s for s in mine if max(s.start[2], s.end[2]) < floor + 1e-9]
        swept = shapely.union_all([line(s).buffer(MILL, quad_segs=32) for s in on_floor])
        assert area.difference(swept).area < 2e-3 * area.area
        assert swept.difference(area.buffer(1e-3)).area < 1e-6


def test_pockets_go_down_in_levels_no_deeper_than_planned(pockets: PlannedSetup) -> None:
    most = max(cut.depth for cut in pockets.cuts)
    levels = sorted({round(-s.end[2], 6) for section in pockets.moves.sections
                     for s in strokes(section.moves)
                     if not isinstance(s.move, Rapid) and s.start[2] == s.end[2] < 0})
    for recess in flat(pockets).part.recesses:
        mine = [0.0, *(level for level in levels if level <= recess.depth + 1e-9)]
        assert mine[-1] == pytest.approx(recess.depth)
        assert all(low - high <= most + 1e-6 for high, low in itertools.pairwise(mine))


def test_no_rapid_goes_into_a_pocket(pockets: PlannedSetup) -> None:
    layout = flat(pockets)
    for stroke in strokes(pockets.moves.sections[0].moves):
        if isinstance(stroke.move, Rapid) and stroke.move.z is not None:
            assert stroke.end[2] >= layout.top + layout.clearance


def test_the_cutter_goes_down_into_solid_metal_on_the_helix_only(pockets: PlannedSetup) -> None:
    """Straight down it goes over ground that passes at this level or above have cleared."""
    cleared = shapely.Polygon()
    for stroke in fed(pockets):
        down = stroke.start[2] > stroke.end[2]
        here = line(stroke)
        if down and stroke.start[:2] == stroke.end[:2] and stroke.end[2] < -1e-9:
            disc = shapely.Point(stroke.end[:2]).buffer(MILL - 0.06)
            assert disc.difference(cleared).area < 0.01
        if stroke.end[2] < 0:
            cleared = cleared.union(here.buffer(MILL, quad_segs=8))


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    sampled([
        ("corner: 0.5, at: [-3, 4]", "corner: 0.3, at: [-3, 4]", "has a radius of 0.3 mm"),
        ("corner: 0.5, at: [-3, 4]", "at: [-3, 4]", "is sharp"),
        ("[{circle: 2}]", "[{circle: 2, at: [1.6, 0]}]", "is narrower than the cutter"),
        ("rectangle: [5, 2], corner: 0.5", "rectangle: [5, 0.7], corner: 0.0", "does not fit in"),
    ], 4),
)
def test_what_the_cutter_cannot_reach_is_named_with_what_would(
    old: str, new: str, fault: str
) -> None:
    assert old in SMALLER
    with pytest.raises(Refused, match=fault) as no:
        plate("pocket: {cutter: mill}", text=SMALLER.replace(old, new))
    for told in no.value.faults:
        assert told.remedy
        assert told.place.line > 0


def test_holes_are_chosen_by_the_name_they_share() -> None:
    planned = plate("drill: {cutter: drill, holes: [screws]}")
    holes = [m for m in planned.moves.sections[0].moves if isinstance(m, Drill)]
    assert len(holes) == 3
    assert all(math.dist((hole.x, hole.y), (-6, 5)) == pytest.approx(2.0) for hole in holes)
    with pytest.raises(Refused, match="no hole called 'screw'") as no:
        plate("drill: {cutter: drill, holes: [screw]}")
    assert "screws" in no.value.faults[0].remedy


def test_a_hole_to_a_depth_is_drilled_short_and_bored_to_its_floor() -> None:
    planned = plate(
        "drill: {cutter: drill, holes: [feet]}", "bore: {cutter: mill, holes: [feet], drilled: 0.9}"
    )
    drilled = next(m for m in planned.moves.sections[0].moves if isinstance(m, Drill))
    assert drilled.bottom == pytest.approx(-0.6)
    bored = [s.end[2] for s in strokes(planned.moves.sections[1].moves)]
    assert min(z for z in bored if not math.isnan(z)) == pytest.approx(-0.6)


def test_an_outline_with_hollows_is_gone_round_outside() -> None:
    planned = plate("outline: {cutter: mill}")
    layout = flat(planned)
    outline = layout.part.outline.region(1e-4)
    deep = [s for s in fed(planned) if s.end[2] < layout.bottom and s.start[2] == s.end[2]]
    assert deep
    assert all(line(s).distance(outline) >= MILL - 1e-3 for s in deep)
    swept = shapely.union_all([line(s).buffer(MILL, quad_segs=32) for s in deep])
    edge = outline.exterior
    assert shapely.hausdorff_distance(edge.intersection(swept.buffer(2e-3)), edge) < 0.02
    assert any(isinstance(s.move, Arc) and not s.move.clockwise for s in deep), "the hollow corner"


def test_a_hollow_corner_smaller_than_the_cutter_is_named() -> None:
    tight = PLATE.replace("corner: 0.8}", "corner: 0.3}")
    with pytest.raises(Refused, match=r"X \S+ Y \S+ has a radius of 0\.3 mm"):
        plate("outline: {cutter: mill}", text=tight)


@pytest.mark.parametrize(
    ("old", "new", "word", "fault"),
    [
        ("at: [[5, -1]]", "at: [[5, 6]]", "train", "does not lie within the outline"),
        ("at: [[5, -1]]", "at: []", "train", "is nowhere"),
        ("depth: 0.5", "depth: 1.0", "barrel", "1 mm deep and the plate 1 mm thick"),
        ("{circle: 2}", "{circle: 2, at: [2.5, 0]}", "barrel", "does not stand within"),
        ("{circle: 6,", "{circle: 6, width: 2, rectangle: [2, 2],", "barrel", "circle and rect"),
    ],
)
def test_plates_that_cannot_be_are_refused_at_their_place(
    old: str, new: str, word: str, fault: str
) -> None:
    assert old in PLATE
    text = PLATE.replace(old, new) + "      - spot: {cutter: spot}\n"
    faults = job_faults(read(text), DRIVEN)
    assert len(faults) == 1
    assert fault in faults[0].message
    assert word in text.splitlines()[faults[0].place.line - 1]


def test_holes_are_drilled_in_a_short_order() -> None:
    planned = plate("spot: {cutter: spot}")
    holes = [(m.x, m.y) for m in planned.moves.sections[0].moves if isinstance(m, Drill)]
    assert len(holes) == 5
    travel = sum(math.dist(a, b) for a, b in itertools.pairwise(holes))
    layout = flat(planned)
    listed = [(h.x, h.y) for h in layout.part.holes + layout.part.blind]
    assert sorted(listed) == sorted(holes)
    assert travel <= sum(math.dist(a, b) for a, b in itertools.pairwise(listed))
