"""The wheel that a form cutter really leaves, against the wheel that was meant.

A form cutter passed along the blank takes out its own profile: the made space, set at some depth,
at some height beside the wheel's middle, at the angle of each space. What stands between
neighbouring cuts are the teeth. Lengths mm, angles degrees, errors µm.

The frame is that of :mod:`camgen.teeth.tooth`: space 1 on the +x axis, angles anticlockwise in the
wheel. Offsets may be one number or one for each space.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from camgen.arrays import Floats, distinct_rows
from camgen.faults import Fault, Refused
from camgen.messages import NOTHING, Message
from camgen.teeth.outlines.curves import Complexes, FlankArc, divided
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = ["CutTooth", "FormError", "as_cut_outline", "as_cut_tooth", "form_error"]

TOLERANCE = 0.0001
EXACT_CUTS = 6
PEAKS = 3
CLOSE = 0.004


@dataclass(frozen=True)
class CutTooth:
    """The space beside a tooth as cut, for rolling it against a mate.

    ``space`` are points (n,) x + iy from the end of one flank at the tip over the root to the end
    of the other, the space on the +x axis.
    """

    teeth: int
    module: float
    space: Complexes

    @property
    def tip_radius(self) -> float:
        """mm."""
        return float(np.abs(self.space).max())


@dataclass(frozen=True, slots=True)
class FormError:
    """How far the wheel as cut is from the wheel that was meant, µm.

    ``left`` is the thickest material left standing outside the intended outline, ``missing`` the
    deepest cut into it, both measured square to the intended outline, 0 where there is none; the
    ``…_where`` say at which space and radius. ``thickness`` are the least and the greatest error of
    a tooth's thickness along the pitch circle. ``uncut`` are spaces, from 1, that no cut belongs
    to or reaches.
    """

    left: float
    left_where: Message
    missing: float
    missing_where: Message
    thickness: tuple[float, float]
    uncut: tuple[int, ...] = ()


@dataclass(frozen=True)
class _Cuts:
    """Where the cutter went: for each cut the space it belongs to and how it stands there.

    ``turn`` radians from the space's true place, ``inward`` and ``across`` mm of the made space's
    own frame.
    """

    space: NDArray[np.int64]
    turn: Floats
    inward: Floats
    across: Floats


def form_error(
    intended: Tooth,
    made: Floats,
    angles: Sequence[float] | Floats,
    *,
    depth_offset: float | Floats = 0.0,
    height_offset: float | Floats = 0.0,
    blank_radius: float | None = None,
) -> FormError:
    """Hold the wheel as cut against the ``intended`` one.

    ``made`` is the polygon of the space the cutter leaves (m, 2), as from :meth:`Tooth.space` of
    the wheel it was made for; its root on the x axis is set at the intended root. ``angles`` are
    where the cuts are, degrees, one for each space: its last and deepest. ``depth_offset`` (mm) is
    how much deeper than the whole depth the cutter went, ``height_offset`` (mm) how far it stood
    from centre height towards larger angles. ``blank_radius`` is the turned blank's, else the tip
    radius.

    Every cut counts. Where very many of them differ, those that can be the worst are found from the
    first order of their displacements and only these are measured out. A space that no cut belongs
    to, or whose cut does not reach the blank, leaves the whole depth standing.

    A cutter made for the wheel itself, at the right depth, leaves the wheel itself:

    >>> from camgen.teeth.outlines.cycloidal import cycloidal_wheel
    >>> wheel = cycloidal_wheel(75, 0.14, 10)
    >>> places = [360 * k / 75 for k in range(75)]
    >>> error = form_error(wheel, wheel.space(1e-4, 0.1), places)
    >>> error.left < 0.1 and error.missing < 0.1
    True

    and 0.01 mm too deep it takes so much off the root:

    >>> round(form_error(wheel, wheel.space(1e-4, 0.1), places, depth_offset=0.01).missing)
    10
    """
    blank = intended.tip_radius if blank_radius is None else blank_radius
    cuts = _placed(intended, made, angles, depth_offset, height_offset)
    chain, ring = _chain(made, intended.sizes.module)
    teeth = intended.sizes.teeth
    uncut = set(intended.spaces) - {int(space) + 1 for space in cuts.space}
    target = _Target.of(intended)
    worst = [(0.0, NOTHING), (0.0, NOTHING)]
    for cut in _worth_measuring(cuts, chain, target, blank):
        points = _set(chain, cuts, cut, blank)
        if not points.size:
            uncut.add(int(cuts.space[cut]) + 1)
            continue
        for side, values in enumerate(_sides(points, target, ring, cuts, cut, teeth)):
            near = _around_peaks(points, values, intended.sizes.module)
            closer = _sides(near, target, ring, cuts, cut, teeth)[side]
            most = int(np.argmax(closer))
            if closer[most] > worst[side][0]:
                where = _where(near[most], int(cuts.space[cut]), intended)
                worst[side] = (float(closer[most]), where)
    (left, left_where), (missing, missing_where) = worst
    if uncut:
        left, left_where = intended.sizes.whole_depth, Message(
            "space {space} is not cut", space=min(uncut))
    return FormError(
        left * 1000.0,
        left_where,
        missing * 1000.0,
        missing_where,
        _thickness_errors(intended, chain, cuts),
        tuple(sorted(uncut)),
    )


def as_cut_outline(
    intended: Tooth,
    made: Floats,
    angles: Sequence[float] | Floats,
    *,
    depth_offset: float | Floats = 0.0,
    height_offset: float | Floats = 0.0,
    blank_radius: float | None = None,
) -> Polygon:
    """What is left of the blank's disc when every made space has been taken out of it.

    Words as in :func:`form_error`. Raises ValueError when nothing is left.
    """
    blank = intended.tip_radius if blank_radius is None else blank_radius
    cuts = _placed(intended, made, angles, depth_offset, height_offset)
    pitch = intended.pitch_angle
    ring = made[:, 0] + 1j * made[:, 1]
    # Out to beyond the blank, whatever the cutter's own overshoot.
    outside = np.abs(ring) > np.abs(ring).max() - 1e-9
    ring = np.where(outside, ring * (1.0 + (blank + 1.0) / np.abs(ring).max()), ring)
    moved = (ring[None, :] - cuts.inward[:, None] + 1j * cuts.across[:, None]) * np.exp(
        1j * (cuts.turn + cuts.space * pitch)
    )[:, None]
    spaces = shapely.polygons(np.stack([moved.real, moved.imag], axis=-1))
    circle = FlankArc(complex(blank), 0j, 2.0 * math.pi)
    steps = circle.steps(TOLERANCE)
    disc = circle.at(np.arange(steps) / steps)
    left = shapely.difference(
        shapely.polygons(np.column_stack([disc.real, disc.imag])), shapely.union_all(spaces)
    )
    parts = [part for part in shapely.get_parts(left) if isinstance(part, Polygon)]
    if not parts:
        raise ValueError("nothing is left of the blank")
    return max(parts, key=lambda part: float(part.area))


def as_cut_tooth(
    intended: Tooth,
    made: Floats,
    *,
    depth_offset: float = 0.0,
    height_offset: float = 0.0,
    blank_radius: float | None = None,
) -> CutTooth:
    """The space beside a tooth as the cutter leaves it at true angles, for rolling the pair.

    Words as in :func:`form_error`. The teeth end at the blank's radius, or lower where
    neighbouring cuts meet. Raises Refused when the cutter does not reach the blank.
    """
    blank = intended.tip_radius if blank_radius is None else blank_radius
    cuts = _placed(intended, made, [0.0], depth_offset, height_offset)
    chain, _ = _chain(made, intended.sizes.module)
    points = _set(chain, cuts, 0, blank)
    if not points.size:
        raise Refused(
            Fault(Message("the cutter does not reach the blank"),
                  Message("look at the depth and the centre height"))
        )
    lower, upper = _flanks(points)
    pitch = intended.pitch_angle
    radii = np.linspace(
        max(abs(lower[0]), abs(upper[0])), min(abs(lower[-1]), abs(upper[-1])), 4001
    )
    width = pitch + _angle_at(lower, radii) - _angle_at(upper, radii)
    gone = np.flatnonzero(width < 0.0)
    if gone.size:
        tip = float(radii[max(int(gone[0]) - 1, 0)])
        points = _cropped(points, tip)
    return CutTooth(intended.sizes.teeth, intended.sizes.module, points)


@dataclass(frozen=True)
class _Target:
    """The intended outline about one space: a chain of points and the body behind it."""

    chain: Complexes
    body: Polygon

    @staticmethod
    def of(intended: Tooth) -> _Target:
        one = intended.one_pitch(TOLERANCE)
        turns = np.exp(1j * intended.pitch_angle * np.array([-1.0, 0.0, 1.0]))
        chain = np.concatenate([(one * turn)[:-1] for turn in turns] + [one[-1:] * turns[-1]])
        body = np.append(chain, 0.0)
        polygon = Polygon(np.column_stack([body.real, body.imag]))
        shapely.prepare(polygon)
        return _Target(chain, polygon)

    def distance(self, points: Complexes) -> Floats:
        """Signed distance of each point from the outline, mm: negative inside the material."""
        start, way = self.chain[:-1], np.diff(self.chain)
        square = (way * way.conj()).real
        seen = points[:, None] - start[None, :]
        share = np.clip((seen * way.conj()[None, :]).real / square[None, :], 0.0, 1.0)
        away = np.abs(seen - share * way[None, :]).min(axis=1)
        inside = shapely.contains_xy(self.body, points.real, points.imag)
        return np.asarray(np.where(inside, -away, away), dtype=np.float64)


def _placed(
    intended: Tooth,
    made: Floats,
    angles: Sequence[float] | Floats,
    depth_offset: float | Floats,
    height_offset: float | Floats,
) -> _Cuts:
    pitch = intended.pitch_angle
    at = np.radians(np.asarray(angles, dtype=np.float64))
    count = np.rint(at / pitch)
    inward = _bottom(made) - intended.root_radius + np.asarray(depth_offset, dtype=np.float64)
    return _Cuts(
        (count % intended.sizes.teeth).astype(np.int64),
        at - count * pitch,
        np.broadcast_to(inward, at.shape),
        np.broadcast_to(np.asarray(height_offset, dtype=np.float64), at.shape),
    )


def _bottom(made: Floats) -> float:
    """Where the made space's root crosses the x axis, mm."""
    x, y = made[:, 0], made[:, 1]
    here, there = y[:-1], y[1:]
    crossing = np.flatnonzero((np.minimum(here, there) <= 0.0) & (np.maximum(here, there) >= 0.0))
    if not crossing.size:
        raise ValueError("the made space does not lie across the x axis")
    step = there[crossing] - here[crossing]
    share = np.divide(-here[crossing], step, out=np.zeros_like(step), where=step != 0.0)
    return float((x[crossing] + share * (x[crossing + 1] - x[crossing])).min())


