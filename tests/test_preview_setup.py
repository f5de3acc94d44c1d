"""Pictures of whole setups: nothing over anything else, the same bytes each time, small, true."""

from __future__ import annotations

import io
import math

import pytest
import shapely
from preview_scenes import MILL, blanks, outside, overlaps, teeth
from sampling import sampled

from camgen.part.features import Hole, Recess
from camgen.part.shape import PartShape
from camgen.preview.course.track import traced
from camgen.preview.flat.least_room import part_lines, places_of_least_room
from camgen.preview.flat.plan_view import PlanPanels, draw_work
from camgen.preview.paper.board import Board, Box, Panel, new_board
from camgen.preview.paper.palette import palette
from camgen.preview.setup import Mate, board_of_setup, draw_setup
from camgen.shapes.figures import rectangle
from camgen.shapes.offset import Area
from camgen.shapes.path import Point, circle
from camgen.teeth.forms import pinion_tooth, wheel_tooth


def board_of(scene: str) -> Board:
    if scene == "smallest flat":
        layout, read, cutters, names = blanks(1, 1, radius=3.2)
    elif scene == "clamped":
        layout, read, cutters, names = blanks(1, 1, clamped=True)
    elif scene == "largest flat":
        layout, read, cutters, names = blanks(6, 4)
    elif scene == "one row":
        layout, read, cutters, names = blanks(9, 1)
    elif scene in ("ratchet", "pinion"):
        tooth = wheel_tooth("ratchet", 45, 0.2, None, depth=0.35) if scene == "ratchet" else (
            pinion_tooth("cycloidal", 6, 0.1, 60, addendum="round"))
        toothed, read, cutters = teeth(tooth.sizes.teeth, tooth.sizes.module, 8, tooth=tooth)
        return board_of_setup(toothed, [read], MILL, cutters, [], scene)[0]
    else:
        count, module, mate = {"small wheel": (20, 0.3, 8), "large wheel": (300, 0.08, 10),
                               "meshing": (75, 0.14, 10)}[scene]
        toothed, read, cutters = teeth(count, module, mate)
        pair = Mate(pinion_tooth("cycloidal", mate, module, count, addendum="one-third-ogive"),
                    module * (count + mate) / 2) if scene == "meshing" else None
        return board_of_setup(toothed, [read], MILL, cutters, [], "third wheel, teeth",
                              subtitle="third-wheel-teeth.nc", mate=pair)[0]
    return board_of_setup(layout, [read], MILL, cutters, [], "a name much too long for one line, "
                          "such as people give to jobs when nobody stops them, and longer still",
                          subtitle="third-wheel-blanks.nc", names=names)[0]


@pytest.mark.parametrize("scene", sampled(["smallest flat", "clamped", "largest flat", "one row",
                                   "small wheel", "large wheel", "meshing", "ratchet",
                                   "pinion"], 6))
def test_no_text_lies_on_another_or_leaves_the_board(scene: str) -> None:
    board = board_of(scene)
    assert overlaps(board) == []
    assert outside(board) == []
    # Readable at A4 width: the board is as wide as the print area, so points are points.
    assert board.width == 180.0
    assert min(text.get_fontsize() for text in board.figure.texts) >= 8.0


@pytest.mark.long
@pytest.mark.parametrize("style", sampled(["svg", "png", "pdf"], 3))
def test_the_same_setup_gives_the_same_bytes(style: str) -> None:
    layout, read, cutters, names = blanks(1, 1)
    first, again = (draw_setup(layout, [read], MILL, cutters, [], "blank", names=names,
                               format=style).content for _ in range(2))  # type: ignore[arg-type]
    assert first == again
    assert b"date>" not in first
    assert b"CreationDate" not in first


@pytest.mark.long
def test_pictures_are_small() -> None:
    from PIL import Image

    for layout, read, cutters in ((*blanks(6, 4)[:3],), teeth(75, 0.14, 10)):
        picture = draw_setup(layout, [read], MILL, cutters, [], "job")  # type: ignore[arg-type]
        assert len(picture.content) < 200_000
        # Wide enough to be sharp on paper: 200 dots an inch over 180 mm.
        assert Image.open(io.BytesIO(picture.content)).width >= 1400
        assert picture.says


def test_picture_says_in_words_what_it_shows() -> None:
    layout, read, cutters = teeth(75, 0.14, 10)
    says = draw_setup(layout, [read], MILL, cutters, [], "third wheel").says
    # Third wheel by BS 978-2 (factors from memory): pitch 10.500, tip 10.949, root 10.060.
    for figure in ("75 teeth", "tip 10.949", "pitch 10.500", "root 10.060", "75 spaces"):
        assert figure in says


