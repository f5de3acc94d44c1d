"""Faults in programs that come of a machine file's own blocks, told by the block's name."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache

from camgen.faults import Fault
from camgen.messages import Message
from camgen.proof.result import Proof
from camgen.reader.motion import ReadProgram
from camgen.shop.machine import Machine
from camgen.shop.own_blocks import OwnPlace, own_places

__all__ = ["own_block_faults"]

_NUMBER = re.compile(r"^(/?)N\d+ ?")


def own_block_faults(
    machine: Machine, programs: Sequence[ReadProgram], proofs: Sequence[Proof]
) -> tuple[Fault, ...]:
    """What own blocks make a program say or do that cannot be: each block and fault once.

    Empty where no failing proof is about a line that an own block wrote.
    """
    if all(proof.holds for proof in proofs) or not machine.insert.model_fields_set:
        return ()
    found = (*_read_so(machine, programs), *_done_so(machine, programs, proofs))
    return tuple(dict.fromkeys(found))


def _read_so(machine: Machine, programs: Sequence[ReadProgram]) -> Iterator[Fault]:
    for program in programs:
        for found in program.findings:
            own = _own(machine, program, found.line) if found.grave else None
            if own is not None:
                yield _fault(machine, own, found.message)


def _done_so(
    machine: Machine, programs: Sequence[ReadProgram], proofs: Sequence[Proof]
) -> Iterator[Fault]:
    by_name = {program.name: program for program in programs}
    for proof in proofs:
        program = by_name.get(proof.program)
        if proof.holds or program is None or not proof.line:
            continue
        own = _own(machine, program, proof.line)
        if own is not None:
            yield _fault(machine, own,
                         Message("{name}: {where}", name=proof.name, where=proof.where))


def _fault(machine: Machine, own: tuple[str, OwnPlace], what: Message) -> Fault:
    block, place = own
    return Fault(Message("'{block}' in {place} of machine file {machine}: {what}", block=block,
                         place=place.name, machine=machine.name, what=what),
                 Message("take it out there, or write what the control and the plan both allow"),
                 machine.source.place(place.path))


def _own(machine: Machine, program: ReadProgram, line: int) -> tuple[str, OwnPlace] | None:
    """The own block that wrote a line, and its place; None where none did."""
    if not 0 < line <= len(program.lines):
        return None
    text = _NUMBER.sub(r"\1", program.lines[line - 1].strip())
    for form, block, place in _forms(machine):
        if form.fullmatch(text):
            return block, place
    return None


@lru_cache(maxsize=8)
def _forms(machine: Machine) -> tuple[tuple[re.Pattern[str], str, OwnPlace], ...]:
    forms = []
    for place in own_places(machine)[1:]:
        for block in place.blocks:
            parts = re.split(r"\{\w+\}", block.strip())
            forms.append((re.compile(".*?".join(map(re.escape, parts))), block, place))
    return tuple(forms)
