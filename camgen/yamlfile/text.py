"""From the text of a file to plain data with places, within bounds."""

from __future__ import annotations

import math
import re
from collections.abc import Container, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from camgen.faults import Fault, Place, Refused
from camgen.messages import Message
from camgen.plainfile import plain_bytes
from camgen.signs import UNSEEN, in_one_line
from camgen.values import dataclass
from camgen.yamlfile.document import DataPath, Document, in_order, path_words
from camgen.yamlfile.syntax import syntax_fault
from camgen.yamlfile.unquoted import unquoted_value

__all__ = ["Bounds", "load_yaml", "read_yaml"]


@dataclass(frozen=True, slots=True)
class Bounds:
    """How much a file may hold: bytes, values once aliases are written out, depth, aliases."""

    size: int = 1_000_000
    values: int = 50_000
    depth: int = 40
    aliases: int = 200


BOUNDS = Bounds()


@dataclass(slots=True)
class _Scalar:
    line: int
    column: int
    text: str
    bare: bool


@dataclass(slots=True)
class _List:
    line: int
    column: int
    items: list[_Node]


@dataclass(slots=True)
class _Map:
    line: int
    column: int
    items: list[tuple[_Scalar, _Node]]
    key: _Scalar | None = None


_Node = _Scalar | _List | _Map

# Numbers beyond these are slips of the pen in any file: nothing is measured that finely.
# Only these words hold more than one line.
_OF_LINES = frozenset(("note", "remarks", "describes", "cautions", "source"))
SMALLEST = 1e-9
LARGEST = 1e12

_UNSEEN = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def read_yaml(path: Path, name: str = "", bounds: Bounds = BOUNDS) -> Document:
    """Read the YAML file at ``path``; ``name`` is what it is called in faults, else the path.

    Raises Refused when it cannot be opened, is not UTF-8 text, or :func:`load_yaml` refuses it.
    """
    name = name or str(path)
    content = plain_bytes(path, name, bounds.size + 1)
    return load_yaml(content, name, bounds)


def load_yaml(text: str | bytes, file: str, bounds: Bounds = BOUNDS) -> Document:
    """Turn the text of a YAML file into data with places; ``file`` is its name in faults.

    Raises Refused with every fault found. Where the text is no YAML at all, reading ends there and
    that one fault is given.

    >>> load_yaml("teeth: 75", "a.yaml").data
    {'teeth': 75}
    >>> load_yaml("teeth: 75\\nteeth: 80", "a.yaml")
    Traceback (most recent call last):
    camgen.faults.Refused: a.yaml, line 2, column 1, teeth: teeth is here a second time
        it stands already on line 1. Leave one of them
    """
    return _loaded(text, file, bounds)


# On one way a machine file or a record is read more than once; a document is never changed.
@lru_cache(maxsize=32)
def _loaded(text: str | bytes, file: str, bounds: Bounds) -> Document:
    if len(text) > bounds.size:
        raise Refused(Fault(Message("the file is larger than {size} bytes", size=bounds.size),
                            Message("a file of this kind is a page or two: look whether it is the "
                                    "right one"), Place(file)))
    if isinstance(text, bytes):
        text = _decoded(text, file)
    text = text.removeprefix("\ufeff")
    unseen = _UNSEEN.search(text)
    if unseen:
        line, column = _line_and_column(text, unseen.start())
        raise Refused(Fault(Message("a character that cannot be seen stands here (code "
                                    "{code:#06x})", code=ord(unseen.group())),
                            Message("delete it, or save the file anew as plain UTF-8 text"),
                            Place(file, line, column)))
    faults: list[Fault] = []
    try:
        root = _build(text, file, bounds, faults)
    except yaml.YAMLError as error:
        raise Refused([*faults, syntax_fault(error, text, file)]) from None
    except UnicodeError:
        raise Refused(Fault(Message("the file is not plain text"),
                            Message("save it anew as UTF-8 text"), Place(file))) from None
    if root is None:
        faults = faults or [Fault(Message("the file holds nothing"), Message("write its words"),
                                  Place(file, 1, 1))]
        raise Refused(faults)
    return _document(root, file, bounds, faults)


