"""Divisions on a driven head: rounded to its least step, and again to the steps of its motor."""

from __future__ import annotations

import math
from fractions import Fraction

from camgen.dividing.division import (
    Division,
    check_count,
    division_of,
    errors_of,
    fraction,
    nearest_whole,
)
from camgen.faults import Fault, Refused
from camgen.messages import Message

__all__ = ["divide_driven"]


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
