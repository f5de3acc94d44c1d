"""The text of one program: blocks, numbering, comments, line lengths, blocks of the workshop's own.

Nothing here knows of motion.
"""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections.abc import Callable, Mapping, Sequence

from camgen.faults import Fault, Refused
from camgen.messages import Message, verbatim
from camgen.shop.machine import Machine

__all__ = ["ProgramText", "comment_signs"]

_SPELT = (
    ("Ø", "D"), ("ø", "D"), ("°", " deg"), ("µ", "u"), ("μ", "u"), ("×", "x"), ("–", "-"),
    ("—", "-"), ("−", "-"), ("ß", "ss"), ("±", "+-"),
)


# They end a comment or a program, or on some controls act at once wherever they stand, as ! that
# holds the feed and ~ that lets it go on: common practice, no source.
_ACTING = "()%;{}!~?$"
# A comment that begins with a word and a comma is carried out by some controls, such as MSG, LOG,
# DEBUG, PRINT or PROBEOPEN: common practice, no source.
_ACTIVE = re.compile(r"([A-Z][A-Z0-9]*) *,", re.IGNORECASE)


def comment_signs(text: str, capitals: bool = True) -> str:
    """``text`` in characters every control shows: plain ASCII, no brackets, no % or semicolon.

    >>> comment_signs("Third wheel Ø10.9, 57.6° (Größe 5 µm)")
    'THIRD WHEEL D10.9, 57.6 DEG GROSSE 5 UM'
    """
    for sign, word in _SPELT:
        text = text.replace(sign, word)
    text = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")
    kept = "".join(c if c.isprintable() and c not in _ACTING else " " for c in text)
    kept = " ".join(kept.split())
    return kept.upper() if capitals else kept


