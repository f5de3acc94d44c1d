"""``camgen post measured``: the machine file set to what was read from the machine.

Lengths mm, angles degrees, errors of the head arc-seconds.
"""

from __future__ import annotations

import math
import textwrap
from pathlib import Path
from typing import Any

from camgen.commands.terminal.screen import in_spoken, tell
from camgen.commands.trying.small_jobs import measuring_sides
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.post.machine_file.explain import fields, yaml_value
from camgen.post.machine_file.in_file import with_words
from camgen.shipped import shipped_folder
from camgen.shop.machine import DrivenHead, Machine
from camgen.shop.machines import FOLDER, find_machine, machine_files
from camgen.shop.readings import Readings, measured_words
from camgen.writing import write_whole
from camgen.yamlfile import read_yaml, validate

__all__ = ["readings_form", "take_readings"]


def own_file(name: str) -> Path:
    """The machine file NAME of the workshop's own; Refused for one that is shipped."""
    machine = find_machine(name, Path.cwd())
    path = Path(name) if name.endswith((".yaml", ".yml")) or "/" in name else (
        machine_files(Path.cwd())[name])
    if path.parent.resolve() == shipped_folder(FOLDER).resolve():
        raise Refused(Fault(
            Message("{name} is shipped, and describes no machine of yours", name=machine.name),
            Message("begin a file of your own: camgen post new my-mill --like {name}",
                    name=machine.name)))
    return path


def readings_form(machine: Machine) -> str:
    """A form for readings, with how each is taken."""
    across, up = measuring_sides(machine)
    slant = math.hypot(across, up)
    said: list[tuple[Message, str]] = [
        (Message("Readings of {name}, in mm, angles in degrees. Lines begin with # and the figures "
                 "that were meant: where something was read take the # away and write what it "
                 "was. Then: camgen post measured {name} --readings FILE", name=machine.name), ""),
        (Message("The plate that camgen post try writes for it has four holes: A lower left, B "
                 "lower right, C upper right, D upper left. Put pins in, measure over two of them "
                 "and take one diameter off: from middle to middle."), ""),
        (Message("A to B, and D to C"), f"# along-x: [{across:g}, {across:g}]"),
        (Message("A to D, and B to C"), f"# along-y: [{up:g}, {up:g}]"),
        (Message("A to C, and B to D"), f"# diagonals: [{slant:.3f}, {slant:.3f}]"),
        (Message("gauge blocks under an indicator: how far Z was told to go, and how far it went"),
         "# along-z: [20, 20]"),
        (Message("an indicator against the table: on by 1 mm and back by 1 mm, what is missing"),
         "# lash: {x: 0.0, y: 0.0, z: 0.0}"),
    ]
    if isinstance(machine.dividing, DrivenHead):
        said.append((
            Message("the head from its zero mark, always turned the same way: told, and by how "
                    "many arc-seconds it stood farther on"),
            "# head: [[0, 0], [90, 0], [180, 0], [270, 0]]"))
    lines = []
    for text, word in said:
        lines += textwrap.wrap(in_spoken(text), 90, initial_indent="# ", subsequent_indent="# ")
        lines += [word] if word else []
    return "\n".join(lines) + "\n"


def take_readings(name: str, readings: Path, *, write: bool) -> dict[str, Any]:
    """The words that come of the readings, told, and written into the machine file."""
    path = own_file(name)
    machine = find_machine(name, Path.cwd())
    read = validate(Readings, read_yaml(readings, str(readings)))
    words = measured_words(machine, read, measuring_sides(machine))
    text, _ = with_words(path.read_text(encoding="utf-8"), str(path), words)
    before = {field.path: field.value for field in fields(machine)}
    for word, value in words.items():
        tell(Message("{word}: {value}  (before: {before})", word=word, value=yaml_value(value),
                     before=yaml_value(before.get(word))))
    if write:
        write_whole(path, text.encode())
        tell(Message("{file} is written. Jobs kept before say with which measurements they were "
                     "made.", file=path))
    else:
        tell(Message("Nothing is written: --write puts it into {file}.", file=path))
    return words
