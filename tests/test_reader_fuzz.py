"""However bad the text, the reader answers: a program with findings, or a refusal."""

from __future__ import annotations

import random
import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reader_machines import MACHINES, PLAIN
from reader_texts import HEAD, ODD, TAIL, mutated, random_program
from sampling import few

from camgen.faults import Refused
from camgen.reader import read_program
from camgen.shop.machine import Machine


def answer(text: str | bytes, on: Machine) -> None:
    """Read, and see that the answer is whole."""
    try:
        program = read_program(text, on, "t.nc")
    except Refused as no:
        if not no.faults:
            raise
        return
    motion = program.motion
    count = len(motion)
    assert np.isfinite(motion.end).all()
    assert np.array_equal(motion.start[1:], motion.end[:-1])
    assert np.array_equal(motion.angle_start[1:], motion.angle_end[:-1])
    arcs = (motion.kind == 2) | (motion.kind == 3)
    assert (np.isfinite(motion.centre[arcs]).sum(axis=1) == 2).all()
    assert all(0 <= event.before <= count for event in program.events)
    assert all(found.line >= 1 for found in program.findings)
    assert len(program.findings) < 5000


@settings(max_examples=few(150), deadline=None)
@given(st.one_of(st.text(max_size=200), st.binary(max_size=200)), st.sampled_from(MACHINES))
def test_any_text_is_answered(text: str | bytes, on: Machine) -> None:
    answer(text, on)


@settings(max_examples=few(100), deadline=None)
@given(st.lists(st.sampled_from(ODD), max_size=30), st.sampled_from(MACHINES))
def test_any_words_in_any_order_are_answered(blocks: list[str], on: Machine) -> None:
    answer("\n".join((*HEAD, *blocks, *TAIL)), on)


@settings(max_examples=few(100), deadline=None)
@given(st.integers(0, 10**9), st.sampled_from(MACHINES))
def test_damaged_programs_are_answered(seed: int, on: Machine) -> None:
    answer(mutated(random_program(seed, 40, 0.1).encode(), seed), on)


@pytest.mark.parametrize(
    "text",
    ["(" * 100_000, "G1" * 100_000, "X" * 100_000, "%" * 1000, "\n" * 100_000, "/" * 10_000,
     "G1 X" + "9" * 10_000, "G1 X0." + "1" * 10_000, "#" * 100_000, " " * 100_000 + "X",
     "M98 P1\n" * 10_000, "N" + "1" * 5000, "\x00" * 10_000, "G1 X1." + " " * 50_000 + "Y"],
)
def test_texts_made_to_choke_a_reader_are_answered(text: str) -> None:
    answer(text, PLAIN)


@pytest.mark.long
def test_memory_stays_within_bounds_in_bad_text() -> None:
    text = "\n".join((*HEAD, *("G1 X1 Y2 Q3 @" for _ in range(3000)), *TAIL))
    tracemalloc.start()
    answer(text, PLAIN)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 1500 * 3000


@pytest.mark.long
def test_a_hundred_thousand_damaged_programs_are_answered() -> None:
    dice = random.Random(20)
    whole = [random_program(seed, 30, 0.1).encode() for seed in range(200)]
    for seed in range(100_000):
        answer(mutated(dice.choice(whole), seed), dice.choice(MACHINES))
