"""Outlines from DXF drawings: sizes known from formulas, drawings written by ezdxf read back."""

import cmath
import io
import math
from pathlib import Path as FilePath

import ezdxf
import numpy as np
import pytest
import shapely
from drawings_by_hand import LARGE, NECK, SMALL, arc, circle, dxf, line, neck_centre, train_bridge
from ezdxf import units as dxf_units
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.drawings.drawing import Drawing, read_drawing
from camgen.faults import Refused
from camgen.shapes.path import ArcTo, LineTo, Point

BRIDGE = FilePath(__file__).parent.parent / "jobs" / "drawings" / "train-bridge.dxf"


def read(folder: FilePath, text: str | bytes, **said: object) -> Drawing:
    path = folder / "drawing.dxf"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_drawing(path, **said)  # type: ignore[arg-type]


def written(document: ezdxf.document.Drawing) -> str:
    out = io.StringIO()
    document.write(out)
    return out.getvalue()


def sheet(units: int = dxf_units.MM) -> ezdxf.document.Drawing:
    document = ezdxf.new()
    document.units = units
    return document


def test_a_rectangle_with_round_corners_keeps_its_arcs(tmp_path: FilePath) -> None:
    document = sheet()
    bulge = math.tan(math.pi / 8)  # a quarter turn
    document.modelspace().add_lwpolyline(
        [(1, 0, 0), (9, 0, bulge), (10, 1, 0), (10, 4, bulge), (9, 5, 0), (1, 5, bulge), (0, 4, 0),
         (0, 1, bulge)],
        format="xyb", close=True,
    )
    (loop,) = read(tmp_path, written(document)).loops
    assert loop.area == pytest.approx(50 - 4 + math.pi, abs=1e-9)
    assert loop.length == pytest.approx(2 * 8 + 2 * 3 + math.tau, abs=1e-9)
    assert [type(piece) for piece in loop.pieces] == [LineTo, ArcTo] * 4


def test_a_circle_a_half_circle_pair_and_an_old_polyline_are_the_same(tmp_path: FilePath) -> None:
    document = sheet()
    space = document.modelspace()
    space.add_circle((0, 0), 2)
    space.add_arc((10, 0), 2, 0, 180)
    space.add_arc((10, 0), 2, 180, 360)
    space.add_polyline2d([(18, 0, 1), (22, 0, 1)], format="xyb", close=True)
    loops = read(tmp_path, written(document)).loops
    assert len(loops) == 3
    for loop in loops:
        assert loop.area == pytest.approx(4 * math.pi, abs=1e-9)
        assert all(isinstance(piece, ArcTo) for piece in loop.pieces)


@pytest.mark.parametrize("tolerance", [0.01, 0.002, 0.0002])
def test_an_ellipse_keeps_within_the_tolerance(tmp_path: FilePath, tolerance: float) -> None:
    document = sheet()
    document.modelspace().add_ellipse((1, 2), (3, 0), 0.4)
    (loop,) = read(tmp_path, written(document), tolerance=tolerance).loops
    points = loop.points(tolerance / 50) - (1, 2)
    # Distance to the ellipse to the first order: the level over the size of its gradient.
    level = (points[:, 0] / 3) ** 2 + (points[:, 1] / 1.2) ** 2 - 1
    slope = np.hypot(2 * points[:, 0] / 9, 2 * points[:, 1] / 1.44)
    assert np.abs(level / slope).max() <= tolerance
    assert loop.area == pytest.approx(math.pi * 3 * 1.2, abs=tolerance * loop.length)
    # Arcs that follow a curve stray as the third power of their length (lines as the second).
    assert len(loop.pieces) <= 3.5 * tolerance ** (-1 / 3)


def test_a_spline_that_is_a_circle_comes_back_round(tmp_path: FilePath) -> None:
    """A rational spline of degree 2 holds a circle exactly (Piegl and Tiller, The NURBS Book, 7.3,
    from memory), so what is read must lie within the tolerance of it."""
    document = sheet()
    half = math.sqrt(0.5)
    corners = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    document.modelspace().add_rational_spline(
        [(5 * x, 5 * y, 0) for x, y in corners], [1, half] * 4 + [1], degree=2,
        knots=[0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4],
    )
    (loop,) = read(tmp_path, written(document)).loops
    points = loop.points(1e-5)
    assert np.abs(np.hypot(points[:, 0], points[:, 1]) - 5).max() <= 0.002
    assert len(loop.pieces) <= 12


