"""What runs while the cutter cuts: the spindle, coolant and air; and what stands still at stops."""

from __future__ import annotations

from copy import copy

from camgen.messages import Message
from camgen.post.pen.blocks import ModalBlocks

__all__ = ["Running"]


class Running:
    """The spindle, rev/min and whether clockwise, None where still; coolant and air, on or off."""

    def __init__(self, blocks: ModalBlocks) -> None:
        self.blocks = blocks
        self.spindle: tuple[float, bool] | None = None
        self.media = (False, False)
        # The speed of the step that the spindle is set to, where it has steps; 0 before the first.
        self.step = 0.0
        self._turns = False
        # What stands still since a stop, until a move wants it: the spindle, and coolant and air.
        self._owed: tuple[float, bool] | None = None
        self._media_owed = False

    def copied(self, blocks: ModalBlocks) -> Running:
        """The same in other blocks, to go on without touching these."""
        other = copy(self)
        other.blocks = blocks
        return other

    # The spindle

    def start(self, rpm: float, clockwise: bool, least: float = 0.0) -> None:
        """Start the spindle and wait until it is up to speed, for ``least`` seconds or longer."""
        machine = self.blocks.spelling.machine
        words = machine.spindle_words
        if self.by_hand_to(rpm):
            self.tell_step(rpm)
        self.spindle, self._owed = (rpm, clockwise), None
        if rpm != self.blocks.rpm and self.blocks.per_turn:
            self.blocks.rpm, self.blocks.feed = rpm, ""
        if not words.by_program:
            self.blocks.stop(_start_by_hand(rpm, clockwise))
            return
        self.turn(rpm, clockwise)
        self.blocks.wait(max(least, machine.spindle.start_seconds if words.dwell else 0.0))

    def turn(self, rpm: float, clockwise: bool) -> None:
        """The words that set the spindle turning, rev/min."""
        words = self.blocks.spelling.machine.spindle_words
        self._set_step(rpm)
        self._turns = True
        start = self.blocks.spelling.g(words.clockwise if clockwise else words.anticlockwise)
        speed = self._speed_words(rpm)
        if words.speed_alone and speed:
            self.blocks.block(*speed)
            self.blocks.block(start)
        else:
            self.blocks.block(*speed, start)

    def _speed_words(self, rpm: float) -> list[str]:
        """The S word of a speed, or none."""
        machine = self.blocks.spelling.machine
        step = machine.spindle.step_at(rpm)
        if machine.spindle_words.s_says == "nothing":
            return []
        if machine.spindle_words.s_says == "step" and step is not None:
            return [f"S{step.code}"]
        return [f"S{rpm:.0f}"]

    # Steps of the spindle

    def by_hand_to(self, rpm: float) -> bool:
        """Whether a hand must set the spindle to the step of this speed first."""
        machine = self.blocks.spelling.machine
        step = machine.spindle.step_at(rpm)
        return (step is not None and step.word is None and self.step != rpm
                and machine.spindle_words.s_says != "step")

    def tell_step(self, rpm: float) -> None:
        """Tell the operator to set the step of a speed, at the stop that comes next."""
        spindle = self.blocks.spelling.machine.spindle
        step = spindle.step_at(rpm)
        if step is not None:
            self.step = rpm
            self.blocks.text.tell(Message("SET SPINDLE AT {step} FOR {speed:.0f} REV/MIN",
                                          step=spindle.called(step), speed=rpm))

    def _set_step(self, rpm: float) -> None:
        """Set the step of a speed by its word, the spindle standing still; say which it is."""
        spindle = self.blocks.spelling.machine.spindle
        step = spindle.step_at(rpm)
        if step is None or self.step == rpm:
            return
        if self.by_hand_to(rpm):
            raise ValueError("a step set by hand is told at a stop before")
        self.step = rpm
        self.blocks.text.say(Message("SPINDLE AT {step} FOR {speed:.0f} REV/MIN",
                                     step=spindle.called(step), speed=rpm))
        if step.word is not None:
            if self._turns:
                words = self.blocks.spelling.machine.spindle_words
                self.blocks.block(self.blocks.spelling.g(words.stop))
            # Also where it was stopped before: nobody knows how lately.
            self.blocks.wait(spindle.stop_seconds)
            self.blocks.block(step.word)

    def stop(self) -> None:
        """Stop the spindle where it turns."""
        self._owed = None
        self._turns = False
        if self.spindle is None:
            return
        self.blocks.cancel_cycle()
        self.spindle = None
        words = self.blocks.spelling.machine.spindle_words
        if words.by_program:
            self.blocks.block(self.blocks.spelling.g(words.stop))
        else:
            self.blocks.stop(Message("STOP SPINDLE"))

    def reverse(self, *, back: bool) -> None:
        """Turn the spindle the other way with the tap in the hole, or ``back`` again above it."""
        if self.spindle is None:
            raise ValueError("a tap must go in with the spindle turning")
        rpm, clockwise = self.spindle
        self.turn(rpm, clockwise == back)
        self.blocks.wait(self.blocks.spelling.machine.spindle.reversal_seconds or 0.0)

    # Coolant and air

    def set_media(self, coolant: bool, air: bool) -> None:
        """Coolant and air, where fitted; a comment where they must be seen to by hand."""
        if (coolant, air) == self.media:
            return
        words, g = self.blocks.spelling.machine.coolant, self.blocks.spelling.g
        self.blocks.cancel_cycle()
        was_on = (self.media[0] and words.flood) or (self.media[1] and words.air)
        if was_on and not (coolant >= self.media[0] and air >= self.media[1]):
            self.blocks.block(g(words.off))
            self.media = (False, False)
        for wanted, on, word, what in (
            (coolant, self.media[0], words.flood, Message("COOLANT BY HAND")),
            (air, self.media[1], words.air, Message("AIR BY HAND")),
        ):
            if wanted and not on:
                if word:
                    self.blocks.block(g(word))
                else:
                    self.blocks.text.say(what)
        self.media = (coolant, air)

    def _fitted(self) -> list[str]:
        """The words of what is on of coolant and air."""
        words = self.blocks.spelling.machine.coolant
        return [word for on, word in zip(self.media, (words.flood, words.air), strict=True)
                if on and word]

    # At stops

    def rest(self) -> None:
        """Coolant off for a stop where hands go in, and the spindle still, where they run."""
        if self.spindle is not None:
            owed = self.spindle
            self.stop()
            self._owed = owed
        self._rest_media()

    def _rest_media(self) -> None:
        """Coolant and air off for a stop where hands go in."""
        if not self._media_owed:
            self._media_owed = True
            if self._fitted():
                spelling = self.blocks.spelling
                self.blocks.block(spelling.g(spelling.machine.coolant.off))

    def at_one_stop(self, message: str) -> bool:
        """Stop the spindle, do as ``message`` says and start again, all by hand at one stop.

        False, with nothing written, where the spindle stands, or a stop for each is wanted.
        """
        words = self.blocks.spelling.machine.spindle_words
        if self.spindle is None or words.by_program or words.stops == "apart":
            return False
        turned = self.spindle
        self._rest_media()
        self.blocks.text.tell(Message("STOP SPINDLE"))
        self.blocks.text.tell(message)
        self.blocks.stop(_start_by_hand(*turned))
        return True

    def owe(self) -> None:
        """A stop that may happen ends spindle, coolant and air on many controls: say them again."""
        self._owed, self._media_owed = self.spindle, True

    def resume(self) -> None:
        """Spindle, coolant and air again after stops, before what needs them."""
        owed, self._owed = self._owed, None
        if owed is not None:
            self.start(*owed)
        if self._media_owed:
            self._media_owed = False
            for word in self._fitted():
                self.blocks.block(self.blocks.spelling.g(word))


def _start_by_hand(rpm: float, clockwise: bool) -> Message:
    """What tells the operator to start the spindle."""
    return (Message("START SPINDLE CLOCKWISE AT {speed:.0f} REV/MIN", speed=rpm) if clockwise
            else Message("START SPINDLE ANTICLOCKWISE AT {speed:.0f} REV/MIN", speed=rpm))
