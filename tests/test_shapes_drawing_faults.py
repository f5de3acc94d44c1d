"""Faulty drawings are answered with where they are faulty, all at once."""

import math
import random
from pathlib import Path as FilePath

import pytest
from drawings_by_hand import arc, circle, dxf, line
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.drawings.drawing import Drawing, read_drawing
from camgen.faults import Fault, Refused
from camgen.shapes.contacts import Laid, contacts
from camgen.shapes.path import ArcTo, LineTo, Point

SQUARE = ((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0))


def read(folder: FilePath, things: list[list[tuple[int, object]]], **said: object) -> Drawing:
    path = folder / "drawing.dxf"
    path.write_text(dxf(things, int(said.pop("insunits", 4))))  # type: ignore[call-overload]
    return read_drawing(path, **said)  # type: ignore[arg-type]


def faults(folder: FilePath, things: list[list[tuple[int, object]]], **said: object
           ) -> tuple[Fault, ...]:
    with pytest.raises(Refused) as no:
        read(folder, things, **said)
    return no.value.faults


def sides(apart: float = 0.0) -> list[list[tuple[int, object]]]:
    """A square in four lines, the last one short of its corner by ``apart``."""
    ends = [*SQUARE[1:], SQUARE[0]]
    lines = [line("0", start, end) for start, end in zip(SQUARE[:3], ends[:3], strict=True)]
    return [*lines, line("0", SQUARE[3], (0.0, apart))]


def test_a_gap_within_what_is_allowed_is_joined_and_told(tmp_path: FilePath) -> None:
    drawing = read(tmp_path, sides(0.004))
    (mended,) = drawing.mended
    assert mended.what == "a gap joined"
    assert mended.size == pytest.approx(0.004)
    assert mended.at == pytest.approx((0.0, 0.002))
    assert mended.where == "X 0, Y 0.002"
    assert drawing.loops[0].area == pytest.approx(16.0, abs=0.01)


def test_a_wider_gap_is_refused_with_both_ends_and_its_width(tmp_path: FilePath) -> None:
    (fault,) = faults(tmp_path, sides(0.02))
    assert "open, from X 0, Y 0 to X 0, Y 0.02" in fault.message
    assert "0.0200 mm away at X 0, Y 0" in fault.message
    assert read(tmp_path, sides(0.02), gap=0.03).loops[0].area == pytest.approx(16.0, abs=0.1)


def test_places_are_told_in_the_drawings_own_units(tmp_path: FilePath) -> None:
    (fault,) = faults(tmp_path, [line("0", (1.0, 2.0), (3.0, 4.0))], insunits=1)
    assert "from X 1, Y 2 to X 3, Y 4" in fault.message


def test_an_outline_across_itself_is_told_where(tmp_path: FilePath) -> None:
    corners = [(0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 4.0)]
    ends = [*corners[1:], corners[0]]
    (fault,) = faults(tmp_path, [line("0", a, b) for a, b in zip(corners, ends, strict=True)])
    assert "the outline meets itself at X 2, Y 2" in fault.message


def test_outlines_across_one_another_are_told_where(tmp_path: FilePath) -> None:
    # Two circles of radius 5 with middles 6 apart meet 4 above and below the line of middles.
    found = faults(tmp_path, [circle("0", 0.0, 0.0, 5.0), circle("0", 6.0, 0.0, 5.0)])
    assert sorted(fault.message.split(" at ")[1] for fault in found) == ["X 3, Y -4", "X 3, Y 4"]


def test_circles_that_touch_or_lie_within_are_told_apart(tmp_path: FilePath) -> None:
    (fault,) = faults(tmp_path, [circle("0", 0.0, 0.0, 2.0), circle("0", 5.0, 0.0, 3.0)])
    assert "X 2, Y 0" in fault.message
    assert len(read(tmp_path, [circle("0", 0.0, 0.0, 2.0), circle("0", 0.5, 0.0, 1.0)]).loops) == 2


@pytest.mark.parametrize("again", [
    [line("0", (4.0, 0.0), (0.0, 0.0))],
    [line("0", (1.0, 0.0), (3.0, 0.0))],
    [line("0", (0.0, 0.0), (4.0, 0.0)), line("0", (0.0, 4.0), (0.0, 1.0))],
    [line("0", (0.0, 0.0005), (4.0, 0.0004))],
    sides(),
])
@pytest.mark.parametrize("first", [True, False])
def test_lines_drawn_more_than_once_are_taken_once_and_told(
    tmp_path: FilePath, again: list[str], first: bool
) -> None:
    drawing = read(tmp_path, [*again, *sides()] if first else [*sides(), *again])
    (loop,) = drawing.loops
    assert loop.area == pytest.approx(16.0, abs=0.005)
    (told,) = drawing.remarks
    assert "drawn more than once" in told
    assert "layer 0" in told


