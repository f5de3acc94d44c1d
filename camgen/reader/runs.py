"""Runs of plain moves carried out all at once.

The same arithmetic as :mod:`camgen.reader.control` does block by block, on arrays. It
stops before the first line where anything is amiss and leaves that line to the control.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from camgen.arrays import Flags, Floats
from camgen.reader.control.arcs import CLOSING
from camgen.reader.control.journal import COLUMNS
from camgen.reader.control.moves import CENTRES
from camgen.reader.control.state import PLANES, Control
from camgen.reader.motion import Kind
from camgen.reader.text.many_lines import LETTERS, PLANE, TURN, F, G, I, N, Page, R, X

__all__ = ["can_run", "run"]


_PLAIN_MOVES: Final = (0, 10, 20, 30)


def can_run(control: Control) -> bool:
    """Whether the control's state is such that plain moves can be carried out at once."""
    modes, place = control.modes, control.place
    return (
        modes.absolute
        and modes.feed_mode in (940, 950)
        and control.started
        and not place.lost
        and not control.journal.watch
        and modes.motion not in control.dialect.cycles
        and not control.ended
        and all(np.isfinite(place.position))
    )


def _held(column: Floats, before: float) -> Floats:
    """(n + 1,) values with each gap filled by what stands before it; the first is ``before``."""
    held = np.empty(len(column) + 1)
    held[0] = before
    held[1:] = column
    if np.isnan(column).any():
        at = np.where(np.isnan(held), 0, np.arange(len(held)))
        held = held[np.maximum.accumulate(at)]
    return held


def run(control: Control, page: Page, begin: int, end: int) -> tuple[int, Floats]:
    """Carry out lines ``begin`` to ``end`` (within the page) as far as all is plain.

    Gives the number of lines carried out, and the rows (m, 15) they make.
    """
    journal, modes, spindle = control.journal, control.modes, control.spindle
    table = page.table[begin:end]
    nothing = np.zeros((0, COLUMNS))
    motion = modes.motion
    if motion not in _PLAIN_MOVES:
        if np.isnan(table[0, G]):
            return 0, nothing
        motion = round(table[0, G] * 10)
    unit = modes.unit
    mode = _held(table[:, G], motion / 10)[1:]
    feed = _held(table[:, F] * unit, modes.feed * modes.feed_unit)[1:]
    angle = _held(table[:, TURN], control.place.angle)
    place = np.empty((len(table) + 1, 3))
    for axis in range(3):
        words = table[:, X + axis] * unit + control.place.shift[axis]
        place[:, axis] = _held(words, control.place.position[axis])
    has_axis = ~np.isnan(table[:, X : X + 3]).all(axis=1)
    has_turn = ~np.isnan(table[:, TURN])
    has_centre = ~np.isnan(table[:, I : I + 3])
    any_centre = has_centre.any(axis=1)
    has_radius = ~np.isnan(table[:, R])
    arc = mode >= 2
    bent = arc & (has_axis | any_centre | has_radius)
    moved = (place[1:] != place[:-1]).any(axis=1)
    turned = angle[1:] != angle[:-1]
    cuts = bent | (moved & (mode == 1))

    trouble = (any_centre & ~arc) | (has_radius & (any_centre | ~arc)) | (has_turn & (mode != 0))
    numbers = table[:, N]
    counted = ~np.isnan(numbers)
    if control.numbers.counted and counted.any():
        trouble |= counted & _uneven(control, numbers)
    if control.dialect.centres != CENTRES:
        # Where letters are exchanged, planes and centres are for the control to sort out.
        trouble |= bent | ~np.isnan(table[:, PLANE])
    trouble |= ~np.isnan(table[:, PLANE]) & (table[:, PLANE] != 19 - modes.plane)
    if not control.place.turned:
        trouble |= has_turn
    if _must_speak(control):
        trouble |= cuts
    if "no feed" not in journal.said:
        trouble |= cuts & np.isnan(feed)
    centre = np.full((len(table), 3), np.nan)
    curved = np.flatnonzero(bent)
    if len(curved):
        trouble[curved] |= _centres(control, table, place, curved, centre, mode[curved] == 2)

    wrong = np.flatnonzero(trouble)
    count = int(wrong[0]) if len(wrong) else len(table)
    if not count:
        return 0, nothing
    made = np.flatnonzero((bent | moved | turned)[:count])
    rows = np.empty((len(made), COLUMNS))
    kind = np.where(mode == 0, np.where(moved, Kind.RAPID, Kind.INDEX), Kind.LINE)
    kind = np.where(arc, np.where(mode == 2, Kind.ARC_CLOCKWISE, Kind.ARC_ANTICLOCKWISE), kind)
    rows[:, 0] = kind[made]
    rows[:, 1] = made + (page.first + begin + 1)
    rows[:, 2:5] = place[1:][made]
    rows[:, 5:8] = centre[made]
    rows[:, 8] = modes.plane
    rows[:, 9] = 0.0
    rows[:, 10] = angle[1:][made]
    if modes.feed_mode == 950:
        feed = feed * abs(spindle.speed)  # A turn's feed.
    rows[:, 11] = np.where(mode == 0, np.nan, feed)[made]
    rows[:, 12] = spindle.speed
    rows[:, 13] = spindle.cutter
    rows[:, 14] = control.place.station

    if control.numbers.counted and counted[:count].any():
        control.numbers.last = float(numbers[:count][counted[:count]][-1])
    modes.motion = round(float(mode[count - 1]) * 10)
    control.cycle.words.clear()
    control.cycle.return_level = None
    control.place.position = [float(value) for value in place[count]]
    control.place.angle = float(angle[count])
    if cuts[:count].any():
        control.moved_cutting = True
    feeds = np.flatnonzero(~np.isnan(table[:count, F]))
    if len(feeds):
        modes.feed = float(table[feeds[-1], F])
        modes.feed_unit = unit
        journal.said.discard("no feed")
    _count_words(control, page, begin, begin + count)
    return count, rows


