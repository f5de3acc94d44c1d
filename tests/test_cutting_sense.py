"""Nothing outside physical sense, for any cutter in any material on any machine; and monotone
where physics says so."""

from __future__ import annotations

from dataclasses import replace
from math import isfinite, pi
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.cutting.planner import (
    CutPlan,
    force_limit,
    plan_cut,
    plan_form_cut,
    plan_milling,
)
from camgen.faults import Refused
from camgen.shop.cutters import Cutter
from camgen.shop.machine import LinearAxis, Machine, Spindle
from camgen.shop.materials import Material, find_material, material_names

KINDS = ("drill", "spot-drill", "end-mill", "ball-end-mill", "bull-end-mill", "chamfer-mill",
         "engraver", "countersink", "counterbore", "reamer", "boring-bar", "tap", "thread-mill",
         "form-disc", "fly-cutter")
MATERIALS = material_names()


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


@st.composite
def cutters(draw: st.DrawFn, kinds: tuple[str, ...] = KINDS) -> Cutter:
    kind = draw(st.sampled_from(kinds))
    diameter = draw(between(0.05, 32.0))
    values: dict[str, Any] = {
        "kind": kind, "diameter": diameter, "flutes": draw(st.integers(1, 8)),
        "material": draw(st.sampled_from(["hss", "carbide", "diamond"]))}
    if draw(st.booleans()):
        values["reach"] = diameter * draw(between(0.5, 12.0))
    if draw(st.booleans()):
        values["flute_length"] = diameter * draw(between(0.3, 6.0))
    if draw(st.booleans()):
        values["shank"] = diameter * draw(between(0.3, 4.0))
    if kind in ("tap", "thread-mill"):
        values["pitch"] = diameter * draw(between(0.05, 0.5))
    if kind == "bull-end-mill":
        values["corner_radius"] = diameter * draw(between(0.01, 0.5))
    if kind in ("engraver", "chamfer-mill"):
        values["tip"] = diameter * draw(between(0.0, 0.9))
    if draw(st.booleans()):
        values["run_out"] = draw(between(0.0, 0.02))
    return Cutter(**values)


@st.composite
def machines(draw: st.DrawFn) -> Machine:
    lowest = draw(between(20.0, 5000.0))
    highest = lowest * draw(between(1.5, 60.0))
    power = draw(between(2.0, 3000.0))
    axis = LinearAxis(feed_limit=draw(between(20.0, 10000.0)),
                      acceleration=draw(between(10.0, 5000.0)))
    return Machine(
        name="any", describes="any", x=axis, y=axis, z=axis,
        spindle=Spindle(lowest=lowest, highest=highest, run_out=draw(between(0.0, 0.02)),
                        power=((lowest, power * draw(between(0.05, 1.0))),
                               (lowest + 0.4 * (highest - lowest), power), (highest, power))))


def in_sense(cut: CutPlan, cutter: Cutter, machine: Machine) -> None:
    spindle = machine.spindle
    assert spindle.lowest * (1 - 1e-9) <= cut.speed <= spindle.highest * (1 + 1e-9)
    fastest = max(machine.x.feed_limit, machine.y.feed_limit, machine.z.feed_limit)
    for feed in (cut.feed, cut.plunge_feed):
        assert isfinite(feed)
        assert 0.0 < feed <= fastest * (1 + 1e-9)
    assert 0.0 < cut.chip_load < cutter.diameter
    assert 0.0 < cut.depth < float("inf")
    assert 0.0 < cut.width <= cutter.diameter * (1 + 1e-9) or cutter.kind in ("form-disc",
                                                                             "fly-cutter")
    assert cut.passes >= 1
    assert cut.peck >= 0.0
    assert set(cut.governed_by) == {"speed", "feed", "depth", "width"}
    for limit in cut.limits:
        assert isfinite(limit.value), limit
        assert isfinite(limit.used), limit
        assert limit.value > 0.0, limit
        assert limit.used >= 0.0, limit
        # A feed raised so that the edge cuts may pass practice; a lowest speed may pass the aim.
        if limit.name not in ("chip load", "drill feed", "surface speed", "width of the form",
                              "finish"):
            assert limit.share <= 1.0 + 1e-6, limit
    if cutter.kind != "tap":
        assert any(limit.name == "least chip" for limit in cut.limits)


