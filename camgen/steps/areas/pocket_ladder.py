"""Whether a pocket is cleared as a ladder of slots or by passes of bounded engagement: by time.

Slots take most metal in a minute where they go down to the floor in few levels; a narrow cut goes
deeper at once and may be fed faster. Both are planned under all limits, and what is done sooner is
taken; the answer says what, and how long the other would take. Lengths mm, times s.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import shapely
from shapely.geometry.base import BaseGeometry

from camgen.clearing.clearing import Entry
from camgen.clearing.ladder import Ladder, ladder
from camgen.cutting.planner import CutPlan
from camgen.faults import Refused
from camgen.shapes.offset import Area
from camgen.shapes.path import Point
from camgen.shop.cutters import least_round
from camgen.steps.areas.pocket_words import PocketStep, pockets_chosen
from camgen.steps.cuts import milling
from camgen.steps.kind import FlatBench
from camgen.tolerances import AREA_CHORD, TOUCHING_AREA
from camgen.values import dataclass

__all__ = ["Chosen", "bounded_cut", "by_ladder", "slot_cut", "width_of"]

# Radial depths that a pass of bounded engagement may have, as shares of the cutter's diameter: from
# what is usual to what still is a narrow cut. A wider one is taken where it clears so many times as
# much in a minute. Common practice, no source.
WIDTH_SHARES = (0.15, 0.2, 0.25, 0.3, 0.4)
WORTH_WIDER = 1.05

# Passes of bounded engagement and the skins they leave take so many times as long as their metal at
# the full rate. Measured on the areas of the tests: 1.2 to 1.6.
BOUNDED_OVER = 1.3

# What bounds the depth of a slot whatever the load.
DEEPEST = ("flute length", "depth in practice", "height of the cone", "heat of the edge")

# The way down into one part of where the centre may go, and where it is entered.
WaysIn = tuple[tuple[Entry, Point], ...]


@dataclass(frozen=True)
class Chosen:
    """A ladder that was chosen: its ways and the cut they are planned for, in so many ``levels``;
    the time it and the other way are reckoned to take."""

    found: Ladder
    cut: CutPlan
    levels: int
    seconds: float
    bounded: float


def slot_cut(bench: FlatBench, deep: float) -> tuple[CutPlan, int]:
    """The cut as wide as the cutter that is soonest ``deep`` mm down, and in how many levels.

    As deep at once as chips of full thickness allow, or in fewer levels with thinner chips: as far
    as practice goes either way. Raises Refused if it cannot be.
    """
    wide = bench.cutter.diameter
    most = milling(bench, wide, deep)
    practice = min(limit.value for limit in most.limits if limit.name in DEEPEST)
    fewest = min(most.passes, max(1, math.ceil(deep / practice - 1e-9)))
    found: list[tuple[float, int, CutPlan]] = []
    for count in range(fewest, most.passes + 1):
        try:
            cut = milling(bench, wide, deep / count, at_once=True, speed=most.speed)
        except Refused:
            continue
        found.append((count / cut.feed, count, cut))
    if not found:
        return most, most.passes
    _, levels, cut = min(found, key=lambda one: one[:2])
    return cut, levels


def bounded_cut(bench: FlatBench, words: PocketStep) -> CutPlan:
    """The cut of passes of bounded engagement. Raises Refused if it cannot be."""
    return milling(bench, width_of(bench, words), _deepest(bench, words))


def width_of(bench: FlatBench, words: PocketStep) -> float:
    """Radial depth of a pass of bounded engagement, mm: as the job says, else of those that are
    usual the one that clears most in a minute under all limits, in the levels that it takes."""
    if words.width is not None:
        return words.width
    deep = _deepest(bench, words)
    best, most = WIDTH_SHARES[0] * bench.cutter.diameter, 0.0
    for share in WIDTH_SHARES:
        width = share * bench.cutter.diameter
        try:
            cut = milling(bench, width, deep)
        except Refused:
            continue
        rate = width * cut.feed / math.ceil(deep / cut.depth - 1e-9)
        if rate > most * WORTH_WIDER:
            best, most = width, rate
    return best


def _deepest(bench: FlatBench, words: PocketStep) -> float:
    return max(recess.depth for recess in pockets_chosen(bench, words))


def by_ladder(
    bench: FlatBench, words: PocketStep, area: Area, ground: BaseGeometry | None, deep: float,
    left: float, ways_in: Sequence[tuple[Entry, Point]] = (),
) -> Chosen | None:
    """The ladder that clears ``area`` ``deep`` mm down, where it is the sooner way.

    None where the job says how wide a pass is, where ground is free already, and where the cutter
    finds no way down round the edge.
    """
    if words.width is not None:
        return None
    if ground is not None and ground.intersection(area.region(AREA_CHORD)).area >= TOUCHING_AREA:
        return None
    cutter = bench.cutter
    found = _laddered(area, cutter.diameter / 2, cutter.corner_radius, left,
                      least_round(cutter), tuple(ways_in))
    if found is None:
        return None
    try:
        (slot, levels), narrow = slot_cut(bench, deep), bounded_cut(bench, words)
    except Refused:
        # The planner refuses the step in its own words.
        return None
    seconds = 60 * found.length / slot.feed * levels
    bounded = 60 * found.size / (narrow.width * narrow.feed) * BOUNDED_OVER * math.ceil(
        deep / narrow.depth - 1e-9)
    return Chosen(found, slot, levels, seconds, bounded) if seconds <= bounded else None


@lru_cache(maxsize=512)
def _laddered(
    area: Area, radius: float, corner: float, left: float, least: float, ways_in: WaysIn
) -> Ladder | None:
    """Kept, because the check asks first and the plan then wants the same."""
    def way_in(part: Area) -> tuple[Entry, Point] | None:
        region = part.region(AREA_CHORD).buffer(AREA_CHORD)
        return next((one for one in ways_in if region.contains(shapely.Point(one[1]))), None)

    return ladder(area, radius, left, corner=corner, least_round=least,
                  way_in=way_in if ways_in else None)
