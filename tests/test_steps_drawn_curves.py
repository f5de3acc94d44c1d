"""A curve drawn as many short lines is a curve: its joints are no corners, and it is proved."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sampling import few
from workshop import DRIVEN, plate, read

from camgen.faults import Refused
from camgen.post.writer import write_programs
from camgen.proof import each_proof, gather
from camgen.reader import read_program

CUTTER = 0.8
TEXT = """
job: lobes
material: brass-leaded
plate:
  thickness: 0.5
  outline: {outline}
{more}cutters:
  mill: {{kind: end-mill, diameter: {cutter}, flutes: 2, flute-length: 1.6, reach: 2.4}}
setups:
  - name: top
    stock: {{sheet: [40, 30], thickness: 0.5}}
    holding: {{by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 0.5,
              holds-slugs: true}}
    steps:
"""


def drawn(points: list[tuple[float, float]]) -> str:
    return "{path: [" + ", ".join(f"{{to: [{x:.6f}, {y:.6f}]}}" for x, y in points) + "]}"


def dented(radius: float, sides: int, across: float = 3.0) -> list[tuple[float, float]]:
    """A square with a round dent, of chords, in its upper edge: hollow for a cutter outside."""
    dent = [(-radius * math.cos(math.pi * n / sides), across - radius * math.sin(
        math.pi * n / sides)) for n in range(sides + 1)]
    return [(-across, -across), (across, -across), (across, across), *reversed(dent),
            (-across, across)]


def oval(a: float, b: float, sides: int) -> list[tuple[float, float]]:
    return [(a * math.cos(math.tau * n / sides), b * math.sin(math.tau * n / sides))
            for n in range(sides)]


def told(step: str, outline: str, more: str = "") -> list[str]:
    """What is told of a job with this step, or the proofs that fail on its program."""
    text = TEXT.format(outline=outline, more=more, cutter=CUTTER)
    try:
        planned = plate(step, text=text)
    except Refused as no:
        return [fault.message for fault in no.faults]
    job = read(f"{text}      - {step}\n").job
    programs = [read_program(one.text, DRIVEN, one.file)
                for one in write_programs(planned.moves, DRIVEN, stem="lobes")]
    evidence = gather(planned.name, job, DRIVEN, planned.layout, planned.moves, programs,
                      planned_cuts=planned.cuts)
    return [f"proof {proof.id}" for proof in each_proof(evidence) if not proof.holds]


def agrees(answers: list[str], least: float) -> None:
    """A curve with this least radius is proved, or refused for its corners by what they are."""
    radius = CUTTER / 2
    if least > 2 * radius + 0.01:
        assert answers == []
        return
    assert not [one for one in answers if one.startswith("proof")], answers
    if least < radius - 0.005:
        assert any("is sharp" in one for one in answers), answers
    elif radius + 0.005 < least < 2 * radius - 0.01:
        assert answers
        assert all("in a curve of short lines" in one for one in answers), answers


@settings(max_examples=few(20))
@given(st.floats(0.15, 2.5), st.integers(80, 200))
@example(0.2, 300)
@example(0.3, 90)
@example(0.41, 200)
@example(0.82, 90)
@example(2.5, 80)
def test_a_dent_of_chords_is_cut_where_the_cutter_gets_into_it(radius: float, sides: int) -> None:
    agrees(told("outline: {cutter: mill}", drawn(dented(radius, sides))), radius)


@settings(max_examples=few(20))
@given(st.floats(0.3, 1.5), st.floats(1.0, 3.0), st.integers(120, 240))
@example(0.5, 3.0, 300)
@example(0.5, 1.0, 120)
@example(0.82, 1.0, 90)
@example(1.0, 1.0, 120)
def test_an_oval_opening_of_chords_is_cut_where_the_cutter_gets_into_its_ends(
    low: float, longer: float, sides: int
) -> None:
    opening = drawn(oval(low * longer, low, sides))
    answers = told("cut-out: {cutter: mill}", "{rectangle: [14, 10]}",
                   f"  openings:\n    eye: {opening}\nmade-elsewhere: [outline]\n")
    # The least radius of an ellipse, at the ends of its long axis.
    agrees(answers, low / longer)


@pytest.mark.parametrize("across", [1.2, 1.59, 1.6, 1.601, 1.61, 1.65])
def test_a_round_opening_about_twice_as_wide_as_its_cutter_is_cut(across: float) -> None:
    answers = told("cut-out: {cutter: mill}", "{rectangle: [14, 10]}",
                   f"  openings:\n    eye: {{circle: {across}}}\nmade-elsewhere: [outline]\n")
    assert answers == []
