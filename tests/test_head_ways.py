"""Teeth whose cutter is set over to one side: undercut fronts, from the words to the text."""

from __future__ import annotations

import cmath
import math
import re
from functools import cache
from typing import Any

import numpy as np
import pytest
import shapely
from arrangements import WAYS
from head_swept import front_line, stood, unit
from hypothesis import given, reject, settings
from hypothesis import strategies as st
from sampling import sampled
from workshop import DRIVEN, PLATES, read

from camgen.faults import Refused
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import Evidence, Proof, each_proof, gather
from camgen.reader import read_program
from camgen.shop.machine import Machine
from camgen.teeth.cut.bought import space_beside
from camgen.teeth.cut.in_ways import Came, face_as_cut, stands_after, ways_error
from camgen.teeth.forms import wheel_tooth
from camgen.teeth.outlines.curves import Line
from camgen.teeth.tooth import Tooth

JOB = """
job: ratchet wheel
material: brass
wheel: {{teeth: 18, module: 0.3, form: ratchet, front: {front}, depth: 0.5, thickness: 0.5,
        bore: 1.2}}
cutters:
  teeth: {{kind: form-disc, diameter: 20, flutes: 16,
          made-for: {{form: ratchet, module: 0.3, teeth: 18, front: {made}, depth: 0.5}}}}
setups:
  - name: teeth
    dividing: {{stack: 2, backing: 1.5, arbor: 3, slender: true, zero: {zero},
               arrangement: {{along: {how[0]}, infeed: {how[1]}, across: {how[2]}}}}}
    steps:
      - cut-teeth: {{cutter: teeth{more}}}
"""
USUAL = ("+X", "+Y", "Z")
TIP = 18 * 0.3 / 2


@cache
def made(
    front: float, how: tuple[str, str, str] = USUAL, machine: Machine = DRIVEN, more: str = "",
    zero: str = "touch", of_cutter: float | None = None,
) -> tuple[str, Evidence]:
    """The text of a ratchet's program and what is proved of it."""
    return written(JOB.format(front=front, made=front if of_cutter is None else of_cutter, how=how,
                              more=more, zero=zero), machine)


def written(job: str, machine: Machine) -> tuple[str, Evidence]:
    """The text of a job's program and what is proved of it."""
    file = read(job)
    one = plan_job(file, machine).setups[0]
    texts = write_programs(one.moves, machine, stem="ratchet")
    programs = [read_program(text.text, machine, text.file, infeed=one.moves.retract_axis)
                for text in texts]
    return (b"".join(text.text for text in texts).decode("ascii"),
            gather(one.name, file.job, machine, one.layout, one.moves, programs,
                   planned_cuts=one.cuts))


def proofs(evidence: Evidence) -> dict[str, Proof]:
    return {str(proof.id): proof for proof in each_proof(evidence)}


def failing(evidence: Evidence) -> list[str]:
    return [name for name, proof in proofs(evidence).items() if not proof.holds]


@settings(max_examples=12, deadline=None)
@given(st.integers(6, 90), st.floats(0.5, 30.0), st.sampled_from(["straight", "curved"]))
def test_a_cutter_of_the_form_set_over_leaves_the_form_to_a_fifth_of_a_micrometre(
    teeth: int, front: float, back: str
) -> None:
    """Chords of 0.1 µm on either side are what the two may differ by."""
    module = 6.0 / teeth
    try:
        tooth = wheel_tooth("ratchet", teeth, module, None, front=front, back=back)
    except Refused:
        # Few teeth so far undercut leave no body, and are refused: test_teeth_ratchet.py.
        reject()
    (way,) = tooth.approaches
    assert way.over == pytest.approx(3.0 * math.sin(math.radians(front)), abs=1e-12)
    cuts = [Came(space_beside(tooth), way.turn, way.over, way.bottom)]
    error = ways_error(tooth, [cuts] * 3, tooth.tip_radius)
    assert max(error.left, error.missing) < 0.2
    seen = face_as_cut(stands_after(tooth, [cuts] * 3, tooth.tip_radius), tooth.faces[0])
    assert seen is not None
    assert seen.lean == pytest.approx(front, abs=1e-6)