def _chain(made: Floats, module: float) -> tuple[Complexes, Complexes]:
    """Root and flanks of a made space, finely divided, from smaller to larger angle; the ring."""
    ring = made[:, 0] + 1j * made[:, 1]
    if ring[0] == ring[-1]:
        ring = ring[:-1]
    outside = np.abs(ring) > np.abs(ring).max() - 1e-9
    # Turn the ring so that it begins with the last point of its outer edge; the space itself goes
    # on from there to the first point of the edge met again.
    start = int(np.flatnonzero(outside & ~np.roll(outside, -1))[0])
    ring, outside = np.roll(ring, -start), np.roll(outside, -start)
    run = ring[: int(np.flatnonzero(outside[1:])[0]) + 2]
    if np.angle(run[0]) > np.angle(run[-1]):
        run = run[::-1]
    return divided(run, 0.04 * module), ring


def _set(chain: Complexes, cuts: _Cuts, cut: int, blank: float) -> Complexes:
    """The chain of one cut in the frame of its own space, inside the blank only."""
    moved = chain - cuts.inward[cut] + 1j * cuts.across[cut]
    return _cropped(moved * np.exp(1j * cuts.turn[cut]), blank)


def _cropped(points: Complexes, radius: float) -> Complexes:
    """The part of a chain inside ``radius``, with its ends on that circle where it goes beyond."""
    inside = np.flatnonzero(np.abs(points) <= radius)
    if not inside.size:
        return points[:0]
    first, last = int(inside[0]), int(inside[-1])
    parts = [points[first : last + 1]]
    if first > 0:
        parts.insert(0, _on_circle(points[first], points[first - 1], radius))
    if last < len(points) - 1:
        parts.append(_on_circle(points[last], points[last + 1], radius))
    return np.concatenate(parts)


