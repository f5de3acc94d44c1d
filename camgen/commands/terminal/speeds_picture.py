"""Depth against feed: where a cut is allowed, and which limit stands at each edge."""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

import numpy as np
from numpy.typing import NDArray

from camgen.cutting.answer import CutPlan
from camgen.cutting.explain import figure
from camgen.cutting.region import Region
from camgen.messages import Message
from camgen.preview.paper.board import Board, Box, Panel, Style, new_board, round_step
from camgen.preview.paper.palette import palette

__all__ = ["draw_region"]

WIDTH, HEIGHT = 180.0, 130.0
PLOT = Box(19.0, 30.0, 118.0, 75.0)
# One dash for each limit, so that the picture can be read without colour; the hue is a help only.
Dash = tuple[float, tuple[float, ...]]
LINES: dict[str, tuple[str, Dash]] = {
    "chip load": ("wanted", (0, ())),
    "width of the form": ("wanted", (0, ())),
    "deflection": ("missing", (0, (6.0, 2.0))),
    "bending stress": ("rapid", (0, (2.2, 1.6))),
    "torsion": ("left", (0, (8.0, 2.0, 1.2, 2.0))),
    "spindle torque": ("quiet", (0, (1.0, 1.6))),
    "spindle power": ("quiet", (0, (5.0, 1.5, 1.0, 1.5, 1.0, 1.5))),
    "axis feed": ("ink", (0, (11.0, 3.0))),
    "least chip": ("ink", (0, ())),
}
OTHER: tuple[str, Dash] = ("wanted", (0, ()))


def draw_region(
    region: Region, cut: CutPlan, heading: str, style: str = "png",
    say: Callable[[str], str] = str,
) -> bytes:
    """The picture as PNG, SVG or PDF bytes; ``heading`` says cutter, material and machine.

    ``say`` says its words.

    The allowed region is shaded, every limit that comes into view is a line of its own dash with
    its name at its end, the answer a ring. Limits too far away to be seen are named beneath.
    """
    board = new_board(WIDTH, HEIGHT, palette(False))
    upper: NDArray[np.float64] = np.min(np.stack(list(region.most.values())), axis=0)
    deepest = min(region.deepest.values())
    inside = (region.depths <= deepest) & (upper >= region.least)
    highest = float(upper[inside].max()) if inside.any() else cut.feed
    top = 1.3 * max(highest, cut.feed, float(region.least.max()) * 1.15)
    across = (0.0, float(region.depths[-1]))
    panel = board.panel(PLOT, across, (0.0, top))
    _ground(board, panel, across, top, say)
    if inside.any():
        panel.axes.fill_between(region.depths[inside], region.least[inside], upper[inside],
                                facecolor=board.colours.shallow, edgecolor="none", zorder=2)
        gap = (upper - region.least)[inside]
        middle = float((region.depths[inside] * gap).sum() / max(float(gap.sum()), 1e-12))
        where = int(np.argmin(np.abs(region.depths[inside] - middle)))
        x, y = region.depths[inside][where], (upper[inside] + region.least[inside])[where] / 2.0
        place = panel.on_board(float(x), float(y))
        board.text(*place, say(Message("allowed")), size=9.0, across="center", up="center",
                   halo=True)
    ends: list[tuple[float, str, str]] = []
    away: list[str] = []
    for name, feeds in (*region.most.items(), (Message("least chip"), region.least)):
        if not _line(panel, board, region.depths, feeds, name, top, ends):
            away.append(name)
    for name, depth in region.deepest.items():
        if depth <= across[1]:
            _upright(board, panel, depth, top, say(name))
        else:
            away.append(name)
    _names(board, ends, say)
    _answer(board, panel, cut)
    board.text(PLOT.x, HEIGHT - 8.0, say(Message("Depth against feed")), size=11.0, weight="bold")
    for line, words in enumerate(heading.split("\n")):
        board.text(PLOT.x, HEIGHT - 13.0 - 4.2 * line, words, width=WIDTH - PLOT.x - 4.0)
    board.text(PLOT.x, 14.0, say(Message(
        "At {speed}, width of cut {width}. Ring: the answer, {feed} and {depth} deep.",
        speed=figure(cut.speed, "rev/min"), width=figure(cut.width, "mm"),
        feed=figure(cut.feed, "mm/min"), depth=figure(cut.depth, "mm"))),
        width=WIDTH - PLOT.x - 4.0)
    if away:
        board.text(PLOT.x, 9.5, say(Message("Too far away to be seen: {limits}.",
                                            limits=tuple(away))),
                   width=WIDTH - PLOT.x - 4.0, colour=board.colours.quiet)
    board.text(PLOT.x, 5.0, say(Message("Above a line its limit is passed; below that of the least "
                                        "chip the edge rubs.")),
               width=WIDTH - PLOT.x - 4.0, colour=board.colours.quiet)
    return board.bytes(cast(Style, style), say(Message("Depth against feed")))


