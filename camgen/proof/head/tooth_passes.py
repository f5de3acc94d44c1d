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
    """The greatest depth by which any cutter deepens a space in one pass, its first from the
    blank's outside, whatever another has taken before.

    A program that begins at a later space finds those before it cut as deep as it cuts that one
    before it goes on to another: whoever begins there says that the round came so far.
    """
    planned = planned_depths(evidence)
    cuts = space_cuts(evidence, head_way(evidence))
    if not len(cuts.piece):
        return ()
    by = evidence.motion.cutter[cuts.piece]
    first = int(by[np.argmin(cuts.piece)])
    passes = [(limit, _deepest_pass(evidence, cuts.of(by == number), begun=number == first))
              for number, limit in planned.items() if np.any(by == number)]
    if not passes:
        return ()
    limit, (step, piece, space) = max(passes, key=lambda one: one[1][0] - one[0])
    return (
        evidence.at_most(
            PASS, Message("depth of one pass of the form cutter"), step,
            limit + 2 * evidence.increment, "mm", piece,
            Message("space {space}", space=space + 1),
        ),
    )


def _deepest_pass(
    evidence: HeadEvidence, cuts: SpaceCuts, *, begun: bool
) -> tuple[float, int, int]:
    """The depth of one cutter's deepest pass, its piece and its space, from 0.

    ``begun`` is whether the program begins with this cutter, and so perhaps at a later space.
    """
    order = np.lexsort((cuts.piece, cuts.space))
    space, depth = cuts.space[order], cuts.depth[order]
    new = np.concatenate([[True], space[1:] != space[:-1]])
    plan = evidence.planned
    begins = (plan.spaces[0] if begun and plan is not None and plan.spaces
              else evidence.layout.spaces[0])
    found = np.where(space < begins - 1, _first_depth(cuts), -evidence.layout.over_tip)
    step = np.where(new, depth - found, np.diff(depth, prepend=0.0))
    worst = int(np.argmax(step))
    return float(step[worst]), int(cuts.piece[order[worst]]), int(space[worst])


def _first_depth(cuts: SpaceCuts) -> float:
    """How deep the space that is cut first is cut before another is."""
    order = np.argsort(cuts.piece, kind="stable")
    others = np.nonzero(cuts.space[order] != cuts.space[order[0]])[0]
    return float(cuts.depth[order[: others[0] if len(others) else len(order)]].max())
