"""Pockets, slots and posts as words: their areas, depths and volumes, and what cannot be."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from workshop import DRIVEN, PLATE, read

from camgen.job.checks.whole_job import job_faults
from camgen.layout import part_shape
from camgen.make.told.account import part_volume
from camgen.part.plates.floors import floors_of, openings_of, slot_path
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Slot

SIZES = st.floats(0.3, 6.0)


def made(**words: object) -> Plate:
    """A plate of 20 mm and 2 mm thick, with these words."""
    return Plate.model_validate({"thickness": 2.0, "outline": {"circle": 20.0}, **words})


def only_floor(pocket: dict[str, object]) -> tuple[float, float]:
    """Area of a pocket's one floor, exact, and by shapely with chords within 0.1 µm."""
    (floor,) = floors_of(made(pockets={"one": {**pocket, "depth": 0.4}}))
    return floor.area.size, float(floor.area.region(1e-4).area)


@given(SIZES, SIZES, st.floats(0.0, 0.49))
def test_a_rectangle_with_rounded_corners_has_the_area_of_plane_geometry(
    length: float, width: float, share: float
) -> None:
    """Length · width less four corners of (1 − π/4)·r² each (plane geometry)."""
    corner = share * min(length, width)
    exact, chords = only_floor({"rectangle": [length, width], "corner": corner})
    assert exact == pytest.approx(length * width - (4 - math.pi) * corner**2, abs=1e-9)
    # A second source: shapely (GEOS), with arcs as chords.
    assert chords == pytest.approx(exact, abs=2 * math.pi * corner * 1e-4 + 1e-9)


@given(SIZES, st.floats(0.05, 0.95))
def test_a_ring_has_the_area_between_two_circles(diameter: float, share: float) -> None:
    exact, chords = only_floor({"circle": diameter, "islands": [{"circle": share * diameter}]})
    assert exact == pytest.approx(math.pi / 4 * diameter**2 * (1 - share**2), abs=1e-9)
    assert chords == pytest.approx(exact, abs=1e-4 * 2 * math.pi * diameter)


@given(SIZES, SIZES)
def test_a_slot_has_the_area_of_a_rectangle_and_a_circle(length: float, width: float) -> None:
    one = Slot(ends=((1.0, -2.0), (1.0, -2.0 + length)), width=width)
    path = slot_path(one)
    assert path.area == pytest.approx(length * width + math.pi / 4 * width**2, abs=1e-9)
    assert path.region(1e-4).area == pytest.approx(path.area, abs=1e-4 * math.pi * width)


@given(st.floats(0.6, 6.0), st.floats(10.0, 200.0), st.floats(0.05, 0.9))
def test_a_slot_round_a_centre_has_the_area_its_middle_line_sweeps(
    radius: float, angle: float, share: float
) -> None:
    """Arc length times width and the two ends: Pappus's theorem for the plane."""
    width = share * radius
    turn = math.radians(angle)
    end = (radius * math.cos(turn), radius * math.sin(turn))
    path = slot_path(Slot(ends=((radius, 0.0), end), width=width, centre=(0.0, 0.0)))
    assert path.area == pytest.approx(radius * turn * width + math.pi / 4 * width**2, abs=1e-9)
    rough = shapely.LineString(
        [(radius * math.cos(turn * n / 400), radius * math.sin(turn * n / 400))
         for n in range(401)]
    ).buffer(width / 2, quad_segs=64)
    assert path.region(1e-5).symmetric_difference(rough).area < 2e-3 * path.area


@given(st.lists(st.floats(1.0, 4.0), min_size=5, max_size=9))
def test_a_polygon_has_the_area_of_its_corners(far: list[float]) -> None:
    """The shoelace formula, half the sum of x·y' − x'·y."""
    corners = [
        (r * math.cos(2 * math.pi * n / len(far)), r * math.sin(2 * math.pi * n / len(far)))
        for n, r in enumerate(far)
    ]
    wanted = 0.5 * sum(
        x * v - u * y for (x, y), (u, v) in zip(corners, corners[1:] + corners[:1], strict=True)
    )
    exact, chords = only_floor({"polygon": corners})
    assert exact == pytest.approx(wanted, abs=1e-9)
    assert chords == pytest.approx(wanted, abs=1e-9)


def test_posts_stand_in_every_pocket_they_stand_in() -> None:
    plate = made(
        pockets={
            "barrel": {"circle": 8, "depth": 0.5},
            "seat": {"circle": 4, "depth": 0.9},
            "far": {"circle": 1, "at": [7, 0], "depth": 0.5},
        },
        posts={"stud": {"circle": 1.0, "at": [1.0, 0.0]}},
    )
    floors = {floor.name: floor for floor in floors_of(plate)}
    assert [len(floors[name].area.islands) for name in ("barrel", "seat", "far")] == [1, 1, 0]


