"""Machines and the opening of programs, for tests of the reader."""

from __future__ import annotations

from typing import Any

import numpy as np

from camgen.reader import read_program
from camgen.reader.motion import ReadProgram
from camgen.shop.machine import Machine

OPENING = "%\nG21 G17 G90 G94 G40 G49 G80 G54\nT1 M6 (FIT CUTTER 1 MILL)\nS12000 M3\nF100.\n"
OPENING_LINES = OPENING.count("\n")
AT_1_2_3 = OPENING + "G0 Z3.\nX1. Y2.\n"


def machine(**words: Any) -> Machine:
    """A machine with a driven head, plain but for the sections given."""
    whole: dict[str, Any] = {"name": "bench", "describes": "for tests", "dividing": {
        "kind": "driven"}}
    whole.update(words)
    return Machine.model_validate(whole)


PLAIN = machine()
MACHINES = (
    PLAIN,
    machine(numbers={"point": "never"}, x={"sense": "reversed"}, rotary={"way": "shortest"},
            dividing={"kind": "driven", "sense": "reversed"}),
    machine(numbers={"point": "needed"}, program={"units": "inch"}, arcs={"style": "absolute"},
            offsets={"length": "table"}, change={"way": "automatic"}),
    machine(dividing={"kind": "by-hand", "plates": [[15]]}, y={"letter": "U"}),
)


def read(blocks: str, *, opening: str = AT_1_2_3, on: Machine = PLAIN) -> ReadProgram:
    """``blocks`` between an opening and an end, read."""
    return read_program(f"{opening}{blocks}\nM30\n%\n", on, "test.nc")


def moves(program: ReadProgram, opening: str = AT_1_2_3) -> list[tuple[int, list[float]]]:
    """Kind and end of each piece the blocks after the opening make."""
    motion = program.motion
    mine = motion.line > opening.count("\n")
    return [
        (int(kind), [round(float(value), 6) for value in end])
        for kind, end in zip(motion.kind[mine], motion.end[mine], strict=True)
    ]


def messages(program: ReadProgram) -> list[str]:
    """What was found, in words."""
    return [found.message for found in program.findings]


def ends(program: ReadProgram) -> np.ndarray:
    """(n, 3) ends of all pieces."""
    return program.motion.end


def last(program: ReadProgram, name: str) -> list[float]:
    """A figure of the last piece of motion."""
    return [round(float(value), 6) for value in np.atleast_1d(getattr(program.motion, name)[-1])]


def grave(program: ReadProgram) -> list[str]:
    """What the reader found grave."""
    return [found.message for found in program.findings if found.grave]
