"""Words of a machine file's own blocks that are not carried out when a program is read.

Their owner knows what they do; here nobody does. They are taken on trust, and each is named to
whoever is to run the program.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from camgen.messages import NOTHING, Message
from camgen.reader.dialect import Dialect, dialect_of
from camgen.shop.machine import CutterChange, DrivenHead, HandHead, Machine
from camgen.shop.own_blocks import own_places, words_of_block
from camgen.values import dataclass

__all__ = ["TrustedWord", "trusted_words"]

# They end what others began, or say how closely a corner is followed.
_ENDING: Final = frozenset((110, 150, 500, 501, 511, 670, 690))
_PATH: Final = frozenset((640,))
# Stops, changes of cutter, calls: they are carried out, or told where they cannot be.
_KNOWN_ACTIONS: Final = frozenset((0, 1, 98, 99))
# What makes controls show a comment; it tells nobody to do anything.
_BEGINS: Final = re.compile(r"MSG[,:=]?", re.IGNORECASE)
_COMMENT: Final = re.compile(r"\(([^()]*)\)|;(.*)")


# Words that some controls have the other way about: what each usually does is from memory
# (ISO 6983-1); another in its place is believed.
_USUAL: Final = (
    ("coolant", "flood", "M8"), ("coolant", "air", "M7"), ("rotary", "clamp", "M10"),
    ("rotary", "unclamp", "M11"), ("cycles", "drill", "G81"), ("cycles", "dwell", "G82"),
    ("cycles", "bore", "G85"), ("cycles", "bore-dwell", "G89"),
)
# What a control may stand in when a program starts, by the word that ends it.
_STANDS_IN: Final = {
    "G40": Message("cutter compensation"), "G49": Message("cutter length"), "G80": Message("cycle"),
    "G94": Message("other kind of feed"),
}


@dataclass(frozen=True, slots=True)
class TrustedWord:
    """A word, its place in the machine file, and whether it may change where the cutter goes.

    ``lacking``: it is not written, and trusted is that it need not be. ``said``: it is no word but
    a comment, which whoever runs the program may follow. ``does``: what it is said to do, where it
    usually does something near it.
    """

    word: str
    place: str
    moves: bool
    lacking: Message = NOTHING
    said: bool = False
    does: str | Message = ""

    def __str__(self) -> str:
        return str(self.told)

    @property
    def told(self) -> Message:
        """What is trusted of it, in words."""
        if self.said:
            return Message("the comment ({word}) in {place} of the machine file is trusted, not "
                           "proved: whoever runs the program may do as it says",
                           word=self.word, place=self.place)
        if self.does:
            return Message("{word} in {place} of the machine file is trusted, not proved: it "
                           "usually does what {does} is for",
                           word=self.word, place=self.place, does=self.does)
        if self.lacking:
            return Message("{word} is not in {place} of the machine file: that no {lacking} is in "
                           "force at the start is trusted, not proved",
                           word=self.word, place=self.place, lacking=self.lacking)
        if self.moves:
            return Message("{word} in {place} of the machine file is trusted, not proved: it may "
                           "move, turn, shift or scale what comes after it",
                           word=self.word, place=self.place)
        return Message("{word} in {place} of the machine file is trusted, not proved: what it "
                       "switches is not known here", word=self.word, place=self.place)


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
            for letter, number in words_of_block(block):
                one = _trusted(dialect, letter, number, place.name)
                if one is not None:
                    found.setdefault((one.word, one.place), one)
    program = machine.program
    said = {f"{letter}{number}" for block in (*program.safe_words, *machine.insert.program_start)
            for letter, number in words_of_block(block)}
    for word, state in _STANDS_IN.items():
        if word not in said and word not in program.unknown_words:
            found[word, "lacking"] = TrustedWord(
                word, "program.safe-words", True, state)
    if machine.retract.way == "machine" and machine.retract.machine_z:
        word = f"G53 Z{machine.retract.machine_z:g}"
        found[word, ""] = TrustedWord(word, "retract.machine-z", True)
    for path, there in (("change.place", machine.change.place),
                        ("retract.park", machine.retract.park)):
        if there is not None and there.counted == "machine":
            word = " ".join(("G53", *(f"{'XY'[axis]}{mm:g}" for axis, mm in there.axes)))
            found[word, path] = TrustedWord(word, path, True)
    spindle = machine.spindle_words
    for name, word, usual in (("clockwise", spindle.clockwise, 3), ("stop", spindle.stop, 5),
                              ("anticlockwise", spindle.anticlockwise, 4)):
        if spindle.by_program and int(word[1:]) != usual:
            found[word, name] = TrustedWord(word, f"spindle-words.{name}", False)
    if machine.dwell.word in ("S", "U"):
        # S is the spindle's letter, U an axis's on some controls.
        found["G4", "dwell"] = TrustedWord(f"G4 {machine.dwell.word}", "dwell.word", False)
    if int(machine.program.end[1:]) not in (2, 30):
        found[machine.program.end, ""] = TrustedWord(machine.program.end, "program.end", False)
    every = (*found.values(), *_of_a_probe(machine), *_spoken(machine),
             *_the_other_way_about(machine))
    return tuple(dict.fromkeys(every))


def _of_a_probe(machine: Machine) -> Iterator[TrustedWord]:
    """The control's own words for a probe: read by what the machine file says of them."""
    if machine.probing is not None:
        yield TrustedWord(machine.probing.touch, "probing.touch", True)
        yield TrustedWord(machine.probing.zero, "probing.zero", True)


