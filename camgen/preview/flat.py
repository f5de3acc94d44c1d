"""Flat work from above, to scale, and from the side against time.

The plan shows stock, finished parts, holding and zero, and the cutters' ways at their true width,
darker the deeper; loupes enlarge one piece and the place where the cutter has least room.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely import Point as Point2
from shapely import Polygon

from camgen.layout import FlatLayout, PartShape
from camgen.preview.board import Board, Box, Panel, round_step
from camgen.preview.key import Sample, draw_key
from camgen.preview.palette import DASHES, WIDTHS, shade
from camgen.preview.sides import draw_against_time
from camgen.preview.track import Track, runs, simplified
from camgen.proof.way import Flags, Floats
from camgen.shapes.path import ArcTo, Path, Point, circle
from camgen.shop.cutters import Cutter
from camgen.values import dataclass

__all__ = ["bare_layout", "draw_flat", "draw_plan", "part_edges", "tightest_place"]

# Depths told apart by shade; more could not be seen.
_SHADES = 6


@dataclass(frozen=True)
class _Work:
    """What all panels of one picture draw."""

    layout: FlatLayout
    track: Track
    cutters: Mapping[int, Cutter]
    lowest: float


@dataclass(frozen=True)
class _Tight:
    """Where the cutter has least room: the place, the radius there (0 where none), what it is."""

    place: tuple[float, float]
    radius: float
    what: str


def draw_flat(
    board: Board, layout: FlatLayout, track: Track, cutters: Mapping[int, Cutter],
    names: Mapping[int, str], area: Box,
) -> str:
    """Draw flat work on a board within ``area``; answers what the picture shows, in words.

    ``cutters`` and ``names`` are by number.
    """
    cutting = track.cutting
    lowest = float(track.end[cutting, 2].min()) if cutting.any() else layout.bottom
    # Whatever goes through is as deep as can be: the carrier beneath does not count.
    deepest = min(max(lowest, layout.bottom), layout.top - 1e-6)
    work = _Work(layout, track, cutters, deepest)
    key = draw_key(board, area.x, area.y, area.width, _key_items(layout))
    field = Box(area.x, area.y + key + 1.5, area.width, area.height - key - 1.5)
    piece = layout.places[0] if layout.places else (0.0, 0.0)
    at, radius, what = tightest_place(layout.part) if layout.places else _tightest_way(track)
    tight = _Tight((at[0] + piece[0], at[1] + piece[1]), radius, what)
    if len(layout.places) > 1:
        _several(board, work, field, piece, tight, names)
    else:
        _single(board, work, field, tight, names)
    return _in_words(layout, track, cutters, lowest)


def draw_plan(
    board: Board, panel: Panel, layout: FlatLayout, track: Track, cutters: Mapping[int, Cutter],
) -> None:
    """Stock, holding, ways, parts and zero in a panel of another picture."""
    deepest = min(float(track.end[:, 2].min(initial=layout.bottom)), layout.top - 1e-6)
    work = _Work(layout, track, cutters, max(deepest, layout.bottom))
    _draw_work(work, panel, detail=True, board=board, entries=False)


def tightest_place(part: PartShape) -> tuple[tuple[float, float], float, str]:
    """Where a part leaves the cutter least room or least metal: place, size in mm, what it is.

    The smallest of the inside corners' radii, the holes' radii and the walls' thicknesses; the
    place is in the part's frame. Without any of them the first point of the outline.
    """
    found: list[tuple[float, float, float, str]] = []
    for path in (*part.openings, *(path for recess in part.recesses for path in recess.area.paths)):
        # An inside corner turns the way its path runs round what is cleared; islands run the other.
        around = path.area < 0 if path in part.openings else False
        for at, piece in path.laid_out():
            if isinstance(piece, ArcTo) and piece.clockwise == around:
                middle = (at.x + piece.end.x) / 2, (at.y + piece.end.y) / 2
                found.append((math.dist(at, piece.centre), *middle, "corner"))
    found += [(hole.diameter / 2, hole.x, hole.y, "hole") for hole in (*part.holes, *part.blind)]
    found += _thinnest_wall(part)
    if not found:
        return (part.outline.start.x, part.outline.start.y), 0.0, "edge"
    size, x, y, what = min(found)
    return (x, y), size, what


def _thinnest_wall(part: PartShape) -> list[tuple[float, float, float, str]]:
    """The least thickness of metal left between two edges of a part, where there is any."""
    regions = [path.region(0.01) for path in part_edges(part)]
    if len(regions) < 2:
        return []
    solid = regions[0].difference(shapely.union_all([
        *(path.region(0.01) for path in part.openings),
        *(Point2(hole.x, hole.y).buffer(hole.diameter / 2) for hole in (*part.holes, *part.blind)),
        *(recess.area.region(0.01) for recess in part.recesses),
    ]))
    rings = np.array([region.exterior for region in regions], dtype=np.object_)
    pairs, apart = shapely.STRtree(rings).query_nearest(
        rings, exclusive=True, return_distance=True, all_matches=False)
    for place in np.argsort(apart, kind="stable").tolist():
        line = shapely.shortest_line(rings[pairs[0, place]], rings[pairs[1, place]])
        middle = shapely.get_coordinates(line).mean(axis=0)
        # A hole in the floor of a recess is near its edge, but no wall stands between.
        if apart[place] > 0 and shapely.contains_xy(solid, *middle):
            return [(float(apart[place]), float(middle[0]), float(middle[1]), "wall")]
    return []


def bare_layout(track: Track) -> FlatLayout:
    """What is known of a program without its job: where it goes, and nothing of the stock."""
    cutting = track.only(track.cutting)
    low = min(float(cutting.end[:, 2].min()) if len(cutting) else 0.0, -1e-3)
    high = max(float(track.end[:, 2].max()) if len(track) else 0.0, 1e-3)
    return FlatLayout(Polygon(), 0.0, low, low, PartShape(circle(Point(0.0, 0.0), 1.0)), (), (),
                      False, high, 0.0)


def _tightest_way(track: Track) -> tuple[tuple[float, float], float, str]:
    """The middle of the shortest fed stretches across, where the way turns most closely."""
    across = np.hypot(*(track.end - track.start)[:, :2].T)
    fed = np.nonzero(track.cutting & (across > 1e-6))[0]
    if not len(fed):
        return (0.0, 0.0), 0.0, "way"
    middle = int(fed[np.argmin(across[fed])])
    return (float(track.end[middle, 0]), float(track.end[middle, 1])), 0.0, "way"


def _field_of(work: _Work) -> tuple[float, float, float, float]:
    """What a plan must show: the stock, or where the program goes when none is known."""
    if not work.layout.stock.is_empty:
        return work.layout.stock.bounds
    points = np.vstack((work.track.start, work.track.end))[:, :2] if len(work.track) else (
        np.array([[-1.0, -1.0], [1.0, 1.0]]))
    low, high = points.min(axis=0) - 0.5, points.max(axis=0) + 0.5
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _several(
    board: Board, work: _Work, field: Box, piece: tuple[float, float], tight: _Tight,
    names: Mapping[int, str],
) -> None:
    """Many pieces from one stock: the stock, one piece in a loupe, its tightest place in another.
    """
    left = field.width * 0.545
    side_high = field.height * 0.40
    plan_box = Box(field.x, field.y + side_high + 5, left, field.height - side_high - 5)
    plan = board.scaled(plan_box, _around(_field_of(work), 0.03))
    _draw_work(work, plan, detail=False, board=board)
    board.scale_bar(plan, field.x, field.y + side_high + 2)
    draw_against_time(board, work.layout, work.track, names,
                      Box(field.x, field.y, left, side_high))

    big = min(field.width - left - 6, field.height * 0.66)
    ring = board.loupe((field.x + field.width - big / 2, field.y + field.height - big / 2 - 0.5),
                       big, piece, _reach(work) * 1.1)
    small = field.height - big + 8
    low = (field.x + left + 8 + small / 2, field.y + small / 2 + 0.5)
    _piece_and_spot(board, work, plan, ring, low, small, piece, tight)


def _single(
    board: Board, work: _Work, field: Box, tight: _Tight, names: Mapping[int, str],
) -> None:
    """One piece: its plan large, the tightest place in a loupe, depth against time."""
    left = field.width * 0.56
    plan = board.scaled(Box(field.x, field.y + 4, left, field.height - 4),
                        _around(_field_of(work), 0.04))
    _draw_work(work, plan, detail=True, board=board)
    board.scale_bar(plan, field.x, field.y + 0.6)
    right = field.x + left + 6
    high = field.height * 0.44
    draw_against_time(board, work.layout, work.track, names,
                      Box(right, field.y, field.x + field.width - right, high))
    wide = min(field.height - high - 6, field.x + field.width - right)
    radius = _spot_radius(work, tight.radius)
    middle = (field.x + field.width - wide / 2, field.y + field.height - wide / 2 - 0.5)
    loupe = board.loupe(middle, wide, tight.place, radius)
    _draw_work(work, loupe, detail=True, board=board)
    _mark_spot(board, plan, loupe, tight.place, radius)
    board.text(field.x + field.width, loupe.box.y - 4.6, ", ".join(_caption(loupe, tight)),
               across="right")


def _piece_and_spot(
    board: Board, work: _Work, plan: Panel, ring: Panel, low: tuple[float, float], small: float,
    piece: tuple[float, float], tight: _Tight,
) -> None:
    _draw_work(work, ring, detail=True, board=board)
    _mark_spot(board, plan, ring, piece, _reach(work) * 1.1)
    radius = _spot_radius(work, tight.radius)
    loupe = board.loupe(low, small, tight.place, radius)
    _draw_work(work, loupe, detail=True, board=board, entries=False)
    _mark_spot(board, ring, loupe, tight.place, radius)
    x, y = loupe.box.x + loupe.box.width + 3, loupe.box.y
    board.text(x, y + 13.5, f"stock {plan.scale:.2g} : 1")
    board.text(x, y + 9.0, f"piece {ring.scale:.2g} : 1")
    for row, words in enumerate(reversed(_caption(loupe, tight))):
        board.text(x, y + 4.5 * row, words)


def _caption(loupe: Panel, tight: _Tight) -> tuple[str, ...]:
    """What a loupe enlarges, how much, and the size that matters there."""
    scale = f"{tight.what} {loupe.scale:.2g} : 1"
    if not tight.radius:
        return (scale,)
    return scale, f"{'thick' if tight.what == 'wall' else 'radius'} {tight.radius:.3g} mm"


def _reach(work: _Work) -> float:
    """Radius about a piece's centre that shows the whole piece, mm."""
    points = work.layout.part.outline.points(0.01)
    widest = max((cutter.diameter for cutter in work.cutters.values()), default=0.0)
    return float(np.hypot(points[:, 0], points[:, 1]).max()) + min(widest, 2.0)


