"""Fixed cycles for holes, carried out stroke by stroke.

Lengths mm, feeds mm/min, times seconds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from camgen.faults import all_of
from camgen.messages import Message
from camgen.reader.control.arcs import NoSuchMotion
from camgen.reader.control.cycles import CycleHole, cycle_strokes
from camgen.reader.control.moves import move_straight, target_of, turn_head
from camgen.reader.control.state import PLANES, Control
from camgen.reader.motion import Figure

__all__ = ["drill_by_cycle"]

_WAY: Final[tuple[Figure, ...]] = ("places", "depths", "time")


def drill_by_cycle(
    control: Control,
    line: int,
    numbers: dict[str, float],
    columns: dict[str, int],
    axes: Sequence[str],
    turning: bool,
    used: set[str],
    word: bool,
) -> None:
    """A hole, or L of them, by a fixed cycle."""
    modes, place = control.modes, control.place
    kind = control.dialect.cycles[modes.motion]
    drill = modes.plane
    letter_of = {axis: letter for letter, axis in control.dialect.axes.items()}
    deep = letter_of[drill]
    taken = _hold_words(control, kind, deep, numbers)
    used.update(taken)
    if turning:
        turn_head(control, line, numbers, columns)
    if not axes:
        if turning:
            move_straight(control, line, list(place.position), rapid=True, turning=True)
        elif word and not taken:
            control.journal.notes.add(
                Message("a fixed cycle with nowhere to drill in its block"), line)
        return
    repeats = _repeats(control, line, kind, deep, numbers)
    levels = _levels(control, line, deep) if repeats else None
    if levels is None:
        return
    start = list(place.position)
    level, bottom, clear = levels
    flat = {letter: numbers[letter] for letter in axes if letter != deep}
    for _ in range(repeats):
        if not start[drill] >= level:
            start[drill] = level
            move_straight(control, line, list(start), rapid=True)
        target = target_of(control, line, flat)
        target[drill] = place.position[drill]
        move_straight(control, line, list(target), rapid=True, turning=turning)
        target[drill] = level
        move_straight(control, line, list(target), rapid=True)
        place.lost.discard(drill)
        if not _hole(control, line, kind, drill, bottom, level, clear):
            return
        start = list(place.position)


def _hold_words(
    control: Control, kind: str, deep: str, numbers: dict[str, float]
) -> list[str]:
    """Keep the words of the cycle, which hold on; gives those that are its own."""
    letters = "RQPLK" + ("IJ" if kind in ("fine-bore", "back-bore") else "")
    for letter in (deep, "R", "Q", "P", "I", "J", "K"):
        if letter in numbers and (letter not in "IJK" or letter in letters):
            scale = 1.0 if letter == "P" else control.modes.unit
            control.cycle.words[letter] = numbers[letter] * scale
    return [letter for letter in letters if letter in numbers]


def _repeats(
    control: Control, line: int, kind: str, deep: str, numbers: dict[str, float]
) -> int:
    """How many holes are made; 0 where the cycle says too little, or none."""
    journal = control.journal
    missing = [letter for letter in (deep, "R") if letter not in control.cycle.words]
    if missing:
        journal.grave(
            Message("a fixed cycle without {words}", words=all_of(missing)), line, unsure=_WAY)
        return 0
    repeats = numbers.get("L", 1.0 if kind == "back-bore" else numbers.get("K", 1.0))
    if repeats != int(repeats) or not 0 <= repeats <= 10_000:
        journal.grave(Message("a fixed cycle {times:g} times", times=repeats), line, unsure=_WAY)
        return 0
    return int(repeats)


def _levels(control: Control, line: int, deep: str) -> tuple[float, float, float] | None:
    """Where the strokes begin, their bottom, and where they go back to; None where that cannot be.
    """
    journal, cycle, place = control.journal, control.cycle, control.place
    drill = control.modes.plane
    start = place.position[drill]
    if not math.isfinite(start) and journal.once("cycle from nowhere"):
        journal.grave(Message("a fixed cycle from a height that is not known"), line, unsure=_WAY)
    level, bottom = cycle.words["R"], cycle.words[deep]
    if control.modes.absolute:
        level += place.shift[drill]
        bottom += place.shift[drill]
    else:
        level += start
        bottom += level
    if not bottom <= level:
        journal.grave(Message("a fixed cycle whose R lies below its bottom"), line, unsure=_WAY)
        return None
    if cycle.return_level is None:
        cycle.return_level = start
    clear = level if control.modes.to_level else max(cycle.return_level, level)
    return level, bottom, level if math.isnan(clear) else clear


def _hole(
    control: Control, line: int, kind: str, drill: int, bottom: float, level: float, clear: float
) -> bool:
    """Carry out one hole's strokes at the present place; False where it cannot be done."""
    journal, spindle = control.journal, control.spindle
    first, second = PLANES[drill]
    words = control.cycle.words
    across, along = (words.get(control.dialect.centres[axis], 0.0) for axis in (first, second))
    counter = words.get("K", 0.0)
    dwell_unit = 1000.0 if control.machine.dwell.unit == "ms" else 1.0
    hole = CycleHole(
        kind, bottom, level, clear,
        bite=words.get("Q", 0.0),
        dwell=words.get("P", 0.0) / dwell_unit,
        shift=(across, along),
        counterbore=(counter + control.place.shift[drill] if control.modes.absolute
                     else bottom + counter),
    )
    if kind in ("drill-dwell", "bore-dwell") and "P" not in words and journal.once("P"):
        journal.grave(Message("a fixed cycle with a dwell, but P is missing"), line,
                      unsure=("time",))
    if kind == "fine-bore" and not (across or along) and journal.once("shift"):
        journal.notes.add(
            Message("fine boring: which way the cutter is moved off the wall is set in the "
                    "control and not shown"), line)
    sense = spindle.sense
    try:
        for stroke in cycle_strokes(hole):
            place = list(control.place.position)
            if stroke.kind == "shift":
                place[first] += stroke.value
                place[second] += stroke.across
                move_straight(control, line, place, rapid=True)
            elif stroke.kind == "dwell":
                if stroke.value:
                    journal.event("dwell", line, "", stroke.value)
            elif stroke.kind == "spindle":
                spindle.sense = int(stroke.value) * sense
            elif stroke.kind == "stop":
                journal.event("stop", line, "draw the cutter out by hand")
            else:
                place[drill] = stroke.value
                move_straight(control, line, place, rapid=stroke.kind == "rapid")
    except NoSuchMotion as no:
        journal.grave(no.message, line, unsure=_WAY)
        return False
    finally:
        spindle.sense = sense
    return True
