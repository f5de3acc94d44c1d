"""Centres without a sign: every arc in one quadrant of its own centre as it is written."""

from __future__ import annotations

import random
from math import cos, pi, sin

import numpy as np
import pytest
from odd_machines import machine_with
from sampling import sampled

from camgen.faults import Refused
from camgen.messages import Message
from camgen.moves import Arc, Feed, Move, Rapid, Section, SetupMoves
from camgen.post.writer import write_programs
from camgen.proof.ground.matching import match
from camgen.proof.ground.planned import lay_out
from camgen.reader import read_program
from camgen.shop.machine import Machine

UNSIGNED = "arcs: {unsigned: true, quadrants: true}\n"
WITH = ("", "program: {units: inch}\nnumbers: {decimals: 4, feed-decimals: 3}\n",
        "x: {increment: 0.005}\n", "x: {increment: 0.005}\ny: {increment: 0.005}\n",
        "y: {sense: reversed}\n", "x: {scale: 1.0004}\n", "squareness: 0.05\n",
        "blocks-per-second: 20\n")


def arcs_at_random(seed: int) -> SetupMoves:
    """Arcs that begin a hair before an axis direction of their centre, or behind it."""
    rng = random.Random(seed)
    moves: list[Move] = []
    for _ in range(12):
        radius = 10 ** rng.uniform(-1.3, 1.3)
        middle = (rng.uniform(-9, 9), rng.uniform(-9, 9))
        begin = rng.randrange(4) * pi / 2 + rng.choice((0.0, 1e-3, -1e-3, 0.01, -0.01, 0.3)) / max(
            radius, 0.3)
        sweep = rng.choice((1, -1)) * rng.choice((0.02, 0.14, 1.0, 3.0)) / max(radius, 1.0)
        ends = [(middle[0] + radius * cos(a), middle[1] + radius * sin(a))
                for a in (begin, begin + sweep)]
        moves += [Rapid(z=1.0), Rapid(*ends[0]), Feed(90.0, z=-0.1),
                  Arc(300.0, middle, sweep < 0, *ends[1],
                      -0.12 if rng.random() < 0.3 else None)]
    text = Message("arcs")
    return SetupMoves("arcs", (Section(text, 0, "m", 1, text, 9000.0, (
        Rapid(z=5.0), *moves, Rapid(z=5.0))),))


def _refused(moves: SetupMoves, machine: Machine) -> bool:
    """Whether no place of a coarse grid is near enough to an axis direction, and the word named."""
    try:
        write_programs(moves, machine, stem="arcs")
    except Refused as no:
        return "arcs.unsigned" in str(no)
    return False


@pytest.mark.parametrize("seed", sampled(range(800), 32))
def test_arcs_near_an_axis_direction_are_written_and_read_back(seed: int) -> None:
    machine = machine_with("plain-iso", UNSIGNED + WITH[seed % len(WITH)])
    moves = arcs_at_random(seed)
    if machine.coarsest > 0.002 and _refused(moves, machine):
        return
    (program,) = write_programs(moves, machine, stem="arcs")
    read = read_program(program.text, machine, program.file)
    assert not [one for one in read.findings if one.grave]
    found = match(lay_out(moves).motion, read.motion, moves, machine,
                  np.zeros(len(read.motion), dtype=np.int64))
    assert (found.stray, found.missing) == (-1, -1)


@pytest.mark.parametrize("quadrants", ["true", "false"])
def test_on_a_coarse_grid_arcs_stay_where_they_were_meant(quadrants: str) -> None:
    """A part that leads aside by a step, and half a circle about a middle that lies off."""
    for seed in range(0, 80, 4):
        machine = machine_with("plain-iso", f"arcs: {{quadrants: {quadrants}}}\n" + WITH[2])
        moves = arcs_at_random(seed)
        (program,) = write_programs(moves, machine, stem="arcs")
        read = read_program(program.text, machine, program.file).motion
        found = match(lay_out(moves).motion, read, moves, machine,
                      np.zeros(len(read), dtype=np.int64))
        assert (found.stray, found.missing) == (-1, -1)
