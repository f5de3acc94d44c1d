"""The room that a disc needs before the free face of a stack, mm."""

from __future__ import annotations

from camgen.layout import ToothLayout
from camgen.steps.head.around_stack import Sweep
from camgen.steps.head.arrangement import Frame
from camgen.steps.head.cut_teeth_words import along_start
from camgen.values import dataclass

__all__ = ["RoomBefore", "room_before"]


@dataclass(frozen=True)
class RoomBefore:
    """``lowest`` is how far from the arbor's axis the disc's edge comes, ``near`` how far before
    the face nothing may stand that is thicker than that, ``far`` how far nothing that is thicker
    than blanks and backing."""

    lowest: float
    near: float
    far: float


def room_before(layout: ToothLayout, radius: float, depth: float) -> RoomBefore:
    """The room for a disc of ``radius``, the teeth being so deep below the tip circle."""
    lowest = layout.tooth.tip_radius - depth
    outside = max(layout.blank_radius, layout.backing_radius)
    start = -along_start(Frame(layout, radius), depth)
    return RoomBefore(lowest, start + Sweep(radius, 0.0, 0.0, lowest).half(outside),
                      start + radius)
