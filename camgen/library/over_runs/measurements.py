"""With which measurements of its machine a job was made, and whether it was measured anew since."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from camgen.library.standing import CHANGED, Standing, machine_values
from camgen.messages import Message
from camgen.shop.machine import Machine

if TYPE_CHECKING:
    from camgen.library.record import Run

__all__ = ["made_with", "measured_since"]

_OF_AN_AXIS: Final = ("lash", "backlash", "scale", "errors", "errors-zero")


def _measured(values: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """The words of a machine's values that were measured, by path."""
    for axis in "xyz":
        said = values.get(axis) or {}
        for word in _OF_AN_AXIS:
            if word in said:
                yield f"{axis}.{word.removeprefix('back')}", said[word]
    if "squareness" in values:
        yield "squareness", values["squareness"]
    errors = (values.get("dividing") or {}).get("errors")
    if errors:
        yield "dividing.errors", errors
    run_out = (values.get("spindle") or {}).get("run-out")
    if run_out is not None:
        yield "spindle.run-out", run_out


def _shown(value: Any) -> str | Message:
    """A measured value in a few signs: of a table how many places it has."""
    if value is None:
        return Message("not measured")
    if isinstance(value, list | tuple):
        return Message("a table of {count} places", count=len(value))
    return f"{value:g}"


def made_with(run: Run) -> tuple[Message, ...]:
    """What was measured of the machine when a kept run was made, word by word.

    None where the record does not say, as older ones do not.
    """
    return tuple(Message("{word} {value}", word=word, value=_shown(value))
                 for word, value in _measured(run.as_run.get("machine") or {}))


def measured_since(state: Standing, run: Run | None, machine: Machine) -> Standing:
    """The standing, saying how the machine was measured anew since it was proven by ``run``.

    The machine file is named no more where nothing else in it has changed.
    """
    kept = run.as_run.get("machine") if run is not None else None
    if state.state != "changed" or not isinstance(kept, dict):
        return state
    now = machine_values(machine)
    before, after = dict(_measured(kept)), dict(_measured(_plain(now)))
    anew = [Message("{word} {now}, then {before}", word=word, now=_shown(after.get(word)),
                    before=_shown(before.get(word)))
            for word in dict.fromkeys((*before, *after)) if before.get(word) != after.get(word)]
    if not anew:
        return state
    told = Message("the machine was measured anew ({words})", words=tuple(anew))
    others = tuple(one for one in state.changed if one != CHANGED["machine"])
    if _without_measured(kept) != _without_measured(_plain(now)):
        others = state.changed
    return replace(state, changed=(*others, told))


def _plain(value: Any) -> Any:
    """Values as a record keeps them."""
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value


def _without_measured(values: Mapping[str, Any]) -> dict[str, Any]:
    """A machine's values less what was measured."""
    rest: dict[str, Any] = {}
    for word, value in values.items():
        if word == "squareness":
            continue
        if isinstance(value, dict):
            gone = (_OF_AN_AXIS if word in ("x", "y", "z") else
                    ("errors",) if word == "dividing" else
                    ("run-out",) if word == "spindle" else ())
            value = {one: said for one, said in value.items() if one not in gone}
            if not value:
                continue
        rest[word] = value
    return rest
