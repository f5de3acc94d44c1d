"""A spindle that has some speeds and no others: belts and gears, set by a word, by hand or by S."""

from __future__ import annotations

from camgen.messages import Message
from camgen.reader.control.state import Control

__all__ = ["set_step", "speed_said", "step_in_force"]


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
