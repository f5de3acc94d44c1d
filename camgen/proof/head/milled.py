"""Climb or conventional milling as the motion makes it, against what the job asks for."""

from __future__ import annotations

import numpy as np

from camgen.messages import Message
from camgen.part.declaration import MakesSpaces
from camgen.proof.common.head_frame import head_way
from camgen.proof.evidence import HeadEvidence
from camgen.proof.head.spaces import space_cuts
from camgen.proof.result import Proof, ProofId

__all__ = ["prove_milled"]

SENSE = ProofId("head", "milling-sense")


def prove_milled(evidence: HeadEvidence) -> tuple[Proof, ...]:
    """Cuts that mill otherwise than a step asks; no proof where none asks.

    By the motion: the spindle above the work (ISO 841) turns with ω along −Z where its speed is
    positive, the cutter goes v along the arbor, and from its axis to the metal it is r, the way
    along which it went in. Its teeth go with ω × r: with v is conventional, against it climb.
    """
    setup = next((s for s in evidence.job.setups if s.name == evidence.setup), None)
    if setup is None or evidence.layout.arrangement.across != "Z":
        return ()
    asked = {number: made.milling for number, step in enumerate(setup.steps)
             for made in step.declares().makes
             if isinstance(made, MakesSpaces) and made.milling is not None}
    if not asked or evidence.moves is None:
        return ()
    piece = space_cuts(evidence, head_way(evidence)).piece
    motion = evidence.motion
    step_of = np.array([section.step for section in evidence.moves.sections] + [-1])
    step = step_of[evidence.section[piece]]
    along = motion.end[piece] - motion.start[piece]
    into = np.zeros(3)
    sign, letter = evidence.layout.infeed
    into["XYZ".index(letter)] = -1.0 if sign == "-" else 1.0
    spin = np.zeros((len(piece), 3))
    spin[:, 2] = -motion.speed[piece]
    with np.errstate(invalid="ignore"):
        conventional = np.einsum("ij,ij->i", np.cross(spin, into), along)
    wrong = np.zeros(len(piece), dtype=np.bool_)
    for number, sense in asked.items():
        good = conventional > 0 if sense == "conventional" else conventional < 0
        wrong |= (step == number) & ~good
    first = int(piece[np.argmax(wrong)]) if np.any(wrong) else None
    return (evidence.at_most(
        SENSE, Message("cuts that do not mill as asked, climb or conventional"), int(wrong.sum()),
        0, "cuts", first),)
