"""One level of an area cleared: the moves of its entries, passes, ways between them and walls."""

from camgen.cutting.planner import CutPlan
from camgen.moves import Feed, Move, Rapid
from camgen.shapes.clearing import Clearing
from camgen.steps.kind import Bench
from camgen.steps.moving import Feeds, above, away, enter, follow, laps

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
    """One level cleared from ``top`` down to ``bottom``."""
    layout, radius = bench.flat, bench.cutter.diameter / 2
    # The engagement is the same on every arc, so no feed is taken back inside one: the chip is as
    # thick as in a straight cut.
    clearing = Feeds.on(bench.machine, cut.feed, cut.plunge_feed, 0.0)
    slotting = Feeds.on(bench.machine, slot.feed, slot.plunge_feed, radius)
    travel = min(bench.machine.x.feed_limit, bench.machine.y.feed_limit)
    down = bench.machine.z.feed_limit
    hover = bottom + OVER_FLOOR
    moves: list[Move] = []
    for entry, passes in zip(found.entries, found.passes, strict=True):
        moves += above(layout, entry.start)
        moves += enter(slotting, top, cleared=top < layout.face)
        moves += laps(entry, top, bottom, slot, slotting, wall_on_right=True)
        risen = len(moves)
        for one in passes:
            begin = one.begin
            if len(moves) - risen > LONG:
                moves += away(layout)
                risen = len(moves)
                moves += above(layout, begin)
                moves.append(Feed(down, z=hover))
                moves.append(Feed(min(clearing.along, down), z=bottom))
            elif one.over_cleared:
                moves.append(Feed(travel, x=begin.x, y=begin.y))
            else:
                moves.append(Rapid(z=layout.face + layout.clearance))
                moves.append(Rapid(x=begin.x, y=begin.y))
                moves.append(Feed(down, z=hover))
                moves.append(Feed(min(clearing.along, down), z=bottom))
            moves.append(
                Feed(clearing.along * WAY_IN, x=one.path.start.x, y=one.path.start.y)
            )
            moves += follow(one.path, clearing, wall_on_right=True)
        moves += away(layout)
    for wall in found.walls:
        moves += above(layout, wall.start)
        moves.append(Feed(down, z=hover))
        moves.append(Feed(slotting.down, z=bottom))
        moves += follow(wall, slotting, wall_on_right=True)
        moves += away(layout)
    return moves
