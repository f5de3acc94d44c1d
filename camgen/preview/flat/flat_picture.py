"""Flat work from above, to scale, and from the side against time.

The plan shows stock, finished parts, holding and zero, and the cutters' ways at their true width,
darker the deeper; loupes enlarge one piece and the place where the cutter has least room.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np
from shapely import Polygon

from camgen.layout import FlatLayout
from camgen.part.shape import PartShape
from camgen.preview.course.track import Track
from camgen.preview.flat.hole_names import draw_hole_names
from camgen.preview.flat.least_room import LeastRoom, places_of_least_room
from camgen.preview.flat.plan_view import PlacedSpot, PlanPanels, draw_work, rapids_across
from camgen.preview.flat.section import draw_section, section_bounds
from camgen.preview.flat.sides import draw_against_time
from camgen.preview.paper.board import Board, Box, Panel
from camgen.preview.paper.key import Sample, draw_key
from camgen.shapes.path import Point, circle
from camgen.shop.cutters import Cutter

__all__ = ["draw_flat", "draw_plan", "layout_around_track"]

# Lines of rapid moves that a plan bears.
MOST_RAPIDS = 20
# A loupe that enlarges the plan by less shows nothing new.
_WORTH = 1.6


def draw_flat(
    board: Board, layout: FlatLayout, track: Track, cutters: Mapping[int, Cutter],
    names: Mapping[int, str], area: Box, *, rapids: bool = False,
) -> str:
    """Draw flat work on a board within ``area``; answers what the picture shows, in words.

    ``cutters`` and ``names`` are by number. More rapid moves than :data:`MOST_RAPIDS` are left out
    unless ``rapids`` asks for them: they hide what is cut.
    """
    cutting = track.cutting
    lowest = float(track.end[cutting, 2].min()) if cutting.any() else layout.bottom
    # Whatever goes through is as deep as can be: the carrier beneath does not count.
    deepest = min(max(lowest, layout.bottom), layout.top - 1e-6)
    many = rapids_across(track)
    work = PlanPanels(layout, track, cutters, deepest, rapids or many <= MOST_RAPIDS)
    key = draw_key(board, area.x, area.y, area.width, _key_items(board, work, many))
    field = Box(area.x, area.y + key + 1.5, area.width, area.height - key - 1.5)
    piece = layout.places[0] if layout.places else (0.0, 0.0)
    least = tuple(LeastRoom((one.place[0] + piece[0], one.place[1] + piece[1]), one.size, one.what)
                   for one in (places_of_least_room(_made_here(layout)) if layout.places
                               else (_narrowest_way(track),)))
    if len(layout.places) > 1 and _piece_is_worth_a_loupe(work, field):
        _several(board, work, field, piece, least[0], names)
    else:
        _single(board, work, field, least, names)
    return _in_words(board, layout, track, cutters, lowest)


def _made_here(layout: FlatLayout) -> PartShape:
    """The part, on its second side less what goes through: that was cut from the first."""
    part = layout.part
    if not layout.turned or not (part.blind or part.recesses):
        return part
    return PartShape(part.outline, blind=part.blind, recesses=part.recesses)


def draw_plan(
    board: Board, panel: Panel, layout: FlatLayout, track: Track, cutters: Mapping[int, Cutter],
) -> None:
    """Stock, holding, ways, parts and zero in a panel of another picture."""
    deepest = min(float(track.end[:, 2].min(initial=layout.bottom)), layout.top - 1e-6)
    work = PlanPanels(layout, track, cutters, max(deepest, layout.bottom))
    draw_work(work, panel, detail=True, board=board, entries=False)


def layout_around_track(track: Track) -> FlatLayout:
    """What is known of a program without its job: where it goes, and nothing of the stock."""
    cutting = track.only(track.cutting)
    low = min(float(cutting.end[:, 2].min()) if len(cutting) else 0.0, -1e-3)
    high = max(float(track.end[:, 2].max()) if len(track) else 0.0, 1e-3)
    return FlatLayout(Polygon(), 0.0, low, low, PartShape(circle(Point(0.0, 0.0), 1.0)), (), (),
                      False, high, 0.0)


def _narrowest_way(track: Track) -> LeastRoom:
    """The middle of the shortest fed stretches across, where the way turns most closely."""
    across = np.hypot(*(track.end - track.start)[:, :2].T)
    fed = np.nonzero(track.cutting & (across > 1e-6))[0]
    if not len(fed):
        return LeastRoom((0.0, 0.0), 0.0, "way")
    middle = int(fed[np.argmin(across[fed])])
    return LeastRoom((float(track.end[middle, 0]), float(track.end[middle, 1])), 0.0, "way")


def _field_of(work: PlanPanels) -> tuple[float, float, float, float]:
    """What a plan must show: the stock, or where the program goes when none is known."""
    if not work.layout.stock.is_empty:
        return work.layout.stock.bounds
    points = np.vstack((work.track.start, work.track.end))[:, :2] if len(work.track) else (
        np.array([[-1.0, -1.0], [1.0, 1.0]]))
    low, high = points.min(axis=0) - 0.5, points.max(axis=0) + 0.5
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _piece_is_worth_a_loupe(work: PlanPanels, field: Box) -> bool:
    """Whether the loupe of one of several pieces shows it much larger than the plan does."""
    low_x, _, high_x, _ = _field_of(work)
    left = field.width * 0.545
    big = min(field.width - left - 6, field.height * 0.66)
    return big / (2.2 * _extent(work)[1]) > _WORTH * left / (high_x - low_x)


def _several(
    board: Board, work: PlanPanels, field: Box, piece: tuple[float, float], tight: LeastRoom,
    names: Mapping[int, str],
) -> None:
    """Many pieces from one stock: the stock, one piece in a loupe, its tightest place in another.
    """
    left = field.width * 0.545
    side_high = field.height * 0.40
    plan, _ = _plan(board, work, Box(field.x, field.y + side_high + 1.4, left,
                                     field.height - side_high - 1.4), 0.03, tight, detail=False)
    draw_against_time(board, work.layout, work.track, names,
                      Box(field.x, field.y, left, side_high))

    big = min(field.width - left - 6, field.height * 0.66)
    middle, reach = _extent(work)
    on = piece[0] + middle[0], piece[1] + middle[1]
    ring = board.loupe((field.x + field.width - big / 2, field.y + field.height - big / 2 - 0.5),
                       big, on, reach * 1.1)
    small = field.height - big + 8
    low = (field.x + left + 8 + small / 2, field.y + small / 2 + 0.5)
    # Lines from the plan would run over other pieces and words: a letter tells which piece it is.
    _ring(board, plan, on, reach * 1.1)
    for x, y in (plan.on_board(*on), ring.box.centre):
        board.label(x, y, "A", away=reach * 1.1 * (plan if x < ring.box.x else ring).scale + 0.6,
                    weight="bold")
    _piece_and_spot(board, work, plan, ring, low, small, tight)


def _single(
    board: Board, work: PlanPanels, field: Box, least: Sequence[LeastRoom],
    names: Mapping[int, str],
) -> None:
    """One piece: its plan large, its places of least room in loupes, depth against time."""
    shown = _apart_from_each_other(work, least)
    low_x, low_y, high_x, high_y = _field_of(work)
    scale = min(field.width / 2 / (high_x - low_x), field.height / (high_y - low_y))
    shown = tuple(one for place, one in enumerate(shown) if place == 0 or
                  (field.width / 6) / (1.4 * _spot_radius(work, one.size)) > _WORTH * scale)
    many = len(shown)
    left = field.width * (0.56 if many == 1 else 0.5)
    plan, numbers = _plan(board, work, Box(field.x, field.y, left, field.height), 0.04, least[0],
                          detail=True)
    right = field.x + left + 6
    room = field.x + field.width - right
    rows = 1 if many == 1 else 2
    wide = min(field.height * 0.56 - 2 - 4.2 * rows, (room - 3.0 * (many - 1)) / many)
    draw_against_time(board, work.layout, work.track, names,
                      Box(right, field.y, room, min(field.height * 0.52,
                                                    field.height - wide - 4.2 * rows - 4)))
    for place, tight in enumerate(shown):
        radius = _spot_radius(work, tight.size) * (0.7 if many > 1 else 1.0)
        x = field.x + field.width - (many - place - 0.5) * wide - (many - 1 - place) * 3.0
        loupe = board.loupe((x, field.y + field.height - wide / 2 - 0.5), wide, tight.place, radius)
        draw_work(work, loupe, detail=True, board=board, numbers=numbers)
        if many == 1:
            _mark_spot(board, plan, loupe, tight.place, radius)
            _caption(board, loupe, tight, field.x + field.width, loupe.box.y - 4.6, "right")
            continue
        # Lines to several loupes would run over one another: a letter tells which is which.
        letter = "ABC"[place]
        _ring(board, plan, tight.place, radius)
        board.label(*plan.on_board(*tight.place), letter, away=radius * plan.scale + 0.6,
                    within=plan.box, weight="bold")
        _caption(board, loupe, tight, x, loupe.box.y - 4.4, "center", letter)
    draw_hole_names(board, plan, work.layout, plan.box)


def _apart_from_each_other(work: PlanPanels, least: Sequence[LeastRoom]) -> tuple[LeastRoom, ...]:
    """The places of least room without those that the loupe of one with less shows already."""
    shown: list[LeastRoom] = []
    for place in least:
        if all(math.dist(place.place, one.place) > 0.8 * _spot_radius(work, one.size)
               for one in shown):
            shown.append(place)
    return tuple(shown)


def _plan(board: Board, work: PlanPanels, box: Box, margin: float, tight: LeastRoom, *, detail: bool
          ) -> tuple[Panel, dict[PlacedSpot, int]]:
    """The plan with a section through its tightest place and the scale under it.

    With it the number of each entry.
    """
    bounds = _around(_field_of(work), margin)
    foot = 5.0 if work.layout.stock.is_empty else 9.4
    if work.layout.stock.is_empty:
        plan = board.scaled(Box(box.x, box.y + foot, box.width, box.height - foot), bounds)
    else:
        low, high = section_bounds(work.layout)
        deep, tall, gap = bounds[3] - bounds[1], high - low, 1.5
        scale = min(box.width / (bounds[2] - bounds[0]),
                    (box.height - foot - gap) / (deep + tall))
        under = tall * scale
        base = box.y + foot + (box.height - foot - gap - under - deep * scale) / 2
        plan = board.scaled(Box(box.x, base + under + gap, box.width, deep * scale), bounds, scale)
        draw_section(board, plan, work.layout, work.track, work.cutters, tight.place[1],
                     Box(box.x, base, box.width, under))
        board.keep_clear(Box(box.x, base, box.width, under))
    numbers = draw_work(work, plan, detail=detail, board=board)
    board.scale_bar(plan.scale, box.x, box.y + foot - 4.4, longest=22.0)
    if not work.layout.stock.is_empty:
        board.text(box.x, box.y + 0.1, _sizes(board, work.layout), halo=True, width=box.width)
        board.text(box.x + box.width, box.y + foot - 4.9,
                   board.says("section", y=f"{tight.place[1]:.2f}"), across="right", halo=True,
                   colour=board.colours.quiet)
    return plan, numbers


def _sizes(board: Board, layout: FlatLayout) -> str:
    """How large the stock is, and the part where its outline is known."""
    stock = _size(layout.stock, layout.top - layout.bottom)
    if not layout.places:
        return board.says("size-stock", stock=stock)
    outline = Polygon(layout.part.outline.points(0.001))
    return board.says("sizes", stock=stock, part=_size(outline, layout.face - layout.back))


def _size(shape: Polygon, thick: float) -> str:
    """Diameter, or length and width, by thickness, mm.

    >>> _size(Polygon([(0, 0), (4, 0), (4, 2.5), (0, 2.5)]), 0.8)
    '4 × 2.5 × 0.8'
    >>> from shapely import Point, box
    >>> _size(Point(0, 0).buffer(18, 64), 1.8), _size(box(0, 0, 36, 36), 1.8)
    ('D 36 × 1.8', '36 × 36 × 1.8')
    """
    low_x, low_y, high_x, high_y = shape.bounds
    wide, high = high_x - low_x, high_y - low_y
    # A polygon of many corners on a circle has nearly the circle's area.
    if abs(wide - high) < 1e-3 * wide and abs(shape.area / (math.pi / 4 * wide * high) - 1) < 2e-3:
        return f"D {wide:.5g} × {thick:.3g}"
    return f"{wide:.4g} × {high:.4g} × {thick:.3g}"


def _piece_and_spot(
    board: Board, work: PlanPanels, plan: Panel, ring: Panel, low: tuple[float, float],
    small: float, tight: LeastRoom,
) -> None:
    draw_work(work, ring, detail=True, board=board)
    radius = _spot_radius(work, tight.size)
    loupe = board.loupe(low, small, tight.place, radius)
    draw_work(work, loupe, detail=True, board=board, entries=False)
    _mark_spot(board, ring, loupe, tight.place, radius)
    draw_hole_names(board, ring, work.layout, ring.box)
    x, y = loupe.box.x + loupe.box.width + 3, loupe.box.y
    board.scale_bar(ring.scale, x, y + 9.5, "A " + board.says("scale-piece"), 5.0)
    _caption(board, loupe, tight, x, y + (4.5 if tight.size else 0.0))


def _caption(
    board: Board, loupe: Panel, tight: LeastRoom, x: float, y: float,
    across: Literal["left", "center", "right"] = "left", letter: str = "",
) -> None:
    """What a loupe enlarges with its scale, beneath it the size that matters there."""
    what = board.says(f"scale-{tight.what}")
    board.scale_bar(loupe.scale, x, y + 0.5, f"{letter} {what}" if letter else what, 5.0, across)
    if not tight.size:
        return
    if tight.what == "hole":
        size = board.says("diameter", size=f"{2 * tight.size:.4g}")
    else:
        size = board.says("thick" if tight.what == "wall" else "radius", size=f"{tight.size:.3g}")
    board.text(x, y - 4.3, size, across=across)


def _extent(work: PlanPanels) -> tuple[tuple[float, float], float]:
    """The middle of a piece in its own frame, and the radius about it that shows the whole, mm."""
    points = work.layout.part.outline.points(0.01)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    widest = max((cutter.diameter for cutter in work.cutters.values()), default=0.0)
    reach = float(np.hypot(*(points - middle).T).max()) + min(widest, 2.0)
    return (float(middle[0]), float(middle[1])), reach


def _spot_radius(work: PlanPanels, corner: float) -> float:
    """Radius of what the loupe shows: the corner and a few widths of the smallest cutter."""
    slim = min((cutter.diameter for cutter in work.cutters.values()), default=0.5)
    return max(2.2 * slim, 3.0 * corner, 0.15)


def _mark_spot(
    board: Board, plan: Panel, loupe: Panel, spot: tuple[float, float], radius: float
) -> None:
    """A thin circle on the plan round what the loupe shows, and two lines between."""
    _ring(board, plan, spot, radius)
    board.pointers(loupe, plan.on_board(*spot), radius * plan.scale)


def _ring(board: Board, plan: Panel, spot: tuple[float, float], radius: float) -> None:
    from matplotlib.patches import Circle

    plan.add(Circle(spot, radius, facecolor="none", edgecolor=board.colours.ink, linewidth=0.7,
                    zorder=30))


def _around(bounds: Sequence[float], share: float) -> tuple[float, float, float, float]:
    """Bounds with a margin of a share of the longer side."""
    margin = share * max(bounds[2] - bounds[0], bounds[3] - bounds[1])
    return bounds[0] - margin, bounds[1] - margin, bounds[2] + margin, bounds[3] + margin


def _key_items(board: Board, work: PlanPanels, rapids: int) -> list[tuple[Sample, str]]:
    layout = work.layout
    items: list[tuple[Sample, str]] = [
        ("swath", board.says("swath", depth=f"{layout.top - work.lowest:.3g}")),
        ("rapid", board.says("rapid") if work.rapids else
         board.says("rapids-left-out", count=rapids)),
        ("entry", board.says("entry")), ("zero", board.says("zero")),
    ]
    if layout.places:
        items.insert(0, ("edge", board.says("part")))
    if layout.part.beneath:
        items.insert(1, ("hidden", board.says("beneath")))
    if layout.part.corners_left:
        items.append(("corner", board.says("corner-left")))
    if layout.clamps:
        items.append(("holding", board.says("clamp-carrier")))
    elif layout.floor < layout.bottom:
        items.append(("holding", board.says("carrier")))
    return items


def _in_words(
    board: Board, layout: FlatLayout, track: Track, cutters: Mapping[int, Cutter], lowest: float
) -> str:
    """What the picture shows, for those who cannot see it."""
    used = sorted(set(track.cutter.tolist()) & set(cutters))
    sizes = ", ".join(f"{cutters[number].diameter:g} mm" for number in used)
    if layout.stock.is_empty:
        what = board.says("says-moves")
    else:
        low_x, low_y, high_x, high_y = layout.stock.bounds
        what = board.says("says-plan", length=f"{high_x - low_x:g}", width=f"{high_y - low_y:g}",
                          count=len(layout.places))
        if layout.turned:
            what += "; " + board.says("lies-turned", axis=layout.turned)
    return board.says("says-flat", what=what, sizes=sizes, depth=f"{layout.top - lowest:.3f}",
                      minutes=f"{track.seconds / 60:.1f}")
