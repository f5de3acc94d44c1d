"""Machines of any sort, measured at random: what is read back is the work as planned."""

from __future__ import annotations

import random

import pytest
from post_support import follow
from random_machines import random_machine
from sampling import sampled

from camgen.post.trying.trial import trial_moves
from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.shop.machine import Machine


def measured_at_random(seed: int) -> Machine:
    """A machine of any sort, measured at random as far as its other words allow."""
    rng = random.Random(seed)
    drawn = random_machine(seed)
    data = drawn.model_dump(by_alias=True)
    data["program"]["largest"] = None
    data["blocks"]["longest"] = 120
    if data["rotary"]["way"] == "one-way":
        data["rotary"]["way"] = "absolute"
    free = not data["subprograms"]["use"]

    def table() -> list[list[float]]:
        return [[place, rng.uniform(-0.02, 0.02)] for place in (-60.0, 0.0, 9.0, 60.0)]

    for axis in "xyz":
        if free and rng.random() < 0.3:
            data[axis] |= {"errors": table(), "errors-zero": rng.choice([0.0, 3.0])}
        else:
            data[axis]["scale"] = rng.uniform(0.997, 1.003)
    if free:
        data["squareness"] = rng.uniform(-0.3, 0.3)
    if data["dividing"] and data["dividing"]["kind"] == "driven":
        data["dividing"]["errors"] = [[place, rng.uniform(-20, 20)] for place in (0, 100, 270)]
    return Machine.model_validate(data)


@pytest.mark.parametrize("seed", sampled(range(160), 20))
def test_any_machine_measured_makes_what_was_meant(seed: int) -> None:
    """Units, senses, letters, cycles, repeats, arcs of every form: what is read back is the work
    as planned."""
    machine = measured_at_random(seed)
    moves = trial_moves(machine)
    read = [read_program(one.text, machine, one.file)
            for one in write_programs(moves, machine, stem="t")]
    assert not [one for program in read for one in program.findings if one.grave]
    assert follow(moves, machine, read) == []
