"""The chart of a cylinder: how far the metal reaches from the axis, over length and angle. mm."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats

__all__ = ["radii_of"]


def radii_of(section: BaseGeometry, degrees: Floats) -> Floats:
    """(a,) how far a section reaches from the axis towards each angle, 0 where there is nothing.

    >>> radii_of(shapely.box(-1.0, -1.0, 1.0, 1.0), np.array([0.0, 45.0])).round(3).tolist()
    [1.0, 1.414]
    """
    turn = np.radians(degrees)
    ways = np.column_stack([-np.sin(turn), np.cos(turn)])
    found = np.zeros(len(degrees))
    for part in shapely.get_parts(section):
        ring = shapely.get_coordinates(part.exterior) if not part.is_empty else np.zeros((0, 2))
        if len(ring) < 3:
            continue
        a, side = ring[:-1], np.diff(ring, axis=0)
        # Where ring and ray meet: a + s·side = r·way.
        across = ways[:, 0:1] * side[None, :, 1] - ways[:, 1:2] * side[None, :, 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            r = (a[:, 0] * side[:, 1] - a[:, 1] * side[:, 0])[None] / across
            s = (a[None, :, 0] * ways[:, 1:2] - a[None, :, 1] * ways[:, 0:1]) / across
        meets = np.isfinite(r) & (r > 0) & (s >= -1e-9) & (s <= 1 + 1e-9)
        found = np.maximum(found, np.where(meets, r, 0.0).max(axis=1))
    return found
