"""Everything a part has is made by a step or named as made elsewhere, feature by feature.

One job makes all that a part can have. Each thing alone is left out of its steps: then it is
refused by name, and every word by which it can be named lets it go.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import get_args, get_type_hints

import pytest
from sampling import sampled
from workshop import read

from camgen.faults import Fault
from camgen.job.models import SORTS
from camgen.job.order.all_made import making_faults
from camgen.job.order.deeds import features_of_job, names_elsewhere
from camgen.job.order.two_sides import two_sides_faults
from camgen.part.features import (
    Cone,
    Feature,
    Flats,
    Hole,
    Opening,
    OutsideThread,
    Recess,
    RoundHole,
    RoundSlot,
    Thread,
    Whole,
)
from camgen.part.plates.plate_words import Mouth

PLATE = """
job: all that a plate has
material: brass
{elsewhere}plate:
  thickness: 3
  outline: {{rectangle: [40, 30], corner: 2}}
  holes:
    dowels: {{diameter: 1.0, at: [[-18, -12], [18, 12]]}}
    deep: {{diameter: 1.0, depth: 1.0, at: [[-15, -12]]}}
    sunk: {{diameter: 1.0, countersink: 2.0, at: [[-10, -10], [-10, -6]]}}
    head: {{diameter: 1.0, counterbore: {{diameter: 2.0, depth: 0.5}}, at: [[-5, -10]]}}
    screw: {{thread: M1, at: [[0, -10]], countersink: 1.4}}
  jewels:
    third: {{diameter: 1.2, at: [[5, -8]], depth: 0.5, through: 0.4, lead-in: 1.4, oil-sink: 0.9}}
  pockets:
    low: {{rectangle: [5, 5], at: [0, 8], depth: 1.0}}
    round: {{circle: 9, at: [14, -7], depth: 1.0}}
  posts:
    tube: {{circle: 3.97, at: [14, -7], thread: M4x0.5}}
  openings:
    window: {{circle: 4, at: [10, 8]}}
  slots:
    groove: {{ends: [[-12, 8], [-8, 8]], width: 1, depth: 0.8}}
    through: {{ends: [[-12, 4], [-8, 4]], width: 1}}
cutters:
  flat: {{kind: end-mill, diameter: 4, flute-length: 8, reach: 10}}
  mill: {{kind: end-mill, diameter: 0.8, flute-length: 4, reach: 6}}
  fine: {{kind: end-mill, diameter: 0.3, flute-length: 4, reach: 6}}
  cone: {{kind: spot-drill, diameter: 3.0, point-angle: 90, reach: 6}}
  thread: {{kind: thread-mill, diameter: 1.6, pitch: 0.5, flutes: 3, flute-length: 0.5, shank: 0.8,
           reach: 6}}
  tap: {{kind: tap, diameter: 1.0, pitch: 0.25, flute-length: 5, reach: 8}}
setups:
  - name: one
    stock: {{sheet: [50, 40], thickness: {thick}}}
    holding: &wax {{by: wax, carrier: brass, carrier-thickness: 5, cut-into: 2, holds-slugs: true}}
    steps:
      - bore: {{cutter: mill, holes: [dowels]}}
{steps}  - name: two
    face: under
    turned-over: about Y
    stock: {{left-by: one, thickness: 3}}
    zero: {{dowel: dowels-1}}
    holding: *wax
    steps:
      - spot: {{cutter: cone, holes: [deep]}}
{turned}"""
WHEEL = """
job: all that a wheel has
material: brass
{elsewhere}wheel:
  {{teeth: 75, module: 0.14, mate: 10, thickness: 0.25, bore: 0.80,
   hub: {{diameter: 2.4, thickness: 0.5}}, pipe: {{diameter: 1.6, length: 0.2}},
   counterbore: {{diameter: 1.2, depth: 0.1}},
   crossing: {{arms: 5, hub: 2.4, rim: 0.55, arm: 0.45, corner: 0.25}}}}
cutters:
  mill: {{kind: end-mill, diameter: 0.40, flute-length: 0.8, reach: 1.6}}
  cone: {{kind: spot-drill, diameter: 1.0, point-angle: 90, reach: 6}}
  teeth: {{kind: form-disc, diameter: 20, flutes: 14,
          made-for: {{form: cycloidal-wheel, module: 0.14, teeth: 75, mate: 10}}}}
