"""The chip: how far a cutter is engaged and how thick a chip its teeth take. Lengths mm.

A chip is measured square to the edge. With the feed a tooth ``chip_load`` along the path and the
tooth at the angle φ from the point where it enters the full radius line, its thickness is
chip_load · sin φ · sin κ, κ the angle between edge and cutter's axis-normal plane (plane geometry
with the tooth's path taken as a circle: true while the chip load is small beside the radius).
"""

from __future__ import annotations

from math import acos, cos, pi, sin, sqrt, tau
from math import radians as in_radians

from camgen.values import dataclass

__all__ = [
    "EdgeShape",
    "chip_load_for_peak",
    "effective_width_in_circle",
    "engagement",
    "mean_chip_share",
    "peak_chip_share",
    "plain_edge",
    "pointed_edge",
    "round_edge",
    "rounded_corner",
    "teeth_sum",
    "top_tooth",
]


def engagement(width: float, diameter: float) -> float:
    """Angle a tooth spends in the metal, radians, 0 to π.

    φ = arccos(1 − 2a/D) for a radial width a (plane geometry). A width over the diameter counts as
    a full slot.

    >>> round(engagement(0.5, 1.0), 6) == round(pi / 2, 6)
    True
    """
    share = width / diameter
    return pi if share >= 1.0 else acos(1.0 - 2.0 * share)


def peak_chip_share(width: float, diameter: float) -> float:
    """Thickest chip over the chip load: 2·√(a/D − (a/D)²) below half the diameter, else 1.

    ``width`` a and ``diameter`` D in mm.
    Plane geometry; the radial thinning of chips in every handbook of milling.

    >>> round(0.010 * peak_chip_share(0.1, 1.0), 6)
    0.006
    """
    share = width / diameter
    return 1.0 if share >= 0.5 else 2.0 * sqrt(share - share * share)


def mean_chip_share(width: float, diameter: float) -> float:
    """Mean over the engagement of the chip's thickness, over the chip load: (2a/D)/φ.

    The mean of sin φ from 0 to φ is (1 − cos φ)/φ, and 1 − cos φ = 2a/D; a and D in mm.

    >>> round(mean_chip_share(1.0, 1.0), 4) == round(2 / pi, 4)
    True
    """
    share = min(width / diameter, 1.0)
    return 2.0 * share / acos(1.0 - 2.0 * share)


def effective_width_in_circle(width: float, diameter: float, hole_diameter: float,
                              inside: bool = True) -> float:
    """Width, mm, of a straight cut with the same engagement as one along a circle.

    ``width`` is the metal taken off the radius of a hole finished at ``hole_diameter`` (inside) or
    off the outside of a disc finished at it. Law of cosines in the triangle of the circle's centre,
    the cutter's centre and the point where the old surface is met. Inside, the metal wraps round
    the cutter: more engagement than straight; outside less.

    Raises ValueError when the cutter does not go into the hole.

    >>> effective_width_in_circle(0.1, 1.0, 2.0) > 0.1 > effective_width_in_circle(
    ...     0.1, 1.0, 2.0, inside=False)
    True
    """
    radius, finished = diameter / 2.0, hole_diameter / 2.0
    path = finished - radius if inside else finished + radius
    if inside and path < 0:
        raise ValueError("the cutter is larger than the hole")
    if inside and path == 0:
        return diameter
    old = finished - width if inside else finished + width
    if inside and old <= abs(path - radius):
        return diameter
    # Angle at the cutter's centre between the way to the finished wall and to the old surface.
    turn = (old * old - path * path - radius * radius) / (2.0 * path * radius)
    share = turn if inside else -turn
    return radius * (1.0 - max(-1.0, min(1.0, share)))


def top_tooth(chip_load: float, run_out: float, teeth: int) -> float:
    """Feed that the highest tooth of a cutter running out takes, mm.

    With the total run-out e the highest tooth stands up to e above the next, so it takes the chip
    load and e, but never more than all the teeth's chips together (geometry).

    >>> round(top_tooth(0.010, 0.003, 2), 6), top_tooth(0.002, 0.003, 2)
    (0.013, 0.004)
    """
    return min(teeth * chip_load, chip_load + run_out)


