"""The metal that a cutter finds: what this setup's cuts, earlier setups and other hands left of it.

Flat work, lengths mm.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from camgen.arrays import Floats, Ints
from camgen.job.order.deeds import elsewhere
from camgen.layout import FlatLayout
from camgen.part.features import Hole
from camgen.proof.common.before import Before, left_before
from camgen.proof.evidence import FlatEvidence
from camgen.proof.ground.standing import profiles_of, standing
from camgen.tolerances import ROUNDING

__all__ = ["ROUND", "MetalAsLeft"]

# Points on each circle on which metal is looked for.
ROUND = 24


class MetalAsLeft:
    """The metal at places and times: what the setup's cuts, earlier setups and others left."""

    def __init__(self, evidence: FlatEvidence, layout: FlatLayout) -> None:
        self._evidence, self._layout = evidence, layout
        cuts = evidence.flat_cuts
        self._cuts = cuts
        self._profiles = profiles_of(cuts, evidence.motion.cutter[cuts.piece], evidence.cutters)
        self._before: tuple[Before, ...] = left_before(evidence)
        self.elsewhere = _made_elsewhere(evidence, layout)
        shapely.prepare(layout.stock)

    @property
    def others(self) -> bool:
        """Whether anything but this setup's own cuts is known to have left the metal lower."""
        return bool(self._before or self.elsewhere)

    def near(self, places: Floats, radius: float) -> Ints:
        """Which of places (m, 2 or 3) lie within ``radius`` mm of the stock's bounds."""
        low_x, low_y, high_x, high_y = shapely.bounds(self._layout.stock)
        low, high = np.array([low_x, low_y]) - radius, np.array([high_x, high_y]) + radius
        return np.flatnonzero(np.all((places[:, :2] >= low) & (places[:, :2] <= high), axis=1))

    def metal(self, rows: Ints, around: Floats, places: Floats | None = None) -> Floats:
        """(m, q) height of the metal about ``places`` (m, 2), else about where each piece ends.

        As it stands before the pieces; −inf beside the stock, and where nothing of the piece of
        work is left, that of the carrier.
        """
        places = self._evidence.motion.end[rows, :2] if places is None else places
        points = (places[:, None, :] + around[None]).reshape(-1, 2)
        return self.at(points, np.repeat(rows, len(around))).reshape(len(rows), len(around))

    def at(self, points: Floats, rows: Ints) -> Floats:
        """(p,) the same at each of ``points`` (p, 2), before the piece ``rows`` (p,) of each."""
        layout = self._layout
        own, _ = standing(self._cuts, self._profiles, points, rows, layout.top)
        height, under = own.copy(), np.full(len(own), layout.bottom)
        for one in self._before:
            if one.from_below:
                np.maximum(under, one.left(points), out=under)
            else:
                np.minimum(height, one.left(points), out=height)
        self._without_elsewhere(points, height)
        height = np.where(height > under + ROUNDING, height, np.minimum(own, layout.bottom))
        self._relieved(points, height)
        beside = ~shapely.contains_xy(layout.stock, points[:, 0], points[:, 1])
        height[beside] = -np.inf
        return np.asarray(height)

    def _relieved(self, points: Floats, height: Floats) -> None:
        """Lowers ``height`` (p,) where nothing is left over a carrier that is open beneath."""
        layout = self._layout
        if not layout.relieved:
            return
        gone = height <= layout.bottom + ROUNDING
        for hole in layout.part.holes:
            for x, y in layout.places:
                away = np.hypot(points[:, 0] - x - hole.x, points[:, 1] - y - hole.y)
                inside = gone & (away <= hole.diameter / 2 + ROUNDING)
                height[inside] = np.minimum(height[inside], layout.bottom - layout.relieved)

    def _without_elsewhere(self, points: Floats, height: Floats) -> None:
        """Lowers ``height`` (p,) where holes were made by another job or by hand."""
        layout = self._layout
        for hole in self.elsewhere:
            floor = layout.bottom if hole.depth is None else layout.face - hole.depth
            for x, y in layout.places:
                away = np.hypot(points[:, 0] - x - hole.x, points[:, 1] - y - hole.y)
                inside = away <= hole.diameter / 2
                height[inside] = np.minimum(height[inside], floor)

    def open_to(self, row: int, z: float, wanted: float) -> float:
        """Diameter of what is open round the end of a piece down to ``z``; at most ``wanted``."""
        radii = np.linspace(0.0, wanted / 2, 41)
        angle = 2 * math.pi * np.arange(ROUND) / ROUND
        rim = np.column_stack([np.cos(angle), np.sin(angle)])
        around = (radii[:, None, None] * rim[None]).reshape(-1, 2)
        met = self.metal(np.array([row]), around).reshape(len(radii), ROUND).max(axis=1) > z
        first = int(np.argmax(met)) if np.any(met) else len(radii) - 1
        return 2 * float(radii[max(0, first - 1)])


def _made_elsewhere(evidence: FlatEvidence, layout: FlatLayout) -> tuple[Hole, ...]:
    """The part's holes that another job or hand makes."""
    return tuple(hole for hole in (*layout.part.holes, *layout.part.blind)
                 if elsewhere(evidence.job, hole))