def _spot_radius(work: _Work, corner: float) -> float:
    """Radius of what the loupe shows: the corner and a few widths of the smallest cutter."""
    slim = min((cutter.diameter for cutter in work.cutters.values()), default=0.5)
    return max(2.2 * slim, 3.0 * corner, 0.15)


def _mark_spot(
    board: Board, plan: Panel, loupe: Panel, spot: tuple[float, float], radius: float
) -> None:
    """A thin circle on the plan round what the loupe shows, and two lines between."""
    from matplotlib.patches import Circle

    plan.add(Circle(spot, radius, facecolor="none", edgecolor=board.colours.ink, linewidth=0.7,
                    zorder=30))
    board.pointers(loupe, plan.on_board(*spot), radius * plan.scale)


def _around(bounds: Sequence[float], share: float) -> tuple[float, float, float, float]:
    """Bounds with a margin of a share of the longer side."""
    margin = share * max(bounds[2] - bounds[0], bounds[3] - bounds[1])
    return bounds[0] - margin, bounds[1] - margin, bounds[2] + margin, bounds[3] + margin


def _draw_work(work: _Work, panel: Panel, *, detail: bool, board: Board,
               entries: bool = True) -> None:
    """Stock, holding, ways, parts and zero in one panel."""
    from matplotlib.collections import PolyCollection
    from matplotlib.patches import Polygon as Outline

    colours, layout = board.colours, work.layout
    if not layout.stock.is_empty:
        panel.add(Outline(np.asarray(layout.stock.exterior.coords), closed=True,
                          facecolor=colours.stock, edgecolor=colours.quiet, linewidth=0.8,
                          zorder=1))
    _swaths(work, panel, board)
    _rapids(work, panel, board)
    lines = [path.moved(*place).points(0.05 / panel.scale)
             for place in layout.places for path in part_edges(layout.part)]
    if lines:
        panel.add(PolyCollection(lines, facecolors="none", edgecolors=colours.edge, closed=False,
                                 linewidths=WIDTHS["edge"] if detail else 0.6, zorder=12))
    for clamp in layout.clamps:
        panel.add(Outline(np.asarray(clamp.plan.exterior.coords), closed=True, hatch="////",
                          facecolor=colours.paper, edgecolor=colours.holding, linewidth=0.8,
                          zorder=14))
    _zero(panel, board)
    if entries:
        _entries(work, panel, board, detail)


