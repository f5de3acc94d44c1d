"""Sizes that a wheel has of its own: on the outline, at their ends, and against the form."""

from __future__ import annotations

import itertools
import math
import re

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few
from workshop import read

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.teeth.forms import pinion_tooth, wheel_tooth
from camgen.teeth.meshing import centre_distance, roll
from camgen.teeth.outlines.involute import involute_tooth
from camgen.teeth.tooth import Tooth


def made(kind: str, teeth: int, module: float, mate: int, **own: object) -> Tooth:
    form, part = kind.split()
    return (wheel_tooth if part == "wheel" else pinion_tooth)(form, teeth, module, mate, **own)


def across(tooth: Tooth) -> tuple[float, float, float]:
    """Diameters over tips and at roots, and the width at the pitch circle, of a tooth's points."""
    points = tooth.one_pitch(1e-6)
    radii = np.abs(points)
    upper = points[int(np.argmin(radii)):]
    at = np.interp(tooth.sizes.pitch_diameter / 2, np.maximum.accumulate(np.abs(upper)),
                   np.angle(upper))
    return (2 * radii.max(), 2 * radii.min(),
            (tooth.pitch_angle - 2 * at) * tooth.sizes.pitch_diameter / 2)


# Kind, teeth, module, mate, and own sizes as a repair would have them.
REPAIRS = [
    ("cycloidal wheel", 64, 0.2, 8, {"tip_diameter": 13.30}),
    ("cycloidal wheel", 64, 0.2, 8, {"tip_diameter": 13.52, "root_diameter": 12.05}),
    ("cycloidal wheel", 80, 0.12, 10, {"addendum_height": 0.17, "tooth_width": 0.18}),
    ("cycloidal wheel", 75, 0.14, 7, {"tooth_width": 0.24, "root_diameter": 10.2}),
    ("cycloidal pinion", 8, 0.2, 64, {"tip_diameter": 1.84, "root_diameter": 0.84}),
    ("cycloidal pinion", 12, 0.12, 90, {"tip_diameter": 1.70, "tooth_width": 0.16}),
    ("involute wheel", 48, 0.3, 12, {"tip_diameter": 14.9, "root_diameter": 13.6}),
    ("involute wheel", 48, 0.3, 12, {"tooth_width": 0.44, "addendum_height": 0.33}),
    ("involute pinion", 20, 0.25, 60, {"backlash": 0.02, "root_diameter": 4.3}),
]


@pytest.mark.parametrize(("kind", "teeth", "module", "mate", "own"), REPAIRS)
def test_the_outline_has_the_sizes_that_were_said(kind, teeth, module, mate, own) -> None:
    tooth, usual = (made(kind, teeth, module, mate, **words) for words in (own, {}))
    tip, root, width = across(tooth)
    said_tip = own.get("tip_diameter", teeth * module + 2 * own["addendum_height"]
                       if "addendum_height" in own else usual.sizes.tip_diameter)
    assert tip == pytest.approx(said_tip, abs=2e-5)
    assert root == pytest.approx(own.get("root_diameter", usual.sizes.root_diameter), abs=2e-5)
    assert width == pytest.approx(
        own.get("tooth_width", usual.sizes.tooth_thickness - own.get("backlash", 0.0)), abs=2e-5)
    sizes = tooth.sizes
    assert (sizes.tip_diameter, sizes.root_diameter, sizes.tooth_thickness) == pytest.approx(
        (tip, root, width), abs=2e-5)
    for before, after in itertools.pairwise(tooth.profile):
        assert abs(before.end - after.start) < 1e-9


@pytest.mark.parametrize(("kind", "top"), [
    ("cycloidal wheel", "round"), ("cycloidal pinion", "round"), ("involute wheel", "round"),
    ("cycloidal pinion", "one-third-ogive"), ("cycloidal pinion", "two-thirds-ogive")])
