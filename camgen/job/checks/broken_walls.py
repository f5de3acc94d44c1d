"""Walls of jewels' seats and of threads that a pocket, a slot or an opening breaks into.

A jewel holds by the wall of its seat; where a pocket takes a part of it away it holds by the rest.
That may be meant, so it is told; a seat that has no wall left on one side is refused. Lengths mm,
in the part's frame.
"""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from camgen.faults import Fault
from camgen.job.file import JobFile
from camgen.job.models import Job
from camgen.job.order.deeds import features_of_job
from camgen.messages import Message
from camgen.part.called import thing_called
from camgen.part.features import Hole, Opening, Recess, Thread
from camgen.tolerances import CHECK_CHORD
from camgen.values import dataclass

__all__ = ["wall_faults", "wall_remarks"]

# A share of the way round less than this is only touched.
TOUCHED = 0.01
QUARTER = 32


@dataclass(frozen=True)
class _Broken:
    """A wall that something breaks into, on a ``share`` of its way round; ``left`` is the height
    that it still has there."""

    wall: Hole | Thread
    by: Recess | Opening
    share: float
    left: float

    @property
    def what(self) -> Message:
        by = thing_called(self.by.elsewhere[0], self.by.group or self.by.name)
        if isinstance(self.wall, Thread):
            return Message("the thread of {wall} and {by}", wall=self.wall.name, by=by)
        return Message("the seat {wall} and {by}", wall=self.wall.name, by=by)


def wall_faults(job_file: JobFile) -> Iterator[Fault]:
    """Seats that have no wall left on one side."""
    for one in _broken(job_file.job):
        if isinstance(one.wall, Hole) and one.left <= 0:
            yield Fault(Message("{what} break into each other: on {share:.0%} of its way round "
                                "the seat has no wall", what=one.what, share=one.share),
                        Message("one of them elsewhere, smaller, or a deeper seat"),
                        job_file.place(*one.wall.at, key=True))


def wall_remarks(job: Job) -> tuple[Message, ...]:
    """Walls of seats and threads that are lower, or missing, on a part of their way round."""
    return tuple(dict.fromkeys(
        Message("{wall} and {by} break into each other: on {share:.0f} % of the way round "
                "{left:.2f} mm of the wall are left", wall=one.wall.name,
                by=one.by.group or one.by.name, share=100 * one.share, left=max(one.left, 0.0))
        for one in _broken(job) if isinstance(one.wall, Thread) or one.left > 0))


def _broken(job: Job) -> Iterator[_Broken]:
    thick = job.part.height
    features = features_of_job(job)
    takes = [(one, (one.area if isinstance(one, Recess) else one.path).region(CHECK_CHORD))
             for one in features if isinstance(one, Recess | Opening)]
    for wall in features:
        if isinstance(wall, Thread):
            hole, wide = wall.hole, wall.diameter
        elif isinstance(wall, Hole) and wall.group == wall.at[-1] and "jewels" in wall.elsewhere:
            hole, wide = wall, wall.diameter
        else:
            continue
        ring = shapely.Point(hole.place).buffer(wide / 2, quad_segs=QUARTER).exterior
        for by, region in takes:
            if not region.intersects(ring):
                continue
            share = float(region.intersection(ring).length / ring.length)
            left = _left(hole, by, thick)
            # A seat wholly within a pocket stands lower; it has its wall all round.
            if TOUCHED < share < 1 - TOUCHED or (share >= 1 - TOUCHED and left <= 0):
                yield _Broken(wall, by, share, left)


def _left(hole: Hole, by: Recess | Opening, thick: float) -> float:
    """How high a hole's wall still is where something breaks into it."""
    deep = thick if hole.depth is None else hole.depth
    if isinstance(by, Opening):
        return 0.0
    if hole.depth is None or by.face == hole.face:
        return deep - by.depth
    return deep - max(0.0, deep - (thick - by.depth))
