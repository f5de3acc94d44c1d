"""The finished part, slice by slice, as points along its edges and over its floors.

A part with pockets and blind holes is another shape at every depth. It is cut into slices at the
depths of its floors; inside a slice it is a plane figure. Lengths mm, in the part's frame.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Flags, Floats, Ints
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.part.features import Hole, Recess
from camgen.part.shape import PartShape
from camgen.shapes.path import ArcTo, Path, Point, circle
from camgen.shapes.together import laid_together
from camgen.tolerances import GROUND_CHORD
from camgen.values import dataclass

__all__ = ["RUN", "Edge", "Edges", "Slice", "slices_of"]

# Points of one run, looked at together.
RUN = 24
INSIDE = 0.001


@dataclass(frozen=True)
class Edge:
    """One edge of the part: ``points`` (n, 2) on it, ``apart`` (n,) what each stands for, mm.

    ``group`` is the name by which steps speak of it. ``diameter`` is that of a round hole, 0 for
    other edges. ``finished``: its floor, or the lower face, is the bottom of this slice, so nothing
    may be left there. ``floor``: these are points over a floor, each standing for so many mm², not
    an edge.
    """

    name: str
    group: str
    points: Floats
    apart: Floats
    diameter: float = 0.0
    finished: bool = True
    floor: bool = False


@dataclass(frozen=True)
class Edges:
    """All edges of a slice, and the material in it as a region for points well inside it.

    ``runs`` (c, RUN, 2) are the edges' points again in short runs, the last of an edge filled up
    with its last point; ``first`` the number of the first run of each edge, and one past the last.
    """

    edges: tuple[Edge, ...]
    region: BaseGeometry
    runs: Floats
    first: Ints

    @classmethod
    def of(cls, edges: Sequence[Edge], region: BaseGeometry) -> Edges:
        """Arrange the edges' points in runs."""
        runs: list[Floats] = []
        first = [0]
        for edge in edges:
            count = math.ceil(len(edge.points) / RUN)
            filled = np.empty((count * RUN, 2))
            filled[: len(edge.points)] = edge.points
            filled[len(edge.points) :] = edge.points[-1:]
            runs.append(filled.reshape(count, RUN, 2))
            first.append(first[-1] + count)
        shapely.prepare(region)
        together = np.concatenate(runs) if runs else np.zeros((0, RUN, 2))
        return cls(tuple(edges), region, together, np.array(first))

    @cached_property
    def middles(self) -> tuple[Floats, Floats]:
        """(c, 2) middle of each run, and (c,) how far its points lie from there."""
        middle = (self.runs.min(axis=1) + self.runs.max(axis=1)) / 2
        off = self.runs - middle[:, None, :]
        return middle, np.sqrt((off * off).sum(axis=2).max(axis=1))


@dataclass(frozen=True)
class Slice:
    """The part between Z ``top`` and Z ``bottom``.

    ``last`` when its bottom is the lower face. ``blind`` (b, 3) are x, y and the allowed lowest Z
    of points of drills that make the blind holes ending above.
    """

    top: float
    bottom: float
    last: bool
    edges: Edges
    blind: Floats


@dataclass(frozen=True)
class _Feature:
    """Something taken out of the part, ``above`` to ``depth`` mm below the face that looks up.

    A ``fillet`` may be left along its floor.
    What is on the other face begins ``above`` that deep, and is not for this setup to make.
    """

    name: str
    group: str
    paths: tuple[Path, ...]
    depth: float
    diameter: float = 0.0
    above: float = 0.0
    fillet: float = 0.0

    @property
    def wall_to(self) -> float:
        """How deep its walls are upright."""
        return max(self.depth - self.fillet, self.above)

    def region(self) -> shapely.Polygon:
        outer, *islands = (path.points(GROUND_CHORD) for path in self.paths)
        return shapely.Polygon(outer, islands)


