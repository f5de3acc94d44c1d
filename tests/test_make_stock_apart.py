"""Parts on one stock held against reckonings of their own: heights from the programs' texts, the
place of a proof that fails, other orders and units."""

from __future__ import annotations

import cmath
import dataclasses
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import heights_from_text
import numpy as np
import pytest
import test_make_one_stock as one_side
import test_make_turned_stock as two_sides
from click.testing import CliRunner

from camgen.cli import group
from camgen.make.chain import proved_job
from camgen.make.one_stock import chain
from camgen.make.one_stock.chain import proved_stock
from camgen.make.one_stock.told import output_of_stock
from camgen.moves import SetupMoves
from camgen.post.writer import Program, write_programs

# Cutters of the strips' jobs, in the order of their numbers; a drill is taken with its full width.
CUTTERS = [{"diameter": 0.8}, {"diameter": 0.6}, {"diameter": 1.5}]


def left(text: bytes, places: np.ndarray) -> np.ndarray:
    """The heights at places (n) X + iY that a program leaves of stock with its face at 0."""
    points = np.column_stack([places.real, places.imag])
    return heights_from_text._lowest(text.decode("ascii"), CUTTERS, points, 0.0)


@pytest.mark.parametrize("axis", ["X", "Y"])
def test_each_piece_of_a_strip_comes_out_as_made_alone(tmp_path: Path, axis: str) -> None:
    """Heights from the texts alone: of the strip about each piece, and of the part's own job."""
    pieces = "  - {job: bar.yaml, at: [-9, 1], turned: 30}\n  - {job: disc.yaml, at: [5, -1]}"
    path = two_sides.written(tmp_path, pieces, axis)
    strip = proved_stock(path)
    assert strip.failed == ()
    net = np.random.default_rng(1).uniform(-4.4, 4.4, (1500, 2)) @ [1, 1j]
    zero = complex(-19, -6)

    def over(at: np.ndarray | complex, about: str) -> np.ndarray | complex:
        return np.conj(at) if about == "X" else -np.conj(at)

    for name, at, turn, unders in (("bar", complex(-9, 1), cmath.rect(1, math.radians(30)),
                                    (False, True)),
                                   ("disc", complex(5, -1), 1, (True, False))):
        alone = proved_job(tmp_path / f"{name}.yaml")
        assert alone.failed == ()
        for number, under in enumerate(unders):
            # Places of the part as drawn, seen from above; the second setup's zero is its first
            # pin, and with its under face up it is turned over, about Y in its own job.
            own = net - number * complex(2, 1)
            own = over(own, "Y") if under else own
            there = at + (over(net, axis) if unders[0] else net * turn)
            there = over(there - zero, axis) if number else there
            mine = left(alone.setups[number].programs[0].text, own)
            on_strip = left(strip.sides[number].programs[0].text, there)
            assert 0.004 < (mine < -1e-3).mean() < 0.9, (name, number)
            # Beside a wall, where a micrometre decides, one of some hundreds may be off.
            off = np.abs(mine - on_strip) > 2e-3
            assert off.mean() < 0.003, (name, number, net[off][:5])
            # A strip that lay 0.3 mm beside would be seen.
            beside = left(strip.sides[number].programs[0].text, there + 0.3)
            assert (np.abs(mine - beside) > 2e-3).mean() > 0.004


def harmed(of: str, change: Callable[[bytes], bytes]) -> Callable[..., Any]:
    """The writer of programs, with the first block after the comment ``of`` that it may be
    planted in changed."""
    def write(moves: SetupMoves, *args: Any, **words: Any) -> tuple[Program, ...]:
        found = []
        for one in write_programs(moves, *args, **words):
            before, mark, after = one.text.partition(of.encode())
            assert mark, one.text.decode()
            found.append(dataclasses.replace(one, text=before + mark + change(after)))
        return tuple(found)
    return write


