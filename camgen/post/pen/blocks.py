"""Blocks, and the modal words in force: those that the control holds from one block to the next."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy

from camgen.messages import Message
from camgen.post.pen.spelling import Spelling
from camgen.post.text import ProgramText

__all__ = ["ModalBlocks"]


class ModalBlocks:
    """The text of a program as it grows, with the motion word, feed, plane and cycle in force.

    ``motion`` and ``feed`` are empty where the next move is to say them; ``cycle`` is what a fixed
    cycle in force makes, empty where there is none. ``values`` fill in the names in blocks of the
    workshop's own.
    """

    def __init__(self, spelling: Spelling, spoken: Callable[[str], str] | None) -> None:
        self.spelling = spelling
        self.spoken = spoken
        self.repeat = spelling.machine.blocks.repeat_modal
        self.motion = ""
        self.feed = ""
        self.plane = "G17"
        # The speed of the spindle, rev/min, by which feeds a turn are reckoned.
        self.rpm = 0.0
        self.per_turn = spelling.machine.program.feed == "per-turn"
        self.cycle: tuple[object, ...] = ()
        self.values: dict[str, str] = {}
        self.text = ProgramText(spelling.machine, spoken=spoken)
        self.block = self.text.block

    def copied(self) -> ModalBlocks:
        """Blocks that go on from here without touching these."""
        other = copy(self)
        other.values = dict(self.values)
        other.text = ProgramText(self.spelling.machine, spoken=self.spoken)
        other.text.take(self.text)
        other.block = other.text.block
        return other

    def anew(self) -> None:
        """Go on with a text of its own, as a subprogram has: nothing is known to be in force."""
        self.text = ProgramText(self.spelling.machine, numbered=False, spoken=self.spoken)
        self.block = self.text.block
        self.plane = ""
        self.forget()

    def own(self, blocks: tuple[str, ...]) -> None:
        """Write blocks of the workshop's own; the next move says all its words again."""
        if blocks:
            self.cancel_cycle()
            self.text.own(blocks, self.values)
            self.forget()

    def forget(self) -> None:
        """Say motion word and feed again with the next move."""
        self.motion = ""
        self.feed = ""

    def wait(self, seconds: float) -> None:
        """Dwell, where there is anything to wait for."""
        if seconds > 0.0:
            self.cancel_cycle()
            self.block(self.spelling.g("G4"),
                       self.spelling.machine.dwell.word + self.spelling.time(seconds))

    def stop(self, message: str | Message) -> None:
        """Stop with a message to the operator."""
        self.text.tell(message)
        self.block(self.spelling.g("M0"))

    def say_motion(self, word: str, words: list[str]) -> None:
        """Put the motion word first where the control would not know it."""
        if self.cycle:
            self.cancel_cycle()
        if word != self.motion or self.repeat:
            self.motion = word
            words.insert(0, self.spelling.g(word))

    def say_feed(self, feed: float, words: list[str]) -> None:
        """Put the feed, mm/min, last where the control would not know it."""
        text = self.feed_word(feed)
        if text != self.feed or self.repeat:
            self.feed = text
            words.append(text)

    def feed_word(self, feed: float) -> str:
        """The F word of a feed, mm/min, as it is counted here."""
        if self.per_turn:
            return self.spelling.feed_a_turn(feed, self.rpm)
        return self.spelling.feed(feed)

    def say_plane(self, plane: str, words: list[str]) -> None:
        """Put the word of an arc's plane first where the control would not know it."""
        said = self.spelling.machine.program.plane_word
        if plane != self.plane or (self.repeat and said):
            self.plane = plane
            if said:
                words.insert(0, plane)

    def flat_plane(self) -> None:
        """The plane of X and Y again, where an arc in another left its own in force."""
        if self.plane not in ("", "G17") and self.spelling.machine.program.plane_word:
            self.block("G17")
        self.plane = "G17"

    def cancel_cycle(self) -> None:
        """End a fixed cycle that is on."""
        if self.cycle:
            self.cycle = ()
            self.motion = ""
            self.block(self.spelling.machine.cycles.cancel)
