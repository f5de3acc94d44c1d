"""How much room an area leaves a cutter: its place farthest from the edge. Lengths mm."""

from __future__ import annotations

import numpy as np
import shapely

from camgen.clearing.ground import SPACING
from camgen.faults import Fault, no_more
from camgen.messages import Message
from camgen.shapes.offset import Area, distances
from camgen.shapes.path import Point

__all__ = ["deepest_place", "too_narrow"]

# On each wall at least this must have room, mm, if leaving less is to be a remedy.
LEAST_LEFT = 0.01


def deepest_place(area: Area, spacing: float) -> tuple[Point, float]:
    """The place farthest from the edge, to within a fraction of ``spacing``, and that distance."""
    x0, y0, x1, y1 = area.region(spacing / 10).bounds
    # Coarse first, then finer about the best place, so that large areas cost no more than small.
    step = max(x1 - x0, y1 - y0) / 40
    xs, ys = np.arange(x0, x1 + step, step), np.arange(y0, y1 + step, step)
    region = area.region(spacing / 10)
    best, room = Point((x0 + x1) / 2, (y0 + y1) / 2), -1.0
    while True:
        grid = np.array(np.meshgrid(xs, ys, indexing="ij")).reshape(2, -1).T
        inside = shapely.contains_xy(region, grid[:, 0], grid[:, 1])
        if inside.any():
            far = distances(grid[inside], area.paths)
            number = int(np.argmax(np.round(far, 9)))
            if far[number] > room:
                room = float(far[number])
                best = Point(*map(float, grid[inside][number]))
        if step < spacing / 20:
            return best, max(room, 0.0)
        xs = best.x + step * np.linspace(-1.5, 1.5, 13)
        ys = best.y + step * np.linspace(-1.5, 1.5, 13)
        step /= 4


def too_narrow(area: Area, radius: float, allowance: float) -> Fault:
    """That a cutter does not fit in and leave an allowance on the walls, and one that would."""
    place, room = deepest_place(area, radius * SPACING)
    if allowance:
        message = Message(
            "a cutter of {diameter:g} mm does not fit in and leave {skin:g} mm on its walls: there "
            "are {room:.2f} mm at X {x:.2f} Y {y:.2f}, the widest place", diameter=2 * radius,
            skin=allowance, room=2 * room, x=place.x, y=place.y)
    else:
        message = Message(
            "a cutter of {diameter:g} mm does not fit in: there are {room:.2f} mm at X {x:.2f} Y "
            "{y:.2f}, the widest place", diameter=2 * radius, room=2 * room, x=place.x, y=place.y)
    if room <= allowance + 0.01:
        return Fault(message, Message("another way to cut it: it is too narrow"))
    most = no_more(2 * (room - allowance) - 0.01, 0.01)
    # Hardly wider than the cutter, it has nothing to leave: less would not do.
    fits = allowance and room > radius + LEAST_LEFT
    return Fault(message, Message("a cutter of at most {most} mm, or less left on the walls",
                                  most=most) if fits
                 else Message("a cutter of at most {most} mm", most=most))
