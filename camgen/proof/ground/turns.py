"""Turns of the head as planned and as read: which are the same, which lie on the way."""

from __future__ import annotations

from typing import Any

import numpy as np

from camgen.shop.machine import DrivenHead, Machine

__all__ = ["angles_apart", "counts_whole_turns", "on_the_way"]


def angles_apart(planned: Any, read: Any, *, limited: bool) -> Any:
    """Degrees between where the head is and where it was meant to be.

    ``limited``: the head may stand whole turns beside what was meant, as well as it would there.
    """
    apart = np.abs(planned - read)
    return np.minimum(apart % 360.0, 360.0 - apart % 360.0) if limited else apart


def counts_whole_turns(machine: Machine) -> bool:
    """Whether the head may be whole turns beside what was planned: limits, or pulses one way."""
    head = machine.dividing
    return isinstance(head, DrivenHead) and (
        head.limits is not None or machine.rotary.way == "by-pulse")


def on_the_way(
    planned: tuple[float, float], read: tuple[float, float], machine: Machine, slack: float
) -> bool:
    """Whether a turn read leads somewhere between where a planned one starts and ends.

    Both from where to where, degrees; ``slack`` degrees is what rounding may be off.
    """
    head, there = machine.dividing, read[1]
    if machine.rotary.way == "by-pulse":
        # Always on: where that leads is asked once it stands.
        return there > read[0]
    take_up = head.take_up if isinstance(head, DrivenHead) else 0.0
    low, high = sorted(planned)
    if planned[1] < planned[0]:
        # Turned back, the head may go past and come up again, to take up its backlash.
        low -= take_up
    if counts_whole_turns(machine):
        there = low - take_up + (there - low + take_up) % 360.0
        low -= take_up
    return low - slack <= there <= high + slack
