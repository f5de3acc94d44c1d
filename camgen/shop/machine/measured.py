"""What was measured of a machine: how a table of errors is written, and what it may hold.

Bounds are far beyond what a machine that cuts well shows, so that a slip of the point is named
(common practice, no source).
"""

from itertools import pairwise
from typing import Final, TypeAlias

from camgen.messages import Message

__all__ = ["Errors", "head_table", "rising", "scale_meant"]

Errors: TypeAlias = tuple[tuple[float, float], ...]
_SCALE: Final = 0.005
"""A slide that is farther off than this share goes by a wrong ratio, not by a worn screw."""
_ARC_SECONDS: Final = 600.0
"""Largest error of a dividing head, and how much it may change in a degree."""


def scale_meant(scale: float) -> float:
    """``scale``, a share, or ValueError where it is beyond what a screw is off by.

    >>> scale_meant(1.0004)
    1.0004
    """
    if abs(scale - 1.0) > _SCALE:
        raise ValueError(Message(
            "a slide that goes {scale:g} mm for each mm told is set up wrongly: put its ratio "
            "right in the control and measure again; what is left is between {low:g} and {high:g}",
            scale=scale, low=1.0 - _SCALE, high=1.0 + _SCALE))
    return scale


def rising(errors: Errors, unit: float) -> Errors:
    """``errors`` where places rise and errors stay small beside them, else ValueError.

    ``unit`` is how many errors go into one place: 1 for mm in mm, 3600 for arc-seconds in degrees.
    """
    if len(errors) == 1:
        raise ValueError(Message("a table of errors needs two places or more"))
    for (place, error), (further, after) in pairwise(errors):
        if further <= place:
            raise ValueError(Message(
                "places in a table of errors must rise: {further:g} comes after {place:g}",
                further=further, place=place))
        if abs(after - error) > _SCALE * unit * (further - place):
            raise ValueError(Message(
                "from {place:g} to {further:g} the error changes by {change:g}, more than any "
                "screw or worm does", place=place, further=further, change=after - error))
    return errors


def head_table(errors: Errors) -> Errors:
    """A dividing head's ``errors`` over one turn, else ValueError."""
    rising(errors, 3600.0)
    for place, error in errors:
        if not 0.0 <= place < 360.0:
            raise ValueError(Message(
                "{place:g} is not in one turn: angles go from 0 to below 360", place=place))
        if abs(error) > _ARC_SECONDS:
            raise ValueError(Message(
                "an error of {error:g} arc-seconds is more than any dividing head has",
                error=error))
    if errors:
        (first, one), (last, other) = errors[0], errors[-1]
        rising(((last, other), (first + 360.0, one)), 3600.0)
    return errors
