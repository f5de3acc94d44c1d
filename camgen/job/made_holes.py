"""Whether the steps of a job bring each of its round holes to size.

A drill makes a hole of its own size, and so does a reamer or a counterbore; a boring step makes the
size that is asked for. A hole that is drilled smaller than it shall be, and never bored, would stay
so.
"""

from __future__ import annotations

from collections.abc import Iterator

from camgen.faults import Fault, Refused
from camgen.job.file import JobFile
from camgen.job.models import StepWords
from camgen.job.part import part_bore
from camgen.part.rounds import rounds_of
from camgen.values import dataclass

__all__ = ["HOLE_STEPS", "SAME_SIZE", "hole_faults"]

# Steps that bring a hole to the size asked for, whatever cutter they take; and those that make it
# as large as their cutter is.
TO_SIZE = ("bore", "fine-bore")
AS_CUTTER = ("drill", "ream", "counterbore")
HOLE_STEPS = (*TO_SIZE, *AS_CUTTER)
# A hole and the cutter of its size are the same to within this, mm: what a fit leaves between the
# nominal sizes that reamers are sold in, steps of 0.01 (common practice, no source).
SAME_SIZE = 0.006


@dataclass(frozen=True)
class _Wanted:
    """A hole, or several alike, as it shall be; ``at`` its words in the file."""

    at: tuple[str, ...]
    feature: str
    kind: str
    group: str
    names: frozenset[str]
    diameter: float

    def right(self, size: float) -> bool:
        """Whether a hole of that size is the hole."""
        return abs(size - self.diameter) <= SAME_SIZE

    def meant_by(self, step: StepWords) -> frozenset[str]:
        """Those of its names that a step makes."""
        asked: tuple[str, ...] | None = getattr(step, "holes", None)
        if asked is None or self.group in asked:
            return self.names
        return self.names & frozenset(asked)


def hole_faults(job_file: JobFile) -> Iterator[Fault]:
    """Holes that no step makes, and holes that no step brings to size."""
    job = job_file.job
    steps = [step for setup in job.setups if setup.stock is not None for step in setup.steps
             if step.kind in HOLE_STEPS]
    for hole in _wanted(job_file):
        if hole.feature in job.made_elsewhere:
            continue
        left = dict.fromkeys(hole.names, 0.0)
        for step in steps:
            cutter = job.cutters.get(step.cutter)
            for name in hole.meant_by(step):
                size = cutter.diameter if cutter is not None else hole.diameter
                if step.kind in TO_SIZE or hole.right(size):
                    left.pop(name, None)
                elif name in left:
                    left[name] = max(left[name], size)
        if left:
            yield _fault(job_file, hole, left)


def _wanted(job_file: JobFile) -> Iterator[_Wanted]:
    job = job_file.job
    if job.plate is None:
        part = "wheel" if job.wheel is not None else "pinion"
        if part_bore(job):
            yield _Wanted((part, "bore"), "bore", "bore", "bore", frozenset({"bore"}),
                          part_bore(job))
        return
    try:
        rounds = tuple(rounds_of(job.plate, job.material))
    except Refused:
        return  # told where the plate itself is looked at
    for group in dict.fromkeys(one.group for one in rounds):
        alike = [one for one in rounds if one.group == group]
        first = alike[0]
        feature = first.at[1]
        kind = "jewel hole" if feature == "jewels" else "hole"
        yield _Wanted(first.at, feature, kind, group,
                      frozenset(one.name for one in alike), first.diameter)


def _fault(job_file: JobFile, hole: _Wanted, left: dict[str, float]) -> Fault:
    """What is said of a hole of which ``left`` are not made, or made so large only."""
    if hole.kind == "bore":
        what = "the bore"
    else:
        what = f"the {hole.kind} " + (hole.group if len(left) == len(hole.names) else
                                      ", ".join(sorted(left)))
    elsewhere = f"say made-elsewhere: [{hole.feature}] where another job or hand does"
    place = job_file.place(*hole.at, key=True)
    size = min(left.values())
    if not size:
        return Fault(f"no step makes {what}", f"Add the step - bore: {{cutter: …}}, or "
                     f"{elsewhere}.", place)
    if size > hole.diameter:
        return Fault(f"{what} shall be {hole.diameter:g} mm and is left at {size:g} mm",
                     f"Drill it with {hole.diameter:g} mm, or smaller and then bore it.", place)
    return Fault(
        f"{what} shall be {hole.diameter:g} mm and is left at {size:g} mm",
        f"Bore or ream it after the drilling, drill it with {hole.diameter:g} mm, or {elsewhere}.",
        place)
