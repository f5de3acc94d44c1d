"""Cutters as they are bought: a chart or a trace says what they leave, the wheel is what they make.

The charts' figures: blank (N + 2.76) m, depth 2.95 m (deep 3.38, root (N - 4) m; short 2.45), round
bottoms (N + 2.50) m and 3.0 m deep; over 6 7 8 10 12 16 leaves 7.71 8.71 9.71 11.61 13.61 17.61 m,
roots 2.84 3.3 4.2 5.9 7.8 11.8 m (published charts of wheel-cutter suppliers, agreeing).
"""

from __future__ import annotations

import dataclasses
import math
import random
import re
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from message_templates import left_in_english
from sampling import few

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.job.reading import JobFile, read_job
from camgen.library.fingerprint import as_meant
from camgen.make.causes.corrected_pair import pair_faults
from camgen.make.chain import Proved, proved_job
from camgen.part.wheels.wheel import Wheel
from camgen.proof.head.tooth_form import prove_tooth_form
from camgen.shop.cutters import Cutter, GroundChart, Traced
from camgen.steps import step_words
from camgen.teeth.cut.as_cut import form_error
from camgen.teeth.cut.bought import CutterSpace, Heights, ground_wheel, space_beside
from camgen.teeth.cut.traced import traced_line
from camgen.teeth.outlines.curves import divided
from camgen.teeth.outlines.cycloidal import cycloidal_pinion, cycloidal_wheel
from camgen.teeth.pairs import Runs, pair_runs
from camgen.words import words

JOB = """job: wheel
material: brass-leaded
made-elsewhere: [bore, outline]
wheel: {{teeth: {teeth}, module: 0.3, thickness: 0.4, bore: 0.8, mate: 10{own}}}
cutters:
  t: {{kind: form-disc, diameter: 20, flutes: 14, thickness: 2, arbor: 12, shank: 8, reach: 20,
      {cut}}}
  leaves: {{kind: form-disc, diameter: 20, flutes: 14, thickness: 2, arbor: 12, shank: 8, reach: 20,
      ground: {{module: 0.3, proportions: pinion, leaves: 10}}}}
setups:
  - name: teeth
    dividing: {{stack: 2, backing: 3, arbor: 3, front: {{nut: 2.5, length: 3}}}}
    steps:
      - cut-teeth: {{cutter: t}}
"""
CHART = "ground: {module: 0.3, addendum: 1.38, radius: 1.93, thickness: 1.57, depth: 2.95}"
AS_CUT = ", tooth: as-cut"
LINE = ground_wheel(0.3, 1.38, 1.93, 1.57, 2.95)
MEANT = cycloidal_wheel(60, 0.3, 10)


def job(folder: Path, cut: str = CHART, own: str = AS_CUT, teeth: int = 60) -> JobFile:
    path = folder / "job.yaml"
    path.write_text(JOB.format(cut=cut, own=own, teeth=teeth), encoding="utf-8")
    return read_job(path, step_words())


def said(folder: Path, cut: str = CHART, own: str = AS_CUT, teeth: int = 60) -> str:
    """All that is wrong with a job, place, message and remedy."""
    try:
        read = job(folder, cut, own, teeth)
        faults = job_faults(read) or pair_faults(read)
    except Refused as no:
        faults = list(no.faults)
    for fault in faults:
        for language in ("de", "fr"):
            for what in (fault.message, fault.remedy):
                assert what is not None
                assert left_in_english(words(language), what) == [], (language, what)
    return "\n".join(f"{one.place.path}: {one.message} | {one.remedy}" for one in faults)


@pytest.mark.parametrize(("chart", "over", "root"), [
    ("wheel", 2.76, 3.14), ("wheel-deep", 2.76, 4.0), ("wheel-short", 2.76, 2.14),
    ("wheel-round-bottom", 2.50, 3.5)])
def test_a_charted_cutter_makes_the_blank_and_root_of_its_chart(
        chart: str, over: float, root: float) -> None:
    line = GroundChart.model_validate({"module": 0.3, "proportions": chart}).space()
    for teeth in (30, 60, 120):
        sizes = line.tooth(cycloidal_wheel(teeth, 0.3, 10)).sizes
        assert sizes.tip_diameter == pytest.approx((teeth + over) * 0.3, abs=1e-6)
        assert sizes.root_diameter == pytest.approx((teeth - root) * 0.3, abs=1e-6)
        thick = 1.41 if chart == "wheel-round-bottom" else 1.57
        assert sizes.tooth_thickness == pytest.approx(thick * 0.3, abs=0.0008)


