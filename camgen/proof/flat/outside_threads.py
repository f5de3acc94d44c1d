"""Threads milled round posts, from the motion as it was read back.

Held are the root that the helix leaves, pitch and hand together, and how far the thread is full.
Cuts that stay between the root and all other walls, and above the floor, are no business of the
plane slices. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely

from camgen.arrays import Flags, Floats
from camgen.layout import FlatLayout
from camgen.messages import NOTHING, Message
from camgen.part.declaration import MakesOutsideThreads
from camgen.part.features import OutsideThread
from camgen.proof.common.said import in_plan
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.wanted_edges import tolerance_of
from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.proof.result import Proof, ProofId
from camgen.shop.cutters import Cutter
from camgen.shop.threads import ThreadOutside, flat_of, outside_thread_of, rows_of
from camgen.tolerances import AREA_CHORD
from camgen.values import dataclass

__all__ = ["prove_outside_threads", "within_outside_threads", "within_rims"]

ROOT = ProofId("flat", "outside-thread")
PITCH = ProofId("flat", "outside-thread-pitch")
SHORT = ProofId("flat", "outside-thread-length")


@dataclass(frozen=True)
class _Wanted:
    """A thread that a step of this setup is there to mill: its ``root`` as corrected, ``top`` and
    ``bottom`` (Z) between which the mill's end goes, the ``numbers`` of its cutter."""

    one: OutsideThread
    outside: ThreadOutside
    cutter: Cutter
    numbers: tuple[int, ...]
    root: float
    top: float
    bottom: float

    @property
    def ring(self) -> float:
        """Radius of the circle of the mill's centre."""
        return (self.root + self.cutter.diameter) / 2


def _wanted(evidence: FlatEvidence) -> Iterator[_Wanted]:
    layout: FlatLayout = evidence.layout
    setup = next((s for s in evidence.job.setups if s.name == evidence.setup), None)
    for one in layout.part.outside_threads if setup is not None else ():
        outside = outside_thread_of(one.called)
        for step in setup.steps if setup is not None else ():
            says, cutter = step.declares(), evidence.job.cutters[step.cutter]
            if not any(isinstance(made, MakesOutsideThreads) and made.posts.means(one.name)
                       for made in says.makes):
                continue
            if abs((cutter.pitch or 0.0) - outside.thread.pitch) > 1e-6:
                continue
            top = layout.face - one.depth
            yield _Wanted(
                one, outside, cutter,
                tuple(n for n, other in evidence.cutters.items() if other == cutter),
                outside.root(flat_of(cutter)) + 2 * says.added("wall"), top,
                top - one.length - outside.thread.pitch)


def within_rims(evidence: FlatEvidence, points: Floats, tolerance: float) -> Flags:
    """(m,) points in plan that lie between root and crest of a thread round a post."""
    within = np.zeros(len(points), dtype=np.bool_)
    for want in _wanted(evidence):
        away = np.hypot(points[:, 0] - want.one.place.x, points[:, 1] - want.one.place.y)
        within |= (away >= want.root / 2 - tolerance) & (away <= want.one.over / 2 + tolerance)
    return within


def within_outside_threads(evidence: FlatEvidence, cuts: PlanCuts, tolerance: float) -> Flags:
    """(k,) cuts of thread mills that stay outside the root of a thread round a post, above the end
    of its run-out, and off all other walls; ``tolerance`` mm."""
    found = np.zeros(len(cuts), dtype=np.bool_)
    by = evidence.motion.cutter[cuts.piece] if len(cuts) else np.zeros(0, dtype=np.int64)
    for want in _wanted(evidence) if len(cuts) else ():
        free = _free(evidence.layout, want)
        mine = np.isin(by, want.numbers) & (cuts.low >= want.bottom - tolerance)
        for x, y in evidence.layout.places:
            centre = np.array([x + want.one.place.x, y + want.one.place.y])
            near, far = _apart(cuts.start, cuts.end, cuts.centre, cuts.radius, cuts.sweep, centre)
            found |= (mine & (near - cuts.wide_top >= want.root / 2 - tolerance)
                      & (far + cuts.wide_top <= free + tolerance))
    return found


def _free(layout: FlatLayout, want: _Wanted) -> float:
    """How far from the post's middle nothing but the post stands, down to the thread's end."""
    deep = layout.face - want.bottom
    cleared = shapely.union_all([one.area.region(AREA_CHORD) for one in layout.part.recesses
                                 if one.depth >= deep - 1e-9])
    middle = shapely.Point(want.one.place.x, want.one.place.y)
    post = middle.buffer(want.one.over / 2 + 0.005, quad_segs=720)
    walls = shapely.union(cleared, post)
    return float(shapely.distance(walls.boundary, middle))


