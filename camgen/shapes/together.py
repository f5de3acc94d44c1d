"""Regions of the plane put together: those that touch no other cost nothing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

__all__ = ["laid_together"]


def laid_together(regions: Sequence[BaseGeometry]) -> BaseGeometry:
    """The union of polygons; only those that touch one another are cut up for it.

    >>> from shapely import box
    >>> laid_together([box(0, 0, 1, 1), box(2, 0, 3, 1), box(2.5, 0, 4, 1)]).area
    3.0
    """
    parts = [one for one in regions if not one.is_empty]
    if len(parts) < 2:
        return shapely.union_all(parts)
    near = shapely.STRtree(parts).query(parts, predicate="intersects")
    alone = np.bincount(near[0], minlength=len(parts)) == 1
    joined = shapely.union_all([one for one, free in zip(parts, alone, strict=True) if not free])
    free = [one for one, free in zip(parts, alone, strict=True) if free]
    return shapely.MultiPolygon(list(shapely.get_parts([*free, joined])))
