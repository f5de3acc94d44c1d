"""What the reader keeps of very much, and how its figures are rounded."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from motion_by_hand import Piece, program
from reader_machines import PLAIN, machine, moves, read

from camgen.reader import read_program
from camgen.reader.control.journal import WATCHED
from camgen.reader.motion import Event, Kind
from camgen.reader.notes import Refusals
from camgen.reader.runs import _uneven, run
from camgen.reader.summary import _three, summary_of
from camgen.reader.trusted import trusted_words


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


@pytest.mark.parametrize(("bite", "pecks"), [(2.0, 1), (1.0, 2), (0.9998, 3), (2 / 3, 3)])
def test_as_many_bites_are_taken_as_the_depth_wants(bite: float, pecks: int) -> None:
    """2 mm deep; thirds of it are no more than three, however a figure is rounded."""
    found = moves(read(f"G83 G99 X1. Y2. Z0. R2. Q{bite:.9f}"))
    assert sum(kind == Kind.LINE for kind, _ in found) == pecks


def test_to_the_reference_point_by_a_place_or_from_where_it_stands() -> None:
    """Nought is a place where places are said, and no way at all where ways are."""
    for blocks, way, by in (("G28 Z0.", (Kind.RAPID, [1, 2, 0]), 0.0),
                            ("G91 G28 Z0.\nG90", (Kind.RAPID, [1, 2, 3]), math.nan),
                            ("G91 G28 Z2.\nG90", (Kind.RAPID, [1, 2, 5]), 0.0)):
        program = read(f"{blocks}\nG0 X4.")
        assert moves(program)[0] == way
        (gone,) = (one for one in program.told if one.kind == "gone")
        assert gone.value == pytest.approx(by, nan_ok=True)


@pytest.mark.parametrize(("blocks", "says", "grave"), [
    ("G1 X5. P7", "P7 without the word that uses it", True), ("G1 X5. P0", "P does nothing", False),
    ("G1 X5. L3", "L3 without the word that uses it", True), ("G1 X5. L0", "L does nothing", False),
    ("G1 X5. D2", "D2 without the word that uses it", True), ("G1 X5. R2. F9. X1.", "", True)])
def test_figures_that_no_word_of_their_block_uses_are_told(
    blocks: str, says: str, grave: bool
) -> None:
    found = [one for one in read(blocks).findings if says in one.message]
    assert [one.grave for one in found][:1] == [grave]


@pytest.mark.parametrize(("point", "written", "told"), [
    ("always", "2", True), ("always", "2.", False), ("always", "0", False),
    ("needed", "2", False)])
def test_a_wait_without_its_point_is_told_where_figures_always_have_one(
    point: str, written: str, told: bool
) -> None:
    found = read(f"G4 P{written}", on=machine(numbers={"point": point})).findings
    assert any("a wait without a decimal point" in one.message for one in found) is told


def test_after_a_stop_the_first_ways_are_told_one_by_one() -> None:
    blocks = "\n".join(f"X{at}.5" for at in range(20))
    told = [one for one in read(f"M0\nG0 {blocks}").told if one.kind == "way" and one.before >= 2]
    assert [one.place[0] for one in told] == [at + 0.5 for at in range(WATCHED)]


def test_messages_of_a_machine_file_s_own_are_told_as_what_a_screen_may_show() -> None:
    usual = machine(dividing={"kind": "by-hand", "plates": [[20]]})
    assert not [one for one in trusted_words(usual) if one.said]
    for words, name in (({"comments": {"message": "LOOK HERE"}}, "comments.message"),
                        ({"change": {"way": "by-hand", "message": "PUT IN {cutter} {text}"}},
                         "change.message"),
                        ({"dividing": {"kind": "by-hand", "plates": [[20]],
                                       "message": "NOW {space} {angle} {setting}"}},
                         "dividing.message"),
                        ({"insert": {"program_start": ["M9 (AIR ON)"]}}, "insert.program-start")):
        own = machine(**{"dividing": {"kind": "by-hand", "plates": [[20]]}, **words})
        assert [one.place for one in trusted_words(own) if one.said] == [name]


def test_plain_moves_are_carried_out_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[int] = []

    def counted(*given: Any) -> Any:
        made = run(*given)
        done.append(made[0])
        return made

    monkeypatch.setattr("camgen.reader.program.run", counted)
    read("G1 F100.\n" + "\n".join(f"X{at}.5" for at in range(100)))
    assert sum(done) > 80


@pytest.mark.parametrize(("last", "step", "numbers", "uneven"), [
    (10.0, 10.0, [20.0, 30.0, 45.0, 55.0], [2]), (20.0, 10.0, [20.0, 30.0], [0]),
    (0.0, 10.0, [10.0, 20.0], []), (10.0, -1.0, [20.0, 45.0, 45.0, 46.0, 7.0], [2, 4]),
    (-1.0, 10.0, [10.0, 20.0], [0, 1]), (10.0, 0.0, [20.0, 30.0], [0, 1])])
def test_a_block_s_number_that_does_not_go_on_as_the_last_did_is_looked_at_alone(
    last: float, step: float, numbers: list[float], uneven: list[int]
) -> None:
    """By the same step, or where none is known (below nought) by any upward; at first by itself."""
    control = SimpleNamespace(numbers=SimpleNamespace(last=last, step=step))
    found = _uneven(control, np.array(numbers))  # type: ignore[arg-type]
    assert np.flatnonzero(found).tolist() == uneven