@pytest.mark.parametrize(("piece", "of", "change"), [
    ("bar", "BAR: DRILL", lambda text: re.sub(rb"Z-0\.\d+", b"Z-0.3", text, count=1)),
    ("disc-2", "DISC: DRILL", lambda text: re.sub(rb"Z-0\.\d+", b"Z-0.2", text, count=1)),
])
def test_a_proof_that_fails_names_the_piece_and_the_line_of_its_own_job(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, piece: str, of: str,
    change: Callable[[bytes], bytes],
) -> None:
    path = one_side.written(
        tmp_path, "  - {job: bar.yaml, at: [-8, 5]}\n  - {job: disc.yaml, at: [[0, -5], [8, -5]]}")
    assert CliRunner().invoke(group, ["check", str(path)]).exit_code == 0
    monkeypatch.setattr(chain, "write_programs", harmed(of, change))
    done = CliRunner().invoke(group, ["check", str(path)])
    assert done.exit_code == 3
    kind = piece.split("-", maxsplit=1)[0]
    text = (tmp_path / f"{kind}.yaml").read_text("utf-8").splitlines()
    line = next(n for n, one in enumerate(text, 1) if "- drill" in one)
    said = " ".join(done.output.split())
    assert f"{kind}.yaml, line {line}" in said, done.output
    assert f"{kind}: " in said
    assert "no program was written" in said


def corrected(text: str, by: float) -> str:
    return text.replace("outline: {cutter: ", f"outline: {{correction: {by}, cutter: ")


@pytest.mark.parametrize("order", [(0, 1, 2, 3), (3, 2, 1, 0), (2, 0, 3, 1)])
def test_kinds_in_any_order_in_mm_and_inch_with_corrections_of_their_own(
    tmp_path: Path, order: tuple[int, ...]
) -> None:
    entries = ("  - {job: bar.yaml, at: [-8, 5], turned: 30}", "  - {job: disc.yaml, at: [2, -5]}",
               "  - {job: inch.yaml, at: [4, 6]}", "  - {job: again.yaml, at: [-10, -5]}")
    path = one_side.written(tmp_path, "\n".join(entries[n] for n in order),
                            again=corrected(one_side.BAR, 0.04))
    stock = proved_stock(path)
    assert stock.failed == ()
    side, = stock.sides
    assert [one.kind.name for one in side.kinds] == [
        ("bar", "disc", "inch", "again")[n] for n in order]
    # Of one drawing, once with 0.04 mm left on each wall: how far the mill's middle goes along Y.
    kinds = {one.kind.name: one for one in side.kinds}
    low = kinds["again"].evidence.motion
    end = low.end[(low.end[:, 2] < -0.45) & (np.hypot(*(low.end[:, :2] - (-7, -4.5)).T) > 0.6)]
    assert end[:, 1].max() - end[:, 1].min() == pytest.approx(3 + 1 + 2 * 0.05 + 2 * 0.04, abs=2e-3)
    # A disc of 0.16 inch with a mill of 1 mm round it.
    low = kinds["inch"].evidence.motion
    end = low.end[low.end[:, 2] < -0.45]
    far = np.hypot(*(end[:, :2] - (4, 6)).T).max()
    assert far == pytest.approx(0.16 * 25.4 / 2 + 0.5 + 0.05, abs=0.02)
    assert output_of_stock(stock, pictures=False).files


def test_a_strip_of_three_kinds_with_one_in_inches_is_turned_over(tmp_path: Path) -> None:
    text = two_sides.part("small", "{rectangle: [7, 5]}")
    # All lengths over 25.4; what is counted or turned stays.
    text = re.sub(r"(?<![\w.])(?<![a-z]-)(?<!flutes: )(?<!angle: )-?\d+(\.\d+)?",
                  lambda one: f"{float(one[0]) / 25.4:.6f}", text).replace(
        "job: small", "job: small\nunits: inch")
    for order in (0, 1):
        entries = ["  - {job: small.yaml, at: [13, 2]}",
                   "  - {job: bar.yaml, at: [-9, 1], turned: 30}",
                   "  - {job: disc.yaml, at: [3, -1]}"]
        path = two_sides.written(tmp_path, "\n".join(entries[::-1] if order else entries),
                                 small=text)
        stock = proved_stock(path)
        assert stock.failed == ()
        assert output_of_stock(stock, pictures=False).files
