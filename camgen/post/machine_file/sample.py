"""What each word of a machine file makes of a few lines of program, and what in it is unusual.

The lines are of a small piece of work in air: a cut, an arc, a hole, a wait, a turn of the head.
Lengths mm, feeds mm/min.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from typing import Any, Final

from pydantic import ValidationError

from camgen.faults import Refused
from camgen.messages import Message
from camgen.moves import Arc, Drill, Dwell, Feed, Index, Move, Rapid, Section, SetupMoves
from camgen.post.writer import write_programs
from camgen.shop.machine import DrivenHead, Machine, contradictions
from camgen.values import dataclass

__all__ = ["Changed", "changed_by", "sample_of", "unusual"]

_NUMBER: Final = re.compile(r"^N\d+ ?")
_CLEAR: Final = 30.0
_LINES: Final = 10
_SHOWN: Final = 2


@dataclass(frozen=True)
class Changed:
    """Lines of the sample before a word and after it, side by side; one of them may be empty."""

    before: str
    after: str


def _moves(machine: Machine) -> SetupMoves:
    """The sample's moves."""
    moves: list[Move] = [
        Rapid(z=_CLEAR), Rapid(x=-2.5, y=0.0), Rapid(z=25.0), Feed(60.0, z=24.0),
        Feed(120.5, x=2.5), Arc(120.5, (0.0, 0.0), False, x=0.0, y=2.5), Dwell(1.5),
        Rapid(z=_CLEAR), Drill(0.5, 1.25, 25.0, 23.5, 40.0, _CLEAR, peck=0.8), Rapid(z=_CLEAR),
    ]
    if isinstance(machine.dividing, DrivenHead):
        step = 120.0 if machine.dividing.pulses is None else 360.0 / machine.dividing.pulses
        moves += [Index(step, 1), Index(2 * step, 2)]
    section = Section(Message("square and corners"), 0, "none", 1,
                      Message("NONE, COLLET EMPTY"), machine.spindle.lowest, tuple(moves),
                      clockwise="clockwise" in machine.spindle.senses, coolant=True, air=True)
    return SetupMoves("sample", (section,), "Z", _CLEAR)


def _blocks(machine: Machine) -> list[str]:
    """The sample's lines on one machine, without what only speaks to people."""
    lines = [line for program in write_programs(_moves(machine), machine, stem="sample")
             for line in program.text.decode("ascii").splitlines()]
    return [line for line in lines if line and line[0] not in "(;"]


def sample_of(machine: Machine) -> tuple[str, ...]:
    """Ten lines of a program as the machine's control reads it: from its first cut on."""
    blocks = _blocks(machine)
    first = next((place for place, line in enumerate(blocks) if "F" in line), 0)
    begin = max(0, min(first - 3, len(blocks) - _LINES))
    return tuple(blocks[begin:begin + _LINES])


def changed_by(machine: Machine, path: str, plain: Any) -> tuple[Changed, ...]:
    """What the word at ``path`` changes: the sample with ``plain`` in its place, and as it is.

    Empty where it changes none of these lines, or where the rest of the file does not go with the
    plain value.
    """
    # Only what the file says: some words may not be said at all beside others.
    data: dict[str, Any] = machine.model_dump(by_alias=True, exclude_unset=True)
    *within, word = path.split(".")
    inner: Any = data
    for name in within:
        inner = inner.get(name)
        if not isinstance(inner, dict):
            return ()
    inner.pop(word, None)
    if plain is not None:
        inner[word] = plain
    try:
        other = Machine.model_validate(data)
        if any(True for _ in contradictions(other)):
            return ()
        before = _blocks(other)
    except (ValidationError, Refused):
        return ()
    return tuple(_differing(before, _blocks(machine)))[:_SHOWN]


def _differing(before: list[str], after: list[str]) -> Iterator[Changed]:
    """The lines that differ, one beside the other."""
    # Numbers of blocks go on from one to the next: lines are laid side by side without them.
    bare = [[_NUMBER.sub("", line) for line in lines] for lines in (before, after)]
    a, b = bare if bare[0] != bare[1] else (before, after)
    matcher = difflib.SequenceMatcher(a=a, b=b, autojunk=False)
    for what, low, high, first, last in matcher.get_opcodes():
        if what == "equal":
            continue
        for number in range(max(high - low, last - first)):
            yield Changed(before[low + number] if low + number < high else "",
                          after[first + number] if first + number < last else "")


def unusual(machine: Machine) -> tuple[Message, ...]:
    """What few machines have, and a slip of the pen may be: whether it is meant, its owner knows.

    Bounds are common practice, no source.
    """
    return (*_axes(machine), *_rest(machine))


def _axes(machine: Machine) -> Iterator[Message]:
    for name in "XYZ":
        axis = machine.axis(name)
        if axis.sense == "reversed":
            yield Message("{axis} counts against ISO 841: it goes the other way than drawn",
                          axis=name)
        if axis.letter not in (None, name):
            yield Message("{axis} is called {letter} in programs", axis=name, letter=axis.letter)
        if not 30 <= axis.travel <= 800:
            yield Message("{axis} travels {travel:g} mm", axis=name, travel=axis.travel)
        if axis.feed_limit > axis.rapid:
            yield Message("{axis} feeds faster, {feed:g} mm/min, than its rapid, {rapid:g}",
                          axis=name, feed=axis.feed_limit, rapid=axis.rapid)
        if axis.rapid > 10_000:
            yield Message("{axis} goes at {rapid:g} mm/min in a rapid", axis=name,
                          rapid=axis.rapid)
        if axis.increment > 0.005:
            yield Message("{axis} steps {step:g} mm: a fit of a hundredth is not to be had",
                          axis=name, step=axis.increment)
        if axis.lost > 0.01:
            yield Message("{axis} loses {lost:g} mm at a reversal: circles become that much out "
                          "of round", axis=name, lost=axis.lost)
        if abs(axis.scale - 1.0) > 0.0005:
            yield Message("{axis} is {off:.2g} mm off in 100: look whether its ratio in the "
                          "control can be put right", axis=name, off=abs(axis.scale - 1.0) * 100)


def _rest(machine: Machine) -> Iterator[Message]:
    if abs(machine.squareness) > 0.05:
        yield Message("X and Y are {off:g} degrees from a right angle", off=machine.squareness)
    spindle = machine.spindle
    if spindle.senses == ("anticlockwise",):
        yield Message("the spindle turns anticlockwise only: common cutters do not cut on it")
    if spindle.highest < 3000:
        yield Message("the spindle turns at {speed:g} rev/min at most, slow for small cutters",
                      speed=spindle.highest)
    if spindle.run_out > 0.01:
        yield Message("a run-out of {run_out:g} mm: one tooth of a small cutter does all the work",
                      run_out=spindle.run_out)
    head = machine.dividing
    if isinstance(head, DrivenHead):
        if head.sense == "reversed":
            yield Message("the head counts against ISO 841")
        if head.take_up == 0 and machine.rotary.way not in ("one-way", "by-pulse"):
            yield Message("the head takes nothing up: with any lost motion in its worm, spaces "
                          "come out uneven")
    if machine.blocks_per_second < 50:
        yield Message("{count:g} blocks a second: short blocks are merged or fed slower, lest it "
                      "stutter",
                      count=machine.blocks_per_second)
    if machine.numbers.point == "never":
        yield Message("numbers without a point: 1000 is {length:g} mm, and one sign too many ten "
                      "times as far", length=1000 * 10.0**-machine.numbers.decimals)
    if machine.retract.way == "plain":
        yield Message("no word draws Z up before the first move: stand clear before each start")
