"""What the checks of a toothed part look at, and where the pieces of a flat setup lie.

Lengths mm.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TypeAlias

from camgen.faults import Fault, Place, Refused
from camgen.job.file import JobFile
from camgen.job.models import FlatSetup, Job, Setup, StepWords
from camgen.part.parts import Toothed
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = ["CheckBench", "WordPath", "centres_of", "extent_of", "moved", "steps_of"]


WordPath: TypeAlias = tuple[str | int, ...]


@dataclass(frozen=True)
class CheckBench:
    """A job with a toothed part, and its tooth."""

    job_file: JobFile
    part: Toothed
    tooth: Tooth

    @property
    def job(self) -> Job:
        """The job as read."""
        return self.job_file.job

    def place(self, *words: str | int) -> Place:
        """Where words stand in the job file."""
        return self.job_file.place(*words)


def steps_of(job_file: JobFile, number: int, setup: Setup) -> list[tuple[int, StepWords]]:
    """The steps with their places in the file; none where some could not be read."""
    written = job_file.document.get(("setups", number, "steps"))
    whole = isinstance(written, tuple) and len(written) == len(setup.steps)
    return list(enumerate(setup.steps)) if whole else []


def moved(no: Refused, place: Place) -> list[Fault]:
    """Faults of a room that knows nothing of the job file, put where they belong in it."""
    return [fault if fault.place.file else replace(fault, place=place)
            for fault in no.faults]


def centres_of(setup: FlatSetup) -> list[tuple[float, float]]:
    """Centres of the pieces from the middle of the stock."""
    repeat = setup.repeat
    if setup.pieces_at:
        length, width = setup.stock.rectangle or (setup.stock.disc or 0.0,) * 2
        x0 = {"centre": 0.0, "left": length / 2, "right": -length / 2}[setup.zero_x]
        y0 = {"centre": 0.0, "front": width / 2, "back": -width / 2}[setup.zero.y]
        return [(x - x0, y - y0) for x, y in setup.pieces_at]
    if repeat is None:
        return [(0.0, 0.0)]
    begin_x = -(repeat.columns - 1) / 2 * repeat.pitch[0]
    begin_y = -(repeat.rows - 1) / 2 * repeat.pitch[1]
    size = setup.stock.rectangle
    if repeat.first is not None and size is not None:
        begin_x, begin_y = repeat.first[0] - size[0] / 2, repeat.first[1] - size[1] / 2
    return [(begin_x + column * repeat.pitch[0], begin_y + row * repeat.pitch[1])
            for row in range(repeat.rows) for column in range(repeat.columns)]


def extent_of(setup: FlatSetup, blank: float) -> tuple[float, float]:
    """How much the pieces take along X and Y."""
    centres = centres_of(setup)
    return (max(x for x, _ in centres) - min(x for x, _ in centres) + blank,
            max(y for _, y in centres) - min(y for _, y in centres) + blank)
