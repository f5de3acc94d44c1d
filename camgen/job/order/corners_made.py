"""Which corners, left to a file, the steps of a setup leave."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from camgen.job.models import StepWords
from camgen.part.declaration import Made, MakesOpenings, MakesOutline, MakesPockets
from camgen.part.shape import CornerStanding, PartShape

__all__ = ["corners_made"]


def corners_made(
    steps: Sequence[StepWords], part: PartShape
) -> Iterator[tuple[CornerStanding, float]]:
    """Each corner of a part that the steps of a setup leave, and what they were asked to leave on
    its walls beside, mm."""
    for one in part.corners_left:
        walls = [says.added("wall") for says in (step.declares() for step in steps)
                 if any(_leaves(made, one) for made in says.makes)]
        if walls:
            yield one, walls[-1]


def _leaves(made: Made, one: CornerStanding) -> bool:
    match made:
        case MakesOutline():
            return one.word == "outline"
        case MakesOpenings():
            return one.word == "openings" and made.openings.means(one.name)
        case MakesPockets():
            return one.word == "pockets" and made.pockets.means(one.name)
        case _:
            return False
