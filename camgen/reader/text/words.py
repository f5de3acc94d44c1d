"""A line of program text taken apart into words, comments and what is wrong with it.

Words as ISO 6983-1 has them: a letter and a number. Blanks between words, or between a word's
letter and its number, mean nothing; blanks inside a number are named as a fault, because some
controls read on past them and some do not.
"""

from __future__ import annotations

import re
from typing import Final, NamedTuple

from camgen.messages import Message
from camgen.signs import UNSEEN, shown

__all__ = ["MOST_TROUBLES", "Block", "Trouble", "Word", "split_block"]

MOST_TROUBLES: Final = 20
"""Of one line, no more is told."""


class Word(NamedTuple):
    """A word: ``letter`` in capitals, ``value`` as spelt, ``column`` from 1.

    ``pointed`` says whether the number was written with a decimal point, ``figures`` how many it
    has.
    """

    letter: str
    value: float
    column: int
    pointed: bool
    figures: int = 0


class Trouble(NamedTuple):
    """Text that is no word: ``column`` from 1. ``variable``: text alone cannot say what it is.

    ``word`` is what it is called, where it is one word.
    """

    message: Message
    column: int
    variable: bool = False
    word: str = ""


class Block(NamedTuple):
    """One line: ``skip`` when it begins with ``/``, ``mark`` for a ``%`` line."""

    words: tuple[Word, ...] = ()
    comments: tuple[str, ...] = ()
    troubles: tuple[Trouble, ...] = ()
    skip: bool = False
    mark: bool = False


_PIECE = re.compile(
    r"""
    [ \t]*
    (?:
      (?P<letter>[A-Z])[ \t]*(?P<number>[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))(?![0-9.])
    | \((?P<comment>[^()]*)\)
    | ;(?P<rest>.*)
    | (?P<skip>/[0-9]?)
    | (?P<mark>%)
    )
    """,
    re.VERBOSE | re.IGNORECASE | re.ASCII,
)
_PROGRAM = re.compile(r"[ \t]*:(?=[ \t]*[0-9])")
_VARIABLE = re.compile(
    r"[\#\[\]=<>]|\b(?:IF|WHILE|GOTO|THEN|ELSE|ENDIF|ENDWHILE|END[0-9]+|SUB|ENDSUB|CALL|RETURN)\b"
    r"|(?<![A-Z])GOTO",
    re.IGNORECASE,
)
_FIGURES = re.compile(r"[ \t]*[+-]*[0-9.]*")
# Words of some controls' own: three letters and more, or a name that is given a figure.
_NAME = re.compile(r"[A-Z]{3,}[A-Z0-9_]*|[A-Z]{2,}_[A-Z0-9_]*", re.IGNORECASE | re.ASCII)
_GIVEN = re.compile(
    r"[A-Z][A-Z0-9_]*[ \t]*=[ \t]*[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?![A-Z0-9.\[\]#*/+-])",
    re.IGNORECASE | re.ASCII,
)
_COMMENT = re.compile(r"\([^()]*\)|;.*|\"[^\"]*\"")


