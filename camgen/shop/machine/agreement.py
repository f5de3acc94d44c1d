"""What in a machine file contradicts what stands elsewhere in it."""

import re
from collections.abc import Iterator
from typing import TypeAlias

from camgen.messages import Message
from camgen.shop.machine.belts import step_contradictions
from camgen.shop.machine.head import DrivenHead, HandHead
from camgen.shop.machine.places import place_contradictions
from camgen.shop.machine.pulses import pulse_contradictions
from camgen.shop.machine.spelt import spelling_contradictions
from camgen.shop.machine.whole import Machine
from camgen.shop.machine.zeros.probing import probing_contradictions

__all__ = ["contradictions"]

# The path of a word, what is wrong, and what to do.
Contradiction: TypeAlias = tuple[tuple[str, ...], Message, Message]


def contradictions(machine: Machine) -> Iterator[Contradiction]:
    """What in a machine file contradicts what stands elsewhere in it.

    Yields for each the path of the word, what is wrong, and what to do.

    >>> from camgen.shop.machine.axes import LinearAxis
    >>> machine = Machine(name="odd", describes="odd", x=LinearAxis(letter="Y"))
    >>> [path for path, _, _ in contradictions(machine)]
    [('y', 'letter')]
    """
    for part in (_letters, _exchanged, _head, _changes_and_calls, _spindle, _zeros, _measured,
                 _unknown_words):
        yield from part(machine)
    yield from place_contradictions(machine)
    yield from step_contradictions(machine)
    yield from spelling_contradictions(machine)
    yield from pulse_contradictions(machine)
    yield from probing_contradictions(machine)
    # These modules look at whole machines.
    from camgen.shop.one_meaning import two_meanings
    from camgen.shop.own_blocks import own_contradictions

    yield from two_meanings(machine)
    yield from own_contradictions(machine)


def _letters(machine: Machine) -> Iterator[Contradiction]:
    """Each axis has a letter of its own."""
    head, second = machine.dividing, machine.second_rotary
    letters: list[tuple[str, tuple[str, ...]]] = [
        (machine.x.letter or "X", ("x", "letter")),
        (machine.y.letter or "Y", ("y", "letter")),
        (machine.z.letter or "Z", ("z", "letter")),
    ]
    if isinstance(head, DrivenHead) and machine.rotary.way != "by-pulse":
        letters.append((head.letter, ("dividing", "letter")))
    if second:
        letters.append((second.letter, ("second-rotary", "letter")))
    seen: set[str] = set()
    for letter, path in letters:
        if letter in seen:
            yield (path, Message("{letter} is the letter of two axes", letter=letter),
                   Message("give each axis its own letter"))
        seen.add(letter)


# Axes by the letter of the main one: U, V and W lie along X, Y and Z (ISO 841).
_ALONG = {"U": "X", "V": "Y", "W": "Z"}


def _exchanged(machine: Machine) -> Iterator[Contradiction]:
    """What the control does along the Z of its own letters, where that is another axis.

    Planes and centres of arcs go by its letters too, and are written so.
    """
    lie: dict[str, str] = {}
    for name in ("X", "Y", "Z"):
        letter = machine.axis(name).letter or name
        other = lie.setdefault(_ALONG.get(letter, letter), name)
        same = (machine.axis(other).letter or other) == letter  # told already
        if other != name and not same and machine.arcs.style != "none":
            yield (
                ("arcs", "style"),
                Message("to the control {letter} lies along {along} (ISO 841), and axis {other} "
                        "does too: no plane for arcs holds both", letter=letter,
                        along=_ALONG.get(letter, letter), other=other),
                Message("write style: none, and arcs are written as short lines; or name the axes "
                        "as the control does"))
    letter = machine.z.letter or "Z"
    if _ALONG.get(letter, letter) == "Z":
        return
    if machine.cycles.use:
        yield (
            ("cycles", "use"),
            Message("axis Z has the letter {letter}, and the control drills along the Z of its own "
                    "letters", letter=letter),
            Message("write use: false, and holes are written move by move"))
    if machine.offsets.length == "table":
        yield (
            ("offsets", "length"),
            Message("axis Z has the letter {letter}, and the control adds a cutter's length along "
                    "the Z of its own letters", letter=letter),
            Message("write length: touch-off here, or name the axes as the control does"))