setups:
  - name: blanks
    stock: {{sheet: [60, 30], thickness: 0.7}}
    holding: {{by: shellac, carrier: brass, carrier-thickness: 3, cut-into: 0.4, holds-slugs: true}}
    repeat: {{columns: 2, rows: 2, pitch: [13, 13]}}
    steps:
      - spot: {{cutter: cone}}
{steps}{turned}"""
ARBOR = """
job: all that a turned part has
material: brass
{elsewhere}turned:
  sections: [{{diameter: 2, length: 6}}, {{diameter: 3, length: 4}}]
  flats:
    kept: {{count: 2, across: 1.6, length: 2}}
    square: {{count: 4, across: 1.2, length: 1.5}}
  holes:
    cross: {{count: 1, diameter: 0.5, along: 4.0}}
  slots:
    key: {{count: 1, width: 0.5, depth: 0.3, from: 6.2, length: 1.0}}
cutters:
  mill: {{kind: end-mill, diameter: 2, flute-length: 4, reach: 10}}
  drill: {{kind: drill, diameter: 0.5, flute-length: 4, reach: 10}}
  slot: {{kind: end-mill, diameter: 0.5, flute-length: 1, reach: 6}}
setups:
  - name: round
    held: {{stands-out: 8, behind: {{collet: 8, length: 20}}}}
    steps:
      - mill-flats: {{cutter: mill, flats: [kept]}}
{steps}{turned}"""
HEAD = """  - name: teeth
    dividing: {stack: 2, backing: 1.5, arbor: 4}
    steps:
      - cut-teeth: {cutter: teeth}
