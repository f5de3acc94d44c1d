"""How deep the tooth cutter goes: against time, and space by space. Lengths mm."""

from __future__ import annotations

import numpy as np

from camgen.preview.course.track import Track
from camgen.preview.flat.sides import time_axis, trace
from camgen.preview.head.cut_teeth import Cut, cut_spaces, depth_and_place
from camgen.preview.paper.board import Board, Box

__all__ = ["draw_infeed", "first_spaces"]


def draw_infeed(board: Board, cut: Cut, box: Box) -> None:
    """Depth of the cutter's point below the tip circle: against time, and space by space.

    All spaces are cut alike, so where there are many the first few are drawn against time and the
    depth reached stands beside them for every one.
    """
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    layout, colours = cut.layout, board.colours
    track, shown = first_spaces(cut)
    many = shown < len(cut.spaces)
    left, below, above = 13.0, 7.5, 5.0
    wide = (box.width - left - 1) * (0.52 if many else 1.0)
    inner = Box(box.x + left, box.y + below, wide, box.height - below - above)
    whole = layout.tooth.sizes.whole_depth
    begin = float(track.since[0]) if len(track) else 0.0
    seconds = max(track.seconds - begin, 1e-9)
    panel = board.panel(inner, (0.0, seconds), (-1.2, 0.5))
    values = np.zeros((len(track), 2))
    for number in sorted(set(track.cutter.tolist())):
        own = track.cutter == number
        for column, points in enumerate((track.start, track.end)):
            values[own, column] = depth_and_place(layout, points[own], cut.cutters, number)[0]
    clear = max(float(-values.min(initial=0.0)), 1e-9)
    # Above the tip circle the scale is squeezed: there only "clear" matters.
    height = np.where(values > 0, -values / whole, np.clip(-values / clear, 0, 1) * 0.42)
    panel.add(Rectangle((0, -1), seconds, 1, facecolor=colours.stock, edgecolor="none", zorder=0))
    for level, words in ((0.42, board.says("clear")), (0.0, board.says("tip")),
                         (-1.0, f"{whole:.3f}")):
        panel.add(Line2D(panel.axes.get_xlim(), (level, level), color=colours.quiet,
                         linewidth=0.4, zorder=1))
        board.text(inner.x - 1.2, panel.on_board(0, level)[1], words, across="right", up="center")
    timed = track.shifted(-begin)
    trace(panel, board, timed, height, track.rapid, "rapid", colours.rapid)
    trace(panel, board, timed, height, track.cutting, "edge", colours.deep)
    time_axis(board, panel, seconds)
    if many:
        board.text(inner.x, box.y + box.height - 3.4, board.says("first-spaces", count=shown))
        _every_space(board, cut, Box(inner.x + wide + 6, inner.y, box.x + box.width - 1 - inner.x
                                     - wide - 6, inner.height))


def first_spaces(cut: Cut) -> tuple[Track, int]:
    """The motion of the first spaces that are cut, and how many: all, or three of more than six.

    Of several cutters that of the one whose form the spaces have.
    """
    track = cut.track
    if len(cut.spaces) <= 6:
        return track, len(cut.spaces)
    track = track.only(track.cutter == cut.spaces[0].cutter)
    turns = np.nonzero(track.turning)[0]
    later = turns[track.angle[turns] > cut.spaces[2].angle + 1e-6]
    few = track.only(slice(0, int(later[0]) if len(later) else len(track)))
    deep = max((space.depth for space in cut_spaces(cut.layout, few, cut.cutters)), default=0.0)
    # Cut in passes that each go round the whole wheel, the first spaces alone tell too little.
    if len(cut.spaces) <= 30 and deep < 0.99 * max(space.depth for space in cut.spaces):
        return track, len(cut.spaces)
    return few, 3


def _every_space(board: Board, cut: Cut, box: Box) -> None:
    """The depth reached in each space, by angle, as stems from the tip circle."""
    from matplotlib.collections import LineCollection
    from matplotlib.lines import Line2D

    colours, whole = board.colours, cut.layout.tooth.sizes.whole_depth
    panel = board.panel(box, (0.0, 360.0), (-1.2, 0.5))
    for level in (0.0, -1.0):
        panel.add(Line2D((0, 360), (level, level), color=colours.quiet, linewidth=0.4, zorder=1))
    stems = [((space.angle, 0.0), (space.angle, -space.depth / whole)) for space in cut.spaces]
    panel.add(LineCollection(stems, linewidths=min(1.2, box.width * 1.4 / len(stems)),
                             colors=colours.deep, zorder=4))
    board.text(box.x, box.y + box.height + 1.6, board.says("all-spaces", count=len(stems)))
    board.line([(box.x, box.y - 0.6), (box.x + box.width, box.y - 0.6)])
    for tick in (0, 180, 360):
        x = panel.on_board(tick, 0)[0]
        board.line([(x, box.y - 0.6), (x, box.y - 1.8)])
        board.text(x, box.y - 5.2, f"{tick}°", across="center" if tick < 360 else "right")
