"""What the steps of a spindle may not say together with other words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

from camgen.messages import Message
from camgen.shop.machine.whole import Machine

__all__ = ["step_contradictions"]

Contradiction: TypeAlias = tuple[tuple[str, ...], Message, Message]


def step_contradictions(machine: Machine) -> Iterator[Contradiction]:
    """What is wrong with the spindle's steps: path of the word, what is wrong, what to do.

    >>> from camgen.shop.machine.axes import SpindleWords
    >>> odd = Machine(name="odd", describes="odd", spindle_words=SpindleWords(s_says="step"))
    >>> [message for _, message, _ in step_contradictions(odd)]
    ['S is to say a step, and the spindle has none']
    """
    steps, words = machine.spindle.steps, machine.spindle_words
    if not steps:
        if words.s_says != "speed":
            yield (("spindle-words", "s-says"),
                   Message("S is to say a step, and the spindle has none")
                   if words.s_says == "step"
                   else Message("S is to say nothing, and the spindle has no steps to set"),
                   Message("write the speeds that can be had under spindle.steps, or s-says: "
                           "speed"))
        return
    by_hand = [one for one in steps if one.word is None and words.s_says != "step"]
    yield from _codes(machine)
    if not words.by_program and any(one.word for one in steps):
        yield (("spindle", "steps"),
               Message("a spindle started by hand is not set to a step by a word"),
               Message("leave word out, and its step is set at the same stop"))
    if not words.by_program and words.s_says != "speed":
        yield (("spindle-words", "s-says"),
               Message("a spindle started by hand is told no S"), Message("leave s-says out"))
    if machine.comments.style == "none" and (by_hand or words.s_says != "speed"):
        yield (("comments", "style"),
               Message("style none leaves out what is to be set at the spindle, and nothing else "
                       "says its speed"),
               Message("choose parentheses or semicolon"))
    if words.warm_up and by_hand:
        yield (("spindle-words", "warm-up"),
               Message("warming up at several speeds, and each is set by hand"),
               Message("leave warm-up out, and run the spindle by hand before"))
    for rpm, _ in words.warm_up:
        if machine.spindle.step_at(rpm) is None:
            yield (("spindle-words", "warm-up"),
                   Message("{speed:g} rev/min is none of the spindle's steps", speed=rpm),
                   Message("write one of {speeds}", speeds=tuple(str(one.speed) for one in steps)))


def _codes(machine: Machine) -> Iterator[Contradiction]:
    """What S says of the steps."""
    steps, words = machine.spindle.steps, machine.spindle_words
    codes = [one.code for one in steps]
    if words.s_says != "step":
        if any(code is not None for code in codes):
            yield (("spindle", "steps"),
                   Message("a step has a code, and S does not say steps"),
                   Message("write s-says: step under spindle-words, or leave code out"))
        return
    if None in codes:
        yield (("spindle", "steps"), Message("S says steps, and one of them has no code"),
               Message("write code: the number of each step"))
    elif len(set(codes)) < len(codes):
        yield (("spindle", "steps"), Message("two steps have the same code"),
               Message("write the number that S has for each"))
