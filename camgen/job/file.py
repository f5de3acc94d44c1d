"""A job together with the file it came from, so that every fault can be given its line."""

from __future__ import annotations

import dataclasses
import os
import re
from pathlib import Path

from camgen.faults import Fault, Place
from camgen.job.models import Job
from camgen.messages import Message
from camgen.values import dataclass
from camgen.yamlfile import DataPath, Document

__all__ = ["JobFile", "parts_of", "workshop_of"]


def workshop_of(job_path: Path) -> Path:
    """The workshop folder of a job file: the one that holds its ``jobs`` folder, else its own.

    Files in ``jobs/stocks`` belong to it too.
    """
    # Unlike Path.resolve, this has an answer for links that lead round in a ring, too.
    folder = Path(os.path.realpath(job_path)).parent
    if folder.name == "stocks" and folder.parent.name == "jobs":
        folder = folder.parent
    return folder.parent if folder.name == "jobs" else folder


@dataclass(frozen=True)
class JobFile:
    """A job with the file it was read from.

    ``sources`` are the other files whose words are in it: the jobs it is based on, nearest first,
    the workshop's table of cutters where it names one of them, and the drawings its shapes are
    taken from. ``remarks`` tell what was mended in those.
    """

    job: Job
    path: Path
    document: Document
    sources: tuple[Path, ...] = ()
    remarks: tuple[Message, ...] = ()

    def place(self, *words: str | int, key: bool = False) -> Place:
        """Where something stands: ``place("setups", 0, "steps", 2, "cutter")``.

        The word of a step may be left out. What is not in the file has the place of what is
        around it.
        """
        return self.document.place(self._full(words), key=key)

    def located(self, fault: Fault) -> Fault:
        """The fault with file, line and column, where it only knew its path in words."""
        place = fault.place
        if place.file or not place.path:
            return fault
        found = self.place(*parts_of(place.path))
        return dataclasses.replace(fault, place=dataclasses.replace(found, path=place.path))

    def _full(self, words: tuple[str | int, ...]) -> DataPath:
        path: DataPath = ()
        for word in words:
            here = self.document.get(path)
            if (len(path) > 1 and path[-2] == "steps" and isinstance(here, dict)
                    and len(here) == 1 and word not in here):
                path = (*path, next(iter(here)))
            path = (*path, word)
        return path


def parts_of(path: str) -> tuple[str | int, ...]:
    """
    >>> parts_of("setups[0].steps[2].cutter")
    ('setups', 0, 'steps', 2, 'cutter')
    """
    return tuple(int(number) if number else word
                 for word, number in re.findall(r"([^.\[\]]+)(?![^\[]*\])|\[(\d+)\]", path))