def chip_load_for_peak(peak: float, run_out: float, teeth: int) -> float:
    """The chip load at which the highest tooth takes ``peak``: :func:`top_tooth` backwards.

    All in mm a tooth, ``run_out`` in mm.

    >>> round(chip_load_for_peak(0.013, 0.003, 2), 6), chip_load_for_peak(0.004, 0.003, 2)
    (0.01, 0.002)
    """
    return max(peak - run_out, peak / teeth)


@dataclass(frozen=True, slots=True)
class EdgeShape:
    """The edge in the metal at one depth.

    ``diameter`` is the largest that cuts, mm; ``peak`` the largest sin κ and ``mean`` the depth
    over the length of edge: chips are thinner by these and wider by 1/``mean`` (axial thinning).
    """

    diameter: float
    peak: float
    mean: float


def plain_edge(diameter: float) -> EdgeShape:
    """A cylindrical cutter: κ = 90°, no thinning."""
    return EdgeShape(diameter, 1.0, 1.0)


def pointed_edge(diameter: float, tip: float, point_angle: float, depth: float) -> EdgeShape:
    """A cone of the included ``point_angle`` in degrees on a tip of the diameter ``tip``, mm.

    Fed sideways by f two of its faces lie f · cos(half the included angle) apart: so much thinner
    is a chip, and so much longer than the depth the edge (geometry).

    >>> round(pointed_edge(3.0, 0.0, 90.0, 0.5).diameter, 6)
    1.0
    """
    half = in_radians(point_angle / 2.0)
    wide = min(diameter, tip + 2.0 * depth * sin(half) / cos(half))
    return EdgeShape(wide, cos(half), cos(half))


def round_edge(diameter: float, depth: float) -> EdgeShape:
    """A ball end: cuts at most at 2·√(d(D − d)) across at the depth d (geometry of the circle).

    The edge is an arc of the angle arccos(1 − 2d/D) at the ball's radius; its depth over its length
    is the mean thinning. All in mm.

    >>> round(round_edge(2.0, 0.2).diameter, 6)
    1.2
    """
    if depth >= diameter / 2.0:
        long = diameter * pi / 4.0 + (depth - diameter / 2.0)
        return EdgeShape(diameter, 1.0, depth / long)
    share = depth / diameter
    wide = 2.0 * sqrt(share - share * share)
    return EdgeShape(diameter * wide, wide, 2.0 * share / acos(1.0 - 2.0 * share))


def rounded_corner(diameter: float, corner: float, depth: float) -> EdgeShape:
    """An end mill with the corner radius ``corner`` at a ``depth``, all mm.

    Below the radius the edge is an arc from κ = 0 to arccos(1 − depth/corner).

    >>> rounded_corner(3.0, 0.5, 1.0).peak
    1.0
    """
    if corner <= 0.0:
        return plain_edge(diameter)
    if depth >= corner:
        long = corner * pi / 2.0 + (depth - corner)
        return EdgeShape(diameter, 1.0, depth / long)
    angle = acos(1.0 - depth / corner)
    return EdgeShape(diameter - 2.0 * corner * (1.0 - sin(angle)), sin(angle),
                     (depth / corner) / angle)


def teeth_sum(teeth: int, engaged: float, power: float) -> float:
    """Largest sum over the teeth in the metal of (sin φ)^power while the cutter turns.

    ``engaged`` is the engagement in radians, ``power`` from 0 to 1. While the same m teeth are in
    the metal the sum is a sum of concave functions, alike about 90°, so it is greatest where the
    teeth lie evenly about 90°, or as near to that as they can (exact).

    >>> teeth_sum(2, pi, 0.73), teeth_sum(4, pi, 1.0) == 2 * sin(pi / 4)
    (1.0, True)
    """
    pitch = tau / teeth
    if engaged <= pitch:
        return float(sin(min(engaged, pi / 2.0)) ** power)
    many = int(engaged / pitch + 1e-12)
    left = max(engaged - many * pitch, 0.0)
    worst = 0.0
    # With one tooth more while the first is in the last part, else with `many`.
    for count, low, high in ((many + 1, 0.0, left), (many, left, min(pitch, engaged))):
        first = min(max(pi / 2.0 - (count - 1) * pitch / 2.0, low), high)
        total = 0.0
        for tooth in range(count):
            total += max(sin(first + tooth * pitch), 0.0) ** power
        worst = max(worst, total)
    return worst