def slices_of(layout: FlatLayout, spacing: float) -> tuple[Slice, ...]:
    """The slices of the layout's part, from above; points no further than ``spacing`` mm apart."""
    part = layout.part
    thickness = layout.thickness
    features = _features(part, thickness)
    depths = sorted({round(level, 9) for f in features for level in (f.above, f.wall_to, f.depth)
                     if 1e-9 < level < thickness - 1e-9})
    levels = [0.0, *depths, thickness]
    outline = _edge_points(part.outline, spacing)
    solid = shapely.Polygon(part.outline.points(GROUND_CHORD))
    regions = {f.name: f.region() for f in features}
    overlapping = bool(part.recesses or part.blind or part.beneath or _meet(regions.values()))
    slices = []
    for upper, lower in itertools.pairwise(levels):
        here = [f for f in features if f.depth > upper + 1e-9 and f.above < lower - 1e-9]
        edges = [Edge(Message("outline", "part-names"), "outline", *outline,
                      finished=lower >= thickness - 1e-9)]
        edges += [
            Edge(f.name, f.group, *_several(f.paths, spacing), f.diameter,
                 abs(f.wall_to - lower) < 1e-9 or _ends_early(part, f, thickness))
            for f in here
        ]
        if overlapping:
            edges = _true_edges(edges, solid, regions)
            edges += _floors(here, lower, thickness, spacing, solid, regions)
        region: BaseGeometry = solid
        if here:
            region = shapely.difference(solid, laid_together([regions[f.name] for f in here]))
        blind = np.array(
            [(h.x, h.y, layout.face - h.depth - h.diameter) for h in part.blind
             if h.depth is not None and h.depth <= upper + 1e-9 and not _goes_on(part, h)]
        ).reshape(-1, 3)
        slices.append(
            # What is spare below the part is gone through with it.
            Slice(layout.face - upper,
                  layout.bottom if lower >= thickness - 1e-9 else layout.face - lower,
                  lower >= thickness - 1e-9,
                  Edges.of([e for e in edges if len(e.points)], region), blind)
        )
    return tuple(slices)


def _meet(regions: Iterable[shapely.Polygon]) -> bool:
    """Whether any lie over one another: a hole drilled where an opening is cut out after it."""
    found = list(regions)
    if not found:
        return False
    first, _ = shapely.STRtree(found).query(found, predicate="intersects")
    return len(first) > len(found)


def _ends_early(part: PartShape, feature: _Feature, thickness: float) -> bool:
    """Whether a hole right through may end in something of the other face, above the lower one."""
    return bool(part.beneath and feature.diameter and feature.depth >= thickness - 1e-9)


def _goes_on(part: PartShape, hole: Hole) -> bool:
    """Whether another hole about the same middle goes deeper than a hole to a depth."""
    return any(
        math.dist((other.x, other.y), (hole.x, hole.y)) < 1e-6
        and (other.depth is None or other.depth > (hole.depth or 0.0) + 1e-9)
        for other in (*part.holes, *part.blind)
    )


def _features(part: PartShape, thickness: float) -> list[_Feature]:
    """All that is taken out of the part, by name."""
    names = part.opening_names or [
        Message("opening {number}", number=n + 1) for n in range(len(part.openings))]
    features = [
        _Feature(name, "opening", (path,), thickness)
        for name, path in zip(names, part.openings, strict=True)
    ]
    for hole in (*part.holes, *part.blind):
        path = circle(Point(hole.x, hole.y), hole.diameter / 2)
        depth = thickness if hole.depth is None else min(hole.depth, thickness)
        features.append(_Feature(hole.name, hole.group or hole.name, (path,), depth,
                                 hole.diameter))
    features += [
        _Feature(recess.name, "pocket " + recess.pocket, recess.area.paths,
                 min(recess.depth, thickness), fillet=recess.fillet)
        for recess in part.recesses
    ]
    features += [_from_below(one, thickness) for one in part.beneath]
    return features


def _from_below(one: Hole | Recess, thickness: float) -> _Feature:
    """A feature of the other face."""
    deep = min(one.depth or 0.0, thickness)
    paths = (one.area.paths if isinstance(one, Recess)
             else (circle(Point(one.x, one.y), one.diameter / 2),))
    return _Feature(Message("{name} on the other face", name=one.name), "other face", paths,
                    thickness, one.diameter if isinstance(one, Hole) else 0.0, thickness - deep)


