"""Turned work in the head: from the side, in section across its axis, and the chart of its surface.

All is drawn from the motion read back: what the cuts leave. Lengths mm, angles degrees,
anticlockwise as seen from the free end.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats
from camgen.layout import RoundLayout
from camgen.preview.course.track import Track
from camgen.preview.head.on_arbor import body_key, hatch_of
from camgen.preview.paper.board import Board, Box
from camgen.preview.paper.key import Sample, draw_key
from camgen.preview.paper.palette import DASHES, WIDTHS, shade
from camgen.proof.common.round_frame import in_frame
from camgen.proof.round.chart import radii_of
from camgen.proof.round.sections import RoundCuts, section_left, section_meant
from camgen.shop.cutters import Cutter

__all__ = ["draw_cross_section", "draw_round", "draw_side", "track_cuts"]

# Places along the work and angles round it that the chart shows.
_ALONG, _AROUND = 90, 180
_ROUND_TURN = 360.0
# Steps of shade of the chart, each told by a line of its radius too.
_SHADES = 5


def track_cuts(layout: RoundLayout, track: Track) -> RoundCuts:
    """The cuts of a track in the work's own frame."""
    rows = np.nonzero(track.cutting)[0]
    begin, end = in_frame(layout, track.start[rows]), in_frame(layout, track.end[rows])
    both = np.stack([begin, end], axis=1)
    sense = -1.0 if layout.arrangement.along[0] == "-" else 1.0
    return RoundCuts(track.piece[rows], both[..., 0], both[..., 1], both[..., 2],
                     sense * track.angle[rows], track.cutter[rows])


def draw_round(
    board: Board, layout: RoundLayout, track: Track, cutters: Mapping[int, Cutter], area: Box
) -> str:
    """Draw turned work within ``area``; answers what the picture shows, in words."""
    cuts, fitted = track_cuts(layout, track), dict(cutters)
    items: list[tuple[Sample, str]] = [
        ("edge", board.says("as-cut")), ("wanted", board.says("as-meant")),
        ("rapid", board.says("rapid")), *body_key(board, layout.bodies)]
    key = draw_key(board, area.x, area.y, area.width, items)
    field = Box(area.x, area.y + key + 2.0, area.width, area.height - key - 2.0)
    low = field.height * 0.46
    wide = field.width * 0.52
    draw_side(board, layout, track, cuts, fitted,
          Box(field.x, field.y + low + 6, wide, field.height - low - 6))
    shown = layout.made[:2] or layout.made
    for number, one in enumerate(shown):
        each = (field.width - wide - 6) / len(shown)
        box = Box(field.x + wide + 4 + number * (each + 2), field.y + low + 6, each,
                  field.height - low - 6)
        middle = layout.places[0] + (one.begin + one.end) / 2
        draw_cross_section(board, layout, cuts, fitted, middle, box, one.name)
    deepest = _chart(board, layout, cuts, fitted,
                     Box(field.x + 12, field.y + 6, field.width - 14, low - 9))
    return board.says("says-round", count=len(layout.made), pieces=len(layout.places),
                      names=", ".join(one.name for one in layout.made),
                      deep=f"{deepest:.3f}")


def draw_cross_section(
    board: Board, layout: RoundLayout, cuts: RoundCuts, cutters: dict[int, Cutter], place: float,
    box: Box, name: str,
) -> None:
    """The section across the axis at ``place``: as cut, as meant, and the work as turned."""
    from matplotlib.patches import Circle
    from matplotlib.patches import Polygon as Shape

    colours = board.colours
    radius = layout.radius_over(place - 1e-3, place + 1e-3)[1]
    edge = 1.06 * radius
    panel = board.scaled(Box(box.x, box.y + 4.5, box.width, box.height - 4.5),
                         (-edge, -edge, edge, edge))
    panel.add(Circle((0, 0), radius, fill=False, edgecolor=colours.quiet,
                     linewidth=WIDTHS["pitch"], linestyle=DASHES["pitch"], zorder=2))
    for ring in _rings(section_left(layout, cuts, cutters, place)):
        panel.add(Shape(ring, closed=True, facecolor=colours.stock, edgecolor=colours.edge,
                        linewidth=0.9, zorder=3))
    for ring in _rings(section_meant(layout, place)):
        panel.add(Shape(ring, closed=True, fill=False, edgecolor=colours.wanted, linewidth=1.0,
                        linestyle=DASHES["wanted"], zorder=5))
    board.scale_bar(panel.scale, box.x, box.y, board.says(
        "section-across", name=name, at=f"{place - layout.places[0]:.2f}"))


def _rings(shape: BaseGeometry) -> list[Floats]:
    return [shapely.get_coordinates(part.exterior) for part in shapely.get_parts(shape)
            if not part.is_empty]


