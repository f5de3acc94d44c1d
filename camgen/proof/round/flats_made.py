"""Flats round turned work as the motion made them: across, over the corners, centred, at their
angles, as long as meant. Lengths mm, angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats
from camgen.messages import Message
from camgen.part.features import Flats
from camgen.proof.evidence import RoundEvidence
from camgen.proof.result import Proof, ProofId
from camgen.proof.round.sections import RoundCuts, limit_of, round_cuts, section_left, section_meant
from camgen.shop.machine import DrivenHead
from camgen.values import dataclass

__all__ = ["prove_flats"]

ACROSS = ProofId("round", "flats-across")
CORNERS = ProofId("round", "flats-corners")
CENTRED = ProofId("round", "flats-centred")
ANGLES = ProofId("round", "flats-angles")
LENGTH = ProofId("round", "flats-length")
# A side of a section is a flat's where it is turned from it by no more, degrees; its angle is then
# what the proof tells.
NEAR = 20.0
# Sides shorter than this are none, mm: corners of the circle that stands for the round.
SHORTEST = 0.02


@dataclass(frozen=True)
class _Off:
    """How far something is off, on which piece of the bar."""

    off: float
    piece: int

    @property
    def where(self) -> Message:
        """For the person at the machine."""
        return Message("piece {number} from the free end", number=self.piece + 1)


def prove_flats(evidence: RoundEvidence) -> Iterator[Proof]:
    """The measures of each group of flats, the worst of all pieces."""
    cuts = round_cuts(evidence)
    for one in evidence.layout.made:
        if isinstance(one, Flats):
            yield from _group(evidence, cuts, one)


def _group(evidence: RoundEvidence, cuts: RoundCuts, one: Flats) -> Iterator[Proof]:
    layout, cutters = evidence.layout, dict(evidence.cutters)
    limit, name = limit_of(evidence), one.name
    across, corners, centred, turned, long = (_Off(0.0, 0) for _ in range(5))
    for number, place in enumerate(layout.places):
        middle = place + (one.begin + one.end) / 2
        left, meant = section_left(layout, cuts, cutters, middle), section_meant(layout, middle)
        heights = np.array([_height(left, angle) for angle in one.angles])
        pairs = _pairs(one.angles)
        over = [heights[a] + heights[b] for a, b in pairs] or (2 * heights).tolist()
        across = _worse(across, max(abs(size - one.across) for size in over), number)
        corners = _worse(corners, abs(_corner(left) - _corner(meant)), number)
        beside = ([abs(heights[a] - heights[b]) / 2 for a, b in pairs]
                  or [float(np.ptp(heights)) / 2])
        centred = _worse(centred, max(beside), number)
        turned = _worse(turned, max(_turned_by(left, angle, height) for angle, height in zip(
            one.angles, heights, strict=True)), number)
        long = _worse(long, max(_too_long(evidence, cuts, one, place, angle)
                                for angle in one.angles), number)
    finest = 10.0**-evidence.machine.numbers.rotary_decimals
    head = evidence.machine.dividing
    if isinstance(head, DrivenHead):
        finest = max(finest, head.increment)
    yield evidence.at_most(
        ACROSS.about(name), Message("{name}: across the flats", name=name), across.off, limit,
        "mm", where=across.where)
    yield evidence.at_most(
        CORNERS.about(name), Message("{name}: over the corners", name=name), 2 * corners.off,
        # A corner stands out farther than its flats by what their angle makes of it.
        2 * limit / math.cos(_half_turn(one.angles)), "mm", where=corners.where)
    yield evidence.at_most(
        CENTRED.about(name), Message("{name}: flats centred on the axis", name=name), centred.off,
        limit, "mm", where=centred.where)
    yield evidence.at_most(
        ANGLES.about(name), Message("{name}: flats at their angles", name=name), turned.off,
        finest + 1e-3, "degrees", where=turned.where)
    yield evidence.at_most(
        LENGTH.about(name), Message("{name}: length of the flats", name=name), long.off, limit,
        "mm", where=long.where)


def _worse(worst: _Off, off: float, piece: int) -> _Off:
    return worst if off <= worst.off else _Off(float(off), piece)


def _pairs(angles: tuple[float, ...]) -> list[tuple[int, int]]:
    """Numbers of the flats that lie opposite each other."""
    return [(a, b) for a, one in enumerate(angles) for b, other in enumerate(angles)
            if a < b and abs((one - other) % 360.0 - 180.0) < 1e-6]


def _half_turn(angles: tuple[float, ...]) -> float:
    """Half the angle between neighbours, radians, at most 80 degrees."""
    if len(angles) < 2:
        return 0.0
    ordered = sorted(angles)
    apart = min((b - a) % 360.0 for a, b in zip(
        ordered, [*ordered[1:], ordered[0]], strict=True))
    return math.radians(min(apart / 2, 80.0))


def _direction(angle: float) -> Floats:
    turn = math.radians(angle)
    return np.array([-math.sin(turn), math.cos(turn)])


def _height(left: BaseGeometry, angle: float) -> float:
    """How far the metal reaches towards an angle."""
    points = shapely.get_coordinates(left)
    return float((points @ _direction(angle)).max()) if len(points) else 0.0


def _corner(left: BaseGeometry) -> float:
    """How far the metal reaches from the axis at most."""
    points = shapely.get_coordinates(left)
    return float(np.hypot(points[:, 0], points[:, 1]).max()) if len(points) else 0.0


def _turned_by(left: BaseGeometry, angle: float, height: float) -> float:
    """By how much the side of the section that is a flat is turned from its angle; 180: no side."""
    best, longest = 180.0, SHORTEST
    wanted = _direction(angle)
    for part in shapely.get_parts(left):
        ring = shapely.get_coordinates(part.exterior)
        sides = np.diff(ring, axis=0)
        lengths = np.hypot(sides[:, 0], sides[:, 1])
        with np.errstate(invalid="ignore"):
            normals = np.column_stack([sides[:, 1], -sides[:, 0]]) / lengths[:, None]
        if not part.exterior.is_ccw:
            normals = -normals
        middles = (ring[1:] + ring[:-1]) / 2
        off = np.degrees(np.arccos(np.clip(normals @ wanted, -1.0, 1.0)))
        near = np.nonzero((off < NEAR) & (lengths > longest)
                          & (middles @ wanted > height / 2))[0]
        for row in near:
            if lengths[row] > longest:
                longest, best = float(lengths[row]), float(off[row])
    return best


def _too_long(
    evidence: RoundEvidence, cuts: RoundCuts, one: Flats, place: float, angle: float
) -> float:
    """How far a flat on the middle line of its side begins or ends beside where it shall."""
    limit = limit_of(evidence)
    radius = np.array([evidence.cutters[int(n)].diameter / 2 if int(n) in evidence.cutters else 0.0
                       for n in cuts.cutter])
    mine = (np.abs((cuts.turned - angle + 180.0) % 360.0 - 180.0) < NEAR)
    mine &= cuts.out.max(axis=1) <= one.across / 2 + 10 * limit
    mine &= (cuts.right.min(axis=1) <= 1e-6) & (cuts.right.max(axis=1) >= -1e-6)
    low = (cuts.along.min(axis=1) - radius)[mine]
    high = (cuts.along.max(axis=1) + radius)[mine]
    begin, end = place + one.begin, place + one.end
    meets = (high > begin - 1.0) & (low < end + 1.0)
    if not np.any(meets):
        return one.end - one.begin
    reached = _joined(low[meets], high[meets], (begin + end) / 2)
    opens = evidence.layout.open_before(begin, one.across / 2)
    short = max(reached[0] - begin, 0.0) if opens else abs(reached[0] - begin)
    return max(short, abs(reached[1] - end))


def _joined(low: Floats, high: Floats, within: float) -> tuple[float, float]:
    """The stretch about a place that strips cover one after another without a gap."""
    begin = end = within
    for _ in range(len(low)):
        touching = (low <= end + 1e-6) & (high >= begin - 1e-6)
        if not np.any(touching):
            break
        nearer = min(begin, float(low[touching].min())), max(end, float(high[touching].max()))
        if nearer == (begin, end):
            break
        begin, end = nearer
    return begin, end
