"""Programs as lines: what a block says, and where in them something may be planted."""

from __future__ import annotations

import re
from collections.abc import Iterable

from camgen.shop.machine import Machine
from planting.faults import Lines

__all__ = ["at_end", "bare", "blocks_with", "codes", "cutting", "cutting_before_other",
           "cutting_with_other", "has", "lose_word", "main",
           "moved_last", "number", "put", "some", "speeds", "stops", "without"]

_COMMENT = re.compile(r"\([^)]*\)|;.*")


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


def at_end(lines: Lines, machine: Machine) -> list[int]:
    """The line of the program's end."""
    return [main(lines)] if main(lines) < len(lines) else []


def stops(lines: Lines, machine: Machine) -> list[int]:
    """Lines that stop the program."""
    return [n for n, line in enumerate(lines[: main(lines)]) if has(line, "M0")]


def moved_last(lines: Lines, machine: Machine) -> list[int]:
    """The last blocks that move before each stop, and those behind them up to the stop."""
    found: list[int] = []
    for stop in stops(lines, machine):
        last = next((n for n in range(stop, 0, -1)
                     if re.search(r"[XYZ]\s*[-+.\d]", bare(lines[n]))
                     and not has(lines[n], "G92", "G52")), None)
        if last is not None and (not found or last > found[-1]):
            found.append(last)
    return found


def speeds(lines: Lines, machine: Machine) -> list[int]:
    """Lines that give a speed, those of warming up apart: those cut nothing."""
    warm = {round(speed) for speed, _ in machine.spindle_words.warm_up}
    return [n for n, line in enumerate(lines)
            if (m := re.search(r"S(\d+)", bare(line))) and int(m[1]) not in warm]


def blocks_with(lines: Lines, *words: str) -> list[int]:
    """Lines of blocks that have one of these words."""
    return [n for n, line in enumerate(lines) if has(line, *words)]


def put(lines: Lines, at: int, *more: str) -> Lines:
    """The lines with more before the line ``at``."""
    return [*lines[:at], *more, *lines[at:]]


def without(lines: Lines, at: int) -> Lines:
    """The lines but one."""
    return [*lines[:at], *lines[at + 1 :]]


def lose_word(lines: Lines, at: int, word: str) -> Lines:
    """The block at ``at`` without a word; a block left empty goes."""
    rest = re.sub(rf"{word[0]}\s*0*{re.escape(word[1:])}(?![\d.])\s*", "", lines[at]).strip()
    kept = [rest] if re.sub(r"^/?N\d+", "", rest).strip() else []
    return [*lines[:at], *kept, *lines[at + 1 :]]


def number(machine: Machine, mm: float) -> str:
    """A length as the machine file spells it, near enough to be read right."""
    value = mm / (25.4 if machine.program.units == "inch" else 1.0)
    if machine.numbers.point == "never":
        return f"{round(value * 10**machine.numbers.decimals)}"
    return f"{value:.4f}"


def some(places: list[int]) -> list[int]:
    """First, middle and last of many."""
    if len(places) <= 3:
        return places
    return [places[0], places[len(places) // 2], places[-1]]


def cutting_with_other(lines: Lines, machine: Machine) -> list[int]:
    """Lines within a run of fed moves while another cutter than number 9 is in."""
    return [n for n in cutting(lines, machine) if _first_cutter(reversed(lines[:n])) != "T9"]


def cutting_before_other(word: str, lines: Lines, machine: Machine) -> list[int]:
    """Lines within a run of fed moves after which the first cutter put in is not ``word``."""
    return [n for n in cutting(lines, machine) if _first_cutter(lines[n:]) != word]


def _first_cutter(lines: Iterable[str]) -> str:
    return next((f"T{int(found[1])}" for line in lines
                 if (found := re.search(r"T\s*(\d+)", bare(line)))), "")