def _apart(
    start: Floats, end: Floats, middle: Floats, radius: Floats, sweep: Floats, centre: Floats
) -> tuple[Floats, Floats]:
    """(k,) least and greatest distance of lines and arcs, in plan, from ``centre``."""
    along = end - start
    square = np.maximum((along**2).sum(axis=1), 1e-18)
    share = np.clip(((centre - start) * along).sum(axis=1) / square, 0.0, 1.0)
    near = np.linalg.norm(start + share[:, None] * along - centre, axis=1)
    first = np.linalg.norm(start - centre, axis=1)
    last = np.linalg.norm(end - centre, axis=1)
    far = np.maximum(first, last)
    arc = sweep != 0
    if not np.any(arc):
        return np.asarray(near), np.asarray(far)
    # An arc is nearest and farthest on the line through both middles, where it goes there.
    away = middle[arc] - centre
    off, round_it = np.linalg.norm(away, axis=1), radius[arc]
    begun = np.arctan2(*(start[arc] - middle[arc]).T[::-1])
    out = np.where(off < 1e-9, begun, np.arctan2(*away.T[::-1]))
    turn, full = np.sign(sweep[arc]), np.abs(sweep[arc]) + 1e-9
    at_far = np.mod(turn * (out - begun), 2 * math.pi) <= full
    at_near = np.mod(turn * (out + math.pi - begun), 2 * math.pi) <= full
    far[arc] = np.where(at_far, off + round_it, far[arc])
    near[arc] = np.where(at_near | (off < 1e-9), np.abs(off - round_it),
                         np.minimum(first, last)[arc])
    return np.asarray(near), np.asarray(far)


def prove_outside_threads(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """Root, pitch with hand, and length of each thread round a post, at the worst piece."""
    wanted = tuple(_wanted(evidence))
    if not wanted:
        return ()
    tolerance = tolerance_of(evidence)
    motion = evidence.motion
    sweep, _, radius = evidence.sweep
    rise = motion.end[:, 2] - motion.start[:, 2]
    level = np.hypot(*(motion.end[:, :2] - motion.start[:, :2]).T)
    with np.errstate(invalid="ignore"):
        helix = evidence.cut & (np.abs(rise) > 1e-9) & ((level > 1e-9) | (sweep != 0))
    centres = [(want, np.array([x + want.one.place.x, y + want.one.place.y]))
               for want in wanted for x, y in evidence.layout.places]
    rows = np.nonzero(helix & np.isin(motion.cutter, [n for want in wanted
                                                      for n in want.numbers]))[0]
    # Each piece belongs to the thread whose helix it is nearest to.
    off = np.array([np.abs(np.linalg.norm(motion.start[rows, :2] - centre, axis=1) - want.ring)
                    for want, centre in centres])
    mine = np.argmin(off, axis=0) if len(rows) else np.zeros(0, dtype=np.int64)
    worst: dict[str, _Made] = {}
    for number, (want, centre) in enumerate(centres):
        own = rows[mine == number]
        made = _Made(want, 1.0, 1.0, 1.0, Message("not cut"), -1, centre)
        if len(own):
            near, far = _apart(motion.start[own, :2], motion.end[own, :2], motion.centre[own, :2],
                               radius[own], sweep[own], centre)
            made = _measured(want, near, far, motion.start[own], motion.end[own], sweep[own],
                             centre, int(own[0]))
        known = worst.get(want.one.name)
        if known is None or made.worst > known.worst:
            worst[want.one.name] = made
    return tuple(one for made in worst.values() for one in _proofs(evidence, made, tolerance))


@dataclass(frozen=True)
class _Made:
    """A thread as milled: by how much root, pitch and length are off, mm; told where and what."""

    want: _Wanted
    root: float
    pitch: float
    short: float
    told: Message
    row: int
    centre: Floats

    @property
    def worst(self) -> float:
        """The greatest of the three."""
        return max(self.root, self.pitch, self.short)


def _measured(
    want: _Wanted, near: Floats, far: Floats, start: Floats, end: Floats, sweep: Floats,
    centre: Floats, row: int,
) -> _Made:
    a, b = start[:, :2] - centre, end[:, :2] - centre
    chord = np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1))
    turned = float(np.where(sweep != 0, sweep, chord).sum())
    turns, rise = abs(turned) / (2 * math.pi), float((end[:, 2] - start[:, 2]).sum())
    outside = want.outside
    # A right-hand thread rises as its helix turns anticlockwise, a left-hand one falls.
    pitch = 2 * math.pi * rise / turned if turned else 0.0
    asked = -outside.thread.pitch if outside.left else outside.thread.pitch
    root = 2 * float(near.min()) - want.cutter.diameter
    off = max(abs(float(near.min()) - want.ring), abs(float(far.max()) - want.ring))
    lowest = float(np.minimum(start[:, 2], end[:, 2]).min())
    highest = float(np.maximum(start[:, 2], end[:, 2]).max())
    over = highest + (rows_of(want.cutter) - 1) * outside.thread.pitch
    short = max(lowest - want.bottom, want.top - over,
                (1.0 - turns) * outside.thread.pitch - 1e-9, 0.0)
    return _Made(want, off, abs(pitch - asked) * max(1.0, turns), short,
                 Message("root {root:.4f} mm, {turns:.4g} turns, pitch {pitch:.4f} mm", root=root,
                         turns=turns, pitch=abs(pitch)), row, centre)


def _proofs(evidence: FlatEvidence, made: _Made, tolerance: float) -> Iterator[Proof]:
    name, (x, y) = made.want.one.name, made.centre.tolist()
    limit = round(1000 * tolerance, 6)
    for id, said, off in (
        (ROOT, Message("root of the thread round {name}", name=name), made.root),
        (PITCH, Message("pitch and hand of the thread round {name}", name=name), made.pitch),
        (SHORT, Message("length the thread round {name} lacks", name=name), made.short),
    ):
        told = in_plan(x, y, made.told) if made.told else NOTHING
        yield evidence.placed(
            Proof(id.about(name), said, evidence.setup, off <= tolerance,
                  round(1000 * min(off, 1.0), 3), limit, "µm", told,
                  at=(x, y, made.want.top)), made.row)