def test_the_picture_carries_its_description_for_those_who_cannot_see_it() -> None:
    from PIL import Image

    layout, read, cutters, names = blanks(1, 1, passes=1)
    board, says = board_of_setup(layout, [read], MILL, cutters, [], "blank", names=names)
    png, svg = (board.bytes(style, "blank", says) for style in ("png", "svg"))
    assert says
    assert Image.open(io.BytesIO(png)).info["Description"] == says
    assert says.encode() in svg
    assert b"/Subject (" + says[:30].encode() in board.bytes("pdf", "blank", says)


@pytest.mark.parametrize(("columns", "rows", "radius"), sampled([
    (1, 1, 5.5), (2, 1, 5.5), (1, 2, 5.5), (2, 2, 3.2), (6, 4, 5.5), (9, 1, 5.5)], 3))
def test_a_loupe_is_much_larger_than_the_plan(
    columns: int, rows: int, radius: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    panels: list[Panel] = []
    made = Board.scaled

    def scaled(*given: object, **more: object) -> Panel:
        panels.append(made(*given, **more))  # type: ignore[arg-type]
        return panels[-1]

    monkeypatch.setattr(Board, "scaled", scaled)
    layout, read, cutters, names = blanks(columns, rows, radius=radius)
    board_of_setup(layout, [read], MILL, cutters, [], "blanks", names=names)
    plan, *loupes = panels
    assert loupes
    assert all(loupe.scale > 1.5 * plan.scale for loupe in loupes)


def test_a_loupe_numbers_entries_as_the_plan_does() -> None:
    layout, read, cutters, _ = blanks(1, 1)
    work = PlanPanels(layout, traced(read.motion, MILL), cutters, layout.bottom)
    board = new_board(180.0, 122.0, palette(False))
    low_x, low_y, high_x, high_y = layout.stock.bounds
    plan = board.scaled(Box(0, 0, 100, 100), (low_x, low_y, high_x, high_y))
    numbers = draw_work(work, plan, detail=True, board=board)
    last = max(numbers, key=lambda spot: numbers[spot])
    loupe = board.loupe((140, 60), 50, last, 1.0)
    near = draw_work(work, loupe, detail=True, board=board, numbers=numbers)
    assert numbers[last] > 1
    assert near[last] == numbers[last]
    assert all(numbers[spot] == order for spot, order in near.items())


def test_loupes_look_at_the_smallest_corner_hole_and_wall() -> None:
    outline = circle(Point(0, 0), 5.0)
    hole = Hole("pivot", Point(2.0, 0.0), 0.6)
    near = Hole("screw", Point(0.0, 3.9), 2.0)
    # The hole's radius is 0.3; the wall between the screw hole and the edge 5 − 4.9 = 0.1.
    (pivot, wall) = places_of_least_room(PartShape(outline, (), (hole,)))
    assert (pivot.what, pivot.size, pivot.place) == ("hole", pytest.approx(0.3), (2.0, 0.0))
    assert (wall.what, wall.size) == ("wall", pytest.approx(2.7, abs=0.01))
    wall, pivot = places_of_least_room(PartShape(outline, (), (hole, near)))
    assert (wall.what, wall.size) == ("wall", pytest.approx(0.1, abs=0.01))
    assert wall.place == pytest.approx((0.0, 4.95), abs=0.2)
    assert pivot.place == (2.0, 0.0)
    assert places_of_least_room(PartShape(outline))[0].what == "edge"
    opening = blanks(1, 1)[0].part.openings[0]
    corner = places_of_least_room(PartShape(outline, (opening,)))[0]
    assert (corner.what, corner.size) == ("corner", pytest.approx(0.25))


def test_lines_of_a_recess_open_at_the_edge_end_there() -> None:
    outline = circle(Point(0.0, 0.0), 5.0)
    open_side = Area.of(rectangle(4.0, 2.0, 0.3).moved(5.0, 0.0), [])
    within = Area.of(circle(Point(-2.0, 0.0), 0.5), [])
    part = PartShape(outline, recesses=(Recess("open", open_side, 0.3),
                                        Recess("round", within, 0.3)))
    plate = outline.region(1e-4).buffer(1e-3)
    lines = part_lines(part)
    assert all(plate.contains(shapely.LineString(line.points(1e-4))) for line in lines)
    assert [line.closed for line in lines] == [True, False, True]
    # The corners beyond the edge are none of the part's: those within have the same radius.
    corner = next(one for one in places_of_least_room(part) if one.what == "corner")
    assert math.hypot(*corner.place) < 5.0


def test_a_program_without_its_job_is_drawn_too() -> None:
    _, read, _, _ = blanks(3, 2)
    board, says = board_of_setup(None, [read], MILL, {}, [], "some-program.nc")
    assert overlaps(board) == []
    assert outside(board) == []
    assert says.startswith("Plan of a program")


@pytest.mark.parametrize("scene", sampled(
    ["smallest flat", "clamped", "largest flat", "one row"], 4))
def test_depth_against_time_says_what_is_not_in_its_time(scene: str) -> None:
    assert "without stops and cutter changes" in [text.get_text() for text in board_of(scene).texts]
