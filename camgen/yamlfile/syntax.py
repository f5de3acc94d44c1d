"""Text that is no YAML: the parser's complaint in plain words."""

from __future__ import annotations

import re

import yaml

from camgen.faults import Fault, Place

__all__ = ["syntax_fault"]

_NO_SPACE = re.compile(r"^\s*(?:- +)?([A-Za-z][\w-]*):([^\s:/].*)$")
_OPEN_TEXT = {"block mapping": "the group of words", "block collection": "the list",
              "flow sequence": "the bracket [", "flow mapping": "the brace {",
              "quoted scalar": "the quote"}


def syntax_fault(error: yaml.YAMLError, text: str, file: str) -> Fault:
    """The parser's complaint in plain words, at the line where the cause is most likely."""
    mark = getattr(error, "problem_mark", None)
    problem = str(getattr(error, "problem", None) or "")
    context = str(getattr(error, "context", None) or "")
    began = getattr(error, "context_mark", None)
    lines = text.split("\n")
    if mark is None:
        return Fault("the file cannot be read as YAML", "Save it anew as plain UTF-8 text.",
                     Place(file))
    line, column = mark.line + 1, mark.column + 1
    here = Place(file, line, column)
    first, last = (began.line if began else mark.line), mark.line
    opened = next((word for part, word in _OPEN_TEXT.items() if part in context), "")
    since = f" {opened} that begins on line {began.line + 1}" if opened and began else ""

    for number in range(max(0, last - 1), min(last + 1, len(lines))):
        indent = lines[number][: len(lines[number]) - len(lines[number].lstrip())]
        if "\t" in indent:
            return Fault("a tab stands at the beginning of the line",
                         "YAML is indented by spaces only: put two spaces for each step in.",
                         Place(file, number + 1, indent.index("\t") + 1))
        if "\u00a0" in lines[number]:
            return Fault("a non-breaking space stands here", "Put an ordinary space.",
                         Place(file, number + 1, lines[number].index("\u00a0") + 1))
    if "quoted scalar" in context:
        return Fault("a quote is opened and never closed", "Put the closing quote.",
                     Place(file, first + 1, (began.column + 1) if began else column))
    for number in range(first if began else max(0, last - 1), min(last + 1, len(lines))):
        glued = _NO_SPACE.match(lines[number])
        if (glued and not glued[2].startswith(("{", "["))) or (glued and "flow" not in context):
            return Fault(f"{glued[1]}: has no space after its colon",
                         f"Write {glued[1]}: {glued[2].strip()}",
                         Place(file, number + 1, lines[number].index(glued[1]) + 1))
    if "cannot start any token" in problem:
        sign = lines[mark.line][mark.column:mark.column + 1] if mark.line < len(lines) else ""
        return Fault(f"a value cannot begin with {sign or 'this character'}",
                     "Put the value in quotes.", here)
    if "mapping values are not allowed" in problem:
        return Fault("a colon that does not fit here",
                     "Either the line is indented too far, or the value holds a colon itself and "
                     "goes in quotes.", here)
    if "expected ',' or" in problem:
        return Fault(f"not closed:{since or ' a bracket or brace'}",
                     "Close it, and put a comma between the values in it.", here)
    if "expected ':'" in problem:
        return Fault("a line without a colon, or a bracket that is not closed",
                     "Write word: value, with a space after the colon.",
                     Place(file, first + 1, (began.column + 1) if began else column))
    if "expected key" in problem or "'-' indicator" in problem:
        return Fault(f"this line does not line up with{since or ' those above'}",
                     "Lines that belong together begin in the same column; the points of a list "
                     "each begin with a hyphen and a space.", here)
    if "expected <document start>" in problem:
        return Fault("the file goes on here after its end",
                     "Indent this line as the lines before it.", here)
    if "nesting" in problem or "depth" in problem or "level" in problem:
        return Fault("nested too deep", "Look for a bracket that is not closed.", here)
    if "anchor" in context or "alias" in context:
        return Fault("& or * without a name after it",
                     "A text that begins with & or * goes in quotes.", here)
    if "tag" in context or "tag" in problem:
        return Fault("tags are not allowed", "A text that begins with ! goes in quotes.", here)
    if "directive" in context or "directive" in problem or "YAML document" in problem:
        return Fault("a line beginning with % is not allowed", "Take it out.", here)
    return Fault("here the file cannot be read as YAML",
                 "Look at the colons, quotes, brackets and indentation of this line and the one "
                 "before.", here)
