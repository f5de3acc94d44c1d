"""Tooth cutting seen in the plane of the arbor and the infeed, whatever the machine's axes.

``along`` is the position of the cutter's axis from the free face towards the head, ``away`` its
distance from the work's axis, ``depth`` how far the cutter's edge is below the finished tip circle;
all mm. A disc cutter is a circle in this plane, the work a row of rectangles.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import shapely

from camgen.arrays import Flags, Floats, Ints, distinct_rows
from camgen.job.on_arbor import Turned
from camgen.proof.evidence import HeadEvidence
from camgen.values import dataclass

__all__ = ["HeadWay", "clearances", "head_way"]


@dataclass(frozen=True)
class HeadWay:
    """The motion in the head's frame, n pieces.

    ``along``, ``away``, ``depth`` and ``across`` are (n, 2): at each piece's start and end;
    ``disc`` (n,) is the radius of the cutter over its points.
    """

    along: Floats
    away: Floats
    depth: Floats
    across: Floats
    disc: Floats

    def segments(self, rows: Ints) -> Floats:
        """(m, 2, 2) ways of the cutter's axis in the plane, along and away."""
        return np.stack([self.along[rows], self.away[rows]], axis=2)


def head_way(evidence: HeadEvidence) -> HeadWay:
    """The motion of a tooth-cutting setup in the head's frame."""
    layout = evidence.layout
    points = np.stack([evidence.motion.start, evidence.motion.end], axis=1)
    unknown = np.isnan(points[:, 0])
    points[:, 0][unknown] = points[:, 1][unknown]
    arrangement = layout.arrangement
    along = _signed(points, arrangement.along)
    infeed = _signed(points, arrangement.infeed)
    across = points[:, :, "XYZ".index(arrangement.across)]
    disc = evidence.cutter_radius
    tip = layout.tooth.sizes.tip_diameter / 2
    depth = infeed if layout.zero == "touch" else tip + disc[:, None] + infeed
    away = tip + disc[:, None] - depth
    return HeadWay(along, away, depth, across, disc)


def _signed(points: Floats, axis: str) -> Floats:
    """(n, 2) coordinates along a signed axis."""
    return points[:, :, "XYZ".index(axis[1])] * (-1.0 if axis[0] == "-" else 1.0)


def clearances(segments: Floats, radius: Floats, bodies: Iterable[Turned]) -> Floats:
    """(m,) room, mm, between a disc whose axis goes along each segment and the work.

    Negative where it cuts into it. Segments (m, 2, 2) run in along and away; segments that are the
    same, as those of all tooth spaces are, are reckoned once.
    """
    if not len(segments):
        return np.zeros(0)
    flat = np.column_stack([segments.reshape(-1, 4), radius])
    known = np.all(np.isfinite(flat), axis=1)
    room = np.full(len(flat), np.nan)
    if not np.any(known):
        return room
    first, back = distinct_rows(np.rint(flat[known] * 1e7).astype(np.int64))
    distinct = flat[known][first]
    lines = shapely.linestrings(distinct[:, :4].reshape(-1, 2, 2))
    nearest = np.full(len(distinct), math.inf)
    for one in bodies:
        body = shapely.Polygon(one.profile)
        # A line that goes nowhere is right, but makes the geometry engine divide by nothing.
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            away = shapely.distance(lines, body)
        nearest = np.minimum(nearest, away - distinct[:, 4])
    room[known] = nearest[back]
    return room


def touches(room: Floats) -> Flags:
    """(m,) where there is no room; unknown counts as none."""
    return np.asarray(~(room > -1e-6))