def _decoded(content: bytes, file: str) -> str:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
            what, start = Message("the file is written in UTF-16"), 0
        else:
            what, start = Message("the file is not written in UTF-8"), error.start
        line = content.count(b"\n", 0, start) + 1
        column = start - (content.rfind(b"\n", 0, start) + 1) + 1
        raise Refused(Fault(what, Message("save it anew from the editor, with the encoding UTF-8"),
                            Place(file, line, column))) from None


def _line_and_column(text: str, index: int) -> tuple[int, int]:
    return text.count("\n", 0, index) + 1, index - (text.rfind("\n", 0, index) + 1) + 1


def _build(text: str, file: str, bounds: Bounds, faults: list[Fault]) -> _Node | None:
    """The tree of the first document, from the parser's events, without recursion."""
    loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    root: _Node | None = None
    open_nodes: list[_List | _Map] = []
    anchors: dict[str, _Node] = {}
    unfinished: set[int] = set()
    aliases = documents = 0
    for event in yaml.parse(text, Loader=loader):
        if isinstance(event, yaml.DocumentStartEvent):
            documents += 1
            if documents > 1:
                faults.append(Fault(Message("a second document begins here"),
                                    Message("one file holds one document: take out the line ---"),
                                    _at(file, event)))
                return root
            continue
        if isinstance(event, (yaml.SequenceEndEvent, yaml.MappingEndEvent)):
            unfinished.discard(id(open_nodes.pop()))
            continue
        if isinstance(event, yaml.AliasEvent):
            aliases += 1
            place = _at(file, event)
            if aliases > bounds.aliases:
                raise Refused([*faults, Fault(Message("more than {aliases} aliases",
                                                      aliases=bounds.aliases),
                                              Message("write the values out"), place)])
            node = _repeated(event, place, anchors, unfinished, faults)
        elif isinstance(event, _BEGINNINGS):
            node = _begun(event)
            if event.tag is not None:
                tag = event.tag.replace("tag:yaml.org,2002:", "!!")
                faults.append(Fault(Message("the tag {tag} is not allowed", tag=tag),
                                    Message("write the plain value. A text that begins with ! "
                                            "goes in quotes"), _at(file, event)))
            if event.anchor is not None:
                anchors[event.anchor] = node
        else:
            continue
        _hang(node, open_nodes, file, faults)
        if root is None:
            root = node
        if not isinstance(event, yaml.AliasEvent) and isinstance(node, (_List, _Map)):
            open_nodes.append(node)
            unfinished.add(id(node))
            if len(open_nodes) > bounds.depth:
                raise Refused([*faults, Fault(Message("nested deeper than {depth} levels",
                                                      depth=bounds.depth),
                                              Message("look for a bracket that is not closed"),
                                              _at(file, event))])
    return root


def _at(file: str, event: Any) -> Place:
    return Place(file, event.start_mark.line + 1, event.start_mark.column + 1)


_BEGINNINGS = (yaml.ScalarEvent, yaml.SequenceStartEvent, yaml.MappingStartEvent)


def _begun(event: Any) -> _Node:
    """The value that begins with an event."""
    mark = event.start_mark
    line, column = mark.line + 1, mark.column + 1
    if isinstance(event, yaml.ScalarEvent):
        return _Scalar(line, column, event.value, bool(event.implicit[0]) and not event.style)
    if isinstance(event, yaml.SequenceStartEvent):
        return _List(line, column, [])
    return _Map(line, column, [])


def _repeated(event: Any, place: Place, anchors: Mapping[str, _Node], unfinished: Container[int],
              faults: list[Fault]) -> _Node:
    """The value that an alias repeats; an empty one where it cannot be followed."""
    found = anchors.get(event.anchor or "")
    if found is not None and id(found) not in unfinished:
        return found
    why = (Message("no anchor of this name stands before it") if found is None
           else Message("it stands inside what it repeats"))
    faults.append(Fault(Message("the alias *{anchor} cannot be followed: {why}",
                                anchor=event.anchor, why=why),
                        Message("an alias repeats an earlier value marked with & and the same "
                                "name. A text that begins with * goes in quotes"), place))
    return _Scalar(place.line, place.column, "", False)


