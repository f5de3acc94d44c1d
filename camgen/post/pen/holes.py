"""Holes: drilled, pecked, bored and tapped, move by move or by the control's fixed cycles."""

from __future__ import annotations

from camgen.moves import Drill, Feed
from camgen.post.pen.position import Position
from camgen.post.pen.running import Running
from camgen.shop.machine import Machine

__all__ = ["write_hole"]


def write_hole(position: Position, running: Running, move: Drill) -> None:
    """Write one hole, from above the work and back there."""
    if position.lost:
        position.find()
    height = position.meant[2]
    if height is None or height < move.travel:
        position.go(((2, move.travel),))
    if _has_cycle(position.blocks.spelling.machine, move):
        _by_cycle(position, move)
    else:
        _by_moves(position, running, move)


def _by_moves(position: Position, running: Running, move: Drill) -> None:
    position.go(((0, move.x), (1, move.y)))
    position.go(((2, move.clearance),))
    if move.quick:
        position.feed(Feed(move.quick, z=move.near))
    depth = max(move.bottom, move.begun - move.peck) if move.peck > 0.0 else move.bottom
    # Only a hole that is fed out again goes on at once; a tap keeps to its pitch.
    to_rest = move.reverses or not move.feed_out
    position.feed(Feed(move.feed, z=depth), to_rest=to_rest)
    while depth > move.bottom + 1e-9:
        position.go(((2, move.clearance),))
        position.go(((2, min(move.clearance, depth + move.peck_gap)),))
        depth = max(move.bottom, depth - move.peck)
        position.feed(Feed(move.feed, z=depth), to_rest=to_rest)
    position.blocks.wait(move.dwell)
    if move.reverses:
        running.reverse(back=False)
    if move.feed_out:
        position.feed(Feed(move.feed, z=move.begun), to_rest=True)
    if move.reverses:
        running.reverse(back=True)
    if move.aside != (0.0, 0.0):
        _draw_out(position, running, move)
    position.go(((2, move.travel),))


def _draw_out(position: Position, running: Running, move: Drill) -> None:
    """A bar stopped with its tip one way, moved off the wall, and out."""
    blocks, spindle = position.blocks, running.spindle
    stop = blocks.spelling.machine.spindle_words.oriented_stop
    if spindle is None or stop is None:
        raise ValueError("a bar is drawn out where the spindle turns and can be stopped")
    blocks.block(blocks.spelling.g(stop))
    position.go(((0, move.x + move.aside[0]), (1, move.y + move.aside[1])))
    position.go(((2, move.travel),))
    position.go(((0, move.x), (1, move.y)))
    running.start(*spindle)


def _has_cycle(machine: Machine, move: Drill) -> bool:
    """Whether the control makes such a hole by itself, and comes out of it as is meant."""
    cycles = machine.cycles
    if not cycles.use:
        return False
    # Bites and steps aside are distances: by a table they are others at each place, and many
    # bites add up what is rounded of each.
    if move.peck > 0.0 and (machine.z.errors or machine.z.scale != 1.0):
        return False
    if move.aside != (0.0, 0.0) and (machine.x.errors or machine.y.errors):
        return False
    if move.reverses:
        return cycles.tap is not None
    if move.aside != (0.0, 0.0):
        return cycles.fine_bore is not None and cycles.return_level == "G98"
    return True


def _by_cycle(position: Position, move: Drill) -> None:
    """A hole by a fixed cycle; of further holes alike only the places are written."""
    blocks = position.blocks
    spelling, cycles = blocks.spelling, blocks.spelling.machine.cycles
    word = _cycle_word(spelling.machine, move)
    cycle = (word, move.clearance, move.bottom, move.feed, move.peck, move.dwell, move.travel,
             move.aside)
    places = []
    moved = False
    position.meant[:2] = [move.x, move.y]
    for axis in (0, 1):
        counts = position.told(axis)
        moved = moved or counts != position.at[axis]
        if counts != position.at[axis] or spelling.machine.blocks.repeat_axes:
            position.at[axis] = counts
            places.append(spelling.axis_words[axis][counts])
    if cycle == blocks.cycle and moved and not blocks.repeat:
        blocks.block(*places)
    else:
        _say_cycle(position, move, word, places)
        blocks.cycle = cycle
    back = move.travel if cycles.return_level == "G98" else move.clearance
    position.meant[2] = back
    position.at[2] = spelling.counts(2, back)
    position.go(((2, move.travel),))


def _cycle_word(machine: Machine, move: Drill) -> str:
    """The word of the cycle that makes such a hole."""
    cycles = machine.cycles
    if move.reverses and cycles.tap:
        return cycles.tap
    if move.aside != (0.0, 0.0) and cycles.fine_bore:
        return cycles.fine_bore
    if move.peck > 0.0:
        return cycles.peck
    if move.feed_out:
        return cycles.bore_dwell if move.dwell > 0.0 else cycles.bore
    return cycles.dwell if move.dwell > 0.0 else cycles.drill


def _say_cycle(position: Position, move: Drill, word: str, places: list[str]) -> None:
    """The block that begins a cycle."""
    blocks = position.blocks
    spelling, cycles = blocks.spelling, blocks.spelling.machine.cycles
    blocks.cancel_cycle()
    words: list[str] = [] if cycles.return_level == "none" else [cycles.return_level]
    if blocks.plane != "G17":
        # A cycle drills along the axis normal to the plane in force.
        blocks.plane = "G17"
        words.insert(0, "G17")
    words += [spelling.g(word),
              *(places or [spelling.axis_words[0][position.told(0)]])]
    words.append(spelling.axis_words[2][spelling.counts(2, move.bottom)])
    words.append("R" + spelling.length_text(spelling.counts(2, move.clearance)))
    if move.aside != (0.0, 0.0):
        words += [letter + spelling.length_text(spelling.counts(axis, move.aside[axis]))
                  for axis, letter in enumerate("IJ")]
    if move.peck > 0.0:
        words.append("Q" + spelling.length(move.peck))
    if move.dwell > 0.0:
        words.append("P" + spelling.time(move.dwell))
    words.append(blocks.feed_word(move.feed))
    blocks.feed = words[-1]
    blocks.motion = word
    blocks.block(*words)
