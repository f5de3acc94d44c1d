"""What happens where hands go in, and before the cutter comes near: stops, waits, words, marks."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from functools import partial
from itertools import takewhile

from camgen.shop.machine import HandHead, Machine
from planting.faults import Lines
from planting.lines import (
    at_end,
    bare,
    blocks_with,
    codes,
    cutting,
    cutting_before_other,
    has,
    main,
    moved_last,
    put,
    some,
    speeds,
    stops,
    without,
)
from planting.table import (
    changed,
    each_place,
    inserted,
    kind,
    marked,
    shown,
    turns,
)

# Hands near a turning cutter; waits.


@kind("spindle started before a stop", "a stop, and a spindle started by program")
def started_before_stop(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The spindle started before a stop at which hands go in."""
    stops = [n for n, line in enumerate(lines) if has(line, "M0")]
    if not stops or not turns(machine):
        return None
    at = chance.choice(stops)
    return [*lines[:at], "S3000 M3", *lines[at:]]


@kind("spindle not stopped", "a stop or a change after cutting, a spindle started by program")
def spindle_not_stopped(
    lines: Lines, chance: random.Random, machine: Machine
) -> Lines | None:
    """The spindle not stopped; before the program's end its end word stops it (ISO 6983-1, M30)."""
    found = [n for n, line in enumerate(lines[: main(lines)]) if has(line, "M5")
             and any(has(one, "M0", "M6") for one in lines[n + 1:n + 6])]
    started = [n for n, line in enumerate(lines) if has(line, "M3", "M4")]
    found = [n for n in found if started and n > started[0]]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[:at], *lines[at + 1:]]


