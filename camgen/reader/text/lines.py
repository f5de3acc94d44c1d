"""The lines of a text, whatever ends them and in whatever letters it is written."""

from __future__ import annotations

from camgen.messages import Message
from camgen.reader.notes import Notes

__all__ = ["between_marks", "lines_of"]


def lines_of(text: str | bytes, notes: Notes) -> list[str]:
    """The text's lines, whatever ends them."""
    text = text if isinstance(text, str) else _decoded(text)
    if text.startswith("\ufeff"):
        notes.add(Message("the file begins with a mark that some controls do not read"), 1, 1)
        text = text[1:]
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    if lines and not lines[-1]:
        lines.pop()
    return lines


def _decoded(text: bytes) -> str:
    try:
        return text.decode("utf-8")
    except UnicodeDecodeError:
        return text.decode("latin-1")


def between_marks(lines: list[str]) -> list[str]:
    """The lines between the % marks of a file; the one at its start becomes an empty line."""
    begun = False
    for at, line in enumerate(lines):
        if line.lstrip().startswith("%"):
            if begun:
                return lines[:at]
            lines[at] = ""
        begun = begun or bool(line.strip())
    return lines
