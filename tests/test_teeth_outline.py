"""Every form: outlines closed, even, without self-crossing; spaces that fit them."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from sampling import few
from shapely import Polygon

from camgen.faults import Refused
from camgen.shop.cutters import MadeFor
from camgen.teeth.forms import pinion_tooth, wheel_tooth
from camgen.teeth.outlines.curves import FlankArc, Line
from camgen.teeth.tooth import Tooth, chordal

MODULES = st.floats(0.05, 1.0)
TEETH = st.integers(6, 300)


@st.composite
def teeth_of_any_form(draw: st.DrawFn) -> Tooth:
    teeth, module = draw(TEETH), draw(MODULES)
    form = draw(st.sampled_from(["cycloidal", "pinion", "involute", "ratchet"]))
    try:
        if form == "pinion":
            top = draw(st.sampled_from(["round", "one-third-ogive", "two-thirds-ogive"]))
            return pinion_tooth("cycloidal", teeth, module, draw(TEETH), addendum=top)
        if form == "ratchet":
            depth = draw(st.none() | st.floats(0.5, 2.0).map(lambda share: share * module))
            return wheel_tooth(form, teeth, module, front=draw(st.floats(0, 25)),
                               back=draw(st.sampled_from(["straight", "curved"])), depth=depth)
        return wheel_tooth(form, teeth, module, draw(TEETH),
                           pressure_angle=draw(st.floats(12, 32)),
                           profile_shift=draw(st.floats(-0.5, 1)))
    except Refused:
        # Few involute teeth may be cut away, few ratchet teeth may be too shallow; cycloidal
        # ones from 6 teeth on are always to be had.
        assume(form in ("cycloidal", "pinion"))
        raise


@settings(max_examples=few(150), deadline=None)
@given(teeth_of_any_form())
def test_outline_is_closed_anticlockwise_and_does_not_cross_itself(tooth: Tooth) -> None:
    outline = tooth.outline(0.002 * tooth.sizes.module)
    assert (outline[0] == outline[-1]).all()
    ring = Polygon(outline)
    assert ring.is_valid
    assert ring.exterior.is_ccw
    radii = np.hypot(*outline.T)
    assert radii.max() == pytest.approx(tooth.tip_radius, rel=1e-9)
    assert radii.min() == pytest.approx(tooth.root_radius, rel=1e-9)


@settings(max_examples=few(60), deadline=None)
@given(teeth_of_any_form())
def test_outline_repeats_itself_from_tooth_to_tooth(tooth: Tooth) -> None:
    outline = tooth.outline(0.002 * tooth.sizes.module)[:-1]
    assert len(outline) % tooth.sizes.teeth == 0
    each = len(outline) // tooth.sizes.teeth
    points = outline[:, 0] + 1j * outline[:, 1]
    turned = points * np.exp(1j * tooth.pitch_angle)
    assert np.abs(np.roll(points, -each) - turned).max() < 1e-9 * tooth.sizes.module * len(points)


@settings(max_examples=few(60), deadline=None)
@given(teeth_of_any_form())
def test_space_is_closed_simple_and_lies_outside_the_teeth(tooth: Tooth) -> None:
    module = tooth.sizes.module
    space = Polygon(tooth.space(0.001 * module, 0.2 * module))
    assert space.is_valid
    assert space.exterior.is_ccw
    assert np.hypot(*np.array(space.exterior.coords).T).max() == pytest.approx(
        tooth.tip_radius + 0.2 * module, rel=1e-6
    )
    wheel = Polygon(tooth.outline(0.001 * module))
    assert space.intersection(wheel).area < 0.004 * module * module


@pytest.mark.parametrize(
    "tooth",
    [
        wheel_tooth("cycloidal", 75, 0.14, 10),
        pinion_tooth("cycloidal", 10, 0.12, 75),
        wheel_tooth("involute", 17, 0.3),
        wheel_tooth("ratchet", 40, 0.2, front=8.0, back="curved"),
    ],
    ids=lambda tooth: tooth.form,
)
def test_blank_less_all_spaces_is_the_wheel(tooth: Tooth) -> None:
    turn = np.exp(1j * tooth.pitch_angle * np.arange(tooth.sizes.teeth))
    space = tooth.space(1e-5, 0.05)
    ring = (space[:, 0] + 1j * space[:, 1])[None, :] * turn[:, None]
    cut = shapely.union_all(shapely.polygons(np.stack([ring.real, ring.imag], axis=-1)))
    left = shapely.Point(0, 0).buffer(tooth.tip_radius, quad_segs=2000).difference(cut)
    wheel = Polygon(tooth.outline(1e-5))
    assert left.symmetric_difference(wheel).area < 3e-5 * wheel.length


@settings(max_examples=few(40), deadline=None)
@given(teeth_of_any_form(), st.floats(0.0005, 0.02))
def test_chords_stay_within_the_tolerance(tooth: Tooth, share: float) -> None:
    tolerance = share * tooth.sizes.module
    coarse, fine = tooth.one_pitch(tolerance), tooth.one_pitch(tolerance / 400)
    line = shapely.LineString(np.column_stack([coarse.real, coarse.imag]))
    away = shapely.distance(line, shapely.points(fine.real, fine.imag))
    assert away.max() <= tolerance * 1.05


def test_exact_path_is_lines_and_arcs_end_to_end() -> None:
    tooth = wheel_tooth("cycloidal", 12, 0.5, 8)
    path = tooth.outline_path()
    assert len(path) == 12 * len(tooth.profile)
    for before, after in zip(path, (*path[1:], path[0]), strict=True):
        assert abs(before.end - after.start) < 1e-9
    area = sum((piece.start.conjugate() * piece.end).imag / 2 for piece in path)
    area += sum(
        piece.radius**2 / 2 * (piece.sweep - math.sin(piece.sweep))
        for piece in path if isinstance(piece, FlankArc)
    )
    assert area == pytest.approx(Polygon(tooth.outline(1e-6)).area, rel=1e-6)
    assert {type(piece) for piece in path} == {Line, FlankArc}


def test_caliper_sizes_are_the_handbooks() -> None:
    # Chordal thickness and addendum for module 1 (diametral pitch 1), 12 and 30 teeth, as tabulated
    # in machinists' handbooks (from memory).
    for teeth, chord, height in ((12, 1.5663, 1.0514), (30, 1.5700, 1.0206)):
        sizes = wheel_tooth("involute", teeth, 1.0).sizes
        assert sizes.chordal_thickness == pytest.approx(chord, abs=2e-4)
        assert sizes.chordal_height == pytest.approx(height, abs=2e-4)
    assert chordal(math.pi / 2, 6.0, 7.0)[0] == pytest.approx(12 * math.sin(math.pi / 24))


@pytest.mark.parametrize(
    ("words", "same"),
    [
        ({"form": "cycloidal-wheel", "teeth": 75, "mate": 10},
         wheel_tooth("cycloidal", 75, 0.14, 10)),
        ({"form": "cycloidal-pinion", "teeth": 10, "mate": 75, "addendum": "round"},
         pinion_tooth("cycloidal", 10, 0.14, 75, addendum="round")),
        ({"form": "involute", "teeth": 20, "profile-shift": 0.3},
         wheel_tooth("involute", 20, 0.14, profile_shift=0.3)),
        ({"form": "ratchet", "teeth": 40, "front": 5.0, "depth": 0.2},
         wheel_tooth("ratchet", 40, 0.14, front=5.0, depth=0.2)),
    ],
)
def test_a_cutter_leaves_the_space_it_was_made_for(words, same) -> None:
    made = MadeFor.model_validate({"module": 0.14, **words})
    assert np.array_equal(made.tooth().space(1e-4), same.space(1e-4))


def test_cycloidal_forms_without_a_mate_are_refused() -> None:
    with pytest.raises(Refused, match="mate"):
        wheel_tooth("cycloidal", 75, 0.14)
    for form in ("cycloidal-wheel", "cycloidal-pinion"):
        with pytest.raises(Refused, match="mate"):
            MadeFor.model_validate({"form": form, "module": 0.14, "teeth": 12}).tooth()


def test_tolerance_of_nothing_is_an_error() -> None:
    with pytest.raises(ValueError, match="tolerance"):
        wheel_tooth("cycloidal", 75, 0.14, 10).outline(0.0)
