"""Ways into pockets, open sides, floors finished in a last pass, and posts of several heights."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from pocket_programs import Met, met_at, proofs_of, proved, text_of
from sampling import sampled
from shapely.geometry.base import BaseGeometry
from workshop import DRIVEN, read

from camgen.clearing.clearing import engagement_of
from camgen.faults import Refused
from camgen.layout import FlatLayout
from camgen.make.chain import Proved
from camgen.plan import plan_job

SEAT = "  pockets:\n    seat: {rectangle: [3.0, 2.4], corner: 0.45, depth: 0.35}"
OPEN = "  pockets:\n    side: {rectangle: [4, 3], corner: 0.45, at: [8, 0], depth: 0.35}"
RADIUS = 0.4


def layout_of(done: Proved) -> FlatLayout:
    layout = done.setups[0].planned.layout
    assert isinstance(layout, FlatLayout)
    return layout


def measured(done: Proved, level: float, section: int, solid: BaseGeometry | None = None
             ) -> Met:
    """What the cutter of one section meets at Z ``level``."""
    planned = done.setups[0].planned
    feeds = {planned.moves.sections[section].cutter_number: planned.cuts[section].feed}
    walls = layout_of(done).part.recesses[0].area.region(1e-4).exterior
    return met_at(done.setups[0].evidence, level, feeds, walls, solid)


def refused(plate: str, *steps: str, stock: str = "sheet: [24, 24]") -> list[str]:
    with pytest.raises(Refused) as no:
        plan_job(read(text_of(plate, *steps, stock=stock)), DRIVEN)
    assert all(fault.place.line for fault in no.value.faults)
    return [f"{fault.message} | {fault.remedy}" for fault in no.value.faults]


# --- open sides ---------------------------------------------------------------------------------


@pytest.fixture(scope="module", params=sampled(["sheet: [24, 24]", "disc: 16"], 2))
def opened(request: pytest.FixtureRequest) -> Proved:
    """The pocket over the edge of the part: in a sheet, and where the stock ends there too."""
    return proved(OPEN, "pocket: {cutter: mill, width: 0.12}", stock=request.param)


def test_a_pocket_over_the_edge_is_no_fault_and_all_proofs_hold(opened: Proved) -> None:
    assert not opened.failed
    for name in ("flat.material-missing", "flat.material-left"):
        assert all(proof.figure <= 1.0 for proof in proofs_of(opened, name))


def test_no_lip_is_left_on_the_edge_and_nothing_is_gone_beside(opened: Proved) -> None:
    """By shapely on the motion read back."""
    layout = layout_of(opened)
    part = layout.part.outline.region(1e-4).intersection(layout.stock)
    pocket = layout.part.recesses[0].area.region(1e-4)
    left = measured(opened, -0.35, 0).left
    assert left.intersection(part).intersection(pocket.buffer(-0.002)).area < 1e-4
    assert part.difference(pocket.buffer(0.002)).difference(left).area < 1e-4


def test_no_more_metal_is_met_than_planned(opened: Proved) -> None:
    planned = engagement_of(RADIUS, 0.3 * RADIUS)
    met = measured(opened, -0.35, 0)
    assert len(met.angle) > 300
    assert met.angle.max() <= 1.25 * planned + math.radians(1)
    assert met.share_at_most(1.1 * planned) >= 0.95


def test_the_cutter_comes_from_the_air_side_where_there_is_air(opened: Proved) -> None:
    evidence, stock = opened.setups[0].evidence, layout_of(opened).stock
    motion = evidence.motion
    down = motion.start[:, 2] - motion.end[:, 2] > 1e-6
    into = np.flatnonzero(evidence.cut & down & (motion.end[:, 2] < -1e-6))
    first = motion.end[into[0], :2]
    round_stock = stock.area < 300
    beside = stock.distance(shapely.Point(first)) >= RADIUS - 0.02
    assert beside == round_stock
    level = np.hypot(*(motion.end[into, :2] - motion.start[into, :2]).T)
    # Where it comes from outside it is never screwed into metal.
    assert (level.max() < 1e-6) == round_stock


def test_walls_are_finished_only_where_there_are_walls(opened: Proved) -> None:
    """At the last feed the cutter's edge runs along the pocket's three walls, not outside."""
    evidence = opened.setups[0].evidence
    motion = evidence.motion
    walls = layout_of(opened).part.recesses[0].area.region(1e-4).exterior
    part = layout_of(opened).part.outline.region(1e-4)
    # The last pass: as far as the cutter last is fed at all of the feed for it.
    feed = opened.setups[0].planned.cuts[0].others[-1].feed
    last = [row for row in range(len(motion)) if evidence.cut[row]
            and motion.feed[row] == pytest.approx(feed, abs=0.6)
            and abs(motion.start[row, 2] + 0.35) < 1e-6 and abs(motion.end[row, 2] + 0.35) < 1e-6]
    points = np.concatenate([motion.start[last[1:], :2], motion.end[last[1:], :2]])
    away = shapely.distance(walls, shapely.points(points))
    assert away == pytest.approx(RADIUS, abs=0.003)
    reach = shapely.distance(part, shapely.points(points))
    assert 0.05 < reach.max() < 1.5
    assert evidence.length[last].sum() < 3 + 2 * 2 + 2


def test_over_the_edge_into_a_clamp_or_the_next_piece_is_refused() -> None:
    text = text_of(OPEN, "pocket: {cutter: mill}")
    clamped = text.replace("slugs: true}", "slugs: true, clamps: [[8.3, -1, 11, 1, 3]]}")
    with pytest.raises(Refused, match="open to a side where a clamp stands"):
        plan_job(read(clamped), DRIVEN)
    near = text.replace("sheet: [24, 24]", "sheet: [44, 24]").replace(
        "    steps:", "    repeat: {columns: 2, pitch: [16.5, 16.5]}\n    steps:")
    with pytest.raises(Refused, match="would go into the next piece") as no:
        plan_job(read(near), DRIVEN)
    assert "further apart" in no.value.faults[0].remedy


def test_only_corners_inside_the_part_must_be_reached() -> None:
    sharp = OPEN.replace(" corner: 0.45,", "")
    told = refused(sharp, "pocket: {cutter: mill}")
    assert sorted(one.split(" is sharp")[0] for one in told) == [
        "the corner at X 6.000 Y -1.500", "the corner at X 6.000 Y 1.500"
    ]


# --- ways in ------------------------------------------------------------------------------------

HOLE = SEAT + "\n  holes:\n    start: {diameter: %s, at: [[%s]]%s}"


def ways_down(done: Proved) -> tuple[np.ndarray, np.ndarray]:
    """Sloping pieces of the pocket's cutter below the face: those on arcs, and on lines."""
    evidence = done.setups[0].evidence
    motion = evidence.motion
    mine = motion.cutter == motion.cutter[-1]
    down = motion.start[:, 2] - motion.end[:, 2] > 1e-6
    level = np.hypot(*(motion.end[:, :2] - motion.start[:, :2]).T) > 1e-6
    arc = np.isin(motion.kind, (2, 3))
    in_metal = evidence.cut & mine & down & (motion.end[:, 2] < -1e-6)
    return np.flatnonzero(in_metal & arc), np.flatnonzero(in_metal & level & ~arc)


