"""The pen itself: moves of every kind, each given to the part that writes it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from copy import copy
from typing import Any, ClassVar

from camgen.moves import Arc, Drill, Dwell, Feed, Index, Move, Pause, Rapid, Remark, Station, Touch
from camgen.post.pen.arc import write_arc
from camgen.post.pen.blocks import ModalBlocks
from camgen.post.pen.head import Head
from camgen.post.pen.holes import write_hole
from camgen.post.pen.marks import subprogram_number
from camgen.post.pen.position import Position
from camgen.post.pen.running import Running
from camgen.post.pen.spelling import Spelling
from camgen.post.repeats import RepeatedBody
from camgen.shop.machine import HandHead, Machine
from camgen.values import dataclass

__all__ = ["Pen"]


@dataclass(frozen=True, slots=True)
class Subprogram:
    """A subprogram's lines, and where the machine stands after it: counts, and mm as planned."""

    number: int
    lines: tuple[str, ...]
    size: int
    at: tuple[int | None, ...]
    meant: tuple[float | None, ...]


class Pen:
    """Writes the blocks of one program or part for one machine.

    ``cutter`` is the number of the cutter in the spindle, 0 before the first.
    """

    def __init__(
        self, machine: Machine, retract_axis: str, retract_to: float,
        spoken: Callable[[str], str] | None = None,
    ) -> None:
        self.machine = machine
        self.spelling = Spelling(machine)
        self.blocks = ModalBlocks(self.spelling, spoken)
        self.position = Position(self.blocks, retract_axis, retract_to)
        self.running = Running(self.blocks)
        self.head = Head(self.position, self.running)
        self.cutter = 0
        self.subprograms: dict[object, Subprogram] = {}
        self.first_subprogram = machine.subprograms.first

    @property
    def size(self) -> int:
        """Bytes written so far, subprograms included."""
        return self.blocks.text.size + sum(sub.size for sub in self.subprograms.values())

    def copied(self) -> Pen:
        """A pen that goes on from here without touching this one."""
        other = copy(self)
        other.blocks = self.blocks.copied()
        other.position = self.position.copied(other.blocks)
        other.running = self.running.copied(other.blocks)
        other.head = self.head.copied(other.position, other.running)
        other.subprograms = dict(self.subprograms)
        return other

    def moves(self, moves: Iterable[Move]) -> None:
        """Write moves in their order."""
        kinds, by_hand = self._KINDS, isinstance(self.machine.dividing, HandHead)
        for move in moves:
            # Between two stops with nothing moved nothing is started: hands are still in.
            if not isinstance(move, Pause) and not (by_hand and isinstance(move, Index)):
                self.running.resume()
            kinds[type(move)](self, move)

    def _touch(self, move: Touch) -> None:
        """A move until the probe touches: the control has words for it, where it is planned."""
        words = self.machine.probing
        if words is None:
            raise ValueError("a control without words for a probe is never asked to touch")
        self.position.touch(move, words)

    def _pause(self, move: Pause) -> None:
        """A pause for the operator. The spindle stands still in one that is sure to happen."""
        machine, position, running = self.machine, self.position, self.running
        self.blocks.cancel_cycle()
        if move.optional:
            running.resume()
            running.owe()
        else:
            running.rest()
        self.blocks.text.tell(move.message)
        skip = "/" if machine.block_skip and move.optional else ""
        word = "M1" if move.optional and machine.optional_stop else "M0"
        self.blocks.block(skip + self.spelling.g(word))
        if position.meant[position.clear_axis] == position.clear_at:
            position.lose()
            position.draw_back()
        if move.optional:
            running.resume()

    _KINDS: ClassVar[dict[type, Callable[[Pen, Any], None]]] = {
        Rapid: lambda pen, move: pen.position.rapid(move),
        Feed: lambda pen, move: pen.position.feed(move),
        Arc: lambda pen, move: write_arc(pen.position, move),
        Drill: lambda pen, move: write_hole(pen.position, pen.running, move),
        Touch: _touch,
        Index: lambda pen, move: pen.head.index(move),
        Station: lambda pen, move: pen.position.go_to_station(move.number),
        Dwell: lambda pen, move: pen.blocks.wait(move.seconds),
        Pause: _pause,
        Remark: lambda pen, move: pen.blocks.text.say(move.text),
    }

    # Subprograms

    def call(self, body: RepeatedBody) -> None:
        """Call the subprogram of a body of moves, which is written when first called."""
        words, position = self.machine.subprograms, self.position
        self.running.resume()
        position.find()
        self.blocks.cancel_cycle()
        base = body.base
        # A feed a turn is another at another speed.
        key = (body.moves, None if base else tuple(position.meant), self.blocks.rpm)
        sub = self.subprograms.get(key)
        if sub is None:
            sub = self.subprograms[key] = self._subprogram(body)
        here: tuple[int, int] | None = None
        if base:
            here = (self.spelling.counts(0, base[0]), self.spelling.counts(1, base[1]))
            self._shift(base, here)
        self.blocks.block(*words.call.replace("{number}", str(sub.number)).split())
        self.blocks.forget()
        self.blocks.plane = ""
        for axis in range(3):
            end, at = sub.meant[axis], sub.at[axis]
            if here and base and axis < 2 and end is not None and at is not None:
                end, at = end + base[axis], at + here[axis]
            if at is not None:
                position.meant[axis], position.at[axis] = end, at
        x, y = position.at[0], position.at[1]
        if here and x is not None and y is not None:
            if self.machine.offsets.shift == "G52":
                self._say_shift("G52", (0, 0))
            else:
                self._say_shift("G92", (x, y))

    def _shift(self, base: tuple[float, float], here: tuple[int, int]) -> None:
        """The zero moved to where a body is relative to: mm, and the same in counts."""
        if self.machine.offsets.shift == "G52":
            self._say_shift("G52", here)
        else:
            self.position.go(((0, base[0]), (1, base[1])))
            self._say_shift("G92", (0, 0))

    def _say_shift(self, word: str, place: tuple[int, int]) -> None:
        x, y = (self.spelling.axis_words[axis][place[axis]] for axis in (0, 1))
        self.blocks.block(word, x, y)

    def _subprogram(self, body: RepeatedBody) -> Subprogram:
        """The lines of a subprogram: nothing in them hangs on where it is called from."""
        words = self.machine.subprograms
        number = subprogram_number(self.machine, self.first_subprogram + len(self.subprograms))
        pen = self.copied()
        pen.blocks.anew()
        position, text = pen.position, pen.blocks.text
        position.at = [None, None, None]
        if body.base:
            position.meant[0] = position.meant[1] = 0.0
        text.line(words.label.replace("{number}", str(number)))
        pen.moves(body.moves)
        pen.blocks.cancel_cycle()
        pen.blocks.block(*words.back.split())
        return Subprogram(
            number, tuple(text.lines), text.size, tuple(position.at), tuple(position.meant)
        )