@pytest.mark.parametrize(("leaves", "over", "root"), [
    (6, 7.71, 2.84), (7, 8.71, 3.3), (8, 9.71, 4.2), (10, 11.61, 5.9), (12, 13.61, 7.8),
    (16, 17.61, 11.8)])
def test_a_charted_pinion_cutter_makes_its_leaves(leaves: int, over: float, root: float) -> None:
    line = GroundChart.model_validate(
        {"module": 0.2, "proportions": "pinion", "leaves": leaves}).space()
    sizes = line.tooth(cycloidal_pinion(leaves, 0.2, 60, "one-third-ogive")).sizes
    assert sizes.tip_diameter == pytest.approx(over * 0.2, abs=1e-6)
    assert sizes.root_diameter == pytest.approx(root * 0.2, abs=1e-6)
    assert sizes.tooth_thickness == pytest.approx((1.05 if leaves < 10 else 1.25) * 0.2, abs=1e-5)


def test_the_line_of_a_wheel_cutter_is_that_of_its_figures() -> None:
    """Reckoned apart: parallel flanks, then the circle through side and tip of the tooth."""
    half, top = (math.pi - 1.57) / 2, math.pi / 2
    # Centre of the arc of 1.93 through (1.57, half) and (2.95, top), on the tooth's side.
    way = np.array([1.38, top - half])
    middle = np.array([1.57, half]) + way / 2
    off = math.sqrt(1.93**2 - (way @ way) / 4)
    centre = middle + off * np.array([-way[1], way[0]]) / np.hypot(*way)
    flank = LINE.upper / 0.3
    for height in (0.5, 1.0, 1.5):
        assert np.interp(height, flank.real, flank.imag) == pytest.approx(half, abs=1e-9)
    arc = flank[flank.real > 1.571]
    assert np.hypot(arc.real - centre[0], arc.imag - centre[1]) == pytest.approx(1.93, abs=1e-4)
    assert complex(flank[-1]) == pytest.approx(complex(2.95, top))


def test_a_cutter_made_for_forty_teeth_is_told_with_what_it_would_give(tmp_path: Path) -> None:
    told = said(tmp_path, "made-for: {form: cycloidal-wheel, module: 0.3, teeth: 40, mate: 10}", "")
    assert told.startswith("cutters.t.made-for.teeth: t, made for 40 teeth, leaves teeth of 60")
    assert "wheel: {tooth: as-cut} would take it" in told
    assert "blank 18.8" in told
    assert "it turns freely" in told
    assert job_faults(job(
        tmp_path, "made-for: {form: cycloidal-wheel, module: 0.3, teeth: 40, mate: 10}")) == []


def test_a_bought_cutter_is_held_against_the_form_and_the_form_may_be_let_go(
        tmp_path: Path) -> None:
    own = ", proportions: short"
    short = "ground: {module: 0.3, proportions: wheel-short}"
    told = said(tmp_path, short, own)
    assert "leaves teeth up to 22.1 µm off their form" in told
    assert "blank 18.828 mm, root 17.358 mm, 0.735 mm deep" in told
    tolerance = told.split("form-tolerance: ")[1].split(" ")[0]
    assert said(tmp_path, short, f"{own}, form-tolerance: {tolerance}") == ""
    assert said(tmp_path) == ""
    drawn = said(tmp_path, short.replace("proportions", "teeth: 40, proportions"), own)
    assert "t is ground for 40 teeth, and these are 60" in drawn


def test_teeth_higher_than_a_cutter_is_known_are_not_let_be(tmp_path: Path) -> None:
    """However much may be borne: nobody knows what it leaves above."""
    for own in ("", ", form-tolerance: 0.03"):
        told = said(tmp_path, own=own)
        assert told.startswith("cutters.t.ground: the profile of t is known 0.885 mm high, and "
                               "the space is 0.948 mm deep")
        assert "blank 18.828 mm, root 17.058 mm, 0.885 mm deep; with its mate it turns" in told


