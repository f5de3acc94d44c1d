"""Ratchet wheels: a steep front, radial or undercut, and a back that is straight or curved.

There is no pitch circle to roll on: the module is the tip diameter divided by the teeth, and pitch
and thickness are measured at the tips. Seen from the +axis the steep fronts face clockwise. Lengths
mm, angles degrees.
"""

from __future__ import annotations

import cmath
import math
from typing import Literal, TypeAlias

from camgen.faults import Fault, Refused
from camgen.messages import Message, counted
from camgen.teeth.form import (
    Asked,
    Choice,
    Mating,
    Number,
    OwnWord,
    Size,
    Teeth,
    ToothedPart,
    ToothForm,
)
from camgen.teeth.outlines.beside_front import FRONT_FACE, FRONTS, as_facing
from camgen.teeth.outlines.building import checked_module, sizes_of
from camgen.teeth.outlines.curves import FlankArc, Line, arc_through, turned
from camgen.teeth.outlines.own_sizes import ROOT_DIAMETER
from camgen.teeth.proportions import proportion
from camgen.teeth.tooth import SPACE, Approach, Tooth, ToothFace

__all__ = ["DEPTH", "FORM", "FRONT", "Back", "cutter_offset", "depth_asked", "ratchet_tooth"]

Back: TypeAlias = Literal["straight", "curved"]
# Two figures for one diameter may differ by what is rounded off both, mm.
ROUNDED = 0.001
_Space: TypeAlias = tuple[Line | FlankArc, FlankArc, Line]


def cutter_offset(tip_radius: float, front: float) -> float:
    """How far beside the wheel's middle the cutter's front-cutting edge runs, mm.

    A front leaning back by β from the radius is a line at r·sin β from the middle (geometry; a
    published clockmaker's note on escape-wheel cutters uses β = 10°).

    >>> round(cutter_offset(5.0, 10.0), 3)
    0.868
    """
    return tip_radius * math.sin(math.radians(front))


