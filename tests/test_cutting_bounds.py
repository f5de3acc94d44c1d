"""Planned cuts at the ends of what is allowed: on a bound, a little below it, a little above it."""

from __future__ import annotations

from dataclasses import replace
from math import hypot, pi, radians, sin, sqrt

import pytest

from camgen.cutting.answer import Limit, feed_has_room
from camgen.cutting.chips import mean_chip_share
from camgen.cutting.planner import (
    CutPlan,
    plan_cut,
    plan_drilling,
    plan_form_cut,
    plan_milling,
    plan_tapping,
    plan_thread_milling,
)
from camgen.cutting.region import what_would_help
from camgen.faults import Refused
from camgen.shop.cutters import parse_cutter
from camgen.shop.machine import LinearAxis, Machine, Spindle
from camgen.shop.materials import edge_material, find_material
from camgen.shop.tables import rule

AXIS = LinearAxis(feed_limit=1000, acceleration=250)
MILL = Machine(name="mill", describes="a mill", x=AXIS, y=AXIS, z=AXIS,
               spindle=Spindle(lowest=300, highest=24000, run_out=0.003,
                               power=((300.0, 8.0), (12000.0, 200.0), (24000.0, 200.0))))
BRASS = find_material("brass")
DRILL = parse_cutter("drill 0.75 flute-length 8 reach 10")


def _slow_z(limit: float) -> Machine:
    return MILL.model_copy(update={"z": LinearAxis(feed_limit=limit)})


def _limit(cut: CutPlan, name: str) -> tuple[float, float]:
    one = next(one for one in cut.limits if one.name == name)
    return one.used, one.value


def test_a_ramp_takes_no_more_than_its_share_of_the_z_axis() -> None:
    mill = parse_cutter("end-mill 0.4 2 flutes flute-length 0.8 reach 1.6")
    slow = plan_milling(BRASS, mill, _slow_z(10.0))
    assert slow.ramp_feed == pytest.approx(10.0 / sin(radians(slow.ramp_angle)))
    assert slow.ramp_feed < slow.feed
    quick = plan_milling(BRASS, mill, MILL)
    assert quick.ramp_feed == quick.feed


def test_a_thread_mill_goes_down_no_faster_than_its_axis_nor_than_it_goes_round() -> None:
    mill = parse_cutter("thread-mill 0.7 3 flutes pitch 0.25 flute-length 1 reach 3")
    slow = plan_thread_milling(BRASS, mill, _slow_z(10.0), 1.0)
    assert slow.plunge_feed == 10.0
    assert slow.feed > 10.0
    tight = plan_thread_milling(BRASS, mill, MILL, 0.98)
    assert tight.plunge_feed <= tight.feed
    assert tight.ramp_feed == tight.feed


def test_a_ring_takes_the_thrust_of_its_own_width() -> None:
    bore = parse_cutter("counterbore 3 2 flutes reach 10")
    whole = plan_drilling(BRASS, bore, MILL, 1.0, speed=3000, feed=60)
    for inner in (1.0, 1.5, 2.4):
        ring = plan_drilling(BRASS, bore, MILL, 1.0, existing=inner, speed=3000, feed=60)
        assert ring.torque == pytest.approx(whole.torque * (1 - (inner / 3) ** 2))
        # Without its chisel edge: the hole is there.
        assert ring.force == pytest.approx(
            whole.force * (1 - inner / 3) / rule("drill-thrust").value
        )


@pytest.mark.parametrize(("size", "left"), [(3.0, 0.09), (0.6, 0.02)])
def test_a_reamer_is_planned_for_what_is_usually_left(
    size: float, left: float
) -> None:
    """``left`` mm on the diameter: common practice, no source."""
    reamer = parse_cutter(f"hss reamer {size:g} 4 flutes flute-length {2 * size} reach {3 * size}")
    usual, told = (plan_drilling(BRASS, reamer, MILL, size, existing=existing)
                   for existing in (0.0, size - left))
    assert (usual.torque, usual.force) == pytest.approx((told.torque, told.force))


@pytest.mark.parametrize(("material", "words"), [
    ("tool-steel", "ball-end-mill 1 2 flutes flute-length 4 reach 12"),
    ("brass", "engraver 3 angle 60 tip 0.1 reach 9"),
    ("tool-steel", "chamfer-mill 3 angle 90 tip 0.2 2 flutes reach 12"),
    ("gold-750", "chamfer-mill 3 angle 90 tip 0.2 2 flutes reach 12"),
])
def test_a_shaped_edge_goes_down_to_where_the_load_that_governs_is_reached(
    material: str, words: str
) -> None:
    cut = plan_milling(find_material(material), parse_cutter(words), MILL)
    loads = [limit for limit in cut.limits if limit.governs == "depth" and not limit.least]
    assert max(limit.share for limit in loads) <= 1.0 + 1e-9
    used, most = _limit(cut, str(cut.governed_by["depth"]))
    assert used >= 0.975 * most


