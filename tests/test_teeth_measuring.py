"""What gauges read on a wheel as cut, and what their readings ask for, against other reckonings."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import pytest
from cut_by_hand import Wheel, cut
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few, sampled

from camgen.faults import Refused
from camgen.teeth.cut.bought import ground_wheel, space_beside
from camgen.teeth.cut.correcting import Cutting, Gauges, Sized, foretold, gauges, reckoned_from
from camgen.teeth.cut.measuring import across_teeth, across_tooth, cut_wheel, over_pins, span_of
from camgen.teeth.form import Choice, ToothedPart
from camgen.teeth.forms import FORMS, pinion_tooth, wheel_tooth
from camgen.teeth.outlines.cycloidal import cycloidal_pinion, cycloidal_wheel
from camgen.teeth.outlines.involute import involute_tooth
from camgen.teeth.tooth import Tooth


def inv(angle: float) -> float:
    return math.tan(angle) - angle


def angle_of(involute: float) -> float:
    """The angle whose involute function is this, by halving."""
    low, high = 0.0, 1.5
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if inv(middle) < involute else (low, middle)
    return low


@settings(max_examples=few(60), deadline=None)
@given(st.integers(18, 90), st.floats(0.05, 2.0))
def test_jaws_across_involute_teeth_read_the_base_tangent(teeth: int, module: float) -> None:
    # W = m cos α (π (k − ½) + z inv α): any handbook of gearing, from memory.
    alpha = math.radians(20)
    span = span_of(cut_wheel(involute_tooth(teeth, module)))
    assert span is not None
    wanted = module * math.cos(alpha) * (math.pi * (span.teeth - 0.5) + teeth * inv(alpha))
    assert span.reading == pytest.approx(wanted, abs=2e-6)
    # The number of teeth that handbooks give: z·α/π + ½, to the nearest.
    assert abs(span.teeth - (teeth / 9 + 0.5)) < 1.01


@settings(max_examples=few(60), deadline=None)
@given(st.integers(18, 90), st.floats(0.1, 2.0), st.floats(1.68, 1.8))
def test_pins_in_involute_spaces_stand_as_the_formula_says(
    teeth: int, module: float, size: float
) -> None:
    # inv φ = inv α + d/(m z cos α) − π/(2 z), M = m z cos α / cos φ (· cos(90°/z)) + d: any
    # handbook of gearing, from memory.
    alpha, diameter = math.radians(20), size * module
    phi = angle_of(inv(alpha) + diameter / (module * teeth * math.cos(alpha))
                   - math.pi / (2 * teeth))
    stands = module * teeth * math.cos(alpha) / math.cos(phi)
    if teeth % 2:
        stands *= math.cos(math.pi / (2 * teeth))
    assert over_pins(cut_wheel(involute_tooth(teeth, module)), diameter).over == pytest.approx(
        stands + diameter, abs=2e-6)


@pytest.mark.parametrize("leaves", [6, 8, 10, 12])
def test_a_pin_between_radial_flanks_stands_as_in_a_wedge(leaves: int) -> None:
    leaf = cycloidal_pinion(leaves, 0.2, 60, "round")
    width = 1.05 if leaves <= 10 else 1.25
    half = math.pi / leaves - width / leaves
    diameter = 2 * 0.9 * leaves * 0.1 * math.tan(half)
    pins = over_pins(cut_wheel(leaf), diameter)
    assert pins.distance == pytest.approx(diameter / 2 / math.sin(half), abs=1e-6)
    assert pins.wedge == pytest.approx(math.sin(half), abs=1e-4)


def test_a_deeper_cut_takes_the_tips_and_hardly_thins_a_wheel_of_75() -> None:
    wheel = cycloidal_wheel(75, 0.14, 10)
    height = wheel.sizes.chordal_height
    before, after = cut_wheel(wheel), cut_wheel(wheel, deeper=0.032)
    by_hand = cut(wheel, 0.032, 0.0, wheel.sizes.tip_diameter)
    assert 1000 * (before.tip_radius - after.tip_radius) == pytest.approx(33.2, abs=0.1)
    assert 2 * after.tip_radius == pytest.approx(by_hand.tip, abs=2e-5)
    assert 1000 * (across_tooth(before, height) - across_tooth(after, height)) == pytest.approx(
        2.7, abs=0.05)
    assert across_tooth(after, height) == pytest.approx(by_hand.tooth(height), abs=1e-5)


def test_depth_is_offered_for_a_leaf_where_it_is_right_and_for_a_wheel_not() -> None:
    from camgen.teeth.cut.correcting import deeper_for

    leaf = cycloidal_pinion(8, 0.18, 60, "one-third-ogive")
    asked = gauges(Cutting(leaf, leaf, leaf.tip_radius))
    by = deeper_for(asked, 0.01)
    assert by == pytest.approx(0.0126, abs=2e-4)
    assert by is not None
    thinner = cut(leaf, by, 0.0, leaf.sizes.tip_diameter).tooth(asked.height)
    assert asked.thickness - thinner == pytest.approx(0.01, abs=2e-4)
    wheel = cycloidal_wheel(75, 0.14, 10)
    assert deeper_for(gauges(Cutting(wheel, wheel, wheel.tip_radius)), 0.01) is None


@pytest.mark.parametrize("short", [0.0, 0.02, 0.05])
def test_trial_spaces_are_measured_as_they_are_cut_then(short: float) -> None:
    """Cut short in a blank a little too large: depth, place and thickness of that moment."""
    for tooth in (cycloidal_wheel(60, 0.2, 8), involute_tooth(30, 0.3)):
        blank = tooth.sizes.tip_diameter + 0.04
        asked = gauges(Cutting(tooth, tooth, blank / 2, short))
        by_hand = cut(tooth, -short, 0.0, blank)
        assert asked.depth == pytest.approx((blank - by_hand.root) / 2, abs=2e-5)
        assert asked.thickness == pytest.approx(by_hand.tooth(asked.height), abs=2e-5)
        # The place of the jaws is the same distance from the axis, whatever stands of the tip.
        assert by_hand.tip / 2 - asked.height == pytest.approx(
            tooth.tip_radius - tooth.sizes.chordal_height, abs=2e-5)


def test_a_cut_that_does_not_reach_the_blank_or_leaves_no_tooth_is_refused() -> None:
    wheel = cycloidal_wheel(60, 0.2, 8)
    for words in ({"deeper": -1.0}, {"wider": 0.7}):
        with pytest.raises(Refused):
            cut_wheel(wheel, **words)


def forms(counts: tuple[int, ...], leaves: tuple[int, ...]) -> Iterator[tuple[str, Tooth]]:
    """Every form of the register, wheels and pinions, with each of its own choices."""
    for form in FORMS:
        for teeth in form.teeth:
            wheel = teeth.part is ToothedPart.WHEEL
            choices: list[dict[str, Any]] = [{}]
            for word in teeth.words:
                if isinstance(word.value, Choice):
                    choices += [{word.name: one} for one in word.value.of if one != word.default]
            for count in counts if wheel else leaves:
                for own in choices:
                    try:
                        tooth = (wheel_tooth(form.name, count, 0.16, 10, **own) if wheel else
                                 pinion_tooth(form.name, count, 0.16, 60, **own))
                    except Refused:
                        continue
                    yield f"{form.name}-{teeth.part.value}-{count}{list(own.values())}", tooth


def bought() -> Iterator[tuple[str, Tooth]]:
    """What cutters ground by module leave, by the proportions on their makers' charts."""
    meant = cycloidal_wheel(60, 0.16, 8)
    yield "ground", ground_wheel(0.16, 1.38, 1.93, 1.57, 2.95).tooth(meant)
    yield "ground-40", space_beside(cycloidal_wheel(40, 0.16, 8)).tooth(meant)


