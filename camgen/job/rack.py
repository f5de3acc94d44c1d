"""Where a job's cutters stand in the rack or the changer."""

from __future__ import annotations

from camgen.job.models import Job

__all__ = ["cutter_numbers"]


def cutter_numbers(job: Job) -> dict[str, int]:
    """Places of the cutters in the rack: as given, the others filling the gaps in order."""
    taken = {cutter.number for cutter in job.cutters.values() if cutter.number is not None}
    free = (number for number in range(1, 1000) if number not in taken)
    return {
        name: next(free) if cutter.number is None else cutter.number
        for name, cutter in job.cutters.items()
    }
