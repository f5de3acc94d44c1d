"""Pieces of work cut just like one before them: what was looked at once need not be again."""

from __future__ import annotations

import numpy as np
import shapely

from camgen.arrays import Flags
from camgen.layout import FlatLayout
from camgen.proof.ground.plan_cuts import PlanCuts
from camgen.tolerances import ROUGH_CHORD

__all__ = ["alike"]

# Cuts so far beside a piece of work, mm, still have to do with it.
BESIDE = 0.1


def alike(layout: FlatLayout, cuts: PlanCuts) -> tuple[tuple[int, ...], Flags]:
    """Numbers of the pieces of work cut otherwise than every earlier one, and (k,) repeated cuts.

    A cut near two pieces of work counts with both, and is repeated only where both are.
    """
    again = np.zeros(len(cuts), dtype=np.bool_)
    if len(layout.places) < 2 or not len(cuts):
        return tuple(range(min(len(layout.places), 1))), again
    left, low, right, high = layout.part.outline.region(ROUGH_CHORD).bounds
    x, y = np.array(layout.places).T
    wide = BESIDE
    which, near = cuts.tree.query(
        shapely.box(left + x - wide, low + y - wide, right + x + wide, high + y + wide)
    )
    begins = np.searchsorted(which, np.arange(len(layout.places) + 1))
    known: dict[bytes, int] = {}
    once = np.zeros(len(cuts), dtype=np.bool_)
    for number, (px, py) in enumerate(layout.places):
        here = np.sort(near[begins[number] : begins[number + 1]])
        key = cuts.only(here).moved(-px, -py).key
        if known.setdefault(key, number) == number:
            once[here] = True
        else:
            again[here] = True
    return tuple(known.values()), np.asarray(again & ~once)
