"""Speeds that can be had: a cut is planned at one of them, and its feed follows.

A spindle with belts or gears has some speeds and no others. The cut is planned freely first, and
then once more at the highest speed there is that is not above what was chosen.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import wraps
from typing import Any, ParamSpec

from camgen.cutting.answer import CutPlan
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.machine import Machine

__all__ = ["at_speeds_had"]

P = ParamSpec("P")


def at_speeds_had(plan: Callable[P, CutPlan]) -> Callable[P, CutPlan]:
    """A planner that only takes speeds the machine's spindle has.

    ``plan`` takes the machine third and the speed by its name. Raises Refused as it does, and
    where a speed is asked for that the spindle does not have.
    """
    @wraps(plan)
    def planned(*args: P.args, **named: P.kwargs) -> CutPlan:
        machine = args[2]
        assert isinstance(machine, Machine)
        spindle = machine.spindle
        if not spindle.steps:
            return plan(*args, **named)
        asked: Any = named.get("speed")
        if asked is not None:
            if spindle.step_at(asked) is None:
                raise Refused(Fault(
                    Message("the speed of {asked:g} rev/min is not one of this spindle",
                            asked=asked),
                    Message("write one of {speeds}",
                            speeds=tuple(str(one.speed) for one in spindle.steps))))
            return plan(*args, **named)
        free = plan(*args, **named)
        if spindle.step_at(free.speed) is not None:
            return free
        speeds = [one.speed for one in spindle.steps if one.speed <= spindle.at_most(free.speed)]
        first: Refused | None = None
        for speed in reversed(speeds):
            try:
                cut = plan(*args, **{**named, "speed": float(speed)})  # type: ignore[arg-type]
            except Refused as no:
                first = first or no
                continue
            return replace(cut, governed_by={
                **cut.governed_by, "speed": Message("speeds that the spindle has")})
        assert first is not None
        raise first

    return planned
