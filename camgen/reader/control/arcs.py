"""Arcs as a control works them out: the centre from R, and whether the figures close."""

from __future__ import annotations

import math
from typing import Final

from camgen.messages import Message

__all__ = ["CLOSING", "NoSuchMotion", "centre_by_quadrant", "centre_from_radius",
           "closing_error"]

CLOSING: Final = 0.002
"""Two radii of one arc may differ by this much, mm (NISTIR 6556, from memory)."""


class NoSuchMotion(ValueError):
    """Figures of which no control makes a motion; ``message`` says why."""

    def __init__(self, message: Message) -> None:
        super().__init__(message)
        self.message = message


def closing_error(
    start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float]
) -> float:
    """How far the end point lies off the circle through the start point, mm.

    >>> closing_error((1.0, 0.0), (0.0, 1.0), (0.0, 0.0))
    0.0
    """
    first = math.sqrt((start[0] - centre[0]) ** 2 + (start[1] - centre[1]) ** 2)
    second = math.sqrt((end[0] - centre[0]) ** 2 + (end[1] - centre[1]) ** 2)
    return abs(first - second)


def centre_from_radius(
    start: tuple[float, float], end: tuple[float, float], radius: float, clockwise: bool
) -> tuple[float, float]:
    """Centre of the arc of ``radius`` (negative: the sweep over 180°), in the plane's two axes.

    Raises NoSuchMotion when the ends coincide or lie further apart than the diameter by more than
    :data:`CLOSING`.

    >>> x, y = centre_from_radius((1.0, 0.0), (0.0, 1.0), 1.0, clockwise=False)
    >>> round(x, 12) + 0.0, round(y, 12) + 0.0
    (0.0, 0.0)
    """
    across, up = end[0] - start[0], end[1] - start[1]
    chord = math.sqrt(across * across + up * up)
    if chord == 0.0:
        raise NoSuchMotion(Message(
            "an arc by radius whose end is its start: its centre could be anywhere"))
    size = abs(radius)
    if chord > 2 * size + CLOSING:
        raise NoSuchMotion(Message(
            "the ends are {chord:.4f} mm apart, more than twice the radius of {size:g} mm",
            chord=chord, size=size))
    rise = math.sqrt(max(0.0, size * size - chord * chord / 4))
    # Anticlockwise arcs under 180° have their centre to the left of the chord.
    if clockwise != (radius < 0):
        rise = -rise
    return (
        (start[0] + end[0]) / 2 - up / chord * rise,
        (start[1] + end[1]) / 2 + across / chord * rise,
    )


def centre_by_quadrant(
    start: tuple[float, float], end: tuple[float, float], off: tuple[float, float],
    clockwise: bool,
) -> tuple[float, float]:
    """Centre of an arc within one quadrant, whose distances ``off`` from its start have no sign.

    Anticlockwise it lies to the left of the way: against the second axis's growth along the first,
    with the first's along the second. Raises NoSuchMotion for distances with a sign, and where the
    end does not say on which side the centre lies.

    >>> centre_by_quadrant((1.0, 0.0), (0.0, 1.0), (1.0, 0.0), clockwise=False)
    (0.0, 0.0)
    """
    if min(off) < 0.0:
        raise NoSuchMotion(Message(
            "a centre with a sign, and the machine file says that it has none"))
    along, up = end[0] - start[0], end[1] - start[1]
    if (off[0] and up == 0.0) or (off[1] and along == 0.0):
        raise NoSuchMotion(Message("an arc whose end does not say on which side its centre lies"))
    side = 1.0 if clockwise else -1.0
    return (start[0] + math.copysign(off[0], side * up) if off[0] else start[0],
            start[1] + math.copysign(off[1], -side * along) if off[1] else start[1])
