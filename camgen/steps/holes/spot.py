"""Spotting: a small cone that a drill finds its way by."""

import math
from collections.abc import Sequence
from typing import ClassVar

from pydantic import Field

from camgen.faults import Fault, no_more
from camgen.job.models import StepWords
from camgen.messages import Message
from camgen.part.declaration import Declaration, MakesCones, MakesMarks, Named
from camgen.part.features import Hole
from camgen.shop.cutters import Ability
from camgen.shop.model import Length
from camgen.steps.cuts import drilling
from camgen.steps.holes.countersink import DWELL, none_sunk, sink_faults
from camgen.steps.holes.which_holes import (
    drill_strokes,
    holes_chosen,
    names_without_hole,
    point_length,
    too_short,
)
from camgen.steps.kind import FlatBench, PlannedStep, StepKind

__all__ = ["SPOT", "Spot"]

# Width of the cone against the hole's, so that nothing of it is left after drilling, and its depth
# against the stock's, so that thin stock keeps its floor. Common practice, no source.
CONE_SHARE = 0.8
DEPTH_SHARE = 0.5
# Middles that are the same, and widths, differ by no more, mm.
SAME_PLACE, SAME_WIDTH = 1e-6, 0.003


class Spot(StepWords):
    """Mark holes with a cone."""

    kind: ClassVar[str] = "spot"
    called: ClassVar[Message] = Message("spot")
    holes: tuple[str, ...] | None = Field(None, description="names of holes; all when left out")
    depth: Length | None = Field(
        None, description="depth of the cone; else to suit the hole and the stock"
    )

    countersinks: bool = Field(
        False, description="holes that are countersunk are spotted to the width of their "
        "countersink, with the cutter's own angle: no step for it is needed later"
    )

    def declares(self) -> Declaration:
        """A mark at each hole, and with the word the cones of those that shall have one."""
        marks = MakesMarks(Named(self.holes), self.depth, CONE_SHARE)
        if not self.countersinks:
            return Declaration((marks,), (Ability.SPOT,))
        return Declaration((marks, MakesCones(Named(self.holes))), (Ability.SPOT_AND_SINK,))


def _depth(bench: FlatBench, words: Spot, diameter: float) -> float:
    layout = bench.layout
    if words.depth is not None:
        return words.depth
    width = min(CONE_SHARE * diameter, bench.cutter.diameter)
    return min(point_length(bench.cutter, width), DEPTH_SHARE * (layout.face - layout.bottom))


def _sunk(bench: FlatBench, words: Spot) -> tuple[Hole, ...]:
    """The holes whose cone this step makes too."""
    return tuple(hole for hole in holes_chosen(bench.layout, words.holes)
                 if words.countersinks and bench.layout.part.cone_width(hole))


def check(bench: FlatBench, words: Spot) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need() + names_without_hole(bench, words.holes)
    layout = bench.layout
    sunk = _sunk(bench, words)
    if words.countersinks and not sunk and not faults:
        faults.append(none_sunk(bench))
    for hole in sunk if not faults else ():
        faults += sink_faults(bench, hole)
    if words.depth is not None and layout.face - words.depth < layout.floor:
        faults.append(
            Fault(
                Message("spotting {depth:g} mm deep goes below what may be cut into",
                        depth=words.depth),
                Message("a smaller `depth`"),
                bench.place("depth"),
            )
        )
    if not faults:
        faults = [fault for hole in holes_chosen(layout, words.holes)
                  for fault in too_short(bench, hole, layout.face - _depth(
                      bench, words, hole.diameter))]
    return list(dict.fromkeys(faults)) or _wider_than_its_hole(bench, words)


def _wider_than_its_hole(bench: FlatBench, words: Spot) -> list[Fault]:
    """Cones of a depth said at which they are wider than the hole and what it has at its mouth."""
    layout, cutter = bench.layout, bench.cutter
    slope = 2 * math.tan(math.radians(cutter.cone_angle / 2))
    if words.depth is None:
        return []
    for hole in holes_chosen(layout, words.holes):
        wide = min(cutter.tip + words.depth * slope, cutter.diameter)
        about = [one.diameter for one in (*layout.part.holes, *layout.part.blind)
                 if math.dist((one.x, one.y), (hole.x, hole.y)) < SAME_PLACE]
        room = max(*about, layout.part.cone_width(hole))
        if wide > room + SAME_WIDTH:
            most = (room - cutter.tip) / slope
            return [Fault(
                Message("a cone {depth:g} mm deep is {wide:.3g} mm wide, and hole {hole} "
                        "{diameter:g} mm: its edge would stay broken", depth=words.depth,
                        wide=wide, hole=hole.name, diameter=hole.diameter),
                Message("depth: {most} or less, or leave it out", most=no_more(most))
                if most >= 0.001 else Message("leave depth: out, or a finer point"),
                bench.place("depth"))]
    return []


def _axis(hole: Hole) -> tuple[float, float]:
    return round(hole.x, 6), round(hole.y, 6)


def _narrowest(holes: Sequence[Hole]) -> tuple[Hole, ...]:
    """Of holes about one middle the narrowest, which is the one that is drilled.

    >>> from camgen.shapes.path import Point
    >>> seat, through = Hole("seat", Point(1, 2), 1.5), Hole("through", Point(1, 2), 0.8)
    >>> [hole.name for hole in _narrowest([seat, through, Hole("pin", Point(3, 2), 1.0)])]
    ['through', 'pin']
    """
    found: dict[tuple[float, float], Hole] = {}
    for hole in holes:
        axis = _axis(hole)
        if axis not in found or hole.diameter < found[axis].diameter:
            found[axis] = hole
    return tuple(found.values())


def plan(bench: FlatBench, words: Spot) -> PlannedStep:
    """One short stroke at each hole, for the narrowest where several are about one middle; as deep
    as its cone where that is made too."""
    layout = bench.layout
    holes = _narrowest(holes_chosen(layout, words.holes))
    cones = {_axis(hole): point_length(bench.cutter, layout.part.cone_width(hole))
             for hole in _sunk(bench, words)}

    def deep(hole: Hole) -> float:
        return cones.get(_axis(hole)) or _depth(bench, words, hole.diameter)

    cut = drilling(bench, max(deep(hole) for hole in holes))
    moves = drill_strokes(bench, holes, cut.feed, lambda hole: layout.face - deep(hole),
                          dwell=lambda hole: DWELL if _axis(hole) in cones else 0.0)
    return PlannedStep(bench.section(words.called, cut.speed, moves), cut)


SPOT = StepKind("spot", Spot, check, plan)
