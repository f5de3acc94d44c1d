"""Both sides of a plate as their programs make them: concentric, to size, and found out if not."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import sampled
from two_sided import PLATE
from workshop import DRIVEN, read

from camgen.plan import Plan, plan_job
from camgen.post.writer import write_programs
from camgen.proof import Evidence, Proof, gather, prove_evidence
from camgen.proof.common.faced import faced_from
from camgen.proof.flat.sides import made_middles, prove_sides
from camgen.reader import read_program

CHORDS = DRIVEN.model_copy(update={"arcs": DRIVEN.arcs.model_copy(update={"style": "none"})})


@cache
def planned(job: str, style: str) -> Plan:
    return plan_job(read(job), CHORDS if style == "none" else DRIVEN)


@cache
def texts(job: str, style: str = "") -> tuple[bytes, ...]:
    machine = CHORDS if style == "none" else DRIVEN
    return tuple(one.text for setup in planned(job, style).setups
                 for one in write_programs(setup.moves, machine, stem=setup.name))


def evidences(
    job: str = PLATE, change: Callable[[int, str], str] = lambda number, text: text,
    style: str = "",
) -> list[Evidence]:
    """Each setup's evidence, its program's text changed by ``change``."""
    job_file, machine = read(job), CHORDS if style == "none" else DRIVEN
    plan = planned(job, style)
    found = []
    for number, (setup, text) in enumerate(zip(plan.setups, texts(job, style), strict=True)):
        told = change(number, text.decode("ascii")).encode("ascii")
        program = read_program(told, machine, f"{setup.name}.nc")
        found.append(gather(setup.name, job_file.job, machine, setup.layout, setup.moves, [program],
                            planned_cuts=setup.cuts))
    return found


def failed(evidence: Evidence) -> set[str]:
    return {str(proof.id) for proof in prove_evidence(evidence) if not proof.holds}


def sides(found: list[Evidence]) -> dict[str, Proof]:
    return {str(proof.id): proof for proof in prove_sides(found)["dial"]}


def test_both_sides_hold_and_meet() -> None:
    found = evidences()
    assert [failed(one) for one in found] == [set(), set()]
    answers = sides(found)
    assert all(proof.holds for proof in answers.values())
    assert {"flat.concentric-with-earlier-setup: sunk, sunk-through",
            "flat.concentric-with-earlier-setup: feet-counterbore, feet",
            "flat.place-on-plate: sunk"} <= set(answers)


def test_both_sides_meet_on_a_control_without_arcs() -> None:
    """Circles written as chords have no centre to read off: their middles are still found."""
    found = evidences(style="none")
    answers = sides(found)
    assert answers["flat.concentric-with-earlier-setup: sunk, sunk-through"].holds
    assert answers["flat.place-on-plate: sunk"].figure < 2.0


def test_a_piece_turned_over_about_the_other_axis_is_found_out() -> None:
    """Programs written for turning about X, held against a job that says about Y."""
    other = texts(PLATE.replace("about Y", "about X"))[1].decode("ascii")
    found = evidences(change=lambda number, text: other if number else text)
    assert "flat.wall: sunk" in failed(found[1])


def test_a_dowel_hole_in_the_wrong_place_puts_the_second_side_out() -> None:
    """The first side's program drills the dowel's hole 0.02 mm off: all of the second follows."""
    def off(number: int, text: str) -> str:
        return text if number else re.sub(r"X-8\.?0*(?= |$)", "X-8.02", text, flags=re.MULTILINE)

    changed = off(0, texts(PLATE)[0].decode("ascii"))
    assert changed != texts(PLATE)[0].decode("ascii")
    answers = sides(evidences(change=off))
    worst = answers["flat.concentric-with-earlier-setup: sunk, sunk-through"]
    assert not worst.holds
    assert worst.figure == pytest.approx(20.0, abs=1.5)


def lowered(text: str, feature: str, by: float) -> str:
    """Every Z below zero after a step's comment made lower."""
    head, mark, tail = text.partition(feature)
    assert mark

    def deeper(found: re.Match[str]) -> str:
        return f"Z{float(found.group(1)) - by:.3f}"

    return head + mark + re.sub(r"Z(-[0-9.]+)", deeper, tail)


def test_a_pocket_cut_too_deep_is_missing_metal_above_the_other_faces_pocket() -> None:
    found = evidences(change=lambda number, text: lowered(text, "POCKET", 0.1) if number else text)
    assert "flat.material-missing" in failed(found[1])


def test_facing_too_high_or_too_low_is_found_out() -> None:
    for by in (0.02, -0.02):
        found = evidences(change=lambda number, text, by=by:  # type: ignore[misc]
                          text if number else text.replace("Z-0.15", f"Z{-0.15 - by:.3f}"))
        assert {"flat.thickness", "flat.metal-above-face"} & failed(found[0])


def test_a_row_of_facing_left_out_leaves_metal_and_stops_rapid_moves_to_the_face() -> None:
    assert faced_from(evidences()[0]) is not None
    row = "Y-8.46\nX-17.\nY-6.45\nX17.\n"

    def without(number: int, text: str) -> str:
        text = text.replace("\r", "")
        assert number or row in text
        return text.replace(row, "", 1)

    found = evidences(change=without)
    assert faced_from(found[0]) is None
    assert "flat.metal-above-face" in failed(found[0])


