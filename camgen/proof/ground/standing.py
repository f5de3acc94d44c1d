"""How high metal still stands at a place and a time: what the cuts before it have left there.

A cut clears everything above its cutter's own profile: flat, ball-ended, with a corner radius or a
cone. On its way from one height to another it is taken at the higher, so that metal is never
thought gone that may stand. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import shapely

from camgen.arrays import Floats, Ints
from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.shop.cutters import Cutter, record_of
from camgen.values import dataclass

__all__ = ["Profiles", "profiles_of", "standing"]

# Pairs of a point and a cut looked at together.
CHUNK = 400_000
# Where every cut lies over every point, so many pairs and no more are held at a time.
PAIRS = 10_000_000


@dataclass(frozen=True)
class Profiles:
    """The profile of each cut's cutter, (k,) each: ``radius``, the ``corner`` radius where flat
    and side meet, and of cones the radius of the ``flat`` and the ``slope``, its rise for each mm
    outwards (0: no cone)."""

    radius: Floats
    corner: Floats
    flat: Floats
    slope: Floats

    def only(self, which: Ints) -> Profiles:
        """Those of some of the cuts."""
        return Profiles(self.radius[which], self.corner[which], self.flat[which],
                        self.slope[which])

    def rise(self, away: Floats, of: Ints) -> Floats:
        """(p,) how far the edge lies above the tip, ``away`` mm (p,) from the axis of cut ``of``.

        A corner rises by c − √(c² − x²) at x beyond the flat; infinite beyond the cutter.
        """
        radius, corner = self.radius[of], self.corner[of]
        beyond = np.clip(away - (radius - corner), 0.0, corner)
        up = corner - np.sqrt(np.maximum(corner * corner - beyond * beyond, 0.0))
        up += np.maximum(away - self.flat[of], 0.0) * self.slope[of]
        return np.asarray(np.where(away < radius, up, np.inf))


def profiles_of(cuts: PlanCuts, cutter: Ints, cutters: Mapping[int, Cutter]) -> Profiles:
    """The profiles of cuts, ``cutter`` (k,) being the number of each one's cutter."""
    radius, corner, flat, slope = (np.zeros(len(cuts)) for _ in range(4))
    for number, one in cutters.items():
        mine = cutter == number
        half = one.diameter / 2
        radius[mine] = half
        if record_of(one).conical:
            flat[mine] = min(one.tip, one.diameter) / 2
            slope[mine] = 1 / np.tan(np.radians(one.cone_angle / 2))
        else:
            corner[mine] = one.corner
    return Profiles(radius, corner, flat, slope)


def standing(
    cuts: PlanCuts, profiles: Profiles, points: Floats, before: Ints | None, top: float,
    lowest: bool = False, about: Floats | None = None,
) -> tuple[Floats, Ints]:
    """Height (m,) of the metal standing at ``points`` (m, 2) before the pieces ``before`` (m,).

    In the end with ``before`` None; ``lowest`` takes cuts that rise or fall at their lower end.
    ``about`` (m,) asks for all within so many mm of each point: no metal there stands higher than
    is answered, as far as single cuts tell.
    With each the number of the cut that left it so, -1 where none was over it and metal stands to
    ``top``. What lies outside the stock is for the caller to know.
    """
    height = np.full(len(points), top)
    by = np.full(len(points), -1, dtype=np.int64)
    if not len(cuts) or not len(points):
        return height, by
    level = cuts.low if lowest else cuts.high
    for point, cut in _over(cuts, points, before):
        for begin in range(0, len(point), CHUNK):
            some, of = point[begin : begin + CHUNK], cut[begin : begin + CHUNK]
            away = cuts.apart(points[some][:, None, :], of)[:, 0]
            if about is not None:
                away = away + about[some]
            left = level[of] + profiles.rise(away, of)
            lower = left < height[some]
            some, of, left = some[lower], of[lower], left[lower]
            # In order of falling height, so that the lowest is what stays.
            order = np.argsort(-left, kind="stable")
            height[some[order]] = left[order]
            by[some[order]] = of[order]
    return height, by


def _over(
    cuts: PlanCuts, points: Floats, before: Ints | None
) -> Iterator[tuple[Ints, Ints]]:
    """Numbers (p,) of points and of cuts whose bounds hold them, made before the pieces."""
    many = max(1, PAIRS // len(cuts))
    for first in range(0, len(points), many):
        some = slice(first, first + many)
        point, cut = cuts.tree.query(shapely.points(points[some]))
        point += first
        if before is not None:
            earlier = cuts.piece[cut] < before[point]
            point, cut = point[earlier], cut[earlier]
        yield point, cut
