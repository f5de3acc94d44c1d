"""Tooth cutting: the wheel as cut against the wheel meant, the set-up on the arbor, the infeed.

The wheel is drawn from the motion read back: the real space of the cutter at every angle and depth
it was brought to. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats
from camgen.layout import ToothLayout
from camgen.layout.stands import front_edge
from camgen.preview.course.track import Track
from camgen.preview.head.cut_teeth import FINE, Cut, cut_of, depth_and_place, turned_to_middle
from camgen.preview.head.infeed import draw_infeed
from camgen.preview.head.on_arbor import arbor_key, hatch_of
from camgen.preview.paper.board import Board, Box, Panel
from camgen.preview.paper.key import Sample, draw_key
from camgen.preview.paper.palette import DASHES, WIDTHS
from camgen.shop.cutters import Cutter
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = ["Mate", "draw_as_cut", "draw_teeth", "draw_wheel", "most_off_at"]


@dataclass(frozen=True)
class Mate:
    """What the wheel works with: the mate's tooth and the distance of the centres, mm."""

    tooth: Tooth
    distance: float


def draw_teeth(
    board: Board, layout: ToothLayout, track: Track, cutters: Mapping[int, Cutter],
    area: Box, mate: Mate | None = None,
) -> str:
    """Draw tooth cutting within ``area``; answers what the picture shows, in words."""
    cut = cut_of(layout, track, cutters)
    key = draw_key(board, area.x, area.y, area.width, _key_items(board, cut))
    field = Box(area.x, area.y + key + 2.0, area.width, area.height - key - 2.0)
    low = field.height * 0.41
    upper = Box(field.x, field.y + low + 2, field.width, field.height - low - 2)
    _teeth(board, turned_to_middle(cut), upper, mate)
    half = field.width * 0.5
    _arrangement(board, cut, Box(field.x, field.y, half - 4, low))
    draw_infeed(board, cut, Box(field.x + half + 1, field.y, field.width - half - 1, low))
    return _in_words(board, cut, mate)


def draw_as_cut(
    board: Board, panel: Panel, layout: ToothLayout, track: Track, cutters: Mapping[int, Cutter],
    *, fine: bool = True,
) -> None:
    """The wheel as cut, where ``fine`` against the one meant; its first space opens upwards."""
    draw_wheel(board, cut_of(layout, track, cutters), panel, fine=fine)


def most_off_at(layout: ToothLayout, track: Track, cutters: Mapping[int, Cutter]) -> float:
    """Angle, degrees from 0 to 360, of the largest piece of metal left or missing; 0 with none."""
    cut = cut_of(layout, track, cutters)
    piece = _biggest(cut.wheel.symmetric_difference(cut.meant))
    if piece.is_empty:
        return 0.0
    middle = piece.representative_point()
    return math.degrees(math.atan2(middle.y, middle.x)) % 360.0


def _biggest(shape: BaseGeometry) -> Polygon:
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
    return max(parts, key=lambda part: part.area, default=Polygon())


def _upright(polygon: Polygon) -> Floats:
    """A wheel's outline turned so that the first space opens upwards."""
    points = np.asarray(polygon.exterior.coords)
    return np.column_stack((-points[:, 1], points[:, 0]))


