"""The clamp of the dividing head: shut at every cut, open at every turn, let go only when clear.

And the workshop's own words around a turn, which may be a clamp as well: at every one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import numpy as np

from camgen.messages import NOTHING, Message
from camgen.proof.evidence import Evidence
from camgen.proof.motion.operator.stops import room_at_ends
from camgen.proof.motion.told import Faults, Parts, in_lines, stretches, told_faults
from camgen.proof.result import Proof, ProofId
from camgen.reader.dialect import dialect_of
from camgen.reader.motion import Kind, Told
from camgen.shop.machine import DrivenHead
from camgen.tolerances import ROUNDING

__all__ = ["prove_answers", "prove_clamp", "prove_own_at_turns"]

CLAMPED = ProofId("motion", "clamped")
LET_GO = ProofId("motion", "let-go-when-clear")
OWN = ProofId("motion", "own-words-at-turns")
ANSWERS = ProofId("motion", "answers-of-the-head")
_COMMENT = re.compile(r"\([^()]*\)|;.*")
_M_WORD = re.compile(r"M0*(\d+)", re.IGNORECASE)


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
    free = NOTHING
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
            free = Message("{program} ends with the head free", program=program.name)
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
        in_lines([line for _, line in inside]),
    )


def prove_answers(evidence: Evidence) -> Iterator[Proof]:
    """Where a head turned by pulses is asked for its answer: after every pulse, before all else."""
    if evidence.machine.rotary.answered is None:
        return
    faults, begun = [], 0
    for program in evidence.programs:
        found = Faults(program, begun, [])
        asked: Told | None = None
        for one in program.told:
            if not isinstance(one, Told) or one.kind not in ("pulse", "answered"):
                continue
            if asked is None and one.kind == "answered":
                found.add(Message("an answer is waited for, and no pulse was sent"), one.line)
            elif asked is not None and (one.kind == "pulse" or one.before != asked.before + 1):
                found.add(Message("the head's answer is not waited for"), asked.line)
            asked = one if one.kind == "pulse" else None
        if asked is not None:
            found.add(Message("the head's answer is not waited for"), asked.line)
        begun += len(program.motion)
        faults.append(found)
    yield told_faults(evidence, ANSWERS, Message("answer of the head waited for at every pulse"),
                      "pulses", faults)


def prove_own_at_turns(evidence: Evidence) -> Iterator[Proof]:
    """The M words in own blocks before and after a turn: said around every turn of a driven head.

    What they do only their owner knows, such as letting go a clamp of his own.
    """
    insert = evidence.machine.insert
    before, after = (_m_words(evidence, one) for one in (insert.before_index, insert.after_index))
    # Where the same word is said before and after, nobody knows which was which.
    if not isinstance(evidence.machine.dividing, DrivenHead) or before & after or not (
            before or after):
        return
    faults = []
    for program, begun, parts in stretches(evidence):
        found = Faults(program, begun, [])
        _around_turns(evidence, parts, (before, after), found)
        faults.append(found)
    yield told_faults(evidence, OWN, Message("own words around every turn of the head"), "turns",
                      faults)


def _m_words(evidence: Evidence, blocks: Sequence[str]) -> frozenset[str]:
    """Those of which only their owner knows what they do."""
    words = dialect_of(evidence.machine)
    known = {0, 1, 48, 49, 98, 99, words.call[1], words.back[1], words.clamp, words.unclamp,
             words.pulse, words.answered,
             *words.clockwise, *words.anticlockwise, *words.stop, *words.coolant, *words.ends,
             *words.change}
    return frozenset(f"M{number}" for block in blocks
                     for number in map(int, _M_WORD.findall(_COMMENT.sub("", block)))
                     if number not in known)


def _not_behind(found: Faults, left: frozenset[str], line: int) -> None:
    found.add(Message("{words} is not said after the turn", words=" ".join(sorted(left))), line)


def _around_turns(
    evidence: Evidence, parts: Parts, words: tuple[frozenset[str], frozenset[str]], found: Faults
) -> None:
    """Turns without the words before them, and what comes after one without those behind it."""
    (before, after), motion = words, evidence.motion
    # What was said since the last turn, and what is still to be said behind it.
    said, left, line = frozenset[str](), frozenset[str](), 0
    for first, until, one in parts:
        for row in range(first, until):
            if motion.kind[row] == Kind.INDEX:
                if before - said and not left:
                    found.add(Message("the head turns without {words} before",
                                      words=" ".join(sorted(before - said))),
                              int(motion.line[row]))
                left, line = after, int(motion.line[row])
                said = before
            else:
                if left:
                    _not_behind(found, left, line)
                left, said = frozenset(), frozenset()
        if isinstance(one, Told) and one.kind == "word":
            if one.text in before:
                if left:
                    _not_behind(found, left, line)
                    left, said = frozenset(), frozenset()
                said = said | {one.text}
            if one.text in left:
                left = left - {one.text}
                said = said if left else frozenset()
    if left:
        _not_behind(found, left, line)
