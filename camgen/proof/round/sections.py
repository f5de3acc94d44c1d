"""Sections across the axis of turned work: what the motion left there against what is meant.

Each cut takes what lies above the cutter's end: seen along the axis, all within its contour and
outwards. The sections lie where the work or what is cut of it changes, a little to either side, and
between. Coordinates of a section are mm, as seen from the free end, 0 degrees upwards.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import cast

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats, Ints, distinct_rows
from camgen.layout import RoundLayout
from camgen.layout.round import RoundFeature
from camgen.messages import Message
from camgen.part.features import Flats, RoundHole, RoundSlot
from camgen.proof.common.round_frame import RoundWay, round_way
from camgen.proof.evidence import RoundEvidence
from camgen.proof.result import Proof, ProofId
from camgen.shop.cutters import Cutter, profile_of
from camgen.values import dataclass

__all__ = ["RoundCuts", "limit_of", "prove_sections", "round_cuts", "section_left", "section_meant"]

LEFT = ProofId("round", "metal-left")
INTO = ProofId("round", "cut-into")
# What a section may be off beside a step of the machine, mm: what rounding of several axes adds.
ROUNDED = 0.003
# So near to where something begins or ends no section is laid, mm: what its place may be off.
BESIDE = 0.01
# Corners of a circle, and places between two where something changes.
CORNERS, BETWEEN = 240, 1
# Far beyond any work, mm: a cut is open outwards.
FAR_OUT = 1000.0
MOST_SECTIONS = 120
# How long a drill's point may be, over its radius: that of 110 degrees, blunter ones are shorter.
POINT = 0.7
# Points along the edge of what differs are so far apart at most, mm: a few on a slot's floor.
ALONG_EDGES = 0.04


@dataclass(frozen=True)
class RoundCuts:
    """k cuts: ``piece`` (k,) of motion, ``along``, ``right`` and ``out`` (k, 2) of the cutter's end
    at start and end, ``turned`` (k,) the angle of the work under it, ``cutter`` (k,) its number.
    """

    piece: Ints
    along: Floats
    right: Floats
    out: Floats
    turned: Floats
    cutter: Ints

    def __len__(self) -> int:
        return len(self.piece)


def round_cuts(evidence: RoundEvidence, way: RoundWay | None = None) -> RoundCuts:
    """The fed pieces that come below the outside of the work, each that is the same once."""
    way = way or round_way(evidence)
    highest = max(body.radius for body in evidence.layout.work)
    piece = np.nonzero(evidence.cut & (way.out.min(axis=1) < highest))[0]
    rows = np.column_stack([way.along[piece], way.right[piece], way.out[piece],
                            way.turned[piece] % 360.0, evidence.motion.cutter[piece]])
    if len(piece):
        first, _ = distinct_rows(np.rint(rows * 1e6).astype(np.int64))
        piece = piece[np.sort(first)]
    return RoundCuts(piece, way.along[piece], way.right[piece], way.out[piece],
                     way.turned[piece], evidence.motion.cutter[piece])


@lru_cache(maxsize=64)
def _contour(cutter: Cutter) -> tuple[tuple[float, float], ...]:
    """Radius and height above its end of the cutter's edge, from the axis outwards."""
    outline = profile_of(cutter).edge.outline
    found: list[tuple[float, float]] = []
    for radius, height in outline:
        if not found or radius > found[-1][0] + 1e-9:
            found.append((radius, height))
    return tuple(found)


def _end_section(
    contour: Sequence[tuple[float, float]], aside: float
) -> list[tuple[float, float]]:
    """Where a plane ``aside`` of the cutter's axis meets it: beside the axis and above its end.

    Both halves; empty where it passes the cutter.
    """
    half: list[tuple[float, float]] = []
    begin = contour[0]
    for (r0, z0), (r1, z1) in itertools.pairwise(contour):
        for share in np.linspace(0.0, 1.0, 2 if z0 == z1 else 9):
            radius = r0 + share * (r1 - r0)
            if radius >= aside:
                half.append((math.sqrt(max(radius**2 - aside**2, 0.0)), z0 + share * (z1 - z0)))
        begin = (r1, z1)
    if not half or begin[0] < aside:
        return half
    return [*half, *((-beside, high) for beside, high in half)]


def _taken(cuts: RoundCuts, row: int, cutter: Cutter, place: float, *, deep: bool
           ) -> BaseGeometry:
    """What one cut takes of the section at ``place``, in the work's own frame; of a slanting way
    all that it may take where ``deep``, else what it takes in any case."""
    contour = _contour(cutter)
    (a0, a1), (t0, t1), (h0, h1) = cuts.along[row], cuts.right[row], cuts.out[row]
    shares = [0.0, 1.0]
    if abs(a1 - a0) > 1e-9:
        shares.append(min(max((place - a0) / (a1 - a0), 0.0), 1.0))
    slanting = abs(h1 - h0) > 1e-7 and (abs(a1 - a0) > 1e-7 or abs(t1 - t0) > 1e-7)
    points: list[tuple[float, float]] = []
    for share in shares:
        aside = abs(place - (a0 + share * (a1 - a0)))
        low = h0 + share * (h1 - h0)
        if slanting:
            low = min(h0, h1) if deep else max(h0, h1)
        middle = t0 + share * (t1 - t0)
        for beside, high in _end_section(contour, aside):
            points += [(middle + beside, low + high), (middle + beside, FAR_OUT)]
    if len(points) < 3:
        return Polygon()
    return cast(BaseGeometry, shapely.convex_hull(shapely.multipoints(np.array(points))))


