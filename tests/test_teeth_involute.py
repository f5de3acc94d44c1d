"""Involute teeth against ISO 53, ISO 21771's formulae and a rack that really cuts."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from sampling import sampled
from shapely import Polygon

from camgen.faults import Refused
from camgen.teeth.outlines.curves import RackFillet
from camgen.teeth.outlines.involute import involute_tooth, least_shift


def test_sizes_are_those_of_the_iso_53_rack() -> None:
    # ISO 53:1998, profile A: addendum 1.00 m, dedendum 1.25 m (from memory).
    sizes = involute_tooth(20, 0.5).sizes
    assert sizes.pitch_diameter == 10.0
    assert sizes.tip_diameter == pytest.approx(11.0)
    assert sizes.root_diameter == pytest.approx(8.75)
    assert sizes.tooth_thickness == pytest.approx(math.pi * 0.25)


def test_profile_shift_moves_tip_and_root_and_thickens_the_tooth() -> None:
    plain, shifted = involute_tooth(20, 0.5).sizes, involute_tooth(20, 0.5, profile_shift=0.4).sizes
    assert shifted.tip_diameter - plain.tip_diameter == pytest.approx(0.4)
    assert shifted.root_diameter - plain.root_diameter == pytest.approx(0.4)
    assert shifted.tooth_thickness - plain.tooth_thickness == pytest.approx(
        2 * 0.4 * 0.5 * math.tan(math.radians(20))
    )


@pytest.mark.parametrize(
    ("teeth", "over", "span"),
    [
        # Base tangent lengths for module 1 at 20°, as tabulated in machinists' handbooks (from
        # memory; W = cos a ((k - 0.5) pi + z inv a)).
        (20, 3, 7.660),
        (30, 4, 10.753),
        (50, 6, 16.937),
    ],
)
def test_span_over_teeth_is_the_handbooks(teeth: int, over: int, span: float) -> None:
    outline = involute_tooth(teeth, 1.0).outline(1e-6)
    points = outline[:, 0] + 1j * outline[:, 1]
    # Teeth and spaces lie evenly about the +x axis; take ``over`` teeth in a row with their middle
    # on it, and the distance between two jaws square to the y axis that touch their outer flanks.
    turn = 0.0 if over % 2 == 0 else math.pi / teeth
    points = points * np.exp(-1j * turn)
    group = points[np.abs(np.angle(points)) < over * math.pi / teeth]
    jaws = group[(np.abs(group) < teeth / 2 + 0.6) & (np.abs(group) > teeth / 2 - 0.6)]
    angle = np.angle(jaws)
    half = over * math.pi / teeth - math.pi / (2 * teeth)
    outer = jaws[np.abs(np.abs(angle) - half) < 0.1 / teeth * math.pi]
    assert np.ptp(outer.imag) == pytest.approx(span, abs=1e-3)


def test_undercut_begins_below_seventeen_teeth_at_twenty_degrees() -> None:
    # 2/sin² 20° = 17.097 (from memory, any textbook on gears).
    assert not involute_tooth(18, 1.0).notes
    assert "undercut" in involute_tooth(16, 1.0).notes[0]
    # The rack's rounding of 0.38 leaves its flank straight to 0.99997 modules, not quite to 1.
    straight = 1 - 17 * math.sin(math.radians(20)) ** 2 / 2
    assert least_shift(17, 20.0) == pytest.approx(straight, abs=1e-4)
    assert not involute_tooth(10, 1.0, profile_shift=least_shift(10, 20.0) + 1e-6).notes


def cut_by_a_rack(
    teeth: int, angle: float, shift: float, roundness: float = 0.38, steps: int = 900
) -> Polygon:
    """One space of a wheel of module 1, cut by rolling the rack's tooth past it in small steps."""
    radius = teeth / 2
    tangent = math.tan(angle)
    depth = 1.25
    half = [(-1.3, math.pi / 4 + 1.3 * tangent)]
    low_centre = (depth - roundness, math.pi / 4 - (depth - roundness) * tangent
                  - roundness / math.cos(angle))
    for lean in np.linspace(math.pi / 2 - angle, 0.0, 60):
        half.append((low_centre[0] + roundness * math.cos(lean),
                     low_centre[1] + roundness * math.sin(lean)))
    rack = np.array([(shift - down, across) for down, across in half]
                    + [(shift - down, -across) for down, across in reversed(half)])
    rolls = np.linspace(-1.4, 1.4, steps) * min(1.0, 12 / teeth) * 1.6
    cuts = []
    for roll in rolls:
        z = (radius + rack[:, 0] + 1j * (rack[:, 1] + radius * roll)) * np.exp(-1j * roll)
        cuts.append(np.column_stack([z.real, z.imag]))
    return shapely.union_all(shapely.polygons(np.array(cuts)))


