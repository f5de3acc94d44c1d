"""A tooth space roughed before it is formed: what is taken, and whether the form is left whole.

Lengths mm, angles degrees; the frame is that of :mod:`camgen.teeth.tooth`.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import rotate, translate

from camgen.teeth.cut.bought import CutterSpace
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = ["Within", "straight_slot", "taken", "within"]

# Chord error of the lines, mm, and how near together points along them are looked at, in modules.
CHORD = 0.0002
APART = 0.05


@dataclass(frozen=True)
class Within:
    """How a rough space lies in the one that is meant: ``beyond`` mm outside it at most, or 0;
    ``left`` mm between the two at the least, or 0; ``radius`` where that is."""

    beyond: float
    left: float
    radius: float


def straight_slot(wide: float) -> CutterSpace:
    """The line of a disc with a straight rim, ``wide`` mm."""
    upper = np.array([0j, 0.5j * wide, wide + 0.5j * wide])
    return CutterSpace(upper.conj(), upper)


def within(
    meant: Tooth, rough: CutterSpace, depth: float, blank_radius: float, *,
    correction: float = 0.0, across: float = 0.0, turned: float = 0.0,
) -> Within:
    """How a rough space, ``depth`` mm below the tip circle, lies in the space that is ``meant``.

    The latter is cut ``correction`` mm deeper than its form has it; the former stands ``across`` mm
    beside the wheel's middle and ``turned`` degrees beside its place.
    """
    sizes = meant.sizes
    over = max(blank_radius - meant.tip_radius, 0.0) + sizes.whole_depth
    form = translate(Polygon(meant.space(CHORD, over + abs(correction))), -correction)
    ring = shapely.segmentize(_set(meant, rough, depth, blank_radius, across, turned).exterior,
                              APART * sizes.module)
    corners = shapely.get_coordinates(ring)
    radii = np.hypot(*corners.T)
    inside = radii <= blank_radius + CHORD
    radii, points = radii[inside], shapely.points(corners[inside])
    if not len(radii):
        return Within(0.0, sizes.whole_depth, blank_radius)
    out = shapely.distance(form, points)
    if out.max() > 0.0:
        worst = int(np.argmax(out))
        return Within(float(out[worst]), 0.0, float(radii[worst]))
    room = shapely.distance(form.exterior, points)
    least = int(np.argmin(room))
    return Within(0.0, float(room[least]), float(radii[least]))


def taken(meant: Tooth, rough: list[tuple[CutterSpace, float]], blank_radius: float) -> float:
    """What rough spaces, each with its depth, take out of a blank at one space together, mm²."""
    blank = shapely.Point(0.0, 0.0).buffer(blank_radius, quad_segs=256)
    spaces = [_set(meant, one, depth, blank_radius) for one, depth in rough]
    return float(shapely.intersection(shapely.union_all(spaces), blank).area)


def _set(
    meant: Tooth, rough: CutterSpace, depth: float, blank_radius: float, across: float = 0.0,
    turned: float = 0.0,
) -> Polygon:
    """A rough space in the wheel, on the +x axis or ``turned`` degrees beside it, out to beyond the
    blank."""
    outer = blank_radius + 0.5 * meant.sizes.whole_depth
    at = Polygon(rough.polygon(meant.tip_radius - depth, outer))
    at = translate(at, 0.0, across) if across else at
    return rotate(at, turned, (0.0, 0.0)) if turned else at
