"""What an earlier run left in a folder that the job no longer makes."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path
from typing import Any

from camgen.faults import Refused
from camgen.make.chain import Proved, Wish
from camgen.plainfile import plain_bytes

__all__ = ["no_longer_made"]

_AGAIN = re.compile(r"-from-space-\d+(?:-of-step-\d+)?")


def no_longer_made(folder: Path, proved: Proved, wish: Wish) -> tuple[list[str], list[str]]:
    """Names of programs and pictures in ``folder`` that an earlier run left there, as its report
    tells, and that this one does not make: those as they were made, and those changed since.

    Parts of a program that now has fewer are such, and all of a setup that the job no longer has.
    Other setups than the one wished for, and programs that start again, are sets of their own.
    """
    try:
        report = json.loads(plain_bytes(folder / f"report{proved.again}.json"))
        entries = [_entry(one) for one in report["programs"]]
    except (Refused, RecursionError, ValueError, KeyError, TypeError):
        return [], []
    made = {program.file for setup in proved.setups for program in setup.programs}
    setups = {setup.name for setup in proved.setups}
    ways = {"".join(_AGAIN.findall(file)) for file in made}
    as_made: list[str] = []
    changed: list[str] = []
    for file, setup, sha256 in entries:
        mine = setup in setups or (wish.whole and wish.setup is None)
        if file in made or not mine or "".join(_AGAIN.findall(file)) not in ways:
            continue
        try:
            same = hashlib.sha256(plain_bytes(folder / file)).hexdigest() == sha256
        except Refused:
            continue
        (as_made if same else changed).append(file)
        picture = f"{proved.stem}-{setup}{proved.again}.png"
        if same and setup not in setups and (folder / picture).is_file():
            as_made.append(picture)
    return list(dict.fromkeys(as_made)), changed


def _entry(one: Any) -> tuple[str, str, str]:
    """A program of a report; ValueError for a name that leads elsewhere."""
    file, setup, sha256 = str(one["file"]), str(one["setup"]), str(one["sha256"])
    if Path(file).name != file or Path(setup).name != setup:
        raise ValueError(file)
    return file, setup, sha256
