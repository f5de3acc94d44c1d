"""Faults of what a control holds and of what happens at stops: the path written stays the same.

Every kind is a function of a program's lines and the machine that gives every place it can be
planted in, each as the changed lines. Blocks are found by their words, comments apart.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import TypeAlias

from camgen.shop.machine import Machine

__all__ = ["STATES", "Lines", "Plant"]

Lines: TypeAlias = list[str]
Plant: TypeAlias = Callable[[Lines, Machine], Iterator[Lines]]

_COMMENT = re.compile(r"\([^)]*\)|;.*")


def _bare(line: str) -> str:
    return _COMMENT.sub("", line).upper()


def _has(line: str, word: str) -> bool:
    """Whether a block holds a word, such as M0 or G54."""
    letter, number = word[0], word[1:]
    return re.search(rf"{letter}\s*0*{re.escape(number)}(?![\d.])", _bare(line)) is not None


def _at(lines: Lines, *words: str) -> list[int]:
    return [n for n, line in enumerate(lines) if any(_has(line, word) for word in words)]


def _put(lines: Lines, at: int, *more: str) -> Lines:
    return [*lines[:at], *more, *lines[at:]]


def _without(lines: Lines, at: int) -> Lines:
    return [*lines[:at], *lines[at + 1 :]]


def _lose_word(lines: Lines, at: int, word: str) -> Lines:
    """The block at ``at`` without a word; a block left empty goes."""
    rest = re.sub(rf"{word[0]}\s*0*{re.escape(word[1:])}(?![\d.])\s*", "", lines[at]).strip()
    kept = [rest] if re.sub(r"^/?N\d+", "", rest).strip() else []
    return [*lines[:at], *kept, *lines[at + 1 :]]


def _number(machine: Machine, mm: float) -> str:
    """A length as the machine file spells it, near enough to be read right."""
    value = mm / (25.4 if machine.program.units == "inch" else 1.0)
    if machine.numbers.point == "never":
        return f"{round(value * 10**machine.numbers.decimals)}"
    return f"{value:.4f}"


def _end(lines: Lines) -> int:
    return _at(lines, "M30", "M2")[0]


def _cuts(lines: Lines) -> list[int]:
    """Blocks of feed moves, by the words as they hold; subprograms apart."""
    found, mode = [], ""
    for number, line in enumerate(lines[: _end(lines)]):
        bare = _bare(line)
        for said in re.findall(r"G\s*0*(\d+(?:\.\d)?)(?![\d.])", bare):
            if said in ("0", "1", "2", "3") or said in ("80", "81", "82", "83", "84", "85", "89"):
                mode = said
        if mode in ("1", "2", "3") and re.search(r"[XYZ]\s*[-+.\d]", bare):
            found.append(number)
    return found


def _inside(lines: Lines) -> list[int]:
    """Blocks of feed moves that follow one another: the cutter is in the cut before them."""
    cuts = set(_cuts(lines))
    return [n for n in sorted(cuts) if n - 1 in cuts]


def _some(places: list[int]) -> list[int]:
    """First, middle and last of many."""
    if len(places) <= 3:
        return places
    return [places[0], places[len(places) // 2], places[-1]]


def start_word_lost(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """One of the words of the safe start gone."""
    centre = {"incremental": ["G91.1"], "absolute": ["G90.1"]}.get(machine.arcs.style, [])
    for word in (*machine.program.safe_words, *centre * machine.arcs.centre_mode_words):
        for at in _at(lines, word)[:1]:
            yield _lose_word(lines, at, word)


def offset_only_at_end(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The work offset, or the plane, said only where the program ends."""
    words = [machine.offsets.work, "G17" if machine.program.plane_word else None]
    for word in words:
        places = _at(lines, word) if word else []
        if word and places:
            changed = _lose_word(lines, places[0], word)
            yield _put(changed, _end(changed), word)


