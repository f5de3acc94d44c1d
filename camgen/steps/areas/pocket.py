"""Pockets: cleared with a bounded engagement, level by level, then floor and walls brought to size.

Each level is entered on a helix, on a ramp, or where metal is gone already; and cleared by passes
that meet at most the planned angle of metal, except on the short way into each pass, which is taken
slower. The skin left on the walls is cut round at each level and the walls finished in one pass at
full depth. Where the job leaves a skin on the floor, one pass over it comes before that.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import field, replace
from functools import cached_property

import numpy as np
import shapely

from camgen.clearing.clearing import Clearing
from camgen.cutting.planner import CutPlan
from camgen.faults import Refused
from camgen.messages import Message
from camgen.moves import Feed, Move, Section
from camgen.shapes.offset import distances, offset
from camgen.shapes.path import ArcTo, Path, Point, direction
from camgen.steps.areas.along_middle import width_told
from camgen.steps.areas.clearing_moves import (
    WAY_IN,
    clear_level,
    ladder_level,
    over_the_floor,
)
from camgen.steps.areas.pocket_checks import check
from camgen.steps.areas.pocket_cuts import FloorCuts, Stretch, cuts_of
from camgen.steps.areas.pocket_ladder import Chosen, bounded_cut
from camgen.steps.areas.pocket_words import PocketStep, floor_width, pockets_chosen, skin_of
from camgen.steps.cuts import finishing, milling
from camgen.steps.head.last_cut import rubbing_faults, skimming_faults
from camgen.steps.kind import SENSES, FlatBench, PlannedStep, StepKind
from camgen.steps.moving import Feeds, above, away, enter, follow, leads, shifted
from camgen.steps.walls.contour import begun_on_longest
from camgen.steps.walls.corners import left_notes
from camgen.tolerances import AREA_CHORD
from camgen.values import dataclass

__all__ = ["POCKET", "PocketStep"]

# A place on a centre path belongs to a wall when that is no further off than the cutter's radius
# and so much, mm; places are looked at so many radii apart.
AT_WALL = 2e-5
APART = 0.05


def plan(bench: FlatBench, words: PocketStep) -> PlannedStep:
    """Each floor in turn: levels, then walls; with skins left on floors, those and walls after."""
    floors, faults = cuts_of(bench, words)
    faults += skimming_faults(bench, {"floor": words.floor, "finish": words.finish})
    if faults:
        raise Refused(faults)
    floors = [one for one in floors if one.gets_in]
    skins = any(one.over_floor for one in floors)
    rough = _Sections(bench, words)
    fine: list[Move] = []
    last_cuts: list[CutPlan] = []
    finishing_time = 0.0
    for one in floors:
        for stretch in one.rough:
            rough.clears(stretch)
        if not one.once and _has_own_walls(one, floors):
            walls, last_cut, seconds = _walls(bench, one, words, rough.speed)
            if skins:
                fine += walls
                last_cuts.append(last_cut)
                finishing_time += seconds
            else:
                rough.finishes(one, walls, last_cut, seconds)
    remarks = tuple(_remarks(bench, words, floors))
    if skins:
        floor_cut, slot, over = _over_floors(bench, words, floors, rough.speed)
        skin = math.fsum(stretch.size * (stretch.bottom - stretch.top)
                         for one in floors for stretch in one.over_floor)
        pieces = len(bench.layout.places)
        last = replace(
            bench.section(Message("pocket floor"), floor_cut.speed,
                          _everywhere(bench, over + fine)),
            to_clear=pieces * skin, finishing=pieces * finishing_time,
        )
    first, *more = rough.done(words.called)
    if skins:
        more.append((last, _with_others(floor_cut, slot, last_cuts)))
    return PlannedStep(*first, remarks, more=tuple(more), notes=(
        *left_notes(bench), *(width_told(bench, one.recess) for one in floors if one.once)))


@dataclass
class _Part:
    """What is cut one after the other by one cut."""

    cut: CutPlan
    slot: CutPlan
    moves: list[Move] = field(default_factory=list)
    last: list[CutPlan] = field(default_factory=list)
    to_clear: float = 0.0
    finishing: float = 0.0


@dataclass
class _Sections:
    """The sections of a pocket step as they are made: a new one wherever the cut is another."""

    bench: FlatBench
    words: PocketStep
    parts: list[_Part] = field(default_factory=list)

    @property
    def speed(self) -> float:
        """What the spindle turns at last, rev/min."""
        return self.parts[-1].cut.speed if self.parts else self._bounded[0].speed

    @cached_property
    def _bounded(self) -> tuple[CutPlan, CutPlan]:
        """The cut of passes with bounded engagement, and that of its slots."""
        bench = self.bench
        cut = bounded_cut(bench, self.words)
        deepest = max(one.depth for one in pockets_chosen(bench, self.words))
        return cut, milling(bench, bench.cutter.diameter, deepest, speed=cut.speed)

    def clears(self, stretch: Stretch) -> None:
        """One stretch, level by level."""
        found = stretch.found
        cuts = (found.cut, found.cut) if isinstance(found, Chosen) else self._bounded
        if not self.parts or self.parts[-1].cut != cuts[0]:
            self.parts.append(_Part(*cuts))
        part = self.parts[-1]
        part.moves += _levels(self.bench, stretch, *cuts)
        part.to_clear += stretch.size * (stretch.bottom - stretch.top)

    def finishes(
        self, one: FloorCuts, moves: list[Move], cut: CutPlan, seconds: float
    ) -> None:
        """The last passes along the walls of a floor."""
        if not self.parts:
            self.parts.append(_Part(*self._bounded))
        part, bench = self.parts[-1], self.bench
        free = shapely.union_all([
            inner.region(AREA_CHORD / 4).buffer(AREA_CHORD / 4) for area in one.areas
            for inner in offset(area.area, -bench.cutter.diameter / 2 - one.left)])
        part.moves = over_the_floor(bench, part.moves, moves,
                                    bench.layout.face - one.recess.depth, free)
        part.last.append(cut)
        part.finishing += seconds

    def done(self, title: Message) -> list[tuple[Section, CutPlan]]:
        """The sections, each with its cut."""
        bench, pieces = self.bench, len(self.bench.layout.places)
        done = []
        for part in self.parts or [_Part(*self._bounded)]:
            section = replace(
                bench.section(title, part.cut.speed, _everywhere(bench, part.moves)),
                to_clear=pieces * part.to_clear, finishing=pieces * part.finishing)
            done.append((section, _with_others(part.cut, part.slot, part.last)))
        return done


def _with_others(cut: CutPlan, slot: CutPlan, last: Sequence[CutPlan]) -> CutPlan:
    """The cut of a clearing, with the other cuts of its section: ways down, slow ways into passes,
    the last passes along walls."""
    others = [] if cut == slot else [slot, replace(
        cut, feed=WAY_IN * cut.feed, width=min(2 * cut.width, slot.width))]
    others += [one for number, one in enumerate(last) if one not in last[:number]]
    return replace(cut, others=tuple(others))


def _remarks(bench: FlatBench, words: PocketStep, floors: list[FloorCuts]) -> Iterator[Message]:
    sense = SENSES[words.direction]
    cleared = [stretch.found for one in floors if not one.once for stretch in one.rough]
    if any(isinstance(found, Chosen) for found in cleared):
        yield Message("pocket: slots are cut to and fro; the last pass along the walls is {sense}",
                      sense=sense)
    if not all(isinstance(found, Chosen) for found in cleared):
        yield Message("pocket: clearing climbs; the last pass along the walls is {sense}",
                      sense=sense)
    for one in cuts_of(bench, words)[0]:
        name = one.recess.name
        if not one.gets_in:
            yield Message("pocket {name}: {cutter} does not get in and leaves it to a later step",
                          name=name, cutter=words.cutter)
            continue
        for found in (stretch.found for stretch in one.rough[:1] if not one.once):
            yield _way_taken(name, found)
        if not one.last:
            yield Message("pocket {name}: {cutter} leaves corners and walls to a later step",
                          name=name, cutter=words.cutter)
        if any(area.walls is not None for area in one.areas):
            yield Message("pocket {name} is open at a side: the cutter goes over the edge there",
                          name=name)


def _way_taken(name: str, found: Clearing | Chosen) -> Message:
    """How a pocket is cleared, and why so."""
    if isinstance(found, Chosen):
        return Message("pocket {name}: cleared as slots, in rows {step:.2f} mm apart, to and fro: "
                       "about {seconds:.0f} s; {bounded:.0f} s with a narrow cut",
                       name=name, step=found.found.step, seconds=found.seconds,
                       bounded=found.bounded)
    return Message("pocket {name}: {degrees:.0f}° of the cutter in metal at most, but for the ways "
                   "in", name=name, degrees=math.degrees(found.planned))


def _everywhere(bench: FlatBench, one: list[Move]) -> list[Move]:
    """The moves of one piece made on every piece."""
    moves = away(bench.layout)
    for x, y in bench.layout.places:
        moves += shifted(one, x, y)
    return moves


def _levels(bench: FlatBench, stretch: Stretch, cut: CutPlan, slot: CutPlan) -> list[Move]:
    """One stretch in levels no deeper than planned."""
    face, deep = bench.layout.face, stretch.bottom - stretch.top
    found = stretch.found
    count = (found.levels if isinstance(found, Chosen)
             else math.ceil(deep / cut.depth - 1e-9))
    moves: list[Move] = []
    for level in range(count):
        top = face - stretch.top - deep * level / count
        bottom = face - stretch.top - deep * (level + 1) / count
        if isinstance(found, Chosen):
            moves += ladder_level(bench, found.found, top, bottom, cut)
        else:
            moves += clear_level(bench, found, top, bottom, cut, slot)
    return moves


def _over_floors(
    bench: FlatBench, words: PocketStep, floors: list[FloorCuts], speed: float
) -> tuple[CutPlan, CutPlan, list[Move]]:
    """The last pass over every floor on which a skin was left: its cut, its slots', its moves."""
    deep = max(skin_of(bench, words, one.recess) for one in floors)
    cut = milling(bench, floor_width(words, bench.cutter), deep, at_once=True, speed=speed)
    slot = milling(bench, bench.cutter.diameter, deep, speed=speed)
    moves: list[Move] = []
    for one in floors:
        for stretch in one.over_floor:
            moves += _levels(bench, stretch, cut, slot)
    return cut, slot, moves


