"""All that the spindle carries against what stands in the dividing head with turned work.

A cutter stands over the work with its end towards it. Each of its parts, at the height of its lower
end over the axis, is a circle that passes beside the sections of what stands there. Its edge may
touch the work and nothing else, all above it not even that. Lengths mm.
"""

from __future__ import annotations

import itertools

import numpy as np

from camgen.arrays import Ints
from camgen.job.on_arbor import Turned
from camgen.messages import Message
from camgen.proof.common.rooms import room_off
from camgen.proof.common.round_frame import RoundWay, round_way
from camgen.proof.evidence import RoundEvidence
from camgen.proof.result import Proof, ProofId
from camgen.proof.table.head_clear import Nearest
from camgen.shop.cutters import ProfilePart, profile_of

__all__ = ["prove_round_clear"]

CLEAR = ProofId("table", "round-clear")


def prove_round_clear(evidence: RoundEvidence) -> tuple[Proof, ...]:
    """For each cutter: the least room between it with what carries it and what stands there."""
    way = round_way(evidence)
    answers = []
    for number, cutter in sorted(evidence.cutters.items()):
        id = CLEAR.about(f"cutter {number}")
        name = Message("cutter {number} and what carries it clear of what holds the work",
                       number=number)
        rows = np.nonzero((evidence.motion.cutter == number)
                          & np.all(np.isfinite(way.along + way.right + way.out), axis=1))[0]
        found = [one for part in profile_of(cutter).parts for body in evidence.layout.bodies
                 if not (part.cuts and body in evidence.layout.work)
                 for one in [_nearest(way, rows, part, body)] if one is not None]
        nearest = min(found, default=None, key=lambda one: one.room)
        if nearest is None or nearest.room == np.inf:
            answers.append(evidence.proof(id, name, True, 0.0, 0.0, "mm",
                                          where=Message("nothing of it comes near")))
            continue
        answers.append(evidence.proof(
            id, name, nearest.room > 0, nearest.room, 0.0, "mm", nearest.piece,
            Message("{place}: {part} and {thing}", place=evidence.place(nearest.piece),
                    part=nearest.part.name.called, thing=nearest.body.called)))
    return tuple(answers)


def _nearest(way: RoundWay, rows: Ints, part: ProfilePart, body: Turned) -> Nearest | None:
    if not len(rows):
        return None
    plane, least = way.plane(rows), np.full(len(rows), np.inf)
    for (r0, z0), (r1, z1) in itertools.pairwise(part.outline):
        low = np.maximum(way.out[rows].min(axis=1) + min(z0, z1), 0.0)
        for piece in body.slices():
            least = np.minimum(least, room_off(plane, max(r0, r1), low, piece))
    worst = int(np.argmin(least))
    return Nearest(float(least[worst]), part, body, int(rows[worst]))
