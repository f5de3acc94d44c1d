"""What stands up from the table beside the work, clamps and dowels, against all of the cutter.

Edges, shank, holder and nose: whatever of them is lower than the top of a thing must be off it by
more than its own radius, on every way, fed or rapid. A dowel is taken to stand in its hole up to
the finished face that looks up, or up to what the part has over it; the sheet asks for lower ones.
Flat work, lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Flags, Floats, Ints
from camgen.messages import Message
from camgen.proof.common.rapid_ways import ways_of
from camgen.proof.evidence import FlatEvidence
from camgen.proof.path import is_rapid
from camgen.proof.result import Proof, ProofId
from camgen.shop.cutters import Cutter, ProfilePart, profile_of
from camgen.tolerances import ROUNDING
from camgen.values import dataclass

__all__ = ["prove_upright"]

CLAMPS = ProofId("table", "clamps")
DOWELS = ProofId("table", "dowels")



@dataclass(frozen=True)
class _Standing:
    """One thing: its ``plan``, how much wider it is all round, and the Z of its ``top``.

    A dowel is its middle, and as much wider as its radius: no chords.
    """

    name: Message
    plan: BaseGeometry
    wider: float
    top: float


@dataclass(frozen=True)
class _Met:
    """How far below the top of a thing a part of the cutter comes to it, on which piece."""

    depth: float
    part: Message
    wide: float
    thing: Message
    piece: int


def prove_upright(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """No move through a clamp, nor into a dowel, by any part of any cutter."""
    layout = evidence.layout
    answers = []
    clamps = [_Standing(Message("clamp {number}", number=n) if len(layout.clamps) > 1
                        else Message("clamp"), clamp.plan, 0.0,
                        clamp.top) for n, clamp in enumerate(layout.clamps, start=1)]
    dowels = [_Standing(Message("dowel in {hole}", hole=hole.name), shapely.Point(hole.x, hole.y),
                        hole.diameter / 2,
                        layout.face - layout.over_dowels) for hole in layout.dowels]
    for id, name, things in ((CLAMPS, Message("moves into clamps"), clamps),
                             (DOWELS, Message("moves into dowels"), dowels)):
        if things:
            answers.append(_none_into(evidence, id, name, things))
    return tuple(answers)


def _none_into(
    evidence: FlatEvidence, id: ProofId, name: Message, things: Sequence[_Standing]
) -> Proof:
    """How far any part of a cutter reaches below the top of a thing that it comes to."""
    most = max((met for number, cutter in sorted(evidence.cutters.items())
                for met in _met(evidence, number, cutter, things)),
               default=None, key=lambda one: one.depth)
    if most is None or most.depth <= ROUNDING:
        return evidence.at_most(id, name, 0.0, 0.0, "mm")
    cure = (Message("keep the work clear of it; clamps: counts from the setup's zero")
            if most.part == "edge" and id is CLAMPS else
            Message("keep the work clear of it") if most.part == "edge" else
            Message("let the cutter stand out further, or move the clamp") if id is CLAMPS else
            Message("let the cutter stand out further"))
    where = Message("{place}: the {part}, {wide:g} mm wide, comes to the {thing}: {cure}",
                    place=evidence.place(most.piece), part=most.part, wide=most.wide,
                    thing=most.thing, cure=cure)
    return evidence.at_most(id, name, most.depth, 0.0, "mm", most.piece, where)


def _met(
    evidence: FlatEvidence, number: int, cutter: Cutter, things: Sequence[_Standing]
) -> Iterator[_Met]:
    """For each part and thing the worst meeting, where there is one."""
    profile = profile_of(cutter)
    parts = (profile.edge, *profile.solid)
    lowest = min(part.low for part in parts)
    start, end, piece = _ways(evidence, number, max(one.top for one in things) - lowest)
    if not len(piece):
        return
    low = np.minimum(start[:, 2], end[:, 2])
    for part in parts:
        for thing in things:
            near = np.nonzero(low < thing.top - part.low)[0]
            near = near[_near(start[near], end[near], thing, part.radius)]
            if not len(near):
                continue
            lines = shapely.linestrings(np.stack([start[near, :2], end[near, :2]], axis=1))
            with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
                away = shapely.distance(lines, thing.plan) - thing.wider
            height = thing.top - low[near]
            depth = np.where(away < _radius_below(part, height) - ROUNDING, height - part.low, 0.0)
            worst = int(np.argmax(depth))
            if depth[worst] > 0:
                yield _Met(float(depth[worst]), part.name.called, 2 * part.radius, thing.name,
                           int(piece[near[worst]]))


def _near(start: Floats, end: Floats, thing: _Standing, wide: float) -> Flags:
    """(m,) stretches whose box comes within ``wide`` of a thing's."""
    x0, y0, x1, y1 = thing.plan.bounds
    off = wide + thing.wider
    least, most = np.minimum(start, end), np.maximum(start, end)
    near = (most[:, 0] > x0 - off) & (least[:, 0] < x1 + off)
    near &= (most[:, 1] > y0 - off) & (least[:, 1] < y1 + off)
    return np.asarray(near)


def _radius_below(part: ProfilePart, height: Floats) -> Floats:
    """(m,) the greatest radius of a part below heights (m,) over the cutter's zero."""
    radii = np.maximum.accumulate([r for r, _ in part.outline])
    heights = np.array([z for _, z in part.outline])
    # A face, several radii at one height, counts whole from just above it.
    heights = heights + np.arange(len(heights)) * 1e-12
    return np.asarray(np.interp(height, heights, radii, left=0.0))


def _ways(evidence: FlatEvidence, number: int, height: float) -> tuple[Floats, Floats, Ints]:
    """Stretches (m, 3) of a cutter's way that go below ``height``, with the piece of each."""
    motion, chords = evidence.motion, evidence.chords
    mine = motion.cutter == number
    fed = mine[chords.piece] & evidence.cut[chords.piece]
    fed &= np.minimum(chords.start[:, 2], chords.end[:, 2]) < height
    starts, ends, pieces = [chords.start[fed]], [chords.end[fed]], [chords.piece[fed]]
    with np.errstate(invalid="ignore"):
        low = np.fmin(motion.start[:, 2], motion.end[:, 2]) < height
    rapid = np.nonzero(mine & is_rapid(motion) & low)[0]
    if len(rapid):
        ways = ways_of(evidence, rapid)
        starts.append(ways[:, :, :-1].reshape(-1, 3))
        ends.append(ways[:, :, 1:].reshape(-1, 3))
        pieces.append(np.repeat(rapid, 6))
    start, end = np.concatenate(starts), np.concatenate(ends)
    known = np.all(np.isfinite(start), axis=1) & np.all(np.isfinite(end), axis=1)
    return start[known], end[known], np.concatenate(pieces)[known]
