"""A workshop's own blocks in a machine file: which words they hold, and what contradicts the rest.

They are written into programs as they stand. A word in them that changes how later words are read,
and is not put back in the same place, makes every later move another one; so it is refused by its
name where the machine file is read. Meanings of words: ISO 6983-1 (from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final, NamedTuple, TypeAlias

from camgen.messages import Message
from camgen.values import dataclass

if TYPE_CHECKING:
    from camgen.shop.machine import Machine

__all__ = ["OwnPlace", "own_contradictions", "own_places", "words_of_block"]

Contradiction: TypeAlias = tuple[tuple[str, ...], Message, Message]


@dataclass(frozen=True, slots=True)
class OwnPlace:
    """One place of a machine file for own blocks: its path there, and the blocks as they stand."""

    path: tuple[str, ...]
    blocks: tuple[str, ...]

    @property
    def name(self) -> str:
        """The place as the machine file spells it.

        >>> OwnPlace(("insert", "before-step"), ()).name
        'insert.before-step'
        """
        return ".".join(self.path)


class Left(NamedTuple):
    """What a word leaves in force, and the words that put it back."""

    what: Message
    back: tuple[str, ...]


_SHIFT: Final = Left(Message("shifts the zero"), ())
_DISTANCES: Final = Left(Message("leaves distances in force"), ("G90",))
_PLANE: Final = Left(Message("leaves another plane in force"), ("G17",))
_ASIDE: Final = Left(Message("moves the cutter aside by a figure of the control's table"), ("G40",))
_FEED: Final = Left(Message("leaves another kind of feed in force"), ("G94",))
_LEFT: Final[dict[str, Left]] = {
    "G91": _DISTANCES,
    "G18": _PLANE,
    "G19": _PLANE,
    "G41": _ASIDE,
    "G42": _ASIDE,
    "G93": _FEED,
    "G95": _FEED,
    "G52": _SHIFT,
    "G92": _SHIFT,
}
# Words of motion, planes, units, compensation, path, cycles, distances and feeds.
_NO_OFFSET: Final = frozenset((
    *map(str, (0, 1, 2, 3, 4, 9, 10, 17, 18, 19, 20, 21, 28, 30, 40, 41, 42, 43, 49, 50, 51, 52, 53,
               61, 64, 65, 66, 67, 68, 69, *range(70, 100))),
    "61.1", "90.1", "91.1", "92.1", "92.2", "92.3",
))
_STILL: Final = ("before-step", "after-step", "before-index", "after-index")
_WORD: Final = re.compile(r"([A-Z])\s*([+-]?(?:\d+\.?\d*|\.\d+|\{\w+\}))", re.ASCII)
_COMMENT: Final = re.compile(r"\([^()]*\)|;.*")
_UNKNOWABLE: Final = re.compile(r"[#\[\]=<>]")


def words_of_block(block: str) -> tuple[tuple[str, str], ...]:
    """A block's words, each as its letter and its number, without comments and leading zeros.

    >>> words_of_block("g01 X{safe} (G68)  M05")
    (('G', '1'), ('X', '{safe}'), ('M', '5'))
    """
    bare = _COMMENT.sub(" ", block)
    names: list[str] = []

    def kept(found: re.Match[str]) -> str:
        names.append(found[0])
        return found[0]

    bare = re.sub(r"\{\w+\}|[^{}]+", lambda found: (
        kept(found) if found[0][0] == "{" else found[0].upper()), bare)
    return tuple((letter, _plain(number)) for letter, number in _WORD.findall(bare))


def _plain(number: str) -> str:
    """A number without what only spells it otherwise.

    >>> _plain("04"), _plain("91.1"), _plain("5."), _plain("{speed}")
    ('4', '91.1', '5', '{speed}')
    """
    return number if number[0] == "{" else f"{float(number):g}"


def _name(block: str) -> str:
    """The first word of a block, spelt as :func:`words_of_block` does."""
    return "".join(next(iter(words_of_block(block)), ("", "")))


def own_places(machine: Machine) -> tuple[OwnPlace, ...]:
    """Every place where a machine file has blocks or words of its owner's."""
    places = [OwnPlace(("program", "safe-words"), (" ".join(machine.program.safe_words),))]
    places += [OwnPlace(("insert", name.replace("_", "-")), blocks)
               for name, blocks in machine.insert if blocks]
    return tuple(places)