def _head(machine: Machine) -> Iterator[Contradiction]:
    """What is said of the dividing head and the way it turns."""
    head = machine.dividing
    if isinstance(head, HandHead) and machine.comments.style == "none":
        yield (
            ("comments", "style"),
            Message("a head turned by hand needs messages, and style none leaves them out"),
            Message("choose parentheses or semicolon: the operator must know what to turn to"),
        )
    if isinstance(head, DrivenHead) and head.limits is not None and machine.rotary.way != (
            "by-pulse"):
        yield from _limits(machine, head, *head.limits)
    if isinstance(head, DrivenHead) and machine.rotary.way == "one-way":
        if head.take_up:
            yield (
                ("dividing", "take-up"),
                Message("a head that only turns one way has nothing to take up"),
                Message("write take-up: 0 beside rotary.way one-way"),
            )
        if head.sense == "reversed":
            yield (
                ("dividing", "sense"),
                Message("turning one way only, against ISO 841, every space would be reached the "
                        "long way"),
                Message("say which way it really turns, or another rotary.way"),
            )


def _limits(
    machine: Machine, head: DrivenHead, least: float, most: float
) -> Iterator[Contradiction]:
    """How far the head turns: every angle must be there, and be come to from the same side."""
    path = ("dividing", "limits")
    if machine.rotary.way not in ("absolute", "incremental"):
        yield (path,
               Message("a control that counts from 0 to 360 turns on and on: nothing ends it"),
               Message("leave limits out, or write rotary.way: absolute"))
    elif not least <= 0.0 <= most:
        yield (path, Message("the head begins at 0, which lies beyond its limits"),
               Message("write the least figure first, 0 or below, then the greatest"))
    elif most - least + max(head.increment, 10.0**-machine.numbers.rotary_decimals) < (
            360.0 + head.take_up) - 1e-9:
        yield (path,
               Message("within {room:g} degrees not every angle can be come to from the same side "
                       "past {take_up:g} degrees of take-up", room=most - least,
                       take_up=head.take_up),
               Message("write wider limits, or take-up: 0 where there is no backlash"))


def _changes_and_calls(machine: Machine) -> Iterator[Contradiction]:
    """Changes of the cutter, and what is repeated by subprograms."""
    yield from _offset_in_t(machine)
    if (machine.change.way == "automatic" and machine.change.word is None
            and not machine.change.calls_by_t):
        yield (
            ("change", "word"), Message("a changer needs a word that calls it"),
            Message("write the word, such as M6, or another way"),
        )
    if machine.subprograms.use and not (machine.offsets.shift or machine.dividing):
        yield (
            ("subprograms", "use"),
            Message("nothing can be repeated here: there is no offsets.shift and no dividing head"),
            Message("say the word that shifts the zero under offsets.shift, or write use: false"),
        )
    calls = machine.subprograms
    forms = (("call", calls.call, r"\s*M\s*\d+\b.*[A-Z]\s*\{number\}.*", "M98 P{number}"),
             ("back", calls.back, r"\s*M\s*\d+\s*", "M99"))
    for word, said, form, such in forms:
        if machine.subprograms.use and not re.fullmatch(form, said, re.IGNORECASE):
            yield (
                ("subprograms", word),
                Message("{said} is not read back: calls and returns are followed by an M word "
                        "alone", said=said),
                Message("such as {such}; or write use: false, and repeats are written out",
                        such=such),
            )


def _offset_in_t(machine: Machine) -> Iterator[Contradiction]:
    """A T word that brings a cutter's length in."""
    change = machine.change
    if change.with_offset is None:
        if change.offset_ended_by != "T0100":
            yield (
                ("change", "offset-ended-by"),
                Message("what ends the offset of a T word, and T is written without one"),
                Message("write with-offset: [2, 2], or leave offset-ended-by out"),
            )
    elif machine.offsets.length == "touch-off":
        yield (
            ("change", "with-offset"),
            Message("T brings in a length of the control's table, where offsets.length says "
                    "touch-off"),
            Message("write offsets.length: table, or leave with-offset out"),
        )


