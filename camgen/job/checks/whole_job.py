"""Whether a job can be, as a thing of metal: sizes against one another, cutters, stock, machine.

Each wing beside this one checks one thing and gives faults with their places: the teeth, the stock,
the stack, the plate, the machine, what is made and in which order. Together with what the words say
of themselves (:mod:`camgen.job.checks.agreement`) they are what is known before anything is
planned; what hangs on the way a step is cut is the step's own to check.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path

from camgen.faults import Fault, Place, Refused
from camgen.job.checks.bench import CheckBench, WordPath, moved, steps_of
from camgen.job.checks.fixture import fixture_faults
from camgen.job.checks.machine import head_faults, setup_on_machine, table_faults
from camgen.job.checks.on_head.stack import stack_faults
from camgen.job.checks.on_head.teeth import made_for_faults, size_faults
from camgen.job.checks.plate import plate_faults
from camgen.job.checks.stock import step_faults, stock_faults
from camgen.job.checks.turned import turned_faults
from camgen.job.file import JobFile
from camgen.job.models import FlatSetup, HeadSetup
from camgen.job.order.all_made import making_faults, missing_faults
from camgen.job.order.two_sides import two_sides_faults
from camgen.part.parts import Toothed
from camgen.part.plates.plate import Plate
from camgen.part.turned.turned import TurnedPart
from camgen.part.wheels.pinion import Pinion
from camgen.part.wheels.wheel import Wheel
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine
from camgen.shop.materials import find_material
from camgen.yamlfile import in_order

__all__ = ["check_job", "job_faults", "machine_for", "metal_faults", "sizes_faults",
           "sound_faults"]


def check_job(
    job_file: JobFile, machine: Machine | None = None, workshop: Path | None = None
) -> None:
    """Raise Refused with every fault of a job that was read; see :func:`job_faults`."""
    faults = job_faults(job_file, machine, workshop)
    if faults:
        raise Refused(faults)


def job_faults(
    job_file: JobFile, machine: Machine | None = None, workshop: Path | None = None
) -> list[Fault]:
    """Every fault of a job as a thing of metal, in the order of the file.

    Without a machine nothing is held against one. ``workshop`` is where a table of materials of
    one's own would be.
    """
    return in_order([*_material(job_file, workshop), *_tooth(job_file),
                     *fixture_faults(job_file, machine),
                     *metal_faults(job_file, machine), *making_faults(job_file)])


def machine_for(
    job_file: JobFile, post: str | None = None, workshop: Path | None = None
) -> Machine:
    """The machine a job is for, ``post`` or the one it names, once the job is checked against it.

    Raises Refused with every fault of the job and of the machine file together.
    """
    faults: list[Fault] = []
    machine = None
    try:
        machine = find_machine(post or job_file.job.post, workshop)
    except Refused as no:
        faults += no.faults if post else moved(no, job_file.place("post"))
    faults += job_faults(job_file, machine, workshop)
    if machine is None or faults:
        raise Refused(faults)
    return machine


def metal_faults(job_file: JobFile, machine: Machine | None = None) -> list[Fault]:
    """What cannot be of the sizes in a job, whatever its material; the job may have other faults.

    Steps that could not be read are left out, and so is a part that is no tooth at all.
    """
    match job_file.job.given:
        case (Plate() as plate,):
            found = plate_faults(job_file, plate)
        case (Wheel() | Pinion() as part,):
            found = _toothed_faults(job_file, part, machine)
        case (TurnedPart() as turned,):
            found = list(turned_faults(job_file, turned, machine))
        case _:
            return []  # told where the words are looked at: which part is meant is not clear
    if machine is not None:
        found += [fault for number, setup in enumerate(job_file.job.setups)
                  for fault in setup_on_machine(job_file, machine, number, setup)]
    return [*found, *two_sides_faults(job_file)]


def sound_faults(job_file: JobFile, workshop: Path | None = None) -> list[Fault]:
    """What is amiss in a job whatever some of its cutters and steps are, if those are left aside:
    its material, tooth and sizes, and what no step makes; not the order of its steps."""
    return in_order([*_material(job_file, workshop), *_tooth(job_file),
                     *fixture_faults(job_file, None), *metal_faults(job_file),
                     *missing_faults(job_file)])


def sizes_faults(job_file: JobFile, *, every: bool) -> list[Fault]:
    """What cannot be of the sizes in a job; of its part alone, if not of ``every`` setup."""
    return [fault for fault in metal_faults(job_file)
            if every or not fault.place.path.startswith("setups")]


def _toothed_faults(job_file: JobFile, part: Toothed, machine: Machine | None) -> list[Fault]:
    try:
        tooth = part.tooth()
    except Refused:
        return []
    bench = CheckBench(job_file, part, tooth)
    faults = [*size_faults(bench), *made_for_faults(bench)]
    for number, setup in enumerate(job_file.job.setups):
        at: WordPath = ("setups", number)
        for work in setup.given:
            match work:
                case FlatSetup():
                    faults += stock_faults(bench, at, work)
                    for n, step in steps_of(job_file, number, setup):
                        faults += step_faults(bench, (*at, "steps", n), work, step)
                    if machine is not None:
                        faults += table_faults(bench, machine, at, work)
                case HeadSetup():
                    sizes, placed = tooth.sizes, partial(bench.place, *at, "dividing")
                    faults += stack_faults(work.dividing, sizes.tip_diameter,
                                           sizes.root_diameter, part.bore, placed,
                                           **_mouths(part),
                                           hubs=bool(part.raised))
                    if machine is not None:
                        faults += head_faults(bench, machine, at, work)
    return faults


def _mouths(part: Toothed) -> dict[str, float]:
    """The wider mouths of a wheel's bore, towards the free end of an arbor and towards the head."""
    if not isinstance(part, Wheel):
        return {}
    upper, under = part.side("upper").counterbore, part.side("under").counterbore
    return {"mouth": upper.diameter if upper else 0.0,
            "mouth_behind": under.diameter if under else 0.0}


def _material(job_file: JobFile, workshop: Path | None) -> list[Fault]:
    try:
        find_material(job_file.job.material, workshop)
    except Refused as no:
        return moved(no, job_file.place("material"))
    return []


def _tooth(job_file: JobFile) -> list[Fault]:
    part = job_file.job.part
    if isinstance(part, Plate | TurnedPart):
        return []
    try:
        part.tooth()
    except Refused as no:
        return moved(no, _blamed(job_file, part))
    return []


def _blamed(job_file: JobFile, part: Toothed) -> Place:
    """Where the word stands without which there would be a tooth; else the first of several, or
    the part."""
    said = [word for word in part.form_words.words if getattr(part, word.name) != word.default]
    for word in said:
        try:
            part.model_copy(update={word.name: word.default}).tooth()
        except Refused:
            continue
        return job_file.place(part.word, word.name.replace("_", "-"))
    if len(said) > 1:
        return job_file.place(part.word, said[0].name.replace("_", "-"))
    return job_file.place(part.word, key=True)
