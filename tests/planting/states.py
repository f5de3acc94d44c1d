"""What a control holds: states left on, words of the start gone, zeros, places, lengths."""

from __future__ import annotations

import re
from collections.abc import Iterator

from camgen.shop.machine import Machine
from planting.faults import Lines
from planting.lines import (
    at_end,
    bare,
    blocks_with,
    cutting,
    cutting_with_other,
    has,
    lose_word,
    main,
    number,
    put,
    some,
    without,
)
from planting.table import (
    changed,
    each_place,
    inserted,
    moved,
    own_zero,
    table,
    turns,
)

# States put on in the middle of cutting, and left on at the end.
for _name, _block in {
    "corners rounded": "G64", "corners rounded by an amount": "G64 P0.05",
    "counted on from where it is": "G91", "feed by the turn": "G95", "feed by the time": "G93",
    "beside the way, left": "G41 D1", "beside the way, right": "G42 D1",
    "scaled": "G51 X0 Y0 P2", "turned in the plane": "G68 X0 Y0 R10", "mirrored": "G51.1 X0",
    "zero shifted by G52": "G52 X5", "zero shifted by G92": "G92 X5",
    "zero rewritten": "G10 L2 P1 X5 Y0 Z0", "macro called": "G65 P9000",
    "macro at every move": "G66 P9000", "length of another cutter": "G43 H9",
    "limits lifted": "G23", "look-ahead changed": "G5.1 Q1", "polar coordinates": "G16",
}.items():
    inserted(f"{_name}, within a cut", _block,
             cutting_with_other if _block == "G43 H9" else cutting)
    _shift = _name.startswith("zero shifted")
    inserted(f"{_name}, left on at the end", _block, at_end,
             "a zero that the next program does not set anew" if _shift else "",
             own_zero if _shift else lambda machine: True)
inserted("other plane, left on at the end", "G18", at_end)
inserted("another offset, left on at the end", "G55", at_end)
inserted("a cycle left on at the end", "G81 X0 Y0 Z5 R6 F100", at_end,
         needs="a control with cycles", when=lambda machine: machine.cycles.use)
inserted("another offset within a cut", "G55", cutting)
inserted("length given up within a cut", "G49", cutting, "lengths from a table", table)
inserted("override taken away", "M49", cutting)
# Stops and the spindle where they may not be.
inserted("stop within a cut", "M0", cutting)
inserted("optional stop within a cut", "M1", cutting)
inserted("spindle stopped within a cut", "M5", cutting, "a spindle started by program", turns)
inserted("spindle stopped and started within a cut", "M5|S3000 M3|G4 P3", cutting,
         "a spindle started by program", turns)
inserted("spindle turned back within a cut", "M4", cutting, "a spindle started by program", turns)
inserted("spindle set one way within a cut", "M19", cutting, "a spindle started by program", turns)
inserted("cutter changed within a cut", "T9 M6", cutting)
inserted("program ended within a cut", "M30", cutting)
inserted("program left within a cut", "M99", cutting)
inserted("unknown subprogram called", "M98 P7777", cutting)
inserted("coolant on within a cut, for a stop", "M8|M0", cutting)
inserted("X sent far off", "G53 G0 X-300", cutting)
inserted("Y sent far off", "G53 G0 Y-300", cutting)
inserted("X sent to its reference", "G28 X0", cutting)
inserted("Y sent to its reference", "G28 Y0", cutting)
inserted("cuts after the end of cutting", "G1 X3 Y3 Z-3 F100", at_end)

# Words of the start gone or said too late.
for _word in ("G40", "G49", "G80", "G94", "G17", "G90", "G54"):
    changed(f"{_word} gone from the start", rf"{_word}(?![\d.])\s*", "", every=True,
            needs=f"a control to which {_word} is said")
    moved(f"{_word} only at the end", _word)
moved("G21 only at the end", "G21")
moved("G20 only at the end", "G20")
changed("offset only in a comment", r"^G54$", "(G54)", needs="G54 in a block of its own")