def test_a_ramp_goes_down_on_a_straight_line() -> None:
    done = proved(SEAT, "pocket: {cutter: mill, width: 0.12, entry: ramp}")
    assert not done.failed
    arcs, lines = ways_down(done)
    assert len(arcs) == 0
    assert len(lines) > 0
    motion = done.setups[0].evidence.motion
    drop = motion.start[lines, 2] - motion.end[lines, 2]
    level = np.hypot(*(motion.end[lines, :2] - motion.start[lines, :2]).T)
    steepest = done.setups[0].planned.cuts[0].ramp_angle
    assert np.degrees(np.arctan2(drop, level)).max() <= steepest + 0.1
    planned = engagement_of(RADIUS, 0.3 * RADIUS)
    met = measured(done, -0.35, 0)
    assert met.share_at_most(1.1 * planned) >= 0.95
    assert met.angle.max() <= 1.25 * planned + math.radians(1)


@pytest.mark.long
@pytest.mark.parametrize(("wide", "kind"), sampled([(1.0, "narrow"), (1.3, "wide")], 2))
def test_a_drilled_hole_is_gone_down_in(wide: float, kind: str) -> None:
    plate = HOLE % (wide, "-0.4, 0", "")
    text = [f"drill: {{cutter: {kind}}}", "pocket: {cutter: mill, entry: drilled}"]
    done = proved(plate, *text)
    assert not done.failed
    arcs, lines = ways_down(done)
    assert len(lines) == 0
    motion = done.setups[0].evidence.motion
    if kind == "wide":
        assert len(arcs) == 0, "straight down: the hole is half as wide again as the cutter"
    else:
        assert motion.centre[arcs, :2] == pytest.approx(
            np.tile([-0.4, 0.0], (len(arcs), 1)), abs=0.002)
    planned = engagement_of(RADIUS, 0.3 * RADIUS)
    assert measured(done, -0.35, 1).share_at_most(1.1 * planned) >= 0.95


