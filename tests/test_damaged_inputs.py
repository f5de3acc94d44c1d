"""Damaged files of six kinds: each is understood or refused in words, soon, within bounds."""

from __future__ import annotations

import copy
import io
import os
import random
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
import yaml

from camgen.drawings.drawing import read_drawing
from camgen.faults import Refused
from camgen.job.reading import parse_job
from camgen.library.pack import packed, unpacked
from camgen.library.record import read_record
from camgen.plan import plan_job
from camgen.reader import read_program
from camgen.shipped import shipped_folder
from camgen.shop.machines import find_machine, machine_of
from camgen.steps import step_words
from camgen.yamlfile import load_yaml

JOBS, POSTS = shipped_folder("jobs"), shipped_folder("postprocessors")
# Numbers at their ends, and words that mean something else than they look.
ENDS = [0, -1, 1, 1e-9, 1e-6, 1e12, -1e12, 10**40, "nan", ".inf", True, None, "", [], {}, "x" * 300,
        "\x1b[2J", "a\nb", [[]], [1, 2, 3], {"x": 1}, 0.1 + 0.2]
LINES = ["G0 X9999999999", "G2 X1 Y1 R0", "M98 P1", "O1", "(", ")", "%", "N", "X", "G", "#1=2",
         "G83 Z-1. R1. Q0.000001 F10", "\x00", "é", "G1" * 4000, "M99", "G92 X1", "F0", "S-1", "/"]
SLOWEST = 20.0


def _changed(data: object, chance: random.Random) -> object:
    """``data`` with one word dropped, doubled, swapped, or a value at its end."""
    found: list[tuple[dict[str, object] | list[object], str | int]] = []
    todo: list[object] = [data]
    while todo:
        part = todo.pop()
        if isinstance(part, dict):
            found += [(part, key) for key in part]
            todo += part.values()
        elif isinstance(part, list):
            found += [(part, place) for place in range(len(part))]
            todo += part
    if not found:
        return data
    holder, key = chance.choice(found)
    other_holder, other = chance.choice(found)
    way = chance.randrange(5)
    if way == 0:
        del holder[key]  # type: ignore[arg-type]
    elif way == 1:
        holder[key] = chance.choice(ENDS)  # type: ignore[index]
    elif way == 2:
        # A copy: nothing comes to hold itself.
        holder[key] = copy.deepcopy(other_holder[other])  # type: ignore[index]
    elif way == 3 and isinstance(holder, list):
        holder.insert(int(key), copy.deepcopy(holder[int(key)]))
    elif isinstance(holder[key], int | float):  # type: ignore[index]
        holder[key] = holder[key] * chance.choice([-1, 0, 1e-3, 10, 1e6])  # type: ignore
    return data


def _damaged_yaml(text: str, chance: random.Random) -> str:
    data = yaml.safe_load(text)
    for _ in range(chance.randrange(1, 4)):
        data = _changed(data, chance)
    return yaml.safe_dump(data, allow_unicode=True)


def _damaged_bytes(content: bytes, chance: random.Random) -> bytes:
    at = chance.randrange(len(content) or 1)
    return chance.choice([
        lambda: content[:at], lambda: content[:at] + bytes([chance.randrange(256)]) + content[at:],
        lambda: content[:at] + content[at + chance.randrange(1, 30):],
        lambda: content[:at] + content[:at],
        lambda: content[:at] + bytes(b ^ 255 for b in content[at:at + 4]) + content[at + 4:],
    ])()


def a_job(chance: random.Random, folder: Path) -> None:
    source = chance.choice(sorted(JOBS.glob("*wheel*.yaml")))
    if source.name.endswith(".proof.yaml"):
        return
    job = parse_job(_damaged_yaml(source.read_text(), chance), folder / source.name, step_words())
    if chance.random() < 0.05:
        plan_job(job, find_machine("plain-iso"))