def part_edges(part: PartShape) -> list[Path]:
    """All the lines of a finished part seen from above: outline, openings, holes, recesses."""
    return [part.outline, *part.openings,
            *(circle(Point(hole.x, hole.y), hole.diameter / 2)
              for hole in (*part.holes, *part.blind)),
            *(path for recess in part.recesses for path in recess.area.paths)]


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


def _swaths(work: _Work, panel: Panel, board: Board) -> None:
    """The ways in metal at the cutters' true width, shaded by depth, and their middle lines."""
    from matplotlib.collections import LineCollection

    track, layout, colours = work.track, work.layout, board.colours
    span = layout.top - work.lowest
    depth = (layout.top - np.minimum(track.start[:, 2], track.end[:, 2])) / span
    in_metal = track.cutting & (depth > 1e-6)
    level = np.clip(np.ceil(depth * _SHADES), 1, _SHADES).astype(np.int64)
    tolerance = 0.03 / panel.scale
    for number in sorted(set(track.cutter[in_metal].tolist())):
        cutter = work.cutters.get(number)
        diameter = cutter.diameter if cutter else 0.0
        width = max(panel.width_of(diameter), 0.8)
        for step in range(1, _SHADES + 1):
            lines = _polylines(track, in_metal & (track.cutter == number) & (level == step),
                               tolerance)
            if not lines:
                continue
            tone = shade(colours, step / _SHADES)
            deepest = step == _SHADES
            panel.add(LineCollection(
                lines, linewidths=width, colors=tone, capstyle="round", joinstyle="round",
                zorder=3 + step / 10))
            if width > 4.0:
                # Ways that lie close side by side, as in a pocket, get thin unbroken middle lines.
                close = [_is_close(line, diameter) for line in lines]
                for dense, weight in ((False, 0.7), (True, 0.3)):
                    some = [line for line, is_close in zip(lines, close, strict=True)
                            if is_close == dense]
                    dash = DASHES["cut"] if deepest or dense else DASHES["travel"]
                    panel.add(LineCollection(some, linewidths=weight, colors=colours.paper,
                                             linestyles=[dash], zorder=4 + step / 10))


