"""What the planner answers, what it refuses and what it says."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import pytest

from camgen.cutting.explain import explain, figure, limit_table
from camgen.cutting.findings import ShopFinding, caps, matching
from camgen.cutting.planner import (
    CutPlan,
    circle_feed,
    plan_boring,
    plan_cut,
    plan_drilling,
    plan_form_cut,
    plan_milling,
    plan_tapping,
    plan_thread_milling,
)
from camgen.cutting.region import feasible_region, what_would_help
from camgen.faults import Refused
from camgen.shop.cutters import parse_cutter
from camgen.shop.machine import LinearAxis, Machine, Spindle
from camgen.shop.materials import find_material

AXIS = LinearAxis(feed_limit=1000, acceleration=250)
MILL = Machine(name="mill", describes="a mill", x=AXIS, y=AXIS, z=AXIS,
               spindle=Spindle(lowest=300, highest=24000, run_out=0.003,
                               power=((300.0, 8.0), (12000.0, 200.0), (24000.0, 200.0))))
BRASS = find_material("brass")
SMALL = parse_cutter("end-mill 0.4 2 flutes flute-length 0.8 reach 1.6")


def limit(cut: CutPlan, name: str) -> float:
    return next(one.share for one in cut.limits if one.name == name)


def test_a_small_cutter_is_limited_by_the_spindle_and_its_own_bending() -> None:
    cut = plan_milling(BRASS, SMALL, MILL)
    assert cut.governed_by["speed"] == "spindle's highest speed"
    assert cut.governed_by["depth"] == "deflection"
    assert cut.speed == 24000
    # Surface speed pi * D * n / 1000; feed = speed * flutes * chip load.
    assert cut.surface_speed == pytest.approx(pi * 0.4 * 24)
    assert cut.feed == pytest.approx(24000 * 2 * 0.010 * 0.4)


def test_the_depth_at_the_deflection_limit_can_be_worked_out_by_hand() -> None:
    # One tooth in a slot: F = 1.3 * 700 * depth * (chip + run-out)^0.73 * sqrt(1 + 0.4²); tip of
    # 0.8 mm at Ø0.32 and 0.8 mm at Ø0.4 of carbide bends 0.02 * 0.4 mm.
    cut = plan_milling(BRASS, SMALL, MILL)
    bend = (0.8**3 / 0.32**4 + (1.6**3 - 0.8**3) / 0.4**4) * 64 / (3 * pi * 600e3)
    force = 0.02 * 0.4 / bend
    chip = 0.004 + 0.003
    depth = force / (1.3 * 700 * chip**0.73 * sqrt(1.16))
    assert cut.depth == pytest.approx(depth, rel=1e-9)
    assert cut.force == pytest.approx(force)


def test_passes_reach_the_depth_that_is_wanted() -> None:
    cut = plan_milling(BRASS, SMALL, MILL, depth_wanted=0.5)
    assert cut.passes * cut.depth >= 0.5
    assert (cut.passes - 1) * cut.depth < 0.5


def test_at_a_kept_depth_the_chip_gives_way() -> None:
    free = plan_milling(BRASS, SMALL, MILL)
    kept = plan_milling(BRASS, SMALL, MILL, depth_wanted=0.25, keep_depth=True)
    assert kept.depth == 0.25
    assert kept.chip_load < free.chip_load
    assert kept.governed_by["feed"] == "deflection"
    assert limit(kept, "deflection") == pytest.approx(1.0)


def test_a_narrow_cut_may_have_a_longer_chip_load() -> None:
    slot = plan_milling(BRASS, SMALL, MILL)
    side = plan_milling(BRASS, SMALL, MILL, width=0.04)
    # 2·√(0.1 − 0.01) = 0.6: the same thickest chip.
    assert side.chip_load == pytest.approx(slot.chip_load / 0.6)


def test_an_edge_that_would_rub_gets_a_thicker_chip_and_a_warning() -> None:
    cut = plan_milling(find_material("tool-steel"),
                       parse_cutter("end-mill 0.1 2 flutes flute-length 0.15 reach 0.3 run-out 1um"
                                    ), MILL)
    assert cut.governed_by["feed"] == "least chip"
    assert any("rub" in warning for warning in cut.warnings)
    assert limit(cut, "least chip") == pytest.approx(1.0)


def test_slow_axes_slow_the_spindle_rather_than_let_the_teeth_rub() -> None:
    lame = LinearAxis(feed_limit=30)
    machine = MILL.model_copy(update={"x": lame, "y": lame, "z": lame})
    cut = plan_milling(BRASS, SMALL, machine)
    assert cut.feed == pytest.approx(30)
    assert cut.speed < 24000
    assert "rub" in cut.governed_by["speed"]
    assert limit(cut, "least chip") <= 1.0


def test_a_weak_spindle_turns_slower_for_more_feed_where_its_torque_is_greater_there() -> None:
    weak = MILL.model_copy(update={"spindle": Spindle(
        lowest=300, highest=24000, power=((300.0, 8.0), (3000.0, 12.0), (24000.0, 12.0)))})
    mill = parse_cutter("end-mill 3 2 flutes flute-length 4 reach 6 run-out 0")
    soft = find_material("aluminium")
    cut = plan_milling(soft, mill, weak, depth_wanted=1.5, keep_depth=True)
    assert cut.governed_by["speed"].startswith("spindle ")
    fixed = plan_milling(soft, mill, weak, depth_wanted=1.5, keep_depth=True, speed=10000)
    assert cut.feed > fixed.feed


@pytest.mark.parametrize(("material", "words", "said"), [
    ("titanium", "hss end-mill 32 4 flutes reach 60", "spindle's lowest speed"),
    ("pinion-steel", "diamond end-mill 3 2 flutes reach 9", "diamond must not cut"),
    ("316l", "end-mill 0.1 2 flutes reach 2", "deflection"),
])
def test_where_nothing_is_safe_the_limit_is_named(material: str, words: str, said: str) -> None:
    with pytest.raises(Refused, match=said) as no:
        plan_cut(find_material(material), parse_cutter(words), MILL)
    assert all(fault.remedy for fault in no.value.faults)


@pytest.mark.parametrize(("width", "depth", "said"), [
    (0.5, None, "a width of 0.5"), (-1.0, None, "a width of -1"), (None, -0.1, "a depth of -0.1"),
    (float("nan"), None, "a width of nan"), (None, float("inf"), "a depth of inf")])
def test_what_makes_no_sense_is_refused(width: float | None, depth: float | None,
                                       said: str) -> None:
    with pytest.raises(Refused, match=said):
        plan_milling(BRASS, SMALL, MILL, width, depth)


def test_what_would_help_does_help() -> None:
    steel, mill = find_material("316l"), parse_cutter("end-mill 0.1 2 flutes reach 2")
    helps = what_would_help(plan_cut, steel, mill, MILL, None, None)
    short = next(text for text in helps if "stick-out" in text)
    reach = float(short.split()[-2]) * 0.98
    assert plan_cut(steel, mill.model_copy(update={"reach": reach}), MILL).feed > 0
    assert any(text.startswith("a cutter of 0.") for text in helps)


def test_help_is_found_for_slow_and_for_narrow_cuts() -> None:
    steel = find_material("pinion-steel")
    slow = what_would_help(plan_cut, steel, parse_cutter("hss form-disc 40 14 teeth"), MILL, None,
                           None)
    assert "a cutter of carbide" in slow
    assert any(text.startswith("a spindle that turns as slowly as") for text in slow)
    narrow = what_would_help(plan_cut, BRASS, SMALL, MILL, 0.0002, None)
    assert any(text.startswith("a width of 0.00") for text in narrow)


def test_an_own_speed_and_feed_are_kept_and_questioned() -> None:
    mill = parse_cutter("end-mill 3 2 flutes flute-length 6 reach 9")
    steel = find_material("tool-steel")
    cut = plan_milling(steel, mill, MILL, 0.5, speed=20000, feed=900)
    assert (cut.speed, cut.feed) == (20000, pytest.approx(900))
    assert cut.governed_by["speed"] == cut.governed_by["feed"] == "asked"
    assert any("the edge will not last" in warning for warning in cut.warnings)
    slow = plan_milling(steel, mill, MILL, 0.5, speed=20000, feed=20)
    assert any("rubs" in warning for warning in slow.warnings)
    with pytest.raises(Refused, match="not one of this spindle"):
        plan_milling(steel, mill, MILL, speed=40000)
    with pytest.raises(Refused, match="axes do not go faster"):
        plan_milling(steel, mill, MILL, feed=5000)


def test_speeds_are_set_in_the_spindles_steps() -> None:
    stepped = MILL.model_copy(update={"spindle": MILL.spindle.model_copy(
        update={"speed_step": 500.0})})
    cut = plan_milling(BRASS, parse_cutter("end-mill 4 2 flutes reach 12"), stepped)
    assert cut.speed % 500 == 0
    assert cut.surface_speed <= 180


def test_a_ball_cuts_as_wide_as_its_depth_and_no_faster_than_the_metal_allows_there() -> None:
    ball = parse_cutter("ball-end-mill 2 2 flutes flute-length 4 reach 6")
    cut = plan_milling(find_material("tool-steel"), ball, MILL, 0.2, 0.1, keep_depth=True)
    across = 2 * sqrt(0.1 * 1.9)
    assert cut.surface_speed == pytest.approx(cut.speed * pi * across / 1000)
    assert cut.surface_speed <= 50


def test_an_engraver_goes_only_as_deep_as_its_point_bears() -> None:
    gold = find_material("gold-750")
    sharp = plan_milling(gold, parse_cutter("engraver 3 angle 60 tip 0.1 reach 9"), MILL)
    # Not half of the cone, which is 2.9 / 2 / tan 30° high.
    assert 0 < sharp.depth < 0.5 * 2.9 / 2 * sqrt(3)
    for angle in (20, 30, 45, 60, 90):
        with pytest.raises(Refused):
            plan_milling(gold, parse_cutter(f"engraver 3 angle {angle} tip 0.001 reach 9"), MILL)


def test_deep_holes_are_pecked_and_shallow_ones_are_not() -> None:
    drill = parse_cutter("drill 0.75 flute-length 8 reach 10")
    assert plan_drilling(BRASS, drill, MILL, 1.0).peck == 0
    deep = plan_drilling(BRASS, drill, MILL, 5.0)
    assert 0 < deep.peck <= 0.75
    long_chips = plan_drilling(find_material("316l"), drill, MILL, 5.0)
    assert long_chips.peck < deep.peck
    with pytest.raises(Refused, match="flute length"):
        plan_drilling(BRASS, drill, MILL, 9.0)


def test_a_thin_drill_gives_way_under_thrust_before_it_twists() -> None:
    with pytest.raises(Refused, match="thrust"):
        plan_drilling(find_material("tool-steel"), parse_cutter("hss drill 0.3 reach 12"), MILL, 1)
    stout = plan_drilling(find_material("tool-steel"),
                          parse_cutter("carbide drill 0.3 flute-length 2 reach 3"), MILL, 1.0)
    assert limit(stout, "thrust") < 1


def test_enlarging_a_hole_takes_less_torque_than_drilling_it() -> None:
    bore = parse_cutter("counterbore 3 2 flutes reach 10")
    whole = plan_drilling(BRASS, bore, MILL, 1.0, speed=3000, feed=60)
    ring = plan_drilling(BRASS, bore, MILL, 1.0, existing=1.5, speed=3000, feed=60)
    assert ring.torque == pytest.approx(whole.torque * 0.75)


def test_a_reamer_runs_slower_and_says_what_to_leave() -> None:
    ream = plan_drilling(BRASS, parse_cutter("hss reamer 1.2 4 flutes flute-length 8 reach 12"),
                         MILL, 2.0)
    drill = plan_drilling(BRASS, parse_cutter("hss drill 1.2 flute-length 8 reach 12"), MILL, 2.0)
    assert ream.speed < drill.speed
    assert any("leave" in warning for warning in ream.warnings)


def test_a_tap_goes_forward_by_its_pitch() -> None:
    tap = plan_tapping(BRASS, parse_cutter("hss tap 1.0 pitch 0.25 reach 6"), MILL, 1.5)
    assert tap.feed == pytest.approx(tap.speed * 0.25)
    with pytest.raises(Refused, match="torsion"):
        plan_tapping(find_material("316l"), parse_cutter("hss tap 1.0 pitch 0.25 reach 6"), MILL)
    with pytest.raises(Refused, match="pitch is not given"):
        plan_tapping(BRASS, parse_cutter("hss tap 1.0 reach 6"), MILL)


def test_a_thread_mills_centre_goes_slower_than_the_wall() -> None:
    mill = parse_cutter("thread-mill 0.7 3 flutes pitch 0.25 flute-length 1 reach 3")
    cut = plan_thread_milling(BRASS, mill, MILL, 1.0)
    assert cut.feed <= cut.speed * 3 * cut.chip_load * (1 - 0.7) * (1 + 1e-9)
    assert "acceleration in the circle" in [one.name for one in cut.limits]
    assert cut.plunge_feed <= cut.feed
    with pytest.raises(Refused, match="does not go into"):
        plan_thread_milling(BRASS, mill, MILL, 0.9)


def test_the_feed_round_a_circle() -> None:
    # R/(R − r): hole 0.8, cutter 0.4: the wall sees twice the centre's feed.
    assert circle_feed(100.0, 0.8, 0.4, MILL) == (pytest.approx(50.0), "the wall")
    # v² = a·ρ with a 250 mm/s² and ρ 0.05 mm: 212 mm/min.
    feed, name = circle_feed(2000.0, 0.5, 0.4, MILL)
    assert (feed, name) == (pytest.approx(60 * sqrt(250 * 0.05)), "acceleration in the circle")
    assert circle_feed(100.0, 8.0, 2.0, MILL, inside=False)[0] == 100.0
    with pytest.raises(ValueError, match="does not go"):
        circle_feed(100.0, 0.4, 0.4, MILL)


def test_a_boring_bar_takes_no_more_than_it_bends() -> None:
    bar = parse_cutter("boring-bar 4 shank 3 reach 15")
    rough = plan_boring(BRASS, bar, MILL, 8.0, stock=0.5)
    fine = plan_boring(BRASS, bar, MILL, 8.0, stock=0.5, finish=True)
    assert fine.deflection <= rough.deflection
    assert fine.passes >= rough.passes >= 1
    assert rough.passes * rough.width >= 0.5 * (1 - 1e-9)
    long = plan_boring(BRASS, bar.model_copy(update={"reach": 40.0}), MILL, 8.0, stock=0.5)
    assert long.width < rough.width


def test_a_form_cut_by_its_section() -> None:
    disc = parse_cutter("form-disc 20 14 teeth arbor 8 reach 15")
    # A wheel of module 0.14: about 0.22 wide and 0.444 deep.
    brass = plan_form_cut(BRASS, disc, MILL, 0.098, 0.444)
    steel = plan_form_cut(find_material("pinion-steel"), disc, MILL, 0.098, 0.444)
    assert brass.passes == 1
    assert steel.speed < brass.speed
    assert steel.feed < brass.feed
    kc, mc = 700 * 1.3, 0.27
    long = 2 * sqrt(0.444**2 + (0.098 / 0.444) ** 2)
    share = 0.444 / 20
    peak = 2 * sqrt(share - share**2)
    chip = (brass.chip_load + 0.003) * peak
    wide = 0.098 / 0.444
    tangential = kc * wide * chip ** (1 - mc) * (long / wide) ** mc
    assert brass.torque == pytest.approx(tangential * 10, rel=1e-6)


def test_a_form_cut_too_heavy_at_once_is_made_in_passes() -> None:
    disc = parse_cutter("form-disc 20 14 teeth arbor 6 reach 30")
    cut = plan_form_cut(find_material("pinion-steel"), disc, MILL, 1.0, 1.5)
    assert cut.passes > 1
    assert cut.depth * cut.passes == pytest.approx(1.5)
    assert limit(cut, "deflection") <= 1
    asked = plan_form_cut(find_material("pinion-steel"), disc, MILL, 1.0, 1.5, passes=cut.passes)
    assert asked.governed_by["depth"] == "asked"
    with pytest.raises(Refused, match="reach to its middle"):
        plan_form_cut(BRASS, disc, MILL, 5.0, 11.0)


def fine_at(feed: float, result: str = "fine", depth: float | None = None) -> ShopFinding:
    return ShopFinding("brass-leaded", SMALL, result, 24000, feed, depth,  # type: ignore[arg-type]
                   job="third wheel", date="2026-03-01")


def test_going_down_is_slow_for_the_end_and_quick_enough_not_to_rub() -> None:
    for words in ("end-mill 0.4 2 flutes flute-length 0.8 reach 1.6",
                  "end-mill 4 2 flutes flute-length 8 reach 12"):
        cut = plan_milling(BRASS, parse_cutter(words), MILL)
        least = next(one.value for one in cut.limits if one.name == "least chip")
        assert cut.plunge_feed / (cut.speed * 2) >= least * (1 - 1e-9)
        assert cut.plunge_feed < cut.feed
        assert cut.ramp_feed <= cut.feed
        assert 1 <= cut.ramp_angle <= 5
    lame = MILL.model_copy(update={"z": LinearAxis(feed_limit=10)})
    slow = plan_milling(BRASS, SMALL, lame)
    assert slow.plunge_feed == 10
    assert any("straight down the edges rub" in warning for warning in slow.warnings)


def test_the_parts_of_the_force_make_up_the_whole() -> None:
    cut = plan_milling(BRASS, SMALL, MILL)
    assert cut.force == pytest.approx(sqrt(cut.tangential**2 + cut.radial**2))
    assert cut.torque == pytest.approx(cut.tangential * 0.2)
    assert cut.mean_chip == pytest.approx(cut.peak_chip * 2 / pi)


def test_a_makers_strength_and_stiffness_are_used_and_said() -> None:
    stout = SMALL.model_copy(update={"modulus": 700e3, "strength": 4200.0})
    plain, better = plan_milling(BRASS, SMALL, MILL), plan_milling(BRASS, stout, MILL)
    assert better.depth > plain.depth
    assert any("maker's own sheet" in warning for warning in better.warnings)


def test_findings_speak_only_for_cutters_like_the_one_in_hand() -> None:
    other = replace(fine_at(100), cutter=SMALL.model_copy(update={"diameter": 0.5}))
    gold = replace(fine_at(100), material="gold-750-yellow")
    long = replace(fine_at(100), cutter=SMALL.model_copy(update={"reach": 3.0}))
    assert matching([fine_at(100), other, gold, long], BRASS, SMALL) == (fine_at(100),)


def test_findings_are_shown_and_kept_to_when_wished() -> None:
    found = [fine_at(120, depth=0.1), fine_at(150)]
    shown = plan_milling(BRASS, SMALL, MILL, findings=found)
    assert shown.feed == pytest.approx(192)
    assert any("fine at 24000 rev/min, 120 mm/min, depth 0.1 (third wheel" in text
               for text in shown.findings)
    kept = plan_milling(BRASS, SMALL, MILL, findings=found, keep_to_findings=True)
    assert kept.feed == pytest.approx(150)
    assert kept.governed_by["feed"] == "the workshop's finding"


def test_a_cut_that_broke_a_cutter_is_warned_of_and_kept_below() -> None:
    found = [fine_at(180, "broke", 0.1)]
    shown = plan_milling(BRASS, SMALL, MILL, findings=found)
    assert any("the workshop found: broke" in warning for warning in shown.warnings)
    kept = plan_milling(BRASS, SMALL, MILL, findings=found, keep_to_findings=True)
    assert kept.feed == pytest.approx(0.8 * 180)
    assert kept.depth <= 0.08 * (1 + 1e-9)
    assert kept.governed_by["feed"] == "the workshop's trouble"
    assert not any("the workshop found: broke" in warning for warning in kept.warnings)


def test_of_several_findings_the_quickest_below_all_trouble_counts() -> None:
    found = [fine_at(100), fine_at(140), fine_at(190), fine_at(160, "chattered")]
    assert caps(found).peak_chip == pytest.approx(140 / 48000)
    assert caps([]).peak_chip is None


def test_findings_never_lift_a_limit_of_strength() -> None:
    found = [fine_at(400, depth=5.0)]
    kept = plan_milling(BRASS, SMALL, MILL, findings=found, keep_to_findings=True)
    assert all(one.share <= 1 + 1e-9 for one in kept.limits
               if one.name in ("deflection", "bending stress", "torsion"))


def test_the_words_name_every_figure_with_what_governed_it() -> None:
    cut = plan_milling(BRASS, SMALL, MILL, depth_wanted=0.25)
    text = "\n".join(explain(cut))
    for what in ("speed 24000 rev/min", "spindle's highest speed", "feed 192 mm/min",
                 "4 µm a tooth: chip load", "deflection; 2 passes", "width 0.4 mm", "on a ramp",
                 "force 3.74 N"):
        assert what in text
    table = limit_table(cut)
    assert len(table) == 1 + len(cut.limits)
    assert table[1].endswith("governs")
    assert not any(line != line.rstrip() for line in table)


def test_values_of_the_workshops_own_are_named_in_the_words() -> None:
    own = replace(BRASS, own=("kc1", "surface-speed carbide"))
    assert any("kc1, surface-speed carbide" in line
               for line in explain(plan_milling(own, SMALL, MILL)))


@pytest.mark.parametrize(("value", "unit", "text"), [
    (0.00043, "mm", "0.43 µm"), (0.143, "mm", "0.143 mm"), (12345.6, "rev/min", "12346 rev/min"),
    (0.5, "N mm", "0.5 N·mm"), (0.0, "mm", "0 mm"), (0.02, "mm/rev", "20 µm/rev"),
    (1100.0, "N/mm2", "1100 N/mm²")])
def test_figures_have_three_places_that_count(value: float, unit: str, text: str) -> None:
    assert figure(value, unit) == text


def test_a_form_cutters_answer_lies_in_its_region() -> None:
    disc = parse_cutter("form-disc 20 14 teeth arbor 6 reach 30")
    steel = find_material("pinion-steel")
    cut = plan_cut(steel, disc, MILL, 0.65, 1.5)
    region = feasible_region(steel, disc, MILL, 0.65, cut)
    at = int(abs(region.depths - cut.depth).argmin())
    for name, feeds in region.most.items():
        assert cut.feed <= float(feeds[at]) * 1.02, name
    assert cut.feed >= float(region.least[at])
    assert region.deepest == {"depth of the space": pytest.approx(1.5)}


def test_the_answer_lies_in_the_corner_of_its_region() -> None:
    cut = plan_milling(BRASS, SMALL, MILL)
    region = feasible_region(BRASS, SMALL, MILL, None, cut)
    for name, feeds in region.most.items():
        nearest = float(feeds[abs(region.depths - cut.depth).argmin()])
        assert cut.feed <= nearest * 1.05, name
    beyond = region.depths > cut.depth * 1.05
    assert (region.most["deflection"][beyond] < cut.feed).all()
    with pytest.raises(Refused, match="no question for the drill"):
        feasible_region(BRASS, parse_cutter("drill 1"), MILL, None, cut)