def test_a_closed_spline_without_ends_comes_round(tmp_path: FilePath) -> None:
    """At each knot a uniform cubic spline lies at (P₋ + 4·P + P₊)/6 of its control points."""
    document = sheet()
    controls = np.array([(4, 0), (3, 3), (0, 2), (-3, 3), (-4, 0), (-2, -3), (2, -3)], float)
    document.modelspace().add_spline().set_closed([(x, y, 0.0) for x, y in controls], degree=3)
    (loop,) = read(tmp_path, written(document)).loops
    knots = (np.roll(controls, 1, axis=0) + 4 * controls + np.roll(controls, -1, axis=0)) / 6
    edge = shapely.LinearRing(loop.points(1e-5))
    assert max(edge.distance(shapely.Point(*knot)) for knot in knots) <= 0.002
    assert all(math.dist(loop.at(loop.nearest(Point(*knot))), knot) <= 0.002 for knot in knots)


def test_a_spline_that_is_a_parabola_holds_its_area(tmp_path: FilePath) -> None:
    """One quadratic span is a parabola; with its chord it holds 2/3 of its box (Archimedes)."""
    document = sheet()
    space = document.modelspace()
    space.add_open_spline([(0, 0), (3, 8), (6, 0)], degree=2)
    space.add_line((6, 0), (0, 0))
    (loop,) = read(tmp_path, written(document)).loops
    assert loop.area == pytest.approx(2 / 3 * 6 * 4, abs=0.002 * loop.length)


@pytest.mark.parametrize(
    ("units", "millimetres"),
    [(dxf_units.MM, 1), (dxf_units.CM, 10), (dxf_units.IN, 25.4), (dxf_units.M, 1000)],
)
def test_the_units_of_the_drawing_are_read(
    tmp_path: FilePath, units: int, millimetres: float
) -> None:
    drawing = read(tmp_path, dxf([circle("0", 0.1, 0.0, 0.05)], units))
    (loop,) = drawing.loops
    assert drawing.millimetres == millimetres
    assert loop.length == pytest.approx(math.tau * 0.05 * millimetres)


@pytest.mark.parametrize("units", [None, 0, 17])
def test_a_drawing_without_units_waits_for_the_job_to_say_them(
    tmp_path: FilePath, units: int | None
) -> None:
    text = dxf([circle("0", 0.0, 0.0, 1.0)], units)
    with pytest.raises(Refused, match="size of the drawing is not known"):
        read(tmp_path, text)
    assert read(tmp_path, text, units="inch").loops[0].length == pytest.approx(math.tau * 25.4)


def test_units_that_speak_against_each_other_are_refused(tmp_path: FilePath) -> None:
    with pytest.raises(Refused, match="says it is in mm, the job says inch"):
        read(tmp_path, dxf([circle("0", 0.0, 0.0, 1.0)]), units="inch")


def test_blocks_are_opened_turned_and_squeezed(tmp_path: FilePath) -> None:
    document = sheet()
    block = document.blocks.new("eye")
    block.add_circle((1, 0), 0.5)
    space = document.modelspace()
    space.add_blockref("eye", (0, 0), {"rotation": 90, "layer": "turned"})
    space.add_blockref("eye", (10, 0), {"xscale": -1, "layer": "mirrored"})
    space.add_blockref("eye", (20, 0), {"xscale": 4, "layer": "squeezed"})
    found = {one.name: one.loops[0] for one in read(tmp_path, written(document)).layers}
    assert found["turned"].points(0.01).mean(axis=0) == pytest.approx((0, 1), abs=0.1)
    assert found["mirrored"].points(0.01)[:, 0].min() == pytest.approx(8.5, abs=1e-6)
    assert found["mirrored"].area == pytest.approx(math.pi / 4)
    assert found["squeezed"].area == pytest.approx(math.pi * 2 * 0.5, rel=1e-3)


def test_blocks_in_rows_come_as_often_as_they_are_set(tmp_path: FilePath) -> None:
    document = sheet()
    document.blocks.new("pin").add_circle((0, 0), 0.5)
    document.modelspace().add_blockref("pin", (0, 0), {
        "row_count": 2, "row_spacing": 3, "column_count": 4, "column_spacing": 2})
    assert len(read(tmp_path, written(document)).loops) == 8


