"""A section of flat work under its plan, to the same scale: what stands up, how deep it goes.

Lengths mm.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import shapely
from shapely import LineString, box
from shapely import Polygon as Area
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats
from camgen.layout import FlatLayout
from camgen.part.features import Hole
from camgen.preview.course.removal import end_rise
from camgen.preview.course.track import Track
from camgen.preview.paper.board import Board, Box, Panel
from camgen.preview.paper.palette import DASHES, WIDTHS
from camgen.shapes.path import Point, circle
from camgen.shop.cutters import Cutter
from camgen.tolerances import CHECK_CHORD

__all__ = ["draw_section", "height_left", "section_bounds", "upright_walls"]

# Rapid moves are shown where that takes no more than this share of the plan's height.
_MOST_SHARE = 0.15
# Places a millimetre of paper at which the depth is looked for.
_PER_MM = 20
# Steeper than this, height by width, is a wall: the slenderest point in use, 10 degrees, makes 11.
_STEEP = 12.0


def section_bounds(layout: FlatLayout) -> tuple[float, float]:
    """Lowest and highest Z that the view shows.

    To the safe height where there is room, else to what stands up and to the clearance.
    """
    _, front, _, back = layout.stock.bounds
    low = min(layout.floor, layout.bottom)
    if layout.safe_height - low <= _MOST_SHARE * (back - front):
        return low, layout.safe_height + 0.3
    tall = max((clamp.top for clamp in layout.clamps), default=layout.top)
    return low, max(tall, layout.top + layout.clearance) + 0.3


def draw_section(board: Board, plan: Panel, layout: FlatLayout, track: Track,
                 cutters: Mapping[int, Cutter], y: float, place: Box) -> None:
    """The section at ``y`` in ``place``, as wide as the plan's, its ends marked on the plan.

    What stands behind it and must not be hit is drawn too.
    """
    from matplotlib.lines import Line2D

    low, high = section_bounds(layout)
    plain = board.panel(place, plan.axes.get_xlim(), (low, high))
    panel = Panel(plain.axes, place, plan.scale)
    colours = board.colours
    left, _, right, _ = layout.stock.bounds
    if layout.floor < layout.bottom:
        _block(panel, left, layout.floor, right, layout.bottom, face="none",
               edge=colours.holding, hatch="////")
    for clamp in layout.clamps:
        begin, _, end, _ = clamp.plan.bounds
        _block(panel, begin, layout.top, end, clamp.top, face=colours.paper, edge=colours.holding,
               hatch="////")
    _metal(board, panel, layout, track, cutters, y)
    across = np.any(track.start[:, :2] != track.end[:, :2], axis=1)
    heights = np.unique(np.round(track.end[track.rapid & across, 2], 3))
    for height in heights[heights < high][:3]:
        panel.add(Line2D((left, right), (height, height), color=colours.rapid,
                         linewidth=WIDTHS["rapid"], linestyle=DASHES["rapid"],
                         dash_capstyle="round", zorder=6))
    for x, sense in ((left, -1.0), (right, 1.0)):
        at_x, at_y = plan.on_board(x, y)
        board.line([(at_x, at_y), (at_x + 2.2 * sense, at_y)], colour=colours.ink, width=1.2)


def _block(panel: Panel, left: float, low: float, right: float, high: float, *, face: str,
           edge: str, hatch: str | None = None) -> None:
    from matplotlib.patches import Rectangle

    panel.add(Rectangle((left, low), right - left, high - low, facecolor=face, edgecolor=edge,
                        hatch=hatch, linewidth=0.7, zorder=2))


def _metal(board: Board, panel: Panel, layout: FlatLayout, track: Track,
           cutters: Mapping[int, Cutter], y: float) -> None:
    """The stock's section less what was cut away."""
    from matplotlib.patches import Polygon

    first, _, last, _ = layout.stock.bounds
    inside = layout.stock.intersection(LineString([(first - 1, y), (last + 1, y)]))
    if inside.is_empty:
        return
    left, _, right, _ = inside.bounds
    places = np.linspace(left, right, max(int((right - left) * panel.scale * _PER_MM), 2))
    surface = np.clip(height_left(layout.top, track, cutters, places, y), layout.bottom, layout.top)
    ring = np.vstack(((left, layout.bottom), upright_walls(places, surface),
                      (right, layout.bottom)))
    metal: BaseGeometry = Area(ring).buffer(0)
    if layout.turned:
        metal = metal.difference(_cut_before(layout, y))
    for part in shapely.get_parts(metal):
        if isinstance(part, Area) and part.area > 0:
            panel.add(Polygon(np.asarray(part.exterior.coords), closed=True,
                              facecolor=board.colours.stock, edgecolor=board.colours.edge,
                              linewidth=0.8, joinstyle="round", zorder=4))


