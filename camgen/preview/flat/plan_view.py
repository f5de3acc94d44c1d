"""A panel of flat work from above: stock, holding, the cutters' ways, parts, zero and entries.

Ways in metal are drawn as wide as the cutter cuts, darker the deeper; rapid moves are dotted.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString

from camgen.arrays import Flags, Floats
from camgen.layout import FlatLayout
from camgen.part.features import Recess
from camgen.part.shape import PartShape
from camgen.preview.course.removal import cleared_width
from camgen.preview.course.track import Track, runs, simplified
from camgen.preview.flat.least_room import part_lines
from camgen.preview.paper.board import Board, Panel, round_step
from camgen.preview.paper.palette import DASHES, WIDTHS, shade
from camgen.shapes.path import Path, Point, circle
from camgen.shop.cutters import Cutter
from camgen.values import dataclass

__all__ = ["PlacedSpot", "PlanPanels", "draw_work", "rapids_across"]

# A place on the work, mm.
PlacedSpot = tuple[float, float]

# Depths told apart by shade; more could not be seen.
_SHADES = 6
# Marks of entries nearer than this on paper are one mark, and ways nearer have no middle lines, mm.
_APART = 1.5
_NO_LINES = 0.5


@dataclass(frozen=True)
class PlanPanels:
    """What all panels of one picture draw; ``rapids`` whether their lines are among it."""

    layout: FlatLayout
    track: Track
    cutters: Mapping[int, Cutter]
    lowest: float
    rapids: bool = True


def draw_work(work: PlanPanels, panel: Panel, *, detail: bool, board: Board, entries: bool = True,
              numbers: Mapping[PlacedSpot, int] | None = None) -> dict[PlacedSpot, int]:
    """Stock, holding, ways, parts and zero in one panel; answers the number of each entry.

    A loupe is given the ``numbers`` of the plan that it enlarges, so that both say the same.
    """
    from matplotlib.collections import PolyCollection
    from matplotlib.patches import Polygon as Outline

    colours, layout = board.colours, work.layout
    if not layout.stock.is_empty:
        ring = np.asarray(layout.stock.exterior.coords)
        panel.add(Outline(ring, closed=True, facecolor=colours.stock, edgecolor="none", zorder=1))
        panel.add(Outline(ring, closed=True, fill=False, edgecolor=colours.quiet, linewidth=0.8,
                          zorder=9))
    _swaths(work, panel, board)
    if work.rapids:
        _rapids(work, panel, board)
    lines = [path.moved(*place).points(0.05 / panel.scale)
             for one in (layout, *layout.beside)
             for place in one.places for path in part_lines(one.part)]
    if panel.round is None:
        for one in (layout, *layout.beside):
            for name, (x, y) in zip(one.called, one.places, strict=bool(one.called)):
                # Beside the outline's lowest point: within the part its own lines are.
                low = min(one.part.outline.points(0.05), key=lambda point: point[1])
                board.label(*panel.on_board(x + float(low[0]), y + float(low[1])), name,
                            weight="bold")
    if lines:
        panel.add(PolyCollection(lines, facecolors="none", edgecolors=colours.edge, closed=False,
                                 linewidths=WIDTHS["edge"] if detail else 0.6, zorder=12))
    hidden = [path.moved(*place).points(0.05 / panel.scale)
              for place in layout.places for path in _beneath(layout.part)]
    if hidden:
        # As on any drawing, what lies on the other face is dashed (ISO 128-2, line type 02).
        panel.add(PolyCollection(hidden, facecolors="none", edgecolors=colours.edge, closed=False,
                                 linewidths=WIDTHS["hidden"], linestyles=[DASHES["hidden"]],
                                 zorder=11))
    for clamp in layout.clamps:
        panel.add(Outline(np.asarray(clamp.plan.exterior.coords), closed=True, hatch="////",
                          facecolor=colours.paper, edgecolor=colours.holding, linewidth=0.8,
                          zorder=14))
    _corners(layout, panel, board)
    _zero(panel, board)
    return _entries(work, panel, board, detail, numbers or {}) if entries else {}


def _corners(layout: FlatLayout, panel: Panel, board: Board) -> None:
    """Corners that are left to a file: an open square about each, where it is drawn."""
    from matplotlib.lines import Line2D

    spots = [(x + one.corner.at.x, y + one.corner.at.y)
             for x, y in layout.places for one in layout.part.corners_left]
    if spots:
        xs, ys = zip(*spots, strict=True)
        panel.add(Line2D(xs, ys, marker="s", markersize=4.5, linestyle="none", zorder=19,
                         markerfacecolor="none", markeredgecolor=board.colours.left,
                         markeredgewidth=0.9))


def _beneath(part: PartShape) -> list[Path]:
    """The lines of what is on the part's other face, seen through it."""
    return [path for one in part.beneath
            for path in (one.area.paths if isinstance(one, Recess) else
                         (circle(Point(one.x, one.y), one.diameter / 2),))]


