"""Pockets: cleared with a bounded engagement, level by level, then walls brought to size.

Each level is entered on a helix in the widest place, and cleared by passes that meet at most the
planned angle of metal, except on the short way into each pass, which is taken slower. The skin left
on the walls is cut round at each level and the walls finished in one pass at full depth.
"""

import math
from functools import lru_cache
from typing import ClassVar, Literal

import shapely
from pydantic import Field

from camgen.faults import Fault, Refused, nearest
from camgen.job.models import StepWords
from camgen.layout import Recess
from camgen.moves import Feed, Move
from camgen.shapes.clearing import Clearing, cleared
from camgen.shapes.offset import Area, offset
from camgen.shapes.path import ArcTo, Path
from camgen.shop.model import Length
from camgen.steps.clearing_moves import clear_level
from camgen.steps.contour import begun_on_longest, inner_corner_faults
from camgen.steps.cuts import finishing, milling
from camgen.steps.holes import wrong_face
from camgen.steps.kind import Bench, PlannedStep, StepKind
from camgen.steps.moving import Feeds, above, away, enter, follow, leads, shifted

__all__ = ["POCKET", "PocketStep"]

# Radial depth of a pass and what is left on walls, as shares of the cutter's diameter, unless the
# job says. Common practice, no source.
WIDTH_SHARE = 0.15
FINISH_SHARE = 0.05
# Metal left of less than this, mm², is the rounding of numbers; chords where a region is wanted.
LEFT_OVER = 1e-5
CHORD = 0.001


class PocketStep(StepWords):
    """Clear pockets."""

    kind: ClassVar[str] = "pocket"
    pockets: tuple[str, ...] | None = Field(None, description="names of pockets; all if left out")
    width: Length | None = Field(None, description="radial depth of a pass; else planned")
    finish: Length | None = Field(None, description="left on the walls for the last pass")
    direction: Literal["climb", "conventional"] = Field(
        "climb", description="of the last pass along the walls; clearing always climbs"
    )


def _chosen(bench: Bench, words: PocketStep) -> tuple[Recess, ...]:
    return tuple(
        recess
        for recess in bench.flat.part.recesses
        if words.pockets is None or recess.name in words.pockets
    )


def _width(bench: Bench, words: PocketStep) -> float:
    return WIDTH_SHARE * bench.cutter.diameter if words.width is None else words.width


def _finish(bench: Bench, words: PocketStep) -> float:
    return FINISH_SHARE * bench.cutter.diameter if words.finish is None else words.finish


@lru_cache(maxsize=64)
def _clearing(area: Area, radius: float, width: float, finish: float) -> Clearing:
    """Kept, because the check asks first and the plan then wants the same."""
    return cleared(area, radius, width, finish)


def check(bench: Bench, words: PocketStep) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need_cutter("end-mill")
    known = [recess.name for recess in bench.flat.part.recesses]
    below = {getattr(one, "pocket", "") for one in bench.flat.part.beneath}
    for number, name in enumerate(words.pockets or ()):
        if name in below:
            faults.append(wrong_face(bench, name, bench.place("pockets", number)))
        elif name not in known:
            near = nearest(name, known)
            faults.append(
                Fault(
                    f"the part has no pocket called {name!r}",
                    f"did you mean {near!r}?" if near else f"its pockets: {', '.join(known)}",
                    bench.place("pockets", number),
                )
            )
    if not known:
        faults.append(Fault("the part has no pocket", "describe it with the plate", bench.place()))
    if bench.cutter.corner_radius > 0:
        faults.append(
            Fault(
                f"a corner radius of {bench.cutter.corner_radius:g} mm leaves a fillet along the "
                "floor",
                "a cutter with sharp corners",
                bench.place("cutter"),
            )
        )
    if faults:
        return faults
    radius, width = bench.cutter.diameter / 2, _width(bench, words)
    for recess in _chosen(bench, words):
        corners = [f for path in recess.area.paths for f in inner_corner_faults(bench, path)]
        faults += corners or _neck_faults(bench, recess, radius)
        try:
            _clearing(recess.area, radius, width, _finish(bench, words))
        except Refused as no:
            faults += [
                Fault(f"pocket {recess.name}: {f.message}", f.remedy, bench.place("cutter"))
                for f in no.faults
            ]
    return faults


