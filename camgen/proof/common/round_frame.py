"""Turned work in the head seen along its axis, from above and in sections, whatever the machine's
axes.

``along`` counts from the free end towards the head, ``out`` is how far the cutter's end is from the
work's axis, ``right`` how far its axis passes beside it as seen from the free end with the cutter
above; all mm. ``turned`` is the angle of the work that lies under the cutter, degrees,
anticlockwise as seen from the free end.
"""

from __future__ import annotations

import numpy as np

from camgen.arrays import Floats, Ints
from camgen.layout import RoundLayout
from camgen.proof.common.rapid_ways import ways_of
from camgen.proof.evidence import RoundEvidence
from camgen.values import dataclass

__all__ = ["RoundWay", "in_frame", "rapid_legs", "round_way"]


@dataclass(frozen=True)
class RoundWay:
    """The motion in the work's frame, n pieces: (n, 2) at start and end; ``turned`` and ``radius``
    of the cutter (n,)."""

    along: Floats
    right: Floats
    out: Floats
    turned: Floats
    radius: Floats

    def plane(self, rows: Ints) -> Floats:
        """(m, 2, 2) ways of the cutter's axis seen along it: along and right."""
        return np.stack([self.along[rows], self.right[rows]], axis=2)


def in_frame(layout: RoundLayout, points: Floats) -> Floats:
    """Points (..., 3) of the machine as along, right and out (..., 3)."""
    arrangement = layout.arrangement

    def signed(axis: str) -> Floats:
        sign = -1.0 if axis[0] == "-" else 1.0
        return np.asarray(points[..., "XYZ".index(axis[1])] * sign)

    into = signed(arrangement.infeed)
    from_zero = layout.thickest if layout.zero == "touch" else 0.0
    right = points[..., "XYZ".index(arrangement.across)] * layout.handed
    return np.stack([signed(arrangement.along), right, from_zero - into], axis=-1)


def round_way(evidence: RoundEvidence) -> RoundWay:
    """The motion of a setup of turned work in the work's frame."""
    layout, motion = evidence.layout, evidence.motion
    points = np.stack([motion.start, motion.end], axis=1)
    unknown = np.isnan(points[:, 0])
    points[:, 0][unknown] = points[:, 1][unknown]
    seen = in_frame(layout, points)
    # The head turns as a right-hand screw along + of its axis (ISO 841): seen from a free end that
    # looks towards + the work turns anticlockwise, and what lies under the cutter comes clockwise.
    sense = -1.0 if layout.arrangement.along[0] == "-" else 1.0
    return RoundWay(seen[..., 0], seen[..., 1], seen[..., 2], sense * motion.angle_end,
                    evidence.cutter_radius)


def rapid_legs(evidence: RoundEvidence, rows: Ints) -> Floats:
    """(m, 6, 2, 3) legs of rapid moves, dog-legged and straight, in the work's frame."""
    corners = in_frame(evidence.layout, ways_of(evidence, rows))
    legs = np.stack([corners[:, :, :-1], corners[:, :, 1:]], axis=3)
    return legs.reshape(len(rows), 6, 2, 3)