def _polylines(track: Track, keep: Flags, tolerance: float) -> list[Floats]:
    """Unbroken ways in plan where ``keep`` is true, (k, 2) each, as coarse as cannot be seen."""
    if not keep.any():
        return []
    joined = np.ones(len(track), dtype=np.bool_)
    joined[1:] = np.all(track.start[1:] == track.end[:-1], axis=1)
    found: list[Floats] = []
    for begin, finish in runs(keep):
        breaks = [begin, *(begin + 1 + np.nonzero(~joined[begin + 1:finish])[0]), finish]
        found.extend(
            np.vstack((track.start[a:a + 1, :2], track.end[a:b, :2]))
            for a, b in pairwise(breaks) if b > a
        )
    return simplified(found, tolerance)


def _swaths(work: PlanPanels, panel: Panel, board: Board) -> None:
    """The ways in metal at the cutters' true width, shaded by depth, and their middle lines."""
    from matplotlib.collections import LineCollection
    from matplotlib.path import Path as Outline

    track, layout, colours = work.track, work.layout, board.colours
    span = layout.top - work.lowest
    depth = (layout.top - np.minimum(track.start[:, 2], track.end[:, 2])) / span
    in_metal = track.cutting & (depth > 1e-6)
    level = np.clip(np.ceil(depth * _SHADES), 1, _SHADES).astype(np.int64)
    tolerance = 0.03 / panel.scale
    over_edge = (Outline(np.asarray(layout.stock.exterior.coords))
                 if layout.over > 0 and panel.round is None else None)
    for number in sorted(set(track.cutter[in_metal].tolist())):
        cutter = work.cutters.get(number)
        for step in range(1, _SHADES + 1):
            here = in_metal & (track.cutter == number) & (level == step)
            if not here.any():
                continue
            # A pointed cutter is as wide as it is at the finished face.
            deep = max(float(depth[here].max()) * span - layout.over, 0.0)
            diameter = cleared_width(cutter, deep or span) if cutter else 0.0
            width = max(panel.width_of(diameter), 0.8)
            tone = shade(colours, step / _SHADES)
            _plunges(panel, layout, track.only(here), diameter, tone, 3 + step / 10)
            lines = _polylines(track, here, tolerance)
            if not lines:
                continue
            deepest = step == _SHADES
            swath = LineCollection(lines, linewidths=width, colors=tone, capstyle="round",
                                   joinstyle="round", zorder=3 + step / 10)
            panel.add(swath)
            if over_edge:
                # Beside the stock a facing cutter's way is a line, so that the stock is seen.
                swath.set_clip_path(over_edge, panel.axes.transData)
                panel.add(LineCollection(lines, linewidths=0.7, colors=tone, zorder=2))
            if width > 4.0:
                # Ways that lie close side by side, as in a pocket, get thin unbroken middle lines.
                apart = _apart(lines, diameter)
                for dense, weight in ((False, 0.7), (True, 0.3)):
                    some = [line for line, gap in zip(lines, apart, strict=True)
                            if gap * panel.scale > _NO_LINES and (gap < 0.7 * diameter) == dense]
                    dash = DASHES["cut"] if deepest or dense else DASHES["travel"]
                    panel.add(LineCollection(some, linewidths=weight, colors=colours.paper,
                                             linestyles=[dash], zorder=4 + step / 10))


def _plunges(panel: Panel, layout: FlatLayout, track: Track, diameter: float, tone: str,
             layer: float) -> None:
    """Where the cutter goes straight down into the stock: its round, as wide as it is."""
    from matplotlib.collections import EllipseCollection

    straight = np.all(track.start[:, :2] == track.end[:, :2], axis=1)
    places = np.unique(track.end[straight, :2], axis=0)
    if len(places) and not layout.stock.is_empty:
        places = places[shapely.dwithin(shapely.points(places), layout.stock, diameter / 4)]
    if diameter and len(places):
        sizes = np.full(len(places), diameter)
        panel.add(EllipseCollection(sizes, sizes, np.zeros(len(places)), units="xy",
                                    offsets=places, offset_transform=panel.axes.transData,
                                    facecolors=tone, edgecolors="none", zorder=layer))


def _apart(lines: Sequence[Floats], diameter: float) -> list[float]:
    """How far each way of a cutter runs from itself or from the nearest other, mm.

    A way that covers its own ground more than twice over runs as far from itself as its length and
    the area it covers say.
    """
    shapes = np.array([LineString(line) for line in lines], dtype=np.object_)
    found = np.full(len(lines), 1e9)
    middles = shapely.line_interpolate_point(shapes, 0.5, normalized=True)
    own, other = shapely.STRtree(shapes).query(middles, predicate="dwithin", distance=diameter)
    apart = own != other
    np.minimum.at(found, own[apart], shapely.distance(middles[own[apart]], shapes[other[apart]]))
    for place, line in enumerate(lines):
        length = float(np.hypot(*np.diff(line, axis=0).T).sum())
        wide, high = np.ptp(line, axis=0) + diameter
        if length * diameter > 2.0 * wide * high:
            found[place] = min(found[place], float(wide * high / length))
    return found.tolist()