@pytest.mark.parametrize(("cut", "own", "told"), [
    (CHART + ", made-for: {form: cycloidal-wheel, module: 0.3, teeth: 60, mate: 10}", AS_CUT,
     "both say what space the cutter leaves"),
    (CHART + ", profile: half.csv", AS_CUT, "is a trace that is not there"),
    ("ground: {module: 0.3}", AS_CUT, "the profile lacks addendum, radius, thickness and depth"),
    ("ground: {module: 0.3, proportions: pinion, leaves: 9}", AS_CUT, "no pinion cutter for 9"),
    ("ground: {module: 0.3, proportions: pinion}", AS_CUT, "add leaves:"),
    ("ground: {module: 0.3, proportions: wheel, leaves: 8}", AS_CUT, "not said of a wheel cutter"),
    ("ground: {module: 0.3, proportions: pinion, leaves: 10}", AS_CUT, "is a pinion cutter"),
    ("ground: {module: 0.25, proportions: wheel}", "", "is ground for module 0.25"),
    (CHART.replace("1.93", "0.5"), AS_CUT, "an arc of radius 0.5 modules does not reach"),
    (CHART.replace("1.93", "19.3"), AS_CUT, "radius: 19.3 is not allowed"),
    (CHART.replace("1.38", "13.8"), AS_CUT, "addendum: 13.8 is not allowed"),
    (CHART.replace("1.57", "15.7"), AS_CUT, "thickness: 15.7 is not allowed"),
    (CHART.replace("2.95", "29.5"), AS_CUT, "depth: 29.5 is not allowed"),
    (CHART.replace("2.95", "1.2"), AS_CUT, "make no space"),
    ("profile: {scale: 2}", AS_CUT, "without a file or points"),
    (CHART, AS_CUT + ", form-tolerance: 0.01", "leave one of them out"),
    (CHART, ", form-tolerance: 0.3", "0.03 or less"),
    (CHART, ", form-tolerance: 0.0001", "finer than anything is measured"),
    (CHART, AS_CUT + ", mate-cutter: leafs", "did you mean leaves"),
    (CHART, AS_CUT + ", mate-cutter: t", "is a wheel cutter, and cuts a pinion"),
    (CHART.replace("depth: 2.95", "depth: 2.95, thickness: 1.57"), AS_CUT, "thickness"),
    ("note: x", AS_CUT, "note"),
])
def test_what_cannot_be_is_refused_by_word(
        tmp_path: Path, cut: str, own: str, told: str) -> None:
    assert told in said(tmp_path, cut, own)


def test_a_mate_cut_by_its_own_cutter_is_rolled_as_that_makes_it(tmp_path: Path) -> None:
    part = job(tmp_path, own=AS_CUT + ", mate-cutter: leaves").job.part
    assert isinstance(part, Wheel)
    mate = part.mate_tooth()
    assert mate is not None
    assert mate.sizes.tip_diameter == pytest.approx(11.61 * 0.3)
    runs = pair_runs(part.tooth(), mate)
    assert isinstance(runs, Runs)
    assert runs.action.free
    # A tooth of 1.57 and a leaf of 1.25 in a pitch of 3.142 modules.
    assert runs.action.backlash[0] == pytest.approx(
        1000 * 0.3 * (math.pi - 1.57 - 1.25), rel=0.12)


# Traces.

POINTS = [(point.imag, point.real) for point in divided(LINE.upper, 0.012)]


def off(line: CutterSpace, true: CutterSpace = LINE) -> float:
    """How far a line is from the true one, µm, where both are known."""
    heights = np.linspace(0.02, 0.98 * true.depth, 200)
    return 1000 * float(max(
        np.abs(np.interp(heights, one.real, np.abs(one.imag))
               - np.interp(heights, true.upper.real, true.upper.imag)).max()
        for one in (line.lower, line.upper)))


@settings(max_examples=few(30), deadline=None)
@given(whole=st.booleans(), mirrored=st.booleans(), turns=st.integers(0, 3),
       seed=st.integers(0, 1000), away=st.floats(-3, 3), across=st.floats(-3, 3))