def _has_own_walls(one: FloorCuts, floors: list[FloorCuts]) -> bool:
    """Whether a floor's walls are finished here: not those that go on down to a deeper floor."""
    return one.last and not any(
        other.recess.pocket == one.recess.pocket and other.recess.depth > one.recess.depth
        for other in floors
    )


# --- the last pass along the walls --------------------------------------------------------------


def _walls(
    bench: FlatBench, one: FloorCuts, words: PocketStep, speed: float
) -> tuple[list[Move], CutPlan, float]:
    """The last pass along every wall, entered and left along its own direction; its cut.

    Also the time its length takes at the planned feed, s.
    """
    layout, radius = bench.layout, bench.cutter.diameter / 2
    last, levels = finishing(
        bench, one.left, layout.face, layout.face - one.recess.depth, speed
    )
    if words.finish is not None:
        thin = rubbing_faults(bench, last, {"finish": words.finish})
        if thin:
            raise Refused(thin)
    fine = Feeds.on(bench.machine, last.feed, last.plunge_feed, radius)
    climb = words.direction == "climb"
    moves: list[Move] = []
    seconds = 0.0
    for area in one.areas:
        for part in offset(area.area, -radius):
            for path in part.paths:
                for way in _along(path, area.walls, radius, one.left):
                    seconds += 60 * way.length * len(levels) / fine.along
                    moves += _wall(bench, way if climb else way.reversed(), fine, levels, climb,
                                   one.left)
    return moves, last, seconds