def own_contradictions(machine: Machine) -> Iterator[Contradiction]:
    """What own blocks say against the rest of the machine file: path, what is wrong, what to do.

    >>> from camgen.shop.machine import Insertions, Machine
    >>> machine = Machine(name="odd", describes="odd", insert=Insertions(before_step=("G91",)))
    >>> [message for _, message, _ in own_contradictions(machine)]
    ['G91 leaves distances in force: every move after it would be another one']
    """
    yield from _offset_words(machine)
    yield from _left_running(machine)
    for place in own_places(machine):
        words = [(block, letter, number)
                 for block in place.blocks for letter, number in words_of_block(block)]
        yield from _left_in_force(place, [letter + number for _, letter, number in words])
        yield from _shifts(place, place.blocks)
        yield from _other_than_said(machine, place, words)
        for block in place.blocks:
            yield from _unreadable(machine, place, block)


def _offset_words(machine: Machine) -> Iterator[Contradiction]:
    """Words said to be work offsets that mean something else wherever they are known."""
    offsets = machine.offsets
    further = ((("offsets", "further", str(number)), word)
               for number, word in enumerate(offsets.further))
    for path, word in ((("offsets", "work"), offsets.work or ""), *further):
        if word and _plain(word[1:]) in _NO_OFFSET:
            yield (path[:2],
                   Message("{word} is no work offset: it does something else", word=word),
                   Message("write the word of a work offset, such as G54"))
    if "further" in offsets.model_fields_set:
        # Where only the further ones are written, they may be all that the control has.
        own = offsets.work if "work" in offsets.model_fields_set else None
        seen = {_plain(own[1:])} if own else set()
        for word in offsets.further:
            if _plain(word[1:]) in seen:
                yield (("offsets", "further"),
                       Message("{word} is the offset of two stations, and each has its own zero",
                               word=word),
                       Message("write each offset once, and that of the first station under work"))
            seen.add(_plain(word[1:]))


def _left_running(machine: Machine) -> Iterator[Contradiction]:
    """Coolant or air switched on where hands go in before it is switched off again."""
    places = {place.path[-1]: [letter + number for block in place.blocks
                               for letter, number in words_of_block(block)]
              for place in own_places(machine)}
    words = machine.coolant
    off = {"M9", _name(words.off)}
    starts = {"M7", "M8", *(_name(word) for word in (words.flood, words.air) if word)} - off
    for name in ("program-start", "before-change", "after-change", "before-step"):
        behind = places.get("after-step", []) if name == "before-step" else []
        if name == "before-step" and (machine.change.way == "automatic" or (
                words.flood or words.air)):
            continue
        said = [word for word in places.get(name, []) if word in starts | off]
        if said and said[-1] in starts and not off & set(behind):
            yield (
                ("insert", name),
                Message("{word} runs where hands go in, and nothing ends it", word=said[-1]),
                Message("write {off} after it, in the same place, or in after-step, or take {word} "
                        "out", off=words.off, word=said[-1]) if name == "before-step"
                else _back_or_out(words.off, said[-1]),
            )


def _back_or_out(back: str, word: str) -> Message:
    return Message("write {back} after it, in the same place, or take {word} out", back=back,
                   word=word)


def _left_in_force(place: OwnPlace, words: Sequence[str]) -> Iterator[Contradiction]:
    for at, word in enumerate(words):
        left = _LEFT.get(word)
        if left is None or left is _SHIFT or any(one in left.back for one in words[at + 1:]):
            continue
        yield (
            place.path, Message("{word} {what}: every move after it would be another one",
                                word=word, what=left.what), _back_or_out(left.back[0], word),
        )


def _shifts(place: OwnPlace, blocks: Sequence[str]) -> Iterator[Contradiction]:
    """G52 and G92 with figures, which nothing in the same place takes back."""
    shifted = ""
    for block in blocks:
        words = words_of_block(block)
        names = {letter + number for letter, number in words}
        moved = any(letter in "XYZABCUVW" and number not in ("0", "-0")
                    for letter, number in words)
        if "G92" in names:
            shifted = "G92"
        elif "G52" in names and moved:
            shifted = "G52"
        elif names & {"G92.1", "G92.2"} or ("G52" in names and shifted == "G52"):
            shifted = ""
    if shifted:
        back = "G52 X0 Y0 Z0" if shifted == "G52" else "G92.1"
        yield (
            place.path,
            Message("{word} shifts the zero: every cut after it would lie elsewhere",
                    word=shifted), _back_or_out(back, shifted),
        )


