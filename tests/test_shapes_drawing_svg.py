"""Outlines from SVG drawings, by the grammar of the open standard.

Examples said to be of the standard are from W3C, SVG 1.1 (Second Edition), 2011, chapter 8, quoted
from memory.
"""

import math
from pathlib import Path as FilePath

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.drawings.drawing import Drawing, read_drawing
from camgen.drawings.svg_path import Conic, arc_by_radii, path_data, transform
from camgen.faults import Refused
from camgen.shapes.curves import bezier
from camgen.shapes.path import ArcTo, LineTo, Path, Point

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">'


def read(folder: FilePath, inside: str, head: str = HEAD, **said: object) -> Drawing:
    path = folder / "drawing.svg"
    path.write_text(f"{head}{inside}</svg>")
    return read_drawing(path, **said)  # type: ignore[arg-type]


def areas(drawing: Drawing) -> list[float]:
    return [loop.area for loop in drawing.loops]


# ── path data ────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("data", "area"),
    [
        ("M 100 100 L 300 100 L 200 300 z", 20000),  # 8.2
        ("M300,200 h-150 a150,150 0 1,0 150,-150 z", 0.75 * math.pi * 150**2),  # 8.3.8
        ("M275,175 v-150 a150,150 0 0,0 -150,150 z", 0.25 * math.pi * 150**2),  # 8.3.8
        ("M10 10H30V20H10Z", 200),
        ("m10,10 20,0 0,10 -20,0z", 200),
        ("M10 10a5 5 0 11 0 10a5 5 0 1 1 0-10z", 25 * math.pi),
    ],
)
def test_lines_and_circular_arcs_are_exact(tmp_path: FilePath, data: str, area: float) -> None:
    (loop,) = read(tmp_path, f'<path d="{data}"/>').loops
    assert loop.area == pytest.approx(area, rel=1e-12)
    arcs = sum(isinstance(piece, ArcTo) for piece in loop.pieces)
    assert arcs == data.count("a")


@pytest.mark.parametrize(
    ("short", "long"),
    [
        ("M 100 200 L 200 100 -100 -200", "M 100 200 L 200 100 L -100 -200"),  # 8.3.1
        ("M 100-200L1.5.5", "M 100 -200 L 1.5 0.5"),  # 8.3.9
        ("m1 2 3 4", "M1,2L4,6"),
        ("M0 0h5-2v3", "M0 0L5 0L3 0L3 3"),
        ("M0 0Q5 5 10 0T20 0t10 0", "M0 0Q5 5 10 0Q15 -5 20 0Q25 5 30 0"),
        ("M1 1c1 2 3 4 5 6s1 1 2 2", "M1 1C2 3 4 5 6 7C8 9 7 8 8 9"),
        ("M0 0S1 1 2 0T4 0", "M0 0C0 0 1 1 2 0Q2 0 4 0"),
        ("M0,0a1,2,30,0110,20", "M0 0A1 2 30 0 1 10 20"),
        ("M0 0L1 0L1 1zm2 2l1 0", "M0 0L1 0L1 1Z M2 2L3 2"),
        ("M0 0L1 0zl0 1", "M0 0L1 0z M0 0L0 1"),
        (" M1e1\n-.5E+1 l+1,-1\t", "M10 -5L11 -6"),
    ],
)
def test_the_short_ways_of_the_grammar_say_the_same_as_the_long(short: str, long: str) -> None:
    assert path_data(short) == path_data(long)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("L 1 1", "does not begin with a moveto"),
        ("M 1", "the end, where a number was expected"),
        ("M 1 1 L 2", "the end, where a number"),
        ("M 1 1 X 2 2", "character 7 is 'X'"),
        ("M0 0 A 1 1 0 2 0 5 5", "an arc's flag"),
        ("M0 0 L1 1,", "',' with no number"),
        ("M0 0 L1e999 1", "beyond all bounds"),
        ("M0 0 C 1 1 2 2 3 3 4 4", "where a number was expected"),
    ],
)
def test_path_data_that_is_none_is_told_by_character(
    tmp_path: FilePath, data: str, words: str
) -> None:
    with pytest.raises(ValueError, match=words.replace("'", ".")):
        path_data(data)
    with pytest.raises(Refused) as no:
        read(tmp_path, f'<g id="plate"><path id="rim" d="{data}"/></g>')
    assert "path rim cannot be read" in no.value.faults[0].message


