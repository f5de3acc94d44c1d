"""Pockets cleared by several cutters in order: what each leaves and takes, and what is proved."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from pocket_programs import Met, met_at, proofs_of, proved, text_of
from sampling import sampled
from workshop import DRIVEN, read

from camgen.clearing.clearing import engagement_of
from camgen.faults import Refused
from camgen.layout import FlatLayout
from camgen.make.chain import Proved
from camgen.plan import plan_job
from camgen.proof.path import chords, select

DEPTH = 0.35
SEAT = "  pockets:\n    seat: {rectangle: [4.6, 3.6], corner: 0.45, depth: 0.35}"
BOTH = ("pocket: {cutter: big, width: 0.3}", "pocket: {cutter: mill, width: 0.12}")


@pytest.fixture(scope="module")
def two() -> Proved:
    return proved(SEAT, *BOTH)


@pytest.fixture(scope="module")
def alone() -> Proved:
    return proved(SEAT, BOTH[1])


def seat(done: Proved) -> shapely.Polygon:
    layout = done.setups[0].planned.layout
    assert isinstance(layout, FlatLayout)
    return layout.part.recesses[0].area.region(1e-4)


def measured(done: Proved) -> Met:
    planned = done.setups[0].planned
    feeds = {
        section.cutter_number: cut.feed
        for section, cut in zip(planned.moves.sections, planned.cuts, strict=True)
    }
    return met_at(done.setups[0].evidence, -DEPTH, feeds, seat(done).exterior)


def cut_length(done: Proved, cutter: int) -> float:
    evidence = done.setups[0].evidence
    return float(evidence.length[evidence.cut & (evidence.motion.cutter == cutter)].sum())


def test_all_proofs_hold_and_nothing_is_left_in_the_corners(two: Proved) -> None:
    assert not two.failed
    (left,) = proofs_of(two, "flat.material-left")
    assert left.figure <= 1.0
    engaged = proofs_of(two, "flat.engagement")
    assert [str(proof.id) for proof in engaged] == [
        f"flat.engagement: step {n}" for n in (1, 2)
    ]
    depths = proofs_of(two, "flat.pass-depth")
    assert len(depths) == 2


def test_what_both_have_swept_is_the_pocket(two: Proved) -> None:
    """By shapely on the motion read back: nothing stands in it, nothing is gone beside it."""
    left = measured(two).left
    inside = left.intersection(seat(two).buffer(-0.002))
    assert inside.area < 1e-3
    stock = two.setups[0].evidence.layout.stock  # type: ignore[union-attr]
    assert stock.difference(left).difference(seat(two).buffer(0.002)).area < 1e-4


def test_no_cutter_meets_more_metal_than_planned(two: Proved) -> None:
    """Both are planned for 0.15 of their diameter: arccos(1 − 0.3) (plane geometry)."""
    planned = engagement_of(1.0, 0.3)
    met = measured(two)
    assert len(met.angle) > 300
    assert met.angle.max() <= 1.25 * planned + math.radians(1)
    assert met.share_at_most(1.1 * planned) >= 0.95


@pytest.mark.long
def test_the_later_cutter_clears_corners_only(two: Proved, alone: Proved) -> None:
    """It goes round the walls, and through what the larger one left: a small part of the way."""
    assert not alone.failed
    numbers = {section.cutter: section.cutter_number
               for section in two.setups[0].planned.moves.sections}
    rest, whole = cut_length(two, numbers["mill"]), cut_length(alone, numbers["mill"])
    assert rest < 0.5 * whole


def test_the_earlier_cutter_leaves_the_last_ones_finish_on_the_walls(two: Proved) -> None:
    evidence = two.setups[0].evidence
    numbers = {section.cutter: section.cutter_number
               for section in two.setups[0].planned.moves.sections}
    ring = seat(two).exterior
    for cutter, off in (("big", 1.0 + 0.05 * 0.8), ("mill", 0.4)):
        rows = evidence.cut & (evidence.motion.cutter == numbers[cutter])
        rows &= evidence.motion.end[:, 2] <= -DEPTH + 1e-6
        away = shapely.distance(ring, shapely.points(evidence.motion.end[rows, :2]))
        assert away.min() == pytest.approx(off, abs=0.002)


def test_a_cutter_that_gets_in_nowhere_leaves_a_pocket_to_the_next() -> None:
    plate = SEAT + "\n    eye: {circle: 1.2, at: [5, 3], depth: 0.2}"
    done = proved(plate, *BOTH)
    assert not done.failed
    remarks = done.setups[0].planned.remarks
    assert "pocket eye: big does not get in and leaves it to a later step" in remarks
    assert "pocket seat: big leaves corners and walls to a later step" in remarks
    first = done.setups[0].planned.moves.sections[0]
    middles = [move.centre for move in first.moves if hasattr(move, "centre")]
    assert all(math.dist(middle, (5, 3)) > 2 for middle in middles)


def refused(plate: str, *steps: str) -> list[str]:
    with pytest.raises(Refused) as no:
        plan_job(read(text_of(plate, *steps)), DRIVEN)
    assert all(fault.place.line for fault in no.value.faults)
    return [f"{fault.message} | {fault.remedy}" for fault in no.value.faults]


def test_metal_left_after_the_last_cutter_is_named_with_the_largest_that_fits() -> None:
    told = refused(SEAT.replace("corner: 0.45", "corner: 0.3"), *BOTH)
    assert len(told) == 4
    assert all("has a radius of 0.3 mm: a cutter of 0.8 mm does not get into it" in one
               and "a cutter of at most 0.6 mm" in one and "step after this one" in one
               for one in told)
    places = {one.split("the corner at ")[1].split(" has")[0] for one in told}
    # Corners are named in the middle of their arcs, where most is left.
    assert "X 2.212 Y -1.712" in places


@pytest.mark.long
def test_the_corners_of_the_first_cutter_are_no_fault_when_a_later_one_takes_them() -> None:
    sharp = SEAT.replace("corner: 0.45", "corner: 0.25")
    plan_job(read(text_of(sharp, *BOTH, "pocket: {cutter: fine}")), DRIVEN)
    assert len(refused(sharp, *BOTH)) == 4
    other = sharp + "\n    eye: {circle: 1.2, at: [5, 3], depth: 0.2}"
    assert len(refused(other, *BOTH, "pocket: {cutter: fine, pockets: [eye]}")) == 4


@pytest.mark.long
def test_a_gap_too_narrow_for_the_last_cutter_is_named_with_the_largest_that_fits() -> None:
    """Between a post of 1 mm at X 1.4 and the wall at X 2.3 there are 0.4 mm."""
    plate = SEAT + "\n  posts:\n    stud: {circle: 1.0, at: [1.4, 0]}"
    (told,) = refused(plate, *BOTH)
    assert "pocket seat is narrower than the cutter, 0.8 mm, at X 2." in told
    fits = float(told.split("a cutter of at most ")[1].split(" mm")[0])
    assert fits == pytest.approx(0.4, abs=0.011)


def test_a_cutter_that_gets_into_no_pocket_at_all_is_refused() -> None:
    plate = "  pockets:\n    eye: {circle: 1.6, depth: 0.2}"
    (told,) = refused(plate, *BOTH)
    assert "a cutter of 2 mm gets into none of these pockets" in told


@pytest.mark.parametrize(
    ("cutter", "words"),
    [("bull", "a corner radius of 0.1 mm leaves a fillet along the floor"),
     ("blunt", "leaves too little of the end of a cutter of 0.8 mm"),
     ("ball", "which is of kind ball-end-mill")],
)
def test_rounded_cutters_are_refused_for_sharp_floors(cutter: str, words: str) -> None:
    assert any(words in one for one in refused(SEAT, f"pocket: {{cutter: {cutter}}}"))


@pytest.mark.long
@pytest.mark.parametrize(
    ("plate", "steps"),
    sampled([("{rectangle: [3, 2.6], corner: 0.6, depth: 0.5, fillet: 0.1}",
      ["pocket: {cutter: bull, floor: 0.05}"]),
     # A sharp cutter takes the fillets that it leaves, and its own corners.
     ("{rectangle: [2.4, 2], corner: 0.4, depth: 0.5}",
      ["pocket: {cutter: bull}", "pocket: {cutter: fine}"])], 2),
)
def test_a_rounded_cutter_leaves_no_more_than_the_fillet_that_may_be(
    plate: str, steps: list[str]
) -> None:
    done = proved(f"  pockets:\n    seat: {plate}", *steps)
    assert not done.failed
    (floor,) = proofs_of(done, "flat.floor: seat")
    assert floor.figure <= 1.0
    assert proofs_of(done, "flat.engagement")
    shape = seat(done)
    evidence = done.setups[0].evidence
    # Where the flat end of a cutter has been on the floor, by hand.
    flat = {3: 0.2, 4: 0.3}
    motion = evidence.motion
    low = evidence.cut & (motion.end[:, 2] < -0.5 + 1e-6) & (motion.start[:, 2] < -0.5 + 1e-6)
    assert low.any()
    ways = chords(select(motion, np.flatnonzero(low)), 0.0005)
    cutters = motion.cutter[np.flatnonzero(low)[ways.piece]].tolist()
    been = shapely.union_all([
        shapely.LineString([begin, end]).buffer(flat[cutter] + 0.001)
        for begin, end, cutter in zip(ways.start[:, :2], ways.end[:, :2], cutters, strict=True)
    ])
    fillet = 0.1 if len(steps) == 1 else 0.0
    assert shape.buffer(-fillet - 0.005).difference(been).area < 1e-4


def test_arcs_are_written_as_arcs(two: Proved) -> None:
    """Walls' corners and most of the clearing are arcs in the program, not chords."""
    motion = two.setups[0].evidence.motion
    arcs = np.flatnonzero(np.isin(motion.kind, (2, 3)))
    assert len(arcs) > 50
    # The corners' walls: 0.45 mm less the cutter's radius.
    radii = np.hypot(*(motion.start[arcs, :2] - motion.centre[arcs, :2]).T)
    assert (np.abs(radii - 0.05) < 0.002).sum() >= 4
    straight = np.flatnonzero((motion.kind == 1) & (motion.end[:, 2] < 0))
    tiny = two.setups[0].evidence.length[straight] < 0.01
    assert tiny.mean() < 0.05


