"""What the reader keeps of very much, and how its figures are rounded."""

from __future__ import annotations

import math

import numpy as np
import pytest
from motion_by_hand import Piece, program
from reader_machines import PLAIN

from camgen.reader import read_program
from camgen.reader.motion import Event
from camgen.reader.notes import Refusals
from camgen.reader.summary import _three, summary_of


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
    whole = read_program("%\nG90 G21 G17\nG1 X5. F100.\nM30\n%\n", PLAIN, "t.nc")
    motion = whole.motion
    assert len(motion) == 1
    assert motion.cutter.tolist() == [0]
    assert motion.speed.tolist() == [0.0]
    assert motion.feed.tolist() == [100.0]
    assert motion.angle_start.tolist() == motion.angle_end.tolist() == [0.0]
    assert not [event for event in whole.events if event.kind == "cutter-change"]


@pytest.mark.parametrize("text", ["", "\n\n \n"])
def test_of_a_program_of_nothing_the_first_line_is_named(text: str) -> None:
    (found,) = (one for one in read_program(text, PLAIN, "t.nc").findings if "empty" in one.message)
    assert (found.line, found.grave) == (1, True)


def test_a_summary_tells_the_least_and_the_greatest_of_each_cutter_and_of_the_head() -> None:
    """The second cutter moves farther than it cuts, and the head turns to both sides of its zero.
    """
    other: dict[str, object] = {"cutter": 7, "speed": 500.0, "feed": 30.0}
    pieces: list[Piece] = [
        ("rapid", 9, -8, 5), ("line", 1, 2, -3), ("line", -4, 6, -1, {"feed": 250.0}),
        ("index", -30.0), ("index", 50.0), ("index", 20.0), ("rapid", 0, 0, 7, other),
        ("line", 0, 0, 1, other)]
    events = [Event("cutter-change", 1, 0, "MILL", 1.0), Event("stop", 2, 2),
              Event("optional-stop", 3, 4), Event("dwell", 3, 4, value=1.5),
              Event("dwell", 4, 5, value=2.0), Event("cutter-change", 5, 6, "DRILL", 7.0)]
    seconds = np.array([1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0])
    found = summary_of(program(pieces, events=events, start=(0.0, 0.0, 5.0)), seconds)
    assert found.travel == ((-4, -8, -3), (9, 6, 7))
    assert found.cutting == ((-4, -8, -3), (9, 6, 7))
    assert (found.turns, found.turned) == (3, (-30.0, 50.0))
    assert (found.stops, found.changes, found.dwell) == (2, 2, 3.5)
    first, second = found.cutters
    assert (first.number, first.text, first.speeds, first.feeds) == (
        1, "MILL", (10000.0, 10000.0), (100.0, 250.0))
    assert (second.number, second.text, second.speeds, second.feeds) == (
        7, "DRILL", (500.0, 500.0), (30.0, 30.0))
    assert (second.low, second.high) == ((0, 0, 1), (0, 0, 7))
    assert second.length == pytest.approx(6.0)
    assert (first.seconds, second.seconds) == (63.0, 192.0)