def upright_walls(places: Floats, surface: Floats) -> Floats:
    """(m, 2) places and heights with walls upright: no line from one place to the next is steep.

    A wall stands somewhere between two ``places`` (n,) of unlike height in ``surface`` (n,), mm; it
    is drawn midway. Slopes less than :data:`_STEEP` are those of pointed cutters.

    >>> upright_walls(np.array([0.0, 1.0, 2.0]), np.array([0.0, 0.0, -20.0])).tolist()
    [[0.0, 0.0], [1.0, 0.0], [1.5, 0.0], [1.5, -20.0], [2.0, -20.0]]
    """
    steep = np.nonzero(np.abs(np.diff(surface)) > _STEEP * np.diff(places))[0]
    middles = np.repeat((places[steep] + places[steep + 1]) / 2.0, 2)
    heights = np.column_stack((surface[steep], surface[steep + 1])).ravel()
    behind = np.repeat(steep + 1, 2)
    return np.column_stack((np.insert(places, behind, middles),
                            np.insert(surface, behind, heights)))


def _cut_before(layout: FlatLayout, y: float) -> BaseGeometry:
    """What the setup of the other side took out of the section: holes right through, and recesses.
    """
    low, high = layout.bottom - 1.0, layout.top + 1.0
    part = layout.part
    shapes = [(circle(Point(hole.x, hole.y), hole.diameter / 2).region(CHECK_CHORD), high)
              for hole in part.holes]
    shapes += [(path.region(CHECK_CHORD), high) for path in part.openings]
    for below in part.beneath:
        shape = (circle(Point(below.x, below.y), below.diameter / 2).region(CHECK_CHORD)
                 if isinstance(below, Hole) else below.area.region(CHECK_CHORD))
        shapes.append((shape, layout.back + (below.depth or 0.0)))
    gone = []
    for px, py in layout.places:
        for shape, top in shapes:
            left, _, right, _ = shape.bounds
            line = LineString([(left - 1, y - py), (right + 1, y - py)])
            for cut in shapely.get_parts(shape.intersection(line)):
                if cut.length > 0:
                    gone.append(box(cut.bounds[0] + px, low, cut.bounds[2] + px, top))
    return shapely.union_all(gone)


def height_left(top: float, track: Track, cutters: Mapping[int, Cutter], places: Floats, y: float
           ) -> Floats:
    """(n,) height of the metal left at ``places`` (n,) in X on the line at ``y``.

    ``top`` is the height of the stock's upper face.
    """
    surface = np.full(len(places), top)
    deep = track.cutting & (np.minimum(track.start[:, 2], track.end[:, 2]) < top - 1e-9)
    for number in sorted(set(track.cutter[deep].tolist()) & set(cutters)):
        cutter = cutters[number]
        radius = cutter.diameter / 2
        near = (np.minimum(track.start[:, 1], track.end[:, 1]) <= y + radius) & (
            np.maximum(track.start[:, 1], track.end[:, 1]) >= y - radius)
        for row in np.nonzero(deep & near & (track.cutter == number))[0].tolist():
            start, end = track.start[row], track.end[row]
            first = int(np.searchsorted(places, min(start[0], end[0]) - radius))
            last = int(np.searchsorted(places, max(start[0], end[0]) + radius, side="right"))
            if first == last:
                continue
            way = end[:2] - start[:2]
            from_start = np.column_stack((places[first:last], np.full(last - first, y))) - start[:2]
            share = np.clip(from_start @ way / max(float(way @ way), 1e-18), 0.0, 1.0)
            beside = ((from_start - share[:, None] * way) ** 2).sum(axis=1)
            lowest = start[2] + share * (end[2] - start[2])
            if not way.any():
                lowest = np.full(last - first, min(start[2], end[2]))
            lowest = np.where(beside <= radius**2, lowest + end_rise(cutter, beside), top)
            surface[first:last] = np.minimum(surface[first:last], lowest)
    return surface