@pytest.mark.parametrize(("how", "machine", "front"), sampled(
    [(how, machine, front) for how in WAYS for machine in (DRIVEN, PLATES)
     for front in (4.0, 12.0, 30.0)], 24))
def test_the_front_angle_is_that_of_the_text_alone(
    how: tuple[str, str, str], machine: Machine, front: float
) -> None:
    """From the words of the text, to 0.02°, in every arrangement, driven and by hand."""
    text, evidence = made(front, how, machine)
    assert failing(evidence) == []
    joined = text.replace(")\r\n(", " ")
    towards = joined.split("FRONT EDGE OF THE CUTTER TOWARDS ")[1][:2]
    cuts = stood(text, *how)
    assert len({round(one.angle, 3) for one in cuts}) == 18
    for one in cuts:
        lean, faces = front_line(one, *how, towards, TIP)
        assert lean == pytest.approx(front, abs=0.02)
        assert faces == "clockwise"
    # Its deepest place as deep as the drawing of the space has it, along the infeed.
    tooth = wheel_tooth("ratchet", 18, 0.3, None, front=front, depth=0.5)
    inward = -1.0 if how[1][0] == "-" else 1.0
    assert max(inward * one.infeed for one in cuts) == pytest.approx(tooth.deepest, abs=0.001)


@pytest.mark.parametrize("machine", [DRIVEN, PLATES], ids=["driven", "by-hand"])
@pytest.mark.parametrize("more", [
    ", trial-spaces: 2", ", passes: 3, order: each-round, trial-spaces: 2, trial-short: 0.02",
    ", passes: 2, last-cut: 0.05", ", depth-correction: 0.02"])
@pytest.mark.parametrize("zero", ["touch", "axis"])
def test_all_words_of_the_step_go_with_an_undercut_front(
    machine: Machine, more: str, zero: str
) -> None:
    assert failing(made(10.0, machine=machine, more=more, zero=zero)[1]) == []


def test_the_report_tells_front_and_land_as_they_are_cut() -> None:
    """Measured on what stands: the front as asked, the land as drawn."""
    told = proofs(made(12.0)[1])["head.tooth-faces"].where
    tooth = wheel_tooth("ratchet", 18, 0.3, None, front=12, depth=0.5)
    lean = re.search(r"front ([0-9.]+)°", str(told))
    assert lean is not None
    # Set over to 0.561 mm, a whole number of increments: asin(0.561 / 2.7).
    assert float(lean[1]) == pytest.approx(math.degrees(math.asin(0.561 / 2.7)), abs=0.001)
    assert f"{tooth.sizes.tooth_thickness:.3f}" in told


def by_foreign(evidence: Evidence, text: str) -> list[str]:
    """What fails of another text, no plan known."""
    programs = [read_program(text.encode("ascii"), evidence.machine, "ratchet", infeed="Y")]
    other = gather(evidence.setup, evidence.job, evidence.machine, evidence.layout, None, programs,
                   evidence.cutters)
    return [str(proof.id) for proof in each_proof(other) if not proof.holds]


@pytest.mark.parametrize("front", [4.0, 12.0, 30.0])
def test_a_cutter_over_on_the_wrong_side_or_by_the_wrong_amount_is_found(front: float) -> None:
    """By the proofs of the spaces and of the teeth, without any plan."""
    text, evidence = made(front)
    over = TIP * math.sin(math.radians(front))
    at = f"Z{over:.3f}".rstrip("0")
    assert at in text
    assert by_foreign(evidence, text) == []
    for wrong in (-over, 0.0, over + 0.06, over - 0.06):
        found = by_foreign(evidence, text.replace(at, f"Z{wrong:.3f}"))
        assert "head.centre-height" in found, wrong
        assert {"head.tooth-material-left", "head.tooth-material-missing"} & set(found), wrong
    # One space turned a fifth of a degree: 2.7 · 0.2 · π/180 = 0.0094 mm at the tips.
    found = by_foreign(evidence, text.replace("A100.", "A100.2"))
    assert "head.space-angles" in found
    assert {"head.tooth-material-left", "head.tooth-material-missing"} & set(found)


