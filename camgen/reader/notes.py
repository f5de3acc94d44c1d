"""Findings gathered while reading, bounded however bad the text is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from camgen.faults import parted
from camgen.messages import Message, counted
from camgen.reader.motion import Figure, Finding

__all__ = ["Notes", "Refusals", "places_words"]


class Notes:
    """Gathers findings; of one sort the first few are kept and the rest counted.

    Of words that are not known every place is wanted, so that more of them are kept.
    """

    MOST_OF_A_SORT = 20
    MOST_UNKNOWN = 2_000
    MOST = 20_000

    def __init__(self) -> None:
        self._found: list[Finding] = []
        self._count: dict[str, int] = {}
        self._next: dict[str, Finding] = {}
        self._most: dict[str, int] = {}
        self._unsure: dict[Figure, int] = {}

    def add(
        self,
        message: Message,
        line: int,
        column: int = 0,
        *,
        grave: bool = False,
        sort: str = "",
        unsure: tuple[Figure, ...] = (),
        unknown: bool = False,
        word: str = "",
    ) -> None:
        """Note a finding. ``sort`` groups messages that say the same of different places."""
        for figure in unsure:
            self._unsure.setdefault(figure, line)
        sort = sort or message
        if sort not in self._count and len(self._count) >= self.MOST:
            sort, message = "more", Message("and more of other sorts that is wrong")
        count = self._count[sort] = self._count.get(sort, 0) + 1
        most = self.MOST_UNKNOWN if unknown else self.MOST_OF_A_SORT
        if count <= most and len(self._found) < self.MOST:
            self._found.append(Finding(message, line, column, grave, unsure, word))
            self._most[sort] = count
        elif sort not in self._next:
            self._next[sort] = Finding(message, line, column, grave, unsure, word)

    @property
    def unsure(self) -> tuple[tuple[Figure, int], ...]:
        """What cannot be relied on, and the line from which on."""
        return tuple(self._unsure.items())

    def findings(self) -> tuple[Finding, ...]:
        """All findings in the order of their lines."""
        more = [
            Finding(
                Message("{what} (and so in {places} places from here on)", what=first.message,
                        places=self._count[sort] - self._most.get(sort, 0)),
                first.line, first.column, first.grave, first.unsure, first.word,
            )
            for sort, first in self._next.items()
        ]
        return tuple(sorted((*self._found, *more), key=lambda found: (found.line, found.column)))


class Refusals:
    """Gathers what cannot be known from the text, by what is said of it, with every place."""

    MOST_PLACES = 100_000
    MOST_SORTS = 200

    def __init__(self) -> None:
        self._places: dict[Message, list[tuple[int, int]]] = {}
        self._count = 0

    def __bool__(self) -> bool:
        return bool(self._places)

    def add(self, message: Message, line: int, column: int = 0) -> None:
        """Note a place; beyond all bounds it is only counted."""
        self._count += 1
        if self._count > self.MOST_PLACES or (
            message not in self._places and len(self._places) >= self.MOST_SORTS
        ):
            return
        self._places.setdefault(message, []).append((line, column))

    def __iter__(self) -> Iterator[tuple[Message, list[tuple[int, int]]]]:
        """Each message with its places (line, column)."""
        return iter(self._places.items())


def places_words(places: Sequence[tuple[int, int]], most: int = 12) -> Message:
    """Places (line, column) in words: the first ``most`` with columns, of the others the lines.

    >>> places_words([(4, 1), (6, 0)])
    'line 4, column 1; line 6'
    >>> places_words([(4, 1), (6, 3), (7, 1), (8, 1), (11, 2)], most=1)
    'line 4, column 1; lines 6–8, 11'
    """
    parts = [Message("line {line}, column {column}", line=line, column=column) if column
             else Message("line {line}", line=line) for line, column in places[:most]]
    more = sorted({line for line, _ in places[most:]})
    runs: list[list[int]] = []
    for line in more:
        if runs and line == runs[-1][1] + 1:
            runs[-1][1] = line
        else:
            runs.append([line, line])
    if runs:
        lines = tuple(f"{first}–{last}" if last > first else f"{first}" for first, last in runs)
        parts.append(counted("line {lines}", "lines {lines}", len(more), lines=lines))
    return parted(parts)
