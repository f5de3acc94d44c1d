"""Screw threads by name."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from camgen.faults import Fault, Refused, nearest
from camgen.yamlfile import read_yaml

__all__ = ["Thread", "thread_names", "thread_of"]


@dataclass(frozen=True, slots=True)
class Thread:
    """A thread: ``diameter`` over it, ``pitch``, ``hole`` the minor diameter inside; mm."""

    name: str
    diameter: float
    pitch: float
    hole: float


@lru_cache(maxsize=1)
def _table() -> dict[str, Thread]:
    data = read_yaml(Path(__file__).parent / "data" / "threads.yaml").data
    minors = {name: float(series["minor"]) for name, series in data["series"].items()}
    return {
        name: Thread(name, float(size), float(pitch), float(size) - minors[name[0]] * pitch)
        for name, (size, pitch) in data["sizes"].items()
    }


def thread_names() -> tuple[str, ...]:
    """Every thread of the table."""
    return tuple(_table())


def thread_of(name: str) -> Thread:
    """The thread called ``name``. Raises Refused with the nearest name when there is none.

    >>> round(thread_of("S1.0").hole, 3)
    0.76
    """
    table = _table()
    if name in table:
        return table[name]
    near = nearest(name, table)
    raise Refused(
        Fault(
            f"no thread is called {name!r}",
            f"did you mean {near!r}?" if near else f"known: {', '.join(table)}",
        )
    )