ESCAPE = """
job: escape wheel
material: brass
wheel: {{teeth: 15, module: 0.5, form: escape-pointed, front: 24, back-angle: 36, depth: 1.0,
        tip-land: 0.05, fronts: {fronts}, thickness: 0.3, bore: 1}}
cutters:
  teeth: {{kind: form-disc, diameter: 24, flutes: 16,
          made-for: {{form: escape-pointed, module: 0.5, teeth: 15, front: 24, back-angle: 36,
                     depth: 1.0, tip-land: 0.05, fronts: {fronts}}}}}
setups:
  - name: teeth
    dividing: {{stack: 2, backing: 1.5, arbor: 3, slender: true,
               arrangement: {{along: {how[0]}, infeed: {how[1]}, across: {how[2]}}}}}
    steps:
      - cut-teeth: {{cutter: teeth}}
"""


@pytest.mark.parametrize(("how", "machine", "fronts"), sampled(
    [(how, machine, fronts) for how in WAYS for machine in (DRIVEN, PLATES)
     for fronts in ("clockwise", "anticlockwise")], 12))
def test_a_pointed_escape_wheel_has_front_and_hand_from_the_text_alone(
    how: tuple[str, str, str], machine: Machine, fronts: str
) -> None:
    """24° and 12° between front and back: Headrick, Clock and Watch Escapement Mechanics, 1997."""
    text, evidence = written(ESCAPE.format(how=how, fronts=fronts), machine)
    assert failing(evidence) == []
    towards = text.replace(")\r\n(", " ").split("FRONT EDGE OF THE CUTTER TOWARDS ")[1][:2]
    cuts = stood(text, *how)
    assert len(cuts) >= 15
    for one in cuts:
        lean, faces = front_line(one, *how, towards, 15 * 0.5 / 2)
        assert lean == pytest.approx(24.0, abs=0.02)
        assert faces == fronts


@settings(max_examples=20, deadline=None)
@given(st.integers(6, 40), st.floats(0.0, 30.0), st.floats(8.0, 50.0), st.floats(0.05, 0.3),
       st.sampled_from(["clockwise", "anticlockwise"]))
def test_a_pointed_tooth_is_as_asked_or_refused_by_a_word(
    teeth: int, front: float, more: float, depth: float, fronts: str
) -> None:
    """Front, back, land and depth measured on the points of the drawing; 10 mm over the tips."""
    asked = {"front": front, "back_angle": min(front + more, 60.0), "depth": 5.0 * depth,
             "fronts": fronts}
    try:
        tooth = wheel_tooth("escape-pointed", teeth, 10.0 / teeth, None, **asked)
    except Refused as no:
        refused = [fault.remedy for fault in no.faults]
    else:
        refused = []
        _as_asked(tooth, asked)
    assert all(refused)


def _as_asked(tooth: Tooth, asked: dict[str, Any]) -> None:
    front, fronts = asked["front"], asked["fronts"]
    ring = tooth.outline(1e-5)[:, 0] + 1j * tooth.outline(1e-5)[:, 1]
    assert np.abs(ring).max() == pytest.approx(5.0, abs=1e-9)
    assert tooth.sizes.whole_depth == pytest.approx(asked["depth"], abs=1e-6)
    assert shapely.LinearRing(np.column_stack([ring.real, ring.imag])).is_simple
    (way,) = tooth.approaches
    hand = 1.0 if fronts == "clockwise" else -1.0
    assert way.over == pytest.approx(hand * 5.0 * math.sin(math.radians(front)), abs=1e-9)
    lines = [piece for piece in tooth.profile if isinstance(piece, Line)]
    leans = sorted(abs(math.degrees(cmath.phase(
        max(piece.start, piece.end, key=abs) / (max(piece.start, piece.end, key=abs)
                                                - min(piece.start, piece.end, key=abs)))))
        for piece in (lines[0], lines[-1]))
    assert leans == pytest.approx(sorted([front, asked["back_angle"]]), abs=1e-6)
    assert tooth.sizes.tooth_thickness == pytest.approx(math.radians(0.5) * 5.0)
    cuts = [Came(space_beside(tooth), way.turn, way.over, way.bottom)]
    error = ways_error(tooth, [cuts] * 3, 5.0)
    assert max(error.left, error.missing) < 0.2


