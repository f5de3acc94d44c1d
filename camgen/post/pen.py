"""The pen: moves become blocks, with whatever modal state the control then holds.

A pen knows the machine file, the text it writes and where the machine stands, in counts of the last
decimal place. It does not know programs, parts or headers, which the writer composes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import ceil
from typing import Any, ClassVar, Final

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.moves import Arc, Drill, Dwell, Feed, Index, Move, Pause, Rapid, Remark, Station
from camgen.post.arcs import ArcBlock, arc_limits, arc_pieces
from camgen.post.numbers import WordTexts, grid_of, number_written
from camgen.post.repeats import RepeatedBody
from camgen.post.text import ProgramText
from camgen.shop.machine import DrivenHead, HandHead, Machine
from camgen.shop.model import MM_PER_INCH
from camgen.values import dataclass

__all__ = ["Pen"]

AXES: Final = "XYZ"
# Plane word, first axis, second axis, normal; the order that ISO 841 gives the senses of arcs in.
PLANES: Final = {"XY": ("G17", 0, 1, 2), "ZX": ("G18", 2, 0, 1), "YZ": ("G19", 1, 2, 0)}


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

    ``at`` is where the machine stands in counts, ``meant`` where the plan says it does in mm; None
    where unknown. ``lost`` says that the plan's place must be found again, ``drawn`` that this much
    is done: the cutter is drawn back. ``second_unsaid`` is true until the second rotary axis was
    told where to stand. ``angle`` is the head's position in counts, ``station`` the one whose zero
    is in force, ``stations`` true where there are several: whoever sets their zeros at a stop may
    leave another in force, so that it is said again before the next move. ``values`` fill in the
    names in blocks of the workshop's own.
    """

    def __init__(
        self, machine: Machine, retract_axis: str, retract_to: float,
        spoken: Callable[[str], str] | None = None,
    ) -> None:
        numbers = machine.numbers
        self.machine = machine
        self.spoken = spoken
        self.text = ProgramText(machine, spoken=spoken)
        self.block = self.text.block
        self.inch = machine.program.units == "inch"
        self.count_mm = (MM_PER_INCH if self.inch else 1.0) * 10.0**-numbers.decimals
        axes = [machine.axis(name) for name in AXES]
        self._signs = [-1 if axis.sense == "reversed" else 1 for axis in axes]
        self._grids = [grid_of(axis.increment, self.count_mm) for axis in axes]
        self._steps = [
            sign / (self.count_mm * grid)
            for sign, grid in zip(self._signs, self._grids, strict=True)
        ]
        self._scales = [sign / self.count_mm for sign in self._signs]
        self._words = [
            WordTexts(axis.letter or name, self._length_text)
            for axis, name in zip(axes, AXES, strict=True)
        ]
        self._centre_words = [WordTexts(letter, self._length_text) for letter in "IJK"]
        self._feed_words: dict[float, str] = {}
        self._limits = arc_limits(machine.arcs, self.count_mm, max(self._grids))
        self._repeat = machine.blocks.repeat_modal
        self._repeat_axes = machine.blocks.repeat_axes
        self.clear_axis = AXES.index(retract_axis)
        self.clear_at = retract_to
        self.at: list[int | None] = [None, None, None]
        self.meant: list[float | None] = [None, None, None]
        self.lost = True
        self.drawn = False
        self.second_unsaid = machine.second_rotary is not None
        self._left: float | None = None
        self.angle = 0
        # How far from its zero the head is turned at all, degrees, and whether it was told yet.
        self.farthest = 0.0
        self.turned = False
        self._told_head = False
        self.station = 1
        self.stations = False
        self._zero_said = True
        self._rise = 0
        self._motion = ""
        self._feed_word = ""
        self._plane = "G17"
        self._cycle: tuple[object, ...] = ()
        self.cutter = 0
        self.spindle: tuple[float, bool] | None = None
        self.media = (False, False)
        # What stands still since a stop, until a move wants it: the spindle, and coolant and air.
        self._owed: tuple[float, bool] | None = None
        self._media_owed = False
        self.values: dict[str, str] = {}
        self.subprograms: dict[object, Subprogram] = {}
        self.first_subprogram = machine.subprograms.first

    @property
    def size(self) -> int:
        """Bytes written so far, subprograms included."""
        return self.text.size + sum(sub.size for sub in self.subprograms.values())

    def copy(self) -> Pen:
        """A pen that goes on from here without touching this one."""
        other = object.__new__(Pen)
        other.__dict__.update(self.__dict__)
        other.text = ProgramText(self.machine, spoken=self.spoken)
        other.text.take(self.text)
        other.block = other.text.block
        other.at = [*self.at]
        other.meant = [*self.meant]
        other.values = dict(self.values)
        other.subprograms = dict(self.subprograms)
        return other

    # Numbers and words

    def _length_text(self, counts: int) -> str:
        return number_written(counts, self.machine.numbers.decimals, self.machine.numbers)

    def length(self, mm: float) -> str:
        """A length in the program's units, as text."""
        return self._length_text(round(mm / self.count_mm))

    def _counts(self, axis: int, mm: float) -> int:
        """A coordinate in counts, on the machine's grid."""
        return round(mm * self._steps[axis]) * self._grids[axis]

    def g(self, word: str) -> str:
        """A G or M word with as many figures as the control wants."""
        if len(word) == 2 and self.machine.blocks.two_figures:
            return f"{word[0]}0{word[1]}"
        return word

    def _feed_text(self, feed: float) -> str:
        """The F word for ``feed`` mm/min."""
        text = self._feed_words.get(feed)
        if text is None:
            text = self.f_word(feed / MM_PER_INCH if self.inch else feed)
            self._feed_words[feed] = text
        return text

    def f_word(self, value: float) -> str:
        """The F word for a number already in the program's units."""
        decimals = self.machine.numbers.feed_decimals
        counts = round(value * 10**decimals)
        if counts <= 0:
            raise Refused(Fault(
                f"a feed of {value:.4g} a minute is nothing with {decimals} decimal places",
                "give numbers.feed-decimals more places in the machine file",
            ))
        return "F" + number_written(counts, decimals, self.machine.numbers)

    def _time_text(self, seconds: float) -> str:
        """A time in the dwell's unit, rounded up: no wait is shorter than planned."""
        if self.machine.dwell.unit == "ms":
            return str(ceil(seconds * 1000.0 - 1e-6))
        if self.machine.numbers.point == "never":
            return str(ceil(seconds - 1e-6))
        return number_written(ceil(seconds * 1000.0 - 1e-6), 3, self.machine.numbers)

    # Blocks besides motion

    def own(self, blocks: tuple[str, ...]) -> None:
        """Write blocks of the workshop's own; the next move says all its words again."""
        if blocks:
            self.cancel_cycle()
            self.text.own(blocks, self.values)
            self.forget_modal()

    def forget_modal(self) -> None:
        """Say motion word and feed again with the next move."""
        self._motion = ""
        self._feed_word = ""

    def wait(self, seconds: float) -> None:
        """Dwell, where there is anything to wait for."""
        if seconds > 0.0:
            self.cancel_cycle()
            self.block(self.g("G4"), self.machine.dwell.word + self._time_text(seconds))

    def stop(self, message: str) -> None:
        """Stop with a message to the operator."""
        self.text.tell(message)
        self.block(self.g("M0"))

    def start_spindle(self, rpm: float, clockwise: bool, least: float = 0.0) -> None:
        """Start the spindle and wait until it is up to speed, for ``least`` seconds or longer."""
        words = self.machine.spindle_words
        self.spindle, self._owed = (rpm, clockwise), None
        if not words.by_program:
            self.stop(Message("START SPINDLE CLOCKWISE AT {speed:.0f} REV/MIN", speed=rpm)
                      if clockwise else
                      Message("START SPINDLE ANTICLOCKWISE AT {speed:.0f} REV/MIN", speed=rpm))
            return
        self.turn_spindle(rpm, clockwise)
        self.wait(max(least, self.machine.spindle.start_seconds if words.dwell else 0.0))

    def turn_spindle(self, rpm: float, clockwise: bool) -> None:
        """The words that set the spindle turning."""
        words = self.machine.spindle_words
        start = self.g(words.clockwise if clockwise else words.anticlockwise)
        if words.speed_alone:
            self.block(f"S{rpm:.0f}")
            self.block(start)
        else:
            self.block(f"S{rpm:.0f}", start)

    def stop_spindle(self) -> None:
        """Stop the spindle where it turns."""
        self._owed = None
        if self.spindle is None:
            return
        self.cancel_cycle()
        self.spindle = None
        if self.machine.spindle_words.by_program:
            self.block(self.g(self.machine.spindle_words.stop))
        else:
            self.stop(Message("STOP SPINDLE"))

    def set_media(self, coolant: bool, air: bool) -> None:
        """Coolant and air, where fitted; a comment where they must be seen to by hand."""
        if (coolant, air) == self.media:
            return
        words = self.machine.coolant
        self.cancel_cycle()
        was_on = (self.media[0] and words.flood) or (self.media[1] and words.air)
        if was_on and not (coolant >= self.media[0] and air >= self.media[1]):
            self.block(self.g(words.off))
            self.media = (False, False)
        for wanted, on, word, what in (
            (coolant, self.media[0], words.flood, Message("COOLANT BY HAND")),
            (air, self.media[1], words.air, Message("AIR BY HAND")),
        ):
            if wanted and not on:
                if word:
                    self.block(self.g(word))
                else:
                    self.text.say(what)
        self.media = (coolant, air)

    def _media_off(self) -> None:
        """Coolant and air off for a while, where there is a word for them: hands go in."""
        if self._fitted():
            self.block(self.g(self.machine.coolant.off))

    def _media_again(self) -> None:
        """Coolant and air on again after a stop."""
        for word in self._fitted():
            self.block(self.g(word))

    def _rest(self, *, spindle: bool) -> None:
        """Coolant off for a stop where hands go in, and the ``spindle`` still, where they run."""
        if spindle and self.spindle is not None:
            owed = self.spindle
            self.stop_spindle()
            self._owed = owed
        if not self._media_owed:
            self._media_owed = True
            self._media_off()

    def _resume(self) -> None:
        """Spindle, coolant and air again after stops, before what needs them.

        A stop ends them on many controls: they are said again.
        """
        owed, self._owed = self._owed, None
        if owed is not None:
            self.start_spindle(*owed)
        if self._media_owed:
            self._media_owed = False
            self._media_again()

    def _fitted(self) -> list[str]:
        """The words of what is on of coolant and air."""
        words = self.machine.coolant
        return [word for on, word in zip(self.media, (words.flood, words.air), strict=True)
                if on and word]

    # Where the machine is

    def lose_position(self) -> None:
        """A person may have moved the machine: the next move first goes clear, then back."""
        self.lost = True
        self.drawn = False
        self.at = [None, None, None]
        self._zero_said = not self.stations
        self.forget_modal()

    def go_clear(self) -> None:
        """To the clear position on the retract axis, if not there."""
        if not self.lost:
            self._go(((self.clear_axis, self.clear_at),))

    def draw_back(self) -> None:
        """Where lost: to the clear position, before anything else moves or turns."""
        if not self.lost or self.drawn:
            return
        self.drawn = True
        if not self._zero_said:
            self._say_zero()
        # Drawn back twice before it goes on, it still goes back to where it left off.
        if self._left is None or self.meant[self.clear_axis] != self.clear_at:
            self._left = self.meant[self.clear_axis]
        self._go(((self.clear_axis, self.clear_at),))
        self.set_second()

    def set_second(self) -> None:
        """Once in a program, the cutter clear: where the second rotary axis is to stand."""
        second = self.machine.second_rotary
        if second is None or not self.second_unsaid:
            return
        self.second_unsaid = False
        counts = self.angle_counts(second.stands_at, 10.0**-self.machine.numbers.rotary_decimals)
        counts = -counts if second.sense == "reversed" else counts
        self.block(self.g("G0"), second.letter + self.angle_text(counts))

    def find(self) -> None:
        """Where lost: clear first, then to where the plan left off."""
        if not self.lost:
            return
        self.draw_back()
        self.lost = False
        was, self._left = self._left, None
        self._go([
            (axis, mm) for axis, mm in enumerate(self.meant)
            if mm is not None and axis != self.clear_axis
        ])
        if was is not None:
            self._go(((self.clear_axis, was),))

    def bring_to(self, place: tuple[float, float, float]) -> Message:
        """Where the first cutter is brought by hand, in the program's own numbers and unit."""
        letters = [self.machine.axis(name).letter or name for name in AXES]
        if self.inch:
            places = self.machine.numbers.decimals
            return Message("BRING CUTTER TO {place} INCH", place=" ".join(
                f"{letter}{self._counts(axis, place[axis]) * 10.0**-places:.{places}f}"
                for axis, letter in enumerate(letters)))
        # Adding nothing turns -0 into 0.
        return Message("BRING CUTTER TO {place}", place=" ".join(
            f"{letter}{self._signs[axis] * place[axis] + 0.0:g}"
            for axis, letter in enumerate(letters)))

    def stand_at(self, place: tuple[float, float, float]) -> None:
        """Say where the machine stands."""
        self.block("G92", *(
            self._words[axis][self._counts(axis, mm)] for axis, mm in enumerate(place)
        ))

    # Subprograms

    def call(self, body: RepeatedBody) -> None:
        """Call the subprogram of a body of moves, which is written when first called."""
        words, offsets = self.machine.subprograms, self.machine.offsets
        self._resume()
        self.find()
        self.cancel_cycle()
        base = body.base
        key = (body.moves, None if base else tuple(self.meant))
        sub = self.subprograms.get(key)
        if sub is None:
            sub = self.subprograms[key] = self._subprogram(body)
        here: tuple[int, int] | None = None
        if base:
            here = (self._counts(0, base[0]), self._counts(1, base[1]))
            if offsets.shift == "G52":
                self.block("G52", self._words[0][here[0]], self._words[1][here[1]])
            else:
                self._go(((0, base[0]), (1, base[1])))
                self.block("G92", self._words[0][0], self._words[1][0])
        self.block(*words.call.replace("{number}", str(sub.number)).split())
        self.forget_modal()
        self._plane = ""
        for axis in range(3):
            end, at = sub.meant[axis], sub.at[axis]
            if here and base and axis < 2 and end is not None and at is not None:
                end, at = end + base[axis], at + here[axis]
            if at is not None:
                self.meant[axis], self.at[axis] = end, at
        x, y = self.at[0], self.at[1]
        if here and x is not None and y is not None:
            if offsets.shift == "G52":
                self.block("G52", self._words[0][0], self._words[1][0])
            else:
                self.block("G92", self._words[0][x], self._words[1][y])

    def _subprogram(self, body: RepeatedBody) -> Subprogram:
        """The lines of a subprogram: nothing in them hangs on where it is called from."""
        words = self.machine.subprograms
        number = self.first_subprogram + len(self.subprograms)
        pen = self.copy()
        pen.text = ProgramText(self.machine, numbered=False, spoken=self.spoken)
        pen.block = pen.text.block
        pen.at = [None, None, None]
        pen._plane = ""
        pen.forget_modal()
        if body.base:
            pen.meant[0] = pen.meant[1] = 0.0
        pen.text.line(words.label.replace("{number}", str(number)))
        pen.moves(body.moves)
        pen.cancel_cycle()
        pen.block(*words.back.split())
        return Subprogram(
            number, tuple(pen.text.lines), pen.text.size, tuple(pen.at), tuple(pen.meant)
        )

    # Motion

    def moves(self, moves: Iterable[Move]) -> None:
        """Write moves in their order."""
        kinds, by_hand = self._KINDS, isinstance(self.machine.dividing, HandHead)
        for move in moves:
            # Between two stops with nothing moved nothing is started: hands are still in.
            if not isinstance(move, Pause) and not (by_hand and isinstance(move, Index)):
                self._resume()
            kinds[type(move)](self, move)

    def _go(self, targets: Iterable[tuple[int, float]]) -> None:
        """One rapid block, without thought of the way."""
        words = []
        for axis, mm in targets:
            self.meant[axis] = mm
            counts = round(mm * self._steps[axis]) * self._grids[axis]
            if counts != self.at[axis]:
                self.at[axis] = counts
                words.append(self._words[axis][counts])
        if words:
            if self._repeat_axes:
                self._all_axes(words)
            self._say_motion("G0", words)
            self.block(*words)

    def _say_motion(self, word: str, words: list[str]) -> None:
        """Put the motion word first where the control would not know it."""
        if self._cycle:
            self.cancel_cycle()
        if word != self._motion or self._repeat:
            self._motion = word
            words.insert(0, self.g(word))

    def _rapid(self, move: Rapid) -> None:
        if self.lost:
            self.find()
        targets = [
            (axis, mm) for axis, mm in enumerate((move.x, move.y, move.z)) if mm is not None
        ]
        clear = self.clear_axis
        if len(targets) > 1 and any(axis == clear for axis, _ in targets):
            # Retract before travel, travel before going down: never an oblique rapid near metal.
            now = self.meant[clear]
            along = [target for target in targets if target[0] == clear]
            across = [target for target in targets if target[0] != clear]
            retracting = now is None or (
                abs(along[0][1] - self.clear_at) <= abs(now - self.clear_at)
            )
            for part in (along, across) if retracting else (across, along):
                self._go(part)
            return
        self._go(targets)

    def _feed(self, move: Feed) -> None:
        if self.lost:
            self.find()
        words = []
        for axis, mm in enumerate((move.x, move.y, move.z)):
            if mm is not None:
                self.meant[axis] = mm
                counts = round(mm * self._steps[axis]) * self._grids[axis]
                if counts != self.at[axis]:
                    self.at[axis] = counts
                    words.append(self._words[axis][counts])
        if words:
            self._fed("G1", words, move.feed)

    def _fed(self, motion: str, words: list[str], feed: float) -> None:
        """Write a move at a feed, with the words the control does not hold yet."""
        if self._repeat_axes:
            self._all_axes(words)
        if self._cycle or motion != self._motion or self._repeat:
            self._say_motion(motion, words)
        text = self._feed_words.get(feed) or self._feed_text(feed)
        if text != self._feed_word or self._repeat:
            self._feed_word = text
            words.append(text)
        self.block(*words)

    def _all_axes(self, words: list[str]) -> None:
        """Every known axis word first, where the machine file wants them repeated."""
        known = [
            self._words[axis][counts] for axis, counts in enumerate(self.at) if counts is not None
        ]
        words[:] = known + [word for word in words if word not in known]

    def _arc(self, move: Arc) -> None:
        if self.lost:
            self.find()
        arcs = self.machine.arcs
        plane, first, second, normal = PLANES[move.plane]
        meant, at = self.meant, self.at
        goal = [move.x, move.y, move.z]
        for axis in (0, 1, 2):
            if goal[axis] is None:
                goal[axis] = meant[axis]
        start_a, start_b, here_a, here_b = meant[first], meant[second], at[first], at[second]
        goal_a, goal_b = goal[first], goal[second]
        if (start_a is None or start_b is None or here_a is None or here_b is None
                or goal_a is None or goal_b is None):
            raise ValueError("an arc must start from a known place")
        scale_a, scale_b = self._scales[first], self._scales[second]
        end = (self._counts(first, goal_a), self._counts(second, goal_b))
        rise_from, rise_to = at[normal], None
        rise_mm = goal[normal]
        if rise_mm is not None and rise_from is not None:
            rise_to = self._counts(normal, rise_mm)
        helix = rise_from != rise_to and rise_to is not None
        clockwise = move.clockwise == (self._signs[first] == self._signs[second])
        pieces = arc_pieces(
            (here_a, here_b), end, (start_a * scale_a, start_b * scale_b),
            (goal_a * scale_a, goal_b * scale_b),
            (move.centre[0] * scale_a, move.centre[1] * scale_b), clockwise, move.full,
            self._limits, move.plane not in arcs.planes or (helix and not arcs.helices),
        )
        if not pieces and (helix or end != (here_a, here_b)):
            pieces = [ArcBlock(*end, 1.0, None)]
        feed = move.feed
        for piece in pieces:
            at[first], at[second] = piece.a, piece.b
            words = []
            if helix and rise_from is not None and rise_to is not None:
                grid = self._grids[normal]
                now = rise_from + round((rise_to - rise_from) * piece.share / grid) * grid
                if now != at[normal]:
                    at[normal] = now
                    words.append((normal, self._words[normal][now]))
            if piece.a != here_a:
                words.append((first, self._words[first][piece.a]))
            if piece.b != here_b:
                words.append((second, self._words[second][piece.b]))
            if len(words) > 1:
                words.sort()
            texts = [text for _, text in words]
            if piece.centre is not None:
                self._say_arc(plane, first, second, clockwise, texts, piece, (here_a, here_b), feed)
            elif texts:
                self._fed("G1", texts, feed)
            here_a, here_b = piece.a, piece.b
        self.meant = goal

    def _say_arc(
        self,
        plane: str,
        first: int,
        second: int,
        clockwise: bool,
        words: list[str],
        piece: ArcBlock,
        start: tuple[int, int],
        feed: float,
    ) -> None:
        """One block of an arc."""
        style = self.machine.arcs.style
        if self._repeat_axes:
            self._all_axes(words)
        if self._cycle:
            self.cancel_cycle()
        if piece.centre is not None and style != "radius":
            base = start if style == "incremental" else (0, 0)
            centre_a = self._centre_words[first][piece.centre[0] - base[0]]
            centre_b = self._centre_words[second][piece.centre[1] - base[1]]
            # In the ZX plane the second axis comes first in the alphabet.
            words += (centre_a, centre_b) if first < second else (centre_b, centre_a)
        else:
            words.append("R" + self._length_text(round(piece.radius)))
        self._say_motion("G2" if clockwise else "G3", words)
        if plane != self._plane or (self._repeat and self.machine.program.plane_word):
            self._plane = plane
            if self.machine.program.plane_word:
                words.insert(0, plane)
        text = self._feed_text(feed)
        if text != self._feed_word or self._repeat:
            self._feed_word = text
            words.append(text)
        self.block(*words)

    def flat_plane(self) -> None:
        """The plane of X and Y again, where an arc in another left its own in force."""
        if self._plane not in ("", "G17") and self.machine.program.plane_word:
            self.block("G17")
        self._plane = "G17"

    # Holes

    def _drill(self, move: Drill) -> None:
        if self.lost:
            self.find()
        height = self.meant[2]
        if height is None or height < move.travel:
            self._go(((2, move.travel),))
        if self._has_cycle(move):
            self._drill_cycle(move)
            return
        self._go(((0, move.x), (1, move.y)))
        self._go(((2, move.clearance),))
        depth = max(move.bottom, move.clearance - move.peck) if move.peck > 0.0 else move.bottom
        self._feed(Feed(move.feed, z=depth))
        while depth > move.bottom + 1e-9:
            self._go(((2, move.clearance),))
            self._go(((2, min(move.clearance, depth + move.peck_gap)),))
            depth = max(move.bottom, depth - move.peck)
            self._feed(Feed(move.feed, z=depth))
        self.wait(move.dwell)
        if move.reverses:
            self._reverse(back=False)
        if move.feed_out:
            self._feed(Feed(move.feed, z=move.clearance))
        if move.reverses:
            self._reverse(back=True)
        if move.aside != (0.0, 0.0):
            self._draw_out(move)
        self._go(((2, move.travel),))

    def _has_cycle(self, move: Drill) -> bool:
        """Whether the control makes such a hole by itself, and comes out of it as is meant."""
        cycles = self.machine.cycles
        if not cycles.use:
            return False
        if move.reverses:
            return cycles.tap is not None
        if move.aside != (0.0, 0.0):
            return cycles.fine_bore is not None and cycles.return_level == "G98"
        return True

    def _draw_out(self, move: Drill) -> None:
        """A bar stopped with its tip one way, moved off the wall, and out."""
        words, spindle = self.machine.spindle_words, self.spindle
        if spindle is None or words.oriented_stop is None:
            raise ValueError("a bar is drawn out where the spindle turns and can be stopped")
        self.block(self.g(words.oriented_stop))
        self._go(((0, move.x + move.aside[0]), (1, move.y + move.aside[1])))
        self._go(((2, move.travel),))
        self._go(((0, move.x), (1, move.y)))
        self.start_spindle(*spindle)

    def _reverse(self, *, back: bool) -> None:
        """Turn the spindle the other way with the tap in the hole, or ``back`` again above it."""
        if self.spindle is None:
            raise ValueError("a tap must go in with the spindle turning")
        rpm, clockwise = self.spindle
        self.turn_spindle(rpm, clockwise == back)
        self.wait(self.machine.spindle.reversal_seconds or 0.0)

    def _drill_cycle(self, move: Drill) -> None:
        """A hole by a fixed cycle; of further holes alike only the places are written."""
        cycles = self.machine.cycles
        if move.reverses and cycles.tap:
            word = cycles.tap
        elif move.aside != (0.0, 0.0) and cycles.fine_bore:
            word = cycles.fine_bore
        elif move.peck > 0.0:
            word = cycles.peck
        elif move.feed_out:
            word = cycles.bore_dwell if move.dwell > 0.0 else cycles.bore
        else:
            word = cycles.dwell if move.dwell > 0.0 else cycles.drill
        cycle = (word, move.clearance, move.bottom, move.feed, move.peck, move.dwell, move.travel,
                 move.aside)
        places = []
        moved = False
        for axis, mm in ((0, move.x), (1, move.y)):
            self.meant[axis] = mm
            counts = self._counts(axis, mm)
            moved = moved or counts != self.at[axis]
            if counts != self.at[axis] or self._repeat_axes:
                self.at[axis] = counts
                places.append(self._words[axis][counts])
        if cycle == self._cycle and moved and not self._repeat:
            self.block(*places)
        else:
            self._say_cycle(move, word, places)
            self._cycle = cycle
        back = move.travel if cycles.return_level == "G98" else move.clearance
        self.meant[2] = back
        self.at[2] = self._counts(2, back)
        self._go(((2, move.travel),))

    def _say_cycle(self, move: Drill, word: str, places: list[str]) -> None:
        """The block that begins a cycle."""
        cycles = self.machine.cycles
        self.cancel_cycle()
        words: list[str] = [] if cycles.return_level == "none" else [cycles.return_level]
        if self._plane != "G17":
            # A cycle drills along the axis normal to the plane in force.
            self._plane = "G17"
            words.insert(0, "G17")
        words += [self.g(word), *(places or [self._words[0][self._counts(0, move.x)]])]
        words.append(self._words[2][self._counts(2, move.bottom)])
        words.append("R" + self._length_text(self._counts(2, move.clearance)))
        if move.aside != (0.0, 0.0):
            words += [letter + self._length_text(self._counts(axis, move.aside[axis]))
                      for axis, letter in enumerate("IJ")]
        if move.peck > 0.0:
            words.append("Q" + self.length(move.peck))
        if move.dwell > 0.0:
            words.append("P" + self._time_text(move.dwell))
        words.append(self._feed_text(move.feed))
        self._feed_word = words[-1]
        self._motion = word
        self.block(*words)

    def cancel_cycle(self) -> None:
        """End a fixed cycle that is on."""
        if self._cycle:
            self._cycle = ()
            self._motion = ""
            self.block(self.machine.cycles.cancel)

    # Stops

    def _pause(self, move: Pause) -> None:
        """A pause for the operator. The spindle stands still in one that is sure to happen."""
        machine = self.machine
        self.cancel_cycle()
        if move.optional:
            self._resume()
            self._owed, self._media_owed = self.spindle, True
        else:
            self._rest(spindle=True)
        self.text.tell(move.message)
        skip = "/" if machine.block_skip and move.optional else ""
        word = "M1" if move.optional and machine.optional_stop else "M0"
        self.block(skip + self.g(word))
        if self.meant[self.clear_axis] == self.clear_at:
            self.lose_position()
            self.draw_back()
        if move.optional:
            self._resume()

    # Stations of a fixture

    def _station(self, move: Station) -> None:
        """The zero of another station, called where the cutter is clear; then all is found anew.

        Nothing is known of where the new zero lies: the next move goes clear above it first.
        """
        if move.number == self.station:
            return
        self.cancel_cycle()
        self.go_clear()
        self.station = move.number
        self.text.say(Message("STATION {number}", number=move.number))
        self.meant = [None, None, None]
        self.lose_position()
        self._say_zero()

    def _say_zero(self) -> None:
        """The word of the station's zero."""
        self.block(self.machine.offsets.stations[self.station - 1])
        self._zero_said = True

    # The dividing head

    def _index(self, move: Index) -> None:
        head = self.machine.dividing
        if self.lost:
            self.find()
        self.cancel_cycle()
        insert = self.machine.insert
        self.values["space"] = str(move.space)
        self.values["angle"] = f"{move.degrees:.6g}"
        if isinstance(head, HandHead):
            if move.space or move.setting:
                self.own(insert.before_index)
                self._index_by_hand(head, move)
                self.own(insert.after_index)
        elif head is not None:
            self.own(insert.before_index)
            self._turn(head, move)
            self.own(insert.after_index)

    def _index_by_hand(self, head: HandHead, move: Index) -> None:
        values = {
            "space": str(move.space),
            "angle": f"{move.degrees:.6f}".rstrip("0").rstrip("."),
            "setting": move.setting,
        }
        message = self.text.filled(head.message, values, "setting")
        self._rest(spindle=head.stop_spindle)
        self.stop(message)

    def _turn(self, head: DrivenHead, move: Index) -> None:
        """Turn a driven head, so that it always arrives from below and its backlash is taken up."""
        rotary = self.machine.rotary
        sign = -1 if head.sense == "reversed" else 1
        goal = sign * self.angle_counts(move.degrees, head.increment)
        take_up = round(head.take_up * 10**self.machine.numbers.rotary_decimals)
        if move.space == 0:
            take_up = 0
        if rotary.unclamp:
            self.block(rotary.unclamp)
        ahead = (goal - self.angle) * sign
        # Whoever runs a program may have left the head anywhere, above its first space as well.
        unsure = take_up > 0 and not self._told_head and rotary.way != "incremental"
        if unsure or ahead < 0 or ahead + self._rise < take_up:
            self._turn_to(head, goal - sign * take_up)
        self._turn_to(head, goal)
        if rotary.clamp:
            self.block(rotary.clamp)

    def angle_counts(self, degrees: float, increment: float) -> int:
        """An angle in counts of its last place, on a grid of ``increment`` degrees."""
        places = self.machine.numbers.rotary_decimals
        grid = grid_of(increment, 10.0**-places)
        return round(degrees * 10.0**places / grid) * grid

    def angle_text(self, counts: int) -> str:
        """An angle as the machine file spells it."""
        return number_written(counts, self.machine.numbers.rotary_decimals, self.machine.numbers)

    def _turn_to(self, head: DrivenHead, goal: int) -> None:
        """One turn; in several where the control would otherwise take the other way round."""
        delta = goal - self.angle
        if delta == 0 and (self.turned or self.machine.rotary.way == "incremental"):
            return
        way = self.machine.rotary.way
        turn = 360 * 10**self.machine.numbers.rotary_decimals
        longest = {"shortest": turn // 3, "signed": turn // 2}.get(way)
        if longest is not None and abs(delta) > longest:
            self._turn_to(head, self.angle + (longest if delta > 0 else -longest))
            self._turn_to(head, goal)
            return
        ahead = delta if head.sense == "iso" else -delta
        self._rise = self._rise + ahead if ahead > 0 else 0
        self.angle = goal
        if way == "absolute":
            shown = goal
        elif way == "incremental":
            shown = delta
        elif way == "signed":
            # The sign of nothing would be lost: a full turn stands for 0.
            shown = (goal % turn or turn) * (1 if delta > 0 else -1)
        else:
            shown = goal % turn
        degrees = abs(delta) / 10**self.machine.numbers.rotary_decimals
        if not self.turned and way != "incremental":
            degrees = self._farthest_turn(degrees)
        self.turned = self.turned or delta != 0
        self._say_turn(head, shown, degrees)

    def _farthest_turn(self, degrees: float) -> float:
        """How far the first turn may go: where the head stands before it, nobody knows."""
        goal = abs(self.angle) * 10.0**-self.machine.numbers.rotary_decimals
        farthest = {"shortest": 180.0, "absolute": max(360.0, self.farthest + goal)}
        return max(degrees, farthest.get(self.machine.rotary.way, 360.0))

    def _say_turn(self, head: DrivenHead, counts: int, degrees: float) -> None:
        """The block of one turn through ``degrees``."""
        rotary = self.machine.rotary
        self._told_head = True
        word = head.letter + self.angle_text(counts)
        relative = [self.g("G91")] if rotary.way == "incremental" else []
        if rotary.turn == "rapid":
            words = [word]
            self._say_motion("G0", words)
            self.block(*relative, *words)
        elif rotary.turn == "feed":
            self.block(*relative, self.g("G1"), word, self.f_word(head.feed_limit))
            self.forget_modal()
        else:
            self.block(*relative, "G93", self.g("G1"), word,
                       self.f_word(head.feed_limit / degrees))
            self.block("G94")
            self.forget_modal()
        if relative:
            self.block("G90")

    def unwind(self) -> None:
        """Turn the head back to where it started."""
        head, rotary, insert = self.machine.dividing, self.machine.rotary, self.machine.insert
        if isinstance(head, DrivenHead) and rotary.unwind and self.angle:
            self.values["space"] = self.values["angle"] = "0"
            self.own(insert.before_index)
            if rotary.unclamp:
                self.block(rotary.unclamp)
            self._turn_to(head, 0)
            if rotary.clamp:
                self.block(rotary.clamp)
            self.own(insert.after_index)

    _KINDS: ClassVar[dict[type, Callable[[Pen, Any], None]]] = {
        Rapid: _rapid,
        Feed: _feed,
        Arc: _arc,
        Drill: _drill,
        Index: _index,
        Station: _station,
        Dwell: lambda pen, move: pen.wait(move.seconds),
        Pause: _pause,
        Remark: lambda pen, move: pen.text.say(move.text),
    }
