"""The one table of kinds of faults that leave the path right, and the ways to write one down.

Every kind is a function of the lines, a random source and the machine; it gives the changed lines,
or None where it cannot matter in this program on this machine (``NEEDS`` says in words what it
needs to matter). Kinds are put into the table where they stand, in ``states.py``, ``at_stops.py``.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator

from camgen.shop.machine import Machine
from planting.faults import Fault, Lines
from planting.lines import at_end, bare, has

__all__ = ["NEEDS", "SLIPS", "Where", "automatic", "changed", "each_place", "inserted", "kind",
           "marked", "moved", "own_zero", "shown", "table", "turns"]

SLIPS: dict[str, Fault] = {}
NEEDS: dict[str, str] = {}
Where = Callable[[Lines, Machine], list[int]]


def kind(name: str, needs: str = "") -> Callable[[Fault], Fault]:
    """Puts a kind that is a function of its own into the table."""
    def known(fault: Fault) -> Fault:
        SLIPS[name] = fault
        if needs:
            NEEDS[name] = needs
        return fault
    return known


def each_place(
    name: str, needs: str = ""
) -> Callable[[Callable[[Lines, Machine], Iterator[Lines]]], Fault]:
    """Puts a kind into the table that gives the changed lines for each of a few places."""
    def known(places: Callable[[Lines, Machine], Iterator[Lines]]) -> Fault:
        def fault(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
            every = list(places(lines, machine))
            return chance.choice(every) if every else None
        return kind(name, needs)(fault)
    return known


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
    kind(name, needs or f"a program that says {word} once")(fault)


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


def own_zero(machine: Machine) -> bool:
    """Whether programs begin at the work's own offset, and not by setting the zero themselves."""
    return machine.offsets.stands_at is None
