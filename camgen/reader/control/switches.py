"""Words that switch something: spindle, feed, cutter, coolant, clamps, offsets; and messages.

Numbers are in the program's own units, as typed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from functools import cache
from typing import Final

from camgen.messages import Message
from camgen.reader.control.by_steps import by_pulse, set_step, speed_said, step_in_force
from camgen.reader.control.journal import NAN, WATCHED, not_shown
from camgen.reader.control.places import settle_still
from camgen.reader.control.state import Control, emit
from camgen.reader.dialect import is_a_name, template_in_languages
from camgen.reader.motion import Figure, Kind
from camgen.reader.text.words import Block, Word

__all__ = [
    "choose_cutter",
    "do_actions",
    "dwell",
    "read_comment",
    "set_feed_and_speed",
    "set_offsets",
]

# What an M word might change: it moves no axis (ISO 6983-1, from memory).
_OF_AN_ACTION: Final[tuple[Figure, ...]] = ("speeds", "cutters", "turns", "time")
# Where the spindle is started by hand, a message tells the operator how: in other words, too.
_CLOCKWISE: Final = r"SPINDLE\s+CLOCKWISE(?:\s+AT)?"
_ANTICLOCKWISE: Final = r"SPINDLE\s+ANTICLOCKWISE(?:\s+AT)?"
_STOP: Final = r"STOP\s+(?:THE\s+)?SPINDLE"


@cache
def _by_hand() -> re.Pattern[str]:
    """What starts and stops a spindle by hand, in every language, as far as the speed."""
    ways = [(name, "|".join((english, *(
        r"\s+".join(map(re.escape, said.split("{")[0].split()))
        for said in template_in_languages(template)))))
        for name, english, template in (
            ("stop", _STOP, "STOP SPINDLE"),
            ("clockwise", _CLOCKWISE, "START SPINDLE CLOCKWISE AT {speed:.0f} REV/MIN"),
            ("anticlockwise", _ANTICLOCKWISE, "START SPINDLE ANTICLOCKWISE AT {speed:.0f} REV/MIN"),
        )]
    stop, clockwise, anticlockwise = (f"(?P<{name}>{form})" for name, form in ways)
    return re.compile(rf"{stop}|(?:{clockwise}|{anticlockwise})\s+(?P<speed>[0-9]{{1,9}})",
                      re.IGNORECASE | re.ASCII)


def read_comment(control: Control, line: int, text: str) -> None:
    journal = control.journal
    if not text:
        journal.tell("blank", line)
        return
    journal.comment = (line, text)
    journal.event("comment", line, text)
    if control.machine.comments.style == "none" and journal.once("comments"):
        journal.notes.add(
            Message("a comment, though the machine file says the control reads none"), line)
    if not is_a_name(text):
        _message(control, line, text)


def _message(control: Control, line: int, text: str) -> None:
    """What the operator is told to do is as good as done."""
    journal, place, spindle = control.journal, control.place, control.spindle
    dialect = control.dialect
    found = dialect.hand_message.search(text) if dialect.hand_message else None
    if found is not None:
        degrees = float(found["angle"])
        journal.event("hand-index", line, text, degrees)
        if degrees != place.angle:
            place.angle = degrees
            emit(control, Kind.INDEX, line, place.position, NAN)
    found = dialect.change_message.search(text) if dialect.change_message else None
    if found is not None:
        spindle.announced = int(found["cutter"][:9])
        spindle.announced_text = found["text"].strip()
        if dialect.message_changes:
            _change(control, line, spindle.announced)
    found = dialect.steps.spoken.search(text) if dialect.steps else None
    if found is not None and dialect.steps is not None:
        set_step(control, line, float(found["speed"]), by_hand=True)
    if not control.machine.spindle_words.by_program:
        found = _by_hand().search(text)
        if found is not None and found["stop"]:
            spindle.sense = 0
        elif found is not None:
            spindle.sense = -1 if found["anticlockwise"] else 1
            spindle.rate = float(found["speed"])
            journal.said.discard("no spindle")
            step_in_force(control, line)
        if found is not None:
            journal.tell("spindle", line, "by hand", spindle.speed)


def dwell(control: Control, line: int, block: Block, numbers: dict[str, float]) -> None:
    """G4: stay where the cutter is. Takes its word out of ``numbers``."""
    journal = control.journal
    wanted = control.machine.dwell.word
    given: list[Word] = [
        word for word in block.words if word.letter in "PXFSU" and word.letter in numbers
    ]
    time = next((word for word in given if word.letter == wanted), None)
    if time is None:
        journal.grave(Message("G4 without its {letter} word: how long is not said", letter=wanted),
                      line, unsure=("time",))
        time = next((word for word in given if word.letter in "PX"), None)
        if time is None:
            return
    del numbers[time.letter]
    beside = [word for word in block.words if word is not time and word.letter in numbers and (
        word.letter in "PXU" or word.letter in control.dialect.axes
        or word.letter == control.dialect.rotary)]
    if beside:
        journal.grave(
            Message("{letter} beside the time of a dwell: some controls move, and others do not",
                    letter=beside[0].letter), line, beside[0].column, unsure=("places", "time"))
    if time.value < 0:
        journal.grave(Message("a dwell of {time:g}", time=time.value), line, time.column)
        return
    seconds = time.value / (1000.0 if control.machine.dwell.unit == "ms" else 1.0)
    journal.event("dwell", line, "", seconds)
    if not control.spindle.sense and not block.skip:
        control.spindle.stood += seconds


def set_feed_and_speed(
    control: Control, line: int, numbers: dict[str, float], columns: dict[str, int]
) -> None:
    journal, modes = control.journal, control.modes
    if "F" in numbers:
        feed = numbers["F"]
        if not feed > 0:
            journal.grave(Message("a feed of {feed:g}", feed=feed), line, columns["F"])
            modes.feed = NAN
        else:
            modes.feed = feed
            modes.feed_unit = modes.unit
        journal.said.discard("no feed")
    elif modes.feed_mode == 930:
        # Inverse time holds for one block only (NISTIR 6556, from memory).
        modes.feed = NAN
    if "S" in numbers:
        speed = speed_said(control, line, numbers["S"], columns["S"])
        if speed < 0:
            journal.grave(Message("a spindle speed of {speed:g}", speed=speed), line, columns["S"])
            speed = 0.0
        spindle = control.machine.spindle
        if speed and not spindle.lowest <= speed <= spindle.highest:
            journal.grave(
                Message("S{speed:g}: this spindle turns at {lowest:g} to {highest:g} rev/min",
                        speed=speed, lowest=spindle.lowest, highest=spindle.highest),
                line, columns["S"], sort="spindle speed",
            )
        changed = control.spindle.sense and speed != control.spindle.rate
        control.spindle.rate = speed
        if changed:
            step_in_force(control, line)
            journal.tell("spindle", line, "S", control.spindle.speed)
        journal.said.discard("no spindle")


def choose_cutter(
    control: Control,
    line: int,
    numbers: dict[str, float],
    columns: dict[str, int],
    actions: Sequence[tuple[int, int]],
) -> None:
    journal, spindle = control.journal, control.spindle
    dialect = control.dialect
    changing = any(code in dialect.change for code, _ in actions)
    offset = -1
    if "T" in numbers:
        number = numbers["T"]
        if number != int(number) or number < 0:
            journal.grave(Message("{word} is not the number of a cutter", word=f"T{number:g}"),
                          line, columns["T"], unsure=("cutters",))
        else:
            if dialect.offset_figures:
                offset = int(number) % 10**dialect.offset_figures
                # Noughts alone end an offset, and choose no cutter.
                spindle.selected = (int(number) // 10**dialect.offset_figures
                                    or (0 if offset else spindle.selected))
            else:
                spindle.selected = int(number)
            # Without a changer there is nothing to get ready: T itself names the cutter.
            changing = changing or (
                dialect.t_changes and spindle.selected != spindle.cutter
            )
    if not changing:
        if "T" in numbers and (offset < 0 or spindle.selected != spindle.cutter):
            journal.tell("word", line, "T", spindle.selected)
        _offset_by_t(control, line, offset, columns)
        return
    if not spindle.selected and journal.once("no cutter number"):
        journal.notes.add(Message("a cutter change without T: which cutter is not said"), line)
    if spindle.announced and spindle.announced != spindle.selected:
        journal.grave(
            Message("{word}, but the operator is told to fit cutter {told}",
                    word=f"T{spindle.selected}", told=spindle.announced),
            line, columns.get("T", 0), unsure=("cutters",),
        )
    _change(control, line, spindle.selected)
    _offset_by_t(control, line, offset, columns)


def _offset_by_t(control: Control, line: int, offset: int, columns: dict[str, int]) -> None:
    """The length offset that a T word brings in, 0 to end it; below 0 where it says none."""
    if offset < 0:
        return
    journal, spindle = control.journal, control.spindle
    spindle.length_offset = offset
    journal.tell("length", line, "T", offset)
    journal.said.discard("no length offset")
    if offset and offset != spindle.cutter:
        journal.grave(
            Message("T brings in length {number} while cutter {cutter} is in the spindle",
                    number=offset, cutter=spindle.cutter),
            line, columns.get("T", 0), unsure=("depths",))


def _change(control: Control, line: int, cutter: int) -> None:
    """Another cutter is in the spindle."""
    journal, place, spindle = control.journal, control.place, control.spindle
    dialect = control.dialect
    if spindle.sense and control.moved_cutting:
        journal.grave(Message("a cutter change while the spindle is on"), line)
    settle_still(control)
    spindle.touched = False
    spindle.cutter = cutter
    text = spindle.announced_text or journal.comment_at(line)
    journal.event("cutter-change", line, text, float(cutter))
    journal.said.discard("no length offset")
    spindle.announced, spindle.announced_text = 0, ""
    if dialect.by_hand_change:
        if dialect.touch_off:
            place.lost = {0, 1, 2}
    else:
        spindle.sense = 0
        journal.tell("spindle", line, "change", 0.0)
        if not place.lost:
            place.position[2] = math.inf * dialect.signs[2]


def do_actions(
    control: Control, line: int, actions: Sequence[tuple[int, int]], block: Block
) -> list[tuple[int, int]]:
    """M words that take effect before the motion; gives back those that come after it."""
    journal = control.journal
    if not actions:
        return []
    dialect = control.dialect
    after: list[tuple[int, int]] = []
    senses: set[int] = set()
    for code, column in actions:
        if code in dialect.clockwise or code in dialect.anticlockwise or code in dialect.stop:
            if senses - {code} and len(senses) == 1:
                journal.grave(Message("two spindle words in one block contradict each other"),
                              line, column, unsure=("speeds",))
            senses.add(code)
            _spindle(control, line, code, column)
        elif dialect.steps and code in dialect.steps.by_word:
            set_step(control, line, dialect.steps.by_word[code], by_hand=False)
        elif code in dialect.ends or code in (0, 1, 98, 99, dialect.call[1], dialect.back[1]):
            after.append((code, column))
        elif code in dialect.change:
            pass
        elif code in dialect.coolant:
            journal.event("coolant", line, dialect.coolant[code])
        elif dialect.pulses and code in (dialect.pulse, dialect.answered):
            by_pulse(control, line, code, column, block)
        elif code == dialect.clamp:
            journal.event("clamp", line)
        elif code == dialect.unclamp:
            journal.event("unclamp", line)
        elif code in (48, 49):
            journal.tell("word", line, f"M{code}")
            journal.notes.add(
                Message("M49: the overrides are locked, feed hold perhaps with them")
                if code == 49 else Message("M48: the overrides are free again"), line, column)
        elif ("M", code) in dialect.trusted:
            journal.tell("word", line, f"M{code}")
            journal.notes.add(Message("{word} is taken on trust: nothing is shown of it",
                                      word=f"M{code}"), line, column)
        else:
            journal.unknown(not_shown(f"M{code}"), line, column, _OF_AN_ACTION, f"M{code}")
    if len(after) > 1:
        journal.grave(Message("two words in one block that stop or end the program"), line,
                      after[1][1])
    return after


def _spindle(control: Control, line: int, code: int, column: int) -> None:
    journal, spindle = control.journal, control.spindle
    if code in control.dialect.stop:
        if spindle.sense:
            spindle.stood = 0.0
        spindle.sense = 0
        journal.tell("spindle", line, f"M{code}", 0.0)
        return
    settle_still(control)
    spindle.sense = 1 if code in control.dialect.clockwise else -1
    spindle.stood = 0.0
    journal.said.discard("no spindle")
    word = "clockwise" if spindle.sense > 0 else "anticlockwise"
    if word not in control.machine.spindle.senses:
        journal.grave(
            Message("{word}: this spindle does not turn clockwise", word=f"M{code}")
            if word == "clockwise" else
            Message("{word}: this spindle does not turn anticlockwise", word=f"M{code}"),
            line, column)
    if control.machine.spindle_words.s_says == "nothing":
        spindle.rate = spindle.step
    step_in_force(control, line)
    journal.tell("spindle", line, f"M{code}", spindle.speed)
    if not spindle.rate:
        journal.grave(Message("{word} without a speed: S is missing", word=f"M{code}"), line,
                      column)


def set_offsets(
    control: Control,
    line: int,
    modal: dict[str, tuple[int, int]],
    numbers: dict[str, float],
    columns: dict[str, int],
) -> set[str]:
    """Cutter side and length, work offset; gives back the letters used up."""
    journal = control.journal
    used = {"F", "S", "T"}
    if "cutter side" in modal:
        code, column = modal["cutter side"]
        journal.tell_word(line, "cutter side", code)
        if code != 400:
            used.add("D")
            journal.grave(
                Message("{word}: the control moves the cutter aside by a figure of its own table; "
                        "the way shown is the one written", word=f"G{code // 10}"), line, column,
                unsure=("places", "time"),
            )
    if "cutter length" in modal:
        code, column = modal["cutter length"]
        journal.tell_word(line, "cutter length", code, numbers.get("H", NAN))
        if code == 490:
            control.spindle.length_offset = 0
        else:
            used.add("H")
            _length_offset(control, line, numbers, column)
    if "work offset" in modal:
        _work_offset(control, line, *modal["work offset"])
    if "path" in modal:
        _path(control, line, *modal["path"], numbers)
        if modal["path"][0] == 640:
            used.update("PQ")
    return used


def _path(control: Control, line: int, code: int, column: int, numbers: dict[str, float]) -> None:
    """Exact stop or path through corners: the way shown is the one written."""
    journal = control.journal
    off = numbers.get("P", NAN)
    journal.told_words.pop("path", None)
    journal.tell_word(line, "path", code, off)
    if ("G", code) in control.dialect.trusted:
        return
    journal.notes.add(
        Message("G61: the control stops, or all but stops, at every corner") if code == 610 else
        Message("G61.1: the control stops at every corner") if code == 611 else
        Message("G64: the control goes round corners, off the way shown by up to {off:g}", off=off)
        if math.isfinite(off) else
        Message("G64: the control goes round corners, off the way shown by as much as its settings "
                "allow"), line, column, sort=f"path {code}")


def _length_offset(control: Control, line: int, numbers: dict[str, float], column: int) -> None:
    journal, spindle = control.journal, control.spindle
    number = numbers.get("H", -1.0)
    if control.dialect.touch_off:
        journal.grave(
            Message("G43 though the machine file says that lengths are touched off: the figure in "
                    "the control's table is not known"), line, column, unsure=("depths",))
    elif control.dialect.offset_figures:
        journal.grave(
            Message("G43 though the machine file says that T brings in the cutter's length"),
            line, column, unsure=("depths",))
    if number < 0 or number != int(number):
        journal.grave(Message("G43 without the number H of its figure"), line, column,
                      unsure=("depths",))
        return
    spindle.length_offset = int(number)
    journal.said.discard("no length offset")
    if spindle.cutter and spindle.length_offset != spindle.cutter:
        journal.grave(
            Message("G43 H{number} while cutter {cutter} is in the spindle",
                    number=spindle.length_offset, cutter=spindle.cutter),
            line, column, unsure=("depths",),
        )


def _work_offset(control: Control, line: int, code: int, column: int) -> None:
    journal, place = control.journal, control.place
    stations = control.dialect.stations or (540,)
    journal.said.add("work offset")
    journal.tell("word", line, f"G{code / 10:g}")
    if code == place.work:
        return
    if code not in stations:
        journal.grave(
            Message("{word} though the machine file's programs use {others}: another zero",
                    word=f"G{code / 10:g}",
                    others=tuple(f"G{known / 10:g}" for known in stations)), line, column)
    elif place.work:
        journal.notes.add(
            Message("{word} after {other}: how the zeros of stations lie to each other is not "
                    "known here; all are shown as one", word=f"G{code / 10:g}",
                    other=f"G{place.work / 10:g}"), line, column,
            sort="another station",
        )
    elif code != stations[0]:
        journal.notes.add(
            Message("begins with {word}, the zero of station {station}", word=f"G{code / 10:g}",
                    station=stations.index(code) + 1), line, column)
    if place.work:
        if journal.cutting:
            journal.grave(
                Message("{word} while the cutter is down: the zero changes before it has gone "
                        "clear", word=f"G{code / 10:g}"), line, column)
        place.position = [NAN, NAN, NAN]
        place.lost = {0, 1, 2}
    place.work = code
    journal.watch = WATCHED
    place.station = stations.index(code) + 1 if code in stations else 0
