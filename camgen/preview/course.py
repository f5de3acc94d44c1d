"""The course of a flat program in time: height, feed, engagement and force; stock before and after.

Engagement and volume come of a field of heights run through the motion read back; it shows where
the cutter works hardest and what is left, and is no proof.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from camgen.layout import FlatLayout
from camgen.preview.board import Board, Box, Panel, Style, new_board, round_step
from camgen.preview.palette import Palette, palette, shade
from camgen.preview.removal import Removal, remove
from camgen.preview.setup import HEIGHT, WIDTH, Picture, draw_head
from camgen.preview.sides import time_axis
from camgen.preview.track import Track, follow
from camgen.proof.way import Floats, joined
from camgen.reader.motion import ReadProgram
from camgen.shop.cutters import Cutter
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = ["Course", "board_of_course", "course_of", "draw_course"]

_COLUMNS = 320


@dataclass(frozen=True)
class Course:
    """What happens in each of n equal spans of time.

    ``depth`` (n,) mm below the stock's top, ``feed`` (n,) mm/min and ``engaged`` (n,) degrees are
    the largest in the span; ``force`` (n,) N is the mean force along the cutter's edge over a
    turn, nan where the metal's figures are not known; ``seconds`` in all.
    """

    depth: Floats
    feed: Floats
    engaged: Floats
    force: Floats
    seconds: float


def course_of(
    track: Track, top: float, feeds: Floats, speeds: Floats, removal: Removal,
    cutters: Mapping[int, Cutter], cutting_force: tuple[float, float] | None, columns: int,
) -> Course:
    """Gather the stretches in ``columns`` spans of time.

    ``top`` is the stock's upper face, ``feeds`` (m,) mm/min and ``speeds`` (m,) rev/min of the
    stretches; ``cutting_force`` is the metal's kc1 in N/mm² and its exponent mc. The force is that
    of the metal removed: power = volume in a second × kc (Kienzle: kc = kc1·h^−mc), h the mean
    chip fz·(1 − cos φ)/φ over the angle φ engaged; force = power / speed of the edge.
    """
    seconds = max(track.seconds, 1e-9)
    span = seconds / columns
    first = np.clip((track.since / span).astype(np.int64), 0, columns - 1)
    last = np.clip((track.until / span).astype(np.int64), 0, columns - 1)
    depth, feed, engaged = np.zeros(columns), np.zeros(columns), np.zeros(columns)
    power = np.zeros(columns)
    edge_speed = np.zeros(columns)
    for row in range(len(track)):
        here = slice(first[row], last[row] + 1)
        lowest = min(track.start[row, 2], track.end[row, 2])
        depth[here] = np.maximum(depth[here], top - lowest)
        if track.rapid[row] or track.turning[row]:
            continue
        feed[here] = np.maximum(feed[here], feeds[row])
        engaged[here] = np.maximum(engaged[here], min(removal.engaged[row], 180.0))
        cutter = cutters.get(int(track.cutter[row]))
        if cutting_force is None or cutter is None or not removal.removed[row] or not speeds[row]:
            continue
        kc1, mc = cutting_force
        turning = abs(float(speeds[row])) / 60.0
        chip_load = feeds[row] / 60.0 / turning / cutter.flutes
        angle = max(math.radians(min(removal.engaged[row], 180.0)), 0.05)
        chip = max(chip_load * (1 - math.cos(angle)) / angle, 1e-5)
        work = removal.removed[row] * kc1 * chip**-mc
        power[here] += work / (last[row] + 1 - first[row]) / span
        edge_speed[here] = math.pi * cutter.diameter * turning
    with np.errstate(divide="ignore", invalid="ignore"):
        force = np.where(edge_speed > 0, power / edge_speed, 0.0)
    if cutting_force is None:
        force = np.full(columns, np.nan)
    return Course(depth, feed, engaged, force, seconds)


def draw_course(
    layout: FlatLayout, programs: Sequence[ReadProgram], machine: Machine,
    cutters: Mapping[int, Cutter], title: str, *, subtitle: str = "",
    cutting_force: tuple[float, float] | None = None, format: Style = "png", dark: bool = False,
) -> Picture:
    """The picture; see :func:`course_of` for ``cutting_force``."""
    board, says = board_of_course(layout, programs, machine, cutters, title, subtitle=subtitle,
                                  cutting_force=cutting_force, dark=dark)
    return Picture(board.bytes(format, title, says), says)


def board_of_course(
    layout: FlatLayout, programs: Sequence[ReadProgram], machine: Machine,
    cutters: Mapping[int, Cutter], title: str, *, subtitle: str = "",
    cutting_force: tuple[float, float] | None = None, dark: bool = False,
) -> tuple[Board, str]:
    """The same before it is turned to bytes."""
    motion = joined(tuple(program.motion for program in programs))
    track = follow(motion, machine, 0.005)
    removal = remove(layout, track, cutters)
    course = course_of(track, layout.top, np.nan_to_num(motion.feed[track.piece]),
                       motion.speed[track.piece], removal, cutters, cutting_force, _COLUMNS)
    board = new_board(WIDTH, HEIGHT, palette(dark))
    draw_head(board, title, subtitle, ())
    left = 64.0
    top = HEIGHT - 12.5
    half = (top - 6.0) / 2
    for place, (words, after) in enumerate((("before", False), ("after", True))):
        box = Box(2.0, top - (place + 1) * half - place * 2.0 + 1.0, left, half - 5.0)
        upper = _stock(board, layout, removal, box, after)
        board.text(box.x, upper + 1.2, words)
    strips = Box(left + 18.0, 10.0, WIDTH - left - 21.0, top - 11.0)
    _strips(board, layout, course, strips)
    share = 100.0 * float(np.mean(course.engaged > 0))
    hardest = float(np.nanmax(course.force)) if np.isfinite(course.force).any() else 0.0
    says = (f"Stock before and after; {removal.removed.sum():.2f} mm³ removed in "
            f"{course.seconds / 60:.1f} min, in metal {share:.0f} % of the time; largest "
            f"engagement {course.engaged.max():.0f}°, largest mean force {hardest:.2f} N.")
    return board, says


def _stock(board: Board, layout: FlatLayout, removal: Removal, box: Box, after: bool) -> float:
    """The stock from above, as put on or as left; answers the height of its upper edge, mm."""
    from matplotlib.collections import PolyCollection
    from matplotlib.patches import Polygon

    colours = board.colours
    panel = board.scaled(box, layout.stock.bounds)
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


def _strips(board: Board, layout: FlatLayout, course: Course, box: Box) -> None:
    """Strips over one time: depth hangs down from the stock's top, the others stand up."""
    rows: list[tuple[str, Floats, tuple[float, ...]]] = [
        ("depth, mm", -course.depth, (0.0, round(layout.bottom - layout.top, 3))),
        ("feed, mm/min", course.feed, (0.0, round_step(max(float(course.feed.max()), 1e-6)))),
        ("engaged, degrees", course.engaged, (0.0, 90.0, 180.0)),
    ]
    if np.isfinite(course.force).any():
        most = round_step(max(float(np.nanmax(course.force)), 1e-6))
        rows.append(("mean force, N", course.force, (0.0, most)))
    high = box.height / len(rows)
    for place, (words, values, ticks) in enumerate(rows):
        inner = Box(box.x, box.y + box.height - (place + 1) * high + 2.0, box.width, high - 7.5)
        low, top = min(*ticks, float(values.min())), max(*ticks, float(values.max()))
        panel = board.panel(inner, (0.0, course.seconds), (low * 1.03, top * 1.03))
        _bars(board, panel, course, values)
        for tick in ticks:
            _level(board, panel, tick)
        board.text(box.x, inner.y + inner.height + 1.2, words)
        if place == len(rows) - 1:
            time_axis(board, panel, course.seconds)


def _bars(board: Board, panel: Panel, course: Course, values: Floats) -> None:
    """Values of the spans as one stepped area from 0."""
    from matplotlib.patches import Polygon

    edges = np.linspace(0.0, course.seconds, len(values) + 1)
    outline = np.column_stack((np.repeat(edges, 2)[1:-1], np.repeat(values, 2)))
    ring = np.vstack(((0.0, 0.0), outline, (course.seconds, 0.0)))
    panel.add(Polygon(ring, closed=True, facecolor=board.colours.deep, edgecolor="none", zorder=3))


def _level(board: Board, panel: Panel, value: float) -> None:
    from matplotlib.lines import Line2D

    panel.add(Line2D(panel.axes.get_xlim(), (value, value), color=board.colours.quiet,
                     linewidth=0.4, zorder=4))
    board.text(panel.box.x - 1.2, panel.on_board(0, value)[1], f"{abs(value):g}", across="right",
               up="center")
