"""How a piece comes to lie on its dowels, for the sheet and the pictures."""

from __future__ import annotations

from camgen.job.models import FlatSetup, Job
from camgen.layout import FlatLayout, hub_beneath
from camgen.part.features import Hole
from camgen.sheet.data import Dowel, TurningOver
from camgen.words import Words

__all__ = ["lies", "stand_of_dowels", "turning_of"]

# Of the thickness left at a dowel, so much it may stand above the carrier. Common practice, no
# source.
STAND_SHARE = 0.8


def lies(layout: FlatLayout, say: Words) -> str:
    """How the piece lies, in a line beneath a picture's title."""
    if not layout.lies_by:
        return say("pictures", "lies-turned", axis=layout.turned)
    on = "lies-in" if layout.indicated else "lies-spigot" if len(layout.dowels) == 1 else "lies"
    return say("pictures", f"{on}-{layout.side}", axis=layout.turned, name=layout.lies_by[0].name)


def turning_of(job: Job, setup: FlatSetup, layout: FlatLayout) -> TurningOver | None:
    """The procedure's values; None where the zero is no hole."""
    if not layout.lies_by:
        return None
    dowels = tuple(Dowel(one.name, one.diameter, one.x, one.y) for one in layout.lies_by)
    return TurningOver(
        face=layout.side,
        axis=layout.turned,
        dowels=dowels,
        stand=stand_of_dowels(layout),
        alike=len(dowels) > 1 and len({round(one.diameter, 6) for one in dowels}) == 1,
        check=_check(setup, layout) if len(dowels) > 1 else None,
        solid=setup.stock.left_by is not None,
        indicated=bool(layout.indicated),
        hub=hub_beneath(job, setup, layout),
    )


def stand_of_dowels(layout: FlatLayout) -> float:
    """How far dowels may stand above the carrier: clear of the face, and of what is over them."""
    return STAND_SHARE * (layout.face - layout.bottom - layout.over_dowels)


def _check(setup: FlatSetup, layout: FlatLayout) -> Dowel | None:
    """The hole made before that tells best whether the piece lies turned by half a turn.

    Turned so about the middle of the dowels, no hole would come near where it should be.
    """
    x, y = layout.places[0]
    made_here = {name for step in setup.steps for made in step.declares().holes
                 for name in made.holes.names or ()}
    names = {one.name for one in layout.dowels} | made_here
    middle = complex(sum(one.x for one in layout.dowels), sum(one.y for one in layout.dowels))
    middle /= len(layout.dowels)
    there = {hole: complex(hole.x + x, hole.y + y) for hole in layout.part.holes
             if hole.name not in names and hole.group not in names}

    def told(hole: Hole) -> float:
        back = 2 * middle - there[hole]
        return round(min(abs(back - at) for at in there.values()), 6)

    best = max(there, key=told, default=None)
    if best is None:
        return None
    at = there[best]
    return Dowel(best.name, best.diameter, at.real, at.imag)
