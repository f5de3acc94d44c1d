"""Depth taken at once in a tooth space, against the depth planned for the form cutter.

Lengths mm.
"""

from __future__ import annotations

import numpy as np

from camgen.messages import Message
from camgen.proof.common.head_frame import head_way
from camgen.proof.common.planned_depths import planned_depths
from camgen.proof.evidence import HeadEvidence
from camgen.proof.head.spaces import SpaceCuts, space_cuts
from camgen.proof.result import Proof, ProofId

__all__ = ["prove_tooth_passes"]

PASS = ProofId("head", "pass-depth")


def prove_tooth_passes(evidence: HeadEvidence) -> tuple[Proof, ...]:
    """The greatest depth by which any space is deepened in one pass, the first from the blank's
    outside.

    A program that begins at a later space finds those before it cut as deep as it cuts that one
    before it goes on to another: whoever begins there says that the round came so far.
    """
    planned = planned_depths(evidence)
    cuts = space_cuts(evidence, head_way(evidence))
    if not planned or not len(cuts.piece):
        return ()
    order = np.lexsort((cuts.piece, cuts.space))
    space, depth = cuts.space[order], cuts.depth[order]
    new = np.concatenate([[True], space[1:] != space[:-1]])
    plan = evidence.planned
    begins = (plan.spaces[0] if plan is not None and plan.spaces
              else evidence.layout.spaces[0])
    found = np.where(space < begins - 1, _first_depth(cuts), -evidence.layout.over_tip)
    step = np.where(new, depth - found, np.diff(depth, prepend=0.0))
    worst = int(np.argmax(step))
    piece = int(cuts.piece[order[worst]])
    limit = planned.get(int(evidence.motion.cutter[piece]))
    if limit is None:
        return ()
    return (
        evidence.at_most(
            PASS, Message("depth of one pass of the form cutter"), float(step[worst]),
            limit + 2 * evidence.increment, "mm", piece, 
            Message("space {space}", space=int(space[worst]) + 1),
        ),
    )


def _first_depth(cuts: SpaceCuts) -> float:
    """How deep the space that is cut first is cut before another is."""
    order = np.argsort(cuts.piece, kind="stable")
    others = np.nonzero(cuts.space[order] != cuts.space[order[0]])[0]
    return float(cuts.depth[order[: others[0] if len(others) else len(order)]].max())
