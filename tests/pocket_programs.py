"""Plates with pockets taken through the whole chain, and the metal met by their programs measured
by plane geometry on the motion read back, apart from the planner and from the proofs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats
from camgen.layout import FlatLayout
from camgen.make.chain import Proved, proved_job
from camgen.proof.evidence import Evidence
from camgen.proof.result import Proof

RAYS = 90
STEP = 0.05
# A cutter no further off a wall than its radius and this, mm, finishes it.
FINISHED = 0.005

JOB = """
job: pockets tried
material: brass-leaded
made-elsewhere: [holes, pockets, openings, outline, slots]
plate:
  thickness: 1.2
  outline: {circle: 16}
%s
cutters:
  big: {kind: end-mill, diameter: 2.0, flutes: 2, flute-length: 4, reach: 6}
  mill: {kind: end-mill, diameter: 0.80, flutes: 2, flute-length: 1.6, reach: 2.4}
  fine: {kind: end-mill, diameter: 0.40, flutes: 2, flute-length: 0.9, reach: 1.6}
  bull: {kind: end-mill, diameter: 0.80, corner-radius: 0.1, flute-length: 1.6, reach: 2.4}
  blunt: {kind: end-mill, diameter: 0.80, corner-radius: 0.35, flute-length: 1.6, reach: 2.4}
  ball: {kind: ball-end-mill, diameter: 0.80, flute-length: 1.6, reach: 2.4}
  narrow: {kind: drill, diameter: 1.0, flute-length: 6, reach: 8}
  wide: {kind: drill, diameter: 1.3, flute-length: 6, reach: 8}
  thin: {kind: drill, diameter: 0.7, flute-length: 5, reach: 7}
setups:
  - name: top
    stock: {%s, thickness: 1.2}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 0.5,
              holds-slugs: true}
    steps:
%s
"""


def text_of(plate: str, *steps: str, stock: str = "sheet: [24, 24]") -> str:
    """A job with these words of the plate and these steps."""
    return JOB % (plate, stock, "".join(f"      - {step}\n" for step in steps))


def proved(
    plate: str, *steps: str, stock: str = "sheet: [24, 24]", outline: str = "{circle: 16}"
) -> Proved:
    """That job planned, written, read back and proved."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        text = text_of(plate, *steps, stock=stock)
        path.write_text(text.replace("outline: {circle: 16}", f"outline: {outline}", 1))
        return proved_job(path)


def proofs_of(done: Proved, name: str) -> list[Proof]:
    """The proofs whose id begins so."""
    found = [proof for proof in done.proofs if str(proof.id).startswith(name)]
    assert found, sorted({str(proof.id) for proof in done.proofs})
    return found


@dataclass(frozen=True)
class Met:
    """At ``place`` (n, 2) of the way at full feed: the angle in metal, radians, and the length it
    is for; and the metal left at that level."""

    angle: Floats
    length: Floats
    place: Floats
    left: BaseGeometry

    def share_at_most(self, angle: float) -> float:
        """Share of the length in metal on which the angle is at most ``angle``."""
        met = self.angle > 0.02
        return float(self.length[met & (self.angle <= angle)].sum() / self.length[met].sum())


def met_at(
    evidence: Evidence, level: float, section_feed: dict[int, float],
    walls: BaseGeometry | None = None, solid: BaseGeometry | None = None,
) -> Met:
    """What each cutter meets going level at Z ``level`` at the feed of its clearing.

    The last pass along ``walls``, which is no clearing, is not measured. ``section_feed`` has that
    feed for each cutter's number: slower pieces are ways in, which clear ground and are not
    measured, nor is going level once along the way down. ``solid`` is the metal at the start, else
    the stock.
    """
    motion = evidence.motion
    layout = evidence.layout
    assert isinstance(layout, FlatLayout)
    metal: BaseGeometry = layout.stock if solid is None else solid
    half = (np.arange(RAYS) + 0.5) / RAYS * math.pi - math.pi / 2
    sweep, begin, reach = evidence.sweep
    angles: list[Floats] = []
    lengths: list[Floats] = []
    places: list[Floats] = []
    entries: set[tuple[float, ...]] = set()
    for row in np.flatnonzero(evidence.cut):
        start, end = motion.start[row], motion.end[row]
        radius = float(evidence.cutter_radius[row])
        points = _points(start, end, motion.centre[row], sweep[row], begin[row], reach[row])
        way = tuple(np.round(sorted([*points[0], *points[-1]]), 4).tolist())
        sloping = abs(start[2] - end[2]) > 1e-6
        if sloping:
            entries.add(way)
        if end[2] > level + 1e-6:
            continue
        if sloping:
            if len(points) == 1:
                metal = metal.difference(shapely.Point(points[0]).buffer(radius, quad_segs=24))
            continue
        line = shapely.LineString(points) if len(points) > 1 else shapely.Point(points[0])
        swept = line.buffer(radius, quad_segs=24)
        full = section_feed.get(int(motion.cutter[row]), math.inf)
        near = metal.intersection(swept.buffer(0.01))
        in_metal = near.area > 1e-7 and len(points) > 1 and way not in entries
        if motion.feed[row] > 0.9 * full and in_metal:
            angle, length = _along(points, radius, near, half)
            middle = (points[:-1] + points[1:]) / 2
            here = np.flatnonzero(
                shapely.distance(walls or shapely.Point(math.inf, 0), shapely.points(middle))
                > radius + FINISHED
            )
            angles.append(angle[here])
            lengths.append(length[here])
            places.append(middle[here])
        metal = metal.difference(swept)
    return Met(
        np.concatenate(angles), np.concatenate(lengths), np.concatenate(places), metal
    )


def _points(
    start: Floats, end: Floats, centre: Floats, sweep: float, begin: float, reach: float
) -> Floats:
    if sweep == 0:
        if np.hypot(*(end - start)[:2]) < 1e-9:
            return start[None, :2]
        count = max(1, math.ceil(float(np.hypot(*(end - start)[:2])) / STEP))
        share = np.linspace(0.0, 1.0, count + 1)[:, None]
        return np.asarray(start[:2] * (1 - share) + end[:2] * share)
    count = max(6, math.ceil(abs(sweep) * reach / STEP), math.ceil(abs(sweep) / 0.15))
    turn = begin + sweep * np.linspace(0.0, 1.0, count + 1)
    return np.asarray(centre[:2] + reach * np.column_stack((np.cos(turn), np.sin(turn))))


def _along(
    points: Floats, radius: float, metal: BaseGeometry, half: Floats
) -> tuple[Floats, Floats]:
    """The angle in metal halfway along each chord, the ground passed before being clear."""
    way = np.diff(points, axis=0)
    length = np.hypot(*way.T)
    middle = (points[:-1] + points[1:]) / 2
    look = np.arctan2(way[:, 1], way[:, 0])[:, None] + half
    x = middle[:, 0, None] + radius * np.cos(look)
    y = middle[:, 1, None] + radius * np.sin(look)
    shapely.prepare(metal)
    met = shapely.contains_xy(metal, x, y)
    for place in range(1, len(middle)):
        here = np.flatnonzero(met[place])
        if len(here):
            passed = shapely.LineString(points[: place + 1])
            spots = shapely.points(x[place, here], y[place, here])
            met[place, here[shapely.distance(passed, spots) < radius]] = False
    return met.sum(axis=1) * math.pi / RAYS, length