def draw_side(
    board: Board, layout: RoundLayout, track: Track, cuts: RoundCuts, cutters: dict[int, Cutter],
    box: Box,
) -> None:
    """Along the axis, as it lies at the first place of the head, with the cutter's way over it."""
    from matplotlib.collections import LineCollection
    from matplotlib.patches import Polygon as Shape

    colours = board.colours
    angle = float(cuts.turned[0]) if len(cuts) else 0.0
    right = layout.stands_out + 0.25 * max(layout.stands_out, 4 * layout.thickest)
    wide = max([0.0, *(cutter.diameter for cutter in cutters.values())])
    left = min([-0.6 * wide, *(body.end - 1.0 for body in layout.before)])
    panel = board.scaled(Box(box.x, box.y + 4.5, box.width, box.height - 4.5),
                         (left, -1.25 * layout.thickest, right,
                          1.5 * layout.thickest + layout.clearance))
    near, far = panel.axes.get_xlim()
    for body in (*layout.before, *layout.behind):
        outline = [(min(max(x, near - 1.0), far + 1.0), y) for x, y in body.profile]
        panel.add(Shape(outline, closed=True, facecolor=colours.paper,
                        edgecolor=colours.holding, linewidth=0.7, hatch=hatch_of(body.name),
                        zorder=4))
    places = _places(layout)
    both = np.array([radii_of(section_left(layout, cuts, cutters, place),
                              np.array([angle, angle + _ROUND_TURN / 2])) for place in places])
    outline = [*zip(places, both[:, 0], strict=True),
               *zip(places[::-1], -both[::-1, 1], strict=True)]
    panel.add(Shape(outline, closed=True, facecolor=colours.stock, edgecolor=colours.edge,
                    linewidth=0.9, zorder=3))
    seen_from = in_frame(layout, track.start), in_frame(layout, track.end)
    for rows, kind, colour in ((track.cutting, "cut", colours.deep),
                               (track.rapid, "rapid", colours.rapid)):
        lines = np.stack([seen_from[0][rows][:, [0, 2]], seen_from[1][rows][:, [0, 2]]], axis=1)
        panel.add(LineCollection(list(lines), linewidths=WIDTHS["rapid"],
                                 linestyles=[DASHES[kind]], colors=colour, zorder=6))
    board.scale_bar(panel.scale, box.x, box.y, board.says("along-work", angle=f"{angle % 360:g}"))


def _places(layout: RoundLayout) -> Floats:
    """Places along the work, close beside every change of section too."""
    ends = [one for body in layout.work for one in (body.begin + 1e-4, body.end - 1e-4)]
    ends += [place + one for place in layout.places for made in layout.made
             for end in (made.begin, made.end) for one in (end - 1e-4, end + 1e-4)]
    spread = np.linspace(1e-4, layout.stands_out - 1e-4, _ALONG)
    return np.array(sorted(one for one in {*ends, *spread.tolist()}
                           if 0.0 < one < layout.stands_out))


def _chart(
    board: Board, layout: RoundLayout, cuts: RoundCuts, cutters: dict[int, Cutter], box: Box
) -> float:
    """How deep below the turned surface the metal is gone, over length and angle; the most, mm."""
    colours = board.colours
    places, angles = _places(layout), np.linspace(0.0, _ROUND_TURN, _AROUND)
    turned = np.array([layout.radius_over(place - 5e-5, place + 5e-5)[1] for place in places])
    depth = turned[:, None] - np.array(
        [radii_of(section_left(layout, cuts, cutters, place), angles) for place in places])
    depth = np.where(depth < 1e-3, 0.0, depth)
    deepest = float(depth.max(initial=0.0))
    panel = board.panel(box, (0.0, layout.stands_out), (0.0, _ROUND_TURN))
    if deepest > 0:
        levels = np.linspace(0.0, deepest, _SHADES + 1)
        panel.axes.contourf(places, angles, depth.T, levels=[1e-3, *levels[1:-1], 1.01 * deepest],
                            colors=[shade(colours, (k + 1) / _SHADES) for k in range(_SHADES)],
                            antialiased=False)
        panel.axes.contour(places, angles, depth.T, levels=levels[1:-1], colors=colours.ink,
                           linewidths=0.4)
        panel.axes.set_xlim(0.0, layout.stands_out)
        panel.axes.set_ylim(0.0, _ROUND_TURN)
    for tick in (0, 90, 180, 270, 360):
        high = panel.on_board(0.0, tick)[1]
        board.line([(box.x - 1.2, high), (box.x, high)])
        board.text(box.x - 2.0, high, f"{tick}°", across="right", up="center")
    board.line([(box.x, box.y), (box.x + box.width, box.y)])
    board.line([(box.x, box.y), (box.x, box.y + box.height)])
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        place = share * layout.stands_out
        x = panel.on_board(place, 0.0)[0]
        board.line([(x, box.y), (x, box.y - 1.2)])
        board.text(x, box.y - 4.4, f"{place:.3g}", across="center" if share < 1 else "right")
    board.text(box.x, box.y + box.height + 1.0, board.says(
        "chart-of-surface", deep=f"{deepest:.3f}"))
    return deepest
