"""Stops for the operator and waits for the spindle, against the plan."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Literal

import pytest
from motion_by_hand import bench_mill, evidence, flat, program, stack
from planting.harness import made
from sampling import sampled

from camgen.messages import Message
from camgen.moves import Dwell, Feed, Index, Move, Pause, Rapid, Section, SetupMoves
from camgen.post.writer import write_programs
from camgen.proof import gather, prove_evidence
from camgen.proof.motion.operator.hands import prove_hands
from camgen.proof.motion.operator.stops import _inside, _less, prove_clear_at_stops
from camgen.proof.motion.same_motion import prove_same_motion
from camgen.proof.motion.state import prove_state
from camgen.proof.motion.told import way_out
from camgen.proof.result import Proof
from camgen.reader import read_program
from camgen.reader.motion import Event, Told
from camgen.shop.machine import CutterChange, HandHead, OffsetWords

JOBS = Path(__file__).resolve().parent.parent / "jobs"
MACHINE = bench_mill(change=CutterChange(way="by-hand"))


def plan(*moves: Move, axis: str = "Z", clear: float = 5.0) -> SetupMoves:
    section = Section("cut", 0, "cutter", 1, "CUTTER", 10000.0, tuple(moves))
    return SetupMoves("work", (section,), axis, clear)  # type: ignore[arg-type]


PAUSED = plan(Rapid(z=5), Rapid(x=1, y=0), Feed(100, z=-1), Rapid(z=5), Pause(Message("measure")),
              Rapid(x=2, y=0), Feed(100, z=-1), Rapid(z=5))
WRITTEN = [("rapid", 1, 0, 5), ("line", None, None, -1), ("rapid", None, None, 5),
           ("rapid", 2, 0, None), ("line", None, None, -1), ("rapid", None, None, 5)]


def answers(*events: Event, words: dict[str, int] | None = None) -> dict[str, Proof]:
    read = program(WRITTEN, events=events, words=words)
    found = prove_same_motion(evidence(flat(), read, moves=PAUSED, machine=MACHINE))
    return {str(proof.id): proof for proof in found}


def test_a_stop_at_the_change_and_one_at_the_pause_are_enough() -> None:
    assert answers(Event("stop", 1, 0), Event("stop", 4, 3))["motion.stops"].holds


def test_a_missing_stop_is_named_with_its_line() -> None:
    found = answers(Event("stop", 1, 0))["motion.stops"]
    assert (found.holds, found.figure, found.line) == (False, 1, 4)
    assert not answers(Event("stop", 4, 3))["motion.stops"].holds


def test_a_stop_at_another_place_does_not_stand_for_it() -> None:
    assert not answers(Event("stop", 1, 0), Event("stop", 5, 5))["motion.stops"].holds


def test_one_stop_is_left_out_of_account_at_each_place_where_there_is_one() -> None:
    stops = [(1, 10), (1, 11), (3, 12)]
    assert _less(stops, [3, 1, 5]) == [(1, 11)]
    assert _less(stops, [5]) == stops
    assert _less([], [1]) == []


def starts(*told: Event | Told) -> Proof:
    """The proof of waits, of what a program tells in this order."""
    read = replace(program(WRITTEN), told=told)
    found = prove_hands(evidence(flat(), read, moves=PAUSED, machine=MACHINE))
    return next(proof for proof in found if str(proof.id) == "motion.up-to-speed")


def test_a_wait_is_wanted_after_every_start_of_the_spindle_before_it_comes_near() -> None:
    on, off = Told("spindle", 2, 1, "M3", 10000.0), Told("spindle", 5, 3, "M5", 0.0)
    again, wait = Told("spindle", 6, 3, "M3", 10000.0), Event("dwell", 7, 3, value=3.0)
    first = Event("dwell", 3, 1, value=3.0)
    assert starts(on, first, off, again, wait).holds
    assert not starts(on, first, off, again).holds
    assert not starts(on, off, again, wait).holds
    # The wait before its start, too short, at the end, or nobody knows whether it turns.
    assert not starts(Event("dwell", 1, 1, value=3.0), on, off, again, wait).holds
    assert not starts(on, first, off, again, Event("dwell", 7, 3, value=0.3)).holds
    assert not starts(on, first, off, again, Event("dwell", 9, 6, value=3.0)).holds
    assert not starts(first).holds
    # Said again at the speed it has, nothing has to be waited for; at another, it has.
    assert starts(on, first, again).holds
    assert not starts(on, first, Told("spindle", 6, 3, "S", 12000.0)).holds


def test_a_planned_wait_stands_where_it_was_planned_and_is_as_long() -> None:
    moves = plan(Rapid(z=5), Rapid(x=1, y=0), Feed(100, z=-1), Dwell(0.5), Rapid(z=5),
                 Rapid(x=2, y=0), Feed(100, z=-1), Rapid(z=5))

    def waits(*events: Event) -> dict[str, bool]:
        found = prove_same_motion(
            evidence(flat(), program(WRITTEN, events=events), moves=moves, machine=MACHINE))
        return {str(proof.id): proof.holds for proof in found}

    name, inside = "motion.waits", "motion.halted-in-cut"
    meant = waits(Event("dwell", 3, 2, value=0.5))
    assert meant[name]
    assert meant[inside]
    assert not waits(Event("dwell", 3, 2, value=0.4))[name]
    assert not waits(Event("dwell", 6, 4, value=0.5))[name]
    assert not waits(Event("dwell", 3, 2, value=0.5), Event("dwell", 6, 5, value=0.5))[inside]
    # In two, one after the other, it is as long; parted by a move or by a stop it is not.
    half = Event("dwell", 3, 2, value=0.25)
    assert waits(half, Event("dwell", 4, 2, value=0.25))[name]
    assert not waits(half, Event("dwell", 4, 2, value=0.2))[name]
    assert not waits(half, Event("dwell", 5, 3, value=0.25))[name]
    assert not waits(half, Event("stop", 4, 2), Event("dwell", 5, 2, value=0.25))[name]


def test_a_head_turned_by_hand_wants_a_stop_with_every_message() -> None:
    machine = bench_mill(dividing=HandHead(plates=((15, 18, 20),)))
    moves = plan(Rapid(y=-5), Rapid(x=3, z=0), Index(4.8, 2), Rapid(y=0.4), Feed(100, x=-2),
                 Rapid(y=-5), axis="Y", clear=-5.0)
    pieces = [("index", 4.8), ("rapid", None, 0.4, None), ("line", -2, None, None),
              ("rapid", None, -5, None)]

    def stops(*events: Event) -> Proof:
        read = program(pieces, start=(3, -5, 0), events=events)
        found = prove_same_motion(evidence(stack(), read, moves=moves, machine=machine))
        return next(proof for proof in found if str(proof.id) == "motion.stops")

    message = Event("hand-index", 1, 0, value=4.8)
    assert stops(message, Event("stop", 2, 1)).holds
    assert not stops(message).holds
    assert not stops(message, Event("stop", 3, 2)).holds


def clear(*pieces: tuple[object, ...], kind: str = "stop") -> Proof:
    read = program(pieces, events=[Event(kind, 9, len(pieces))])
    return prove_clear_at_stops(evidence(flat(), read))


def test_a_program_must_not_stop_change_or_end_with_the_cutter_in_the_work() -> None:
    up, down = ("rapid", 1, 0, 5), ("line", 1, 0, -0.5)
    for kind in ("stop", "cutter-change", "end"):
        assert clear(down, up, kind=kind).holds
        found = clear(up, down, kind=kind)
        assert (found.holds, found.figure, found.line) == (False, -0.5, 2)


@pytest.mark.parametrize("top", [-0.3, 0.0, 0.7])
def test_clear_of_the_work_is_above_the_stock_s_top_wherever_that_lies(top: float) -> None:
    for over in (0.1, -0.1):
        read = program([("rapid", 1, 0, top + over)], events=[Event("end", 2, 1)])
        proof = prove_clear_at_stops(evidence(flat(top=top), read))
        assert (proof.holds, proof.figure) == (over > 0, pytest.approx(over))


def test_where_nothing_has_moved_yet_or_nothing_stops_there_is_nothing_to_be_clear_of() -> None:
    for events in ((), (Event("stop", 1, 0), Event("cutter-change", 1, 0))):
        down = program([("line", 0, 0, -1)], events=events)
        proof = prove_clear_at_stops(evidence(flat(), down))
        assert (proof.holds, proof.where) == (True, "it never stops")


def test_beside_the_stock_the_cutter_is_clear_at_any_height() -> None:
    assert clear(("line", 21, 0, -0.5)).holds
    assert not clear(("line", 20.4, 0, -0.5)).holds


def test_a_disc_still_over_the_stack_is_not_clear() -> None:
    def room(infeed: float) -> Proof:
        read = program([("rapid", -1, infeed, 0)], start=(3, -5, 0), events=[Event("end", 2, 1)])
        return prove_clear_at_stops(evidence(stack(), read))

    assert room(-0.5).holds
    assert room(-0.5).figure == pytest.approx(0.5)
    assert not room(0.4).holds


@pytest.mark.parametrize("kind", ["stop", "optional-stop", "dwell", "spindle"])
def test_what_is_said_right_after_a_cut_is_inside_it_in_every_program(kind: str) -> None:
    one = (Told(kind, 11, 1), Told(kind, 12, 2), Told(kind, 13, 3))
    two = (Told(kind, 21, 0), Told(kind, 22, 5), Told("word", 23, 2, "M8"), Told(kind, 24, 6))
    programs = [replace(program(WRITTEN), told=told) for told in (one, two)]
    seen = evidence(flat(), *programs, moves=PAUSED, machine=MACHINE)

    def inside(*windows: tuple[int, int]) -> tuple[float, str]:
        found = _inside(seen, windows)
        return found.figure, found.where

    # After the first cut of the first program and the second of the second, six pieces later.
    assert inside() == (2, "line 12, line 22")
    assert inside((2, 2)) == (1, "line 22")
    assert inside((11, 12), (1, 2)) == (0, "")
    assert inside((0, 1), (3, 10), (12, 12)) == (2, "line 12, line 22")


def test_a_spindle_that_still_gathers_speed_may_be_stopped_but_not_told_another() -> None:
    on, wait = Told("spindle", 2, 1, "M3", 10000.0), Event("dwell", 3, 1, value=3.0)
    again, gathered = Told("spindle", 6, 1, "M3", 10000.0), Event("dwell", 7, 1, value=3.0)
    for value, holds in ((0.0, True), (10000.0, True), (8000.0, False), (1.0, False)):
        other = Told("spindle", 4, 1, "M5" if not value else "M3", value)
        told = (on, other, *(() if value == 10000.0 else (again,)), gathered)
        assert starts(*told).holds is holds, value
    # Nothing is wrong with another speed once it has waited, and with that a wait of its own.
    slower = Told("spindle", 4, 1, "M3", 8000.0)
    assert starts(on, wait, slower, gathered).holds
    assert not starts(on, wait, slower).holds


@pytest.mark.parametrize(("before", "holds"), [
    (0, True), (2, True), (3, False), (4, False), (6, False)])
def test_coolant_is_told_where_a_step_wants_it_from_there_on(before: int, holds: bool) -> None:
    """The first of two sections wants it, and makes three pieces of the program."""
    first, second = (
        replace(PAUSED.sections[0], moves=moves, coolant=coolant) for moves, coolant in (
            (PAUSED.sections[0].moves[:4], True), (PAUSED.sections[0].moves[5:], False)))
    read = program(WRITTEN, events=[Event("coolant", 7, before, "M8")])
    seen = evidence(flat(), read, moves=replace(PAUSED, sections=(first, second)), machine=MACHINE)
    found = {str(one.id): one for one in prove_state(seen)}["motion.words-otherwise"]
    assert ("no step from here on wants it" not in found.where) is holds


@pytest.mark.parametrize(("kind", "height", "gone", "holds"), [
    ("stop", 5.0, False, True), ("stop", 2.0, False, True), ("stop", -1.0, False, False),
    ("cutter-change", 5.0, False, True), ("cutter-change", 2.0, False, False),
    ("cutter-change", 2.0, True, True)])
def test_where_hands_go_in_the_cutter_is_drawn_back_and_at_a_pause_off_the_work(
    kind: Literal["stop", "cutter-change"], height: float, gone: bool, holds: bool
) -> None:
    """Up by its own word, such as G28, it is drawn back wherever that is."""
    last = ("line" if height < 0 else "rapid", 1, 0, height)
    up = Told("gone", 2, 0, "G28", place=(math.nan, math.nan, 0.0))
    event = Event(kind, 3, 1 if gone else 2)
    read = program([last] if gone else [("rapid", 1, 0, 5), last])
    read = replace(read, told=(*(up,) * gone, event))
    found = prove_hands(evidence(flat(), read, moves=PAUSED, machine=MACHINE))
    assert {str(one.id): one.holds for one in found}["motion.drawn-back-at-stops"] is holds


def test_after_a_stop_the_first_way_nearer_than_clear_is_told_where_an_axis_is_not_said() -> None:
    """Or the first cut, where nobody says what is clear."""
    pieces = [("rapid", None, None, 5), ("rapid", None, None, 2), ("line", None, None, -1)]
    read = program(pieces, events=[Event("stop", 1, 1)])
    for moves, line in ((PAUSED, 2), (replace(PAUSED, retract_to=math.nan), 3)):
        seen = evidence(flat(), read, moves=moves, machine=MACHINE)
        found = {str(one.id): one for one in prove_state(seen)}["motion.drawn-back-first"]
        assert f"line {line}: comes near, and X, Y and Z not said since the stop" in found.where


@pytest.mark.parametrize(("way", "stands_at", "holds"), [
    ("automatic", None, False), ("automatic", (1.0, 2.0, 3.0), True),
    ("by-hand", (1.0, 2.0, 3.0), False)])
def test_a_stop_more_at_a_change_is_for_the_zero_where_the_spindle_stands_at_a_place(
    way: Literal["automatic", "by-hand"], stands_at: tuple[float, float, float] | None, holds: bool
) -> None:
    change = Event("cutter-change", 1, 0, value=1.0)
    read = program(WRITTEN, events=[change, Event("stop", 2, 0), Event("stop", 4, 3),
                                    *[Event("stop", 3, 0)] * (way == "by-hand")])
    machine = bench_mill(change=CutterChange(way=way),
                         offsets=OffsetWords(work=None, shift="G92", stands_at=stands_at))
    found = prove_same_motion(evidence(flat(), read, moves=PAUSED, machine=machine))
    assert {str(one.id): one.holds for one in found}["motion.stops-unplanned"] is holds


def test_the_way_out_is_against_the_infeed_to_where_the_plan_has_it_clear() -> None:
    for layout, axis, outward in ((flat(), 2, 1.0), (stack(), 1, -1.0)):
        out = way_out(evidence(layout, program(WRITTEN), machine=MACHINE))
        assert (out.axis, out.outward) == (axis, outward)
        assert out.to == pytest.approx(layout.clear_at, nan_ok=True)
        out = replace(out, to=-1.5)
        assert out.beyond(out.to - 0.009 * outward, 0.01)
        assert not out.beyond(out.to - 0.011 * outward, 0.01)
        assert out.beyond(out.to + 5.0 * outward, 0.01)
    assert way_out(evidence(flat(), program(WRITTEN), moves=PAUSED)).to == PAUSED.retract_to


@pytest.mark.parametrize("by_program", sampled([True, False], 2))
def test_between_two_stops_with_nothing_moved_the_spindle_is_not_started(by_program: bool) -> None:
    one = list(made(JOBS / "wheel-by-hand.yaml", "hand-dividing"))[-1]
    machine = one.machine.model_copy(update={"spindle_words": one.machine.spindle_words.model_copy(
        update={"by_program": by_program})})
    (program,) = write_programs(one.planned.moves, machine, stem="x")
    text = program.text.decode("ascii").replace("\r", "")

    def failing(text: str) -> list[str]:
        read = read_program(text, machine, "x.nc", infeed=one.planned.moves.retract_axis)
        evidence = gather("x", one.job, machine, one.planned.layout, one.planned.moves, [read],
                          planned_cuts=one.planned.cuts)
        return [str(proof.id) for proof in prove_evidence(evidence) if not proof.holds]

    assert failing(text) == []
    crank = text.index("(TURN THE CRANK")
    stop = text.index("M0\n", crank) + len("M0\n")
    # The next stop comes at once, and the spindle is started before the next move.
    assert text[stop:].startswith("(SPACE 1 AT")
    cut = text.index("G1 ", stop)
    speed = f"{one.planned.moves.sections[0].rpm:.0f}"
    start = (f"S{speed} M3\nG4 P3.\n", "M5\n") if by_program else (
        f"(START SPINDLE CLOCKWISE AT {speed} REV/MIN)\nM0\n", "(STOP SPINDLE)\nM0\n")
    assert text[stop:cut].count(start[0]) == 1
    assert "motion.spindle-still" in failing(text[:stop] + "".join(start) + text[stop:])