FEW = [*forms((45,), (8, 10)), *bought()]
MANY = [*forms((20, 75), (6, 7, 12))]


def readings(wheel: Wheel, asked: Gauges) -> dict[Sized, float]:
    """As read at the bench, to a micrometre."""
    sizes = {Sized.ROOT: wheel.root, Sized.TIP: wheel.tip,
             Sized.THICKNESS: wheel.tooth(asked.height)}
    if asked.pins is not None:
        sizes[Sized.PINS] = wheel.pins(asked.pins.diameter)
    if asked.span is not None:
        sizes[Sized.SPAN] = wheel.span(asked.span.teeth, asked.wheel.pitch_radius
                                       - 0.5 * asked.wheel.module)
    return {which: round(value, 3) for which, value in sizes.items()}


CASES = [(name, tooth, wide) for name, tooth in (*FEW, *MANY) for wide in (0.005, 0.0)]


@pytest.mark.parametrize(
    ("name", "tooth", "wide"),
    [*sampled(CASES[:2 * len(FEW)], 1), *(sampled(CASES[2 * len(FEW):], 10**6, first=-1))])
def test_measured_and_corrected_a_wheel_comes_right_or_its_cause_is_named(
    name: str, tooth: Tooth, wide: float
) -> None:
    """A blank 0.02 too large, touched for a zero that is 0.015 off, and a cutter too wide."""
    cutting = Cutting(tooth, tooth, tooth.tip_radius)
    asked = gauges(cutting)
    blank = tooth.sizes.tip_diameter + 0.02
    stood = -0.015 - 0.02 / 2
    first = readings(cut(tooth, stood, wide, blank), asked)
    # The unharmed wheel reads as the sheet asks.
    right = readings(cut(tooth, 0.0, 0.0, tooth.sizes.tip_diameter), asked)
    for which, value in right.items():
        assert value == pytest.approx(asked.readings[which], abs=6e-4), which
    tells = reckoned_from(cutting, asked, {**first, Sized.BLANK: blank})
    assert tells.deeper is not None
    assert tells.wider is not None
    correction = round(-tells.deeper, 3)
    then = readings(cut(tooth, stood + correction, wide, blank), asked)
    assert then[Sized.ROOT] == pytest.approx(asked.readings[Sized.ROOT], abs=2e-3)
    # What depth does not mend is the cutter's, by name and figure; and what comes out is foretold.
    assert tells.wider == pytest.approx(wide, abs=2e-3)
    meant = foretold(tells, asked)
    for which, value in then.items():
        if which is Sized.TIP and wide == 0.0:
            continue  # the blank's own 0.02, where the tips are turned
        off = abs(value - asked.readings[which])
        assert off <= 2e-3 or abs(value - meant[which]) <= 2e-3, (which, value, meant[which])


