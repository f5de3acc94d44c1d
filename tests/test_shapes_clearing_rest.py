"""Clearing where some ground is free of metal before, measured on the paths by plane geometry."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import product

import numpy as np
import pytest
import shapely
from engagement import Measured, disc, entered, measured
from sampling import sampled
from test_shapes_clearing import AREAS

from camgen.arrays import Floats
from camgen.clearing import ground
from camgen.clearing.clearing import Clearing, Pass, cleared
from camgen.faults import Refused
from camgen.shapes.figures import rectangle, rounded
from camgen.shapes.offset import Area, distances, offset
from camgen.shapes.path import Path, Point, circle

RADIUS, DEPTH = 0.5, 0.15


def reached(area: Area, radius: float) -> shapely.Geometry:
    """All that a cutter clears whose centre goes wherever it may."""
    return shapely.union_all(
        [part.region(1e-4).buffer(radius, quad_segs=64) for part in offset(area, -radius)]
    )


SQUARE = Area(rectangle(6.0, 4.0, 0.3))
# Open towards greater X from 2.5 on: the area reaches out over the open side.
OPEN = Area(rounded([(-3, -2), (4, -2), (4, 2), (-3, 2)], 0.6))
ROOMS = Area(rounded([(-4, -1.5), (-1, -1.5), (-1, -0.53), (1, -0.53), (1, -1.5), (4, -1.5),
                      (4, 1.5), (1, 1.5), (1, 0.53), (-1, 0.53), (-1, 1.5), (-4, 1.5)], 0.0))
# Each with the cutter's radius and the ground that is free before.
CASES: dict[str, tuple[Area, float, shapely.Geometry]] = {
    "corners after a larger cutter": (SQUARE, 0.3, reached(SQUARE, 1.2)),
    "an L after a cutter that left a skin": (
        AREAS["angle"], RADIUS, reached(AREAS["angle"], 0.95).buffer(-0.1)
    ),
    "an open side": (OPEN, RADIUS, shapely.box(2.5, -9, 9, 9)),
    "a drilled hole": (AREAS["star"], RADIUS, disc(Point(0, 0), 0.85)),
    "two rooms, one drilled": (ROOMS, RADIUS, disc(Point(-2.5, 0), 0.8)),
}


def set_down(
    area: Area, radius: float, clear: shapely.Geometry, passes: Sequence[Pass]
) -> list[float]:
    """The metal, mm², on which the cutter is set down before passes to which it is lifted.

    Its rim may graze a skin as thin as the grid does not know.
    """
    found = []
    for one in passes:
        if not one.over_cleared:
            metal = area.region(1e-4).difference(clear)
            found.append(metal.intersection(disc(one.begin, 0.9 * radius)).area)
        clear = clear.union(swept(one, radius))
    return found


def swept(one: Pass, radius: float) -> shapely.Geometry:
    """All that a pass clears with the way in to it."""
    points = [tuple(one.begin), *map(tuple, one.path.points(1e-3))]
    return shapely.LineString(points).buffer(radius, quad_segs=32)


class Worked:
    """A case cleared: engagement of the passes, and what is left after each stage."""

    def __init__(self, area: Area, radius: float, gone: shapely.Geometry) -> None:
        self.area, self.radius, self.gone = area, radius, gone
        self.found: Clearing = cleared(area, radius, 0.3 * radius, gone=gone)
        self.measured: list[Measured] = []
        self.descents: list[float] = []
        clear = gone
        for entry, passes in zip(self.found.entries, self.found.passes, strict=True):
            if entry.path is None:
                metal = area.region(1e-4).difference(clear)
                self.descents.append(metal.intersection(disc(entry.start, radius)).area)
            clear = clear.union(entered(entry, radius))
            if passes:
                begins = [one.begin for one in passes]
                ways = [one.path for one in passes]
                self.descents += set_down(area, radius, clear, passes)
                one = measured(area, radius, clear, ways, radius / 6, begins)
                self.measured.append(one)
                clear = area.region(1e-4).difference(one.left).union(gone)
        for wall in self.found.walls:
            way = shapely.LineString(wall.path.points(1e-4))
            clear = clear.union(way.buffer(radius, quad_segs=32))
        self.clear = clear


@pytest.fixture(scope="module", params=sampled(CASES, 5, 1))
def worked(request: pytest.FixtureRequest) -> Worked:
    return Worked(*CASES[request.param])


def test_what_is_left_is_cleared_with_the_planned_engagement(worked: Worked) -> None:
    assert worked.measured
    for one in worked.measured:
        assert one.angle.max() <= 1.25 * worked.found.planned
        assert one.share_at_most(1.1 * worked.found.planned) >= 0.95


def test_the_cutter_goes_straight_down_only_where_no_metal_is(worked: Worked) -> None:
    assert worked.found.entries[0].kind == "descent"
    assert max(worked.descents) < 2e-3 * worked.radius**2


@pytest.mark.parametrize(("depth", "around"), sampled(
    product([0.1, 0.16, 0.3], [1.25, 1.3]), 4, 1))
def test_no_metal_stands_wholly_under_the_end_where_it_is_set_down(
    around: float, depth: float
) -> None:
    """What is left of a post's top, narrower than the cutter, need not touch the cutter's edge."""
    radius, area = 0.4, Area(circle(Point(0, 0), around))
    clear: shapely.Geometry = disc(Point(0, 0), 3.0).difference(disc(Point(0, 0), radius))
    found = cleared(area, radius, depth, gone=clear)
    assert found.passes
    for entry, passes in zip(found.entries, found.passes, strict=True):
        if entry.path is not None:
            clear = clear.union(entered(entry, radius))
        assert max(set_down(area, radius, clear, passes), default=0.0) < 2e-3 * radius**2
        for one in passes:
            clear = clear.union(swept(one, radius))


def test_all_that_was_left_is_gone_afterwards(worked: Worked) -> None:
    whole = reached(worked.area, worked.radius).buffer(-0.005)
    assert whole.difference(worked.clear).area < 1e-3


def test_no_way_leads_where_nothing_is_to_do(worked: Worked) -> None:
    metal = worked.area.region(1e-4).difference(worked.gone)
    for wall in worked.found.walls:
        way = shapely.LineString(wall.path.points(1e-3))
        assert way.buffer(worked.radius).intersection(metal).area > 0
    for one in worked.measured:
        assert one.length[one.angle > 0.02].sum() > 0.9 * one.length.sum()


@pytest.mark.long
def test_a_room_that_no_free_ground_leads_to_is_entered_on_a_helix() -> None:
    found = cleared(*CASES["two rooms, one drilled"][:2], DEPTH,
                    gone=CASES["two rooms, one drilled"][2])
    kinds = [entry.kind for entry in found.entries]
    assert kinds[:2] == ["descent", "helix"]
    assert found.entries[0].start.x < 0 < found.entries[1].start.x
    # The neck between them, hardly wider than the cutter, is cut along its length as a slot.
    ramps = [entry.path for entry in found.entries if entry.kind == "ramp"]
    assert any(path is not None and shapely.LineString(path.points(1e-3)).intersects(
        shapely.box(-0.3, -0.1, 0.3, 0.1)) for path in ramps)


def test_where_nothing_is_left_nothing_is_cut() -> None:
    found = cleared(SQUARE, RADIUS, DEPTH, gone=shapely.box(-9, -9, 9, 9))
    assert found.entries == found.passes == found.walls == ()


@pytest.mark.long
def test_a_hole_too_small_for_the_cutter_leaves_the_helix() -> None:
    found = cleared(AREAS["star"], RADIUS, DEPTH, gone=disc(Point(0, 0), 0.4))
    assert found.entries[0].kind == "helix"


@pytest.mark.long
def test_a_hole_hardly_larger_than_the_cutter_has_the_helix_round_it() -> None:
    found = cleared(AREAS["angle"], RADIUS, DEPTH, gone=disc(Point(1.5, 3.0), 0.56))
    assert found.entries[0].kind == "helix"
    assert math.dist(found.entries[0].start, (1.5, 3.0)) == pytest.approx(0.3, abs=0.1)


def test_without_anything_gone_it_is_as_if_nothing_was_said() -> None:
    area = Area(rectangle(3.0, 2.0, 0.6))
    assert cleared(area, RADIUS, DEPTH, gone=shapely.Point()).entries == cleared(
        area, RADIUS, DEPTH
    ).entries


@pytest.mark.parametrize(
    "area",
    [
        Area(rectangle(6.0, 1.06, 0.53)),
        Area.of(circle(Point(0, 0), 3.0), [circle(Point(0, 0), 1.95)]),
    ],
    ids=["straight", "round an island"],
)
def test_a_slot_too_narrow_for_a_helix_is_gone_down_in_along_its_length(area: Area) -> None:
    found = cleared(area, RADIUS, DEPTH)
    (entry,) = found.entries
    assert entry.kind == "ramp"
    assert entry.path is not None
    assert entry.path.closed
    swept = [
        shapely.LineString(path.points(1e-4)).buffer(RADIUS, quad_segs=32)
        for path in (entry.path, *(wall.path for wall in found.walls))
    ]
    assert reached(area, RADIUS).buffer(-0.005).difference(shapely.union_all(swept)).area < 1e-4


def test_a_slot_too_short_to_go_down_in_is_refused_with_its_place() -> None:
    short = rounded([(4.45, -2.53), (5.55, -2.53), (5.55, -1.47), (4.45, -1.47)], 0.53)
    with pytest.raises(Refused, match=r"no room to go down .* at X (4\.9|5\.0)\d Y -2\.0"):
        cleared(Area(short), RADIUS, DEPTH)


def test_the_last_places_of_a_machines_arithmetic_change_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Sines and square roots of other libraries differ in the last place: so do distances here."""
    area = Area(rectangle(3.0, 2.0, 0.6))
    found = cleared(area, RADIUS, DEPTH)
    noise = np.random.default_rng(7)

    def another(points: Floats, paths: Sequence[Path]) -> Floats:
        exact = distances(points, paths)
        return exact * (1 + noise.uniform(-4e-16, 4e-16, exact.shape))

    monkeypatch.setattr(ground, "distances", another)
    assert cleared(area, RADIUS, DEPTH) == found