@pytest.mark.parametrize(
    ("hole", "steps", "fault"),
    [
        (("1.0", "-0.4, 0", ""), ["pocket: {cutter: mill, entry: drilled}"],
         "no step before this one drills a hole in these pockets"),
        (("1.0", "-0.4, 0", ""),
         ["pocket: {cutter: mill, entry: drilled, entry-holes: [start]}",
          "drill: {cutter: narrow}"],
         "hole start is not drilled before"),
        (("0.7", "-0.4, 0", ""),
         ["drill: {cutter: thin}", "pocket: {cutter: mill, entry: drilled}"],
         "hole start is 0.7 mm wide, too narrow for a cutter of 0.8 mm"),
        (("1.0", "5, 0", ""),
         ["drill: {cutter: narrow}",
          "pocket: {cutter: mill, entry: drilled, entry-holes: [start]}"],
         "hole start lies in none of the pockets"),
        (("1.0", "-1.2, 0.5", ""), ["drill: {cutter: narrow}",
                                    "pocket: {cutter: mill, entry: drilled}"],
         "hole start is too near a wall"),
        (("1.0", "-0.4, 0", ", depth: 0.35"),
         ["drill: {cutter: narrow}", "pocket: {cutter: mill, entry: drilled}"],
         "the drill's point of hole start goes 0.30 mm below the floor of pocket seat"),
        (("1.0", "-0.4, 0", ", depth: 0.1"),
         ["drill: {cutter: narrow}", "pocket: {cutter: mill, entry: drilled, pockets: [deep]}"],
         "hole start is 0.10 mm deep at its full width, pocket deep 0.9 mm"),
        (("1.0", "-0.4, 0", ""),
         ["drill: {cutter: narrow}", "pocket: {cutter: mill, entry: drilled, pockets: [far]}"],
         "no step before this one drills a hole in these pockets"),
        (("1.0", "-0.4, 0", ""), ["drill: {cutter: narrow}",
                                  "pocket: {cutter: mill, entry-holes: [start]}"],
         "holes to go down in, and the entry is none of them"),
        (("1.0", "-0.4, 0", ""), ["drill: {cutter: narrow}",
                                  "pocket: {cutter: mill, entry: drilled, entry-holes: [strat]}"],
         "no hole called 'strat'"),
    ],
)
def test_a_hole_that_the_cutter_cannot_go_down_in_is_named(
    hole: tuple[str, str, str], steps: list[str], fault: str
) -> None:
    plate = HOLE % hole
    plate = plate.replace("\n  holes:", "\n    far: {circle: 2, at: [5, 3], depth: 0.3}\n"
                          "    deep: {circle: 2.6, at: [-0.4, 0], depth: 0.9}\n  holes:", 1)
    if "[deep]" not in steps[-1]:
        plate = plate.replace("    deep: {circle: 2.6, at: [-0.4, 0], depth: 0.9}\n", "")
    if "[far]" not in steps[-1]:
        plate = plate.replace("    far: {circle: 2, at: [5, 3], depth: 0.3}\n", "")
    assert any(fault in one for one in refused(plate, *steps)), refused(plate, *steps)


# --- floors -------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def floored() -> Proved:
    return proved(SEAT, "pocket: {cutter: mill, width: 0.12, floor: 0.05, step-over: 0.3}")


def test_a_skin_on_the_floor_is_taken_in_one_last_pass_over_it(floored: Proved) -> None:
    assert not floored.failed
    planned = floored.setups[0].planned
    assert [section.title for section in planned.moves.sections] == ["pocket", "pocket floor"]
    rough, floor = planned.cuts
    assert floor.width == pytest.approx(0.3)
    assert rough.width == pytest.approx(0.15 * 0.8)
    assert floor.depth >= 0.05
    motion = floored.setups[0].evidence.motion
    levels = set(np.round(motion.end[motion.end[:, 2] < 0, 2], 3).tolist())
    assert {-0.3, -0.35} <= levels


def test_the_last_pass_over_the_floor_is_as_wide_as_asked_and_leaves_nothing(
    floored: Proved
) -> None:
    """At the floor only this pass cuts; the engagement of 0.3 mm is arccos(1 − 0.75)."""
    pocket = layout_of(floored).part.recesses[0].area.region(1e-4)
    met = measured(floored, -0.35, 1)
    planned = engagement_of(RADIUS, 0.3)
    assert planned == pytest.approx(math.acos(0.25))
    assert met.angle.max() <= 1.25 * planned
    assert met.share_at_most(1.1 * planned) >= 0.95
    assert np.median(met.angle[met.angle > 0.02]) >= 0.6 * planned
    assert met.left.intersection(pocket.buffer(-0.002)).area < 1e-3


