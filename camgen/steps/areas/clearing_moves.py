"""One level of an area cleared: the moves of its entries, passes, ways between them and walls.

Lengths mm, feeds mm/min.
"""

import dataclasses
import itertools
import math
from collections.abc import Iterator

import shapely
from shapely.geometry.base import BaseGeometry

from camgen.clearing.clearing import Clearing, Entry, Wall
from camgen.clearing.ladder import Ladder
from camgen.clearing.slivers import slivers_under
from camgen.cutting.planner import CutPlan
from camgen.layout import FlatLayout
from camgen.moves import Arc, Feed, Move, Rapid
from camgen.shapes.path import Path, Point
from camgen.steps.kind import FlatBench
from camgen.steps.moving import Feeds, above, away, enter, follow, lap_count, laps
from camgen.tolerances import SAME_PLACE

__all__ = ["clear_level", "ladder_level", "over_the_floor"]

# Share of the feed on the way into a pass, where up to twice the planned angle of metal is met.
WAY_IN = 0.5
# So far above the floor, mm, the fast way down to it ends.
OVER_FLOOR = 0.02
# After so many moves the cutter rises to the safe height once, so that a control that holds little
# can be given a large pocket in several programs.
LONG = 150


def clear_level(
    bench: FlatBench, found: Clearing, top: float, bottom: float, cut: CutPlan, slot: CutPlan
) -> list[Move]:
    """One level cleared from ``top`` down to ``bottom``.

    ``cut`` is planned for the passes, ``slot`` for a cut as wide as the cutter.
    """
    layout, radius = bench.layout, bench.cutter.diameter / 2
    # The engagement is the same on every arc, so no feed is taken back inside one: the chip is as
    # thick as in a straight cut.
    clearing = Feeds.on(bench.machine, cut.feed, cut.plunge_feed, 0.0)
    slotting = Feeds.on(bench.machine, slot.feed, slot.plunge_feed, radius)
    travel = min(bench.machine.x.feed_limit, bench.machine.y.feed_limit)
    down = bench.machine.z.feed_limit
    moves: list[Move] = []
    freely = [Feed(down, z=bottom + OVER_FLOOR), Feed(min(clearing.along, down), z=bottom)]
    slowly = [Feed(down, z=top + OVER_FLOOR), Feed(min(cut.plunge_feed, down), z=bottom)]
    on_slivers = slivers_under(found, radius)
    into_floor = freely
    ways = zip(found.entries, found.passes, strict=True)
    for number_of, (entry, passes) in enumerate(ways, 1):
        moves += _gone_down(bench, entry, top, bottom, slot, slotting,
                            slowly if entry.start in on_slivers else freely)
        risen = len(moves)
        for number, one in enumerate(passes):
            begin = one.begin
            into_floor = slowly if begin in on_slivers else freely
            if entry.kind == "descent" and number == 0:
                pass
            elif len(moves) - risen > LONG:
                moves += away(layout)
                risen = len(moves)
                moves += above(layout, begin)
                moves += into_floor
            else:
                moves += _across(layout, begin, one.over_cleared, travel, into_floor)
            moves.append(
                Feed(clearing.along * WAY_IN, x=one.path.start.x, y=one.path.start.y)
            )
            moves += follow(one.path, clearing, wall_on_right=True)
        if number_of < len(found.entries) or not found.walls:
            moves += away(layout)
    for number, wall in enumerate(found.walls):
        begin = wall.begin
        into_floor = slowly if begin in on_slivers else freely
        if number == 0 and not (found.entries and wall.over_cleared):
            moves += above(layout, begin)
            moves += into_floor
        else:
            moves += _across(layout, begin, wall.over_cleared, travel, into_floor)
        moves.append(Feed(clearing.along * WAY_IN, x=wall.path.start.x, y=wall.path.start.y))
        for part, slow in _slowed(wall):
            moves += follow(part, _halved(clearing) if slow else clearing, wall_on_right=True)
    return moves + away(layout) if found.walls else moves


def ladder_level(
    bench: FlatBench, found: Ladder, top: float, bottom: float, slot: CutPlan
) -> list[Move]:
    """One level cleared as a ladder from ``top`` down to ``bottom``; ``slot`` is planned for a cut
    as wide as the cutter."""
    layout = bench.layout
    # On an arc as straight on, a slot's chip is as thick as the centre is fed (plane geometry: only
    # the centre's own way has a part along the radius to a tooth); so no feed is taken back.
    slotting = Feeds.on(bench.machine, slot.feed, slot.plunge_feed, 0.0)
    travel = min(bench.machine.x.feed_limit, bench.machine.y.feed_limit)
    down = bench.machine.z.feed_limit
    into_floor = [Feed(down, z=bottom + OVER_FLOOR), Feed(min(slotting.along, down), z=bottom)]
    moves: list[Move] = []
    risen = 0
    at: Point | None = None
    for run in found.runs:
        entry, path = run.entry, run.path
        if entry is not None:
            metal = entry.path is not None
            if at is None or metal or len(moves) - risen > LONG:
                moves += away(layout) if at is not None else []
                risen = len(moves)
                moves += _gone_down(bench, entry, top, bottom, slot, slotting, into_floor)
            else:
                moves += _across(layout, entry.start, False, travel, into_floor)
            # To and fro on a line it may end at either end of it.
            at = None if metal and not entry.path.closed else entry.start  # type: ignore[union-attr]
        if path is None:
            continue
        if entry is None and len(moves) - risen > LONG:
            moves += away(layout)
            risen = len(moves)
            moves += [*above(layout, path.start), *into_floor]
        elif at is None or math.dist(at, path.start) > SAME_PLACE:
            moves.append(Feed(slotting.along if at is None else travel,
                              x=path.start.x, y=path.start.y))
        moves += follow(path, slotting, wall_on_right=True)
        at = path.end
    return [*moves, *away(layout)]


