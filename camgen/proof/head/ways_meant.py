"""The ways in which a setup's steps are meant to come to the spaces, from the job's words.

Angles are degrees as the head is told them, lengths mm.
"""

from __future__ import annotations

import numpy as np

from camgen.arrays import Floats, Ints
from camgen.job.rack import cutter_numbers
from camgen.layout.approaches import Stance, approach_of, stance_of
from camgen.part.declaration import Declaration, MakesSpaces
from camgen.proof.evidence import HeadEvidence
from camgen.shop.cutters import Ability
from camgen.teeth.tooth import Approach
from camgen.values import dataclass

__all__ = ["MeantWay", "nearest_ways", "ways_meant"]


@dataclass(frozen=True, slots=True)
class MeantWay:
    """How a step is meant to come to the spaces: ``stance`` with the ``depth`` that it shall have;
    ``corrected`` mm of that are a correction; ``forms``: the teeth have their form of it. A
    ``cutter`` of 0 is any."""

    cutter: int
    approach: Approach
    stance: Stance
    depth: float
    corrected: float
    forms: bool


def ways_meant(evidence: HeadEvidence) -> tuple[MeantWay, ...]:
    """Those of all steps that cut spaces, in their order; where nobody says, the tooth's own."""
    layout, job = evidence.layout, evidence.job
    setup = next((s for s in job.setups if s.name == evidence.setup), None)
    numbers = cutter_numbers(job)
    said = [(numbers[step.cutter], step.declares()) for step in (setup.steps if setup else ())]
    formed = next((one.added("depth") for _, one in reversed(said) if one.forms_spaces), 0.0)
    found = []
    for cutter, one in said:
        leaves = one.roughs_spaces
        if leaves is None and not one.forms_spaces:
            continue
        stance = stance_of(layout, one)
        added = one.added("depth") if leaves is None else formed
        found.append(MeantWay(cutter, approach_of(layout, one), stance,
                              stance.depth + added - (leaves or 0.0), added, leaves is None))
    if any(one.forms for one in found):
        return tuple(found)
    own = stance_of(layout, Declaration((MakesSpaces(),), (Ability.CUT_FORM,)))
    return (*found, MeantWay(0, layout.tooth.ways[0], own, own.depth, 0.0, True))


def nearest_ways(
    evidence: HeadEvidence, ways: tuple[MeantWay, ...], piece: Ints, across: Floats
) -> Ints:
    """(k,) for each of the cuts ``piece`` (k,), ``across`` (k,) mm, the way it is nearest to, of
    those of its own cutter: beside it across, and beside the nearest space's angle on the rim."""
    layout, motion = evidence.layout, evidence.motion
    angle, cutter = motion.angle_end[piece], motion.cutter[piece]
    pitch = 360.0 / layout.division.count
    best = np.full(len(piece), np.inf)
    found = np.zeros(len(piece), dtype=np.int64)
    for number, way in enumerate(ways):
        beside = np.mod(angle - way.stance.turned + pitch / 2, pitch) - pitch / 2
        off = (np.abs(np.radians(beside)) * layout.tooth.tip_radius
               + np.abs(np.nan_to_num(across) - way.stance.across))
        # Another's cutter is farther away than anything can be.
        off = np.where((cutter == way.cutter) | (way.cutter == 0), off, off + 1e6)
        nearer = off < best - 1e-9
        best[nearer], found[nearer] = off[nearer], number
    return found