def section_left(
    layout: RoundLayout, cuts: RoundCuts, cutters: dict[int, Cutter], place: float, *,
    deep: bool = True
) -> BaseGeometry:
    """What the cuts leave of the work at ``place`` along it."""
    radius = _radius_at(layout, place)
    if not radius:
        return Polygon()
    gone: dict[float, list[BaseGeometry]] = {}
    near = np.nonzero((cuts.along.min(axis=1) - _widest(cutters) < place)
                      & (cuts.along.max(axis=1) + _widest(cutters) > place))[0]
    for row in near.tolist():
        cutter = cutters.get(int(cuts.cutter[row]))
        if cutter is None:
            continue
        taken = _taken(cuts, row, cutter, place, deep=deep)
        if not taken.is_empty:
            gone.setdefault(round(float(cuts.turned[row]), 6), []).append(taken)
    whole = [_turned(shapely.union_all(some), angle) for angle, some in gone.items()]
    return _disc(radius, layout.part.bore / 2).difference(shapely.union_all(whole))


def section_meant(layout: RoundLayout, place: float) -> BaseGeometry:
    """What shall be left of the work at ``place`` along it."""
    radius = _radius_at(layout, place)
    if not radius:
        return Polygon()
    gone = [_turned(_gone(layout, one, place - start), angle)
            for one, start in _standing(layout) if start + one.begin < place < start + one.end
            for angle in one.angles]
    return _disc(radius, layout.part.bore / 2).difference(shapely.union_all(gone))


def _gone(layout: RoundLayout, one: RoundFeature, along: float) -> BaseGeometry:
    """What is to be cut of the section ``along`` a piece, with what is cut turned upwards."""
    match one:
        case Flats():
            return shapely.box(-FAR_OUT, one.across / 2, FAR_OUT, FAR_OUT)
        case RoundHole():
            half = _half_chord(one, along)
            return shapely.box(-half, layout.part.floor(one), half, FAR_OUT)
        case RoundSlot():
            half = _half_width(layout, one, along)
            return shapely.box(-half, layout.part.slot_floor(one), half, FAR_OUT)


def _half_chord(one: RoundHole, along: float) -> float:
    """Half the width of a hole in a section beside its middle."""
    return math.sqrt(max((one.diameter / 2) ** 2 - (along - one.place) ** 2, 0.0))


def _half_width(layout: RoundLayout, one: RoundSlot, along: float) -> float:
    """Half the width of a slot in a section, less in its round ends."""
    radius = one.width / 2
    behind = one.end - along
    opens = layout.open_before(one.begin, layout.part.slot_floor(one))
    before = radius if opens else along - one.begin
    short = max(radius - min(before, behind), 0.0)
    return math.sqrt(max(radius**2 - short**2, 0.0))


def _may_go(layout: RoundLayout, place: float) -> BaseGeometry:
    """What a section may have lost besides: below the end of a drilled hole its drill's point, in
    the bore of a hole through its wall what the drill goes beyond it.
    """
    found = []
    for one, start in _standing(layout):
        if not isinstance(one, RoundHole) or not start + one.begin < place < start + one.end:
            continue
        half, floor = _half_chord(one, place - start), layout.part.floor(one)
        if one.depth is None:
            shape: BaseGeometry = shapely.box(-half, min(floor, 0.0), half, FAR_OUT)
        elif one.flat:
            continue
        else:
            # The point is a cone; it narrows from the full width down.
            aside, radius = place - start - one.place, one.diameter / 2
            across = np.linspace(-half, half, 17)
            low = floor - POINT * (radius - np.hypot(across, aside))
            shape = Polygon([*zip(across, low, strict=True), (half, FAR_OUT), (-half, FAR_OUT)])
        found += [_turned(shape, angle) for angle in one.angles]
    return shapely.union_all(found)


def _standing(layout: RoundLayout) -> Iterator[tuple[RoundFeature, float]]:
    """What is cut, with the place of the piece that it is cut on."""
    return ((one, place) for place in layout.places for one in layout.made)


def _turned(shape: BaseGeometry, angle: float) -> BaseGeometry:
    """What lies under the cutter, above the axis, as it lies on the work."""
    turn = math.radians(angle)
    cos, sin = math.cos(turn), math.sin(turn)
    return shapely.transform(shape, lambda xy: np.column_stack(
        [xy[:, 0] * cos - xy[:, 1] * sin, xy[:, 0] * sin + xy[:, 1] * cos]))


