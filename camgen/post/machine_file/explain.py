"""A machine file in sentences, and what in it differs from plain ISO."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import yaml
from pydantic import BaseModel

from camgen.faults import all_of
from camgen.messages import Message, tabled
from camgen.shop.machine import DrivenHead, HandHead, LinearAxis, Machine, SpindleStep
from camgen.values import dataclass

__all__ = ["Field", "UnlikePlainIso", "differences", "fields", "in_sentences", "yaml_value"]

# What a machine is, not how its programs are spelt: never a difference from plain ISO.
FACTS: Final = ("name", "describes", "x", "y", "z", "dividing", "second-rotary", "spindle",
                "blocks-per-second", "merge-within")


@dataclass(frozen=True, slots=True)
class Field:
    """One word of a machine file: its path, value, plain value, and what it is for."""

    path: str
    value: Any
    plain: Any
    description: Message


@dataclass(frozen=True, slots=True)
class UnlikePlainIso:
    """A word that is spelt otherwise than in plain ISO, whose value ``was`` there."""

    path: str
    value: str
    plain: str
    description: Message
    was: Any = None


def fields(machine: Machine) -> tuple[Field, ...]:
    """Every word of a machine file with its value and default, in the file's order.

    >>> machine = Machine(name="plain", describes="plain")
    >>> [f.plain for f in fields(machine) if f.path == "numbers.decimals"]
    [3]
    """
    return tuple(_fields(machine, ""))


def _fields(model: BaseModel, path: str) -> Iterator[Field]:
    for name, info in type(model).model_fields.items():
        word = path + name.replace("_", "-")
        value = getattr(model, name)
        if isinstance(value, BaseModel):
            yield from _fields(value, word + ".")
        else:
            plain = None if info.is_required() else info.get_default(call_default_factory=False)
            yield Field(word, value, plain, tabled(info.description or "", "descriptions"))


def differences(machine: Machine) -> tuple[UnlikePlainIso, ...]:
    """The words of a machine's programs that are not plain ISO, in the file's order.

    >>> [d.path for d in differences(Machine(name="plain", describes="plain"))]
    []
    """
    return tuple(
        UnlikePlainIso(field.path, yaml_value(field.value), yaml_value(field.plain),
                       field.description, field.plain)
        for field in fields(machine)
        if field.path.split(".")[0] not in FACTS and field.value != field.plain
    )


def yaml_value(value: Any) -> str:
    """A value as it is written in a machine file.

    >>> yaml_value(("G40", "G80")), yaml_value(None), yaml_value(True)
    ('[G40, G80]', 'null', 'true')
    """
    def listed(part: Any) -> Any:
        if isinstance(part, tuple):
            return [listed(one) for one in part]
        if isinstance(part, BaseModel):
            return part.model_dump(by_alias=True, exclude_defaults=True)
        # A message is written as the text it is.
        return str(part) if isinstance(part, str) else part

    text: str = yaml.safe_dump(listed(value), default_flow_style=True, width=10_000)
    return text.strip().removesuffix("...").strip()


def in_sentences(machine: Machine) -> tuple[Message, ...]:
    """What a machine file says, in sentences for the person at the machine."""
    return (*_axes(machine), *_measured(machine), *_spindle(machine), *_head(machine),
            *_text(machine), *_motion(machine), *_order(machine), *_safe_words(machine))


def _sentence(text: Message) -> Message:
    return Message("{sentence}.", sentence=text)


def _axes(machine: Machine) -> Iterator[Message]:
    for name in "XYZ":
        axis: LinearAxis = machine.axis(name)
        text = Message(
            "{axis} travels {travel:g} mm, {rapid:g} mm/min in rapids and up to {feed:g} mm/min in "
            "feeds, at {acceleration:g} mm/s², in steps of {step:g} mm", axis=name,
            travel=axis.travel, rapid=axis.rapid, feed=axis.feed_limit,
            acceleration=axis.acceleration, step=axis.increment)
        if axis.letter and axis.letter != name:
            text = Message("{text}; its word is {letter}", text=text, letter=axis.letter)
        if axis.counts == "twice":
            text = Message("{text}; its words are diameters", text=text)
        if axis.sense == "reversed":
            text = Message("{text}; its words count against ISO 841", text=text)
        yield _sentence(text)


def _measured(machine: Machine) -> Iterator[Message]:
    """What was measured of it."""
    for name in "XYZ":
        axis = machine.axis(name)
        if axis.lost:
            yield Message("{axis} loses {lost:g} mm at a reversal.", axis=name, lost=axis.lost)
        if axis.scale != 1.0:
            yield Message("{axis} goes {scale:.6g} mm for each mm that it is told; programs put "
                          "that right.", axis=name, scale=axis.scale)
        if axis.errors:
            yield Message("{axis} has a table of errors of {count} places; programs put them "
                          "right.", axis=name, count=len(axis.errors))
            if axis.sense == "reversed":
                yield Message(
                    "Its places and errors count as ISO 841 says, against the words of {axis}: at "
                    "the word {word:g} the slide stands at {place:g} of the table.", axis=name,
                    word=_plain_zero(axis.errors_zero - axis.errors[-1][0]),
                    place=axis.errors[-1][0])
    if machine.squareness:
        yield Message("From X to Y are {angle:.5g} degrees; programs put that right.",
                      angle=90.0 + machine.squareness)
    if isinstance(machine.dividing, DrivenHead) and machine.dividing.errors:
        yield Message("The head has a table of errors of {count} places; programs put them right.",
                      count=len(machine.dividing.errors))
        if machine.dividing.sense == "reversed":
            place = machine.dividing.errors[-1][0]
            yield Message(
                "Its angles and errors count as ISO 841 says, against the words of the head: told "
                "{word}{angle:g}, it stands at {place:g} of the table.",
                word=machine.dividing.letter, angle=_plain_zero(-place), place=place)


def _plain_zero(figure: float) -> float:
    """A figure without the sign of nothing."""
    return figure + 0.0


def _spindle(machine: Machine) -> Iterator[Message]:
    spindle, words = machine.spindle, machine.spindle_words
    senses = [Message("clockwise") if sense == "clockwise" else Message("anticlockwise")
              for sense in spindle.senses]
    yield Message(
        "The spindle turns {senses} at {lowest:g} to {highest:g} rev/min and runs out by "
        "{run_out:g} mm.", senses=all_of(senses), lowest=spindle.lowest, highest=spindle.highest,
        run_out=spindle.run_out)
    if spindle.steps:
        yield Message("It has the speeds {steps} rev/min and no others.", steps=tuple(
            _step(machine, step) for step in spindle.steps))
    if not words.by_program:
        yield Message("The spindle is started and stopped by hand: the program stops with a "
                      "message.")
        if isinstance(machine.dividing, HandHead):
            yield (Message("Where the head is turned one stop says it all: stop the spindle, turn, "
                           "start it again.") if words.stops == "together" else
                   Message("Where the head is turned there is a stop to stop the spindle, one to "
                           "turn and one to start it again."))
        return
    text = {
        "speed": Message("It is started by {clockwise} (anticlockwise {anticlockwise}) with S",
                         clockwise=words.clockwise, anticlockwise=words.anticlockwise),
        "step": Message("It is started by {clockwise} (anticlockwise {anticlockwise}) with the "
                        "number of a step as S", clockwise=words.clockwise,
                        anticlockwise=words.anticlockwise),
        "nothing": Message("It is started by {clockwise} (anticlockwise {anticlockwise}) without S",
                           clockwise=words.clockwise, anticlockwise=words.anticlockwise),
    }[words.s_says]
    if words.speed_alone:
        text = Message("{text} in a block of its own before", text=text)
    if words.dwell:
        text = Message("{text}, then the program waits {wait:g} s", text=text,
                       wait=spindle.start_seconds)
    yield Message("{text}, and stopped by {stop}.", text=text, stop=words.stop)
    if words.warm_up:
        steps = tuple(Message("{seconds:g} s at {speed:g}", seconds=seconds, speed=rpm)
                      for rpm, seconds in words.warm_up)
        yield Message("Before the first cut it is warmed up: {steps} rev/min.", steps=steps)
        yield Message("No cutter is warmed up faster than it is to cut: the seconds at higher "
                      "speeds are waited at the speed of the first cut.")


def _step(machine: Machine, step: SpindleStep) -> Message:
    """One speed and how it is set."""
    name = machine.spindle.called(step)
    if step.word is not None:
        return Message("{speed} ({step}, by {word})", speed=step.speed, step=name, word=step.word)
    if machine.spindle_words.s_says == "step":
        return Message("{speed} ({step}, by {word})", speed=step.speed, step=name,
                       word=f"S{step.code}")
    return Message("{speed} ({step}, by hand at a stop)", speed=step.speed, step=name)


def _safe_words(machine: Machine) -> Iterator[Message]:
    program = machine.program
    if program.unknown_words:
        yield Message("It does not know {words}, so that it cannot stand in what they end.",
                      words=" ".join(program.unknown_words))


def _head(machine: Machine) -> Iterator[Message]:
    head = machine.dividing
    if head is None:
        yield Message("There is no dividing head: jobs that cut teeth are refused.")
    else:
        stand = head.arrangement
        yield Message(
            "For teeth the cutter goes along {along} through the blank and in towards {infeed}; "
            "{across} is brought to centre height.", along=stand.along, infeed=stand.infeed,
            across=stand.across)
    if isinstance(head, HandHead):
        circles = "; ".join(" ".join(str(holes) for holes in plate) for plate in head.plates)
        text = Message(
            "The dividing head is turned by hand, {ratio:g} turns of the crank to one of the work, "
            "over plates with {circles} holes; at each space the program stops",
            ratio=head.worm_ratio, circles=circles)
        yield Message("{text} with the spindle still.", text=text)
    elif isinstance(head, DrivenHead):
        yield _driven(machine, head)
    if machine.second_rotary:
        second = machine.second_rotary
        yield Message("A second rotary axis, {letter}, is set to {angle:g}° and left.",
                      letter=second.letter, angle=second.stands_at)


_WAYS: Final = {
    "absolute": Message("counting on past 360°"),
    "one-way": Message("from 0 to 360°, always turning in the positive sense"),
    "shortest": Message("from 0 to 360°, the control taking the shorter way"),
    "signed": Message("from 0 to 360°, its sign being the sense of turning"),
    "incremental": Message("by increments under G91"),
}
_TURNS: Final = {
    "rapid": Message("at the rapid rate"),
    "feed": Message("at a feed in degrees a minute"),
    "inverse-time": Message("at a feed in inverse time"),
}


def _driven(machine: Machine, head: DrivenHead) -> Message:
    rotary = machine.rotary
    text = Message(
        "The dividing head is turned by {word}, a step at each, {pulses} to a turn, always the "
        "same way, {answer}; space 1 is where it stands when the program is started",
        word=rotary.pulse, pulses=head.pulses,
        answer=Message("waited for by {word}", word=rotary.answered) if rotary.answered
        else Message("the word itself waiting until it is there"),
    ) if rotary.way == "by-pulse" else Message(
        "The dividing head is driven by {letter}, {way}, {turn}; it always arrives from the same "
        "side, {take_up:g}° beyond being taken up", letter=head.letter, way=_WAYS[rotary.way],
        turn=_TURNS[rotary.turn], take_up=head.take_up)
    if head.sense == "reversed":
        text = Message("{text}; it turns against ISO 841", text=text)
    if head.limits is not None:
        text = Message("{text}; it turns from {least:g}° to {most:g}°, and is turned back by whole "
                       "turns before it would go beyond", text=text, least=head.limits[0],
                       most=head.limits[1])
    if rotary.clamp or rotary.unclamp:
        text = Message("{text}; {unclamp} unclamps it, {clamp} clamps", text=text,
                       unclamp=rotary.unclamp or Message("no word"),
                       clamp=rotary.clamp or Message("none"))
    if rotary.way == "by-pulse":
        return Message("{text}; at the end it is turned on until space 1 comes again.", text=text)
    return (Message("{text}; at the end it is turned back.", text=text) if rotary.unwind
            else _sentence(text))


def _text(machine: Machine) -> Iterator[Message]:
    program, numbers, blocks, comments = (
        machine.program, machine.numbers, machine.blocks, machine.comments
    )
    point = {
        "always": Message("every number has its point"),
        "needed": Message("whole numbers have no point"),
        "never": Message("numbers have no point and count their last place"),
    }[numbers.point]
    if numbers.zeros != "no-leading":
        point = (Message("numbers have no point and as many figures always")
                 if numbers.zeros == "all" else
                 Message("numbers have no point, and their last zeros are left out"))
    yield Message(
        "Programs are in {units}, with {lengths} decimal places for lengths, {angles} for angles, "
        "{feeds} for feeds; {point}.",
        units=Message("inches") if program.units == "inch" else Message("millimetres"),
        lengths=numbers.decimals, angles=numbers.rotary_decimals, feeds=numbers.feed_decimals,
        point=point)
    style = {
        "parentheses": Message("in parentheses"),
        "semicolon": Message("behind a semicolon"),
        "marks": Message("between marks of their own"),
        "none": Message("left out, so that no message reaches the operator"),
    }[comments.style]
    text = Message("Lines are up to {longest} characters, comments {style}",
                   longest=blocks.longest, style=style)
    if comments.style == "marks":
        text = Message("{text} behind {opens}", text=text, opens=comments.opens)
    if blocks.checksum != "none":
        text = Message("{text}; behind every line stands * and its check-sum, modulo 256",
                       text=text)
    if blocks.number:
        text = Message("{text}; blocks are numbered from N{first} by {step} up to N{last}",
                       text=text, first=blocks.number_start, step=blocks.number_step,
                       last=blocks.number_limit)
    yield (_sentence(text) if blocks.spaces
           else Message("{text}; words stand without spaces.", text=text))
    if program.feed == "per-turn":
        yield Message("Feeds are a turn of the spindle's, G95, never rounded up.")
    if program.largest:
        yield Message("A program has at most {largest} bytes: a longer one comes in numbered parts "
                      "that each start and end safely.", largest=program.largest)
    yield (Message("Files end in .{extension}, programs in {end}, and are numbered from "
                   "O{number:04d}.", extension=program.extension, end=program.end,
                   number=program.number) if program.number else
           Message("Files end in .{extension}, programs in {end}.", extension=program.extension,
                   end=program.end))


def _motion(machine: Machine) -> Iterator[Message]:
    arcs = machine.arcs
    if arcs.style == "none":
        yield Message("There are no arcs: lines follow them within {tolerance:g} mm.",
                      tolerance=arcs.tolerance)
    else:
        style = {
            "incremental": Message("with their centre from the start point"),
            "radius": Message("by their radius"),
            "absolute": Message("with their centre in program coordinates"),
        }[arcs.style]
        text = Message("Arcs are written {style}, in the planes {planes}", style=style,
                       planes=" ".join(arcs.planes))
        if arcs.unsigned:
            text = Message("{text}, the centre without its sign", text=text)
        if arcs.quadrants:
            text = Message("{text}, split at the quadrants", text=text)
        yield _sentence(text) if arcs.helices else Message("{text}; helices become lines.",
                                                           text=text)
    cycles = machine.cycles
    yield (
        Message("Holes are made by cycles {cycles}.",
                cycles=(cycles.drill, cycles.dwell, cycles.peck, cycles.bore))
        if cycles.use else Message("Holes are written out move by move.")
    )
    if machine.spindle_words.oriented_stop is not None:
        yield Message("A boring bar stops at {word} with its tip to {tip_at}, to be drawn out of "
                      "its hole.", word=machine.spindle_words.oriented_stop,
                      tip_at=machine.spindle_words.tip_at)
    seconds = machine.spindle.reversal_seconds
    if seconds is not None:
        yield (Message("Holes are tapped, the spindle reversed in {seconds:g} s, by cycle {word}.",
                       seconds=seconds, word=cycles.tap) if cycles.use and cycles.tap else
               Message("Holes are tapped, the spindle reversed in {seconds:g} s, written out.",
                       seconds=seconds))
    if machine.subprograms.use:
        text = Message("What repeats is written once and called by {call}",
                       call=machine.subprograms.call)
        if machine.offsets.shift:
            text = Message("{text}, shifted by {word}", text=text, word=machine.offsets.shift)
        yield _sentence(text)


def _order(machine: Machine) -> Iterator[Message]:
    change, offsets, retract = machine.change, machine.offsets, machine.retract
    yield {
        "by-hand": Message("Cutters are changed by hand at a stop with a message."),
        "automatic": Message("Cutters are changed by T and {word}.", word=change.word)
        if change.word else Message("Cutters are changed by T alone."),
        "one-program-each": Message("Every cutter has a program of its own."),
    }[change.way]
    zero = (Message("The zero is {word}", word=offsets.work) if offsets.work
            else Message("No work offset is written"))
    if len(offsets.stations) > 1:
        zero = Message("{text}, of fixtures with several stations {words}", text=zero,
                       words=" ".join(offsets.stations))
    if offsets.stands_at:
        x, y, z = offsets.stands_at
        zero = Message("{text}, the program starts with the cutter at X{x:g} Y{y:g} Z{z:g}",
                       text=zero, x=x, y=y, z=z)
    yield (Message("{text}; {word} chooses cutter 1 with its length from the control's table, and "
                   "{end} ends it.", text=zero, word=change.t_word(1), end=change.t_ended(1))
           if change.with_offset else
           Message("{text}; lengths come from the control's table, G43.", text=zero)
           if offsets.length == "table" else
           Message("{text}; each cutter is touched off.", text=zero))
    yield {
        "plain": Message("To get clear the program goes to the safe height."),
        "machine": Message("To get clear Z goes to {height:g} in machine coordinates, G53.",
                           height=retract.machine_z),
        "reference": Message("To get clear Z goes to its reference point, G28."),
    }[retract.way]
    yield from _places(machine)
    coolant = machine.coolant
    media = [
        *([Message("{word} for coolant", word=coolant.flood)] if coolant.flood else []),
        *([Message("{word} for air", word=coolant.air)] if coolant.air else []),
    ]
    if media:
        yield Message("There is {media}; {off} ends it.", media=all_of(media), off=coolant.off)
    for name, blocks in machine.insert:
        if blocks:
            yield Message("Own blocks {name}: {blocks}.", name=name.replace("_", " "),
                          blocks=" / ".join(blocks))


def _places(machine: Machine) -> Iterator[Message]:
    """Where cutters are changed, and where it stands at the end."""
    for place, at_end in ((machine.change.place, False), (machine.retract.park, True)):
        if place is None:
            continue
        names = " ".join(f"{'XY'[axis]}{mm:g}" for axis, mm in place.axes)
        where = (Message("{place} in machine coordinates, G53", place=names)
                 if place.counted == "machine"
                 else Message("{place} from the work's zero", place=names))
        yield (Message("At the end it goes to {where}, at the safe height.", where=where)
               if at_end else
               Message("Cutters are changed at {where}, gone to at the safe height.", where=where))
        if machine.dividing is not None and (
                place.counted == "work" or machine.retract.way == "plain"):
            yield Message("In work on the dividing head it does not go there: only Z drawn up in "
                          "machine coordinates is clear of everything, and the place counted so.")
