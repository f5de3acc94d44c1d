"""Machine files: found by name in the workshop, then among those shipped, and checked whole."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from camgen.faults import Fault, Refused, nearest
from camgen.messages import Message
from camgen.shipped import shipped_folder
from camgen.shop.machine import Machine, contradictions
from camgen.shop.model import WrittenIn
from camgen.yamlfile import Document, read_yaml, validate

__all__ = [
    "FOLDER",
    "find_machine",
    "machine_files",
    "machine_names",
    "machine_of",
    "machine_schema",
    "read_machine",
]

FOLDER = "postprocessors"


def machine_files(workshop: Path | None = None) -> dict[str, Path]:
    """Every machine file by name; the workshop's own come before those shipped."""
    folders = [shipped_folder(FOLDER)]
    if workshop is not None:
        folders.append(workshop / FOLDER)
    found = {
        path.stem: path for folder in folders if folder.is_dir() for path in folder.glob("*.yaml")
    }
    return dict(sorted(found.items()))


def machine_names(workshop: Path | None = None) -> tuple[str, ...]:
    """The names a job may give under ``post``.

    >>> "plain-iso" in machine_names()
    True
    """
    return tuple(machine_files(workshop))


def find_machine(name_or_path: str | Path, workshop: Path | None = None) -> Machine:
    """The machine of that name, or in that file.

    A name is looked for in the workshop folder's ``postprocessors`` first, then among those
    shipped; anything with a slash or ending in ``.yaml`` is a path. Raises Refused with every
    fault of the file, or with the names there are.
    """
    text = str(name_or_path)
    if isinstance(name_or_path, Path) or text.endswith((".yaml", ".yml")) or "/" in text:
        path = Path(text)
        if not os.path.lexists(path):
            raise Refused(Fault(
                Message("no machine file {file}", file=text),
                Message("give the file of the machine, or one of the names {names}",
                        names=machine_names(workshop))))
        return read_machine(path, text)
    files = machine_files(workshop)
    if text not in files:
        near = nearest(text, files)
        names = tuple(files)
        raise Refused(Fault(
            Message("no machine file is called '{name}'", name=text),
            Message("did you mean {near}? There are {names}", near=near, names=names) if near
            else Message("there are {names}", names=names)))
    return read_machine(files[text])


def read_machine(path: Path, name: str = "") -> Machine:
    """The machine described in a file; Refused with every fault, each with line and column.

    ``name`` is what the file is called in faults, else its way from where one stands.

    >>> read_machine(machine_files()["plain-iso"]).name
    'plain-iso'
    """
    document = read_yaml(path, name or str(path))
    machine = machine_of(document)
    if machine.name != path.stem:
        raise Refused(Fault(
            Message("the file is called {file} and says that its name is {name}", file=path.stem,
                    name=machine.name),
            Message("write name: {file}, or rename the file", file=path.stem),
            document.place(("name",)),
        ))
    return machine


def machine_of(document: Document) -> Machine:
    """The machine a document describes; Refused with every fault, each with line and column."""
    machine = validate(Machine, document).read_from(WrittenIn(document))
    faults = [
        Fault(message, remedy, document.place(path))
        for path, message, remedy in contradictions(machine)
    ]
    if faults:
        raise Refused(faults)
    return machine


def machine_schema() -> dict[str, Any]:
    """JSON Schema of machine files, for editors that complete and check words.

    It knows words, types, ranges and choices; what words mean to one another only reading knows.
    """
    from pydantic.json_schema import GenerateJsonSchema  # only wanted where a schema is

    class PlainDefaults(GenerateJsonSchema):
        """A message left to its default is the text that it is."""

        def encode_default(self, dft: Any) -> Any:
            return super().encode_default(str(dft) if isinstance(dft, Message) else dft)

    schema: dict[str, Any] = _without_titles(
        Machine.model_json_schema(by_alias=True, schema_generator=PlainDefaults))
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema", **schema,
        "title": "A machine file",
    }


def _without_titles(schema: Any) -> Any:
    """The schema without the titles made from words, which say nothing new."""
    if isinstance(schema, list):
        return [_without_titles(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    return {
        word: _without_titles(part) for word, part in schema.items()
        if not (word == "title" and isinstance(part, str))
    }
