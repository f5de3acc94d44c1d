"""A round body swept along straight stretches: is all that it passes over clear of metal?

No place is left between samples. A stretch is clear at once where it stays beside the stock, or
where one earlier cut has cleared all of it. What is left is covered by squares: one is clear where
the stock, or the body itself, does not reach into the circle about it, or where one earlier cut has
cleared that circle down to the body's lowest end there; the others are quartered. A square of
:data:`FINE` that is still not clear is refused. Flat work, lengths mm.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely

from camgen.arrays import Flags, Floats, Ints
from camgen.proof.evidence import FlatEvidence
from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.proof.ground.standing import Profiles, profiles_of, standing
from camgen.tolerances import MOTION_CHORD, ROUNDING
from camgen.values import dataclass

__all__ = ["FINE", "Met", "Stretches", "Swept", "in_metal"]

FINE = 0.01
"""Radius of the circles about the smallest squares."""
# Stretches, and squares, looked at together.
TOGETHER = 2000
SQUARES = 100_000
QUARTERS = np.array([[-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0], [1.0, 1.0]]) / 2


@dataclass(frozen=True)
class Stretches:
    """Straight ways of a cutter's tip, ``start`` and ``end`` (m, 3), and the ``piece`` of each."""

    start: Floats
    end: Floats
    piece: Ints

    def only(self, which: Flags | Ints) -> Stretches:
        """Some of them."""
        return Stretches(self.start[which], self.end[which], self.piece[which])


@dataclass(frozen=True)
class Swept:
    """A body: its ``radius``, how far ``above`` the tip it begins, the radius of the ``edge``
    under it, which has cleared its own width on a way straight down."""

    radius: float
    above: float
    edge: float


@dataclass(frozen=True)
class Met:
    """How deep a body stands in metal, where its cutter's tip is then, on which piece.

    Not ``shown``: metal may only be near.
    """

    depth: float
    tip: tuple[float, float, float]
    piece: int
    shown: bool


@dataclass(frozen=True)
class _Squares:
    """Squares of one size: their ``middle`` (q, 2), and the ``stretch`` (q,) of each."""

    middle: Floats
    stretch: Ints
    half: float


def in_metal(evidence: FlatEvidence, body: Swept, stretches: Stretches) -> Met | None:
    """The worst place at which a body on its way is in metal, or not shown to be out of it."""
    cuts = evidence.flat_cuts
    profiles = profiles_of(cuts, evidence.motion.cutter[cuts.piece], evidence.cutters)
    shapely.prepare(evidence.layout.stock)
    body = Swept(body.radius + MOTION_CHORD, body.above, body.edge)
    left = _first_times(stretches)
    if body.radius < body.edge:
        left = left.only(~_upright(left))
    # Asked of the lines: prepared ground does not know a line of no length.
    left = left.only(shapely.distance(_lines(left), evidence.layout.stock) <= body.radius)
    left = left.only(~_in_one_cut(cuts, profiles, body, left))
    left = _short(left, 2 * body.radius)
    found = [met for begin, end in pairwise([*range(0, len(left.piece), TOGETHER),
                                             len(left.piece)])
             for met in _divided(evidence, profiles, body, left.only(np.arange(begin, end)))]
    return max(found, key=lambda met: (met.shown, round(met.depth, 6), -met.piece), default=None)


def _first_times(stretches: Stretches) -> Stretches:
    """Each way once: the same again later, or backwards, meets no more metal."""
    ends = np.rint(np.stack([stretches.start, stretches.end], axis=1) * 1e6).astype(np.int64)
    back = np.zeros(len(ends), dtype=np.bool_)
    even = np.ones(len(ends), dtype=np.bool_)
    for axis in range(3):
        back |= even & (ends[:, 1, axis] < ends[:, 0, axis])
        even &= ends[:, 1, axis] == ends[:, 0, axis]
    ends[back] = ends[back][:, ::-1]
    order = np.argsort(stretches.piece, kind="stable")
    _, first = np.unique(ends[order].reshape(-1, 6), axis=0, return_index=True)
    return stretches.only(np.sort(order[first]))