@pytest.mark.parametrize(("width", "size", "long"), sampled(product(
    [0.2, 0.6, 1.0], [0.5, 1.5, 1.75, 2.5], [0.0, 1.2]), 15))
def test_metal_that_stands_alone_is_taken_whole_however_small(
    size: float, width: float, long: float
) -> None:
    # As the top of a post stands by a skin after the floor about it is down; sizes in radii.
    radius = 0.2
    area = Area(circle(Point(0, 0), 1.6))
    piece = shapely.LineString([(-long * radius / 2, 0), (long * radius / 2, 0.1 * long)]).buffer(
        size * radius, quad_segs=32)
    found = cleared(area, radius, width * radius, gone=disc(Point(0, 0), 2.5).difference(piece))
    ways = [way for passes in found.passes for one in passes
            for way in (shapely.LineString([one.begin, one.path.start]), one.path)]
    ways += [one.path for one in found.walls] + [one.path for one in found.entries if one.path]
    for way in ways:
        line = shapely.LineString(way.points(1e-4)) if isinstance(way, Path) else way
        piece = piece.difference(line.buffer(radius, quad_segs=64))
    assert piece.area < 2e-5


@pytest.mark.parametrize(("radius", "allowance", "says", "remedy"), [
    (0.5, 0.0, "a cutter of 1 mm does not fit in: there are 0.90 mm at",
     "a cutter of at most 0.89 mm"),
    (0.43, 0.05, "does not fit in and leave 0.05 mm on its walls: there are 0.90 mm",
     "a cutter of at most 0.79 mm, or less left on the walls"),
    # As wide as the area, it has nothing to leave.
    (0.45, 0.05, "a cutter of 0.9 mm does not fit in and leave 0.05 mm on its walls",
     "a cutter of at most 0.79 mm"),
])
def test_too_narrow_an_area_is_refused_with_a_cutter_that_would_do(
    radius: float, allowance: float, says: str, remedy: str
) -> None:
    area = Area(rectangle(4.0, 0.9, 0.0))
    with pytest.raises(Refused) as no:
        cleared(area, radius, 0.1, allowance)
    assert says in no.value.faults[0].message
    assert no.value.faults[0].remedy == remedy
    cleared(area, 0.45 - allowance - 0.001, 0.1, allowance)
