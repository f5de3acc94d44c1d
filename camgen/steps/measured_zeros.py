"""Where the zeros must lie so that what was measured of a machine holds for the work."""

from __future__ import annotations

from collections.abc import Iterator

from camgen.messages import Message
from camgen.shop.machine import DrivenHead, Machine

__all__ = ["zero_notes", "zero_remarks"]


def zero_remarks(machine: Machine, *, on_head: bool) -> tuple[Message, ...]:
    """What the sheet says of zeros."""
    return tuple(_remarks(machine, on_head))


def _remarks(machine: Machine, on_head: bool) -> Iterator[Message]:
    for name in "XYZ":
        axis = machine.axis(name)
        if axis.errors:
            yield Message("the zero of {axis} must lie at {place:g} mm of its own scale: its table "
                          "of errors counts from there (errors-zero in the machine file)",
                          axis=name, place=axis.errors_zero)
    lost = [name for name in "XY" if machine.axis(name).lost]
    if lost:
        yield Message("set the zero of {axes} coming from smaller places, as holes are come to",
                      axes=tuple(lost))
    if on_head and _has_table(machine):
        yield Message("turn the head to its own zero mark, from below, before the start: its table "
                      "of errors counts from there")


def zero_notes(machine: Machine, *, on_head: bool) -> tuple[Message, ...]:
    """What the program says of zeros that a table of errors counts from."""
    found: list[Message] = []
    if machine.measured:
        found.append(Message("PLACES ARE PUT RIGHT BY WHAT WAS MEASURED OF THE MACHINE"))
    if on_head and _has_table(machine):
        found.append(Message("HEAD AT ITS OWN ZERO MARK BEFORE THE START"))
    return tuple(found)


def _has_table(machine: Machine) -> bool:
    return isinstance(machine.dividing, DrivenHead) and bool(machine.dividing.errors)
