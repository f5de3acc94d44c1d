"""What the reader keeps of very much, and how its figures are rounded."""

from __future__ import annotations

import math

import numpy as np
import pytest
from reader_machines import PLAIN

from camgen.reader import read_program
from camgen.reader.notes import Refusals
from camgen.reader.summary import _three


class _Few(Refusals):
    MOST_PLACES = 6
    MOST_SORTS = 2


def test_of_very_many_refusals_the_first_sorts_keep_their_places() -> None:
    notes = _Few()
    assert not notes
    for line, message in enumerate(("one", "two", "three", "one", "two", "one", "one", "two")):
        notes.add(message, line, line % 2)
    # "three" is a sort too many; the seventh and eighth are beyond the places kept.
    assert dict(notes) == {"one": [(0, 0), (3, 1), (5, 1)], "two": [(1, 1), (4, 0)]}
    assert notes


@pytest.mark.parametrize(("value", "told"), [
    (0.1 + 0.2, 0.3), (-1e-9, 0.0), (4.9e-7, 0.0), (5.1e-7, 1e-6), (-12.3456784, -12.345678)])
def test_places_are_told_to_a_millionth(value: float, told: float) -> None:
    for found in _three(np.array([value, value, value])):
        assert found == told
        assert math.copysign(1.0, found) == math.copysign(1.0, told)


def test_before_any_word_nothing_turns_and_no_cutter_is_known() -> None:
    program = read_program("%\nG90 G21 G17\nG1 X5. F100.\nM30\n%\n", PLAIN, "t.nc")
    motion = program.motion
    assert len(motion) == 1
    assert motion.cutter.tolist() == [0]
    assert motion.speed.tolist() == [0.0]
    assert motion.feed.tolist() == [100.0]
    assert motion.angle_start.tolist() == motion.angle_end.tolist() == [0.0]
    assert not [event for event in program.events if event.kind == "cutter-change"]