def split_block(line: str) -> Block:
    """Take one line apart; never raises.

    >>> block = split_block("n10 g01x-1.5 f120 (slot)")
    >>> [(word.letter, word.value) for word in block.words], block.comments
    ([('N', 10.0), ('G', 1.0), ('X', -1.5), ('F', 120.0)], ('slot',))
    >>> split_block("X1 2").troubles[0].message
    'a number without a letter before it'
    """
    at = 0
    words: list[Word] = []
    comments: list[str] = []
    troubles: list[Trouble] = []
    skip = mark = False
    text = line
    if _PROGRAM.match(line):
        text = line.replace(":", "O", 1)
    length = len(text.rstrip())
    while at < length:
        match = _PIECE.match(text, at)
        if match is None or _is_given(text, match):
            if not troubles and (variable := _variable(text)) is not None:
                troubles.append(variable)
                break
            if len(troubles) == MOST_TROUBLES:
                troubles.append(Trouble(Message("and more that is wrong in this line"), at + 1))
                break
            trouble, at = _trouble(text, at)
            troubles.append(trouble)
            continue
        letter, number, comment, rest, skipped, _ = match.groups()
        if letter is not None:
            words.append(
                Word(letter.upper(), float(number), match.start("letter") + 1, "." in number,
                     len(number.strip("+-.")))
            )
        elif comment is not None or rest is not None:
            said = comment if comment is not None else rest
            comments.append(said.strip())
            unseen = UNSEEN.search(said)
            if unseen is not None:
                troubles.append(Trouble(
                    Message("{sign} in a comment: a sign that is not seen, at which some controls "
                            "and editors end the line or the comment", sign=shown(unseen[0])),
                    match.start() + 1))
        elif skipped is not None:
            if words or skip or mark:
                troubles.append(Trouble(
                    Message("a block-skip stroke in the middle of a block"), match.end()))
            skip = True
        else:
            if words or skip:
                troubles.append(Trouble(Message("a % mark in the middle of a block"),
                                        match.end()))
            mark = True
        at = match.end()
    return Block(tuple(words), tuple(comments), tuple(troubles), skip, mark)


def _is_given(text: str, match: re.Match[str]) -> bool:
    """Whether what looks like a word begins a name that is given a figure, such as ``CR=2.5``."""
    return (
        "=" in text and match["letter"] is not None
        and _GIVEN.match(text, match.start("letter")) is not None
    )


def _variable(text: str) -> Trouble | None:
    """The first variable, expression or macro word outside comments."""
    bare = _COMMENT.sub(lambda found: " " * len(found[0]), text)
    if "=" in bare:
        bare = _GIVEN.sub(lambda found: " " * len(found[0]), bare)
    found = _VARIABLE.search(bare)
    if found is None:
        return None
    return Trouble(
        Message("{word}: a variable, an expression or a macro word; what it stands for cannot be "
                "known from the text", word=repr(found[0].strip())), found.start() + 1, True,
    )


def _trouble(text: str, at: int) -> tuple[Trouble, int]:
    """What is wrong at ``at``, and where reading can go on."""
    while text[at] in " \t":
        at += 1
    column = at + 1
    letter = text[at]
    if letter == "(":
        return Trouble(Message("a comment that is not closed"), column), len(text)
    if letter == ")":
        return Trouble(Message("a comment's end without its beginning"), column), at + 1
    if letter.isascii() and letter.isalpha():
        named = (_GIVEN.match(text, at) if "=" in text else None) or _NAME.match(text, at)
        if named is not None:
            shown = named[0] if len(named[0]) <= 24 else f"{named[0][:24]}..."
            return Trouble(Message("{word} is not a word known here", word=shown), column,
                           word=shown), named.end()
        number = _FIGURES.match(text, at + 1)
        end = at + 1 if number is None else number.end()
        figures = text[at + 1 : end].strip()
        if figures:
            return Trouble(Message("{word}: not a number a control can read",
                                   word=f"{letter.upper()}{figures}"), column), end
        return Trouble(Message("the letter {letter} without a number", letter=letter.upper()),
                       column), at + 1
    if letter == '"':
        end = text.find('"', at + 1)
        end = len(text) if end < 0 else end + 1
        quoted = Message("text in quotes")
        return Trouble(quoted, column, word=quoted), end
    if letter in "+-.0123456789":
        end = at + 1
        while end < len(text) and text[end] in "+-.0123456789":
            end += 1
        return Trouble(Message("a number without a letter before it"), column), end
    name = letter if letter.isprintable() else Message("character {code:#x}", code=ord(letter))
    end = at + 1
    while end < len(text) and text[end] == letter:
        end += 1
    return Trouble(Message("{sign}: a sign that no control knows", sign=name), column), end
