"""What sheet and program say of a head is what the motion does, however it stands.

Sides, senses and signs are reckoned anew from the motion read back: where the fed strokes go, where
the cutter is drawn back to, how the head turns; the rest is plane geometry.
"""

from __future__ import annotations

import itertools
import math
import re
from pathlib import Path

import numpy as np
import pytest
from arrangements import HEADS, WAYS
from sampling import sampled

from camgen.job.reading import read_job
from camgen.layout.stands import front_edge
from camgen.make.chain import ProvedSetup, Wish, proved_job
from camgen.make.told.report import times_of
from camgen.make.told.sheet_texts import sheet_of
from camgen.proof.evidence import HeadEvidence
from camgen.sheet.data import SetupSheet
from camgen.shop.machine import DrivenHead
from camgen.steps import step_words
from camgen.teeth.outlines.ratchet import ratchet_tooth
from camgen.words import words

# Word and form of the part, what its cutter is made for, tip diameter.
FORMS = {
    "wheel": ("wheel: {teeth: 12, module: 0.2, mate: 60, thickness: 0.5, bore: 0.8}",
              "form: cycloidal-wheel, module: 0.2, teeth: 12, mate: 60"),
    "pinion": ("pinion: {leaves: 10, module: 0.2, mate: 60, length: 0.6}",
               "form: cycloidal-pinion, module: 0.2, teeth: 10, mate: 60"),
    "involute": ("wheel: {teeth: 17, module: 0.2, form: involute, thickness: 0.5, bore: 0.8}",
                 "form: involute, module: 0.2, teeth: 17"),
    "ratchet": ("wheel: {teeth: 14, module: 0.2, form: ratchet, front: 0, depth: 0.3, "
                "thickness: 0.5, bore: 0.8}",
                "form: ratchet, module: 0.2, teeth: 14, front: 0, depth: 0.3"),
}
ZEROS = ("zero: touch", "zero: axis", "zero: touch, blank: {over}", "zero: axis, blank: {over}")
JOB = """
job: said
post: plain-iso
material: brass
made-elsewhere: [bore, outline]
{part}
cutters:
  teeth: {{kind: form-disc, diameter: 16, flutes: 12, material: hss, thickness: 2, arbor: 8,
          shank: 6, reach: 15, made-for: {{{made}}}}}
setups:
  - name: teeth
    dividing: {{stack: 1, backing: 1.5, arbor: 1.0, {zero}, slender: true,
               arrangement: {{along: {along}, infeed: {infeed}, across: {across}}},
               front: {{arbor: 0.6, length: 20}}}}
    holding: {{by: arbor}}
    steps:
      - cut-teeth: {{cutter: teeth, passes: 2}}
"""
RADIUS = 8.0


def vector(signed: str) -> np.ndarray:
    """The direction of a signed axis."""
    return np.array([(-1.0 if signed[0] == "-" else 1.0) * (signed[1] == name) for name in "XYZ"])


def signed(way: np.ndarray) -> str:
    """The signed axis of a direction."""
    axis = int(np.argmax(np.abs(way)))
    return ("+" if way[axis] > 0 else "-") + "XYZ"[axis]


