"""Is a belt or gear that is set by hand set at a stop, before anything turns or moves again?

That it is the one of the speed the reader holds, at every start of the spindle.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from camgen.messages import Message
from camgen.proof.evidence import Evidence
from camgen.proof.motion.operator.spoken import in_languages
from camgen.proof.motion.told import Counted, Faults, Parts, skipped, walked
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import ReadProgram, Told
from camgen.shop.machine import Machine

__all__ = ["belts_said", "prove_steps_set"]

SET = ProofId("motion", "steps-set-at-stops")
_ASKED = (Counted(SET, Message("steps of the spindle set at stops"), "stops"),)


def prove_steps_set(evidence: Evidence) -> Iterator[Proof]:
    """A stop after every message to set a step; only where the spindle has steps set by hand."""
    machine = evidence.machine
    by_hand = machine.spindle_words.s_says != "step" and any(
        step.word is None for step in machine.spindle.steps)
    if by_hand:
        yield from walked(evidence, _ASKED, _walk)


def belts_said(
    machine: Machine, rpm: float, told: Callable[[str], str]
) -> Iterator[list[str]]:
    """What may be said, in all languages, of the step of a speed, and of those it is warmed up at.

    ``told`` puts before a message what makes the control show it.
    """
    wanted = [rpm, *(warm for warm, _ in machine.spindle_words.warm_up)]
    for number, step in enumerate(machine.spindle.steps, start=1):
        if all(abs(step.speed - one) > 0.01 for one in wanted):
            continue
        name = step.called or f"STEP {number}"
        if step.word is None and machine.spindle_words.s_says != "step":
            yield list(in_languages(Message("SET SPINDLE AT {step} FOR {speed:.0f} REV/MIN",
                                            step=name, speed=step.speed), told))
        else:
            yield list(in_languages(Message("SPINDLE AT {step} FOR {speed:.0f} REV/MIN",
                                            step=name, speed=step.speed)))


def _walk(program: ReadProgram, begun: int, parts: Parts, found: tuple[Faults, ...]) -> None:
    left_out = skipped(program)
    owed: Told | None = None
    for first, until, one in parts:
        moved = until > first or (
            isinstance(one, Told) and (one.kind in ("way", "gone") or (
                one.kind == "spindle" and one.text != "by hand" and bool(one.value))))
        if owed is not None and (moved or one is None):
            found[0].add(Message("a step of the spindle is to be set, and no stop comes before "
                                 "it goes on"), owed.line)
            owed = None
        if isinstance(one, Told) and one.kind == "step" and one.text == "by hand":
            owed = one
        elif one is not None and one.kind == "stop" and one.line not in left_out:
            owed = None
