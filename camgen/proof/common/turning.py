"""How the dividing head turns, whatever is cut: from one side, the cutter still, and back.

Angles are degrees as the head is told them, counted on.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

import numpy as np

from camgen.arrays import Flags, Floats, Ints
from camgen.messages import NOTHING, Message
from camgen.proof.evidence import HeadEvidence, RoundEvidence
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import Kind
from camgen.shop.machine import DrivenHead
from camgen.tolerances import ROUNDING

__all__ = ["OnHead", "first_told", "from_one_side", "still_when_cutting", "turned_back"]

OnHead: TypeAlias = HeadEvidence | RoundEvidence
ONE_SIDE = ProofId("head", "approach-side")
STILL = ProofId("head", "still-while-turning")
BACK = ProofId("head", "turned-back")


def from_one_side(evidence: OnHead, piece: Ints, where: Callable[[int], Message]) -> Proof:
    """Cuts, the pieces ``piece`` (k,), before which the head was last turned the other way:
    backlash is not taken up. ``where`` says what one of them cuts, by its number among them."""
    motion = evidence.motion
    turned = motion.angle_end - motion.angle_start
    turns = np.nonzero(np.abs(turned) > ROUNDING)[0]
    last = np.searchsorted(turns, piece, side="left") - 1
    head = evidence.machine.dividing
    wrong = np.zeros(len(piece), dtype=np.bool_)
    seen = last >= 0
    if len(turns):
        wrong[seen] = turned[turns[last[seen]]] < 0
    if isinstance(head, DrivenHead) and head.take_up > 0:
        wrong |= ~seen
        if len(turns):
            wrong[seen] |= ~_surely_up(evidence, turns, turned[turns])[last[seen]]
    if isinstance(head, DrivenHead) and not evidence.machine.rotary.from_where_it_stands:
        # Where the head stood before, nobody knows: each program says it before it cuts.
        wrong |= piece < first_told(evidence)[evidence.program_of[piece]]
    first = int(piece[np.argmax(wrong)]) if np.any(wrong) else None
    return evidence.at_most(
        ONE_SIDE, Message("spaces not approached from the one side"), int(wrong.sum()), 0, "cuts",
        first,
        where(int(np.argmax(wrong))) if first is not None else NOTHING,
    )


def _surely_up(evidence: OnHead, turns: Ints, turned: Floats) -> Flags:
    """(m,) whether each of the pieces ``turns`` is one upward, whoever ran what before.

    Each program by itself: where the head stood before the first angle it is told, nobody knows,
    unless it is told by how much to turn.
    """
    up = turned > 0
    if not evidence.machine.rotary.from_where_it_stands:
        firsts = first_told(evidence)
        for begun, program in zip(firsts.tolist(), evidence.programs, strict=True):
            line = next((one.line for one in program.told if one.kind == "head"), 0)
            up[(turns == begun) & (evidence.motion.line[turns] == line)] = False
    return up


def first_told(evidence: OnHead) -> Ints:
    """For each program the piece of motion before which the head is first told where to stand."""
    firsts, begun = [], 0
    for program in evidence.programs:
        count = len(program.motion)
        firsts.append(begun + next((one.before for one in program.told if one.kind == "head"),
                                   count))
        begun += count
    return np.array(firsts, dtype=np.int64)


def still_when_cutting(evidence: OnHead) -> Proof:
    """Fed moves during which the head turns."""
    motion = evidence.motion
    turned = np.abs(motion.angle_end - motion.angle_start) > ROUNDING
    both = np.nonzero(turned & (motion.kind != Kind.INDEX))[0]
    return evidence.at_most(
        STILL, Message("moves made while the head turns"), len(both), 0, "moves",
        int(both[0]) if len(both) else None,
    )


def turned_back(evidence: OnHead) -> list[Proof]:
    """Where the machine wants the head turned back at the end, it stands at its zero there."""
    head = evidence.machine.dividing
    if not (isinstance(head, DrivenHead) and evidence.machine.rotary.unwind):
        return []
    angle = evidence.motion.angle_end
    if not len(angle):
        return []
    off = abs((float(angle[-1]) + 180.0) % 360.0 - 180.0)
    limit = max(head.increment, 10.0**-evidence.machine.numbers.rotary_decimals)
    return [
        evidence.at_most(
            BACK, Message("head turned back at the end"), off, limit, "degrees", len(angle) - 1
        )
    ]
