"""Wheels with odd counts: what flat jaws read over the tips, and the root reckoned from it.

What is read is taken by plane figures from a wheel cut out of a disc: the least distance of two
parallel lines that hold it, and the reach of one tip.
"""

from __future__ import annotations

import math
import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from cut_by_hand import Wheel, cut

from camgen.cli import group
from camgen.faults import Refused
from camgen.job.reading import parse_job
from camgen.layout import HeadWork, tooth_layout
from camgen.make.told.on_head.tooth_measures import tooth_measures
from camgen.shipped import shipped_folder
from camgen.shop.machines import find_machine
from camgen.steps import step_words
from camgen.teeth.cut.correcting import Cutting, Sized, gauges
from camgen.teeth.cut.measuring import cut_wheel, over_tips
from camgen.teeth.cut.odd_counts import odd_count, with_root_and_tip
from camgen.teeth.outlines.cycloidal import cycloidal_pinion, cycloidal_wheel
from camgen.teeth.outlines.involute import involute_tooth
from camgen.teeth.tooth import Tooth
from camgen.words import words

# Plane figures beside flanks of 5 nm chord error, mm.
NEAR = 2e-5


def held(wheel: Wheel) -> float:
    """The least distance of two parallel lines that hold the wheel, by its outline's points."""
    ring = np.array(wheel.left.exterior.coords)
    point = ring[:, 0] + 1j * ring[:, 1]
    half = math.pi / wheel.teeth
    best, width = 0.0, half
    for _ in range(3):  # turned over a pitch, and closer about the least
        turns = best + np.linspace(-width, width, 41)
        spread = [np.ptp((point * np.exp(-1j * turn)).real) for turn in turns]
        best, width = float(turns[int(np.argmin(spread))]), width / 15
    return float(min(spread))


@cache
def made(kind: str, teeth: int) -> Tooth:
    match kind:
        case "leaves":
            return cycloidal_pinion(teeth, 0.2, 60, "one-third-ogive")
        case "wheel":
            return cycloidal_wheel(teeth, 0.14, 10)
        case _:
            return involute_tooth(teeth, 0.2)


EACH = [*(("involute", teeth) for teeth in range(5, 16)),
        *(("leaves", teeth) for teeth in range(6, 16)), ("wheel", 75), ("involute", 75)]


@pytest.mark.parametrize(("kind", "teeth"), EACH)
def test_jaws_read_the_least_width_where_no_tips_lie_across(kind: str, teeth: int) -> None:
    tooth = made(kind, teeth)
    by_hand = cut(tooth, 0.0, 0.0, tooth.sizes.tip_diameter)
    assert over_tips(cut_wheel(tooth)) == pytest.approx(
        held(by_hand) if teeth % 2 else by_hand.tip, abs=NEAR)


@pytest.mark.parametrize(("kind", "teeth"), [one for one in EACH if one[1] % 2])
def test_the_root_follows_to_a_micrometre(kind: str, teeth: int) -> None:
    """From a root across, with the blank, by jaws, or with both, at right and wrong depths."""
    tooth = made(kind, teeth)
    cutting = Cutting(tooth, tooth, tooth.tip_radius)
    odd = odd_count(cutting, gauges(cutting))
    assert odd is not None
    for deeper, off in ((0.0, 0.0), (0.006, 0.0), (-0.006, 0.0), (0.004, -0.008), (-0.004, 0.008)):
        blank = tooth.sizes.tip_diameter + off
        by_hand = cut(tooth, deeper, 0.0, blank)
        across, jaws = (by_hand.root + by_hand.tip) / 2, held(by_hand)
        read = {Sized.ROOT_TO_TIP: across}
        ways = [{**read, Sized.JAWS: jaws, Sized.BLANK: blank}]
        # Where the cutter makes the tips the blank tells them no more, and jaws alone no blank.
        if not odd.topped:
            ways.append({**read, Sized.BLANK: blank})
        if not odd.topped or off == 0.0:
            ways.append({**read, Sized.JAWS: jaws})
        for way in ways:
            assert with_root_and_tip(odd, way)[Sized.ROOT] == pytest.approx(
                by_hand.root, abs=1e-3), (deeper, off, way)


