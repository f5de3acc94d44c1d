"""Where the words of a setup stand in the job file."""

from __future__ import annotations

from camgen.faults import Place
from camgen.job.models import Clamping, Job, Setup

__all__ = ["place_of"]


def place_of(job: Job, setup: Setup | Clamping, *words: str | int) -> Place:
    """Where a word of a setup stands, in the job file's own words; lines are found by the reader.

    ``place_of(job, setup, "repeat", "pitch")`` is ``setups[0].repeat.pitch``.
    """
    number = next(n for n, other in enumerate(job.setups) if other.name == setup.name)
    path = f"setups[{number}]"
    for word in words:
        path += f"[{word}]" if isinstance(word, int) else f".{word}"
    return Place(path=path)
