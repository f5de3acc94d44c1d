"""What follows of a job's part from its setups: how large blanks are turned, what is measured."""

from __future__ import annotations

from camgen.faults import Refused
from camgen.job.models import Job
from camgen.teeth.tooth import Tooth

__all__ = ["blank_diameter", "job_tooth", "measured_sizes", "nominal_sizes", "part_bore",
           "part_thickness"]


def job_tooth(job: Job) -> Tooth:
    """The finished tooth of the job's part. Raises Refused when it has none, or none can be."""
    return job.part.tooth()


def blank_diameter(job: Job, tooth: Tooth) -> float:
    """Diameter, mm, to which blanks are made: over the tips, or what a tooth setup wants turned."""
    wanted = [
        setup.dividing.blank
        for setup in job.setups
        if setup.dividing is not None and setup.dividing.blank is not None
    ]
    return max([tooth.sizes.tip_diameter, *wanted])


def part_thickness(job: Job) -> float:
    """Length of the part along its arbor, mm."""
    return job.part.thickness


def part_bore(job: Job) -> float:
    """Diameter of the hole through the part's middle, mm; 0 where it has none."""
    return job.part.bore


def measured_sizes(job: Job) -> tuple[str, ...]:
    """Names of the sizes that the sheet asks for; none where it is not clear which part is meant.
    """
    flat = any(setup.dividing is None for setup in job.setups)
    on_head = any(setup.dividing is not None for setup in job.setups)
    if len(job.given) != 1:
        return ()
    return job.part.measured(job.material, flat=flat, on_head=on_head)


def nominal_sizes(job: Job) -> dict[str, float]:
    """Sizes, mm, that a job's toothed part is meant to have; none where none can be."""
    try:
        tooth = job_tooth(job)
    except Refused:
        return {}  # told where the part itself is looked at
    sizes = tooth.sizes
    found = {"outside": blank_diameter(job, tooth), "thickness": part_thickness(job),
             "tip": sizes.tip_diameter, "whole-depth": sizes.whole_depth,
             "tooth-thickness": sizes.chordal_thickness, "root": sizes.root_diameter}
    if part_bore(job):
        found["bore"] = part_bore(job)
    crossing = job.wheel.crossing if job.wheel is not None else None
    if crossing is not None:
        found |= {"hub": crossing.hub, "arm": crossing.arm}
    return found