@settings(max_examples=few(200), deadline=None)
@given(
    st.tuples(*[st.floats(-50, 50)] * 4), st.floats(0.1, 40), st.floats(0.1, 40),
    st.floats(-180, 180), st.booleans(), st.booleans(),
)
def test_an_arc_by_radii_goes_from_end_to_end_the_way_its_flags_say(
    ends: tuple[float, float, float, float], rx: float, ry: float, degrees: float, large: bool,
    positive: bool,
) -> None:
    start, end = Point(*ends[:2]), Point(*ends[2:])
    assume(math.dist(start, end) > 0.01)
    arc = arc_by_radii(start, (rx, ry), degrees, large, positive, end)
    assert isinstance(arc, Conic)
    for angle, point in ((arc.begin, start), (arc.begin + arc.turn, end)):
        x = arc.centre.x + arc.first.x * math.cos(angle) + arc.second.x * math.sin(angle)
        y = arc.centre.y + arc.first.y * math.cos(angle) + arc.second.y * math.sin(angle)
        assert math.dist((x, y), point) < 1e-5
    assert (arc.turn > 0) == positive
    assert math.hypot(*arc.first) / math.hypot(*arc.second) == pytest.approx(rx / ry)
    if math.hypot(*arc.first) < rx * (1 + 1e-9):
        assert large == (abs(arc.turn) > math.pi) or abs(abs(arc.turn) - math.pi) < 1e-3
    else:  # enlarged until it just reaches: half a turn (F.6.6)
        assert abs(arc.turn) == pytest.approx(math.pi, abs=1e-6)


@settings(max_examples=few(40), deadline=None)
@given(st.lists(st.tuples(st.floats(0, 30), st.floats(0, 30)), min_size=3, max_size=3))
def test_a_cubic_curve_keeps_its_area(
    tmp_path_factory: pytest.TempPathFactory, points: list[tuple[float, float]]
) -> None:
    """The area between curve and chord by Green's theorem, its integrand a polynomial of degree 5:
    three Gauss-Legendre points are exact."""
    (ax, ay), (bx, by), _ = points
    # Rising in x, so that the curve cannot cross itself or its chord's way home below it.
    ax, bx = sorted((ax, bx))
    data = f"M0 0C{ax!r} {ay!r} {bx!r} {by!r} 30 0V-9H0Z"
    (loop,) = read(tmp_path_factory.mktemp("cubic"), f'<path d="{data}"/>').loops
    nodes, weights = np.polynomial.legendre.leggauss(4)
    t = (nodes + 1) / 2
    y = 3 * (1 - t) ** 2 * t * ay + 3 * (1 - t) * t**2 * by
    dx = 3 * (1 - t) ** 2 * ax + 6 * (1 - t) * t * (bx - ax) + 3 * t**2 * (30 - bx)
    area = float((y * dx) @ weights) / 2 + 30 * 9
    assert loop.area == pytest.approx(area, abs=0.002 * loop.length)


@settings(max_examples=few(30), deadline=None)
@given(st.lists(st.tuples(st.floats(0, 20), st.floats(0, 20)), min_size=3, max_size=4,
                unique=True), st.sampled_from([0.01, 0.002, 0.0005]))
