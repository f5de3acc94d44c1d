"""Screw threads by name."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from camgen.faults import Fault, Refused, did_you_mean
from camgen.messages import Message
from camgen.yamlfile import read_yaml

__all__ = ["ScrewThread", "thread_names", "thread_of"]


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


@lru_cache(maxsize=1)
def _table() -> dict[str, ScrewThread]:
    data = read_yaml(Path(__file__).parent / "data" / "threads.yaml").data
    return {
        name: _thread(name, float(size), float(pitch), data["series"][name[0]])
        for name, (size, pitch) in data["sizes"].items()
    }


def _thread(name: str, diameter: float, pitch: float, series: dict[str, float]) -> ScrewThread:
    step = series["step"]
    drill: float = math.ceil((diameter - series["drill"] * pitch) / step - 1e-6) * step
    return ScrewThread(name, diameter, pitch, diameter - series["minor"] * pitch, round(drill, 3))


def thread_names() -> tuple[str, ...]:
    """Every thread of the table."""
    return tuple(_table())


def thread_of(name: str) -> ScrewThread:
    """The thread called ``name``. Raises Refused with the nearest name when there is none.

    >>> round(thread_of("S1.0").hole, 3), thread_of("M1.6").drill
    (0.76, 1.25)
    """
    table = _table()
    if name in table:
        return table[name]
    raise Refused(Fault(
        Message("no thread is called '{name}'", name=name),
        did_you_mean(name, table, Message("known: {names}", names=tuple(table)))))