def _on_circle(inner: complex, outer: complex, radius: float) -> Complexes:
    way = outer - inner
    half = (inner * np.conj(way)).real
    square = abs(way) ** 2
    share = (-half + np.sqrt(half**2 - square * (abs(inner) ** 2 - radius**2))) / square
    return np.array([inner + share * way])


def _sides(
    points: Complexes, target: _Target, ring: Complexes, cuts: _Cuts, cut: int, teeth: int
) -> tuple[Floats, Floats]:
    """What stands outside the outline meant and how deep the cut goes into it, at points of a cut's
    edge, mm."""
    distance = target.distance(points)
    standing = distance.copy()
    standing[_taken_by_neighbours(points, ring, cuts, cut, teeth)] = 0.0
    return standing, -distance


def _around_peaks(points: Complexes, values: Floats, module: float) -> Complexes:
    """Points close together around the highest few peaks of ``values`` along a chain.

    In the middle of a tooth the distance from its outline has a sharp ridge, which points farther
    apart step over.
    """
    padded = np.concatenate([[-np.inf], values, [-np.inf]])
    peaks = np.flatnonzero((padded[1:-1] >= padded[:-2]) & (padded[1:-1] >= padded[2:]))
    highest = peaks[np.argsort(values[peaks])[-PEAKS:]]
    return np.concatenate(
        [divided(points[max(peak - 1, 0) : peak + 2], CLOSE * module) for peak in highest]
    )


