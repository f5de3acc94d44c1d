"""How far a cutter bends and how near it is to breaking. Lengths mm, forces N, stresses N/mm²."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi, sqrt

__all__ = [
    "bending_factor",
    "buckling_force",
    "cone_stress",
    "principal_stress",
    "tip_compliance",
    "torsion_factor",
]

Sections = Sequence[tuple[float, float]]


def tip_compliance(sections: Sections, modulus: float) -> float:
    """Bending at the tip for one newton across it, mm/N, of a stepped round bar held at its root.

    ``sections`` from the tip: (length, diameter). By superposition of ∫x²/(EI) dx over the parts,
    x from the tip: Σ (x₂³ − x₁³)/(3 E I), I = πd⁴/64 (Castigliano; any text on strength of
    materials, from memory). One part gives the L³/(3EI) of the plain cantilever.

    >>> round(1000 * tip_compliance([(1.2, 0.32)], 600e3), 3)
    1.865
    """
    total = 0.0
    start = 0.0
    for length, diameter in sections:
        end = start + length
        total += (end**3 - start**3) / diameter**4
        start = end
    return total * 64.0 / (3.0 * pi * modulus)


def bending_factor(sections: Sections) -> float:
    """Greatest bending stress for one newton at the tip, 1/mm²: the largest of 32·x/(πd³).

    x is the distance of a section's far end from the tip (elementary bending of round bars, from
    memory).

    >>> round(bending_factor([(1.0, 1.0)]) * pi / 32, 6)
    1.0
    """
    worst = 0.0
    end = 0.0
    for length, diameter in sections:
        end += length
        worst = max(worst, end / diameter**3)
    return worst * 32.0 / pi


def torsion_factor(diameter: float) -> float:
    """Greatest shear stress for one N·mm of torque on a round bar, 1/mm³: 16/(πd³) (from memory).

    >>> round(torsion_factor(1.0), 4)
    5.093
    """
    return 16.0 / (pi * diameter**3)


def principal_stress(bending: float, shear: float) -> float:
    """Greatest tensile stress of bending and torsion together, N/mm²: σ/2 + √(σ²/4 + τ²).

    Brittle materials break by it (greatest-stress rule, any text on strength, from memory).

    >>> principal_stress(3.0, 2.0)
    4.0
    """
    return bending / 2.0 + sqrt(bending * bending / 4.0 + shear * shear)


def cone_stress(tip: float, slope: float, least: float, depth: float, around: float) -> float:
    """Greatest stress in a cone for one newton spread evenly over ``depth`` from its tip, 1/mm².

    At the height h it is d = tip + slope·h across, and no less than ``least``, and bears what acts
    below: the moment h²/2 over πd³/32, greatest at h = 2·tip/slope, and of ``around`` N along the
    edge the torque (tip·h + slope·h²/2)/2 over πd³/16, greatest at (√3 − 1)·tip/slope, or where the
    cone becomes wider than ``least`` (bending and torsion of round bars, and derivatives). The
    greatest of both together is on the safe side.

    >>> round(cone_stress(1.0, 1e-9, 0.0, 1.0, 0.0) * pi / 16, 6)
    1.0
    """
    begin = max(0.0, (least - tip) / slope)
    bent = min(depth, max(begin, 2.0 * tip / slope))
    turned = min(depth, max(begin, (sqrt(3.0) - 1.0) * tip / slope))
    moment = bent * bent / 2.0 / depth
    torque = around * (tip * turned + slope * turned * turned / 2.0) / 2.0 / depth
    return principal_stress(32.0 * moment / (pi * max(least, tip + slope * bent) ** 3),
                            torque * torsion_factor(max(least, tip + slope * turned)))


def buckling_force(length: float, diameter: float, modulus: float) -> float:
    """Thrust at which a thin drill gives way sideways, N.

    Euler's column held at the root, its point led by the hole: π²EI/(0.7·L)² with I = πd⁴/64 (from
    memory).

    >>> round(buckling_force(10.0, 0.5, 600e3), 1)
    370.8
    """
    return pi**2 * modulus * (pi * diameter**4 / 64.0) / (0.7 * length) ** 2