def _uneven(control: Control, numbers: Floats) -> Flags:
    """True where a block's number does not go on from the last as it should."""
    step = control.numbers.step
    if control.numbers.last < 0 or step == 0:
        return np.ones(len(numbers), dtype=np.bool_)
    held = _held(numbers, control.numbers.last)
    gap = numbers - held[:-1]
    return np.asarray(gap != step if step > 0 else gap <= 0)


def _must_speak(control: Control) -> bool:
    """Whether the next cut makes the control say something."""
    journal, spindle = control.journal, control.spindle
    off = spindle.speed == 0.0 and control.machine.spindle_words.by_program
    bare = not control.dialect.touch_off and spindle.wrong_length
    return (off and "no spindle" not in journal.said) or (
        bare and "no length offset" not in journal.said
    )


def _centres(
    control: Control,
    table: Floats,
    place: Floats,
    curved: NDArray[np.intp],
    centre: Floats,
    clockwise: Flags,
) -> Flags:
    """Fill in the centres of the arcs in lines ``curved``; true where one is not in order."""
    modes = control.modes
    first, second = PLANES[modes.plane]
    words = table[curved][:, [I + first, I + second]]
    absent = np.isnan(words)
    radius = table[curved, R] * modes.unit
    by_radius = ~np.isnan(radius)
    wrong = ~np.isnan(table[curved, I + modes.plane])
    start = place[:-1][curved][:, [first, second]]
    end = place[1:][curved][:, [first, second]]
    if modes.centre_absolute:
        wrong |= ~by_radius & absent.any(axis=1)
        shift = control.place.shift
        middle = words * modes.unit + np.array([shift[first], shift[second]])
    else:
        wrong |= ~by_radius & absent.all(axis=1)
        middle = start + np.where(absent, 0.0, words) * modes.unit
    if by_radius.any():
        at = np.flatnonzero(by_radius)
        middle[at], impossible = _by_radius(start[at], end[at], radius[at], clockwise[at])
        wrong[at] |= impossible
    begun = np.sqrt(((start - middle) ** 2).sum(axis=1))
    ended = np.sqrt(((end - middle) ** 2).sum(axis=1))
    wrong |= ~(begun > 0.0) | ~(np.abs(begun - ended) <= CLOSING)
    # An end next to its start may be a short arc gone the long way: the control looks closer.
    near = np.sqrt(((end - start) ** 2).sum(axis=1))
    wrong |= (near > 0.0) & (near <= CLOSING)
    centre[curved, first] = middle[:, 0]
    centre[curved, second] = middle[:, 1]
    return np.asarray(wrong)


def _by_radius(
    start: Floats, end: Floats, radius: Floats, clockwise: Flags
) -> tuple[Floats, Flags]:
    """(m, 2) centres as :func:`.arcs.centre_from_radius` has them; true where there is none."""
    way = end - start
    chord = np.sqrt(way[:, 0] * way[:, 0] + way[:, 1] * way[:, 1])
    impossible = (chord == 0.0) | (chord > 2 * np.abs(radius) + CLOSING)
    chord = np.where(chord == 0.0, 1.0, chord)
    rise = np.sqrt(np.maximum(0.0, radius * radius - chord * chord / 4))
    rise = np.where(clockwise != (radius < 0), -rise, rise)
    middle = (start + end) / 2
    centres = np.stack(
        (middle[:, 0] - way[:, 1] / chord * rise, middle[:, 1] + way[:, 0] / chord * rise), axis=1
    )
    return centres, impossible


def _count_words(control: Control, page: Page, begin: int, end: int) -> None:
    """Count the words of lines ``begin`` to ``end`` of the page."""
    words = slice(page.word_from[begin], page.word_from[end])
    column = page.word_column[words]
    many = np.bincount(column, minlength=LETTERS)
    names = {F: "F", N: "N", I: "I", I + 1: "J", I + 2: "K", R: "R", TURN: control.dialect.rotary}
    names.update((X + axis, letter) for letter, axis in control.dialect.axes.items())
    count = control.journal.words
    for at, name in names.items():
        if many[at]:
            count[name] = count.get(name, 0) + int(many[at])
    if many[G] or many[PLANE]:
        codes = page.word_value[words][(column == G) | (column == PLANE)]
        for code, times in enumerate(np.bincount(codes.astype(int))):
            if times:
                count[f"G{code}"] = count.get(f"G{code}", 0) + int(times)
