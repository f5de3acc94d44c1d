"""Text that is no YAML: the parser's complaint in plain words."""

from __future__ import annotations

import re

import yaml

from camgen.faults import Fault, Place
from camgen.messages import Message

__all__ = ["no_colon", "no_space_after_colon", "syntax_fault"]

_OPEN_TEXT = {"block mapping": Message("the group of words"),
              "block collection": Message("the list"),
              "flow sequence": Message("the bracket {sign}", sign="["),
              "flow mapping": Message("the brace {sign}", sign="{"),
              "quoted scalar": Message("the quote")}

_NO_SPACE = re.compile(r"^\s*(?:- +)?([A-Za-z][\w-]*):([^\s:/].*)$")
_NO_SPACE_AFTER_HYPHEN = re.compile(r"^\s*-([A-Za-z][\w-]*:.*)$")
_NO_COLON = re.compile(r"^\s*(?:- +)?([a-z][a-z-]*)(?: *= *| +)([^\s:=][^:]*)$")
_AFTER_QUOTE = re.compile(r"""^[^"'#]*:\s+(["'])(?:(?!\1).)*\1\s*([^\s,}\]#].*)$""")

# What the parser says, and the same in plain words: part of its problem or context, message,
# remedy.
_PLAIN = (
    ("mapping values are not allowed", Message("a colon that does not fit here"),
     Message("either the line is indented too far, or the value holds a colon itself and goes in "
             "quotes")),
    ("expected <document start>", Message("the file goes on here after its end"),
     Message("indent this line as the lines before it")),
    ("nesting", Message("nested too deep"), Message("look for a bracket that is not closed")),
    ("sequence entries are not allowed", Message("a list cannot begin on this line"),
     Message("a list begins on the line below its word; a text that begins with {sign} goes in "
             "quotes", sign="-")),
    ("scanning an anchor", Message("& without a name after it"),
     Message("a text that begins with {sign} goes in quotes", sign="&")),
    ("scanning an alias", Message("* without a name after it"),
     Message("a text that begins with {sign} goes in quotes", sign="*")),
    ("tag", Message("tags are not allowed"),
     Message("a text that begins with {sign} goes in quotes", sign="!")),
    ("directive", Message("a line beginning with % is not allowed"), Message("take it out")),
    ("YAML document", Message("a line beginning with % is not allowed"), Message("take it out")),
)


def syntax_fault(error: yaml.YAMLError, text: str, file: str) -> Fault:
    """The parser's complaint in plain words, at the line where the cause is most likely."""
    mark = getattr(error, "problem_mark", None)
    problem = str(getattr(error, "problem", None) or "")
    context = str(getattr(error, "context", None) or "")
    began = getattr(error, "context_mark", None)
    if mark is None:
        return Fault(Message("the file cannot be read as YAML"),
                     Message("save it anew as plain UTF-8 text"), Place(file))
    here = Place(file, mark.line + 1, mark.column + 1)
    start = Place(file, began.line + 1, began.column + 1) if began else here
    lines = text.split("\n")
    slip = _slip(lines, (began or mark).line, mark.line, "flow" in context, file)
    if slip is not None:
        return slip
    if "quoted scalar" in context:
        return Fault(Message("a quote is opened and never closed"),
                     Message("put the closing quote"), start)
    if "cannot start any token" in problem:
        sign = lines[mark.line][mark.column:mark.column + 1] if mark.line < len(lines) else ""
        return Fault(Message("a value cannot begin with {sign}",
                             sign=sign or Message("this character")),
                     Message("put the value in quotes"), here)
    opened = next((word for part, word in _OPEN_TEXT.items() if part in context), None)
    since = (Message("{opened} that begins on line {line}", opened=opened, line=start.line)
             if opened and began else None)
    if "expected ',' or" in problem:
        return Fault(Message("not closed: {opened}",
                             opened=since or Message("a bracket or brace")),
                     Message("close it, and put a comma between the values in it"), here)
    if "expected ':'" in problem:
        return Fault(Message("a line without a colon, or a bracket that is not closed"),
                     Message("write word: value, with a space after the colon"), start)
    if "expected key" in problem or "'-' indicator" in problem:
        return Fault(Message("this line does not line up with {others}",
                             others=since or Message("those above")),
                     Message("lines that belong together begin in the same column; the points of "
                             "a list each begin with a hyphen and a space"), here)
    for part, message, remedy in _PLAIN:
        if part in problem or part in context:
            return Fault(message, remedy, here)
    return Fault(Message("here the file cannot be read as YAML"),
                 Message("look at the colons, quotes, brackets and indentation of this line and "
                         "the one before"), here)


def no_space_after_colon(word: str, rest: str, place: Place) -> Fault:
    """A word and its value that are read as one, with nothing between colon and value."""
    return Fault(Message("{word}: has no space after its colon", word=word),
                 Message("write {word}: {rest}", word=word, rest=rest), place)


def no_colon(word: str, rest: str, place: Place) -> Fault:
    """A word and its value that are read as one, with no colon between."""
    return Fault(Message("{word} has no colon", word=word),
                 Message("write {word}: {rest}", word=word, rest=rest), place)


def _slip(lines: list[str], first: int, last: int, in_brackets: bool, file: str) -> Fault | None:
    """A slip of the pen that can be seen in a line between ``first`` and ``last``, from 0.

    The parser stumbles where a line no longer makes sense, which is often the line after the slip.
    """
    near = range(max(0, last - 1), min(last + 1, len(lines)))
    for number in near:
        line = lines[number]
        indent = line[: len(line) - len(line.lstrip())]
        if "\t" in indent:
            return Fault(Message("a tab stands at the beginning of the line"),
                         Message("YAML is indented by spaces only: put two spaces for each step "
                                 "in"),
                         Place(file, number + 1, indent.index("\t") + 1))
        if "\u00a0" in line:
            return Fault(Message("a non-breaking space stands here"),
                         Message("put an ordinary space"),
                         Place(file, number + 1, line.index("\u00a0") + 1))
    for number in range(min(first, near.start), near.stop):
        found = _NO_SPACE.match(lines[number])
        if found and not (in_brackets and found[2].startswith(("{", "["))):
            return no_space_after_colon(found[1], found[2].strip(),
                                        Place(file, number + 1, found.start(1) + 1))
    for number in near:
        line = lines[number]
        found = _NO_SPACE_AFTER_HYPHEN.match(line)
        if found:
            return Fault(Message("no space after the hyphen"),
                         Message("write - {rest}", rest=found[1].strip()),
                         Place(file, number + 1, found.start(1)))
        found = _AFTER_QUOTE.match(line)
        if found:
            return Fault(Message("after the closing quote the line goes on: {rest}",
                                 rest=found[2].strip()[:30]),
                         Message("put the whole text in quotes, of the other sort where it holds "
                                 "some"), Place(file, number + 1, found.start(2) + 1))
        found = None if in_brackets else _NO_COLON.match(line)
        if found:
            return no_colon(found[1], found[2].strip(),
                            Place(file, number + 1, found.start(1) + 1))
    return None
