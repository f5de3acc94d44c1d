"""What earlier setups of the same job left of the piece, in the frame of the one that is proved.

Seen from the face that looks up now: cuts made into the same face lower the metal's top, cuts made
into the other one, before the piece was turned over, raise what it ends at below. Lengths mm.
"""

from __future__ import annotations

import numpy as np

from camgen.arrays import Floats
from camgen.layout import FlatLayout
from camgen.proof.evidence import FlatEvidence
from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.proof.ground.standing import Profiles, profiles_of, standing
from camgen.values import dataclass

__all__ = ["Before", "as_left", "left_before"]


@dataclass(frozen=True)
class Before:
    """An earlier setup's cuts, ``cuts`` and their ``profiles`` in its own frame.

    ``from_below`` where they were made into the face that looks down now. A point of this setup is
    brought to ``place`` there by ``middle``, where the piece's own zero is here, and ``flip``, the
    signs of X and Y; a height z by ``level`` + z, or ``level`` − z from below.
    """

    cuts: PlanCuts
    profiles: Profiles
    top: float
    from_below: bool
    middle: tuple[float, float]
    place: tuple[float, float]
    flip: tuple[float, float]
    level: float

    def left(self, points: Floats) -> Floats:
        """(m,) where its cuts left the metal to end, at points (m, 2) and as heights of here."""
        there = (points - np.array(self.middle)) * np.array(self.flip) + np.array(self.place)
        height, by = standing(self.cuts, self.profiles, there, None, self.top)
        # What was not cut ends where the piece does.
        height[by < 0] = np.inf
        return np.asarray(self.level - height if self.from_below else height - self.level)


def left_before(evidence: FlatEvidence) -> tuple[Before, ...]:
    """What is known of the setups that the piece comes from, one for each."""
    return tuple(as_left(evidence.layout, earlier) for earlier in evidence.earlier)


def _signs(turned: str) -> tuple[float, float]:
    return (-1.0 if turned == "Y" else 1.0), (-1.0 if turned == "X" else 1.0)


def as_left(layout: FlatLayout, earlier: FlatEvidence) -> Before:
    """What one earlier setup left, in the frame of the setup with this layout."""
    cuts, there = earlier.flat_cuts, earlier.layout
    profiles = profiles_of(cuts, earlier.motion.cutter[cuts.piece], earlier.cutters)
    here_x, here_y = _signs(layout.turned)
    there_x, there_y = _signs(there.turned)
    below = layout.side != there.side
    # Faces of the finished part answer each other, whatever was left on them then.
    level = there.face + layout.back if below else there.face - layout.face
    return Before(
        cuts, profiles, there.top, below, layout.places[0], there.places[0],
        (here_x * there_x, here_y * there_y), level,
    )
