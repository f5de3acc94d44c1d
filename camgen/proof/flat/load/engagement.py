"""How much metal the cutter meets in pockets, measured on the motion read back.

On the leading half of the cutter's circle, points that no earlier cut has cleared are in metal; the
angle they span is the engagement. Measured by distances to the cuts made before, at the full feed:
the slower ways in are planned to meet more. Angles degrees, lengths mm.
"""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np
import shapely

from camgen.arrays import Flags, Floats, Ints
from camgen.messages import Message
from camgen.part.declaration import MakesPockets
from camgen.proof.common.metal_left import MetalAsLeft
from camgen.proof.evidence import FlatEvidence
from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.proof.ground.same_ways import STEP, SameWays
from camgen.proof.path import chords, select
from camgen.proof.result import Proof, ProofId
from camgen.values import dataclass

__all__ = ["Places", "cleared_before", "engaged", "in_pockets", "prove_engagement"]

ENGAGEMENT = ProofId("flat", "engagement")

RAYS = 49
# Places measured in one section, at most: evenly spread when there are more.
MOST = 2500
# On a slope metal no higher than this share of the cutter's radius is none: between the flanks of a
# tab as it was cleared and as it is brought to size stands a wedge as high as what was left.
THIN = 0.25
# A way that goes down by more than so many mm for each mm along is split as if by so much.
STEEPEST = 10.0
# So many of the cuts last made about a place are looked at first.
LATEST = 6
# What most of the way may meet over what was planned, and how much of the way is meant by most.
OVER, MOST_SHARE = 1.25, 0.95


def prove_engagement(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """The engagement that is not exceeded on 95 hundredths of each pocket's clearing."""
    layout = evidence.layout
    planned = evidence.planned
    if planned is None or evidence.moves is None or not layout.part.recesses:
        return ()
    pockets = in_pockets(evidence)
    sections = [n for n, pocket in enumerate(pockets) if pocket]
    if not sections or len(evidence.planned_cuts) <= max(sections):
        return ()
    answers = []
    for number in sections:
        cut = evidence.planned_cuts[number]
        mine = evidence.section == number
        mine[_entered(evidence)] = False
        rows = _at_full_feed(evidence, np.nonzero(mine)[0], cut.feed)
        radius = float(np.nan_to_num(evidence.cutter_radius[rows]).max(initial=0.0))
        if not len(rows) or radius <= 0 or cut.width >= 2 * radius:
            continue
        meant = math.degrees(math.acos(1 - cut.width / radius))
        piece, length, angle = engaged(evidence, rows, radius)
        order = np.argsort(angle)
        along = np.cumsum(length[order])
        at = order[min(int(np.searchsorted(along, MOST_SHARE * along[-1])), len(order) - 1)]
        worst = float(angle.max())
        answers.append(
            evidence.at_most(
                ENGAGEMENT.about(f"step {evidence.moves.sections[number].step + 1}"),
                Message("engagement in pockets, step {step}",
                        step=evidence.moves.sections[number].step + 1),
                float(angle[at]), OVER * meant, "degrees", int(piece[at]),
                Message("{share:.0%} of the way; {meant:.0f} planned, {worst:.0f} at the most",
                        share=MOST_SHARE, meant=meant, worst=worst),
            )
        )
    return tuple(answers)


def in_pockets(evidence: FlatEvidence) -> list[bool]:
    """Whether each section is of a step that clears pockets."""
    assert evidence.moves is not None
    setup = next((s for s in evidence.job.setups if s.name == evidence.setup), None)
    steps = setup.steps if setup is not None else ()
    clears = [step.declares().makes_a(MakesPockets) for step in steps]
    return [section.step < len(steps) and clears[section.step]
            for section in evidence.moves.sections]


def _entered(evidence: FlatEvidence) -> Ints:
    """Pieces that go level once along the way on which the cutter came down: a part of the entry.

    They follow the sloping ones: once round to where the slope ended, or, where the way is not
    closed, as far as they lie on them seen from above.
    """
    motion, cuts = evidence.motion, evidence.flat_cuts
    fall = np.abs(motion.end[:, 2] - motion.start[:, 2])
    aside = np.hypot(*(motion.end[:, :2] - motion.start[:, :2]).T) > 1e-9
    rows = np.flatnonzero(evidence.cut & (fall > 1e-9) & (aside | (evidence.sweep[0] != 0)))
    row_of = {int(piece): row for row, piece in enumerate(cuts.piece)}
    found: list[int] = []
    for run in np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1):
        if not len(run):
            continue
        way = cuts.only(np.flatnonzero((cuts.piece >= run[0]) & (cuts.piece <= run[-1])))
        at = int(run[-1]) + 1
        level: list[int] = []
        while len(way) and at in row_of and fall[at] < 1e-9:
            level.append(at)
            at += 1
        if not level:
            continue
        away = np.hypot(*(motion.end[level, :2] - motion.end[run[-1], :2]).T)
        back = np.flatnonzero(away <= 4 * evidence.increment)
        middles = cuts.middles[[row_of[piece] for piece in level]]
        off = np.flatnonzero(way.distances(middles).min(axis=1) > 4 * evidence.increment)
        end = int(back[0]) + 1 if len(back) else int(off[0]) if len(off) else len(level)
        found += level[:end]
    return np.array(found, dtype=np.int64)


def _at_full_feed(evidence: FlatEvidence, rows: Ints, feed: float) -> Ints:
    """Level cuts that are not slowed."""
    motion = evidence.motion
    level = np.abs(motion.end[rows, 2] - motion.start[rows, 2]) < 1e-9
    fast = evidence.feed_meant[rows] > 0.9 * feed
    return np.asarray(rows[level & fast & evidence.cut[rows]])