def _across_at_rapid(track: Track) -> Flags:
    """Which stretches are rapid moves that go somewhere else in plan."""
    return np.asarray(track.rapid & np.any(track.start[:, :2] != track.end[:, :2], axis=1))


def rapids_across(track: Track) -> int:
    """How many rapid moves go somewhere else in plan: unbroken ones count as one."""
    return len(runs(_across_at_rapid(track)))


def _rapids(work: PlanPanels, panel: Panel, board: Board) -> None:
    from matplotlib.collections import LineCollection

    track = work.track
    lines = _polylines(track, _across_at_rapid(track), 0.03 / panel.scale)
    if lines:
        panel.add(LineCollection(lines, linewidths=WIDTHS["rapid"], colors=board.colours.rapid,
                                 linestyles=[DASHES["rapid"]], capstyle="round", zorder=10))


# How far the arrows of the axes reach from program zero on paper, mm.
_ARROW = 9.0


def _zero(panel: Panel, board: Board) -> None:
    """Program zero: a cross through an open ring, and where there is room the axes as arrows."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import FancyArrowPatch

    arm, far = 3.2 / panel.scale, _ARROW / panel.scale
    for name, x, y in (("X", far, 0.0), ("Y", 0.0, far)):
        at = panel.on_board(x, y)
        if panel.round is None and panel.box.holds(at) and board.label(
                *at, name, away=0.8, within=panel.box, weight="bold", first=-1.0 if x else 1.0):
            panel.add(FancyArrowPatch((0, 0), (x, y), arrowstyle="-|>", mutation_scale=7,
                                      shrinkA=0, shrinkB=0, linewidth=0.8, zorder=20,
                                      color=board.colours.mark))
    for xs, ys in (((-arm, arm), (0, 0)), ((0, 0), (-arm, arm))):
        panel.add(Line2D(xs, ys, color=board.colours.mark, linewidth=0.8, zorder=20))
    panel.add(Line2D((0,), (0,), marker="o", markersize=5, linestyle="none", zorder=21,
                     markerfacecolor=board.colours.paper, markeredgecolor=board.colours.mark,
                     markeredgewidth=0.8))


def _entries(work: PlanPanels, panel: Panel, board: Board, detail: bool,
             numbers: Mapping[PlacedSpot, int]) -> dict[PlacedSpot, int]:
    """Where the cutter goes down into metal, numbered in order; answers the number of each.

    From afar the pieces are numbered instead, in the order they are first cut.
    """
    from matplotlib.lines import Line2D

    track, layout = work.track, work.layout
    in_metal = track.cutting & (np.minimum(track.start[:, 2], track.end[:, 2]) < layout.top - 1e-9)
    firsts = [(float(track.start[begin, 0]), float(track.start[begin, 1]))
              for begin, _ in runs(in_metal)]
    if not firsts:
        return {}
    if not detail and layout.places:
        centres = np.array(layout.places)
        seen = [int(np.hypot(*(centres - point).T).argmin()) for point in firsts]
        for order, place in enumerate(dict.fromkeys(seen), 1):
            board.label(*panel.on_board(*layout.places[place]), str(order), within=panel.box)
        return {}
    low_x, high_x = sorted(panel.axes.get_xlim())
    low_y, high_y = sorted(panel.axes.get_ylim())
    firsts = [(x, y) for x, y in firsts if low_x <= x <= high_x and low_y <= y <= high_y]
    # Where there are many, only round numbers are written.
    many = len(firsts) > 16
    every = max(round_step(len(firsts) / 8), 2.0) if many else 1.0
    orders: dict[PlacedSpot, int] = {}
    marks: list[tuple[PlacedSpot, int]] = []
    written: set[int] = set()
    for point in firsts:
        spot = panel.on_board(*point)
        if panel.round is not None and math.dist(spot, panel.box.centre) > panel.box.width / 2 - 2:
            continue
        near = next((order for other, order in marks if math.dist(spot, other) < _APART), None)
        if near is not None:
            orders.setdefault(point, near)
            continue
        order = numbers.get(point, 0) if numbers else len(marks) + 1
        orders.setdefault(point, order)
        marks.append((spot, order))
        panel.add(Line2D((point[0],), (point[1],), marker="v", markersize=3.4 if many else 4.5,
                         linestyle="none", markerfacecolor=board.colours.mark, markeredgewidth=0.5,
                         markeredgecolor=board.colours.paper, zorder=22))
        if (order == 1 or order % every == 0) and order not in written:
            written.add(order)
            board.label(*spot, str(order), within=panel.box)
    return orders
