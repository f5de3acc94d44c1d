"""Faults that leave the path right: states, stops, waits, words, messages, marks and order.

Every kind is a function of the lines, a random source and the machine; it gives the changed lines,
or None where it cannot matter in this program on this machine (``NEEDS`` says in words what it
needs to matter). The numbers are those of the groups of such faults seen to hold all proofs once:
first heights, order of words, hands near a turning cutter, states left on, retracts, messages.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable

from camgen.shop.machine import HandHead, Machine
from planting.faults import Fault, Lines

__all__ = ["NEEDS", "SLIPS"]

SLIPS: dict[str, Fault] = {}
NEEDS: dict[str, str] = {}
_COMMENT = re.compile(r"\([^)]*\)|;.*")
Where = Callable[[Lines, Machine], list[int]]


def bare(line: str) -> str:
    """A block without its comments and its number."""
    return re.sub(r"^\s*/?\s*N\d+", "", _COMMENT.sub("", line)).strip()


def codes(line: str) -> list[str]:
    """The G and M words of a block, spelt without leading zeros."""
    return [f"{m[1]}{float(m[2]):g}" for m in
            re.finditer(r"([GM])\s*(\d+\.?\d*)", bare(line))]


def has(line: str, *words: str) -> bool:
    """Whether a block has one of these words."""
    return any(word in codes(line) for word in words)


def main(lines: Lines) -> int:
    """How many lines the main program has: subprograms stand behind its end."""
    ends = [n for n, line in enumerate(lines) if has(line, "M30", "M2")]
    return ends[0] if ends else len(lines)


def cutting(lines: Lines, machine: Machine) -> list[int]:
    """Lines within a run of fed moves: the block before and the block itself cut."""
    found, fed, last = [], False, False
    for number, line in enumerate(lines[: main(lines)]):
        said = [code for code in codes(line) if code in ("G0", "G1", "G2", "G3")]
        fed = said[-1] != "G0" if said else fed
        moves = bool(re.search(r"[XYZ]", bare(line)))
        other = has(line, "G4", "G53", "G28", "G92", "G52")
        if fed and moves and not other and last:
            found.append(number)
        last = fed and moves and not other
    return found


def before_cuts(lines: Lines, machine: Machine) -> list[int]:
    """The first line of the main program that moves an axis into the work, one for each cutter."""
    some = cutting(lines, machine)
    return some[:1]


def at_end(lines: Lines, machine: Machine) -> list[int]:
    """The line of the program's end."""
    return [main(lines)] if main(lines) < len(lines) else []


