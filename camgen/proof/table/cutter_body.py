"""The cutter above its edges, swept along its way: shank and collet out of metal that still stands.

Flat work. What stands at a place is what the cuts before have left there: walls, islands, tabs,
stock beside the part. The shank is looked at from the end of the flutes up, the collet from the
reach up, wherever they come below the stock's top. Lengths mm.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from camgen.layout import FlatLayout
from camgen.proof.common.rapid_ways import ways_of
from camgen.proof.evidence import Evidence
from camgen.proof.ground.standing import profiles_of, standing
from camgen.proof.result import Proof, ProofId
from camgen.proof.way import Flags, Floats, Ints, chords, is_rapid, select
from camgen.shop.cutters import Cutter
from camgen.values import dataclass

__all__ = ["holder_diameter", "prove_cutter_body"]

BODY = ProofId("table", "cutter-body")
COLLET = ProofId("table", "collet-and-clamps")

# A collet nut of a bench spindle is about so wide: common practice, no source. A cutter's `holder`
# says it better.
COLLET_RADIUS = 10.0
# A shank no thinner than the edges rubs on a wall nearer than this, mm.
RUBS = 0.005
# Places looked at for one cutter at most: evenly spread when there are more.
MOST = 6000
CHORD = 0.005
SAME = 1e-6


@dataclass(frozen=True)
class _Part:
    """Something above the edges: its name, its radius, how far above the tip it begins."""

    name: str
    radius: float
    above: float


def prove_cutter_body(evidence: Evidence) -> tuple[Proof, ...]:
    """For each cutter used: what is above its edges stays out of the metal and off the clamps."""
    layout = evidence.flat
    answers: list[Proof] = []
    for number, cutter in sorted(evidence.cutters.items()):
        low = _below_top(evidence, layout, number)
        for part in _parts(cutter):
            over = np.nonzero(low & _over_stock(evidence, layout, part.radius))[0]
            if len(over):
                answers.append(_clear(evidence, layout, number, part, over))
        if cutter.reach is not None:
            answers += _collet_and_clamps(evidence, layout, number, cutter)
    return tuple(answers)


def holder_diameter(cutter: Cutter) -> float:
    """Diameter of what holds a cutter above its reach, mm.

    >>> holder_diameter(Cutter(kind="drill", diameter=1.0))
    20.0
    """
    return 2 * COLLET_RADIUS if cutter.holder is None else cutter.holder


def _parts(cutter: Cutter) -> list[_Part]:
    parts = []
    if cutter.flute_length is not None:
        shank = cutter.diameter if cutter.shank is None else cutter.shank
        parts.append(_Part("shank", shank / 2, cutter.flute_length))
    if cutter.reach is not None:
        parts.append(_Part("collet", holder_diameter(cutter) / 2, cutter.reach))
    return parts


def _below_top(evidence: Evidence, layout: FlatLayout, number: int) -> Flags:
    """(n,) pieces of a cutter that begin or end below the stock's top."""
    motion = evidence.motion
    with np.errstate(invalid="ignore"):
        low = np.fmin(motion.start[:, 2], motion.end[:, 2]) < layout.top - SAME
    return np.asarray(low & (motion.cutter == number))


def _over_stock(evidence: Evidence, layout: FlatLayout, radius: float) -> Flags:
    """(n,) pieces that come within ``radius`` of the box about the stock."""
    motion = evidence.motion
    left, front, right, back = layout.stock.bounds
    low, high = np.fmin(motion.start, motion.end), np.fmax(motion.start, motion.end)
    with np.errstate(invalid="ignore"):
        beside = (high[:, 0] > left - radius) & (low[:, 0] < right + radius)
        beside &= (high[:, 1] > front - radius) & (low[:, 1] < back + radius)
    # An arc may reach over it though both its ends lie beside.
    return np.asarray(beside | (evidence.sweep[0] != 0))


def _clear(
    evidence: Evidence, layout: FlatLayout, number: int, part: _Part, rows: Ints
) -> Proof:
    """How deep a part of the cutter's body stands in metal, at the worst place of its way."""
    id = BODY.about(f"{part.name}, cutter {number}")
    name = f"{part.name} clear of standing metal, cutter {number}"
    motion = evidence.motion
    low = np.fmin(motion.start[rows, 2], motion.end[rows, 2])
    deepest = layout.top - float(low.min())
    told = f"{deepest:.3f} mm deep at the most, the {part.name} begins {part.above:g} mm up"
    rows = rows[low + part.above < layout.top - SAME]
    if not len(rows):
        return evidence.at_most(id, name, 0.0, 0.0, "mm", where=told)
    piece, place, upright = _places(evidence, rows, part, layout.top)
    depth = _in_metal(evidence, layout, part, piece, place, upright)
    worst = int(np.argmax(depth))
    if depth[worst] <= SAME:
        return evidence.at_most(id, name, 0.0, 0.0, "mm", where=f"{told}, beside no metal")
    x, y, z = place[worst].tolist()
    answer = Proof(
        id, name, evidence.setup, False, round(float(depth[worst]), 6), 0.0, "mm",
        f"X {x:.3f} Y {y:.3f} Z {z:.3f}, the {part.name}'s end at Z {z + part.above:.3f}",
        at=(x, y, z),
    )
    return evidence.placed(answer, int(piece[worst]))


