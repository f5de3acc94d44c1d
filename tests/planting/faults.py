"""The kinds of faults: each changes a program's lines in one place, as a slip of a hand would.

Every kind is a function of the lines, a random source and the machine; it gives the changed lines,
or None where the program offers it no place. Comments are left alone, but for the message that
tells how a head is turned by hand.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from typing import TypeAlias

from camgen.shop.machine import HandHead, Machine

__all__ = ["KINDS", "Fault"]

Lines: TypeAlias = list[str]
Fault: TypeAlias = Callable[[Lines, random.Random, Machine], Lines | None]

_WORD = re.compile(r"([A-Z])\s*([+-]?(?:\d+\.?\d*|\.\d+))")
_COMMENT = re.compile(r"\([^)]*\)|;.*")


def _words(lines: Lines, letters: str, where: str = "") -> list[tuple[int, re.Match[str]]]:
    """Every word of these letters outside comments; ``where``: only in blocks with this pattern."""
    found = []
    for number, line in enumerate(lines):
        bare = _COMMENT.sub(lambda match: " " * len(match[0]), line)
        if where and not re.search(where, bare):
            continue
        found += [(number, m) for m in _WORD.finditer(bare) if m[1] in letters]
    return found


def _put(lines: Lines, number: int, match: re.Match[str], text: str) -> Lines:
    """The lines with one word replaced; a line left empty goes."""
    line = lines[number]
    changed = (line[: match.start()] + text + line[match.end() :]).strip()
    return [*lines[:number], *([changed] if changed else []), *lines[number + 1 :]]


def _written(value: float, like: str) -> str:
    """A number spelt as another one is."""
    if "." not in like and value == round(value):
        return f"{round(value)}"
    if "." not in like:
        return f"{value:.3f}"
    return f"{value:.{max(4, len(like.split('.')[1]))}f}"


def _blocks(lines: Lines) -> list[int]:
    """Lines that are blocks of words."""
    return [n for n, line in enumerate(lines) if _WORD.search(_COMMENT.sub("", line))]


def _unit(lines: Lines, machine: Machine) -> tuple[float, float]:
    """A millimetre and a degree as the program counts them."""
    inch = 1 / 25.4 if machine.program.units == "inch" else 1.0
    if machine.numbers.point == "never":
        return inch * 10**machine.numbers.decimals, 10.0**machine.numbers.rotary_decimals
    return inch, 1.0


def sign_lost(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """A minus forgotten."""
    found = [(n, m) for n, m in _words(lines, "XYZABCIJKR") if m[2].startswith("-")]
    if not found:
        return None
    number, match = chance.choice(found)
    return _put(lines, number, match, match[1] + match[2][1:])


def digit_changed(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """One figure of one number misread."""
    found = _words(lines, "XYZABCIJKRFS")
    if not found:
        return None
    number, match = chance.choice(found)
    text = match[2]
    at = chance.choice([n for n, letter in enumerate(text) if letter.isdigit()])
    other = chance.choice([figure for figure in "0123456789" if figure != text[at]])
    return _put(lines, number, match, match[1] + text[:at] + other + text[at + 1 :])


def axis_word_dropped(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """An axis left out of a block."""
    found = _words(lines, "XYZABCIJK")
    return _put(lines, *chance.choice(found), "") if found else None


def retract_removed(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The block that takes the cutter out of the work left out."""
    found = []
    rapid = False
    for number, line in enumerate(lines):
        bare = _COMMENT.sub("", line)
        said = re.findall(r"\bG0*([0123])\b", bare)
        rapid = said[-1] == "0" if said else rapid
        axes = set(re.findall(r"[XYZ](?=\s*[-+.\d])", bare))
        if rapid and axes in ({"Z"}, {"Y"}, {"X"}):
            found.append(number)
    if not found:
        return None
    number = chance.choice(found)
    kept = re.sub(r"[XYZ]\s*[-+]?[\d.]+", "", lines[number]).strip()
    return [*lines[:number], *([kept] if kept else []), *lines[number + 1 :]]