def test_blocks_that_hold_one_another_without_end_are_refused(tmp_path: FilePath) -> None:
    document = sheet()
    names = [f"nest{number}" for number in range(12)]
    for name, inner in zip(names, [*names[1:], ""], strict=True):
        block = document.blocks.new(name)
        for place in range(10):
            if inner:
                block.add_blockref(inner, (place, 0))
            else:
                block.add_circle((place, 0), 0.1)
    document.modelspace().add_blockref(names[0], (0, 0))
    with pytest.raises(Refused, match="more than 20000 things"):
        read(tmp_path, written(document))


def test_what_was_drawn_from_below_is_seen_from_above(tmp_path: FilePath) -> None:
    """An extrusion downwards turns X round (DXF reference, arbitrary axis, from memory)."""
    document = sheet()
    space = document.modelspace()
    space.add_arc((-5, 0), 1, 0, 180, dxfattribs={"extrusion": (0, 0, -1)})
    space.add_line((4, 0), (6, 0))
    (loop,) = read(tmp_path, written(document)).loops
    assert loop.area == pytest.approx(math.pi / 2)
    assert loop.points(0.01)[:, 1].max() == pytest.approx(1.0)


def test_what_makes_no_outline_is_named(tmp_path: FilePath) -> None:
    document = sheet()
    document.layers.add("hidden").off()
    space = document.modelspace()
    space.add_circle((0, 0), 1)
    space.add_circle((0, 0), 3, dxfattribs={"layer": "hidden"})
    space.add_text("bridge")
    space.add_point((0, 0))
    space.add_point((1, 0))
    drawing = read(tmp_path, written(document))
    assert len(drawing.loops) == 1
    assert dict(drawing.ignored) == {"TEXT": 1, "POINT": 2, "CIRCLE on the hidden layer hidden": 1}


def test_a_thing_that_stands_out_of_the_plane_is_refused(tmp_path: FilePath) -> None:
    document = sheet()
    space = document.modelspace()
    space.add_line((0, 0, 0), (1, 0, 1))
    space.add_circle((5, 0), 1, dxfattribs={"extrusion": (1, 0, 1)})
    with pytest.raises(Refused) as no:
        read(tmp_path, written(document))
    assert [fault.message.split()[0] for fault in no.value.faults] == ["LINE", "CIRCLE"]
    assert all("not lie in the plane" in fault.message for fault in no.value.faults)


def test_a_layer_is_read_alone_whatever_is_wrong_with_the_others(tmp_path: FilePath) -> None:
    text = dxf([circle("plate", 0.0, 0.0, 5.0), line("axes", (-9.0, 0.0), (9.0, 0.0)),
                circle("axes", 0.0, 0.0, 0.0)])
    assert [one.name for one in read(tmp_path, text, layer="plate").layers] == ["plate"]
    with pytest.raises(Refused) as no:
        read(tmp_path, text)
    assert len(no.value.faults) == 2
    with pytest.raises(Refused, match=r"no layer plaet\n +did you mean plate\?"):
        read(tmp_path, text, layer="plaet")


def test_the_bridge_of_the_demo_is_what_its_numbers_say(tmp_path: FilePath) -> None:
    assert BRIDGE.read_text() == train_bridge()
    drawing = read_drawing(BRIDGE)
    outline, holes = drawing.layers
    (loop,) = outline.loops
    # Between the lobes' middles, the feet of the line below and the middle of the neck's arc lies a
    # figure of straight sides; sectors of the lobes are added to it, the neck's taken away.
    (x, _, r), (u, _, s) = LARGE, SMALL
    nx, ny = neck_centre()
    apart = u - x
    run = math.sqrt(apart**2 - (r - s) ** 2)
    straight = apart * ny / 2 + (r + s) / 2 * run
    lean = math.asin((r - s) / apart)
    at_large, at_small = math.atan2(ny, nx - x), math.atan2(ny, u - nx)
    large = math.tau - at_large - (math.pi / 2 - lean)
    small = math.tau - at_small - (math.pi / 2 + lean)
    neck = math.pi - at_large - at_small
    area = straight + large * r**2 / 2 + small * s**2 / 2 - neck * NECK**2 / 2
    assert loop.area == pytest.approx(area, abs=1e-7)
    assert loop.length == pytest.approx(large * r + small * s + neck * NECK + run, abs=1e-7)
    points = loop.points(1e-6)
    assert np.ptp(points, axis=0) == pytest.approx((18.6, 9.0), abs=1e-5)
    assert len(holes.loops) == 6


