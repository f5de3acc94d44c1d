"""Cuts of flat work seen from above: lines and arcs in the plane, each with the width it clears.

Exact: an arc stays an arc, and distances to it are reckoned from its centre. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

import numpy as np
import shapely

from camgen.arrays import Flags, Floats, Ints
from camgen.proof.path import chords, is_arc, is_cut, select, sweeps
from camgen.reader.motion import Motion
from camgen.shop.cutters import Cutter, record_of
from camgen.values import dataclass

__all__ = ["PlanCuts", "plan_cuts"]

_KEY = 1e6
# Pairs of a point and a cut whose distances are held at a time.
_TOGETHER = 2_000_000


@dataclass(frozen=True)
class PlanCuts:
    """k cuts in the plane.

    ``start`` and ``end`` (k, 2); ``centre`` (k, 2) nan where straight; ``begin`` and ``sweep`` (k,)
    angles in radians, sweep 0 where straight; ``radius`` (k,) of the arc; ``high`` and ``low`` (k,)
    the greatest and least Z; ``wide_top`` and ``wide_bottom`` (k,) the radius cleared at the
    stock's upper and lower face, 0 where nothing is; ``piece`` and ``until`` (k,) numbers of the
    first and last piece of motion that each stands for.
    """

    start: Floats
    end: Floats
    centre: Floats
    begin: Floats
    sweep: Floats
    radius: Floats
    high: Floats
    low: Floats
    wide_top: Floats
    wide_bottom: Floats
    piece: Ints
    until: Ints

    def __len__(self) -> int:
        return len(self.piece)

    def only(self, which: Flags | Ints) -> PlanCuts:
        """Some of the cuts."""
        return PlanCuts(*(getattr(self, name)[which] for name in _NAMES))

    def moved(self, dx: float, dy: float) -> PlanCuts:
        """The cuts shifted."""
        shift = np.array([dx, dy])
        parts = {name: getattr(self, name) for name in _NAMES}
        for name in ("start", "end", "centre"):
            parts[name] = parts[name] + shift
        return PlanCuts(**parts)

    @cached_property
    def middles(self) -> Floats:
        """(k, 2) the point halfway along each."""
        middle: Floats = (self.start + self.end) / 2
        arc = self.sweep != 0
        half = self.begin[arc] + self.sweep[arc] / 2
        ray = np.column_stack([np.cos(half), np.sin(half)]) * self.radius[arc, None]
        middle[arc] = self.centre[arc] + ray
        return middle

    @cached_property
    def bounds(self) -> Floats:
        """(k, 4) least x, least y, greatest x, greatest y of what each clears."""
        wide = np.maximum(np.maximum(self.wide_top, self.wide_bottom), 0.0)[:, None]
        low = np.minimum(self.start, self.end)
        high = np.maximum(self.start, self.end)
        arc = np.nonzero(self.sweep)[0]
        if len(arc):
            begin, sweep, centre = self.begin[arc], self.sweep[arc], self.centre[arc]
            first = np.minimum(begin, begin + sweep)
            # A circle's outermost points are reached where a quarter turn lies within the sweep.
            for quarter, (axis, far) in enumerate(((0, high), (1, high), (0, low), (1, low))):
                on = np.mod(quarter * np.pi / 2 - first, 2 * np.pi) <= np.abs(sweep) + 1e-12
                reach = self.radius[arc][on] * (1.0 if far is high else -1.0)
                far[arc[on], axis] = centre[on, axis] + reach
        return np.concatenate([low - wide, high + wide], axis=1)

    @cached_property
    def tree(self) -> shapely.STRtree:
        """The bounds of the cuts, to be searched."""
        box = self.bounds
        return shapely.STRtree(shapely.box(box[:, 0], box[:, 1], box[:, 2], box[:, 3]))

    @cached_property
    def _turned(self) -> Floats:
        """(6, k) cosine and sine of the middle of each arc and of half its sweep, and that half."""
        middle = self.begin + self.sweep / 2
        half = np.minimum(np.abs(self.sweep) / 2, np.pi)
        return np.stack([np.cos(middle), np.sin(middle), np.cos(half), np.sin(half), half])

    def distances(self, points: Floats) -> Floats:
        """(m, k) distance of each of m points (m, 2) from the line or arc of each cut."""
        pairs = np.broadcast_to(points[:, None, :], (len(points), len(self), 2))
        away: Floats = self.apart(pairs.swapaxes(0, 1), np.arange(len(self))).T
        return away

    def nearest(self, points: Floats, wide: Floats) -> Floats:
        """(m,) least way from each of m points (m, 2) to what cuts ``wide`` (k,) mm each clear.

        Some points at a time, so that memory is bounded however many there are of both.
        """
        least = np.empty(len(points))
        many = max(1, _TOGETHER // max(1, len(self)))
        for first in range(0, len(points), many):
            some = slice(first, first + many)
            least[some] = (self.distances(points[some]) - wide).min(axis=1)
        return least

    def apart(self, points: Floats, of: Ints) -> Floats:
        """(p, m) distances of points (p, m, 2) from the lines or arcs of cuts ``of`` (p,)."""
        away = np.empty(points.shape[:2])
        curved = self.sweep[of] != 0
        straight = ~curved
        if np.any(straight):
            rows = of[straight]
            away[straight] = self._off_lines(points[straight], rows)
        if np.any(curved):
            rows = of[curved]
            away[curved] = self._off_arcs(points[curved], rows)
        return away

    def _off_lines(self, points: Floats, rows: Ints) -> Floats:
        a = self.start[rows]
        way = self.end[rows] - a
        square = np.einsum("ij,ij->i", way, way)
        px, py = points[..., 0] - a[:, :1], points[..., 1] - a[:, 1:]
        share = (px * way[:, :1] + py * way[:, 1:]) / np.where(square > 0, square, 1.0)[:, None]
        np.clip(share, 0.0, 1.0, out=share)
        px -= share * way[:, :1]
        py -= share * way[:, 1:]
        return np.asarray(np.sqrt(px * px + py * py))

    def _off_arcs(self, points: Floats, rows: Ints) -> Floats:
        centre, reach = self.centre[rows], self.radius[rows, None]
        # Turned so that the arc's middle lies on +x: a point is beside the arc when its angle from
        # there is no more than half the sweep.
        cosine, sine, cos_half, sin_half, half = self._turned[:, rows, None]
        px, py = points[..., 0] - centre[:, :1], points[..., 1] - centre[:, 1:]
        along = px * cosine + py * sine
        across = np.abs(py * cosine - px * sine)
        # The angle compared without an arctangent; past a quarter turn the whole near side counts.
        within = across * cos_half <= along * sin_half
        within |= (half > np.pi / 2) & (along >= 0)
        within |= half >= np.pi - 1e-12
        beside = np.abs(np.sqrt(along * along + across * across) - reach)
        along -= reach * cos_half
        across -= reach * sin_half
        ends = np.sqrt(along * along + across * across)
        return np.asarray(np.where(within, beside, ends))

    def distinct(self) -> PlanCuts:
        """The cuts with those along one path at several depths made one, as deep as the deepest."""
        if len(self) < 2:
            return self
        key = np.round(
            np.column_stack(
                [self.start, self.end, np.nan_to_num(self.centre), self.sweep]
            ) * _KEY
        ).astype(np.int64)
        order = np.lexsort(key.T)
        ordered = key[order]
        new = np.concatenate([[True], np.any(ordered[1:] != ordered[:-1], axis=1)])
        first = np.nonzero(new)[0]
        parts = {name: getattr(self, name)[order][first] for name in _NAMES}
        for name in ("wide_top", "wide_bottom"):
            parts[name] = np.maximum.reduceat(getattr(self, name)[order], first)
        for name in ("high", "low"):
            parts[name] = np.minimum.reduceat(getattr(self, name)[order], first)
        parts["until"] = np.maximum.reduceat(self.until[order], first)
        return PlanCuts(**parts)

    @property
    def key(self) -> bytes:
        """The same for two sets of cuts that clear the same, to a millionth of a millimetre."""
        # Angles follow from the points; near a whole number of steps they might round either way.
        table = np.column_stack(
            [self.start, self.end, np.nan_to_num(self.centre), np.rint(self.sweep), self.high,
             self.low, self.wide_top, self.wide_bottom]
        )
        return np.rint(table * _KEY).astype(np.int64).tobytes()


_NAMES = (
    "start", "end", "centre", "begin", "sweep", "radius", "high", "low", "wide_top",
    "wide_bottom", "piece", "until",
)


def _width(cutter: Cutter | None, depth: Floats) -> Floats:
    """Radius a cutter clears at a level ``depth`` mm above its lowest point; 0 below it.

    Pointed cutters are cones up to their diameter, ball ends half circles, an end mill's corner
    radius a quarter circle.
    """
    if cutter is None:
        return np.zeros_like(depth)
    radius = cutter.diameter / 2
    reached = depth > 1e-6
    record = record_of(cutter)
    if record.conical:
        flat = min(cutter.tip, cutter.diameter) / 2
        wide = np.minimum(radius, flat + depth * np.tan(np.radians(cutter.cone_angle / 2)))
    elif record.ball:
        wide = np.sqrt(np.maximum(0.0, radius**2 - np.clip(radius - depth, 0.0, radius) ** 2))
    elif cutter.corner_radius > 0:
        corner = min(cutter.corner_radius, radius)
        rise = np.clip(corner - depth, 0.0, corner)
        wide = radius - corner + np.sqrt(corner**2 - rise**2)
    else:
        wide = np.full_like(depth, radius)
    return np.where(reached, wide, 0.0)


def plan_cuts(
    motion: Motion, cutters: Mapping[int, Cutter], top: float, bottom: float
) -> PlanCuts:
    """The fed pieces of ``motion`` that reach below ``top`` mm, seen from above.

    What a piece clears at the upper face is taken at its lowest end and what it clears at the lower
    face at its highest, each on the side that a proof must take.
    """
    none = [number for number, one in cutters.items() if record_of(one).touches]
    rows = np.nonzero(is_cut(motion) & ~np.isin(motion.cutter, none))[0]
    low = np.minimum(motion.start[rows, 2], motion.end[rows, 2])
    rows = rows[low < top - 1e-6]
    cuts = select(motion, rows)
    piece = rows
    upright = is_arc(cuts) & (cuts.plane != 2)
    if np.any(upright):
        cuts, piece = _flattened(cuts, piece, upright)
    sweep, begin, radius = sweeps(cuts)
    levels = np.stack([cuts.start[:, 2], cuts.end[:, 2]])
    high, low = levels.max(axis=0), levels.min(axis=0)
    # Straight down or up, the cutter clears to the lower end at one place.
    still = (sweep == 0) & np.all(np.abs(cuts.end[:, :2] - cuts.start[:, :2]) < 1e-9, axis=1)
    high = np.where(still, low, high)
    wide_top, wide_bottom = np.zeros(len(cuts)), np.zeros(len(cuts))
    for number in sorted(set(cuts.cutter.tolist())):
        of = cuts.cutter == number
        cutter = cutters.get(number)
        wide_top[of] = _width(cutter, top - low[of])
        # A flat end exactly at the lower face has cut through.
        wide_bottom[of] = _width(cutter, bottom - high[of] + 2e-6)
    return PlanCuts(
        cuts.start[:, :2], cuts.end[:, :2], cuts.centre[:, :2], begin, sweep, radius, high, low,
        wide_top, wide_bottom, piece, piece,
    )


def _flattened(cuts: Motion, piece: Ints, upright: Flags) -> tuple[Motion, Ints]:
    """Arcs in an upright plane are straight lines from above: replaced by short chords."""
    pieces = chords(select(cuts, upright), 0.0002)
    flat = select(cuts, np.nonzero(upright)[0][pieces.piece])
    straight = Motion(
        kind=np.ones(len(flat), dtype=np.int64), line=flat.line, start=pieces.start,
        end=pieces.end, centre=np.full((len(flat), 3), np.nan), plane=np.full(len(flat), 2),
        turns=np.zeros(len(flat), dtype=np.int64), angle_start=flat.angle_start,
        angle_end=flat.angle_end, feed=flat.feed, speed=flat.speed, cutter=flat.cutter,
        station=flat.station,
    )
    rest = select(cuts, ~upright)
    both = Motion(
        *(np.concatenate([getattr(rest, name), getattr(straight, name)])
          for name in Motion.__dataclass_fields__)
    )
    return both, np.concatenate([piece[~upright], piece[upright][pieces.piece]])