def test_where_no_depth_bears_its_whole_chip_the_deepest_that_cuts_at_all_is_taken() -> None:
    slender = parse_cutter("ball-end-mill 1 2 flutes flute-length 2 reach 14")
    cut = plan_milling(BRASS, slender, MILL)
    assert cut.governed_by["feed"] == cut.governed_by["depth"] == "deflection"
    shallower = plan_milling(BRASS, slender, MILL, None, 0.9 * cut.depth, keep_depth=True)
    assert shallower.chip_load > cut.chip_load
    with pytest.raises(Refused, match="no chip that cuts"):
        plan_milling(BRASS, slender, MILL, None, 1.2 * cut.depth, keep_depth=True)


@pytest.mark.parametrize(("share", "said"), [(0.99, True), (1.0, False), (1.01, False)])
def test_lips_rub_below_their_least_chip(share: float, said: bool) -> None:
    turned = plan_drilling(BRASS, DRILL, MILL, 1.0, speed=10000, feed=60)
    used, least = _limit(turned, "least chip")
    cut = plan_drilling(BRASS, DRILL, MILL, 1.0, speed=10000, feed=60 * least / used * share)
    assert any("lips rub" in warning for warning in cut.warnings) is said


@pytest.mark.parametrize(("share", "said"), [(0.99, False), (1.0, False), (1.01, True)])
def test_a_feed_is_questioned_above_what_practice_has(share: float, said: bool) -> None:
    _, most = _limit(plan_drilling(BRASS, DRILL, MILL, 1.0, speed=10000), "drill feed")
    cut = plan_drilling(BRASS, DRILL, MILL, 1.0, speed=10000, feed=10000 * most * share)
    assert any("of practice" in warning for warning in cut.warnings) is said


def test_room_for_more_feed_is_asked_of_every_limit_that_hangs_on_the_feed() -> None:
    cut = plan_milling(BRASS, parse_cutter("end-mill 4 2 flutes flute-length 8 reach 12"), MILL)

    def room(limit: Limit) -> bool:
        return feed_has_room(replace(cut, limits=(limit,)))

    for name, governs in (("axis feed", "feed"), ("deflection", "depth"), ("torsion", "depth"),
                          ("spindle power", "depth"), ("bending stress", "feed")):
        assert room(Limit.at_most(name, 10.0, "mm", governs, 7.9))
        assert not room(Limit.at_most(name, 10.0, "mm", governs, 8.1))
    assert room(Limit.at_most("flute length", 10.0, "mm", "depth", 9.9))
    assert room(Limit.at_least("least chip", 10.0, "mm", "feed", 10.5))


@pytest.mark.parametrize(("arbor", "reach", "size"), [(4.0, 12.0, 16.0), (6.0, 31.0, 20.0)])
def test_an_arbor_is_bent_and_stressed_by_the_force_across_it(
    arbor: float, reach: float, size: float
) -> None:
    """A bar held at one end, F·L³/(3·E·I); σ/2 + √(σ²/4 + τ²) at its root (any text on strength).

    The force across is that along the cut and its share square to it; only the first twists.
    """
    disc = parse_cutter(f"form-disc {size:g} 14 teeth arbor {arbor:g} reach {reach:g}")
    cut = plan_form_cut(BRASS, disc, MILL, 0.098, 0.444)
    assert cut.radial == pytest.approx(cut.tangential * rule("radial-share").value)
    assert cut.force == pytest.approx(hypot(cut.tangential, cut.radial))
    bent = cut.force * reach**3 / (3 * edge_material("hss").modulus * pi * arbor**4 / 64)
    sigma = cut.force * reach * 32 / (pi * arbor**3)
    tau = cut.tangential * size / 2 * 16 / (pi * arbor**3)
    assert _limit(cut, "deflection")[0] == pytest.approx(bent)
    assert cut.deflection == pytest.approx(bent)
    assert _limit(cut, "bending stress")[0] == pytest.approx(
        sigma / 2 + sqrt(sigma**2 / 4 + tau**2))
    assert cut.mean_chip == pytest.approx(
        cut.chip_load * mean_chip_share(0.444, size))


@pytest.mark.parametrize("share", [0.9, 1.1, 3.0])
def test_a_form_cutters_feed_beyond_practice_is_told_in_micrometres(share: float) -> None:
    disc = parse_cutter("form-disc 20 14 teeth arbor 8 reach 15")
    _, most = _limit(plan_form_cut(BRASS, disc, MILL, 0.2, 0.444, speed=1000), "chip load")
    cut = plan_form_cut(BRASS, disc, MILL, 0.2, 0.444, speed=1000, feed=1000 * 14 * most * share)
    told = [f"{1000 * chip:.2g} µm" for chip in (most * share, most)]
    said = [warning for warning in cut.warnings if all(figure in warning for figure in told)]
    assert bool(said) is (share > 1.0), cut.warnings


@pytest.mark.parametrize(("share", "flutes", "said"), [(1.1, 2, True), (0.9, 2, False),
                                                       (1.1, 1, False)])
