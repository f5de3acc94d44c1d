"""Where in its file a word of the machine file stands that a refusal names.

What is refused in a job may hang on what the machine is. The fault has its place in the job file;
the word of the machine file gets its line as well, so that whoever reads it need not look for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel

from camgen.faults import Fault, Refused, parted
from camgen.messages import Message
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine

__all__ = ["with_lines"]

# So many words of one refusal are looked up.
_MOST = 6


def with_lines(
    faults: Sequence[Fault], name: str, workshop: Path | None = None
) -> tuple[Fault, ...]:
    """The faults, each with the lines of the words that it names of the machine file ``name``."""
    try:
        machine = find_machine(name, workshop)
    except Refused:
        # Its own faults have their places.
        return tuple(faults)
    return tuple(_with_lines(fault, machine) for fault in faults)


def _with_lines(fault: Fault, machine: Machine) -> Fault:
    file = machine.source.place(()).file
    if not file:
        return fault
    told = {fault.place.path} if fault.place.file == file else set()
    named = dict.fromkeys((*_named(f"{fault.message} {fault.remedy}"), *fault.hangs_on))
    where = [_where(machine, tuple(word.split("."))) for word in list(named)[:_MOST]
             if word not in told]
    if not where:
        return fault
    remedy = [fault.remedy] if fault.remedy else []
    return replace(fault, remedy=parted([*remedy, *where]))


def _where(machine: Machine, way: tuple[str, ...]) -> Message:
    place, word = machine.source.place(way), ".".join(way)
    if machine.source.says(way):
        return Message("{word} stands in {file}, line {line}", word=word, file=place.file,
                       line=place.line)
    if len(way) > 1 and machine.source.says(way[:1]):
        return Message("{word} does not stand in {file} yet: write it under {group}, line {line}",
                       word=word, file=place.file, group=way[0], line=place.line)
    return Message("{word} does not stand in {file} yet: write it there, line {line} or after",
                   word=word, file=place.file, line=place.line)


def _named(text: str) -> Iterator[str]:
    """The words of machine files in a text."""
    for match in _words().finditer(text):
        yield match[0]


@lru_cache(maxsize=1)
def _words() -> re.Pattern[str]:
    """Every word of a machine file that cannot be taken for one of a job's."""
    words = []
    for name, field in Machine.model_fields.items():
        group = name.replace("_", "-")
        inner = {word.replace("_", "-") for model in _models(field.annotation)
                 for word in model.model_fields}
        words += [f"{group}.{word}" for word in inner]
        if not inner and ("-" in group or group == "squareness"):
            words.append(group)
    longest = sorted(words, key=len, reverse=True)
    return re.compile(rf"(?<![\w.-])(?:{'|'.join(map(re.escape, longest))})(?![\w-])")


def _models(kind: Any) -> Iterator[type[BaseModel]]:
    """The models that a word may be of."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        yield kind
    for part in get_args(kind):
        yield from _models(part)