def test_a_trace_means_the_same_however_it_lies(
        whole: bool, mirrored: bool, turns: int, seed: int, away: float, across: float) -> None:
    points = POINTS + ([(-x, y) for x, y in POINTS] if whole else [])
    points = [(x + (across if whole else 0.0), y + away) for x, y in points]
    if mirrored:
        points = [(-x, y) for x, y in points]
    for _ in range(turns):
        points = [(-y, x) for x, y in points]
    random.Random(seed).shuffle(points)
    line = traced_line(points, None, None, Heights())
    assert off(line) < 1.0
    assert line.uneven < 0.0005


@settings(max_examples=few(10), deadline=None)
@given(beside=st.floats(0.006, 0.3), hand=st.sampled_from([-1, 1]))
def test_half_a_trace_beside_its_middle_is_refused_or_told_where_that_is(
        beside: float, hand: int) -> None:
    shifted = [(hand * x + beside, y) for x, y in POINTS]
    with pytest.raises(Refused, match="middle"):
        traced_line(shifted, None, None, Heights())
    assert off(traced_line(shifted, None, beside, Heights())) < 1.0


def test_an_uneven_trace_is_measured_through_and_a_leaning_one_refused() -> None:
    random_numbers = np.random.default_rng(4)
    rough = [(x + dx, y + dy) for (x, y), (dx, dy) in zip(
        POINTS + [(-x, y) for x, y in POINTS],
        0.0005 * random_numbers.standard_normal((2 * len(POINTS), 2)), strict=True)]
    assert off(traced_line(rough, None, None, Heights())) < 6.0
    leaning = [(x + 0.04 * y, y) for x, y in [*POINTS, *((-x, y) for x, y in POINTS)]]
    with pytest.raises(Refused, match="unlike"):
        traced_line(leaning, None, None, Heights())
    one_flank = [(x, y) for x, y in [*POINTS, *((-x, y) for x, y in POINTS)]
                 if x > 0 or y < 0.5]
    with pytest.raises(Refused, match="one flank is traced"):
        traced_line(one_flank, None, None, Heights())


def write(folder: Path) -> None:
    """The same space as a table, a table with decimal commas, a drawing and a picture."""
    half = [f"{x:.4f},{y:.4f}" for x, y in POINTS]
    (folder / "half.csv").write_text("across,deep\n" + "\n".join(half))
    (folder / "um.txt").write_text("\n".join(f"{1e3 * x:.1f} {-1e3 * y:.1f}" for x, y in POINTS))
    whole = [(5 - x, y) for x, y in reversed(POINTS)] + [(5 + x, y) for x, y in POINTS]
    (folder / "whole.csv").write_text(
        "\n".join(f"{x:.4f};{y:.4f}" for x, y in whole).replace(".", ","))
    drawing = ezdxf.new()
    drawing.header["$INSUNITS"] = 4
    drawing.modelspace().add_lwpolyline([(50 * x, 50 * y) for x, y in whole])
    drawing.saveas(folder / "trace.dxf")
    (folder / "trace.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
        'viewBox="0 0 100 100"><polyline fill="none" points="'
        + " ".join(f"{10 * x:.4f},{50 - 10 * y:.4f}" for x, y in whole) + '"/></svg>')


@pytest.mark.parametrize("profile", [
    "half.csv", "{file: um.txt, units: um}", "whole.csv", "{file: trace.dxf, scale: 50}",
    "{file: trace.svg, scale: 10}"])
def test_a_wheel_as_its_traced_cutter_makes_it(tmp_path: Path, profile: str) -> None:
    write(tmp_path)
    read = job(tmp_path, f"profile: {profile}")
    assert job_faults(read) == []
    part = read.job.part
    assert isinstance(part, Wheel)
    sizes = part.tooth().sizes
    # Set as deep as the form's own root; the teeth end where what was traced does.
    assert sizes.root_diameter == pytest.approx(MEANT.sizes.root_diameter)
    top = MEANT.sizes.root_diameter + 2 * 2.95 * 0.3
    assert sizes.tip_diameter == pytest.approx(top, abs=0.001)
    assert sizes.tooth_thickness == pytest.approx(1.57 * 0.3, abs=0.001)
    assert [path.name for path in read.sources] == [
        profile.strip("{}").replace("file: ", "").split(",")[0]]
    # The job is the same wherever its trace lies.
    assert read.job.cutters["t"].profile is not None
    assert read.job.cutters["t"].profile.file is None


