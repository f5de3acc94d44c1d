"""Involute wheels as a rack of the ISO 53 profile generates them, profile shift included.

The rack's straight flanks leave involutes, its rounded corners leave fillets that are offset
trochoids. With few teeth the corner cuts into the involute: the undercut is then where fillet and
involute cross. Lengths mm.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from camgen.faults import Fault, Refused, no_more
from camgen.messages import Message, counted
from camgen.teeth.form import Asked, Number, OwnWord, Ratio, Size, Teeth, ToothedPart, ToothForm
from camgen.teeth.outlines.building import checked_module, sizes_of, symmetric_tooth
from camgen.teeth.outlines.curves import FlankArc, FlankPiece, Involute, RackFillet
from camgen.teeth.outlines.own_sizes import (
    DRIVER,
    OWN_SIZES,
    TOOTH_WIDTH,
    OwnSizes,
    Span,
    UsualSizes,
)
from camgen.teeth.proportions import proportion
from camgen.teeth.tooth import Tooth

__all__ = ["FORM", "involute_tooth", "least_shift"]

AS_THE_RACK: Mapping[str, Any] = {}

# What own sizes of involute teeth are between: heights in modules before any shift, thickness and
# play as shares of the thickness that the rack makes. Common practice, no source.
LEAST_HEIGHT, MOST_HEIGHT = 0.5, 1.4
LEAST_DEPTH, MOST_DEPTH = 1.0, 1.8
LEAST_THICK, MOST_PLAY = 0.6, 0.25
# What is rounded off a width in writing it, mm.
WIDER = 0.0005


def least_shift(teeth: int, pressure_angle: float) -> float:
    """Profile shift, in modules, below which the rack undercuts a wheel of ``teeth``.

    x = hₐ − z·sin²α/2, hₐ the depth of the rack's straight flank (1 module in ISO 53), α
    ``pressure_angle`` in degrees. At 20° undercut begins below 17.1 teeth (from memory, any
    textbook):

    >>> least_shift(17, 20.0) > 0 > least_shift(18, 20.0)
    True
    """
    angle = math.radians(pressure_angle)
    dedendum = proportion("involute", "dedendum")
    rounding = _rack_rounding(angle, dedendum)
    straight = dedendum - rounding * (1.0 - math.sin(angle))
    return straight - teeth * math.sin(angle) ** 2 / 2.0


def involute_tooth(
    teeth: int, module: float, *, pressure_angle: float = 20.0, profile_shift: float = 0.0,
    backlash: float | None = None, own: Mapping[str, Any] = AS_THE_RACK,
) -> Tooth:
    """A wheel or pinion of involute form.

    ``pressure_angle`` in degrees; ``profile_shift`` in modules moves the rack outwards. Tip circle
    at 1 + x modules above the pitch circle, or lower where the tooth would come to a knife edge;
    thickness m·(π/2 + 2·x·tan α) less the ``backlash``, mm; root at 1.25 − x modules below. ``own``
    are sizes of its own. Raises Refused outside 5° to 40° or −1 to 1 modules, where the rack itself
    would be pointed, where its corners would cut the tooth away, or where own sizes cannot be.

    >>> tooth = involute_tooth(20, 1.0)
    >>> tooth.sizes.tip_diameter, tooth.sizes.root_diameter
    (22.0, 17.5)
    """
    checked_module(module)
    faults = []
    if teeth < 4:
        faults.append(Fault(counted("{n} involute tooth cannot be cut",
                                    "{n} involute teeth cannot be cut", teeth),
                            Message("at least 4 are needed")))
    if not 5.0 < pressure_angle < 40.0:
        faults.append(Fault(
            Message("a pressure angle of {angle:g}° cannot be cut", angle=pressure_angle),
            Message("it lies between 5° and 40°; 20° is usual")))
    if not -1.0 <= profile_shift <= 1.0:
        faults.append(Fault(
            Message("a profile shift of {shift:g} modules cannot be cut", shift=profile_shift),
            Message("it lies between -1 and 1")))
    if faults:
        raise Refused(faults)
    angle = math.radians(pressure_angle)
    sizes = _sizes(Asked(teeth, module, None, own), angle, profile_shift, backlash)
    pitch_radius = teeth * module / 2.0
    shift = profile_shift * module
    root_radius, thickness = sizes.root, sizes.width
    dedendum = pitch_radius + shift - root_radius
    rounding = _rack_rounding(angle, dedendum / module) * module
    above = shift - dedendum + rounding
    full = module * (math.pi / 2.0 + 2.0 * profile_shift * math.tan(angle))
    # A rack whose teeth are wider by as much as the wheel's are thinner.
    along = max(
        math.pi * module / 4.0
        + (full - thickness) / 2.0
        - (dedendum - rounding) * math.tan(angle)
        - rounding / math.cos(angle),
        0.0,
    )
    if root_radius < 0.1 * pitch_radius or thickness <= 0.0:
        raise Refused(
            Fault(
                Message("{teeth} involute teeth with a profile shift of {shift:g} leave no body",
                        teeth=teeth, shift=profile_shift),
                Message("more teeth or a larger profile shift are needed"),
            )
        )
    base_radius = pitch_radius * math.cos(angle)
    middle = math.pi / teeth
    origin = middle - thickness / (2.0 * pitch_radius) - (math.tan(angle) - angle)
    # Where the straight flank of the rack ends, in roll of the involute: the contact lies on the
    # line of action, (depth below the pitch line)/sin α before the pitch point.
    depth = rounding * math.sin(angle) - above
    roll_from = math.tan(angle) - depth / (math.sin(angle) * base_radius)
    fillet = RackFillet(pitch_radius, along, above, rounding, 0.0, math.pi / 2.0 - angle)
    notes: list[Message] = []
    if roll_from < 0.0:
        lean, roll_from = _undercut(fillet, base_radius, origin, teeth)
        fillet = RackFillet(pitch_radius, along, above, rounding, 0.0, lean)
        notes.append(
            Message("the teeth are undercut at the root; a profile shift of at least {shift:.2f} "
                    "modules would avoid it", shift=least_shift(teeth, pressure_angle))
        )
    start_radius = base_radius * math.hypot(1.0, roll_from)
    neck = float(np.angle(fillet.at(np.linspace(0.0, 1.0, 65))).max())
    tip_radius = sizes.tip
    if neck > middle - 0.02 * module / pitch_radius or start_radius > tip_radius - 0.1 * module:
        raise _cut_away(teeth)
    least_land = proportion("involute", "least-land") * module

    def land(radius: float) -> float:
        roll = _roll_at(radius, base_radius)
        return 2.0 * radius * (middle - origin - roll + math.atan(roll))

    if land(tip_radius) < least_land:
        if land(start_radius) < least_land:
            raise Refused(
                Fault(
                    Message("{teeth} involute teeth with a profile shift of {shift:g} come to a "
                            "point before they reach the flank", teeth=teeth,
                            shift=profile_shift),
                    Message("a smaller profile shift is needed"),
                )
            )
        tip_radius = _halved(lambda radius: land(radius) - least_land, start_radius, tip_radius)
        if sizes.tip_said:
            raise Refused(Fault(
                Message("teeth {tip:g} mm over the tips would come to a knife edge",
                        tip=2.0 * sizes.tip),
                Message("{most} mm over the tips is possible", most=no_more(2.0 * tip_radius))))
        notes.append(Message("the tips are lowered, or the teeth would come to a knife edge"))
    flank = Involute(base_radius, origin, 1.0, roll_from, _roll_at(tip_radius, base_radius))
    half: list[FlankPiece] = []
    if along > 1e-12:
        half.append(FlankArc(complex(root_radius), 0j, along / pitch_radius))
    half += [fillet, flank]
    top = cmath.phase(flank.end)
    half.append(FlankArc(flank.end, 0j, middle - top))
    table = sizes_of(teeth, module, tip_radius, root_radius, thickness)
    tooth = symmetric_tooth("involute", table, half, notes, pressure_angle)
    return replace(tooth, thinned=full - thickness)


def _sizes(
    asked: Asked, angle: float, profile_shift: float, backlash: float | None
) -> OwnSizes:
    """Tip, root and thickness; Raises Refused where own ones or the play cannot be."""
    module, shift = asked.module, profile_shift
    full = math.pi / 2.0 + 2.0 * shift * math.tan(angle)
    high, deep = (proportion("involute", word) for word in ("addendum", "dedendum"))
    usual = UsualSizes(Span(high + shift, LEAST_HEIGHT * high + shift, MOST_HEIGHT * high + shift),
                  Span(deep - shift, LEAST_DEPTH - shift, MOST_DEPTH - shift),
                  Span(full, LEAST_THICK * full, full))
    width = asked.of(TOOTH_WIDTH)
    if backlash is not None and width is not None:
        raise Refused(Fault(
            Message("backlash {backlash:g} mm and tooth-width {width:g} mm both say how wide the "
                    "teeth are", backlash=backlash, width=width),
            Message("leave one of them out; without play they are {full:.3f} mm wide",
                    full=full * module)))
    if width is not None and width > full * module + WIDER:
        wider = (width / module - math.pi / 2.0) / (2.0 * math.tan(angle))
        raise Refused(Fault(
            Message("teeth {width:g} mm wide at the pitch circle are wider than the rack makes "
                    "them, {full:.3f} mm", width=width, full=full * module),
            Message("a profile-shift of {shift:.3f} makes them so wide, where the wheel was made "
                    "with one", shift=wider) if wider <= 1.0 else
            Message("look at tooth-width and module")))
    if backlash is not None and backlash > MOST_PLAY * full * module:
        raise Refused(Fault(
            Message("teeth {full:.3f} mm wide are not thinned by {backlash:g} mm of play",
                    full=full * module, backlash=backlash),
            Message("backlash: {most} or less; a few hundredths of the module are usual",
                    most=no_more(MOST_PLAY * full * module))))
    found = OwnSizes.of(asked, usual)
    return replace(found, width=min(found.width, full * module) - (backlash or 0.0))


def _rack_rounding(angle: float, dedendum: float) -> float:
    """Corner radius of the rack in modules: 0.38, or what its narrow tip has room for."""
    room = (math.pi / 4.0 - dedendum * math.tan(angle)) / (1.0 / math.cos(angle) - math.tan(angle))
    if room <= 0.0:
        raise Refused(
            Fault(
                Message("a rack of {angle:g}° comes to a point before its full depth",
                        angle=math.degrees(angle)),
                Message("a pressure angle of at most 32° is possible; 20° is usual")
                if dedendum <= proportion("involute", "dedendum") else
                Message("look at root-diameter: such teeth are {deep:.2f} modules deep below the "
                        "pitch circle, 1.25 is usual", deep=dedendum),
            )
        )
    return min(proportion("involute", "fillet"), room)


def _roll_at(radius: float, base_radius: float) -> float:
    return math.sqrt(max((radius / base_radius) ** 2 - 1.0, 0.0))


def _undercut(
    fillet: RackFillet, base_radius: float, origin: float, teeth: int
) -> tuple[float, float]:
    """Lean of the fillet and roll of the involute where the two cross.

    Along the fillet, from the base circle outwards, its polar angle starts above the involute's
    (it eats into the tooth) and ends below.
    """
    end = math.tan(fillet.lean_to)

    def ahead(share: float) -> float:
        point = complex(fillet.at(np.array([share]))[0])
        roll = _roll_at(abs(point), base_radius)
        return cmath.phase(point) - (origin + roll - math.atan(roll))

    shares = np.linspace(0.0, 1.0, 257)
    points = fillet.at(shares)
    radii = np.abs(points)
    rolls = np.sqrt(np.maximum((radii / base_radius) ** 2 - 1.0, 0.0))
    eats = (np.angle(points) > origin + rolls - np.arctan(rolls)) & (radii >= base_radius)
    if not eats.any():
        # The corner only just touches: the involute starts at the base circle.
        low = _halved(
            lambda share: abs(complex(fillet.at(np.array([share]))[0])) - base_radius, 0.0, 1.0
        )
        return math.atan(end * low), 0.0
    last = int(np.flatnonzero(eats)[-1])
    if last == len(shares) - 1:
        raise _cut_away(teeth)
    share = _halved(ahead, float(shares[last]), float(shares[last + 1]))
    crossing = complex(fillet.at(np.array([share]))[0])
    return math.atan(end * share), _roll_at(abs(crossing), base_radius)


def _cut_away(teeth: int) -> Refused:
    return Refused(
        Fault(
            Message("the undercut would leave too little of {teeth} involute teeth", teeth=teeth),
            Message("more teeth, a larger profile shift or a larger pressure angle is needed"),
        )
    )


def _halved(function: Callable[[float], float], low: float, high: float) -> float:
    """Where ``function`` changes sign between ``low`` and ``high``, by halving."""
    sign = function(low) > 0.0
    for _ in range(60):
        middle = (low + high) / 2.0
        if (function(middle) > 0.0) == sign:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def _built(asked: Asked) -> Tooth:
    return involute_tooth(asked.teeth, asked.module, pressure_angle=asked.of(PRESSURE_ANGLE),
                          profile_shift=asked.of(PROFILE_SHIFT),
                          backlash=asked.of(BACKLASH), own=asked.own)


PRESSURE_ANGLE: OwnWord[float] = OwnWord(
    "pressure_angle", Number(above=5, below=40), 20.0, "involute only: pressure angle, degrees",
    "involute only, degrees", of_pair=True)
PROFILE_SHIFT: OwnWord[float] = OwnWord(
    "profile_shift", Number(least=-1, most=1), 0.0, "involute only: profile shift, in modules",
    "involute only, in modules")
BACKLASH: OwnWord[float | None] = OwnWord(
    "backlash", Size(), None,
    "involute only: how much thinner the teeth are along the pitch circle, for play",
    "involute only: how much thinner the teeth are along the pitch circle, for play",
    by_cutter=True)
_WORDS = (PRESSURE_ANGLE, PROFILE_SHIFT, BACKLASH, DRIVER, *OWN_SIZES)

FORM = ToothForm(
    "involute",
    (Teeth(ToothedPart.WHEEL, "involute", Message("involute teeth"), _built, _WORDS),
     Teeth(ToothedPart.PINION, "involute", Message("involute leaves"), _built, _WORDS)),
    # Involutes keep an even ratio by the law of their form: what is left is the rolling's own.
    Ratio(0.005, Message("as it should be"), Message("the involute's ratio is even by its form"),
          Message("teeth, cutter or shifts do not suit")),
    full=True,
)
