"""Cutting the part's outline, which sets it free of the stock."""

import math
from functools import lru_cache
from typing import ClassVar

import numpy as np
import shapely
import shapely.affinity

from camgen.faults import Fault, no_more
from camgen.messages import Message
from camgen.part.declaration import Declaration, MakesOutline
from camgen.part.tight import tight_corners
from camgen.shapes.offset import Area, offset
from camgen.shapes.path import Path, Point
from camgen.steps.kind import FlatBench, PlannedStep, StepKind
from camgen.steps.walls.contour import (
    FINISH_SHARE,
    ContourCut,
    ContourWords,
    closed_wall,
    contour_faults,
    finish_left,
    plan_contours,
    unheld,
)
from camgen.steps.walls.corners import corner_faults
from camgen.steps.walls.web import at_web
from camgen.tolerances import AREA_CHORD

__all__ = ["OUTLINE", "Outline"]


# No smaller cutter is a remedy, mm. Common practice, no source.
LEAST_CUTTER = 0.05


class Outline(ContourWords):
    """Cut the part out of the stock."""

    kind: ClassVar[str] = "outline"
    called: ClassVar[Message] = Message("outline")

    def declares(self) -> Declaration:
        """The part's edge."""
        return self.declared(MakesOutline())


@lru_cache(maxsize=16)
def _grown(outline: Path, away: float) -> Area | None:
    """None where no one way goes round. Kept: the check asks first, the plan wants the same."""
    grown = offset(Area(outline), away)
    return grown[0] if len(grown) == 1 else None


def _around(bench: FlatBench, away: float) -> tuple[Path, list[Fault]]:
    """The centre path of a cutter ``away`` mm outside the outline, anticlockwise."""
    grown = _grown(bench.layout.part.outline, away)
    if grown is None:
        return bench.layout.part.outline, [Fault(
            Message("no way is found round the outline {away:g} mm off it: somewhere it nearly "
                    "touches itself or turns back", away=away),
            Message("look at its shortest pieces and its corners; or a cutter of another diameter"),
            bench.place("cutter"))]
    if not grown.islands:
        return grown.outer, []
    return grown.outer, [
        Fault(
            Message("the outline closes on itself before the cutter can enter: a hollow in it is "
                    "narrower than the cutter, {diameter:g} mm", diameter=bench.cutter.diameter),
            Message("a smaller cutter"),
            bench.place("cutter"),
        )
    ]


def _cut(bench: FlatBench, words: Outline) -> ContourCut:
    """The outline of one piece, in its own frame."""
    radius = bench.cutter.diameter / 2 + words.correction
    last, _ = _around(bench, radius)
    rough, _ = _around(bench, radius + finish_left(bench, words))
    return closed_wall(bench, words, rough, last, outside=True)


def _standing(bench: FlatBench, words: Outline) -> FlatBench:
    """The bench with the metal as it stands where the outline is cut."""
    radius = bench.cutter.diameter / 2
    way, _ = _around(bench, radius + words.correction + finish_left(bench, words))
    return at_web(bench, (way,), radius)


def _narrow(bench: FlatBench, words: Outline) -> list[Fault]:
    """A hollow, as a slot open at the edge, that the cutter goes into for the last pass alone, or
    not at all: there it would cut its full width at the feed of a thin cut."""
    left, own = finish_left(bench, words), bench.cutter.diameter
    away = own / 2 + words.correction + left
    place = _too_far(bench.layout.part.outline, away, left)
    if place is None:
        return []
    low, high = 0.0, away
    for _ in range(10):
        middle = (low + high) / 2
        if _too_far(bench.layout.part.outline, middle, left) is None:
            low = middle
        else:
            high = middle
    most = (2 * (low - words.correction - left) if words.finish is not None
            else (low - words.correction) / (0.5 + FINISH_SHARE))
    return [Fault(
        Message("a hollow of the outline is too narrow about X {x:.2f} Y {y:.2f} for a cutter of "
                "{diameter:g} mm and the {left:g} mm that it leaves on each wall for the last pass",
                x=place.x, y=place.y, diameter=own, left=left),
        Message("a cutter of at most {most} mm", most=no_more(most, 0.01))
        if most > LEAST_CUTTER else Message("a smaller cutter"), bench.place("cutter"))]


def _too_far(outline: Path, away: float, left: float) -> Point | None:
    """The place of an outline that is much further from the way ``away`` mm outside it than that;
    None where none is. In a corner it is by what is ``left``, over the sine of half its angle."""
    grown = _grown(outline, away)
    if grown is None:
        return None
    points = outline.points(AREA_CHORD)
    edge = grown.outer.region(AREA_CHORD).exterior
    far = np.asarray(shapely.distance(shapely.points(points), edge))
    number = int(far.argmax())
    if far[number] <= away + max(4 * left, away - left):
        return None
    return Point(*map(float, points[number]))


def check(bench: FlatBench, words: Outline) -> list[Fault]:
    """Faults seen without planning."""
    bench = _standing(bench, words)
    faults = contour_faults(bench, words) + unheld(bench, words, Message("the piece"))
    if faults:
        return faults
    layout, radius = bench.layout, bench.cutter.diameter / 2
    faults += _around(bench, radius + words.correction + finish_left(bench, words))[1]
    faults += corner_faults(
        bench, tight_corners(layout.part.outline, radius + words.correction, outside=True),
        words.correction)
    faults = faults or _narrow(bench, words)
    need = 2 * radius + finish_left(bench, words) + words.correction
    region = layout.part.outline.region(AREA_CHORD)
    first = shapely.affinity.translate(region, *layout.places[0])
    nearest = min(
        (first.distance(shapely.affinity.translate(region, x, y)) for x, y in layout.places[1:]),
        default=math.inf,
    )
    if nearest < need:
        faults.append(
            Fault(
                Message("between the pieces {nearest:.2f} mm are left, the cutter needs {need:.2f} "
                        "mm", nearest=nearest, need=need),
                Message("a larger `{repeat}` or a smaller cutter", repeat="repeat: {pitch: …}"),
                bench.place("cutter"),
            )
        )
    return faults


def plan(bench: FlatBench, words: Outline) -> PlannedStep:
    """The outline of every piece."""
    bench = _standing(bench, words)
    return plan_contours(bench, words, [_cut(bench, words)], words.called)


OUTLINE = StepKind("outline", Outline, check, plan)
