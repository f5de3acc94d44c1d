"""The order of several jobs' steps in one program: each job's own kept, fewest cutter changes.

What each job does with one cutter before its next change goes together with what others do with the
same cutter. Of all orders that keep each job's own, one with the fewest changes is found, by going
through all that can be reached, the nearest first; where there are too many of them, at each change
the cutter is taken that takes the most jobs on, which need not be the fewest.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

__all__ = ["MOST_STATES", "in_one_order"]

# More states than these are not gone through.
MOST_STATES = 100_000


def in_one_order(cutters: Sequence[Sequence[int]]) -> tuple[tuple[int, int], ...]:
    """Job and step of each step, in order; ``cutters`` are the numbers of each job's, step by step.

    >>> in_one_order([[1, 2, 3], [2, 3, 3]])
    ((0, 0), (0, 1), (1, 0), (0, 2), (1, 1), (1, 2))
    """
    runs = [[(cutter, [n for n, _ in steps]) for cutter, steps in groupby(
        enumerate(mine), key=lambda one: one[1])] for mine in cutters]
    states = 1
    for mine in runs:
        states *= len(mine) + 1
    chosen = (_fewest if states <= MOST_STATES else _widest)(
        [[cutter for cutter, _ in mine] for mine in runs])
    done = [0] * len(runs)
    order: list[tuple[int, int]] = []
    for cutter in chosen:
        for job, mine in enumerate(runs):
            if done[job] < len(mine) and mine[done[job]][0] == cutter:
                order += [(job, step) for step in mine[done[job]][1]]
                done[job] += 1
    return tuple(order)


def _after(runs: Sequence[Sequence[int]], state: tuple[int, ...], cutter: int) -> tuple[int, ...]:
    return tuple(at + (at < len(mine) and mine[at] == cutter)
                 for at, mine in zip(state, runs, strict=True))


def _next(runs: Sequence[Sequence[int]], state: tuple[int, ...]) -> list[int]:
    return sorted({mine[at] for at, mine in zip(state, runs, strict=True) if at < len(mine)})


def _fewest(runs: Sequence[Sequence[int]]) -> list[int]:
    """The cutters in an order with the fewest changes."""
    begin = (0,) * len(runs)
    end = tuple(len(mine) for mine in runs)
    came: dict[tuple[int, ...], tuple[tuple[int, ...], int]] = {}
    front = [begin]
    while end not in came and end != begin:
        further: list[tuple[int, ...]] = []
        for state in front:
            for cutter in _next(runs, state):
                there = _after(runs, state, cutter)
                if there not in came:
                    came[there] = (state, cutter)
                    further.append(there)
        front = further
    way: list[int] = []
    here = end
    while here != begin:
        here, cutter = came[here]
        way.append(cutter)
    return way[::-1]


def _widest(runs: Sequence[Sequence[int]]) -> list[int]:
    """The cutters, each time one that takes the most jobs on."""
    state, way = (0,) * len(runs), []
    while ahead := _next(runs, state):
        cutter = max(ahead, key=lambda one: (sum(_after(runs, state, one)), -one))
        way.append(cutter)
        state = _after(runs, state, cutter)
    return way
