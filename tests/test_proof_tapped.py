"""Threads by a tap, on motion set down by hand: its strokes, its feed against its pitch, its depth.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from motion_by_hand import Piece, evidence, flat, program

from camgen.part.declaration import MakesThreads, Named
from camgen.part.features import Hole, Thread
from camgen.proof.flat.holes.tapped import _pull, _strokes, prove_tapped
from camgen.proof.result import Proof
from camgen.shapes.path import Point
from camgen.shop.cutters import Cutter

SPEED = 400.0
BACK: dict[str, object] = {"speed": -SPEED}


def stroke(deep: float, feed: float) -> list[Piece]:
    """Down to ``deep`` below the face and out again, a little beside the frame's middle."""
    return [("rapid", 1, -2, 1), ("line", None, None, -deep, {"feed": feed}),
            ("line", None, None, 1, {"feed": feed, **BACK})]


def proved(deep: float, pitch: float, share: float = 1.0, diameter: float = 1.0,
           names: tuple[str, ...] | None = None) -> list[Proof]:
    """What is found of a thread of 1 mm over it, in stock of 1 mm, fed ``share`` of its pitch."""
    tap = Cutter(kind="tap", diameter=diameter, pitch=pitch)
    thread = Thread(Hole("screw", Point(1, -2), 0.7), 1.0, 0.25)
    seen = evidence(flat(), program(stroke(deep, share * pitch * SPEED), speed=SPEED), cutter=tap)
    return prove_tapped(seen, thread, "cutter", MakesThreads(Named(names)), 0.001)


def tapped(*given: float, **words: Any) -> dict[str, tuple[bool, float]]:
    return {one.id.word: (one.holds, one.figure) for one in proved(*given, **words)}


def test_a_thread_fed_at_its_pitch_and_through_the_stock_holds() -> None:
    assert tapped(1.8, 0.25) == {"thread": (True, 0.0), "tap-feed": (True, 0.0),
                                 "thread-depth": (True, 0.0), "tap-out": (True, 0.0)}
    assert {(one.where, one.line) for one in proved(1.8, 0.25)} == {
        ("full to 1.800 mm, X 1.000 Y -2.000", 2)}


@pytest.mark.parametrize(("share", "pull"), [(1.01, 18.0), (0.99, 18.0), (1.02, 36.0)])
def test_feed_and_turning_part_by_no_more_than_a_tenth_of_the_pitch(
    share: float, pull: float
) -> None:
    holds, figure = tapped(1.8, 0.25, share)["tap-feed"]
    assert (holds, figure) == (pull < 25.0, pytest.approx(pull, abs=0.01))


def test_a_thread_not_full_to_the_other_face_is_told_with_what_it_lacks() -> None:
    assert tapped(0.9, 0.25)["thread-depth"] == (False, pytest.approx(100.0))


def test_a_thread_not_cut_is_told_with_its_place_and_no_line() -> None:
    thread = Thread(Hole("screw", Point(1, -2), 0.7), 1.0, 0.25)
    seen = evidence(flat(places=((2.0, 0.0),)), program(stroke(1.8, 100.0), speed=SPEED),
                    cutter=Cutter(kind="tap", diameter=1.0, pitch=0.25))
    found = prove_tapped(seen, thread, "cutter", MakesThreads(Named()), 0.001)
    assert {(one.holds, one.where, one.line) for one in found} == {
        (False, "not cut, X 3.000 Y -2.000", 0)}


def test_another_thread_than_the_tap_s_is_meant_only_where_it_is_named() -> None:
    for pitch, diameter in ((0.3, 1.0), (0.25, 1.2)):
        assert tapped(1.8, pitch, diameter=diameter) == {}
        found = tapped(1.8, pitch, diameter=diameter, names=("screw",))
        assert not found["thread"][0]
    assert tapped(1.8, 0.25, names=("screw",))["thread"][0]


def test_strokes_are_those_straight_down_and_up_in_the_hole_below_the_face() -> None:
    pieces: list[Piece] = [
        ("rapid", 1, -2, 1), ("line", None, None, -0.8), ("line", None, None, -0.8),
        ("line", None, None, 1, BACK), ("line", None, None, 2), ("line", 1.1, -2, -0.5),
        ("line", 1, -2, -0.4), ("rapid", 5, 5, 1), ("line", None, None, -0.8),
        ("line", None, None, 1)]
    down, out = _strokes(evidence(flat(), program(pieces)), 1, (1.0, -2.0), 0.0, 0.001)
    assert (down.tolist(), out.tolist()) == ([1], [3])
    down, out = _strokes(evidence(flat(), program(pieces)), 2, (1.0, -2.0), 0.0, 0.001)
    assert (down.tolist(), out.tolist()) == ([], [])


@pytest.mark.parametrize(("feed", "speed", "sense", "off"), [
    (100.0, 400.0, 1.0, 0.0), (110.0, 400.0, 1.0, 0.2), (90.0, -400.0, -1.0, 0.2),
    (100.0, 400.0, -1.0, math.inf), (100.0, 0.0, 1.0, math.inf), (0.0, 400.0, 1.0, math.inf),
    (math.nan, 400.0, 1.0, math.inf)])
def test_a_tap_is_pulled_by_what_its_feed_parts_from_its_turning_over_the_depth(
    feed: float, speed: float, sense: float, off: float
) -> None:
    words: dict[str, object] = {"feed": feed, "speed": speed}
    seen = evidence(flat(), program([("rapid", 0, 0, 1), ("line", 0, 0, -1, words)]))
    assert _pull(seen, np.array([1]), 0.25, sense, 2.0) == pytest.approx(off)
