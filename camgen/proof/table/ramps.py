"""Down or across by cutters whose end may not meet solid metal: on ramps, on helices, level.

A thread mill carries away no more than a thread's height at its rim, so what is further in must
find its place open on all its ways; a disc finds all of its width open on its way down. The dead
middle of a mill that cannot plunge has no edge: what stands under it was left by the edges round
it at the lowest that they went over that place, so it comes down on it by as much as the mill is
lower now (geometry). Flat work, lengths mm.
"""

from __future__ import annotations

import numpy as np

from camgen.arrays import Floats, Ints
from camgen.layout import FlatLayout
from camgen.messages import NOTHING, Message
from camgen.proof.common.metal_left import MetalAsLeft
from camgen.proof.common.said import in_space
from camgen.proof.evidence import FlatEvidence
from camgen.proof.path import Chords, chords, select
from camgen.proof.result import Proof, ProofId
from camgen.proof.table.holes_found import GIVE, disc
from camgen.shop.cutters import Cutter, bears_under, core_of, opening_of, record_of
from camgen.tolerances import ROUNDING

__all__ = ["prove_ramps"]

CORE = ProofId("table", "end-in-metal")
MIDDLE = ProofId("table", "dead-middle")

# Stretches of a way, as shares of what is looked at: the bound grows by as much.
STEP = 1 / 16
# How far a point of the middle is from the nearest that is looked at, over the middle's width.
CELL = 0.09
# So many stretches before are looked at first, and then more, so that a lap is among them.
SOON = (96, 800, 6400)


