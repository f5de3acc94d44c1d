"""The course of a flat program in time: height, feed, engagement and force; stock before and after.

Engagement and volume come of a field of heights run through the motion read back; it shows where
the cutter works hardest and what is left, and is no proof. Lengths mm, feeds mm/min, times seconds,
forces N/mm².
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from camgen.layout import FlatLayout
from camgen.preview.course.removal import Removal, remove
from camgen.preview.course.track import Track, traced
from camgen.preview.paper.board import Board, Box, Panel, Style, new_board
from camgen.preview.paper.palette import Palette, palette, shade
from camgen.preview.paper.strips import MetalTaken, course_of, draw_strips
from camgen.preview.setup import HEIGHT, WIDTH, Picture, draw_head
from camgen.proof.path import joined
from camgen.reader.motion import ReadProgram
from camgen.shop.cutters import Cutter
from camgen.shop.machine import Machine

__all__ = ["board_of_course", "draw_course", "work_of"]

_COLUMNS = 320


def draw_course(
    layout: FlatLayout, programs: Sequence[ReadProgram], machine: Machine,
    cutters: Mapping[int, Cutter], title: str, *, subtitle: str = "",
    cutting_force: tuple[float, float] | None = None, format: Style = "png", dark: bool = False,
    language: str = "en",
) -> Picture:
    """The picture; see :func:`course_of` for ``cutting_force``."""
    board, says = board_of_course(layout, programs, machine, cutters, title, subtitle=subtitle,
                                  cutting_force=cutting_force, dark=dark, language=language)
    return Picture(board.bytes(format, title, says), says,
                   tuple(text.get_text() for text in board.texts))


def board_of_course(
    layout: FlatLayout, programs: Sequence[ReadProgram], machine: Machine,
    cutters: Mapping[int, Cutter], title: str, *, subtitle: str = "",
    cutting_force: tuple[float, float] | None = None, dark: bool = False, language: str = "en",
) -> tuple[Board, str]:
    """The same before it is turned to bytes."""
    motion = joined(tuple(program.motion for program in programs))
    track = traced(motion, machine, 0.005)
    removal = remove(layout, track, cutters)
    course = course_of(track, work_of(track, layout.top, removal),
                       np.nan_to_num(motion.feed[track.piece]), motion.speed[track.piece], cutters,
                       cutting_force, _COLUMNS)
    board = new_board(WIDTH, HEIGHT, palette(dark), language)
    draw_head(board, title, subtitle, ())
    left = 64.0
    top = HEIGHT - 12.5
    half = (top - 6.0) / 2
    for place, (words, after) in enumerate(((board.says("before"), False),
                                             (board.says("after"), True))):
        box = Box(2.0, top - (place + 1) * half - place * 2.0 + 1.0, left, half - 5.0)
        upper = _stock(board, layout, removal, box, after)
        board.text(box.x, upper + 1.2, words)
    strips = Box(left + 18.0, 14.0, WIDTH - left - 21.0, top - 15.0)
    draw_strips(board, course, strips, round(layout.top - layout.bottom, 3),
                board.says("course-depth"))
    board.text(strips.x, 4.0, board.says("moving"))
    share = 100.0 * float(np.mean(course.engaged > 0))
    hardest = float(np.nanmax(course.force)) if np.isfinite(course.force).any() else 0.0
    says = board.says(
        "says-course", volume=f"{removal.removed.sum():.2f}",
        minutes=f"{course.seconds / 60:.1f}", share=f"{share:.0f}",
        engaged=f"{course.engaged.max():.0f}", force=f"{hardest:.2f}")
    return board, says


def work_of(track: Track, top: float, removal: Removal) -> MetalTaken:
    """What the stretches do below a face at the height ``top``, as the field of heights tells."""
    depth = top - np.minimum(track.start[:, 2], track.end[:, 2])
    met = track.cutting & (depth > 1e-6)
    return MetalTaken(depth, removal.engaged, removal.removed, track.since,
                np.where(met, track.until, track.since))


def _stock(board: Board, layout: FlatLayout, removal: Removal, box: Box, after: bool) -> float:
    """The stock from above, as put on or as left; answers the height of its upper edge, mm."""
    from matplotlib.collections import PolyCollection
    from matplotlib.patches import Polygon

    colours = board.colours
    left, low, right, high = layout.stock.bounds
    edge = 0.01 * max(right - left, high - low)
    panel = board.scaled(box, (left - edge, low - edge, right + edge, high + edge))
    ring = np.asarray(layout.stock.exterior.coords)
    if after:
        image = _coloured(removal, layout, colours)
        half = removal.cell / 2
        panel.axes.imshow(
            image, origin="lower", interpolation="antialiased", aspect="auto", zorder=1,
            extent=(removal.x[0] - half, removal.x[-1] + half,
                    removal.y[0] - half, removal.y[-1] + half))
        panel.axes.set_xlim(*_limits(panel, box, layout.stock.bounds, 0))
        panel.axes.set_ylim(*_limits(panel, box, layout.stock.bounds, 1))
        # Where it is cut through is outlined, so that the print needs no shade.
        coarse = max(1, len(removal.x) // 500)
        through = np.nan_to_num(removal.height, nan=layout.bottom) > layout.bottom + 1e-6
        panel.axes.contour(removal.x[::coarse], removal.y[::coarse],
                           through[::coarse, ::coarse].astype(float), levels=[0.5],
                           colors=colours.ink, linewidths=0.5, zorder=2)
    else:
        panel.add(Polygon(ring, closed=True, facecolor=colours.stock, edgecolor="none", zorder=1))
        lines = [layout.part.outline.moved(*place).points(0.05 / panel.scale)
                 for place in layout.places]
        panel.add(PolyCollection(lines, facecolors="none", edgecolors=colours.quiet,
                                 linewidths=0.5, linestyles=[(0, (4.0, 2.0))], zorder=2))
    panel.add(Polygon(ring, closed=True, fill=False, edgecolor=colours.ink, linewidth=0.8,
                      zorder=3))
    return panel.on_board(0.0, layout.stock.bounds[3])[1]


def _limits(
    panel: Panel, box: Box, bounds: tuple[float, float, float, float], axis: int
) -> tuple[float, float]:
    """Limits that keep the panel to scale after an image was put in."""
    middle = (bounds[axis] + bounds[axis + 2]) / 2
    half = (box.width if axis == 0 else box.height) / panel.scale / 2
    return middle - half, middle + half


def _coloured(removal: Removal, layout: FlatLayout, colours: Palette) -> NDArray[np.uint8]:
    """The field of heights as a picture (rows, columns, 3): cut through is paper."""
    depth = (layout.top - removal.height) / (layout.top - layout.bottom)
    steps = 6
    level = np.clip(np.ceil(np.nan_to_num(depth, nan=2.0) * steps - 1e-3), 0, steps).astype(int)
    through = ~(removal.height > layout.bottom + 1e-6)
    table = np.array([_rgb(colours.stock), *(_rgb(shade(colours, n / steps))
                                             for n in range(1, steps + 1))], dtype=np.uint8)
    image = table[level]
    image[through] = _rgb(colours.paper)
    return np.asarray(image, dtype=np.uint8)


def _rgb(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
