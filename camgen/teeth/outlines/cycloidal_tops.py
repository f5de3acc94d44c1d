"""What stands above the pitch circle on teeth with radial flanks: arcs that meet, or one over all.

Lengths mm.
"""

from __future__ import annotations

import cmath

from camgen.teeth.outlines.curves import FlankArc, FlankPiece, arc_through
from camgen.teeth.outlines.own_sizes import OwnSizes

__all__ = ["top_of"]


def top_of(
    shoulder: complex, middle: float, arc: float | None, sizes: OwnSizes
) -> list[FlankPiece]:
    """From the ``shoulder`` on the pitch circle to the middle of the tooth's top, at ``middle``.

    ``arc`` is the radius that the form has, None where one arc goes over the top. Where the tip
    circle is lower than the form's the arcs stay and end at it; where it is higher they are drawn
    out to meet there, in the same proportion of radius and height.
    """
    seen = shoulder * cmath.exp(-1j * middle)
    rise = sizes.usual_tip - seen.real
    if sizes.raised:
        higher = sizes.tip - seen.real
        radius = max(arc or 0.0, _round(seen, rise)) * higher / rise
        # Drawn out no arc may stand out beyond the radial flank that it grows from.
        radius = max(radius, _round(seen, higher), _upright(seen, higher))
        return [arc_through(shoulder, cmath.rect(sizes.tip, middle), radius, left=True)]
    if arc is None:
        whole = _over(shoulder, seen, rise, middle)
    else:
        # Wider teeth of the same height have flatter arcs, or they would dip in the middle.
        radius = max(arc, _round(seen, rise))
        whole = arc_through(shoulder, cmath.rect(sizes.usual_tip, middle), radius, left=True)
    return _topped(whole, middle, sizes.tip) if sizes.topped else [whole]


def _round(seen: complex, rise: float) -> float:
    """Radius of the arc over the whole top through shoulders at ``seen`` and a tip above them."""
    return (seen.imag**2 + rise**2) / (2.0 * rise)


def _upright(seen: complex, rise: float) -> float:
    """Radius of the arc that leaves a shoulder upright and passes the tip."""
    return (seen.imag**2 + rise**2) / (2.0 * abs(seen.imag))


def _over(shoulder: complex, seen: complex, rise: float, middle: float) -> FlankArc:
    """Half the arc that goes over the tooth from shoulder to shoulder through its tip."""
    tip = seen.real + rise
    centre = cmath.rect(tip - _round(seen, rise), middle)
    start, end = shoulder - centre, cmath.rect(tip, middle) - centre
    return FlankArc(shoulder, centre, cmath.phase(end / start))


def _topped(whole: FlankArc, middle: float, tip: float) -> list[FlankPiece]:
    """The arc as far as the tip circle, and what that leaves flat."""
    low, high = 0.0, 1.0
    for _ in range(60):
        share = (low + high) / 2.0
        at = FlankArc(whole.start, whole.centre, whole.sweep * share).end
        low, high = (share, high) if abs(at) < tip else (low, share)
    arc = FlankArc(whole.start, whole.centre, whole.sweep * (low + high) / 2.0)
    # On the circle to the last figure, so that the land is known for one.
    corner = cmath.rect(tip, cmath.phase(arc.end))
    return [arc, FlankArc(corner, 0j, middle - cmath.phase(corner))]