def _several(paths: Sequence[Path], spacing: float) -> tuple[Floats, Floats]:
    """Points of several closed paths together."""
    found = [_edge_points(path, spacing) for path in paths]
    return np.concatenate([p for p, _ in found]), np.concatenate([a for _, a in found])


def _edge_points(path: Path, spacing: float) -> tuple[Floats, Floats]:
    """Points along a closed path, at the ends of its pieces and evenly between."""
    points: list[Floats] = []
    apart: list[Floats] = []
    for (at, piece), length in zip(path.laid_out(), path.lengths, strict=True):
        count = max(1, math.ceil(length / spacing))
        share = np.arange(count) / count
        if isinstance(piece, ArcTo):
            radius = math.dist(at, piece.centre)
            begin = math.atan2(at.y - piece.centre.y, at.x - piece.centre.x)
            turn = length / radius if radius else 0.0
            angle = begin + (-turn if piece.clockwise else turn) * share
            x = piece.centre.x + radius * np.cos(angle)
            y = piece.centre.y + radius * np.sin(angle)
        else:
            x = at.x + (piece.end.x - at.x) * share
            y = at.y + (piece.end.y - at.y) * share
        points.append(np.column_stack([x, y]))
        apart.append(np.full(count, length / count))
    return np.concatenate(points), np.concatenate(apart)


def _well_inside(region: shapely.Polygon, points: Floats) -> Flags:
    """(n,) points inside a region and off its edge."""
    inner = region.buffer(-INSIDE)
    shapely.prepare(inner)
    return np.asarray(shapely.contains_xy(inner, points[:, 0], points[:, 1]))


def _true_edges(
    edges: Sequence[Edge], solid: shapely.Polygon, regions: dict[str, shapely.Polygon]
) -> list[Edge]:
    """Edges without the points that lie inside another feature, or outside the part."""
    others = [(edge.name, regions[edge.name].bounds) for edge in edges if edge.name != "outline"]
    outside = solid.buffer(INSIDE)
    shapely.prepare(outside)
    kept = []
    for edge in edges:
        keep = np.ones(len(edge.points), dtype=np.bool_)
        if edge.name != "outline":
            keep &= shapely.contains_xy(outside, edge.points[:, 0], edge.points[:, 1])
        left, low = edge.points.min(axis=0)
        right, high = edge.points.max(axis=0)
        for name, (x0, y0, x1, y1) in others:
            # Most features lie nowhere near.
            if name != edge.name and x0 < right and left < x1 and y0 < high and low < y1:
                keep &= ~_well_inside(regions[name], edge.points)
        kept.append(
            Edge(edge.name, edge.group, edge.points[keep], edge.apart[keep], edge.diameter,
                 edge.finished)
        )
    return kept


def _floors(
    here: Sequence[_Feature], lower: float, thickness: float, spacing: float,
    solid: shapely.Polygon, regions: dict[str, shapely.Polygon],
) -> list[Edge]:
    """Points over every floor that is the bottom of this slice, where nothing deeper is taken."""
    floors = []
    deeper = [regions[f.name] for f in here if f.depth > lower + 1e-9]
    for feature in here:
        if abs(feature.depth - lower) > 1e-9 or lower >= thickness - 1e-9:
            continue
        area = shapely.intersection(regions[feature.name], solid)
        if feature.fillet:
            area = area.buffer(-feature.fillet)
        if deeper:
            area = shapely.difference(area, shapely.union_all(deeper))
        left, low, right, high = area.bounds if not area.is_empty else (0.0, 0.0, 0.0, 0.0)
        step = 2 * spacing
        x, y = np.meshgrid(np.arange(left, right, step), np.arange(low, high, step))
        points = np.column_stack([x.ravel(), y.ravel()])
        points = points[shapely.contains_xy(area, points[:, 0], points[:, 1])]
        floors.append(
            Edge(feature.name, feature.group, points, np.full(len(points), step * step),
                 finished=True, floor=True)
        )
    return floors
