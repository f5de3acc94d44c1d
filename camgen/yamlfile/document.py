"""A file read: plain data, and where every word of it stood."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import field, replace
from typing import Any, TypeVar

from camgen.faults import Fault, Place
from camgen.messages import Message
from camgen.values import dataclass

__all__ = ["DataPath", "Document", "in_order", "path_words", "way_words"]

DataPath = tuple[str | int, ...]


_Held = TypeVar("_Held")


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


def way_words(path: DataPath, data: Any) -> tuple[str, ...]:
    """The same as one would tell it, where setups and steps are on the way; else nothing.

    A setup is told by its name, a step by its number, from 1, and its kind.

    >>> job = {"setups": ({"name": "blanks", "steps": ({"bore": {}},)},)}
    >>> way_words(("setups", 0, "steps", 0, "bore", "cutter"), job)
    ('setup blanks', 'step 1 (bore)', 'cutter')
    >>> way_words(("wheel", "teeth"), job)
    ()
    """
    if len(path) < 2 or path[0] != "setups" or not isinstance(path[1], int):
        return ()
    setup = _held(data, path[:2])
    name = setup.get("name") if isinstance(setup, dict) else None
    told: list[str] = [Message("setup {name}", name=name if isinstance(name, str)
                               else path[1] + 1)]
    rest = path[2:]
    if len(rest) > 1 and rest[0] == "steps" and isinstance(rest[1], int):
        step = _held(data, path[:4])
        kind = next(iter(step)) if isinstance(step, dict) and len(step) == 1 else step
        told.append(Message("step {number} ({kind})", number=rest[1] + 1, kind=kind)
                    if isinstance(kind, str) else Message("step {number}", number=rest[1] + 1))
        rest = rest[3:] if rest[2:3] == (kind,) else rest[2:]
    return (*told, path_words(rest)) if rest else tuple(told)


def _held(data: Any, path: DataPath) -> Any:
    """What is at a path, None where there is nothing."""
    for part in path:
        if isinstance(part, int):
            if not isinstance(data, tuple) or not 0 <= part < len(data):
                return None
        elif not isinstance(data, dict) or part not in data:
            return None
        data = data[part]
    return data


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
        return Place(self.file_of(found), line, column, path_words(path),
                     way_words(path, self.data))

    def file_of(self, path: DataPath) -> str:
        """The file in which what is written at ``path`` stands."""
        return self.files.get(path, self.file)

    def get(self, path: DataPath) -> Any:
        """The data at ``path``, None where there is none."""
        return _held(self.data, path)

    def renamed(self, words: Mapping[DataPath, str]) -> Document:
        """The same document with other words at some paths, each where the old one stood."""
        def path_of(path: DataPath) -> DataPath:
            return tuple(words.get(path[:n + 1], part) for n, part in enumerate(path))

        def value_of(value: Any, at: DataPath) -> Any:
            if isinstance(value, dict):
                return {words.get((*at, word), word): value_of(held, (*at, word))
                        for word, held in value.items()}
            if isinstance(value, tuple):
                return tuple(value_of(held, (*at, n)) for n, held in enumerate(value))
            return value

        return Document(
            self.file, value_of(self.data, ()),
            {path_of(path): place for path, place in self.keys.items()},
            {path_of(path): place for path, place in self.values.items()},
            {path_of(path): spelt for path, spelt in self.spellings.items()},
            {path_of(path): file for path, file in self.files.items()})

    def standing_also(self, stand: Mapping[DataPath, DataPath]) -> Document:
        """The same document; what would stand at these paths stands where the others do.

        Data are left as they are: only faults about something that was written out of another word
        are told where that stands.
        """
        new: dict[DataPath, list[DataPath]] = {}
        for path, written in stand.items():
            if path != written and path not in self.values:
                new.setdefault(written, []).append(path)
        if not new:
            return self
        longest = max(len(written) for written in new)

        def also(held: Mapping[DataPath, _Held]) -> dict[DataPath, _Held]:
            found = dict(held)
            for path, value in held.items():
                for n in range(1, min(longest, len(path)) + 1):
                    for other in new.get(path[:n], ()):
                        found[(*other, *path[n:])] = value
            return found

        files = also({path: self.file_of(path) for path in self.values}) if self.files else {}
        return replace(self, keys=also(self.keys), values=also(self.values), files=files)

    def without(self, paths: Collection[DataPath]) -> Document:
        """The same document without what stands at some paths, whose places are kept."""
        def value_of(value: Any, at: DataPath) -> Any:
            if isinstance(value, dict):
                return {word: value_of(held, (*at, word)) for word, held in value.items()
                        if (*at, word) not in paths}
            if isinstance(value, tuple):
                return tuple(value_of(held, (*at, n)) for n, held in enumerate(value))
            return value

        return replace(self, data=value_of(self.data, ()))

    def with_value(self, path: DataPath, value: Any) -> Document:
        """The same document with another value at a path that leads through words alone."""
        def put(held: Any, way: DataPath) -> Any:
            return {**held, way[0]: put(held[way[0]], way[1:])} if way else value

        return replace(self, data=put(self.data, path))

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
