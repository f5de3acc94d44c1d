"""Files that hold subprograms: those given on the command line, and those beside a program."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from camgen.faults import Fault, Place, Refused
from camgen.messages import Message
from camgen.plainfile import plain_bytes
from camgen.reader.program import Beside

__all__ = ["beside", "subprogram"]

_MOST_FILES: Final = 1000
_HEAD: Final = 4096
_NUMBER: Final = re.compile(rb"^[ \t]*(?:N[ \t]*\d+[ \t]*)?[O:][ \t]*(\d{1,9})\b",
                            re.IGNORECASE | re.MULTILINE)


def subprogram(path: Path) -> tuple[int, bytes]:
    """Number and text of a subprogram's file: its first O word, else the figures of its name."""
    text = plain_bytes(path)
    said = _NUMBER.search(text[:_HEAD])
    figures = said[1].decode() if said else "".join(re.findall(r"\d", path.stem))[:8]
    if not figures:
        raise Refused(Fault(
            Message("which subprogram this file holds is not said"),
            Message("let it begin with its number, such as O9001"), Place(str(path)),
        ))
    return int(figures), text


def beside(program: Path) -> Beside:
    """Finds the file in the program's folder that holds a subprogram.

    A file is taken by the number its text begins with, else by a name that is a number and no
    more; of several the one with the program's own ending, then the first by name.
    """
    known: dict[int, Path] | None = None

    def find(number: int) -> tuple[str, bytes] | None:
        nonlocal known
        if known is None:
            known = _numbers_in(program)
        path = known.get(number)
        return None if path is None else (path.name, plain_bytes(path))

    return find


def _numbers_in(program: Path) -> dict[int, Path]:
    """The files beside ``program`` by the number of the subprogram that each holds."""
    try:
        entries = sorted(program.parent.iterdir(), key=lambda path: (
            path.suffix.lower() != program.suffix.lower(), path.name))
        files = [path for path in entries[:_MOST_FILES]
                 if path.name != program.name and path.is_file()]
    except OSError:
        return {}
    found: dict[int, Path] = {}
    for path in files:
        named = re.fullmatch(r"[A-Za-z]?(\d{1,9})", path.stem)
        if path.suffix.lower() != program.suffix.lower() and named is None:
            continue
        try:
            head = plain_bytes(path, most=_HEAD)
        except Refused:
            continue
        if b"\0" in head:
            continue
        said = _NUMBER.search(head)
        if said is not None:
            found.setdefault(int(said[1]), path)
        elif named is not None:
            found.setdefault(int(named[1]), path)
    return found
