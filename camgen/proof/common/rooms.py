"""Room between a circle that is moved and a body of revolution cut at a height; mm."""

from __future__ import annotations

import numpy as np

from camgen.arrays import Floats
from camgen.job.on_arbor import Turned

__all__ = ["room_off"]


def room_off(plane: Floats, radius: float, height: Floats, body: Turned) -> Floats:
    """(m,) room between a circle whose middle goes along stretches (m, 2, 2) and a cylinder cut
    ``height`` (m,) over its axis, all in mm; infinite where it does not come so high.
    """
    square = body.radius**2 - height**2
    room = np.full(len(plane), np.inf)
    met = np.nonzero(square > 0)[0]
    if len(met):
        room[met] = _off_rectangle(plane[met], body.begin, body.end, np.sqrt(square[met])) - radius
    return room


def _off_rectangle(plane: Floats, begin: float, end: float, wide: Floats) -> Floats:
    """(m,) distance of stretches (m, 2, 2) from rectangles ``begin`` … ``end`` by ± ``wide``."""
    a, way = plane[:, 0], plane[:, 1] - plane[:, 0]
    low = np.column_stack([np.full(len(wide), begin), -wide])
    high = np.column_stack([np.full(len(wide), end), wide])
    # Clipped between the sides: what is left of the stretch lies within.
    still = np.abs(way) < 1e-12
    with np.errstate(divide="ignore", invalid="ignore"):
        one, other = (low - a) / way, (high - a) / way
    within = (a >= low) & (a <= high)
    enter = np.where(still, np.where(within, -np.inf, np.inf), np.minimum(one, other)).max(axis=1)
    leave = np.where(still, np.where(within, np.inf, -np.inf), np.maximum(one, other)).min(axis=1)
    through = (np.maximum(enter, 0.0) <= np.minimum(leave, 1.0))
    nearest = np.full(len(plane), np.inf)
    for point in (plane[:, 0], plane[:, 1]):
        off = np.maximum(np.maximum(low - point, point - high), 0.0)
        nearest = np.minimum(nearest, np.hypot(off[:, 0], off[:, 1]))
    square = np.einsum("ij,ij->i", way, way)
    for x in (low[:, 0], high[:, 0]):
        for y in (low[:, 1], high[:, 1]):
            px, py = x - a[:, 0], y - a[:, 1]
            share = np.clip((px * way[:, 0] + py * way[:, 1]) / np.where(square > 0, square, 1.0),
                            0.0, 1.0)
            nearest = np.minimum(nearest, np.hypot(px - share * way[:, 0], py - share * way[:, 1]))
    return np.asarray(np.where(through, 0.0, nearest))
