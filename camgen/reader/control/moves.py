"""Straight moves, arcs and turns of the dividing head, one block's worth at a time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from camgen.faults import all_of
from camgen.messages import Message
from camgen.reader.control.arcs import (
    CLOSING,
    NoSuchMotion,
    centre_by_quadrant,
    centre_from_radius,
    closing_error,
)
from camgen.reader.control.journal import NAN
from camgen.reader.control.state import PLANES, Control, emit, last_angle
from camgen.reader.motion import Figure, Kind

__all__ = [
    "CENTRES",
    "begin_moving",
    "clear_first",
    "look_at_second_rotary",
    "move_arc",
    "move_straight",
    "target_of",
    "turn_head",
]

CENTRES: Final = "IJK"
MOST_TURNS: Final = 1000
_WAY: Final[tuple[Figure, ...]] = ("places", "depths", "time")
_AXES: Final = "XYZ"


def begin_moving(control: Control, line: int) -> None:
    """At the first move: words a program must say, or the control keeps the last one's."""
    journal = control.journal
    control.started = True
    machine = control.machine
    if machine.program.units_word and "units" not in journal.said:
        journal.grave(
            Message("neither G20 nor G21 before the first move: which units is not said"), line,
            unsure=("places", "depths", "feeds", "time"))
    if "distance" not in journal.said:
        journal.grave(
            Message("neither G90 nor G91 before the first move: places or distances is not said"),
            line, unsure=_WAY,
        )
    if machine.offsets.work and "work offset" not in journal.said:
        journal.notes.add(
            Message("no {word} before the first move: the control keeps the zero last used",
                    word=machine.offsets.work), line)
    missing = [word for word in machine.program.safe_words if word not in journal.words]
    if missing:
        journal.notes.add(
            Message("no {words} before the first move: the control keeps what was last in force",
                    words=" ".join(missing)), line)


def target_of(control: Control, line: int, numbers: dict[str, float]) -> list[float]:
    """Where the block's axis words lead."""
    journal, modes, place = control.journal, control.modes, control.place
    target = list(place.position)
    for letter, axis in control.dialect.axes.items():
        if letter not in numbers:
            continue
        value = numbers[letter] * modes.unit
        if modes.absolute:
            target[axis] = value + place.shift[axis]
        else:
            target[axis] += value
            if not math.isfinite(target[axis]) and journal.once(f"from nowhere {axis}"):
                journal.grave(
                    Message("{letter} by a distance, from a place that is not known",
                            letter=letter), line, unsure=_WAY,
                )
    return target


def turn_head(
    control: Control, line: int, numbers: dict[str, float], columns: dict[str, int]
) -> None:
    """Where the rotary word leads, within the limits of the head."""
    _turned(control, line, numbers, columns)
    limits, angle = control.dialect.turning, control.place.angle
    if limits is not None and not limits[0] - 1e-6 <= angle <= limits[1] + 1e-6:
        control.journal.grave(
            Message("the head is turned to {angle:g} degrees, and its limits are {least:g} and "
                    "{most:g}", angle=angle, least=limits[0], most=limits[1]),
            line, columns[control.dialect.rotary], sort="limits of turning", unsure=("turns",))


def _turned(
    control: Control, line: int, numbers: dict[str, float], columns: dict[str, int]
) -> None:
    """Where the rotary word leads, whatever ends the head's turning."""
    journal, place = control.journal, control.place
    letter = control.dialect.rotary
    value = numbers[letter]
    way = control.machine.rotary.way
    if not place.turned:
        place.turned = True
        journal.tell("head", line)
    if not control.modes.absolute:
        place.angle += value
        return
    if way in ("absolute", "incremental"):
        place.angle = value
        return
    if not -360.0 <= value <= 360.0 or (value < 0 and way != "signed"):
        journal.grave(
            Message("{word}: this control counts from 0 to 360", word=f"{letter}{value:g}"),
            line, columns[letter], unsure=("turns", "time"),
        )
    if way == "one-way":
        place.angle += round(value - place.angle, 9) % 360.0
    elif way == "signed":
        if math.copysign(1.0, value) > 0:
            place.angle += round(value - place.angle, 9) % 360.0
        else:
            place.angle -= round(place.angle + value, 9) % 360.0
    else:
        turn = (round(value - place.angle, 9) + 180.0) % 360.0 - 180.0
        if turn == -180.0:
            journal.grave(
                Message("{word} is half a turn away: which way round is not certain",
                        word=f"{letter}{value:g}"), line, columns[letter], unsure=("turns", "time"),
            )
        place.angle += turn