def ratchet_tooth(
    teeth: int,
    module: float,
    *,
    front: float = 0.0,
    back: Back = "straight",
    depth: float | None = None,
    fronts: str = "clockwise",
) -> Tooth:
    """A ratchet wheel of ``module`` × ``teeth`` mm over the tips.

    ``front`` is the undercut of the front, degrees from the radius; ``depth`` the depth of the
    teeth, mm, else half a pitch. A curved back is one arc, bulging outwards, that leaves the tip
    half way between the chord and the tip circle. ``fronts`` is which way the fronts face. Raises
    Refused where the teeth cannot be: too deep, undercut too far, or so shallow that a back would
    dip below the root.

    >>> ratchet_tooth(30, 0.2, depth=0.3).sizes.root_diameter
    5.4
    """
    checked_module(module)
    if teeth < 6:
        raise Refused(Fault(
            counted("{n} ratchet tooth cannot be cut", "{n} ratchet teeth cannot be cut", teeth),
            Message("at least 6 are needed")))
    tip_radius = teeth * module / 2.0
    pitch = math.pi * module
    whole = proportion("ratchet", "depth") * pitch if depth is None else depth
    root_radius = tip_radius - whole
    lean = math.radians(front)
    if root_radius < 0.2 * tip_radius or tip_radius * math.sin(lean) > 0.95 * root_radius:
        raise Refused(
            Fault(
                Message("ratchet teeth {deep:g} mm deep, undercut by {front:g}°, leave no body on "
                        "a wheel {wide:g} mm over the tips", deep=whole, front=front,
                        wide=2 * tip_radius),
                Message("a smaller depth or undercut is needed"),
            )
        )
    land = proportion("ratchet", "land") * module
    rounding = min(proportion("ratchet", "rounding") * module, whole / 4.0)
    half = (pitch - land) / (2.0 * tip_radius)

    # The rounding fills the sharp corner, so the corner lies deeper than the root: the sharper, the
    # deeper. Where there is no room for it the corner lies too deep.
    low, high = max(root_radius - 10.0 * rounding, 0.0), root_radius
    pieces: _Space | None = None
    for _ in range(60):
        corner = (low + high) / 2.0
        try:
            pieces = _space(tip_radius, half, lean, back, corner, rounding)
        except ValueError:
            low = corner
            continue
        if _least_radius(pieces[1]) > root_radius:
            high = corner
        else:
            low = corner
    if pieces is None or _least_radius(pieces[1]) > root_radius + 1e-6 * module:
        raise Refused(
            Fault(
                Message("ratchet teeth {deep:g} mm deep, undercut by {front:g}°, have no room for "
                        "their root", deep=whole, front=front),
                Message("a smaller depth or undercut is needed"),
            )
        )
    if min(_least_radius(piece) for piece in pieces) < root_radius - 1e-6 * module:
        raise Refused(
            Fault(
                Message("the backs of {teeth} ratchet teeth only {deep:g} mm deep would dip below "
                        "the root", teeth=teeth, deep=whole),
                Message("more depth is needed, or more teeth"),
            )
        )
    side = math.pi / teeth - half
    first = FlankArc(cmath.rect(tip_radius, -math.pi / teeth), 0j, side)
    last = FlankArc(cmath.rect(tip_radius, half), 0j, side)
    sizes = sizes_of(teeth, module, tip_radius, root_radius, land)
    on_back, rounded, on_front = pieces
    # Two arcs that meet in the deepest point, and that point on the +x axis: a cutter at centre
    # height then has its outermost edge there.
    deepest = -rounded.centre / abs(rounded.centre) * rounded.radius
    share = cmath.phase(deepest / (rounded.start - rounded.centre))
    bottom = (
        FlankArc(rounded.start, rounded.centre, share),
        FlankArc(rounded.centre + deepest, rounded.centre, rounded.sweep - share),
    )
    turn = cmath.exp(-1j * cmath.phase(rounded.centre))
    profile = tuple(turned(piece, turn) for piece in (first, on_back, *bottom, on_front, last))
    if not front:
        return as_facing(Tooth("ratchet", sizes, profile), fronts)
    # The head is turned so that an undercut front lies along the infeed: the cutter takes nothing
    # of it on its way in. The flat side that cuts it stands over by r·sin β.
    along = cmath.phase((on_front.end - on_front.start) * turn)
    deepest = (rounded.centre * turn * cmath.exp(-1j * along)).real - rounding
    way = Approach(SPACE, math.degrees(along), cutter_offset(tip_radius, front), deepest)
    face = ToothFace(FRONT_FACE, Line(on_front.start * turn, on_front.end * turn))
    return as_facing(Tooth("ratchet", sizes, profile, approaches=(way,), faces=(face,)), fronts)


def _space(
    tip_radius: float, half: float, lean: float, back: Back, corner_radius: float, rounding: float
) -> _Space:
    """Back, rounding and front of one space; ValueError where they do not fit together."""
    front_tip = cmath.rect(tip_radius, half)
    back_tip = cmath.rect(tip_radius, -half)
    inward = -cmath.exp(1j * (half - lean))
    side = tip_radius * math.sin(lean)
    if side >= corner_radius:
        raise ValueError("the front passes the corner")
    length = tip_radius * math.cos(lean) - math.sqrt(corner_radius**2 - side**2)
    corner = front_tip + length * inward
    to_space = inward * 1j
    if back == "straight":
        along = (back_tip - corner) / abs(back_tip - corner)
        out = -inward
        angle = abs(cmath.phase(along / out))
        reach = rounding / math.tan(angle / 2.0)
        if reach >= min(length, abs(back_tip - corner)):
            raise ValueError("no room for the rounding")
        centre = corner + reach * out + rounding * to_space
        on_back, on_front = corner + reach * along, corner + reach * out
        first: Line | FlankArc = Line(back_tip, on_back)
    else:
        whole = _curved_back(back_tip, corner)
        # The rounding's centre is its radius off the front and touches the arc from outside.
        base = front_tip + rounding * to_space - whole.centre
        middle = -(base * inward.conjugate()).real
        across = abs((base * inward.conjugate()).imag)
        gap = (whole.radius + rounding) ** 2 - across**2
        if gap <= 0.0:
            raise ValueError("no room for the rounding")
        runs = [middle - math.sqrt(gap), middle + math.sqrt(gap)]
        run = min(runs, key=lambda one: abs(one - length))
        if not 0.0 < run < length:
            raise ValueError("no room for the rounding")
        on_front = front_tip + run * inward
        centre = on_front + rounding * to_space
        outward = (centre - whole.centre) / abs(centre - whole.centre)
        on_back = whole.centre + whole.radius * outward
        sweep = cmath.phase((on_back - whole.centre) / (back_tip - whole.centre))
        if not 0.0 < sweep < whole.sweep:
            raise ValueError("no room for the rounding")
        first = FlankArc(back_tip, whole.centre, sweep)
    turn = cmath.phase((on_front - centre) / (on_back - centre))
    return first, FlankArc(on_back, centre, turn), Line(on_front, front_tip)


