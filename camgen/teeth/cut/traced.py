"""A cutter's line from points measured on it: half of its space or the whole, drawn any way round.

What a person traces under the microscope is a heap of points along the edge: in either direction,
in no order, in a frame of its own. What must be found out is where the space opens, which of the
points are one flank and which the other, and where the middle lies. What cannot be told for certain
is refused, for a profile half a hundredth beside its middle cuts every tooth so much too thin.
Lengths mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, TypeAlias, get_args

import numpy as np
import shapely
from shapely import LineString

from camgen.arrays import Floats
from camgen.faults import Fault, Refused, either
from camgen.messages import Message
from camgen.teeth.cut.bought import CutterSpace, Heights, never_closing
from camgen.teeth.outlines.curves import Complexes
from camgen.values import dataclass

__all__ = ["Opens", "traced_line"]

Opens: TypeAlias = Literal["up", "down", "left", "right"]

# Fewer points than these draw no flank.
LEAST_POINTS = 8
# Half as high as it is deep a space is open; half a trace has nothing there. Shares of its width.
OPEN = 0.22
# A profile may close towards the outside by so much of its depth before it is taken to have been
# drawn another way round: what was measured is never quite even.
CLOSING = 0.03
# Where half a space begins, how far from its middle at most, in its own width.
BESIDE = 0.005
# More points of a flank than so many are taken together where they lie close.
MANY = 500
# What points of a line may lie beside it and be left out, mm.
HAIR = 2e-5
# What points of a trace are beside their line anyhow, mm (common practice, no source).
NOISE = 0.002
# So near to its bottom, a share of its depth, a space is open by that share of its width.
SLIT, OPEN_BELOW = 0.08, 0.05
# How unlike both flanks may be, in the depth of the space: beyond, one of them was not traced well
# or the cutter stood askew under the microscope.
UNLIKE = 0.03
# How much less high one flank may be traced than the other.
SHORTER = 0.05


@dataclass(frozen=True)
class _Seen:
    """Points turned so that the space opens towards +x; ``closing`` is how far they close again,
    in the depth of the space; ``whole`` whether both flanks are there, ``beside`` how far half a
    space begins from its middle, mm."""

    points: Complexes
    closing: float
    whole: bool
    opens: Opens
    beside: float = 0.0

    @property
    def begins(self) -> bool:
        """Whether it begins in its middle."""
        return self.beside <= BESIDE * self.half_wide + NOISE

    @property
    def half_wide(self) -> float:
        """Half its width at most, mm."""
        return float(np.abs(self.points.imag).max())

    @property
    def has_bottom(self) -> bool:
        """Whether it is open near its bottom, and no mere slit there."""
        low = self.points[self.points.real < SLIT * float(self.points.real.max())]
        return float(np.abs(low.imag).max(initial=0.0)) > OPEN_BELOW * self.half_wide


def traced_line(
    points: Sequence[tuple[float, float]], opens: Opens | None, middle: float | None,
    heights: Heights,
) -> CutterSpace:
    """The line of a cutter from points (across, deep) mm in any order.

    ``opens`` says which way the space opens in that frame, else it is found out. ``middle`` is
    where the middle of half a space lies across, else 0; that of a whole one is half-way between
    its flanks. Raises Refused for what is no space, or leaves anything open.

    >>> half = [(min(0.2, 0.02 * n), max(0.0, 0.02 * n - 0.2)) for n in range(30)]
    >>> line = traced_line(half, None, None, Heights())
    >>> round(line.width, 3), round(line.depth, 3)
    (0.4, 0.38)
    """
    given = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    if len(given) < LEAST_POINTS:
        raise Refused(Fault(
            Message("{count} points draw no profile", count=len(given)),
            Message("trace at least a dozen along each flank, and the bottom")))
    every = [_seen(given, one, middle) for one in ([opens] if opens else get_args(Opens))]
    # Half a space lying down looks like half of another that begins as a slit; none does.
    fitting = [one for one in every if one.closing <= CLOSING and one.has_bottom]
    if not fitting and _goes_round(given):
        raise Refused(Fault(
            Message("the trace goes all round: a line closes it from one flank's end to the "
                    "other's, where a space is open"),
            Message("leave that line out: an open polyline, from flank to flank over the bottom")))
    if not fitting:
        raise Refused(Fault(
            Message("the points draw no space that opens towards the outside") if opens is None else
            Message("the points draw no space that opens {opens}: it closes again by {by:.3f} mm",
                    opens=opens, by=every[0].closing * float(np.ptp(every[0].points.real))),
            Message("trace one space, or half of one from the middle of its bottom, and nothing "
                    "beside it")))
    begun = [one for one in fitting if one.begins]
    gap = _gap_in_flank(fitting[0].points) if not begun else None
    if gap is not None:
        raise Refused(Fault(
            Message("one flank lacks its points from {low:.3f} to {high:.3f} mm above the bottom",
                    low=gap[0], high=gap[1]),
            Message("trace that flank there too, or leave it out whole and trace half of the space "
                    "from the middle of its bottom")))
    if not begun:
        raise Refused(Fault(
            Message("half a space begins {by:.3f} mm beside its middle",
                    by=min(one.beside for one in fitting)),
            Message("trace it from the middle of the bottom, and say under middle: where that lies "
                    "where it is not at 0; or trace the whole space")))
    if len(begun) > 1:
        raise Refused(Fault(
            Message("the points may be a space that opens {ways}",
                    ways=either(one.opens for one in begun)),
            Message("say which under opens:")))
    return _both(begun[0], heights) if begun[0].whole else _half(begun[0], heights)


def _goes_round(given: Floats) -> bool:
    """Whether points lie across the middle at both ends of a space, and beside it between."""
    for along, across in ((given[:, 1], given[:, 0]), (given[:, 0], given[:, 1])):
        high, wide = float(np.ptp(along)), float(np.ptp(across))
        if high <= 0.0 or wide <= 0.0:
            return False
        height, off = (along - along.min()) / high, (across - across.min()) / wide - 0.5
        middle, between = np.abs(off) < 0.25, (height > 0.4) & (height < 0.6)
        if ((middle & (height > 0.9)).any() and (middle & (height < 0.1)).any()
                and (between & (off < -0.1)).any() and (between & (off > 0.1)).any()):
            return True
    return False


def _gap_in_flank(points: Complexes) -> tuple[float, float] | None:
    """From where to where above the bottom a flank has no point, mm; None where both go through,
    or there is but one. ``points`` are those of what is taken for half a space."""
    height, across = points.real, points.imag
    middle = float(across.max() + across.min()) / 2.0
    sides = [np.sort(height[across < middle]), np.sort(height[across >= middle])]
    if min(len(side) for side in sides) < 2 or min(
            side[-1] for side in sides) < (1.0 - SHORTER) * float(height.max()):
        return None
    lacks = max(sides, key=lambda side: float(np.diff(side).max()))
    at = int(np.argmax(np.diff(lacks)))
    return float(lacks[at]), float(lacks[at + 1])


def _seen(given: Floats, opens: Opens, middle: float | None) -> _Seen:
    """The points as if they opened that way, and whether they do."""
    across, deep = given[:, 0], given[:, 1]
    if opens in ("left", "right"):
        across, deep = deep, across
    if opens in ("down", "left"):
        deep = -deep
    height = deep - deep.min()
    top = float(height.max())
    if top <= 0.0:
        return _Seen(height + 1j * across, np.inf, False, opens)
    whole = _is_whole(height / top, across)
    beside = _middle_of(height, across) if whole else (middle or 0.0)
    points = height + 1j * (across - beside)
    if whole:
        return _Seen(points, _closing(points) / top, whole, opens)
    if float(points.imag.sum()) < 0.0:
        points = points.conj()
    bottom = points[points.real < 0.05 * top]
    return _Seen(points, _closing(points) / top, whole, opens, abs(float(bottom.imag.min())))


def _is_whole(height: Floats, across: Floats) -> bool:
    """Whether both flanks were traced: at half its height a space is open."""
    band = np.sort(across[(height > 0.35) & (height < 0.65)])
    wide = float(np.ptp(across))
    return bool(len(band) > 1 and wide > 0.0 and float(np.diff(band).max()) > OPEN * wide)


def _middle_of(height: Floats, across: Floats) -> float:
    """Half-way between the flanks, over the heights at which both are known."""
    middle = float(across.max() + across.min()) / 2.0
    for _ in range(4):
        at = height + 1j * (across - middle)
        lower, upper = at[at.imag < 0.0], at[at.imag >= 0.0]
        if not (len(lower) and len(upper)):
            break
        top = float(min(lower.real.max(), upper.real.max()))
        heights = np.linspace(0.15, 0.95, 60) * top
        middle += float(np.mean(_width_at(upper, heights) - _width_at(lower, heights))) / 2.0
    return middle


def _width_at(side: Complexes, heights: Floats) -> Floats:
    """Half the width at each height, of points in any order on one side of the middle."""
    order = np.lexsort((np.abs(side.imag), side.real))
    ordered = side[order]
    return np.interp(heights, ordered.real, np.maximum.accumulate(np.abs(ordered.imag)))


def _outwards(side: Complexes) -> Complexes:
    """Points of one flank, at larger y, in the order from the bottom's middle outwards.

    Along the bottom a trace goes across and along the flank it goes out, so that half-way between
    the two it always goes on.
    """
    return side[np.argsort(side.real + side.imag, kind="stable")]


def _closing(points: Complexes) -> float:
    """How far points lie within the widest that comes before them, mm."""
    worst = 0.0
    for side in (points[points.imag < 0.0].conj(), points[points.imag >= 0.0]):
        if len(side):
            half = _outwards(side).imag
            worst = max(worst, float((np.maximum.accumulate(half) - half).max()))
    return worst


def _half(seen: _Seen, heights: Heights) -> CutterSpace:
    points = seen.points
    over = -float(points.imag.min())
    if over > BESIDE * float(points.imag.max()) + NOISE:
        raise Refused(Fault(
            Message("half a space goes {by:.3f} mm over its middle", by=over),
            Message("draw it on one side of 0, or say under middle: where that lies; or trace the "
                    "whole space")))
    upper = _line(np.maximum(points.imag, 0.0) * 1j + points.real)
    return CutterSpace(upper.conj(), upper, heights, traced=True)


def _both(seen: _Seen, heights: Heights) -> CutterSpace:
    points = seen.points
    lower, upper = points[points.imag < 0.0], points[points.imag >= 0.0]
    tops = sorted((float(lower.real.max()), float(upper.real.max())))
    if tops[0] < (1.0 - SHORTER) * tops[1]:
        raise Refused(Fault(
            Message("one flank is traced {low:.3f} mm high and the other {high:.3f}", low=tops[0],
                    high=tops[1]),
            Message("trace both as far as the outside of the blank, or half of the space from the "
                    "middle of its bottom")))
    space = CutterSpace(_line(lower.conj()).conj(), _line(upper), heights, traced=True)
    if space.uneven > UNLIKE * space.depth:
        raise Refused(Fault(
            Message("the two flanks are up to {by:.1f} µm unlike", by=1000 * space.uneven),
            Message("trace again, the cutter square to the microscope; or trace the better half "
                    "from the middle of its bottom")))
    return space


def _line(points: Complexes) -> Complexes:
    """The flank through points in any order, at larger y, from the bottom outwards.

    Where they close again by no more than a trace is uneven, the line goes half-way through them;
    a flank that truly closes cuts what is widest below.
    """
    ordered = _gathered(_outwards(points))
    half = ordered.imag
    highest = np.maximum.accumulate(half)
    half = _evened(half) if float((highest - half).max()) <= 2.0 * NOISE else highest
    middle = ordered.real[half <= 0.05 * half[-1]]
    begins = float(np.mean(middle)) if len(middle) else float(ordered.real[0])
    line = never_closing(np.append(0j, ordered.real - begins + 1j * half), 1.0)
    # Points within a hair of a line through others say nothing, and thousands of them cost time.
    kept = shapely.simplify(LineString(np.column_stack([line.real, line.imag])), HAIR).coords
    return np.array([complex(x, y) for x, y in kept])


def _gathered(ordered: Complexes) -> Complexes:
    """Points in order, those that lie close together where there are very many taken as one."""
    if len(ordered) <= MANY:
        return ordered
    along = ordered.real + ordered.imag
    place = ((along - along[0]) / (along[-1] - along[0]) * (MANY - 1)).astype(np.int64)
    count = np.bincount(place)
    kept = count > 0
    middles = [np.bincount(place, part)[kept] / count[kept]
               for part in (ordered.real, ordered.imag)]
    return np.asarray(middles[0] + 1j * middles[1], dtype=np.complex128)


def _evened(values: Floats) -> Floats:
    """The nearest values that never fall (least squares): those that do are taken together."""
    level: list[float] = []
    many: list[int] = []
    for value in values.tolist():
        level.append(value)
        many.append(1)
        while len(level) > 1 and level[-2] > level[-1]:
            both = many[-2] + many[-1]
            level[-2:] = [(level[-2] * many[-2] + level[-1] * many[-1]) / both]
            many[-2:] = [both]
    return np.repeat(level, many)