def test_a_bent_curve_keeps_within_the_tolerance_wherever_it_goes(
    controls: list[tuple[float, float]], tolerance: float
) -> None:
    """Held against the curve itself by Bernstein's sum, sampled far finer than the tolerance."""
    points = [Point(*one) for one in controls]
    assume(math.dist(points[0], points[-1]) > 0.01)
    path = Path(points[0], tuple(bezier(points, tolerance)), closed=False)
    t = np.linspace(0.0, 1.0, 4001)[:, None]
    degree = len(points) - 1
    curve = sum(
        math.comb(degree, k) * t**k * (1 - t) ** (degree - k) * np.array(point)
        for k, point in enumerate(points)
    )
    made = shapely.LineString(path.points(tolerance / 50))
    assert shapely.hausdorff_distance(made, shapely.LineString(curve)) <= tolerance


# ── shapes, transforms, units ────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("shape", "area", "length"),
    [
        ('<rect x="1" y="2" width="30" height="20"/>', 600, 100),
        ('<rect width="30" height="20" rx="4"/>', 600 - (4 - math.pi) * 16,
         100 - 32 + 8 * math.pi),
        ('<rect width="30" height="20" ry="99"/>', 600 * math.pi / 4, None),
        ('<circle cx="9" cy="9" r="5"/>', 25 * math.pi, 10 * math.pi),
        ('<ellipse rx="7" ry="7"/>', 49 * math.pi, 14 * math.pi),
        ('<polygon points="0,0 30,0 30,40"/>', 600, 120),
        ('<polygon points="0,0 30,0 30,40 0,0"/>', 600, 120),
        ('<polyline points="0 0 30 0 30 40 0 0"/>', 600, 120),
        ('<line x2="30"/><line x1="30" x2="30" y2="40"/><path d="M0 0 30 40"/>', 600, 120),
    ],
)
def test_basic_shapes_have_the_sizes_their_numbers_say(
    tmp_path: FilePath, shape: str, area: float, length: float | None
) -> None:
    (loop,) = read(tmp_path, shape).loops
    tolerance = 1e-9 if length else 0.002 * loop.length
    assert loop.area == pytest.approx(area, abs=tolerance)
    assert length is None or loop.length == pytest.approx(length, abs=1e-9)


def test_y_is_turned_up_and_the_zero_stays(tmp_path: FilePath) -> None:
    (loop,) = read(tmp_path, '<rect x="1" y="2" width="3" height="4"/>').loops
    points = loop.points(0.01)
    assert points.min(axis=0) == pytest.approx((1, -6))
    assert points.max(axis=0) == pytest.approx((4, -2))
    assert loop.area > 0


def test_transforms_are_taken_from_the_outside_in(tmp_path: FilePath) -> None:
    (loop,) = read(
        tmp_path,
        '<g transform="translate(10 20)"><g transform="rotate(90)"><circle cx="5" cy="1" r="2" '
        'transform="scale(2)"/></g></g>',
    ).loops
    # scale: (10, 2) r 4; a quarter turn towards +y: (-2, 10); shifted: (8, 30), then Y up.
    assert loop.points(1e-4).mean(axis=0) == pytest.approx((8, -30), abs=0.1)
    assert loop.area == pytest.approx(16 * math.pi)


@settings(max_examples=few(30), deadline=None)
@given(st.tuples(*[st.floats(-3, 3)] * 4))
def test_a_transform_changes_the_area_by_its_determinant(
    tmp_path_factory: pytest.TempPathFactory, entries: tuple[float, float, float, float]
) -> None:
    a, b, c, d = entries
    assume(abs(a * d - b * c) > 0.05)
    text = f"matrix({a!r} {b!r} {c!r} {d!r} 0 0)"
    folder = tmp_path_factory.mktemp("turned")
    (loop,) = read(folder, f'<rect width="9" height="6" rx="2" transform="{text}"/>').loops
    area = (54 - (4 - math.pi) * 4) * abs(a * d - b * c)
    assert loop.area == pytest.approx(area, abs=0.002 * loop.length)


@pytest.mark.parametrize("text", ["rotate(33)", "scale(-1 1)", "scale(3) rotate(-70 4 5)",
                                  "matrix(0 2 2 0 1 1)"])
