"""How the head stands, in the machine's axes and as seen from the free face of the stack.

What sheet, program and picture say of sides and senses; all of it follows from the arrangement and
the tooth. A wheel lies as it is drawn: seen from the free face.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

import numpy as np

from camgen.layout.head import ToothLayout
from camgen.shop.machine import Arrangement
from camgen.teeth.outlines.curves import Complexes
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = ["FrontEdge", "Hands", "Turn", "end_of", "front_edge", "hands_of", "next_space",
           "opposite", "touched_with"]

Turn: TypeAlias = Literal["clockwise", "anticlockwise"]
# Flanks of a space that differ by no more than this are alike, mm: a tenth of what is told.
_ALIKE = 0.0005
_EVEN = ("XYZ", "YZX", "ZXY")


def opposite(axis: str) -> str:
    """The other direction of a signed axis.

    >>> opposite("-X"), opposite("+Y")
    ('+X', '-Y')
    """
    return ("+" if axis[0] == "-" else "-") + axis[1]


def end_of(arrangement: Arrangement) -> tuple[str, str]:
    """At which end of the arbor the head stands, and on which side of the work the cutter.

    >>> end_of(Arrangement(along="-X", infeed="+Y", across="Z"))
    ('-X', '-Y')
    """
    return arrangement.along, opposite(arrangement.infeed)


def next_space(arrangement: Arrangement) -> Turn:
    """Where the space to be cut next lies from one just cut, seen from the free face.

    A driven head turns the work as a right-hand screw along + of the arbor's axis (ISO 841), so the
    spaces come the other way round.

    >>> next_space(Arrangement(along="-X", infeed="+Y", across="Z"))
    'clockwise'
    """
    return "clockwise" if arrangement.along[0] == "-" else "anticlockwise"


@dataclass(frozen=True)
class FrontEdge:
    """The steep front of teeth whose flanks are not alike.

    ``towards`` is where the cutter's front edge points, a signed axis, so that the fronts ``face``
    that way seen from the free face; ``over`` how far the front's line passes beside the wheel's
    axis, mm, on the side of its own tooth, which is r·sin β.
    """

    towards: str
    face: Turn
    over: float


def front_edge(tooth: Tooth, arrangement: Arrangement) -> FrontEdge | None:
    """The front of a space that is not alike on both sides; None for one that is."""
    chain = tooth.chain(0.0005)
    deepest = int(np.argmin(np.abs(chain)))
    # Both flanks from the root to the tip, the one at smaller angles mirrored onto the other.
    low, high = np.conj(chain[: deepest + 1][::-1]), chain[deepest:]
    if _apart(low, high, tooth) <= _ALIKE:
        return None
    at_high = abs(_beside(high)) <= abs(_beside(low))
    if tooth.faces:
        # Where the tooth says which its front is, nothing need be guessed from its lean.
        end = tooth.faces[0].at.end
        at_high = abs(chain[-1] - end) < abs(chain[0] - end)
    front = high if at_high else low
    # Seen from the free face a front that lies at the larger angle faces clockwise.
    towards = ("+" if (hands_of(arrangement).across > 0) == at_high else "-") + arrangement.across
    return FrontEdge(towards, "clockwise" if at_high else "anticlockwise", _beside(front))


@dataclass(frozen=True, slots=True)
class Hands:
    """Which way the work turns and a cutter moves, seen from the free face: 1 where growing degrees
    of the head turn towards larger angles those spaces that come to the cutter, and where the axis
    across grows towards larger angles; else -1."""

    turn: float
    across: float


def hands_of(arrangement: Arrangement) -> Hands:
    """The senses of an arrangement.

    >>> hands_of(Arrangement(along="+X", infeed="+Y", across="Z"))
    Hands(turn=1.0, across=1.0)
    """
    letters = arrangement.infeed[1] + arrangement.across + arrangement.along[1]
    right = (arrangement.infeed[0] == arrangement.along[0]) == (letters in _EVEN)
    onward = next_space(arrangement) == "anticlockwise"
    return Hands(1.0 if onward else -1.0, 1.0 if right else -1.0)


def _apart(low: Complexes, high: Complexes, tooth: Tooth) -> float:
    """How far two flanks lie apart at most, mm."""
    radii = np.linspace(np.abs(high[0]) + 0.1 * tooth.sizes.whole_depth, tooth.tip_radius, 9)
    sides = [np.interp(radii, np.maximum.accumulate(np.abs(flank)), flank.imag)
             for flank in (low, high)]
    return float(np.max(np.abs(sides[0] - sides[1])))


def _beside(flank: Complexes) -> float:
    """How far the line of a flank at its tip passes beside the middle, towards the tooth, mm."""
    way = flank[-2] - flank[-1]
    inward = way / abs(way)
    return float((np.conj(flank[-1]) * inward).imag)


def touched_with(layout: ToothLayout, cutter_radius: float) -> float:
    """The infeed coordinate, mm, of a cutter that touches the blank: 0, where that is set so.

    The blank may stand above the tip circle, from which depths count; where the zero lies in the
    work's axis the cutter's axis is both radii short of it.
    """
    if layout.zero == "touch":
        return layout.touched_at
    short = layout.blank_radius + cutter_radius
    return short if layout.arrangement.infeed[0] == "-" else -short

