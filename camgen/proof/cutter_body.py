"""The cutter above its edges: flutes long enough, shank out of the slot, collet clear of the work.

Flat work. Lengths mm.
"""

from __future__ import annotations

import numpy as np
import shapely

from camgen.layout import FlatLayout
from camgen.proof.evidence import Evidence
from camgen.proof.result import Proof
from camgen.proof.way import Flags, Ints
from camgen.shop.cutters import Cutter

__all__ = ["prove_cutter_body"]

# A collet nut of a bench spindle is about so wide: common practice, no source. The machine file
# does not say.
COLLET_RADIUS = 10.0


def prove_cutter_body(evidence: Evidence) -> tuple[Proof, ...]:
    """For each cutter used: what is above its edges stays out of the metal and off the clamps."""
    layout = evidence.layout
    assert isinstance(layout, FlatLayout)
    over = _over_stock(evidence, layout)
    answers: list[Proof] = []
    for number, cutter in sorted(evidence.cutters.items()):
        used = np.nonzero(over & (evidence.motion.cutter == number))[0]
        if not len(used):
            continue
        z = evidence.motion.end[used, 2]
        lowest = int(used[np.argmin(z)])
        deep = max(0.0, layout.top - float(z.min()))
        answers += _flutes(evidence, cutter, deep, lowest)
        if cutter.reach is not None:
            answers.append(
                evidence.proof(
                    f"collet above the stock, cutter {number}", deep < cutter.reach,
                    cutter.reach - deep, 0.0, "mm", lowest,
                )
            )
            answers += _collet_and_clamps(evidence, layout, number, cutter.reach)
    return tuple(answers)


def _over_stock(evidence: Evidence, layout: FlatLayout) -> Flags:
    """(n,) pieces that end below the stock's top, within reach of the stock."""
    motion = evidence.motion
    with np.errstate(invalid="ignore"):
        low = motion.end[:, 2] < layout.top - 1e-6
    left, front, right, back = layout.stock.bounds
    radius = np.nan_to_num(evidence.cutter_radius)
    x, y = motion.end[:, 0], motion.end[:, 1]
    inside = (x > left - radius) & (x < right + radius) & (y > front - radius) & (
        y < back + radius
    )
    return np.asarray(low & inside)


def _flutes(evidence: Evidence, cutter: Cutter, deep: float, piece: int) -> list[Proof]:
    """How much deeper the cutter goes than its edges reach, where what is above them is no thinner.

    A neck ground thinner than the edges may follow them down.
    """
    if cutter.flute_length is None:
        return []
    if cutter.shank is not None and cutter.shank < cutter.diameter - 1e-9:
        return []
    number = int(evidence.motion.cutter[piece])
    return [
        evidence.at_most(
            f"depth within the flutes, cutter {number}", deep, cutter.flute_length, "mm", piece
        )
    ]


def _collet_and_clamps(
    evidence: Evidence, layout: FlatLayout, number: int, reach: float
) -> list[Proof]:
    """The least height of the collet's face above any clamp that it comes over."""
    if not layout.clamps:
        return []
    motion = evidence.motion
    rows: Ints = np.nonzero((motion.cutter == number) & np.all(np.isfinite(motion.end), axis=1))[0]
    points = shapely.points(motion.end[rows, :2])
    room, at = np.inf, None
    for clamp in layout.clamps:
        over = shapely.distance(points, clamp.plan) < COLLET_RADIUS
        if not np.any(over):
            continue
        height = np.where(over, motion.end[rows, 2] + reach - clamp.top, np.inf)
        least = int(np.argmin(height))
        if height[least] < room:
            room, at = float(height[least]), int(rows[least])
    if at is None:
        return []
    return [
        evidence.proof(f"collet above the clamps, cutter {number}", room > 0, room, 0.0, "mm", at)
    ]