def test_a_line_that_goes_on_beyond_another_is_made_one_with_it(tmp_path: FilePath) -> None:
    long = [line("0", (0.0, 0.0), (3.0, 0.0)), line("0", (1.0, 0.0), (4.0, 0.0)), *sides()[1:]]
    drawing = read(tmp_path, long)
    assert [loop.area for loop in drawing.loops] == pytest.approx([16.0])
    assert "X 2, Y 0" in drawing.remarks[0]


def test_an_arc_over_part_of_a_circle_is_taken_once(tmp_path: FilePath) -> None:
    for things in ([circle("0", 0.0, 0.0, 2.0), arc("0", 0.0, 0.0, 2.0, 80.0, 100.0)],
                   [arc("0", 0.0, 0.0, 2.0, 80.0, 100.0), circle("0", 0.0, 0.0, 2.0)],
                   [circle("0", 0.0, 0.0, 2.0), arc("0", 0.0, 0.0, 2.0, 30.0, 210.0),
                    arc("0", 0.0, 0.0, 2.0, 210.0, 30.0)]):
        drawing = read(tmp_path, things)
        assert [loop.area for loop in drawing.loops] == pytest.approx([4 * math.pi])
        assert "drawn more than once" in drawing.remarks[0]


def test_outlines_with_a_side_in_common_are_no_outlines(tmp_path: FilePath) -> None:
    beside = [line("0", (4.0, 0.0), (8.0, 0.0)), line("0", (8.0, 0.0), (8.0, 4.0)),
              line("0", (8.0, 4.0), (4.0, 4.0)), line("0", (4.0, 4.0), (4.0, 0.0))]
    found = faults(tmp_path, [*sides(), *beside])
    assert any("3 ends lie together at X 4, Y" in fault.message for fault in found)


def test_a_piece_of_no_length_is_left_out_and_told(tmp_path: FilePath) -> None:
    drawing = read(tmp_path, [*sides(), line("0", (4.0, 4.0), (4.0, 4.0))])
    assert [(one.what, one.where) for one in drawing.mended] == [
        ("a piece of no length left out", "X 4, Y 4")
    ]


def test_with_no_gap_allowed_nothing_is_mended(tmp_path: FilePath) -> None:
    found = faults(tmp_path, [*sides(0.001), line("0", (4.0, 4.0), (4.0, 4.0))], gap=0.0)
    assert "a piece of no length at X 4, Y 4" in found[0].message
    assert "open" in found[1].message


def test_a_parting_of_ways_is_told_where(tmp_path: FilePath) -> None:
    found = faults(tmp_path, [*sides(), line("0", (4.0, 4.0), (6.0, 6.0))])
    assert "3 ends lie together at X 4, Y 4" in found[0].message
    assert "open, from X 4, Y 4 to X 6, Y 6" in found[1].message
    assert len(found) == 2


def test_all_that_is_wrong_is_told_at_once(tmp_path: FilePath) -> None:
    things = [*sides(0.02), circle("0", 9.0, 0.0, 1.0), circle("0", 9.0, 0.0, 1.0),
              circle("0", 20.0, 0.0, 1.0), circle("0", 21.5, 0.0, 1.0), circle("0", 30.0, 0.0, 0.0)]
    told = "\n".join(fault.message for fault in faults(tmp_path, things, insunits=0))
    for words in ("size of the drawing is not known", "is open", "two outlines meet",
                  "has no radius"):
        assert words in told


def test_a_short_stray_alone_is_open_and_no_outline(tmp_path: FilePath) -> None:
    (fault,) = faults(tmp_path, [*sides(), line("0", (8.0, 0.0), (8.003, 0.0))])
    assert "from X 8, Y 0 to X 8.003, Y 0" in fault.message


def test_arcs_keep_their_radius_when_a_gap_is_joined(tmp_path: FilePath) -> None:
    things = [arc("0", 0.0, 0.0, 3.0, 0.0, 180.0), line("0", (-3.003, 0.0), (3.0, 0.0))]
    (loop,) = read(tmp_path, things).loops
    assert loop.area == pytest.approx(4.5 * math.pi, abs=0.02)
    for at, piece in loop.laid_out():
        if isinstance(piece, ArcTo):
            assert math.dist(at, piece.centre) == pytest.approx(
                math.dist(piece.end, piece.centre), abs=1e-9)


