"""Lists of nothing, islands over one another, and work beyond all bounds are told in words."""

from __future__ import annotations

import math

import pytest
from sampling import sampled
from workshop import DRIVEN, PLATE, plate, read

from camgen.clearing.clearing import MOST_NODES, NODE_BYTES, cleared
from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.job.models import Repeat
from camgen.make.foretold import (
    MOST_WALLS,
    cleared_ground,
    drawn_pieces,
    hole_visits,
    wall_rounds,
    work_foretold,
)
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import PathPiece, Shape
from camgen.proof.path import Chords, chords
from camgen.reader import read_program
from camgen.shapes.offset import Area
from camgen.shapes.path import LineTo, Path, Point
from camgen.shop.machines import find_machine

ISLANDS = "islands: [{circle: 2}]"


@pytest.mark.parametrize("step", [
    "spot: {cutter: spot, holes: []}", "drill: {cutter: drill, holes: []}",
    "bore: {cutter: mill, holes: []}", "pocket: {cutter: mill, pockets: []}",
    "cut-out: {cutter: mill, openings: []}", "countersink: {cutter: spot, holes: []}",
    "pocket: {cutter: mill, entry: drilled, entry-holes: []}",
])
def test_a_list_of_nothing_is_a_fault_by_its_word(step: str) -> None:
    with pytest.raises(Refused, match="an empty list"):
        plate(step)


@pytest.mark.parametrize("islands", sampled([
    "[{circle: 2}, {circle: 2}]", "[{circle: 3}, {circle: 1}]", "[{circle: 1}, {circle: 3}]",
    "[{circle: 2}, {circle: 2, at: [1, 0]}]", "[{circle: 1, at: [1, 0]}, {circle: 1}]",
], 2))
def test_islands_over_one_another_are_a_fault(islands: str) -> None:
    step = "      - pocket: {cutter: mill, pockets: [barrel]}\n"
    assert job_faults(read(PLATE.replace(
        ISLANDS, "islands: [{circle: 1, at: [1, 0]}, {circle: 0.5, at: [-1, 0]}]") + step),
        DRIVEN) == []
    (fault,) = job_faults(read(PLATE.replace(ISLANDS, f"islands: {islands}") + step), DRIVEN)
    assert "islands 1 and 2 touch or lie over each other" in fault.message


def square(size: float) -> Area:
    corners = [Point(size, 0.0), Point(size, size), Point(0.0, size), Point(0.0, 0.0)]
    return Area.of(Path(Point(0.0, 0.0), tuple(map(LineTo, corners)), closed=True), [])


def test_a_pocket_too_large_for_its_cutter_is_refused_before_it_is_begun() -> None:
    side = 1.01 * 0.1 * 0.1 * MOST_NODES**0.5
    with pytest.raises(Refused, match=r"1\.0 GB of memory") as no:
        cleared(square(side), 0.1, 0.03)
    assert "with a cutter of 0.2 mm" in str(no.value)
    assert MOST_NODES * NODE_BYTES <= 1e9


def test_pecks_without_bound_are_refused_by_their_word() -> None:
    assert plate("drill: {cutter: drill, peck: 0.2}")
    with pytest.raises(Refused, match=r"a peck of 0.001 mm makes \d+ bites") as no:
        plate("drill: {cutter: drill, peck: 0.001}")
    assert no.value.faults[0].place.line


@pytest.mark.parametrize("line", ["G1 X1 " * 4000, "(" + "a" * 30000, "X" * 30000, "1" * 30000])
def test_a_line_longer_than_any_control_reads_is_refused_at_once(line: str) -> None:
    machine = find_machine("plain-iso")
    assert read_program(f"G21 G90\n{line[:900]}\n", machine, "a.nc").lines
    with pytest.raises(Refused, match="characters long") as no:
        read_program(f"G21 G90\n{line}\n", machine, "a.nc")
    assert no.value.faults[0].place.line == 2


@pytest.mark.parametrize(("side", "answer"), [(1, ""), (40, "take about"), (100, "refused")])
def test_work_is_told_before_it_begins_and_bounded(side: int, answer: str) -> None:
    job = read(PLATE + "      - drill: {cutter: drill}\n").job
    repeat = Repeat(columns=side, rows=side, pitch=(30, 30))
    few = hole_visits(job, job.setups[0])
    many = job.model_copy(update={"setups": tuple(
        one.model_copy(update={"repeat": repeat}) for one in job.setups)})
    assert few
    assert hole_visits(many, many.setups[0]) % few == 0
    many = many.model_copy(update={"setups": many.setups * (100 if answer == "refused" else 10)})
    if answer != "refused":
        assert answer in work_foretold(many, "a.yaml")
        assert bool(answer) == bool(work_foretold(many, "a.yaml"))
        return
    many = many.model_copy(update={"setups": tuple(one.model_copy(
        update={"steps": one.steps * 40}) for one in many.setups)})
    with pytest.raises(Refused, match="in all its pieces, and 200000 are the most"):
        work_foretold(many, "a.yaml")


