"""How head and cutter stand for each way in which a step comes to the spaces.

From the words of a tooth, which lies as it is drawn, to what head and axes are told. Lengths mm,
angles degrees.
"""

from __future__ import annotations

from camgen.layout.head import ToothLayout
from camgen.layout.stands import hands_of
from camgen.part.declaration import Declaration
from camgen.teeth.tooth import Approach
from camgen.values import dataclass

__all__ = ["Stance", "approach_of", "stance_of"]


@dataclass(frozen=True, slots=True)
class Stance:
    """``turned`` degrees beyond a space's own angle as the head is told it, ``across`` the
    coordinate of that axis, ``depth`` mm below the tip circle, along the infeed."""

    turned: float
    across: float
    depth: float


def approach_of(layout: ToothLayout, says: Declaration) -> Approach:
    """The way in which a step that cuts teeth comes to them."""
    ways, asked = layout.tooth.ways, says.way_of_spaces
    return next((one for one in ways if one.cuts == asked), ways[0])


def stance_of(layout: ToothLayout, says: Declaration) -> Stance:
    """How head and cutter stand in a step that cuts teeth, without what corrects or leaves."""
    way, tooth, hands = approach_of(layout, says), layout.tooth, hands_of(layout.arrangement)
    depth = tooth.tip_radius - way.bottom if tooth.approaches else tooth.sizes.whole_depth
    # No minus before a nought.
    # What turns all spaces alike is taken up by how the blank lies on its arbor.
    turned = way.turn - tooth.ways[0].turn
    if layout.turn_step:
        turned = round(turned / layout.turn_step) * layout.turn_step
    return Stance(hands.turn * turned + 0.0, hands.across * way.over + 0.0, depth)