@pytest.mark.parametrize(("profile", "told"), [
    ("um.txt", "look at scale and units of the trace"),
    ("{file: half.csv, scale: 4}", "look at scale and units of the trace"),
    ("{file: half.csv, opens: down}", "draw no space that opens down"),
    ("none.dxf", "is a trace that is not there"),
    ("{file: half.csv, depth: 0.4, addendum: 0.8}", "is no less than the whole depth"),
    ("{file: half.csv, depth: 1.2, addendum: 0.4}", "trace it as far as the outside"),
    ("bad.csv", "line 2 is no point"),
    ("empty.csv", "the file holds no points"),
])
def test_a_trace_that_says_no_profile_is_refused(
        tmp_path: Path, profile: str, told: str) -> None:
    write(tmp_path)
    (tmp_path / "bad.csv").write_text("0 0\n1 2 3\n")
    (tmp_path / "empty.csv").write_text("across deep\n\n")
    assert told in said(tmp_path, f"profile: {profile}")


# Proofs.


@pytest.fixture(scope="module")
def proved(tmp_path_factory: pytest.TempPathFactory) -> Proved:
    folder = tmp_path_factory.mktemp("bought")
    job(folder, own=AS_CUT + ", mate-cutter: leaves", teeth=45)
    return proved_job(folder / "job.yaml")


def failing(proved: Proved, cutter: Cutter) -> set[str]:
    """The proofs of form and running that fail where the program's cutter is truly ``cutter``."""
    (evidence,) = proved.on_head
    other = dataclasses.replace(evidence, cutters=dict.fromkeys(evidence.cutters, cutter))
    return {proof.id.word for proof in prove_tooth_form(other) if not proof.holds}


def cutter_of(line: CutterSpace) -> Cutter:
    """A cutter with that very line."""
    points = [(float(p.imag), float(p.real)) for p in divided(line.lower, 0.01)[::-1]]
    points += [(float(p.imag), float(p.real)) for p in divided(line.upper, 0.01)[1:]]
    return Cutter(kind="form-disc", diameter=20, profile=Traced(points=tuple(points)))


def test_the_whole_job_is_proved_and_told(proved: Proved) -> None:
    assert proved.failed == ()
    (setup,) = proved.setups
    notes = " ".join(setup.planned.notes)
    assert f"blank {47.76 * 0.3:.3f} mm, 0.885 mm deep to a root of {41.86 * 0.3:.3f} mm" in notes
    assert "with its mate of 10, as leaves cuts it: it turns freely" in notes
    # Cut to the chart's depth, from the outside that was touched.
    assert re.search(rb"[XYZ]-?0?\.885\b", b"".join(one.text for one in setup.programs))


def test_another_profile_than_the_jobs_is_not_proved(proved: Proved) -> None:
    assert failing(proved, cutter_of(LINE)) == set()
    wider = CutterSpace(LINE.lower - 0.012j, LINE.upper + 0.012j)
    narrower = CutterSpace(LINE.lower + 0.012j, LINE.upper - 0.012j)
    leaning = CutterSpace(LINE.lower, LINE.upper * np.exp(0.03j))
    for line in (wider, narrower, leaning):
        assert failing(proved, Cutter(kind="form-disc", diameter=20, profile=Traced(points=tuple(
            (float(p.imag), float(p.real)) for p in np.concatenate(
                [divided(line.lower, 0.01)[:0:-1], divided(line.upper, 0.01)[1:]]))))) != set()
    others = GroundChart(module=0.3, proportions="wheel-deep"), GroundChart(
        module=0.3, proportions="wheel", teeth=12)
    for ground in others:
        assert failing(proved, Cutter(kind="form-disc", diameter=20, ground=ground)) != set()


@pytest.mark.parametrize("height", [0.01, -0.01])
def test_a_cutter_off_centre_leaves_another_wheel(height: float) -> None:
    tooth = LINE.tooth(MEANT)
    space = LINE.polygon(tooth.root_radius, tooth.tip_radius + 0.3)
    places = [6.0 * space for space in range(60)]
    good = form_error(tooth, space, places)
    assert max(good.left, good.missing) < 0.1
    off_centre = form_error(tooth, space, places, height_offset=height)
    assert off_centre.missing > 8.0


