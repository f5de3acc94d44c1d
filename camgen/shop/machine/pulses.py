"""What a head turned by pulses may not have beside them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

from camgen.messages import Message
from camgen.shop.machine.head import DrivenHead
from camgen.shop.machine.whole import Machine

__all__ = ["pulse_contradictions"]

Contradiction: TypeAlias = tuple[tuple[str, ...], Message, Message]


def pulse_contradictions(machine: Machine) -> Iterator[Contradiction]:
    """What is wrong with a head that a word turns by a step: path, what is wrong, what to do.

    >>> from camgen.shop.machine.head import RotaryWords
    >>> odd = Machine(name="odd", describes="odd", rotary=RotaryWords(pulse="M21"))
    >>> [message for _, message, _ in pulse_contradictions(odd)]
    ['a word that turns the head by a step, and rotary.way says that it is told otherwise']
    """
    head, rotary = machine.dividing, machine.rotary
    if rotary.way != "by-pulse":
        for word in ("pulse", "answered"):
            if getattr(rotary, word) is not None:
                yield (("rotary", word),
                       Message("a word that turns the head by a step, and rotary.way says that it "
                               "is told otherwise") if word == "pulse" else
                       Message("a word that waits for an answer, and the head is not turned by "
                               "pulses"),
                       Message("write way: by-pulse, or leave it out"))
        if isinstance(head, DrivenHead) and head.pulses is not None:
            yield (("dividing", "pulses"),
                   Message("steps of the head's own, and rotary.way says that it is told angles"),
                   Message("write rotary.way: by-pulse, or leave pulses out"))
        return
    if not isinstance(head, DrivenHead):
        yield (("rotary", "way"), Message("no head here is turned by the control"),
               Message("write dividing.kind: driven with its pulses, or leave way out"))
        return
    yield from _missing(machine, head)
    yield from _beside(machine, head)


def _missing(machine: Machine, head: DrivenHead) -> Iterator[Contradiction]:
    """The word and the number of steps: one says nothing without the other."""
    if machine.rotary.pulse is None:
        yield (("rotary", "way"), Message("the word that turns the head by a step is not said"),
               Message("write it under rotary.pulse, such as M21"))
    if head.pulses is None:
        yield (("rotary", "way"), Message("how many of its steps make one turn is not said"),
               Message("write the number under dividing.pulses, such as 24"))


def _beside(machine: Machine, head: DrivenHead) -> Iterator[Contradiction]:
    """Words for a head that is told angles; and own blocks that would turn it."""
    if head.take_up:
        yield (("dividing", "take-up"),
               Message("a head that turns by its own steps, one way, has nothing to take up"),
               Message("write take-up: 0 beside rotary.way by-pulse"))
    along = head.arrangement.along
    if head.sense == "reversed":
        yield (("dividing", "sense"),
               Message("turning one way only, against ISO 841, every space would be reached the "
                       "long way"),
               Message("set the head up the other way round and write for it sense: iso and "
                       "arrangement: along: {along}, or turn its sense by its own switch",
                       along=("-" if along[0] == "+" else "+") + along[1]))
    for word, said in (("limits", head.limits is not None), ("errors", bool(head.errors))):
        if said:
            yield (("dividing", word),
                   Message("a head that turns by its own steps is told no angles"),
                   Message("leave {word} out, or write another rotary.way", word=word))
    if machine.rotary.turn != "rapid":
        yield (("rotary", "turn"), Message("a head that turns by its own steps is told no feed"),
               Message("leave turn out"))
    from camgen.shop.own_blocks import own_places, words_of_block

    own = {_plain(word) for word in (machine.rotary.pulse, machine.rotary.answered) if word}
    for place in own_places(machine):
        for word in (letter + number for block in place.blocks
                     for letter, number in words_of_block(block)):
            if _plain(word) in own:
                yield (place.path,
                       Message("{word} turns the head, and what is cut would no longer be counted "
                               "from space 1", word=word),
                       Message("take {word} out: turns are written for you", word=word))


def _plain(word: str) -> str:
    return word[0] + (word[1:].lstrip("0") or "0")