CLUB = """
job: escape wheel
material: brass
wheel: {{teeth: 15, module: 0.5, form: escape-club, front: 24, back-angle: 36, depth: 0.9,
        impulse: 5.5, rise: 0.12, fronts: {fronts}, thickness: 0.3, bore: 1}}
cutters:
  teeth: {{kind: form-disc, diameter: 24, flutes: 16,
          made-for: {{form: escape-club, module: 0.5, teeth: 15, front: 24, back-angle: 36,
                     depth: 0.9, impulse: 5.5, rise: 0.12, fronts: {fronts}}}}}
  flat: {{kind: slitting-saw, diameter: 20, flutes: 40, thickness: {wide}}}
setups:
  - name: teeth
    dividing: {{stack: 2, backing: 1.5, arbor: 3, slender: true, zero: {zero},
               arrangement: {{along: {how[0]}, infeed: {how[1]}, across: {how[2]}}}}}
    steps:
      - cut-teeth: {{cutter: teeth}}
      {second}
"""
IMPULSE = "- cut-teeth: {cutter: flat, cuts: impulse}"


def club(
    how: tuple[str, str, str] = USUAL, fronts: str = "clockwise", wide: float = 0.6,
    zero: str = "axis", second: str = IMPULSE,
) -> str:
    return CLUB.format(how=how, fronts=fronts, wide=wide, zero=zero, second=second)


@pytest.mark.parametrize(("how", "machine", "fronts"), sampled(
    [(how, machine, fronts) for how in WAYS for machine in (DRIVEN, PLATES)
     for fronts in ("clockwise", "anticlockwise")], 12))
def test_a_club_tooth_has_its_angles_from_the_text_alone(
    how: tuple[str, str, str], machine: Machine, fronts: str
) -> None:
    """Two lines, each where its cutter went: the front at its set-over, the plane at its depth.

    15 teeth, 12° a beat; of 10½° of the wheel's action 5½° are the tooth's impulse plane and 5° the
    pallet's, so that 1½° of drop are left (Watch and Clock Escapements, 1904).
    """
    text, evidence = written(club(how, fronts), machine)
    assert failing(evidence) == []
    towards = text.replace(")\r\n(", " ").split("FRONT EDGE OF THE CUTTER TOWARDS ")[1][:2]
    cuts = stood(text, *how)
    space, plane = cuts[0], cuts[-1]
    # Degrees of the head turn the work as a right-hand screw along + of the arbor's axis: the
    # outward radius stands so much the other way in the work.
    axis, out = unit("+" + how[0][1]), -unit(how[1])
    side = unit("+" + how[2])

    def in_work(vector: np.ndarray, angle: float) -> np.ndarray:
        turn = -math.radians(angle)
        return vector * math.cos(turn) + np.cross(axis, vector) * math.sin(turn)

    front = in_work(out, space.angle)
    beside = in_work(side * space.across, space.angle)
    normal = in_work(out, plane.angle)
    # Zero in the axis: the infeed is both radii less the depth, whatever its sign.
    high = abs(plane.infeed) - 20.0 / 2
    # The last space's plane may belong to the tooth beside: all teeth are alike.
    best = []
    for tooth in range(15):
        turned = in_work(normal, 24.0 * tooth)
        along = (high - turned @ beside) / (turned @ front)
        corner = beside + along * front
        tangent = np.cross(axis, turned)
        reach = math.sqrt(3.75**2 - high**2)
        for heel in (high * turned + reach * tangent, high * turned - reach * tangent):
            between = math.degrees(math.acos(
                min(1.0, corner @ heel / np.linalg.norm(corner) / 3.75)))
            best.append((between, float(np.linalg.norm(corner)), corner, heel))
    between, locking, corner, heel = min(best, key=lambda one: abs(one[1] - 3.63) + one[0] / 99)
    assert locking == pytest.approx(3.75 - 0.12, abs=0.004)
    assert between == pytest.approx(5.5, abs=0.1)
    assert 360 / 15 / 2 - between - 5.0 == pytest.approx(1.5, abs=0.1)
    lean = math.degrees(math.acos(min(1.0, corner @ front / locking)))
    assert lean == pytest.approx(24.0, abs=0.06)
    # The heel stands behind the corner, away from where the fronts face.
    faces = front_line(space, *how, towards, 3.63)[1]
    assert faces == fronts
    onward = float(np.cross(corner, heel) @ -unit(how[0]))
    assert (onward > 0) == (fronts == "clockwise")


