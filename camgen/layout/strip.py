"""The second side of a stock turned over as one: where its parts lie, by the dowels in its frame.

Lengths mm.
"""

from __future__ import annotations

from dataclasses import replace

from shapely import Polygon
from shapely.affinity import scale, translate
from shapely.geometry.base import BaseGeometry

from camgen.job.models import FlatSetup, Job
from camgen.layout.flat import FlatLayout, flat_layout
from camgen.part.features import Hole
from camgen.shapes.mirror import MirrorAxis, mirrored
from camgen.shapes.path import Point
from camgen.values import dataclass

__all__ = ["Strip"]


@dataclass(frozen=True)
class Strip:
    """A stock that is turned over about ``axis``: its plan and its ``dowels``' holes on the first
    side, the zero's first, in that side's frame."""

    stock: Polygon
    dowels: tuple[Hole, ...]
    axis: MirrorAxis

    def region(self, first: BaseGeometry) -> Polygon:
        """Where a region of the first side lies on the second."""
        zero = self.dowels[0].place
        flip_x, flip_y = -1.0 if self.axis == "Y" else 1.0, -1.0 if self.axis == "X" else 1.0
        there = scale(translate(first, -zero.x, -zero.y), flip_x, flip_y, origin=(0.0, 0.0))
        assert isinstance(there, Polygon)
        return there

    @property
    def on_second(self) -> tuple[Hole, ...]:
        """The dowels as they stand on the second side, the first at its zero."""
        zero = self.dowels[0].place
        return tuple(replace(one, place=mirrored(
            Point(one.place.x - zero.x, one.place.y - zero.y), self.axis)) for one in self.dowels)

    def layout(self, job: Job, setup: FlatSetup) -> FlatLayout:
        """The layout of a part's setup on this stock, turned over where it is not the first.

        Raises Refused for parts that cannot be.
        """
        made = flat_layout(job, setup)
        if setup == job.flat[0]:
            return made
        return replace(made, stock=self.region(self.stock), dowels=self.on_second)