def _upright(stretches: Stretches) -> Flags:
    way = stretches.end[:, :2] - stretches.start[:, :2]
    return np.asarray(np.all(np.abs(way) < ROUNDING, axis=1))


def _lines(stretches: Stretches) -> np.ndarray[tuple[int], np.dtype[np.object_]]:
    return np.asarray(
        shapely.linestrings(np.stack([stretches.start[:, :2], stretches.end[:, :2]], axis=1)))


def _in_one_cut(cuts: PlanCuts, profiles: Profiles, body: Swept, stretches: Stretches) -> Flags:
    """(m,) stretches over all of which one earlier cut has cleared the body's width.

    Along a straight stretch the distance from a straight cut is greatest at an end (it is convex);
    that from an arc grows by no more than the way.
    """
    clear = np.zeros(len(stretches.piece), dtype=np.bool_)
    if not len(cuts) or not len(clear) or float(profiles.radius.max()) <= body.radius:
        return clear
    start, end = stretches.start, stretches.end
    level = np.minimum(start[:, 2], end[:, 2]) + body.above
    length = np.hypot(*(end - start)[:, :2].T)
    for begin in range(0, len(clear), TOGETHER):
        some = np.arange(begin, min(begin + TOGETHER, len(clear)))
        which, of = cuts.tree.query(shapely.points(start[some, :2]))
        which = some[which]
        use = (cuts.piece[of] < stretches.piece[which]) & (profiles.radius[of] > body.radius)
        use &= cuts.high[of] < level[which] + ROUNDING
        which, of = which[use], of[use]
        away = cuts.apart(np.stack([start[which, :2], end[which, :2]], axis=1), of)
        far = np.where(cuts.sweep[of] == 0, away.max(axis=1),
                       (away.sum(axis=1) + length[which]) / 2)
        low = cuts.high[of] + profiles.rise(far + body.radius, of) <= level[which] + ROUNDING
        clear[which[low]] = True
    return clear


def _short(stretches: Stretches, longest: float) -> Stretches:
    """The same ways, none longer in plan than ``longest``."""
    length = np.hypot(*(stretches.end - stretches.start)[:, :2].T)
    count = np.maximum(np.ceil(length / longest), 1).astype(np.int64)
    of = np.repeat(np.arange(len(count)), count)
    number = np.arange(len(of)) - np.repeat(np.cumsum(count) - count, count)
    way = stretches.end[of] - stretches.start[of]
    first, last = (((number + one) / count[of])[:, None] for one in (0, 1))
    return Stretches(stretches.start[of] + first * way, stretches.start[of] + last * way,
                     stretches.piece[of])


def _divided(
    evidence: FlatEvidence, profiles: Profiles, body: Swept, stretches: Stretches
) -> list[Met]:
    """Where the body meets metal on stretches no longer than it is wide, or may meet it."""
    middle = (stretches.start[:, :2] + stretches.end[:, :2]) / 2
    squares = [_Squares(middle, np.arange(len(middle)), 2 * body.radius)]
    met_already = np.zeros(len(middle), dtype=np.bool_)
    found: list[Met] = []
    while squares:
        looked = squares.pop()
        keep = ~met_already[looked.stretch]
        looked = _Squares(looked.middle[keep], looked.stretch[keep], looked.half)
        if not len(looked.stretch):
            continue
        left, met = _look(evidence, profiles, body, stretches, looked, met_already)
        found += met
        half = looked.half / 2
        quarters = (left.middle[:, None] + looked.half * QUARTERS[None]).reshape(-1, 2)
        of = np.repeat(left.stretch, 4)
        squares += [_Squares(quarters[b : b + SQUARES], of[b : b + SQUARES], half)
                    for b in range(0, len(of), SQUARES)]
    return found


