"""Escape wheels: pointed teeth, and club teeth with an impulse plane on each.

The module is the tip diameter divided by the teeth, as of ratchets. Fronts lean back from the
radius, so that only the tip meets the pallet, and face the way the wheel turns. Lengths mm, angles
degrees.
"""

from __future__ import annotations

import cmath
import math

from camgen.faults import Fault, Refused, no_more
from camgen.messages import Message, counted
from camgen.teeth.form import Asked, Mating, Number, OwnWord, Size, Teeth, ToothedPart, ToothForm
from camgen.teeth.outlines.beside_front import FRONTS, Bottom, bottom_between, tooth_beside_front
from camgen.teeth.outlines.building import checked_module, sizes_of
from camgen.teeth.outlines.curves import FlankArc, Line
from camgen.teeth.outlines.own_sizes import ROOT_DIAMETER
from camgen.teeth.outlines.ratchet import DEPTH, FRONT, depth_asked
from camgen.teeth.proportions import proportion
from camgen.teeth.tooth import Tooth

__all__ = [
    "BACK_ANGLE",
    "POINTED",
    "ROOT_RADIUS",
    "TIP_LAND",
    "begun",
    "pointed_tooth",
    "space_bottom",
]

BACK_ANGLE: OwnWord[float] = OwnWord(
    "back_angle", Number(above=0, most=60), 30.0,
    "escape wheels only: how far the back leans from the radius, degrees",
    "escape wheels: how far the back leans from the radius, degrees")
TIP_LAND: OwnWord[float | None] = OwnWord(
    "tip_land", Size(), None,
    "escape wheels only: width of the flat at a pointed tooth's tip; else half a degree",
    "escape wheels: width of the flat at a pointed tooth's tip")
ROOT_RADIUS: OwnWord[float | None] = OwnWord(
    "root_radius", Size(), None, "escape wheels only: radius in the roots",
    "escape wheels: radius in the roots")

# The widest that a space may reach round, in openings at the tips: wider ones lie so far under
# their neighbours that what is cut of three together does not tell the wheel.
MOST_UNDER = 1.5


def pointed_tooth(
    teeth: int, module: float, *, front: float, back: float, land: float | None = None,
    depth: float | None = None, rounding: float | None = None, fronts: str = "clockwise",
) -> Tooth:
    """A pointed tooth of an escape wheel of ``module`` × ``teeth`` mm over the tips.

    ``front`` and ``back`` lean so many degrees from the radius at the tip; ``land`` is the flat
    between them, along the tip circle, else half a degree. Front and back meet in one ``rounding``
    at the root, or stand on a flat floor where a lesser ``depth`` is asked for. Raises Refused
    where the tooth cannot be.

    >>> tooth = pointed_tooth(30, 0.5, front=10, back=30)
    >>> f"{tooth.sizes.whole_depth:.3f} {tooth.approaches[0].over:.3f}"
    '2.173 1.302'
    """
    tip, rounding = begun(teeth, module, rounding)
    if land is None:
        land = math.radians(proportion("escape", "land")) * tip
    if land >= math.pi * module / 2.0:
        raise Refused(Fault(
            Message("a tip-land of {land:g} mm leaves no space: from tooth to tooth are "
                    "{pitch:.3f} mm", land=land, pitch=math.pi * module),
            Message("half a degree of the circle is usual, {usual:.3f} mm here",
                    usual=math.radians(proportion("escape", "land")) * tip)))
    lean, pitch, wide = math.radians(front), 2.0 * math.pi / teeth, land / tip
    corner = cmath.rect(tip, lean - pitch + wide)
    outward = cmath.exp(1j * (lean - pitch + wide - math.radians(back)))
    end = cmath.rect(tip, lean)
    bottom = space_bottom(corner, outward, end, rounding, depth, tip)
    before: list[Line | FlankArc] = [
        FlankArc(cmath.rect(tip, lean - pitch + wide / 2.0), 0j, wide / 2.0),
        Line(corner, bottom.pieces[0].start)]
    return tooth_beside_front(
        "escape-pointed", sizes_of(teeth, module, tip, bottom.root, land), before, bottom,
        Line(bottom.pieces[-1].end, end), [FlankArc(end, 0j, wide / 2.0)], fronts=fronts)


