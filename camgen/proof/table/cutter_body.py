"""The cutter above its edges, swept along its way: out of all metal that still stands.

Flat work. What stands at a place is what the cuts before have left there: walls, islands, tabs,
stock beside the part. The shank is looked at from the end of the flutes up, the collet from the
reach up, the spindle's nose above it, wherever they come below the stock's top, on every way, fed
or rapid. Nothing is sampled: see ``swept``. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
import shapely

from camgen.arrays import Flags, Floats, Ints
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.proof.common.rapid_ways import ways_of
from camgen.proof.common.said import in_space
from camgen.proof.evidence import FlatEvidence
from camgen.proof.path import is_rapid
from camgen.proof.result import Proof, ProofId
from camgen.proof.table.swept import FINE, Stretches, Swept, in_metal
from camgen.shop.cutters import RUBS, Cutter, PartName, profile_of
from camgen.tolerances import ROUNDING
from camgen.values import dataclass

__all__ = ["prove_cutter_body"]

BODY = ProofId("table", "cutter-body")
COLLET = ProofId("table", "collet-and-clamps")

# On flat work the holder is spoken of by its end, which comes down on the stock.
CALLED = {PartName.HOLDER: Message("collet")}


@dataclass(frozen=True)
class _Part:
    """Something above the edges: its name, its radius, how far above the tip it begins."""

    name: Message
    radius: float
    above: float


def prove_cutter_body(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """For each cutter used: what is above its edges stays out of the metal and off the clamps."""
    layout = evidence.layout
    answers: list[Proof] = []
    for number, cutter in sorted(evidence.cutters.items()):
        low = _below_top(evidence, layout, number)
        for part in _parts(cutter):
            over = np.nonzero(low & _over_stock(evidence, layout, part.radius))[0]
            # The nose is far up: it is spoken of only where it comes below the stock's top.
            if len(over) and (part.name in ("shank", "collet") or
                              _lowest(evidence, over) + part.above < layout.top - ROUNDING):
                answers.append(_clear(evidence, layout, number, part, over))
        answers += _collet_and_clamps(evidence, layout, number, cutter)
    return tuple(answers)


def _parts(cutter: Cutter) -> list[_Part]:
    """What stands above the edges, with what is taken where the cutter's words do not say."""
    return [_Part(CALLED.get(part.name, part.name.called), part.radius, part.low)
            for part in profile_of(cutter).solid if part.low > 0]


def _below_top(evidence: FlatEvidence, layout: FlatLayout, number: int) -> Flags:
    """(n,) pieces of a cutter that begin or end below the stock's top."""
    motion = evidence.motion
    with np.errstate(invalid="ignore"):
        low = np.fmin(motion.start[:, 2], motion.end[:, 2]) < layout.top - ROUNDING
    # An arc that stands upright may dip between its ends.
    low |= (evidence.sweep[0] != 0) & (motion.plane != 2)
    return np.asarray(low & (motion.cutter == number))


def _over_stock(evidence: FlatEvidence, layout: FlatLayout, radius: float) -> Flags:
    """(n,) pieces that come within ``radius`` of the box about the stock."""
    motion = evidence.motion
    left, front, right, back = layout.stock.bounds
    low, high = np.fmin(motion.start, motion.end), np.fmax(motion.start, motion.end)
    with np.errstate(invalid="ignore"):
        beside = (high[:, 0] > left - radius) & (low[:, 0] < right + radius)
        beside &= (high[:, 1] > front - radius) & (low[:, 1] < back + radius)
    # An arc may reach over it though both its ends lie beside.
    return np.asarray(beside | (evidence.sweep[0] != 0))


def _lowest(evidence: FlatEvidence, rows: Ints) -> float:
    """The least Z that pieces ``rows`` begin or end at."""
    motion = evidence.motion
    return float(np.fmin(motion.start[rows, 2], motion.end[rows, 2]).min())


def _part_clear(part: Message, number: int) -> Message:
    return Message("{part} clear of standing metal, cutter {number}", part=part, number=number)


_CLEAR_OF_METAL: Final[dict[str, Callable[[Message, int], Message]]] = {
    "shank": lambda _, number: Message(
        "shank clear of standing metal, cutter {number}", number=number),
    "collet": lambda _, number: Message(
        "collet clear of standing metal, cutter {number}", number=number),
    "spindle's nose": lambda _, number: Message(
        "spindle's nose clear of standing metal, cutter {number}", number=number),
}