def _places(
    evidence: Evidence, rows: Ints, part: _Part, top: float
) -> tuple[Ints, Floats, Flags]:
    """Places (m, 3) of the tip along pieces ``rows`` where the part is below the top.

    With each its piece (m,), and whether it is on a way straight up or down.
    """
    motion, longest = evidence.motion, max(part.radius / 2, 0.05)
    fed = rows[~is_rapid(motion)[rows]]
    split = chords(select(motion, fed), CHORD, longest=longest)
    pieces, starts, ends = [fed[split.piece]], [split.start], [split.end]
    rapid = rows[is_rapid(motion)[rows]]
    if len(rapid):
        ways = ways_of(evidence, rapid)
        pieces.append(np.repeat(rapid, 6))
        starts.append(ways[:, :, :-1].reshape(-1, 3))
        ends.append(ways[:, :, 1:].reshape(-1, 3))
    piece, start, end = (np.concatenate(parts) for parts in (pieces, starts, ends))
    length = np.linalg.norm(end - start, axis=1)
    known = np.isfinite(length)
    piece, start, end, length = piece[known], start[known], end[known], length[known]
    count = np.maximum(np.ceil(length / longest).astype(np.int64), 1) + 1
    which = np.repeat(np.arange(len(piece)), count)
    number = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    share = (number / (count[which] - 1))[:, None]
    place = start[which] + share * (end - start)[which]
    straight_down = np.all(np.abs((end - start)[:, :2]) < SAME, axis=1)
    low = np.nonzero(place[:, 2] + part.above < top - SAME)[0]
    place, piece, upright = place[low], piece[which[low]], straight_down[which[low]]
    # The same place again later meets no more metal than the first time.
    _, first = np.unique(np.rint(place * 1e3).astype(np.int64), axis=0, return_index=True)
    first = np.sort(first)
    first = first[:: max(1, math.ceil(len(first) / MOST))]
    return piece[first], place[first], upright[first]


def _round(part: _Part, radius: float) -> tuple[Floats, Floats]:
    """Points (q, 2) over the part's round section, and (q,) how far each is from its axis."""
    edge = part.radius + (RUBS if abs(part.radius - radius) < RUBS else 0.0)
    rings = np.linspace(0.0, edge, max(5, math.ceil(edge / 0.5)) + 1)
    points, away = [], []
    for ring in rings:
        count = max(1, math.ceil(2 * math.pi * ring / max(edge / 6, 0.01)))
        angle = 2 * math.pi * np.arange(count) / count
        points.append(ring * np.column_stack([np.cos(angle), np.sin(angle)]))
        away.append(np.full(count, ring))
    return np.concatenate(points), np.concatenate(away)


def _in_metal(
    evidence: Evidence, layout: FlatLayout, part: _Part, piece: Ints, place: Floats, upright: Flags
) -> Floats:
    """(m,) how far above the part's lower end metal stands within its radius; 0 where none does.

    On a way straight down or up the edges have cleared their own width before the shank comes. On
    its way across, the part's rim passes over all that the part does.
    """
    cuts = evidence.flat_cuts
    profiles = profiles_of(cuts, evidence.motion.cutter[cuts.piece], evidence.cutters)
    radius = float(np.nan_to_num(evidence.cutter_radius[piece]).max(initial=0.0))
    around, away = _round(part, radius)
    points = place[:, None, :2] + around[None]
    shapely.prepare(layout.stock)
    metal = shapely.contains_xy(layout.stock, points[..., 0], points[..., 1])
    metal &= np.where(upright[:, None], (away >= radius - SAME)[None],
                      (away >= away.max() - SAME)[None])
    which, point = np.nonzero(metal)
    depth = np.zeros(len(piece))
    for begin in range(0, len(which), 200_000):
        row, of = which[begin : begin + 200_000], point[begin : begin + 200_000]
        height, _ = standing(cuts, profiles, points[row, of], piece[row], layout.top)
        np.maximum.at(depth, row, height - (place[row, 2] + part.above))
    return depth


def _collet_and_clamps(
    evidence: Evidence, layout: FlatLayout, number: int, cutter: Cutter
) -> list[Proof]:
    """The least height of the collet's face above any clamp that it comes over."""
    if not layout.clamps or cutter.reach is None:
        return []
    motion = evidence.motion
    rows: Ints = np.nonzero((motion.cutter == number) & np.all(np.isfinite(motion.end), axis=1))[0]
    points = shapely.points(motion.end[rows, :2])
    room, at = np.inf, None
    for clamp in layout.clamps:
        over = shapely.distance(points, clamp.plan) < holder_diameter(cutter) / 2
        if not np.any(over):
            continue
        height = np.where(over, motion.end[rows, 2] + cutter.reach - clamp.top, np.inf)
        least = int(np.argmin(height))
        if height[least] < room:
            room, at = float(height[least]), int(rows[least])
    if at is None:
        return []
    return [
        evidence.proof(COLLET.about(f"cutter {number}"),
                       f"collet above the clamps, cutter {number}", room > 0, room, 0.0, "mm", at)
    ]