def a_machine(chance: random.Random, folder: Path) -> None:
    source = chance.choice(sorted(POSTS.glob("*.yaml")))
    machine_of(load_yaml(_damaged_yaml(source.read_text(), chance), source.name))


def a_drawing(chance: random.Random, folder: Path) -> None:
    source = chance.choice([one for one in sorted((JOBS / "drawings").iterdir())
                            if one.suffix in (".dxf", ".svg")])
    path = folder / source.name
    path.write_bytes(_damaged_bytes(source.read_bytes(), chance))
    read_drawing(path)


def a_record(chance: random.Random, folder: Path) -> None:
    path = folder / "wheel.proof.yaml"
    path.write_text(_damaged_yaml((JOBS / "third-wheel-gold.proof.yaml").read_text(), chance))
    read_record(path)


def an_archive(chance: random.Random, folder: Path) -> None:
    content = packed({"jobs/a.yaml": b"job: a\n", "programs/a.nc": b"%\n"}, "a", "jobs/a.yaml")
    if chance.random() < 0.5:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            files = {name: archive.read(name) for name in archive.namelist()}
        name = chance.choice(list(files))
        files[chance.choice([name, "../x", ".git/hooks/x", "jobs", name + "/x"])] = _damaged_bytes(
            files[name], chance)
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as archive:
            for name, data in files.items():
                archive.writestr(name, data)
        content = out.getvalue()
    else:
        content = _damaged_bytes(content, chance)
    unpacked(content)


PROGRAM = [
    "%", "O1", "G17 G21 G90 G40 G49 G80 G94", "G54", "G0 Z5.", "T1 M6", "S9000 M3", "G4 P3.",
    "G0 X1. Y2.", "G1 Z-1. F100.", "G2 X3. Y2. I1. J0. F200.", "G83 X1. Y1. Z-2. R1. Q0.3 F50.",
    "G80", "M98 P9001", "M5", "M30", "O9001", "G91 X1.", "G90", "M99", "%",
]


def a_program(chance: random.Random, folder: Path) -> None:
    lines = [*PROGRAM]
    for _ in range(chance.randrange(1, 5)):
        at = chance.randrange(len(lines))
        way = chance.randrange(4)
        if way == 0 and len(lines) > 1:
            del lines[at]
        elif way == 1:
            lines.insert(at, chance.choice(LINES))
        elif way == 2:
            lines.insert(at, chance.choice(lines))
        else:
            lines[at] = "".join(chance.choice([c, c, c, c, c, "-", "9", "."]) for c in lines[at])
    read_program("\n".join(lines), find_machine("with-cycles"), "a.nc")


KINDS = [a_job, a_machine, a_drawing, a_record, an_archive, a_program]


def _try(kind: Callable[[random.Random, Path], None], seed: int, folder: Path) -> float:
    """The seconds one takes; anything but an answer or a refusal fails."""
    begun = time.perf_counter()
    told = ["understood"]
    try:
        kind(random.Random(seed), folder)
    except Refused as no:
        told = [fault.message for fault in no.faults]
    assert told
    assert all(told)
    return time.perf_counter() - begun


@pytest.mark.parametrize("kind", KINDS)
def test_a_damaged_file_is_answered_in_words(
    kind: Callable[[random.Random, Path], None], tmp_path: Path
) -> None:
    for seed in range(25):
        assert _try(kind, seed, tmp_path) < SLOWEST, seed


@pytest.mark.long
@pytest.mark.parametrize("kind", KINDS)
def test_very_many_damaged_files_are_answered_in_words(
    kind: Callable[[random.Random, Path], None], tmp_path: Path
) -> None:
    many = int(os.environ.get("CAMGEN_DAMAGED", "100000")) // len(KINDS)
    for seed in range(many):
        assert _try(kind, seed, tmp_path) < SLOWEST, seed
    resource = pytest.importorskip("resource")  # not there on every system
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss < 1_000_000
