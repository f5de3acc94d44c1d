"""Clearing measured: engagement beside the old way of parallels, and cost against the area.

Run as ``python tests/bench_clearing.py``; each figure is printed, none is a test. Engagement is
measured by plane geometry on the paths (``engagement.py``), the entry left out. The old way is
concentric parallels of the edge, cut from the inside out, begun in a hole of the cutter's size.
"""

from __future__ import annotations

import time
from collections.abc import Sequence

import numpy as np
import shapely
from engagement import Measured, concentric, disc, entered, measured
from test_shapes_clearing import AREAS, DEPTH, RADIUS
from test_shapes_clearing_rest import CASES

from camgen.clearing.clearing import Clearing, Pass, cleared
from camgen.clearing.room import deepest_place
from camgen.shapes.figures import rectangle
from camgen.shapes.offset import Area


def measured_of(
    area: Area, radius: float, found: Clearing, gone: shapely.Geometry
) -> list[Measured]:
    """The engagement of all the passes, entry by entry."""
    clear, done = gone, []
    for entry, passes in zip(found.entries, found.passes, strict=True):
        clear = shapely.union(clear, entered(entry, radius))
        if passes:
            one = measured(area, radius, clear, [p.path for p in passes], radius / 10,
                           [p.begin for p in passes])
            done.append(one)
            clear = shapely.union(shapely.difference(area.region(1e-4), one.left), gone)
    return done


def told(name: str, done: Sequence[Measured], planned: float, passes: Sequence[Pass]) -> None:
    """One line of the table."""
    angle = np.concatenate([one.angle for one in done])
    length = np.concatenate([one.length for one in done])
    met = angle > 0.02
    share = float(length[met & (angle <= 1.1 * planned)].sum() / length[met].sum())
    lifts = sum(not one.over_cleared for one in passes)
    print(f"  {name:38} most {angle.max() / planned:5.2f}  within 1.1: {share:6.1%}  "
          f"{len(passes) or len(done):4d} passes {lifts:3d} lifts")


def main() -> None:
    print("engagement over the planned angle")
    for name, area in AREAS.items():
        found = cleared(area, RADIUS, DEPTH)
        passes = [one for group in found.passes for one in group]
        told(name, measured_of(area, RADIUS, found, shapely.Point()), found.planned, passes)
        centre, _ = deepest_place(area, 0.05)
        old = measured(area, RADIUS, disc(centre, RADIUS), concentric(area, RADIUS, DEPTH), 0.05)
        told(f"{name}, parallels", [old], found.planned, ())
    for name, (area, radius, gone) in CASES.items():
        found = cleared(area, radius, 0.3 * radius, gone=gone)
        passes = [one for group in found.passes for one in group]
        told(name, measured_of(area, radius, found, gone), found.planned, passes)
    print("cost: a rectangle 6 by 4 mm, cutter 1 mm, and the same larger")
    least = 0.0
    for times in (1, 2, 4):
        area = Area(rectangle(6.0 * times, 4.0 * times, 0.8))
        begin = time.process_time()
        cleared(area, RADIUS, DEPTH)
        spent = time.process_time() - begin
        least = least or spent
        print(f"  area x{times**2:2d}: {spent:6.2f} s, {spent / least:5.1f} times the first, "
              f"{1000 * spent / area.size:5.1f} ms/mm2")


if __name__ == "__main__":
    main()