@pytest.mark.parametrize(
    ("teeth", "degrees", "shift"),
    sampled([(8, 20.0, 0.0), (9, 20.0, -0.1), (12, 20.0, 0.35), (20, 20.0, 0.0), (14, 25.0, 0.9)],
            2),
)
def test_space_is_what_a_rolling_rack_leaves(teeth: int, degrees: float, shift: float) -> None:
    tooth = involute_tooth(teeth, 1.0, pressure_angle=degrees, profile_shift=shift)
    angle = math.radians(degrees)
    most = (math.pi / 4 - 1.25 * math.tan(angle)) / (1 / math.cos(angle) - math.tan(angle))
    cut = cut_by_a_rack(teeth, angle, shift, roundness=min(0.38, most))
    formula = Polygon(tooth.space(1e-5))
    beyond = formula.difference(cut.buffer(0.002))
    short = cut.intersection(shapely.Point(0, 0).buffer(tooth.tip_radius - 1e-3, 256)).difference(
        formula.buffer(0.002))
    wedge = Polygon([(0, 0), *((3 * teeth * math.cos(a), 3 * teeth * math.sin(a))
                               for a in np.linspace(-math.pi / teeth, math.pi / teeth, 9))])
    assert beyond.area < 1e-4
    assert short.intersection(wedge).area < 1e-4


def test_fillet_of_a_sharp_cornered_rack_is_the_corners_own_path() -> None:
    # With no rounding the corner itself draws the fillet: a trochoid.
    fillet = RackFillet(10.0, 0.3, -1.25, 0.0, 0.0, 1.2)
    points = fillet.at(np.linspace(0, 1, 50))
    roll = (1.25 * np.linspace(0, math.tan(1.2), 50) - 0.3) / 10.0
    path = (10.0 - 1.25 + 1j * (0.3 + 10.0 * roll)) * np.exp(-1j * roll)
    assert np.abs(points - path).max() < 1e-12


def test_knife_edges_are_topped_and_said() -> None:
    tooth = involute_tooth(8, 1.0, profile_shift=0.6)
    assert "knife edge" in " ".join(tooth.notes)
    assert tooth.sizes.tip_diameter < 8 + 2 * 1.6
    land = tooth.profile[-1]
    assert 2 * abs(land.sweep) * tooth.tip_radius == pytest.approx(0.1, abs=1e-6)


@pytest.mark.parametrize(
    ("teeth", "angle", "shift", "word"),
    [
        (3, 20.0, 0.0, "teeth"),
        (20, 45.0, 0.0, "pressure angle"),
        (20, 35.0, 0.0, "rack"),
        (20, 20.0, 1.5, "profile shift"),
        (6, 14.5, -1.0, "body|undercut"),
        (12, 10.0, -1.0, "undercut"),
    ],
)
def test_teeth_that_cannot_be_are_refused(teeth, angle, shift, word) -> None:
    with pytest.raises(Refused, match=word):
        involute_tooth(teeth, 1.0, pressure_angle=angle, profile_shift=shift)
