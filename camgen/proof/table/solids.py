"""The spindle's side: what a cutter may not touch with, and what it must find open.

Lengths mm, heights above the cutter's zero: its tip, or the middle of a disc's width.
"""

from __future__ import annotations

from camgen.messages import Message
from camgen.shop.cutters import Cutter, opening_of, record_of
from camgen.values import dataclass

__all__ = ["Found", "finds", "takes_a_wall"]


@dataclass(frozen=True, slots=True)
class Found:
    """What a cutter must find open on its way down: ``diameter`` round its axis, mm.

    ``part`` is what of it must not meet solid metal.
    """

    diameter: float
    part: Message


def finds(cutter: Cutter) -> Found | None:
    """What a cutter must find open, None for one that may go down into solid metal.

    >>> finds(Cutter(kind="tap", diameter=1.0, pitch=0.25)).diameter
    0.7294
    """
    wide, record = opening_of(cutter), record_of(cutter)
    if wide is None:
        return None
    part = Message("end")
    if record.meets_solid:
        part = Message("dead middle")
    elif record.taps:
        part = Message("core")
    elif record.bores:
        part = Message("bar")
    elif wide < cutter.diameter and not record.reams:
        part = Message("pilot")
    return Found(round(wide, 4), part)


def takes_a_wall(cutter: Cutter) -> bool:
    """Whether a cutter takes no more of a hole's wall at once than it was planned for."""
    return record_of(cutter).bores