def _is_close(line: Floats, diameter: float) -> bool:
    """Whether a way covers its own ground more than twice over."""
    length = float(np.hypot(*np.diff(line, axis=0).T).sum())
    wide, high = np.ptp(line, axis=0) + diameter
    return bool(length * diameter > 2.0 * wide * high)


def _rapids(work: _Work, panel: Panel, board: Board) -> None:
    from matplotlib.collections import LineCollection

    track = work.track
    across = np.any(track.start[:, :2] != track.end[:, :2], axis=1)
    lines = _polylines(track, track.rapid & across, 0.03 / panel.scale)
    if lines:
        panel.add(LineCollection(lines, linewidths=WIDTHS["rapid"], colors=board.colours.rapid,
                                 linestyles=[DASHES["rapid"]], capstyle="round", zorder=10))


def _zero(panel: Panel, board: Board) -> None:
    """Program zero: a cross through an open ring."""
    from matplotlib.lines import Line2D

    arm = 3.2 / panel.scale
    for xs, ys in (((-arm, arm), (0, 0)), ((0, 0), (-arm, arm))):
        panel.add(Line2D(xs, ys, color=board.colours.mark, linewidth=0.8, zorder=20))
    panel.add(Line2D((0,), (0,), marker="o", markersize=5, linestyle="none", zorder=21,
                     markerfacecolor=board.colours.paper, markeredgecolor=board.colours.mark,
                     markeredgewidth=0.8))