def look_at_second_rotary(
    control: Control, line: int, numbers: dict[str, float], columns: dict[str, int], used: set[str]
) -> None:
    journal = control.journal
    letter = control.dialect.second_rotary
    used.add(letter)
    journal.tell("way", line, "second rotary")
    if numbers[letter] != control.dialect.second_stands_at:
        journal.grave(
            Message("{word}: this axis is to stand at {at:g}",
                    word=f"{letter}{numbers[letter]:g}", at=control.dialect.second_stands_at),
            line, columns[letter])


def move_straight(
    control: Control, line: int, target: list[float], *, rapid: bool, turning: bool = False
) -> None:
    """A straight move, or an index where only the dividing head turns."""
    journal, place = control.journal, control.place
    before = place.position
    given = {axis for axis in range(3) if target[axis] is not before[axis]}
    moved = [
        axis
        for axis in range(3)
        if target[axis] != before[axis]
        and not (math.isnan(target[axis]) and math.isnan(before[axis]))
    ]
    if journal.watch and (given or turning):
        journal.tell_way(line, "turn" if turning else "rapid" if rapid else "feed", target, given)
    if rapid:
        clear_first(control, line, given, turning)
    place.lost -= given
    if not rapid and (moved or turning):
        _place_known(control, line, target)
    place.position = target
    if not moved:
        if turning and place.angle != last_angle(control):
            emit(control, 
                Kind.INDEX, line, target, NAN if rapid else _rotary_feed(control, line)
            )
        return
    if rapid:
        emit(control, Kind.RAPID, line, target, NAN)
        return
    length = math.sqrt(sum((target[axis] - before[axis]) ** 2 for axis in moved))
    _cutting(control, line)
    emit(control, Kind.LINE, line, target, _path_feed(control, line, length))


def clear_first(control: Control, line: int, given: set[int], turning: bool) -> None:
    """Moving across before the cutter is known to be clear."""
    journal, place = control.journal, control.place
    if not place.lost:
        return
    clear = control.dialect.retract_axes
    if clear - place.lost or (given and given <= clear):
        return
    if (given or turning) and journal.once("across"):
        journal.grave(
            Message("moves across before it has gone clear: the height of the cutter is not known "
                    "here"), line)


def _place_known(control: Control, line: int, target: Sequence[float]) -> None:
    """Cutting from, or to, a place that is not known."""
    journal = control.journal
    unknown = [
        axis for axis in range(3) if axis in control.place.lost or not math.isfinite(target[axis])
    ]
    if not unknown:
        return
    names = all_of([_AXES[axis] for axis in unknown])
    if journal.once(f"cuts {names}"):
        grave = 2 in unknown or any(not math.isfinite(value) for value in target)
        journal.notes.add(
            Message("cuts before {axes} has been given: where is not known", axes=names), line,
            grave=grave)


def _cutting(control: Control, line: int) -> None:
    """What must be in order before metal is touched."""
    journal, spindle = control.journal, control.spindle
    control.moved_cutting = True
    still = spindle.sense * spindle.rate == 0.0
    if still and control.machine.probing is not None:
        # A probe is fed so; whether it is one shows when it touches.
        spindle.still_line = spindle.still_line or line
    elif still and control.machine.spindle_words.by_program and journal.once("no spindle"):
        journal.grave(Message("a feed move with the spindle off"), line, unsure=("speeds",))
    if (
        not control.dialect.touch_off
        and spindle.wrong_length
        and journal.once("no length offset")
    ):
        journal.grave(
            Message("a feed move without the length of cutter {cutter}: the T word that brings it "
                    "in is missing", cutter=spindle.cutter)
            if control.dialect.offset_figures else
            Message("a feed move of cutter {cutter} with the length of cutter {other} in force: "
                    "G43 H{cutter} is missing", cutter=spindle.cutter, other=spindle.length_offset)
            if spindle.length_offset else
            Message("a feed move with no cutter length in force: G43 H is missing"), line,
            unsure=("depths",))


