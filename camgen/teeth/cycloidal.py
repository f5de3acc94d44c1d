"""Cycloidal wheels and pinions as in BS 978-2:1952.

The wheel's addendum follows from first principles. A circle half as large as the mate's pitch
circle, rolling on the outside of the wheel's, draws the flanks above the pitch circle; inside the
mate's pitch circle the same circle draws straight radial lines, which is why leaves are radial
there. Two such epicycloids, half a circular pitch apart at the pitch circle, meet at the
*theoretical* addendum; the standard takes 0.95 of it and puts an arc of 1.40 times it for the
epicycloid. Lengths mm.
"""

from __future__ import annotations

import cmath
import math
from functools import cache
from typing import Literal, TypeAlias, get_args

from camgen.faults import Fault, Refused
from camgen.messages import Message, counted
from camgen.teeth.building import checked_module, root_and_flank, sizes_of, symmetric_tooth
from camgen.teeth.curves import Epicycloid, FlankArc, arc_through
from camgen.teeth.form import Asked, Choice, Mating, OwnWord, Ratio, Teeth, ToothedPart, ToothForm
from camgen.teeth.proportions import proportion
from camgen.teeth.tooth import Tooth

__all__ = [
    "FORM",
    "LeafTop",
    "addendum_factors",
    "cycloidal_pinion",
    "cycloidal_wheel",
    "epicycloidal_wheel",
    "theoretical_addendum",
]

LeafTop: TypeAlias = Literal["round", "one-third-ogive", "two-thirds-ogive"]
TOPS = get_args(LeafTop)


@cache
def theoretical_addendum(teeth: int, mate: int) -> float:
    """Height above the pitch circle at which the two epicycloids of a tooth meet, in modules.

    With R = teeth/2 and ρ = mate/4 (module 1), a point of the rolling circle stands, after a turn
    of t, at e^{iθ}·(R + ρ − ρ·e^{it}), θ = t·ρ/R. The tooth is half a pitch wide, so the flanks
    meet where the polar angle is π/(2·teeth); found by halving.

    Source: geometry of the epicycloid; BS 978-2 for the choice of ρ and width.
    """
    return abs(_seen_from_contact(teeth, mate, _meeting_turn(teeth, mate))) - teeth / 2.0


def addendum_factors(teeth: int, mate: int) -> tuple[float, float]:
    """Practical addendum and radius of its arc in modules, fa and fr of BS 978-2.

    Wheel of 60 teeth, pinion of 8 (ratio 7.5), tabulated 1.471 and 2.168:

    >>> [round(factor, 3) for factor in addendum_factors(60, 8)]
    [1.471, 2.168]
    """
    height = theoretical_addendum(teeth, mate)
    return (
        proportion("cycloidal-wheel", "practical-addendum") * height,
        proportion("cycloidal-wheel", "addendum-radius") * height,
    )


def cycloidal_wheel(teeth: int, module: float, mate: int) -> Tooth:
    """A wheel of the ``module`` mm that drives a pinion of ``mate`` leaves.

    Raises Refused when the wheel has too few teeth to have a body below them (fewer than 4).

    >>> sizes = cycloidal_wheel(75, 0.14, 10).sizes
    >>> f"{sizes.pitch_diameter:.3f} {sizes.tip_diameter:.3f} {sizes.root_diameter:.3f}"
    '10.500 10.949 10.060'
    """
    checked_module(module)
    _checked_pair(teeth, mate)
    height, arc_radius = (factor * module for factor in addendum_factors(teeth, mate))
    pitch_radius = teeth * module / 2.0
    pitch = math.pi * module
    thickness = proportion("cycloidal-wheel", "width") * pitch
    root_radius = pitch_radius - proportion("cycloidal-wheel", "dedendum") * pitch
    _checked_root(root_radius, pitch_radius, teeth, Message("teeth"))
    flank_angle = math.pi / teeth - thickness / (2.0 * pitch_radius)
    tip_radius = pitch_radius + height
    half = root_and_flank(
        root_radius, flank_angle, pitch_radius, proportion("root", "rounding") * module
    )
    tip = cmath.rect(tip_radius, math.pi / teeth)
    half.append(arc_through(cmath.rect(pitch_radius, flank_angle), tip, arc_radius, left=True))
    sizes = sizes_of(teeth, module, tip_radius, root_radius, thickness)
    return symmetric_tooth("cycloidal-wheel", sizes, half)


def epicycloidal_wheel(teeth: int, module: float, mate: int) -> Tooth:
    """The wheel that the standard's arcs stand for: true epicycloids, to where they meet.

    With a mate whose leaves are radial it runs at a constant ratio after the line of centres; it
    serves to judge the practical forms. ``module`` in mm.

    Raises Refused as :func:`cycloidal_wheel`.
    """
    practical = cycloidal_wheel(teeth, module, mate)
    pitch_radius = teeth * module / 2.0
    flank_angle = math.pi / (2.0 * teeth)
    half = root_and_flank(
        practical.root_radius, flank_angle, pitch_radius, proportion("root", "rounding") * module
    )
    half.append(
        Epicycloid(
            pitch_radius, mate * module / 4.0, flank_angle, 1.0, 0.0, _meeting_turn(teeth, mate)
        )
    )
    tip_radius = pitch_radius + theoretical_addendum(teeth, mate) * module
    sizes = sizes_of(
        teeth, module, tip_radius, practical.root_radius, practical.sizes.tooth_thickness
    )
    return symmetric_tooth("epicycloidal-wheel", sizes, half)


