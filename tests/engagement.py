"""Engagement measured apart from the way it is planned: by plane geometry on the paths themselves.

The ground cleared is the union of all that the cutter has swept so far. At points of each path the
leading half of the cutter's edge is looked at in fine steps, and counted where it stands in what is
left of the area.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats
from camgen.clearing.clearing import Entry
from camgen.shapes.offset import Area, offset
from camgen.shapes.path import Path, Point

STEPS = 90


@dataclass(frozen=True)
class Measured:
    """At points of the paths: ``angle`` engaged, radians, and the ``length`` each stands for."""

    angle: Floats
    length: Floats
    left: shapely.Geometry

    def share_at_most(self, angle: float) -> float:
        """Share of the length in metal on which the engagement is at most ``angle``."""
        met = self.angle > 0.02
        return float(self.length[met & (self.angle <= angle)].sum() / self.length[met].sum())


def measured(
    area: Area,
    radius: float,
    cleared: shapely.Geometry,
    paths: Sequence[Path],
    step: float,
    begins: Sequence[Point] = (),
) -> Measured:
    """Engagement along ``paths``, one after the other, ``cleared`` being clear at the start.

    ``begins`` are the places from which the cutter goes straight to the start of each.
    """
    metal = area.region(1e-4).difference(cleared)
    half = (np.arange(STEPS) + 0.5) / STEPS * math.pi - math.pi / 2
    angles, lengths = [], []
    for number, path in enumerate(paths):
        if begins and begins[number] != path.start:
            way_in = shapely.LineString([begins[number], path.start])
            metal = metal.difference(way_in.buffer(radius, quad_segs=24))
        count = max(2, int(path.length / step) + 1)
        places = np.linspace(0.0, path.length, count)
        points = np.array([path.at(place) for place in places])
        ways = np.array([_way(path, place) for place in places])
        look = np.arctan2(ways[:, 1], ways[:, 0])[:, None] + half
        x = points[:, 0, None] + radius * np.cos(look)
        y = points[:, 1, None] + radius * np.sin(look)
        shapely.prepare(metal)
        met = shapely.contains_xy(metal, x, y)
        for place in range(count):
            # What the path itself has cleared on its way here.
            here = np.flatnonzero(met[place])
            own = points[: max(0, place - 1)]
            if len(here) and len(own):
                apart = np.hypot(
                    x[place, here, None] - own[:, 0], y[place, here, None] - own[:, 1]
                )
                met[place, here[apart.min(axis=1) < radius]] = False
        angles.append(met.sum(axis=1) * math.pi / STEPS)
        lengths.append(np.full(count, path.length / count))
        swept = shapely.LineString(path.points(1e-4)).buffer(radius, quad_segs=24)
        metal = metal.difference(swept)
    return Measured(np.concatenate(angles), np.concatenate(lengths), metal)


def _way(path: Path, place: float) -> Floats:
    """Direction of the path by two places a few hundredths apart."""
    low, high = max(0.0, place - 0.01), min(path.length, place + 0.01)
    return np.subtract(path.at(high), path.at(low))


def entered(entry: Entry, radius: float) -> BaseGeometry:
    """What the cutter has cleared going down: a band along its path, and no core inside a ring."""
    if entry.path is None:
        return shapely.Point()
    way = shapely.LineString(entry.path.points(1e-4))
    return way.buffer(radius, quad_segs=64)


def concentric(area: Area, radius: float, radial_depth: float) -> list[Path]:
    """The old way: parallels of the edge, from the inside out, all at the same distance."""
    rings: list[list[Path]] = []
    inset = radius
    while True:
        parts = offset(area, -inset)
        if not parts:
            break
        rings.append([path for part in parts for path in part.paths])
        inset += radial_depth
    return [path for ring in reversed(rings) for path in ring]


def disc(centre: Point, radius: float) -> shapely.Polygon:
    """A round hole."""
    return shapely.Point(centre).buffer(radius, quad_segs=64)
