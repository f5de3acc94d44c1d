"""The highest speed of a cutter, and where that comes from."""

from __future__ import annotations

from camgen.shop.cutters.cutter import Cutter
from camgen.shop.tables import Quantity, block, quantity

__all__ = ["highest_speed"]


def highest_speed(cutter: Cutter) -> Quantity | None:
    """The most a cutter is turned at, rev/min: by its own word, else what is usual for its kind.

    None for kinds that the surface speed and the spindle alone bound. Up to the ``high`` of what is
    usual a speed may be asked for; the ``value`` is what is planned.

    >>> bar = highest_speed(Cutter(kind="boring-bar", diameter=2))
    >>> bar.value, bar.high, bar.source
    (3000.0, 5000.0, 'practice')
    >>> highest_speed(Cutter(kind="end-mill", diameter=2)) is None
    True
    """
    said = cutter.highest_speed
    if said is not None:
        return Quantity(said, "rev/min", said, said, "the cutter's own word", "", own=True)
    entry = block("cutters", cutter.kind).get("highest-speed")
    return quantity(entry) if entry else None
