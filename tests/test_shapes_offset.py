"""Parallels of paths, against Steiner's formula, shapely's buffers and distances."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from sampling import few

import camgen.shapes.offset as offset_module
from camgen.faults import Refused
from camgen.shapes.figures import in_rows, rectangle, ring_of, rounded, slot
from camgen.shapes.offset import Area, distances, offset
from camgen.shapes.path import ArcTo, LineTo, Path, Point, circle


@st.composite
def polygons(draw: st.DrawFn) -> Path:
    """Star-shaped polygons with rounded, or sharp, corners; convex and hollow corners alike."""
    count = draw(st.integers(3, 9))
    radii = draw(st.lists(st.floats(2.0, 10.0), min_size=count, max_size=count))
    turn = draw(st.floats(0.0, 360.0))
    corners = [
        (r * math.cos(math.radians(turn + 360 * n / count)),
         r * math.sin(math.radians(turn + 360 * n / count)))
        for n, r in enumerate(radii)
    ]
    corner = draw(st.sampled_from([0.0, 0.1, 0.4]))
    try:
        return rounded(corners, corner)
    except Refused:
        assume(False)
        raise


def total(areas: tuple[Area, ...]) -> float:
    return sum(path.area for area in areas for path in area.paths)


@given(
    st.floats(1.0, 20.0), st.floats(1.0, 20.0), st.floats(0.0, 0.5), st.floats(0.01, 3.0)
)
def test_growing_a_rectangle_follows_steiners_formula(
    length: float, width: float, corner: float, distance: float
) -> None:
    """Steiner: a convex shape grown by d has the area A + P·d + π·d² (any text on convexity)."""
    path = rectangle(length, width, corner)
    found = offset(Area(path), distance)
    expected = path.area + path.length * distance + math.pi * distance**2
    assert total(found) == pytest.approx(expected, rel=1e-9)


@given(st.floats(3.0, 20.0), st.floats(3.0, 20.0), st.floats(0.5, 1.4), st.floats(0.05, 0.5))
def test_shrinking_by_less_than_the_corners_is_undone_by_growing(
    length: float, width: float, corner: float, distance: float
) -> None:
    path = rectangle(length, width, corner)
    (shrunk,) = offset(Area(path), -distance)
    expected = path.area - path.length * distance + math.pi * distance**2
    assert total((shrunk,)) == pytest.approx(expected, rel=1e-9)
    (grown,) = offset(shrunk, distance)
    assert total((grown,)) == pytest.approx(path.area, rel=1e-9)


@settings(max_examples=few(60))
@given(polygons(), st.floats(0.03, 1.5), st.booleans())
def test_every_parallel_agrees_with_shapely_and_keeps_its_distance(
    path: Path, size: float, grow: bool
) -> None:
    distance = size if grow else -size
    found = offset(Area(path), distance)
    plain = path.region(1e-4).buffer(distance, quad_segs=200)
    assert total(found) == pytest.approx(plain.area, abs=2e-3 * (1 + path.length))
    edge = shapely.LinearRing(path.points(1e-5))
    for area in found:
        for ring in area.paths:
            ends = np.array([ring.start, *(piece.end for piece in ring.pieces)])
            apart = shapely.distance(shapely.points(ring.points(1e-4)), edge)
            assert np.abs(apart - size).max() < 1e-3
            # Where pieces join they lie on both exact parallels.
            assert np.abs(shapely.distance(shapely.points(ends), edge) - size).max() < 5e-5


@given(st.floats(2.0, 10.0), st.floats(0.1, 1.5), st.floats(0.05, 2.0))
def test_a_ring_shrinks_from_both_sides(outer: float, share: float, distance: float) -> None:
    inner = outer * min(share, 0.9) / 1.5
    ring = Area.of(circle(Point(1, 2), outer), [circle(Point(1, 2), inner)])
    found = offset(ring, -distance)
    width = outer - inner - 2 * distance
    if width <= 0:
        assert not found
        return
    assume(width > 0.01)
    expected = math.pi * ((outer - distance) ** 2 - (inner + distance) ** 2)
    assert total(found) == pytest.approx(expected, rel=1e-9)
    assert len(found[0].islands) == 1


def test_a_waist_narrower_than_the_cutter_parts_the_area() -> None:
    """Two squares joined by a neck 0.6 wide: a cutter of 0.8 can enter both but not pass."""
    bell = rounded(
        [(-6, -2), (-2, -2), (-2, -0.3), (2, -0.3), (2, -2), (6, -2),
         (6, 2), (2, 2), (2, 0.3), (-2, 0.3), (-2, 2), (-6, 2)],
        0.0,
    )
    assert len(offset(Area(bell), -0.4)) == 2
    assert len(offset(Area(bell), -0.2)) == 1


def test_hollow_corners_stay_sharp_inside_and_round_outside() -> None:
    angle = rounded([(0, 0), (4, 0), (4, 1), (1, 1), (1, 4), (0, 4)], 0.0)
    (grown,) = offset(Area(angle), 0.2)
    arcs = [piece for piece in grown.outer.pieces if isinstance(piece, ArcTo)]
    assert len(arcs) == 5
    (shrunk,) = offset(Area(angle), -0.2)
    arcs = [piece for piece in shrunk.outer.pieces if isinstance(piece, ArcTo)]
    # Only the hollow corner is gone round: a cutter at its edge would cut into it otherwise.
    assert len(arcs) == 1
    assert arcs[0].centre == (1, 1)


@given(st.floats(0.0, 20.0), st.floats(-20.0, 20.0), st.floats(0.01, 5.0))
def test_a_slot_is_all_that_lies_within_half_its_width(x: float, y: float, width: float) -> None:
    assume(math.hypot(x, y) > 0.01)
    path = slot((0, 0), (x, y), width)
    assert path.area == pytest.approx(
        width * math.hypot(x, y) + math.pi * width**2 / 4, rel=1e-9
    )
    line = shapely.LineString([(0, 0), (x, y)])
    apart = shapely.distance(shapely.points(path.points(1e-4)), line)
    np.testing.assert_allclose(apart, width / 2, atol=2e-4)


@given(st.floats(1.0, 10.0), st.floats(1.0, 10.0), st.floats(0.0, 0.49))
def test_rounded_corners_take_a_square_less_a_quarter_circle_each(
    length: float, width: float, corner: float
) -> None:
    expected = length * width - (4 - math.pi) * corner**2
    assert rectangle(length, width, corner).area == pytest.approx(expected, rel=1e-9)


def test_corners_that_do_not_fit_are_named() -> None:
    with pytest.raises(Refused, match=r"from X -2 Y -1 to X 2 Y -1 is 4\.000 mm"):
        rectangle(4.0, 2.0, 2.5)
    with pytest.raises(Refused, match="crosses itself"):
        rounded([(0, 0), (2, 2), (2, 0), (0, 2)], 0.1)
    with pytest.raises(Refused, match="two corners at X 1 Y 1"):
        rounded([(0, 0), (1, 1), (1, 1), (0, 2)], 0.1)


def test_places_round_a_circle_and_in_rows() -> None:
    six = ring_of(6, 10.0, 30.0, (1.0, 2.0))
    assert all(math.dist(place, (1.0, 2.0)) == pytest.approx(5.0) for place in six)
    assert math.dist(six[0], six[1]) == pytest.approx(5.0)  # a hexagon's side is its radius
    rows = in_rows(3, 2, (2.0, 5.0))
    assert len(set(rows)) == 6
    steps = [math.dist(a, b) for a, b in itertools.pairwise(rows)]
    assert steps == [2.0, 2.0, 5.0, 2.0, 2.0]


@pytest.mark.parametrize("size", [1.3, 1.398, 1.3984, 1.3984375, 1.4])
def test_no_loop_is_lost_where_parallels_meet_in_one_point(size: float) -> None:
    corners = [
        (1.766044443118978, 0.6427876096865393), (1.532088886237956, 1.2855752193730785),
        (0.34729635533386083, 1.969615506024416), (-0.9999999999999996, 1.7320508075688774),
        (-1.8793852415718166, 0.6840402866513378), (-1.8793852415718169, -0.6840402866513373),
        (-3.437500000000003, -5.9539246510180135), (0.34729635533385994, -1.9696155060244163),
        (1.5320888862379556, -1.2855752193730792), (2.0, 0.0),
    ]
    around = [Point(*corner) for corner in (*corners[1:], corners[0])]
    path = Path(Point(*corners[0]), tuple(LineTo(corner) for corner in around), True)
    found = offset(Area(path), -size)
    plain = path.region(1e-4).buffer(-size, quad_segs=200)
    assert sum(one.size for one in found) == pytest.approx(plain.area, abs=1e-3)


@pytest.mark.parametrize("than", [0.05, 0.4, 3.0])
def test_what_is_near_a_path_is_found_as_by_distances(than: float) -> None:
    round_it = [(10 * math.cos(turn), 10 * math.sin(turn)) for turn in np.linspace(0, 6, 60)]
    paths = [circle(Point(1.0, 2.0), 6.0),
             Path(Point(*round_it[0]), tuple(LineTo(Point(*one)) for one in
                                             [*round_it[1:], round_it[0]]), closed=True)]
    points = np.random.default_rng(1).uniform(-12, 12, (400, 2))
    near = offset_module._nearer(points, paths, than)
    assert near.tolist() == (distances(points, paths) < than).tolist()
    assert 0 < near.sum() < len(near)


@pytest.mark.long
def test_an_outline_of_thousands_of_points_is_grown_as_one_of_few() -> None:
    # A polygon about a circle: grown, its area is that of the larger circle, to the chords' error.
    corners = [Point(10 * math.cos(turn), 10 * math.sin(turn))
               for turn in np.linspace(0, math.tau, 2000, endpoint=False)]
    outline = Path(corners[0], tuple(map(LineTo, [*corners[1:], corners[0]])), closed=True)
    (grown,) = offset(Area(outline), 0.5)
    assert not grown.islands
    assert grown.region(0.0001).area == pytest.approx(math.pi * 10.5**2, rel=1e-5)


@given(st.floats(1e-6, 0.3), st.floats(0.3, 2.0), st.floats(0.05, 1.5), st.booleans())
@settings(max_examples=few(120), deadline=None)
def test_no_way_round_is_lost_at_fillets_that_miss_their_tangent_by_a_hair(
    degrees: float, radius: float, away: float, inside: bool
) -> None:
    """A square's corners rounded by arcs a little turned, as rounded figures have them."""
    hair = math.radians(degrees)
    pieces: list[LineTo | ArcTo] = []
    for quarter in range(4):
        turn = quarter * math.pi / 2
        middle = complex(5 - radius, 5 - radius) * complex(math.cos(turn), math.sin(turn))
        for angle, arc in ((turn - hair, False), (turn + math.pi / 2 + hair, True)):
            end = middle + radius * complex(math.cos(angle), math.sin(angle))
            point = Point(end.real, end.imag)
            pieces.append(ArcTo(point, Point(middle.real, middle.imag), False) if arc
                          else LineTo(point))
    path = Path(pieces[-1].end, tuple(pieces), True)
    assume(not inside or away < 4)
    (found,) = offset(Area(path), -away if inside else away)
    plain = path.region(1e-5).buffer(-away if inside else away, quad_segs=200)
    assert found.size == pytest.approx(plain.area, abs=2e-3)


