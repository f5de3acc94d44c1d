"""A machine file in sentences, and what in it differs from plain ISO."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import yaml
from pydantic import BaseModel

from camgen.shop.machine import DrivenHead, HandHead, LinearAxis, Machine
from camgen.values import dataclass

__all__ = ["Field", "UnlikePlainIso", "differences", "fields", "in_sentences", "yaml_value"]

# What a machine is, not how its programs are spelt: never a difference from plain ISO.
FACTS: Final = ("name", "describes", "x", "y", "z", "dividing", "second-rotary", "spindle",
                "blocks-per-second")


@dataclass(frozen=True, slots=True)
class Field:
    """One word of a machine file: its path, value, plain value, and what it is for."""

    path: str
    value: Any
    plain: Any
    description: str


@dataclass(frozen=True, slots=True)
class UnlikePlainIso:
    """A word that is spelt otherwise than in plain ISO."""

    path: str
    value: str
    plain: str
    description: str


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
            yield Field(word, value, plain, info.description or "")


def differences(machine: Machine) -> tuple[UnlikePlainIso, ...]:
    """The words of a machine's programs that are not plain ISO, in the file's order.

    >>> [d.path for d in differences(Machine(name="plain", describes="plain"))]
    []
    """
    return tuple(
        UnlikePlainIso(field.path, yaml_value(field.value), yaml_value(field.plain),
                       field.description)
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
        # A message is written as the text it is.
        return str(part) if isinstance(part, str) else part

    text: str = yaml.safe_dump(listed(value), default_flow_style=True, width=10_000)
    return text.strip().removesuffix("...").strip()


def in_sentences(machine: Machine) -> tuple[str, ...]:
    """What a machine file says, in sentences for the person at the machine."""
    return (*_axes(machine), *_spindle(machine), *_head(machine), *_text(machine),
            *_motion(machine), *_order(machine), *_safe_words(machine))


def _axes(machine: Machine) -> Iterator[str]:
    for name in "XYZ":
        axis: LinearAxis = machine.axis(name)
        text = (
            f"{name} travels {axis.travel:g} mm, {axis.rapid:g} mm/min in rapids and up to "
            f"{axis.feed_limit:g} mm/min in feeds, at {axis.acceleration:g} mm/s², in steps of "
            f"{axis.increment:g} mm"
        )
        if axis.letter and axis.letter != name:
            text += f"; its word is {axis.letter}"
        if axis.sense == "reversed":
            text += "; its words count against ISO 841"
        yield text + "."


def _spindle(machine: Machine) -> Iterator[str]:
    spindle, words = machine.spindle, machine.spindle_words
    yield (
        f"The spindle turns {' and '.join(spindle.senses)} at {spindle.lowest:g} to "
        f"{spindle.highest:g} rev/min and runs out by {spindle.run_out:g} mm."
    )
    if not words.by_program:
        yield "The spindle is started and stopped by hand: the program stops with a message."
        return
    wait = f", then the program waits {spindle.start_seconds:g} s" if words.dwell else ""
    yield (
        f"It is started by {words.clockwise} (anticlockwise {words.anticlockwise}) with S"
        + (" in a block of its own before" if words.speed_alone else "")
        + f"{wait}, and stopped by {words.stop}."
    )
    if words.warm_up:
        steps = ", ".join(f"{seconds:g} s at {rpm:g}" for rpm, seconds in words.warm_up)
        yield f"Before the first cut it is warmed up: {steps} rev/min."
        yield (
            "No cutter is warmed up faster than it is to cut: the seconds at higher speeds are "
            "waited at the speed of the first cut."
        )


def _safe_words(machine: Machine) -> Iterator[str]:
    program = machine.program
    if program.unknown_words:
        yield (
            f"It does not know {' '.join(program.unknown_words)}, so that it cannot stand in what "
            "they end."
        )


def _head(machine: Machine) -> Iterator[str]:
    head = machine.dividing
    if head is None:
        yield "There is no dividing head: jobs that cut teeth are refused."
    else:
        stand = head.arrangement
        yield (
            f"For teeth the cutter goes along {stand.along} through the blank and in towards "
            f"{stand.infeed}; {stand.across} is brought to centre height."
        )
    if isinstance(head, HandHead):
        circles = "; ".join(" ".join(str(holes) for holes in plate) for plate in head.plates)
        yield (
            f"The dividing head is turned by hand, {head.worm_ratio:g} turns of the crank to one "
            f"of the work, over plates with {circles} holes; at each space the program stops"
            + (" with the spindle still." if head.stop_spindle else ".")
        )
    elif isinstance(head, DrivenHead):
        rotary = machine.rotary
        way = {
            "absolute": "counting on past 360°",
            "one-way": "from 0 to 360°, always turning in the positive sense",
            "shortest": "from 0 to 360°, the control taking the shorter way",
            "signed": "from 0 to 360°, its sign being the sense of turning",
            "incremental": "by increments under G91",
        }[rotary.way]
        turn = {
            "rapid": "at the rapid rate", "feed": "at a feed in degrees a minute",
            "inverse-time": "at a feed in inverse time",
        }[rotary.turn]
        text = (
            f"The dividing head is driven by {head.letter}, {way}, {turn}; it always arrives from "
            f"the same side, {head.take_up:g}° beyond being taken up"
        )
        if head.sense == "reversed":
            text += "; it turns against ISO 841"
        if rotary.clamp or rotary.unclamp:
            text += f"; {rotary.unclamp or 'no word'} unclamps it, {rotary.clamp or 'none'} clamps"
        yield text + ("; at the end it is turned back." if rotary.unwind else ".")
    if machine.second_rotary:
        second = machine.second_rotary
        yield f"A second rotary axis, {second.letter}, is set to {second.stands_at:g}° and left."


def _text(machine: Machine) -> Iterator[str]:
    program, numbers, blocks, comments = (
        machine.program, machine.numbers, machine.blocks, machine.comments
    )
    yield (
        f"Programs are in {'inches' if program.units == 'inch' else 'millimetres'}, with "
        f"{numbers.decimals} decimal places for lengths, {numbers.rotary_decimals} for angles, "
        f"{numbers.feed_decimals} for feeds; "
        + {"always": "every number has its point", "needed": "whole numbers have no point",
           "never": "numbers have no point and count their last place"}[numbers.point] + "."
    )
    style = {"parentheses": "in parentheses", "semicolon": "behind a semicolon",
             "none": "left out, so that no message reaches the operator"}[comments.style]
    lines = f"Lines are up to {blocks.longest} characters, comments {style}"
    if blocks.number:
        lines += (
            f"; blocks are numbered from N{blocks.number_start} by {blocks.number_step} up to "
            f"N{blocks.number_limit}"
        )
    yield lines + ("." if blocks.spaces else "; words stand without spaces.")
    if program.largest:
        yield (
            f"A program has at most {program.largest} bytes: a longer one comes in numbered parts "
            "that each start and end safely."
        )
    yield (
        f"Files end in .{program.extension}, programs in {program.end}"
        + (f", and are numbered from O{program.number:04d}." if program.number else ".")
    )


def _motion(machine: Machine) -> Iterator[str]:
    arcs = machine.arcs
    if arcs.style == "none":
        yield f"There are no arcs: lines follow them within {arcs.tolerance:g} mm."
    else:
        style = {
            "incremental": "with their centre from the start point", "radius": "by their radius",
            "absolute": "with their centre in program coordinates",
        }[arcs.style]
        text = f"Arcs are written {style}, in the planes {' '.join(arcs.planes)}"
        if arcs.quadrants:
            text += ", split at the quadrants"
        yield text + ("." if arcs.helices else "; helices become lines.")
    cycles = machine.cycles
    yield (
        f"Holes are made by cycles {cycles.drill}, {cycles.dwell}, {cycles.peck}, {cycles.bore}."
        if cycles.use else "Holes are written out move by move."
    )
    if machine.spindle_words.oriented_stop is not None:
        yield (
            f"A boring bar stops at {machine.spindle_words.oriented_stop} with its tip to "
            f"{machine.spindle_words.tip_at}, to be drawn out of its hole."
        )
    if machine.spindle.reversal_seconds is not None:
        yield (
            f"Holes are tapped, the spindle reversed in {machine.spindle.reversal_seconds:g} s, "
            + (f"by cycle {cycles.tap}." if cycles.use and cycles.tap else "written out.")
        )
    if machine.subprograms.use:
        yield (
            f"What repeats is written once and called by {machine.subprograms.call}"
            + (f", shifted by {machine.offsets.shift}." if machine.offsets.shift else ".")
        )


def _order(machine: Machine) -> Iterator[str]:
    change, offsets, retract = machine.change, machine.offsets, machine.retract
    yield {
        "by-hand": "Cutters are changed by hand at a stop with a message.",
        "automatic": f"Cutters are changed by T and {change.word}.",
        "one-program-each": "Every cutter has a program of its own.",
    }[change.way]
    zero = f"The zero is {offsets.work}" if offsets.work else "No work offset is written"
    if len(offsets.stations) > 1:
        zero += f", of fixtures with several stations {' '.join(offsets.stations)}"
    if offsets.stands_at:
        zero += ", the program starts with the cutter at X{:g} Y{:g} Z{:g}".format(
            *offsets.stands_at
        )
    yield zero + (
        "; lengths come from the control's table, G43."
        if offsets.length == "table" else "; each cutter is touched off."
    )
    yield {
        "plain": "To get clear the program goes to the safe height.",
        "machine": f"To get clear Z goes to {retract.machine_z:g} in machine coordinates, G53.",
        "reference": "To get clear Z goes to its reference point, G28.",
    }[retract.way]
    media = [f"{word} for {what}" for word, what in (
        (machine.coolant.flood, "coolant"), (machine.coolant.air, "air")) if word]
    if media:
        yield f"There is {' and '.join(media)}; {machine.coolant.off} ends it."
    for name, blocks in machine.insert:
        if blocks:
            yield f"Own blocks {name.replace('_', ' ')}: {' / '.join(blocks)}."
