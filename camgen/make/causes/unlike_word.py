"""A cutter made for teeth that differ from the job's by a word of their form, told by that word."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from camgen.faults import Fault, Place
from camgen.messages import Message
from camgen.part.wheels.pinion import Pinion
from camgen.part.wheels.wheel import Wheel
from camgen.shop.cutters import Cutter, MadeFor
from camgen.teeth.form import OwnWord, Size

__all__ = ["unlike_word", "unlike_word_fault", "word_that_stops"]


def word_that_stops(
    part: Wheel | Pinion, cutter: Cutter, amiss: Callable[[Wheel | Pinion, Cutter], bool]
) -> OwnWord[Any] | None:
    """The said word of the form without which the pair would run; None where there is none.

    ``amiss`` says whether a part as this cutter cuts it does not run with its mate. A cutter that
    was made for the word is taken to be made without it too.
    """
    made = cutter.made_for
    for word in part.formed().words:
        if part.own()[word.name] == word.default:
            continue
        usual = {word.name: word.default}
        other = cutter if made is None else cutter.model_copy(
            update={"made_for": made.model_copy(update=usual)})
        if not amiss(part.model_copy(update=usual), other):
            return word
    return None


def unlike_word(
    part: Wheel | Pinion, made: MadeFor, off: Callable[[MadeFor], float]
) -> OwnWord[Any] | None:
    """The word of the form by which part and cutter differ most; None where by none.

    It is the one that brings the teeth nearest to their form where the cutter has it as the part;
    ``off`` says how far from it they are, µm.
    """
    own, its = part.own(), made.own()
    unlike = [word for word in part.formed().words if own[word.name] != its[word.name]]
    if len(unlike) < 2:
        return unlike[0] if unlike else None
    return min(unlike, key=lambda word: off(
        made.model_copy(update={word.name: own[word.name]})))


def unlike_word_fault(
    name: str, part: Wheel | Pinion, made: MadeFor, word: OwnWord[Any], off: float, limit: float,
    place: Place,
) -> Fault:
    """The cutter ``name`` leaves teeth ``off`` µm from their form: its ``word`` is another."""
    typed = word.name.replace("_", "-")
    own, its = part.own()[word.name], made.own()[word.name]

    def told(value: Any) -> Any:
        return Message("of the form's own") if value is None else value

    what = Message("{cutter}, made for {word} {its}, leaves teeth with {word} {own} up to "
                   "{off:.1f} µm off their form; {limit:.1f} µm are bearable", cutter=name,
                   word=typed, its=told(its), own=told(own), off=off, limit=limit)
    if own is None:
        return Fault(what, Message(
            "take a cutter made without {word}; or, where the {part} has it so, write {word}: "
            "{its} under {part}:", word=typed, its=its, part=part.word), place)
    if its is None and isinstance(word.value, Size):
        return Fault(what, Message(
            "take a cutter made for {word} {own}, and if it is one, write {word}: {own} under "
            "made-for:; or leave {word} out of the {part}, and the teeth are as this cutter makes "
            "them", word=typed, own=own, part=part.word), place)
    return Fault(what, Message(
        "take a cutter made for {word} {own}, and if it is one, write {word}: {own} under "
        "made-for:", word=typed, own=own), place)
