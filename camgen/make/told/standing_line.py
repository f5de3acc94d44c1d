"""The one line of a program that tells how its job stands, and programs less that line.

It is all that differs between the program a job was proven with and the same program made again,
so sums of programs leave it out: that line, at its place in the header, and nothing else.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from typing import Final

from camgen.library.standing import Standing
from camgen.messages import Message
from camgen.words import languages, program_words

__all__ = ["left_out_before", "standing_line", "without_standing"]

# First words of the line, in every language.
_MARKS = (b"STANDING", b"STAND:", b"ETAT:")
_SAID: Final[dict[str, Callable[[str], Message]]] = {
    "proven": lambda when: Message("STANDING PROVEN AT THE MACHINE {when}", when=when),
    "uncorrected": lambda when: Message("STANDING PROVEN {when}, BUT CORRECTED AT THE MACHINE AND "
                                        "NOT HERE", when=when),
    "changed": lambda when: Message("STANDING CHANGED SINCE PROVEN {when}", when=when),
    "failed": lambda when: Message("STANDING NOT PROVEN, NO PIECE CAME RIGHT YET"),
    "never run": lambda when: Message("STANDING NOT PROVEN AT THE MACHINE YET"),
}
# What may stand in a header before the first block: a mark, a number, a comment and no more.
_MARK = re.compile(rb"\s*(?:%|[O:]\d+)?\s*")
_COMMENT = re.compile(rb"\s*(?:\(([^()]*)\)|;(.*?))\s*", re.DOTALL)
# A comment of a few characters goes on over so many lines at most.
_PIECES = 8


def standing_line(state: Standing, when: str) -> Message:
    """What a program's header says of the job's standing.

    >>> standing_line(Standing("proven"), "2026-03-01")
    'STANDING PROVEN AT THE MACHINE 2026-03-01'
    """
    return _SAID[state.state](when)


@cache
def _forms() -> re.Pattern[bytes]:
    """Every way the line is written, in every language."""
    forms = []
    for language in languages():
        say = program_words(language) or str
        for said in _SAID.values():
            told = say(said("0000-00-00"))
            form = r"\s*".join(re.escape(word) for word in told.split())
            forms.append(form.replace(re.escape("0000-00-00"), r"\d{4}-\d\d-\d\d"))
    return re.compile("|".join(forms).encode(), re.IGNORECASE)


def without_standing(text: bytes) -> bytes:
    """A program less the line of its standing: the first such line of its header after the one
    that names the version, where header is what stands before the first block.

    >>> without_standing(b"(CAMGEN 1 JOB A)\\n(STANDING NOT PROVEN AT THE MACHINE YET)\\nG0 Z5.\\n")
    b'(CAMGEN 1 JOB A)\\nG0 Z5.\\n'
    >>> without_standing(b"(CAMGEN 1 JOB A)\\nG0 Z-5. (STANDING)\\n")
    b'(CAMGEN 1 JOB A)\\nG0 Z-5. (STANDING)\\n'
    """
    lines = text.splitlines(keepends=True)
    comments: list[bytes] = []
    for line in lines:
        comment = _COMMENT.fullmatch(line)
        if comment is None and not _MARK.fullmatch(line):
            break
        comments.append((comment[1] or comment[2] or b"").strip() if comment else b"")
    named = next((at for at, said in enumerate(comments) if said.upper().startswith(b"CAMGEN ")),
                 len(comments))
    for at in range(named + 1, len(comments)):
        for many in range(1, _PIECES + 1):
            if _forms().fullmatch(b" ".join(comments[at:at + many])):
                return b"".join((*lines[:at], *lines[at + many:]))
    return text


def left_out_before(text: bytes) -> bytes:
    """A program as earlier versions summed it: less every line with such a word anywhere in it."""
    return b"".join(line for line in text.splitlines(keepends=True)
                    if not any(mark in line.upper() for mark in _MARKS))