def _spindle(machine: Machine) -> Iterator[Contradiction]:
    """What the spindle can do, and who starts it."""
    if machine.spindle.reversal_seconds is not None and not (
            machine.spindle_words.by_program and len(set(machine.spindle.senses)) == 2):
        yield (
            ("spindle", "reversal-seconds"),
            Message("a spindle that turns one way only, or is started by hand, no program "
                    "reverses"),
            Message("leave reversal-seconds out, or say both senses and by-program: true"),
        )
    if machine.cycles.fine_bore and not machine.spindle_words.oriented_stop:
        yield (
            ("cycles", "fine-bore"),
            Message("a cycle that stops the spindle at one place, on a machine that is not said "
                    "to do so"),
            Message("say the word under spindle-words.oriented-stop, or leave fine-bore out"),
        )
    if machine.spindle_words.by_program is False and machine.spindle_words.oriented_stop:
        yield (
            ("spindle-words", "oriented-stop"),
            Message("a spindle started by hand is not stopped at one place by a program"),
            Message("leave oriented-stop out"),
        )
    if machine.spindle_words.by_program is False and machine.comments.style == "none":
        yield (
            ("comments", "style"),
            Message("a spindle started by hand needs messages, and style none leaves them out"),
            Message("choose parentheses or semicolon: the operator must know when to start it and "
                    "how fast"),
        )
    if machine.cycles.use and machine.z.sense == "reversed":
        yield (
            ("cycles", "use"),
            Message("fixed cycles go down towards smaller numbers of Z, and on this machine these "
                    "are up"),
            Message("write use: false, and holes are written move by move"),
        )
    if machine.spindle_words.by_program is False and machine.spindle_words.warm_up:
        yield (
            ("spindle-words", "warm-up"),
            Message("a spindle started by hand cannot be warmed up by the program"),
            Message("leave warm-up out"),
        )


def _zeros(machine: Machine) -> Iterator[Contradiction]:
    """Lengths, shifts of the zero and the safe height."""
    if machine.change.way == "automatic" and machine.offsets.length == "touch-off":
        yield (
            ("offsets", "length"),
            Message("a changer goes on without a stop, and with touch-off nobody could set the "
                    "zero of the next cutter: it would cut with the length of the one before"),
            Message("write length: table here, or change.way: by-hand"),
        )
    if machine.offsets.may_be_left_shifted and not (
            machine.change.way == "by-hand" and machine.offsets.length == "touch-off"):
        yield (
            ("offsets", "shift"),
            Message("a program broken off leaves a shift by G92 in force, and here no program "
                    "stops for the zero to be set anew"),
            Message("write G52 if the control has it, or leave shift out; else change.way: "
                    "by-hand with length: touch-off"),
        )
    if machine.retract.way == "machine" and abs(machine.retract.machine_z) > machine.z.travel:
        yield (
            ("retract", "machine-z"),
            Message("{place:g} lies beyond the travel of Z, {travel:g} mm",
                    place=machine.retract.machine_z, travel=machine.z.travel),
            Message("write the place of the safe height in the machine's own coordinates; 0 is "
                    "its zero"),
        )


def _measured(machine: Machine) -> Iterator[Contradiction]:
    """What is put right by measurements at each place cannot be written once for several."""
    if not machine.subprograms.use:
        return
    said = ["squareness"] if machine.squareness else []
    said += [f"{name}.errors" for name in "xyz" if machine.axis(name.upper()).errors]
    for word in said:
        yield (
            ("subprograms", "use"),
            Message("with {word} a repeat is not the same at every place", word=word),
            Message("write use: false, and repeats are written out"),
        )


def _unknown_words(machine: Machine) -> Iterator[Contradiction]:
    """Words the control is said not to know, and that are written to it."""
    for word in machine.program.unknown_words:
        used = {
            "G49": machine.offsets.length == "table" and machine.change.with_offset is None,
            "G80": machine.cycles.use,
            "G94": machine.rotary.turn == "inverse-time",
        }
        if word in machine.program.safe_words or used.get(word):
            yield (
                ("program", "unknown-words"),
                Message("{word} is said to be unknown to the control, and is written to it",
                        word=word),
                Message("take it out here, or take out what it is written for"),
            )
