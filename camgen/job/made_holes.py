"""Whether the steps of a job bring each of its round holes to size.

A drill makes a hole of its own size, and so does a reamer or a counterbore; a boring step makes the
size that is asked for. A hole that is drilled smaller than it shall be, and never bored, would stay
so.
"""

from __future__ import annotations

from collections.abc import Iterator

from camgen.faults import Fault, no_less
from camgen.job.deeds import Deed, elsewhere, would_make
from camgen.job.file import JobFile
from camgen.job.opened import SAME_SIZE
from camgen.part.features import Feature, Hole, Recess

__all__ = ["SAME_SIZE", "hole_faults"]


def hole_faults(
    job_file: JobFile, deeds: tuple[Deed, ...], features: tuple[Feature, ...]
) -> Iterator[Fault]:
    """Holes that no step makes, and holes that no step brings to size."""
    alike: dict[str, list[Hole]] = {}
    for one in features:
        if isinstance(one, Hole) and not elsewhere(job_file.job, one):
            alike.setdefault(one.group or one.name, []).append(one)
    for holes in alike.values():
        left = {}
        for hole in holes:
            size = _left_at(deeds, hole)
            if size is not None:
                left[hole.name] = size
        if left:
            yield _fault(job_file, holes, left)
        elif not any(isinstance(one, Recess) for one in features):
            yield from _halves_apart(job_file, deeds, holes[0])


def _halves_apart(
    job_file: JobFile, deeds: tuple[Deed, ...], hole: Hole
) -> Iterator[Fault]:
    """A hole right through that is cut from both faces, and not deep enough to meet within."""
    thick = job_file.job.part.thickness
    deep = {"upper": 0.0, "under": 0.0}
    for deed in deeds:
        for made in deed.says.holes:
            if deed.flat and would_make(deed, made, hole):
                deep[deed.face] = max(deep[deed.face], thick if made.depth is None else made.depth)
    between = thick - deep["upper"] - deep["under"]
    if hole.depth is None and min(deep.values()) > 0 and between > 1e-6:
        yield Fault(
            f"{hole.name} goes right through {thick:g} mm and is cut {deep['upper']:g} mm deep "
            f"from the upper and {deep['under']:g} mm from the under face: {between:.3g} mm stay "
            "between",
            f"Make depth: {no_less(between)} mm more on one of the faces, or leave it out.",
            job_file.place(*hole.at, key=True))


def _left_at(deeds: tuple[Deed, ...], hole: Hole) -> float | None:
    """The diameter that a hole is left at, 0 for one not made; None where it is as it shall be."""
    left = 0.0
    for deed in deeds:
        for made in deed.says.holes:
            if not deed.flat or not would_make(deed, made, hole):
                continue
            size = hole.diameter
            if made.size == "as the cutter" and deed.cutter is not None:
                size = deed.cutter.diameter
            if abs(size - hole.diameter) <= SAME_SIZE:
                return None
            left = max(left, size)
    return left


def _fault(job_file: JobFile, holes: list[Hole], left: dict[str, float]) -> Fault:
    """What is said of holes alike of which ``left`` are not made, or made so large only."""
    hole = holes[0]
    word = hole.elsewhere[0]
    if word == "bore":
        what = "the bore"
    else:
        what = f"the {'jewel hole' if word == 'jewels' else 'hole'} " + (
            hole.group if len(left) == len(holes) else ", ".join(sorted(left)))
    said = f"say made-elsewhere: [{word}] where another job or hand does"
    place = job_file.place(*hole.at, key=True)
    size = min(left.values())
    if not size:
        return Fault(f"no step makes {what}", f"Add the step - bore: {{cutter: …}}, or "
                     f"{said}.", place)
    if size > hole.diameter:
        return Fault(f"{what} shall be {hole.diameter:g} mm and is left at {size:g} mm",
                     f"Drill it with {hole.diameter:g} mm, or smaller and then bore it.", place)
    return Fault(
        f"{what} shall be {hole.diameter:g} mm and is left at {size:g} mm",
        f"Bore or ream it after the drilling, drill it with {hole.diameter:g} mm, or {said}.",
        place)