@dataclass(frozen=True)
class Places:
    """Places (m,) one after the other along pieces of motion, and how each is cut.

    ``piece`` is the piece of each, ``start`` and ``end`` (m, 3) those of the chord about it, mm.
    """

    evidence: FlatEvidence
    radius: float
    piece: Ints
    start: Floats
    end: Floats

    @classmethod
    def along(cls, evidence: FlatEvidence, rows: Ints, radius: float) -> Places:
        """Along pieces ``rows``, but for pieces of work cut just like an earlier one."""
        rows = rows[~evidence.repeated[rows]]
        split = chords(select(evidence.motion, rows), 0.001, longest=radius / 4,
                       steepest=STEEPEST)
        keep = np.hypot(*(split.end - split.start)[:, :2].T) > 1e-9
        return cls(evidence, radius, rows[split.piece[keep]], split.start[keep], split.end[keep])

    @cached_property
    def length(self) -> Floats:
        """(m,) of the chords, mm."""
        return np.asarray(np.linalg.norm(self.end - self.start, axis=1))

    @property
    def every(self) -> int:
        """One of how many places is looked at, evenly spread, so that they are not too many."""
        return max(1, math.ceil(len(self.piece) / MOST))

    def met(self, which: Ints, ground: MetalAsLeft | None = None) -> Floats:
        """(k,) the angle in metal at some of the places, degrees.

        With ``ground`` what earlier setups and other hands took off is no metal either.
        """
        start, end, piece = self.start[which], self.end[which], self.piece[which]
        across = np.hypot(*(end - start)[:, :2].T)
        way = (end - start)[:, :2] / across[:, None]
        middle = ((start + end) / 2)[:, :2]
        turn = (np.arange(RAYS) + 0.5) / RAYS * np.pi - np.pi / 2
        ahead = np.exp(1j * turn)[None, :] * (way[:, 0] + 1j * way[:, 1])[:, None]
        points = middle[:, None, :] + self.radius * np.stack([ahead.real, ahead.imag], axis=2)
        metal = shapely.contains_xy(self.evidence.layout.stock, points[..., 0], points[..., 1])
        slopes = np.abs(end[:, 2] - start[:, 2]) > 1e-9
        level = (start[:, 2] + end[:, 2]) / 2 + np.where(
            slopes, STEP + THIN * self.radius, 0.0)
        cleared = cleared_before(self.evidence.flat_ways, middle, points, piece, level, self.radius)
        metal &= ~cleared
        if ground is not None:
            at, ray = np.nonzero(metal)
            metal[at, ray] = ground.at(points[at, ray], piece[at]) > level[at] + 1e-6
        return np.asarray(metal.sum(axis=1) * 180.0 / RAYS)


def engaged(evidence: FlatEvidence, rows: Ints, radius: float) -> tuple[Ints, Floats, Floats]:
    """Pieces (m,), lengths (m,), mm, and angles in metal (m,), degrees, along pieces ``rows``.

    Pieces of work cut just like an earlier one are not looked at again.
    """
    places = Places.along(evidence, rows, radius)
    some = np.arange(0, len(places.piece), places.every)
    return places.piece[some], places.length[some] * places.every, places.met(some)


def cleared_before(
    along: SameWays, middle: Floats, points: Floats, piece: Ints, level: Floats, radius: float
) -> Flags:
    """(m, RAYS) whether an earlier cut, as deep, has been over each point; all in mm.

    A way gone many times is asked once, as deep as it was gone until then. The latest ways have
    cleared most; the others are asked only where they come near what is left.
    """
    ways = along.ways
    x, y = middle.T
    place, way = ways.tree.query(shapely.box(x - radius, y - radius, x + radius, y + radius))
    # What the piece itself has passed lies behind, beyond the leading half.
    last = along.before(way, piece[place])
    useful = (last >= 0) & (along.highest[last] <= level[place] + 1e-6)
    place, way, last = place[useful], way[useful], last[useful]
    near = ways.apart(middle[place][:, None, :], way)[:, 0] < radius + ways.wide_top[way]
    place, way, last = place[near], way[near], last[near]
    order = np.lexsort((-along.cuts.piece[along.order[last]], place))
    place, way = place[order], way[order]
    rank = np.arange(len(place)) - np.searchsorted(place, place)
    cleared = np.zeros(points.shape[:2], dtype=np.bool_)
    _clear(ways, points, place[rank < LATEST], way[rank < LATEST], cleared)
    place, way = place[rank >= LATEST], way[rank >= LATEST]
    # A round about the points of each place that are not cleared yet.
    some = ~np.all(cleared, axis=1)
    first = points[np.arange(len(points)), np.argmin(cleared, axis=1)][:, None, :]
    open_to = np.where(cleared[..., None], first, points)
    low, high = open_to.min(axis=1), open_to.max(axis=1)
    centre, round_it = (low + high) / 2, np.hypot(*(high - low).T) / 2
    place, way = place[some[place]], way[some[place]]
    away = ways.apart(centre[place][:, None, :], way)[:, 0]
    near = away < round_it[place] + ways.wide_top[way]
    _clear(ways, points, place[near], way[near], cleared)
    return cleared


def _clear(cuts: PlanCuts, points: Floats, place: Ints, cut: Ints, cleared: Flags) -> None:
    """Marks in ``cleared`` (m, RAYS) the points of places that cuts, pair by pair, were over."""
    for begin in range(0, len(place), 20000):
        some, of = place[begin : begin + 20000], cut[begin : begin + 20000]
        over = cuts.apart(points[some], of) < cuts.wide_top[of][:, None] - 1e-6
        # The pairs come place by place.
        first = np.nonzero(np.concatenate([[True], some[1:] != some[:-1]]))[0]
        cleared[some[first]] |= np.logical_or.reduceat(over, first, axis=0)
