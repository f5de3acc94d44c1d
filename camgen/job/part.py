"""What the job's part is, in figures: its tooth and the blank it is cut from."""

from __future__ import annotations

from camgen.faults import Fault, Refused
from camgen.job.models import Job
from camgen.part.rounds import rounds_of
from camgen.teeth.tooth import Tooth

__all__ = ["blank_diameter", "job_tooth", "measured_sizes", "part_bore", "part_thickness"]


def job_tooth(job: Job) -> Tooth:
    """The finished tooth of the job's wheel or pinion.

    Raises Refused when the job has neither or the numbers make no tooth.
    """
    if job.wheel is not None:
        return job.wheel.tooth()
    if job.pinion is not None:
        return job.pinion.tooth()
    raise Refused(Fault("the job describes no wheel and no pinion", "Add wheel: or pinion:."))


def blank_diameter(job: Job, tooth: Tooth) -> float:
    """Diameter, mm, to which blanks are made: over the tips, or what a tooth setup wants turned."""
    wanted = [
        setup.dividing.blank
        for setup in job.setups
        if setup.dividing is not None and setup.dividing.blank is not None
    ]
    return max([tooth.sizes.tip_diameter, *wanted])


def part_thickness(job: Job) -> float:
    """Length of the part along its arbor, mm; 0 where the job has no part."""
    if job.wheel is not None:
        return job.wheel.thickness
    if job.plate is not None:
        return job.plate.thickness
    return job.pinion.length if job.pinion is not None else 0.0


def part_bore(job: Job) -> float:
    """Diameter of the part's hole, mm; 0 where it has none."""
    if job.wheel is not None:
        return job.wheel.bore
    return job.pinion.bore if job.pinion is not None else 0.0


def measured_sizes(job: Job) -> tuple[str, ...]:
    """Names of the sizes that the sheet asks for; none are known of a plate that cannot be."""
    if job.plate is not None:
        try:
            return (*(hole.name for hole in rounds_of(job.plate, job.material)), "thickness")
        except Refused:
            return ()  # told where the plate itself is looked at
    if job.wheel is None and job.pinion is None:
        return ()
    names: list[str] = []
    if any(setup.dividing is None for setup in job.setups):
        names += ["bore"] * (part_bore(job) > 0) + ["outside"]
        names += ["hub", "arm"] * (job.wheel is not None and job.wheel.crossing is not None)
        names.append("thickness")
    if any(setup.dividing is not None for setup in job.setups):
        names += ["tip", "whole-depth", "tooth-thickness", "root"]
    return tuple(names)
