"""Independent parsers from the registry read the same words and come to the same points."""

from __future__ import annotations

import random
import re
import warnings

import gcodeparser
import numpy as np
import pygcode
import pytest
from reader_machines import OPENING, PLAIN, read
from reader_texts import plain_line

from camgen.reader.text.words import split_block


def shared_blocks(seed: int, many: int = 60) -> list[str]:
    """Blocks of lines and arcs as all three read them: capitals, one motion word at most."""
    dice = random.Random(seed)
    place = [0.0, 0.0, -0.2]
    text: list[str] = []
    while len(text) < many:
        for line in plain_line(dice, place).upper().split("\n"):
            if line and "A" not in line:
                # One of the parsers reads no number that ends with its point.
                text.append(re.sub(r"\.(?![0-9])", ".0", line.removeprefix("G17 ")))
    return text


@pytest.mark.parametrize("seed", range(4))
def test_the_points_are_those_of_an_independent_machine(seed: int) -> None:
    blocks = shared_blocks(seed)
    opening = OPENING + "G0 Z5.\nX0. Y0.\nG1 Z-0.2\n"
    program = read("\n".join(blocks), opening=opening, on=PLAIN)
    other = pygcode.Machine()
    for line in ("G21 G17 G90 G94", "S12000 M3", "F100", "G0 Z5", "G0 X0 Y0", "G1 Z-0.2"):
        other.process_block(pygcode.Line(line).block)
    first = opening.count("\n") + 1
    after = {int(line): end for line, end in zip(program.motion.line, program.motion.end,
                                                 strict=True)}
    here = np.array([0.0, 0.0, -0.2])
    for number, line in enumerate(blocks, start=first):
        other.process_block(pygcode.Line(line).block)
        here = after.get(number, here)
        theirs = [float(other.pos.values[axis]) for axis in "XYZ"]
        assert np.allclose(here, theirs, atol=1e-9), (number, line)


def test_the_words_are_those_of_an_independent_parser() -> None:
    for seed in range(4):
        for line in shared_blocks(seed):
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                theirs = gcodeparser.GcodeParser(line).lines
            if not theirs or theirs[0].command[0] != "G":
                continue
            ours = {w.letter: w.value for w in split_block(line).words if w.letter != "G"}
            assert ours == {k: float(v) for k, v in theirs[0].params.items()}, line
