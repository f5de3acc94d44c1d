"""Words of a machine file's own blocks that are not carried out when a program is read.

Their owner knows what they do; here nobody does. They are taken on trust, and each is named to
whoever is to run the program.
"""

from __future__ import annotations

from typing import Final

from camgen.reader.dialect import Dialect, dialect_of
from camgen.shop.machine import Machine
from camgen.shop.own_blocks import own_places, words_of
from camgen.values import dataclass

__all__ = ["TrustedWord", "trusted_words"]

# They end what others began, or say how closely a corner is followed.
_ENDING: Final = frozenset((110, 150, 500, 501, 511, 670, 690))
_PATH: Final = frozenset((640,))
# Stops, changes of cutter, calls: they are carried out, or told where they cannot be.
_KNOWN_ACTIONS: Final = frozenset((0, 1, 98, 99))


# What a control may stand in when a program starts, by the word that ends it.
_STANDS_IN: Final = {
    "G40": "cutter compensation", "G49": "cutter length", "G80": "cycle",
    "G94": "other kind of feed",
}


@dataclass(frozen=True, slots=True)
class TrustedWord:
    """A word, its place in the machine file, and whether it may change where the cutter goes.

    ``lacking``: it is not written, and trusted is that it need not be.
    """

    word: str
    place: str
    moves: bool
    lacking: str = ""

    def __str__(self) -> str:
        if self.lacking:
            return (f"{self.word} is not in {self.place} of the machine file: that no "
                    f"{self.lacking} is in force at the start is trusted, not proved")
        if self.moves:
            return (f"{self.word} in {self.place} of the machine file is trusted, not proved: it "
                    "may move, turn, shift or scale what comes after it")
        return (f"{self.word} in {self.place} of the machine file is trusted, not proved: what it "
                "switches is not known here")


def trusted_words(machine: Machine) -> tuple[TrustedWord, ...]:
    """Every such word of a machine file, each once for a place.

    >>> from camgen.shop.machine import Insertions, Machine
    >>> own = Insertions(program_start=("G68 X0 Y0 R10", "M64"), before_step=("M8",))
    >>> [(one.word, one.moves) for one in trusted_words(
    ...     Machine(name="own", describes="own", insert=own))]
    [('G68', True), ('M64', False)]
    """
    dialect = dialect_of(machine)
    found: dict[tuple[str, str], TrustedWord] = {}
    for place in own_places(machine):
        for block in place.blocks:
            for letter, number in words_of(block):
                one = _trusted(dialect, letter, number, place.name)
                if one is not None:
                    found.setdefault((one.word, one.place), one)
    program = machine.program
    said = {f"{letter}{number}" for block in (*program.safe_words, *machine.insert.program_start)
            for letter, number in words_of(block)}
    for word, state in _STANDS_IN.items():
        if word not in said and word not in program.unknown_words:
            found[word, "lacking"] = TrustedWord(
                word, "program.safe-words", True, state)
    if machine.retract.way == "machine" and machine.retract.machine_z:
        word = f"G53 Z{machine.retract.machine_z:g}"
        found[word, ""] = TrustedWord(word, "retract.machine-z", True)
    if int(machine.program.end[1:]) not in (2, 30):
        found[machine.program.end, ""] = TrustedWord(machine.program.end, "program.end", False)
    return tuple(found.values())


def _trusted(dialect: Dialect, letter: str, number: str, place: str) -> TrustedWord | None:
    word = letter + number
    if number[0] == "{":
        # A word whose number is filled in, such as S{speed}; G and M words are never meant so.
        return TrustedWord(word, place, letter == "G") if letter in "GM" else None
    if letter == "G":
        code = round(float(number) * 10)
        if code in dialect.groups and code not in _PATH:
            return None
        return TrustedWord(word, place, code in _PATH or code not in _ENDING)
    if letter == "M":
        code = round(float(number))
        known = (
            *dialect.clockwise, *dialect.anticlockwise, *dialect.stop, *dialect.coolant,
            *dialect.ends, *dialect.change, dialect.clamp, dialect.unclamp, dialect.call[1],
            dialect.back[1], *_KNOWN_ACTIONS,
        )
        return None if code in known and float(number) == code else TrustedWord(word, place, False)
    return None
