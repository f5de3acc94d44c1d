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
from collections.abc import Mapping
from functools import cache
from typing import Any, Literal, TypeAlias, get_args

from camgen.faults import Fault, Refused
from camgen.messages import Message, counted
from camgen.teeth.form import Asked, Choice, Mating, OwnWord, Ratio, Teeth, ToothedPart, ToothForm
from camgen.teeth.outlines.building import checked_module, root_and_flank, sizes_of, symmetric_tooth
from camgen.teeth.outlines.curves import Epicycloid
from camgen.teeth.outlines.cycloidal_tops import top_of
from camgen.teeth.outlines.own_sizes import (
    DRIVER,
    OWN_SIZES,
    OwnSizes,
    Span,
    UsualSizes,
    pinion_drives,
)
from camgen.teeth.proportions import proportion
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = [
    "FORM",
    "LeafTop",
    "addendum_factors",
    "cycloidal_pinion",
    "cycloidal_wheel",
    "driven_wheel",
    "driving_pinion",
    "epicycloidal_wheel",
    "leaf_width",
    "theoretical_addendum",
]

LeafTop: TypeAlias = Literal["round", "one-third-ogive", "two-thirds-ogive"]
TOPS = get_args(LeafTop)
Proportions: TypeAlias = Literal["bs-978-2", "round-bottom", "deep", "short"]
AS_THE_FORM: Mapping[str, Any] = {}

# Between what multiples of the form's own a size may be said instead. Common practice, no source:
# what module cutters of all kinds are sold as lies well within.
ADDENDUM_SPAN = (0.5, 1.4)
DEDENDUM_SPAN = (0.5, 1.6)
WIDTH_LEAST = 0.5
# Of the mate's space a tooth leaves so much as play.
LEAST_PLAY = 0.02


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


def cycloidal_wheel(
    teeth: int, module: float, mate: int, proportions: Proportions = "bs-978-2",
    own: Mapping[str, Any] = AS_THE_FORM,
) -> Tooth:
    """A wheel of the ``module`` mm that drives a pinion of ``mate`` leaves.

    ``proportions`` other than the standard's are one profile for all numbers of teeth. ``own`` are
    sizes of its own. Raises Refused when the wheel has too few teeth to have a body below them
    (fewer than 4), or its own sizes cannot be.

    >>> sizes = cycloidal_wheel(75, 0.14, 10).sizes
    >>> f"{sizes.pitch_diameter:.3f} {sizes.tip_diameter:.3f} {sizes.root_diameter:.3f}"
    '10.500 10.949 10.060'
    """
    checked_module(module)
    _checked_pair(teeth, mate)
    rounding = proportion("root", "rounding")
    if proportions == "bs-978-2":
        height, arc_radius = addendum_factors(teeth, mate)
        width = proportion("cycloidal-wheel", "width") * math.pi
        dedendum = proportion("cycloidal-wheel", "dedendum") * math.pi
    else:
        height, arc_radius, width, dedendum = (
            proportion("cycloidal-wheel", proportions, word)
            for word in ("addendum", "addendum-radius", "width", "dedendum"))
        if proportions == "round-bottom":
            # More than there is room for: the bottom of the space is one arc.
            rounding = math.pi
    shape = _Shape("cycloidal-wheel", Message("teeth"), height, arc_radius, width, dedendum,
                   rounding, math.pi - leaf_width(mate))
    return _cycloidal(Asked(teeth, module, mate, own), shape)


def driven_wheel(
    teeth: int, module: float, mate: int, own: Mapping[str, Any] = AS_THE_FORM
) -> Tooth:
    """A wheel that a pinion of ``mate`` leaves drives, as in motion work; ``module`` mm.

    Its teeth are as leaves are where a wheel drives: rounded over, thin enough for play, deep
    enough for the driver's addendum. From the geometry of the cycloid: the section of BS 978-2 on
    pinions that drive was not at hand. Raises Refused as :func:`cycloidal_wheel`.

    >>> f"{driven_wheel(48, 0.2, 12).sizes.tip_diameter:.2f}"
    '9.85'
    """
    return _leaves("cycloidal-wheel", Message("teeth"), teeth, module, mate, "round", own)


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


def cycloidal_pinion(
    leaves: int, module: float, mate: int, top: LeafTop, own: Mapping[str, Any] = AS_THE_FORM
) -> Tooth:
    """A pinion driven by a wheel of ``mate`` teeth.

    ``top`` is the shape above the pitch circle; the dedendum is the wheel's addendum and 0.4
    modules of clearance; ``own`` are sizes of its own. Raises Refused when the leaves would reach
    the middle, or its own sizes cannot be.

    Ten leaves of module 0.12 with a one-third ogive, a standard watch pinion, are 1.36 mm over the
    tips (NHS 56703, by way of a published discussion among watchmakers, April 2025):

    >>> round(cycloidal_pinion(10, 0.12, 75, "one-third-ogive").sizes.tip_diameter, 2)
    1.36
    """
    return _leaves("cycloidal-pinion", Message("leaves"), leaves, module, mate, top, own)


def driving_pinion(
    leaves: int, module: float, mate: int, own: Mapping[str, Any] = AS_THE_FORM
) -> Tooth:
    """A pinion that drives a wheel of ``mate`` teeth, as in motion work; ``module`` mm.

    Its leaves are as teeth of a wheel are that drives: what lies above the pitch circle of the
    driver acts after the line of centres. From the geometry of the cycloid: the section of BS 978-2
    on pinions that drive was not at hand. Raises Refused as :func:`cycloidal_pinion`.

    >>> f"{driving_pinion(12, 0.2, 48).sizes.tip_diameter:.2f}"
    '3.05'
    """
    checked_module(module)
    _checked_pair(mate, leaves)
    height, arc_radius = addendum_factors(leaves, mate)
    half = math.pi / 2.0
    shape = _Shape("cycloidal-pinion", Message("leaves"), height, arc_radius, half, half,
                   proportion("root", "rounding"), math.pi - leaf_width(mate))
    return _cycloidal(Asked(leaves, module, mate, own), shape)