def first_height_low(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """A rapid move down right after a stop, a change, or the program's start."""
    letter = machine.z.letter or "Z"
    low = f"G0 {letter}{_number(machine, -2.0)}"
    stops = [at + 1 for at in _at(lines, "M0", "M6")]
    for at in {*_some(stops), _at(lines, "G90")[0] + 1}:
        yield _put(lines, at, low)


def reference_by_the_work(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The way to the reference point by a place in the work."""
    letter = machine.z.letter or "Z"
    for at in _some(_at(lines, "M0", "M6")):
        yield _put(lines, at + 1, f"G28 {letter}{_number(machine, -0.2)}")


def sent_aside(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """X or Y sent to a place of the machine's own in mid-program."""
    ups = [n for n in range(_end(lines)) if _has(lines[n], "G0")]
    for at in _some(ups):
        for word in (f"G53 G0 X{_number(machine, -300.0)}", f"G53 G0 Y{_number(machine, -300.0)}"):
            yield _put(lines, at + 1, word)
        yield _put(lines, at + 1, "G91 G28 X0.", "G90")


def shift_left(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """A shift of the zero in force at the end."""
    for word in ("G92", "G52"):
        yield _put(lines, _end(lines), f"{word} X{_number(machine, 5.0)}")


def corners_rounded(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The control told to go round corners, to stop at them, or to lock its overrides."""
    start = _at(lines, "G90")[0] + 1
    for at in (start, _end(lines) // 2):
        for word in ("G64", "G64 P0.05", "G61", "G61.1", "M49"):
            yield _put(lines, at, word)


def skip_mark(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """A block-skip stroke before a cut, a retract, a spindle word or a stop."""
    for places in (_cuts(lines), _at(lines, "M3"), _at(lines, "M0"), _at(lines, "G0")):
        for at in _some([n for n in places if n < _end(lines)]):
            yield [*lines[:at], "/" + lines[at], *lines[at + 1 :]]


def cycle_left_on(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """A cycle not ended."""
    if machine.cycles.use:
        for at in _some(_at(lines, machine.cycles.cancel)[1:]):
            yield _without(lines, at)


def length_lost(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The cutter's length taken off before it cuts."""
    if machine.offsets.length == "table":
        for at in _some(_cuts(lines)):
            yield _put(lines, at, "G49")


def change_not_clear(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The retract before an automatic change, or before one at all, gone."""
    if machine.retract.way == "plain":
        return
    for change in _at(lines, "M6"):
        ups = [n for n in _at(lines, "G53", "G28") if n < change]
        if ups:
            yield _without(lines, ups[-1])


def spindle_runs_at_stop(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The spindle's stop gone before hands go in, or a start put there."""
    if not machine.spindle_words.by_program:
        return
    stops = _at(lines, "M0")
    for at in _some(stops):
        off = [n for n in _at(lines, "M5") if n < at]
        if off:
            yield _without(lines, off[-1])
        yield _put(lines, at, f"S{machine.spindle.lowest:.0f} M3")


def wait_misplaced(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The wait for the spindle before its start, or at the program's end."""
    if not (machine.spindle_words.by_program and machine.spindle_words.dwell):
        return
    for at in _some([n for n in _at(lines, "M3", "M4") if _has(lines[n + 1], "G4")]):
        yield [*lines[:at], lines[at + 1], lines[at], *lines[at + 2 :]]
        changed = _without(lines, at + 1)
        yield _put(changed, _end(changed), lines[at + 1])


def halted_in_cut(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """A stop, or the spindle stopped and started, with the cutter in the metal."""
    dwell = machine.dwell.word + ("3000" if machine.dwell.unit == "ms" else "3")
    for at in _some(_inside(lines)):
        yield _put(lines, at, "M1")
        yield _put(lines, at, "M0")
        yield _put(lines, at, f"G4 {dwell}")
        if machine.spindle_words.by_program:
            yield _put(lines, at, "M5", "M3", f"G4 {dwell}")


def message_false(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """A message to the operator gone, or with another figure or axis in it."""
    told = [n for n, line in enumerate(lines)
            if re.search(r"FIT CUTTER|SET ZERO|BRING CUTTER|MEASURE|TURN THE CRANK|SPACE \d", line)
            and _COMMENT.search(line)]
    for at in _some(told):
        if "INDEX TO" not in lines[at]:
            # A comment of a machine file's own blocks that is gone tells nothing false.
            yield _without(lines, at)
        figure = list(re.finditer(r"\d+(?:\.\d+)?", lines[at]))
        if figure:
            last = figure[-1]
            yield [*lines[:at], f"{lines[at][: last.start()]}{float(last[0]) + 1:g}"
                   f"{lines[at][last.end() :]}", *lines[at + 1 :]]
        axis = re.search(r"(?<=OF )[XYZ](?= FOR)", lines[at])
        if axis:
            other = {"X": "Y", "Y": "Z", "Z": "X"}[axis[0]]
            yield [*lines[:at], lines[at][: axis.start()] + other + lines[at][axis.end() :],
                   *lines[at + 1 :]]


def comment_unread(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """A comment for a control that reads none."""
    if machine.comments.style == "none":
        yield _put(lines, 2, "(SET ZERO OF Z)")


def zero_never_said(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """Where G92 is the only zero: gone, one axis of it gone, or said before hands move it."""
    if machine.offsets.stands_at is None:
        return
    for at in _at(lines, "G92"):
        yield _without(lines, at)
        for name in "XYZ":
            yield [*lines[:at], re.sub(rf"{name}[-+.\d]+", "", lines[at]), *lines[at + 1 :]]
        stops = [n for n in _at(lines, "M0") if n < at]
        if stops:
            yield _put(_without(lines, at), stops[-1], lines[at])


def reference_by_a_place(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """G28, G30 by a middle point that lies lower, or aside."""
    letter, across = machine.z.letter or "Z", machine.x.letter or "X"
    down, aside = _number(machine, -50.0), _number(machine, 7.0)
    for at in _some(_at(lines, "G28")):
        for word in (f"{letter}{down}", f"{letter}{_number(machine, -5.0)}",
                     f"{across}{aside}{letter}{_number(machine, 0.0)}"):
            yield [*lines[:at], re.sub(r"(?<=G28).*", " " + word, lines[at]), *lines[at + 1 :]]
    end = _end(lines)
    for word in ("G28", "G30"):
        yield _put(lines, end, f"G91 {word} {letter}{down}", "G90")


def second_rotary_not_set(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The second rotary axis never told where to stand, or only in the cut."""
    if machine.second_rotary is None:
        return
    said = [n for n, line in enumerate(lines)
            if re.search(rf"{machine.second_rotary.letter}\s*-?[\d.]", _bare(line))]
    for at in said[:1]:
        yield _without(lines, at)
        for cut in _some(_inside(lines)):
            yield _put(_without(lines, at), cut - 1, lines[at])


def return_level_lost(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """How far a cycle comes out not said: in the first, or in any."""
    word = machine.cycles.return_level
    if not machine.cycles.use or word == "none":
        return
    places = _at(lines, word)
    if places:
        yield _lose_word(lines, places[0], word)
        changed = lines
        for at in places:
            changed = _lose_word(changed, at, word)
        yield changed


def clamp_not_said(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The head never freed, or never held."""
    if not (machine.rotary.clamp and machine.rotary.unclamp):
        return
    for word in (machine.rotary.unclamp, machine.rotary.clamp):
        places = [n for n in _at(lines, word) if n < _end(lines) - 8] if word else []
        for at in _some(places):
            if not _has(lines[at + 1], machine.rotary.unclamp):  # Else nothing is cut there.
                yield _without(lines, at)


def too_fast(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The cutter run at the spindle's highest speed before its own, out of the cut."""
    if not machine.spindle_words.by_program:
        return
    dwell = machine.dwell.word + ("30000" if machine.dwell.unit == "ms" else "30")
    for at in _some(_at(lines, "M3")):
        speed = re.search(r"S\s*(\d+)", _bare(lines[at]))
        if speed and int(speed[1]) < machine.spindle.highest:
            yield _put(lines, at, f"S{machine.spindle.highest:.0f} M3", f"G4 {dwell}")


def coolant_at_stop(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """Coolant or air on where hands go in."""
    for at in _some(_at(lines, "M0")):
        for word in ("M8", "M7", machine.coolant.flood, machine.coolant.air):
            if word:
                yield _put(lines, at, word)


STATES: dict[str, Plant] = {
    "zero never said": zero_never_said,
    "reference point by a place": reference_by_a_place,
    "second rotary not set": second_rotary_not_set,
    "return level lost": return_level_lost,
    "clamp not said": clamp_not_said,
    "too fast": too_fast,
    "coolant at a stop": coolant_at_stop,
    "start word lost": start_word_lost,
    "offset only at the end": offset_only_at_end,
    "first height low": first_height_low,
    "reference point by the work": reference_by_the_work,
    "sent aside": sent_aside,
    "shift left": shift_left,
    "corners rounded": corners_rounded,
    "skip mark": skip_mark,
    "cycle left on": cycle_left_on,
    "length lost": length_lost,
    "change not clear": change_not_clear,
    "spindle runs at a stop": spindle_runs_at_stop,
    "wait misplaced": wait_misplaced,
    "halted in a cut": halted_in_cut,
    "message false": message_false,
    "comment unread": comment_unread,
}
