"""Divisions on a driven head: rounded to its least step, and again to the steps of its motor."""

from __future__ import annotations

import math
from fractions import Fraction

from camgen.dividing.division import (
    LARGEST_COUNT,
    SMALLEST_COUNT,
    Division,
    check_count,
    division_of,
    errors_of,
    fraction,
    nearest_whole,
)
from camgen.faults import Fault, Refused
from camgen.messages import Message

__all__ = ["divide_by_pulses", "divide_driven"]


def divide_driven(
    count: int,
    increment: float,
    worm_ratio: float,
    motor_steps: int,
    *,
    head_arcsec: float = 0.0,
) -> Division:
    """Divisions on a driven head.

    ``increment`` is the least step of the rotary word, degrees; ``worm_ratio`` the worm's turns for
    one of the spindle; ``motor_steps`` the motor's steps for one turn of the worm; ``head_arcsec``
    the head's own error. Each angle k·360/N is rounded to the increment, and what was written is
    rounded again by the drive to whole steps. Raises Refused when N is out of range or when
    neighbouring spaces fall together.

    >>> seven = divide_driven(7, 0.001, 90.0, 3200)
    >>> seven.angles[1], round(seven.worst_single_arcsec, 3)
    (51.429, 3.857)
    """
    check_count(count)
    if not all(0 < size < math.inf for size in (increment, worm_ratio, motor_steps)):
        raise Refused(Fault(Message("the head's increment, ratio and steps must be above 0")))
    step = fraction(increment)
    one_step = Fraction(360) / (fraction(worm_ratio) * motor_steps)
    written = [nearest_whole(Fraction(360 * k, count) / step) * step for k in range(count)]
    made = [nearest_whole(angle / one_step) for angle in written]
    if len(set(made)) < count:
        raise Refused(
            Fault(
                Message("{count} divisions are finer than the head's steps of {step:.4f}°",
                        count=count, step=float(max(step, one_step))),
                Message("a head with a higher ratio or a finer increment is needed"),
            )
        )
    errors = errors_of(made, one_step, count)
    return division_of(count, tuple(map(float, written)), errors, head_arcsec)


def divide_by_pulses(count: int, pulses: int, *, head_arcsec: float = 0.0) -> Division:
    """Divisions on a head that turns by a set step, ``pulses`` of them to one turn.

    Raises Refused when N is out of range or a space is no whole number of steps.

    >>> divide_by_pulses(12, 24).angles[1]
    30.0
    """
    check_count(count)
    if pulses % count:
        able = tuple(n for n in range(SMALLEST_COUNT, min(pulses, LARGEST_COUNT) + 1)
                     if pulses % n == 0)
        raise Refused(Fault(
            Message("{count} divisions are no whole numbers of the head's steps, {pulses} to a "
                    "turn", count=count, pulses=pulses),
            Message("with these {able} divisions can be had: set other steps on the head and say "
                    "so under dividing.pulses, or divide otherwise", able=able)))
    made = [k * (pulses // count) for k in range(count)]
    angles = tuple(float(Fraction(360 * k, count)) for k in range(count))
    return division_of(count, angles, errors_of(made, Fraction(360, pulses), count), head_arcsec)
