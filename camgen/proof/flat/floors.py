"""Floors as they are made, each by the exact profile of the cutters that were over it.

What stands on a floor (scallops under ball ends, the fillet of a corner radius along a wall) or is
gone below it is told as a height; and how much metal is left beneath. Heights are taken at points
all over a floor and close along its walls. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Flags, Floats
from camgen.layout import FlatLayout
from camgen.messages import NOTHING, Message
from camgen.part.features import Hole, Recess
from camgen.part.plates.plate import Plate
from camgen.proof.common.said import in_plan
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.holes.over_setups import shared_holes
from camgen.proof.flat.outside_threads import within_rims
from camgen.proof.flat.wanted_edges import tolerance_of, wanted_edges
from camgen.proof.ground.edges import Edge
from camgen.proof.ground.standing import Profiles, profiles_of, standing
from camgen.proof.result import Proof, ProofId
from camgen.shapes.path import Point, circle
from camgen.shop.cutters import record_of
from camgen.tolerances import GROUND_CHORD
from camgen.values import dataclass

__all__ = ["prove_floors"]

FLOOR = ProofId("flat", "floor")
THINNEST = ProofId("flat", "thinnest-floor")

# Under cutters that are not flat, points are this share of the smallest one's radius apart, so that
# the ridge between two passes is not missed; but no more points than these on one floor.
FINE_SHARE, MOST = 0.1, 40_000
# About so many of the highest points the ridge itself is looked for, so many steps to each side.
HIGHEST, AROUND = 40, 8
# Points along walls stand off them by what rounding may do and this, mm.
BESIDE_WALL = 0.002
FILLET_STEPS = 8


@dataclass(frozen=True)
class _Floor:
    """One floor: its name, its Z as meant, points on it (m, 2) in the part's frame, and how high
    a fillet may stand there (m,).

    ``inner`` is where none may, ``spacing`` mm how far apart points are that must be looked about
    for the ridge itself; 0 where all cutters are flat.
    """

    name: str
    z: float
    points: Floats
    may: Floats
    inner: BaseGeometry
    spacing: float


@dataclass(frozen=True)
class _Off:
    """How far a floor is off at its worst point: µm, where, by which piece; what is left below."""

    up: float = 0.0
    down: float = 0.0
    place: tuple[float, float, float] = (0.0, 0.0, 0.0)
    piece: int = -1
    left: float = math.inf
    thin_at: tuple[float, float, float] = (0.0, 0.0, 0.0)
    thin_by: int = -1


def prove_floors(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """The height of every floor that this setup's steps finish, and how thin what is left is."""
    layout = evidence.layout
    if not layout.part.recesses and not layout.part.blind:
        return ()
    cuts = evidence.flat_cuts
    profiles = profiles_of(cuts, evidence.motion.cutter[cuts.piece], evidence.cutters)
    limit = round(1000 * tolerance_of(evidence), 6)
    answers: list[Proof] = []
    thinnest, thin_floor = _Off(), ""
    for floor in _floors(evidence, layout):
        worst = max((_off(evidence, layout, profiles, floor, layout.places[number])
                     for number in evidence.distinct_places),
                    key=lambda off: max(off.up, off.down))
        figure = max(worst.up, worst.down)
        x, y, _ = worst.place
        where = NOTHING
        if figure > 0:
            where = in_plan(x, y, Message("standing on it") if worst.up >= worst.down
                            else Message("too deep"))
        answer = Proof(FLOOR.about(floor.name), Message("floor of {name}", name=floor.name),
                       evidence.setup,
                       figure <= limit, round(figure, 3), limit, "µm", where, at=worst.place)
        answers.append(evidence.placed(answer, worst.piece))
        if worst.left < thinnest.left:
            thinnest, thin_floor = worst, floor.name
    return (*answers, *_thinnest(evidence, thinnest, thin_floor))


def _thinnest(evidence: FlatEvidence, off: _Off, name: str) -> Iterator[Proof]:
    """The least metal left beneath any floor, against what the plate wants."""
    part = evidence.job.part
    if not isinstance(part, Plate) or not math.isfinite(off.left):
        return
    least = part.least_floor
    x, y, _ = off.thin_at
    answer = Proof(
        THINNEST, Message("thinnest floor as cut"), evidence.setup,
        off.left >= least - tolerance_of(evidence), round(off.left, 4), least, "mm",
        in_plan(x, y, name), at=off.thin_at,
    )
    yield evidence.placed(answer, off.thin_by)