@given(st.floats(0.3, 1.4), st.floats(0.3, 1.2), st.floats(0, 0.2), st.floats(0, 90),
       st.floats(0.3, 1.2), st.floats(0.25, 0.6))
@settings(max_examples=few(200), deadline=None)
def test_no_island_is_lost_where_those_about_islands_run_together(
    long: float, wide: float, corner: float, turned: float, round_it: float, away: float
) -> None:
    """A rectangle with rounded corners and a circle standing in a round, against shapely."""
    assume(2 * corner < min(long, wide) - 0.01)
    block = rectangle(long, wide, corner).moved(-0.75, 0.3, turned)
    pin = circle(Point(0.6, -0.2), round_it / 2)
    assume(not block.region(1e-3).buffer(0.01).intersects(pin.region(1e-3)))
    area = Area.of(circle(Point(0.0, 0.0), 2.3), [block, pin])
    plain = area.region(1e-5).buffer(-away, quad_segs=100)
    found = offset(area, -away)
    assert sum(one.size for one in found) == pytest.approx(plain.area, abs=1e-3)
    for one in found:
        assert one.region(1e-4).difference(plain.buffer(2e-3)).area < 1e-6


def test_where_the_exact_parallel_loses_its_way_there_is_one_by_chords(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    area = Area.of(rectangle(6.0, 4.0, 0.8), [circle(Point(1.0, 0.5), 0.5)])
    exact = offset(area, -0.4)
    monkeypatch.setattr(offset_module, "_offset", lambda area, distance: exact[1:])
    # Parallels are kept: asked anew.
    (found,) = offset.__wrapped__(area, -0.4)
    assert len(found.islands) == 1
    assert 0 < exact[0].size - found.size < offset_module.BESIDE * 21
    off = distances(np.array(found.outer.points(1e-6)), area.paths)
    assert off.min() > 0.4 - 1e-9
    assert off.max() < 0.4 + offset_module.BESIDE


@given(st.floats(0.3, 1.4), st.floats(0.3, 1.2), st.floats(0.0, 0.14), st.floats(0, 90),
       st.floats(0.1, 0.6), st.booleans())
@settings(max_examples=few(32), deadline=None)
def test_the_one_by_chords_is_never_nearer_and_hardly_further(
    long: float, wide: float, corner: float, turned: float, away: float, grown: bool
) -> None:
    """Held against the edge itself, lines and arcs; and it has few pieces."""
    block = rectangle(long, wide, corner).moved(-0.75, 0.3, turned)
    area = Area.of(rectangle(6.0, 4.4, 0.7), [block])
    found = offset_module._by_chords(area, away if grown else -away)
    assert found
    for one in found:
        off = distances(np.concatenate([path.points(1e-6) for path in one.paths]), area.paths)
        assert off.min() > away - 1e-9
        assert off.max() < away + offset_module.BESIDE
        assert sum(len(path.pieces) for path in one.paths) < 150


@pytest.mark.parametrize("beside", [-1e-3, 0.0, 1e-3])
def test_walls_just_as_far_apart_leave_no_way_back_and_forth(beside: float) -> None:
    """A pocket 6 wide, an island that leaves 2 · 0.54 beside it at one end, more or less a bit."""
    area = Area.of(rectangle(6.0, 5.4, 0.5), [rectangle(3.84 - 2 * beside, 0.86, 0.2)])
    for one in offset(area, -0.54):
        for path in one.paths:
            ways = list(path.laid_out())
            assert all(math.dist(at, after.end) > 1e-6 or isinstance(piece, ArcTo)
                       or isinstance(after, ArcTo)
                       for (at, piece), (_, after) in zip(ways, [*ways[1:], ways[0]], strict=True))


def _nearer_by_pieces(area: Area, away: float) -> shapely.geometry.base.BaseGeometry:
    """All within so much of an area's edge, chord by chord."""
    rings = map(shapely.get_coordinates, shapely.get_rings(area.region(1e-4)))
    sides = [shapely.linestrings(np.stack([ring[:-1], ring[1:]], axis=1)) for ring in rings]
    return shapely.union_all(shapely.buffer(np.concatenate(sides), away, quad_segs=20))


@given(st.integers(30, 60), st.integers(30, 60), st.sampled_from([0.0, 0.2, 0.5]),
       st.lists(st.tuples(st.integers(-20, 20), st.integers(-20, 20), st.integers(3, 16),
                          st.integers(3, 16), st.sampled_from([0.0, 0.1, 0.15])), max_size=3),
       st.sampled_from([0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.75]))
@settings(max_examples=few(40), deadline=None)
def test_where_sizes_are_tenths_and_much_falls_together_parallels_there_and_back_are_whole(
    wide: int, high: int, corner: float, standing: list[tuple[int, int, int, int, float]],
    away: float,
) -> None:
    """Shrunk, and what comes of it shrunk again and grown: walls fall together, ways touch."""
    outer = rectangle(wide / 10, high / 10, corner)
    islands: list[Path] = []
    for x, y, length, width, rounded_by in standing:
        island = rectangle(length / 10, width / 10, rounded_by).moved(x / 10, y / 10, 0)
        if outer.region(1e-3).buffer(-0.05).contains(island.region(1e-3)) and all(
                island.region(1e-3).distance(other.region(1e-3)) > 0.05 for other in islands):
            islands.append(island)
    area = Area.of(outer, islands)
    once = offset(area, -away)
    for one, far in [(area, -away), *((one, sign * away) for one in once for sign in (1, -1))]:
        found = offset(one, far)
        near = _nearer_by_pieces(one, away)
        true = one.region(1e-4).union(near) if far > 0 else one.region(1e-4).difference(near)
        length = math.fsum(path.length for path in one.paths)
        assert total(found) == pytest.approx(true.area, abs=3e-3 + 8e-4 * length)
        for path in (path for other in found for path in other.paths):
            off = distances(path.points(1e-4), one.paths)
            assert off.min() > away - 1e-5
            assert len(path.pieces) <= 6 * sum(len(edge.pieces) for edge in one.paths)


def test_an_island_that_touches_the_edge_keeps_its_parallel_whole() -> None:
    """Shrunk, an area's island was left touching its outer edge; an arc and a quarter is a round.

    It was lost: its two arcs were made one that begins where it ends."""
    outer = rectangle(4.5, 6.1, 0.25)
    island = Path(Point(-0.65, 2.3), (ArcTo(Point(-1.4, 3.05), Point(-1.4, 2.3), True),
                                      ArcTo(Point(-0.65, 2.3), Point(-1.4, 2.3), True)), True)
    (grown,) = offset(Area(outer, (island,)), 0.25)
    (round_it,) = grown.islands
    assert round_it.area == pytest.approx(-math.pi * 0.5**2)
