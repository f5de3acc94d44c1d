"""Moves in other coordinates than the program's, shifts of its zero, and zeros set by touching.

For touching no standard has words: they are the machine file's own.

Numbers are in the program's own units, as typed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from camgen.messages import Message
from camgen.reader.control.block_words import sorted_by_letter
from camgen.reader.control.journal import NAN
from camgen.reader.control.moves import move_straight, target_of
from camgen.reader.control.state import Control, emit
from camgen.reader.motion import Kind
from camgen.reader.text.words import Block

__all__ = ["go_to_machine_place", "go_to_reference", "said_as_zero", "settle_still", "shift_zero",
           "touch"]


def go_to_reference(
    control: Control, line: int, word: str, numbers: dict[str, float], axes: Sequence[str]
) -> None:
    """G28 and G30: by the middle point to the reference point."""
    journal, place = control.journal, control.place
    turning = bool(control.dialect.rotary) and control.dialect.rotary in numbers
    via = NAN
    if axes:
        # G91 G28 Z0 is the usual way to say "from here", also where "here" is not known.
        still = {letter for letter in axes if not control.modes.absolute and numbers[letter] == 0}
        by = {letter: value for letter, value in numbers.items() if letter not in still}
        if len(still) < len(axes):
            via = 1.0 if place.lost else 0.0
        move_straight(control, line, target_of(control, line, by), rapid=True)
    named = [control.dialect.axes[letter] for letter in axes]
    if not axes and not turning:
        named = [0, 1, 2]
        journal.notes.add(Message("all axes go to the reference point at once"), line)
    journal.tell("gone", line, word, via,
                 [0.0 if axis in named else NAN for axis in range(3)])
    _away(control, line, named)
    if turning:
        place.angle = 0.0
        move_straight(control, line, list(place.position), rapid=True, turning=True)


def go_to_machine_place(
    control: Control,
    line: int,
    numbers: dict[str, float],
    axes: Sequence[str],
    columns: dict[str, int],
) -> None:
    """G53: to a place in machine coordinates."""
    journal, modes = control.journal, control.modes
    if modes.motion not in (0, 10):
        journal.grave(Message("G53 wants G0 or G1 in force"), line,
                      unsure=("places", "depths", "time"))
    if not modes.absolute:
        journal.grave(
            Message("G53 with distances (G91) in force: controls differ in what they do"), line,
            unsure=("places", "depths", "time"))
    low = False
    for letter in axes:
        if control.dialect.axes[letter] != 2:
            continue
        low = numbers[letter] * modes.unit < control.machine.retract.machine_z - 1e-9
        if low:
            journal.grave(
                Message("G53 {place} is below the height that the machine file calls safe: how "
                        "high that is over the work is not known",
                        place=f"{letter}{numbers[letter]:g}"), line,
                columns[letter], unsure=("depths",),
            )
    place = [NAN, NAN, NAN]
    for letter in axes:
        axis = control.dialect.axes[letter]
        # The machine's own coordinates are ISO 841's: no sense to be turned.
        place[axis] = numbers[letter] * modes.unit * control.dialect.signs[axis]
    journal.tell("gone", line, "G53", place=place)
    _away(control, line, [control.dialect.axes[letter] for letter in axes], low=low)


def _away(control: Control, line: int, axes: Sequence[int], *, low: bool = False) -> None:
    """The axes go where the program's own figures do not reach: Z up, the others aside.

    ``low``: Z too goes nobody knows where.
    """
    place = control.place
    place.position = list(place.position)
    for axis in axes:
        place.lost.discard(axis)
        up = axis == 2 and not low
        place.position[axis] = math.inf * control.dialect.signs[2] if up else NAN
    if axes:
        emit(control, Kind.RAPID, line, place.position, NAN)


def shift_zero(
    control: Control, line: int, once: int, numbers: dict[str, float], axes: Sequence[str]
) -> None:
    """G52 and G92: the zero is shifted."""
    journal, place = control.journal, control.place
    journal.tell("word", line, f"G{once / 10:g}")
    if once == 921:
        place.shift = [0.0, 0.0, 0.0]
        place.old_shift = [0.0, 0.0, 0.0]
    elif once == 922:
        place.old_shift, place.shift = list(place.shift), [0.0, 0.0, 0.0]
    elif once == 923:
        place.shift = list(place.old_shift)
    elif not axes and not (control.dialect.rotary and control.dialect.rotary in numbers):
        journal.grave(
            Message("{word} without axis words: some controls shift nothing by it, and others "
                    "every axis, or hold a speed", word=f"G{once // 10}"), line,
            unsure=("places", "depths"))
    for letter in axes:
        axis = control.dialect.axes[letter]
        value = numbers[letter] * control.modes.unit
        if once == 520:
            place.shift[axis] = value
        elif math.isfinite(place.position[axis]):
            place.shift[axis] = place.position[axis] - value
            place.lost.discard(axis)
        else:
            # The first zero said of an axis is the program's zero.
            place.position[axis] = value + place.shift[axis]
            place.lost.discard(axis)
    named = "".join("XYZ"[control.dialect.axes[letter]] for letter in axes) if once == 920 else ""
    journal.tell("shift", line, named, place=place.shift)
    if control.dialect.rotary and control.dialect.rotary in numbers:
        journal.grave(
            Message("G92 of the dividing head: its angles would be counted from elsewhere"), line,
            unsure=("turns",))


def touch(
    control: Control, line: int, numbers: dict[str, float], axes: Sequence[str], turning: bool
) -> None:
    """A move until the probe touches, along one axis; ``numbers`` in the program's units.

    The motion is nominal: what is touched is taken to stand where the program means it to, short
    of the block's place by as much as the machine file says is searched beyond.
    """
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
    journal.tell("touch", line, "XYZ"[axis], math.copysign(1.0, way) * control.dialect.signs[axis],
                 _as_stands(control, axis, end[axis]))


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
    journal.tell("zero", line, "XYZ"[axis], place=_as_stands(control, axis, stands))
    return True


def _as_stands(control: Control, axis: int, told: float) -> list[float]:
    """The place of an axis as the slide stands, mm, in the control's sense; nan for the others."""
    found, signs = [NAN] * 3, control.dialect.signs
    found[axis] = told
    if control.journal.slides is not None:
        x, y, z = (at * sign for at, sign in zip(found, signs, strict=True))
        stands = control.journal.slides.stands_alone((x, y, z))
        found[axis] = stands[axis] * signs[axis]
    return found


def settle_still(control: Control) -> None:
    """Fed with the spindle still: only a probe is, which touches something while it is in it."""
    spindle, line = control.spindle, control.spindle.still_line
    if line and not spindle.touched:
        control.journal.grave(Message("a feed move with the spindle off"), line,
                              unsure=("speeds",))
    spindle.still_line = 0