def _clear(
    evidence: FlatEvidence, layout: FlatLayout, number: int, part: _Part, rows: Ints
) -> Proof:
    """How deep a part of the cutter's body stands in metal, at the worst place of its way."""
    id = BODY.about(f"{part.name}, cutter {number}")
    name = _CLEAR_OF_METAL.get(part.name, _part_clear)(part.name, number)
    deepest = layout.top - _lowest(evidence, rows)
    told = Message("{depth:.3f} mm deep at the most, the {part} begins {above:g} mm up",
                   depth=deepest, part=part.name, above=part.above)
    stretches = _stretches(evidence, layout, rows, part)
    if not len(stretches.piece):
        return evidence.at_most(id, name, 0.0, 0.0, "mm", where=told)
    edge = evidence.cutters[number].diameter / 2
    wide = part.radius + (RUBS if abs(part.radius - edge) < RUBS else 0.0)
    swept = Swept(wide, part.above, edge)
    met = in_metal(evidence, swept, stretches)
    if met is None:
        return evidence.at_most(id, name, 0.0, 0.0, "mm", where=Message(
            "{depth:.3f} mm deep at the most, the {part} begins {above:g} mm up, beside no metal",
            depth=deepest, part=part.name, above=part.above))
    x, y, z = met.tip
    place, end = in_space(x, y, z), z + part.above
    where = (Message("{place}, the {part}'s end at Z {end:.3f}", place=place, part=part.name,
                     end=end) if met.shown else
             Message("{place}, the {part}'s end at Z {end:.3f}, not shown to be {fine:g} mm clear "
                     "of metal", place=place, part=part.name, end=end, fine=FINE))
    answer = Proof(
        id, name, evidence.setup, False, round(met.depth, 6), 0.0, "mm",
        where, at=met.tip,
    )
    return evidence.placed(answer, met.piece)


def _stretches(
    evidence: FlatEvidence, layout: FlatLayout, rows: Ints, part: _Part
) -> Stretches:
    """The ways along pieces ``rows``, as far as the part comes below the top on them."""
    motion = evidence.motion
    upright = (evidence.sweep[0][rows] != 0) & (motion.plane[rows] != 2)
    deep = np.fmin(motion.start[rows, 2], motion.end[rows, 2]) + part.above < layout.top - ROUNDING
    rows = rows[deep | upright]
    if not len(rows):
        return Stretches(np.zeros((0, 3)), np.zeros((0, 3)), rows)
    start, end, piece = _ways(evidence, rows)
    low = np.minimum(start[:, 2], end[:, 2]) + part.above < layout.top - ROUNDING
    return Stretches(start[low], end[low], piece[low])


def _ways(evidence: FlatEvidence, rows: Ints) -> tuple[Floats, Floats, Ints]:
    """Starts and ends (m, 3) of all stretches of pieces ``rows``, rapids dog-legged too, and the
    piece of each (m,); those whose place is not known are left out."""
    motion, chords = evidence.motion, evidence.chords
    wanted = np.zeros(len(motion), dtype=np.bool_)
    wanted[rows] = True
    rapid = rows[is_rapid(motion)[rows]]
    wanted[rapid] = False
    fed = wanted[chords.piece]
    starts, ends, pieces = [chords.start[fed]], [chords.end[fed]], [chords.piece[fed]]
    if len(rapid):
        ways = ways_of(evidence, rapid)
        starts.append(ways[:, :, :-1].reshape(-1, 3))
        ends.append(ways[:, :, 1:].reshape(-1, 3))
        pieces.append(np.repeat(rapid, 6))
    start, end, piece = np.concatenate(starts), np.concatenate(ends), np.concatenate(pieces)
    known = np.all(np.isfinite(start), axis=1) & np.all(np.isfinite(end), axis=1)
    return start[known], end[known], piece[known]


def _collet_and_clamps(
    evidence: FlatEvidence, layout: FlatLayout, number: int, cutter: Cutter
) -> list[Proof]:
    """The least height of the collet's face above any clamp that it comes over."""
    if not layout.clamps:
        return []
    holder = next(part for part in profile_of(cutter).parts if part.name is PartName.HOLDER)
    rows: Ints = np.nonzero(evidence.motion.cutter == number)[0]
    start, end, piece = _ways(evidence, rows)
    lines = shapely.linestrings(np.stack([start[:, :2], end[:, :2]], axis=1))
    least = np.minimum(start[:, 2], end[:, 2]) + holder.low
    room, at = np.inf, None
    for clamp in layout.clamps:
        # A way that goes up over a clamp is looked at as if all of it were at its lower end.
        over = np.nonzero(shapely.distance(lines, clamp.plan) < holder.radius)[0]
        if not len(over):
            continue
        lowest = int(over[np.argmin(least[over])])
        if least[lowest] - clamp.top < room:
            room, at = float(least[lowest] - clamp.top), int(piece[lowest])
    if at is None:
        return []
    return [
        evidence.proof(COLLET.about(f"cutter {number}"),
                       Message("collet above the clamps, cutter {number}",
                               number=number), room > 0, room, 0.0, "mm", at)
    ]
