"""The clamp of a head: shut for cutting, free for turning, and never let go in the work."""

from __future__ import annotations

import pytest
from motion_by_hand import Piece, bench_mill, evidence, program, stack

from camgen.proof.motion.clamp import prove_clamp
from camgen.proof.result import Proof
from camgen.reader.motion import Event

MACHINE = bench_mill(rotary={"clamp": "M10", "unclamp": "M11"})
PIECES: list[Piece] = [("rapid", 0, -5, 0), ("index", 4.8), ("line", 1, None, None),
                       ("line", 2, None, None), ("index", 9.6), ("line", 0, None, None)]


def clamped(*events: tuple[str, int]) -> Proof:
    told = [Event(kind, line, before)  # type: ignore[arg-type]
            for line, (kind, before) in enumerate(events, 11)]
    (proof, _) = prove_clamp(evidence(stack(), program(PIECES, events=told), machine=MACHINE))
    return proof


RIGHT = (("unclamp", 1), ("clamp", 2), ("unclamp", 4), ("clamp", 5))


def test_a_head_free_for_every_turn_and_shut_for_every_cut_is_right() -> None:
    found = clamped(*RIGHT)
    assert (found.holds, found.figure, found.where) == (True, 0, "")
    assert clamped(*RIGHT, ("unclamp", 6), ("clamp", 6)).holds


@pytest.mark.parametrize(("lost", "figure", "line"), [(0, 1, 2), (1, 2, 3), (2, 1, 5), (3, 1, 6)])
def test_a_word_lost_is_told_at_the_first_piece_it_concerns(
    lost: int, figure: int, line: int
) -> None:
    found = clamped(*RIGHT[:lost], *RIGHT[lost + 1 :])
    # The last word lost leaves the head free at the end as well.
    assert (found.holds, found.figure) == (False, figure + (lost == 3))
    assert found.line == line


def test_a_program_may_not_end_with_the_head_free() -> None:
    found = clamped(*RIGHT, ("unclamp", 6))
    assert (found.holds, found.figure) == (False, 1)
    assert found.where.endswith("ends with the head free")


def test_nothing_is_asked_where_there_is_no_clamp_or_no_turn() -> None:
    read = program(PIECES)
    assert prove_clamp(evidence(stack(), read, machine=bench_mill())) == ()
    still = program([("rapid", 0, -5, 0), ("line", 1, None, None)])
    assert prove_clamp(evidence(stack(), still, machine=MACHINE)) == ()