@settings(max_examples=few(40), deadline=None)
@given(material=st.sampled_from(MATERIALS), cutter=cutters(), machine=machines(),
       depth_share=st.none() | between(0.001, 3.0), width_share=st.none() | between(0.001, 1.0))
def test_any_cutter_in_any_material_on_any_machine_is_planned_in_sense_or_refused_by_name(
        material: str, cutter: Cutter, machine: Machine, depth_share: float | None,
        width_share: float | None) -> None:
    depth = None if depth_share is None else depth_share * cutter.diameter
    width = None if width_share is None else width_share * cutter.diameter
    if cutter.kind == "thread-mill":
        width = None
    try:
        cut = plan_cut(find_material(material), cutter, machine, width, depth)
    except Refused as no:
        named = bool(no.faults) and all(fault.message for fault in no.faults)
    else:
        in_sense(cut, cutter, machine)
        named = True
    assert named


@settings(max_examples=few(40), deadline=None)
@given(material=st.sampled_from(MATERIALS), cutter=cutters(("end-mill",)), machine=machines(),
       longer=between(1.0, 3.0), keep=st.booleans())
def test_a_longer_stick_out_never_raises_the_feed(material: str, cutter: Cutter, machine: Machine,
                                                  longer: float, keep: bool) -> None:
    reach = cutter.reach or 3.0 * cutter.diameter
    fluted = {"flute_length": cutter.flute_length or reach}
    short = cutter.model_copy(update={**fluted, "reach": reach})
    long = cutter.model_copy(update={**fluted, "reach": reach * longer})
    never_more(material, machine, short, machine, long, machine, keep)


def never_more(material: str, machine: Machine, before: Cutter, first: Machine, after: Cutter,
               second: Machine, keep: bool, other: Any = None) -> None:
    """The feed after the change is no more than before it; refusals count as no feed."""
    stuff = find_material(material)
    depth = 0.2 * before.diameter if keep else None
    try:
        worse = plan_milling(other or stuff, after, second, None, depth, keep_depth=keep).feed
    except Refused:
        return
    # What works after the change for the worse works before it, at least as fast.
    better = plan_milling(stuff, before, first, None, depth, keep_depth=keep).feed
    assert worse <= better * (1 + 1e-9)


@settings(max_examples=few(40), deadline=None)
@given(material=st.sampled_from(MATERIALS), cutter=cutters(("end-mill",)), machine=machines(),
       stronger=between(1.0, 5.0), keep=st.booleans())
def test_a_stronger_spindle_never_lowers_the_feed(material: str, cutter: Cutter, machine: Machine,
                                                  stronger: float, keep: bool) -> None:
    strong = machine.model_copy(update={"spindle": machine.spindle.model_copy(update={
        "power": tuple((rpm, power * stronger) for rpm, power in machine.spindle.power)})})
    never_more(material, machine, cutter, strong, cutter, machine, keep)


@settings(max_examples=few(40), deadline=None)
@given(material=st.sampled_from(MATERIALS), cutter=cutters(("end-mill",)), machine=machines(),
       harder=between(1.0, 3.0), keep=st.booleans())
def test_a_harder_material_never_raises_the_feed(material: str, cutter: Cutter, machine: Machine,
                                                 harder: float, keep: bool) -> None:
    stuff = find_material(material)
    hard = replace(
        stuff, kc1=replace(stuff.kc1, value=stuff.kc1.value * harder),
        chip_load=replace(stuff.chip_load, value=stuff.chip_load.value / harder),
        surface_speed={name: replace(speed, value=speed.value / harder, high=speed.high / harder)
                       for name, speed in stuff.surface_speed.items()})
    never_more(material, machine, cutter, machine, cutter, machine, keep, hard)


@settings(max_examples=few(60), deadline=None)
@given(any_cutter=cutters(("end-mill", "ball-end-mill")), machine=machines(),
       slender=between(0.5, 12.0))
def test_halving_the_diameter_never_raises_the_force_limit(any_cutter: Cutter, machine: Machine,
                                                           slender: float) -> None:
    cutter = any_cutter.model_copy(update={"reach": slender * any_cutter.diameter, "shank": None})
    half = cutter.model_copy(update={"diameter": cutter.diameter / 2})
    assert force_limit(half, machine)[0] <= force_limit(cutter, machine)[0]


@st.composite
def changes(draw: st.DrawFn) -> tuple[str, float]:
    """What is made worse, and by how much."""
    return (draw(st.sampled_from(["stick-out", "spindle", "material"])),
            draw(between(1.0, 3.0)))


