"""A head that one word turns by its own set step, counted from where it stood at the start."""

from __future__ import annotations

from camgen.messages import Message
from camgen.reader.control.journal import NAN
from camgen.reader.control.moves import begin_moving, clear_first
from camgen.reader.control.state import Control, emit
from camgen.reader.motion import Kind
from camgen.reader.text.words import Block

__all__ = ["by_pulse"]


def by_pulse(control: Control, line: int, code: int, column: int, block: Block) -> None:
    """A step of the head, or its answer waited for: in a block of its own, or which comes first?"""
    journal, dialect = control.journal, control.dialect
    beside = [word for word in block.words if word.letter != "N" and word.column != column]
    if beside:
        journal.grave(
            Message("{word} beside other words: whether the head turns before them is not certain",
                    word=f"M{code}"), line, column, unsure=("turns",))
    if code == dialect.pulse:
        _turn(control, line)
    else:
        journal.tell("answered", line)


def _turn(control: Control, line: int) -> None:
    """One step of a head that turns by its own, always the same way, counted from the start."""
    journal, place = control.journal, control.place
    if not control.started:
        begin_moving(control, line)
    if not place.turned:
        place.turned = True
        journal.tell("head", line)
    journal.tell("pulse", line)
    if journal.watch:
        journal.tell_way(line, "turn", place.position, set())
    clear_first(control, line, set(), turning=True)
    place.pulses += 1
    place.angle = 360.0 * place.pulses / control.dialect.pulses
    emit(control, Kind.INDEX, line, place.position, NAN)
