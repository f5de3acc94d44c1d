"""A proof that fails, drawn: the place enlarged, seen along and across, and the program's lines.

Drawn from the evidence the proof itself looked at. Lengths mm, in the program's own coordinates.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

import numpy as np

from camgen.layout import FlatLayout, ToothLayout
from camgen.preview.course.track import traced
from camgen.preview.flat.flat_picture import draw_plan
from camgen.preview.head.on_arbor import arbor_key, hatch_of
from camgen.preview.head.tooth_picture import draw_as_cut, most_off_at
from camgen.preview.paper.board import Board, Box, Panel, Style, new_board
from camgen.preview.paper.key import Sample, draw_key
from camgen.preview.paper.palette import DASHES, WIDTHS, palette
from camgen.preview.round.failing import cut_there, draw_there, key_there
from camgen.preview.setup import HEIGHT, WIDTH, Picture
from camgen.proof.common.head_frame import HeadWay, head_way
from camgen.proof.common.said import unit_said
from camgen.proof.evidence import Evidence, FlatEvidence, HeadEvidence, RoundEvidence
from camgen.proof.path import is_cut
from camgen.proof.result import Proof
from camgen.reader.motion import Kind
from camgen.shop.cutters import profile_of
from camgen.values import dataclass

__all__ = ["board_of_failure", "draw_failure"]

# Pieces of motion drawn before and after the one at fault, and lines of the program told.
_BESIDE = 12
_LINES = 4


@dataclass(frozen=True)
class _Spot:
    """Where a proof fails: the piece of motion, -1 where none is known, and the place."""

    piece: int
    at: tuple[float, float, float] | None


def draw_failure(
    evidence: Evidence, proof: Proof, title: str, *, subtitle: str = "", format: Style = "png",
    dark: bool = False, language: str = "en",
) -> Picture:
    """The picture of one failing proof of a setup; ``title`` names job and setup."""
    board, says = board_of_failure(evidence, proof, title, subtitle=subtitle, dark=dark,
                                   language=language)
    return Picture(board.bytes(format, f"{title}: {proof.name}", says), says)


def board_of_failure(
    evidence: Evidence, proof: Proof, title: str, *, subtitle: str = "", dark: bool = False,
    language: str = "en",
) -> tuple[Board, str]:
    """The same before it is turned to bytes, so that its texts can be measured."""
    board = new_board(WIDTH, HEIGHT, palette(dark), language)
    board.source = "\n".join(line for one in evidence.programs for line in one.lines)
    line = board.height - 6.5
    wide = board.extent(board.text(2, line, title, size=11.0, weight="bold", width=96))
    board.text(board.width - 2, line, board.says("fails"), across="right", weight="bold",
               colour=board.colours.missing)
    room = board.width - 30 - wide.x - wide.width
    if subtitle and room > 16:
        board.text(wide.x + wide.width + 3, line, subtitle, colour=board.colours.quiet, width=room)
    board.line([(2, line - 2.2), (board.width - 2, line - 2.2)], colour=board.colours.ink,
               width=0.8)
    figure = _figure(board, proof)
    board.text(2, line - 8.0, _begun(board.say.say(proof.name)), weight="bold", size=9.5,
               width=board.width - 4)
    where = board.say.say(proof.where)
    board.text(2, line - 12.8, f"{figure}; {where}" if where else figure, width=board.width - 4)
    spot = _spot(evidence, proof)
    draw: Callable[[_Spot, Box, Box], None]
    match evidence:
        case FlatEvidence():
            items, draw = _flat_key(board), partial(_flat, board, evidence)
            cut = spot.piece if proof.line else _cut_on_table(evidence, spot)
        case HeadEvidence():
            items, draw = _head_key(board, evidence.layout), partial(_teeth, board, evidence)
            cut = spot.piece if proof.line else _cut_on_head(evidence)
        case RoundEvidence():
            items = key_there(board, evidence.layout.bodies)
            draw = partial(_round, board, evidence)
            cut = spot.piece if proof.line else cut_there(evidence)
    key = draw_key(board, 2.0, 2.0, board.width - 4, items)
    field = Box(2.0, 4.0 + key, board.width - 4, line - 16.5 - 4.0 - key)
    left = Box(field.x, field.y + 4.5, 0.47 * field.width, field.height - 4.5)
    right = Box(field.x + 0.5 * field.width, field.y, 0.5 * field.width, field.height)
    text_high = 4.4 * (2 * _LINES + 1) * 0.62 + 8
    side = Box(right.x, right.y + text_high + 6, right.width, right.height - text_high - 6)
    draw(spot, left, side)
    _program(board, evidence, proof, cut, Box(right.x, right.y, right.width, text_high))
    return board, _in_words(board, evidence, proof, spot)


def _begun(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def _figure(board: Board, proof: Proof) -> str:
    return board.says("figure", figure=_plain(proof.figure),
                      unit=board.say.say(unit_said(proof.unit)), limit=_plain(proof.limit))


def _plain(figure: float) -> str:
    """A figure as short as it is exact enough.

    >>> _plain(0.250004), _plain(0.0)
    ('0.25', '0')
    """
    return f"{figure:.4g}"


def _spot(evidence: Evidence, proof: Proof) -> _Spot:
    """The piece of motion a proof points to and where, from what it tells."""
    motion = evidence.motion
    if not proof.line or not len(motion):
        return _Spot(-1, proof.at)
    rows = np.nonzero(motion.line == proof.line)[0]
    if len(evidence.programs) > 1:
        # Several programs have a line of this number: the one whose name is told, else nearest.
        named = [n for n, one in enumerate(evidence.programs)
                 if one.name == proof.program or one.name in proof.where]
        some = rows[np.isin(evidence.program_of[rows], named)]
        rows = some if len(some) else rows
    if not len(rows):
        return _Spot(-1, proof.at)
    if proof.at is None:
        return _Spot(int(rows[-1]), evidence.at(int(rows[-1])))
    apart = np.linalg.norm(np.nan_to_num(motion.end[rows]) - np.array(proof.at), axis=1)
    return _Spot(int(rows[np.argmin(apart)]), proof.at)


def _size(evidence: Evidence, spot: _Spot) -> float:
    """Diameter of the cutter at the place, else of the smallest in use, mm."""
    if spot.piece >= 0 and np.isfinite(evidence.cutter_radius[spot.piece]):
        return 2 * float(evidence.cutter_radius[spot.piece])
    return min((cutter.diameter for cutter in evidence.cutters.values()), default=1.0)


def _body(evidence: FlatEvidence, spot: _Spot) -> list[tuple[float, float, float]]:
    """Diameter, and from and to which height, of what is cut with and of what is above it, mm.

    What is above is left out where it stays above the stock.
    """
    assert spot.at is not None
    size, tip, top = _size(evidence, spot), spot.at[2], evidence.layout.top
    cutter = (evidence.cutters.get(int(evidence.motion.cutter[spot.piece]))
              if spot.piece >= 0 else None)
    parts = [(size, tip)]
    if cutter is not None:
        parts += [(2 * part.radius, tip + part.low) for part in profile_of(cutter).solid
                  if 0 < part.low < top - tip]
    ends = [begin for _, begin in parts[1:]] + [tip + 1e3 * size]
    return [(wide, begin, end) for (wide, begin), end in zip(parts, ends, strict=True)]


def _beside(evidence: Evidence, spot: _Spot) -> tuple[int, int]:
    """First and past-last piece drawn about the place, within one program."""
    program = evidence.program_of[spot.piece]
    low = int(np.searchsorted(evidence.program_of, program, side="left"))
    high = int(np.searchsorted(evidence.program_of, program, side="right"))
    return max(low, spot.piece - _BESIDE), min(high, spot.piece + _BESIDE + 1)


def _flat(board: Board, evidence: FlatEvidence, spot: _Spot, plan: Box, side: Box) -> None:
    """The place from above in a loupe, and the moves about it from the side."""
    from matplotlib.patches import Circle

    layout = evidence.layout
    track = traced(evidence.motion, evidence.machine)
    wide = min(plan.width, plan.height)
    middle = plan.x + plan.width / 2, plan.y + plan.height - wide / 2
    if spot.at is None:
        low_x, low_y, high_x, high_y = layout.stock.bounds
        panel = board.scaled(plan, (low_x, low_y, high_x, high_y))
        draw_plan(board, panel, layout, track, evidence.cutters)
        board.scale_bar(panel.scale, plan.x, plan.y - 3.1, board.says("no-place"))
        return
    size = _size(evidence, spot)
    around = [wide for wide, *_ in _body(evidence, spot)[1:]]
    radius = max(2.2 * size, 0.15, *(0.7 * wide for wide in around))
    on = spot.at[0], spot.at[1]
    loupe = board.loupe(middle, wide, on, radius)
    draw_plan(board, loupe, layout, track, evidence.cutters)
    if spot.piece >= 0:
        own = track.only(track.piece == spot.piece)
        _fault(board, loupe, [np.vstack((a[:2], b[:2])) for a, b in
                              zip(own.start, own.end, strict=True)])
    _place(board, loupe, on, size / 2 if spot.piece >= 0 else 0.0)
    for wide_there in around:
        loupe.add(Circle(on, wide_there / 2, fill=False, edgecolor=board.colours.mark,
                         linewidth=0.9, linestyle=DASHES["edge"], zorder=23))
    board.scale_bar(loupe.scale, plan.x, plan.y - 3.1,
                    board.says("from-above-at", x=f"{on[0]:.3f}", y=f"{on[1]:.3f}"))
    if spot.piece >= 0:
        _flat_side(board, evidence, layout, spot, side)
        return
    whole = board.scaled(side, layout.stock.bounds)
    draw_plan(board, whole, layout, track, evidence.cutters)
    board.pointers(loupe, whole.on_board(*on), radius * whole.scale)
    board.scale_bar(whole.scale, side.x, side.y - 3.1, board.says("scale-whole"))


def _flat_side(
    board: Board, evidence: FlatEvidence, layout: FlatLayout, spot: _Spot, box: Box
) -> None:
    """Stock, cutter and the moves about the place, seen from the front or from the right."""
    from matplotlib.patches import Rectangle

    assert spot.at is not None
    motion, colours, size = evidence.motion, board.colours, _size(evidence, spot)
    way = np.abs(np.nan_to_num(motion.end[spot.piece] - motion.start[spot.piece]))
    axis = 1 if way[1] > way[0] else 0
    middle, low = spot.at[axis], min(spot.at[2], layout.bottom)
    high = max(layout.top + 0.6 * size, spot.at[2] + 0.6 * size)
    margin = 0.12 * (high - low)
    body = _body(evidence, spot)
    half = max(1.6 * size, 0.5 * (high - low), *(0.7 * wide for wide, *_ in body))
    panel = board.scaled(box, (middle - half, low - margin, middle + half, high))
    first, last = layout.stock.bounds[axis], layout.stock.bounds[axis + 2]
    panel.add(Rectangle((first, layout.bottom), last - first, layout.top - layout.bottom,
                        facecolor=colours.stock, edgecolor=colours.quiet, linewidth=0.8, zorder=1))
    for clamp in layout.clamps:
        begin, end = clamp.plan.bounds[axis], clamp.plan.bounds[axis + 2]
        panel.add(Rectangle((begin, layout.top), end - begin, clamp.top - layout.top,
                            facecolor=colours.paper, edgecolor=colours.holding, hatch="////",
                            linewidth=0.8, zorder=2))
    begin, finish = _beside(evidence, spot)
    track = traced(motion, evidence.machine)
    for piece in range(begin, finish):
        own = track.only(track.piece == piece)
        lines = [np.column_stack((np.vstack((a, b))[:, axis], np.vstack((a, b))[:, 2]))
                 for a, b in zip(own.start, own.end, strict=True)]
        if piece == spot.piece:
            _fault(board, panel, lines)
        else:
            _way(board, panel, lines, rapid=motion.kind[piece] == Kind.RAPID)
    for wide, begins, ends in body:
        panel.add(Rectangle((middle - wide / 2, begins), wide, ends - begins, facecolor="none",
                            edgecolor=colours.mark, linewidth=0.9, zorder=14))
    _place(board, panel, (middle, spot.at[2]), 0.0)
    board.scale_bar(panel.scale, box.x, box.y - 3.1,
                    board.says("from-right" if axis else "from-front", z=f"{spot.at[2]:.3f}"))


def _round(board: Board, evidence: RoundEvidence, spot: _Spot, plan: Box, side: Box) -> None:
    draw_there(board, evidence, spot.piece, plan, side)


def _teeth(board: Board, evidence: HeadEvidence, spot: _Spot, plan: Box, side: Box) -> None:
    """The tooth space at fault along the arbor in a loupe, cutter and work from the side."""
    layout = evidence.layout
    track = traced(evidence.motion, evidence.machine)
    sizes = layout.tooth.sizes
    wide = min(plan.width, plan.height)
    middle = plan.x + plan.width / 2, plan.y + plan.height - wide / 2
    angle = (float(evidence.motion.angle_end[spot.piece]) if spot.piece >= 0
             else most_off_at(layout, track, evidence.cutters))
    pitch = math.pi * sizes.pitch_diameter / sizes.teeth
    span = max(1.3 * pitch, 0.9 * sizes.whole_depth)
    out = (sizes.tip_diameter + sizes.root_diameter) / 4
    turn = math.radians(angle)
    on = -out * math.sin(turn), out * math.cos(turn)
    loupe = board.loupe(middle, wide, on, span)
    draw_as_cut(board, loupe, layout, track, evidence.cutters)
    board.scale_bar(loupe.scale, plan.x, plan.y - 3.1,
                    board.says("along-arbor", angle=f"{angle:.4g}"))
    if spot.piece >= 0:
        _teeth_side(board, evidence, layout, spot, side)
        return
    radius = 1.06 * layout.blank_radius
    whole = board.scaled(side, (-radius, -radius, radius, radius))
    draw_as_cut(board, whole, layout, track, evidence.cutters, fine=False)
    board.scale_bar(whole.scale, side.x, side.y - 3.1, board.says("scale-whole"))


def _teeth_side(
    board: Board, evidence: HeadEvidence, layout: ToothLayout, spot: _Spot, box: Box
) -> None:
    """Work on the arbor, the disc at both ends of the move at fault, the moves about it."""
    from matplotlib.patches import Circle
    from matplotlib.patches import Polygon as Shape

    colours, motion = board.colours, evidence.motion
    way: HeadWay = head_way(evidence)
    disc = float(np.nan_to_num(way.disc[spot.piece]))
    begin, finish = _beside(evidence, spot)
    rows = [row for row in range(begin, finish)
            if np.isfinite(way.along[row]).all() and np.isfinite(way.away[row]).all()]
    here = way.along[spot.piece], way.away[spot.piece] - disc
    around = np.concatenate([np.nan_to_num(here[0]), (0.0, layout.backing_to)])
    left, right = float(around.min()), float(around.max())
    margin = max(0.15 * (right - left), 0.4 * layout.tooth.sizes.whole_depth)
    low = min(0.3 * layout.arbor_radius, float(np.nanmin(here[1]))) - margin
    high = max(layout.blank_radius, layout.backing_radius, float(np.nanmax(here[1]))) + 2 * margin
    panel = board.scaled(box, (left - margin, max(low, layout.blank_radius - 3 * (right - left)),
                               right + margin, high))
    for body in layout.bodies:
        blank = body.name == "blanks"
        panel.add(Shape(body.profile, closed=True,
                        facecolor=colours.stock if blank else colours.paper,
                        edgecolor=colours.holding, linewidth=0.7,
                        hatch=hatch_of(body.name), zorder=2))
    for row in rows:
        lines = [np.column_stack((way.along[row], way.away[row] - way.disc[row]))]
        if row == spot.piece:
            _fault(board, panel, lines)
        elif motion.kind[row] != Kind.INDEX:
            _way(board, panel, lines, rapid=motion.kind[row] == Kind.RAPID)
    for end, style in ((0, DASHES["wanted"]), (1, DASHES["edge"])):
        along, away = float(here[0][end]), float(way.away[spot.piece, end])
        if math.isfinite(along + away):
            panel.add(Circle((along, away), disc, fill=False, edgecolor=colours.mark,
                             linewidth=0.9, linestyle=style, zorder=13))
            if end:
                _place(board, panel, (along, away - disc), 0.0)
    board.scale_bar(panel.scale, box.x, box.y - 3.1,
                    board.says("from-side", diameter=f"{2 * disc:g}"))


def _fault(board: Board, panel: Panel, lines: list[np.ndarray]) -> None:
    """The way of the move at fault, bold."""
    from matplotlib.collections import LineCollection

    panel.add(LineCollection(lines, linewidths=WIDTHS["fault"], colors=board.colours.missing,
                             capstyle="round", zorder=16))


def _way(board: Board, panel: Panel, lines: list[np.ndarray], *, rapid: bool) -> None:
    """The way of a move beside it."""
    from matplotlib.collections import LineCollection

    kind = "rapid" if rapid else "cut"
    panel.add(LineCollection(
        lines, linewidths=WIDTHS["rapid"] if rapid else 0.9, linestyles=[DASHES[kind]],
        colors=board.colours.rapid if rapid else board.colours.deep, capstyle="round", zorder=12))


def _place(board: Board, panel: Panel, on: tuple[float, float], radius: float) -> None:
    """The very place: a cross, and the cutter round it where its radius is known."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Circle

    arm = 2.6 / panel.scale
    for sx in (-1, 1):
        panel.add(Line2D((on[0] - arm, on[0] + arm), (on[1] - sx * arm, on[1] + sx * arm),
                         color=board.colours.missing, linewidth=1.2, zorder=24))
    if radius:
        panel.add(Circle(on, radius, fill=False, edgecolor=board.colours.mark, linewidth=0.9,
                         zorder=23))