def arc_sense_swapped(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """G2 for G3 or the other way about."""
    found = [(n, m) for n, m in _words(lines, "G") if float(m[2]) in (2.0, 3.0)]
    if not found:
        return None
    number, match = chance.choice(found)
    other = match[2].replace("2", "x").replace("3", "2").replace("x", "3")
    return _put(lines, number, match, "G" + other)


def centre_moved(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """An arc's centre or radius off by two hundredths."""
    found = [(n, m) for n, m in _words(lines, "IJKR", r"[XYIJ]")]
    if not found:
        return None
    number, match = chance.choice(found)
    off = chance.choice([-0.02, 0.02]) * _unit(lines, machine)[0]
    return _put(lines, number, match, match[1] + _written(float(match[2]) + off, match[2]))


def _turns(lines: Lines, machine: Machine) -> list[tuple[int, re.Match[str]]]:
    """Words, or numbers in messages to the operator, that say how the head is to stand."""
    if isinstance(machine.dividing, HandHead):
        message = re.compile(r"(AT )([0-9.]+)(?= DEG)")
        return [(n, m) for n, line in enumerate(lines) if (m := message.search(line))]
    return _words(lines, "ABC")


def index_skipped(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """A turn of the head left out: its block, or the whole message."""
    found = _turns(lines, machine)
    if not found:
        return None
    number, match = chance.choice(found)
    if isinstance(machine.dividing, HandHead):
        return [*lines[:number], *lines[number + 1 :]]
    return _put(lines, number, match, "")


def index_doubled(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The head turned on by two spaces instead of one."""
    found = _turns(lines, machine)
    if len(found) < 4:
        return None
    place = chance.randrange(1, len(found) - 1)
    number, match = found[place]
    return _put(lines, number, match, match[1] + found[place + 1][1][2])


def index_off(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The head ten increments beside its place."""
    found = _turns(lines, machine)
    if not found:
        return None
    number, match = chance.choice(found)
    off = 10 * 10.0**-machine.numbers.rotary_decimals * _unit(lines, machine)[1]
    off *= chance.choice([-1, 1])
    return _put(lines, number, match, match[1] + _written(float(match[2]) + off, match[2]))


def feed_tenfold(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """A feed ten times too high."""
    found = _words(lines, "F")
    if not found:
        return None
    number, match = chance.choice(found)
    return _put(lines, number, match, "F" + _written(10 * float(match[2]), match[2]))


def spindle_word_lost(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """The word that starts the spindle, or its speed, forgotten."""
    found = [
        (n, m) for n, m in _words(lines, "MS") if m[1] == "S" or float(m[2]) in (3.0, 4.0)
    ]
    return _put(lines, *chance.choice(found), "") if found else None


def depth_off(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """A depth, of a cut or of the infeed, off by two hundredths."""
    found = _words(lines, "YZ" if _turns(lines, machine) else "Z")
    unit = _unit(lines, machine)[0]
    top = 1.5 * unit
    found = [(n, m) for n, m in found if abs(float(m[2])) < top and float(m[2]) != 0]
    if not found:
        return None
    number, match = chance.choice(found)
    off = chance.choice([-0.02, 0.02]) * unit
    return _put(lines, number, match, match[1] + _written(float(match[2]) + off, match[2]))


def wrong_offset(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """Another work offset called."""
    found = [(n, m) for n, m in _words(lines, "G") if 54 <= float(m[2]) <= 59]
    if not found:
        return None
    number, match = chance.choice(found)
    others = [k for k in range(54, 60) if k != float(match[2])]
    return _put(lines, number, match, f"G{chance.choice(others)}")


def unit_word_lost(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """Millimetres or inches not said."""
    found = [(n, m) for n, m in _words(lines, "G") if float(m[2]) in (20.0, 21.0)]
    return _put(lines, *chance.choice(found), "") if found else None


def block_lost(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """A whole block missing."""
    found = _blocks(lines)
    number = chance.choice(found)
    return [*lines[:number], *lines[number + 1 :]]


def blocks_swapped(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """Two blocks that follow each other in the wrong order."""
    found = [n for n in _blocks(lines)[:-1] if lines[n] != lines[n + 1]]
    if not found:
        return None
    number = chance.choice(found)
    return [*lines[:number], lines[number + 1], lines[number], *lines[number + 2 :]]


def point_lost(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """A decimal point forgotten."""
    found = [(n, m) for n, m in _words(lines, "XYZABCIJKRF") if "." in m[2]]
    if not found:
        return None
    number, match = chance.choice(found)
    return _put(lines, number, match, match[1] + match[2].replace(".", ""))


KINDS: dict[str, Fault] = {
    "sign lost": sign_lost,
    "digit changed": digit_changed,
    "axis word dropped": axis_word_dropped,
    "retract removed": retract_removed,
    "arc sense swapped": arc_sense_swapped,
    "centre moved": centre_moved,
    "index skipped": index_skipped,
    "index doubled": index_doubled,
    "index off by ten increments": index_off,
    "feed tenfold": feed_tenfold,
    "spindle word lost": spindle_word_lost,
    "depth off by 0.02 mm": depth_off,
    "wrong offset": wrong_offset,
    "unit word lost": unit_word_lost,
    "block lost": block_lost,
    "two blocks swapped": blocks_swapped,
    "decimal point lost": point_lost,
}
