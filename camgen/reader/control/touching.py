"""Moves until a probe touches, and the block that sets a zero by what was touched.

Both by the machine file's own words: no standard has them. The motion is nominal: what is touched
is taken to stand where the program means it to, short of the block's place by as much as the
machine file says is searched beyond.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from camgen.messages import Message
from camgen.reader.control.block_words import sorted_by_letter
from camgen.reader.control.moves import target_of
from camgen.reader.control.state import Control, emit
from camgen.reader.motion import Kind
from camgen.reader.text.words import Block

__all__ = ["said_as_zero", "settle_still", "touch"]


def touch(
    control: Control, line: int, numbers: dict[str, float], axes: Sequence[str], turning: bool
) -> None:
    """A move until the probe touches, along one axis."""
    journal, place, spindle = control.journal, control.place, control.spindle
    words = control.machine.probing
    name = f"G{control.dialect.touch / 10:g}"
    control.modes.motion = -1
    if words is None or len(axes) != 1 or turning:
        journal.grave(Message("{word} along another number of axes than one: what is touched is "
                              "not known", word=name), line, unsure=("places", "depths", "time"))
        return
    if spindle.sense:
        journal.grave(Message("{word} with the spindle turning", word=name), line)
    axis = control.dialect.axes[axes[0]]
    target, here = target_of(control, line, numbers), place.position[axis]
    way = target[axis] - here
    if not math.isfinite(way) or abs(way) <= words.search:
        journal.grave(Message("{word} from a place that is not known, or over no more than is "
                              "searched beyond, {search:g} mm", word=name, search=words.search),
                      line, unsure=("places", "depths", "time"))
        return
    end = list(place.position)
    end[axis] = target[axis] - math.copysign(words.search, way)
    if journal.watch:
        journal.tell_way(line, "feed", end, {axis})
    place.lost.discard(axis)
    place.position = end
    feed = control.modes.feed * control.modes.feed_unit
    if math.isnan(feed):
        journal.grave(Message("a feed move without a feed: F is missing"), line,
                      unsure=("feeds", "time"))
    emit(control, Kind.LINE, line, end, feed)
    spindle.touched, spindle.touching = True, axis
    found = [math.nan] * 3
    found[axis] = end[axis]
    journal.tell("touch", line, "XYZ"[axis], math.copysign(1.0, way) * control.dialect.signs[axis],
                 found)


def said_as_zero(control: Control, line: int, block: Block) -> bool:
    """Carries out the block that sets a zero, if this is one."""
    wanted = control.dialect.zero_words
    words = [word for word in block.words if word.letter != "N"]
    if not wanted or len(words) != len(wanted):
        return False
    axis = -1
    for (letter, figure), word in zip(wanted, words, strict=True):
        if letter == "{place}":
            axis = control.dialect.axes.get(word.letter, -1)
            if axis < 0:
                return False
            placed = word.letter
        elif word.letter != letter or word.value != (
                control.place.station if figure is None else figure):
            return False
    journal, place = control.journal, control.place
    value = sorted_by_letter(control, line, block)[0][placed] * control.modes.unit
    touched, control.spindle.touching = control.spindle.touching, -1
    stands = value + place.shift[axis]
    off = place.position[axis] - stands
    if touched != axis or not abs(off) <= 1.5 * control.machine.coarsest or any(place.shift):
        journal.grave(
            Message("sets the zero of {axis}, and nothing was touched along it just before at that "
                    "place", axis="XYZ"[axis]), line, unsure=("places", "depths"))
    else:
        place.position = [*place.position]
        place.position[axis] = stands
    found = [math.nan] * 3
    found[axis] = stands
    journal.tell("zero", line, "XYZ"[axis], place=found)
    return True


def settle_still(control: Control) -> None:
    """Fed with the spindle still: only a probe is, which touches something while it is in it."""
    spindle, line = control.spindle, control.spindle.still_line
    if line and not spindle.touched:
        control.journal.grave(Message("a feed move with the spindle off"), line,
                              unsure=("speeds",))
    spindle.still_line = 0
