"""Faults: what is wrong, where, and what to do about it.

Every room answers bad input by raising :class:`Refused` with *all* the faults it found, never the
first alone. The command line prints them and exits with status 1.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from camgen.messages import NOTHING, Message
from camgen.signs import in_one_line
from camgen.values import dataclass

__all__ = ["NOWHERE", "Fault", "Place", "Refused", "all_of", "did_you_mean", "either", "nearest",
           "no_less", "no_more", "parted"]


@dataclass(frozen=True, slots=True)
class Place:
    """Where in a user's file a fault stands.

    ``line`` and ``column`` count from 1 and are 0 where not known. ``path`` is the way through the
    file in its own words, such as ``setups[0].steps[2].cutter``, and ``way`` the same as one would
    tell it, where that is another: setup blanks, step 3 (bore), cutter.
    """

    file: str = ""
    line: int = 0
    column: int = 0
    path: str = ""
    way: tuple[str, ...] = ()

    def __str__(self) -> str:
        """The place by its path, as a program would find it."""
        return replace(self, way=()).said(str)

    def said(self, say: Callable[[str], str]) -> str:
        """The place as ``say`` says messages in some language."""
        parts = [in_one_line(self.file)] if self.file else []
        if self.line:
            parts.append(say(Message("line {line}, column {column}", line=self.line,
                                     column=self.column) if self.column
                             else Message("line {line}", line=self.line)))
        if self.way:
            parts += [in_one_line(say(one)) for one in self.way]
        elif self.path:
            parts.append(in_one_line(self.path))
        return ", ".join(parts)


NOWHERE = Place()


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: ``message`` says what, ``remedy`` what to do, in any language.

    ``hangs_on`` are words of the machine file that it hangs on, where no sentence names them.
    """

    message: Message
    remedy: Message = NOTHING
    place: Place = NOWHERE
    hangs_on: tuple[str, ...] = ()

    def __str__(self) -> str:
        return replace(self, place=replace(self.place, way=())).said(str)

    def said(self, say: Callable[[str], str]) -> str:
        """Where, what and what to do, as ``say`` says messages in some language."""
        where, message = self.place.said(say), say(self.message)
        text = f"{where}: {message}" if where else message
        return f"{text}\n    {say(self.remedy)}" if self.remedy else text


class Refused(Exception):
    """Input that cannot be worked with; carries every fault found.

    >>> try:
    ...     raise Refused(Fault(Message("bore {bore} mm is larger than the hub", bore=3)))
    ... except Refused as no:
    ...     print(no)
    bore 3 mm is larger than the hub
    """

    def __init__(self, faults: Sequence[Fault] | Fault) -> None:
        self.faults: tuple[Fault, ...] = (
            (faults,) if isinstance(faults, Fault) else tuple(faults)
        )
        super().__init__("\n".join(str(fault) for fault in self.faults))


def nearest(word: str, allowed: Iterable[str]) -> str:
    """The allowed word most like ``word``, or an empty string when none is near.

    A German or French word of the trade is answered by the English one that it stands for.

    >>> nearest("modul", ["module", "teeth", "mate"])
    'module'
    >>> nearest("xyz", ["module"])
    ''
    >>> nearest("Messing", ["brass", "module"])
    'brass'
    """
    import difflib  # only wanted when something is wrong

    known = list(allowed)
    meant = _trade_names().get("-".join(word.lower().split()))
    if meant in known:
        return meant
    near = difflib.get_close_matches(word.lower(), known, n=1, cutoff=0.6)
    return near[0] if near else ""


@lru_cache(maxsize=1)
def _trade_names() -> Mapping[str, str]:
    """The English word of job files for each name that other languages have for it."""
    import yaml  # only wanted when something is wrong

    file = Path(__file__).parent / "words" / "trade_names.yaml"
    table: dict[str, list[str]] = yaml.safe_load(file.read_text(encoding="utf-8"))
    return {name: english for english, names in table.items() for name in names}


def did_you_mean(word: str, allowed: Iterable[str], otherwise: Message = NOTHING) -> Message:
    """A remedy for a word that is not known: the one most like it, ``otherwise`` when none is near.

    >>> did_you_mean("modul", ["module", "teeth"])
    'did you mean module?'
    """
    near = nearest(word, allowed)
    return Message("did you mean {near}?", near=near) if near else otherwise


def either(words: Iterable[str]) -> Message:
    """At least one word, and where there are several, "or" before the last.

    >>> either(["hss"]), either(["hss", "carbide", "diamond"])
    ('hss', 'hss, carbide or diamond')
    """
    *most, last = words
    if not most:
        return Message("{last}", last=last)
    return Message("{most} or {last}", most=tuple(most), last=last)


def all_of(words: Iterable[str]) -> Message:
    """At least one word, and where there are several, "and" before the last.

    >>> all_of(["drill"]), all_of(["drill", "tap", "reamer"])
    ('drill', 'drill, tap and reamer')
    """
    *most, last = words
    if not most:
        return Message("{last}", last=last)
    return Message("{most} and {last}", most=tuple(most), last=last)


def parted(things: Iterable[Message]) -> Message:
    """At least one thing, and where there are several, semicolons between.

    >>> parted([Message("a longer reach"), Message("less depth")])
    'a longer reach; less depth'
    """
    said, *more = things
    for one in more:
        said = Message("{first}; {further}", first=said, further=one)
    return said


def no_less(size: float, step: float = 0.001) -> str:
    """The least multiple of ``step`` that is no smaller than ``size``, of one unit, as it is typed.

    A remedy that names a figure names one that is accepted: rounded to the side that is allowed.

    >>> no_less(0.80004), no_less(0.8), no_less(2.041, 0.1)
    ('0.801', '0.8', '2.1')
    """
    return f"{round(math.ceil(size / step - 1e-5) * step, 6):.9g}"


def no_more(size: float, step: float = 0.001) -> str:
    """The greatest multiple of ``step`` that is no larger than ``size``, in its unit, as typed.

    >>> no_more(0.79996), no_more(0.8), no_more(2.09, 0.1)
    ('0.799', '0.8', '2')
    """
    return f"{round(math.floor(size / step + 1e-5) * step, 6):.9g}"