def test_one_tooth_does_the_work_where_it_runs_out_by_more_than_a_chip(
    share: float, flutes: int, said: bool
) -> None:
    cutter = parse_cutter(f"end-mill 0.8 {flutes} flutes flute-length 1.6 reach 3")
    feed = 20000 * flutes * 0.006
    spindle = MILL.spindle.model_copy(update={"run_out": 0.006 * share})
    cut = plan_milling(BRASS, cutter, MILL.model_copy(update={"spindle": spindle}), speed=20000,
                       feed=feed)
    assert cut.chip_load == pytest.approx(0.006)
    assert any("one tooth" in warning for warning in cut.warnings) is said


def test_a_plan_claims_nothing_that_does_not_belong_to_its_cut() -> None:
    drill = plan_drilling(BRASS, DRILL, MILL, 1.0)
    assert (drill.ramp_feed, drill.ramp_angle, drill.deflection) == (0.0, 0.0, 0.0)
    assert (drill.tangential, drill.radial, drill.passes) == (0.0, 0.0, 1)
    mill = plan_milling(BRASS, parse_cutter("end-mill 0.4 2 flutes reach 1.6"), MILL)
    assert mill.peck == 0.0
    tap = plan_tapping(BRASS, parse_cutter("hss tap 1.0 pitch 0.25 reach 6"), MILL, 1.5)
    assert (tap.ramp_feed, tap.peck, tap.force, tap.deflection) == (0.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize("short", [0.55, 0.9, 0.3])
def test_a_width_too_narrow_to_cut_is_answered_with_the_next_that_does(short: float) -> None:
    mill = parse_cutter("end-mill 0.4 2 flutes flute-length 0.8 reach 1.6")

    def cuts(width: float) -> bool:
        try:
            plan_milling(BRASS, mill, MILL, width)
        except Refused:
            return False
        return True

    low, high = 1e-5, 0.1
    assert cuts(high)
    assert not cuts(low)
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (low, middle) if cuts(middle) else (middle, high)
    width = high * short
    wider = next(size for size in (2.0, 5.0, 10.0) if cuts(size * width))
    assert f"a width of {wider * width:.2g} mm" in what_would_help(
        plan_cut, BRASS, mill, MILL, width, None)


@pytest.mark.parametrize(("size", "most", "told"), [
    (0.4, 0.15, True), (0.7, 0.15, True), (0.8, 0.5, False), (1.5, 0.5, True), (4.0, 0.5, False)])
def test_slots_deeper_than_catalogues_of_micro_mills_are_said_to_be_so(
    size: float, most: float, told: bool
) -> None:
    """Three cutter makers' catalogues: 0.15 D below about 0.8 mm, 0.30 to 0.5 D above."""
    cutter = parse_cutter(f"end-mill {size} 2 flutes reach {3 * size}")
    slot = plan_milling(BRASS, cutter, MILL)
    said = [str(one) for one in slot.warnings if "catalogues" in one]
    assert bool(said) == told
    assert slot.depth > most * size or not told
    assert all(f"{slot.depth / size:.2g} of the cutter's width" in one for one in said)
    assert all(f"to {most:g}" in one for one in said)
    # A slot within what they give, and a wall, are none of it.
    for within in (plan_milling(BRASS, cutter, MILL, None, 0.1 * size),
                   plan_milling(BRASS, cutter, MILL, 0.2 * size)):
        assert not any("catalogues" in one for one in within.warnings)


@pytest.mark.parametrize(("name", "bounds"), [
    ("pinion-steel", "heat-slot"), ("spring-steel-blued", "heat-slot"),
    ("stainless-316l", "heat-slot-poor"), ("titanium-grade-5", "heat-slot-poor"),
    ("brass", None), ("gold-750", None), ("aluminium", None), ("acetal", None)])
def test_heat_bounds_a_slot_where_the_metal_carries_it_badly(
    name: str, bounds: str | None
) -> None:
    """Its depth times the part of a turn that an edge is in metal for."""
    mill, stuff = parse_cutter("end-mill 1 2 flutes flute-length 3 reach 3"), find_material(name)
    for width, turn in ((1.0, 0.5), (0.5, 0.25), (0.15, 0.12659)):
        cut = plan_milling(stuff, mill, MILL, width, 0.1)
        told = [one.value for one in cut.limits if one.name == "heat of the edge"]
        if bounds is None:
            assert not told
        else:
            assert told == [pytest.approx(rule(bounds).value * 0.5 / turn, rel=1e-3)]


def test_a_slot_kept_deeper_than_heat_allows_is_refused_by_that_name() -> None:
    mill, steel = parse_cutter("end-mill 3 2 flutes flute-length 6 reach 6"), find_material(
        "pinion-steel")
    assert plan_milling(steel, mill, MILL, 3.0, 1.19, keep_depth=True).depth == 1.19
    with pytest.raises(Refused, match=r"heat of the edge: a depth of 1\.21 mm"):
        plan_milling(steel, mill, MILL, 3.0, 1.21, keep_depth=True)