def test_what_is_spare_below_is_gone_through_with_the_plate() -> None:
    """A hole that stops at the plate's under face, with stock left below it, is not through."""
    found = evidences(change=lambda number, text: text if number else
                      re.sub(r"Z-2\.\d+", "Z-1.77", text))
    assert any(name.startswith("flat.wall") for name in failed(found[0]))


HOLES = """
job: holes
material: brass
made-elsewhere: [outline]
plate:
  thickness: 1.0
  outline: {{rectangle: [60, 40]}}
  holes:
    dowels: {{diameter: 1.0, at: [[{0[0]}, {0[1]}], [{1[0]}, {1[1]}]]}}
    through: {{diameter: 1.0, at: [[{2[0]}, {2[1]}]]}}
    blind: {{diameter: 1.0, depth: 0.2, at: [[{2[0]}, {2[1]}]], face: under}}
cutters:
  drill: {{kind: drill, diameter: 1.0, flute-length: 6, reach: 8}}
setups:
  - name: train
    stock: {{sheet: [66, 46], thickness: 1.0}}
    zero: {{x: left, y: front}}
    holding: &glue {{by: wax, carrier: brass, carrier-thickness: 5, cut-into: 1, holds-slugs: true}}
    steps:
      - drill: {{cutter: drill, holes: [dowels, through]}}
  - name: dial
    face: under
    turned-over: about {3}
    stock: {{left-by: train, thickness: 1.0}}
    zero: {{dowel: dowels-{4}}}
    holding: *glue
    steps:
      - drill: {{cutter: drill, holes: [blind], depth: 0.1}}
"""


def places(low: float, high: float) -> st.SearchStrategy[tuple[float, float]]:
    return st.tuples(st.integers(int(low * 1000), int(high * 1000)).map(lambda n: n / 1000),
                     st.integers(-18000, 18000).map(lambda n: n / 1000))


@settings(max_examples=5, deadline=None)
@given(places(-28, -12), places(12, 28), places(-9, 9), st.sampled_from("XY"),
       st.sampled_from((1, 2)))
def test_wherever_dowels_and_holes_lie_the_two_sides_meet(
    one: tuple[float, float], other: tuple[float, float], hole: tuple[float, float], about: str,
    zero: int,
) -> None:
    """Each middle is also reckoned here: where the turned plate has it, from where the dowel is."""
    found = evidences(HOLES.format(one, other, hole, about, zero))
    answers = prove_sides(found)["dial"]
    assert all(proof.holds for proof in answers)
    assert any("concentric" in proof.id.word for proof in answers)
    dowel = (one, other)[zero - 1]
    sign = (1, -1) if about == "X" else (-1, 1)
    expected = complex(sign[0] * (hole[0] - dowel[0]), sign[1] * (hole[1] - dowel[1]))
    assert abs(made_middles(found[1])["blind"] - expected) < 0.0015


def test_a_hole_drilled_from_one_side_and_bored_from_the_other_is_one_hole() -> None:
    text = PLATE.replace("    dowels: {", "    vent: {diameter: 1.6, at: [[4, 8]]}\n    dowels: {")
    text = text.replace("sunk-through, feet]}", "sunk-through, feet, vent]}")
    text = text.replace("[sunk, feet-counterbore]", "[sunk, feet-counterbore, vent]")
    answers = sides(evidences(text))
    assert answers["flat.concentric-with-earlier-setup: vent, vent"].holds
    assert answers["flat.place-on-plate: vent"].where == (
        "X 4.0000 Y 8.0000 in the plate's own frame")


# Without pockets, so that much can be tried quickly.
LIGHT = re.sub(r"  pockets:\n.*\n.*\n", "", PLATE).replace("      - pocket: {cutter: mill}\n", "")


@pytest.mark.parametrize("changes", sampled([
    [("      - face: {cutter: flat, to: 1.75}\n", ""), ("thickness: 1.75", "thickness: 1.9")],
    [("about Y", "about X"), ("dowel: dowels-1", "dowel: dowels-2, z: carrier")],
    [("outline: {cutter: mill}", "outline: {cutter: mill, skin: 0.05}")],
    [("{left-by: train, ", "{sheet: [30, 30], ")],
    [("to: 1.75}", "to: 1.75, direction: climb}")],
    [("stock: {sheet: [30, 30], thickness: 1.9}", "stock: {sheet: [60, 30], thickness: 1.9}\n"
      "    repeat: {columns: 2, pitch: [24, 24]}")],
], 6, ids=["upper face left raw", "about X from the other dowel", "still in its sheet",
       "stock taken as whole", "rows one way", "two from one sheet"]))
def test_other_ways_to_the_same_plate_hold_as_well(changes: list[tuple[str, str]]) -> None:
    text = LIGHT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    found = evidences(text)
    assert [failed(one) for one in found] == [set(), set()]
    assert all(proof.holds for proof in sides(found).values())


def test_a_third_setup_goes_on_from_what_the_second_left() -> None:
    text = LIGHT + "  - name: again\n    stock: {left-by: dial, thickness: 1.6}\n" \
        "    zero: {dowel: dowels-2}\n    holding: *glue\n    steps:\n" \
        "      - bore: {cutter: mill, holes: [third], drilled: 1.1}\n"
    found = evidences(text)
    assert not failed(found[2])
    answers = {str(proof.id): proof for proof in prove_sides(found)["again"]}
    assert answers["flat.concentric-with-earlier-setup: third, third"].holds
    assert answers["flat.concentric-with-earlier-setup: third, third-through"].holds