def test_a_direction_is_kept_along_the_walls(two: Proved) -> None:
    """Climbing inside a pocket the last pass goes anticlockwise, the spindle turning clockwise."""
    for word, sign in (("climb", 1.0), ("conventional", -1.0)):
        done = two if word == "climb" else proved(
            SEAT, BOTH[0], "pocket: {cutter: mill, direction: conventional}")
        assert not done.failed
        evidence = done.setups[0].evidence
        inner = seat(done).buffer(-0.4 - 0.005).exterior
        motion = evidence.motion
        rows = np.flatnonzero(
            evidence.cut & (motion.end[:, 2] <= -DEPTH + 1e-6)
            & (motion.cutter == motion.cutter[-2])
        )
        on_wall = [
            row for row in rows
            if not shapely.Polygon(inner).contains(shapely.Point(motion.end[row, :2]))
            and not shapely.Polygon(inner).contains(shapely.Point(motion.start[row, :2]))
        ]
        a, b = motion.start[on_wall, :2], motion.end[on_wall, :2]
        turned = float((a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1]).sum()) / 2
        assert sign * turned > 5.0


def test_the_same_job_gives_the_same_bytes(two: Proved) -> None:
    again = proved(SEAT, *BOTH)
    assert [one.text for one in again.setups[0].programs] == [
        one.text for one in two.setups[0].programs
    ]


