"""Speeds that hurt nobody: each kind by its own source, set-out points by balance and body too."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from camgen.cutting.planner import plan_cut
from camgen.cutting.planners.form_cut import form_feed_bounds, free_form_cut
from camgen.faults import Refused
from camgen.job.reading import parse_job
from camgen.layout import ToothLayout
from camgen.moves import Feed, Index, Rapid
from camgen.plan import plan_job
from camgen.shop.cutters import (
    Cutter,
    CutterKind,
    balance_speed,
    disagreements,
    highest_speed,
    parse_cutter,
)
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine
from camgen.shop.materials import find_material
from camgen.shop.tables import block, quantity, rule, source
from camgen.steps import step_words

BENCH = find_machine("plain-iso")
STRONG = Machine(name="strong", describes="a spindle as strong as may be").model_copy(update={
    "spindle": BENCH.spindle.model_copy(update={
        "lowest": 50.0, "power": ((50.0, 500.0), (24000.0, 2000.0))})})
BRASS = find_material("brass")
GREAT_WHEEL = """
job: great wheel
material: brass-leaded
made-elsewhere: [bore, outline]
wheel: {teeth: 144, module: 0.6, form: cycloidal, mate: 12, thickness: 1.5, bore: 6.0}
cutters:
  fly: {kind: fly-cutter, diameter: 30, flutes: 1, material: hss, shank: 10, reach: 25,
        made-for: {form: cycloidal-wheel, module: 0.6, teeth: 144, mate: 12}}
setups:
  - name: teeth
    dividing: {stack: 1, backing: 3, arbor: 6, zero: touch}
    holding: {by: arbor with nut}
    steps:
      - cut-teeth: {cutter: fly}
