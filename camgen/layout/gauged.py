"""What is cut on the head with a cutter, for the gauges."""

from __future__ import annotations

from camgen.faults import Refused
from camgen.layout.head import ToothLayout
from camgen.shop.cutters import Cutter
from camgen.teeth.cut.correcting import Cutting
from camgen.teeth.tooth import Tooth

__all__ = ["cutting_of"]


def cutting_of(layout: ToothLayout, cutter: Cutter | None = None, short: float = 0.0) -> Cutting:
    """The wheel that ``cutter`` leaves on a head, cut so much ``short``, mm.

    Without a cutter, or where it does not say what space it leaves, that of the very tooth meant.
    A topping cutter leaves of the blank what is no higher than the tips, or than it stands.
    """
    stands = layout.blank_radius
    if layout.topped:
        stands = min(stands, layout.tooth.tip_radius + short)
    return Cutting(layout.tooth, _left_by(cutter, layout.tooth), stands, short)


def _left_by(cutter: Cutter | None, tooth: Tooth) -> Tooth:
    """The tooth that a cutter leaves: of the wheel it was made for, or by its own profile."""
    try:
        if cutter is not None and cutter.made_for is not None:
            return cutter.made_for.tooth()
        line = cutter.cut_space() if cutter is not None else None
        return tooth if line is None else line.tooth(tooth)
    except Refused:
        return tooth  # told where the cutter is looked at