def within_its_sector(start: tuple[float, float], end: tuple[float, float], bulge: float) -> float:
    """``bulge``, less where a side so bowed would leave the sector between its corners' rays.

    Seen from a corner the chord stands at an angle to the ray from the middle through it, and the
    arc's tangent is off the chord by twice the arc tangent of the bulge. An arc of less than half
    a turn whose tangents at both ends point into the sector stays in it, so that sides of different
    sectors never meet but at their corners.
    """
    rays = []
    for here, there in ((start, end), (end, start)):
        along = complex(*there) - complex(*here)
        rays.append(abs(cmath.phase(along / complex(*here))))
    room = min(min(angle, math.pi - angle) for angle in rays) - 0.05
    most = math.tan(room / 2)
    return max(-most, min(most, bulge))


# Shrinking takes minutes where each try writes and reads a drawing.
@settings(max_examples=few(25), deadline=None, phases=[Phase.explicit, Phase.reuse, Phase.generate])
@given(
    st.lists(st.tuples(st.floats(1.0, 6.0), st.floats(-0.25, 0.25)), min_size=3, max_size=9),
    st.integers(0, 2**32 - 1), st.floats(0, 0.0049), st.booleans(),
)
def test_an_outline_torn_into_loose_pieces_is_found_again(
    tmp_path_factory: pytest.TempPathFactory, corners: list[tuple[float, float]], seed: int,
    gap: float, old: bool,
) -> None:
    """A star-shaped outline of lines and arcs, written in any order and way round, with a gap."""
    rng = np.random.default_rng(seed)
    count = len(corners)
    points = [(size * math.cos(math.tau * k / count), size * math.sin(math.tau * k / count))
              for k, (size, _) in enumerate(corners)]
    bulges = [within_its_sector(points[k], points[(k + 1) % count], corners[k][1])
              for k in range(count)]
    document = ezdxf.new("R12" if old else "R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    area = 0.0
    for k in rng.permutation(count):
        start, end, bulge = points[k], points[(k + 1) % count], bulges[k]
        area += (start[0] * end[1] - end[0] * start[1]) / 2
        chord = math.dist(start, end)
        if abs(bulge) < 0.01:
            bulge = 0.0
        if bulge:
            # The segment between chord and arc: r²/2·(turn − sin turn), turn = 4·atan bulge.
            turn = 4 * math.atan(bulge)
            radius = chord / 2 / math.sin(abs(turn) / 2)
            area += radius**2 / 2 * (turn - math.sin(turn))
        if k == 0:
            size = math.hypot(*start)
            start = (start[0] * (1 + gap / size), start[1] * (1 + gap / size))
        if rng.random() < 0.5:
            start, end, bulge = end, start, -bulge
        space.add_lwpolyline([(*start, bulge), (*end, 0)], format="xyb") if not old else (
            space.add_polyline2d([(*start, bulge), (*end, 0)], format="xyb"))
    folder = tmp_path_factory.mktemp("torn")
    drawing = read(folder, written(document), units="mm")
    (loop,) = drawing.loops
    assert len(loop.pieces) == count
    assert loop.area == pytest.approx(area, abs=gap * loop.length + 1e-6)
    told = [one for one in drawing.mended if one.what == "a gap joined"]
    assert len(told) == (1 if gap > 5e-5 else 0) or 4.9e-5 < gap < 5.1e-5
    for at, piece in loop.laid_out():
        if isinstance(piece, ArcTo):
            assert math.dist(at, piece.centre) == pytest.approx(
                math.dist(piece.end, piece.centre), abs=1e-6)


def test_the_same_drawing_always_gives_the_same_outline(tmp_path: FilePath) -> None:
    text = train_bridge()
    first = read(tmp_path, text).loops
    assert first == read(tmp_path, text).loops
    # It begins with the piece that was drawn first, and runs as that was drawn.
    (x, _, r), (u, _, s) = LARGE, SMALL
    lean = math.asin((r - s) / (u - x))
    assert first[0].start == pytest.approx(
        (u + s * math.sin(lean), -s * math.cos(lean)), abs=1e-6)
    assert first[0].pieces[0].end.y > 0


def test_an_arc_of_a_full_turn_is_a_circle(tmp_path: FilePath) -> None:
    (loop,) = read(tmp_path, dxf([arc("0", 1.0, 1.0, 2.0, 30.0, 390.0)])).loops
    assert loop.closed
    assert loop.area == pytest.approx(4 * math.pi)
