"""Slots along turned work as the motion made them: wide, deep, centred, at their angles, as long as
meant. Lengths mm, angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from camgen.messages import NOTHING, Message
from camgen.part.features import RoundSlot
from camgen.proof.evidence import RoundEvidence
from camgen.proof.result import Proof, ProofId
from camgen.proof.round.sections import RoundCuts, limit_of, round_cuts, section_left
from camgen.shop.machine import DrivenHead
from camgen.values import dataclass

__all__ = ["prove_round_slots"]

WIDTH = ProofId("round", "slots-width")
DEPTH = ProofId("round", "slots-depth")
CENTRED = ProofId("round", "slots-centred")
ANGLES = ProofId("round", "slots-angles")
LENGTH = ProofId("round", "slots-length")
# Far beyond any work, mm.
FAR = 1000.0
# Heights at which a slot's walls are looked at, as shares of its depth at its side.
HEIGHTS = (0.25, 0.75)


@dataclass(frozen=True)
class _Slot:
    """A slot as it was cut: its width, its floor's height over the axis, how far its middle line
    passes beside the axis, and by how much it is turned, degrees."""

    width: float
    floor: float
    beside: float
    turned: float


def prove_round_slots(evidence: RoundEvidence) -> Iterator[Proof]:
    """The measures of each group of slots, the worst of all pieces and angles."""
    cuts = round_cuts(evidence)
    for one in evidence.layout.made:
        if isinstance(one, RoundSlot):
            yield from _group(evidence, cuts, one)


def _group(evidence: RoundEvidence, cuts: RoundCuts, one: RoundSlot) -> Iterator[Proof]:
    layout, limit, name = evidence.layout, limit_of(evidence), one.name
    floor = layout.part.slot_floor(one)
    off, where = [0.0] * 5, [NOTHING] * 5
    for number, piece in enumerate(layout.places):
        left = section_left(layout, cuts, dict(evidence.cutters), piece + (one.begin + one.end) / 2)
        for angle in one.angles:
            made = _measured(rotate(left, -angle, origin=(0, 0)), floor, one)
            found = (abs(made.width - one.width), abs(made.floor - floor), abs(made.beside),
                     abs(made.turned), _too_long(evidence, cuts, one, piece, angle))
            for place, value in enumerate(found):
                if value > off[place]:
                    off[place] = value
                    where[place] = Message("piece {number}, at {angle:g} degrees",
                                           number=number + 1, angle=angle)
    finest = 10.0**-evidence.machine.numbers.rotary_decimals
    head = evidence.machine.dividing
    if isinstance(head, DrivenHead):
        finest = max(finest, head.increment)
    told = ((WIDTH, Message("{name}: width of the slots", name=name), limit, "mm"),
            (DEPTH, Message("{name}: depth of the slots", name=name), limit, "mm"),
            (CENTRED, Message("{name}: slots centred on the axis", name=name), limit, "mm"),
            (ANGLES, Message("{name}: slots at their angles", name=name), finest + 1e-3, "degrees"),
            (LENGTH, Message("{name}: length of the slots", name=name), limit, "mm"))
    for (id, said, most, unit), value, at in zip(told, off, where, strict=True):
        yield evidence.at_most(id.about(name), said, value, most, unit, where=at)


def _measured(left: BaseGeometry, floor: float, one: RoundSlot) -> _Slot:
    """A slot that looks upwards, by where its walls and its floor stand."""
    side = math.sqrt(max((floor + one.depth) ** 2 - (one.width / 2) ** 2, 0.0))
    walls = [_gap(left, floor + share * (side - floor)) for share in HEIGHTS]
    if any(wall is None for wall in walls):
        return _Slot(0.0, FAR, FAR, 180.0)
    (low, high), (low2, high2) = (wall for wall in walls if wall is not None)
    middle, middle2 = (low + high) / 2, (low2 + high2) / 2
    first, second = (floor + share * (side - floor) for share in HEIGHTS)
    lean = (middle2 - middle) / (second - first)
    ground = left.intersection(shapely.LineString([(middle, -FAR), (middle, FAR)]))
    return _Slot((high - low) * math.cos(math.atan(lean)), float(ground.bounds[3]),
                 (middle - first * lean) * math.cos(math.atan(lean)),
                 math.degrees(math.atan(lean)))


def _gap(left: BaseGeometry, height: float) -> tuple[float, float] | None:
    """From where to where there is no metal at a height about the middle; None where there is."""
    line = left.intersection(shapely.LineString([(-FAR, height), (FAR, height)]))
    parts = [part.bounds for part in shapely.get_parts(line) if not part.is_empty]
    before = [bounds[2] for bounds in parts if bounds[2] <= 0]
    behind = [bounds[0] for bounds in parts if bounds[0] >= 0]
    if not before or not behind or any(one[0] < 0 < one[2] for one in parts):
        return None
    return max(before), min(behind)


def _too_long(
    evidence: RoundEvidence, cuts: RoundCuts, one: RoundSlot, place: float, angle: float
) -> float:
    """How far a slot begins or ends beside where it shall, on its middle line."""
    layout = evidence.layout
    floor = layout.part.slot_floor(one)
    radius = np.array([evidence.cutters[int(n)].diameter / 2 if int(n) in evidence.cutters else 0.0
                       for n in cuts.cutter])
    begin, end = place + one.begin, place + one.end
    mine = np.abs((cuts.turned - angle + 180.0) % 360.0 - 180.0) < 5.0
    mine &= cuts.out.min(axis=1) <= floor + 10 * limit_of(evidence)
    mine &= (cuts.along.max(axis=1) > begin - 1.0 - one.width) & (cuts.along.min(axis=1) < end)
    mine &= (2 * radius <= one.width + 0.01)
    if not np.any(mine):
        return end - begin
    low = float((cuts.along.min(axis=1) - radius)[mine].min())
    high = float((cuts.along.max(axis=1) + radius)[mine].max())
    short = max(low - begin, 0.0) if layout.open_before(begin, floor) else abs(low - begin)
    return max(short, abs(high - end))
