"""What follows of a job's part from its setups: how large blanks are turned, what is measured."""

from __future__ import annotations

from camgen.faults import Refused
from camgen.job.models import Job
from camgen.job.order.deeds import features_of_job
from camgen.part.features import Hole
from camgen.part.plates.plate import Plate
from camgen.part.plates.round_features import round_holes_of
from camgen.part.turned.turned import TurnedPart
from camgen.teeth.cut.correcting import Cutting, gauges
from camgen.teeth.tooth import Tooth

__all__ = ["blank_diameter", "limits_of", "measured_sizes", "nominal_sizes", "sizes_called",
           "standing_diameter"]


def blank_diameter(job: Job, tooth: Tooth) -> float:
    """Diameter, mm, to which blanks are made: over the tips, or what a tooth setup wants turned."""
    wanted = [
        setup.dividing.blank for setup in job.on_head if setup.dividing.blank is not None
    ]
    return max([tooth.sizes.tip_diameter, *wanted])


def standing_diameter(job: Job, tooth: Tooth) -> float:
    """Diameter, mm, over finished teeth: the blank's, or the tips' where a cutter tops them."""
    topped = any(step.declares().forms_spaces and job.cutters[step.cutter].topping
                 for setup in job.on_head for step in setup.steps if step.cutter in job.cutters)
    return tooth.sizes.tip_diameter if topped else blank_diameter(job, tooth)


def measured_sizes(job: Job) -> tuple[str, ...]:
    """Names of the sizes that the sheet asks for; none where it is not clear which part is meant.
    """
    if len(job.given) != 1:
        return ()
    return job.part.measured(job.material, flat=bool(job.flat), on_head=bool(job.on_head))


def nominal_sizes(job: Job) -> dict[str, float]:
    """Sizes, mm, that a job's part is meant to have; none where none can be."""
    try:
        if isinstance(job.part, Plate):
            return {hole.name: hole.diameter for hole in round_holes_of(job.part, job.material)} | {
                "thickness": job.part.thickness}
        if isinstance(job.part, TurnedPart):
            return job.part.sizes
        tooth = job.part.tooth()
    except Refused:
        return {}  # told where the part itself is looked at
    blank = blank_diameter(job, tooth)
    found = {"outside": blank, "thickness": job.part.thickness,
             **_of_teeth(tooth, standing_diameter(job, tooth))}
    if job.part.raised:
        found["over-all"] = job.part.height
    found |= job.part.raised_sizes
    if job.part.bore:
        found["bore"] = job.part.bore
    crossing = job.part.crossed
    if crossing is not None:
        found |= crossing.sizes
    return found


def _of_teeth(tooth: Tooth, blank: float) -> dict[str, float]:
    """What gauges should read on the finished teeth, mm."""
    try:
        asked = gauges(Cutting(tooth, tooth, blank / 2))
    except Refused:
        return {}
    return {size.value: value for size, value in asked.readings.items()}


def sizes_called(job: Job, name: str) -> tuple[str, ...]:
    """The sizes that a name stands for: each hole of several that bear it together, else itself."""
    return tuple(one.name for one in features_of_job(job)
                 if isinstance(one, Hole) and one.group == name) or (name,)


def limits_of(job: Job) -> dict[str, tuple[float, float]]:
    """The least and the most of each size that the job says any of, by the name of that size.

    What it says of several holes by their one name holds for each that has none of its own.
    """
    together = {size: limits for name, limits in job.limits.items()
                for size in sizes_called(job, name)}
    return {**together, **{name: limits for name, limits in job.limits.items()
                           if name in together}}