SEVEN = """job: seven
material: free-cutting-steel
{units}pinion: {{leaves: {leaves}, module: 0.2, mate: 60, length: {length}{form}}}
made-elsewhere: [outline]
cutters:
  leaves: {{kind: form-disc, diameter: {disc}, flutes: 12, material: hss, thickness: {thick},
    arbor: {arbor}, shank: {shank}, reach: {reach},
    made-for: {{form: {made}, module: 0.2, teeth: {leaves}{mate}}}}}
setups:
  - name: leaves
    dividing: {{stack: 1, slender: true, arbor: {on}}}
    steps: [cut-teeth: {{cutter: leaves, order: each-round, trial-spaces: 2}}]
"""


def seven(leaves: int = 7, inch: bool = False) -> str:
    size = {"length": 2.0, "disc": 16.0, "thick": 2.0, "arbor": 10.0, "shank": 6.0, "reach": 15.0,
            "on": 0.4}
    return SEVEN.format(
        leaves=leaves, units="units: inch\n" if inch else "", form="", made="cycloidal-pinion",
        mate=", mate: 60",
        **{name: round(one / 25.4, 6) if inch else one for name, one in size.items()})


def corrected(job: Path, sizes: str) -> str:
    result = CliRunner().invoke(group, ["correct", str(job), "--measured", sizes],
                                catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def test_sheet_asks_for_what_jaws_read_and_the_answer_takes_it(tmp_path: Path) -> None:
    path = tmp_path / "seven.yaml"
    path.write_text(seven())
    job = parse_job(path.read_text(), path, step_words()).job
    layout = tooth_layout(job, job.on_head[0], find_machine(job.post, shipped_folder("jobs")))
    asked = {one.name: one for one in tooth_measures(
        job, HeadWork(job.on_head[0], layout), words("en"))}
    tooth = layout.tooth
    by_hand = cut(tooth, 0.0, 0.0, tooth.sizes.tip_diameter)
    assert asked["over-tips"].nominal == pytest.approx(held(by_hand), abs=NEAR)
    across = asked["root-to-tip"].nominal
    assert across == pytest.approx((by_hand.root + by_hand.tip) / 2, abs=NEAR)
    # By the sheet's own words: twice across, less the jaws and so much more.
    more = re.search(r"over the tips and (\d\.\d{3}) more", asked["root"].correct)
    assert more is not None
    assert 2 * across - held(by_hand) - float(more[1]) == pytest.approx(by_hand.root, abs=1e-3)

    spoiled = cut(tooth, -0.01, 0.0, tooth.sizes.tip_diameter)
    sizes = f"root-to-tip={(spoiled.root + spoiled.tip) / 2:.4f},over-tips={held(spoiled):.4f}"
    assert "depth-correction: 0.01 (now 0)" in corrected(path, sizes)
    with pytest.raises(Refused) as no:
        corrected(path, f"tip={held(by_hand):.4f},root=0.679")
    assert "write over-tips=" in str(no.value)
    with pytest.raises(Refused) as no:
        corrected(path, "root-to-tip=1.174")
    assert "give over-tips too" in str(no.value)
    path.write_text(seven(8))
    with pytest.raises(Refused) as no:
        corrected(path, "over-tips=1.85")
    assert "the count is even" in str(no.value)


def test_every_figure_of_an_inch_job_names_its_unit(tmp_path: Path) -> None:
    path = tmp_path / "inch.yaml"
    path.write_text(seven(8, inch=True))
    tooth = parse_job(path.read_text(), path, step_words()).job.part.tooth()
    wide = cut(tooth, -0.01, 0.008, tooth.sizes.tip_diameter + 0.02)
    said = corrected(path, f"root={wide.root / 25.4:.6f},"
                     f"blank={(tooth.sizes.tip_diameter + 0.02) / 25.4:.6f},"
                     f"thickness={wide.tooth(tooth.sizes.chordal_height) / 25.4:.6f}")
    figures = re.findall(r"\d\.\d{3,}(?: \(?in)?", said)
    assert len(figures) > 4
    assert all(one.endswith("in") for one in figures), said