def seen(look: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Angles at which points stand round the axis for one who looks along ``look``, radians."""
    up = np.roll(np.abs(look), 1)
    return np.arctan2(points @ up, points @ np.cross(look, up))


def turned(angles: np.ndarray) -> str:
    """Which way one goes from the first angle to the second."""
    return "anticlockwise" if math.sin(angles[1] - angles[0]) > 0 else "clockwise"


def made(folder: Path, form: str, zero: str, how: tuple[str, str, str]) -> tuple[
        ProvedSetup, dict[str, SetupSheet]]:
    """A job on its head, and its sheet in every language."""
    part, cutter = FORMS[form]
    path = folder / "said.yaml"
    along, infeed, across = how

    def write(blank: str) -> None:
        path.write_text(JOB.format(part=part, made=cutter, zero=zero.format(over=blank),
                                   along=along, infeed=infeed, across=across), encoding="utf-8")

    write("9.0")
    tip = read_job(path, step_words()).job.part.tooth().sizes.tip_diameter
    # What stands over the tip circle is left on the teeth: no more than is allowed.
    write(f"{tip + 0.008:.4f}")
    proved = proved_job(path, Wish())
    assert proved.failed == ()
    return proved.setups[0], {
        language: sheet_of(proved, times_of(proved), {}, words(language), None).setups[0]
        for language in ("en", "de", "fr")}


@pytest.mark.parametrize(("form", "zero", "how"), sampled(
    itertools.product(FORMS, ZEROS, WAYS), 37, 5))
def test_sides_senses_and_signs_are_those_of_the_motion(
    tmp_path: Path, form: str, zero: str, how: tuple[str, str, str]
) -> None:
    setup, sheets = made(tmp_path, form, zero, how)
    evidence, sheet = setup.evidence, sheets["en"]
    assert isinstance(evidence, HeadEvidence)
    motion, layout = evidence.motion, evidence.layout
    cuts = np.nonzero(evidence.cut)[0]
    ways = motion.end[cuts] - motion.start[cuts]
    through = signed(ways[np.argmax(np.abs(ways).max(axis=1))])
    infeed = "XYZ".index(how[1][1])
    deepest = motion.end[cuts, infeed]
    away = motion.end[:, infeed]
    back = away[np.argmax(np.abs(away - deepest[0]))]
    inward = 1.0 if back < deepest.mean() else -1.0
    into = signed(inward * np.eye(3)[infeed])
    said = " ".join(sheet.stand)
    program = setup.programs[0].text.decode("ascii").replace(")\r\n(", " ")

    # Where head and cutter stand.
    assert re.findall(r"[+-][XYZ]", sheet.stand[0]) == [
        through, signed(-vector(through)), through]
    assert re.findall(r"[+-][XYZ]", sheet.stand[1]) == [signed(-vector(into)), into]
    assert (f"HEAD AT THE {through} END, CUTTER ON THE {signed(-vector(into))} SIDE, IN TOWARDS "
            f"{into}") in program

    # From where it touches to the ground it goes as far as the blank stands above the root.
    touching = re.search(rf"STANDS AT {how[1][1]}(-?[0-9.]+) MM", program)
    at = float(touching[1]) if touching else 0.0
    root, blank = layout.tooth.root_radius, layout.blank_radius
    assert inward * (inward * deepest).max() - at == pytest.approx(
        inward * (blank - root), abs=0.002)
    if "axis" in zero:
        assert at * inward == pytest.approx(-(blank + RADIUS), abs=0.001)
        assert f"{how[1][1]}{at:.3f}" in sheet.touched_at
        assert f"{blank + RADIUS:.3f}" in sheet.from_axis
    else:
        assert sheet.touched_at == (f"{how[1][1]}{at:.3f}" if at else "")

    # The head turns the work as a right-hand screw along + of the arbor's axis.
    head = evidence.machine.dividing
    assert isinstance(head, DrivenHead)
    angles = np.unique(np.round(motion.angle_end[cuts], 6))
    step = math.radians(angles[1] - angles[0])
    axis = np.abs(vector(through))
    here = -vector(into)
    # The next space stands where a turn back would bring this one.
    coming = here * math.cos(step) - np.cross(axis, here) * math.sin(step)
    assert f"lies {turned(seen(vector(through), np.array([here, coming])))} of" in said

    # What must be clear before the face: the disc at every place of its middle.
    place = vector(through)["XYZ".index(through[1])] * motion.end[:, "XYZ".index(through[1])]
    off = RADIUS + blank - inward * (away - at)
    known = np.isfinite(place) & np.isfinite(off)

    def reach(radius: float) -> float:
        high = np.abs(off[known] - radius)
        half = np.sqrt(np.maximum(RADIUS**2 - high**2, 0.0))
        return float(np.max(np.where(high < RADIUS, half - place[known], -np.inf)))

    near, wide, far = map(float, re.findall(r"([0-9]+\.[0-9]+) mm", sheet.stand[-1]))
    assert wide / 2 == pytest.approx(root, abs=0.006)
    assert reach(blank) == pytest.approx(near, abs=0.06)
    assert max(map(reach, np.linspace(root, blank, 9))) <= near + 0.06
    assert max(map(reach, np.linspace(blank, root + RADIUS, 9))) == pytest.approx(far, abs=0.3)

    # The front, where there is one, and the side on which its edge must be.
    front = re.search(r"front edge points towards ([+-][XYZ]).*face (\w+),", said)
    assert (front is not None) == (form == "ratchet")
    if front is not None:
        assert front[1][1] == how[2]
        assert f"FRONT EDGE OF THE CUTTER TOWARDS {front[1]}" in program
        space = layout.tooth.chain(0.001)
        # Front and back at the tip, as the fitted cutter leaves them; the drawn one is steep.
        steep, other = sorted((space[-1], space[0]), key=lambda tip: abs(
            np.angle((space[np.argmin(np.abs(space))] - tip) / -tip)))
        points = [here * tip.real + vector(front[1]) * (abs(tip.imag) if tip is steep
                  else -abs(tip.imag)) for tip in (steep, other)]
        # A front faces its own space, that is towards the back beyond it.
        assert turned(seen(vector(through), np.array(points))) == front[2]
        assert "Turn the blank" not in " ".join(sheet.centring.steps)  # type: ignore[union-attr]
    else:
        about = "end for end" if form == "pinion" else "face to back"
        assert about in " ".join(sheet.centring.steps)  # type: ignore[union-attr]

    # In every language the same sides, figures and cutters.
    for language in ("de", "fr"):
        for ours, theirs in zip(sheet.stand, sheets[language].stand, strict=True):
            figures = r"[+-][XYZ]\b|\d+\.\d+"
            assert re.findall(figures, ours) == re.findall(figures, theirs)
            assert ours != theirs


@pytest.mark.parametrize("undercut", [0.0, 4.0, 10.0, 20.0])
@pytest.mark.parametrize("head", HEADS[::5], ids=str)
def test_a_front_passes_the_middle_by_radius_and_sine(undercut: float, head: object) -> None:
    tooth = ratchet_tooth(30, 0.4, front=undercut, depth=0.5)
    front = front_edge(tooth, head)  # type: ignore[arg-type]
    assert front is not None
    assert front.over == pytest.approx(6.0 * math.sin(math.radians(undercut)), abs=1e-9)
