"""Where a program's motion halts and what it waits for: one rule for all that tell its time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from camgen.reader.motion import Event, EventKind, ReadProgram
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = ["Wait", "events_in_order", "halts", "waits"]


@dataclass(frozen=True, slots=True)
class Wait:
    """Time without motion, ``seconds``: a dwell, or a change of cutter; ``before`` which piece.

    ``line`` is that of its block, from 1, in its own program. ``cutter`` is the number of the one
    put in, 0 where none is.
    """

    before: int
    kind: EventKind
    seconds: float
    line: int
    cutter: int = 0


def events_in_order(programs: Sequence[ReadProgram]) -> list[tuple[int, Event]]:
    """Events of programs run one after another, each with the number of pieces before it in all."""
    found: list[tuple[int, Event]] = []
    begun = 0
    for program in programs:
        found += [(begun + event.before, event) for event in program.events]
        begun += len(program.motion)
    return found


def halts(events: Iterable[tuple[int, Event]]) -> list[int]:
    """The pieces before which the axes come to a stand: all but a comment halts them."""
    return [before for before, event in events if event.kind != "comment"]


def waits(events: Iterable[tuple[int, Event]], machine: Machine) -> list[Wait]:
    """What is waited for, in order.

    Turns by hand are pieces of motion with a time of their own; how long a person looks or
    measures at a stop is not known, and is not counted.
    """
    found: list[Wait] = []
    for before, event in events:
        seconds = (event.value if event.kind == "dwell" else
                   machine.change.seconds if event.kind == "cutter-change" else 0.0)
        if seconds > 0:
            found.append(Wait(before, event.kind, seconds, event.line,
                              int(event.value) if event.kind == "cutter-change" else 0))
    return found
