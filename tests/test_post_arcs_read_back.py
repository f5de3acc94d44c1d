"""Arcs of any size on machines of any increments are taken by a control without a word."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import product

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from sampling import sampled

from camgen.messages import Message
from camgen.moves import Arc, Feed, Move, Rapid, Section, SetupMoves
from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.shop.machine import ArcWords, LinearAxis, Machine

INCREMENTS = (0.001, 0.002, 0.005, 0.01)
MACHINES = [
    Machine(name="mine", describes="mine", x=LinearAxis(increment=one),
            y=LinearAxis(increment=other), arcs=ArcWords(style=style))
    for (one, other), style in product(product(INCREMENTS, INCREMENTS),
                                       ("incremental", "absolute", "radius"))
]


def troubles(
    machine: Machine, arcs: Sequence[tuple[float, float, float, float, float, bool]]
) -> list[str]:
    """What a control finds amiss in a program of such arcs: middle, radius, start, sweep, sense."""
    moves: list[Move] = []
    for x, y, radius, start, sweep, clockwise in arcs:
        begin, end = ((x + radius * math.cos(angle), y + radius * math.sin(angle))
                      for angle in (start, start - sweep if clockwise else start + sweep))
        moves += [Rapid(z=5.0), Rapid(*begin), Feed(50.0, z=-0.1),
                  Arc(100.0, (x, y), clockwise, *end)]
    mill = Message("mill")
    section = Section(mill, 0, "mill", 1, mill, 1000.0, (*moves, Rapid(z=5.0)))
    (program,) = write_programs(SetupMoves("arcs", (section,)), machine, stem="arcs")
    read = read_program(program.text, machine, program.file)
    return [str(one.message) for one in read.findings if one.grave]


@given(st.sampled_from(MACHINES), st.tuples(
    st.floats(-20, 20), st.floats(-20, 20), st.floats(0.02, 30), st.floats(-3, 3),
    st.floats(0.01, 6), st.booleans()))
@example(MACHINES[0], (1.0, 2.0, 3.0, 0.0, 1.5, False))
def test_a_control_finds_every_arc_closed(
    machine: Machine, arc: tuple[float, float, float, float, float, bool]
) -> None:
    assert troubles(machine, [arc]) == []


@pytest.mark.parametrize("machine", sampled(MACHINES, 7, single=True),
                         ids=lambda one: f"{one.x.increment} {one.y.increment} {one.arcs.style}")
def test_small_arcs_whose_radii_just_agree_are_taken(machine: Machine) -> None:
    """On a grid of 5 and 2 µm the ends of a small arc often lie 2 µm off, the most there may be."""
    arcs = [(x / 1000, 0.001, radius / 1000, quarter * math.pi / 2, math.pi / 2, clockwise)
            for x, radius, quarter, clockwise in product(
                range(3), range(20, 60), range(4), (False, True))]
    assert troubles(machine, arcs) == []