def _spoken(machine: Machine) -> Iterator[TrustedWord]:
    """Comments of own blocks, and own messages, that a screen may show where hands go in.

    A head that the control turns is no such place.
    """
    head, message = machine.dividing, machine.comments.message.strip()
    if message and not _BEGINS.fullmatch(message):
        yield TrustedWord(message, "comments.message", False, said=True)
    if machine.change.message != CutterChange.usual().message:
        yield TrustedWord(machine.change.message, "change.message", False, said=True)
    if isinstance(head, HandHead) and head.message != HandHead.model_fields["message"].default:
        yield TrustedWord(head.message, "dividing.message", False, said=True)
    driven = isinstance(head, DrivenHead)
    for place in own_places(machine):
        if driven and place.path[-1] in ("before-index", "after-index"):
            continue
        for block in place.blocks:
            for one, other in _COMMENT.findall(block):
                yield TrustedWord((one or other).strip(), place.name, False, said=True)


def _the_other_way_about(machine: Machine) -> Iterator[TrustedWord]:
    """Words that usually do what another word of their group is for; axes by another's letter."""
    usual = {word: f"{group}.{name}" for group, name, word in _USUAL}
    for group, name, _ in _USUAL:
        if group == "cycles" and not machine.cycles.use:
            continue
        word = getattr(getattr(machine, group), name.replace("-", "_"))
        does = usual.get(re.sub(r"^([GM])0+(?=\d)", r"\1", word or ""), "")
        if does not in ("", f"{group}.{name}"):
            yield TrustedWord(word, f"{group}.{name}", group == "cycles", does=does)
    for name in ("X", "Y", "Z"):
        letter = machine.axis(name).letter
        if letter in ("X", "Y", "Z") and letter != name:
            yield TrustedWord(letter, f"{name.lower()}.letter", True,
                              does=f"{letter.lower()}.letter")
    yield from _rotary_letters(machine)


def _rotary_letters(machine: Machine) -> Iterator[TrustedWord]:
    """A, B and C turn about X, Y and Z (ISO 841); a head along another axis is believed."""
    head = machine.dividing
    if isinstance(head, DrivenHead):
        about = "ABC"["XYZ".index(head.arrangement.along[1])]
        if head.letter in "ABC" and head.letter != about:
            yield TrustedWord(head.letter, "dividing.letter", True,
                              does=Message("a head along {axis}",
                                           axis="XYZ"["ABC".index(head.letter)]))


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
            *dialect.ends, *dialect.change, dialect.clamp, dialect.unclamp, dialect.pulse,
            dialect.answered, dialect.call[1],
            dialect.back[1], *_KNOWN_ACTIONS,
        )
        return None if code in known and float(number) == code else TrustedWord(word, place, False)
    return None