def test_a_cutter_with_unlike_flanks_is_rolled_either_way_round() -> None:
    """The pair does not run alike where the cutter is turned about on its arbor."""
    line = CutterSpace(LINE.lower, LINE.upper + 0.02j * (LINE.upper.real > 0.45),
                       LINE.heights)
    pinion = cycloidal_pinion(10, 0.3, 60, "one-third-ogive")
    one, other = (pair_runs(each.tooth(MEANT), pinion) for each in (line, line.mirrored))
    assert isinstance(one, Runs)
    assert isinstance(other, Runs)
    assert one.action.lag != pytest.approx(other.action.lag, rel=0.02)


@pytest.mark.parametrize("teeth", [6, 12, 40, 75, 300])
def test_a_cutter_made_for_a_wheel_makes_that_wheel(teeth: int) -> None:
    wheel = cycloidal_wheel(teeth, 0.2, 10)
    again = space_beside(wheel).tooth(wheel)
    assert again.sizes.tip_diameter == pytest.approx(wheel.sizes.tip_diameter, abs=1e-4)
    assert again.sizes.tooth_thickness == pytest.approx(wheel.sizes.tooth_thickness, abs=1e-5)
    error = form_error(wheel, again.space(1e-4, 0.1), [360 * n / teeth for n in range(teeth)])
    assert max(error.left, error.missing) < 0.1


def test_a_ratchet_cutter_for_another_count_makes_ratchets(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(JOB.format(cut="made-for: {form: ratchet, module: 0.3, teeth: 50}", teeth=60,
                               own=AS_CUT + ", form: ratchet").replace(" mate: 10,", ""))
    read = read_job(path, step_words())
    assert job_faults(read) == []
    part = read.job.part
    assert isinstance(part, Wheel)
    assert part.tooth().sizes.tip_diameter == pytest.approx(18.0, abs=0.05)


def test_a_chart_means_its_figures(tmp_path: Path) -> None:
    """So that a job is the same as one that writes them, and another where a chart changes."""
    one, other = (as_meant(job(tmp_path, f"ground: {{module: 0.3, {words}}}").job) for words in (
        "proportions: wheel", "addendum: 1.38, radius: 1.93, thickness: 1.57, depth: 2.95"))
    assert one == other
    assert as_meant(job(tmp_path, "ground: {module: 0.3, proportions: wheel-deep}").job) != one


@pytest.mark.parametrize(("own", "told"), [
    (", tip-diameter: 18.7", ""), (", addendum-height: 0.4", ""),
    (", tip-diameter: 18.9", "how it goes on above is not known"),
    (", root-diameter: 16.6", "how it goes on above is not known"),
    (", tooth-width: 0.46", "tooth-width is the cutter's to say"),
    (", proportions: deep", "is the cutter's to say")])
def test_sizes_of_the_wheels_own_go_before_the_cutters(
        tmp_path: Path, own: str, told: str) -> None:
    found = said(tmp_path, own=AS_CUT + own)
    assert told in found if told else found == ""
    if not told:
        part = job(tmp_path, own=AS_CUT + own).job.part
        assert isinstance(part, Wheel)
        tip = {", tip-diameter: 18.7": 18.7, ", addendum-height: 0.4": 18.8}.get(own, 18.828)
        assert part.tooth().sizes.tip_diameter == pytest.approx(tip)
        assert part.tooth().sizes.root_diameter == pytest.approx(17.058)


def test_teeth_as_cut_that_do_not_run_are_told_by_that_word(tmp_path: Path) -> None:
    """Teeth of 2.3 modules and leaves of 1.25 are more than a pitch."""
    told = said(tmp_path, CHART.replace("1.57", "2.3", 1).replace("radius: 1.93", "radius: 2.4"))
    assert told.startswith("wheel.tooth: teeth as t cuts them do not run with their mate: ")


def test_a_trace_of_very_many_points_is_taken_together() -> None:
    """Tens of thousands, as a camera gives them: the line is as true, and short."""
    random_numbers = np.random.default_rng(5)
    fine = divided(LINE.upper, 0.0002)
    rough = fine + 0.0004 * (np.array([1, 1j]) @ random_numbers.standard_normal((2, len(fine))))
    points = [(hand * p.imag, p.real) for p in rough for hand in (-1.0, 1.0)]
    line = traced_line(points, None, None, Heights())
    assert len(points) > 10_000
    assert len(line.upper) <= 502
    assert off(line) < 3.0