def inserted(name: str, block: str, where: Where, needs: str = "",
             when: Callable[[Machine], bool] = lambda machine: True) -> None:
    """A kind that puts a block into the program."""
    def fault(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
        places = where(lines, machine)
        if not places or not when(machine):
            return None
        at = chance.choice(places)
        text = block
        if machine.numbers.point == "never":
            text = re.sub(r"(?<=[XYZR])(-?\d+)\b", lambda m: f"{int(m[1]) * 1000}", text)
        return [*lines[:at], *text.split("|"), *lines[at:]]
    SLIPS[name] = fault
    if needs:
        NEEDS[name] = needs


def changed(name: str, pattern: str, text: str | Callable[[re.Match[str]], str],
            only: Callable[[str], bool] = lambda line: True, every: bool = False,
            needs: str = "", comments: bool = False,
            when: Callable[[Machine], bool] = lambda machine: True) -> None:
    """A kind that changes one block, or ``every`` one, that has the pattern; "" takes it away."""
    def fault(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
        if not when(machine):
            return None
        where = [n for n, line in enumerate(lines)
                 if re.search(pattern, line if comments else bare(line)) and only(line)]
        if not where:
            return None
        picked = set(where if every else [chance.choice(where)])
        found = []
        for number, line in enumerate(lines):
            if number in picked:
                head = re.match(r"\s*(N\d+\s*)?", line)
                begun = head[0] if head and not comments else ""
                line = begun + re.sub(pattern, text, line[len(begun):], count=1).rstrip()
                if not line.strip() or line == begun:
                    continue
            found.append(line)
        return found if found != lines else None
    SLIPS[name] = fault
    if needs:
        NEEDS[name] = needs


def moved(name: str, word: str, needs: str = "") -> None:
    """A kind that says a word of the start only at the end."""
    def fault(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
        first = next((n for n, line in enumerate(lines) if has(line, word)), None)
        ends = at_end(lines, machine)
        again = sum(has(line, word) for line in lines)
        if first is None or not ends or again != 1:
            return None
        kept = re.sub(rf"{word[0]}0*{word[1:]}(?![\d.])\s*", "", lines[first]).strip()
        middle = [kept] if bare(kept) else []
        return [*lines[:first], *middle, *lines[first + 1: ends[0]], word, *lines[ends[0]:]]
    SLIPS[name] = fault
    NEEDS[name] = needs or f"a program that says {word} once"


def marked(name: str, words: tuple[str, ...], where: Where | None = None) -> None:
    """A kind that marks a block to be left out when the operator's switch is on."""
    def fault(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
        places = where(lines, machine) if where else [
            n for n, line in enumerate(lines) if has(line, *words) and "/" not in line]
        if not places:
            return None
        at = chance.choice(places)
        return [*lines[:at], "/" + lines[at], *lines[at + 1:]]
    SLIPS[name] = fault


def automatic(machine: Machine) -> bool:
    """Whether the machine changes its cutters itself."""
    return machine.change.way == "automatic"


def table(machine: Machine) -> bool:
    """Whether lengths come from a table."""
    return machine.offsets.length == "table"


def shown(machine: Machine) -> bool:
    """Whether the control shows messages."""
    return machine.comments.style != "none"


def turns(machine: Machine) -> bool:
    """Whether programs start the spindle."""
    return machine.spindle_words.by_program


# States put on in the middle of cutting, and left on at the end.


def own_zero(machine: Machine) -> bool:
    """Whether programs begin at the work's own offset, and not by setting the zero themselves."""
    return machine.offsets.stands_at is None


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
    inserted(f"{_name}, within a cut", _block, cutting)
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

# Hands near a turning cutter; waits.


def started_before_stop(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The spindle started before a stop at which hands go in."""
    stops = [n for n, line in enumerate(lines) if has(line, "M0")]
    if not stops or not turns(machine):
        return None
    at = chance.choice(stops)
    return [*lines[:at], "S3000 M3", *lines[at:]]


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


def clamp_forgotten(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The head not clamped again before a cut."""
    found = [n for n, line in enumerate(lines[:-1])
             if has(line, "M10") and not has(lines[n + 1], "M11")
             and any(has(one, "G1") for one in lines[n + 1:n + 5])]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[:at], *lines[at + 1:]]


def waits_first(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """Every wait before the spindle's start instead of after."""
    if not any(has(line, "G4") for line in lines):
        return None
    found = list(lines)
    for n in range(1, len(found)):
        if has(found[n], "G4") and has(found[n - 1], "M3", "M4"):
            found[n - 1], found[n] = found[n], found[n - 1]
    return found if found != lines else None


def waits_last(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """Every wait at the end."""
    waits = [line for line in lines[: main(lines)] if has(line, "G4")]
    ends = at_end(lines, machine)
    if not waits or not ends:
        return None
    kept = [line for line in lines[: ends[0]] if not has(line, "G4")]
    return [*kept, *waits, *lines[ends[0]:]]


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


def message_late(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The message of a stop behind it."""
    found = [n for n in range(1, len(lines))
             if has(lines[n], "M0") and not bare(lines[n - 1]) and lines[n - 1].strip(" %")]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[: at - 1], lines[at], lines[at - 1], *lines[at + 1:]]


def comment_where_none(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """A comment for a control that reads none."""
    places = cutting(lines, machine)
    if machine.comments.style != "none" or not places:
        return None
    at = chance.choice(places)
    return [*lines[:at], "(CUT)", *lines[at:]]


def speeds(lines: Lines, machine: Machine) -> list[int]:
    """Lines that give a speed, those of warming up apart: those cut nothing."""
    warm = {round(speed) for speed, _ in machine.spindle_words.warm_up}
    return [n for n, line in enumerate(lines)
            if (m := re.search(r"S(\d+)", bare(line))) and int(m[1]) not in warm]


def sense(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The spindle started the other way round."""
    found = [n for n in speeds(lines, machine) if has(lines[n], "M3")]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[:at], re.sub(r"M0?3\b", "M4", lines[at]), *lines[at + 1:]]


def speed_halved(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """Half the speed of a cut."""
    found = speeds(lines, machine)
    if not found:
        return None
    at = chance.choice(found)
    other = re.sub(r"S(\d+)", lambda m: f"S{int(m[1]) // 2}", lines[at])
    return [*lines[:at], other, *lines[at + 1:]]


def change_not_clear(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The way to the top of Z before a change of cutters left out."""
    found = [n for n, line in enumerate(lines) if has(line, "G53", "G28")
             and any(has(one, "M6") for one in lines[n + 1:n + 7])]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[:at], *lines[at + 1:]]


SLIPS |= {
    "spindle not stopped": spindle_not_stopped, "clamp forgotten": clamp_forgotten,
    "speed halved": speed_halved, "sense of turning": sense,
    "retract before a change gone": change_not_clear,
    "spindle started before a stop": started_before_stop,
    "waits before the start of the spindle": waits_first, "waits at the end": waits_last,
    "first height low after a stop": first_height_low, "message after its stop": message_late,
    "comment for a control that reads none": comment_where_none,
}
NEEDS |= {
    "spindle not stopped": "a stop or a change after cutting, a spindle started by program",
    "clamp forgotten": "a head with a clamp",
    "speed halved": "speeds by program", "sense of turning": "a spindle started by program",
    "retract before a change gone": "a control with a way to the top of Z",
    "spindle started before a stop": "a stop, and a spindle started by program",
    "waits before the start of the spindle": "waits", "waits at the end": "waits",
    "first height low after a stop": "flat work: Z is the axis drawn back",
    "message after its stop": "a control that shows messages",
    "comment for a control that reads none": "a control that reads no comments",
}
changed("wait gone", r"^G0?4\b.*$", "", needs="waits")
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
changed("cycle not ended", r"^G80$", "", needs="a control with cycles")
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


def stops(lines: Lines, machine: Machine) -> list[int]:
    """Lines that stop the program."""
    return [n for n, line in enumerate(lines[: main(lines)]) if has(line, "M0")]


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


SLIPS["retract marked to be left out"] = retract_marked


def hand_turn_running(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The spindle not stopped before a head is turned by hand."""
    if not isinstance(machine.dividing, HandHead):
        return None
    found = [n for n in range(len(lines) - 1) if has(lines[n], "M5") and "SPACE" in lines[n + 1]]
    if not found:
        return None
    at = chance.choice(found)
    return [*lines[:at], *lines[at + 1:]]


SLIPS["spindle turning while the head is turned by hand"] = hand_turn_running
NEEDS["spindle turning while the head is turned by hand"] = "a head turned by hand"


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
    SLIPS[name] = fault
    NEEDS[name] = "a spindle that is warmed up, and turns slower first than it is to cut"


warmed("warm-up gone", lambda runs: runs[-1:])
warmed("first run of the warm-up gone", lambda runs: runs[1:])
warmed("warm-up in another order", lambda runs: [runs[-2], *runs[:-2], runs[-1]]
       if len(runs) > 2 else runs[::-1])
warmed("warm-up without its waits", lambda runs: [
    *([line for line in run if not has(line, "G4")] for run in runs[:-1]), runs[-1]])
warmed("warm-up twice", lambda runs: [*runs[:-1], *runs])
warmed("warm-up after the cutter's own speed", lambda runs: [runs[-1], *runs[:-1], runs[-1]])


def moved_last(lines: Lines, machine: Machine) -> list[int]:
    """The last blocks that move before each stop, and those behind them up to the stop."""
    found: list[int] = []
    for stop in stops(lines, machine):
        last = next((n for n in range(stop, 0, -1)
                     if re.search(r"[XYZ]\s*[-+.\d]", bare(lines[n]))
                     and not has(lines[n], "G53", "G28", "G92", "G52")), None)
        if last is not None and (not found or last > found[-1]):
            found.append(last)
    return found


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


SLIPS["note in the last move before a stop"] = note_in_the_last_move
NEEDS["note in the last move before a stop"] = "stops after moves, and comments in brackets"
inserted("wait out of all measure at a start", "G4 P9999.", lambda lines, machine: [
    n + 1 for n, line in enumerate(lines[: main(lines)]) if has(line, "G4")],
    "waits", lambda machine: machine.dwell.word == "P" and machine.dwell.unit == "s")
for _name, _block in (("no such cutter", "T77"), ("the first cutter", "T1"),
                      ("the one that is in", "T2")):
    inserted(f"{_name} got ready within a cut", _block, cutting)