def begun(teeth: int, module: float, rounding: float | None) -> tuple[float, float]:
    """Tip radius and rounding of the roots, mm."""
    checked_module(module)
    if teeth < 6:
        raise Refused(Fault(
            counted("{n} tooth of an escape wheel cannot be cut",
                    "{n} teeth of an escape wheel cannot be cut", teeth),
            Message("at least 6 are needed")))
    return (teeth * module / 2.0,
            proportion("escape", "rounding") * module if rounding is None else rounding)


def space_bottom(
    back: complex, outward: complex, end: complex, rounding: float, depth: float | None, tip: float
) -> Bottom:
    """The bottom of a space between a back and the front that ends in ``end``.

    Raises Refused where there is none.
    """
    front = end.imag
    try:
        natural = bottom_between(back, outward, front, rounding, None)
    except ValueError:
        raise Refused(Fault(
            Message("between front and back the space does not open outwards"),
            Message("let the back lean more, or the front less")) ) from None
    body = 0.2 * tip
    root = None if depth is None else tip - depth
    deepest = tip - natural.root
    found = natural
    if root is not None:
        try:
            found = bottom_between(back, outward, front, rounding, root)
        except ValueError:
            raise Refused(Fault(
                Message("teeth {deep:g} mm deep: front and back meet {most:.3f} mm below the tips",
                        deep=tip - root, most=deepest),
                Message("depth: {most} or less, or leave it out", most=no_more(deepest)))) from None
    angles = [cmath.phase(one) for one in (back, end, *(
        at for piece in found.pieces for at in (piece.start, piece.end)))]
    under = (max(angles) - min(angles)) / (cmath.phase(end) - cmath.phase(back))
    if under > MOST_UNDER:
        raise Refused(Fault(
            Message("teeth {deep:.3f} mm deep, undercut so far, reach {under:.1f} spaces under "
                    "their neighbours; {most:g} is the most that can be reckoned here",
                    deep=tip - found.root, under=under, most=MOST_UNDER),
            Message("a lesser depth, front or back-angle is needed")))
    if found.root < body or front > 0.95 * found.root:
        raise Refused(Fault(
            Message("teeth {deep:.3f} mm deep, undercut so far, leave no body on a wheel {wide:g} "
                    "mm over the tips", deep=tip - found.root, wide=2 * tip),
            Message("a lesser depth, front or back-angle is needed")))
    if (min(one.real for one in (found.pieces[0].start, found.pieces[-1].end)) <= 0.0
            or found.pieces[-1].end.real >= end.real
            or ((back - found.pieces[0].start) * outward.conjugate()).real <= 0.0):
        raise Refused(Fault(
            Message("a radius of {rounding:g} mm in the roots leaves nothing of front or back",
                    rounding=rounding), Message("a smaller root-radius")))
    return found


def _pointed(asked: Asked) -> Tooth:
    return pointed_tooth(
        asked.teeth, asked.module, front=asked.of(FRONT), back=asked.of(BACK_ANGLE),
        land=asked.of(TIP_LAND), depth=depth_asked(asked), rounding=asked.of(ROOT_RADIUS),
        fronts=asked.of(FRONTS))


POINTED = ToothForm("escape-pointed", (
    Teeth(ToothedPart.WHEEL, "escape-pointed", Message("pointed escape wheels"), _pointed,
          (FRONT, BACK_ANGLE, TIP_LAND, ROOT_RADIUS, FRONTS, DEPTH, ROOT_DIAMETER), Mating.NONE),
))