def _curved_back(back_tip: complex, corner: complex) -> FlankArc:
    chord = corner - back_tip
    tangent = 1j * back_tip / abs(back_tip)
    between = abs(cmath.phase(chord / tangent))
    # An arc of sweep 2γ leaves its chord by γ.
    return arc_through(back_tip, corner, abs(chord) / (2.0 * math.sin(between / 2.0)), left=True)


def _least_radius(piece: Line | FlankArc) -> float:
    """Smallest distance of a line or arc from the wheel's centre, mm."""
    ends = min(abs(piece.start), abs(piece.end))
    if isinstance(piece, Line):
        way = piece.end - piece.start
        share = -(piece.start * way.conjugate()).real / abs(way) ** 2
        return abs(piece.start + share * way) if 0.0 < share < 1.0 else ends
    # The point of the whole circle nearest to the wheel's centre, and whether the arc passes it.
    turn = cmath.phase(-piece.centre / (piece.start - piece.centre))
    if (turn * math.copysign(1.0, piece.sweep)) % (2.0 * math.pi) < abs(piece.sweep):
        return abs(abs(piece.centre) - piece.radius)
    return ends


def _built(asked: Asked) -> Tooth:
    return ratchet_tooth(asked.teeth, asked.module, front=asked.of(FRONT), back=asked.of(BACK),
                         depth=depth_asked(asked), fronts=asked.of(FRONTS))


def depth_asked(asked: Asked) -> float | None:
    """The depth of the teeth, mm, by itself or by the diameter at the roots."""
    root, depth, tip = asked.of(ROOT_DIAMETER), asked.of(DEPTH), asked.teeth * asked.module
    if root is None:
        return depth
    if depth is not None and abs(tip - 2.0 * depth - root) > ROUNDED:
        raise Refused(Fault(
            Message("root-diameter {root:g} mm and depth {depth:g} mm do not agree: on {tip:.3f} "
                    "mm over the tips such a depth leaves {other:.3f} mm", root=root, depth=depth,
                    tip=tip, other=tip - 2.0 * depth),
            Message("leave one of them out")))
    if root >= tip:
        raise Refused(Fault(
            Message("root-diameter {root:g} mm is not smaller than the diameter over the tips, "
                    "{tip:.3f} mm", root=root, tip=tip),
            Message("for ratchets that is module times teeth: look at all three")))
    return (tip - root) / 2.0


FRONT: OwnWord[float] = OwnWord(
    "front", Number(least=0, most=30), 0.0,
    "ratchet and escape wheels: undercut of the front, degrees",
    "ratchet and escape wheels: undercut of the front, degrees")
BACK: OwnWord[Back] = OwnWord(
    "back", Choice(("straight", "curved")), "straight", "ratchet only: shape of the back",
    "ratchet: the back's shape")
DEPTH: OwnWord[float | None] = OwnWord(
    "depth", Size(), None, "ratchet and escape wheels: depth of the teeth",
    "ratchet and escape wheels: depth of the teeth", is_depth=True)

FORM = ToothForm("ratchet", (
    Teeth(ToothedPart.WHEEL, "ratchet", Message("ratchet wheels"), _built,
          (FRONT, BACK, FRONTS, DEPTH, ROOT_DIAMETER),
          Mating.NONE),
))