def test_what_a_club_wheel_lacks_is_said_by_a_word() -> None:
    for text, told in (
        (club(second=""), "no step of this setup cuts the impulse"),
        (club(zero="touch"), "finds no blank to touch"),
        (club(wide=0.2), "mm wide, and the face it shall cut at once"),
        (club(wide=3.0), "µm into the teeth"),
        (club(second="- cut-teeth: {cutter: teeth, cuts: impulse}"), "µm standing on the impulse"),
        (club().replace("flutes: 16,", "flutes: 16, topping: true,"), "topping cutter"),
        (club(second="- cut-teeth: {cutter: flat, cuts: heel}"), "no cut called heel"),
        (club(second=IMPULSE + "\n      " + IMPULSE), "cut twice"),
        (JOB.format(front=8, made=8, how=USUAL, zero="axis", more="}\n      - cut-teeth: "
                    "{cutter: teeth, leave: 0.1"), "are not roughed"),
    ):
        with pytest.raises(Refused, match=told):
            plan_job(read(text), DRIVEN)


@pytest.mark.parametrize("step", [1, 2])
def test_a_club_wheel_is_not_begun_again_at_a_space(step: int) -> None:
    with pytest.raises(Refused, match="not begun again at a space"):
        plan_job(read(club()), DRIVEN, from_space=5, from_step=step)


@pytest.mark.parametrize("more", [
    "depth-correction: 0.02", "passes: 2, order: each-round", "milling: conventional"])
def test_the_words_of_the_step_go_with_the_impulse_plane(more: str) -> None:
    second = IMPULSE.replace("impulse", f"impulse, {more}")
    assert failing(written(club(second=second), DRIVEN)[1]) == []


def test_faults_planted_in_a_club_wheel_are_found() -> None:
    """A way left out, turned by a fifth of a degree, or over on the wrong side, no plan known."""
    text, evidence = written(club(), DRIVEN)
    assert by_foreign(evidence, text) == []
    begin = text.index("(STEP 2")
    first, second = text[:begin], text[begin:]
    # The first is where the cutter before it stood.
    over = re.findall(r"Z(1\.\d+)", second)[-1]
    turned = re.sub(r"A(-?[0-9.]+)", lambda word: f"A{float(word[1]) + 0.2:.3f}", second)
    missing = {"head.spaces-missing", "head.space-depth"}
    form = {"head.tooth-material-left", "head.tooth-material-missing"}
    assert missing & set(by_foreign(evidence, first + "M30\r\n%\r\n"))
    assert "head.space-angles" in by_foreign(evidence, first + turned)
    wrong = by_foreign(evidence, first + second.replace(f"Z{over}", f"Z-{over}"))
    assert "head.centre-height" in wrong
    assert form & set(wrong)
