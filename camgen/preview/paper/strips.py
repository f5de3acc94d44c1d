"""Strips over one time: depth, feed, engagement and force, as :class:`Course` holds them."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from camgen.arrays import Floats
from camgen.preview.course.track import Track
from camgen.preview.flat.sides import time_axis
from camgen.preview.paper.board import Board, Box, Panel, round_step
from camgen.shop.cutters import Cutter
from camgen.values import dataclass

__all__ = ["Course", "MetalTaken", "course_of", "draw_strips"]


@dataclass(frozen=True)
class MetalTaken:
    """What m stretches of a way do to the metal.

    ``depth`` (m,) mm under the face or the tip circle, 0 or less clear of it; ``engaged`` (m,) the
    cutter's angle in metal, degrees; ``removed`` (m,) mm³; ``begun`` and ``ended`` (m,) s, when the
    metal is met and left, the same where it is not met.
    """

    depth: Floats
    engaged: Floats
    removed: Floats
    begun: Floats
    ended: Floats


@dataclass(frozen=True)
class Course:
    """What happens in each of n equal spans of time.

    ``depth`` (n,) mm, ``feed`` (n,) mm/min and ``engaged`` (n,) degrees are the largest in the
    span; ``force`` (n,) N is the mean force along the cutter's edge over a turn while metal is
    met, nan where the metal's figures are not known; ``seconds`` in all.
    """

    depth: Floats
    feed: Floats
    engaged: Floats
    force: Floats
    seconds: float


def course_of(
    track: Track, work: MetalTaken, feeds: Floats, speeds: Floats, cutters: Mapping[int, Cutter],
    cutting_force: tuple[float, float] | None, columns: int,
) -> Course:
    """Gather the stretches in ``columns`` spans of time.

    ``feeds`` (m,) mm/min and ``speeds`` (m,) rev/min of the stretches; ``cutting_force`` is the
    metal's kc1 in N/mm² and its exponent mc. The force is that of the metal removed: power =
    volume in a second × kc (Kienzle: kc = kc1·h^−mc), h the mean chip fz·(1 − cos φ)/φ over the
    angle φ engaged; force = power / speed of the edge.
    """
    seconds = max(track.seconds, 1e-9)
    span = seconds / columns

    def column(times: Floats) -> Floats:
        return np.clip((times / span).astype(np.int64), 0, columns - 1)

    first, last = column(track.since), column(track.until)
    met, left = column(work.begun), column(work.ended)
    depth, feed, engaged = np.zeros(columns), np.zeros(columns), np.zeros(columns)
    energy, met_for, edge_speed = np.zeros(columns), np.zeros(columns), np.zeros(columns)
    for row in range(len(track)):
        here = slice(first[row], last[row] + 1)
        depth[here] = np.maximum(depth[here], work.depth[row])
        if track.rapid[row] or track.turning[row]:
            continue
        feed[here] = np.maximum(feed[here], feeds[row])
        here = slice(met[row], left[row] + 1)
        edges = np.arange(met[row], left[row] + 2) * span
        inside = np.diff(np.clip(edges, work.begun[row], work.ended[row]))
        met_for[here] += inside
        engaged[here] = np.maximum(engaged[here], min(work.engaged[row], 180.0))
        cutter = cutters.get(int(track.cutter[row]))
        if cutting_force is None or cutter is None or not work.removed[row] or not speeds[row]:
            continue
        kc1, mc = cutting_force
        turning = abs(float(speeds[row])) / 60.0
        chip_load = feeds[row] / 60.0 / turning / cutter.flutes
        angle = max(math.radians(min(work.engaged[row], 180.0)), 0.05)
        chip = max(chip_load * (1 - math.cos(angle)) / angle, 1e-5)
        done = work.removed[row] * kc1 * chip**-mc
        lasts = float(inside.sum())
        energy[here] += done * (inside / lasts if lasts > 0 else 1.0 / len(inside))
        edge_speed[here] = math.pi * cutter.diameter * turning
    with np.errstate(divide="ignore", invalid="ignore"):
        force = np.where((edge_speed > 0) & (met_for > 1e-3 * span),
                         energy / met_for / edge_speed, 0.0)
    if cutting_force is None:
        force = np.full(columns, np.nan)
    return Course(depth, feed, engaged, force, seconds)


def draw_strips(board: Board, course: Course, box: Box, deepest: float, depth_words: str, *,
                scales: Course | None = None, named: bool = True) -> None:
    """Strips over one time: depth hangs down, the others stand up.

    ``deepest`` is the depth that gets a line, mm. Where ``scales`` is given the strips are as high
    as its would be; the names stand over them and the figures beside them only where ``named``.
    """
    most = scales or course
    rows: list[tuple[str, Floats, Floats, tuple[float, ...]]] = [
        (depth_words, -course.depth, -most.depth, (0.0, -deepest)),
        (board.says("course-feed"), course.feed, most.feed, _ticks(most.feed)),
        (board.says("course-engaged"), course.engaged, most.engaged,
         (0.0, 90.0, 180.0) if float(most.engaged.max()) > 90 else _ticks(most.engaged)),
    ]
    if np.isfinite(course.force).any():
        rows.append((board.says("course-force"), course.force, most.force, _ticks(most.force)))
    high = box.height / len(rows)
    for place, (words, values, range_of, ticks) in enumerate(rows):
        inner = Box(box.x, box.y + box.height - (place + 1) * high + 2.0, box.width, high - 7.5)
        low = min(*ticks, float(range_of.min()))
        top = max(*ticks, float(range_of.max()))
        panel = board.panel(inner, (0.0, course.seconds), (low * 1.03, top * 1.03))
        _bars(board, panel, course, values)
        for tick in ticks:
            _level(board, panel, tick, named=named)
        if named:
            board.text(box.x, inner.y + inner.height + 1.2, words)
        if place == len(rows) - 1:
            time_axis(board, panel, course.seconds, named=named)


def _ticks(values: Floats) -> tuple[float, ...]:
    """0 and the round figures up to the largest, two or three of them."""
    most = float(np.nanmax(values))
    if most <= 1e-9:
        return (0.0, 1.0)
    step = round_step(most / 2)
    return tuple(float(f"{step * n:.6g}") for n in range(int(most / step + 1e-9) + 1))


def _bars(board: Board, panel: Panel, course: Course, values: Floats) -> None:
    """Values of the spans as one stepped area from 0."""
    from matplotlib.patches import Polygon

    edges = np.linspace(0.0, course.seconds, len(values) + 1)
    outline = np.column_stack((np.repeat(edges, 2)[1:-1], np.repeat(values, 2)))
    ring = np.vstack(((0.0, 0.0), outline, (course.seconds, 0.0)))
    panel.add(Polygon(ring, closed=True, facecolor=board.colours.deep, edgecolor="none", zorder=3))


def _level(board: Board, panel: Panel, value: float, *, named: bool) -> None:
    from matplotlib.lines import Line2D

    panel.add(Line2D(panel.axes.get_xlim(), (value, value), color=board.colours.quiet,
                     linewidth=0.4, zorder=4))
    if named:
        board.text(panel.box.x - 1.2, panel.on_board(0, value)[1], f"{abs(value):.4g}",
                   across="right", up="center")
