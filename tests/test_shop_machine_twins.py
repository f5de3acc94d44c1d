"""However a machine file spells its programs, the cutter goes where it goes in plain ISO.

Both programs are run by the second reader, which shares no code with ours; arcs, letters and senses
are reckoned here. Compared are the ways of all fed moves with the turn of the head, whatever blocks
they are written in.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from machine_sweep import changed_files, drawn, made, words_and_values
from sampling import sampled
from second_control import Control, Start, Trace
from second_reader import run

SPELLING = ("numbers", "blocks", "comments", "program", "arcs", "cycles", "dwell", "offsets",
            "retract", "rotary", "coolant", "subprograms", "spindle-words", "change", "block-skip")
WORDS = [(path, value) for path, value in words_and_values()
         if path[0] in SPELLING or path[-1] in ("letter", "sense")
         if path[0] != "second-rotary" and not (path[0] == "dividing" and value in ("U", "V", "W"))]
STEP = 0.1
# Two roundings to the grid, and the chords of an arc on each side.
NEAR = 0.012


def fed_way(text: str, file: dict[str, Any], back: int, outward: float) -> np.ndarray:
    """(n, 4) places along all fed moves, X Y Z of the machine and degrees of the head."""
    axes = {name: file.get(name, {}) for name in "xyz"}
    letters = {axes[name].get("letter") or name.upper(): name for name in "xyz"}
    plain = {letter: "XYZ"["XYZUVW".index(letter) % 3] for letter in letters}
    lines = []
    for line in text.splitlines():
        parts = re.split(r"(\([^)]*\)|;.*)", line)
        lines.append("".join(
            part if number % 2 else re.sub("[U-Z]", lambda m: plain.get(m[0], m[0]), part)
            for number, part in enumerate(parts)))
    trace = run("\n".join(lines), Control(file, back, outward, 1.0), Start())
    way = np.array(list(_places(trace, str(file.get("arcs", {}).get("style", "incremental")))))
    signs = {name: -1.0 if axes[name].get("sense") == "reversed" else 1.0 for name in "xyz"}
    columns = [way[:, "XYZ".index(plain[letter])] * signs[name]
               for name in "xyz" for letter in letters if letters[letter] == name]
    head = file.get("dividing") or {}
    turn = way[:, 3] * (-1.0 if head.get("sense") == "reversed" else 1.0)
    return np.column_stack([*columns, np.round(turn % 360.0, 3) % 360.0])


def _places(trace: Trace, style: str) -> list[tuple[float, ...]]:
    place = np.zeros(3)
    turned = 0.0
    found: list[tuple[float, ...]] = []
    for move in trace.moves:
        kind = move[1]
        if kind == "turn":
            turned = next((angle for _, angle in move[2] if angle), 0.0)
            continue
        if kind == "to the top":
            continue
        start = place.copy()
        for axis, value in move[2]:
            place[axis] = value
        if kind == "G0":
            continue
        plane, words = move[6], dict(one for one in move[7] if isinstance(one[0], str)
                                     and len(one) == 2) if kind != "G1" else {}
        way = place - start
        length = float(np.linalg.norm(way))
        if kind == "G1":
            count = max(1, math.ceil(length / STEP))
            found += [(*(start + way * share), turned) for share in np.linspace(0, 1, count + 1)]
            continue
        normal = np.zeros(3)
        normal[{"G17": 2, "G18": 1, "G19": 0}[plane]] = -1.0 if kind == "G2" else 1.0
        flat = np.abs(normal) < 0.5
        if "R" in words:
            chord = np.where(flat, way, 0.0)
            half = float(np.linalg.norm(chord)) / 2
            rise = math.sqrt(max(words["R"] ** 2 - half * half, 0.0))
            centre = start + chord / 2 + np.cross(normal, chord) / (2 * half) * rise
        else:
            given = np.array([words.get(letter, 0.0) for letter in "IJK"])
            centre = np.where(flat, given + (0.0 if style == "absolute" else start), start)
        out = np.where(flat, start - centre, 0.0)
        to = np.where(flat, place - centre, 0.0)
        sweep = math.atan2(float(np.cross(out, to) @ normal), float(out @ to)) % math.tau
        if sweep < 1e-9:
            sweep = math.tau
        radius = float(np.linalg.norm(out))
        count = max(2, math.ceil(sweep * radius / STEP))
        for share in np.linspace(0, 1, count + 1):
            turn = sweep * share
            found.append((*(centre + out * math.cos(turn) + np.cross(normal, out) * math.sin(turn)
                            + np.where(flat, 0.0, way * share)), turned))
    return found


def farthest(one: np.ndarray, other: np.ndarray) -> float:
    """How far the worst place of ``one`` lies from the whole way ``other``, mm or degrees."""
    worst = 0.0
    ends, nexts = other[:-1], other[1:]
    along = nexts - ends
    square = np.maximum((along**2).sum(axis=1), 1e-12)
    for places in np.array_split(one, max(1, len(one) // 200)):
        share = np.clip(((places[:, None, :] - ends) * along).sum(axis=2) / square, 0.0, 1.0)
        # The way from one cut to the next is none that is fed.
        share = np.where(square > (2 * STEP) ** 2, np.round(share), share)
        gap = np.sqrt(((ends + share[..., None] * along - places[:, None, :]) ** 2).sum(axis=2))
        worst = max(worst, float(gap.min(axis=1).max()))
    return worst


def _touched(job: str) -> list[tuple[tuple[str, ...], Any]]:
    """What a job says of the machine besides its spelling: a probe, where one is used."""
    return [(("probing",), {"touch": "G31", "zero": "G10 L20 P1 {place}"})] * (job == "probed")


@lru_cache(maxsize=4)
def plain_way(folder: Path, job: str) -> np.ndarray:
    way = way_of(folder, changed_files(_touched(job)), job)
    assert way is not None
    return way


def way_of(folder: Path, said: dict[str, Any], job: str) -> np.ndarray | None:
    """The way of all programs; None where the job is refused by a word of the machine file."""
    answer, programs = made(folder, said, job)
    assert answer in ("made", "refused"), (answer, said)
    if answer == "refused":
        return None
    ways = [fed_way(text, said, 2, 1.0) for text in programs]
    return np.concatenate([way for way in ways if len(way)])


@pytest.mark.parametrize("seed", sampled(range(600), 30, single=True))
@pytest.mark.parametrize("job", ["pinion", *(pytest.param(job, marks=pytest.mark.long)
                                             for job in ("plate", "probed", "wheel"))])
def test_the_cutter_goes_the_same_way(
    job: str, seed: int, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    said = changed_files([*_touched(job), *drawn(seed, 1 + seed % 4, WORDS)])
    usual = plain_way(tmp_path_factory.getbasetemp(), job)
    way = way_of(tmp_path, said, job)
    if way is None:
        pytest.skip("refused by a word")
    near = NEAR + 3 * 0.0254 * (said.get("program", {}).get("units") == "inch") + 3 * 10.0 ** (
        -int(said.get("numbers", {}).get("decimals", 3))) + 2 * float(
        said.get("arcs", {}).get("tolerance", 0.0))
    assert farthest(way, usual) < near, said
    assert farthest(usual, way) < near, said


def test_a_way_that_differs_is_told_apart() -> None:
    usual = np.array([(0.0, 0.0, 0.0, 0.0), (0.1, 0.0, 0.0, 0.0), (0.2, 0.0, 0.0, 0.0)])
    assert farthest(usual, usual) == 0.0
    assert farthest(usual + np.array([0, 0.05, 0, 0]), usual) == pytest.approx(0.05)
    assert farthest(np.vstack([usual, [0.5, 0, 0, 0]]), usual) == pytest.approx(0.3)
