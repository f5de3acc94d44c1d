"""A file read: plain data, and where every word of it stood."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import Any

from camgen.faults import Fault, Place
from camgen.values import dataclass

__all__ = ["DataPath", "Document", "in_order", "path_words"]

DataPath = tuple[str | int, ...]


def path_words(path: DataPath) -> str:
    """The way through a file in its own words, counting lists from 0.

    >>> path_words(("setups", 0, "steps", 2, "cutter"))
    'setups[0].steps[2].cutter'
    """
    words = ""
    for part in path:
        if isinstance(part, int):
            words += f"[{part}]"
        else:
            words += f".{part}" if words else part
    return words


@dataclass(frozen=True)
class Document:
    """A file read: plain data, and where everything stood.

    ``data`` is made of dict, tuple (for lists), str, int, float, bool and None, and must not be
    changed. ``keys`` and ``values`` give line and column, both from 1, by path; ``spellings`` gives
    the bare words as they were written. ``files`` names the file of those paths that stand in
    another file than ``file``, where a document was joined from several.
    """

    file: str
    data: Any
    keys: Mapping[DataPath, tuple[int, int]]
    values: Mapping[DataPath, tuple[int, int]]
    spellings: Mapping[DataPath, str]
    files: Mapping[DataPath, str] = field(default_factory=dict)

    def place(self, path: DataPath = (), *, key: bool = False) -> Place:
        """Where the value at ``path`` stands, or with ``key`` its key.

        A value that begins on a line below its key is found at the key. A path that is not in the
        file gets the place of the nearest thing around it, with the full path in words: so a
        missing word is looked for where it should have been.

        >>> from camgen.yamlfile import load_yaml
        >>> document = load_yaml("wheel: {teeth: 75}", "a.yaml")
        >>> str(document.place(("wheel", "teeth")))
        'a.yaml, line 1, column 16, wheel.teeth'
        >>> str(document.place(("wheel", "module")))
        'a.yaml, line 1, column 1, wheel.module'
        """
        (line, column), found = self._position(path, key)
        return Place(self.file_of(found), line, column, path_words(path))

    def file_of(self, path: DataPath) -> str:
        """The file in which what is written at ``path`` stands."""
        return self.files.get(path, self.file)

    def get(self, path: DataPath) -> Any:
        """The data at ``path``, None where there is none."""
        data = self.data
        for part in path:
            if isinstance(part, int):
                if not isinstance(data, tuple) or not 0 <= part < len(data):
                    return None
                data = data[part]
            else:
                if not isinstance(data, dict) or part not in data:
                    return None
                data = data[part]
        return data

    def has(self, path: DataPath) -> bool:
        """True when something was written at ``path``, be it nothing but a key."""
        return path in self.values

    def _position(self, path: DataPath, key: bool) -> tuple[tuple[int, int], DataPath]:
        """Line and column, and the path of the word that stands there."""
        if path in self.keys and (key or self.values[path][0] > self.keys[path][0]):
            return self.keys[path], path
        if path in self.values:
            return self.values[path], path
        while path:
            path = path[:-1]
            if path in self.keys:
                return self.keys[path], path
            if path in self.values:
                return self.values[path], path
        return (1, 1), ()


def in_order(faults: Sequence[Fault]) -> list[Fault]:
    """Sorted by place, file by file, and each once."""
    return sorted(dict.fromkeys(faults), key=lambda fault: (
        fault.place.file, fault.place.line, fault.place.column))
