"""Screw threads by name."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from camgen.faults import Fault, Refused, did_you_mean
from camgen.messages import Message
from camgen.yamlfile import read_yaml

__all__ = ["ScrewThread", "thread_names", "thread_of", "thread_table"]

# M and two numbers with a sign of multiplication between them.
_FINE = re.compile(r"M([0-9]+(?:\.[0-9]+)?)[x×X]([0-9]+(?:\.[0-9]+)?)")


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