def _other_than_said(
    machine: Machine, place: OwnPlace, words: Sequence[tuple[str, str, str]]
) -> Iterator[Contradiction]:
    """Words that say other than the machine file does elsewhere."""
    units = "G21" if machine.program.units == "inch" else "G20"
    spindle = machine.spindle_words
    stop, *starts = map(_name, (spindle.stop, spindle.clockwise, spindle.anticlockwise))
    ends = {"M2", "M30", "M99", *map(_name, (machine.program.end, machine.subprograms.back))}
    offsets = {"G54", "G55", "G56", "G57", "G58", "G59", *map(_name, machine.offsets.further)}
    names = [letter + number for _, letter, number in words]
    for at, word in enumerate(names):
        if word == units:
            yield (place.path,
                   Message("{word}, where program.units says {units}", word=word,
                           units=machine.program.units),
                   Message("take {word} out, or write the other units there", word=word))
        elif word in ends:
            yield (place.path,
                   Message("{word} ends the program there, and what follows is never cut",
                           word=word),
                   Message("take {word} out: the end is written for you", word=word))
        elif word in offsets and word != _name(machine.offsets.work or "") and (
                _name(machine.offsets.work or "") not in names[at + 1:]):
            yield (place.path,
                   Message("{word} is another zero than {work}, which offsets.work says",
                           word=word, work=machine.offsets.work or Message("none")),
                   Message("take {word} out, or write {word} there", word=word))
        elif word == "G43" and machine.offsets.length == "touch-off":
            yield (place.path,
                   Message("G43 brings in a length of the control's table, where offsets.length "
                           "says touch-off"),
                   Message("take G43 out, or write length: table there"))
        elif word == "G43" and machine.change.with_offset is not None:
            yield (place.path,
                   Message("G43 brings in a length, where change.with-offset says that T does"),
                   Message("take G43 out, or leave with-offset out"))
        elif word == stop and place.path[-1] in _STILL and not any(
                one in names[at + 1:] for one in starts):
            yield (place.path,
                   Message("{word} stops the spindle, and what follows cuts with it still",
                           word=word),
                   Message("take {word} out, or start the spindle again after it", word=word))


def _unreadable(machine: Machine, place: OwnPlace, block: str) -> Iterator[Contradiction]:
    bare = _COMMENT.sub(" ", block)
    if "(" in bare or ")" in bare:
        yield (place.path, Message("the comment in '{block}' is not closed", block=block),
               Message("write ( before a comment and ) after it, and none within it"))
    elif _UNKNOWABLE.search(bare):
        yield (place.path, Message("'{block}' holds a variable: what it stands for cannot be "
                                   "known", block=block), Message("write the figure out"))
    elif bare.lstrip().startswith(("%", ":")) or any(
            letter in ("O", "N") for letter, _ in words_of_block(block)):
        yield (place.path,
               Message("'{block}' holds a mark or number of a program or block", block=block),
               Message("take it out: they are written for you"))
    for said in _COMMENT.findall(block):
        for path, begins in _read_back(machine):
            if "".join(said.split()).upper().strip("();").startswith(begins):
                yield (place.path,
                       Message("the comment {said} begins like {path}, which is read back from "
                               "the program", said=said, path=path),
                       Message("say it in other words"))
    if bare != block and machine.comments.style == "none":
        yield (place.path,
               Message("'{block}' holds a comment, where comments.style says that none is read",
                       block=block),
               Message("take the comment out, or say the style that is read"))


def _read_back(machine: Machine) -> Iterator[tuple[str, str]]:
    """Messages by which a program tells what it does, and how they begin, without blanks."""
    from camgen.shop.machine import HandHead

    messages = [("change.message", machine.change.message)]
    if isinstance(machine.dividing, HandHead):
        messages.append(("dividing.message", machine.dividing.message))
    for path, message in messages:
        begins = "".join(message.split("{")[0].split()).upper()
        if begins:
            yield path, begins
