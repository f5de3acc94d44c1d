"""A new machine file, with every word in it explained.

Words that keep their plain value stand as comments, so that the file says what could be changed
and a later default still holds.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any, Final, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from camgen.faults import Fault, Refused, did_you_mean
from camgen.messages import Message
from camgen.post.machine_file.explain import fields, yaml_value
from camgen.shop.machine import DrivenHead, HandHead, Machine
from camgen.shop.machines import machine_of
from camgen.yamlfile import load_yaml

__all__ = ["draft_text", "word_values"]

_WIDTH: Final = 98

def word_values(settings: Sequence[str]) -> dict[str, Any]:
    """Values by path from texts such as ``numbers.decimals=4``, read as in a machine file.

    Raises Refused for a text that is no setting.

    >>> word_values(["numbers.decimals=4", "program.units=inch"])
    {'numbers.decimals': 4, 'program.units': 'inch'}
    """
    values: dict[str, Any] = {}
    for setting in settings:
        path, equals, value = setting.partition("=")
        if not equals or not path.strip() or not value.strip():
            raise Refused(Fault(
                Message("{setting} sets nothing", setting=repr(setting)),
                Message("write a word of the file, =, and its value: numbers.decimals=4"),
            ))
        values[path.strip()] = load_yaml(f"value: {value}", setting).data["value"]
    return values


def draft_text(
    name: str, describes: str, values: Mapping[str, Any], like: Machine | None = None
) -> str:
    """The text of a machine file, commented, with ``values`` by path in it.

    ``like`` is a machine whose words the new file begins with. Raises Refused for a path that is no
    word of a machine file, and for values that do not fit, each with what is allowed.
    """
    data: dict[str, Any] = {}
    if like is not None:
        for field in fields(like):
            if field.value != field.plain:
                _set(data, field.path, field.value)
        if like.dividing is not None:
            _set(data, "dividing.kind", like.dividing.kind)
        if like.second_rotary is not None:
            _set(data, "second-rotary.letter", like.second_rotary.letter)
    for path, value in values.items():
        _set(data, path, value)
    data |= {"name": name, "describes": describes}
    known = _paths(Machine, "")
    # A part that the machine has not may be said to be none.
    none = [name.replace("_", "-") for name, info in Machine.model_fields.items()
            if _models(info) and _optional(info)]
    unknown = [path for path, value in values.items()
               if path not in known and not (path in none and value is None)]
    if unknown:
        raise Refused([
            Fault(
                Message("{word} is not a word of a machine file", word=path),
                did_you_mean(path, known,
                             Message("camgen post show NAME --words lists them all")),
            ) for path in unknown
        ])
    text = "\n".join((
        f"# {describes}",
        "#",
        "# Lengths are in mm, angles in degrees, feeds in mm/min, times in seconds, whatever the "
        "units of",
        "# the programs. Words behind a # have their plain value; take the # away to change one.",
        "# Try the file before you trust it: camgen post try " + name,
        "",
        *_lines(Machine, data, 0),
    )) + "\n"
    machine_of(load_yaml(text, f"{name}.yaml"))
    return text


def _set(data: dict[str, Any], path: str, value: Any) -> None:
    *way, last = path.split(".")
    for word in way:
        inner = data.setdefault(word, {})
        if not isinstance(inner, dict):
            inner = data[word] = {}
        data = inner
    data[last] = value


def _models(info: FieldInfo) -> tuple[type[BaseModel], ...]:
    """The models a word may hold beneath it."""
    def inside(annotation: Any) -> tuple[type[BaseModel], ...]:
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            return (annotation,)
        if get_origin(annotation) is None or get_origin(annotation) is tuple:
            return ()
        return tuple(model for part in get_args(annotation) for model in inside(part))

    return inside(info.annotation)


def _model_for(info: FieldInfo, data: Any) -> type[BaseModel] | None:
    """The model that ``data`` beneath a word is to be read as."""
    models = _models(info)
    if HandHead in models and isinstance(data, dict) and data.get("kind") == "by-hand":
        return HandHead
    if DrivenHead in models:
        return DrivenHead
    return models[0] if models else None


def _paths(model: type[BaseModel], path: str) -> dict[str, FieldInfo]:
    """Every word of a file by its path."""
    found: dict[str, FieldInfo] = {}
    for name, info in model.model_fields.items():
        word = path + name.replace("_", "-")
        models = _models(info)
        if not models:
            found[word] = info
        for inner in models:
            found |= _paths(inner, word + ".")
    return found


def _lines(model: type[BaseModel], data: Mapping[str, Any], depth: int) -> list[str]:
    """Lines of one model's words, each under what it is for."""
    lines: list[str] = []
    margin = "  " * depth
    for name, info in model.model_fields.items():
        word = name.replace("_", "-")
        inner = _model_for(info, data.get(word))
        if inner is not None:
            set_here = word in data and data[word] is not None
            if not depth:
                lines.append("")
            lines += _comment(info.description or "", margin)
            if set_here:
                lines += [f"{margin}{word}:", *_lines(inner, data[word], depth + 1)]
            elif _optional(info):
                lines.append(f"{margin}# {word}: null")
            else:
                beneath = _lines(inner, {}, depth + 1)
                lines.append(f"{margin}# {word}:")
                lines += [_behind_mark(line, margin) for line in beneath]
        else:
            lines += _comment(info.description or "", margin)
            if word in data:
                lines.append(f"{margin}{word}: {yaml_value(_tupled(data[word]))}")
            elif info.is_required():
                lines.append(f"{margin}{word}:")
            else:
                plain = info.get_default(call_default_factory=False)
                lines.append(f"{margin}# {word}: {yaml_value(plain)}")
    return lines


def _behind_mark(line: str, margin: str) -> str:
    """A line put behind a # at ``margin``, its own # taken away; notes keep two."""
    rest = line[len(margin):]
    stripped = rest.lstrip()
    if stripped.startswith("## "):
        return f"{margin}# {rest}"
    return f"{margin}# {rest.replace('# ', '', 1)}" if stripped.startswith("# ") else line


def _comment(text: str, margin: str) -> list[str]:
    """What a word is for, marked apart from words that are switched off."""
    return textwrap.wrap(text, _WIDTH, initial_indent=f"{margin}## ",
                         subsequent_indent=f"{margin}## ")


def _optional(info: FieldInfo) -> bool:
    return type(None) in get_args(info.annotation)


def _tupled(value: Any) -> Any:
    return tuple(_tupled(part) for part in value) if isinstance(value, list) else value

