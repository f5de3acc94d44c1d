"""The clamp of the dividing head: shut at every cut, open at every turn, let go only when clear."""

from __future__ import annotations

import numpy as np

from camgen.messages import Message
from camgen.proof.evidence import Evidence
from camgen.proof.motion.stops import room_at_ends
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import Kind
from camgen.tolerances import ROUNDING

__all__ = ["prove_clamp"]

CLAMPED = ProofId("motion", "clamped")
LET_GO = ProofId("motion", "let-go-when-clear")



def prove_clamp(evidence: Evidence) -> tuple[Proof, ...]:
    """Where the head has a clamp; its words count in a run in air and a dry index too."""
    rotary = evidence.machine.rotary
    motion, planned = evidence.motion, evidence.planned
    turned = np.abs(motion.angle_end - motion.angle_start) > ROUNDING
    meant = planned is not None and bool((planned.motion.kind == Kind.INDEX).any())
    if rotary.clamp is None or not (meant or turned.any()):
        return ()
    # Before the first of its words nobody knows: 1 shut, -1 free, 0 unknown.
    shut = np.zeros(len(motion), dtype=np.int64)
    begun = 0
    free = ""
    opened: list[tuple[int, int]] = []
    for program in evidence.programs:
        state, after = 0, 0
        for event in program.events:
            if event.kind in ("clamp", "unclamp"):
                shut[begun + after : begun + event.before] = state
                state, after = 1 if event.kind == "clamp" else -1, event.before
                if event.kind == "unclamp" and event.before:
                    opened.append((begun + event.before - 1, event.line))
        n = len(program.motion)
        shut[begun + after : begun + n] = state
        begun += n
        if state == -1 and not free:
            free = f"{program.name} ends with the head free"
    wrong = np.nonzero((turned & (shut != (-1 if rotary.unclamp else 0)))
                       | (evidence.cut & (shut != 1)))[0]
    return (
        evidence.at_most(
            CLAMPED, Message("head clamped for cutting, free for turning"), len(wrong) + bool(free),
            0, "moves", int(wrong[0]) if len(wrong) else None,
            free if free and not len(wrong) else None,
        ),
        _let_go(evidence, opened),
    )


def _let_go(evidence: Evidence, opened: list[tuple[int, int]]) -> Proof:
    """``opened``: after which piece, and in which line, the head is let go."""
    rows = np.array([row for row, _ in opened], dtype=np.int64)
    room = room_at_ends(evidence, rows)
    inside = [(row, line) for (row, line), clear in zip(opened, room, strict=True) if clear <= 0]
    return evidence.at_most(
        LET_GO, Message("head let go with the cutter in the work"), len(inside), 0, "words",
        inside[0][0] if inside else None,
        ", ".join(f"line {line}" for _, line in inside[:5]) if inside else None,
    )
