"""A wheel cut and measured by plane figures alone, sharing nothing with what is tested but a space.

The cutter's space, its halves moved apart, is taken out of a disc as many times as there are teeth.
What is left is measured as at the bench: distances, chords, discs laid into spaces. Lengths mm.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import Polygon, affinity

from camgen.teeth.tooth import Tooth

__all__ = ["Wheel", "cut"]

FINE = 5e-6


class Wheel:
    """A wheel as cut, a space on the +x axis."""

    def __init__(self, left: Polygon, teeth: int) -> None:
        self.left, self.teeth = left, teeth

    @property
    def root(self) -> float:
        """Over the roots of two spaces."""
        return 2 * self.left.exterior.distance(shapely.Point(0, 0))

    @property
    def tip(self) -> float:
        """Over the tips of two teeth."""
        ring = np.array(self.left.exterior.coords)
        return float(2 * np.hypot(ring[:, 0], ring[:, 1]).max())

    def tooth(self, height: float) -> float:
        """Across one tooth, the caliper's stop on its tip."""
        ring = np.array(self.left.exterior.coords)
        radius = np.hypot(ring[:, 0], ring[:, 1])
        angle = np.arctan2(ring[:, 1], ring[:, 0])
        # The middle of the tip of the tooth beside the space on the axis, at larger angles.
        top = angle[(radius > radius.max() - 1e-6) & (angle > 0) & (angle < 2 * np.pi / self.teeth)]
        if height < 1e-4:  # the land itself, from corner to corner
            return self.tip * math.sin((top.max() - top.min()) / 2)
        turned = affinity.rotate(self.left, -math.degrees((top.min() + top.max()) / 2), (0, 0))
        place = self.tip / 2 - height - 1e-9
        line = shapely.LineString([(place, -self.tip), (place, self.tip)])
        parts = shapely.get_parts(shapely.intersection(turned, line))
        middle = shapely.Point(place, 0)
        return float(min(parts, key=middle.distance).length)

    def pins(self, diameter: float) -> float:
        """Over two pins in spaces as nearly opposite as may be."""
        low, high = self.root / 2, self.tip
        for _ in range(60):
            middle = (low + high) / 2
            inside = self.left.contains(shapely.Point(middle, 0))
            clear = 0.0 if inside else self.left.distance(shapely.Point(middle, 0))
            low, high = (middle, high) if clear < diameter / 2 else (low, middle)
        if self.teeth % 2 == 0:
            return 2 * high + diameter
        # From the pin across to either of the two spaces nearest to being opposite.
        other = high * np.exp(1j * math.pi * (1 + 1 / self.teeth))
        return float(abs(high - other)) + diameter

    def span(self, teeth: int, above: float) -> float:
        """Flat jaws over so many teeth, that reach down to a radius ``above`` the root."""
        ring = np.array(self.left.exterior.coords)
        point = (ring[:, 0] + 1j * ring[:, 1]) * np.exp(-1j * math.pi * teeth / self.teeth)
        angle = np.angle(point)
        beside = math.pi * teeth / self.teeth
        near = (np.abs(point) > above) & (np.abs(angle) < beside)
        return float(point[near].imag.max() - point[near].imag.min())


def cut(
    tooth: Tooth, deeper: float, wider: float, blank: float, teeth: int | None = None
) -> Wheel:
    """A blank of this diameter, cut ``deeper`` than meant by a cutter so much ``wider``.

    With another number of ``teeth`` the cutter of the one is used for the other.
    """
    teeth = tooth.sizes.teeth if teeth is None else teeth
    flank = tooth.chain(FINE)
    first, last = flank[0] - flank[1], flank[-1] - flank[-2]
    long = blank / 2
    flank = np.concatenate([[flank[0] + long * first / abs(first)], flank,
                            [flank[-1] + long * last / abs(last)]])
    flank = np.concatenate([[long * 4 + 1j * flank[0].imag], flank,
                            [long * 4 + 1j * flank[-1].imag]])
    space = Polygon(np.column_stack([flank.real - deeper, flank.imag])).buffer(0)
    far = 8 * long
    halves = [affinity.translate(space.intersection(shapely.box(-far, low, far, high)), 0, by)
              for low, high, by in ((0, far, wider / 2), (-far, 0, -wider / 2))]
    bottom = float(np.abs(tooth.chain(FINE)).min()) - deeper
    between = shapely.box(bottom, -wider / 2, 4 * long, wider / 2)
    wide = shapely.union_all([*halves, between] if wider > 0 else halves).buffer(0)
    spaces = shapely.union_all(
        [affinity.rotate(wide, 360 * n / teeth, (0, 0)) for n in range(teeth)])
    disc = shapely.Point(0, 0).buffer(blank / 2, quad_segs=2048)
    parts = shapely.get_parts(disc.difference(spaces))
    return Wheel(max(parts, key=lambda part: part.area), teeth)
