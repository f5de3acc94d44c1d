"""Tables of errors count as ISO 841 says, also where words count against it: told so, used so."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from simulated_mill import Mill

from camgen.messages import Message
from camgen.moves import Feed, Index, Move, Rapid, Section, SetupMoves
from camgen.post.machine_file.explain import in_sentences
from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.shop.machine import Machine

PLACES = ((-20.0, -12.0, 0.0), (20.0, 5.0, 72.0), (3.0, 12.0, 144.0), (-7.0, 0.0, 216.0))


def slide(at: float) -> float:
    """A screw's error that is another on either side of nothing, mm."""
    return 0.0004 * at + 0.00002 * at * at


def worm(angle: float) -> float:
    """A worm wheel's error, arc-seconds: against the sense it is another."""
    return 20.0 * math.sin(math.radians(angle)) + 9.0 * math.cos(math.radians(2.0 * angle))


def machine(senses: tuple[int, int, int, int], *, mirrored: bool = False) -> Machine:
    """Measured as it is; ``mirrored`` as if tables counted as the words do."""
    def said(axis: int) -> str:
        return "iso" if senses[axis] > 0 else "reversed"

    def way(axis: int) -> int:
        return senses[axis] if mirrored else 1

    data: dict[str, Any] = {"name": "m", "describes": "m"}
    for axis, name in enumerate("xy"):
        data[name] = {"sense": said(axis), "errors": [
            [at, way(axis) * slide(way(axis) * at)] for at in range(-30, 31)]}
    data["z"] = {"sense": said(2)}
    data["dividing"] = {"kind": "driven", "sense": said(3), "errors": [
        [at, way(3) * worm(way(3) * at)] for at in range(0, 360, 3)]}
    return Machine.model_validate(data)


def come_to(senses: tuple[int, int, int, int], on: Machine) -> np.ndarray:
    """(4, 3) X, Y and angle where such a mill comes to, run by what is written for ``on``."""
    moves: list[Move] = [Rapid(z=20.0)]
    for space, (x, y, angle) in enumerate(PLACES):
        moves += [Index(angle, space), Rapid(x=x, y=y), Feed(100, z=-1.0), Rapid(z=20.0)]
    section = Section(Message("holes"), 0, "c", 1, Message("c"), 2000, tuple(moves))
    [program] = write_programs(SetupMoves("t", (section,), "Z", 20.0), on, stem="t")
    motion = read_program(program.text, on).motion
    deep = motion.end[:, 2] < -0.5
    assert motion.end[deep][:, :2] == pytest.approx(np.array(PLACES)[:, :2], abs=0.001)
    assert motion.angle_end[deep] == pytest.approx(np.array(PLACES)[:, 2], abs=0.001)
    mill = Mill(off=(slide, slide, lambda at: 0.0), head=worm, senses=senses)
    strokes = mill.run(program.text.decode()).strokes
    return np.array([(one.x, one.y, one.angle) for one in strokes if one.z < -0.5])


@pytest.mark.parametrize("senses", [
    (1, 1, 1, 1), (-1, 1, 1, 1), (1, -1, 1, 1), (1, 1, 1, -1), (-1, -1, -1, -1)])
def test_a_table_is_used_in_the_sense_that_is_told(senses: tuple[int, int, int, int]) -> None:
    """Measured as ISO 841 counts the mill comes true; counted as the words do it would not."""
    got = come_to(senses, machine(senses))
    assert got[:, :2] == pytest.approx(np.array(PLACES)[:, :2], abs=0.0012)
    assert got[:, 2] == pytest.approx(np.array(PLACES)[:, 2], abs=3 / 3600)
    if -1 not in senses:
        return
    off = np.abs(come_to(senses, machine(senses, mirrored=True)) - np.array(PLACES)).max(axis=0)
    for axis, column, least in ((0, 0, 0.01), (1, 1, 0.004), (3, 2, 10 / 3600)):
        assert (off[column] > least) == (senses[axis] < 0)


@pytest.mark.parametrize("axis", [0, 1, 3])
def test_the_sense_of_a_table_is_told(axis: int) -> None:
    """With a pair of figures that belong together; where words count so themselves, not at all."""
    senses = [1, 1, 1, 1]
    senses[axis] = -1
    said = [str(one) for one in in_sentences(machine((senses[0], senses[1], 1, senses[3])))]
    told = [one for one in said if "count as ISO 841 says" in one]
    assert told == [
        "Its angles and errors count as ISO 841 says, against the words of the head: told A-357, "
        "it stands at 357 of the table." if axis == 3 else
        f"Its places and errors count as ISO 841 says, against the words of {'XY'[axis]}: at the "
        "word -30 the slide stands at 30 of the table."]
    assert not [one for one in map(str, in_sentences(machine((1, 1, 1, 1))))
                if "count as ISO 841 says" in one]