def cycloidal_pinion(leaves: int, module: float, mate: int, top: LeafTop) -> Tooth:
    """A pinion driven by a wheel of ``mate`` teeth.

    ``top`` is the shape above the pitch circle; the dedendum is the wheel's addendum and 0.4
    modules of clearance. Raises Refused when the leaves would reach the middle.

    Ten leaves of module 0.12 with a one-third ogive, a standard watch pinion, are 1.36 mm over the
    tips (NHS 56703, by way of a published discussion among watchmakers, April 2025):

    >>> round(cycloidal_pinion(10, 0.12, 75, "one-third-ogive").sizes.tip_diameter, 2)
    1.36
    """
    checked_module(module)
    _checked_pair(mate, leaves)
    size = "few" if leaves <= proportion("cycloidal-pinion", "few-leaves") else "many"
    width = proportion("cycloidal-pinion", size, "width") * module
    height = proportion("cycloidal-pinion", size, top, "height") * module
    radius = proportion("cycloidal-pinion", size, top, "radius") * module
    pitch_radius = leaves * module / 2.0
    wheel_addendum, _ = addendum_factors(mate, leaves)
    clearance = proportion("cycloidal-pinion", "clearance")
    root_radius = pitch_radius - (wheel_addendum + clearance) * module
    _checked_root(root_radius, pitch_radius, leaves, Message("leaves"))
    flank_angle = math.pi / leaves - width / (2.0 * pitch_radius)
    tip_radius = pitch_radius + height
    half = root_and_flank(
        root_radius, flank_angle, pitch_radius, proportion("root", "rounding") * module
    )
    shoulder = cmath.rect(pitch_radius, flank_angle)
    if top == "round":
        half.append(_round_top(shoulder, tip_radius, math.pi / leaves))
    else:
        tip = cmath.rect(tip_radius, math.pi / leaves)
        half.append(arc_through(shoulder, tip, radius, left=True))
    sizes = sizes_of(leaves, module, tip_radius, root_radius, width)
    return symmetric_tooth("cycloidal-pinion", sizes, half)


def _round_top(shoulder: complex, tip_radius: float, middle: float) -> FlankArc:
    """Half the arc that goes over the leaf from shoulder to shoulder through its tip."""
    seen = shoulder * cmath.exp(-1j * middle)
    rise = tip_radius - seen.real
    radius = (seen.imag**2 + rise**2) / (2.0 * rise)
    centre = cmath.rect(tip_radius - radius, middle)
    start, end = shoulder - centre, cmath.rect(tip_radius, middle) - centre
    return FlankArc(shoulder, centre, cmath.phase(end / start))


def _seen_from_contact(teeth: int, mate: int, turn: float) -> complex:
    """The tracing point in a frame whose x axis goes through the centre of the rolling circle."""
    return teeth / 2.0 + mate / 4.0 * (1.0 - cmath.exp(1j * turn))


@cache
def _meeting_turn(teeth: int, mate: int) -> float:
    """How far the rolling circle has turned where the flanks meet, radians."""
    wanted = math.pi / (2.0 * teeth)
    low, high = 0.0, math.pi
    for _ in range(60):
        middle = (low + high) / 2.0
        contact = middle * (mate / 4.0) / (teeth / 2.0)
        # Added rather than taken from one complex number: this never wraps round.
        if contact + cmath.phase(_seen_from_contact(teeth, mate, middle)) < wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def _checked_pair(teeth: int, mate: int) -> None:
    faults = [
        Fault(counted("a wheel of {n} tooth cannot be cut", "a wheel of {n} teeth cannot be cut",
                      count), Message("give a whole number of at least 2"))
        for count in (teeth, mate)
        if count < 2
    ]
    if faults:
        raise Refused(faults)


def _checked_root(root_radius: float, pitch_radius: float, count: int,
                  what: Message) -> None:
    if root_radius < 0.1 * pitch_radius:
        raise Refused(
            Fault(
                Message("{count} cycloidal {what} leave no body: the spaces would reach "
                        "{reach:.3f} mm from the middle", count=count, what=what,
                        reach=max(root_radius, 0.0)),
                Message("more {what} are needed", what=what),
            )
        )


def _wheel_built(asked: Asked) -> Tooth:
    if asked.mate is None:
        raise Refused(
            Fault(
                Message("a cycloidal wheel needs its mate: the height of its teeth follows from "
                        "it"),
                Message("give the number of leaves of the pinion as mate"),
            )
        )
    return cycloidal_wheel(asked.teeth, asked.module, asked.mate)


def _pinion_built(asked: Asked) -> Tooth:
    if asked.mate is None:
        raise Refused(
            Fault(
                Message("a cutter for cycloidal pinions needs its mate: the depth follows from it"),
                Message("give the number of teeth of the wheel as mate in made-for"),
            )
        )
    return cycloidal_pinion(asked.teeth, asked.module, asked.mate, asked.of(ADDENDUM))


ADDENDUM: OwnWord[LeafTop] = OwnWord(
    "addendum", Choice(TOPS), "one-third-ogive",
    "cycloidal only: the rounding of the leaf's top", "cycloidal pinions: the top of the leaves")

FORM = ToothForm(
    "cycloidal",
    (Teeth(ToothedPart.WHEEL, "cycloidal-wheel", Message("cycloidal teeth"), _wheel_built,
           mating=Mating.SHAPED_BY),
     Teeth(ToothedPart.PINION, "cycloidal-pinion", Message("cycloidal leaves"), _pinion_built,
           (ADDENDUM,), Mating.SHAPED_BY)),
    # Arcs for epicycloids do not turn evenly. The span is what this program's rolling gives for
    # wheels of 36 to 75 teeth with leaves of 6 to 12: no published tolerance is known to its
    # writers.
    Ratio(0.10, Message("which is usual"),
          Message("cycloidal teeth rounded by arcs (BS 978-2) vary by several per cent, 7 to 9 as "
                  "rolled here with 6 to 12 leaves")),
)
