"""Findings gathered while reading, bounded however bad the text is."""

from __future__ import annotations

from camgen.reader.motion import Finding

__all__ = ["Notes"]


class Notes:
    """Gathers findings; of one sort the first few are kept and the rest counted."""

    MOST_OF_A_SORT = 20

    def __init__(self) -> None:
        self._found: list[Finding] = []
        self._count: dict[str, int] = {}
        self._next: dict[str, Finding] = {}

    def add(
        self, message: str, line: int, column: int = 0, *, grave: bool = False, sort: str = ""
    ) -> None:
        """Note a finding. ``sort`` groups messages that say the same of different places."""
        sort = sort or message
        count = self._count[sort] = self._count.get(sort, 0) + 1
        if count <= self.MOST_OF_A_SORT:
            self._found.append(Finding(message, line, column, grave))
        elif sort not in self._next:
            self._next[sort] = Finding(message, line, column, grave)

    def findings(self) -> tuple[Finding, ...]:
        """All findings in the order of their lines."""
        more = [
            Finding(
                f"{first.message} (and so in {self._count[sort] - self.MOST_OF_A_SORT} places "
                "from here on)", first.line, first.column, first.grave,
            )
            for sort, first in self._next.items()
        ]
        return tuple(sorted((*self._found, *more), key=lambda found: (found.line, found.column)))
