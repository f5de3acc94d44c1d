"""Plain moves carried out all at once make what they make one by one."""

from __future__ import annotations

import random
from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reader_machines import AT_1_2_3, MACHINES, PLAIN, machine
from reader_texts import mutated, random_program
from sampling import few, sampled

from camgen.faults import Refused
from camgen.reader import read_program
from camgen.reader.control.state import BlockNumbers, Control
from camgen.reader.motion import Motion, ReadProgram
from camgen.reader.runs import _uneven
from camgen.shop.machine import Machine

LENGTHS = machine(offsets={"length": "table"})


def both_ways(text: str | bytes, on: Machine) -> tuple[ReadProgram | str, ReadProgram | str]:
    """What is read at once and one by one: the program, or the refusal's words."""
    answers: list[ReadProgram | str] = []
    for fast in (True, False):
        try:
            answers.append(read_program(text, on, "t.nc", fast=fast))
        except Refused as no:
            answers.append(str(no))
    return answers[0], answers[1]


def assert_same(text: str | bytes, on: Machine) -> None:
    """Reading at once and one by one give one answer, to the last bit."""
    one, other = both_ways(text, on)
    if isinstance(one, str) or isinstance(other, str):
        assert one == other
        return
    for field in fields(Motion):
        mine, theirs = getattr(one.motion, field.name), getattr(other.motion, field.name)
        assert mine.dtype == theirs.dtype
        assert np.array_equal(mine, theirs, equal_nan=mine.dtype.kind == "f"), field.name
    assert np.isfinite(one.motion.start).all()
    assert np.isfinite(one.motion.end).all()
    assert one.events == other.events
    assert one.findings == other.findings
    assert one.words == other.words
    assert one.units == other.units


@settings(max_examples=few(60), deadline=None)
@given(
    st.integers(0, 10**9), st.sampled_from(MACHINES),
    st.sampled_from((40, 150, 300)), st.sampled_from((0.0, 0.005, 0.02, 0.1)),
)
def test_random_programs_read_the_same_both_ways(
    seed: int, on: Machine, lines: int, odd: float
) -> None:
    assert_same(random_program(seed, lines, odd), on)


@settings(max_examples=few(40), deadline=None)
@given(st.integers(0, 10**9), st.sampled_from(MACHINES))
def test_damaged_programs_read_the_same_both_ways(seed: int, on: Machine) -> None:
    assert_same(mutated(random_program(seed, 120, 0.01).encode(), seed), on)


@pytest.mark.parametrize("page", sampled([16_384, 16_385, 40_000], 3))
def test_programs_longer_than_a_page_read_the_same_both_ways(page: int) -> None:
    dice = random.Random(page)
    body = "\n".join(
        f"X{dice.uniform(-9, 9):.3f} Y{dice.uniform(-9, 9):.3f}" for _ in range(page)
    )
    text = random_program(page, 30, 0.0).replace("\nG0 Z5.\nM5", f"\nG1\n{body}\nG0 Z5.\nM5")
    assert_same(text, PLAIN)


@pytest.mark.parametrize(("on", "said", "told"), [
    (PLAIN, "", 0), (PLAIN, "M5", 1), (PLAIN, "M5\nS900 M3", 0), (LENGTHS, "", 0),
    (LENGTHS, "G49", 1), (LENGTHS, "M5 G49", 2), (LENGTHS, "G49\nG43 H1", 0)])
def test_a_run_of_cuts_says_once_what_its_first_cut_lacks(
    on: Machine, said: str, told: int
) -> None:
    """A spindle that turns, and where lengths stand in the control's table one in force."""
    cuts = "\n".join(f"X{at}.5 Y-{at}.25" for at in range(60))
    begin = (f"{AT_1_2_3.replace('G49 ', '')}{'G43 H1' if on is LENGTHS else ''}\n"
             f"G1 X1.5 F100.\nX2. Y1.\n{said}\nG0 X3.\nX4.\nX5.\nX6.\nX7.\nX8.\n")
    text = f"{begin}G1 {cuts}\nM30\n%\n"
    assert_same(text, on)
    found = [one.line for one in read_program(text, on, "t.nc").findings
             if one.message.startswith("a feed move with ")]
    assert found == [begin.count("\n") + 1] * told


def test_a_subprogram_of_plain_moves_reads_the_same_both_ways() -> None:
    body = "\n".join(f"G1 X{at}.5 Y-{at}.25" for at in range(60))
    text = random_program(3, 30, 0.0).replace("\nM5", "\nM98 P12 L5\nM5").replace(
        "\nM30", f"\nM30\nO12\n{body}\nM99")
    assert_same(text.replace("\r\n", "\n"), PLAIN)


def test_a_run_of_rapids_says_that_the_cutter_has_not_gone_clear() -> None:
    """Where a cutter was changed by hand and only fed moves across came after it."""
    cuts, rapids = (f"G{code} " + "\n".join(f"X{at}.5" for at in range(30)) for code in (1, 0))
    text = f"{AT_1_2_3}G1 X1.5 F100.\nM5\nT2 M6\nS9000 M3\n{cuts}\n{rapids}\nM30\n%\n"
    assert_same(text, PLAIN)
    (found,) = (one for one in read_program(text, PLAIN, "t.nc").findings
                if "before it has gone clear" in one.message)
    assert text.splitlines()[found.line - 1] == "G0 X0.5"


@pytest.mark.parametrize(("last", "step", "numbers", "uneven"), [
    (10.0, 10.0, [20.0, 30.0, np.nan, 40.0, 55.0, 55.0], [False, False, False, True, True]),
    (20.0, 10.0, [20.0, 30.0, np.nan, 40.0], [True, False, False]),
    (10.0, -1.0, [20.0, 45.0, np.nan, 46.0, 46.0, 45.0], [False, False, False, True, True]),
    (10.0, 0.0, [20.0, 30.0], [True, True]), (-1.0, 0.0, [20.0, 30.0], [True, True]),
])
def test_numbers_that_go_on_by_their_step_are_no_trouble(
    last: float, step: float, numbers: list[float], uneven: list[bool]
) -> None:
    control = Control.__new__(Control)
    control.numbers = BlockNumbers(last=last, step=step)
    column = np.array(numbers)
    assert _uneven(control, column)[~np.isnan(column)].tolist() == uneven