def _ground(
    board: Board, panel: Panel, across: tuple[float, float], top: float,
    say: Callable[[str], str],
) -> None:
    """Frame, rules and figures of both axes."""
    quiet = board.colours.quiet
    for low, high, axis in ((*across, "x"), (0.0, top, "y")):
        step = round_step((high - low) / 4.0)
        for number in range(int(high / step + 1e-9) + 1):
            value = number * step
            x, y = panel.on_board(value if axis == "x" else 0.0, value if axis == "y" else 0.0)
            if axis == "x":
                board.line([(x, PLOT.y), (x, PLOT.y + PLOT.height)], colour=board.colours.grid,
                           width=0.4, layer=1)
                board.text(x, PLOT.y - 4.5, f"{value:g}", across="center", colour=quiet)
            else:
                board.line([(PLOT.x, y), (PLOT.x + PLOT.width, y)], colour=board.colours.grid,
                           width=0.4, layer=1)
                board.text(PLOT.x - 1.5, y, f"{value:g}", across="right", up="center", colour=quiet)
    board.line([(PLOT.x, PLOT.y + PLOT.height), (PLOT.x, PLOT.y), (PLOT.x + PLOT.width, PLOT.y)],
               colour=board.colours.ink, width=0.8)
    board.text(PLOT.x + PLOT.width, PLOT.y - 9.0, say(Message("depth of one pass, mm")),
               across="right")
    board.text(PLOT.x - 13.0, PLOT.y + PLOT.height + 2.0, say(Message("feed, mm/min")))


def _line(panel: Panel, board: Board, depths: NDArray[np.float64], feeds: NDArray[np.float64],
          name: str, top: float, ends: list[tuple[float, str, str]]) -> bool:
    """One limit's line, where it comes into view; its right end is kept for the name."""
    from matplotlib.lines import Line2D

    if not (feeds <= top).any():
        return False
    role, dash = LINES.get(name, OTHER)
    colour = getattr(board.colours, role)
    heavy = 1.8 if name == "least chip" else 1.2
    panel.add(Line2D(depths, np.minimum(feeds, 10.0 * top), color=colour, linewidth=heavy,
                     linestyle=dash, zorder=5))
    end = min(float(feeds[-1]), top)
    ends.append((panel.on_board(0.0, end)[1], name, colour))
    return True


def _upright(board: Board, panel: Panel, depth: float, top: float, name: str) -> None:
    x, y = panel.on_board(depth, top)
    board.line([(x, PLOT.y), (x, y)], colour=board.colours.ink, width=1.0)
    board.text(x - 1.0, y - 1.0, name, across="right", up="top", turned=90.0, halo=True)


def _names(
    board: Board, ends: list[tuple[float, str, str]], say: Callable[[str], str]
) -> None:
    """The limits' names beside the plot, moved apart where they would touch, each with its dash."""
    least = 5.0
    placed: list[float] = []
    ordered = sorted(ends)
    for height, _, _ in ordered:
        placed.append(max(height, placed[-1] + least) if placed else max(height, PLOT.y + 1.0))
    ceiling = PLOT.y + PLOT.height
    for place in range(len(placed) - 1, -1, -1):
        placed[place] = min(placed[place], ceiling)
        ceiling = placed[place] - least
    right = PLOT.x + PLOT.width
    for (height, name, colour), at in zip(ordered, placed, strict=True):
        board.line([(right, height), (right + 3.0, at)], colour=board.colours.quiet, width=0.4)
        _sample(board, right + 3.5, at, name, colour)
        board.text(right + 14.0, at, say(name), up="center")


def _sample(board: Board, x: float, y: float, name: str, colour: str) -> None:
    from matplotlib.lines import Line2D

    _, dash = LINES.get(name, OTHER)
    board.figure.add_artist(Line2D(
        [x / WIDTH, (x + 9.5) / WIDTH], [y / HEIGHT, y / HEIGHT],
        transform=board.figure.transFigure, color=colour, linestyle=dash,
        linewidth=1.8 if name == "least chip" else 1.2))


def _answer(board: Board, panel: Panel, cut: CutPlan) -> None:
    from matplotlib.lines import Line2D

    panel.axes.add_line(Line2D([cut.depth], [cut.feed], marker="o", markersize=9.0,
                               markerfacecolor=board.colours.paper,
                               markeredgecolor=board.colours.ink, markeredgewidth=1.8, zorder=20,
                               clip_on=False))


