"""How much metal is met wherever the feed is one planned for a thin cut: walls, crossings, slots.

Every cut is planned for an angle of metal: a slot for half the cutter, the last pass on a wall for
a thin strip, and the thinner it is the faster it may go. At each feed no more is to be met than the
cut that has this feed was planned for. Angles degrees, lengths mm, feeds mm/min.
"""

from __future__ import annotations

import itertools
from dataclasses import field
from functools import cached_property

import numpy as np

from camgen.arrays import Flags, Floats, Ints, distinct, distinct_rows
from camgen.cutting.answer import CutPlan
from camgen.messages import Message
from camgen.proof.common.metal_left import MetalAsLeft
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.load.engagement import RAYS, Places, in_pockets
from camgen.proof.path import sweeps
from camgen.proof.result import Proof, ProofId
from camgen.shop.cutters import Way, record_of
from camgen.values import dataclass

__all__ = ["met_in_arc", "prove_full_feed"]

MORE = ProofId("flat", "more-metal-than-planned")

# What may be met over what was planned: as in pockets.
OVER = 1.25
# A feed within these shares of a planned one is that one.
UNDER_FEED, SAME_FEED = 0.9, 0.98
# So many radii about a place all others are looked at; ends no farther apart, mm, are one.
ABOUT = 1.25
JOINED = 1e-6


@dataclass(frozen=True)
class _Bite:
    """A planned cut: its feed and the width of metal it was planned for."""

    feed: float
    width: float


@dataclass(frozen=True)
class _Looked:
    """What all steps are looked at with, and which ways were looked at already, with what allowed.

    ``bends`` (n,) are the radii of arcs, 0 straight.
    """

    evidence: FlatEvidence
    bends: Floats
    seen: dict[tuple[int, float], None] = field(default_factory=dict)

    @cached_property
    def _same(self) -> Ints:
        """(n,) number of the way of each piece: alike are those gone alike by the same cutter."""
        motion = self.evidence.motion
        table = np.column_stack([motion.start, motion.end, motion.centre, motion.turns,
                                 motion.kind, motion.cutter, self.bends])
        return distinct_rows(np.rint(np.nan_to_num(table) * 1e6).astype(np.int64))[1]

    @cached_property
    def ground(self) -> MetalAsLeft:
        """What others left of the metal, beside what is cut here."""
        return MetalAsLeft(self.evidence, self.evidence.layout)

    def first_time(self, rows: Ints, width: Floats) -> bool:
        """False where each way was gone before with as much metal allowed: now there is less."""
        keys = dict.fromkeys(zip(self._same[rows].tolist(), width.tolist(), strict=True))
        new = not keys.keys() <= self.seen.keys()
        self.seen.update(keys)
        return new


def met_in_arc(radius: float, path_radius: Floats, width: float) -> Floats:
    """(n,) angle of metal met inside arcs of ``path_radius`` (0: a straight way), degrees.

    With the cutter's radius r on a path of radius ρ the wall is at ρ + r and was at P = ρ + r − w;
    the cutter's circle meets the latter where cos φ = (P² − ρ² − r²)/(2·ρ·r). Straight on it is
    arccos(1 − w/r).

    >>> import numpy as np
    >>> met_in_arc(0.5, np.array([0.0, 1e6, 0.25]), 0.25).round(1).tolist()
    [60.0, 60.0, 104.5]
    """
    rho = np.where(path_radius > 0, path_radius, np.inf)
    straight = np.full(len(rho), 1 - min(width, 2 * radius) / radius)
    with np.errstate(invalid="ignore", over="ignore"):
        was = rho + radius - width
        bent = (was - rho) * (was + rho) - radius**2
        cosine = np.where(np.isfinite(rho), bent / (2 * rho * radius), straight)
        cosine = np.where(np.isfinite(rho) & (was < np.abs(rho - radius)), -1.0, cosine)
    return np.asarray(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))


