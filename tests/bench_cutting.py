"""Answers of the planner in a second, on one core. Not part of the ordinary run:

    pytest tests/bench_cutting.py --benchmark-enable --benchmark-only
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from camgen.cutting.planner import plan_cut
from camgen.cutting.time.motion import motion_seconds
from camgen.shop.cutters import parse_cutter
from camgen.shop.machine import Machine
from camgen.shop.materials import find_material

MILL = Machine(name="mill", describes="a mill")


@pytest.mark.parametrize(("words", "asked"), [
    ("end-mill 0.4 2 flutes flute-length 0.8 reach 1.6", {}),
    ("end-mill 0.4 2 flutes flute-length 0.8 reach 1.6", {"depth": 0.25, "keep_depth": True}),
    ("end-mill 3 4 flutes flute-length 6 reach 10", {"width": 0.5}),
    ("drill 0.75 flute-length 6 reach 8", {"depth": 2.0}),
    ("form-disc 20 14 teeth arbor 8 reach 20", {"depth": 0.44}),
    ("boring-bar 4 shank 3 reach 12", {}),
    ("spot-drill 1", {}),
    ("countersink 3", {}),
    ("counterbore 2", {}),
    ("reamer 1", {}),
    ("tap 1 pitch 0.25", {}),
    ("thread-mill 0.7 pitch 0.25", {}),
    ("fly-cutter 10 1 tooth", {}),
    ("ball-end-mill 1 2 flutes flute-length 2 reach 4", {}),
    ("bull-end-mill 1 2 flutes corner 0.2 reach 4", {}),
    ("chamfer-mill 3 tip 0.2", {}),
    ("engraver 3 angle 60 tip 0.1 reach 9", {}),
])
def test_one_answer(benchmark: Any, words: str, asked: dict[str, Any]) -> None:
    brass, cutter = find_material("brass"), parse_cutter(words)
    cut = benchmark(lambda: plan_cut(brass, cutter, MILL, **asked))
    assert cut.feed > 0


EVERY_KIND = (
    "end-mill 0.4 2 flutes flute-length 0.8 reach 1.6", "drill 0.75 flute-length 6 reach 8",
    "spot-drill 1", "countersink 3", "counterbore 2", "reamer 1",
    "boring-bar 4 shank 3 reach 12", "tap 1 pitch 0.25", "thread-mill 0.7 pitch 0.25",
    "form-disc 20 14 teeth arbor 8 reach 20", "fly-cutter 10 1 tooth",
    "ball-end-mill 1 2 flutes flute-length 2 reach 4",
    "bull-end-mill 1 2 flutes corner 0.2 reach 4", "chamfer-mill 3 tip 0.2",
    "engraver 3 angle 60 tip 0.1 reach 9")


def test_one_answer_for_each_of_the_fifteen_kinds(benchmark: Any) -> None:
    brass, cutters = find_material("brass"), [parse_cutter(words) for words in EVERY_KIND]
    cuts = benchmark(lambda: [plan_cut(brass, cutter, MILL) for cutter in cutters])
    assert len(cuts) == 15


def test_time_of_a_hundred_thousand_blocks(benchmark: Any) -> None:
    count = 100_000
    angle = np.linspace(0, 600, count + 1)
    points = np.stack((angle * np.cos(angle), angle * np.sin(angle), 0 * angle), axis=1)
    motion = {"kind": np.ones(count, dtype=int), "start": points[:-1], "end": points[1:],
              "feed": np.full(count, 300.0)}
    found = benchmark(lambda: motion_seconds(MILL, **motion))
    assert found.seconds.sum() > 0
