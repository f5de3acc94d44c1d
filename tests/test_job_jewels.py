"""Jewel holes, counterbores and tapped holes as a plate describes them."""

from __future__ import annotations

import math

import pytest
from workshop import DRIVEN, read

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.layout import part_shape
from camgen.part.features import Hole
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import prove
from camgen.reader import read_program
from camgen.shop.fits import Limits, class_limits, press_limits
from camgen.shop.materials import material_names

PLATE = """
job: jewelled plate
material: brass
made-elsewhere: [outline]
plate:
  thickness: 1.2
  outline: {rectangle: [20, 14], corner: 2}
  holes:
    cap: {diameter: 0.8, at: [[3, 4], [-8, 0]], counterbore: {diameter: 1.6, depth: 0.5}}
    posts: {at: [[0, 4]], thread: S1.0, countersink: 1.1}
  jewels:
    third: {diameter: 1.5, at: [[3, -3]], depth: 0.5, through: 0.8, lead-in: 1.6}
    fourth: {diameter: 1.2, at: [[-3, 3]], fit: P7}
cutters:
  cone: {kind: spot-drill, diameter: 2.0, point-angle: 90, reach: 6}
  drill: {kind: drill, diameter: 0.80, flute-length: 6, reach: 8}
  tap-drill: {kind: drill, diameter: 0.76, flute-length: 6, reach: 8}
  mill: {kind: end-mill, diameter: 0.60, flutes: 2, flute-length: 1.8, reach: 2.6}
setups:
  - name: top
    stock: {sheet: [30, 24], thickness: 1.2}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 0.5,
              holds-slugs: true}
    steps:
      - drill: {cutter: drill, holes: [cap, third-through, fourth]}
      - drill: {cutter: tap-drill, holes: [posts]}
      - bore: {cutter: mill, holes: [third, fourth, cap-counterbore], drilled: 0.8,
               spring-passes: 2}
      - countersink: {cutter: cone}
"""


def holes(text: str = PLATE) -> dict[str, Hole]:
    part = part_shape(read(text).job)
    return {hole.name: hole for hole in (*part.holes, *part.blind)}


def proved(text: str = PLATE) -> tuple[PlannedSetup, dict[str, bool]]:
    job_file = read(text)
    planned = plan_job(job_file, DRIVEN).setups[0]
    programs = [read_program(one.text, DRIVEN, one.file)
                for one in write_programs(planned.moves, DRIVEN, stem="plate")]
    return planned, {str(one.id): one.holds for one in prove(job_file, planned, DRIVEN, programs)}


def test_a_jewel_hole_in_brass_is_a_hundredth_under_unless_the_job_says() -> None:
    """A hundredth under in brass is common practice."""
    assert holes()["third"].diameter == pytest.approx(1.49)
    assert holes()["third"].depth == 0.5
    assert holes()["third-through"].diameter == 0.8
    less = holes(PLATE.replace("depth: 0.5, through", "under: 0.006, depth: 0.5, through"))
    assert less["third"].diameter == pytest.approx(1.494)


@pytest.mark.parametrize(
    ("diameter", "name", "least", "most"),
    [(1.5, "H7", 1.5, 1.51), (3.0, "H7", 3.0, 3.01), (3.001, "H7", 3.001, 3.013),
     (1.2, "P7", 1.184, 1.194), (4.0, "N6", 3.987, 3.995), (6.0, "P7", 5.980, 5.992),
     (6.001, "P7", 5.977, 5.992), (10.0, "H7", 10.0, 10.015), (10.001, "P7", 9.972, 9.990),
     (18.0, "H7", 18.0, 18.018)],
)
def test_classes_of_holes_are_those_of_iso_286(
    diameter: float, name: str, least: float, most: float
) -> None:
    """ISO 286-2, from memory."""
    found = class_limits(diameter, name)
    assert (found.least, found.most) == pytest.approx((least, most))


def test_classes_that_press_follow_from_the_shafts_and_the_grades() -> None:
    """ISO 286-1 (from memory): ES = Δ − ei, with ei of the shaft of the same letter and Δ what the
    grade is wider than the one finer; the whole width of a class is its grade."""
    ends = (3.0, 6.0, 10.0, 18.0)
    grades = {5: (4, 5, 6, 8), 6: (6, 8, 9, 11), 7: (10, 12, 15, 18), 8: (14, 18, 22, 27)}
    shafts = {"K": (0, 1, 1, 1), "M": (2, 4, 6, 7), "N": (4, 8, 10, 12), "P": (6, 12, 15, 18),
              "R": (10, 15, 19, 23), "S": (14, 19, 23, 28)}
    below = {"F": (6, 10, 13, 16), "G": (2, 4, 5, 6), "H": (0, 0, 0, 0)}
    known = [f"{letter}{grade}" for letter in ("G", "JS", "K", "M", "N", "P", "R", "S")
             for grade in (6, 7)] + ["F7", "H5", "H6", "H7", "H8"]
    for name in known:
        letter, grade = name[:-1], int(name[-1])
        for number, size in enumerate(ends):
            wide = grades[grade][number]
            # Up to 3 mm there is no Δ.
            wider = wide - grades[grade - 1][number] if number and letter in shafts else 0
            most = (below[letter][number] + wide if letter in below else
                    wide / 2 if letter == "JS" else wider - shafts[letter][number])
            found = class_limits(size, name)
            assert (found.most - size, found.most - found.least) == pytest.approx(
                (most / 1000, wide / 1000), abs=1e-9), (name, size)
    with pytest.raises(Refused, match="known up to 18 mm, this one is 18"):
        class_limits(18.01, "H7")


