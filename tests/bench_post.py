"""Compactness and speed of writing. Run by hand:

    python -m pytest tests/bench_post.py --benchmark-enable -s
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from test_post_jobs import JOBS, setups

from camgen.moves import Arc, Feed, Move, Rapid, Section, SetupMoves
from camgen.post.writer import write_programs
from camgen.shop.machines import find_machine, machine_names

MANY = 100_000


def spiral(arcs: bool) -> SetupMoves:
    moves: list[Move] = [Rapid(z=5.0), Rapid(x=10.0, y=0.0)]
    for k in range(1, MANY + 1):
        angle, radius = 0.31 * k, 10.0 + (0.0 if arcs else 1e-4 * k)
        x, y = radius * math.cos(angle), radius * math.sin(angle)
        moves.append(Arc(100.0, (0.0, 0.0), False, x=x, y=y) if arcs else Feed(100.0, x=x, y=y))
    moves.append(Rapid(z=5.0))
    return SetupMoves("spiral", (Section("spiral", 0, "m", 1, "MILL", 9000, tuple(moves)),))


@pytest.mark.parametrize("arcs", [False, True], ids=["lines", "arcs"])
def test_a_hundred_thousand_moves(benchmark: Any, arcs: bool) -> None:
    machine, setup = find_machine("plain-iso"), spiral(arcs)
    benchmark.extra_info["moves"] = MANY
    benchmark.pedantic(lambda: write_programs(setup, machine, stem="a"), rounds=3)


@pytest.mark.parametrize("post", machine_names())
@pytest.mark.parametrize("job", JOBS)
def test_bytes_and_blocks(benchmark: Any, job: str, post: str) -> None:
    machine, planned = setups(job, post)
    texts = benchmark.pedantic(lambda: [
        program.text for name, moves in planned
        for program in write_programs(moves, machine, stem=name)
    ], rounds=1)
    size, blocks = sum(map(len, texts)), sum(text.count(b"\n") for text in texts)
    benchmark.extra_info |= {"bytes": size, "blocks": blocks, "parts": len(texts)}
    print(f"{job} on {post}: {size} bytes, {blocks} blocks, {len(texts)} programs")
