"""How wide a hole may be for the thread that is cut in it, by its length and the material.

A hole a little wider than the thread's minor diameter gives a thread that is less full and holds
nearly as well, for much less torque; the longer the thread, the less full it need be.
"""

from __future__ import annotations

import math

from camgen.faults import Refused
from camgen.shop.fits import Limits
from camgen.shop.materials import find_material
from camgen.shop.threads import ScrewThread, thread_table
from camgen.values import dataclass

__all__ = ["HoleForThread", "hole_for", "less_full"]

# Drills are sold in these steps, mm: everywhere, and by those who sell them for watches. Common
# practice, no source.
STEPS = (0.05, 0.01)


@dataclass(frozen=True, slots=True)
class HoleForThread:
    """``usual`` are the limits that are published for a thread of its length and material, ``may``
    those beyond which there is no thread to the standard, or hardly one; mm.
    """

    usual: Limits
    may: Limits

    @property
    def drills(self) -> tuple[float, ...]:
        """Drills within what is usual: in the steps of every shop if any, else in finer ones."""
        for step in STEPS:
            first = math.ceil(self.usual.least / step - 1e-6)
            last = math.floor(self.usual.most / step + 1e-6)
            if first <= last:
                return tuple(round(number * step, 3) for number in range(first, last + 1))
        return (round(self.usual.middle, 2),)


def hole_for(thread: ScrewThread, length: float, material: str) -> HoleForThread:
    """The limits of a hole for ``length`` mm of a thread in a ``material`` by its name.

    Least is the standard's minor diameter to the hundredth below, in which drills are sold. Most is
    for M threads that of class 6H, or of 5H for the finest pitches (ISO 965-1), for S threads what
    is published for a thread one step longer.

    >>> from camgen.shop.threads import thread_of
    >>> found = hole_for(thread_of("S1.0"), 1.2, "brass-leaded")
    >>> found.usual, found.may.most, found.drills
    (Limits(least=0.785, most=0.831), 0.856, (0.8,))
    """
    least = math.floor(100 * thread.hole + 1e-6) / 100
    tapping = thread_table()["tapping"]
    less = less_full(_group(material))
    if thread.name[0] == "M":
        by_pitch = {float(pitch): um / 1000 for pitch, um in tapping["minor-tolerance"].items()}
        most = round(thread.hole + by_pitch[thread.pitch], 3)
        full = round(thread.hole, 3)
        usual = Limits(round((full + most) / 2, 3) if less else full, most)
        return HoleForThread(usual, Limits(least, most))
    rows = [_row(thread, number) for number in range(len(tapping["lengths"]))]
    row = next((number for number, share in enumerate(tapping["lengths"])
                if length <= share * thread.diameter + 1e-6), len(rows) - 1)
    if less:
        row = min(row + 1, len(rows) - 1)
    usual = rows[row]
    return HoleForThread(usual, Limits(least, rows[min(row + 1, len(rows) - 1)].most))


def less_full(group: str) -> bool:
    """Whether threads are cut less full in metals of a group of ISO 513, such as P2 or S."""
    return group[:1] in thread_table()["tapping"]["less-full"]


def _row(thread: ScrewThread, number: int) -> Limits:
    """The published limits for one range of lengths; of the chart, else by its shares."""
    tapping = thread_table()["tapping"]
    chart = tapping["chart"].get(thread.name, ())
    if number < len(chart):
        return Limits(*chart[number])
    high, low = tapping[thread.name[0]][number]
    return Limits(round(thread.diameter - high * thread.pitch, 3),
                  round(thread.diameter - low * thread.pitch, 3))


def _group(material: str) -> str:
    """A material's group of ISO 513; nothing for one of the workshop's own."""
    try:
        return find_material(material, None).group
    except Refused:
        return ""