def prove_ramps(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """For each cutter whose end may not meet solid metal and which cuts sideways: how deep it does.
    """
    layout = evidence.layout
    answers = []
    for number, cutter in sorted(evidence.cutters.items()):
        record = record_of(cutter)
        if not record.sideways or record.plunges:
            continue
        rows = _rows(evidence, layout, number, down=not record.threads)
        if not len(rows):
            continue
        look = _middle if record.meets_solid else _core
        answers.append(look(evidence, layout, number, cutter, rows))
    return tuple(answers)


def _rows(evidence: FlatEvidence, layout: FlatLayout, number: int, down: bool) -> Ints:
    """Pieces fed across below the stock's top; with ``down`` those that go down meanwhile."""
    motion = evidence.motion
    with np.errstate(invalid="ignore"):
        across = np.any(np.abs(motion.end[:, :2] - motion.start[:, :2]) > ROUNDING, axis=1)
        low = np.fmin(motion.start[:, 2], motion.end[:, 2]) < layout.top - ROUNDING
        falls = motion.end[:, 2] < motion.start[:, 2] - ROUNDING
    # An arc that stands upright may dip between its ends.
    falls |= (evidence.sweep[0] != 0) & (motion.plane != 2)
    wanted = (across | (evidence.sweep[0] != 0)) & low & evidence.cut & (motion.cutter == number)
    return np.nonzero(wanted & (falls if down else True) & ~evidence.repeated)[0]


def _core(
    evidence: FlatEvidence, layout: FlatLayout, number: int, cutter: Cutter, rows: Ints
) -> Proof:
    """How deep what may not meet metal at a cutter's end comes into it."""
    give = GIVE + 2 * evidence.increment
    wide = core_of(cutter)
    split = chords(select(evidence.motion, rows), GIVE, longest=max(wide * STEP, 0.02))
    piece = rows[split.piece]
    around = disc(max(wide / 2 - give, wide / 4))
    ground = MetalAsLeft(evidence, layout)
    depth = np.maximum(
        ground.metal(piece, around, split.end[:, :2]).max(axis=1) - split.end[:, 2],
        ground.metal(piece, around, split.start[:, :2]).max(axis=1) - split.start[:, 2]) - give
    worst = int(np.argmax(depth))
    id = CORE.about(f"cutter {number}")
    name = Message("end in metal it may not meet, cutter {number}", number=number)
    if depth[worst] <= ROUNDING:
        return evidence.at_most(id, name, 0.0, 0.0, "mm")
    x, y, z = split.end[worst].tolist()
    return evidence.at_most(
        id, name, float(depth[worst]), 0.0, "mm", int(piece[worst]),
        Message("{place}: the {cutter} must find {wide:g} mm open at its end all along its way; "
                "drill it before, as wide and deeper", place=in_space(x, y, z),
                cutter=record_of(cutter).name, wide=wide))


def _middle(
    evidence: FlatEvidence, layout: FlatLayout, number: int, cutter: Cutter, rows: Ints
) -> Proof:
    """How deep the dead middle of a mill comes into metal that no edge of it has taken."""
    wide, bears = opening_of(cutter) or 0.0, bears_under(cutter)
    depth, split, piece = _under(evidence, layout, rows, cutter)
    worst = int(np.argmax(depth))
    x, y, z = split.end[worst].tolist()
    where = NOTHING if depth[worst] <= ROUNDING else in_space(x, y, z)
    if depth[worst] > bears:
        where = Message("{place}: the dead middle, {wide:g} mm wide, comes down on metal; a "
                        "flatter or wider ramp, or a hole drilled before", place=where, wide=wide)
    return evidence.at_most(
        MIDDLE.about(f"cutter {number}"), Message("dead middle down on metal, cutter {number}",
                                                  number=number),
        max(0.0, float(depth[worst])), bears, "mm", int(piece[worst]), where)


def _under(
    evidence: FlatEvidence, layout: FlatLayout, rows: Ints, cutter: Cutter
) -> tuple[Floats, Chords, Ints]:
    """(m,) how deep a dead middle comes into metal at the end of stretches of pieces ``rows``."""
    wide, bears = opening_of(cutter) or 0.0, bears_under(cutter)
    step = max(wide * STEP, 0.005)
    runs = _runs(evidence, rows)
    whole = np.concatenate([np.arange(first, last + 1) for first, last in runs])
    split = chords(select(evidence.motion, whole), GIVE, longest=step)
    piece = whole[split.piece]
    begun = np.repeat([first for first, _ in runs], [last - first + 1 for first, last in runs])
    begun = begun[split.piece]
    depth = _at_most(split, begun, cutter)
    within = depth <= bears_under(cutter)
    depth[~within] = 0.0
    falls = np.nonzero(np.isin(piece, rows) & ~within)[0]
    around = disc(wide / 2)
    ground = MetalAsLeft(evidence, layout)
    near = wide / 2 + CELL * wide, cutter.diameter / 2 - CELL * wide
    for begin in range(0, len(falls), 2000):
        some = falls[begin : begin + 2000]
        # No more metal is met than stands there before this way down was begun.
        stands = ground.metal(begun[some], around, split.end[some, :2])
        for at, most in zip(some.tolist(), stands, strict=True):
            met = most > split.end[at, 2] + ROUNDING
            if met.any():
                points = split.end[at, :2] + around[met]
                first = int(np.searchsorted(piece, begun[at]))
                for since in sorted({max(first, at - soon) for soon in (*SOON, at)}, reverse=True):
                    left = _left_by_edges(split, at, since, points, near)
                    depth[at] = max(0.0, float(
                        np.minimum(left, most[met]).max() - split.end[at, 2]))
                    if depth[at] <= bears:
                        # What the edges took off still earlier makes it no more.
                        break
    return depth, split, piece


def _at_most(split: Chords, begun: Ints, cutter: Cutter) -> Floats:
    """(m,) the most by which a dead middle can come down on metal where its way is nearly straight
    over three quarters of the cutter's width; infinite elsewhere.

    Whatever is under the middle at the end of such a way was outside all of the edges' zone at its
    beginning, or in it: the edges have been over it since, and no higher than the way was then.
    """
    back, straight = 0.75 * cutter.diameter, 0.9
    length = np.hypot(*(split.end - split.start)[:, :2].T)
    along = np.cumsum(length)
    first = np.searchsorted(along - length, along - back + ROUNDING, side="right") - 1
    most = np.full(len(along), np.inf)
    here = np.nonzero((first >= 0) & (begun[np.maximum(first, 0)] == begun))[0]
    if not len(here):
        return most
    first = first[here]
    gone = np.hypot(*(split.end[here, :2] - split.start[first, :2]).T)
    # One past the last piece, so that the last window may end there.
    height = np.append(np.maximum(split.start[:, 2], split.end[:, 2]), -np.inf)
    highest = np.maximum.reduceat(height, np.column_stack([first, here + 1]).ravel())[::2]
    near = gone >= straight * back
    most[here[near]] = np.maximum(highest[near] - split.end[here[near], 2], 0.0)
    return most


def _left_by_edges(
    split: Chords, at: int, first: int, points: Floats, near: tuple[float, float]
) -> Floats:
    """(q,) the lowest at which the edges went over points (q, 2), before stretch ``at`` ends.

    Infinite where they have not since ``first``. ``near`` are the least and greatest distance from
    the axis at which what lies about a point is taken.
    """
    way = split.start[first : at + 1]
    about = np.hypot(*(way[:, :2] - split.end[at, :2]).T)
    # The points are no further from the axis than the edges begin.
    way = way[about <= sum(near)]
    away = np.hypot(*np.moveaxis(way[:, None, :2] - points[None], 2, 0))
    over = (away >= near[0]) & (away <= near[1])
    return np.asarray(np.where(over, way[:, 2, None], np.inf).min(axis=0, initial=np.inf))


def _runs(evidence: FlatEvidence, rows: Ints) -> list[tuple[int, int]]:
    """First and last piece of each run of fed pieces by one cutter that ends in some of ``rows``.
    """
    fed, cutter = evidence.cut, evidence.motion.cutter
    breaks = np.nonzero(~fed[1:] | ~fed[:-1] | (cutter[1:] != cutter[:-1]))[0] + 1
    runs: dict[int, int] = {}
    for row in rows.tolist():
        before = int(np.searchsorted(breaks, row, side="right"))
        runs[int(breaks[before - 1]) if before else 0] = row
    return list(runs.items())
