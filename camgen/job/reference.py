"""The words of a job file, set out for reading: from the same models that check it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from camgen.values import dataclass

__all__ = ["WordEntry", "word_entries"]

# A bound as large as this only keeps slips out, and is not worth telling.
BOUNDLESS = 10000


@dataclass(frozen=True, slots=True)
class WordEntry:
    """One word: where it stands in the file, what is written behind it, and what it is for.

    ``path`` are the words it stands beneath and itself, with ``NAME`` for names of the user's own.
    ``value`` says what may be written, ``default`` what holds without it ("" where it is needed or
    nothing holds), ``needed`` whether it must be written.
    """

    path: tuple[str, ...]
    value: str
    default: str
    needed: bool
    says: str


def word_entries(schema: Mapping[str, Any]) -> tuple[WordEntry, ...]:
    """Every word of a job file in the order of the models, from its JSON Schema.

    A group of words that may stand in several places is set out where it comes first.
    """
    root = schema.get("else", schema)
    return tuple(_entries(root, schema["$defs"], (), set()))


def _entries(
    group: Mapping[str, Any], models: Mapping[str, Any], path: tuple[str, ...], seen: set[str]
) -> Iterator[WordEntry]:
    needed = group.get("required", [])
    for word, about in group.get("properties", {}).items():
        way = (*path, word)
        says = about.get("description", "")
        below = list(_models_below(about))
        if not says and below:
            says = models[below[0][0]].get("description", "")
        default = about.get("default")
        yield WordEntry(way, _value(about, models), "" if default in (None, {}, []) else
                        _plain(default), word in needed, says)
        for name, named in below:
            if name in seen:
                continue
            # Kinds of step are each set out, whatever they share.
            yield from _entries(models[name], models, (*way, "NAME") if named else way,
                                seen | {name} if name == "Step" else _added(seen, name))


def _added(seen: set[str], name: str) -> set[str]:
    seen.add(name)
    return seen


def _models_below(about: Mapping[str, Any], named: bool = False) -> Iterator[tuple[str, bool]]:
    """Models that a word may hold, and whether they stand beneath names of the user's own."""
    if "$ref" in about:
        yield about["$ref"].rsplit("/", 1)[-1], named
    for choice in about.get("anyOf", ()):
        yield from _models_below(choice, named)
    if isinstance(about.get("items"), dict):
        yield from _models_below(about["items"], named)
    for inner in about.get("patternProperties", {}).values():
        yield from _models_below(inner, True)


def _value(about: Mapping[str, Any], models: Mapping[str, Any]) -> str:
    """What may be written behind a word, in words."""
    if "$ref" in about:
        model = models[about["$ref"].rsplit("/", 1)[-1]]
        return "words beneath" if "properties" in model else _value(model, models)
    if "enum" in about:
        return " or ".join(map(_plain, about["enum"]))
    if "const" in about:
        return _plain(about["const"])
    if "anyOf" in about:
        return " or ".join(dict.fromkeys(_value(choice, models) for choice in about["anyOf"]))
    if "patternProperties" in about or "additionalProperties" in about:
        return "names of your own, each with words beneath" if any(
            _models_below(about)) else "names of your own"
    if about.get("type") == "array":
        inner = about.get("items")
        return f"list of {_value(inner, models)}" if isinstance(inner, dict) else "list"
    sort = {"number": "number", "integer": "whole number", "boolean": "true or false",
            "string": "text", "object": "words beneath"}.get(str(about.get("type")), "value")
    least = about.get("minimum", about.get("exclusiveMinimum"))
    most = about.get("maximum", about.get("exclusiveMaximum"))
    if sort.endswith("number"):
        most = most if most is not None and most < BOUNDLESS else None
        if least is not None and most is not None:
            return f"{sort} from {least:g} to {most:g}"
        if least is not None:
            over = about.get("exclusiveMinimum") == least
            return f"{sort} {'over' if over else 'from'} {least:g}"
    return sort


def _plain(value: Any) -> str:
    """A value as it is written in a job file."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_plain, value)) + "]"
    if isinstance(value, dict):
        return ", ".join(f"{word}: {_plain(one)}" for word, one in value.items() if one is not None)
    return str(value)