@lru_cache(maxsize=64)
def _disc(radius: float, bore: float) -> Polygon:
    around = np.linspace(0.0, 2 * math.pi, CORNERS, endpoint=False)
    circle = np.column_stack([np.cos(around), np.sin(around)])
    return Polygon(radius * circle, [bore * circle] if bore else [])


def _radius_at(layout: RoundLayout, place: float) -> float:
    return max((body.radius for body in layout.work if body.begin < place < body.end),
               default=0.0)


def _widest(cutters: dict[int, Cutter]) -> float:
    return max((one.diameter / 2 for one in cutters.values()), default=0.0)


def _places(layout: RoundLayout, cuts: RoundCuts, cutters: dict[int, Cutter]) -> list[float]:
    """Where sections are laid: beside every change, between them, and at the ends of every cut."""
    begin = min(body.begin for body in layout.work)
    end = layout.stands_out
    changes = {begin, end}
    for body in layout.work:
        changes |= {body.begin, body.end}
    for one, place in _standing(layout):
        changes |= {place + one.begin, place + one.end}
    for number, cutter in cutters.items():
        mine = cuts.cutter == number
        for ends in (cuts.along[mine].min(axis=1) - cutter.diameter / 2,
                     cuts.along[mine].max(axis=1) + cutter.diameter / 2):
            changes |= {round(float(one), 4) for one in ends}
    ordered = sorted(one for one in changes if begin - 1e-9 <= one <= end + 1e-9)
    found: list[float] = []
    for low, high in itertools.pairwise(ordered):
        if high - low <= 2 * BESIDE:
            continue
        few = BETWEEN if len(ordered) < MOST_SECTIONS // (BETWEEN + 2) else 1
        found += [low + BESIDE, high - BESIDE, *np.linspace(low, high, few + 2)[1:-1].tolist()]
    return found[:: max(1, len(found) // MOST_SECTIONS)]


def _changed(
    layout: RoundLayout, cuts: RoundCuts, cutters: dict[int, Cutter], place: float
) -> bool:
    """Whether anything is cut, or shall be, at a place along the work."""
    wide = _widest(cutters)
    return any(start + one.begin < place < start + one.end for one, start in _standing(layout)
               ) or bool(np.any((cuts.along.min(axis=1) - wide < place)
                                & (cuts.along.max(axis=1) + wide > place)))


def limit_of(evidence: RoundEvidence) -> float:
    """What a section may be off, mm."""
    return evidence.increment + ROUNDED


@dataclass(frozen=True)
class _Worst:
    """How far a section is off at most, mm, and where: along the work, and the angle round it."""

    off: float = 0.0
    along: float = 0.0
    angle: float = 0.0

    @property
    def where(self) -> Message:
        """For the person at the machine."""
        return Message("{along:.2f} mm behind the free end, at {angle:.0f} degrees",
                       along=self.along, angle=float(round(self.angle) % 360))


def prove_sections(evidence: RoundEvidence) -> tuple[Proof, ...]:
    """Metal left that shall go, and metal gone that shall stay: the worst of all sections."""
    layout, cutters = evidence.layout, dict(evidence.cutters)
    cuts = round_cuts(evidence)
    left, into = _Worst(), _Worst()
    aside = np.ptp(cuts.along, axis=1) + np.ptp(cuts.right, axis=1) > 1e-7
    slanting = bool(np.any(aside & (np.ptp(cuts.out, axis=1) > 1e-7)))
    for place in _places(layout, cuts, cutters):
        if not _changed(layout, cuts, cutters, place):
            continue
        meant = section_meant(layout, place)
        most = section_left(layout, cuts, cutters, place)
        # What a slanting way surely takes may be less than what it might.
        surely = section_left(layout, cuts, cutters, place, deep=False) if slanting else most
        left = _worse(left, surely, meant, place)
        into = _worse(into, meant.difference(_may_go(layout, place)), most, place)
    limit = 1000 * limit_of(evidence)
    return (
        evidence.at_most(LEFT, Message("metal left round the work"), 1000 * left.off, limit, "µm",
                         where=left.where),
        evidence.at_most(INTO, Message("cut into the work"), 1000 * into.off, limit, "µm",
                         where=into.where),
    )


def _worse(worst: _Worst, more: BaseGeometry, less: BaseGeometry, place: float) -> _Worst:
    """The worse of two: what is in ``more`` and not in ``less``, by its farthest point from it."""
    between = more.difference(less)
    if between.is_empty:
        return worst
    # The corners of what is gone from a slot's floor lie on its walls: what is between them counts.
    points = shapely.get_coordinates(shapely.segmentize(between, ALONG_EDGES))
    if less.is_empty:
        off = np.asarray(np.hypot(points[:, 0], points[:, 1]))
    else:
        off = np.asarray(shapely.distance(shapely.points(points), less))
    far = int(np.argmax(off))
    if off[far] <= worst.off:
        return worst
    x, y = points[far]
    return _Worst(float(off[far]), place, math.degrees(math.atan2(-x, y)) % 360.0)