def _worth_measuring(cuts: _Cuts, chain: Complexes, target: _Target, blank: float) -> list[int]:
    """Cuts that can be the worst."""
    placing = np.column_stack([cuts.turn, cuts.inward, cuts.across])
    first, _ = distinct_rows(np.rint(placing * 1e9).astype(np.int64))
    kinds = placing[first]
    if len(kinds) <= EXACT_CUTS:
        return [int(cut) for cut in first]
    middle = kinds[len(kinds) // 2]
    moved = (chain - middle[1] + 1j * middle[2]) * np.exp(1j * middle[0])
    moved = moved[np.abs(moved) <= blank]
    base = target.distance(moved)
    step = 1e-5
    slope_x = (target.distance(moved + step) - base) / step
    slope_y = (target.distance(moved + 1j * step) - base) / step
    turned = 1j * moved
    guess = (
        base[None, :]
        + np.outer(kinds[:, 0] - middle[0], slope_x * turned.real + slope_y * turned.imag)
        - np.outer(kinds[:, 1] - middle[1], slope_x)
        + np.outer(kinds[:, 2] - middle[2], slope_y)
    )
    half = EXACT_CUTS // 2
    chosen = {*np.argsort(guess.max(axis=1))[-half:], *np.argsort(guess.min(axis=1))[:half]}
    # Beyond a hundredth of a module or so the first order says little: measure those as they are.
    far = np.flatnonzero(np.abs(guess - base[None, :]).max(axis=1) > 0.02)
    return sorted(int(first[kind]) for kind in {*chosen, *far})


def _taken_by_neighbours(
    points: Complexes, ring: Complexes, cuts: _Cuts, cut: int, teeth: int
) -> NDArray[np.bool_]:
    """Points of one cut's edge that lie in the cuts beside it."""
    pitch = 2.0 * np.pi / teeth
    taken = np.zeros(len(points), dtype=np.bool_)
    outer = np.abs(np.angle(points)) > 0.3 * pitch
    if not outer.any():
        return taken
    for side in (-1, 1):
        beside = np.flatnonzero(cuts.space == (cuts.space[cut] + side) % teeth)
        for other in beside[:1]:
            shape = ring - cuts.inward[other] + 1j * cuts.across[other]
            polygon = Polygon(np.column_stack([shape.real, shape.imag]))
            seen = points[outer] * np.exp(-1j * (side * pitch + cuts.turn[other]))
            taken[outer] |= shapely.contains_xy(polygon, seen.real, seen.imag)
    return taken


def _flanks(points: Complexes) -> tuple[Complexes, Complexes]:
    """Both flanks of a space from the root outwards: at smaller angles, at larger angles."""
    lowest = int(np.argmin(np.abs(points)))
    return points[lowest::-1], points[lowest:]


def _angle_at(flank: Complexes, radii: Floats) -> Floats:
    return np.interp(radii, np.maximum.accumulate(np.abs(flank)), np.angle(flank))


def _thickness_errors(intended: Tooth, chain: Complexes, cuts: _Cuts) -> tuple[float, float]:
    """Least and greatest error of the teeth's thickness along the pitch circle, µm."""
    radius = intended.sizes.pitch_diameter / 2.0
    placing = np.column_stack([cuts.inward, cuts.across])
    _, kind = distinct_rows(np.rint(placing * 1e9).astype(np.int64))
    lower, upper = np.zeros(len(cuts.space)), np.zeros(len(cuts.space))
    for one in range(int(kind.max()) + 1):
        cut = int(np.flatnonzero(kind == one)[0])
        moved = chain - cuts.inward[cut] + 1j * cuts.across[cut]
        one_lower, one_upper = _flanks(moved)
        lower[kind == one] = _angle_at(one_lower, np.array([radius]))[0]
        upper[kind == one] = _angle_at(one_upper, np.array([radius]))[0]
    order = np.argsort(cuts.space, kind="stable")
    space = cuts.space[order]
    before, after = order, np.roll(order, -1)
    next_to = (np.roll(space, -1) - space) % intended.sizes.teeth == 1
    width = intended.pitch_angle + (cuts.turn + lower)[after] - (cuts.turn + upper)[before]
    if not next_to.any():
        return (0.0, 0.0)
    error = (width[next_to] * radius - intended.sizes.tooth_thickness) * 1000.0
    return float(error.min()), float(error.max())


def _where(point: complex, space: int, intended: Tooth) -> Message:
    radius = abs(point)
    depth = intended.sizes.whole_depth
    if radius < intended.root_radius + 0.08 * depth:
        return Message("space {space}, root", space=space + 1)
    teeth = intended.sizes.teeth
    beside = (space + (1 if point.imag > 0 else -1)) % teeth + 1
    if radius > intended.tip_radius - 0.08 * depth:
        return Message("space {space}, flank towards space {beside}, tip", space=space + 1,
                       beside=beside)
    return Message("space {space}, flank towards space {beside}, radius {radius:.3f} mm",
                   space=space + 1, beside=beside, radius=radius)
