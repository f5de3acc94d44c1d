"""Holes found open as the motion made them, by cutters that may not meet solid metal.

A tap, a reamer, a boring bar, a counterbore's pilot: on the way down there must be no metal within
what such a cutter cannot cut. What is open is read off the cuts before it, in this setup and, where
they are known, in earlier ones; no word of the job is believed but ``made-elsewhere``. The carrier
counts as solid below the piece. Flat work, lengths mm.
"""

from __future__ import annotations

import math

import numpy as np

from camgen.arrays import Floats, Ints
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.proof.common.metal_left import ROUND, MetalAsLeft
from camgen.proof.common.said import in_space
from camgen.proof.evidence import FlatEvidence
from camgen.proof.ground.running_on import runs_on
from camgen.proof.path import chords, select
from camgen.proof.result import Proof, ProofId
from camgen.proof.table.solids import Found, finds, takes_a_wall
from camgen.shop.cutters import Cutter, profile_of, record_of
from camgen.tolerances import ROUNDING

__all__ = ["GIVE", "deepest", "disc", "prove_holes_found"]

HOLE = ProofId("table", "hole-open-before")

SIDEWAYS = ProofId("table", "sideways")

# Circles on which metal is looked for within what must be open.
RINGS = 4
# Chords and rounding of two programs' middles may put metal so far inside, mm, besides increments.
GIVE = 0.001


