"""Both faces of a wheel as the programs make them: heights from face to face, hubs about the bore.

In the last of the setups that lie by the bore the cuts of all are held together. Ring by ring the
wheel must be as thick as the job says; and what stands on the face that looks up must stand about
the zero, which is the middle of the bore as an earlier program made it. Both are looked for in the
metal left standing, by no word of the plan. Lengths mm.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from camgen.arrays import Flags, Floats
from camgen.job.order.faces import made_later
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.part.declaration import MakesPockets
from camgen.part.features import Hole, Recess
from camgen.proof.common.before import as_left
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.wanted_edges import tolerance_of
from camgen.proof.ground.standing import profiles_of, standing
from camgen.proof.result import Proof, ProofId
from camgen.tolerances import CHECK_CHORD

__all__ = ["prove_wheel_faces"]

HEIGHTS = ProofId("flat", "thickness-between-faces")
ABOUT_BORE = ProofId("flat", "hub-about-bore")

# Directions in which the wheel is looked at, and how far about its wall a hub's is looked for, mm.
ROUND, WALL = 24, 0.05
# What stands so far above the floor round a hub is hub, mm: half of the least that may stand.
STANDS = 0.01


def prove_wheel_faces(setups: Sequence[FlatEvidence]) -> dict[str, tuple[Proof, ...]]:
    """For each setup of a wheel that lies by its bore, by name: its hubs, and in the end all
    heights. ``setups`` are those of flat work in one job, in order."""
    proofs: dict[str, tuple[Proof, ...]] = {}
    for number, evidence in enumerate(setups):
        layout = evidence.layout
        if not layout.lies_by or not evidence.job.part.raised_sizes:
            continue
        found = list(_hubs(evidence))
        setup = next(one for one in evidence.job.flat if one.name == evidence.setup)
        if not made_later(evidence.job, setup):
            found += _heights(evidence, setups[:number])
        proofs[evidence.setup] = tuple(found)
    return proofs


def _around(radius: Floats) -> Floats:
    """Places (ROUND, 2) at these distances (ROUND,) from the zero."""
    angle = 2 * math.pi * (np.arange(ROUND) + 0.37) / ROUND
    return np.asarray(radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)]))


def _tops(evidence: FlatEvidence, points: Floats) -> Floats:
    """Height of the metal at points (m, 2) after this setup alone."""
    cuts = evidence.flat_cuts
    profiles = profiles_of(cuts, evidence.motion.cutter[cuts.piece], evidence.cutters)
    return standing(cuts, profiles, points, None, evidence.layout.top)[0]


def _hubs(evidence: FlatEvidence) -> Iterator[Proof]:
    """How far the middle of what stands in each floor made here is off the zero, µm."""
    layout = evidence.layout
    steps = next(one.steps for one in evidence.job.flat if one.name == evidence.setup)
    for recess in layout.part.recesses:
        made = any(isinstance(one, MakesPockets) and one.pockets.means_some_of(recess.pocket)
                   for step in steps for one in step.declares().makes)
        for island in recess.area.islands if made else ():
            radius = _extent(island.region(CHECK_CHORD))
            floor = layout.face - recess.depth
            low, high = (np.full(ROUND, radius + by) for by in (-WALL, WALL))
            sure = _stands(evidence, low, floor) & ~_stands(evidence, high, floor)
            for _ in range(16):
                middle = (low + high) / 2
                inside = _stands(evidence, middle, floor)
                low, high = np.where(inside, middle, low), np.where(inside, high, middle)
            # Of a circle e off the zero the radius is r + e·cos: its first harmonic is e / 2.
            places = _around(low)
            off = float(np.hypot(*(2 * places.mean(axis=0)))) if sure.all() else WALL
            yield evidence.at_most(
                ABOUT_BORE.about(recess.name),
                Message("what stands in {name} about the middle of {hole}", name=recess.name,
                        hole=layout.lies_by[0].name),
                round(1000 * off, 3), round(2000 * tolerance_of(evidence), 3), "µm")


def _stands(evidence: FlatEvidence, radius: Floats, floor: float) -> Flags:
    return np.asarray(_tops(evidence, _around(radius)) > floor + STANDS)


def _extent(region: shapely.Polygon) -> float:
    x0, _, x1, _ = region.bounds
    return float(x1 - x0) / 2


def _heights(evidence: FlatEvidence, earlier: Sequence[FlatEvidence]) -> Iterator[Proof]:
    """How far the wheel is off its thickness, ring by ring, with all that was cut of both faces."""
    layout, part = evidence.layout, evidence.layout.part
    widths = [hole.diameter / 2 for hole in (*part.holes, *part.blind, *part.beneath)
              if isinstance(hole, Hole)]
    widths += [_extent(island.region(CHECK_CHORD)) for one in (*part.recesses, *part.beneath)
               if isinstance(one, Recess) for island in one.area.islands]
    edges = [*sorted({round(one, 6) for one in widths}), evidence.job.part.tooth().root_radius]
    gone = shapely.union_all([path.region(CHECK_CHORD) for path in part.openings])
    worst, at = 0.0, (0.0, 0.0)
    for inner, outer in itertools.pairwise(edges):
        if outer - inner < 2 * STANDS:
            continue
        points = _around(np.full(ROUND, (inner + outer) / 2))
        points = points[~shapely.contains_xy(gone, points[:, 0], points[:, 1])]
        if not len(points):
            continue
        wanted = layout.thickness - _deep(layout, points[0], beneath=False) - _deep(
            layout, points[0], beneath=True)
        top, under = _tops(evidence, points), np.full(len(points), layout.back)
        for one in earlier:
            before = as_left(layout, one)
            if before.from_below:
                np.maximum(under, before.left(points), out=under)
            else:
                np.minimum(top, before.left(points), out=top)
        off = np.abs(top - under - wanted)
        if off.max() > worst:
            worst, at = float(off.max()), tuple(points[int(np.argmax(off))])
    yield evidence.at_most(
        HEIGHTS, Message("thickness of the wheel between its two faces"), round(1000 * worst, 3),
        round(1000 * tolerance_of(evidence), 3), "µm",
        where=Message("X {x:.3f} Y {y:.3f}", x=at[0], y=at[1]))


def _deep(layout: FlatLayout, place: Floats, *, beneath: bool) -> float:
    """How deep the finished wheel is cut at a place, from the face that looks up or the other."""
    x, y = float(place[0]), float(place[1])
    part, deep = layout.part, 0.0
    cut: tuple[Hole | Recess, ...] = part.beneath if beneath else (*part.recesses, *part.blind)
    for one in cut:
        inside = (one.area.region(CHECK_CHORD).contains(shapely.Point(x, y))
                  if isinstance(one, Recess) else math.hypot(x, y) < one.diameter / 2)
        if inside:
            deep = max(deep, one.depth or 0.0)
    return deep