class ProgramText:
    """Lines of a program as they grow.

    ``lines`` are without line ends; ``size`` is their length in bytes with line ends. ``spoken``
    says comments and messages in the operator's language; None leaves them as they are.
    """

    def __init__(
        self, machine: Machine, numbered: bool = True, spoken: Callable[[str], str] | None = None
    ) -> None:
        blocks = machine.blocks
        self._spoken = spoken
        self.lines: list[str] = []
        self.size = 0
        self._comments = machine.comments
        self._blocks = blocks
        self._line_end = 1 if blocks.ending == "lf" else 2
        self._joiner = " " if blocks.spaces else ""
        self._longest = blocks.longest
        every = blocks.number_lines == "all"
        self._number = blocks.number_start if blocks.number and (numbered or every) else -1
        self._number_all = every and blocks.number
        self._sums = blocks.checksum
        if self._sums != "none":
            self._longest -= len("*255")

    def take(self, other: ProgramText) -> None:
        """Become a copy of ``other``, to go on from there without touching it."""
        self.lines = [*other.lines]
        self.size = other.size
        self._number = other._number

    def block(self, *words: str) -> None:
        """Write one block; where it is longer than a line may be, as few as will hold it."""
        text = self._joiner.join(words)
        if self._number >= 0:
            # The stroke of block skip comes before the number.
            skip = text[:1] == "/"
            text = f"{'/' * skip}N{self._number}{self._joiner}{text[skip:]}"
            if len(text) <= self._longest:
                self._count_on()
        if len(text) > self._longest:
            self._in_pieces(words)
            return
        self._put(text)

    def line(self, text: str) -> None:
        """Write a line that is no block: a %, a program number, a comment."""
        if self._number_all and text[:1] != "%":
            text = f"N{self._number}{self._joiner}{text}"
            self._count_on()
        self._put(text)

    def lines_of(self, other: Sequence[str]) -> None:
        """Write lines as they stand: those of a subprogram."""
        for text in other:
            self.lines.append(text)
            self.size += len(text) + self._line_end

    def _put(self, text: str) -> None:
        """One line, with the check-sum of its bytes behind it where the control wants one."""
        if self._sums != "none" and text[:1] != "%":
            made = 0
            for byte in text.encode("ascii"):
                made = made ^ byte if self._sums == "xor" else (made + byte) % 256
            text = f"{text}*{made}"
        self.lines.append(text)
        self.size += len(text) + self._line_end

    def own(self, blocks: Sequence[str], values: Mapping[str, str]) -> None:
        """Write blocks of the workshop's own, with the names in braces replaced by ``values``."""
        for block in blocks:
            for name, value in values.items():
                block = block.replace(f"{{{name}}}", value)
            self.block(block)

    def say(self, text: Message) -> None:
        """Write a comment, on as many lines as it needs; nothing where the control reads none."""
        self._comment(self._said(text), quiet=True)

    def name(self, text: str) -> None:
        """Write the name a user gave: each line of it behind JOB and in quotes.

        So it is no message to whoever runs the program, whatever it says.
        """
        style = self._comments.style
        if style == "none":
            return
        shown = comment_signs(text, self._comments.letters == "capitals").replace('"', "'")
        for line in textwrap.wrap(shown, self.comment_room - len('JOB ""')):
            self.line(self._between_marks(f'JOB "{line}"'))

    def _said(self, text: str) -> str:
        return self._spoken(text) if self._spoken is not None else text

    def _comment(self, text: str, *, quiet: bool = False) -> None:
        """Write comments; ``quiet``: none of them makes a control do anything."""
        style = self._comments.style
        if style == "none":
            return
        shown = comment_signs(text, self._comments.letters == "capitals")
        for line in textwrap.wrap(shown, self.comment_room):
            if quiet and _ACTIVE.match(line):
                line = line.replace(",", "", 1)
            self.line(self._between_marks(line))

    def _between_marks(self, text: str) -> str:
        """A comment as the control knows it for one."""
        words = self._comments
        if words.style == "marks":
            bare = text.replace(words.opens, " ")
            bare = bare.replace(words.closes, " ") if words.closes else bare
            return f"{words.opens}{bare}{words.closes}"
        return f"({text})" if words.style == "parentheses" else f"; {text}"

    def tell(self, text: str) -> None:
        """Write a message to the operator: a comment with what makes the control show it."""
        said = self._said(text)
        self._comment(f"{self._comments.message} {said}" if self._comments.message else said)

    def filled(self, template: str, values: Mapping[str, str], last: str) -> str:
        """A message with its names filled in, so that it can be read back.

        What stands before ``{last}`` must fit in one comment line; the value of ``last`` itself
        may go on in the next when nothing comes behind it. Raises Refused where it does not fit:
        half a setting is another.
        """
        room = self.comment_room
        if self._comments.message:
            room -= len(self._comments.message) + 1
        # A template that the catalogue has is said in the operator's language.
        head, tail = self._said(verbatim(template)).split(f"{{{last}}}")
        for name, value in values.items():
            head = head.replace(f"{{{name}}}", value)
            tail = tail.replace(f"{{{name}}}", value)
        value = comment_signs(self._said(values[last]))
        line = f"{head}{value if tail else ''}{tail}"
        if len(line) > room:
            raise Refused(Fault(
                Message("the message {text} is longer than a comment of {room} characters",
                        text=repr(line), room=room),
                Message("give comments.longest more characters in the machine file, or shorten the "
                        "message, or write {last} at its end", last=f"{{{last}}}")
                if tail and value else
                Message("give comments.longest more characters in the machine file, or shorten the "
                        "message"),
            ))
        return f"{head}{value}{tail}"

    @property
    def comment_room(self) -> int:
        """Characters of text in one comment line."""
        number = len(f"N{self._blocks.number_limit} ") if self._number_all else 0
        return min(self._comments.longest, self._longest - 2 - number)

    def _count_on(self) -> None:
        blocks = self._blocks
        self._number += blocks.number_step
        if self._number > blocks.number_limit:
            self._number = blocks.number_start if blocks.number_after == "start-again" else -1

    def _in_pieces(self, words: tuple[str, ...]) -> None:
        """Words that do not fit in one line: F or plane ahead, or G and M words by halves."""
        if len(words) > 1 and words[-1][0] == "F":
            self.block(words[-1])
            self.block(*words[:-1])
            return
        if len(words) > 1 and words[0] in ("G17", "G18", "G19"):
            self.block(words[0])
            self.block(*words[1:])
            return
        if len(words) > 1 and all(word[0] in "GM" for word in words):
            self.block(*words[: len(words) // 2])
            self.block(*words[len(words) // 2 :])
            return
        raise Refused(Fault(
            Message("the block {block} is longer than {longest} characters",
                    block=repr(self._joiner.join(words)), longest=self._longest),
            Message("give blocks.longest more characters in the machine file, or fewer decimal "
                    "places"),
        ))
