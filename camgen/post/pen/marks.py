"""What stands round a program: % marks, their name, and the program's number."""

from __future__ import annotations

import re

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.post.text import ProgramText, comment_signs
from camgen.shop.machine import Machine

__all__ = ["begin_program", "check_numbers", "end_program", "subprogram_number"]

# Calls of higher numbers some controls read as how often, then which. Common practice, no source.
_HIGHEST_CALLED = 9999


def begin_program(text: ProgramText, machine: Machine, name: str, after: int) -> None:
    """The first lines of the program called ``name``, ``after`` so many others of its job.

    Raises Refused where its number has more figures than the control reads.
    """
    program = machine.program
    if program.marks:
        text.line("%" + (re.sub("[^A-Z0-9]+", "-", comment_signs(name)) if program.mark_named
                         else ""))
    if program.number is None:
        return
    number = program.number + after
    if number > program.highest_number:
        raise Refused(Fault(
            Message("program {name} has the number {number}, of more than {n} figures", name=name,
                    number=number, n=len(str(program.highest_number))),
            Message("begin lower under program.number in the machine file, or write "
                    "program.number-figures: {n} if its control reads them", n=len(str(number)))))
    text.line(program.numbered(number))


def end_program(text: ProgramText, machine: Machine) -> None:
    """The last line."""
    if machine.program.marks:
        text.line("%")


def subprogram_number(machine: Machine, number: int) -> int:
    """The number, which can be called. Raises Refused where it cannot."""
    if number > _HIGHEST_CALLED:
        raise Refused(Fault(
            Message("a subprogram has the number {number}, of more than 4 figures", number=number),
            Message("begin lower under subprograms.first in the machine file")))
    return number


def check_numbers(machine: Machine, before: int, parts: int, called: range) -> None:
    """Programs and subprograms lie in one memory: raises Refused where two have one number.

    ``parts`` programs come after ``before`` of the same job; ``called`` are the subprograms.
    """
    number = machine.program.number
    if number is None or not called or not machine.subprograms.label.startswith(("O", ":")):
        return
    first = number + before
    if first <= called[-1] and called[0] < first + parts:
        raise Refused(Fault(
            Message("programs from number {first} on and subprograms from {called} on have numbers "
                    "in common", first=first, called=called[0]),
            Message("write other figures under program.number or subprograms.first in the machine "
                    "file")))