def _neck_faults(bench: Bench, recess: Recess, radius: float) -> list[Fault]:
    """What a cutter that gets into every corner still does not reach: necks and gaps."""
    inner = offset(recess.area, -radius)
    reached = [grown for part in inner for grown in offset(part, radius)]
    if not inner or recess.area.size - math.fsum(one.size for one in reached) < LEFT_OVER:
        return []
    left = recess.area.region(CHORD).difference(
        shapely.union_all([one.region(CHORD).buffer(2 * CHORD) for one in reached])
    )
    parts = sorted(getattr(left, "geoms", [left]), key=lambda part: -part.area)
    place = parts[0].representative_point()
    return [
        Fault(
            f"pocket {recess.name} is narrower than the cutter, {bench.cutter.diameter:g} mm, at "
            f"X {place.x:.2f} Y {place.y:.2f}: metal would be left there",
            "a smaller cutter, or more room between the walls",
            bench.place("cutter"),
        )
    ]


def plan(bench: Bench, words: PocketStep) -> PlannedStep:
    """Each pocket in turn: levels, then walls."""
    layout, cutter = bench.flat, bench.cutter
    radius, width, left = cutter.diameter / 2, _width(bench, words), _finish(bench, words)
    recesses = _chosen(bench, words)
    deepest = max(recess.depth for recess in recesses)
    cut = milling(bench, width, deepest)
    slot = milling(bench, cutter.diameter, deepest, speed=cut.speed)
    one: list[Move] = []
    remarks = ["pocket: clearing climbs; the last pass along the walls is " + words.direction]
    for recess in recesses:
        found = _clearing(recess.area, radius, width, left)
        remarks.append(
            f"pocket {recess.name}: {math.degrees(found.planned):.0f}° of the cutter in metal at "
            "most, but for the ways in"
        )
        levels = math.ceil(recess.depth / cut.depth - 1e-9)
        depths = [layout.face - recess.depth * (n + 1) / levels for n in range(levels)]
        top = layout.face
        for bottom in depths:
            one += clear_level(bench, found, top, bottom, cut, slot)
            top = bottom
        one += _walls(bench, recess, words, cut.speed)
    moves = away(layout)
    for x, y in layout.places:
        moves += shifted(one, x, y)
    return PlannedStep(bench.section("pocket", cut.speed, moves), cut, tuple(remarks))


def _walls(
    bench: Bench, recess: Recess, words: PocketStep, speed: float
) -> list[Move]:
    """The last pass along every wall, entered and left along its own direction."""
    layout, radius = bench.flat, bench.cutter.diameter / 2
    last, levels = finishing(
        bench, _finish(bench, words), layout.face, layout.face - recess.depth, speed
    )
    fine = Feeds.on(bench.machine, last.feed, last.plunge_feed, radius)
    climb = words.direction == "climb"
    left = _finish(bench, words)
    moves: list[Move] = []
    for part in offset(recess.area, -radius):
        for path in part.paths:
            wall = begun_on_longest(path if climb else path.reversed())
            onto, off = leads(wall, climb, _lead(wall, climb, radius, left), left)
            moves += above(layout, onto.start)
            for number, level in enumerate(levels):
                if number:
                    moves.append(Feed(fine.along, x=onto.start.x, y=onto.start.y))
                moves += enter(fine, level, cleared=True)
                moves += follow(onto, fine, climb)
                moves += follow(wall, fine, climb)
                moves += follow(off, fine, climb)
            moves += away(layout)
    return moves


def _lead(wall: Path, climb: bool, radius: float, left: float) -> float:
    """Radius of the arc onto a wall: the cutter's, or less inside a small circle."""
    first = wall.pieces[0]
    if isinstance(first, ArcTo) and first.clockwise != climb:
        return max(left / 2, min(radius, 0.45 * math.dist(wall.start, first.centre)))
    return radius


POCKET = StepKind("pocket", PocketStep, "flat", check, plan)