def test_what_keeps_circles_round_keeps_arcs(tmp_path: FilePath, text: str) -> None:
    (loop,) = read(tmp_path, f'<rect width="9" height="6" rx="2" transform="{text}"/>').loops
    assert [type(piece) for piece in loop.pieces].count(ArcTo) == 4
    assert [type(piece) for piece in loop.pieces].count(LineTo) == 4
    a, b, c, d, _, _ = transform(text)
    assert loop.area == pytest.approx((54 - (4 - math.pi) * 4) * abs(a * d - b * c), rel=1e-9)


@pytest.mark.parametrize(
    ("head", "millimetres"),
    [
        ('width="18mm" height="9mm" viewBox="0 0 18 9"', 1.0),
        ('width="1.8cm" height="0.9cm" viewBox="0 0 1800 900"', 0.01),
        ('width="1in" height="1in" viewBox="0 0 1 1"', 25.4),
        ('width="72pt" height="72pt" viewBox="0 0 254 254"', 0.1),
        ('width="18mm" viewBox="-9 -4.5 18 9"', 1.0),
        ('width="36mm" height="9mm" viewBox="0 0 18 9"', 1.0),  # the smaller scale fits (7.8)
        ('width="36mm" height="9mm" viewBox="0 0 18 9" preserveAspectRatio="xMinYMin slice"', 2.0),
        ('width="18mm" height="9mm"', 25.4 / 96),
    ],
)
def test_the_size_of_a_unit_comes_from_width_height_and_viewbox(
    tmp_path: FilePath, head: str, millimetres: float
) -> None:
    drawing = read(tmp_path, '<circle r="2"/>', f"<svg {head}>")
    assert drawing.millimetres == pytest.approx(millimetres)
    assert drawing.loops[0].length == pytest.approx(4 * math.pi * millimetres)


@pytest.mark.parametrize("head", ["", 'viewBox="0 0 18 9"', 'width="100%" viewBox="0 0 18 9"',
                                  'width="180" height="90" viewBox="0 0 18 9"',
                                  'width="180px" height="90px"'])
def test_a_drawing_in_pixels_has_no_size_until_the_job_says_one(
    tmp_path: FilePath, head: str
) -> None:
    with pytest.raises(Refused, match="size of the drawing is not known"):
        read(tmp_path, '<circle r="2"/>', f"<svg {head}>")
    (loop,) = read(tmp_path, '<circle r="2"/>', f"<svg {head}>", units="mm").loops
    assert loop.length == pytest.approx(4 * math.pi)


def test_units_against_the_drawing_are_refused(tmp_path: FilePath) -> None:
    assert read(tmp_path, '<circle r="2"/>', units="mm").units == "mm"
    with pytest.raises(Refused, match="one unit of the drawing is 1 mm"):
        read(tmp_path, '<circle r="2"/>', units="inch")


# ── layers, and what is left out ─────────────────────────────────────────────────────────────────

LAYERED = (
    '<g id="plate"><circle r="9"/><g id="holes"><circle r="1"/><circle cx="4" r="1"/></g></g>'
    '<g class="axes thin"><path d="M-20 0H20"/></g><circle id="stray" cx="40" r="2"/>'
    '<circle cx="60" r="2"/>'
)


def test_groups_are_layers_by_id_or_class(tmp_path: FilePath) -> None:
    for name, count in (("plate", 1), ("holes", 2), ("stray", 1), ("drawing", 1)):
        drawing = read(tmp_path, LAYERED, layer=name)
        assert [one.name for one in drawing.layers] == [name]
        assert len(drawing.loops) == count
    with pytest.raises(Refused, match="layer axes: an outline is open"):
        read(tmp_path, LAYERED)
    with pytest.raises(Refused, match=r"no layer hole\n +did you mean holes"):
        read(tmp_path, LAYERED, layer="hole")


