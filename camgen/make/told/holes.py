"""The round holes of a job for its report: as the programs make them, beside what they shall be."""

from __future__ import annotations

from typing import Any

from camgen.job.models import Job
from camgen.job.part import limits_of
from camgen.make.chain import Proved
from camgen.part.features import Hole
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.holes.holes_made import MadeHole, holes_made

__all__ = ["holes_of_report", "limits_reported"]


def limits_reported(job: Job, hole: Hole) -> tuple[float, float] | None:
    """The least and the most that a hole may measure, mm: as the job says, else by its fit."""
    fit = None if hole.limits is None else (hole.limits.least, hole.limits.most)
    return limits_of(job).get(hole.name, fit)


def holes_of_report(proved: Proved) -> list[dict[str, Any]]:
    """Each hole in the setup that brings it to size: position, diameter, limits; mm.

    Of several pieces the one whose hole lies farthest from where it shall be, or is farthest from
    its size. ``within`` is None where nothing says what the hole may measure.
    """
    return [entry for evidence in proved.flat for entry in _of_setup(evidence)]


def _of_setup(evidence: FlatEvidence) -> list[dict[str, Any]]:
    job, layout = evidence.job, evidence.layout
    made: dict[str, list[MadeHole]] = {}
    for one in holes_made(evidence):
        made.setdefault(one.name, []).append(one)
    entries = []
    for hole in (*layout.part.holes, *layout.part.blind):
        found = made.get(hole.name, [])
        if not found:
            continue
        worst = max(found, key=lambda one: max(one.off, abs(one.diameter - hole.diameter) / 2))
        limits = limits_reported(job, hole)
        entries.append({
            "name": hole.name, "setup": evidence.setup, "pieces": len(found),
            "x": round(worst.x, 4) + 0.0, "y": round(worst.y, 4) + 0.0,
            "diameter": round(worst.diameter, 4), "wanted": round(hole.diameter, 4),
            "depth": None if hole.depth is None else round(hole.depth, 4),
            "least": None if limits is None else round(limits[0], 4),
            "most": None if limits is None else round(limits[1], 4),
            "within": None if limits is None
            else limits[0] - 1e-4 <= worst.diameter <= limits[1] + 1e-4,
            "off": round(worst.off, 5), "out_of_round": round(worst.out_of_round, 5),
        })
    return entries