def leaf_width(leaves: int) -> float:
    """Width of a driven leaf or tooth along the pitch circle, in modules.

    >>> leaf_width(10), leaf_width(11)
    (1.05, 1.25)
    """
    return proportion("cycloidal-pinion", _size(leaves), "width")


def _size(leaves: int) -> str:
    return "few" if leaves <= proportion("cycloidal-pinion", "few-leaves") else "many"


def _leaves(
    form: str, what: Message, leaves: int, module: float, driver: int, top: LeafTop,
    own: Mapping[str, Any],
) -> Tooth:
    """Leaves or teeth that are driven by one of ``driver`` teeth."""
    checked_module(module)
    _checked_pair(driver, leaves)
    height, radius = (proportion("cycloidal-pinion", _size(leaves), top, word)
                      for word in ("height", "radius"))
    addendum, _ = addendum_factors(driver, leaves)
    shape = _Shape(form, what, height, None if top == "round" else radius, leaf_width(leaves),
                   addendum + proportion("cycloidal-pinion", "clearance"),
                   proportion("root", "rounding"), math.pi / 2.0)
    return _cycloidal(Asked(leaves, module, driver, own), shape)


@dataclass(frozen=True, slots=True)
class _Shape:
    """Teeth with radial flanks below the pitch circle and an arc above it, lengths in modules.

    ``arc`` is the arc's radius, None where one arc goes over the top; ``widest`` what the mate
    leaves between its own teeth.
    """

    form: str
    what: Message
    height: float
    arc: float | None
    width: float
    dedendum: float
    rounding: float
    widest: float


def _cycloidal(asked: Asked, shape: _Shape) -> Tooth:
    teeth, module = asked.teeth, asked.module
    pitch_radius = teeth * module / 2.0
    usual = UsualSizes(Span.about(shape.height, *ADDENDUM_SPAN), Span.about(shape.dedendum,
                                                                        *DEDENDUM_SPAN),
                  Span(shape.width, WIDTH_LEAST * shape.width,
                       max(shape.width, (1.0 - LEAST_PLAY) * shape.widest)))
    sizes = OwnSizes.of(asked, usual)
    _checked_root(sizes.root, pitch_radius, teeth, shape.what)
    middle = math.pi / teeth
    flank_angle = middle - sizes.width / (2.0 * pitch_radius)
    half = root_and_flank(sizes.root, flank_angle, pitch_radius, shape.rounding * module)
    shoulder = cmath.rect(pitch_radius, flank_angle)
    half += top_of(shoulder, middle, shape.arc and shape.arc * module, sizes)
    notes = []
    if sizes.topped:
        land = 2.0 * sizes.tip * (middle - cmath.phase(half[-1].start))
        notes.append(Message("the tips end flat, {land:.3f} mm wide, for the tip circle is lower "
                             "than the form's, {usual:.3f} mm", land=land,
                             usual=2.0 * sizes.usual_tip))
    return symmetric_tooth(shape.form,
                           sizes_of(teeth, module, sizes.tip, sizes.root, sizes.width), half, notes)


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
    if pinion_drives(asked.own):
        return driven_wheel(asked.teeth, asked.module, asked.mate, asked.own)
    return cycloidal_wheel(asked.teeth, asked.module, asked.mate, asked.of(PROPORTIONS), asked.own)


def _pinion_built(asked: Asked) -> Tooth:
    if asked.mate is None:
        raise Refused(
            Fault(
                Message("a cutter for cycloidal pinions needs its mate: the depth follows from it"),
                Message("give the number of teeth of the wheel as mate in made-for"),
            )
        )
    if pinion_drives(asked.own):
        return driving_pinion(asked.teeth, asked.module, asked.mate, asked.own)
    return cycloidal_pinion(asked.teeth, asked.module, asked.mate, asked.of(ADDENDUM), asked.own)


ADDENDUM: OwnWord[LeafTop] = OwnWord(
    "addendum", Choice(TOPS), "one-third-ogive",
    "cycloidal only: the rounding of the leaf's top", "cycloidal pinions: the top of the leaves",
    without=(("driver", "pinion"),))
PROPORTIONS: OwnWord[Proportions] = OwnWord(
    "proportions", Choice(get_args(Proportions)), "bs-978-2",
    "cycloidal only: whose proportions the teeth have; round-bottom is NHS 56704, deep and short "
    "are those of module cutters so called",
    "cycloidal wheels: whose proportions the teeth have", without=(("driver", "pinion"),),
    by_cutter=True)

FORM = ToothForm(
    "cycloidal",
    (Teeth(ToothedPart.WHEEL, "cycloidal-wheel", Message("cycloidal teeth"), _wheel_built,
           (PROPORTIONS, DRIVER, *OWN_SIZES), Mating.SHAPED_BY),
     Teeth(ToothedPart.PINION, "cycloidal-pinion", Message("cycloidal leaves"), _pinion_built,
           (ADDENDUM, DRIVER, *OWN_SIZES), Mating.SHAPED_BY)),
    # Arcs for epicycloids do not turn evenly. The span is what this program's rolling gives for
    # wheels of 36 to 75 teeth with leaves of 6 to 12: no published tolerance is known to its
    # writers.
    Ratio(0.11, Message("which is usual"),
          Message("cycloidal teeth rounded by arcs (BS 978-2) vary by several per cent, 7 to 10 as "
                  "rolled here with 6 to 12 leaves")),
)
