"""Divisions on the head that a machine has."""

from __future__ import annotations

from collections.abc import Sequence

from camgen.dividing.by_hand import divide_by_hand
from camgen.dividing.division import Division
from camgen.dividing.driven import divide_by_pulses, divide_driven
from camgen.shop.machine import DrivenHead, HandHead

__all__ = ["divide"]


def divide(count: int, head: DrivenHead | HandHead, also: Sequence[float] = ()) -> Division:
    """``count`` divisions on ``head``; ``also`` are degrees that it is turned by between two
    rounds, for which hole plates have a circle. Raises Refused when they cannot be had.

    >>> divide(75, DrivenHead()).angles[:3]
    (0.0, 4.8, 9.6)
    >>> divide(8, DrivenHead(pulses=24)).angles[:3]
    (0.0, 45.0, 90.0)
    """
    if isinstance(head, DrivenHead) and head.pulses is not None:
        return divide_by_pulses(count, head.pulses, head_arcsec=head.pitch_error)
    if isinstance(head, DrivenHead):
        return divide_driven(
            count, head.increment, head.worm_ratio, head.motor_steps, head_arcsec=head.pitch_error
        )
    return divide_by_hand(count, head.worm_ratio, head.plates, also=also)
