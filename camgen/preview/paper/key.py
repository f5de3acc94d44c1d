"""The key of a picture: a sample of each style with its meaning, in rows at the foot."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, TypeAlias

from camgen.preview.paper.board import Board, rows_of
from camgen.preview.paper.palette import DASHES, HATCHES, WIDTHS, shade

__all__ = ["Sample", "draw_key"]

# A style, or a thing on the arbor, hatched in its own way.
Sample: TypeAlias = Literal[
    "edge", "swath", "rapid", "wanted", "cut", "pitch", "stock", "holding", "entry", "left",
    "missing", "zero", "travel", "start", "fault", "hidden", "arbor", "nut", "washer", "spacer",
    "driver", "collet", "chuck", "tailstock", "backing", "corner",
]

_WIDE = 6.0
_GAP = 3.0
_ROW = 4.3


def draw_key(board: Board, x: float, y: float, width: float,
             items: Sequence[tuple[Sample, str]]) -> float:
    """Draw the key with its lowest row at height ``y``; answers the height it takes, mm."""
    texts = [board.text(0, 0, words) for _, words in items]
    widths = [_WIDE + 1.4 + board.extent(text).width + _GAP for text in texts]
    del board.taken[-len(items):]
    rows = rows_of(widths, width + _GAP)
    for number, row in enumerate(rows):
        at, high = x, y + (len(rows) - 1 - number) * _ROW
        for place in row:
            _sample(board, items[place][0], at, high + 1.0)
            texts[place].set_position(((at + _WIDE + 1.4) / board.width, high / board.height))
            board.taken.append(board.extent(texts[place]))
            at += widths[place]
    return len(rows) * _ROW


def _sample(board: Board, kind: Sample, x: float, y: float) -> None:
    """One sample, ``_WIDE`` mm long, its middle at height ``y``."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Polygon, Rectangle

    colours = board.colours

    def place(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        return [(px / board.width, py / board.height) for px, py in points]

    def rectangle(left: float, wide: float, face: str, edge: str, hatch: str = "") -> None:
        board.figure.add_artist(Rectangle(
            place([(left, y - 1.2)])[0], wide / board.width, 2.4 / board.height, facecolor=face,
            edgecolor=edge, linewidth=0.6, hatch=hatch or None,
            transform=board.figure.transFigure, zorder=45))

    if kind == "swath":
        steps = 7
        for step in range(steps):
            rectangle(x + _WIDE / steps * step, _WIDE / steps,
                      shade(colours, step / (steps - 1)), shade(colours, step / (steps - 1)))
        return
    if kind in HATCHES:
        rectangle(x, _WIDE, colours.paper, colours.holding, HATCHES[kind])
        return
    if kind in ("stock", "holding", "left", "missing"):
        face, edge, hatch = {
            "stock": (colours.stock, colours.quiet, ""),
            "holding": (colours.paper, colours.holding, "////"),
            "left": (colours.paper, colours.left, "////////"),
            "missing": (colours.paper, colours.missing, "||||||||"),
        }[kind]
        rectangle(x, _WIDE, face, edge, hatch)
        return
    if kind in ("entry", "start"):
        middle = x + _WIDE / 2
        points = [(middle - 1.1, y + 1.0), (middle + 1.1, y + 1.0), (middle, y - 1.1)]
        board.figure.add_artist(Polygon(
            place(points), closed=True, facecolor=colours.mark if kind == "entry" else "none",
            edgecolor=colours.mark, linewidth=0.8,
            transform=board.figure.transFigure, zorder=45))
        return
    if kind == "corner":
        board.figure.add_artist(Line2D(
            [(x + _WIDE / 2) / board.width], [y / board.height], marker="s", markersize=4.5,
            markerfacecolor="none", markeredgecolor=colours.left, markeredgewidth=0.9,
            linestyle="none", transform=board.figure.transFigure, zorder=46))
        return
    if kind == "zero":
        middle = x + _WIDE / 2
        board.line([(middle - 1.7, y), (middle + 1.7, y)], colour=colours.mark, width=0.8)
        board.line([(middle, y - 1.7), (middle, y + 1.7)], colour=colours.mark, width=0.8)
        board.figure.add_artist(Line2D(
            [middle / board.width], [y / board.height], marker="o", markersize=5,
            markerfacecolor=colours.paper, markeredgecolor=colours.mark, markeredgewidth=0.8,
            linestyle="none", transform=board.figure.transFigure, zorder=46))
        return
    colour = {"edge": colours.edge, "cut": colours.edge, "rapid": colours.rapid,
              "wanted": colours.wanted, "pitch": colours.quiet, "travel": colours.quiet,
              "fault": colours.missing, "hidden": colours.edge}[kind]
    board.figure.add_artist(Line2D(
        [x / board.width, (x + _WIDE) / board.width], [y / board.height] * 2, color=colour,
        linewidth=WIDTHS[kind], linestyle=DASHES[kind], dash_capstyle="round",
        transform=board.figure.transFigure, zorder=45))
