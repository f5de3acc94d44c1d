"""A curve drawn as many short lines is a curve: its joints are no corners, and it is proved."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sampling import few
from test_shapes_curved import apart
from workshop import DRIVEN, plate, read

from camgen.faults import Refused
from camgen.job.reading import read_job
from camgen.part.figures import path_of
from camgen.post.writer import write_programs
from camgen.proof import each_proof, gather
from camgen.reader import read_program
from camgen.shapes.fitting import furthest_apart
from camgen.shapes.path import polygon
from camgen.steps import step_words
from camgen.tolerances import DRAWN_CURVE

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


def polygon_words(points: list[tuple[float, float]]) -> str:
    return "{polygon: [" + ", ".join(f"[{x:.6f}, {y:.6f}]" for x, y in points) + "]}"


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
    assert not [one for one in answers if one.startswith("proof")], answers
    if least > radius + 0.01:
        assert answers == []
    elif least < radius - 0.005:
        assert answers
        assert all("is sharp" in one or "has a radius" in one for one in answers), answers


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


def test_a_typed_curve_is_what_a_drawing_of_it_is(tmp_path: Path) -> None:
    """The same points as a polygon, as a path, from any of them and either way round, and drawn."""
    points = [(x + 7, y) for x, y in oval(4.0, 2.5, 150)]
    (tmp_path / "oval.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">'
        f'<path d="M {" L ".join(f"{x:.6f} {-y:.6f}" for x, y in points)} Z"/></svg>',
        encoding="utf-8")
    turned = [*points[40:], *points[:40]]
    ways = {"polygon": polygon_words(points), "path": drawn(points), "begun": drawn(turned),
            "backwards": polygon_words(turned[::-1])}
    text = TEXT.format(outline="{drawing: oval.svg}", more="", cutter=CUTTER)
    rounds = {name: read(f"{TEXT.format(outline=way, more='', cutter=CUTTER)}"
                         "      - outline: {cutter: mill}\n") for name, way in ways.items()}
    file = tmp_path / "oval.yaml"
    file.write_text(f"{text}      - outline: {{cutter: mill}}\n", encoding="utf-8")
    by_drawing = path_of(read_job(file, step_words()).job.part.outline)
    for name, job in rounds.items():
        path = path_of(job.job.part.outline)
        assert len(path.pieces) < 45, name
        assert furthest_apart(path, polygon(points), 1e-5) <= DRAWN_CURVE + 2e-5
        assert furthest_apart(path, by_drawing, 1e-5) <= 2 * DRAWN_CURVE
        (note,) = job.remarks
        said = re.search(r"150 lines and arcs are taken as (\d+), at most ([0-9.]+) µm", str(note))
        assert said, note
        assert int(said[1]) == len(path.pieces)
        # The figure told is the one found here by other means, to its last place.
        assert float(said[2]) == pytest.approx(1000 * apart(path, polygon(points)), abs=0.11)
        assert told("outline: {cutter: mill}", ways[name]) == []


@pytest.mark.parametrize("sort", ["opening", "pocket", "island", "post"])
def test_curves_of_all_that_has_a_shape_are_taken_so(sort: str) -> None:
    points = polygon_words(oval(2.0, 1.2, 120))
    more = {
        "opening": f"  openings:\n    eye: {points}\n",
        "pocket": f"  pockets:\n    eye: {points[:-1]}, depth: 0.2}}\n",
        "island": f"  pockets:\n    eye: {{circle: 8, depth: 0.2, islands: [{points}]}}\n",
        "post": f"  pockets:\n    eye: {{circle: 8, depth: 0.2}}\n  posts:\n    eye: {points}\n",
    }[sort]
    job = read(TEXT.format(outline="{circle: 12}", more=more, cutter=CUTTER)
               + "      - outline: {cutter: mill}\n")
    (remark,) = job.remarks
    assert str(remark).startswith("eye: 120 lines and arcs")


def test_sides_and_corners_typed_stay_and_are_told_of_nothing() -> None:
    corners = [(math.cos(math.tau * n / 40), math.sin(math.tau * n / 40)) for n in range(40)]
    for words in (polygon_words([(5 * x, 5 * y) for x, y in corners]), "{rectangle: [9, 7]}"):
        job = read(TEXT.format(outline=words, more="", cutter=CUTTER)
                   + "      - outline: {cutter: mill}\n")
        assert job.remarks == ()
    # Corners of a curve typed are rounded as those of one drawn are.
    bow = [*oval(4.0, 4.0, 200)[:101]]
    job = read(TEXT.format(outline=polygon_words(bow)[:-1] + ", corner: 0.5}", more="",
                           cutter=CUTTER) + "      - outline: {cutter: mill}\n")
    path = path_of(job.job.part.outline)
    half = path.region(1e-5).area
    whole = polygon(bow).region(1e-5)
    rounded = whole.buffer(-0.5, quad_segs=200).buffer(0.5, quad_segs=200)
    assert half == pytest.approx(rounded.area, abs=0.03)
    assert whole.area - half > 0.05
