"""The course of tooth cutting in time: depth, feed, engagement and force; blank and wheel.

Worked out from the motion read back and the spaces that the cutters leave; it shows where the
cutter works hardest and is no proof. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from shapely import Point as Point2

from camgen.layout import ToothLayout
from camgen.preview.course.track import Track, traced
from camgen.preview.head.cut_teeth import Cut, cut_of, depth_and_place, over_of, space_left
from camgen.preview.head.infeed import first_spaces
from camgen.preview.head.tooth_picture import draw_wheel
from camgen.preview.paper.board import Board, Box, Style, new_board
from camgen.preview.paper.palette import palette
from camgen.preview.paper.strips import Course, MetalTaken, course_of, draw_strips
from camgen.preview.setup import HEIGHT, WIDTH, Picture, draw_head
from camgen.proof.path import joined
from camgen.reader.motion import ReadProgram
from camgen.shop.cutters import Cutter
from camgen.shop.machine import Machine

__all__ = ["board_of_tooth_course", "draw_tooth_course", "tooth_work"]

_COLUMNS = 320


def tooth_work(layout: ToothLayout, track: Track, cutters: Mapping[int, Cutter]) -> MetalTaken:
    """What each stretch does to the blanks.

    A pass at the depth d takes the space at d less the one cut there before, over as much of the
    stack as it goes through. A disc of radius R that takes a layer a thick is engaged over
    acos(1 − a/R) and meets a face √(a(2R − a)) before its axis does (geometry).
    """
    count = len(track)
    depth, engaged, removed = np.zeros(count), np.zeros(count), np.zeros(count)
    begun, ended = track.since.copy(), track.since.copy()
    blank = Point2(0.0, 0.0).buffer(layout.blank_radius, quad_segs=4096)
    areas: dict[tuple[int, float], float] = {(-1, 0.0): 0.0}
    before: dict[float, tuple[int, float]] = {}
    for number in sorted(set(track.cutter.tolist()) & set(cutters)):
        own = np.nonzero(track.cutter == number)[0]
        first, begin = depth_and_place(layout, track.start[own], cutters, number)
        last, finish = depth_and_place(layout, track.end[own], cutters, number)
        depth[own] = np.minimum(first, last)
        radius = cutters[number].diameter / 2
        over = over_of(layout, track.end[own])
        met = track.cutting[own] & (depth[own] > 1e-6) & (begin != finish)
        for at in np.nonzero(met)[0].tolist():
            row = int(own[at])
            angle = round(float(track.angle[row]) % 360.0, 5) % 360.0
            key = number, round(float(depth[row]), 6)
            earlier = before.get(angle, (-1, 0.0))
            layer = min(key[1] - earlier[1], radius)
            low, high = sorted((float(begin[at]), float(finish[at])))
            through = min(high, layout.stack_to) - max(low, layout.stack_from)
            if layer <= 1e-6 or through <= 0:
                continue
            if key not in areas:
                areas[key] = space_left(layout, cutters[number], key[1], float(over[at])
                                        ).intersection(blank).area
            removed[row] = max(areas[key] - areas[earlier], 0.0) * through
            engaged[row] = math.degrees(math.acos(1.0 - layer / radius))
            ahead = math.sqrt(layer * (2 * radius - layer))
            span, lasts = high - low, track.until[row] - track.since[row]
            inside = (min(high, layout.stack_to) - max(low, layout.stack_from - ahead)) / span
            wait = max(layout.stack_from - ahead - low, 0.0) / span
            if begin[at] > finish[at]:
                wait = 1.0 - wait - inside
            begun[row] += wait * lasts
            ended[row] = begun[row] + inside * lasts
            before[angle] = key
    return MetalTaken(depth, engaged, removed, begun, ended)


def draw_tooth_course(
    layout: ToothLayout, programs: Sequence[ReadProgram], machine: Machine,
    cutters: Mapping[int, Cutter], title: str, *, subtitle: str = "",
    cutting_force: tuple[float, float] | None = None, format: Style = "png", dark: bool = False,
    language: str = "en",
) -> Picture:
    """The picture; see :func:`camgen.preview.paper.strips.course_of` for ``cutting_force``."""
    board, says = board_of_tooth_course(
        layout, programs, machine, cutters, title, subtitle=subtitle, cutting_force=cutting_force,
        dark=dark, language=language)
    return Picture(board.bytes(format, title, says), says,
                   tuple(text.get_text() for text in board.texts))


def board_of_tooth_course(
    layout: ToothLayout, programs: Sequence[ReadProgram], machine: Machine,
    cutters: Mapping[int, Cutter], title: str, *, subtitle: str = "",
    cutting_force: tuple[float, float] | None = None, dark: bool = False, language: str = "en",
) -> tuple[Board, str]:
    """The same before it is turned to bytes."""
    motion = joined(tuple(program.motion for program in programs))
    track = traced(motion, machine, 0.005)
    cut = cut_of(layout, track, cutters)
    work = tooth_work(layout, track, cutters)

    def course(rows: int, columns: int) -> Course:
        some = track.only(slice(0, rows))
        part = MetalTaken(*(values[:rows] for values in (
            work.depth, work.engaged, work.removed, work.begun, work.ended)))
        return course_of(some, part, np.nan_to_num(motion.feed[some.piece]),
                         motion.speed[some.piece], cutters, cutting_force, columns)

    whole = course(len(track), _COLUMNS)
    few, shown = first_spaces(cut)
    board = new_board(WIDTH, HEIGHT, palette(dark), language)
    draw_head(board, title, subtitle, ())
    left, top = 48.0, HEIGHT - 12.5
    half = (top - 6.0) / 2
    for place, (words, done) in enumerate(((board.says("blank-before"), False),
                                           (board.says("wheel-after"), True))):
        box = Box(2.0, top - (place + 1) * half - place * 2.0 + 1.0, left, half - 5.0)
        board.text(box.x, box.y + box.height + 1.2, words)
        _wheel(board, cut, box, done)
    x, deepest = left + 18.0, round(layout.tooth.sizes.whole_depth, 3)
    room = Box(x, 14.0, WIDTH - x - 3.0, top - 15.0)
    named = board.says("course-depth-tip")
    if shown < len(cut.spaces):
        room = Box(room.x, room.y, room.width, room.height - 4.0)
        wide = room.width * 0.56
        high = room.y + room.height + 0.8
        board.text(room.x, high, board.says("first-spaces", count=shown),
                   colour=board.colours.quiet)
        board.text(room.x + wide + 6, high, board.says("all-spaces", count=len(cut.spaces)),
                   colour=board.colours.quiet)
        draw_strips(board, course(len(few), _COLUMNS // 2), Box(room.x, room.y, wide, room.height),
                    deepest, named, scales=whole)
        draw_strips(board, whole, Box(room.x + wide + 6, room.y, room.width - wide - 6,
                                      room.height), deepest, named, named=False)
    else:
        draw_strips(board, whole, room, deepest, named)
    board.text(room.x, 4.0, board.says("moving"))
    return board, _in_words(board, whole, work)


def _wheel(board: Board, cut: Cut, box: Box, done: bool) -> None:
    """The blank with the wheel meant dashed on it, or the wheel as cut."""
    from matplotlib.patches import Circle, Polygon

    radius = cut.layout.blank_radius
    edge = 1.02 * radius
    panel = board.scaled(box, (-edge, -edge, edge, edge))
    colours = board.colours
    if done:
        draw_wheel(board, cut, panel, fine=False)
        return
    panel.add(Circle((0, 0), radius, facecolor=colours.stock, edgecolor=colours.edge,
                     linewidth=0.8, zorder=1))
    points = np.asarray(cut.meant.exterior.coords)
    panel.add(Polygon(np.column_stack((-points[:, 1], points[:, 0])), closed=True, fill=False,
                      edgecolor=colours.quiet, linewidth=0.5, linestyle=(0, (4.0, 2.0)),
                      zorder=2))


def _in_words(board: Board, course: Course, work: MetalTaken) -> str:
    share = 100.0 * float(np.mean(course.engaged > 0))
    hardest = float(np.nanmax(course.force)) if np.isfinite(course.force).any() else 0.0
    return board.says(
        "says-course-teeth", volume=f"{work.removed.sum():.2f}",
        minutes=f"{course.seconds / 60:.1f}", share=f"{share:.0f}",
        depth=f"{max(float(work.depth.max(initial=0.0)), 0.0):.3f}",
        engaged=f"{course.engaged.max():.0f}", force=f"{hardest:.2f}")
