"""Screw threads by name; outside ones with their limits and what they measure over wires.

The profile is that of ISO 68-1, its flanks at 60 degrees. Of metric threads outside the limits are
those of class 6g by the formulas of ISO 965-1, from memory: es = -(15 + 11 P), Td = 180 P^(2/3) -
3.15/P^0.5 and Td2 = 90 P^0.4 d^0.1, in µm. Of miniature ones nothing is taken off and the
tolerances are those of grade 5, 0.8 as wide: an estimate, ISO 1501 has a table of its own. Lengths
mm.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from camgen.faults import Fault, Refused, did_you_mean
from camgen.messages import Message
from camgen.shop.cutters import Cutter
from camgen.shop.fits import Limits
from camgen.yamlfile import read_yaml

__all__ = ["LEFT", "ScrewThread", "ThreadOutside", "best_wire", "flat_of", "outside_thread_of",
           "over_wires", "rows_of", "thread_names", "thread_of", "thread_table"]

# M and two numbers with a sign of multiplication between them.
_FINE = re.compile(r"M([0-9]+(?:\.[0-9]+)?)[x×X]([0-9]+(?:\.[0-9]+)?)")

LEFT: Final = "-LH"
"""What a left-hand thread's name ends with (ISO 965-1, from memory)."""
# The pitch diameter lies so many pitches below the diameter over the thread (ISO 724).
PITCH_LINE: Final = 0.649519
# Narrowest flat at a tooth's tip, in pitches: a sharper one leaves too deep a notch (ISO 68-1).
LEAST_FLAT: Final = 0.125
_TANGENT: Final = math.tan(math.radians(30.0))


@dataclass(frozen=True, slots=True)
class ScrewThread:
    """A thread: ``diameter`` over it, ``pitch``, ``hole`` the minor diameter inside; mm.

    ``drill`` is the drill that is usual before tapping it, a little larger than the minor diameter.
    """

    name: str
    diameter: float
    pitch: float
    hole: float
    drill: float

    def cuts(self, diameter: float, pitch: float) -> bool:
        """Whether it is the thread of that diameter and pitch, mm."""
        return abs(self.diameter - diameter) < 1e-6 and abs(self.pitch - pitch) < 1e-6


@lru_cache(maxsize=1)
def thread_table() -> Mapping[str, Any]:
    """The shipped table of threads, as it is written."""
    data: Mapping[str, Any] = read_yaml(Path(__file__).parent / "data" / "threads.yaml").data
    return data


@lru_cache(maxsize=1)
def _named() -> dict[str, ScrewThread]:
    data = thread_table()
    return {
        name: _thread(name, float(size), float(pitch), data["series"][name[0]])
        for name, (size, pitch) in data["sizes"].items()
    }


def _thread(name: str, diameter: float, pitch: float, series: dict[str, float]) -> ScrewThread:
    step = series["step"]
    drill: float = math.ceil((diameter - series["drill"] * pitch) / step - 1e-6) * step
    return ScrewThread(name, diameter, pitch, diameter - series["minor"] * pitch, round(drill, 3))


def thread_names() -> tuple[str, ...]:
    """Every thread of the table that has a name without its pitch."""
    return tuple(_named())


def thread_of(name: str) -> ScrewThread:
    """The thread called ``name``; fine ones by diameter and pitch.

    Raises Refused with the nearest name when there is none.

    >>> round(thread_of("S1.0").hole, 3), thread_of("M1.6").drill
    (0.76, 1.25)
    >>> round(thread_of("M28x0.35").hole, 3), thread_of("M4x0.7").name
    (27.621, 'M4')
    """
    table = _named()
    if name in table:
        return table[name]
    if (fine := _FINE.fullmatch(name)) is not None:
        return _fine(float(fine[1]), float(fine[2]))
    raise Refused(Fault(
        Message("no thread is called '{name}'", name=name),
        did_you_mean(name, table, Message("known: {names}; fine ones as {fine}",
                                          names=tuple(table), fine="M4x0.5"))))


def _fine(diameter: float, pitch: float) -> ScrewThread:
    """A metric thread by diameter and pitch. Raises Refused for pitches that are none for it."""
    for thread in _named().values():
        if thread.name[0] == "M" and (thread.diameter, thread.pitch) == (diameter, pitch):
            return thread
    data = thread_table()
    fine: dict[float, list[float]] = {float(one): ends for one, ends in data["fine"].items()}
    name = f"M{diameter:g}x{pitch:g}"
    ends = fine.get(pitch)
    if ends is not None and ends[0] <= diameter <= ends[1]:
        return _thread(name, diameter, pitch, data["series"]["M"])
    may = tuple(f"M{diameter:g}x{one:g}" for one, (least, most) in fine.items()
                if least <= diameter <= most)
    raise Refused(Fault(
        Message("no thread {name} is known", name=name),
        Message("one of {names}", names=may) if may else
        Message("fine threads are known from {least:g} to {most:g} mm",
                least=min(ends[0] for ends in fine.values()),
                most=max(ends[1] for ends in fine.values()))))