def test_a_lower_tip_circle_takes_off_what_is_above_it_and_nothing_else(kind, top) -> None:
    teeth, mate = (10, 75) if "pinion" in kind else (24, 8)
    whole = made(kind, teeth, 0.2, mate, addendum=top)
    tip = whole.sizes.tip_diameter - 0.4 * whole.sizes.addendum
    lower = made(kind, teeth, 0.2, mate, addendum=top, tip_diameter=tip)
    turns = np.linspace(0, 2 * math.pi, 8001)
    disc = shapely.Polygon(tip / 2 * np.column_stack([np.cos(turns), np.sin(turns)]))
    left = shapely.Polygon(whole.outline(1e-5)).intersection(disc)
    drawn = shapely.Polygon(lower.outline(1e-5))
    assert drawn.is_valid
    # Chords: an outline of some 30 mm, hundredths of a micrometre on either.
    assert drawn.symmetric_difference(left).area < 30 * 4e-5
    # The space that is cut is the same up to there: any cutter for the form does for it.
    assert lower.chain(1e-5)[len(lower.chain(1e-5)) // 2] == pytest.approx(
        whole.chain(1e-5)[len(whole.chain(1e-5)) // 2])


@settings(max_examples=few(25))
@given(st.sampled_from(["cycloidal wheel", "cycloidal pinion", "involute wheel"]),
       st.integers(12, 120), st.integers(6, 40), st.floats(0.06, 1.0),
       st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_between_the_ends_there_is_a_tooth_or_a_refusal(
    kind, teeth, mate, module, high, deep, wide
) -> None:
    """Words at any place of their spans and a little beyond: a sound outline or a said reason."""
    usual = made(kind, teeth, module, mate).sizes
    own = {
        "addendum_height": usual.addendum * (0.45 + high),
        "root_diameter": usual.pitch_diameter - 2 * usual.dedendum * (0.45 + 1.2 * deep),
        "tooth_width": usual.tooth_thickness * (0.45 + 0.9 * wide),
    }
    try:
        tooth = made(kind, teeth, module, mate, **own)
    except Refused as no:
        unsaid = [fault for fault in no.faults if not fault.remedy]
    else:
        unsaid = []
        sound(tooth, own, module)
    assert unsaid == []


def sound(tooth: Tooth, own: dict[str, float], module: float) -> None:
    """Its outline crosses nowhere, opens outwards all along, and has the sizes said."""
    outline = shapely.Polygon(tooth.outline(0.001 * module))
    assert outline.is_valid
    half = tooth.chain(1e-4 * module)
    half = half[len(half) // 2:]
    assert np.all(np.diff(np.abs(half)) > -1e-9 * module)
    sizes = tooth.sizes
    assert sizes.root_diameter == pytest.approx(own["root_diameter"])
    assert sizes.tip_diameter == pytest.approx(sizes.pitch_diameter + 2 * own["addendum_height"])


SETUP = """
cutters:
  t: {{kind: form-disc, diameter: 20, flutes: 14, thickness: 2, made-for: {{{made}}}}}
setups:
  - name: teeth
    dividing: {{stack: 1, backing: 1.5, arbor: 4}}
    steps:
      - cut-teeth: {{cutter: t}}
"""
WHEEL = """job: repair
material: brass
wheel: {{teeth: 64, module: 0.2, mate: 8, thickness: 0.5, bore: 2, {words}}}
""" + SETUP.replace("{made}", "form: cycloidal-wheel, module: 0.2, teeth: 64, mate: 8")
RATCHET = """job: repair
material: brass
wheel: {{form: ratchet, teeth: 45, module: 0.2, thickness: 0.5, bore: 2, {words}}}
""" + SETUP.replace("{made}", "form: ratchet, module: 0.2, teeth: 45")
INVOLUTE = """job: repair
material: brass
wheel: {{form: involute, teeth: 48, module: 0.3, mate: 12, thickness: 0.5, bore: 2, {words}}}
""" + SETUP.replace("{made}", "form: involute, module: 0.3, teeth: 48")


def told(job: str, words: str) -> list[tuple[str, str, str]]:
    try:
        job_file = read(job.format(words=words))
    except Refused as no:
        return [(one.place.path, one.message, one.remedy) for one in no.faults]
    return [(one.place.path, one.message, one.remedy) for one in job_faults(job_file)
            if one.place.path.startswith("wheel.")]


@pytest.mark.parametrize(("job", "words", "at", "says"), [
    (WHEEL, "tip-diameter: 14.3", "tip-diameter", "does not go with 64 teeth"),
    (WHEEL, "tip-diameter: 12.9", "tip-diameter", "does not go with 64 teeth"),
    (WHEEL, "tip-diameter: 1.33", "tip-diameter", "does not go with 64 teeth"),
    (WHEEL, "root-diameter: 13.1", "root-diameter", "does not go with 64 teeth"),
    (WHEEL, "root-diameter: 11.0", "root-diameter", "does not go with 64 teeth"),
    (WHEEL, "tip-diameter: 12.1, root-diameter: 13.3", "tip-diameter", "is not smaller than"),
    (WHEEL, "addendum-height: 0.6", "addendum-height", "do not stand 0.6 mm above"),
    (WHEEL, "tooth-width: 0.45", "tooth-width", "do not go into the mate's spaces"),
    (WHEEL, "tooth-width: 0.1", "tooth-width", "too thin"),
    (WHEEL, "tip-diameter: 13.3, addendum-height: 0.3", "tip-diameter", "do not agree"),
    (WHEEL, "backlash: 0.02", "backlash", "is for involute teeth only"),
    (WHEEL, "driver: pinion, proportions: deep", "proportions", "means nothing beside"),
    (WHEEL, "tooth: as-cut, tooth-width: 0.3", "tooth-width", "is the cutter's to say"),
    (INVOLUTE, "backlash: 0.4", "backlash", "are not thinned by"),
    (INVOLUTE, "backlash: 0.02, tooth-width: 0.44", "tooth-width", "both say how wide"),
    (INVOLUTE, "tooth-width: 0.5", "tooth-width", "wider than the rack makes them"),
    (INVOLUTE, "root-diameter: 14", "root-diameter", "does not go with 48 teeth"),
    (INVOLUTE, "proportions: deep", "proportions", "is for cycloidal teeth only"),
    (RATCHET, "root-diameter: 9.1", "root-diameter", "is not smaller than"),
    (RATCHET, "root-diameter: 8.5, depth: 0.3", "root-diameter", "do not agree"),
    (RATCHET, "tip-diameter: 9.1", "tip-diameter", "only"),
])
def test_what_cannot_be_is_told_once_at_its_word_with_what_to_do(job, words, at, says) -> None:
    found = told(job, words)
    assert [path for path, *_ in found] == [f"wheel.{at}"], found
    assert says in found[0][1]
    assert found[0][2]


@pytest.mark.parametrize(("job", "word", "value"), [
    (WHEEL, "root-diameter", 13.1), (WHEEL, "root-diameter", 11.0), (WHEEL, "tooth-width", 0.45),
    (WHEEL, "tooth-width", 0.1), (WHEEL, "addendum-height", 0.6), (WHEEL, "addendum-height", 0.05),
    (INVOLUTE, "root-diameter", 14.0), (INVOLUTE, "tooth-width", 0.1),
])
def test_both_ends_that_a_remedy_names_are_accepted(job, word, value) -> None:
    ((_, _, remedy),) = told(job, f"{word}: {value}")
    ends = re.search(rf"{word}: ([0-9.]+) to ([0-9.]+)", remedy)
    assert ends, remedy
    for end in ends.groups():
        assert told(job, f"{word}: {end}") == []


def test_a_slip_of_the_point_is_no_other_module() -> None:
    for value in ("1.332", "133.2", "338.33"):
        ((_, _, remedy),) = told(WHEEL, f"tip-diameter: {value}")
        assert "decimal point" in remedy
        assert "13.390 mm over the tips" in remedy


def test_the_module_that_a_wrong_tip_diameter_is_told_makes_it_right() -> None:
    ((_, _, remedy),) = told(WHEEL, "tip-diameter: 14.3")
    fit = re.search(r"module: ([0-9.]+)", remedy)
    assert fit
    assert wheel_tooth("cycloidal", 64, float(fit[1]), 8).sizes.tip_diameter == pytest.approx(
        14.3, abs=0.001)
    ((_, _, remedy),) = told(INVOLUTE, "tooth-width: 0.5")
    shift = float(re.search(r"([0-9.]+) makes", remedy)[1])
    assert involute_tooth(48, 0.3, profile_shift=shift).sizes.tooth_thickness == pytest.approx(
        0.5, abs=0.0005)


@pytest.mark.parametrize(("thin", "mates"), [(0.01, 0.0), (0.02, 0.03), (0.0, 0.04)])
@pytest.mark.parametrize("shifts", [(0.0, 0.0), (-0.2, 0.4)])
def test_play_of_thinned_involutes_is_what_was_taken_off_them(thin, mates, shifts) -> None:
    """At the distance without play both thicknesses fill the pitch; what they lack is the play
    along the running pitch circle (ISO 21771)."""
    one, other = (involute_tooth(teeth, 0.5, profile_shift=shift, backlash=play or None)
                  for teeth, shift, play in ((48, shifts[0], thin), (24, shifts[1], mates)))
    full = [involute_tooth(teeth, 0.5, profile_shift=shift)
            for teeth, shift in ((48, shifts[0]), (24, shifts[1]))]
    distance = centre_distance(one, other)
    assert distance == pytest.approx(centre_distance(*full))
    # Along the line of action it is cos α of that, and the pinion's base circle cos α of its own
    # pitch circle, 6 mm, whatever the distance.
    turn = math.degrees((thin + mates) / 6.0)
    action = roll(one, other, distance)
    assert action.backlash_degrees == pytest.approx((turn, turn), abs=2e-3)
    assert action.free


# Charts of wheel cutters by module (published, agreeing with one another): over the teeth, at the
# root, width, all in modules, of a wheel of N teeth. Root of deep ones: (N - 4).
CHART = [("round-bottom", 2.50, 2.50 - 2 * 3.0, 1.41), ("deep", 2.76, -4.0, 1.57),
         ("short", 2.76, 2.76 - 2 * 2.45, 1.57)]


@pytest.mark.parametrize(("name", "tip", "root", "width"), CHART)
@pytest.mark.parametrize(("teeth", "mate"), [(60, 6), (75, 10), (96, 12)])
def test_proportions_by_name_have_the_figures_of_their_charts(name, tip, root, width, teeth, mate
                                                              ) -> None:
    tooth = wheel_tooth("cycloidal", teeth, 1.0, mate, proportions=name)
    assert across(tooth) == pytest.approx((teeth + tip, teeth + root, width), abs=2e-4)
    straight = [piece for piece in tooth.profile if abs(getattr(piece, "sweep", 1.0)) == 1.0]
    assert straight  # flanks below the pitch circle stay radial
    flat = [piece for piece in tooth.profile if getattr(piece, "centre", 1) == 0]
    assert bool(flat) is (name != "round-bottom")


@pytest.mark.parametrize(("name", "leaves"), list(itertools.product(
    ["round-bottom", "deep", "short"], [6, 8, 10, 12])))
def test_proportions_by_name_run_with_the_standards_pinions(name, leaves) -> None:
    teeth = 8 * leaves
    wheel = wheel_tooth("cycloidal", teeth, 0.2, leaves, proportions=name)
    pinion = pinion_tooth("cycloidal", leaves, 0.2, teeth)
    action = roll(wheel, pinion, centre_distance(wheel, pinion))
    assert action.free
    assert action.ratio_error < 0.2
