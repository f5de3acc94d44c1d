"""Places at angles that need not be equal: each rounded once, from the head's zero."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from camgen.dividing.division import (
    ARC_SECONDS,
    Division,
    division_of,
    fraction,
    goes_to,
    nearest_whole,
    starts_in,
)
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.machine import DrivenHead, HandHead

__all__ = ["circles_for", "divide_at"]

# Angles are typed to a millionth of a degree at the finest.
FINEST = 10**6


def divide_at(angles: Sequence[float], head: DrivenHead | HandHead) -> Division:
    """The places of a head at ``angles``, degrees from its zero, rising from 0 to less than 360.

    A head turned by hand goes to all of them on one circle of holes. Raises Refused where a place
    cannot be had, and says what could.

    >>> divide_at((0.0, 72.5, 180.0), DrivenHead()).angles
    (0.0, 72.5, 180.0)
    >>> divide_at((0.0, 90.0, 135.0), HandHead(plates=((18, 24),))).settings[2]
    '5 turns on the 18 circle, to hole 0'
    """
    wanted = [Fraction(one).limit_denominator(FINEST) for one in angles]
    if isinstance(head, HandHead):
        return _by_hand(wanted, head)
    if head.pulses is not None:
        step = Fraction(360, head.pulses)
        off = [one for one in wanted if (one / step).denominator != 1]
        if off:
            raise Refused(Fault(
                Message("{angle:g} degrees is no whole number of the head's steps of {step:g}",
                        angle=float(off[0]), step=float(step)),
                Message("the nearest are {low:g} and {high:g}; or set other steps on the head and "
                        "say so under dividing.pulses", low=float(off[0] // step * step),
                        high=float((off[0] // step + 1) * step))))
        made = wanted
    else:
        step = fraction(head.increment)
        motor = Fraction(360) / (fraction(head.worm_ratio) * head.motor_steps)
        written = [nearest_whole(one / step) * step for one in wanted]
        made = [nearest_whole(one / motor) * motor for one in written]
        return replace(_of(written, [(got - asked) * ARC_SECONDS
                                     for got, asked in zip(made, wanted, strict=True)]),
                       head_arcsec=head.pitch_error)
    return replace(_of(made, [Fraction(0)] * len(made)), head_arcsec=head.pitch_error)


def circles_for(angles: Sequence[float], head: HandHead) -> tuple[int, ...]:
    """The circles with a hole at every one of the angles, degrees, the smallest first.

    >>> circles_for((0.0, 90.0, 130.0), HandHead(plates=((18, 24, 27, 39),)))
    (18, 27)
    """
    wanted = [Fraction(one).limit_denominator(FINEST) for one in angles]
    return tuple(circle for circle in _circles(head) if all(
        _holes(one, head, circle).denominator == 1 for one in wanted))


def _by_hand(wanted: list[Fraction], head: HandHead) -> Division:
    serving = circles_for([float(one) for one in wanted], head)
    if not serving:
        raise Refused(_no_circle(wanted, head))
    circle = serving[0]
    places = [int(_holes(one, head, circle)) for one in wanted]
    texts = [starts_in(places[0] % circle, circle)]
    for before, here in itertools.pairwise(places):
        turns, holes = divmod(here - before, circle)
        texts.append(goes_to(turns, holes, circle, here % circle))
    return replace(_of(wanted, [Fraction(0)] * len(wanted)), settings=tuple(texts),
                   places=tuple(places), circle=circle,
                   whole=int(fraction(head.worm_ratio) * circle))


def _of(made: Sequence[Fraction], errors: Sequence[Fraction]) -> Division:
    return division_of(len(made), tuple(float(one) for one in made),
                       [float(one) for one in errors], 0.0)


def _circles(head: HandHead) -> list[int]:
    return sorted({circle for plate in head.plates for circle in plate})


def _holes(angle: Fraction, head: HandHead, circle: int) -> Fraction:
    """How many holes of a circle an angle is from the zero."""
    return angle * fraction(head.worm_ratio) * circle / 360


def _no_circle(wanted: list[Fraction], head: HandHead) -> Fault:
    """Which circle comes nearest, and by how much it is off."""
    def worst(circle: int) -> tuple[Fraction, Fraction]:
        hole = Fraction(360) / (fraction(head.worm_ratio) * circle)
        return max((abs(nearest_whole(one / hole) * hole - one), one) for one in wanted)

    circle = min(_circles(head), key=worst)
    off, angle = worst(circle)
    hole = Fraction(360) / (fraction(head.worm_ratio) * circle)
    return Fault(
        Message("no circle of holes has a hole at every one of the angles"),
        Message("on the {circle} circle the worst is {angle:g} degrees, {off:.1f} arc-seconds "
                "beside a hole: {near:.6g} has one; or plates with another circle", circle=circle,
                angle=float(angle), off=float(off * ARC_SECONDS),
                near=float(nearest_whole(angle / hole) * hole)))