def over_the_floor(
    bench: FlatBench, before: list[Move], after: list[Move], floor: float, free: BaseGeometry
) -> list[Move]:
    """``before`` and ``after`` made one: where the cutter rises from a floor (Z) only to go down
    to it again, and its centre may go straight there within ``free``, it stays down.

    All of ``free`` must be cleared to that floor when ``after`` begins.
    """
    safe = bench.layout.safe_height
    travel = min(bench.machine.x.feed_limit, bench.machine.y.feed_limit)
    shapely.prepare(free)
    # As if at the safe height, the last cut of what was before.
    start = len(before) - 1
    while start > 0 and isinstance(before[start], Rapid):
        start -= 1
    done, todo = before[: start + 1], [*before[start + 1 :], *after]
    place = _last_place(done)
    number = 0
    while number < len(todo):
        lift, to = number, number
        while to < len(todo) and todo[to] == Rapid(z=safe):
            to += 1
        down = _down_again(todo[to:], floor) if to > lift and _at(place[2], floor) else None
        if down is not None and place[0] is not None and place[1] is not None and free.covers(
                shapely.LineString([(place[0], place[1]), down[0]])):
            done.append(Feed(travel, x=down[0].x, y=down[0].y))
            place = (down[0].x, down[0].y, floor)
            number = to + down[1]
            continue
        done.append(todo[number])
        place = _last_place(done[-1:], place)
        number += 1
    return done


def _at(z: float | None, floor: float) -> bool:
    return z is not None and abs(z - floor) < SAME_PLACE


Place3 = tuple[float | None, float | None, float | None]


def _last_place(moves: list[Move], place: Place3 = (None, None, None)) -> Place3:
    """Where moves end that begin at a place."""
    x, y, z = place
    for move in moves:
        if isinstance(move, Rapid | Feed | Arc):
            x, y, z = (old if new is None else new
                       for old, new in ((x, move.x), (y, move.y), (z, move.z)))
    return x, y, z


def _down_again(moves: list[Move], floor: float) -> tuple[Point, int] | None:
    """Where moves across and straight down to a floor come to it, and how many they are."""
    if not moves or not isinstance(moves[0], Rapid) or moves[0].x is None or moves[0].y is None:
        return None
    place = Point(moves[0].x, moves[0].y)
    for number, move in enumerate(moves[1:], 2):
        if not isinstance(move, Rapid | Feed) or move.x is not None or move.y is not None:
            return None
        if isinstance(move, Feed) and _at(move.z, floor):
            return place, number
    return None


def _across(
    layout: FlatLayout, begin: Point, over_cleared: bool, travel: float, into_floor: list[Feed]
) -> list[Move]:
    """From one place on the floor to ``begin``: along it at ``travel`` mm/min where it is cleared,
    else over the part's face."""
    if over_cleared:
        return [Feed(travel, x=begin.x, y=begin.y)]
    lifted = [Rapid(z=layout.face + layout.clearance), Rapid(x=begin.x, y=begin.y)]
    return [*lifted, *into_floor]


def _gone_down(
    bench: FlatBench, entry: Entry, top: float, bottom: float, slot: CutPlan, slotting: Feeds,
    into_floor: list[Feed],
) -> list[Move]:
    """The way to an entry and down to ``bottom``; no metal stands there above ``top``."""
    path, deep = entry.path, top - bottom
    if path is None:
        return [*above(bench.layout, entry.start), *into_floor]
    begin = path.start
    slope = deep / math.tan(math.radians(slot.ramp_angle)) if slot.ramp_angle else math.inf
    short = path.closed and deep <= slot.depth and slope < path.length
    if short:
        # One lap is longer than it needs to go down: it begins late, and goes level once round.
        begin = path.at(path.length - slope)
    moves = above(bench.layout, begin)
    moves += enter(slotting, top, cleared=top < bench.layout.face,
                   above=bench.layout.face + bench.layout.clearance)
    if short:
        down = path.between(path.length - slope, path.length)
        moves += follow(down, slotting, True, ((0.0, top), (down.length, bottom)))
        return moves + follow(path, slotting, wall_on_right=True)
    if path.closed:
        return moves + laps(path, top, bottom, slot, slotting, wall_on_right=True)
    return moves + _there_and_back(path, top, bottom, slot, slotting)


def _there_and_back(
    path: Path, top: float, bottom: float, slot: CutPlan, slotting: Feeds
) -> list[Move]:
    """Down along a path and back again in equal steps, and once level."""
    count = lap_count(path.length, top - bottom, slot)
    moves: list[Move] = []
    for number in range(count + 1):
        begin = top + (bottom - top) * number / count
        finish = top + (bottom - top) * min(number + 1, count) / count
        way = path.reversed() if number % 2 else path
        moves += follow(way, slotting, True, ((0.0, begin), (path.length, finish)))
    return moves


def _slowed(wall: Wall) -> Iterator[tuple[Path, bool]]:
    """The stretches of a wall in turn, and whether each is to be taken slowly."""
    length = wall.path.length
    marks = {0.0, length}
    for begin, end in wall.slow:
        marks |= {begin, end} if end <= length else {begin, end - length}
    for begin, end in itertools.pairwise(sorted(marks)):
        middle = (begin + end) / 2
        slow = any(low <= at <= high for low, high in wall.slow for at in (middle, middle + length))
        if end - begin > 1e-6:
            yield wall.path.between(begin, end), slow


def _halved(feeds: Feeds) -> Feeds:
    return dataclasses.replace(feeds, along=feeds.along * WAY_IN)
