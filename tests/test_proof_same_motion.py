"""The motion read back against the plan: what may differ in writing, and what may not."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from motion_by_hand import Piece, bench_mill, evidence, flat, program, stack

from camgen.moves import Arc, Drill, Feed, Index, Move, Rapid, Section, SetupMoves
from camgen.proof.motion.same_motion import prove_same_motion
from camgen.proof.result import Proof
from camgen.shop.machine import ArcWords, Machine


def plan(*moves: Move, axis: str = "Z", clear: float = 5.0, rpm: float = 10000.0) -> SetupMoves:
    section = Section("cut", 0, "cutter", 1, "CUTTER", rpm, tuple(moves))
    return SetupMoves("work", (section,), axis, clear)  # type: ignore[arg-type]


SLOT = plan(
    Rapid(z=5.0), Rapid(x=1.0, y=2.0), Rapid(z=0.5), Feed(50, z=-1.0), Feed(100, x=4.0, y=6.0),
    Arc(100, (4.0, 5.0), True, x=5.0, y=5.0), Rapid(z=5.0),
)
WRITTEN: list[Piece] = [
    ("rapid", 1, 2, 5), ("rapid", None, None, 0.5), ("line", None, None, -1, {"feed": 50.0}),
    ("line", 4, 6, None), ("cw", 5, 5, None, 4, 5), ("rapid", None, None, 5),
]


def answers(
    moves: SetupMoves, pieces: list[Piece], machine: Machine | None = None, **more: object
) -> dict[str, Proof]:
    found = prove_same_motion(
        evidence(flat(), program(pieces, **more), moves=moves, machine=machine)  # type: ignore[arg-type]
    )
    return {str(proof.id): proof for proof in found}


def holds(found: dict[str, Proof]) -> bool:
    return all(proof.holds for proof in found.values())


def test_what_was_planned_and_written_is_the_same() -> None:
    assert holds(answers(SLOT, WRITTEN))


def test_a_move_written_in_two_along_the_same_line_is_the_same() -> None:
    halves = [*WRITTEN[:3], ("line", 2.5, 4, None), *WRITTEN[3:]]
    assert holds(answers(SLOT, halves))


def test_two_moves_along_another_way_to_the_same_end_are_not() -> None:
    detour = [*WRITTEN[:3], ("line", 2.5, 4.1, None), *WRITTEN[3:]]
    found = answers(SLOT, detour)["motion.moves"]
    assert not found.holds
    assert found.line == 4


def test_an_arc_in_quadrants_is_the_same() -> None:
    whole = plan(Rapid(z=5.0), Rapid(x=3, y=0), Feed(50, z=-1), Arc(100, (0, 0), False, full=True,
                                                                    x=3, y=0), Rapid(z=5))
    pieces: list[Piece] = [
        ("rapid", 3, 0, 5), ("line", None, None, -1, {"feed": 50.0}),
        ("ccw", 0, 3, None, 0, 0), ("ccw", -3, 0, None, 0, 0), ("ccw", 0, -3, None, 0, 0),
        ("ccw", 3, 0, None, 0, 0), ("rapid", None, None, 5),
    ]
    assert holds(answers(whole, pieces))
    three = [*pieces[:5], pieces[-1]]
    assert not holds(answers(whole, three))
    twice = [*pieces[:6], *pieces[2:6], pieces[-1]]
    assert not holds(answers(whole, twice))


def test_an_arc_as_chords_is_the_same_within_their_tolerance() -> None:
    half = plan(Rapid(z=5.0), Rapid(x=3, y=0), Feed(50, z=-1),
                Arc(100, (0, 0), False, x=-3, y=0), Rapid(z=5))

    def chords(count: int) -> list[Piece]:
        turns = [math.pi * k / count for k in range(1, count + 1)]
        return [("rapid", 3, 0, 5), ("line", None, None, -1, {"feed": 50.0}),
                *(("line", 3 * math.cos(t), 3 * math.sin(t), None) for t in turns),
                ("rapid", None, None, 5)]

    machine = bench_mill(arcs=ArcWords(style="none", tolerance=0.002))
    # Sagitta r(1 − cos(π/2n)): 0.0018 mm at 45 chords, 0.019 mm at 14.
    assert holds(answers(half, chords(45), machine))
    assert not holds(answers(half, chords(14), machine))
    assert holds(answers(half, [("rapid", 3, 0, 5), ("line", None, None, -1, {"feed": 50.0}),
                                ("ccw", -3, 0, None, 0, 0), ("rapid", None, None, 5)], machine))


@pytest.mark.parametrize("at", [0.1, 0.5, 0.83])
@pytest.mark.parametrize("every", [1, 2, 7])
@pytest.mark.parametrize("count", [45, 46, 60])
def test_chords_of_an_arc_may_be_parted_anywhere_along_themselves_and_nowhere_else(
    at: float, every: int, count: int
) -> None:
    half = plan(Rapid(z=5), Rapid(x=3, y=0), Feed(50, z=-1),
                Arc(100, (0, 0), False, x=-3, y=0), Rapid(z=5))
    machine = bench_mill(arcs=ArcWords(style="none", tolerance=0.002))

    def chords(aside: float) -> list[Piece]:
        points = [(3 * math.cos(math.pi * n / count), 3 * math.sin(math.pi * n / count))
                  for n in range(count + 1)]
        lines: list[Piece] = []
        for n, ((x0, y0), (x1, y1)) in enumerate(pairwise(points)):
            if n % every == 0:
                out = aside / math.hypot(x1 - x0, y1 - y0)
                lines.append(("line", x0 + at * (x1 - x0) - out * (y1 - y0),
                              y0 + at * (y1 - y0) + out * (x1 - x0), None))
            lines.append(("line", x1, y1, None))
        return [("rapid", 3, 0, 5), ("line", None, None, -1, {"feed": 50.0}), *lines,
                ("rapid", None, None, 5)]

    assert holds(answers(half, chords(0.0), machine))
    # To the inside of the arc, farther off than any chord.
    assert not holds(answers(half, chords(0.005), machine))


def test_getting_clear_at_the_end_may_be_added_no_farther_than_planned() -> None:
    low = plan(*SLOT.sections[0].moves[:-1], Rapid(z=3.0))
    ended: list[Piece] = [*WRITTEN[:-1], ("rapid", None, None, 3)]
    assert holds(answers(low, ended))
    assert holds(answers(low, [*ended, ("rapid", None, None, 5)]))
    assert not holds(answers(low, [*ended, ("rapid", None, None, 40)]))


@pytest.mark.parametrize(
    ("number", "instead"),
    [
        (0, ("rapid", 1, -2, 5)),
        (1, ("rapid", None, None, 0.6)),
        (2, ("line", None, None, -1.02, {"feed": 50.0})),
        (3, ("line", 4, 6.01, None)),
        (4, ("ccw", 5, 5, None, 4, 5)),
        (4, ("cw", 5, 5, None, 4.01, 5.01)),
        (4, ("line", 5, 5, None)),
        (5, ("rapid", None, None, 4)),
        (2, ("rapid", None, None, -1)),
        (1, None), (2, None), (3, None), (4, None), (5, None),
    ],
)
def test_any_other_difference_of_path_is_named(number: int, instead: Piece | None) -> None:
    changed = [*WRITTEN]
    changed[number : number + 1] = [] if instead is None else [instead]
    found = answers(SLOT, changed)["motion.moves"]
    assert not found.holds


def test_blocks_in_another_order_are_named() -> None:
    swapped = [WRITTEN[0], WRITTEN[1], WRITTEN[3], WRITTEN[2], *WRITTEN[4:]]
    assert not holds(answers(SLOT, swapped))


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ({"feed": 1000.0}, "motion.feeds"),
        ({"speed": 9000.0}, "motion.speed-sense-cutter"),
        ({"speed": -10000.0}, "motion.speed-sense-cutter"),
        ({"speed": 0.0}, "motion.speed-sense-cutter"),
        ({"cutter": 2}, "motion.speed-sense-cutter"),
    ],
)
def test_feed_speed_sense_and_cutter_must_agree(words: dict[str, float], name: str) -> None:
    changed = [*WRITTEN]
    changed[3] = (*WRITTEN[3], words)
    found = answers(SLOT, changed)
    assert not found[name].holds
    assert found[name].line == 4
    assert found["motion.moves"].holds


def test_a_hole_planned_whole_may_be_written_move_by_move() -> None:
    hole = plan(Rapid(z=5), Drill(1, 2, clearance=0.5, bottom=-2, feed=60, travel=5, peck=1.5,
                                  peck_gap=0.1), Rapid(z=5))
    pieces: list[Piece] = [
        ("rapid", 1, 2, 5), ("rapid", None, None, 0.5),
        ("line", None, None, -1, {"feed": 60.0}), ("rapid", None, None, 0.5),
        ("rapid", None, None, -0.9), ("line", None, None, -2, {"feed": 60.0}),
        ("rapid", None, None, 5),
    ]
    assert holds(answers(hole, pieces))
    shallow = [*pieces[:5], ("line", None, None, -1.9, {"feed": 60.0}), pieces[-1]]
    assert not holds(answers(hole, shallow))


def test_the_head_must_stand_at_the_planned_angle() -> None:
    moves = plan(Rapid(y=-5), Rapid(x=3, z=0), Index(-1), Index(4.8, 2), Rapid(y=0.4),
                 Feed(100, x=-2), Rapid(y=-5), axis="Y", clear=-5.0)

    def written(angle: float) -> list[Piece]:
        return [("index", -1), ("index", angle), ("rapid", None, 0.4, None),
                ("line", -2, None, None), ("rapid", None, -5, None)]

    def proofs(angle: float) -> list[Proof]:
        read = program(written(angle), start=(3, -5, 0))
        return list(prove_same_motion(evidence(stack(), read, moves=moves)))

    assert all(proof.holds for proof in proofs(4.8))
    assert not all(proof.holds for proof in proofs(4.81))
    assert not all(proof.holds for proof in proofs(-4.8))


@pytest.mark.parametrize(("planned", "read", "share"), [
    (100.0, 110.0, 10.0), (100.0, 80.0, 20.0), (40.0, 50.0, 25.0), (400.0, 100.0, 75.0)])
def test_a_feed_is_off_by_its_share_of_what_was_planned(
    planned: float, read: float, share: float
) -> None:
    moves = plan(Rapid(z=5.0), Rapid(x=1.0, y=2.0), Feed(planned, x=4.0, y=6.0))
    pieces: list[Piece] = [("rapid", 1, 2, 5), ("line", 4, 6, None, {"feed": read})]
    found = answers(moves, pieces)["motion.feeds"]
    assert not found.holds
    # Less what rounding may do to the number.
    assert share - 1.5 <= found.figure <= share
    right = [pieces[0], ("line", 4, 6, None, {"feed": planned})]
    assert answers(moves, right)["motion.feeds"].holds  # type: ignore[arg-type]
