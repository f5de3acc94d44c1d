"""A probe on the table: no metal within its ball on its whole way, and some where it touches.

The metal is as the motion left it before.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from camgen.messages import Message
from camgen.proof.common.metal_left import MetalAsLeft
from camgen.proof.common.said import in_space
from camgen.proof.evidence import FlatEvidence
from camgen.proof.path import chords, is_rapid, select
from camgen.proof.result import Proof, ProofId
from camgen.proof.table.holes_found import GIVE, deepest
from camgen.reader.motion import Told
from camgen.tolerances import ROUNDING

__all__ = ["prove_meets_nothing"]

MEETS = ProofId("table", "probe-meets")
FAST = ProofId("table", "probe-rapids")
THERE = ProofId("table", "probe-touches")

# Metal is found so far beyond where the ball touches, mm, and increments.
BEYOND: Final = 0.02


def prove_meets_nothing(evidence: FlatEvidence) -> Iterator[Proof]:
    """For each probe: no metal within its ball on its way, and metal where it touches."""
    for number in evidence.probes:
        ball = evidence.cutters[number].diameter / 2
        ground = MetalAsLeft(evidence, evidence.layout)
        yield _meets(evidence, ground, number)
        yield _never_fast(evidence, number)
        wrong = [row for row, told in _touched(evidence, number)
                 if not _is_there(evidence, ground, row, told, ball)]
        yield evidence.at_most(
            THERE.about(f"probe {number}"),
            Message("touches where no face is, probe {number}", number=number), len(wrong), 0,
            "touches", wrong[0] if wrong else None)


def _meets(evidence: FlatEvidence, ground: MetalAsLeft, number: int) -> Proof:
    """How deep the ball comes into metal."""
    motion, cutter = evidence.motion, evidence.cutters[number]
    radius, give = cutter.diameter / 2, GIVE + 2 * evidence.increment
    with np.errstate(invalid="ignore"):
        low = np.fmin(motion.start[:, 2], motion.end[:, 2]) < evidence.layout.top - ROUNDING
    rows = np.nonzero(low & (motion.cutter == number))[0]
    id = MEETS.about(f"probe {number}")
    name = Message("metal within the ball of probe {number}", number=number)
    if not len(rows):
        return evidence.at_most(id, name, 0.0, 0.0, "mm")
    split = chords(select(motion, rows), radius / 4, longest=max(radius / 2, 0.05))
    piece = rows[split.piece]
    worst, depth = deepest(ground, piece, split.end, cutter, max(radius - give, radius / 2), give)
    x, y, z = split.end[worst].tolist()
    return evidence.at_most(id, name, max(0.0, depth), 0.0, "mm", int(piece[worst]),
                            in_space(x, y, z))


def _never_fast(evidence: FlatEvidence, number: int) -> Proof:
    """Whether the probe is at the rapid where it may be met, its zero being off."""
    motion, words = evidence.motion, evidence.machine.probing
    search = words.search if words is not None else 0.0
    with np.errstate(invalid="ignore"):
        low = np.fmin(motion.start[:, 2], motion.end[:, 2]) < evidence.layout.face + search
    fast = np.nonzero((motion.cutter == number) & is_rapid(motion) & low)[0]
    return evidence.at_most(
        FAST.about(f"probe {number}"),
        Message("rapids within reach, probe {number}", number=number), len(fast), 0, "moves",
        int(fast[0]) if len(fast) else None)


def _touched(evidence: FlatEvidence, number: int) -> Iterator[tuple[int, Told]]:
    """The pieces that end where something is touched by a probe."""
    begun = 0
    for program in evidence.programs:
        for one in program.told:
            row = begun + one.before - 1
            if isinstance(one, Told) and one.kind == "touch" and row >= 0 and (
                    evidence.motion.cutter[row] == number):
                yield row, one
        begun += len(program.motion)


def _is_there(
    evidence: FlatEvidence, ground: MetalAsLeft, row: int, told: Told, ball: float
) -> bool:
    """Whether metal stands just beyond the ball, the way that it touches."""
    axis = "XYZ".index(told.text)
    end = evidence.motion.end[row]
    beyond = np.zeros((1, 2))
    level = float(end[2]) + ball
    if axis == 2:
        level = float(end[2]) - BEYOND - evidence.increment
    else:
        beyond[0, axis] = told.value * (ball + BEYOND + 2 * evidence.increment)
    return bool(ground.metal(np.array([row]), beyond)[0, 0] >= level)
