"""Words of a machine file for which proofs fail, found by trying: with its usual value it is made.

A failing proof says what the program would do, and not which word of the machine file made it so.
Figures of more places are tried first. Where the same job is proved once words have their usual
values, those words are the cause: all of them are tried, or those of one group, and halves of these
in turn until one word is left, or no half alone is enough.
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final

from pydantic import BaseModel

from camgen.faults import Fault
from camgen.messages import Message
from camgen.proof.result import Proof
from camgen.shop.machine import Machine
from camgen.shop.machine.agreement import contradictions
from camgen.values import dataclass

__all__ = ["machine_word_faults"]

# Nobody waits longer for a cause; what is left by then is named together.
PATIENCE_SECONDS: Final = 60.0
MOST_PLACES: Final = 6
# Own blocks are looked at line by line elsewhere; the rest only names the file.
_NOT_LOOKED_AT: Final = frozenset({"name", "describes", "insert"})

# What the machine can, nobody changes by writing another figure: it is never named as a cause.
_TRUE_OF_IT: Final = frozenset({
    "travel", "rapid", "feed_limit", "acceleration", "lowest", "highest", "power", "senses",
    "steps"})
# How many more places are tried where figures may be too coarse for the work.
_FINER: Final = {"decimals": 1, "feed_decimals": 2, "rotary_decimals": 1}


@dataclass(frozen=True, slots=True)
class _Unusual:
    """A word of the machine file that has not its usual value."""

    group: str
    name: str
    said: Any
    usual: Any

    @property
    def path(self) -> str:
        """The word as the file has it."""
        return ".".join(self.way)

    @property
    def way(self) -> tuple[str, ...]:
        """The way to the word through the file."""
        return tuple(part.replace("_", "-") for part in (self.group, self.name) if part)


def machine_word_faults(
    machine: Machine, failed: Sequence[Proof], holds: Callable[[Machine], bool]
) -> tuple[Fault, ...]:
    """The words of ``machine`` for which ``failed`` do not hold; empty where it is none of them.

    ``holds`` says whether the same work is proved on another machine.
    """
    if not failed:
        return ()
    until = time.monotonic() + PATIENCE_SECONDS
    every = tuple(_unusual(machine))
    finer = tuple((one,) for one in _finer(machine))
    alone = (tuple(words) for _, words in itertools.groupby(every, lambda one: one.group))
    # Figures of more places first, then all at once, then group by group.
    words = next((words for words in (*finer, every, *alone) if words and time.monotonic() < until
                  and _would_hold(machine, words, holds)), ())
    if not words:
        return ()
    while len(words) > 1 and time.monotonic() < until:
        middle = len(words) // 2
        half = next((half for half in (words[:middle], words[middle:])
                     if _would_hold(machine, half, holds)), None)
        if half is None:
            break
        words = half
    words = _needed(machine, words, holds, until)
    said = tuple(f"{one.path}: {_shown(one.said)}" for one in words)
    usual = tuple(f"{one.path}: {_shown(one.usual)}" for one in words)
    return (Fault(
        Message("with {words} in machine file {machine} this cannot be proved: {proofs}",
                words=said, machine=machine.name,
                proofs=tuple(dict.fromkeys(proof.name for proof in failed))),
        Message("with {usual} it is: write what the machine really has, and look whether it can do "
                "this work", usual=usual), machine.source.place(words[0].way)),)


def _needed(
    machine: Machine, words: tuple[_Unusual, ...], holds: Callable[[Machine], bool], until: float
) -> tuple[_Unusual, ...]:
    """Of several words that are the cause together those without which it is not."""
    for one in words:
        rest = tuple(other for other in words if other is not one)
        if rest and time.monotonic() < until and _would_hold(machine, rest, holds):
            words = rest
    return words


def _unusual(machine: Machine) -> Iterator[_Unusual]:
    """Every word that differs from its default, in the order of the file's words."""
    for group, field in type(machine).model_fields.items():
        said = getattr(machine, group)
        if group in _NOT_LOOKED_AT:
            continue
        if not isinstance(said, BaseModel):
            if said != field.default:
                yield _Unusual("", group, said, field.default)
            continue
        for name, inner in type(said).model_fields.items():
            value = getattr(said, name)
            if not inner.is_required() and value != inner.default and name not in (
                    "kind", *_TRUE_OF_IT):
                yield _Unusual(group, name, value, inner.default)


def _finer(machine: Machine) -> Iterator[_Unusual]:
    """Figures with more places than the file has."""
    for name, more in _FINER.items():
        said = getattr(machine.numbers, name)
        if said + more <= MOST_PLACES:
            yield _Unusual("numbers", name, said, said + more)


def _would_hold(
    machine: Machine, words: Sequence[_Unusual], holds: Callable[[Machine], bool]
) -> bool:
    """Whether it is proved with the usual values of ``words``."""
    update: dict[str, Any] = {}
    for one in words:
        if not one.group:
            update[one.name] = one.usual
            continue
        group = update.get(one.group, getattr(machine, one.group))
        update[one.group] = group.model_copy(update={one.name: one.usual})
    other = machine.model_copy(update=update)
    return next(contradictions(other), None) is None and holds(other)


def _shown(value: Any) -> str:
    """A value as a file would have it."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, tuple):
        return f"[{', '.join(map(_shown, value))}]"
    if isinstance(value, BaseModel):
        inner = ", ".join(f"{name.replace('_', '-')}: {_shown(getattr(value, name))}"
                          for name in type(value).model_fields)
        return f"{{{inner}}}"
    return f"{value:g}" if isinstance(value, float) else str(value)
