"""Club teeth of escape wheels: a front, an impulse plane, a heel and a back.

The module is the diameter over the heels divided by the teeth. The locking corner stands lower than
the heel, and the impulse plane is the straight line between the two. Lengths mm, angles degrees.
"""

from __future__ import annotations

import cmath
import math

from camgen.faults import Fault, Refused, no_more
from camgen.messages import Message
from camgen.teeth.form import Asked, Mating, Number, OwnWord, Size, Teeth, ToothedPart, ToothForm
from camgen.teeth.outlines.beside_front import FRONTS, tooth_beside_front
from camgen.teeth.outlines.building import sizes_of
from camgen.teeth.outlines.curves import Line
from camgen.teeth.outlines.escape import BACK_ANGLE, ROOT_RADIUS, begun, space_bottom
from camgen.teeth.outlines.own_sizes import ROOT_DIAMETER
from camgen.teeth.outlines.ratchet import DEPTH, FRONT, depth_asked
from camgen.teeth.proportions import proportion
from camgen.teeth.tooth import Approach, Tooth, ToothFace

__all__ = ["CLUB", "HEEL", "HEEL_ANGLE", "IMPULSE", "RISE", "club_tooth"]

IMPULSE: OwnWord[float] = OwnWord(
    "impulse", Number(least=1, most=20), 5.5,
    "club teeth only: angle that the impulse plane takes of the circle, degrees",
    "club teeth: angle that the impulse plane takes of the circle, degrees")
RISE: OwnWord[float | None] = OwnWord(
    "rise", Size(), None,
    "club teeth only: how much farther out the heel stands than the locking corner",
    "club teeth: how much farther out the heel stands than the locking corner")
HEEL: OwnWord[float | None] = OwnWord(
    "heel", Size(), None, "club teeth only: length of the heel, behind the impulse plane",
    "club teeth: length of the heel, behind the impulse plane")
HEEL_ANGLE: OwnWord[float] = OwnWord(
    "heel_angle", Number(least=0, most=60), 15.0,
    "club teeth only: how far the heel leans from the radius, degrees",
    "club teeth: how far the heel leans from the radius, degrees")


def club_tooth(
    teeth: int, module: float, *, front: float, back: float, impulse: float = 5.5,
    rise: float | None = None, heel: float | None = None, heel_angle: float = 15.0,
    depth: float | None = None, rounding: float | None = None, fronts: str = "clockwise",
) -> Tooth:
    """A club tooth of an escape wheel of ``module`` × ``teeth`` mm over the heels.

    The ``front`` leans so many degrees from the radius at the locking corner; the ``impulse`` plane
    takes so many of the circle and rises by ``rise`` mm to the heel, which is ``heel`` mm long and
    leans by ``heel_angle``; the ``back`` leans from the radius where the heel ends. Raises Refused
    where the tooth cannot be.

    >>> tooth = club_tooth(15, 0.5, front=24, back=36, depth=0.9)
    >>> [one.cuts for one in tooth.approaches]
    ['space', 'impulse']
    """
    tip, rounding = begun(teeth, module, rounding)
    rise = proportion("club", "rise") * module if rise is None else rise
    heel = proportion("club", "heel") * module if heel is None else heel
    pitch, wide, lean = 2.0 * math.pi / teeth, math.radians(impulse), math.radians(front)
    if wide > 0.6 * pitch or rise > 0.2 * tip:
        raise Refused(Fault(
            Message("an impulse plane of {impulse:g}° that rises {rise:g} mm leaves no space: from "
                    "tooth to tooth are {pitch:g}°", impulse=impulse, rise=rise,
                    pitch=math.degrees(pitch)),
            Message("impulse: {most} or less, and less rise", most=no_more(
                math.degrees(0.6 * pitch), 0.01))))
    # In the frame of the front, along which the cutter goes in.
    locking = cmath.rect(tip - rise, lean)
    heel_at = lean - pitch + wide
    corner = cmath.rect(tip, heel_at)
    along_heel = cmath.exp(1j * (heel_at - math.radians(heel_angle)))
    end_of_heel = corner - heel * along_heel
    outward = cmath.exp(1j * (cmath.phase(end_of_heel) - math.radians(back)))
    if cmath.phase(along_heel) >= 0.0:
        raise Refused(Fault(
            Message("the heel hangs over the space: its cutter goes in along the front, and takes "
                    "it off"),
            Message("heel-angle: {least:.1f} or more, or less front",
                    least=math.ceil(math.degrees(heel_at) * 10 + 1) / 10)))
    bottom = space_bottom(end_of_heel, outward, locking, rounding, depth, tip)
    # The plane of this tooth, which stands on the front's far side.
    plane = Line(locking, cmath.rect(tip, lean + wide))
    normal = (plane.end - plane.start) / abs(plane.end - plane.start) * -1j
    middle = (plane.start + plane.end) / 2.0
    turned = middle / normal
    way = Approach("impulse", math.degrees(cmath.phase(normal)), turned.imag, turned.real)
    before = cmath.exp(-1j * pitch)
    return tooth_beside_front(
        "escape-club",
        sizes_of(teeth, module, tip, bottom.root, abs(plane.end - plane.start)),
        [Line(middle * before, corner), Line(corner, end_of_heel),
         Line(end_of_heel, bottom.pieces[0].start)],
        bottom, Line(bottom.pieces[-1].end, locking), [Line(locking, middle)], fronts=fronts,
        tops=1, more=[(way, ToothFace(Message("impulse plane"), plane))])


def _club(asked: Asked) -> Tooth:
    return club_tooth(
        asked.teeth, asked.module, front=asked.of(FRONT), back=asked.of(BACK_ANGLE),
        impulse=asked.of(IMPULSE), rise=asked.of(RISE), heel=asked.of(HEEL),
        heel_angle=asked.of(HEEL_ANGLE), depth=depth_asked(asked), rounding=asked.of(ROOT_RADIUS),
        fronts=asked.of(FRONTS))


CLUB = ToothForm("escape-club", (
    Teeth(ToothedPart.WHEEL, "escape-club", Message("club-tooth escape wheels"), _club,
          (FRONT, BACK_ANGLE, IMPULSE, RISE, HEEL, HEEL_ANGLE, ROOT_RADIUS, FRONTS, DEPTH,
           ROOT_DIAMETER), Mating.NONE),
))
