"""Lines as a control of its own sort has them: check-sums taken off, other marks of comments."""

from __future__ import annotations

import re
from collections.abc import Sequence

from camgen.messages import Message
from camgen.reader.notes import Notes
from camgen.shop.machine import Machine

__all__ = ["plain_lines"]

_SUM = re.compile(r"\*([0-9]{1,3})\s*$")


def plain_lines(lines: Sequence[str], machine: Machine, notes: Notes, first: int = 1) -> list[str]:
    """The lines without check-sums, comments in parentheses; ``first`` is the first one's number.

    A check-sum that is missing or wrong is noted, as it is by the control, which then stops.
    """
    blocks, comments = machine.blocks, machine.comments
    found = list(lines)
    if blocks.checksum != "none":
        found = [_summed(line, number, blocks.checksum, notes)
                 for number, line in enumerate(found, start=first)]
    if blocks.number and blocks.number_lines == "all":
        for number, line in enumerate(found, start=first):
            if line.strip() and line[:1] != "%" and not re.match(r"/?N[0-9]", line):
                notes.add(Message("a line without its number, and the machine file says that all "
                                  "have one"), number, 1, grave=True, sort="lines not numbered")
    if comments.style == "marks":
        found = [_in_parentheses(line, comments.opens, comments.closes) for line in found]
    return found


def _summed(line: str, number: int, way: str, notes: Notes) -> str:
    if not line.strip() or line[:1] == "%":
        return line
    said = _SUM.search(line)
    if said is None:
        notes.add(Message("no check-sum behind this line, and the machine file says that all have "
                          "one"), number, 1, grave=True, sort="no check-sum")
        return line
    text = line[:said.start()]
    made = 0
    for byte in text.encode("latin-1", "replace"):
        made = made ^ byte if way == "xor" else made + byte
    if made % 256 != int(said[1]):
        notes.add(Message("the check-sum of this line is {said}, and its bytes make {made}",
                          said=said[1], made=made % 256), number, said.start() + 1, grave=True,
                  sort="check-sum")
    return text


def _in_parentheses(line: str, opens: str, closes: str) -> str:
    """A line whose comments have marks of their own, of the same length in parentheses.

    Parentheses and a semicolon are no marks of comments here: a sign that no control knows is
    written for them.
    """
    parts: list[str] = []
    rest = line
    while rest:
        at = rest.find(opens)
        block, rest = (rest, "") if at < 0 else (rest[:at], rest[at + 1:])
        parts.append(block.translate({ord(sign): "?" for sign in "();"}))
        if at < 0:
            break
        end = rest.find(closes) if closes else -1
        said, rest = (rest, "") if end < 0 else (rest[:end], rest[end + 1:])
        said = said.translate({ord("("): " ", ord(")"): " "})
        if closes and end < 0:
            parts.append(f"({said}")  # Not closed.
        else:
            parts.append(f"({said})" if closes else f";{said}")
    return "".join(parts)
