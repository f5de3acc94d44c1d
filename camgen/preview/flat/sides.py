"""Height against time: when the cutter is how deep, and when cutters are changed.

Lengths mm, times seconds.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import numpy as np

from camgen.arrays import Flags, Floats
from camgen.layout import FlatLayout
from camgen.preview.course.track import Track, runs, simplified
from camgen.preview.paper.board import Board, Box, Panel, round_step
from camgen.preview.paper.palette import DASHES, WIDTHS

__all__ = ["draw_against_time", "time_axis", "trace"]


def draw_against_time(
    board: Board, layout: FlatLayout, track: Track, names: Mapping[int, str], box: Box
) -> None:
    """Z against time with the stock's thickness, the safe height and the cutters' turns of duty."""
    colours = board.colours
    left, below, above = 11.0, 11.0, 4.5
    inner = Box(box.x + left, box.y + below, box.width - left - 1, box.height - below - above)
    low = min(layout.floor, float(track.end[:, 2].min()) if len(track) else layout.floor)
    high = max(layout.safe_height, float(track.end[:, 2].max()) if len(track) else 0.0)
    # Depths matter more than heights: above the stock the scale is squeezed.
    deep = layout.top - low
    panel = board.panel(inner, (0.0, max(track.seconds, 1e-9)), (-1.08, 0.62))

    def height(z: Floats) -> Floats:
        up = np.clip(z - layout.top, 0.0, None) / max(high - layout.top, 1e-9) * 0.5
        return np.where(z > layout.top, up, (z - layout.top) / deep)

    from matplotlib.patches import Rectangle

    bottom = float(height(np.array(layout.bottom)))
    if not layout.stock.is_empty:
        panel.add(Rectangle((0, bottom), track.seconds, -bottom, facecolor=colours.stock,
                            edgecolor="none", zorder=0))
    for z, words in ((high, f"{high:g}"), (layout.top, f"{layout.top:g}"),
                     (layout.bottom, f"{layout.bottom:g}")):
        y = float(height(np.array(z)))
        board.text(inner.x - 1.2, panel.on_board(0, y)[1], words, across="right", up="center")
        _level(panel, board, y)
    floor = float(height(np.array(layout.floor)))
    gap = panel.on_board(0, bottom)[1] - panel.on_board(0, floor)[1]
    if gap > 0.4:
        panel.add(Rectangle((0, floor), track.seconds, bottom - floor, facecolor="none",
                            edgecolor=colours.holding, linewidth=0.0, hatch="////", zorder=0))
    if gap > 3.2:
        board.text(inner.x - 1.2, panel.on_board(0, floor)[1], f"{layout.floor:g}",
                   across="right", up="center")
    heights = np.column_stack((height(track.start[:, 2]), height(track.end[:, 2])))
    trace(panel, board, track, heights, track.rapid, "rapid", colours.rapid)
    trace(panel, board, track, heights, track.cutting, "edge", colours.deep)
    board.text(box.x, inner.y + inner.height + 1.2, "Z")
    # The whole run takes longer than this axis, and the answer says how long.
    board.text(inner.x, inner.y - 9.2, board.says("moving"))
    _duties(board, panel, track, names)
    time_axis(board, panel, track.seconds)


def _level(panel: Panel, board: Board, y: float) -> None:
    from matplotlib.lines import Line2D

    panel.add(Line2D(panel.axes.get_xlim(), (y, y), color=board.colours.quiet, linewidth=0.4,
                     zorder=1))


def trace(
    panel: Panel, board: Board, track: Track, values: Floats, keep: Flags, kind: str, colour: str
) -> None:
    """A value at both ends of each stretch, ``values`` (m, 2), as lines against time."""
    from matplotlib.collections import LineCollection

    found = []
    for begin, finish in runs(keep):
        times = np.column_stack((track.since[begin:finish], track.until[begin:finish]))
        found.append(np.column_stack((times.ravel(), values[begin:finish].ravel())))
    if not found:
        return
    wide = (panel.axes.get_xlim()[1] - panel.axes.get_xlim()[0]) / panel.box.width
    high = (panel.axes.get_ylim()[1] - panel.axes.get_ylim()[0]) / panel.box.height
    # Simplified in paper millimetres, so that neither long programs nor short ones lose anything.
    paper = simplified([line / (wide, high) for line in found], 0.04)
    lines = [line * (wide, high) for line in paper]
    panel.add(LineCollection(lines, linewidths=WIDTHS[kind] * 0.8, colors=colour,
                             linestyles=[DASHES[kind]], capstyle="round", zorder=5))


def _duties(board: Board, panel: Panel, track: Track, names: Mapping[int, str]) -> None:
    """Which cutter is at work when, over the panel."""
    if not len(track):
        return
    changes = [0, *(1 + np.nonzero(np.diff(track.cutter))[0]), len(track)]
    top = panel.box.y + panel.box.height
    for begin, finish in pairwise(changes):
        number = int(track.cutter[begin])
        left = panel.on_board(float(track.since[begin]), 0)[0]
        right = panel.on_board(float(track.until[finish - 1]), 0)[0]
        if begin:
            board.line([(left, panel.box.y), (left, top + 3.6)], width=0.5)
        name = names.get(number) or board.says("cutter", number=number)
        for words in (name, str(number)):
            text = board.text((left + right) / 2, top + 1.2, words, across="center")
            if board.extent(text).width < right - left - 1.2:
                break
            board.texts.remove(text)
            board.taken.pop()
            text.remove()


def time_axis(board: Board, panel: Panel, seconds: float, *, named: bool = True) -> None:
    """Times under a panel, in seconds below three minutes and else in minutes.

    The unit stands before them, or after them where they are not ``named``.
    """
    per, unit = (1.0, "s") if seconds < 180 else (60.0, "min") if seconds < 3 * 3600 else (
        3600.0, "h")
    step = round_step(max(seconds / per / (4 if panel.box.width > 50 else 2), 1e-6))
    board.line([(panel.box.x, panel.box.y - 0.6),
                (panel.box.x + panel.box.width, panel.box.y - 0.6)])
    count = int(seconds / per / step + 1e-9)
    for tick in range(count + 1):
        value = tick * step
        x = panel.on_board(value * per, 0)[0]
        board.line([(x, panel.box.y - 0.6), (x, panel.box.y - 1.8)])
        board.text(x, panel.box.y - 5.2, f"{value:g}", across="center")
    if named:
        board.text(panel.box.x - 3.0, panel.box.y - 5.2, unit, across="right")
    else:
        board.text(panel.box.x + panel.box.width, panel.box.y - 9.4, unit, across="right")