def _path_feed(control: Control, line: int, length: float) -> float:
    """Feed along the path, mm/min; nan where none is known."""
    modes = control.modes
    if math.isnan(modes.feed):
        _no_feed(control, line)
        return NAN
    if modes.feed_mode == 940:
        return modes.feed * modes.feed_unit
    if modes.feed_mode == 930:
        return modes.feed * length
    return modes.feed * modes.feed_unit * abs(control.spindle.speed)


def _rotary_feed(control: Control, line: int) -> float:
    """Feed of a move that only turns, degrees/min."""
    modes = control.modes
    if math.isnan(modes.feed):
        _no_feed(control, line)
        return NAN
    if modes.feed_mode == 930:
        return modes.feed * abs(control.place.angle - last_angle(control))
    return modes.feed if modes.feed_mode == 940 else modes.feed * abs(control.spindle.speed)


def _no_feed(control: Control, line: int) -> None:
    journal = control.journal
    if control.modes.feed_mode == 930:
        journal.grave(Message("G93 wants F in every block that cuts"), line,
                      unsure=("feeds", "time"))
    elif journal.once("no feed"):
        journal.grave(Message("a feed move without a feed: F is missing"), line,
                      unsure=("feeds", "time"))


def move_arc(
    control: Control,
    line: int,
    numbers: dict[str, float],
    axes: Sequence[str],
    centres: Sequence[str],
    turning: bool,
) -> None:
    """G2 and G3."""
    journal, modes, place = control.journal, control.modes, control.place
    clockwise = (modes.motion == 20) != control.dialect.behind
    target = target_of(control, line, numbers)
    first, second = PLANES[modes.plane]
    before = place.position
    start = (before[first], before[second])
    end = (target[first], target[second])
    if turning:
        journal.grave(Message("an arc that turns the dividing head at once"), line)
    centre = None
    if all(map(math.isfinite, (*start, *end))):
        centre = _centre(control, line, numbers, centres, start, end, clockwise)
    else:
        journal.grave(Message("an arc from a place that is not known"), line, unsure=_WAY)
    if centre is None:
        # No control would make it; shown straight, so that what follows begins at its place.
        move_straight(control, line, target, rapid=False)
        return
    given = {control.dialect.axes[letter] for letter in axes}
    if journal.watch:
        journal.tell_way(line, "arc", target, given)
    place.lost -= given
    place.position = target
    radius = math.sqrt((start[0] - centre[0]) ** 2 + (start[1] - centre[1]) ** 2)
    off = closing_error(start, end, centre)
    if off > CLOSING:
        journal.grave(
            Message("an arc that does not close: its end lies {off:.4f} mm off the circle through "
                    "its start; {closing} is allowed", off=off, closing=CLOSING), line,
            sort="an arc that does not close",
            unsure=_WAY,
        )
    _place_known(control, line, target)
    _cutting(control, line)
    turns = _turns(control, line, numbers)
    # An arc in its plane is known where its height is not.
    third = target[modes.plane] - before[modes.plane]
    third = third if math.isfinite(third) else 0.0
    length = NAN
    chord = math.sqrt((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2)
    if modes.feed_mode == 930 or chord <= CLOSING:
        turn = _sweep(start, end, centre, clockwise) + math.tau * turns
        length = math.sqrt((turn * radius) ** 2 + third**2)
        if 0.0 < chord <= CLOSING and turn > math.pi:
            journal.notes.add(
                Message("an arc all but the whole way round, its end {chord:.4f} mm from its "
                        "start: a short arc with the wrong sense looks like this", chord=chord),
                line,
                sort="an arc all but the whole way round",
            )
    whole = [NAN, NAN, NAN]
    whole[first], whole[second] = centre
    emit(control, 
        Kind.ARC_CLOCKWISE if clockwise else Kind.ARC_ANTICLOCKWISE,
        line, target, _path_feed(control, line, length), whole, turns,
    )


def _turns(control: Control, line: int, numbers: dict[str, float]) -> int:
    """Whole turns beyond the first that P asks for: P3 goes round three times."""
    asked = numbers.get("P")
    if asked is None:
        return 0
    if asked != round(asked) or not 1 <= asked <= MOST_TURNS:
        control.journal.grave(
            Message("P{turns:g} beside an arc: so many times round cannot be", turns=asked), line,
            unsure=("time",))
        return 0
    if asked > 1:
        control.journal.notes.add(
            Message("P{turns:g} beside an arc: taken as so many times round, and by some controls "
                    "not known", turns=asked), line, sort="turns of an arc")
    return round(asked) - 1


def _centre(
    control: Control,
    line: int,
    numbers: dict[str, float],
    centres: Sequence[str],
    start: tuple[float, float],
    end: tuple[float, float],
    clockwise: bool,
) -> tuple[float, float] | None:
    """The arc's centre in its plane, None where it has none that can be."""
    journal, modes, place = control.journal, control.modes, control.place
    wanted = [control.dialect.centres[axis] for axis in PLANES[modes.plane]]
    given = [letter for letter in centres if letter in wanted]
    for letter in centres:
        if letter not in wanted:
            journal.grave(
                Message("{letter} is not in the arc's plane", letter=letter), line,
                sort="centre out of the plane", unsure=_WAY,
            )
    if "R" in numbers and given:
        journal.grave(Message("an arc with both its centre and R: controls differ in which holds"),
                      line, unsure=_WAY)
    if given:
        if modes.centre_absolute:
            if len(given) < 2:
                journal.grave(
                    Message("an arc with one half of an absolute centre"), line, unsure=_WAY)
                return None
            first, second = PLANES[modes.plane]
            return _off_start(control, 
                line, start, (
                    numbers[wanted[0]] * modes.unit + place.shift[first],
                    numbers[wanted[1]] * modes.unit + place.shift[second],
                ),
            )
        if control.machine.arcs.unsigned:
            off = (numbers.get(wanted[0], 0.0) * modes.unit,
                   numbers.get(wanted[1], 0.0) * modes.unit)
            try:
                return _off_start(control, line, start,
                                  centre_by_quadrant(start, end, off, clockwise))
            except NoSuchMotion as no:
                journal.grave(no.message, line, sort="an arc that cannot be", unsure=_WAY)
                return None
        return _off_start(control, 
            line, start, (
                start[0] + numbers.get(wanted[0], 0.0) * modes.unit,
                start[1] + numbers.get(wanted[1], 0.0) * modes.unit,
            ),
        )
    if "R" in numbers:
        try:
            return centre_from_radius(start, end, numbers["R"] * modes.unit, clockwise)
        except NoSuchMotion as no:
            journal.grave(no.message, line, sort="an arc by radius that cannot be", unsure=_WAY)
            return None
    journal.grave(Message("an arc with neither centre nor radius"), line, unsure=_WAY)
    return None


def _off_start(
    control: Control, line: int, start: tuple[float, float], centre: tuple[float, float]
) -> tuple[float, float] | None:
    """``centre``, None where it is the arc's start."""
    if math.sqrt((start[0] - centre[0]) ** 2 + (start[1] - centre[1]) ** 2) == 0.0:
        control.journal.grave(Message("an arc of no radius: its centre is its start"), line,
                              unsure=_WAY)
        return None
    return centre


def _sweep(
    start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float],
    clockwise: bool,
) -> float:
    """How far an arc turns, radians, a whole turn where it ends at its start."""
    if start == end:
        return math.tau
    turn = math.atan2(end[1] - centre[1], end[0] - centre[0]) - math.atan2(
        start[1] - centre[1], start[0] - centre[0]
    )
    return (-turn if clockwise else turn) % math.tau