def _floors(evidence: FlatEvidence, layout: FlatLayout) -> Iterator[_Floor]:
    """The floors that are to be finished here, each with points all over it and along its walls.

    Left out are holes that a drill makes, whose floor is its point's; and what lies under the cones
    and threads of other holes.
    """
    wanted, later = wanted_edges(evidence), shared_holes(evidence).later
    areas = _areas(layout)
    drilled = _drilled(evidence, layout, areas)
    fillets = {recess.name: recess.fillet for recess in layout.part.recesses}
    for piece in evidence.slices:
        for edge in piece.edges.edges:
            asked = wanted.get(edge.name, wanted.get(edge.group))
            if not edge.floor or asked is None or edge.name in drilled or edge.name in later:
                continue
            step = math.sqrt(float(edge.apart[0])) / 2
            fillet = fillets.get(edge.name, 0.0)
            off = tolerance_of(evidence) + BESIDE_WALL
            inner = areas[edge.name].buffer(-fillet - max(asked, 0.0) - off)
            flat, spacing = _over(evidence, edge, inner)
            beside, high = _along(evidence, areas[edge.name], asked, step, fillet)
            points = np.concatenate([flat, beside])
            may = np.concatenate([np.zeros(len(flat)), high])
            clear = ~_in_cones(evidence, layout, points, layout.face - piece.bottom)
            if np.any(clear):
                yield _Floor(edge.name, piece.bottom, points[clear], may[clear], inner, spacing)


def _in_cones(
    evidence: FlatEvidence, layout: FlatLayout, points: Floats, depth: float
) -> Flags:
    """(m,) points of a floor ``depth`` below the face that cones and threads of holes reach.

    A cone is so far narrower by the tangent of half its angle; the steepest in use is reckoned.
    """
    cones = [cutter for cutter in evidence.cutters.values() if record_of(cutter).conical]
    steepest = min((math.tan(math.radians(cutter.cone_angle / 2)) for cutter in cones), default=1.0)
    within = np.zeros(len(points), dtype=np.bool_)
    for hole in (*layout.part.holes, *layout.part.blind):
        thread = layout.part.thread_in(hole)
        radius = max(layout.part.cone_width(hole) / 2 - depth * steepest,
                     thread.diameter / 2 if thread is not None else 0.0)
        if radius > 0:
            away = np.hypot(points[:, 0] - hole.x, points[:, 1] - hole.y)
            within |= away <= radius + 2 * tolerance_of(evidence)
    return within | within_rims(evidence, points, 2 * tolerance_of(evidence))


def _drilled(
    evidence: FlatEvidence, layout: FlatLayout, areas: dict[str, BaseGeometry]
) -> set[str]:
    """Names of holes to a depth whose floor was last cut by a pointed cutter."""
    names = [hole.name for hole in layout.part.blind
             if hole.name in areas and not areas[hole.name].is_empty]
    if not names or not layout.places:
        return set()
    cuts = evidence.flat_cuts
    inside = [areas[name].representative_point() for name in names]
    points = np.array([(point.x, point.y) for point in inside]) + layout.places[0]
    profiles = profiles_of(cuts, evidence.motion.cutter[cuts.piece], evidence.cutters)
    _, by = standing(cuts, profiles, points, None, layout.top)
    pointed = {n for n, cutter in evidence.cutters.items() if record_of(cutter).conical}
    return {name for name, cut in zip(names, by.tolist(), strict=True)
            if cut >= 0 and int(evidence.motion.cutter[cuts.piece[cut]]) in pointed}


def _over(evidence: FlatEvidence, edge: Edge, inner: BaseGeometry) -> tuple[Floats, float]:
    """Points over a floor, closer where a cutter that is not flat goes over any; and how close."""
    shapely.prepare(inner)
    mine = edge.points[shapely.contains_xy(inner, edge.points[:, 0], edge.points[:, 1])]
    shaped = [cutter.diameter / 2 for cutter in evidence.cutters.values() if cutter.corner > 0]
    if not shaped or len(mine) < 2:
        return mine, 0.0
    step = math.sqrt(float(edge.apart[0]))
    fine = max(FINE_SHARE * min(shaped), step * math.sqrt(len(mine) / MOST))
    count = math.ceil(step / fine)
    if count < 2:
        return mine, step
    # Each point stands for a square about it.
    shift = (np.arange(count) + 0.5) / count * step - step / 2
    dx, dy = np.meshgrid(shift, shift)
    shifts = np.column_stack([dx.ravel(), dy.ravel()])
    points: Floats = (edge.points[:, None, :] + shifts[None]).reshape(-1, 2)
    return points[shapely.contains_xy(inner, points[:, 0], points[:, 1])], step / count


def _along(
    evidence: FlatEvidence, area: BaseGeometry, asked: float, step: float, fillet: float
) -> tuple[Floats, Floats]:
    """Points on a floor close along its walls, and how high a fillet may stand at each.

    They are as near as rounding and a correction let be; and further off, as long as there is a
    fillet ρ: x from the wall it is ρ − √(ρ² − (ρ − x)²) high.
    """
    off = tolerance_of(evidence) + BESIDE_WALL + max(asked, 0.0)
    points, may = [], []
    for share in np.linspace(0.0, 1.0, FILLET_STEPS) if fillet else (0.0,):
        away = off + share * fillet
        edge = area.buffer(-away, quad_segs=16).boundary
        here = shapely.get_coordinates(shapely.segmentize(edge, step))
        in_it = max(fillet - (away - off), 0.0)
        points.append(here)
        may.append(np.full(len(here), fillet - math.sqrt(max(fillet**2 - in_it**2, 0.0))))
    return np.concatenate(points), np.concatenate(may)