def test_a_lowered_post_has_a_floor_on_its_top() -> None:
    """Volume taken: the pocket down to the top, and the rest round the post (plane geometry)."""
    pocket = {"barrel": {"circle": 8.0, "depth": 0.5}}
    posts = {"stud": {"rectangle": [1.0, 2.0], "lowered": 0.2},
             "pin": {"circle": 1.0, "at": [2.5, 0.0]}}
    floors = {floor.name: floor for floor in floors_of(made(pockets=pocket, posts=posts))}
    assert {name: (one.pocket, one.depth) for name, one in floors.items()} == {
        "barrel 0.2": ("barrel", 0.2), "barrel": ("barrel", 0.5)
    }
    whole, pin = math.pi * 16, math.pi / 4
    assert floors["barrel 0.2"].area.size == pytest.approx(whole - pin)
    assert floors["barrel"].area.size == pytest.approx(whole - pin - 2.0)


TEXT = PLATE.replace(
    "cutters:",
    "  slots:\n"
    "    lever: {ends: [[6.0, 0.0], [0.0, 6.0]], centre: [0, 0], width: 1.0, depth: 0.3}\n"
    "    wire: {ends: [[-8, -5], [-8, -2]], width: 0.6}\n"
    "  posts:\n"
    "    stud: {circle: 0.8, at: [0, -5.2], lowered: 0.2}\n"
    "cutters:",
    1,
)


SPOT = "      - spot: {cutter: spot}\n"


def test_the_part_weighs_what_its_words_leave() -> None:
    """Volumes by plane geometry, against the account's, which is reckoned with regions."""
    text = TEXT.replace("[0.0, 6.0]", "[5.9088, 1.0419]") + SPOT
    job = read(text).job
    with_all = part_volume(None, part_shape(job), 0.0, 1.0)
    bare = read(PLATE + SPOT).job
    without = part_volume(None, part_shape(bare), 0.0, 1.0)
    lever = (6.0 * math.radians(10) * 1.0 + math.pi / 4) * 0.3
    wire = (3.0 * 0.6 + math.pi / 4 * 0.36) * 1.0
    stud = math.pi / 4 * 0.64 * (0.5 - 0.2)
    assert with_all - without == pytest.approx(stud - lever - wire, abs=0.02)


def test_a_slot_right_through_is_an_opening_and_one_to_a_depth_a_pocket() -> None:
    job = read(TEXT + SPOT).job
    assert job.plate is not None
    assert list(openings_of(job.plate)) == ["wire"]
    part = part_shape(job)
    assert part.opening_names == ("wire",)
    assert [one.pocket for one in part.recesses] == ["barrel", "barrel", "bridge", "lever"]


@pytest.mark.parametrize(
    ("old", "new", "word", "fault"),
    [
        ("at: [0, -5.2]", "at: [0, -5.8]", "barrel", "post stud stands across the pocket's edge"),
        ("at: [0, -5.2]", "at: [7, 5]", "stud", "post stud stands in no pocket"),
        ("lowered: 0.2", "lowered: 0.6", "stud", "post stud stands in no pocket"),
        ("[0.0, 6.0]]", "[0.0, 5.0]]", "lever", "from its centre"),
        ("width: 1.0, depth", "width: 13.0, depth", "lever", "reaches over its own centre"),
        ("depth: 0.3}", "depth: 1.0}", "lever", "1 mm deep and the plate 1 mm thick"),
        ("[-8, -5], [-8, -2]", "[-28, -5], [-28, -2]", "wire", "slot wire does not lie within"),
        ("[6.0, 0.0], [0.0, 6.0]]", "[16.0, 0.0], [0.0, 16.0]]", "lever", "beside the plate"),
    ],
)
def test_slots_and_posts_that_cannot_be_are_refused_at_their_place(
    old: str, new: str, word: str, fault: str
) -> None:
    assert old in TEXT
    text = TEXT.replace(old, new) + SPOT
    text = text.replace("openings, outline]", "openings, outline, slots]")
    faults = job_faults(read(text), DRIVEN)
    assert any(fault in one.message for one in faults), faults
    assert word in text.splitlines()[faults[0].place.line - 1]


def test_a_slot_that_no_step_makes_is_missed() -> None:
    from camgen.job.order.all_made import making_faults

    told = [fault.message for fault in making_faults(read(TEXT + SPOT))]
    assert told == ["no step makes the slot wire", "no step makes the slot lever"]


def test_a_plate_with_nothing_right_through_is_looked_over_too() -> None:
    text = PLATE.replace("train: {diameter: 1.2,", "train: {diameter: 1.2, depth: 0.5,")
    text = text.replace("screws: {diameter: 1.1,", "screws: {diameter: 1.1, depth: 0.5,") + SPOT
    assert job_faults(read(text), DRIVEN) == []