def _teeth(board: Board, cut: Cut, box: Box, mate: Mate | None) -> None:
    """Whole wheel, one space in a loupe with its sizes, the pair in mesh."""
    sizes, colours = cut.layout.tooth.sizes, board.colours
    radius = cut.layout.blank_radius
    pitch = math.pi * sizes.pitch_diameter / sizes.teeth
    span = max(0.80 * pitch, 0.78 * sizes.whole_depth)
    on = (0.0, (sizes.tip_diameter + sizes.root_diameter) / 4)
    small = min(box.height, 46.0)
    # What the loupe enlarges must be on the small wheel as well.
    whole = board.scaled(Box(box.x, box.y + box.height - small, small, small),
                         (-radius, -radius, radius, max(radius, on[1] + span)))
    draw_wheel(board, cut, whole, fine=False)
    _bore_and_crossing(board, cut, whole)
    said = board.says("spaces-cut", cut=len(cut.spaces), all=sizes.teeth)
    if front_edge(cut.layout.tooth, cut.layout.arrangement) is not None:
        board.text(box.x, box.y + 4.6, board.says("from-the-face"), colour=colours.quiet)
    board.scale_bar(whole.scale, box.x, box.y + 0.5, said)

    diameter = box.height - 0.5
    x = box.x + small + 8 + diameter / 2
    loupe = board.loupe((x, box.y + diameter / 2), diameter, on, span)
    draw_wheel(board, cut, loupe, fine=True)
    spot = whole.on_board(*on)
    from matplotlib.patches import Circle

    whole.add(Circle(on, span, facecolor="none", edgecolor=colours.ink, linewidth=0.7, zorder=30))
    board.pointers(loupe, spot, span * whole.scale)
    _circles(board, cut, loupe)
    right = box.x + box.width
    if mate is not None:
        size = 44.0
        times = _mesh(board, cut, mate, (right - size / 2, box.y + box.height - size / 2 - 0.5),
                      size)
        board.scale_bar(times, right - size - 3, box.y + 0.5, board.says("scale-mesh"),
                        across="right")
        _sizes(board, cut, right - size, box.y + box.height - size - 5, columns=2)
    else:
        _sizes(board, cut, loupe.box.x + loupe.box.width + 24, box.y + box.height - 5, columns=1)
    # Beside the loupe, wherever no other text stands.
    right_of = loupe.box.x + diameter - 1.0
    free = next((y for y in (box.y + box.height - 4.0, box.y + 5.1, box.y + 0.5)
                 if not any(Box(right_of, y - 0.5, 16.0, 3.5).overlaps(one)
                            for one in board.taken)), box.y + 5.1)
    board.scale_bar(loupe.scale, right_of, free, longest=5.0)


def _bore_and_crossing(board: Board, cut: Cut, panel: Panel) -> None:
    """What goes right through the wheel, left open."""
    from matplotlib.patches import Polygon as Shape

    for path in cut.layout.through:
        points = path.points(0.02 / panel.scale)
        panel.add(Shape(np.column_stack((-points[:, 1], points[:, 0])), closed=True,
                        facecolor=board.colours.paper, edgecolor=board.colours.edge, linewidth=0.7,
                        joinstyle="round", zorder=4))


def draw_wheel(board: Board, cut: Cut, panel: Panel, *, fine: bool) -> None:
    """The wheel as cut, filled, with the meant outline over it and what differs hatched."""
    from matplotlib.collections import PolyCollection
    from matplotlib.patches import Polygon as Shape

    colours = board.colours
    # As fine as can be seen and no finer, so that pictures made of lines stay small.
    seen = shapely.simplify(cut.wheel, 0.02 / panel.scale)
    (left, right), (low, high) = panel.axes.get_xlim(), panel.axes.get_ylim()
    window = shapely.box(low, -right, high, -left)
    shown = _biggest(seen.intersection(window.buffer(0.2 * (high - low)))) if fine else seen
    panel.add(Shape(_upright(shown), closed=True, facecolor=colours.stock,
                    edgecolor=colours.edge, linewidth=WIDTHS["edge"] if fine else 0.7,
                    joinstyle="round", zorder=3))
    if not fine:
        return
    here, meant = cut.wheel.intersection(window), cut.meant.intersection(window)
    for difference, hatch, colour in ((here.difference(meant), "////////", colours.left),
                                      (meant.difference(here), "||||||||", colours.missing)):
        # What would be thinner on paper than a hair is the chords' doing, or not worth showing.
        parts = [part for part in shapely.get_parts(difference)
                 if part.geom_type == "Polygon"
                 and 2 * part.area > 0.12 / panel.scale * part.length]
        if parts:
            panel.add(PolyCollection([_upright(part) for part in parts], facecolors="none",
                                     hatch=hatch, edgecolors=colour, linewidths=0.5, zorder=5))
    outline = _biggest(cut.meant.intersection(window.buffer(0.2 * (high - low))))
    outline = _biggest(shapely.simplify(outline, 0.02 / panel.scale))
    panel.add(Shape(_upright(outline), closed=True, fill=False, edgecolor=colours.wanted,
                    linewidth=WIDTHS["wanted"], linestyle=DASHES["wanted"], zorder=6))


