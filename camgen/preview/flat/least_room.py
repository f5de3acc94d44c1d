"""The place of a part that leaves the cutter least room, or least metal: what pictures enlarge."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import Point as Point2

from camgen.part.shape import PartShape
from camgen.shapes.open_side import stretches_inside
from camgen.shapes.path import ArcTo, Path, Point, circle
from camgen.tolerances import ROUGH_CHORD
from camgen.values import dataclass

__all__ = ["LeastRoom", "part_lines", "places_of_least_room"]


@dataclass(frozen=True, slots=True)
class LeastRoom:
    """A tight place: where in the part's frame, its radius or a wall's thickness, what it is.

    The size is in mm, 0 where there is none.
    """

    place: tuple[float, float]
    size: float
    what: str


def places_of_least_room(part: PartShape) -> tuple[LeastRoom, ...]:
    """Where a part leaves the cutter least room or least metal, the tightest first.

    The inside corner of the smallest radius, the smallest hole, the thinnest wall; without any of
    them the first point of the outline.
    """
    found: list[tuple[float, float, float, str]] = []
    for path in (*part.openings, *_walls(part)):
        # An inside corner turns the way its path runs round what is cleared; islands run the other.
        around = path.area < 0 if path in part.openings else False
        for at, piece in path.laid_out():
            if isinstance(piece, ArcTo) and piece.clockwise == around:
                middle = (at.x + piece.end.x) / 2, (at.y + piece.end.y) / 2
                found.append((math.dist(at, piece.centre), *middle, "corner"))
    found += [(hole.diameter / 2, hole.x, hole.y, "hole") for hole in (*part.holes, *part.blind)]
    found += _thinnest_wall(part)
    if not found:
        return (LeastRoom((part.outline.start.x, part.outline.start.y), 0.0, "edge"),)
    least = (min((one for one in found if one[3] == what), default=None)
             for what in ("corner", "hole", "wall"))
    return tuple(LeastRoom((x, y), size, what)
                 for size, x, y, what in sorted(one for one in least if one is not None))


def _thinnest_wall(part: PartShape) -> list[tuple[float, float, float, str]]:
    """The least thickness of metal left between two edges of a part, where there is any."""
    regions = [path.region(ROUGH_CHORD) for path in _edges(part)]
    if len(regions) < 2:
        return []
    solid = regions[0].difference(shapely.union_all([
        *(path.region(ROUGH_CHORD) for path in part.openings),
        *(Point2(hole.x, hole.y).buffer(hole.diameter / 2) for hole in (*part.holes, *part.blind)),
        *(recess.area.region(ROUGH_CHORD) for recess in part.recesses),
    ]))
    rings = np.array([region.exterior for region in regions], dtype=np.object_)
    pairs, apart = shapely.STRtree(rings).query_nearest(
        rings, exclusive=True, return_distance=True, all_matches=False)
    for place in np.argsort(apart, kind="stable").tolist():
        line = shapely.shortest_line(rings[pairs[0, place]], rings[pairs[1, place]])
        middle = shapely.get_coordinates(line).mean(axis=0)
        # A hole in the floor of a recess is near its edge, but no wall stands between.
        if apart[place] > 0 and shapely.contains_xy(solid, *middle):
            return [(float(apart[place]), float(middle[0]), float(middle[1]), "wall")]
    return []


def part_lines(part: PartShape) -> list[Path]:
    """All the lines of a finished part seen from above: outline, openings, holes, recesses.

    Where a recess is open at the part's edge its line ends there.
    """
    return [part.outline, *part.openings, *_circles(part), *_walls(part)]


def _walls(part: PartShape) -> list[Path]:
    """The edges of recesses, as far as they lie in the part."""
    return [stretch for recess in part.recesses for path in recess.area.paths
            for stretch in stretches_inside(path, part.outline)]


def _circles(part: PartShape) -> list[Path]:
    return [circle(Point(hole.x, hole.y), hole.diameter / 2) for hole in (*part.holes, *part.blind)]


def _edges(part: PartShape) -> list[Path]:
    """All closed edges, those of recesses also where they reach over the part's own."""
    return [part.outline, *part.openings, *_circles(part),
            *(path for recess in part.recesses for path in recess.area.paths)]