def _hang(node: _Node, open_nodes: list[_List | _Map], file: str, faults: list[Fault]) -> None:
    """Put a node into the list or mapping that is open."""
    if not open_nodes:
        return
    parent = open_nodes[-1]
    if isinstance(parent, _List):
        parent.items.append(node)
    elif parent.key is None:
        if isinstance(node, _Scalar):
            parent.key = node
        else:
            faults.append(Fault(Message("a list or a mapping cannot be a key"),
                                Message("a key is one word"), Place(file, node.line, node.column)))
            parent.key = _Scalar(0, 0, "", False)
    else:
        parent.items.append((parent.key, node))
        parent.key = None


def _seen(
    node: _Scalar, path: DataPath, file: str, faults: list[Fault], *, key: bool = False
) -> None:
    """A text whose signs can all be seen, and where it is a name in one line, or a fault."""
    unseen = UNSEEN.search(node.text)
    if unseen is None and "\n" not in node.text:
        return
    word = next((part for part in reversed(path) if isinstance(part, str)), "")
    place = Place(file, node.line, node.column, path_words(path))
    if unseen is not None:
        faults.append(Fault(Message("a character that cannot be seen stands in this text (code "
                                    "{code:#06x})", code=ord(unseen[0])),
                            Message("take it out of the text"), place))
    elif "\n" in node.text.strip("\n") and (key or word not in _OF_LINES):
        faults.append(Fault(Message("this text goes over several lines: {text}",
                                    text=in_one_line(node.text)[:60]),
                            Message("write it in one line"), place))


def _measurable(value: float) -> bool:
    """False for numbers so large or small that reckoning with them would fail."""
    return value == 0 or not math.isfinite(value) or SMALLEST <= abs(value) <= LARGEST


def _document(root: _Node, file: str, bounds: Bounds, faults: list[Fault]) -> Document:
    """Plain data and places from the tree; aliases are written out here, and counted."""
    keys: dict[DataPath, tuple[int, int]] = {}
    values: dict[DataPath, tuple[int, int]] = {}
    spellings: dict[DataPath, str] = {}

    def placed(key: _Scalar, way: DataPath) -> Place:
        return Place(file, key.line, key.column, path_words(way))

    def plain(node: _Node, path: DataPath) -> Any:
        values[path] = (node.line, node.column)
        if len(values) > bounds.values or len(path) > bounds.depth:
            raise Refused([*faults, Fault(Message("the file holds more than {values} values, or "
                                                  "more than {depth} levels, once its aliases are "
                                                  "written out", values=bounds.values,
                                                  depth=bounds.depth),
                                          Message("write it with fewer aliases"),
                                          Place(file, node.line, node.column))])
        if isinstance(node, _Scalar):
            _seen(node, path, file, faults)
            if not node.bare:
                return node.text
            spellings[path] = node.text
            value = unquoted_value(node.text)
            if isinstance(value, (int, float)) and not _measurable(value):
                text = node.text[:40]
                faults.append(Fault(
                    Message("{text} is too large a number for anything here", text=text)
                    if abs(value) > 1
                    else Message("{text} is too small a number for anything here", text=text),
                    Message("look at the point and the exponent"),
                    Place(file, node.line, node.column, path_words(path))))
            return value
        if isinstance(node, _List):
            return tuple(plain(item, (*path, n)) for n, item in enumerate(node.items))
        data: dict[str, Any] = {}
        for key, value in node.items:
            way = (*path, key.text)
            _seen(key, way, file, faults, key=True)
            if key.bare and key.text == "<<":
                faults.append(Fault(Message("merging with << is not allowed"),
                                    Message("write the words out"), placed(key, way)))
                continue
            if not key.line:
                continue  # its fault is known already
            if not key.text:
                faults.append(Fault(Message("a value without a word before its colon"),
                                    Message("write a word before the colon"), placed(key, way)))
                continue
            if key.text in data:
                faults.append(Fault(Message("{text} is here a second time", text=key.text),
                                    Message("it stands already on line {line}. Leave one of them",
                                            line=keys[way][0]), placed(key, way)))
                continue
            keys[way] = (key.line, key.column)
            data[key.text] = plain(value, way)
        return data

    data = plain(root, ())
    if faults:
        raise Refused(in_order(faults))
    return Document(file, data, keys, values, spellings)