@pytest.mark.long
def test_the_earlier_cutter_leaves_the_skin_too() -> None:
    done = proved(SEAT, "pocket: {cutter: big}", "pocket: {cutter: mill, floor: 0.05}")
    assert not done.failed
    motion = done.setups[0].evidence.motion
    first = motion.end[motion.cutter == motion.cutter[np.isfinite(motion.feed)][0], 2]
    assert np.nanmin(first) == pytest.approx(-0.3)
    assert done.setups[0].planned.cuts[-1].width == pytest.approx(0.4 * 0.8)


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        ("step-over: 0.3", "a step-over for the floor, and nothing is left on it to finish"),
        ("floor: 0.05, step-over: 0.5", "a step-over of 0.5 mm is more than half the cutter"),
        ("floor: 0.4", "0.4 mm left on the floor are all its depth"),
    ],
)
def test_words_about_the_floor_that_make_no_sense_are_refused(words: str, fault: str) -> None:
    assert any(fault in one for one in refused(SEAT, f"pocket: {{cutter: mill, {words}}}"))


# --- several depths -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def stepped() -> Proved:
    plate = (
        "  pockets:\n    seat: {circle: 3.8, depth: 0.3}\n    deep: {circle: 2.9, depth: 0.5}\n"
        "  posts:\n    stud: {circle: 0.9, lowered: 0.15}\n"
        "  slots:\n    lever: {ends: [[4.4, 3], [4.4, 3.6]], width: 1.2, depth: 0.2}"
    )
    return proved(plate, "pocket: {cutter: mill}")


@pytest.mark.long
def test_pockets_in_pockets_posts_and_slots_are_cut_each_to_its_own_floor(stepped: Proved) -> None:
    assert not stepped.failed
    floors = {recess.name: recess.depth for recess in layout_of(stepped).part.recesses}
    assert floors == {"seat 0.15": 0.15, "seat": 0.3, "deep 0.15": 0.15, "deep": 0.5, "lever": 0.2}


def level_cuts(done: Proved) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of every level cut: its Z, how near it ends to the middle, and its length."""
    evidence = done.setups[0].evidence
    motion = evidence.motion
    rows = evidence.cut & (np.abs(motion.start[:, 2] - motion.end[:, 2]) < 1e-6)
    rows &= motion.end[:, 2] < -1e-6
    end = motion.end[rows]
    return end[:, 2], np.hypot(end[:, 0], end[:, 1]), evidence.length[rows]


@pytest.mark.long
def test_what_the_floor_above_has_cleared_is_not_cleared_again(stepped: Proved) -> None:
    """Down to the post's top all is cleared once, as one area of 3.8 mm: area over the width of a
    pass, and the ways between."""
    z, near, length = level_cuts(stepped)
    here = (np.abs(z + 0.15) < 1e-6) & (near < 1.9)
    assert length[here].sum() < 2.0 * math.pi * 1.9**2 / (0.15 * 0.8)
    inner = (z < -0.31) & (near < 1.9)
    assert near[inner].max() <= 1.45 - RADIUS + 0.003
    assert z[inner].min() == pytest.approx(-0.5)


@pytest.mark.long
def test_a_lowered_post_is_gone_over_at_its_top_and_not_below(stepped: Proved) -> None:
    z, near, _ = level_cuts(stepped)
    assert near[np.abs(z + 0.15) < 1e-6].min() < 0.45
    assert near[z < -0.16].min() >= 0.45 + RADIUS - 0.003


@pytest.mark.parametrize(
    ("plate", "steps", "stock"),
    sampled([
        ("  pockets:\n    all: {rectangle: [40, 3], depth: 0.35}", ["pocket: {cutter: big}"],
         "sheet: [24, 24]"),
        ("  pockets:\n    all: {circle: 20, depth: 0.2}\n"
         "  posts:\n    hub: {circle: 12.4, at: [1, 0]}",
         ["pocket: {cutter: big}"], "disc: 16.4"),
        ("  slots:\n    lever: {ends: [[5, 0], [3.5355, 3.5355]], centre: [0, 0], width: 1.1, "
         "depth: 0.3}", ["pocket: {cutter: mill, entry: ramp}"], "sheet: [24, 24]"),
    ], 3, ids=["a channel right across", "a face with a hub", "a slot round a centre"]),
)
def test_shapes_of_plates_are_cut_and_proved(plate: str, steps: list[str], stock: str) -> None:
    done = proved(plate, *steps, stock=stock)
    assert not done.failed
    assert not [proof for proof in proofs_of(done, "flat.material-left") if proof.figure > 1.0]


def test_pieces_side_by_side_are_each_open_at_their_side() -> None:
    text = text_of(OPEN, "pocket: {cutter: big}", "pocket: {cutter: mill}",
                   stock="sheet: [48, 24]")
    text = text.replace("    steps:", "    repeat: {columns: 2, pitch: [20, 20]}\n    steps:")
    setup = plan_job(read(text), DRIVEN).setups[0]
    assert isinstance(setup.layout, FlatLayout)
    assert len(setup.layout.places) == 2
    assert len(setup.moves.sections) == 2