@each_place("word of the start lost")
def start_word_lost(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """One of the words of the safe start gone."""
    centre = {"incremental": ["G91.1"], "absolute": ["G90.1"]}.get(machine.arcs.style, [])
    for word in (*machine.program.safe_words, *centre * machine.arcs.centre_mode_words):
        for at in blocks_with(lines, word)[:1]:
            yield lose_word(lines, at, word)


@each_place("offset or plane only at the end", "a word for it")
def offset_only_at_end(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The work offset, or the plane, said only where the program ends."""
    words = [machine.offsets.work, "G17" if machine.program.plane_word else None]
    for word in words:
        places = blocks_with(lines, word) if word else []
        if word and places:
            changed = lose_word(lines, places[0], word)
            yield put(changed, main(changed), word)


@each_place("rapid down right after a stop or the start")
def first_height_low(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """A rapid move down right after a stop, a change, or the program's start."""
    letter = machine.z.letter or "Z"
    low = f"G0 {letter}{number(machine, -2.0)}"
    stops = [at + 1 for at in blocks_with(lines, "M0", "M6")]
    for at in {*some(stops), blocks_with(lines, "G90")[0] + 1}:
        yield put(lines, at, low)


@each_place("reference point by the work", "a stop or a change")
def reference_by_the_work(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The way to the reference point by a place in the work."""
    letter = machine.z.letter or "Z"
    for at in some(blocks_with(lines, "M0", "M6")):
        yield put(lines, at + 1, f"G28 {letter}{number(machine, -0.2)}")


@each_place("sent aside")
def sent_aside(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """X or Y sent to a place of the machine's own in mid-program."""
    ups = [n for n in range(main(lines)) if has(lines[n], "G0")]
    for at in some(ups):
        for word in (f"G53 G0 X{number(machine, -300.0)}", f"G53 G0 Y{number(machine, -300.0)}"):
            yield put(lines, at + 1, word)
        yield put(lines, at + 1, "G91 G28 X0.", "G90")


@each_place("corners rounded, exact stops, overrides locked")
def corners_rounded(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The control told to go round corners, to stop at them, or to lock its overrides."""
    start = blocks_with(lines, "G90")[0] + 1
    for at in (start, main(lines) // 2):
        for word in ("G64", "G64 P0.05", "G61", "G61.1", "M49"):
            yield put(lines, at, word)


@each_place("zero never said", "a control whose zero G92 sets")
def zero_never_said(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """Where G92 is the only zero: gone, one axis of it gone, or said before hands move it."""
    if machine.offsets.stands_at is None:
        return
    for at in blocks_with(lines, "G92"):
        yield without(lines, at)
        for name in "XYZ":
            yield [*lines[:at], re.sub(rf"{name}[-+.\d]+", "", lines[at]), *lines[at + 1 :]]
        stops = [n for n in blocks_with(lines, "M0") if n < at]
        if stops:
            yield put(without(lines, at), stops[-1], lines[at])


@each_place("reference point by a place")
def reference_by_a_place(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """G28, G30 by a middle point that lies lower, or aside."""
    letter, across = machine.z.letter or "Z", machine.x.letter or "X"
    down, aside = number(machine, -50.0), number(machine, 7.0)
    for at in some(blocks_with(lines, "G28")):
        for word in (f"{letter}{down}", f"{letter}{number(machine, -5.0)}",
                     f"{across}{aside}{letter}{number(machine, 0.0)}"):
            yield [*lines[:at], re.sub(r"(?<=G28).*", " " + word, lines[at]), *lines[at + 1 :]]
    end = main(lines)
    for word in ("G28", "G30"):
        yield put(lines, end, f"G91 {word} {letter}{down}", "G90")


@each_place("second rotary not set", "a second rotary axis")
def second_rotary_not_set(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The second rotary axis never told where to stand, or only in the cut."""
    if machine.second_rotary is None:
        return
    said = [n for n, line in enumerate(lines)
            if re.search(rf"{machine.second_rotary.letter}\s*-?[\d.]", bare(line))]
    for at in said[:1]:
        yield without(lines, at)
        for cut in some(cutting(lines, machine)):
            yield put(without(lines, at), cut - 1, lines[at])


@each_place("return level lost", "a control with cycles")
def return_level_lost(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """How far a cycle comes out not said: in the first, or in any."""
    word = machine.cycles.return_level
    if not machine.cycles.use or word == "none":
        return
    places = blocks_with(lines, word)
    if places:
        yield lose_word(lines, places[0], word)
        changed = lines
        for at in places:
            changed = lose_word(changed, at, word)
        yield changed


# Addresses that some controls take for more than others do.
for _letter in "HD":
    inserted(f"{_letter} alone within a cut", f"{_letter}9", cutting)
changed("another zero by P", r"^((?:N\d+ )?G54)$", r"\1 P2", needs="G54 in a block of its own")
inserted("G92 with a speed alone", "G92 S500", cutting)
inserted("G92 alone at the end", "G92", at_end)
inserted("block behind the end", "G0 X5.|M30", lambda lines, machine: [
    at + 1 for at in at_end(lines, machine)])
for _letter in "LP":
    inserted(f"{_letter} alone within a cut", f"{_letter}2", cutting)
inserted("words behind the last mark", "G0 X5.", lambda lines, machine: [
    len(lines)] if lines[-1].strip() == "%" else [], "marks at both ends",
    lambda machine: machine.program.marks)
inserted("subprogram that nothing calls", "O9000|G0 X5.|M99", lambda lines, machine: [
    at + 1 for at in at_end(lines, machine)])
changed("spindle stopped in the block of the end", r"^((?:N\d+ )?)M30$", r"\1M5 M30")
changed("wait without its point", r"^((?:N\d+ )?G4 P\d+)\.0*$", r"\1",
        needs="waits in seconds on a control that wants a point",
        when=lambda machine: machine.numbers.point == "always" and machine.dwell.unit == "s")
inserted("cycle at a stop", "G81 X0 Y0 Z5. R6. F100.", lambda lines, machine: [
    n for n, line in enumerate(lines[: main(lines)]) if has(line, "M0")])


@each_place("place not said after a stop", "a stop where a zero is set or a tooth measured")
def place_not_said(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """Of the first way across after a stop where hands were, a word of an axis is gone."""
    if machine.offsets.length != "touch-off":
        return
    for stop in (n for n, line in enumerate(lines) if has(line, "M0")):
        for at in range(stop + 1, min(stop + 6, len(lines))):
            if has(lines[at], "M0", "M6", "M30") or re.search(r"G4\b", lines[at]):
                continue
            two = re.fullmatch(r"(?:N\d+ )?(?:G0 )?(X[-\d.]+) (Y[-\d.]+)", lines[at])
            if two:
                for word in two.groups():
                    yield put(without(lines, at), at, lines[at].replace(word, "").strip())
                return
