"""Words put into the text of a machine file, all else in it left as it is: order, comments, blanks.

A file can be written in many ways. What is written here is read again and held against what was
meant; a file that is too odd for it is left alone, and its owner told the words.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.post.machine_file.explain import yaml_value
from camgen.shop.machine import Machine
from camgen.shop.machines import machine_of
from camgen.yamlfile import load_yaml

__all__ = ["with_words"]


def with_words(text: str, name: str, words: Mapping[str, Any]) -> tuple[str, Machine]:
    """The text of the machine file ``name`` with ``words`` by path, and the machine that it says.

    Raises Refused where the words do not fit, or cannot be put in: then with the lines to write.

    >>> text = "name: mill\\ndescribes: a mill\\nx: {travel: 90}  # long\\n"
    >>> with_words(text, "mill", {"x.scale": 1.0004, "squareness": 0.03})[0].splitlines()[2:]
    ['x: {travel: 90, scale: 1.0004}  # long', 'squareness: 0.03']
    """
    before = machine_of(load_yaml(text, name))
    ending = "\r\n" if "\r\n" in text else "\n"
    lines = text.replace("\r\n", "\n").rstrip("\n").split("\n")
    for axis in "xyz":
        if f"{axis}.lash" in words and before.axis(axis.upper()).backlash:
            _put_within(lines, axis, "backlash", "0.0")
    for path, value in words.items():
        *within, word = path.split(".")
        if within:
            _put_within(lines, within[0], word, yaml_value(value))
        else:
            _put(lines, word, yaml_value(value))
    new = ending.join(lines) + ending
    try:
        after = machine_of(load_yaml(new, name))
    except Refused as no:
        if _fits(before, words):
            raise _by_hand(name, words) from no
        # Nothing of it stands in the file.
        raise Refused([Fault(one.message, one.remedy) for one in no.faults]) from no
    if after != _meant(before, words):
        raise _by_hand(name, words)
    return new, after


def _put(lines: list[str], word: str, value: str) -> None:
    """A word at the top of the file."""
    for number, line in enumerate(lines):
        if re.match(rf"{re.escape(word)}\s*:", line):
            lines[number] = f"{word}: {value}{_comment(line)}"
            return
    lines.append(f"{word}: {value}")


def _put_within(lines: list[str], within: str, word: str, value: str) -> None:
    """A word below another, written in braces or on lines of their own."""
    for number, line in enumerate(lines):
        head = re.match(rf"{re.escape(within)}\s*:\s*(.*)$", line)
        if head is None:
            continue
        if head[1].startswith("{"):
            lines[number] = _in_braces(line, word, value)
            return
        end = number + 1
        margin = ""
        while end < len(lines) and (not lines[end].strip() or lines[end][0] in " #"):
            inner = re.match(r"(\s+)([a-z-]+)\s*:", lines[end])
            if inner is not None:
                margin = margin or inner[1]
                if inner[2] == word and inner[1] == margin:
                    lines[end] = f"{margin}{word}: {value}{_comment(lines[end])}"
                    return
            end += 1
        lines.insert(number + 1, f"{margin or '  '}{word}: {value}")
        return
    lines.append(f"{within}: {{{word}: {value}}}")


def _in_braces(line: str, word: str, value: str) -> str:
    """A line with a word in its braces set, or put in last."""
    close = line.rfind("}", 0, len(line) - len(_comment(line)))
    if close < 0:
        return line
    inside = line[:close]
    old = re.search(rf"([{{,]\s*{re.escape(word)}\s*:\s*)(\[\[.*?\]\]|\[\]|[^,{{}}\[\]]+)", inside)
    if old is not None:
        return inside[:old.end(1)] + value + inside[old.end():] + line[close:]
    comma = "" if inside.rstrip().endswith("{") else ", "
    return f"{inside.rstrip()}{comma}{word}: {value}{line[close:]}"


def _comment(line: str) -> str:
    """The comment at the end of a line, with the blanks before it."""
    found = re.search(r"\s+#.*$", line)
    return found[0] if found is not None else ""


def _meant(machine: Machine, words: Mapping[str, Any]) -> Machine:
    """The machine with the words set."""
    data: dict[str, Any] = machine.model_dump(by_alias=True)
    for axis in "xyz":
        # The older word for lost motion gives way to the newer one.
        if f"{axis}.lash" in words and data[axis]["backlash"]:
            data[axis]["backlash"] = 0.0
    for path, value in words.items():
        *within, word = path.split(".")
        (data[within[0]] if within else data)[word] = value
    return Machine.model_validate(data)


def _fits(machine: Machine, words: Mapping[str, Any]) -> bool:
    try:
        _meant(machine, words)
    except ValueError:
        return False
    return True


def _by_hand(name: str, words: Mapping[str, Any]) -> Refused:
    """What its owner is to write."""
    return Refused(Fault(
        Message("{file} is written so that nothing can be put in safely", file=name),
        Message("write by hand: {words}", words=tuple(
            f"{path}: {yaml_value(value)}" for path, value in words.items()))))