def prove_holes_found(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """For each cutter that may not meet solid metal: how deep it does, and where."""
    layout = evidence.layout
    answers = []
    for number, cutter in sorted(evidence.cutters.items()):
        found = finds(cutter)
        if found is not None:
            found = _as_planned(evidence, number, cutter, found)
            answers.append(_open(evidence, layout, number, cutter, found))
        if not record_of(cutter).sideways:
            answers += _sideways(evidence, layout, number, cutter)
    return tuple(answers)


def _as_planned(evidence: FlatEvidence, number: int, cutter: Cutter, found: Found) -> Found:
    """A cutter that takes a wall finds as much gone as it was planned to take no more than."""
    if not takes_a_wall(cutter) or evidence.moves is None:
        return found
    wide = [cut.width for section, cut in
            zip(evidence.moves.sections, evidence.planned_cuts, strict=False)
            if section.cutter_number == number]
    open_for = cutter.diameter - 2 * max(wide, default=cutter.diameter)
    return Found(round(open_for, 4), Message("tip")) if open_for > found.diameter else found


def _open(
    evidence: FlatEvidence, layout: FlatLayout, number: int, cutter: Cutter, found: Found
) -> Proof:
    """How deep a cutter goes into metal that it may not meet, at the worst of its strokes."""
    id = HOLE.about(f"cutter {number}")
    name = Message("hole open before it, cutter {number}", number=number)
    rows = _strokes(evidence, layout, number)
    if not len(rows):
        return evidence.at_most(id, name, 0.0, 0.0, "mm")
    tip = _tips(evidence, cutter, rows)
    give = GIVE + 2 * evidence.increment
    ground = MetalAsLeft(evidence, layout)
    around = disc(max(found.diameter / 2 - give, found.diameter / 4))
    depth = ground.metal(rows, around).max(axis=1) - (tip + give)
    worst = int(np.argmax(depth))
    place = evidence.motion.end[rows[worst], :2]
    if depth[worst] <= ROUNDING:
        return evidence.at_most(id, name, 0.0, 0.0, "mm", where=Message(
            "the {part}, {diameter:g} mm, meets no metal, made elsewhere as the job says",
            part=found.part, diameter=found.diameter) if ground.elsewhere else Message(
            "the {part}, {diameter:g} mm, meets no metal", part=found.part,
            diameter=found.diameter))
    open_to = ground.open_to(int(rows[worst]), float(tip[worst] + give), found.diameter)
    x, y, z = float(place[0]), float(place[1]), float(tip[worst])
    told = (Message("the hole is open {wide:.3f} mm wide there; drill it before, as wide and "
                    "deeper", wide=open_to) if open_to > 0 else
            Message("the hole is not open there; drill it before, as wide and deeper"))
    if layout.bottom - tip[worst] >= depth[worst] - ROUNDING:
        told = Message("the carrier under the piece is not open; drill it before, as deep, in this "
                       "setup, or say relieved: with the holding")
    answer = Proof(
        id, name, evidence.setup, False, round(float(depth[worst]), 6), 0.0, "mm",
        Message("{place}: the {cutter}'s {part} must find {diameter:g} mm open and {told}",
                place=in_space(x, y, z), cutter=record_of(cutter).name,
                part=found.part, diameter=found.diameter, told=told),
        at=(x, y, z),
    )
    return evidence.placed(answer, int(rows[worst]))


def _strokes(evidence: FlatEvidence, layout: FlatLayout, number: int) -> Ints:
    """Pieces of a turning cutter straight down to below the stock's top, fed or rapid.

    Work that is cut just like an earlier piece of work is not looked at again.
    """
    motion = evidence.motion
    start, end = motion.start, motion.end
    with np.errstate(invalid="ignore"):
        down = (end[:, 2] < start[:, 2] - ROUNDING) & (end[:, 2] < layout.top - ROUNDING)
        down &= np.all(np.abs(end[:, :2] - start[:, :2]) < ROUNDING, axis=1)
    turns = (motion.speed != 0) | np.isin(motion.cutter, evidence.probes)
    down &= (motion.cutter == number) & turns & ~evidence.repeated
    return np.nonzero(down)[0]


def _sideways(
    evidence: FlatEvidence, layout: FlatLayout, number: int, cutter: Cutter
) -> list[Proof]:
    """How deep in metal a cutter that cuts along its axis alone is fed across it."""
    motion = evidence.motion
    with np.errstate(invalid="ignore"):
        across = np.any(np.abs(motion.end[:, :2] - motion.start[:, :2]) > ROUNDING, axis=1)
        low = np.fmin(motion.start[:, 2], motion.end[:, 2]) < layout.top - ROUNDING
    rows = np.nonzero((across | (evidence.sweep[0] != 0)) & low & evidence.cut
                      & (motion.cutter == number))[0]
    if not len(rows):
        return []
    radius, give = cutter.diameter / 2, GIVE + 2 * evidence.increment
    split = chords(select(motion, rows), radius / 4, longest=max(radius, 0.05))
    piece = rows[split.piece]
    worst, depth = deepest(MetalAsLeft(evidence, layout), piece, split.end, cutter,
                           max(radius - give, radius / 2), give)
    x, y, z = split.end[worst].tolist()
    return [evidence.at_most(
        SIDEWAYS.about(f"cutter {number}"), Message("sideways in metal, cutter {number}",
                                                    number=number),
        max(0.0, depth), 0.0, "mm", int(piece[worst]),
        Message("{place}: a {cutter} cuts along its axis; take a mill for what is cut across",
                place=in_space(x, y, z), cutter=record_of(cutter).name))]


def _tips(evidence: FlatEvidence, cutter: Cutter, rows: Ints) -> Floats:
    """(m,) the lowest that the tip comes in each stroke, a tap's own way on with it."""
    motion = evidence.motion
    speed = float(np.abs(motion.speed[rows]).max(initial=0.0))
    further = np.where(evidence.cut[rows], runs_on(cutter, evidence.machine, speed), 0.0)
    tip: Floats = motion.end[rows, 2] - further
    # Where the next piece goes on down without a halt, the tap is not turned the other way yet.
    following = np.minimum(rows + 1, len(motion) - 1)
    goes_on = (following > rows) & (motion.end[following, 2] < motion.end[rows, 2] - ROUNDING)
    return np.asarray(np.where(goes_on, motion.end[rows, 2], tip))


def disc(radius: float) -> Floats:
    """Points (q, 2), mm, over a circle's area, its rim first."""
    angle = 2 * math.pi * np.arange(ROUND) / ROUND
    rim = np.column_stack([np.cos(angle), np.sin(angle)])
    rings = [radius * (RINGS - n) / RINGS * rim for n in range(RINGS)]
    return np.concatenate([*rings, np.zeros((1, 2))])


def deepest(
    ground: MetalAsLeft, pieces: Ints, ends: Floats, cutter: Cutter, radius: float, give: float
) -> tuple[int, float]:
    """At which of ``ends`` (m, 3) of pieces (m,) a cutter's end is deepest in metal, and how deep.

    Its end is looked at within ``radius`` mm of the axis. Metal within ``give`` of it is none; what
    is answered is below 0 where it meets none. A few points of the end nearly always tell: where
    one of them meets metal, only the worst place is looked at by all.
    """
    around = disc(radius)
    edge = profile_of(cutter).edge.outline
    rise: Floats = np.asarray(
        np.interp(np.hypot(*around.T), [r for r, _ in edge], [z for _, z in edge]))

    def depths(some: Ints | slice, points: Ints | slice) -> Floats:
        metal = ground.metal(pieces[some], around[points], ends[some, :2])
        deep: Floats = (metal - ends[some, 2:] - rise[points] - give).max(axis=1)
        return deep

    # However far a way leads, metal is met only within the stock, and straight down at its end.
    near = _lowest(pieces, ends, ground.near(ends, radius))
    if not len(near):
        return 0, -np.inf
    few = np.arange(0, len(around), 8)
    depth = depths(near, few)
    if float(depth.max()) > ROUNDING:
        worst = int(near[np.argmax(depth)])
        return worst, float(depths(np.array([worst]), slice(None))[0])
    depth = depths(near, slice(None))
    return int(near[np.argmax(depth)]), float(depth.max())


def _lowest(pieces: Ints, ends: Floats, some: Ints) -> Ints:
    """Those of ``some`` ends (m, 3) of pieces (m,) below which the same piece does not come."""
    x, y, z = ends[some].T
    order = np.lexsort((z, y, x, pieces[some]))
    key = np.column_stack([pieces[some], x, y])[order]
    first = np.concatenate([[True], np.any(key[1:] != key[:-1], axis=1)])[:len(order)]
    return np.sort(some[order[first]])
