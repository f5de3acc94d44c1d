"""Pairs rolled together: against involute theory and the cycloid's own law."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few, sampled

from camgen.faults import Refused
from camgen.teeth import meshing
from camgen.teeth.cut.as_cut import as_cut_tooth
from camgen.teeth.forms import pinion_tooth, wheel_tooth
from camgen.teeth.meshing import _pushed, centre_distance, closest_distance, roll
from camgen.teeth.outlines.building import root_and_flank, sizes_of, symmetric_tooth
from camgen.teeth.outlines.curves import FlankArc
from camgen.teeth.outlines.cycloidal import cycloidal_pinion, cycloidal_wheel, epicycloidal_wheel
from camgen.teeth.outlines.involute import involute_tooth
from camgen.teeth.tooth import Tooth


def contact_ratio(wheel: Tooth, pinion: Tooth, distance: float) -> float:
    """ISO 21771: length of the line of action within both tip circles over the base pitch."""
    angle = math.radians(wheel.pressure_angle)
    bases = [tooth.sizes.pitch_diameter / 2 * math.cos(angle) for tooth in (wheel, pinion)]
    running = math.acos(sum(bases) / distance)
    tips = [math.sqrt(tooth.tip_radius**2 - base**2)
            for tooth, base in zip((wheel, pinion), bases, strict=True)]
    return (sum(tips) - distance * math.sin(running)) / (
        math.pi * wheel.sizes.module * math.cos(angle))


@pytest.mark.parametrize("farther", [0.0, 0.05, 0.2, 0.4])
@pytest.mark.parametrize(("teeth", "leaves"), [(40, 20), (60, 18), (25, 25)])
def test_involutes_run_evenly_at_any_centre_distance(teeth, leaves, farther) -> None:
    wheel, pinion = involute_tooth(teeth, 0.5), involute_tooth(leaves, 0.5)
    distance = centre_distance(wheel, pinion) + farther * 0.5
    action = roll(wheel, pinion, distance)
    assert action.ratio_error < 0.001
    assert action.lag_micrometres < 0.05
    assert action.free
    assert action.overlap == pytest.approx(contact_ratio(wheel, pinion, distance), abs=0.05)


def test_involutes_drive_from_one_tip_circle_to_the_other() -> None:
    # Approach ends where the line of action leaves the pinion's tip circle, recess where it leaves
    # the wheel's: lengths from the pitch point, over the base circle's radius (ISO 21771).
    wheel, pinion = involute_tooth(40, 0.5), involute_tooth(20, 0.5)
    angle = math.radians(20)
    action = roll(wheel, pinion, 15.0)
    lengths = [
        math.sqrt(tooth.tip_radius**2 - (radius * math.cos(angle)) ** 2) - radius * math.sin(angle)
        for tooth, radius in ((pinion, 5.0), (wheel, 10.0))
    ]
    turns = [math.degrees(length / (10.0 * math.cos(angle))) for length in lengths]
    assert action.before == pytest.approx(turns[0], abs=0.3)
    assert action.after == pytest.approx(turns[1], abs=0.3)


@pytest.mark.parametrize("farther", [0.01, 0.03, 0.1])
def test_play_of_involutes_is_that_of_the_involute_function(farther: float) -> None:
    # Play along the running pitch circle is 2 a (inv a' - inv a) (ISO 21771), here as an angle of
    # the pinion.
    wheel, pinion = involute_tooth(48, 0.5), involute_tooth(24, 0.5)
    nominal = centre_distance(wheel, pinion)
    distance = nominal + farther
    angle = math.radians(20)
    running = math.acos(nominal * math.cos(angle) / distance)

    def inv(a: float) -> float:
        return math.tan(a) - a

    turn = 2 * distance * (inv(running) - inv(angle)) / (distance * 24 / 72)
    action = roll(wheel, pinion, distance)
    assert action.backlash_degrees[0] == pytest.approx(math.degrees(turn), abs=2e-3)
    assert action.backlash_degrees[1] == pytest.approx(math.degrees(turn), abs=2e-3)


def test_involutes_foul_below_nominal_and_by_how_much() -> None:
    wheel, pinion = involute_tooth(48, 0.5), involute_tooth(24, 0.5)
    nominal = centre_distance(wheel, pinion)
    action = roll(wheel, pinion, nominal - 0.02)
    # Both flanks are pressed: 2 tan 20° of the depth, along the pitch circle, to first order.
    assert action.interference == pytest.approx(2 * math.tan(math.radians(20)) * 20, rel=0.05)
    assert not action.free
    assert closest_distance(wheel, pinion) == pytest.approx(nominal, abs=5e-4)


@pytest.mark.parametrize("shifts", sampled([(0.0, 0.5), (0.3, 0.3), (-0.2, 0.6)], 2, single=True))
def test_shifted_involutes_stand_where_they_have_no_play(shifts) -> None:
    wheel = involute_tooth(40, 0.5, profile_shift=shifts[0])
    pinion = involute_tooth(12, 0.5, profile_shift=shifts[1])
    distance = centre_distance(wheel, pinion)
    action = roll(wheel, pinion, distance)
    assert action.backlash == pytest.approx((0.0, 0.0), abs=0.2)
    assert closest_distance(wheel, pinion) == pytest.approx(distance, abs=1e-3)


def pinion_without_addendum(leaves: int, module: float) -> Tooth:
    """Radial leaves that end at the pitch circle: all action lies after the line of centres."""
    pitch_radius, width = leaves * module / 2, 1.05 * module
    flank = math.pi / leaves - width / (2 * pitch_radius)
    half = root_and_flank(pitch_radius - 2.2 * module, flank, pitch_radius, 0.2 * module)
    half.append(FlankArc(half[-1].end, 0j, math.pi / leaves - flank))
    sizes = sizes_of(leaves, module, pitch_radius, pitch_radius - 2.2 * module, width)
    return symmetric_tooth("radial", sizes, half)


@pytest.mark.parametrize(("teeth", "leaves"), [(75, 10), (96, 12), (80, 12), (64, 16)])
def test_epicycloids_drive_radial_leaves_at_a_constant_ratio(teeth: int, leaves: int) -> None:
    # The law of the cycloid: one circle draws the wheel's addendum and the leaf's straight flank.
    wheel = epicycloidal_wheel(teeth, 0.2, leaves)
    action = roll(wheel, pinion_without_addendum(leaves, 0.2), (teeth + leaves) * 0.1)
    assert action.ratio_error < 0.002
    assert action.lag_micrometres < 0.05
    assert action.after >= 0.95 * 360 / teeth
    # Flanks meet without a jolt, so shortly before the line they are within 0.05 µm already.
    assert action.before <= 0.1 * 360 / teeth
    assert action.free


@pytest.mark.parametrize(("teeth", "leaves"), [(60, 6), (56, 7), (64, 8)])
def test_fewer_than_ten_leaves_are_met_before_the_line_of_centres(teeth: int, leaves: int) -> None:
    # The books on watch work (from memory): only from about ten leaves on can the whole drive lie
    # after the line of centres; with fewer, the next tooth must begin before the last lets go.
    wheel, pinion = epicycloidal_wheel(teeth, 0.2, leaves), pinion_without_addendum(leaves, 0.2)
    few = roll(wheel, pinion, (teeth + leaves) * 0.1)
    ten = roll(epicycloidal_wheel(75, 0.2, 10), pinion_without_addendum(10, 0.2), 8.5)
    assert few.before * teeth / 360 > 0.12
    assert ten.before * 75 / 360 < 0.1
    assert few.ratio_error > 0.01 > ten.ratio_error


def stepped(wheel: Tooth, pinion: Tooth, distance: float, steps: int) -> float:
    """The steepest of all single steps through a pitch, in many steps of fine flanks: no thought
    of where one pair hands over to the next."""
    before = meshing.STEPS, meshing.FINENESS
    meshing.STEPS, meshing.FINENESS = steps, 2e-7
    try:
        driver, driven = (meshing._Space.of(tooth, 2e-7) for tooth in (wheel, pinion))
        least, _, _ = meshing._positions(driver, driven, distance)
    finally:
        meshing.STEPS, meshing.FINENESS = before
    ratio = driver.teeth / driven.teeth
    turn = 2 * math.pi / driver.teeth / steps
    lag = least.max(axis=0) / ratio - turn * np.arange(steps)
    return float(np.abs(np.roll(lag, -2) - lag).max() / (2 * turn))


@pytest.mark.parametrize(("teeth", "leaves", "off"), sampled([
    (75, 10, 0.0), (60, 6, -0.05), (64, 8, 0.0), (60, 8, 0.05), (96, 12, -0.05)], 5))
def test_the_ratios_error_is_the_limit_of_finer_and_finer_steps(teeth, leaves, off) -> None:
    wheel = cycloidal_wheel(teeth, 0.2, leaves)
    pinion = cycloidal_pinion(leaves, 0.2, teeth, "one-third-ogive")
    distance = centre_distance(wheel, pinion) + off * 0.2
    found = roll(wheel, pinion, distance).ratio_error
    # Single steps come to the corner of the motion from below, about as their length: drawn on.
    coarse, fine = (stepped(wheel, pinion, distance, steps) for steps in (192, 384))
    assert fine < found + 0.0005
    assert found == pytest.approx(2 * fine - coarse, abs=0.003)


def test_the_third_wheel_turns_its_pinion_unevenly_by_9_6_per_cent() -> None:
    # 1536 steps of flanks true to a millionth of the module gave 9.60, 768 9.54, 384 9.44.
    wheel, pinion = wheel_tooth("cycloidal", 75, 0.14, 10), pinion_tooth("cycloidal", 10, 0.14, 75)
    assert roll(wheel, pinion, 5.95).ratio_error == pytest.approx(0.0960, abs=0.0005)


def test_cycloids_hold_their_ratio_only_at_nominal_depthing() -> None:
    wheel = epicycloidal_wheel(75, 0.2, 10)
    pinion = pinion_without_addendum(10, 0.2)
    assert roll(wheel, pinion, 8.5 - 0.04).ratio_error > 0.05
    assert roll(wheel, pinion, 8.5 + 0.04).ratio_error > 0.05


@pytest.mark.parametrize("top", ["round", "one-third-ogive", "two-thirds-ogive"])
@pytest.mark.parametrize(("teeth", "leaves"), sampled([
    (75, 10), (60, 6), (56, 7), (64, 8), (96, 12), (80, 16)], 9))
def test_standard_pairs_turn_freely_about_nominal_depthing(teeth, leaves, top) -> None:
    module = 0.14
    wheel = cycloidal_wheel(teeth, module, leaves)
    pinion = cycloidal_pinion(leaves, module, teeth, top)
    nominal = centre_distance(wheel, pinion)
    for off in (-0.1, 0.0, 0.1):
        action = roll(wheel, pinion, nominal + off * module)
        assert action.free
        assert action.before + action.after == pytest.approx(360 / teeth, rel=0.05)
        assert action.ratio_error < 0.25
    # The pinion's depth leaves 0.4 modules under the wheel's tips at nominal depthing: deeper no
    # pair can go, and some are held on both flanks a little before.
    deepest = (nominal - closest_distance(wheel, pinion)) / module
    assert 0.25 < deepest < 0.4001
    # Most of the drive is after the line of centres: friction that eases, not one that jams.
    assert roll(wheel, pinion, nominal).after > 0.6 * (360 / teeth)


@settings(max_examples=few(25), deadline=None)
@given(st.integers(40, 200), st.integers(6, 20), st.floats(0.05, 1.0), st.floats(-0.1, 0.1))
def test_rolling_is_the_same_in_every_size(teeth, leaves, module, off) -> None:
    def pair(size: float):
        return roll(
            wheel_tooth("cycloidal", teeth, size, leaves),
            pinion_tooth("cycloidal", leaves, size, teeth),
            (teeth + leaves) * size / 2 + off * size,
        )

    one, other = pair(module), pair(1.0)
    assert one.ratio_error == pytest.approx(other.ratio_error, abs=2e-3)
    assert one.lag_micrometres / module == pytest.approx(other.lag_micrometres, abs=0.1)
    assert one.backlash[0] / module == pytest.approx(other.backlash[0], abs=0.2)


def test_teeth_as_cut_run_like_teeth_as_meant_when_cut_right() -> None:
    wheel, pinion = cycloidal_wheel(75, 0.14, 10), cycloidal_pinion(10, 0.14, 75, "round")
    cut = as_cut_tooth(wheel, wheel.space(1e-5, 0.1))
    meant, made = roll(wheel, pinion, 5.95), roll(cut, pinion, 5.95)
    assert made.lag_micrometres == pytest.approx(meant.lag_micrometres, abs=0.1)
    assert made.backlash == pytest.approx(meant.backlash, abs=0.1)
    assert made.ratio_error == pytest.approx(meant.ratio_error, abs=0.005)


def test_a_wheel_cut_too_shallow_has_less_play() -> None:
    wheel, pinion = cycloidal_wheel(75, 0.14, 10), cycloidal_pinion(10, 0.14, 75, "round")
    space = wheel.space(1e-5, 0.1)
    plays = [
        roll(as_cut_tooth(wheel, space, depth_offset=offset), pinion, 5.95).backlash[0]
        for offset in (0.02, 0.0, -0.02)
    ]
    assert plays[0] > plays[1] >= plays[2]


def test_a_leaning_tooth_is_rolled_as_it_stands() -> None:
    # Off centre height by e, a wheel's flank stands e out of place: the play keeps its size.
    wheel, pinion = cycloidal_wheel(75, 0.14, 10), cycloidal_pinion(10, 0.14, 75, "round")
    leaning = as_cut_tooth(wheel, wheel.space(1e-5, 0.1), height_offset=0.01)
    upright = roll(wheel, pinion, 5.95)
    action = roll(leaning, pinion, 5.95)
    assert action.free
    assert np.mean(action.backlash) == pytest.approx(np.mean(upright.backlash), abs=4.0)
    assert action.lag_micrometres != pytest.approx(upright.lag_micrometres, abs=0.05)


def test_a_leafs_corner_is_met_between_the_points_of_a_flank() -> None:
    # A flank that is one straight line, and a leaf that ends in a corner at radius 2.2: where the
    # corner's circle crosses the line follows from plane geometry.
    flank = np.array([8.0 + 0j, 10.3 + 0j])
    leaf = np.array([1.2 + 0j, 2.2 * np.exp(-0.1j)])
    for turn in (-0.06, -0.02, 0.03):
        push, height = _pushed(flank, leaf, np.array([turn]), 12.0)
        along = 12.0 * math.cos(turn)
        reach = along - math.sqrt(2.2**2 - (12.0 * math.sin(turn)) ** 2)
        corner = reach * complex(math.cos(turn), math.sin(turn)) - 12.0
        tip = 10.3 * complex(math.cos(turn), math.sin(turn)) - 12.0
        at_tip = math.atan2(tip.imag, -tip.real) + np.interp(abs(tip), np.abs(leaf),
                                                             np.angle(leaf))
        at_corner = math.atan2(corner.imag, -corner.real) - 0.1
        assert push[0] == pytest.approx(max(at_tip, at_corner), abs=1e-12)
        assert height[0] == pytest.approx((tip if at_tip > at_corner else corner).imag)
        if turn == -0.06:
            assert at_corner > at_tip


def test_pair_too_far_apart_is_refused() -> None:
    wheel, pinion = cycloidal_wheel(75, 0.14, 10), cycloidal_pinion(10, 0.14, 75, "round")
    with pytest.raises(Refused, match="lose hold"):
        roll(wheel, pinion, 7.0)
    with pytest.raises(Refused, match="lose hold"):
        roll(wheel, pinion, 6.25)
