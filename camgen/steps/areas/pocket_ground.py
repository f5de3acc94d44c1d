"""Ground that is free of metal before a pocket step: air, and what earlier steps have taken.

Lengths mm.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from camgen.job.models import StepWords
from camgen.layout import FlatLayout
from camgen.part.features import Hole, Recess
from camgen.shapes.offset import Area, offset
from camgen.shapes.open_side import OpenArea, opened
from camgen.shapes.path import Path
from camgen.steps.holes.bore import Bore
from camgen.steps.holes.drill import DrillHoles
from camgen.steps.holes.which_holes import holes_chosen as chosen_holes
from camgen.steps.holes.which_holes import point_length
from camgen.steps.kind import FlatBench
from camgen.steps.walls.contour import finish_left
from camgen.steps.walls.outline import Outline
from camgen.tolerances import GROUND_CHORD, ROUGH_CHORD
from camgen.values import dataclass

__all__ = [
    "Drilled",
    "Gone",
    "air",
    "areas_of",
    "drilled_before",
    "earlier_steps",
    "groove",
    "ground_at",
    "reached",
]

# What regions are drawn in by, mm, so that no metal is taken for gone.
LESS = 0.001
# Air is looked at so far about the part, mm. The cutter comes from outside over an edge of the
# stock that lies at most so many of its radii beyond that of the part.
ABOUT = 20.0
OVER = 2.0
# A wall is begun and ended so many radii beyond the part's edge, so that it shows no mark.
LEAD = 0.3
# Room beside the cutter where it is set down in air, mm.
BESIDE = 0.05


@dataclass(frozen=True)
class Gone:
    """A ``region`` in the part's frame that is free of metal to ``depth`` mm below the face."""

    region: BaseGeometry
    depth: float


@dataclass(frozen=True)
class Drilled:
    """A hole that earlier steps have made: as wide down to ``depth`` mm below the face, and with
    the ``point`` of its drill, mm, below that."""

    hole: Hole
    radius: float
    depth: float
    point: float = 0.0

    @property
    def region(self) -> BaseGeometry:
        """Seen from above, no more than is gone."""
        return shapely.Point(self.hole.x, self.hole.y).buffer(self.radius - LESS, quad_segs=32)


def ground_at(gone: Sequence[Gone], depth: float) -> BaseGeometry | None:
    """What is free of metal down to ``depth`` mm below the face; None where nothing is."""
    deep = [one.region for one in gone if one.depth >= depth - 1e-9 and not one.region.is_empty]
    return shapely.union_all(deep) if deep else None


def areas_of(
    layout: FlatLayout, recess: Recess, radius: float, left: float
) -> tuple[OpenArea, ...]:
    """A pocket's areas as a cutter clears them: over the part's edge where it reaches that.

    Where the stock ends there too, so far that the cutter can be set down beside it. Raises Refused
    when there is no room over the edge.
    """
    gap = _gap(air(layout), layout, recess)
    beside = radius + gap + BESIDE if gap <= OVER * radius else 0.0
    further = left + max(beside, LEAD * radius)
    return _opened(recess.area, layout.part.outline, radius, further)


@lru_cache(maxsize=64)
def _opened(area: Area, outline: Path, radius: float, extra: float) -> tuple[OpenArea, ...]:
    """Kept, because the check asks first and the plan then wants the same."""
    return opened(area, outline, radius, extra)


def air(layout: FlatLayout) -> BaseGeometry:
    """What lies beside the stock about every piece, in the part's frame."""
    x0, y0, x1, y1 = layout.part.outline.region(ROUGH_CHORD).bounds
    stocks = [translate(layout.stock, -x, -y) for x, y in layout.places]
    about = shapely.box(x0 - ABOUT, y0 - ABOUT, x1 + ABOUT, y1 + ABOUT)
    return about.difference(shapely.union_all(stocks))


def _gap(clear: BaseGeometry, layout: FlatLayout, recess: Recess) -> float:
    """How far the stock goes on beyond the part's edge where a pocket is open, at the least, mm."""
    edge = layout.part.outline.region(GROUND_CHORD).exterior
    side = edge.intersection(recess.area.region(GROUND_CHORD).buffer(LESS))
    if side.length < LESS or clear.is_empty:
        return math.inf
    return float(clear.distance(side))


def reached(
    areas: Sequence[OpenArea], radius: float, left: float, corner: float = 0.0
) -> BaseGeometry:
    """What a cutter has cleared that left ``left`` mm on every wall, seen from above; without the
    fillet of its ``corner``."""
    return _reached(tuple(one.area for one in areas), radius, left, corner)


@lru_cache(maxsize=64)
def _reached(areas: tuple[Area, ...], radius: float, left: float, corner: float) -> BaseGeometry:
    """Kept, because every later step asks it of the ones before."""
    inner = [part for one in areas for part in offset(one, -radius - left)]
    return shapely.union_all(
        [part.region(GROUND_CHORD / 4).buffer(radius - corner - LESS, quad_segs=64)
         for part in inner]
    )


def earlier_steps(bench: FlatBench) -> Iterator[tuple[FlatBench, StepWords]]:
    """The steps of the setup before this one, each with its bench."""
    for number, words in enumerate(bench.setup.steps[: bench.number]):
        yield dataclasses.replace(bench, number=number), words


def groove(earlier: FlatBench, words: Outline) -> Gone:
    """What an earlier step has cut round the outline, down to its skin or its tabs."""
    layout = earlier.layout
    part = layout.part.outline.region(GROUND_CHORD)
    wide = earlier.cutter.diameter + finish_left(earlier, words) - LESS
    kept = words.skin or (words.tabs.height if words.tabs is not None else 0.0)
    ring = part.buffer(wide, quad_segs=32).difference(part.buffer(LESS))
    return Gone(ring, layout.face - layout.bottom - kept)


def drilled_before(bench: FlatBench) -> list[Drilled]:
    """Every hole that an earlier step of the setup has drilled or bored."""
    layout = bench.layout
    found: list[Drilled] = []
    for earlier, words in earlier_steps(bench):
        if isinstance(words, DrillHoles):
            drill = earlier.cutter
            for hole in chosen_holes(layout, words.holes):
                deep = hole.depth if words.depth is None else words.depth
                point = point_length(drill)
                if deep is None:
                    deep = math.inf
                elif words.depth is None and drill.diameter < hole.diameter - 1e-9:
                    deep -= point
                found.append(Drilled(hole, drill.diameter / 2, deep, point))
        elif isinstance(words, Bore):
            found += [
                Drilled(hole, hole.diameter / 2, math.inf if hole.depth is None else hole.depth)
                for hole in chosen_holes(layout, words.holes)
            ]
    return found
