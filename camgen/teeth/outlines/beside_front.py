"""Spaces with a straight front, along which their cutter goes in, and a straight back.

The frame here is the cutter's: x outwards along the infeed, the front a line at a fixed y, the
space at smaller y, as fronts are that face clockwise. Lengths mm, angles radians.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from camgen.messages import Message
from camgen.teeth.form import Choice, OwnWord
from camgen.teeth.outlines.curves import FlankArc, Line, mirrored_flank, turned
from camgen.teeth.tooth import SPACE, Approach, Tooth, ToothFace, ToothSizes
from camgen.values import dataclass

__all__ = ["FRONTS", "FRONT_FACE", "Bottom", "as_facing", "bottom_between", "tooth_beside_front"]

# What a steep front is called where it is measured.
FRONT_FACE = Message("front")
FRONTS: OwnWord[str] = OwnWord(
    "fronts", Choice(("clockwise", "anticlockwise")), "clockwise",
    "ratchet and escape wheels: which way the fronts face, seen from the upper face; an escape "
    "wheel turns that way",
    "ratchet and escape wheels: which way the fronts face")
# Steps of halving in which a depth is found: to a millionth of a micrometre.
HALVINGS = 60


@dataclass(frozen=True)
class Bottom:
    """What lies between back and front: ``pieces`` from the back to the front, touching both;
    ``at`` the deepest place along the infeed, ``root`` the least distance from the axis."""

    pieces: tuple[Line | FlankArc, ...]
    at: float
    root: float


def _least(piece: Line | FlankArc) -> float:
    """Smallest distance of a line or arc from the wheel's centre, mm."""
    ends = min(abs(piece.start), abs(piece.end))
    if isinstance(piece, Line):
        way = piece.end - piece.start
        square = abs(way) ** 2
        share = -(piece.start * way.conjugate()).real / square if square else -1.0
        return abs(piece.start + share * way) if 0.0 < share < 1.0 else ends
    turn = cmath.phase(-piece.centre / (piece.start - piece.centre))
    if (turn * math.copysign(1.0, piece.sweep)) % (2.0 * math.pi) < abs(piece.sweep):
        return abs(abs(piece.centre) - piece.radius)
    return ends


def bottom_between(
    back: complex, outward: complex, front: float, rounding: float, root: float | None
) -> Bottom:
    """The bottom between a back through the point ``back``, its unit vector ``outward``, and a
    front at y = ``front``.

    One arc of ``rounding`` where the two meet; a flat floor and two arcs where the least distance
    from the axis shall be ``root`` and that is farther out. Raises ValueError where the root lies
    deeper than the two meet, or nothing is left of either.
    """
    opens = -cmath.phase(outward)
    if not 0.0 < opens < math.pi / 2.0:
        raise ValueError("the space does not open outwards")
    # Where the back passes y = front, and how far an arc's touching point lies from there.
    corner = back - outward * ((back.imag - front) / outward.imag)
    centre = complex(corner.real + rounding / math.tan(opens / 2.0), front - rounding)
    normal = -1j * outward  # From an arc's middle to the back.
    sharp: tuple[Line | FlankArc, ...] = (FlankArc(centre + rounding * normal, centre,
                      cmath.phase(1j / normal) % (2.0 * math.pi) - 2.0 * math.pi),)
    deepest = Bottom(sharp, centre.real - rounding, _least(sharp[0]))
    if root is None or abs(root - deepest.root) < 1e-9:
        return deepest
    if root < deepest.root:
        raise ValueError("deeper than front and back meet")

    def floor_at(x: float) -> Bottom:
        one = complex(x + rounding, front - rounding)
        # The other middle stands as high, and its rounding off the back.
        beside = (rounding - (one.real - back.real) * math.sin(opens)) / math.cos(opens)
        other = complex(one.real, back.imag + beside)
        first = FlankArc(other + rounding * normal, other,
                         cmath.phase(-1.0 / normal) % (2.0 * math.pi) - 2.0 * math.pi)
        last = FlankArc(complex(x, one.imag), one, -math.pi / 2.0)
        floor = Line(complex(x, other.imag), complex(x, one.imag))
        pieces: tuple[Line | FlankArc, ...] = (first, floor, last)
        return Bottom(pieces, x, min(map(_least, pieces)))

    low, high = deepest.at, deepest.at + 2.0 * abs(root)
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if floor_at(middle).root < root else (low, middle)
    return floor_at((low + high) / 2.0)


def tooth_beside_front(
    form: str, sizes: ToothSizes, before: Sequence[Line | FlankArc], bottom: Bottom,
    front: Line, after: Sequence[Line | FlankArc], *, fronts: str, tops: int = 0,
    more: Sequence[tuple[Approach, ToothFace]] = (), notes: tuple[Message, ...] = (),
) -> Tooth:
    """A tooth whose cutter goes in along the ``front``, in the frame of this module.

    ``before`` leads from the middle of one tooth's top to the bottom, ``after`` from the front's
    outer end to the middle of the next; so many pieces at either end are ``tops``, not the space's.
    ``more`` are further approaches, their turn counted from the front, with the face each makes.
    ``fronts``: which way they face; the drawing is mirrored for the other.
    """
    # The wheel lies as others do: the middle of the bottom on the +x axis.
    points = np.concatenate([piece.at(np.linspace(0.0, 1.0, 101)) for piece in bottom.pieces])
    turn = cmath.exp(-1j * cmath.phase(complex(points[np.argmin(np.abs(points))])))
    along = math.degrees(cmath.phase(turn))
    profile = [turned(piece, turn) for piece in (*before, *bottom.pieces, front, *after)]
    approaches = [Approach(SPACE, along, front.start.imag, bottom.at),
                  *(Approach(one.cuts, one.turn + along, one.over, one.bottom) for one, _ in more)]
    faces = [ToothFace(name, Line(at.start * turn, at.end * turn)) for name, at in (
        (FRONT_FACE, front), *((face.name, face.at) for _, face in more))]
    return as_facing(Tooth(form, sizes, tuple(profile), notes, approaches=tuple(approaches),
                           faces=tuple(faces), tops=tops), fronts)


def as_facing(tooth: Tooth, fronts: str) -> Tooth:
    """A tooth drawn with its front facing clockwise, and mirrored where it shall face the other
    way."""
    if fronts == "clockwise":
        return tooth
    return replace(
        tooth, profile=tuple(mirrored_flank(piece) for piece in reversed(tooth.profile)),
        approaches=tuple(Approach(one.cuts, -one.turn, -one.over, one.bottom)
                         for one in tooth.approaches),
        faces=tuple(ToothFace(one.name, Line(one.at.start.conjugate(), one.at.end.conjugate()))
                    for one in tooth.faces))
