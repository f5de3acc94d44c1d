"""Which edges the steps of a setup are there to finish, and what rounding may put them off by."""

from __future__ import annotations

from collections.abc import Iterable

from camgen.job.models import Job, StepWords
from camgen.job.order.holes_made import of_its_size
from camgen.part.declaration import (
    MakesCrossing,
    MakesHoles,
    MakesOpenings,
    MakesOutline,
    MakesPockets,
)
from camgen.part.features import Hole
from camgen.proof.evidence import FlatEvidence

__all__ = ["tolerance_of", "wanted_edges"]


def tolerance_of(evidence: FlatEvidence) -> float:
    """What rounding and chords may put an edge off by, mm.

    An end is rounded by half an increment in each axis and an arc's centre by as much again; where
    arcs are written as chords their tolerance comes on top, and where blocks are merged for the
    control's pace what those may depart by.
    """
    chord = evidence.machine.arcs.tolerance if evidence.machine.arcs.style == "none" else 0.0
    found = evidence.matched
    merged = evidence.machine.merging if found is not None and found.merged.any() else 0.0
    return 2 * evidence.increment + 0.001 + chord + merged


def wanted_edges(evidence: FlatEvidence) -> dict[str, float]:
    """Edges that this setup's steps are there to finish, ``opening`` standing for all openings.

    With each, how much metal, mm, the job has asked to be left on it (a correction after measuring
    a first piece; negative: taken off).
    """
    wanted: dict[str, float] = {}
    layout = evidence.layout
    setup = next((s for s in evidence.job.setups if s.name == evidence.setup), None)
    for step in setup.steps if setup is not None else ():
        says = step.declares()
        wall = says.added("wall")
        for made in says.makes:
            match made:
                case MakesOutline():
                    wanted["outline"] = wall
                case MakesCrossing():
                    wanted["opening"] = wall
                case MakesOpenings():
                    wanted.update(dict.fromkeys(made.openings.names or ("opening",), wall))
                case MakesPockets():
                    wanted.update({f"pocket {one.pocket}": wall for one in layout.part.recesses
                                   if made.pockets.means(one.pocket)})
                case MakesHoles():
                    holes = (*layout.part.holes, *layout.part.blind)
                    names = made.holes.names or [hole.name for hole in holes]
                    wanted.update(dict.fromkeys(names, -says.added("diameter") / 2))
                    if made.size == "as the cutter":
                        wanted.update(_within_limits(evidence.job, step, made, holes))
                case _:
                    pass
    return wanted


def _within_limits(
    job: Job, step: StepWords, made: MakesHoles, holes: Iterable[Hole]
) -> dict[str, float]:
    """Metal, mm, that a cutter of a size within a hole's limits leaves short of their middle."""
    size = job.cutters[step.cutter].diameter
    return {hole.name: (hole.diameter - size) / 2 for hole in holes
            if made.holes.means(hole.name, hole.group) and hole.limits is not None
            and of_its_size(hole, size)}
