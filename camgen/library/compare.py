"""What is different between two jobs as meant, in words of the trade."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from camgen.messages import NOTHING, Message
from camgen.values import dataclass

__all__ = ["Change", "changes", "changes_in_words"]

# How a growing or shrinking number is said, by the last part of its name.
_MORE, _LESS, _FEWER = Message("more"), Message("less"), Message("fewer")
_SAID: tuple[tuple[tuple[str, ...], Message, Message], ...] = (
    (("depth", "depth-correction", "seat", "cut-into"), Message("deeper"), Message("shallower")),
    (("thickness", "arm", "arm-at-hub", "rim"), Message("thicker"), Message("thinner")),
    (("diameter", "bore", "hub", "disc", "blank", "corner", "corner-radius", "pitch"),
     Message("larger"), Message("smaller")),
    (("reach", "flute-length", "length"), Message("longer"), Message("shorter")),
    (("height", "safe-height", "clearance", "backing", "front-backing"), _MORE, _LESS),
)
# Words whose numbers are places, and not sizes in a row.
_PLACED = ("at", "to", "centre", "polygon", "slot")
_BY_SHARE = ("feed", "speed", "plunge-feed")
_COUNTED = ("passes", "spring-passes", "teeth", "leaves", "stack", "arms", "trial-spaces", "flutes",
            "tabs", "columns", "rows", "quantity")


@dataclass(frozen=True, slots=True)
class Change:
    """One value that differs. ``before`` or ``after`` is None where it was or is not there.

    ``where`` and ``what`` are words of the job file, or messages that name a step.
    """

    where: str
    what: str
    before: Any
    after: Any


def changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[Change, ...]:
    """All values that differ between two jobs as meant (see ``fingerprint.as_meant``).

    Setups and features are matched by their names, steps by kind and order.
    """
    return tuple(_of_mappings("", _listed(before), _listed(after)))


def _listed(value: Any) -> Any:
    """The same with lists for tuples: files and models do not agree on which they give."""
    if isinstance(value, Mapping):
        return {key: _listed(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_listed(item) for item in value]
    return value


def _of_mappings(
    where: str, before: Mapping[str, Any], after: Mapping[str, Any]
) -> Iterator[Change]:
    for word in [*before, *(word for word in after if word not in before)]:
        yield from _of_values(where, word, before.get(word), after.get(word))


def _of_values(where: str, what: str, before: Any, after: Any) -> Iterator[Change]:
    if before == after:
        return
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        yield from _of_mappings(_within(where, what), before, after)
    elif _named(before) and _named(after):
        yield from _of_mappings(
            where if what == "setups" else _within(where, what),
            {item["name"]: item for item in before},
            {item["name"]: item for item in after},
        )
    elif what == "steps" and isinstance(before, list) and isinstance(after, list):
        yield from _of_steps(where, before, after)
    else:
        yield Change(where, what, before, after)


def _of_steps(
    where: str, before: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]]
) -> Iterator[Change]:
    """Steps are one-word mappings; those of one kind in the same order are the same step."""
    kinds_before = [next(iter(step)) for step in before]
    kinds_after = [next(iter(step)) for step in after]
    matcher = difflib.SequenceMatcher(None, kinds_before, kinds_after, autojunk=False)
    for tag, a_from, a_to, b_from, b_to in matcher.get_opcodes():
        if tag == "equal":
            for offset in range(a_to - a_from):
                number, kind = b_from + offset, kinds_after[b_from + offset]
                yield from _of_mappings(
                    _within(where, _step(number, kind)),
                    before[a_from + offset][kind], after[number][kind],
                )
        else:
            for number in range(a_from, a_to):
                yield Change(where, _step(number, kinds_before[number]),
                             before[number][kinds_before[number]], None)
            for number in range(b_from, b_to):
                yield Change(where, _step(number, kinds_after[number]),
                             None, after[number][kinds_after[number]])


def _step(number: int, kind: str) -> Message:
    return Message("step {number} {kind}", number=number + 1, kind=kind)


def _within(where: str, what: str) -> str:
    return Message("{where}, {what}", where=where, what=what) if where else what


def _named(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(
        isinstance(item, Mapping) and "name" in item for item in value
    )


def changes_in_words(change: Change) -> Message:
    """One line on a change.

    >>> changes_in_words(Change("teeth, step 1 cut-teeth", "passes", 3, 2))
    'teeth, step 1 cut-teeth: passes 2, was 3: 1 fewer'
    >>> changes_in_words(Change("teeth, step 1 cut-teeth", "feed", 50, 56))
    'teeth, step 1 cut-teeth: feed 56, was 50: 12 % more'
    >>> changes_in_words(Change("wheel", "thickness", 0.25, 0.3))
    'wheel: thickness 0.3, was 0.25: 0.05 thicker'
    >>> changes_in_words(Change("pillar", "at", [[0, 0], [5, 0]], [[0, 0], [5, 0.02]]))
    'pillar: at [[0, 0], [5, 0.02]], was [[0, 0], [5, 0]]: 1 of 2 moved, farthest 0.02'
    >>> changes_in_words(Change("blanks", "step 2 drill", {"cutter": "drill"}, None))
    'blanks: step 2 drill is gone'
    """
    what = (Message("{where}: {what}", where=change.where, what=change.what)
            if change.where else change.what)
    before, after = _text(change.before), _text(change.after)
    if change.after is None:
        return Message("{what} is gone", what=what) if isinstance(change.before, Mapping) else (
            Message("{what} no longer given, was {before}", what=what, before=before))
    if change.before is None:
        return Message("{what} is new", what=what) if isinstance(change.after, Mapping) else (
            Message("{what} {after}, was not given", what=what, after=after))
    line = Message("{what} {after}, was {before}", what=what, after=after, before=before)
    size = _size(change)
    return Message("{line}: {by}", line=line, by=size) if size else line


def _size(change: Change) -> Message:
    """By how much a number changed, in the words that fit it."""
    before, after = change.before, change.after
    if not (_number(before) and _number(after)):
        return _moved(before, after) if change.what in _PLACED else NOTHING
    by = after - before
    if change.what in _BY_SHARE and before:
        return Message("{by:.3g} % {how}", by=abs(by) / before * 100,
                       how=_MORE if by > 0 else _LESS)
    if change.what in _COUNTED:
        return _by(f"{abs(by):g}", _MORE if by > 0 else _FEWER)
    for words, growing, shrinking in _SAID:
        if change.what in words:
            return _by(_text(abs(by)), growing if by > 0 else shrinking)
    return NOTHING


def _by(figure: str, how: Message) -> Message:
    return Message("{by} {how}", by=figure, how=how)


def _moved(before: Any, after: Any) -> Message:
    """How far a place given by two numbers moved, or which of several places did."""
    if _place(before) and _place(after):
        return Message("moved {by}", by=_text(math.dist(before, after)))
    if not (_places(before) and _places(after)):
        return NOTHING
    if len(before) != len(after):
        by = len(after) - len(before)
        return _by(str(abs(by)), _MORE if by > 0 else _FEWER)
    ways = [math.dist(a, b) for a, b in zip(before, after, strict=True) if a != b]
    return Message("{moved} of {count} moved, farthest {by}", moved=len(ways), count=len(after),
                   by=_text(max(ways)))


def _place(value: Any) -> bool:
    return isinstance(value, list) and len(value) == 2 and all(_number(one) for one in value)


def _places(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(_place(one) for one in value)


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _text(value: Any) -> str:
    if _number(value):
        return f"{value:.6g}"
    if isinstance(value, list):
        return "[" + ", ".join(_text(item) for item in value) + "]"
    return str(value)
