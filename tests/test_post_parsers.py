"""Independent parsers from the registry read the posts they can read to the same points."""

from __future__ import annotations

import re
import warnings
from pathlib import Path

import gcodeparser
import numpy as np
import pygcode
import pytest
from demos import proved_demo
from post_support import random_flat, written_and_read
from sampling import sampled

from camgen.reader.motion import ReadProgram
from camgen.shipped import demo_jobs
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine

# Posts whose words these parsers know: numbers with points or whole ones, plain G and M words.
# They read no number that ends with its point, no arcs by radius, no fixed
# cycles' returns, no words run together and no numbers without a point.
READABLE = ("plain-iso", "plain-iso-inch", "line-moves-only", "signed-rotary-inverse-time",
            "one-program-per-cutter", "shortest-way-rotary", "upright-rotary-horizontal-cutter",
            "hand-dividing")


def as_they_read(line: str) -> str:
    """The line with a figure behind every point, comments left out."""
    line = re.sub(r"\(.*?\)|;.*", "", line).strip()
    return re.sub(r"\.(?![0-9])", ".0", line)


def points_compared(text: str, read: ReadProgram, machine: Machine) -> int:
    """How many blocks of a program both readers were found to end at the same point."""
    theirs = pygcode.Machine()
    scale = 25.4 if machine.program.units == "inch" else 1.0
    # The last piece that a block makes ends where the block does.
    ends = dict(zip(read.motion.line.tolist(), read.motion.end, strict=True))
    compared = 0
    seen: set[str] = set()
    for number, block in enumerate(text.splitlines(), start=1):
        line = as_they_read(block)
        if not re.search(r"[XYZ]", line) or line.startswith("G53"):
            if re.match(r"G(0|1|2|3|17|18|19|20|21|90)\b", line):
                theirs.process_block(pygcode.Line(line.split(" G40")[0]).block)
            continue
        theirs.process_block(pygcode.Line(line).block)
        seen |= set(re.findall("[XYZ]", line))
        # Before all three are given the places are anyone's guess.
        if len(seen) == 3 and number in ends and np.isfinite(ends[number]).all():
            place = [float(theirs.pos.values[axis]) for axis in "XYZ"]
            assert np.allclose(np.array(place) * scale, ends[number], atol=1e-6), (number, block)
            compared += 1
    return compared


@pytest.mark.parametrize("name", sampled(READABLE, 2))
@pytest.mark.parametrize("seed", sampled(range(2), 3))
def test_an_independent_machine_comes_to_the_same_points(name: str, seed: int) -> None:
    machine = find_machine(name)
    texts, read = written_and_read(random_flat(seed, planes=("XY",), sections=1), machine)
    assert points_compared(texts[0].decode(), read[0], machine) > 20


@pytest.mark.parametrize("job", sampled(demo_jobs(), 8, 1), ids=lambda path: path.stem)
def test_every_demo_program_ends_its_blocks_where_an_independent_machine_does(job: Path) -> None:
    proved = proved_demo(job.stem)
    assert proved.machine.name in READABLE
    for setup in proved.setups:
        for program, read in zip(setup.programs, setup.read, strict=True):
            text = program.text.decode()
            moving = sum(bool(re.search(r"^[^(;%]*[XYZ][-+.\d]", line))
                         for line in text.splitlines())
            compared = points_compared(text, read, proved.machine)
            # Not compared are the first few, before every axis has a place, and those that go
            # where the cutter stands already.
            assert 0.95 * moving <= compared <= moving


@pytest.mark.parametrize("name", READABLE)
def test_an_independent_parser_reads_the_words_that_were_written(name: str) -> None:
    texts, _ = written_and_read(random_flat(3, sections=1), find_machine(name))
    compared = 0
    for text in texts[0].decode().splitlines():
        line = as_they_read(text)
        if not re.match(r"G[0-3] ", line):
            continue
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            theirs = gcodeparser.GcodeParser(line).lines[0]
        words = dict(re.findall(r"([XYZABCIJKF])(-?[\d.]+)", line))
        assert theirs.command_str == line[:2]
        assert {k: float(v) for k, v in theirs.params.items()} == {
            k: float(v) for k, v in words.items()
        }
        compared += 1
    assert compared > 10
