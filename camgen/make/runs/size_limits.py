"""What sizes of a job may be where nobody said it: by the form of the teeth, and by fits.

Lengths mm.
"""

from __future__ import annotations

import math

from camgen.faults import Refused
from camgen.job.models import Job
from camgen.job.part import limits_of, standing_diameter
from camgen.part.plates.plate import Plate
from camgen.part.plates.round_features import round_holes_of
from camgen.part.turned.turned import TurnedPart
from camgen.proof.head.tooth_form import form_limit, form_tolerance
from camgen.teeth.cut.correcting import Cutting, Sized, gauges

__all__ = ["all_limits"]

# By how much of the form's tolerance, which is square to the outline, each size of the teeth may be
# off: a diameter by both its ends, pins by their leverage between the flanks too. Common practice,
# no source.
SHARES = {Sized.TIP: 2.0, Sized.DEPTH: 1.0, Sized.THICKNESS: 1.0, Sized.ROOT: 2.0, Sized.PINS: 3.0,
          Sized.SPAN: 1.0}


def all_limits(job: Job) -> dict[str, tuple[float, float]]:
    """The least and the most of each size, by its name: as the job says, else by form and fit."""
    return {**_by_fit(job), **_by_form(job), **limits_of(job)}


def _by_fit(job: Job) -> dict[str, tuple[float, float]]:
    if not isinstance(job.part, Plate):
        return {}
    return {hole.name: (hole.limits.least, hole.limits.most)
            for hole in round_holes_of(job.part, job.material) if hole.limits is not None}


def _by_form(job: Job) -> dict[str, tuple[float, float]]:
    if isinstance(job.part, Plate | TurnedPart) or not job.on_head:
        return {}
    try:
        tooth = job.part.tooth()
        meant = gauges(Cutting(tooth, tooth, standing_diameter(job, tooth) / 2)).readings
    except Refused:
        return {}
    off = form_limit(tooth, form_tolerance(job.part)) / 1000
    return {size.value: (_down(meant[size] - share * off), _up(meant[size] + share * off))
            for size, share in SHARES.items() if size in meant}


def _down(value: float) -> float:
    return math.floor(round(1000 * value, 6)) / 1000


def _up(value: float) -> float:
    return math.ceil(round(1000 * value, 6)) / 1000
