"""Metal met at the feed of a thin cut, on walls planned by the program itself and by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_by_hand import MILL, Piece, evidence, flat, program
from pocket_programs import proved as pocket_plate
from sampling import few
from test_proof_passes import planned_for
from workshop import BLANKS, DRIVEN, PLATE, WHEEL, blanks, plate, read

from camgen.job.models import Job
from camgen.plan import PlannedSetup
from camgen.post.writer import write_programs
from camgen.proof import gather
from camgen.proof.evidence import Evidence
from camgen.proof.flat.load import engagement
from camgen.proof.flat.load.full_feed import met_in_arc, prove_full_feed
from camgen.proof.result import Proof
from camgen.reader import read_program

RADIUS = MILL.diameter / 2
NAME = "flat.more-metal-than-planned: cutter 1"


def by_hand(pieces: list[Piece], left: float = 0.05) -> dict[str, Proof]:
    """Cutter 1 planned for slots at 60 mm/min and for ``left`` on walls at 100."""
    looked_at = planned_for(evidence(flat(), program(pieces)), 0.5)
    (cut,) = looked_at.planned_cuts
    slot = replace(cut, feed=60.0, others=(replace(cut, feed=100.0, width=left),))
    return {str(p.id): p for p in prove_full_feed(replace(looked_at, planned_cuts=(slot,)))}


def lap(y: float, feed: float) -> list[Piece]:
    return [("rapid", None, None, 5), ("rapid", -6, y, 5), ("line", None, None, -0.5),
            ("line", 6, y, None, {"feed": feed})]


def test_a_slot_at_its_own_feed_and_a_thin_cut_at_its_own_both_hold() -> None:
    assert by_hand([*lap(0, 60), *lap(0.05, 100)])[NAME].holds


def test_a_slot_at_the_feed_of_a_thin_cut_is_named_with_its_line() -> None:
    proof = by_hand([*lap(0, 60), *lap(3, 100)])[NAME]
    assert (proof.holds, proof.line, proof.unit) == (False, 8, "mm")
    assert proof.figure == pytest.approx(12, abs=0.3)
    assert "180 degrees met, 26 planned" in proof.where


def test_a_wall_with_four_times_as_much_left_on_it_is_named() -> None:
    proof = by_hand([*lap(0, 60), *lap(0.2, 100)])[NAME]
    assert not proof.holds
    assert f"{math.degrees(math.acos(1 - 0.2 / RADIUS)):.0f}"[:1] in proof.where


def test_a_short_stretch_at_a_corner_is_no_fault() -> None:
    into = ("line", 6, 0.4, None, {"feed": 100.0})
    assert by_hand([*lap(0, 60), ("line", 5.7, 0, None), into])[NAME].holds


def test_a_feed_beyond_every_planned_one_may_meet_no_more_than_the_fastest() -> None:
    assert not by_hand([*lap(0, 60), *lap(3, 300)])[NAME].holds


@given(st.floats(0.1, 3.0), st.floats(0.02, 0.45))
@settings(max_examples=few(40), deadline=None)
def test_what_is_met_inside_an_arc_agrees_with_points_on_the_cutter(
    rho: float, width: float
) -> None:
    turn = (np.arange(7200) + 0.5) / 7200 * math.pi
    edge = np.exp(1j * turn) * RADIUS + rho
    share = np.count_nonzero(np.abs(edge) > rho + RADIUS - width) / len(turn)
    assert met_in_arc(RADIUS, np.array([rho]), width)[0] == pytest.approx(180 * share, abs=0.1)


def looked_at(planned: PlannedSetup, job: Job) -> Evidence:
    """What is read back of a plan."""
    (one,) = write_programs(planned.moves, DRIVEN, stem="work")
    return gather(planned.name, job, DRIVEN, planned.layout, planned.moves,
                  [read_program(one.text, DRIVEN, one.file)], planned_cuts=planned.cuts)


STEP = "outline: {cutter: mill}"


@lru_cache(maxsize=1)
def outlined() -> tuple[PlannedSetup, Job]:
    return plate(STEP), read(f"{PLATE}      - {STEP}\n").job


def test_the_last_pass_of_an_outline_meets_what_it_was_planned_for() -> None:
    planned, job = outlined()
    (proof,) = prove_full_feed(looked_at(planned, job))
    assert proof.holds
    assert proof.name.endswith("step 1")


def test_an_outline_roughed_at_the_feed_of_its_last_pass_is_named() -> None:
    planned, job = outlined()
    (cut,) = planned.cuts
    (fine,) = cut.others
    assert abs(fine.feed - cut.feed) > 0.1 * cut.feed
    found = looked_at(planned, job)
    slow = found.motion.feed
    fast = np.where(np.abs(slow - cut.feed) < 1, fine.feed, slow)
    harmed = replace(found, motion=replace(found.motion, feed=fast))
    (proof,) = prove_full_feed(harmed)
    assert not proof.holds
    assert proof.figure > 10
    assert proof.line > 0


def test_pieces_cut_alike_are_looked_at_once_and_one_that_differs_too() -> None:
    planned = blanks(STEP)
    job = read(f"{WHEEL}{BLANKS % 'true'}      - {STEP}\n").job
    found = looked_at(planned, job)
    assert 0.6 < found.repeated[found.cut].mean() < 0.9
    # The last piece's finishing pass moved out of its groove, into the solid.
    motion = found.motion
    fast = np.abs(motion.feed - planned.cuts[0].others[0].feed) < 1
    x, y = planned.layout.places[-1]
    there = np.hypot(motion.end[:, 0] - x, motion.end[:, 1] - y) < 6.5
    assert all(proof.holds for proof in prove_full_feed(found))
    shift = np.zeros((len(motion), 3))
    shift[fast & there] = [0.3, 0.0, 0.0]
    harmed = replace(found, motion=replace(motion, start=motion.start + shift,
                                           end=motion.end + shift, centre=motion.centre + shift))
    (proof,) = [proof for proof in prove_full_feed(harmed) if not proof.holds]
    assert proof.at is not None
    assert shapely.Point(proof.at[:2]).distance(shapely.Point(x, y)) < 7


@lru_cache(maxsize=1)
def pocketed() -> Evidence:
    plate = "  pockets:\n    seat: {rectangle: [4, 3], corner: 0.6, depth: 0.4}"
    return pocket_plate(plate, "pocket: {cutter: mill}").setups[0].evidence


@pytest.mark.long
def test_the_last_pass_in_a_pocket_is_held_to_what_it_was_planned_for() -> None:
    (proof,) = prove_full_feed(pocketed())
    assert proof.holds


def test_a_pocket_cleared_at_the_feed_of_its_last_pass_is_named() -> None:
    found = pocketed()
    (cut,) = found.planned_cuts
    fine = cut.others[-1]
    assert fine.width < cut.width
    assert fine.feed > 1.1 * cut.feed
    fast = np.where(np.abs(found.motion.feed - cut.feed) < 1, fine.feed, found.motion.feed)
    (proof,) = prove_full_feed(replace(found, motion=replace(found.motion, feed=fast)))
    assert not proof.holds
    assert proof.figure > 1


def test_a_pockets_last_pass_moved_into_its_wall_is_named() -> None:
    found = pocketed()
    fine = found.planned_cuts[0].others[-1]
    walls = np.abs(found.motion.feed - fine.feed) < 1
    shift = np.zeros((len(found.motion), 3))
    shift[walls] = [0.0, 0.2, 0.0]
    motion = replace(found.motion, start=found.motion.start + shift,
                     end=found.motion.end + shift, centre=found.motion.centre + shift)
    failed = [one for one in prove_full_feed(replace(found, motion=motion)) if not one.holds]
    assert [one.figure > 1 for one in failed] == [True]


def zigzag(times: int, wide: float) -> list[Piece]:
    """Slots at their own feed, and as often, at a thin cut's, a way in air with a short one across
    what stands between two slots."""
    pieces: list[Piece] = []
    for number in range(times):
        y = -4.0 + 1.6 * (number % 5)
        pieces += [*lap(y, 60), ("line", 6, y + 1.0 + wide, None, {"feed": 60.0}),
                   ("line", -6, y + 1.0 + wide, None, {"feed": 60.0}),
                   ("rapid", None, None, 5), ("rapid", -5, y, 5), ("line", None, None, -0.5),
                   ("line", -5, y + 1.0 + wide, None, {"feed": 100.0})]
    return pieces


@pytest.mark.parametrize("few_places", [2500, 22, 9, 7])
def test_places_looked_at_by_turns_make_no_corner_a_long_way(
    few_places: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However few places are looked at first, a short stretch is short, and a long one is long."""
    monkeypatch.setattr(engagement, "MOST", few_places)
    assert by_hand(zigzag(5, 0.05))[NAME].holds
    long = by_hand([*zigzag(5, 0.05), *lap(5.4, 100)])[NAME]
    assert not long.holds
    assert "180 degrees met, 26 planned" in long.where
