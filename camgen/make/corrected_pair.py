"""A correction of the depth with which the pair would not run, told in the words of the job.

The proof of the pair would say it too; but where a word of the job is the cause, that word is
named, with how much of it the pair bears.
"""

from __future__ import annotations

import math

from camgen.faults import Fault, Refused
from camgen.job.models import Job
from camgen.job.reading import JobFile
from camgen.layout import place_of
from camgen.proof.head.tooth_form import corrected_pair
from camgen.shop.cutters import Cutter

__all__ = ["corrected_pair_faults"]

# The most that the pair bears is sought in so many halvings, of a correction of tenths of a mm.
HALVINGS = 8
# And told less this, µm.
MARGIN = 2


def corrected_pair_faults(job_file: JobFile) -> list[Fault]:
    """A fault for each depth correction that stops a pair which runs without it."""
    job = job_file.job
    faults = []
    for setup in job.setups:
        for number, words in enumerate(setup.steps):
            for one in words.declares().corrections:
                if one.added != "depth" or not one.value:
                    continue
                cutter = job.cutters[words.cutter]
                amiss = _amiss(job, cutter, one.value)
                if not amiss or _amiss(job, cutter, 0.0):
                    continue
                borne = _borne(job, cutter, one.value)
                faults.append(job_file.located(Fault(
                    f"with a {one.word} of {one.value:+g} mm the pair would not run: {amiss}",
                    f"{borne:+.3f} mm is borne; where a piece truly measured so far off, look at "
                    "the cutter, its zero and the blank's diameter",
                    place_of(job, setup, "steps", number, words.kind, one.word))))
    return faults


def _amiss(job: Job, cutter: Cutter, deeper: float) -> str:
    try:
        return corrected_pair(job.part, cutter, deeper)
    except (Refused, ValueError):
        return ""  # told by the proof, whatever the correction


def _borne(job: Job, cutter: Cutter, wanted: float) -> float:
    """The correction nearest to the one wanted with which the pair runs, mm, found by halving."""
    good, bad = 0.0, wanted
    for _ in range(HALVINGS):
        middle = (good + bad) / 2
        good, bad = (good, middle) if _amiss(job, cutter, middle) else (middle, bad)
    # Towards nothing by more than a program and its machine round, so that what is told holds.
    return math.copysign(max(0.0, int(abs(good) * 1000) - MARGIN) / 1000, wanted)