@kind("clamp forgotten", "a head with a clamp")
def clamp_forgotten(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The head not clamped again before a cut."""
    found = [n for n, line in enumerate(lines[:-1])
             if has(line, "M10") and not has(lines[n + 1], "M11")
             and any(has(one, "G1") for one in lines[n + 1:n + 5])]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[:at], *lines[at + 1:]]


@kind("waits before the start of the spindle", "waits")
def waits_first(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """Every wait before the spindle's start instead of after."""
    if not any(has(line, "G4") for line in lines):
        return None
    found = list(lines)
    for n in range(1, len(found)):
        if has(found[n], "G4") and has(found[n - 1], "M3", "M4"):
            found[n - 1], found[n] = found[n], found[n - 1]
    return found if found != lines else None


@kind("waits at the end", "waits")
def waits_last(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """Every wait at the end."""
    waits = [line for line in lines[: main(lines)] if has(line, "G4")]
    ends = at_end(lines, machine)
    if not waits or not ends:
        return None
    kept = [line for line in lines[: ends[0]] if not has(line, "G4")]
    return [*kept, *waits, *lines[ends[0]:]]


@kind("first height low after a stop", "flat work: Z is the axis drawn back")
def first_height_low(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """After a stop the first move goes down instead of clear."""
    found, stopped = [], False
    for number, line in enumerate(lines):
        if has(line, "M0", "M6"):
            stopped = True
        elif stopped and re.search(r"[XYZ]", bare(line)) and not has(line, "G92", "G53", "G28"):
            if re.search(r"Z[-+]?\d", bare(line)):
                found.append(number)
            stopped = False
    if not found:
        return None
    at = chance.choice(found)
    low = "Z-2000" if machine.numbers.point == "never" else "Z-2."
    return [*lines[:at], re.sub(r"Z[-+]?[\d.]+", low, lines[at]), *lines[at + 1:]]


@kind("message after its stop", "a control that shows messages")
def message_late(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The message of a stop behind it."""
    found = [n for n in range(1, len(lines))
             if has(lines[n], "M0") and not bare(lines[n - 1]) and lines[n - 1].strip(" %")]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[: at - 1], lines[at], lines[at - 1], *lines[at + 1:]]


@kind("comment for a control that reads none", "a control that reads no comments")
def comment_where_none(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """A comment for a control that reads none."""
    places = cutting(lines, machine)
    if machine.comments.style != "none" or not places:
        return None
    at = chance.choice(places)
    return [*lines[:at], "(CUT)", *lines[at:]]


@kind("sense of turning", "a spindle started by program")
def sense(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The spindle started the other way round."""
    found = [n for n in speeds(lines, machine) if has(lines[n], "M3")]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[:at], re.sub(r"M0?3\b", "M4", lines[at]), *lines[at + 1:]]


@kind("speed halved", "speeds by program")
def speed_halved(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """Half the speed of a cut."""
    found = speeds(lines, machine)
    if not found:
        return None
    at = chance.choice(found)
    other = re.sub(r"S(\d+)", lambda m: f"S{int(m[1]) // 2}", lines[at])
    return [*lines[:at], other, *lines[at + 1:]]


@kind("retract before a change gone", "a control with a way to the top of Z")
def change_not_clear(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The way to the top of Z before a change of cutters left out."""
    found = [n for n, line in enumerate(lines) if has(line, "G53", "G28")
             and any(has(one, "M6") for one in lines[n + 1:n + 7])]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[:at], *lines[at + 1:]]


@kind("wait gone", "waits")
def wait_gone(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """A wait left out, where something moves before the spindle is stopped."""
    found = [n for n, line in enumerate(lines) if has(line, "G4") and re.search(
        r"[XYZAB][-\d]", " ".join(bare(one) for one in takewhile(
            lambda one: not has(one, "M5"), lines[n + 1:]) if not has(one, "G4")))]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[:at], *lines[at + 1:]]


changed("wait a tenth of a second", r"(G0?4 ?[PX])[\d.]+",
        lambda m: m[1] + ("100" if "X" in m[1] else "0.1"), needs="waits")
changed("stop gone", r"^M0?0$", "", needs="stops")
changed("stop made optional", r"M0?0$", "M1", needs="stops")
changed("speed nothing", r"S\d+", "S0", needs="speeds by program")
# Changes of cutters and retracts.
changed("another cutter asked for", r"T(\d+)", lambda m: f"T{int(m[1]) + 1}")
changed("length of the wrong cutter", r"H(\d+)", lambda m: f"H{int(m[1]) + 1}",
        needs="lengths from a table")
changed("length not said", r"G43 H\d+", "", needs="lengths from a table")
changed("retract to the wrong height", r"(G53 G0 Z|G28 Z)[-\d.]+", r"\g<1>-50.",
        needs="a control with a way to the top of Z")
changed("clamp not freed", r"^M11$", "", needs="a head with a clamp")
@kind("cycle not ended", "a control with cycles")
def cycle_not_ended(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The end of a cycle left out, where no other cycle takes its place at once."""
    found = [n for n, line in enumerate(lines[:-1]) if bare(line) == "G80"
             and not re.search(r"G8[1-9]\b", lines[n + 1])]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[:at], *lines[at + 1:]]


changed("cycle back to the lower height", r"G98", "G99", needs="a control with cycles")
changed("coolant never on", r"^M[78]$", "", needs="a control with coolant or air")
# Messages.
# As they are said in each language: the cutter, the zero, the space and the hole.
_FIT = r"FIT CUTTER |WERKZEUG (?=\d+ EINSETZEN)|MONTER L'OUTIL "
_ZERO = r"SET ZERO OF |NULL AUF |ZERO DE "
for _name, _pattern, _text, _needs in (
    ("message with another cutter", rf"({_FIT})(\d+)", r"\g<1>9\g<2>", "messages"),
    ("message with another size", rf"((?:{_FIT}).*\bD)(\d)", r"\g<1>9\g<2>", "messages"),
    ("message with another axis", rf"({_ZERO})([XYZ])", r"\g<1>W", "zeros set at a stop"),
    ("message of a change gone", rf"[(;] ?(MSG )?(?:{_FIT})[^)]*\)?", "", "messages"),
    ("message of a zero gone", rf"[(;] ?(MSG )?(?:{_ZERO})[^)]*\)?", "", "zeros set at a stop"),
    ("message with another space", r"(\((?:SPACE|LUECKE|ENTREDENT) )(\d+)", r"\g<1>9\g<2>",
     "a head turned by hand"),
    ("message with another hole", r"((?:HOLE|LOCH|TROU) )(\d+)", r"\g<1>9\g<2>",
     "a head turned by hand"),
    ("heading of another step", r"((?:STEP|ARBEITSGANG|OPERATION) )(\d+)", r"\g<1>9\g<2>",
     "messages"),
):
    changed(_name, _pattern, _text, comments=True, needs=_needs, when=shown)


for _name, _block, _where in (
    ("another cutter asked for beside the right one", "(FIT CUTTER 9 END MILL D3)", stops),
    ("a zero that is not to be set", "(SET ZERO OF W FOR THIS CUTTER)", stops),
    ("a message that says the contrary", "(DO NOT SET ZERO)", stops),
    ("a turn beyond the right one", "(THEN 1 TURN MORE)", stops),
    ("an order within a cut", "(CUTTER IS CLEAR, REACH IN)", cutting),
):
    inserted(_name, _block, _where, "stops, and messages" if _where is stops else "messages",
             shown)
# Marks that leave blocks out.
marked("cut marked to be left out", (), cutting)
marked("start of the spindle marked to be left out", ("M3", "M4"))
marked("stop marked to be left out", ("M0",))
marked("safe words marked to be left out", ("G90",))
marked("end of the spindle marked to be left out", ("M5",))


@kind("retract marked to be left out")
def retract_marked(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """A retract marked to be left out."""
    found, rapid = [], False
    for number, line in enumerate(lines[: main(lines)]):
        said = [code for code in codes(line) if code in ("G0", "G1", "G2", "G3")]
        was = rapid
        rapid = said[-1] == "G0" if said else rapid
        if rapid and not was and re.search(r"[XYZ]", bare(line)):
            found.append(number)
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[:at], "/" + lines[at], *lines[at + 1:]]


@kind("spindle turning while the head is turned by hand", "a head turned by hand")
def hand_turn_running(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The spindle not stopped before a head is turned by hand."""
    if not isinstance(machine.dividing, HandHead):
        return None
    found = [n for n in range(len(lines) - 1) if has(lines[n], "M5") and "SPACE" in lines[n + 1]]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[:at], *lines[at + 1:]]


def warming(lines: Lines) -> list[tuple[int, int]]:
    """The blocks (first, last + 1) of each speed of the first start, its wait among them."""
    found: list[tuple[int, int]] = []
    for number, line in enumerate(lines[: main(lines)]):
        if re.search(r"S\d", bare(line)):
            found.append((number, number + 1))
        elif found and has(line, "M3", "M4", "G4"):
            found[-1] = (found[-1][0], number + 1)
        elif found:
            break
    return found


def warmed(
    name: str, change: Callable[[list[Lines]], list[Lines]]
) -> None:
    """A kind that changes the runs of warming up, given as the lines of each."""
    def fault(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
        runs = warming(lines) if machine.spindle_words.warm_up else []
        if len(runs) < 2:
            return None
        blocks = [lines[first:last] for first, last in runs]
        changed = [line for run in change(blocks) for line in run]
        return [*lines[: runs[0][0]], *changed, *lines[runs[-1][1]:]]
    kind(name, "a spindle that is warmed up, and turns slower first than it is to cut")(fault)


warmed("warm-up gone", lambda runs: runs[-1:])
warmed("first run of the warm-up gone", lambda runs: runs[1:])
warmed("warm-up in another order", lambda runs: [runs[-2], *runs[:-2], runs[-1]]
       if len(runs) > 2 else runs[::-1])
warmed("warm-up without its waits", lambda runs: [
    *([line for line in run if not has(line, "G4")] for run in runs[:-1]), runs[-1]])
# One run twice is one run longer.
warmed("warm-up twice", lambda runs: [*runs[:-1], *runs] if len(runs) > 2 else runs)
warmed("warm-up after the cutter's own speed", lambda runs: [runs[-1], *runs[:-1], runs[-1]])


@kind("note in the last move before a stop", "stops after moves, and comments in brackets")
def note_in_the_last_move(
    lines: Lines, chance: random.Random, machine: Machine
) -> Lines | None:
    """A note beside the last move before a stop: a screen still shows it there."""
    places = [n for n in moved_last(lines, machine) if "(" not in lines[n]]
    if not places or machine.comments.style != "parentheses":
        return None
    at = chance.choice(places)
    word = chance.choice(("NOTE", "NOTIZ", "note"))
    return [*lines[:at], f"{lines[at]} ({word} ONE TURN LESS AT EACH SPACE)", *lines[at + 1:]]


inserted("wait out of all measure at a start", "G4 P9999.", lambda lines, machine: [
    n + 1 for n, line in enumerate(lines[: main(lines)]) if has(line, "G4")],
    "waits", lambda machine: machine.dwell.word == "P" and machine.dwell.unit == "s")
for _name, _block in (("no such cutter", "T77"), ("the first cutter", "T1"),
                      ("the one that is in", "T2")):
    # The next one in its turn may be got ready while another cuts.
    inserted(f"{_name} got ready within a cut", _block, partial(cutting_before_other, _block))


@each_place("one wait misplaced", "waits")
def wait_misplaced(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The wait for the spindle before its start, or at the program's end."""
    if not (machine.spindle_words.by_program and machine.spindle_words.dwell):
        return
    for at in some([n for n in blocks_with(lines, "M3", "M4") if has(lines[n + 1], "G4")]):
        yield [*lines[:at], lines[at + 1], lines[at], *lines[at + 2 :]]
        changed = without(lines, at + 1)
        yield put(changed, main(changed), lines[at + 1])


@each_place("halted in a cut")
def halted_in_cut(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """A stop, or the spindle stopped and started, with the cutter in the metal."""
    dwell = machine.dwell.word + ("3000" if machine.dwell.unit == "ms" else "3")
    for at in some(cutting(lines, machine)):
        yield put(lines, at, "M1")
        yield put(lines, at, "M0")
        yield put(lines, at, f"G4 {dwell}")
        if machine.spindle_words.by_program:
            yield put(lines, at, "M5", "M3", f"G4 {dwell}")


@each_place("message false by one", "messages")
def message_false(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """A message to the operator gone, or with another figure or axis in it."""
    told = [n for n, line in enumerate(lines)
            if re.search(r"FIT CUTTER|SET ZERO|BRING CUTTER|MEASURE|TURN THE CRANK|SPACE \d", line)
            and re.search(r"[(;]", line)]
    for at in some(told):
        if "INDEX TO" not in lines[at]:
            # A comment of a machine file's own blocks that is gone tells nothing false.
            yield without(lines, at)
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


@each_place("coolant at a stop", "stops")
def coolant_at_stop(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """Coolant or air on where hands go in."""
    for at in some(blocks_with(lines, "M0")):
        for word in ("M8", "M7", machine.coolant.flood, machine.coolant.air):
            if word:
                yield put(lines, at, word)


@each_place("spindle runs at a stop", "stops, and a spindle started by program")
def spindle_runs_at_stop(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The spindle's stop gone before hands go in, or a start put there."""
    if not machine.spindle_words.by_program:
        return
    stops = blocks_with(lines, "M0")
    for at in some(stops):
        off = [n for n in blocks_with(lines, "M5") if n < at]
        if off:
            yield without(lines, off[-1])
        yield put(lines, at, f"S{machine.spindle.lowest:.0f} M3")


@each_place("too fast before its own speed",
            "a spindle started by program, slower than its highest")
def too_fast(lines: Lines, machine: Machine) -> Iterator[Lines]:
    """The cutter run at the spindle's highest speed before its own, out of the cut."""
    if not machine.spindle_words.by_program:
        return
    dwell = machine.dwell.word + ("30000" if machine.dwell.unit == "ms" else "30")
    for at in some(blocks_with(lines, "M3")):
        speed = re.search(r"S\s*(\d+)", bare(lines[at]))
        if speed and int(speed[1]) < machine.spindle.highest:
            yield put(lines, at, f"S{machine.spindle.highest:.0f} M3", f"G4 {dwell}")


changed("two times in one wait", r"(G0?4 ?)(P[\d.]+)", r"\1X3. \2", needs="waits by P",
        when=lambda machine: machine.dwell.word == "P" and machine.numbers.point != "never")
changed("place beside a wait", r"(G0?4 ?[PX][\d.]+)", r"\1 Z-1.", needs="waits")
