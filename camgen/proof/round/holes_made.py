"""Holes round turned work as the motion made them: all there, where they shall be, as deep, and
open before what may not meet solid metal. Lengths mm, angles degrees.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from camgen.arrays import Flags
from camgen.messages import NOTHING, Message
from camgen.part.features import RoundHole
from camgen.proof.evidence import RoundEvidence
from camgen.proof.result import Proof, ProofId
from camgen.proof.round.sections import RoundCuts, limit_of, round_cuts
from camgen.shop.cutters import Cutter, opening_of, profile_of
from camgen.shop.machine import DrivenHead

__all__ = ["prove_round_holes"]

MISSING = ProofId("round", "holes-missing")
PLACE = ProofId("round", "holes-place")
ANGLES = ProofId("round", "holes-angles")
DEPTH = ProofId("round", "holes-depth")
OPEN = ProofId("table", "round-holes-open")
# A cut belongs to the hole that it is nearest to, and to none farther off than this, over its
# width, or turned by so much, degrees.
NEAR, NEAR_ANGLE = 1.0, 5.0
# A cutter is of a hole's size where it is within this of it, mm.
OF_ITS_SIZE = 0.006


def prove_round_holes(evidence: RoundEvidence) -> Iterator[Proof]:
    """The measures of each group of holes, the worst of all pieces and angles."""
    cuts = round_cuts(evidence)
    straight = (np.ptp(cuts.along, axis=1) < 1e-6) & (np.ptp(cuts.right, axis=1) < 1e-6)
    for one in evidence.layout.made:
        if isinstance(one, RoundHole):
            yield from _group(evidence, cuts, straight, one)
    yield from _open(evidence, cuts, straight)


def _near(cuts: RoundCuts, place: float, angle: float, wide: float) -> Flags:
    """(k,) cuts about a place along the work and an angle round it."""
    off = np.abs((cuts.turned - angle + 180.0) % 360.0 - 180.0)
    return np.asarray((np.abs(cuts.along[:, 1] - place) < NEAR * wide)
                      & (np.abs(cuts.right[:, 1]) < NEAR * wide) & (off < NEAR_ANGLE))


def _group(
    evidence: RoundEvidence, cuts: RoundCuts, straight: Flags, one: RoundHole
) -> Iterator[Proof]:
    layout, limit, name = evidence.layout, limit_of(evidence), one.name
    sizes = np.array([evidence.cutters[int(n)].diameter if int(n) in evidence.cutters else 0.0
                      for n in cuts.cutter])
    mine = straight & (np.abs(sizes - one.diameter) <= OF_ITS_SIZE)
    missing, place_off, angle_off, depth_off = 0, 0.0, 0.0, 0.0
    where: list[Message] = [NOTHING] * 4
    for number, piece in enumerate(layout.places):
        for angle in one.angles:
            here = Message("piece {number}, at {angle:g} degrees", number=number + 1, angle=angle)
            rows = np.nonzero(mine & _near(cuts, piece + one.place, angle, one.diameter))[0]
            if not len(rows):
                missing, where[0] = missing + 1, here
                continue
            beside = np.hypot(cuts.along[rows, 1] - piece - one.place, cuts.right[rows, 1])
            if beside.max() > place_off:
                place_off, where[1] = float(beside.max()), here
            turned = np.abs((cuts.turned[rows] - angle + 180.0) % 360.0 - 180.0)
            if turned.max() > angle_off:
                angle_off, where[2] = float(turned.max()), here
            full = min(float(cuts.out[row].min()) + _full_above(
                evidence.cutters[int(cuts.cutter[row])]) for row in rows)
            floor = layout.part.floor(one)
            short = max(full - floor, 0.0) if one.depth is None else abs(full - floor)
            if short > depth_off:
                depth_off, where[3] = short, here
    finest = 10.0**-evidence.machine.numbers.rotary_decimals
    head = evidence.machine.dividing
    if isinstance(head, DrivenHead):
        finest = max(finest, head.increment)
    wanted = len(layout.places) * len(one.angles)
    yield evidence.at_most(MISSING.about(name), Message("{name}: holes missing", name=name),
                           missing, 0, f"of {wanted}", where=where[0])
    yield evidence.at_most(PLACE.about(name), Message("{name}: holes at their place", name=name),
                           place_off, limit, "mm", where=where[1])
    yield evidence.at_most(ANGLES.about(name), Message("{name}: holes at their angles", name=name),
                           angle_off, finest + 1e-3, "degrees", where=where[2])
    yield evidence.at_most(DEPTH.about(name), Message("{name}: depth of the holes", name=name),
                           depth_off, limit, "mm", where=where[3])


def _full_above(cutter: Cutter) -> float:
    """How far above its end a cutter has its full width."""
    half = cutter.diameter / 2 - 1e-9
    return min((z for r, z in profile_of(cutter).edge.outline if r >= half), default=0.0)


def _open(evidence: RoundEvidence, cuts: RoundCuts, straight: Flags) -> Iterator[Proof]:
    """Cuts of what may not meet solid metal, where nothing was drilled before as wide and deep."""
    for number, cutter in sorted(evidence.cutters.items()):
        least = opening_of(cutter)
        mine = np.nonzero(straight & (cuts.cutter == number))[0]
        if least is None or not len(mine):
            continue
        wide = np.array([evidence.cutters[int(n)].diameter if int(n) in evidence.cutters else 0.0
                         for n in cuts.cutter])
        blocked = []
        for row in mine:
            before = (straight & (cuts.piece < cuts.piece[row]) & (wide >= least - OF_ITS_SIZE)
                      & _near(cuts, float(cuts.along[row, 1]), float(cuts.turned[row]), 0.01)
                      & (cuts.cutter != number))
            if not np.any(before) or cuts.out[before].min() > cuts.out[row].min() + 1e-6:
                blocked.append(int(cuts.piece[row]))
        yield evidence.at_most(
            OPEN.about(f"cutter {number}"),
            Message("cutter {number} finds its holes open", number=number), len(blocked), 0,
            "holes", blocked[0] if blocked else None)