def test_without_the_root_two_readings_tell_depth_and_cutter_apart_where_they_can() -> None:
    tooth = cycloidal_wheel(60, 0.2, 8)
    cutting = Cutting(tooth, tooth, tooth.tip_radius)
    asked = gauges(cutting)
    sizes = readings(cut(tooth, -0.012, 0.006, tooth.sizes.tip_diameter), asked)
    tells = reckoned_from(
        cutting, asked, {which: sizes[which] for which in (Sized.THICKNESS, Sized.PINS)})
    assert tells.deeper == pytest.approx(-0.012, abs=2e-3)
    assert tells.wider == pytest.approx(0.006, abs=2e-3)


def test_readings_that_contradict_each_other_are_seen() -> None:
    tooth = involute_tooth(40, 0.2)
    cutting = Cutting(tooth, tooth, tooth.tip_radius)
    asked = gauges(cutting)
    meant = asked.readings
    sizes = {Sized.ROOT: meant[Sized.ROOT], Sized.THICKNESS: meant[Sized.THICKNESS],
             Sized.SPAN: meant[Sized.SPAN] + 0.01}
    assert reckoned_from(cutting, asked, sizes).apart == pytest.approx(0.01, abs=2e-3)


def test_jaws_on_round_backs_that_slip_are_not_offered() -> None:
    wheel = cut_wheel(cycloidal_wheel(75, 0.14, 10))
    assert span_of(wheel) is None
    assert across_teeth(wheel, 3).teeth == 3


def test_a_cutter_made_for_another_count_is_no_cutter_too_wide() -> None:
    """What it makes of the wheel meant is foretold, and its width is right."""
    meant, made = cycloidal_wheel(60, 0.2, 8), cycloidal_wheel(40, 0.2, 8)
    cutting = Cutting(meant, made, meant.tip_radius)
    asked = gauges(cutting)
    # Its space is set at the root of the wheel meant.
    beside = made.root_radius - meant.root_radius
    sizes = readings(cut(made, beside, 0.0, meant.sizes.tip_diameter, meant.sizes.teeth), asked)
    tells = reckoned_from(cutting, asked, sizes)
    assert tells.deeper == pytest.approx(0.0, abs=1e-3)
    assert tells.wider == pytest.approx(0.0, abs=2e-3)
    for which, value in foretold(tells, asked).items():
        assert value == pytest.approx(sizes[which], abs=1.5e-3), which