"""
DOWELS = "dowels"
# What a fixed step of each job makes, so that it has one whatever is left out.
KEPT = (DOWELS, "kept")


def kind_of(one: Feature) -> str:
    """The kind of a feature, as a person would tell two of them apart."""
    match one:
        case Whole():
            return type(one.thing).__name__
        case Cone():
            return one.mouth
        case Recess() | Opening():
            return f"{type(one).__name__} {one.elsewhere[0]}"
        case Hole() | Thread() | OutsideThread() | Flats() | RoundHole() | RoundSlot():
            return type(one).__name__


def step_for(one: Feature) -> tuple[str, bool]:
    """The step that makes a feature alone, and whether it works at the under face."""
    name = one.group or one.name
    match one:
        case Hole():
            cutter = "fine" if one.diameter < 0.8 else "mill"
            return f"bore: {{cutter: {cutter}, holes: [{name}]}}", False
        case Cone():
            return f"countersink: {{cutter: cone, holes: [{name}]}}", one.face == "under"
        case Thread():
            return f"tap: {{cutter: tap, holes: [{name}], holder-gives: 0.3}}", False
        case OutsideThread():
            return f"outside-thread: {{cutter: thread, posts: [{name}]}}", False
        case Recess():
            return f"pocket: {{cutter: mill, pockets: [{name}]}}", False
        case RoundSlot():
            return f"mill-slots: {{cutter: slot, slots: [{name}]}}", False
        case RoundHole():
            return f"drill: {{cutter: drill, holes: [{name}]}}", False
        case Flats():
            return f"mill-flats: {{cutter: mill, flats: [{name}]}}", False
        case Opening():
            return f"cut-out: {{cutter: mill, openings: [{name}]}}", False
        case Whole():
            return {"outline": "outline: {cutter: mill}", "crossing": "cross-out: {cutter: mill}",
                    "thickness": "face: {cutter: flat}", "teeth": ""}[one.name], False


def alike(one: Feature) -> tuple[str, str]:
    """Of features that one step makes the first stands for all."""
    return kind_of(one), one.group or one.name


def text(part: str, left_out: Feature | None = None, elsewhere: Sequence[str] = (),
         thick: float = 3) -> str:
    """The job of a part, less one thing that it makes."""
    said = f"made-elsewhere: [{', '.join(elsewhere)}]\n" if elsewhere else ""
    steps: list[str] = []
    turned: list[str] = []
    out = alike(left_out) if left_out is not None else None
    seen: set[tuple[str, str]] = set()
    threads = Thread | OutsideThread
    for one in sorted(FEATURES[part], key=lambda one: (isinstance(one, Cone | threads),
                                                       one.name == "outline")):
        if alike(one) in seen or alike(one) == out or one.group in KEPT:
            continue
        seen.add(alike(one))
        step, under = step_for(one)
        if step and one.name != "thickness":
            (turned if under else steps).append(f"      - {step}\n")
    head = HEAD if part == WHEEL and (out is None or out[1] != "teeth") else ""
    return part.format(elsewhere=said, thick=thick, steps="".join(steps),
                       turned="".join(turned) + head)


FEATURES = {part: features_of_job(read(part.format(
    elsewhere="", thick=3, steps="", turned=HEAD if part == WHEEL else "")).job)
    for part in (PLATE, WHEEL, ARBOR)}
CASES = [(part, one) for part, features in FEATURES.items()
         for one in {alike(one): one for one in features}.values()
         if one.group not in KEPT and one.name != "thickness"]


def unmade(job: str) -> list[Fault]:
    return [fault for fault in making_faults(read(job)) if "no step" in fault.message]


def test_there_is_a_case_of_every_kind_of_feature() -> None:
    """A kind that is added, or a sort for made-elsewhere, has none until it is put in above."""
    every = {one for features in FEATURES.values() for one in features}
    assert {type(one) for one in every} == set(get_args(Feature))
    assert {type(one.thing) for one in every if isinstance(one, Whole)} == set(
        get_args(get_type_hints(Whole)["thing"]))
    assert {one.mouth for one in every if isinstance(one, Cone)} == set(get_args(Mouth))
    assert {word for one in every for word in one.elsewhere} == set(SORTS)


@pytest.mark.parametrize("part", [PLATE, WHEEL, ARBOR], ids=["plate", "wheel", "arbor"])
def test_a_job_that_makes_everything_needs_no_word(part: str) -> None:
    assert unmade(text(part)) == []


@pytest.mark.parametrize(("part", "one"), sampled(CASES, 6), ids=lambda one: (
    "" if isinstance(one, str) else f"{kind_of(one)} {one.name}".replace(" ", "-")))
def test_what_no_step_makes_is_refused_unless_it_is_named(part: str, one: Feature) -> None:
    (fault, *more) = unmade(text(part, one))
    # A hole that is not there lacks no more than itself.
    assert [each for each in more if "goes" not in each.message] == []
    assert fault.place.line > 0
    # Of several holes alike each has a name of its own besides.
    names = set.intersection(*({*names_elsewhere(each), *each.elsewhere}
                               for each in FEATURES[part] if alike(each) == alike(one)))
    assert names
    for name in sorted(names):
        assert unmade(text(part, one, (name,))) == [], name
    # What is offered in words is one of them.
    assert any(f"[{name}]" in fault.remedy or f" {name}" in fault.message for name in names)
    assert len(unmade(text(part, one, (DOWELS,) if part == PLATE else ()))) == 1 + len(more)


def test_a_thickness_that_no_step_makes_is_refused_unless_it_is_named() -> None:
    def told(job: str) -> list[Fault]:
        return [fault for fault in two_sides_faults(read(job))
                if "made-elsewhere: [thickness]" in fault.remedy]

    thicker = text(PLATE, thick=3.3).replace("left-by: one, thickness: 3}",
                                             "left-by: one, thickness: 3.3}")
    assert told(text(PLATE)) == []
    assert len(told(thicker)) == 1
    assert told("made-elsewhere: [thickness]\n" + thicker.lstrip()) == []


@pytest.mark.parametrize("one", [one for _, one in CASES if isinstance(one, Cone | Thread)],
                         ids=lambda one: f"{kind_of(one)}-{one.name}")
def test_a_cone_or_thread_is_named_alone_and_its_hole_is_still_wanted(one: Cone | Thread) -> None:
    alone = f"{one.at[2]}-{one.mouth if isinstance(one, Cone) else 'thread'}"
    assert alone in names_elsewhere(one)
    assert unmade(text(PLATE, one, (alone,))) == []
    (fault, *_) = unmade(text(PLATE, one.hole, (alone,)))
    assert one.hole.group in fault.message
