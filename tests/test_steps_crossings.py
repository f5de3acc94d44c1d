"""Crossings cut: every opening as an independent construction has it, and refusals whose remedies
work in the job."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from planting.harness import made
from shapely.affinity import rotate
from workshop import DRIVEN, WHEEL, read, strokes

from camgen.faults import Refused
from camgen.make.chain import Wish, proved_job
from camgen.moves import Arc, Feed
from camgen.plan import PlannedSetup, plan_job
from camgen.shapes.path import Path as Way

ARMS = "crossing: {arms: 5, hub: 2.4, rim: 0.55, arm: 0.45, corner: 0.25}"
ONE = """
setups:
  - name: blank
    stock: {{sheet: [14, 14], thickness: 0.25}}
    holding: {{by: shellac on a carrier, carrier: brass, carrier-thickness: 3, cut-into: 0.4,
              holds-slugs: true}}
    steps:
      - drill: {{cutter: drill}}
      - bore: {{cutter: mill, drilled: 0.6}}
      - cross-out: {{cutter: mill{more}}}
      - outline: {{cutter: mill}}
"""
MILL = 0.2


def job(crossing: str, more: str = "") -> str:
    assert ARMS in WHEEL
    return WHEEL.replace(ARMS, crossing) + "made-elsewhere: [teeth]\n" + ONE.format(more=more)


WHEEL = re.sub(r"crossing: \{[^}]*\}", ARMS, WHEEL)


def planned(crossing: str, more: str = "") -> PlannedSetup:
    return plan_job(read(job(crossing, more)), DRIVEN).setups[0]


def refusal(text: str) -> str:
    """What planning the job is refused with; nothing where it is not."""
    try:
        plan_job(read(text), DRIVEN)
    except Refused as no:
        return str(no)
    return ""


def swept(setup: PlannedSetup) -> shapely.Geometry:
    """All that the mill passes over in the crossing, by its fed moves."""
    (section,) = [one for one in setup.moves.sections if one.title == "cross out"]
    ways = []
    for stroke in strokes(section.moves):
        if isinstance(stroke.move, Feed | Arc) and math.dist(stroke.start[:2],
                                                             stroke.end[:2]) > 1e-6:
            start, piece = stroke.piece
            points = Way(start, (piece,), closed=False).points(1e-4)
            ways.append(shapely.LineString(points).buffer(MILL, quad_segs=32))
    return shapely.union_all(ways)


def ring_less(arms: list[shapely.Geometry], root: float) -> shapely.Geometry:
    middle = shapely.Point(0, 0)
    free = (middle.buffer(root / 2 - 0.55, quad_segs=400).difference(
        middle.buffer(1.2, quad_segs=400)).difference(shapely.union_all(arms)))
    return free.buffer(-0.25, quad_segs=64).buffer(0.25, quad_segs=64)


def bands(bend: float) -> list[shapely.Geometry]:
    if not bend:
        line = np.array([(0.0, 0.0), (20.0, 0.0)])
    else:
        angle = np.linspace(0.0, math.pi / 2, 800)
        radius = abs(bend)
        line = np.column_stack([radius * np.sin(angle),
                                math.copysign(1, bend) * radius * (1 - np.cos(angle))])
    arm = shapely.LineString(line).buffer(0.225, cap_style="flat")
    return [rotate(arm, 72 * k, origin=(0, 0)) for k in range(5)]


@pytest.mark.parametrize(("bend", "off"), [(0.0, 0.01), (6.0, 0.0), (-6.0, -0.008)])
def test_all_of_every_wall_is_cut_and_nothing_beyond_it(bend: float, off: float) -> None:
    more = f", correction: {off}" if off else ""
    setup = planned(ARMS.replace("}", f", bend: {bend}}}") if bend else ARMS, more)
    root = read(job(ARMS)).job.part.tooth().sizes.root_diameter
    wanted = ring_less(bands(bend), root).buffer(-off, quad_segs=64)
    cut = swept(setup)
    assert cut.difference(wanted.buffer(0.002)).area < 1e-6
    along_walls = wanted.difference(wanted.buffer(-0.2))
    assert along_walls.buffer(-0.002).difference(cut).area < 1e-4 * along_walls.area


@pytest.mark.parametrize("off", [0.0, 0.015])
def test_round_openings_are_cut_to_their_circles(off: float) -> None:
    more = f", correction: {off}" if off else ""
    cut = swept(planned("round-crossing: {circles: 6, diameter: 1.8, around: 5.6}", more))
    middles = [shapely.Point(2.8 * math.cos(k * math.tau / 6), 2.8 * math.sin(k * math.tau / 6))
               for k in range(6)]
    wanted = shapely.union_all([one.buffer(0.9 - off, quad_segs=400) for one in middles])
    assert cut.difference(wanted.buffer(0.001)).area < 1e-6
    walls = wanted.difference(wanted.buffer(-0.2))
    assert walls.buffer(-0.001).difference(cut).area < 1e-4 * walls.area


@pytest.mark.parametrize("crossing", [
    "round-crossing: {circles: 6, diameter: 1.8, around: 5.6}",
    "crossing: {arms: 4, hub: 2.6, rim: 0.55, arm: 0.5, arm-at-hub: 0.8, corner: 0.25, bend: -4}",
])
def test_a_wheel_crossed_out_so_is_proved(crossing: str, tmp_path: Path) -> None:
    path = tmp_path / "wheel.yaml"
    path.write_text(job(crossing, ", correction: 0.005"), encoding="utf-8")
    found = proved_job(path, Wish(post="plain-iso"))
    assert not found.failed
    assert len(found.proofs) > 40


@pytest.mark.parametrize(("crossing", "more"), [
    (ARMS.replace("corner: 0.25", "corner: 0.2"), ""),
    (ARMS.replace("corner: 0.25", "corner: 0.21"), ", finish: 0.03"),
    (ARMS.replace("corner: 0.25", "corner: 0.225"), ", correction: 0.01"),
    (ARMS.replace("corner: 0.25", "corner: 0.05"), ""),
    ("round-crossing: {circles: 6, diameter: 0.42, around: 5.6}", ""),
])
def test_a_corner_too_tight_names_the_number_and_both_remedies_work(
    crossing: str, more: str
) -> None:
    word = "diameter" if crossing.startswith("round") else "corner"
    with pytest.raises(Refused) as no:
        planned(crossing, more)
    (fault,) = no.value.faults
    assert str(fault.place.path).endswith(f"crossing.{word}")
    found = re.search(rf"{word}: ([\d.]+) or more", str(fault.remedy))
    assert found
    least = float(found[1])
    assert planned(re.sub(rf"{word}: [\d.]+", f"{word}: {least}", crossing), more)
    with pytest.raises(Refused):
        planned(re.sub(rf"{word}: [\d.]+", f"{word}: {least - 0.003}", crossing), more)
    cutter = re.search(r"a cutter of at most ([\d.]+) mm", str(fault.remedy))
    assert cutter
    text = job(crossing, more).replace("diameter: 0.40, flutes", f"diameter: {cutter[1]}, flutes")
    # It may be too weak a cutter for other reasons, but it gets into the corners.
    assert "too tight" not in refusal(text)


@pytest.mark.parametrize(("wrong", "said"), [
    ("round-crossing: {circles: 9, diameter: 2.8, around: 5.6}", "between two openings"),
    ("round-crossing: {circles: 4, diameter: 2.2, around: 8.2}", "the rim is cut through"),
    ("round-crossing: {circles: 4, diameter: 2.2, around: 2.8}", "between bore and openings"),
    (ARMS + ", round-crossing: {circles: 6, diameter: 1.8, around: 5.6}", "a wheel with crossing"),
])
def test_what_round_openings_leave_is_looked_at_and_the_remedy_works(
    wrong: str, said: str, tmp_path: Path
) -> None:
    def faults(crossing: str) -> list[str]:
        path = tmp_path / "wheel.yaml"
        path.write_text(job(crossing), encoding="utf-8")
        try:
            proved_job(path, Wish(post="plain-iso"))
        except Refused as no:
            return [f"{fault.message} | {fault.remedy}" for fault in no.faults]
        return []

    told = faults(wrong)
    assert any(said in one for one in told), told
    most = [re.search(r"diameter: ([\d.]+) or less", one) for one in told]
    if all(most):
        least = min(float(one[1]) for one in most if one)
        again = re.sub(r"diameter: [\d.]+", f"diameter: {least}", wrong)
        assert not [one for one in faults(again) if "thinner" in one or "cut through" in one]


def test_a_correction_is_told_alike_in_program_and_sheet(tmp_path: Path) -> None:
    path = tmp_path / "wheel.yaml"
    path.write_text(job(ARMS, ", correction: -0.012"), encoding="utf-8")
    (programs,) = made(path, "plain-iso")
    assert programs.first_failing(programs.read) is None
    (text,) = programs.texts
    assert re.findall(r"\(CORRECTION ([-+][\d.]+) MM IN FORCE\)", text) == ["-0.012"]
    after = text.index("CORRECTION")
    assert text.rindex("CROSS OUT", 0, after) > text.rindex("BORE", 0, after)
    setup = plan_job(read(path.read_text(encoding="utf-8")), DRIVEN).setups[0]
    assert [one for one in map(str, setup.corrected) if "cross out: correction -0.012" in one]
    path.write_text(job(ARMS), encoding="utf-8")
    (plain,) = made(path, "plain-iso")
    assert "CORRECTION" not in plain.texts[0]