def prove_full_feed(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """Of each step the longest stretch on which more metal is met than its feed was planned for.

    A stretch no longer than the cutter's radius is the corner of a wall. Clearing of pockets has a
    proof of its own.
    """
    if evidence.moves is None or not evidence.planned_cuts:
        return ()
    pockets = in_pockets(evidence)
    sections = evidence.moves.sections
    cuts = evidence.planned_cuts[: len(sections)]
    answers: list[Proof] = []
    looked = _Looked(evidence, _bends(evidence))
    rows_of = _by_section(evidence, len(cuts))
    for number, cut in enumerate(cuts):
        cutter = evidence.cutters.get(sections[number].cutter_number)
        if cutter is None or record_of(cutter).way is not Way.MILLING:
            continue
        rows = rows_of[number]
        if pockets[number]:
            rows = rows[~_has(evidence.feed_meant[rows], cut.feed)]
        answers += _of(looked, rows, _bites(cut), 
                       Message("step {number}", number=sections[number].step + 1))
    for cutter_number in sorted({section.cutter_number for section in sections}):
        cutter = evidence.cutters.get(cutter_number)
        if cutter is None or record_of(cutter).way is not Way.MILLING:
            continue
        mine = (evidence.section < 0) & (evidence.motion.cutter == cutter_number)
        bites = [bite for section, cut in zip(sections, cuts, strict=False)
                 if section.cutter_number == cutter_number for bite in _bites(cut)]
        answers += _of(looked, np.nonzero(mine)[0], bites, Message("cutter {number}",
                                                                   number=cutter_number))
    worst: dict[ProofId, Proof] = {}
    for proof in answers:
        if proof.id not in worst or proof.figure > worst[proof.id].figure:
            worst[proof.id] = proof
    return tuple(worst.values())


def _by_section(evidence: FlatEvidence, count: int) -> list[Ints]:
    """The pieces of each section, in order."""
    order = np.argsort(evidence.section, kind="stable")
    edges = np.searchsorted(evidence.section[order], np.arange(count + 1))
    return [order[begin:end] for begin, end in itertools.pairwise(edges)]


def _bends(evidence: FlatEvidence) -> Floats:
    """(n,) radius of the arc each piece lies on, mm; 0 straight.

    An arc written in chords is the arc that was planned.
    """
    sweep, _, radius = evidence.sweep
    bend = np.where(sweep != 0, radius, 0.0)
    if evidence.planned is not None and evidence.matched is not None:
        meant, _, radius = sweeps(evidence.planned.motion)
        read, answered = evidence.matched.read, evidence.matched.planned
        chords = (bend[read] == 0) & (meant[answered] != 0)
        bend[read[chords]] = radius[answered[chords]]
    return np.asarray(bend)


def _bites(cut: CutPlan) -> list[_Bite]:
    return [_Bite(one.feed, one.width) for one in (cut, *cut.others)]


def _of(looked: _Looked, rows: Ints, bites: list[_Bite], which: Message) -> list[Proof]:
    """The proof for pieces ``rows``, which may meet what ``bites`` were planned for."""
    evidence = looked.evidence
    rows = _level(evidence, rows)
    radius = float(np.nan_to_num(evidence.cutter_radius[rows]).max(initial=0.0))
    if not len(rows) or radius <= 0 or all(bite.width >= 2 * radius for bite in bites):
        return []
    width, full = _allowed(looked, rows, bites, radius)
    full &= width < 2 * radius
    rows, width = rows[full], width[full]
    if not looked.first_time(rows, width):
        return []
    places = Places.along(evidence, rows, radius)
    wide = width[np.searchsorted(rows, places.piece)]
    bend = looked.bends[places.piece]
    meant = np.zeros(len(wide))
    for one in distinct(wide):
        here = wide == one
        meant[here] = met_in_arc(radius, bend[here], float(one))
    over, angle = _over(places, OVER * meant + 180.0 / RAYS, looked.ground)
    longest, begin, end = _longest(over, places)
    name = Message("way on which more metal is met than planned, {which}", which=which)
    id = MORE.about(which)
    if longest <= 0:
        return [evidence.at_most(id, name, 0.0, radius, "mm")]
    worst = begin + int(np.argmax((angle - meant)[begin:end]))
    told = Message("{place}, {met:.0f} degrees met, {meant:.0f} planned",
                   place=evidence.place(int(places.piece[worst])), met=angle[worst],
                   meant=meant[worst])
    return [evidence.at_most(id, name, longest, radius, "mm", int(places.piece[worst]), told)]


def _over(places: Places, most: Floats, ground: MetalAsLeft) -> tuple[Flags, Floats]:
    """(m,) whether more than ``most`` degrees are met at each place, and what is; 0 unlooked at.

    Where only some places are looked at, one of them says nothing of the way to the next: about
    each at which more is met all are looked at, as far as makes the stretch too long.
    """
    angle = np.zeros(len(most))
    some = np.arange(0, len(most), places.every)
    angle[some] = places.met(some)
    over = angle > most
    if places.every > 1 and np.any(over):
        along = np.cumsum(places.length)
        at = np.nonzero(over)[0]
        first = np.searchsorted(along, along[at] - ABOUT * places.radius)
        past = np.searchsorted(along, along[at] + ABOUT * places.radius) + 1
        near = np.zeros(len(most) + 1, dtype=np.int64)
        np.add.at(near, first, 1)
        np.add.at(near, np.minimum(past, len(most)), -1)
        more = np.setdiff1d(np.nonzero(np.cumsum(near)[:-1] > 0)[0], some)
        angle[more] = places.met(more)
        over = angle > most
    if np.any(over) and ground.others:
        at = np.nonzero(over)[0]
        angle[at] = places.met(at, ground)
        over = angle > most
    return over, angle


def _level(evidence: FlatEvidence, rows: Ints) -> Ints:
    """Those of ``rows`` that cut on their way across, in the stock's height."""
    motion, layout = evidence.motion, evidence.layout
    across = np.any(np.abs(motion.end[rows, :2] - motion.start[rows, :2]) > 1e-6, axis=1)
    across |= evidence.sweep[0][rows] != 0
    with np.errstate(invalid="ignore"):
        low = np.minimum(motion.start[rows, 2], motion.end[rows, 2]) < layout.top - 1e-6
    return np.asarray(rows[across & low & evidence.cut[rows]])


def _allowed(
    looked: _Looked, rows: Ints, bites: list[_Bite], radius: float
) -> tuple[Floats, Flags]:
    """(m,) the width of metal that each piece's feed was planned for, and whether it was for any.

    Inside an arc the cutter's centre is slowed so that the wall passes at the planned feed; so the
    piece has the feed of a bite when either the centre or the wall, ρ + r from the middle, has it.
    """
    feed = looked.evidence.feed_meant[rows]
    bend = looked.bends[rows]
    wall = np.where(bend > 0, feed * (bend + radius) / np.where(bend > 0, bend, 1.0), feed)
    width, full = np.zeros(len(rows)), np.zeros(len(rows), dtype=np.bool_)
    fastest = max(bites, key=lambda bite: bite.feed)
    for seen in (feed, wall):
        for bite in bites:
            own = _has(seen, bite.feed)
            width = np.where(own, np.maximum(width, bite.width), width)
            full |= own
    beyond = ~full & (feed > fastest.feed)
    return np.where(beyond, fastest.width, width), full | beyond


def _has(feed: Floats, planned: float) -> Flags:
    """(m,) whether each feed is the planned one."""
    return np.asarray((feed >= UNDER_FEED * planned) & (feed * SAME_FEED <= planned))


def _longest(over: Flags, places: Places) -> tuple[float, int, int]:
    """Length of the longest way on from place to place ``over``, its first and one past its last.
    """
    if not np.any(over):
        return 0.0, 0, 0
    at = np.nonzero(over)[0]
    joined = (np.diff(at) == 1) & np.all(
        np.abs(places.start[at[1:]] - places.end[at[:-1]]) < JOINED, axis=1)
    begins = np.concatenate([[0], np.nonzero(~joined)[0] + 1])
    runs = np.add.reduceat(places.length[at], begins)
    longest = int(np.argmax(runs))
    past = begins[longest + 1] if longest + 1 < len(begins) else len(at)
    return float(runs[longest]), int(at[begins[longest]]), int(at[past - 1]) + 1