@settings(max_examples=few(40), deadline=None)
@given(material=st.sampled_from(MATERIALS), any_cutter=cutters(), machine=machines(),
       change=changes())
def test_at_a_kept_depth_no_cutter_is_faster_for_anything_made_worse(
        material: str, any_cutter: Cutter, machine: Machine, change: tuple[str, float]) -> None:
    what, factor = change
    diameter = any_cutter.diameter
    reach = any_cutter.reach or 3.0 * diameter
    cutter = any_cutter.model_copy(update={"reach": reach, "flute_length": 0.5 * reach,
                                           "arbor": 0.3 * diameter, "shank": None})
    worse_cutter, worse_mill, worse_stuff = cutter, machine, find_material(material)
    if what == "stick-out":
        worse_cutter = cutter.model_copy(update={"reach": reach * factor})
    elif what == "spindle":
        worse_mill = machine.model_copy(update={"spindle": machine.spindle.model_copy(update={
            "power": tuple((rpm, power / factor) for rpm, power in machine.spindle.power)})})
    else:
        worse_stuff = replace(worse_stuff, kc1=replace(worse_stuff.kc1,
                                                       value=worse_stuff.kc1.value * factor))

    def feed(stuff: Material, tool: Cutter, mill: Machine) -> float:
        """The feed; where it is refused, none."""
        deep = 0.05 * diameter
        try:
            if tool.kind in ("form-disc", "fly-cutter"):
                return plan_form_cut(stuff, tool, mill, 0.55 * deep**2, deep, passes=1).feed
            return plan_cut(stuff, tool, mill, None, deep, keep_depth=True).feed
        except Refused:
            return 0.0

    assert feed(worse_stuff, worse_cutter, worse_mill) <= feed(
        find_material(material), cutter, machine) * (1 + 1e-9)


@settings(max_examples=few(40), deadline=None)
@given(any_cutter=cutters(), machine=machines(), slender=between(0.5, 12.0))
def test_no_cutter_of_half_the_size_bears_more_force(any_cutter: Cutter, machine: Machine,
                                                     slender: float) -> None:
    cutter = any_cutter.model_copy(update={"reach": slender * any_cutter.diameter, "shank": None,
                                           "flute_length": None})
    half = cutter.model_copy(update={"diameter": cutter.diameter / 2})
    assert force_limit(half, machine)[0] <= force_limit(cutter, machine)[0]


LOADS = ("deflection", "bending stress", "torsion", "spindle torque", "spindle power")


@settings(max_examples=few(50), deadline=None)
@given(material=st.sampled_from(MATERIALS), machine=machines(),
       cutter=cutters(("ball-end-mill", "bull-end-mill", "chamfer-mill", "engraver")))
def test_a_shaped_cutter_goes_as_deep_as_its_loads_let_it(material: str, machine: Machine,
                                                          cutter: Cutter) -> None:
    try:
        cut = plan_milling(find_material(material), cutter, machine)
    except Refused:
        return
    used = {limit.name: limit.share for limit in cut.limits}
    assert max(used[name] for name in LOADS) <= 1 + 1e-9
    # A cone grows wider and stiffer with its depth: what is found for it is safe, but where it
    # could go deeper again beyond a depth that it cannot, it stays above.
    pointed = cutter.kind in ("chamfer-mill", "engraver")
    if cut.governed_by["depth"] in LOADS and cut.speed > machine.spindle.lowest and not pointed:
        # What holds it up is nearly reached; or else a little more depth could not be had at all.
        near = max(used[name] for name in LOADS) > 0.95
        try:
            deeper = plan_milling(find_material(material), cutter, machine, None, 1.06 * cut.depth,
                                  keep_depth=True)
        except Refused:
            near = True
        else:
            near = near or deeper.chip_load < cut.chip_load
        assert near


@settings(max_examples=few(60), deadline=None)
@given(material=st.sampled_from(MATERIALS), cutter=cutters(("end-mill",)), machine=machines())
def test_the_feed_is_speed_times_teeth_times_chip_load(material: str, cutter: Cutter,
                                                       machine: Machine) -> None:
    try:
        cut = plan_milling(find_material(material), cutter, machine)
    except Refused:
        return
    assert cut.feed == pytest.approx(cut.speed * cutter.flutes * cut.chip_load)
    assert cut.surface_speed == pytest.approx(cut.speed * pi * cutter.diameter / 1000)
