"""Dividing the circle: angles for a driven head, hole-plate settings for a head turned by hand.

Every position is reckoned from the first one and rounded once; nothing is summed, so the error of
the last space is that of one rounding. Angles are degrees, errors arc-seconds, lengths mm.
"""

from camgen.dividing.at_angles import circles_for, divide_at
from camgen.dividing.by_hand import (
    angle_settings,
    compound_settings,
    divide_by_hand,
    hole_settings,
    nearest_counts,
)
from camgen.dividing.division import LARGEST_COUNT, SMALLEST_COUNT, Compound, Division, HoleSetting
from camgen.dividing.driven import divide_by_pulses, divide_driven
from camgen.dividing.head import divide

__all__ = [
    "LARGEST_COUNT",
    "SMALLEST_COUNT",
    "Compound",
    "Division",
    "HoleSetting",
    "angle_settings",
    "circles_for",
    "compound_settings",
    "divide",
    "divide_at",
    "divide_by_hand",
    "divide_by_pulses",
    "divide_driven",
    "hole_settings",
    "nearest_counts",
]