def _circles(board: Board, cut: Cut, loupe: Panel) -> None:
    """Tip, pitch and root circles, named beside the loupe where they leave it."""
    from matplotlib.patches import Circle

    sizes = cut.layout.tooth.sizes
    middle_x, middle_y = loupe.box.centre
    half = loupe.box.width / 2
    levels: list[tuple[float, str]] = []
    at_tip = sizes.tip_diameter - sizes.pitch_diameter < 1e-6
    circles = ((sizes.tip_diameter, board.says("tip-and-pitch" if at_tip else "tip")),
               *(() if at_tip else ((sizes.pitch_diameter, board.says("pitch")),)),
               (sizes.root_diameter, board.says("root")))
    for diameter, name in circles:
        loupe.add(Circle((0.0, 0.0), diameter / 2, fill=False, edgecolor=board.colours.quiet,
                         linewidth=WIDTHS["pitch"], linestyle=DASHES["pitch"], zorder=7))
        # Where the circle crosses the loupe's right edge, on the board.
        spans = np.linspace(0.0, 0.5 * math.pi, 7201)
        origin_x, origin_y = loupe.on_board(0.0, 0.0)
        across = origin_x + np.sin(spans) * diameter / 2 * loupe.scale
        up = origin_y + np.cos(spans) * diameter / 2 * loupe.scale
        inside = np.nonzero(np.hypot(across - middle_x, up - middle_y) < half)[0]
        if len(inside):
            levels.append((float(up[inside[-1]]), name))
    levels = sorted([*levels, *_front(board, cut, loupe)], reverse=True)
    # Names keep their order and never touch.
    heights = [height for height, _ in levels]
    for place in range(1, len(heights)):
        heights[place] = min(heights[place], heights[place - 1] - 3.9)
    for (level, name), height in zip(levels, heights, strict=True):
        edge = middle_x + math.sqrt(max(half**2 - (level - middle_y) ** 2, 0.0))
        out = middle_x + half + 2.0
        board.line([(edge, level), (out, height), (out + 1.0, height)], width=0.4)
        board.text(out + 1.6, height, name, up="center")


def _front(board: Board, cut: Cut, loupe: Panel) -> list[tuple[float, str]]:
    """The front of the first space with a line to where it is named: the height of that on the
    board, and the name; nothing where both flanks are alike."""
    from matplotlib.lines import Line2D

    tooth = cut.layout.tooth
    front = front_edge(tooth, cut.layout.arrangement)
    if front is None:
        return []
    chain = tooth.chain(FINE)
    deepest = int(np.argmin(np.abs(chain)))
    flank = chain[deepest:] if front.face == "clockwise" else chain[: deepest + 1][::-1]
    high = tooth.root_radius + 0.88 * tooth.sizes.whole_depth
    at = float(np.interp(high, flank.real, flank.imag))
    loupe.add(Line2D((-at, loupe.axes.get_xlim()[1]), (high, high), color=board.colours.ink,
                     linewidth=0.5, zorder=8))
    return [(loupe.on_board(-at, high)[1], board.says("front", side=front.towards))]


