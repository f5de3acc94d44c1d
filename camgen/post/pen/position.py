"""Where the machine stands and where the plan says it does, and the moves of its slides."""

from __future__ import annotations

from collections.abc import Iterable
from copy import copy

from camgen.messages import Message
from camgen.moves import Feed, Rapid, Touch
from camgen.post.pen.blocks import ModalBlocks
from camgen.post.pen.pace import counts_between, slowed
from camgen.post.pen.spelling import AXES
from camgen.shop.machine import Probing

__all__ = ["Position"]


class Position:
    """Where the machine stands.

    ``at`` is in counts, ``meant`` where the plan says it stands in mm; None where unknown. ``lost``
    says that the plan's place must be found again, ``drawn`` that this much of it is done: the
    cutter is drawn back along ``clear_axis`` to ``clear_at`` mm. ``second_unsaid`` is true until
    the second rotary axis was told where to stand. ``station`` is the one whose zero is in force,
    ``stations`` true where there are several: whoever sets their zeros at a stop may leave another
    in force, so that it is said again before the next move.
    """

    def __init__(self, blocks: ModalBlocks, retract_axis: str, retract_to: float) -> None:
        machine = blocks.spelling.machine
        self.blocks = blocks
        self.clear_axis = AXES.index(retract_axis)
        self.clear_at = retract_to
        self.at: list[int | None] = [None, None, None]
        self.meant: list[float | None] = [None, None, None]
        self.lost = True
        self.drawn = False
        self.second_unsaid = machine.second_rotary is not None
        self.station = 1
        self.stations = False
        self._left: float | None = None
        self._zero_said = True
        self._repeat_axes = machine.blocks.repeat_axes
        # Every move goes through these: they are not looked for each time.
        spelling = blocks.spelling
        self._steps, self._grids, self._words = spelling.steps, spelling.grids, spelling.axis_words
        self._coupled = spelling.sent.coupled
        # The fastest feed of a block one count long, mm/min.
        self._pace = 60.0 * machine.blocks_per_second * spelling.count_mm

    @property
    def from_below(self) -> bool:
        """Whether the cutter stands below the work, so that it must never be drawn up."""
        return self.clear_axis == 2 and self.clear_at < 0.0

    def copied(self, blocks: ModalBlocks) -> Position:
        """A position that goes on from here, in other blocks, without touching this one."""
        other = copy(self)
        other.blocks = blocks
        other.at = [*self.at]
        other.meant = [*self.meant]
        return other

    # Finding the place again

    def lose(self) -> None:
        """A person may have moved the machine: the next move first goes clear, then back."""
        self.lost = True
        self.drawn = False
        self.at = [None, None, None]
        self._zero_said = not self.stations
        self.blocks.forget()

    def go_clear(self) -> None:
        """To the clear position on the retract axis, if not there."""
        if not self.lost:
            self.go(((self.clear_axis, self.clear_at),))

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
        self.go(((self.clear_axis, self.clear_at),))
        self.set_second()

    def come_back_high(self) -> None:
        """To where the plan left off, in X and Y alone, with Z drawn up as far as it goes."""
        self.drawn = True
        if not self._zero_said:
            self._say_zero()
        self.go([(axis, mm) for axis, mm in enumerate(self.meant[:2]) if mm is not None])

    def set_second(self) -> None:
        """Once in a program, the cutter clear: where the second rotary axis is to stand."""
        spelling = self.blocks.spelling
        second = spelling.machine.second_rotary
        if second is None or not self.second_unsaid:
            return
        self.second_unsaid = False
        places = spelling.machine.numbers.rotary_decimals
        counts = spelling.angle_counts(second.stands_at, 10.0**-places)
        counts = -counts if second.sense == "reversed" else counts
        self.blocks.block(spelling.g("G0"), second.letter + spelling.angle(counts))

    def find(self) -> None:
        """Where lost: clear first, then to where the plan left off."""
        if not self.lost:
            return
        self.draw_back()
        self.lost = False
        was, self._left = self._left, None
        self.go([(axis, mm) for axis, mm in enumerate(self.meant)
                 if mm is not None and axis != self.clear_axis])
        if was is not None:
            self.go(((self.clear_axis, was),))

    def go_to_station(self, number: int) -> None:
        """Another station's zero, called where the cutter is clear; then all is found anew.

        Nothing is known of where the new zero lies: the next move goes clear above it first.
        """
        if number == self.station:
            return
        self.blocks.cancel_cycle()
        self.go_clear()
        self.station = number
        self.blocks.text.say(Message("STATION {number}", number=number))
        self.meant = [None, None, None]
        self.lose()
        self._say_zero()

    def _say_zero(self) -> None:
        """The word of the station's zero."""
        zeros = self.blocks.spelling.machine.offsets.stations
        self.blocks.block(zeros[self.station - 1])
        self._zero_said = True

    # Where it is brought by hand

    def bring_to(self, place: tuple[float, float, float]) -> Message:
        """Where the first cutter is brought by hand, in the program's own numbers and unit."""
        spelling = self.blocks.spelling
        if spelling.inch:
            places = spelling.machine.numbers.decimals
            return Message("BRING CUTTER TO {place} INCH", place=" ".join(
                f"{letter}{spelling.shown_counts(axis, place[axis]) * 10.0**-places:.{places}f}"
                for axis, letter in enumerate(spelling.letters)))
        # Adding nothing turns -0 into 0.
        return Message("BRING CUTTER TO {place}", place=" ".join(
            f"{letter}{spelling.signs[axis] * place[axis] + 0.0:g}"
            for axis, letter in enumerate(spelling.letters)))

    def stand_at(self, place: tuple[float, float, float]) -> None:
        """Say where the machine stands."""
        counts = self.blocks.spelling.shown_counts
        self.blocks.block("G92", *(self._words[axis][counts(axis, mm)]
                                   for axis, mm in enumerate(place)))

    # Moves

    def go(self, targets: Iterable[tuple[int, float]]) -> None:
        """One rapid block to places given by axis, mm, without thought of the way."""
        words = self._towards(targets)
        if words:
            self.repeat_axes(words)
            self.blocks.say_motion("G0", words)
            self.blocks.block(*words)

    def rapid(self, move: Rapid) -> None:
        """A rapid move: retracted before it travels, travelled before it goes down."""
        if self.lost:
            self.find()
        targets = [
            (axis, mm) for axis, mm in enumerate((move.x, move.y, move.z)) if mm is not None
        ]
        clear = self.clear_axis
        if len(targets) > 1 and any(axis == clear for axis, _ in targets):
            # Never an oblique rapid near metal.
            now = self.meant[clear]
            along = [target for target in targets if target[0] == clear]
            across = [target for target in targets if target[0] != clear]
            retracting = now is None or (
                abs(along[0][1] - self.clear_at) <= abs(now - self.clear_at)
            )
            for part in (along, across) if retracting else (across, along):
                self.go(part)
            return
        self.go(targets)

    def feed(self, move: Feed, *, to_rest: bool = False) -> None:
        """A straight move at a feed, slower where it would be over before the next block is read.

        ``to_rest`` where it comes to rest at its end, and nothing follows on.
        """
        if self.lost:
            self.find()
        if self._coupled:
            self._feed_by_tables(move)
        before = (*self.at,)
        words = self._towards((axis, mm) for axis, mm in enumerate((move.x, move.y, move.z))
                              if mm is not None)
        if words:
            self.say_fed(words, move.feed if to_rest else
                         self.paced(move.feed, counts_between(before, self.at)))

    def paced(self, feed: float, counts: float) -> float:
        """``feed``, mm/min, or less, for a block so many counts long."""
        if feed <= counts * self._pace:
            return feed
        blocks = self.blocks
        return min(feed, slowed(blocks.spelling, counts * blocks.spelling.count_mm,
                                blocks.rpm if blocks.per_turn else None))

    def touch(self, move: Touch, words: Probing) -> None:
        """Until the probe touches, then its place said to be the zero's; it stands there."""
        if self.lost:
            self.find()
        blocks, axis = self.blocks, AXES.index(move.axis)
        spelling = blocks.spelling
        there = spelling.counts(axis, move.to)
        to = there + spelling.shown_counts(axis, move.sign * move.beyond)
        blocks.cancel_cycle()
        here = self.at[axis]
        feed = move.feed if here is None else self.paced(move.feed, abs(there - here))
        blocks.block(words.touch, self._words[axis][to], blocks.feed_word(feed))
        place = words.zero.replace("{place}", self._words[axis][there])
        blocks.block(*place.replace("{station}", str(self.station)).split())
        self.at[axis], self.meant[axis] = there, move.to
        blocks.forget()

    def _feed_by_tables(self, move: Feed) -> None:
        """The parts of a straight move up to each place of a table that it passes."""
        start = [*self.meant]
        goal = [there if there is not None else here
                for there, here in zip((move.x, move.y, move.z), start, strict=True)]
        for share in self.blocks.spelling.sent.bent_at(start, goal):
            before = (*self.at,)
            words = self._towards([
                (axis, a + share * (b - a)) for axis, (a, b) in enumerate(zip(start, goal,
                                                                              strict=True))
                if a is not None and b is not None and a != b])
            if words:
                self.say_fed(words, self.paced(move.feed, counts_between(before, self.at)))

    def told(self, axis: int) -> int:
        """What an axis is told to stand where the plan says, in counts."""
        spelling = self.blocks.spelling
        place = self.meant[axis]
        if place is None:
            raise ValueError("a place that is not known cannot be told")
        if axis == 0 and spelling.sent.lean:
            place += spelling.sent.lean * (self.meant[1] or 0.0)
        return spelling.counts(axis, place)

    def say_fed(self, words: list[str], feed: float) -> None:
        """Write a straight move at a feed, mm/min, with the words the control does not hold yet."""
        self.repeat_axes(words)
        self.blocks.say_motion("G1", words)
        self.blocks.say_feed(feed, words)
        self.blocks.block(*words)

    def repeat_axes(self, words: list[str]) -> None:
        """Every known axis word first, where the machine file wants them repeated."""
        if self._repeat_axes:
            known = [self._words[axis][counts] for axis, counts in enumerate(self.at)
                     if counts is not None]
            words[:] = known + [word for word in words if word not in known]

    def _towards(self, targets: Iterable[tuple[int, float]]) -> list[str]:
        """The words of the axes that move, which from now on stand there."""
        if self._coupled:
            return self._towards_coupled(targets)
        words = []
        for axis, mm in targets:
            self.meant[axis] = mm
            counts = round(mm * self._steps[axis]) * self._grids[axis]
            if counts != self.at[axis]:
                self.at[axis] = counts
                words.append(self._words[axis][counts])
        return words

    def _towards_coupled(self, targets: Iterable[tuple[int, float]]) -> list[str]:
        """The same where X is moved along with Y, or a table says how an axis is told."""
        axes = set()
        for axis, mm in targets:
            self.meant[axis] = mm
            axes.add(axis)
        if 1 in axes and self.at[0] is not None and self.meant[0] is not None:
            axes.add(0)
        words = []
        for axis in sorted(axes):
            counts = self.told(axis)
            if counts != self.at[axis]:
                self.at[axis] = counts
                words.append(self._words[axis][counts])
        return words