"""


def test_a_fly_cut_wheel_of_144_takes_at_most_twice_what_a_hand_would_choose() -> None:
    """The hand: half the speed that suppliers of wheel cutters give for brass wheels (up to 3000 to
    4000 rev/min), 15 µm a turn (middle of what a disc's tooth may take, 4 to 20), one pass, the
    wheel's thickness and the chord of the disc before it, half a millimetre in air and a tenth past
    the rear face; 2 s to turn the head. About 51 minutes.
    """
    job = parse_job(GREAT_WHEEL, Path("great.yaml"), step_words())
    setup = plan_job(job, BENCH).setups[0]
    layout = setup.layout
    assert isinstance(layout, ToothLayout)
    deep = layout.tooth.sizes.whole_depth
    by_hand = 144 * ((2.1 + math.sqrt(deep * (30 - deep))) / (2000 * 0.015) * 60 + 2)
    assert 50 * 60 < by_hand < 52 * 60
    at = {"x": math.nan, "y": math.nan, "z": math.nan}
    seconds = 0.0
    for move in setup.moves.sections[0].moves:
        if isinstance(move, Index):
            seconds += 2.0
        if not isinstance(move, Feed | Rapid):
            continue
        ways = []
        for axis in at:
            to = getattr(move, axis)
            if to is not None:
                ways.append(0.0 if math.isnan(at[axis]) else abs(to - at[axis]))
                at[axis] = to
        feed = move.feed if isinstance(move, Feed) else BENCH.x.rapid
        seconds += math.hypot(*ways) / feed * 60
    assert seconds < 2 * by_hand


def test_a_point_on_a_bar_is_turned_by_its_balance() -> None:
    """By hand: a square bar 6 thick from 12 to 30 mm: 5.09 g at 21 mm, so that 10 N are pulled at
    ω = √(10 / (0.00509 · 0.021)) = 306 per second, 2922 rev/min."""
    fly = Cutter(kind="fly-cutter", diameter=60, flutes=1, thickness=6, shank=24, reach=20)
    found = balance_speed(fly)
    assert found is not None
    assert found.value == pytest.approx(2922, abs=5)
    assert highest_speed(fly) == found
    assert source(found.source).text
    small = fly.model_copy(update={"diameter": 16.0, "thickness": 1.6, "shank": 6.0})
    own = highest_speed(small)
    assert own is not None
    assert own.source == "fly-cutting"
    # A slender bar gives way before the spindle is shaken: 0.005 mm at the end of a cantilever.
    slender = fly.model_copy(update={"shank": 6.0, "reach": 40.0})
    bends = balance_speed(slender)
    assert bends is not None
    mass = 7.85e-6 * 36 * 27
    omega = bends.value * math.pi / 30
    pull = mass * 16.5 / 1000 * omega**2
    assert pull * 64 * 40**3 / (3 * math.pi * 210000 * 6**4) == pytest.approx(0.005)


@pytest.mark.parametrize("post", ["plain-iso", "strong"])
def test_a_large_fly_cutter_in_brass_is_told_that_its_balance_bounds_it(post: str) -> None:
    machine = BENCH if post == "plain-iso" else STRONG
    fly = Cutter(kind="fly-cutter", diameter=60, flutes=1, thickness=8, shank=10, reach=40,
                 material="diamond")
    cut = free_form_cut(BRASS, fly, machine, 0.3, 0.6)
    bound = balance_speed(fly)
    assert bound is not None
    assert cut.speed <= bound.value
    if machine is STRONG:
        assert cut.governed_by["speed"] == "cutter's balance"
    with pytest.raises(Refused, match="shakes the spindle"):
        free_form_cut(BRASS, fly, machine, 0.3, 0.6, speed=bound.high + 10)


@pytest.mark.parametrize(("kind", "key", "most"), [
    ("reamer", "reaming", 4000), ("tap", "tapping", 3000), ("boring-bar", "boring", 5000),
    ("form-disc", "wheel-cutters", 6000), ("fly-cutter", "fly-cutting", 6000),
    ("countersink", "sinking", 10000), ("counterbore", "sinking", 5000),
])
def test_each_kind_has_its_own_source(kind: CutterKind, key: str, most: float) -> None:
    entry = quantity(block("cutters", kind)["highest-speed"])
    assert (entry.source, entry.high) == (key, most)
    assert len(source(key).text) > 60
    assert rule({"reamer": "ream-speed-share", "tap": "tap-speed-share",
                 "boring-bar": "bore-speed-share"}.get(kind, "fly-speed-share")).source in (
                     key, "fly-cutting")


def test_reaming_is_at_a_third_to_a_half_of_the_drilling_speed() -> None:
    """Handbook tables."""
    share = rule("ream-speed-share").value / rule("drill-speed-share").value
    assert 1 / 3 <= share <= 1 / 2


@pytest.mark.parametrize("diameter", [0.5, 1.0, 2.0, 6.0, 20.0])
@pytest.mark.parametrize("asked", [None, 24000.0])
@pytest.mark.parametrize("said", [None, 8000.0, 24000.0])
def test_a_boring_bar_at_24000_is_never_planned(
    diameter: float, asked: float | None, said: float | None
) -> None:
    bar = Cutter(kind="boring-bar", diameter=diameter, flutes=1, highest_speed=said)
    beyond = [one.word for one in disagreements(bar) if one.word == "highest-speed"]
    if said == 24000.0:
        assert beyond, "a job with such a word is refused"
        return
    assert not beyond
    if asked is None:
        assert plan_cut(BRASS, bar, STRONG).speed <= 8000
        return
    with pytest.raises(Refused, match="highest speed"):
        plan_cut(BRASS, bar, STRONG, speed=asked)


def test_one_bite_is_held_against_what_the_spindle_gives_and_carries() -> None:
    """By hand: a bite's mean torque through its angle is at most the spindle's, overloaded, and
    what 30 kg·mm² give where they slow by a tenth."""
    fly = parse_cutter("hss fly-cutter 30 reach 25")
    weak = BENCH.model_copy(update={"spindle": BENCH.spindle.model_copy(update={
        "power": ((300.0, 3.0), (1000.0, 10.0), (24000.0, 200.0))})})
    deep, wide = 2.0, 0.77
    cut = free_form_cut(BRASS, fly, weak, wide * deep, deep, passes=1)
    assert cut.governed_by["feed"] == "spindle torque"
    turn = 60.0 / cut.speed
    bite = cut.power * turn * 1000  # N·mm in one turn, one edge
    angle = math.acos(1 - 2 * deep / 30)
    torque = 10.0 * cut.speed / 1000 if cut.speed <= 1000 else 10 + (cut.speed - 1000) / 23000 * 190
    torque = torque * 30000 / (math.pi * cut.speed)
    carried = 30 / 1000 * (cut.speed * math.pi / 30) ** 2 * 0.1
    assert bite <= (1.5 * torque * angle + carried) * 1.02
    assert bite >= (1.5 * torque * angle + carried) * 0.9
    bounds = form_feed_bounds(BRASS, fly, weak, wide, deep, cut.speed)
    assert bounds is not None
