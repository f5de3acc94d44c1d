"""The steps of one setup, each by its own kind: checked all before any is planned."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.moves import Remark
from camgen.steps.kind import Bench, BenchT, PlannedStep, StepKind
from camgen.steps.typed import (
    asked_faults,
    correction_faults,
    correction_remarks,
    unheard_faults,
)

__all__ = ["planned_steps"]


def planned_steps(
    kinds: Mapping[str, StepKind[BenchT]], elsewhere: tuple[Message, Message],
    benches: Sequence[BenchT]
) -> tuple[list[PlannedStep], tuple[Message, ...]]:
    """The steps planned, and the corrections in force.

    ``kinds`` are those that can be done here; ``elsewhere`` is what is said of another, and what
    to do about it. Raises Refused with every fault found.
    """
    faults: list[Fault] = []
    for bench in benches:
        kind = kinds.get(bench.words.kind)
        if kind is None:
            faults.append(Fault(Message("`{step}` {told}", step=bench.words.kind,
                                        told=elsewhere[0]), elsewhere[1], bench.place()))
        else:
            faults += unheard_faults(bench)
            faults += correction_faults(bench) or kind.check(bench, bench.words)
    if faults:
        raise Refused(faults)
    done: list[PlannedStep] = []
    for bench in benches:
        try:
            step = kinds[bench.words.kind].plan(bench, bench.words)
            faults += asked_faults(bench, step)
            done.append(_corrected(bench, step))
        except Refused as no:
            # What the planner of cuts refuses has no place of its own: it is the step's.
            faults += [
                fault if str(fault.place) else dataclasses.replace(fault, place=bench.place())
                for fault in no.faults
            ]
    if faults:
        raise Refused(faults)
    return done, tuple(remark for bench in benches for remark in correction_remarks(bench))


def _corrected(bench: Bench, step: PlannedStep) -> PlannedStep:
    """The step with the corrections in force told in its program too, once the cutter is clear."""
    told = tuple(
        Remark(Message("{word} {value} MM IN FORCE", word=one.word.upper(),
                       value=f"{one.value:+.3f}"))
        for one in bench.words.declares().corrections if one.value
    )
    if not told:
        return step
    first, *rest = step.section.moves
    section = dataclasses.replace(step.section, moves=(first, *told, *rest))
    return dataclasses.replace(step, section=section)
