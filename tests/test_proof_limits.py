"""Travel, feeds, speeds, the spindle's turning and the words that must be said."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from demos import proved_demo
from motion_by_hand import Piece, bench_mill, evidence, flat, program, stack

from camgen.moves import Index, Rapid, Section, SetupMoves
from camgen.proof.motion.limits import farthest_turns, prove_limits
from camgen.proof.motion.spindle import prove_spindle
from camgen.proof.motion.text import prove_text
from camgen.proof.result import Proof
from camgen.reader.motion import Event, Finding
from camgen.shop.machine import (
    DrivenHead,
    HandHead,
    LinearAxis,
    Machine,
    Spindle,
    SpindleWords,
)

MACHINE = bench_mill(
    x=LinearAxis(travel=20, feed_limit=500), y=LinearAxis(travel=10, feed_limit=500),
    z=LinearAxis(travel=15, feed_limit=100), spindle=Spindle(lowest=2000, highest=12000),
)


def answers(pieces: list[Piece], machine: Machine = MACHINE, **more: object) -> dict[str, Proof]:
    looked_at = evidence(flat(), program(pieces, **more), machine=machine)  # type: ignore[arg-type]
    found = (*prove_limits(looked_at), *prove_spindle(looked_at), *prove_text(looked_at))
    return {str(proof.id): proof for proof in found}


def test_travel_is_the_span_of_the_path_whatever_the_zero() -> None:
    found = answers([("rapid", 100, 0, 5), ("line", 119, 9, 0)], start=(100, 0, 5))
    assert found["motion.travel: X"].holds
    assert found["motion.travel: X"].figure == pytest.approx(19)
    assert not answers([("rapid", 121, 0, 5)], start=(100, 0, 5))["motion.travel: X"].holds


def test_an_arcs_bulge_takes_travel_too() -> None:
    """Ends 8 mm apart in Y with a centre between them: radius 5.66, span 11.3 mm."""
    found = answers([("ccw", 4, -4, None, 0, 0)], start=(-4, 4, 0))["motion.travel: X"]
    assert found.figure == pytest.approx(4 + math.hypot(4, 4))


def test_a_feed_is_held_against_the_slowest_axis_it_asks() -> None:
    flat_out = answers([("line", 10, 0, 5, {"feed": 400.0})])["motion.axis-feed"]
    assert flat_out.figure == pytest.approx(80)
    # Down a slope of 3 to 4 the vertical axis takes three fifths of 400: 240 of its 100.
    sloped = answers([("line", 4, 0, 2, {"feed": 400.0})])["motion.axis-feed"]
    assert not sloped.holds
    assert sloped.figure == pytest.approx(240)


@pytest.mark.parametrize(("feed", "holds"), [(499.0, True), (500.0, True), (501.0, False)])
def test_an_axis_may_be_asked_for_all_it_can_and_no_more(feed: float, holds: bool) -> None:
    found = answers([("line", 10, 0, 5, {"feed": feed})])["motion.axis-feed"]
    assert (found.holds, found.limit) == (holds, 100.0)


def test_an_arc_asks_the_whole_feed_of_both_its_axes() -> None:
    found = answers([("ccw", 0, 1, None, 0, 0, {"feed": 600.0})], start=(1, 0, 0))
    assert found["motion.axis-feed"].figure == pytest.approx(120)


def test_a_fed_move_without_a_feed_is_named() -> None:
    found = answers([("line", 4, 0, 2, {"feed": float("nan")})])["motion.axis-feed"]
    assert not found.holds
    assert found.line == 1


@pytest.mark.parametrize(("speed", "name"), [(13000, "highest"), (1000, "lowest")])
def test_speeds_outside_the_spindles_range_are_named(speed: float, name: str) -> None:
    found = answers([("line", 4, 0, 2)], speed=speed)
    assert not found[f"motion.{name}-speed"].holds
    assert answers([("line", 4, 0, 2)], speed=5000)[f"motion.{name}-speed"].holds


def test_cutting_with_the_spindle_off_or_backwards_is_named() -> None:
    pieces: list[Piece] = [("line", 1, 0, -1), ("line", 2, 0, -1, {"speed": 0.0}),
                           ("line", 3, 0, -1, {"speed": -9000.0})]
    found = answers(pieces)
    off, back = found["motion.spindle-on"], found[
        "motion.spindle-sense"]
    assert (off.holds, off.figure, off.line) == (False, 1, 2)
    assert (back.holds, back.figure, back.line) == (False, 1, 3)


def test_a_spindle_started_by_hand_wants_a_stop_before_cutting() -> None:
    by_hand = bench_mill(spindle_words=SpindleWords(by_program=False))
    pieces: list[Piece] = [("rapid", 0, 0, 1), ("line", 1, 0, -1)]
    name = "motion.stop-to-start-spindle"
    assert not answers(pieces, by_hand, speed=0.0)[name].holds
    assert answers(pieces, by_hand, speed=0.0, events=[Event("stop", 1, 1)])[name].holds
    assert not answers(pieces, by_hand, speed=0.0, events=[Event("stop", 2, 2)])[name].holds


@pytest.mark.parametrize("kind", ["optional-stop", "dwell", "cutter-change", "coolant", "end"])
def test_nothing_but_a_stop_waits_for_a_spindle_started_by_hand(kind: str) -> None:
    by_hand = bench_mill(spindle_words=SpindleWords(by_program=False))
    pieces: list[Piece] = [("rapid", 0, 0, 1), ("line", 1, 0, -1)]
    name = "motion.stop-to-start-spindle"
    other = Event(kind, 1, 1)  # type: ignore[arg-type]
    assert not answers(pieces, by_hand, speed=0.0, events=[other])[name].holds
    for events in ([other, Event("stop", 1, 1)], [Event("stop", 0, 1), other]):
        assert answers(pieces, by_hand, speed=0.0, events=events)[name].holds


def test_grave_findings_of_the_reader_fail_and_others_do_not() -> None:
    name = "motion.text-reads"
    mild, grave = Finding("odd", 3), Finding("no feed", 4, grave=True)
    assert answers([("line", 1, 0, 0)], findings=[mild])[name].holds
    found = answers([("line", 1, 0, 0)], findings=[mild, grave])[name]
    assert (found.holds, found.line) == (False, 4)


@pytest.mark.parametrize("lost", ["G21", "G90", "G17", "G40", "G49", "G80", "G94"])
def test_words_that_say_units_coordinates_and_plane_must_be_there(lost: str) -> None:
    words = dict.fromkeys(("G17", "G21", "G90", "G40", "G49", "G80", "G94", "G54"), 1)
    name = "motion.start-words"
    assert answers([("line", 1, 0, 0)], words=words)[name].holds
    del words[lost]
    assert not answers([("line", 1, 0, 0)], words=words)[name].holds


def test_another_work_offset_is_named() -> None:
    words = {"G17": 1, "G21": 1, "G90": 1, "G55": 1}
    assert not answers([("line", 1, 0, 0)], words=words)["motion.work-offset"].holds


def test_a_cutter_that_stands_still_must_not_be_drawn_out_of_its_cut() -> None:
    pieces: list[Piece] = [("line", 1, 0, -1), ("rapid", None, None, 5, {"speed": 0.0})]
    found = answers(pieces)["motion.spindle-on"]
    assert (found.holds, found.line) == (False, 2)
    clear = [*pieces[:1], ("rapid", None, None, 5), ("rapid", 3, 0, 5, {"speed": 0.0})]
    assert answers(clear)["motion.spindle-on"].holds


def test_a_head_is_turned_by_hand_only_while_the_spindle_stands() -> None:
    machine = bench_mill(dividing=HandHead(plates=((15, 18, 20),)))
    name = "motion.spindle-still-at-hand-turns"
    turn: list[Piece] = [("line", 1, 0, 0), ("index", 4.8, {"speed": 0.0})]
    assert answers(turn, machine)[name].holds
    assert not answers([turn[0], ("index", 4.8)], machine)[name].holds


def test_the_head_must_not_be_turned_faster_than_it_follows() -> None:
    name = "motion.turning-rate"
    limit = DrivenHead().feed_limit
    assert answers([("index", 90, {"feed": limit})], bench_mill())[name].holds
    assert not answers([("index", 90, {"feed": 10 * limit})], bench_mill())[name].holds


@pytest.mark.parametrize(("way", "degrees", "end", "most"), [
    ("shortest", 400.0, 30.0, 180.0), ("absolute", 400.0, -30.0, 430.0),
    ("absolute", 200.0, 30.0, 360.0), ("absolute", None, -500.0, 500.0),
    ("one-way", 400.0, 30.0, 360.0), ("incremental", 400.0, 30.0, None)])
def test_the_first_turn_of_a_program_may_go_as_far_as_the_head_was_left(
    way: str, degrees: float | None, end: float, most: float | None
) -> None:
    machine = bench_mill(rotary={"way": way})
    moves = None if degrees is None else SetupMoves(
        "work", (Section("cut", 0, "cutter", 1, "CUTTER", 9000.0, (Index(-degrees), Rapid(x=1))),
                 ), "Z", 5.0)
    pieces: list[Piece] = [("rapid", 0, 0, 1), ("index", end), ("index", 10.0)]
    seen = evidence(stack(), program(pieces), program(pieces), machine=machine, moves=moves)
    assert farthest_turns(seen) == ({} if most is None else {1: most, 4: most})


@pytest.mark.parametrize("ending", ["lf", "crlf"])
def test_a_program_larger_than_the_control_holds_is_not_proved(ending: str) -> None:
    proved = proved_demo("seconds-pinion")
    (setup,) = proved.setups
    looked_at = setup.evidence
    size = sum(len(line) + (1 if ending == "lf" else 2)
               for line in looked_at.programs[0].lines)
    for largest, holds in ((size, True), (size - 1, False)):
        on = proved.machine.model_copy(update={
            "program": proved.machine.program.model_copy(update={"largest": largest}),
            "blocks": proved.machine.blocks.model_copy(update={"ending": ending})})
        found = {str(proof.id): proof for proof in prove_text(replace(looked_at, machine=on))}
        assert found["motion.program-size"].holds is holds
    assert "motion.program-size" not in {str(proof.id) for proof in prove_text(looked_at)}