def _wall(
    bench: FlatBench, way: Path, fine: Feeds, levels: tuple[float, ...], climb: bool, left: float
) -> list[Move]:
    """One wall at every height, with an arc onto it; or from beyond an open side, straight."""
    layout, radius = bench.layout, bench.cutter.diameter / 2
    if way.closed:
        way = begun_on_longest(way)
        onto, off = leads(way, climb, _lead(way, climb, radius, left), left)
        begin = onto.start
    else:
        begin = _beside(way, left if climb else -left)
    moves = above(layout, begin)
    for number, level in enumerate(levels):
        if number:
            if way.closed:
                moves.append(Feed(fine.along, x=begin.x, y=begin.y))
            else:
                moves += above(layout, begin)
        # Beyond an open side clearing may have left a corner standing.
        moves += enter(fine, level, cleared=way.closed)
        if way.closed:
            moves += follow(onto, fine, climb)
            moves += follow(way, fine, climb)
            moves += follow(off, fine, climb)
        else:
            moves.append(Feed(fine.along * WAY_IN, x=way.start.x, y=way.start.y))
            moves += follow(way, fine, climb)
    return moves + away(layout)


def _beside(way: Path, off: float) -> Point:
    """A place ``off`` mm to the left of a path's start."""
    ahead = direction(way.start, way.pieces[0])
    return Point(way.start.x - off * ahead.y, way.start.y + off * ahead.x)


def _along(
    path: Path, walls: tuple[Path, ...] | None, radius: float, left: float
) -> list[Path]:
    """The stretches of a closed centre path that run along walls; all where no side is open."""
    if walls is None:
        return [path]
    count = max(8, math.ceil(path.length / (APART * radius)))
    places = np.arange(count) * path.length / count
    points = np.array([path.at(place) for place in places.tolist()])
    near = distances(points, walls) <= radius + AT_WALL if walls else np.zeros(count, np.bool_)
    if near.all():
        return [path]
    if not near.any():
        return []
    first = int(np.flatnonzero(~near)[0])
    turned = path.starting_at(float(places[first]))
    near = np.roll(near, -first)
    step = path.length / count
    changes = np.flatnonzero(np.diff(np.concatenate(([False], near, [False])).astype(np.int8)))
    ways = []
    for begin, end in changes.reshape(-1, 2).tolist():
        # Where a skin is left on the far side too, the cutter goes down clear of it.
        low, high = begin * step + left, (end - 1) * step - left
        if high > low + left:
            ways.append(turned.between(low, high))
    return ways


def _lead(wall: Path, climb: bool, radius: float, left: float) -> float:
    """Radius of the arc onto a wall: the cutter's, or less inside a small circle."""
    first = wall.pieces[0]
    if isinstance(first, ArcTo) and first.clockwise != climb:
        return max(left / 2, min(radius, 0.45 * math.dist(wall.start, first.centre)))
    return radius


POCKET = StepKind("pocket", PocketStep, check, plan)
