"""How much work a job makes, told before it is begun: by counting, with nothing planned yet."""

from __future__ import annotations

from typing import Final

from camgen.faults import Fault, Place, Refused
from camgen.job.deeds import features_of_job
from camgen.job.models import FlatSetup, Job, Setup
from camgen.part.features import Hole
from camgen.part.plate import Plate

__all__ = ["MOST_VISITS", "hole_visits", "work_foretold"]

MOST_VISITS: Final = 200_000
"""So many times at most is a setup's cutter brought to a hole."""
# Processor time of planning, writing, reading and proving, s for each time at a hole: measured on a
# plate of 10 000 holes, spotted and drilled, 30.6 s for 20 000 with sheet and report and without
# pictures, on two cores that others used too.
_A_VISIT: Final = 0.0016
# Less than this is not worth a word, s.
_SOON: Final = 5.0


def hole_visits(job: Job, setup: Setup) -> int:
    """How many times at most cutters are brought to a hole of a plate, over all its pieces."""
    if not isinstance(job.part, Plate) or not isinstance(setup.work, FlatSetup):
        return 0
    pieces = setup.repeat.columns * setup.repeat.rows if setup.repeat else 1
    holes = [one for one in features_of_job(job) if isinstance(one, Hole)]
    return pieces * sum(
        any(made.holes.means(hole.name, hole.group) for made in at_holes)
        for step in setup.steps if (at_holes := list(step.declares().at_holes))
        for hole in holes)


def work_foretold(job: Job, file: str) -> str:
    """What to say of the work to come, empty where it is soon done.

    Raises Refused, with every setup, where it is beyond all bounds.
    """
    visits = {setup.name: hole_visits(job, setup) for setup in job.setups}
    faults = [
        Fault(f"setup {name}: its cutters come to {count} holes in all its pieces, and "
              f"{MOST_VISITS} are the most", "fewer pieces in repeat, or two jobs", Place(file))
        for name, count in visits.items() if count > MOST_VISITS]
    if faults:
        raise Refused(faults)
    seconds = sum(visits.values()) * _A_VISIT
    if seconds < _SOON:
        return ""
    return f"{sum(visits.values())} times at a hole take about {seconds:.0f} s of reckoning"