def test_a_hole_is_aimed_at_the_middle_of_its_limits() -> None:
    assert holes()["fourth"].diameter == pytest.approx(1.189)
    assert holes()["fourth"].limits == Limits(1.184, 1.194)


def test_steel_gives_less_than_brass_so_less_is_taken() -> None:
    assert press_limits(1.5, "tool-steel-annealed").middle > press_limits(1.5, "brass").middle
    assert press_limits(1.5, "an alloy of my own").middle == pytest.approx(1.49)


def test_every_material_has_a_fit_and_what_yields_more_is_bored_smaller() -> None:
    under = {name: 1.5 - press_limits(1.5, name).middle for name in material_names()}
    assert all(0.003 < off < 0.03 for off in under.values())
    assert under["acetal"] > under["brass-plain"] > under["pinion-steel"] > (
        under["spring-steel-blued"])


def test_a_thread_says_the_hole_for_it() -> None:
    """ISO 1501: S1.0 has a pitch of 0.25 mm; its minor diameter is 1.0 - 0.96 x 0.25."""
    assert holes()["posts"].diameter == pytest.approx(0.76)


def test_a_counterbore_is_a_hole_of_its_own_about_the_same_middle() -> None:
    found = holes()
    for number in (1, 2):
        hole, wide = found[f"cap-{number}"], found[f"cap-counterbore-{number}"]
        assert (hole.x, hole.y) == (wide.x, wide.y)
        assert (wide.diameter, wide.depth) == (1.6, 0.5)


def test_a_plate_of_jewel_holes_counterbores_and_threads_proves() -> None:
    _, found = proved()
    assert [name for name, holds in found.items() if not holds] == []
    assert {"flat.wall: third", "flat.wall: third-through", "flat.wall: fourth", "flat.wall: posts",
            "flat.countersink: third", "flat.wall: cap-counterbore-2"} <= set(found)


def test_a_seat_left_out_of_the_steps_is_not_proved_to_be_there() -> None:
    _, found = proved(PLATE.replace("holes: [third, fourth, cap", "holes: [fourth, cap"))
    assert "flat.wall: third" not in found
    assert found["flat.wall: fourth"]


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("fit: P7", "fit: P77", "no class of holes 'P77'"),
        ("fit: P7", "fit: P7, under: 0.01", "both a class of fit and an allowance"),
        ("through: 0.8", "through: 1.6", "leaves no seat"),
        ("depth: 0.5, through: 0.8", "through: 0.8", "no depth of seat"),
        ("lead-in: 1.6", "lead-in: 1.4", "is not wider than the hole"),
        ("diameter: 1.6, depth: 0.5", "diameter: 0.7, depth: 0.5", "is not wider than the hole"),
        ("at: [[0, 4]], thread: S1.0, ", "at: [[0, 4]], ", "has no diameter"),
        ("thread: S1.0", "thread: S1.1, diameter: 0.7", "is none for S1.1"),
        ("at: [[-3, 3]]", "at: [[-13, 3]]", "does not lie within the outline"),
        ("    fourth:", "    cap:", "both called cap"),
        ("through: 0.8, lead-in", "through: 0.5, lead-in", "is left at 0.8 mm"),
    ],
)
def test_holes_that_cannot_be_are_refused(old: str, new: str, fault: str) -> None:
    assert old in PLATE
    text = PLATE.replace(old, new)
    try:
        found = job_faults(read(text), DRIVEN)
        if not found:
            plan_job(read(text), DRIVEN)
    except Refused as no:
        found = list(no.faults)
    assert any(fault in one.message for one in found), found
    assert all(one.place.line for one in found)


def test_a_cone_that_goes_through_the_seat_is_refused() -> None:
    with pytest.raises(Refused, match=r"its hole 0\.5 mm"):
        plan_job(read(PLATE.replace("through: 0.8, lead-in", "through: 0.5, lead-in")), DRIVEN)


def test_the_cone_of_a_lead_in_goes_on_into_the_hole_below_the_seat_only() -> None:
    """At 90 degrees a cone 1.6 wide is 0.6 wide at the floor of a seat 0.5 deep."""
    assert 1.6 - 2 * 0.5 * math.tan(math.radians(45)) == pytest.approx(0.6)
    _, found = proved(PLATE.replace("through: 0.8, lead-in", "through: 0.79, lead-in").replace(
        "third-through, fourth", "fourth"))
    assert found["flat.countersink: third"]
