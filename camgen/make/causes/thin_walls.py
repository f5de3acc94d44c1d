"""Walls that the job itself makes too thin, told by the things on both sides of them.

Whether a wall is thin is proved on the finished part, slice by slice. Where it is so as meant,
whatever is cut, the words of the job are the cause. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from camgen.faults import Fault, Place, no_more
from camgen.job.file import JobFile
from camgen.job.order.deeds import features_of_job
from camgen.make.chain import ProvedSetup
from camgen.messages import Message
from camgen.part.features import Hole
from camgen.part.shape import PartShape
from camgen.proof.evidence import FlatEvidence, by_kind
from camgen.proof.flat.thin_walls import THINNEST, Thin, thin_places
from camgen.proof.flat.wanted_edges import tolerance_of
from camgen.shapes.path import circle
from camgen.tolerances import AREA_CHORD, LEAST_INCREMENT

__all__ = ["thin_wall_faults"]

# A smaller least wall is tried so often, each half of the one before.
HALVED = 6


def thin_wall_faults(job_file: JobFile, setups: Sequence[ProvedSetup]) -> list[Fault]:
    """A fault for each wall thinner than the job wants, of setups where that fails its proof."""
    found: dict[Fault, None] = {}
    for setup in setups:
        if any(proof.id == THINNEST and not proof.holds for proof in setup.proofs):
            for evidence in by_kind([setup.evidence])[0]:
                found |= dict.fromkeys(_faults(job_file, evidence))
    return list(found)


def _faults(job_file: JobFile, evidence: FlatEvidence) -> Iterator[Fault]:
    least = evidence.job.part.least_wall
    for piece in evidence.slices:
        for thin in thin_places(piece.edges.region, least):
            if thin.thick < least - tolerance_of(evidence):
                yield _fault(job_file, evidence, thin, least, piece.edges.region)


def _least_that_lets(region: BaseGeometry, thick: float) -> float:
    """The `least-wall` by which a region with a pointed place may be meant so; 0 for none.

    A point is thin however narrow the round that shall get into it, until it counts as a corner.
    """
    least = thick
    for _ in range(HALVED):
        least = max(0.0, math.floor(least / LEAST_INCREMENT + 1e-6) * LEAST_INCREMENT)
        if least < LEAST_INCREMENT:
            return 0.0
        found = [one.thick for one in thin_places(region, 3 * least, 2.5 * least)
                 if not one.corner]
        found += [one.thick for one in thin_places(region, least)]
        if min(found, default=least) >= least:
            return round(least, 6)
        least /= 2
    return 0.0


def _fault(
    job_file: JobFile, evidence: FlatEvidence, thin: Thin, least: float, region: BaseGeometry
) -> Fault:
    beside = _beside(evidence.layout.part, thin)
    place = _place(job_file, beside)
    wall = Message("a wall of {thick:.3f} mm stands at X {x:.3f} Y {y:.3f}, beside {one}; "
                   "`least-wall` is {least:g}", thick=thin.thick, x=thin.x, y=thin.y,
                   one=beside[0], least=least)
    if len(beside) > 1:
        wall = Message("a wall of {thick:.3f} mm stands at X {x:.3f} Y {y:.3f}, between {one} and "
                       "{other}; `least-wall` is {least:g}", thick=thin.thick, x=thin.x, y=thin.y,
                       one=beside[0], other=beside[1], least=least)
    else:
        return Fault(wall, Message(
            "make it wider there, move it farther from its own edge, or round its point with "
            "corner:; or `least-wall: {thick:g}` where it is meant to be so thin",
            thick=_least_that_lets(region, thin.thick)), place)
    if thin.thick < 2 * LEAST_INCREMENT:
        return Fault(wall, Message("let them run into one another, or farther apart"), place)
    return Fault(wall, Message("move them farther apart, make one smaller or let them run into one "
                               "another; or `least-wall: {thick}` where it is meant to be so thin",
                               thick=no_more(thin.thick, LEAST_INCREMENT)), place)


def _beside(part: PartShape, thin: Thin) -> list[str]:
    """Names of the one or two things whose edges are nearest to a thin place."""
    edges: dict[str, BaseGeometry] = {"outline": part.outline.region(AREA_CHORD).exterior}
    names = (*part.opening_names, *("" for _ in part.openings[len(part.opening_names):]))
    for name, path in zip(names, part.openings, strict=True):
        edges[name or "outline"] = path.region(AREA_CHORD).exterior
    for one in (*part.holes, *part.blind, *part.recesses, *part.beneath):
        if isinstance(one, Hole):
            edges[one.name] = circle(one.place, one.diameter / 2).region(AREA_CHORD).exterior
        else:
            edges[one.name] = one.area.region(AREA_CHORD).boundary
    middle = shapely.Point(thin.x, thin.y)
    apart = sorted((round(edge.distance(middle), 6), name) for name, edge in edges.items())
    return [name for away, name in apart[:2] if away <= thin.thick] or [apart[0][1]]


def _place(job_file: JobFile, names: Sequence[str]) -> Place:
    """Where the first of the things that is in the file stands."""
    features = features_of_job(job_file.job)
    for name in names:
        for one in features:
            if name != "outline" and one.at and name in (one.name, one.group):
                return job_file.place(*one.at, key=True)
    return job_file.place(job_file.job.part.word, "outline")