def test_walls_gone_round_are_told_before_and_bounded() -> None:
    """It grows with steps and pieces; of pieces cut alike each further one is less."""
    def told(steps: int, side: int) -> str:
        job = read(PLATE + "      - outline: {cutter: mill}\n").job
        (setup,) = job.setups
        repeat = Repeat(columns=side, rows=side, pitch=(30, 30))
        setup = setup.model_copy(update={"repeat": repeat, "steps": setup.steps * steps})
        assert wall_rounds(setup, 0) == (steps, steps * side * side)
        return work_foretold(job.model_copy(update={"setups": (setup,)}), "a.yaml")

    def seconds(text: str) -> float:
        return float(text.split("about ")[1].split(" s")[0])

    assert told(10, 1) == ""
    assert "1000 times round a wall" in told(1000, 1)
    assert seconds(told(3000, 1)) == pytest.approx(3 * seconds(told(1000, 1)), rel=0.05)
    assert seconds(told(10, 20)) < seconds(told(4000, 1)) / 2
    with pytest.raises(Refused, match=f"walls in all its pieces, and {MOST_WALLS} are the most"):
        told(60, 30)


def test_pockets_cleared_with_a_small_cutter_are_told_before() -> None:
    """Squares of ground grow as the square of the pocket over its cutter; those alike once."""
    job = read(PLATE + "      - pocket: {cutter: mill, pockets: [barrel]}\n").job
    (setup,) = job.setups

    def told(finer: float, steps: int = 1) -> tuple[int, str]:
        mill = job.cutters["mill"]
        smaller = mill.model_copy(update={"diameter": mill.diameter / finer})
        some = setup.model_copy(update={"steps": setup.steps * steps})
        finely = job.model_copy(update={
            "cutters": {**job.cutters, "mill": smaller}, "setups": (some,)})
        return cleared_ground(finely, some), work_foretold(finely, "a.yaml")

    few, said = told(1)
    assert few
    assert said == ""
    assert told(1, 3)[0] == few
    many, said = told(20)
    assert many == pytest.approx(400 * few, rel=0.01)
    assert f"pockets of {many} squares of ground take about {many * 0.00011:.0f} s" in said


@pytest.mark.parametrize("far", ["1000000.", "123456789012.", "1e12"])
def test_a_program_that_goes_without_end_is_refused_before_it_is_split(far: str) -> None:
    machine = find_machine("plain-iso")

    def split(place: str) -> Chords:
        text = f"G21 G17 G90 G94 G54\nG0 X0 Y0 Z0\nG1 X{place} F100.\nM30\n"
        return chords(read_program(text, machine, "a.nc").motion, 0.001, longest=0.05)

    assert len(split("1.").piece) > 15
    with pytest.raises(Refused, match="too long to be looked at") as no:
        split(f"{float(far):.1f}")
    assert "without its point" in no.value.faults[0].remedy


def test_very_many_short_ways_are_not_blamed_on_a_number_without_its_point() -> None:
    text = "G21 G17 G90 G94 G54\nG0 X0 Y0 Z0\nF100.\n" + "G1 X90.\nG1 X0.\n" * 1500 + "M30\n"
    motion = read_program(text, find_machine("plain-iso"), "a.nc").motion
    with pytest.raises(Refused, match="too long to be looked at") as no:
        chords(motion, 0.001, longest=0.05)
    assert "fewer steps or pieces" in no.value.faults[0].remedy


@pytest.mark.parametrize("sides", [100, 4000])
def test_walls_drawn_as_very_many_lines_are_told_before(sides: int) -> None:
    job = read(PLATE + "      - outline: {cutter: mill}\n").job
    assert isinstance(job.part, Plate)
    # As from a drawing, which may have more pieces than are typed.
    round_it = Shape(circle=1.0).model_copy(update={"circle": None, "path": tuple(
        PathPiece(to=(6 * math.cos(math.tau * n / sides), 6 * math.sin(math.tau * n / sides)))
        for n in range(sides))})
    drawn = job.with_part(job.part.model_copy(update={"outline": round_it}))
    many = sides if sides > 200 else 0
    assert drawn_pieces(drawn) == many
    assert (f"walls of {many} lines and arcs" in work_foretold(drawn, "a.yaml")) == bool(many)
