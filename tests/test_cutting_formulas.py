"""Each formula of the planner against printed values, plain geometry or numerical integration."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import acos, cos, pi, sin, sqrt, tau

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.cutting.body import body_of, cone_of, pointed_body
from camgen.cutting.chips import (
    chip_load_for_peak,
    effective_width_in_circle,
    engagement,
    mean_chip_share,
    peak_chip_share,
    pointed_edge,
    round_edge,
    rounded_corner,
    teeth_sum,
    top_tooth,
)
from camgen.cutting.forces import (
    drill_torque,
    mean_power,
    power_at,
    specific_force,
    tangential_force,
    torque_at,
)
from camgen.cutting.planners.drilling import free_drilling, peck_depth
from camgen.cutting.stiffness import (
    bending_factor,
    buckling_force,
    principal_stress,
    tip_compliance,
    torsion_factor,
)
from camgen.shop.cutters import parse_cutter
from camgen.shop.machine import Machine, Spindle
from camgen.shop.materials import edge_of, find_material
from camgen.shop.tables import rule


def test_kienzle_forces_of_the_vdi_groups() -> None:
    # kc1 and mc of VDI 3323 groups (from memory, as in the shop's reference list); force of an edge
    # 1 mm long at 0.1 mm chip, worked by hand: kc1 * 0.1^(1-mc).
    for kc1, mc, force in ((1350, 0.21, 218.9), (1500, 0.22, 248.9), (1700, 0.24, 295.4),
                           (1900, 0.24, 330.2), (700, 0.27, 130.3)):
        assert tangential_force(kc1, mc, 1.0, 0.1) == pytest.approx(force, rel=1e-3)


def test_the_specific_force_at_one_millimetre_is_kc1() -> None:
    assert specific_force(1675, 0.24, 1.0) == 1675
    assert specific_force(1675, 0.24, 0.01) == pytest.approx(1675 * 100**0.24)


def test_radial_thinning_of_the_reference_list() -> None:
    # fz 0.010, a 0.1, D 1.0 -> 0.0060 (geometry).
    assert 0.010 * peak_chip_share(0.1, 1.0) == pytest.approx(0.0060)


@given(st.floats(0.001, 1.0), st.floats(0.05, 32.0))
def test_the_mean_chip_is_the_integral_over_the_engagement(share: float, diameter: float) -> None:
    width = share * diameter
    angle = engagement(width, diameter)
    phi = (np.arange(2000) + 0.5) * angle / 2000
    assert mean_chip_share(width, diameter) == pytest.approx(float(np.sin(phi).mean()), rel=1e-5)
    assert peak_chip_share(width, diameter) == pytest.approx(
        float(np.sin(np.linspace(0, angle, 4001)).max()), rel=1e-5)


@settings(max_examples=few(60))
@given(st.integers(1, 8), st.floats(0.05, pi), st.floats(0.6, 0.85))
def test_the_sum_over_the_teeth_is_that_of_a_turn_in_small_steps(teeth: int, angle: float,
                                                                power: float) -> None:
    pitch = tau / teeth
    # The sum jumps where a tooth leaves: that place, too, is looked at.
    turn = np.concatenate((np.linspace(0, pitch, 3001), [angle % pitch, angle % pitch - 1e-9]))
    total = np.zeros_like(turn)
    for tooth in range(teeth):
        phi = turn + tooth * pitch
        inside = (phi >= 0) & (phi <= angle + 1e-12)
        total += np.where(inside, np.sin(np.clip(phi, 0, pi)) ** power, 0.0)
    assert teeth_sum(teeth, angle, power) == pytest.approx(float(total.max()), rel=2e-3)


@pytest.mark.parametrize(("run_out", "teeth"), [(0.003, 2), (0.008, 2), (0.002, 3), (0.02, 4)])
def test_the_highest_tooth_takes_what_the_formula_says_at_most(run_out: float, teeth: int) -> None:
    # Teeth on radii that differ by an axis e/2 beside the true one; each cuts from the highest of
    # the surfaces that the earlier ones left, at the point straight ahead.
    feed = 0.005
    worst = 0.0
    for turned in np.linspace(0, tau, 73):
        radii = [run_out / 2 * cos(tau * tooth / teeth + turned) for tooth in range(teeth)]
        for tooth in range(teeth):
            earlier = [radii[(tooth - back) % teeth] - back * feed for back in range(1, 4 * teeth)]
            worst = max(worst, radii[tooth] - max(earlier))
    allowed = top_tooth(feed, run_out, teeth)
    assert worst <= allowed * (1 + 1e-9)
    if teeth == 2:
        assert worst == pytest.approx(allowed, rel=1e-3)


@given(st.floats(1e-5, 0.2), st.floats(0, 0.02), st.integers(1, 12))
def test_the_chip_for_a_peak_undoes_the_peak_of_a_chip(chip: float, run_out: float,
                                                      teeth: int) -> None:
    assert chip_load_for_peak(top_tooth(chip, run_out, teeth), run_out, teeth) == pytest.approx(
        chip, abs=1e-15, rel=1e-9)


@pytest.mark.parametrize("inside", [True, False])
@pytest.mark.parametrize(("width", "cutter", "hole"), [(0.1, 1.0, 2.0), (0.05, 0.4, 0.9),
                                                       (0.3, 2.0, 9.0)])
def test_engagement_along_a_circle_is_that_of_plain_discs(width: float, cutter: float, hole: float,
                                                         inside: bool) -> None:
    # The arc of the cutter's circle that lies in the metal, from points on it.
    path = (hole - cutter) / 2 if inside else (hole + cutter) / 2
    phi = np.linspace(0, tau, 200_001)[:-1]
    radius = np.hypot(path + cutter / 2 * np.cos(phi), cutter / 2 * np.sin(phi))
    old = hole / 2 - width if inside else hole / 2 + width
    metal = (radius > old) if inside else (radius < old)
    half = float(metal.sum()) / len(phi) * tau / 2  # both sides of the line of centres
    found = engagement(effective_width_in_circle(width, cutter, hole, inside), cutter)
    assert found == pytest.approx(half, abs=1e-4)


def test_a_wide_circle_is_a_straight_cut() -> None:
    assert effective_width_in_circle(0.1, 1.0, 1e6) == pytest.approx(0.1, rel=1e-3)


@pytest.mark.parametrize("depth", [0.02, 0.3, 0.9])
def test_a_ball_end_cuts_on_the_chord_of_its_circle(depth: float) -> None:
    wide = 2 * sqrt(1 - (1 - depth) ** 2)
    assert round_edge(2.0, depth).diameter == pytest.approx(wide)
    # The edge's length: the arc from the tip up to the depth.
    assert depth / round_edge(2.0, depth).mean == pytest.approx(acos(1 - depth))


@pytest.mark.parametrize(("shape", "slope"), [
    (round_edge(2.0, 0.3), lambda t: sin(t)),
    (rounded_corner(3.0, 0.4, 0.25), lambda t: sin(t))])
def test_the_force_on_a_round_edge_is_bounded_by_the_mean_slant(shape, slope) -> None:  # type: ignore[no-untyped-def]
    # Kienzle's force summed over slices of the arc, against kc1 * depth * h^(1-mc) * mean^-mc.
    radius, depth = (1.0, 0.3) if shape.diameter < 1.8 else (0.4, 0.25)
    end = acos(1 - depth / radius)
    t = (np.arange(4000) + 0.5) * end / 4000
    mc, chip = 0.27, 0.01
    slices = float((radius * end / 4000 * (chip * np.sin(t)) ** (1 - mc)).sum())
    bound = depth * chip ** (1 - mc) * shape.mean**-mc
    assert slices <= bound
    assert slices == pytest.approx(bound, rel=0.06)


def test_a_pointed_edge_is_a_cone() -> None:
    edge = pointed_edge(6.0, 0.2, 60.0, 1.0)
    assert edge.diameter == pytest.approx(0.2 + 2 * 1.0 / sqrt(3))
    assert edge.mean == edge.peak == pytest.approx(sqrt(3) / 2)


@pytest.mark.parametrize(("angle", "share"), [
    (20, 0.9848), (40, 0.9397), (60, 0.8660), (90, 0.7071), (120, 0.5000)])
def test_a_cone_fed_sideways_takes_a_chip_of_the_cosine_of_half_its_angle(
    angle: float, share: float
) -> None:
    """The way between two cones shifted sideways, square to them, over the shift (geometry); and
    by points on both: the nearest to one on the first cone."""
    assert pointed_edge(6.0, 0.2, angle, 0.5).peak == pytest.approx(share, abs=5e-5)
    slope = np.tan(np.radians(angle / 2))
    height = np.linspace(-3.0, 3.0, 200_001)
    apart = np.hypot(0.01 + slope * (1.0 + height) - slope, height).min()
    assert apart / 0.01 == pytest.approx(share, rel=1e-3)


def test_the_plain_cantilever_of_the_reference_list() -> None:
    # Carbide 600 GPa, Ø0.4 with 1.2 mm out, as a plain bar of 0.8 D: 1.865 µm per newton.
    core = rule("fluted-diameter").value * 0.4
    assert 1000 * tip_compliance([(1.2, core)], 600e3) == pytest.approx(1.865, abs=5e-4)


@pytest.mark.parametrize(("words", "depth"), [
    ("engraver 3 angle 60 tip 0.1 reach 9", 0.15), ("engraver 3 angle 20 reach 4", 0.4),
    ("chamfer-mill 3 flute-length 2 reach 12", 0.5), ("chamfer-mill 6 angle 60 reach 4", 2.5),
])
def test_a_cone_bends_and_is_stressed_as_integration_says(words: str, depth: float) -> None:
    # The bar cut into fifty thousand slices from the middle of the cut on, no formula of a cone.
    cutter, edge = parse_cutter(words), edge_of(parse_cutter(words))
    plain = body_of(cutter, Machine(name="mill", describes="a mill"), edge)
    point = cone_of(cutter)
    assert point is not None
    shape = pointed_edge(cutter.diameter, cutter.tip, cutter.cone_angle, depth)
    assert point.edge_at(depth).diameter == pytest.approx(shape.diameter, rel=1e-12)
    assert point.edge_at(depth).mean == pytest.approx(shape.mean, rel=1e-12)
    body = pointed_body(plain, point, edge, depth)
    slim = 0.61 if cutter.kind == "engraver" else 0.8
    x = (np.arange(50_000) + 0.5) / 50_000 * body.reach
    cone = cutter.tip + depth * np.tan(np.radians(cutter.cone_angle / 2))
    wide = cone + 2 * x * np.tan(np.radians(cutter.cone_angle / 2))
    fluted = x < max(plain.fluted, (cutter.diameter - cone) / (
        2 * np.tan(np.radians(cutter.cone_angle / 2))))
    across = np.where(fluted, slim * np.minimum(wide, cutter.diameter), cutter.diameter)
    slices = x**2 / (edge.modulus * np.pi * across**4 / 64)
    assert body.compliance == pytest.approx(slices.sum() * body.reach / 50_000, rel=1e-3)
    assert body.bending == pytest.approx((32 * x / (np.pi * across**3)).max(), rel=1e-3)



@settings(max_examples=few(40))
@given(st.lists(st.tuples(st.floats(0.1, 20), st.floats(0.05, 10)), min_size=1, max_size=5))
def test_a_stepped_bar_bends_as_the_beam_equation_says(
        sections: list[tuple[float, float]]) -> None:
    # Numerical integration of the curvature M/EI twice, from the root, with the trapezium rule.
    modulus = 210e3
    whole = sum(length for length, _ in sections)
    edges = np.cumsum([0.0, *(length for length, _ in sections)])
    slope = deflection = 0.0
    for (near, far), (_, diameter) in zip(reversed(list(pairwise(edges))), reversed(sections),
                                         strict=True):
        inertia = pi * diameter**4 / 64
        steps = 400
        x = np.linspace(far, near, steps + 1)  # distance from the tip, walked from the root out
        curvature = x / (modulus * inertia)
        step = (far - near) / steps
        for left, right in pairwise(curvature.tolist()):
            deflection += slope * step + left * step**2 / 3 + right * step**2 / 6
            slope += (left + right) / 2 * step
    assert whole > 0
    assert tip_compliance(sections, modulus) == pytest.approx(deflection, rel=1e-4)


def test_bending_is_looked_at_in_every_section() -> None:
    # 32 F x / (pi d^3): the thin root of the second part is worse than the thick first.
    assert bending_factor([(1.0, 1.0), (1.0, 0.5)]) == pytest.approx(32 * 2 / (pi * 0.125))
    assert bending_factor([(1.0, 0.5), (1.0, 2.0)]) == pytest.approx(32 * 1 / (pi * 0.125))


def test_stresses_of_round_bars() -> None:
    assert torsion_factor(2.0) == pytest.approx(16 / (pi * 8))
    assert principal_stress(0.0, 5.0) == 5.0
    assert principal_stress(7.0, 0.0) == 7.0


def test_a_column_led_at_one_end_buckles_by_its_transcendental_equation() -> None:
    # Held at one end, led at the other: kL is the first root of tan x = x, 4.4934; so
    # P = 20.19 EI/L^2, which the 0.7 of handbooks rounds to.
    root = 4.4934094579
    assert abs(sin(root) / cos(root) - root) < 1e-6
    exact = root**2 * 600e3 * pi * 0.5**4 / 64 / 100.0
    assert buckling_force(10.0, 0.5, 600e3) == pytest.approx(exact, rel=0.003)


def test_an_engraver_is_half_round() -> None:
    # Second moment of a half circle about its own middle, by slices, against the round bar of the
    # rule's share.
    y = (np.arange(200_000) + 0.5) / 200_000
    chord = 2 * np.sqrt(1 - y**2)
    area = float(chord.mean())
    middle = float((chord * y).mean()) / area
    inertia = float((chord * (y - middle) ** 2).mean())
    equal = (64 * inertia / pi) ** 0.25 / 2.0
    assert rule("engraver-section").value == pytest.approx(equal, abs=0.005)


@pytest.mark.parametrize(("width", "diameter"), [(0.4, 0.4), (1.0, 3.0), (0.3, 6.0)])
def test_mean_power_is_the_work_of_a_turn(width: float, diameter: float) -> None:
    # Force times way summed over one turn of all teeth, against the formula with the mean chip.
    kc1, mc, depth, chip, teeth, rpm = 1700.0, 0.24, 0.5, 0.01, 2, 12000.0
    angle = engagement(width, diameter)
    phi = (np.arange(20_000) + 0.5) * angle / 20_000
    force = kc1 * depth * (chip * np.sin(phi)) ** (1 - mc)
    work = float(force.mean()) * angle * diameter / 2 * teeth / 1000.0  # J a turn
    power = work * rpm / 60.0
    found = mean_power(kc1, mc, depth * width, rpm * teeth * chip,
                       chip * mean_chip_share(width, diameter))
    assert found == pytest.approx(power, rel=0.06)
    assert found >= power  # by Jensen's inequality, on the safe side


def test_power_and_torque_follow_the_curve() -> None:
    curve = ((1000.0, 20.0), (12000.0, 200.0), (24000.0, 150.0))
    assert power_at(curve, 6500.0) == pytest.approx(110.0)
    assert power_at(curve, 18000.0) == pytest.approx(175.0)
    assert power_at(curve, 30000.0) == 150.0
    assert torque_at(curve, 500.0) == pytest.approx(torque_at(curve, 1000.0))
    assert torque_at(curve, 12000.0) * 2 * pi * 12000 / 60 / 1000 == pytest.approx(200.0)


def test_a_drills_torque_is_that_of_its_two_lips() -> None:
    # Rings of the width dr at the radius r, each with the force kc * f * dr: sum of force times r.
    kc, feed, diameter = 2500.0, 0.02, 0.8
    r = (np.arange(10_000) + 0.5) * diameter / 2 / 10_000
    torque = float((kc * feed * (diameter / 2 / 10_000) * r).sum())
    assert drill_torque(kc, feed, diameter) == pytest.approx(torque, rel=1e-6)


def test_pecks_hold_no_more_chips_than_the_flutes_have_room_for() -> None:
    for bulk in (3.0, 8.0, 15.0):
        bite = peck_depth(8.0, 0.8, 10.0, bulk)
        assert 0 < bite <= 0.8
        chips = bulk * bite * pi * 0.8**2 / 4
        assert chips <= 0.5 * 10.0 * pi * 0.8**2 / 4 * (1 + 1e-9)
    assert peck_depth(1.0, 0.8, 10.0, 4.0) == 0.0


def test_the_spindle_speed_of_every_machinists_handbook() -> None:
    # 100 feet a minute on a diameter of one inch: 382 rev/min (12 V / pi D; from memory).
    foot = 0.3048
    mill = Machine(name="mill", describes="a mill",
                   spindle=Spindle(lowest=10, highest=5000, speed_step=0.001,
                                   power=((10.0, 500.0), (5000.0, 500.0))))
    steel = find_material("pinion-steel")
    slow = replace(steel, surface_speed={"hss": replace(steel.surface_speed["hss"],
                                                        value=100 * foot)})
    cut = free_drilling(slow, parse_cutter("hss countersink 25.4 reach 40"), mill, 12.6)
    at = cut.speed / rule("drill-speed-share").value
    assert at * pi * cut.width / 1000 == pytest.approx(100 * foot, rel=1e-6)
    assert at * cut.width / 25.4 == pytest.approx(382, abs=0.1)


@pytest.mark.parametrize(("share", "factor"), [(0.05, 2.29), (0.10, 1.67), (0.20, 1.25),
                                               (0.30, 1.09), (0.5, 1.0)])
def test_factors_of_chip_thinning_as_printed_in_tables(share: float, factor: float) -> None:
    # Feed factors for widths of 5, 10, 20, 30, 50 % of the diameter, as tables give them (memory).
    assert 1 / peak_chip_share(share, 1.0) == pytest.approx(factor, abs=0.006)


def test_drilling_power_as_catalogues_give_it() -> None:
    # P = f · vc · D · kc / (240 · 10³) kW with f mm, vc m/min, D mm, kc N/mm² (from memory).
    feed, diameter, kc, rpm = 0.1, 10.0, 2000.0, 2000.0
    surface = pi * diameter * rpm / 1000
    printed = feed * surface * diameter * kc / 240e3 * 1000
    found = drill_torque(kc, feed, diameter) / 1000 * 2 * pi * rpm / 60
    assert found == pytest.approx(printed, rel=1e-9)


def test_the_half_circles_second_moment_is_the_printed_one() -> None:
    # 0.1098 r⁴ (tables of sections, from memory).
    assert pi / 8 - 8 / (9 * pi) == pytest.approx(0.1098, abs=5e-5)
