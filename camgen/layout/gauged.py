"""What is cut on the head with a cutter, for the gauges."""

from __future__ import annotations

from camgen.faults import Refused
from camgen.layout.head import ToothLayout
from camgen.shop.cutters import Cutter
from camgen.teeth.correcting import Cutting
from camgen.teeth.tooth import Tooth

__all__ = ["cutting_of"]


def cutting_of(layout: ToothLayout, cutter: Cutter | None = None, short: float = 0.0) -> Cutting:
    """The wheel that ``cutter`` leaves on a head, cut so much ``short``, mm.

    Without a cutter, or where it does not say what it is made for, that of the very tooth meant.
    """
    return Cutting(layout.tooth, _left_by(cutter, layout.tooth), layout.blank_radius, short)


def _left_by(cutter: Cutter | None, tooth: Tooth) -> Tooth:
    if cutter is None or cutter.made_for is None:
        return tooth
    try:
        return cutter.made_for.tooth()
    except Refused:
        return tooth  # told where the cutter is looked at
