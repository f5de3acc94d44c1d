"""One level of an area cleared: the moves of its entries, passes, ways between them and walls."""

import itertools
from collections.abc import Iterator

from camgen.cutting.planner import CutPlan
from camgen.moves import Feed, Move, Rapid
from camgen.shapes.clearing import Clearing, Entry, Wall
from camgen.shapes.path import Path
from camgen.steps.kind import Bench
from camgen.steps.moving import Feeds, above, away, enter, follow, lap_depth, laps

__all__ = ["clear_level"]

# Share of the feed on the way into a pass, where up to twice the planned angle of metal is met.
WAY_IN = 0.5
# So far above the floor, mm, the fast way down to it ends.
OVER_FLOOR = 0.02
# After so many moves the cutter rises to the safe height once, so that a control that holds little
# can be given a large pocket in several programs.
LONG = 150


def clear_level(
    bench: Bench, found: Clearing, top: float, bottom: float, cut: CutPlan, slot: CutPlan
) -> list[Move]:
    """One level cleared from ``top`` down to ``bottom``.

    ``cut`` is planned for the passes, ``slot`` for a cut as wide as the cutter.
    """
    layout, radius = bench.flat, bench.cutter.diameter / 2
    # The engagement is the same on every arc, so no feed is taken back inside one: the chip is as
    # thick as in a straight cut.
    clearing = Feeds.on(bench.machine, cut.feed, cut.plunge_feed, 0.0)
    walling = Feeds.on(bench.machine, cut.feed, cut.plunge_feed, radius)
    slotting = Feeds.on(bench.machine, slot.feed, slot.plunge_feed, radius)
    travel = min(bench.machine.x.feed_limit, bench.machine.y.feed_limit)
    down = bench.machine.z.feed_limit
    moves: list[Move] = []
    into_floor = [Feed(down, z=bottom + OVER_FLOOR), Feed(min(clearing.along, down), z=bottom)]
    for entry, passes in zip(found.entries, found.passes, strict=True):
        moves += above(layout, entry.start)
        moves += _gone_down(entry, top, bottom, top < layout.face, slot, slotting, into_floor)
        risen = len(moves)
        for number, one in enumerate(passes):
            begin = one.begin
            if entry.kind == "descent" and number == 0:
                pass
            elif len(moves) - risen > LONG:
                moves += away(layout)
                risen = len(moves)
                moves += above(layout, begin)
                moves += into_floor
            elif one.over_cleared:
                moves.append(Feed(travel, x=begin.x, y=begin.y))
            else:
                moves.append(Rapid(z=layout.face + layout.clearance))
                moves.append(Rapid(x=begin.x, y=begin.y))
                moves += into_floor
            moves.append(
                Feed(clearing.along * WAY_IN, x=one.path.start.x, y=one.path.start.y)
            )
            moves += follow(one.path, clearing, wall_on_right=True)
        moves += away(layout)
    for wall in found.walls:
        moves += above(layout, wall.path.start)
        moves += into_floor
        for part, slow in _slowed(wall):
            moves += follow(part, _halved(walling) if slow else walling, wall_on_right=True)
        moves += away(layout)
    return moves


def _gone_down(
    entry: Entry, top: float, bottom: float, in_clear: bool, slot: CutPlan, slotting: Feeds,
    into_floor: list[Feed],
) -> list[Move]:
    """The way down of an entry, from over its start; ``in_clear``: no metal down to ``top``."""
    if entry.path is None:
        return [*into_floor]
    moves = enter(slotting, top, cleared=in_clear)
    if entry.path.closed:
        return moves + laps(entry.path, top, bottom, slot, slotting, wall_on_right=True)
    return moves + _there_and_back(entry.path, top, bottom, slot, slotting)


def _there_and_back(
    path: Path, top: float, bottom: float, slot: CutPlan, slotting: Feeds
) -> list[Move]:
    """Down along a path and back again in equal steps, and once level."""
    count = max(1, -int(-(top - bottom) / lap_depth(path.length, slot) // 1))
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
    return Feeds(feeds.along * WAY_IN, feeds.down, feeds.radius, feeds.acceleration, feeds.upright)
