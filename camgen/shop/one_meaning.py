"""One word, one meaning: a machine file may not give two things the same word.

Whoever reads such a program, control or person, does one of the two. What the numbers of M and G
words mean where a machine file does not say otherwise: ISO 6983-1 (from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final, TypeAlias

from camgen.messages import Message

if TYPE_CHECKING:
    from camgen.shop.machine import Machine

__all__ = ["two_meanings"]

Contradiction: TypeAlias = tuple[tuple[str, ...], Message, Message]

_STOP: Final = Message("stops the program")
_END: Final = Message("ends the program")
_COOLANT: Final = Message("switches coolant or air on")
_DRILL: Final = Message("drills")
_BITES: Final = Message("drills by bites")
_BORE: Final = Message("bores")
_FINE: Final = Message("bores and comes off the wall")
_TAP: Final = Message("taps")
_OFFSET: Final = Message("brings in a work offset")
_SHIFT: Final = Message("shifts the zero")
_USUAL: Final = {
    "M0": _STOP, "M1": _STOP, "M2": _END, "M30": _END,
    "M3": Message("starts the spindle clockwise"),
    "M4": Message("starts the spindle anticlockwise"), "M5": Message("stops the spindle"),
    "M6": Message("changes the cutter"), "M7": _COOLANT, "M8": _COOLANT,
    "M9": Message("ends coolant and air"), "M98": Message("calls a subprogram"),
    "M99": Message("goes back from a subprogram, and from a program's end to its start"),
    **dict.fromkeys(("G0", "G1", "G2", "G3", "G4", "G9", "G17", "G18", "G19", "G20", "G21", "G28",
                     "G30", "G40", "G41", "G42", "G43", "G49", "G53", "G61", "G64", "G90", "G91",
                     "G90.1", "G91.1", "G93", "G94", "G95", "G98", "G99"),
                    Message("sets something else")),
    "G52": _SHIFT, "G92": _SHIFT, "G80": Message("ends a cycle"),
    "G81": _DRILL, "G82": _DRILL, "G83": _BITES, "G84": _TAP, "G85": _BORE, "G89": _BORE,
    "G76": _FINE,
    **dict.fromkeys(("G54", "G55", "G56", "G57", "G58", "G59"), _OFFSET),
}


def two_meanings(machine: Machine) -> Iterator[Contradiction]:
    """Words that mean one thing here and another elsewhere: path, what is wrong, what to do.

    >>> from camgen.shop.machine import CoolantWords, Machine
    >>> odd = Machine(name="odd", describes="odd", coolant=CoolantWords(flood="M3"))
    >>> [message for _, message, _ in two_meanings(odd)]
    ['M3 switches coolant or air on here, and starts the spindle clockwise elsewhere']
    """
    meant: dict[str, set[Message]] = {word: {what} for word, what in _USUAL.items()}
    said = list(_said(machine))
    for _, word, what in said:
        if _USUAL.get(word) is None:
            meant.setdefault(word, set()).add(what)
    for path, word, what in said:
        others = sorted(meant[word] - {what})
        if others:
            yield (path, Message("{word} {what} here, and {other} elsewhere", word=word,
                                 what=what, other=others[0]),
                   Message("give each its own word, as the control has it"))


def _said(machine: Machine) -> Iterator[tuple[tuple[str, ...], str, Message]]:
    """Every word that the machine file gives a meaning, where, and what it is to do."""
    spindle, coolant, rotary = machine.spindle_words, machine.coolant, machine.rotary
    cycles = machine.cycles
    every: list[tuple[str, str, str | None, Message]] = [
        ("program", "end", machine.program.end, _END),
        ("coolant", "flood", coolant.flood, _COOLANT), ("coolant", "air", coolant.air, _COOLANT),
        ("coolant", "off", coolant.off, _USUAL["M9"]),
        ("change", "word", machine.change.word, _USUAL["M6"]),
        ("rotary", "clamp", rotary.clamp, Message("clamps the head")),
        ("rotary", "unclamp", rotary.unclamp, Message("unclamps the head")),
        ("rotary", "pulse", rotary.pulse, Message("turns the head by a step")),
        ("rotary", "answered", rotary.answered, Message("waits for the head's answer")),
    ]
    if machine.subprograms.use:
        every += [
            ("subprograms", "call", _first(machine.subprograms.call), _USUAL["M98"]),
            ("subprograms", "back", _first(machine.subprograms.back), _USUAL["M99"]),
        ]
    if spindle.by_program:
        every += [
            ("spindle-words", "clockwise", spindle.clockwise, _USUAL["M3"]),
            ("spindle-words", "anticlockwise", spindle.anticlockwise, _USUAL["M4"]),
            ("spindle-words", "stop", spindle.stop, _USUAL["M5"]),
            ("spindle-words", "oriented-stop", spindle.oriented_stop,
             Message("stops the spindle at one place")),
        ]
    every += [("spindle", "steps", one.word, Message("sets a step of the spindle"))
              for one in machine.spindle.steps]
    if cycles.use:
        every += [
            ("cycles", "drill", cycles.drill, _DRILL), ("cycles", "dwell", cycles.dwell, _DRILL),
            ("cycles", "peck", cycles.peck, _BITES),
            ("cycles", "bore", cycles.bore, _BORE),
            ("cycles", "bore-dwell", cycles.bore_dwell, _BORE),
            ("cycles", "fine-bore", cycles.fine_bore, _FINE),
            ("cycles", "tap", cycles.tap, _TAP),
            ("cycles", "cancel", cycles.cancel, _USUAL["G80"]),
        ]
    if machine.probing is not None:
        every.append(("probing", "touch", machine.probing.touch,
                      Message("moves until the probe touches")))
    for place, name, word, what in every:
        if word is not None:
            yield (place, name), re.sub(r"^([GM])0+(?=\d)", r"\1", word), what


def _first(block: str) -> str | None:
    """The first G or M word of a block; one whose number is filled in is none."""
    found = re.search(r"[GM]\d+(?:\.\d)?", block.upper())
    return found[0] if found else None
