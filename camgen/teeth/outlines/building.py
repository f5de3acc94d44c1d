"""What the makers of tooth forms have in common: half profiles, root roundings, sizes, refusals."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.teeth.outlines.curves import FlankArc, FlankPiece, Line, mirrored_flank
from camgen.teeth.tooth import Tooth, ToothSizes, chordal

__all__ = ["checked_module", "root_and_flank", "sizes_of", "symmetric_tooth"]


def checked_module(module: float) -> None:
    """Raises Refused when ``module`` (mm) is not a length above 0."""
    if not (module > 0.0 and math.isfinite(module)):
        raise Refused(Fault(Message("module {module:g} mm cannot be cut", module=module),
                            Message("give a module above 0")))


def root_and_flank(
    root_radius: float, flank_angle: float, flank_end: float, rounding: float
) -> list[FlankPiece]:
    """From the middle of the root outwards: root arc, rounding and radial flank.

    The flank lies at ``flank_angle`` (radians from the middle of the space) and ends at radius
    ``flank_end``. ``rounding`` is the corner's radius; where the space is too narrow for it the
    root becomes one full arc. Lengths mm. Raises ValueError when no radial flank would be left.
    """
    # An arc touching the flank and, from outside, the root circle, has its centre at
    # root_radius + rounding and sin δ = rounding / (root_radius + rounding) beside the flank.
    if rounding > (root_radius + rounding) * math.sin(flank_angle):
        rounding = root_radius * math.sin(flank_angle) / (1.0 - math.sin(flank_angle))
    beside = math.asin(rounding / (root_radius + rounding))
    centre_angle = max(flank_angle - beside, 0.0)
    foot = (root_radius + rounding) * math.cos(beside)
    if foot >= flank_end:
        raise ValueError("the rounding leaves no flank")
    pieces: list[FlankPiece] = []
    if centre_angle > 1e-12:
        pieces.append(FlankArc(complex(root_radius), 0j, centre_angle))
    pieces.append(
        FlankArc(
            cmath.rect(root_radius, centre_angle),
            cmath.rect(root_radius + rounding, centre_angle),
            beside - math.pi / 2.0,
        )
    )
    pieces.append(Line(cmath.rect(foot, flank_angle), cmath.rect(flank_end, flank_angle)))
    return pieces


def symmetric_tooth(
    form: str,
    sizes: ToothSizes,
    half: Sequence[FlankPiece],
    notes: Sequence[Message] = (),
    pressure_angle: float = 0.0,
) -> Tooth:
    """A tooth whose flanks are alike.

    ``half`` runs from the middle of the space's root, on the +x axis, to the middle of a tooth's
    top at angle +π/N.
    """
    # The root stays in two halves: so its middle is a point of every sampling.
    other = [mirrored_flank(piece) for piece in reversed(half)]
    return Tooth(form, sizes, (*other, *half), tuple(notes), pressure_angle)


def sizes_of(
    teeth: int, module: float, tip_radius: float, root_radius: float, thickness: float
) -> ToothSizes:
    """The table of sizes, from the radii and the thickness along the pitch circle (mm).

    >>> sizes = sizes_of(75, 0.14, 5.4745, 5.03, 0.22)
    >>> f"{sizes.pitch_diameter:.2f} {sizes.addendum:.4f} {sizes.whole_depth:.4f}"
    '10.50 0.2245 0.4445'
    """
    pitch_radius = teeth * module / 2.0
    chord, height = chordal(thickness, pitch_radius, tip_radius)
    return ToothSizes(
        teeth=teeth,
        module=module,
        pitch_diameter=2.0 * pitch_radius,
        tip_diameter=2.0 * tip_radius,
        root_diameter=2.0 * root_radius,
        whole_depth=tip_radius - root_radius,
        addendum=tip_radius - pitch_radius,
        dedendum=pitch_radius - root_radius,
        tooth_thickness=thickness,
        chordal_thickness=chord,
        chordal_height=height,
    )
