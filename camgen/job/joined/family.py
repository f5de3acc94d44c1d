"""Families of jobs: a job that stands on another and says only what is different.

``based-on: other.yaml``, counted from the folder of the file that says it, takes every word of that
job, which may stand on a third in turn. What the file itself says comes first:

* Groups of words are joined word by word, at every depth: ``wheel: {teeth: 80}`` leaves the
  wheel's other words as they were.
* A word with no value (``crossing: null``) takes the value away.
* A list takes the place of the whole list, unless its entries have names of their own: setups may
  be changed one by one if their names are written as words, ``setups: {teeth: …, blanks: null}``;
  a name that is new is added at the end. Steps are named so by their kind, the second of a kind as
  ``drill 2``.

Every word keeps the place in the file where it stands, whichever of the family that is.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import field
from pathlib import Path
from typing import Any

from camgen.faults import Fault, Refused, did_you_mean
from camgen.messages import Message
from camgen.plainfile import plain_bytes
from camgen.values import dataclass
from camgen.yamlfile import DataPath, Document, read_yaml

__all__ = ["BASED_ON", "family_files", "grafted", "whole_family"]

BASED_ON = "based-on"

# So many jobs one on the other are a mistake, or a trap.
_MOST = 20


def whole_family(
    document: Document, path: Path
) -> tuple[Document, tuple[Path, ...], list[Fault]]:
    """The job in ``document``, read from ``path``, with all it stands on; those files; and faults.

    Faults are values taken away that are not there, and entries changed that have no names; the
    rest can still be looked over. Raises Refused when it cannot: a file that is not there, jobs
    that stand on one another in a ring, other units.
    """
    chain = [(document, path)]
    while (parent := _parent(*chain[-1], [one for _, one in chain])) is not None:
        read = read_yaml(parent)
        if not isinstance(read.data, dict):
            raise Refused(Fault(Message("the file is no job, and another stands on it"),
                                Message("{other} says {based_on}: {name}", other=chain[-1][1],
                                        based_on=BASED_ON, name=parent.name), read.place()))
        chain.append((read, parent))
    whole, _ = chain[-1]
    faults: list[Fault] = []
    for below, _ in reversed(chain[:-1]):
        _one_unit(below, whole)
        whole, wrong = _joined(below, whole)
        faults += wrong
    return whole, tuple(one for _, one in chain[1:]), faults


def family_files(path: Path) -> tuple[Path, ...]:
    """The files that the job at ``path`` stands on, as far as they can be followed.

    The last may be one that is not there, or cannot be read. Raises nothing.
    """
    found: list[Path] = []
    here = path
    while len(found) < _MOST:
        try:
            # Most jobs stand alone; those need not be read as YAML to know it.
            if BASED_ON.encode() not in plain_bytes(here):
                break
            data = read_yaml(here).data
        except Refused:
            break
        said = data.get(BASED_ON) if isinstance(data, dict) else None
        if not isinstance(said, str) or not said:
            break
        here = _beside(here, said)
        found.append(here)
    return tuple(dict.fromkeys(found))


def _beside(path: Path, said: str) -> Path:
    return Path(os.path.normpath(path.parent / said))


def _parent(document: Document, path: Path, chain: list[Path]) -> Path | None:
    """The file a job stands on, None when on none. Raises Refused when it cannot."""
    if not isinstance(document.data, dict) or BASED_ON not in document.data:
        return None
    said, place = document.data[BASED_ON], document.place((BASED_ON,))
    if not isinstance(said, str) or not said.strip():
        raise Refused(Fault(Message("{based_on} names no file", based_on=BASED_ON),
                            Message("write the path of a job file, counted from this file's "
                                    "folder"),
                            place))
    parent = _beside(path, said)
    if not parent.is_file():
        raise Refused(Fault(Message("the job this one is based on is not there: {parent}",
                                    parent=parent),
                            did_you_mean(
                                parent.name, (one.name for one in parent.parent.glob("*.y*ml")),
                                Message("the path is counted from the folder of this file")),
                            place))
    known = [one.resolve() for one in chain]
    if parent.resolve() in known:
        ring = [*chain[known.index(parent.resolve()):], parent]
        raise Refused(Fault(Message("jobs are based on one another in a ring: {ring}",
                                    ring=" → ".join(str(one) for one in ring)),
                            Message("one of them must stand alone, without {based_on}",
                                    based_on=BASED_ON), place))
    if len(chain) > _MOST:
        raise Refused(Fault(Message("more than {most} jobs are based one on the other", most=_MOST),
                            Message("base this one on a job nearer to the first"), place))
    return parent


def _one_unit(below: Document, above: Document) -> None:
    """A family is written in one unit: a number must not change its meaning on the way."""
    units = above.data.get("units", "mm")
    if below.data.get("units", units) != units:
        raise Refused(Fault(Message("this job is in {units}, the job it is based on in {others}",
                                    units=below.data["units"], others=units),
                            Message("write it in {units} and leave units out", units=units),
                            below.place(("units",))))


@dataclass(frozen=True)
class _Places:
    """Where the words of a joined document stand, while it grows."""

    keys: dict[DataPath, tuple[int, int]] = field(default_factory=dict)
    values: dict[DataPath, tuple[int, int]] = field(default_factory=dict)
    spellings: dict[DataPath, str] = field(default_factory=dict)
    files: dict[DataPath, str] = field(default_factory=dict)

    def note(self, document: Document, old: DataPath, new: DataPath) -> None:
        """The word at ``new`` is the one at ``old`` in ``document``."""
        for mine, theirs in ((self.keys, document.keys), (self.values, document.values)):
            if old in theirs:
                mine[new] = theirs[old]
            else:
                mine.pop(new, None)
        if old in document.spellings:
            self.spellings[new] = document.spellings[old]
        else:
            self.spellings.pop(new, None)
        self.files[new] = document.file_of(old)

    def take(self, document: Document, old: DataPath, new: DataPath) -> Any:
        """All that stands at ``old`` in ``document``, its places noted below ``new``."""
        data = document.get(old)
        self.note(document, old, new)
        for part, _ in _inside(data):
            self.take(document, (*old, part), (*new, part))
        return data

    def document(self, file: str, data: Any) -> Document:
        return Document(file, data, self.keys, self.values, self.spellings, self.files)


def _inside(data: Any) -> Iterator[tuple[str | int, Any]]:
    if isinstance(data, dict):
        yield from data.items()
    elif isinstance(data, tuple):
        yield from enumerate(data)


def _joined(below: Document, above: Document) -> tuple[Document, list[Fault]]:
    """What ``below`` says, laid over ``above``, on which it stands."""
    joiner = _Joiner(below, above, _Places(), [])
    data = joiner.words((), (), ())
    return joiner.places.document(below.file, data), joiner.faults


@dataclass(frozen=True)
class _Joiner:
    """Joins two documents; ``at`` is a path in the job below, ``over`` in that above, ``new`` in
    what comes of them.
    """

    below: Document
    above: Document
    places: _Places
    faults: list[Fault]

    def words(self, at: DataPath, over: DataPath, new: DataPath) -> dict[str, Any]:
        """Two groups of words, joined word by word."""
        mine, theirs = self.below.get(at), self.above.get(over)
        self.places.note(self.below, at, new)
        joined: dict[str, Any] = {}
        for word in theirs:
            if word not in mine:
                joined[word] = self.places.take(self.above, (*over, word), (*new, word))
            elif mine[word] is not None:
                joined[word] = self.value((*at, word), (*over, word), (*new, word))
        for word, value in mine.items():
            if word in theirs:
                continue
            if value is None:
                self._nothing((*at, word), list(theirs))
                continue
            joined[word] = self.places.take(self.below, (*at, word), (*new, word))
        return joined

    def value(self, at: DataPath, over: DataPath, new: DataPath) -> Any:
        """What stands for two values of the same word."""
        mine, theirs = self.below.get(at), self.above.get(over)
        if isinstance(mine, dict) and isinstance(theirs, dict):
            return self.words(at, over, new)
        if isinstance(mine, dict) and isinstance(theirs, tuple):
            return self.entries(at, over, new)
        return self.places.take(self.below, at, new)

    def entries(self, at: DataPath, over: DataPath, new: DataPath) -> tuple[Any, ...]:
        """A list whose entries are changed by their names."""
        mine, theirs = self.below.get(at), self.above.get(over)
        names = _names(theirs)
        if names is None:
            self.faults.append(Fault(Message("the entries of {word} have no names by which to "
                                             "change them", word=at[-1]),
                                     Message("write the list anew, whole"), self.below.place(at)))
            return tuple(self.places.take(self.above, over, new))
        self.places.note(self.below, at, new)
        named = all("name" in entry for entry in theirs)
        joined: list[Any] = []
        for number, name in enumerate(names):
            way, old, to = (*at, name), (*over, number), (*new, len(joined))
            if name not in mine:
                joined.append(self.places.take(self.above, old, to))
            elif mine[name] is not None:
                joined.append(self._entry(way, old, to, named=named))
        for name in mine:
            if name not in names:
                self._added(at, name, names, joined, (*new, len(joined)), named=named)
        return tuple(joined)

    def _entry(self, at: DataPath, over: DataPath, new: DataPath, *, named: bool) -> Any:
        """One entry of a list: a setup has its words directly, a step beneath its kind."""
        if named:
            if not isinstance(self.below.get(at), dict):
                return self.places.take(self.below, at, new)
            return self.words(at, over, new)
        step = self.above.get(over)
        if not isinstance(step, dict):
            # A step written as its kind alone has no words to keep.
            self.places.note(self.below, at, new)
            return {step: self.places.take(self.below, at, (*new, step))}
        kind = next(iter(step))
        self.places.note(self.above, over, new)
        return {kind: self.value(at, (*over, kind), (*new, kind))}

    def _added(self, at: DataPath, name: str, names: list[str], joined: list[Any], new: DataPath,
               *, named: bool) -> None:
        """An entry with a name that the list has not."""
        way = (*at, name)
        value = self.below.get(way)
        if value is None:
            self._nothing(way, names)
        elif not named:
            self.faults.append(Fault(Message("the job it is based on has no step {name} here",
                                             name=name),
                                     did_you_mean(name, names, Message(
                                         "it has {names}. To add a step write the list anew, "
                                         "whole", names=tuple(names))),
                                     self.below.place(way, key=True)))
        else:
            taken = self.places.take(self.below, way, new)
            if isinstance(taken, dict):
                taken = {"name": name, **taken}
                self.places.note(self.below, way, (*new, "name"))
            joined.append(taken)

    def _nothing(self, at: DataPath, there: list[str]) -> None:
        self.faults.append(Fault(Message("{word} has no value, and the job it is based on has "
                                         "none to take away", word=at[-1]),
                                 did_you_mean(str(at[-1]), there,
                                              Message("give it a value, or leave it out")),
                                 self.below.place(at, key=True)))


def _names(entries: tuple[Any, ...]) -> list[str] | None:
    """The names by which entries of a list are changed; None when they have none."""
    if entries and all(isinstance(entry, dict) and isinstance(entry.get("name"), str)
                       for entry in entries):
        return [entry["name"] for entry in entries]
    kinds = [next(iter(entry)) if isinstance(entry, dict) and len(entry) == 1 else entry
             for entry in entries]
    if not kinds or not all(isinstance(kind, str) for kind in kinds):
        return None
    seen: Counter[str] = Counter()
    names = []
    for kind in kinds:
        seen[kind] += 1
        names.append(kind if seen[kind] == 1 else f"{kind} {seen[kind]}")
    return names


def grafted(document: Document, at: DataPath, other: Document, old: DataPath) -> Document:
    """``document`` with all that stands at ``old`` in ``other`` in place of the value at ``at``.

    The key at ``at`` keeps its own place. ``at`` must be there, and be reached by words only.
    """
    places = _Places()
    places.take(document, (), ())
    key, file = places.keys.get(at), places.files[at]
    places.take(other, old, at)
    # The word itself stands where it is written; what is beneath it, in the other file.
    places.files[at] = file
    places.values[at] = document.values[at]
    if key is not None:
        places.keys[at] = key
    else:
        places.keys.pop(at, None)
    return places.document(document.file, _with(document.data, at, other.get(old)))


def _with(data: Mapping[str, Any], at: DataPath, value: Any) -> dict[str, Any]:
    word = str(at[0])
    return {**data, word: value if len(at) == 1 else _with(data[word], at[1:], value)}
