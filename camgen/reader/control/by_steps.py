"""What goes by steps: a spindle with some speeds and no others, a head turned by one word.

Belts and gears are set by a word, by hand or by S; each pulse turns the head by its own set step,
counted from where it stood at the start.
"""

from __future__ import annotations

from camgen.messages import Message
from camgen.reader.control.journal import NAN
from camgen.reader.control.moves import begin_moving, clear_first
from camgen.reader.control.state import Control, emit
from camgen.reader.motion import Kind
from camgen.reader.text.words import Block

__all__ = ["by_pulse", "set_step", "speed_said", "step_in_force"]


def set_step(control: Control, line: int, speed: float, *, by_hand: bool) -> None:
    """The step of ``speed`` rev/min is set, by a word or by whoever reads the message."""
    journal, spindle, steps = control.journal, control.spindle, control.dialect.steps
    assert steps is not None
    if speed not in steps.speeds:
        journal.grave(
            Message("the spindle is to be set for {speed:g} rev/min, which is none of its steps",
                    speed=speed), line, unsure=("speeds",))
    if spindle.sense and not by_hand:
        journal.grave(Message("a step of the spindle is set while it turns"), line)
    runs_down = control.machine.spindle.stop_seconds
    if not spindle.sense and not by_hand and spindle.stood < runs_down - 1e-6:
        journal.grave(
            Message("a step of the spindle is set {seconds:g} s after it was stopped, and it runs "
                    "down for {down:g} s", seconds=spindle.stood, down=runs_down), line)
    spindle.step = speed
    journal.tell("step", line, "by hand" if by_hand else "by word", speed)


def speed_said(control: Control, line: int, figure: float, column: int) -> float:
    """What S says, rev/min."""
    journal, steps = control.journal, control.dialect.steps
    says = control.machine.spindle_words.s_says
    if steps is None or figure < 0:
        return figure
    if says == "nothing":
        journal.grave(Message("S{figure:g}, and the machine file says that S says nothing",
                              figure=figure), line, column, unsure=("speeds",))
        return control.spindle.step
    if says == "step":
        speed = steps.by_s.get(int(figure)) if figure == int(figure) else None
        if speed is None:
            journal.grave(Message("S{figure:g} is the code of no step of the spindle",
                                  figure=figure), line, column, unsure=("speeds",))
            return 0.0
        return speed
    if figure and figure not in steps.speeds:
        journal.grave(Message("S{figure:g} is none of the speeds that the spindle has",
                              figure=figure), line, column, unsure=("speeds",))
    return figure


def step_in_force(control: Control, line: int) -> None:
    """The spindle starts: the step of its speed must be set."""
    spindle, steps = control.spindle, control.dialect.steps
    if steps is None or spindle.rate not in steps.set_first or spindle.step == spindle.rate:
        return
    control.journal.grave(
        Message("the spindle starts for {speed:g} rev/min, and is set for {step:g}",
                speed=spindle.rate, step=spindle.step) if spindle.step else
        Message("the spindle starts for {speed:g} rev/min, and nothing sets its step",
                speed=spindle.rate), line, unsure=("speeds",))


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