def _look(
    evidence: FlatEvidence, profiles: Profiles, body: Swept, stretches: Stretches,
    squares: _Squares, met_already: Flags,
) -> tuple[_Squares, list[Met]]:
    """Squares still to be quartered, and the worst meeting of those that are decided.

    Stretches that have met metal are marked in ``met_already``.
    """
    top, stock, cuts = evidence.layout.top, evidence.layout.stock, evidence.flat_cuts
    about = squares.half * 2**0.5
    low, reached = _lowest_over(body, stretches, squares, about)
    reached &= low < top - ROUNDING
    reached[reached] = shapely.dwithin(stock, shapely.points(squares.middle[reached]), about)
    rows = np.nonzero(reached)[0]
    piece = stretches.piece[squares.stretch]
    height, _ = standing(cuts, profiles, squares.middle[rows], piece[rows], top,
                         about=np.full(len(rows), about))
    in_way = height > low[rows] + ROUNDING
    rows, height = rows[in_way], height[in_way]
    if not len(rows):
        return _Squares(squares.middle[rows], squares.stretch[rows], squares.half), []
    left = _Squares(squares.middle[rows], squares.stretch[rows], squares.half)
    found: list[Met] = []
    here, over = _lowest_over(body, stretches, left, 0.0)
    over &= shapely.intersects_xy(stock, left.middle[:, 0], left.middle[:, 1])
    at = np.nonzero(over)[0]
    stands, _ = standing(cuts, profiles, left.middle[at], piece[rows[at]], top)
    depth = stands - here[at]
    if len(at) and depth.max() > ROUNDING:
        worst = int(np.argmax(depth))
        found.append(_met(body, stretches, float(depth[worst]), int(left.stretch[at[worst]]),
                          float(here[at[worst]]), True))
        met_already[left.stretch[at[depth > ROUNDING]]] = True
    keep = ~met_already[left.stretch]
    left = _Squares(left.middle[keep], left.stretch[keep], squares.half)
    if about > FINE or not len(left.stretch):
        return left, found
    depth = (height - low[rows])[keep]
    worst = int(np.argmax(depth))
    stretch = int(left.stretch[worst])
    found.append(_met(body, stretches, float(depth[worst]), stretch,
                      float(low[rows][keep][worst]), False))
    met_already[left.stretch] = True
    return _Squares(left.middle[:0], left.stretch[:0], squares.half), found


def _met(
    body: Swept, stretches: Stretches, depth: float, stretch: int, low: float, shown: bool
) -> Met:
    """A meeting on a stretch where the body's lower end is at ``low``."""
    a, b = stretches.start[stretch], stretches.end[stretch]
    rise = b[2] - a[2]
    share = (low - body.above - a[2]) / rise if abs(rise) > ROUNDING else 1.0
    x, y, z = (a + min(max(share, 0.0), 1.0) * (b - a)).tolist()
    return Met(depth, (x, y, z), int(stretches.piece[stretch]), shown)


def _lowest_over(
    body: Swept, stretches: Stretches, squares: _Squares, about: float
) -> tuple[Floats, Flags]:
    """(q,) how low the body's end comes within ``about`` of middles, and whether it comes there.

    On a way straight down what the edge has cleared does not count.
    """
    a, b = stretches.start[squares.stretch], stretches.end[squares.stretch]
    way = b - a
    square = way[:, 0] ** 2 + way[:, 1] ** 2
    upright = square < ROUNDING * ROUNDING
    off = squares.middle - a[:, :2]
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (off[:, 0] * way[:, 0] + off[:, 1] * way[:, 1]) / square
        along = np.where(upright, 0.0, along)
        aside = off - along[:, None] * way[:, :2]
        beside = aside[:, 0] ** 2 + aside[:, 1] ** 2
        reach = body.radius + about
        spread = np.sqrt(np.maximum(reach * reach - beside, 0.0) / square)
    first = np.where(upright, 0.0, np.clip(along - spread, 0.0, 1.0))
    last = np.where(upright, 1.0, np.clip(along + spread, 0.0, 1.0))
    over = beside <= reach * reach
    over &= upright | ((along - spread <= 1.0) & (along + spread >= 0.0))
    over &= ~(upright & (np.sqrt(beside) + about <= body.edge))
    low = np.minimum(a[:, 2] + first * way[:, 2], a[:, 2] + last * way[:, 2]) + body.above
    return low, np.asarray(over)