def _sizes(board: Board, cut: Cut, x: float, y: float, columns: int) -> None:
    """The sizes to be held, in columns downwards from ``x, y``."""
    sizes = cut.layout.tooth.sizes
    rows = (
        ("tip", sizes.tip_diameter), ("pitch-size", sizes.pitch_diameter),
        ("root", sizes.root_diameter), ("depth", sizes.whole_depth),
        ("thickness", sizes.tooth_thickness), ("off-by", _most_off(cut)),
    )
    if columns == 1:
        deepest = max((space.depth for space in cut.spaces), default=0.0)
        longer = (
            ("tip-diameter", sizes.tip_diameter),
            *((("pitch-diameter", sizes.pitch_diameter),)
              if sizes.tip_diameter - sizes.pitch_diameter > 1e-6 else ()),
            ("root-diameter", sizes.root_diameter), ("whole-depth", sizes.whole_depth),
            ("depth-as-cut", deepest), ("thickness-at-pitch", sizes.tooth_thickness),
            *((("chordal-thickness", sizes.chordal_thickness),
               ("at-height", sizes.chordal_height)) if sizes.chordal_height > 1e-3 else ()),
            ("module", sizes.module),
            ("outline-off", _most_off(cut)),
        )
        for place, (name, value) in enumerate(longer):
            high = y - place * 5.0
            board.text(x, high, board.says(name), colour=board.colours.quiet)
            board.text(board.width - 2, high, f"{value:.3f}", across="right")
        return
    wide = (board.width - 2 - x) / 2
    for place, (name, value) in enumerate(rows):
        left = x + (place % 2) * (wide + 1.5)
        high = y - (place // 2) * 4.4
        board.text(left, high, board.says(name), colour=board.colours.quiet)
        board.text(left + wide - 1.5, high, f"{value:.3f}", across="right")


def _mesh(board: Board, cut: Cut, mate: Mate, centre: tuple[float, float], size: float
          ) -> float:
    """Wheel as cut and mate at their working distance, about the line of centres; the scale."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Circle
    from matplotlib.patches import Polygon as Shape

    sizes, colours = cut.layout.tooth.sizes, board.colours
    pitch = math.pi * sizes.module
    on = (0.0, sizes.pitch_diameter / 2)
    loupe = board.loupe(centre, size, on, 2.1 * pitch)
    panel = loupe
    other = np.asarray(mate.tooth.outline(0.0005))
    # The mate stands with a tooth in the wheel's first space.
    turn = math.pi / mate.tooth.sizes.teeth - math.pi / 2
    cosine, sine = math.cos(turn), math.sin(turn)
    moved = np.column_stack((other[:, 0] * cosine - other[:, 1] * sine,
                             other[:, 0] * sine + other[:, 1] * cosine + mate.distance))
    # Only what the loupe shows, and as fine as can be seen.
    about = 3.2 * pitch
    window = shapely.box(on[1] - about, -about, on[1] + about, about)
    own = _biggest(shapely.simplify(cut.wheel, 0.02 / panel.scale).intersection(window))
    panel.add(Shape(_upright(own), closed=True, facecolor=colours.stock,
                    edgecolor=colours.edge, linewidth=0.9, zorder=3))
    mates = shapely.simplify(Polygon(moved), 0.02 / panel.scale)
    moved = np.asarray(_biggest(mates.intersection(
        shapely.box(-about, on[1] - about, about, on[1] + about))).exterior.coords)
    panel.add(Shape(moved, closed=True, facecolor=colours.paper, edgecolor=colours.edge,
                    linewidth=0.9, zorder=4))
    panel.add(Line2D((0, 0), (0, mate.distance), color=colours.quiet, linestyle=DASHES["pitch"],
                     linewidth=WIDTHS["pitch"], zorder=6))
    for radius, at in ((sizes.pitch_diameter / 2, 0.0),
                       (mate.tooth.sizes.pitch_diameter / 2, mate.distance)):
        panel.add(Circle((0.0, at), radius, fill=False, edgecolor=colours.quiet,
                         linewidth=WIDTHS["pitch"], linestyle=DASHES["pitch"], zorder=6))
    return panel.scale


def _arrangement(board: Board, cut: Cut, box: Box) -> None:
    """Disc, stack, backing and arbor from the side, to scale, with the cutter's way along them."""
    from matplotlib.collections import LineCollection
    from matplotlib.lines import Line2D
    from matplotlib.patches import Circle
    from matplotlib.patches import Polygon as Shape

    layout, colours, track = cut.layout, board.colours, cut.track
    tip = layout.tooth.tip_radius
    number = cut.spaces[0].cutter if cut.spaces else int(track.cutter[-1]) if len(track) else 0
    cutter = cut.cutters.get(number)
    disc = cutter.diameter / 2 if cutter else tip
    one = _first_space(cut)
    low_depth, low_place = depth_and_place(layout, one.start, cut.cutters, number)
    high_depth, high_place = depth_and_place(layout, one.end, cut.cutters, number)
    deep = np.minimum(low_depth, high_depth) > 1e-9
    feeding = one.cutting & deep
    places = np.concatenate((low_place[feeding], high_place[feeding])) if feeding.any() else (
        np.array([0.0, layout.stack_to]))
    first, last = float(places.min()), float(places.max())
    depth = max((space.depth for space in cut.spaces), default=layout.tooth.sizes.whole_depth)
    left, right = first - 0.75 * disc, max(last + 0.75 * disc, layout.backing_to + 0.2 * disc)
    # Chuck and tailstock are cut off at the edge, so that the stack stays large enough to see.
    below, above = -max(0.35 * tip, 1.3 * min(layout.arbor_radius, tip)), tip + 0.36 * disc
    foot = 9.0
    field = Box(box.x, box.y + foot, box.width, box.height - foot)
    panel = board.scaled(field, (left, below, right, above))

    near, far = panel.axes.get_xlim()
    for body in layout.bodies:
        outline = [(min(max(x, near - 1.0), far + 1.0), y) for x, y in body.profile]
        panel.add(Shape(outline, closed=True,
                        facecolor=colours.stock if body.name == "blanks" else colours.paper,
                        edgecolor=colours.holding, linewidth=0.7,
                        hatch=hatch_of(body.name), zorder=2))
    panel.add(Line2D(panel.axes.get_xlim(), (0, 0), color=colours.quiet, linewidth=0.6,
                     linestyle=DASHES["pitch"], zorder=4))
    # With no cutter in the spindle there is none to draw.
    ends = ((first, DASHES["wanted"]), (last, DASHES["edge"])) if cutter else ()
    for place, style in ends:
        panel.add(Circle((place, tip + disc - depth), disc, fill=False, edgecolor=colours.mark,
                         linewidth=0.9, linestyle=style, zorder=6))
    for keep, kind, colour in ((one.rapid, "rapid", colours.rapid),
                               (one.cutting, "edge", colours.wanted)):
        lines = [((a, tip - b), (c, tip - d)) for a, b, c, d in zip(
            low_place[keep], low_depth[keep], high_place[keep], high_depth[keep], strict=True)]
        panel.add(LineCollection(lines, linewidths=WIDTHS[kind], linestyles=[DASHES[kind]],
                                 colors=colour, capstyle="round", zorder=7))
    said: tuple[str, ...] = ()
    if cutter:
        _distances(board, cut, panel, first, last)
        _ends(board, panel, (first, last), tip + disc - depth, disc)
        said = (board.says("disc", diameter=f"{2 * disc:g}"),)
    if not layout.before_said:
        said += (board.says("before-not-said"),)
    board.scale_bar(panel.scale, box.x, box.y + 0.5, " · ".join(said))


def _ends(board: Board, panel: Panel, places: tuple[float, float], high: float,
          radius: float) -> None:
    """Says at the outer sides of the two circles which is the start and which the end."""
    level = panel.axes.get_ylim()[1] - 3.5 / panel.scale
    half = math.sqrt(max(radius**2 - (high - level) ** 2, 0.0))
    for place, sense, words in ((places[0], -1.0, board.says("start")),
                                (places[1], 1.0, board.says("end"))):
        x, y = panel.on_board(place + sense * half, level)
        room = Box(panel.box.x, panel.box.y, panel.box.width, panel.box.height + 4)
        board.label(x, y - 2.5, words, away=1.8, within=room, first=sense)


def _first_space(cut: Cut) -> Track:
    """The motion at the first angle that is cut, rapid moves included."""
    if not cut.spaces:
        return cut.track
    angle = np.round(np.mod(cut.track.angle, 360.0), 6) % 360.0
    here = ((np.abs(angle - cut.spaces[0].angle) < 1e-5) & ~cut.track.turning
            & (cut.track.cutter == cut.spaces[0].cutter))
    return cut.track.only(here)


def _distances(board: Board, cut: Cut, panel: Panel, first: float, last: float) -> None:
    """Run-in, stack and run-out in figures, under the sketch."""
    layout = cut.layout
    marks = [(first, 0.0, board.says("run-in", length=f"{-first:.2f}")),
             (layout.stack_from, layout.stack_to,
              board.says("stack", length=f"{layout.stack_to - layout.stack_from:.2f}")),
             (layout.stack_to, last, board.says("run-out", length=f"{last - layout.stack_to:.2f}"))]
    y = panel.box.y - 2.0
    ends = sorted({first, 0.0, layout.stack_from, layout.stack_to, last})
    for place in ends:
        x = panel.on_board(place, 0)[0]
        board.line([(x, y - 1.2), (x, y + 1.2)], width=0.5)
    left, right = panel.on_board(first, 0)[0], panel.on_board(max(last, layout.stack_to), 0)[0]
    board.line([(left, y), (right, y)], width=0.5)
    for begin, finish, words in marks:
        if finish <= begin + 1e-9:
            continue
        a, b = panel.on_board(begin, 0)[0], panel.on_board(finish, 0)[0]
        if begin == first:
            board.text(a - 1.0, y, words, across="right", up="center")
        elif finish == last:
            board.text(max(b, right) + 1.5, y, words, up="center")
        else:
            board.text((a + b) / 2, y - 2.0, words, across="center", up="top")


def _most_off(cut: Cut) -> float:
    """Farthest that the outline as cut lies from the one meant, about the first space, mm."""
    sizes = cut.layout.tooth.sizes
    half = 1.2 * math.pi / sizes.teeth
    reach = cut.layout.blank_radius * 1.05
    wedge = Polygon([(0, 0), (reach, -reach * math.tan(half)), (reach, reach * math.tan(half))])
    here = shapely.intersection(cut.wheel.exterior, wedge)
    points = shapely.get_coordinates(shapely.segmentize(here, sizes.module / 50))
    if not len(points):
        return 0.0
    near = shapely.intersection(cut.meant.exterior, wedge.buffer(0.2 * sizes.module))
    return float(np.max(shapely.distance(shapely.points(points), near)))


def _key_items(board: Board, cut: Cut) -> list[tuple[Sample, str]]:
    items: list[tuple[Sample, str]] = [
        ("edge", board.says("as-cut")), ("wanted", board.says("as-meant")),
        ("left", board.says("left")), ("missing", board.says("missing")),
        ("pitch", board.says("circles")), ("rapid", board.says("rapid")),
    ]
    return items + arbor_key(board, cut.layout)


def _in_words(board: Board, cut: Cut, mate: Mate | None) -> str:
    """What the picture shows, for those who cannot see it."""
    sizes = cut.layout.tooth.sizes
    deepest = max((space.depth for space in cut.spaces), default=0.0)
    excess = cut.wheel.difference(cut.meant).area
    lack = cut.meant.difference(cut.wheel).area
    told = board.says(
        "says-teeth", teeth=sizes.teeth, module=f"{sizes.module:g}", cut=len(cut.spaces),
        depth=f"{deepest:.3f}", tip=f"{sizes.tip_diameter:.3f}",
        pitch=f"{sizes.pitch_diameter:.3f}", root=f"{sizes.root_diameter:.3f}",
        left=f"{excess:.4f}", missing=f"{lack:.4f}")
    front = front_edge(cut.layout.tooth, cut.layout.arrangement)
    if front is not None:
        told = f"{told} " + board.says("says-front", side=front.towards,
                                       sense=board.says(front.face))
    if mate is None:
        return told
    return f"{told} " + board.says("says-mesh", teeth=mate.tooth.sizes.teeth,
                                   distance=f"{mate.distance:.3f}")
