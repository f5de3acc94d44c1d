"""Cutting forces by Kienzle's law, power and torque. Forces N, lengths mm, power W, torque N·mm.

Kienzle: the specific force is kc = kc1 · h^−mc, h the chip's thickness in mm, so the tangential
force of an edge of the length b is kc1 · b · h^(1−mc) (O. Kienzle 1952, and VDI 3323 for kc1 and mc
by material group; from memory). New, sharp tools; a factor for wear is put on by the caller.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import pi

__all__ = [
    "drill_thrust",
    "drill_torque",
    "mean_power",
    "power_at",
    "specific_force",
    "tangential_force",
    "torque_at",
]


def specific_force(kc1: float, mc: float, chip: float) -> float:
    """Specific cutting force at the chip thickness ``chip``, N/mm².

    >>> round(specific_force(700, 0.27, 1.0)), round(specific_force(700, 0.27, 0.01))
    (700, 2427)
    """
    return float(kc1 * chip**-mc)


def tangential_force(kc1: float, mc: float, edge: float, chip: float) -> float:
    """Tangential force of an edge ``edge`` long taking a chip ``chip`` thick, N.

    >>> round(tangential_force(1700, 0.24, 1.0, 0.1), 1)
    295.4
    """
    return float(kc1 * edge * chip ** (1.0 - mc))


def mean_power(kc1: float, mc: float, section: float, feed: float, mean_chip: float) -> float:
    """Mean power of milling, W: section · feed · kc(mean chip) / 60000.

    ``section`` is the area of metal the cutter goes through, mm² (depth × width), ``feed`` mm/min.
    The usual formula of tool catalogues, P = ap·ae·vf·kc/(60·10⁶) in kW (from memory).

    >>> round(mean_power(1700, 0.24, 2.0, 500.0, 0.05), 1)
    58.1
    """
    return float(section * feed * kc1 * mean_chip**-mc / 60000.0)


def power_at(curve: Sequence[tuple[float, float]], rpm: float) -> float:
    """Power the spindle gives at ``rpm``, W, from points (rev/min, W) rising in speed.

    Straight between the points, flat beyond the last; below the first the torque is taken as
    constant, so the power falls in proportion.

    >>> curve = ((1000.0, 20.0), (12000.0, 200.0), (24000.0, 200.0))
    >>> power_at(curve, 500.0), power_at(curve, 18000.0)
    (10.0, 200.0)
    """
    first, last = curve[0], curve[-1]
    if rpm <= first[0]:
        return first[1] * rpm / first[0]
    if rpm >= last[0]:
        return last[1]
    for (slow, less), (fast, more) in pairwise(curve):
        if rpm <= fast:
            return less + (more - less) * (rpm - slow) / (fast - slow)
    return last[1]


def torque_at(curve: Sequence[tuple[float, float]], rpm: float) -> float:
    """Torque the spindle gives at ``rpm``, N·mm: 1000 · P / (2π n/60).

    >>> round(torque_at(((1000.0, 20.0), (12000.0, 200.0)), 12000.0), 1)
    159.2
    """
    return power_at(curve, rpm) * 30000.0 / (pi * rpm)


def drill_torque(kc: float, feed: float, diameter: float) -> float:
    """Torque of a twist drill, N·mm: kc · f · D² / 8, ``feed`` in mm a turn.

    Both lips together take the area f·D/2, their force acts at D/4 (handbooks, from memory).

    >>> drill_torque(1000.0, 0.1, 4.0)
    200.0
    """
    return kc * feed * diameter * diameter / 8.0


def drill_thrust(kc: float, feed: float, diameter: float, lip_angle_sine: float,
                 chisel: float) -> float:
    """Thrust of a twist drill, N: chisel · 0.5 · kc · f · D/2 · sin κ.

    κ is half the point angle. The lips alone give the formula of tool catalogues with ``chisel`` 1
    (from memory); the chisel edge roughly doubles it.

    >>> drill_thrust(1000.0, 0.1, 4.0, 1.0, 1.0)
    100.0
    """
    return chisel * 0.5 * kc * feed * diameter / 2.0 * lip_angle_sine