def test_a_ring_all_but_closed_becomes_one(tmp_path: FilePath) -> None:
    open_by = math.degrees(0.004 / 3)
    (loop,) = read(tmp_path, [arc("0", 0.0, 0.0, 3.0, 0.0, 360.0 - open_by)]).loops
    assert loop.closed
    assert loop.area == pytest.approx(9 * math.pi, abs=0.03)


@pytest.mark.parametrize(
    ("said", "words"),
    [({"units": "furlong"}, "not known"), ({"units": "inhc"}, "inch?"),
     ({"gap": -1.0}, "gap must"), ({"tolerance": 0.0}, "tolerance"),
     ({"gap": math.nan}, "gap must"), ({"layer": "plate"}, "no layer plate")],
)
def test_words_and_numbers_of_the_job_are_held_too(
    tmp_path: FilePath, said: dict[str, object], words: str
) -> None:
    assert words in "\n".join(str(fault) for fault in faults(tmp_path, sides(), **said))


def test_files_that_are_none_are_refused(tmp_path: FilePath) -> None:
    (tmp_path / "folder.dxf").mkdir()
    (tmp_path / "empty.dxf").write_bytes(b"")
    (tmp_path / "empty.svg").write_bytes(b"")
    (tmp_path / "words.dxf").write_text("a bridge\nof brass\n")
    for name in ("folder.dxf", "empty.dxf", "empty.svg", "words.dxf", "absent.dxf", "bridge.pdf"):
        with pytest.raises(Refused):
            read_drawing(tmp_path / name)


NUMBERS = st.floats(-5, 5)
POINTS = st.builds(Point, NUMBERS, NUMBERS)


@st.composite
def laid(draw: st.DrawFn) -> Laid:
    if draw(st.booleans()):
        start, end = draw(POINTS), draw(POINTS)
        assume(math.dist(start, end) > 0.01)
        return Laid(start, LineTo(end))
    centre, radius = draw(POINTS), draw(st.floats(0.1, 5))
    begin, turn = draw(st.floats(0, math.tau)), draw(st.floats(0.1, 6.0))
    start, end = (Point(centre.x + radius * math.cos(a), centre.y + radius * math.sin(a))
                  for a in (begin, begin + turn))
    clockwise = draw(st.booleans())
    return Laid(end, ArcTo(start, centre, True)) if clockwise else Laid(
        start, ArcTo(end, centre, False))


@settings(max_examples=few(80), deadline=None)
@given(laid(), laid())
def test_contacts_lie_on_both_and_none_is_missed(one: Laid, other: Laid) -> None:
    """Held against chords: where fine chords of both cross, a contact is near."""
    import shapely

    from camgen.shapes.path import Path

    found = contacts(one, other)
    shapes = []
    for piece in (one, other):
        points = Path(piece.start, (piece.piece,), closed=False).points(1e-4)
        shapes.append(shapely.LineString(points))
    for contact in found:
        for shape in shapes:
            assert shape.distance(shapely.Point(contact.at)) < 2e-3
    crossing = shapely.get_coordinates(shapely.intersection(*shapes))
    for x, y in crossing:
        # Flat crossings of chords slide along: held only as near as such a slide can reach.
        near = min((math.dist((x, y), contact.at) for contact in found), default=math.inf)
        assert near < 0.05 or any(
            math.dist((x, y), end) < 0.05
            for end in (one.start, one.end, other.start, other.end)
        ) or shapes[0].buffer(2e-4).intersection(shapes[1]).length > 0.02


@settings(max_examples=few(60), deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_ends_in_loose_heaps_are_joined_or_told_but_never_run_round_for_ever(
    tmp_path_factory: pytest.TempPathFactory, seed: int
) -> None:
    """Ends within the gap of one another, but not each of all: no order of them is sure."""
    chance = random.Random(seed)
    corners = [(chance.uniform(0, 9), chance.uniform(0, 9)) for _ in range(chance.randint(2, 5))]
    ends = [(k, (k + 1) % len(corners)) for k in range(len(corners))]
    ends += [(chance.randrange(len(corners)), chance.randrange(len(corners)))
             for _ in range(chance.randint(0, 2))]

    def near(corner: int) -> tuple[float, float]:
        x, y = corners[corner]
        return x + chance.uniform(-0.004, 0.004), y + chance.uniform(-0.004, 0.004)

    things = [line("0", near(one), near(other)) for one, other in ends]
    try:
        drawing = read(tmp_path_factory.mktemp("heap"), things)
    except Refused:
        return
    assert sum(len(loop.pieces) for loop in drawing.loops) == len(things)
    assert all(one.size <= 0.005 for one in drawing.mended)