@dataclass(frozen=True, slots=True)
class ThreadOutside:
    """A thread outside: of which ``thread``, and whether it is left-hand."""

    thread: ScrewThread
    left: bool = False

    @property
    def name(self) -> str:
        """As the job says it."""
        return f"{self.thread.name}{LEFT if self.left else ''}"

    @property
    def _metric(self) -> bool:
        return self.thread.name[0] == "M"

    @property
    def major(self) -> Limits:
        """Of the diameter over it.

        >>> limits = outside_thread_of("M28x0.35").major
        >>> round(limits.least, 3), round(limits.most, 3)
        (27.897, 27.981)
        """
        pitch = self.thread.pitch
        wide = (180 * pitch ** (2 / 3) - 3.15 / math.sqrt(pitch)) / 1000
        return self._below(self.thread.diameter, wide)

    @property
    def pitch_diameter(self) -> Limits:
        """Of the diameter at which ridge and groove are as wide."""
        pitch, diameter = self.thread.pitch, self.thread.diameter
        return self._below(diameter - PITCH_LINE * pitch,
                           90 * pitch**0.4 * diameter**0.1 / 1000)

    def _below(self, size: float, wide: float) -> Limits:
        most = size - ((15 + 11 * self.thread.pitch) / 1000 if self._metric else 0.0)
        return Limits(most - (wide if self._metric else 0.8 * wide), most)

    @property
    def flats(self) -> Limits:
        """Of the flat at a tooth's tip: the widest leaves the standard's minor diameter.

        >>> flats = outside_thread_of("M4x0.5").flats
        >>> round(flats.least, 4), round(flats.most, 4)
        (0.0625, 0.125)
        """
        pitch = self.thread.pitch
        minor = thread_table()["series"][self.thread.name[0]]["minor"]
        return Limits(LEAST_FLAT * pitch, (0.5 - (minor - PITCH_LINE) * _TANGENT) * pitch)

    def root(self, flat: float) -> float:
        """Diameter at the root that a tooth with a ``flat`` at its tip leaves where the pitch
        diameter is in the middle of its limits: there the groove is half a pitch wide.

        >>> round(outside_thread_of("M28x0.35").root(0.35 / 8), 3)
        27.485
        """
        return self.pitch_diameter.middle - (self.thread.pitch / 2 - flat) / _TANGENT


def flat_of(cutter: Cutter) -> float:
    """Flat at the tips of a thread mill's teeth, mm: as said, else the narrowest, an eighth of the
    pitch, as mills for threads in holes have it (common practice, no source)."""
    return cutter.tip or LEAST_FLAT * (cutter.pitch or 0.0)


def rows_of(cutter: Cutter) -> int:
    """Rows of teeth of a thread mill one over another: one unless it says how long its edges are.

    >>> rows_of(Cutter(kind="thread-mill", diameter=2, pitch=0.5, flute_length=2.6))
    5
    """
    if cutter.flute_length is None or not cutter.pitch:
        return 1
    return max(1, math.floor(cutter.flute_length / cutter.pitch + 1e-6))


def outside_thread_of(name: str) -> ThreadOutside:
    """The thread called ``name``; left-hand ones end with -LH. Raises Refused when there is none.

    >>> outside_thread_of("M4x0.5-LH").left, outside_thread_of("M4x0.5").left
    (True, False)
    """
    left = name.endswith(LEFT)
    try:
        return ThreadOutside(thread_of(name.removesuffix(LEFT)), left)
    except Refused as no:
        raise Refused([Fault(one.message, Message(
            "{remedy}; a left-hand one ends with {left}", remedy=one.remedy, left=LEFT))
            for one in no.faults]) from None


def best_wire(pitch: float) -> float:
    """Diameter of the wire that touches flanks of 60 degrees at the pitch line, mm.

    >>> round(best_wire(1.0), 4)
    0.5774
    """
    return pitch / (2 * math.cos(math.radians(30.0)))


def over_wires(pitch: float, pitch_diameter: float, wire: float) -> float:
    """Measure over three wires: d2 + w (1 + 1/sin 30°) - (P/2) cot 30°, mm; without the correction
    for the lead, which is below a micrometre for threads so fine. Textbooks of metrology, from
    memory.

    >>> round(over_wires(1.0, 5.35, 0.5774), 3)
    6.216
    """
    return pitch_diameter + 3 * wire - pitch / (2 * _TANGENT)