def _cut_on_table(evidence: FlatEvidence, spot: _Spot) -> int:
    """Of a proof that points to no line: the cut nearest to its place, -1 where nothing cuts."""
    rows = np.flatnonzero(is_cut(evidence.motion))
    if not len(rows) or spot.at is None:
        return int(rows[0]) if len(rows) else -1
    apart = np.linalg.norm(np.nan_to_num(evidence.motion.end[rows]) - np.array(spot.at), axis=1)
    return int(rows[np.argmin(apart)])


def _cut_on_head(evidence: HeadEvidence) -> int:
    """The first cut at the angle that is most off, -1 where nothing cuts."""
    motion = evidence.motion
    rows = np.flatnonzero(is_cut(motion))
    if not len(rows):
        return -1
    angle = most_off_at(evidence.layout, traced(motion, evidence.machine), evidence.cutters)
    off = np.abs((motion.angle_end[rows] - angle + 180.0) % 360.0 - 180.0)
    return int(rows[np.argmin(np.round(off, 6))])


def _program(board: Board, evidence: Evidence, proof: Proof, cut: int, box: Box) -> None:
    """The line the proof points to and its neighbours; where to none, the line of a cut there."""
    if not evidence.programs:
        return
    which = int(evidence.program_of[cut]) if cut >= 0 else 0
    program = evidence.programs[which]
    line = proof.line or (int(evidence.motion.line[cut]) if cut >= 0 else 1)
    top = box.y + box.height
    told = (board.says("line", program=program.name, line=proof.line) if proof.line
            else board.says("cut-there", program=program.name, line=line))
    board.text(box.x, top - 3.0, told, weight="bold", width=box.width)
    shown = max(1, int((box.height - 5.5) / 4.0))
    first = max(1, min(line - shown // 2, len(program.lines) - shown + 1))
    for row, number in enumerate(range(first, min(first + shown, len(program.lines) + 1))):
        y = top - 7.8 - 4.0 * row
        own = number == proof.line
        if own:
            board.text(box.x, y, "▶", colour=board.colours.missing)
        colour = board.colours.ink if own else board.colours.quiet
        board.text(box.x + 12, y, str(number), across="right", colour=colour)
        board.text(box.x + 14, y, program.lines[number - 1].strip() or " ", colour=colour,
                   weight="bold" if own else "normal", width=box.width - 14)


def _flat_key(board: Board) -> list[tuple[Sample, str]]:
    return [("fault", board.says("fault")), ("edge", board.says("part")),
            ("swath", board.says("swath-plain")), ("rapid", board.says("rapid")),
            ("holding", board.says("clamp"))]


def _head_key(board: Board, layout: ToothLayout) -> list[tuple[Sample, str]]:
    return [("fault", board.says("fault")), ("edge", board.says("as-cut")),
            ("wanted", board.says("as-meant")), ("left", board.says("left")),
            ("missing", board.says("missing")), ("rapid", board.says("rapid")),
            *arbor_key(board, layout)]


def _in_words(board: Board, evidence: Evidence, proof: Proof, spot: _Spot) -> str:
    """What the picture shows, for those who cannot see it."""
    told = [board.says("says-failure", proof=board.say.say(proof.name),
                       figure=_figure(board, proof),
                       where=f"; {board.say.say(proof.where)}" if proof.where else "")]
    if evidence.programs and proof.line:
        which = int(evidence.program_of[spot.piece]) if spot.piece >= 0 else 0
        lines = evidence.programs[which].lines
        if 0 < proof.line <= len(lines):
            told.append(board.says("says-failure-line", line=proof.line,
                                   words=lines[proof.line - 1].strip()))
    told.append(board.says("says-failure-place" if spot.at or spot.piece >= 0
                           else "says-failure-whole"))
    return " ".join(told)