def _areas(layout: FlatLayout) -> dict[str, BaseGeometry]:
    """The area of every floor by name, less what goes deeper in it."""
    part = layout.part
    cleared: list[tuple[str, BaseGeometry, float]] = [
        (one.name, one.area.region(GROUND_CHORD), one.depth) for one in part.recesses
    ]
    cleared += [(hole.name, _disc(hole), math.inf if hole.depth is None else hole.depth)
                for hole in (*part.holes, *part.blind)]
    deep: list[tuple[BaseGeometry, float]] = [
        (path.region(GROUND_CHORD), math.inf) for path in part.openings]
    deep += [(region, depth) for _, region, depth in cleared]
    areas: dict[str, BaseGeometry] = {}
    outline = part.outline.region(GROUND_CHORD)
    for name, region, depth in cleared:
        if not math.isfinite(depth):
            continue
        deeper = [other for other, level in deep if level > depth + 1e-9
                  and shapely.intersects(other, region)]
        areas[name] = shapely.difference(shapely.intersection(region, outline),
                                         shapely.union_all(deeper))
    return areas


def _disc(hole: Hole) -> BaseGeometry:
    return circle(Point(hole.x, hole.y), hole.diameter / 2).region(GROUND_CHORD)


def _off(
    evidence: FlatEvidence, layout: FlatLayout, profiles: Profiles, floor: _Floor,
    place: tuple[float, float],
) -> _Off:
    """How far one floor of one piece of work is off."""
    cuts = evidence.flat_cuts
    points = floor.points + np.array(place)
    high, by_high = standing(cuts, profiles, points, None, layout.top)
    low, by_low = high.copy(), by_high.copy()
    falling = np.nonzero(cuts.low < cuts.high - 1e-9)[0]
    if len(falling):
        # Cuts that rise or fall, at their lower end.
        some = cuts.only(falling)
        deep, by = standing(some, profiles.only(falling), points, None, layout.top, lowest=True)
        lower = deep < low
        low[lower], by_low[lower] = deep[lower], falling[by[lower]]
    up, down = 1000 * (high - floor.z - floor.may), 1000 * (floor.z - low)
    most = int(np.argmax(np.maximum(up, down)))
    by = by_high if up[most] >= down[most] else by_low
    at, piece = _at(points[most], low[most]), _piece(evidence, int(by[most]))
    ridge, on = _ridge(evidence, profiles, floor, place, up)
    if ridge > max(up[most], down[most]):
        up[most], at = ridge, _at(on, floor.z)
    thick = low - _underside(layout, floor.points)
    thin = int(np.argmin(thick))
    return _Off(
        max(0.0, float(up[most])), max(0.0, float(down[most])), at, piece,
        float(thick[thin]), _at(points[thin], low[thin]), _piece(evidence, int(by_low[thin])),
    )


def _ridge(
    evidence: FlatEvidence, profiles: Profiles, floor: _Floor, place: tuple[float, float],
    up: Floats,
) -> tuple[float, Floats]:
    """The highest found about the highest points of a floor, µm, and where; 0 where all is flat."""
    flat = np.nonzero(floor.may == 0.0)[0]
    if not floor.spacing or not len(flat) or up[flat].max() <= 0:
        return 0.0, np.zeros(2)
    highest = flat[np.argsort(-up[flat], kind="stable")[:HIGHEST]]
    shift = np.linspace(-0.5, 0.5, 2 * AROUND + 1) * floor.spacing
    dx, dy = np.meshgrid(shift, shift)
    around = np.column_stack([dx.ravel(), dy.ravel()])
    points = (floor.points[highest][:, None, :] + around[None]).reshape(-1, 2)
    points = points[shapely.contains_xy(floor.inner, points[:, 0], points[:, 1])]
    if not len(points):
        return 0.0, np.zeros(2)
    cuts = evidence.flat_cuts
    height, _ = standing(cuts, profiles, points + place, None, evidence.layout.top)
    most = int(np.argmax(height))
    return 1000 * (float(height[most]) - floor.z), points[most] + place


def _at(point: Floats, z: float) -> tuple[float, float, float]:
    return float(point[0]), float(point[1]), float(z)


def _piece(evidence: FlatEvidence, cut: int) -> int:
    return int(evidence.flat_cuts.piece[cut]) if cut >= 0 else -1


def _underside(layout: FlatLayout, points: Floats) -> Floats:
    """(m,) Z of the finished part's underside at points in its own frame."""
    under = np.full(len(points), layout.back)
    for one in layout.part.beneath:
        if one.depth is None:
            continue
        if isinstance(one, Hole):
            within = np.hypot(points[:, 0] - one.x, points[:, 1] - one.y) < one.diameter / 2
        else:
            assert isinstance(one, Recess)
            region = one.area.region(GROUND_CHORD)
            within = shapely.contains_xy(region, points[:, 0], points[:, 1])
        under = np.where(within, np.maximum(under, layout.back + one.depth), under)
    return under
