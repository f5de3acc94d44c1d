"""Cutters that may not meet solid metal find open what earlier setups and other hands left."""

from __future__ import annotations

import pytest
from sampling import sampled
from workshop import DRIVEN, read

from camgen.job.order.all_made import making_faults
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import Evidence, Proof, gather, prove_evidence
from camgen.reader import read_program

HEAD = """
job: a hole for a head
material: brass
{elsewhere}plate:
  thickness: 1.2
  outline: {{circle: 14}}
  holes:
    dowels: {{diameter: 1.0, at: [[-5, 0], [5, 0]]}}
    case: {{diameter: 0.8, at: [[0, -4], [0, 4]],
           counterbore: {{diameter: 1.7, depth: 0.5}}, face: {face}}}
cutters:
  d08: {{kind: drill, diameter: 0.8, flute-length: 6, reach: 8}}
  d10: {{kind: drill, diameter: 1.0, flute-length: 8, reach: 10}}
  head: {{kind: counterbore, diameter: 1.7, flutes: 2, flute-length: 4, reach: 8}}
  dead: {{kind: end-mill, diameter: 1.0, flutes: 2, flute-length: 2.4, reach: 2.8, plunges: false}}
  mill: {{kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.4, reach: 2.8}}
setups:
"""
HOLDING = """    holding: {by: shellac on brass, carrier: brass, carrier-thickness: 6,
              cut-into: 2.2, holds-slugs: true}
    steps:
"""
FIRST = "  - name: one\n    stock: {sheet: [22, 22], thickness: 1.2}\n" + HOLDING
AGAIN = """  - name: {name}
{turned}    stock: {{left-by: one, thickness: 1.2}}
    zero: {{dowel: dowels-1}}
"""
TURNED = "    face: under\n    turned-over: about {axis}\n"
DOWELS = "      - drill: {cutter: d10, holes: [dowels]}\n"
CASE = "      - drill: {cutter: d08, holes: [case]}\n"
MADE = "      - counterbore: {cutter: head, holes: [case-counterbore], drilled: 0.8}\n"
MILLED = "      - bore: {cutter: dead, holes: [case-counterbore], drilled: 0.8}\n"
OUTLINE = "      - outline: {cutter: mill}\n"


def failing(text: str) -> list[Proof]:
    """The proofs that fail, each setup with what is known of those before it."""
    job_file, found = read(text), []
    earlier: list[Evidence] = []
    for setup in plan_job(job_file, DRIVEN).setups:
        programs = [read_program(one.text, DRIVEN, f"{setup.name}.nc")
                    for one in write_programs(setup.moves, DRIVEN, stem=setup.name)]
        one = gather(setup.name, job_file.job, DRIVEN, setup.layout, setup.moves, programs,
                     planned_cuts=setup.cuts, earlier=earlier)
        found += [proof for proof in prove_evidence(one) if not proof.holds]
        earlier.append(one)
    return found


def again(axis: str, name: str = "two") -> str:
    turned = TURNED.format(axis=axis) if axis else ""
    return AGAIN.format(name=name, turned=turned) + HOLDING


@pytest.mark.parametrize("made", sampled(
    [MADE, MILLED], 2, ids=["counterbore", "mill with a dead middle"]))
@pytest.mark.parametrize("axis", sampled(["", "X", "Y"], 16))
def test_a_hole_of_an_earlier_setup_is_open_from_either_face(axis: str, made: str) -> None:
    head = HEAD.format(elsewhere="", face="under" if axis else "upper")
    text = head + FIRST + DOWELS + CASE + OUTLINE + again(axis) + made
    assert failing(text) == []


@pytest.mark.parametrize("word", sampled(["case", "case-1, case-2", "holes"], 2))
@pytest.mark.parametrize("made", sampled(
    [MADE, MILLED], 2, ids=["counterbore", "mill with a dead middle"]))
def test_a_hole_made_elsewhere_is_open_by_whichever_word(word: str, made: str) -> None:
    head = HEAD.format(elsewhere=f"made-elsewhere: [{word}]\n", face="upper")
    assert failing(head + FIRST + DOWELS + made + OUTLINE) == []


def test_what_is_made_elsewhere_at_another_hole_is_not_open_here() -> None:
    head = HEAD.format(elsewhere="made-elsewhere: [case-1]\n", face="upper")
    (found,) = failing(head + FIRST + DOWELS + MADE + OUTLINE)
    assert "hole-open-before" in str(found.id)
    assert found.at is not None
    assert found.at[1] == 4.0


SMALL = HEAD.format(elsewhere="", face="upper").replace(
    "d08: ", "d07: {kind: drill, diameter: 0.7, flute-length: 6, reach: 8}\n  d08: ")
SIMPLE = SMALL.replace(""",
           counterbore: {diameter: 1.7, depth: 0.5}, face: upper""", "")


def part_way(cutter: str, depth: float | None) -> str:
    said = "" if depth is None else f", depth: {depth}"
    return f"      - drill: {{cutter: {cutter}, holes: [case]{said}}}\n"


@pytest.mark.parametrize("axis", ["", "X", "Y"])
def test_a_hole_is_brought_to_size_by_a_later_setup(axis: str) -> None:
    first = SIMPLE + FIRST + DOWELS + part_way("d07", None) + OUTLINE
    assert failing(first + again(axis) + part_way("d08", None)) == []


@pytest.mark.parametrize("axis", ["X", "Y"])
@pytest.mark.parametrize(("upper", "under", "holds"), sampled([
    (0.7, 0.7, True), (1.0, 0.3, True), (0.6, 0.6, True), (0.5, 0.5, False), (0.9, 0.2, False)], 5))
def test_halves_from_both_faces_must_meet(
    axis: str, upper: float, under: float, holds: bool
) -> None:
    text = (SIMPLE + FIRST + DOWELS + part_way("d08", upper) + OUTLINE + again(axis)
            + part_way("d08", under))
    found = failing(text)
    assert {str(one.id).split(":")[0] for one in found} == (
        set() if holds else {"flat.hole-over-setups"})
    assert any("stay between" in one.message for one in making_faults(read(text))) != holds


def test_a_hole_left_too_small_by_all_setups_is_found_in_the_last() -> None:
    text = SIMPLE + FIRST + DOWELS + part_way("d07", None) + OUTLINE + again("Y")
    assert {one.setup for one in failing(text + part_way("d07", None))} == {"two"}
