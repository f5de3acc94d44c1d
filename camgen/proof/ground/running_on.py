"""How far a tap goes on by itself while its spindle is turned the other way round."""

from camgen.shop.cutters import Cutter, record_of
from camgen.shop.machine import Machine

__all__ = ["runs_on"]


def runs_on(cutter: Cutter, machine: Machine, speed: float) -> float:
    """How far a tap goes on by itself while its spindle is turned the other way round, mm.

    Slowing down evenly for half of that time it makes n · t/2 · 1/2 turns (geometry).
    """
    seconds = machine.spindle.reversal_seconds
    if not record_of(cutter).taps or cutter.pitch is None or seconds is None:
        return 0.0
    return abs(speed) / 60.0 * seconds / 4.0 * cutter.pitch
