"""One number written into the text of a YAML file, and not a byte of the rest touched."""

from __future__ import annotations

from collections.abc import Iterator

import yaml

from camgen.faults import Fault, Place, Refused
from camgen.messages import Message
from camgen.yamlfile.document import DataPath, Document
from camgen.yamlfile.text import load_yaml

__all__ = ["with_number"]


def with_number(
    text: str, file: str, around: tuple[int, int], word: str, number: float
) -> str:
    """``text`` of a ``file`` with ``word: number``, in the file's unit, among words ``around``.

    ``around`` is line and column, both from 1, where a document has the value of that group. Where
    the word is there its value is replaced; else it is added, in one line as in several. Comments
    and layout stay. Raises Refused where another value would change with it, as beneath an alias.

    >>> held = "steps:\\n- cut-teeth: {cutter: teeth}  # all\\n"
    >>> print(with_number(held, "a.yaml", (2, 14), "depth-correction", 0.012), end="")
    steps:
    - cut-teeth: {cutter: teeth, depth-correction: 0.012}  # all
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    plain = text.removeprefix("\ufeff")
    found = _mapping_at(plain, around)
    written = mark + _put(plain, found, word, f"{number:.9g}") if found is not None else text
    if not _only(load_yaml(text, file), written, word, number):
        raise Refused(Fault(
            Message("{word} cannot be written without changing more than it", word=word),
            Message("write {word}: {number:g} by hand", word=word, number=number),
            Place(file, *around)))
    return written


def _mapping_at(text: str, at: tuple[int, int]) -> yaml.MappingNode | None:
    """The group of words that begins at a line and column, both from 1."""
    root = yaml.compose(text, Loader=yaml.SafeLoader)
    return next((node for node in _nodes(root) if isinstance(node, yaml.MappingNode)
                 and (node.start_mark.line + 1, node.start_mark.column + 1) == at), None)


def _nodes(node: yaml.Node | None) -> Iterator[yaml.Node]:
    """All nodes, the innermost of those that begin at one place first."""
    if isinstance(node, yaml.MappingNode):
        for _, value in node.value:
            yield from _nodes(value)
    elif isinstance(node, yaml.SequenceNode):
        for value in node.value:
            yield from _nodes(value)
    if node is not None:
        yield node


def _put(text: str, group: yaml.MappingNode, word: str, number: str) -> str:
    for key, value in group.value:
        if key.value == word:
            return text[:value.start_mark.index] + number + text[value.end_mark.index:]
    said = f"{word}: {number}"
    if not group.value:
        at = group.start_mark.index + 1
        return text[:at] + said + text[at:]
    if group.flow_style:
        at = group.value[-1][1].end_mark.index
        return f"{text[:at]}, {said}{text[at:]}"
    # Below the first word where that is one line, so that a comment stays with what it is on.
    (key, value), column = group.value[0], group.value[0][0].start_mark.column
    line_end = "\r\n" if "\r\n" in text else "\n"
    if isinstance(value, yaml.ScalarNode) and value.start_mark.line == key.start_mark.line:
        end = text.find("\n", value.end_mark.index)
        at = len(text) if end < 0 else end - (text[end - 1] == "\r")
        return f"{text[:at]}{line_end}{' ' * column}{said}{text[at:]}"
    at = key.start_mark.index
    return f"{text[:at]}{said}{line_end}{' ' * column}{text[at:]}"


def _only(before: Document, written: str, word: str, number: float) -> bool:
    """Whether the file now says this, and differs from before in nothing else."""
    try:
        after = load_yaml(written, before.file)
    except Refused:
        return False
    changed = list(_differ(before.data, after.data, ()))
    if not changed:
        return word in written  # it said so before
    return len(changed) == 1 and changed[0][-1] == word and after.get(changed[0]) == number


def _differ(one: object, other: object, at: DataPath) -> Iterator[DataPath]:
    if isinstance(one, dict) and isinstance(other, dict):
        for word in {**one, **other}:
            if word not in one or word not in other:
                yield (*at, word)
            else:
                yield from _differ(one[word], other[word], (*at, word))
    elif isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        for number, pair in enumerate(zip(one, other, strict=True)):
            yield from _differ(*pair, (*at, number))
    elif one != other:
        yield at