def _entries(work: _Work, panel: Panel, board: Board, detail: bool) -> None:
    """Where the cutter goes down into metal, numbered in order.

    From afar the pieces are numbered instead, in the order they are first cut.
    """
    from matplotlib.lines import Line2D

    track, layout = work.track, work.layout
    in_metal = track.cutting & (np.minimum(track.start[:, 2], track.end[:, 2]) < layout.top - 1e-9)
    firsts = [track.start[begin, :2] for begin, _ in runs(in_metal)]
    if not firsts:
        return
    if not detail and layout.places:
        centres = np.array(layout.places)
        seen = [int(np.hypot(*(centres - point).T).argmin()) for point in firsts]
        for order, place in enumerate(dict.fromkeys(seen), 1):
            board.label(*panel.on_board(*layout.places[place]), str(order), within=panel.box)
        return
    low_x, high_x = sorted(panel.axes.get_xlim())
    low_y, high_y = sorted(panel.axes.get_ylim())
    firsts = [point for point in firsts
              if low_x <= point[0] <= high_x and low_y <= point[1] <= high_y]
    # Where there are many, only round numbers are written.
    every = 1.0 if len(firsts) <= 16 else max(round_step(len(firsts) / 8), 2.0)
    order = 0
    spots: list[tuple[float, float]] = []
    for point in firsts:
        spot = panel.on_board(float(point[0]), float(point[1]))
        if panel.round is not None and math.dist(spot, panel.box.centre) > panel.box.width / 2 - 2:
            continue
        if any(math.dist(spot, other) < 0.5 for other in spots):
            continue
        spots.append(spot)
        order += 1
        panel.add(Line2D((point[0],), (point[1],), marker="v", markersize=4.5, linestyle="none",
                         markerfacecolor=board.colours.mark, markeredgewidth=0.5,
                         markeredgecolor=board.colours.paper, zorder=22))
        if order == 1 or order % every == 0:
            board.label(*spot, str(order), within=panel.box)


def _key_items(layout: FlatLayout) -> list[tuple[Sample, str]]:
    items: list[tuple[Sample, str]] = [
        ("swath", "cut, light to deep"), ("rapid", "rapid move"),
        ("entry", "entry, order"), ("zero", "program zero"),
    ]
    if layout.places:
        items.insert(0, ("edge", "finished part"))
    if layout.clamps:
        items.append(("holding", "clamp, carrier"))
    elif layout.floor < layout.bottom:
        items.append(("holding", "carrier"))
    return items


def _in_words(
    layout: FlatLayout, track: Track, cutters: Mapping[int, Cutter], lowest: float
) -> str:
    """What the picture shows, for those who cannot see it."""
    used = sorted(set(track.cutter.tolist()) & set(cutters))
    sizes = ", ".join(f"{cutters[number].diameter:g} mm" for number in used)
    if layout.stock.is_empty:
        what = "Plan of a program's moves"
    else:
        low_x, low_y, high_x, high_y = layout.stock.bounds
        what = (f"Plan of the stock, {high_x - low_x:g} by {high_y - low_y:g} mm, with "
                f"{len(layout.places)} piece(s)")
    return (f"{what}; cutters of {sizes}; deepest cut "
            f"{layout.top - lowest:.3f} mm below the top; depth against time over "
            f"{track.seconds / 60:.1f} min.")