def test_what_is_used_is_drawn_where_it_is_used(tmp_path: FilePath) -> None:
    drawing = read(
        tmp_path,
        '<defs><circle id="pin" r="1"/></defs><g id="pins"><use href="#pin" x="5"/>'
        '<use xmlns:l="http://www.w3.org/1999/xlink" l:href="#pin" transform="scale(2)" y="5"/>'
        "</g>",
    )
    assert [one.name for one in drawing.layers] == ["pins"]
    assert areas(drawing) == pytest.approx([math.pi, 4 * math.pi])


def test_what_uses_itself_is_refused(tmp_path: FilePath) -> None:
    with pytest.raises(Refused, match="more than 16 deep"):
        read(tmp_path, '<g id="a"><use href="#a"/></g>')
    many = "".join(f'<g id="g{n}">' + f'<use href="#g{n + 1}"/>' * 9 + "</g>" for n in range(12))
    with pytest.raises(Refused, match="more than 20000"):
        read(tmp_path, f'{many}<circle id="g12" r="1"/>')


def test_what_makes_no_outline_is_named(tmp_path: FilePath) -> None:
    drawing = read(
        tmp_path,
        '<circle r="3"/><text>bridge</text><image/><g display="none"><circle r="1"/></g>'
        '<circle r="2" style="fill:red; display : none"/><x:note xmlns:x="urn:x"><x:b/></x:note>',
    )
    assert len(drawing.loops) == 1
    assert dict(drawing.ignored) == {
        "text": 1, "image": 1, "g that is not shown": 1, "circle that is not shown": 1,
        "elements of other vocabularies": 1,
    }


@pytest.mark.parametrize(
    ("inside", "words"),
    [
        ('<circle r="-1"/>', "less than 0"),
        ('<circle r="10%"/>', "no length"),
        ('<rect width="0" height="1"/>', "no width"),
        ('<circle r="1" transform="turn(3)"/>', "not understood"),
        ('<circle r="1" transform="rotate(1 2)"/>', "does not take 2 numbers"),
        ('<circle r="1" transform="scale(0)"/>', "makes it flat"),
        ('<circle r="1" style="transform: rotate(3deg)"/>', "changed in style:"),
        ('<polygon points="1 2 3"/>', "pairs of numbers"),
        ('<svg><circle r="1"/></svg>', "within the drawing"),
        ('<use href="other.svg#a"/>', "not in the file"),
        ('<circle r="1e9"/>', "beyond all bounds"),
        ("<g/>", "no closed outline"),
    ],
)
def test_what_cannot_be_read_is_told(tmp_path: FilePath, inside: str, words: str) -> None:
    with pytest.raises(Refused, match=words):
        read(tmp_path, inside)


def test_faults_carry_the_line_they_stand_on(tmp_path: FilePath) -> None:
    with pytest.raises(Refused) as no:
        read(tmp_path, '\n<circle r="1"/>\n<circle r="-1"/>\n<circle\n r="x"/>')
    assert [fault.place.line for fault in no.value.faults] == [3, 4]


def test_a_document_type_is_passed_over_but_nothing_declared_in_it(tmp_path: FilePath) -> None:
    plain = ('<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
             '"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">')
    assert len(read(tmp_path, '<circle r="1"/>', plain + HEAD).loops) == 1
    for declared in ('<!ENTITY a "b">', '<!ENTITY a SYSTEM "file:///etc/hostname">',
                     '<!ENTITY % a "b">', '<!ATTLIST circle r CDATA "5">'):
        with pytest.raises(Refused, match="declares"):
            read(tmp_path, '<circle r="1"/>', f"<!DOCTYPE svg [{declared}]>{HEAD}")


def test_depth_is_bounded(tmp_path: FilePath) -> None:
    with pytest.raises(Refused, match="deep"):
        read(tmp_path, "<g>" * 5000 + '<circle r="1"/>' + "</g>" * 5000)
