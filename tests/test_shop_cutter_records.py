"""Cutters as records: what each kind can do, its outline, its highest speed, what no cutter is;
and that nobody outside the cutters' room asks for a kind by its name."""

from __future__ import annotations

import ast
import math
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from program_source import files_of, nodes_of, text_of

import camgen
from camgen.cutting.planner import _PLANNERS, plan_cut
from camgen.faults import Refused
from camgen.job.reading import read_job
from camgen.shipped import demo_jobs
from camgen.shop.cutters import (
    RECORDS,
    Ability,
    Cutter,
    CutterKind,
    EdgeForm,
    MadeFor,
    PartName,
    Way,
    disagreements,
    highest_speed,
    kinds_that_can,
    opening_of,
    own_cutters,
    parse_cutter,
    profile_of,
    record_of,
)
from camgen.shop.machine import Machine
from camgen.shop.materials import find_material
from camgen.shop.tables import block, source
from camgen.steps import step_words

KINDS = get_args(CutterKind)
ROOT = Path(camgen.__file__).parent
# Rooms whose words are not cutters' though they sound alike: a program's cycles.
NOT_CUTTERS = ("reader/", "post/")


# --- nobody asks for a kind by its name -----------------------------------------------------------

def asked_by_kind(source: str) -> list[str]:
    """Comparisons in a source of a cutter's kind with a name of one, and tuples of such names.

    A step's kind may have the name of a cutter's: what is compared is looked at, and a name that
    only cutters have counts wherever it is compared.
    """
    only_cutters = set(KINDS) - {"drill", "countersink", "counterbore", "tap", "thread-mill"}
    found = []
    for node in nodes_of(source, ast.Compare, ast.Tuple, ast.List, ast.Set, ast.Dict):
        if isinstance(node, ast.Compare):
            names = {one.value for one in ast.walk(node) if isinstance(one, ast.Constant)
                     and isinstance(one.value, str)}
            if not any(isinstance(one, ast.Attribute) and one.attr == "kind"
                       for one in ast.walk(node)) and not names & only_cutters:
                continue
            text = ast.unparse(node)
            of_cutter = any(word in text for word in ("cutter.kind", "bar.kind", "one.kind"))
            constant = any(isinstance(side, ast.Name) and side.id.isupper()
                           for side in (node.left, *node.comparators))
            if names & only_cutters or (of_cutter and (
                    names & set(KINDS) or (constant and "cutter.kind" in text))):
                found.append(text)
        elif isinstance(node, (ast.Tuple, ast.List, ast.Set)):
            names = [one.value for one in node.elts if isinstance(one, ast.Constant)]
            if len(names) > 1 and len(names) == len(node.elts) and (
                    set(names) <= set(KINDS) and set(names) & only_cutters):
                found.append(ast.unparse(node))
        elif isinstance(node, ast.Dict):
            names = [key.value for key in node.keys if isinstance(key, ast.Constant)]
            if set(names) & only_cutters:
                found.append(ast.unparse(node))
    return found


def test_no_room_but_the_cutters_own_asks_for_a_kind_by_its_name() -> None:
    looked = 0
    for file in files_of():
        name = file.relative_to(ROOT).as_posix()
        if name.startswith(("shop/cutters/", *NOT_CUTTERS)):
            continue
        looked += 1
        assert not asked_by_kind(text_of(file)), name
    assert looked > 150


@pytest.mark.parametrize("planted", [
    "x = cutter.kind == 'reamer'", "x = cutter.kind == 'tap'", "x = cutter.kind in LONG",
    "x = kind in ('end-mill', 'ball-end-mill')", "LONG = ('drill', 'end-mill')",
    "x = {'form-disc': 1}[cutter.kind]", "x = one.kind != 'boring-bar'",
    "if cutter.kind not in ['drill']: pass", "x = [c for c in cs if c.kind == 'engraver']",
])
def test_one_that_is_planted_is_found(planted: str) -> None:
    assert asked_by_kind(planted)


# --- records --------------------------------------------------------------------------------------

def test_every_kind_has_a_record_a_way_and_figures() -> None:
    assert tuple(RECORDS) == KINDS
    for kind, record in RECORDS.items():
        assert record.kind == kind
        assert block("cutters", kind)["flutes"]
        for word in record.said:
            assert parse_cutter(f"{word} 1.0 1 flutes").kind == kind


def test_every_ability_is_some_kinds_and_every_way_has_a_planner() -> None:
    assert set(_PLANNERS) == set(Way)
    for ability in Ability:
        assert kinds_that_can(ability)


def test_what_may_not_meet_solid_metal_says_how_wide_its_hole_must_be() -> None:
    never = {kind for kind, record in RECORDS.items() if not record.meets_solid}
    assert never == {"counterbore", "reamer", "boring-bar", "tap", "thread-mill", "form-disc",
                     "fly-cutter", "slitting-saw", "probe"}
    for kind in KINDS:
        wide = opening_of(Cutter(kind=kind, diameter=2.0, pitch=0.4))
        assert (wide is not None) == (kind in never), kind
        assert wide is None or 0 < wide <= 2.0


def test_a_mill_that_cannot_plunge_says_so_and_needs_its_dead_middle_open() -> None:
    mill = Cutter(kind="end-mill", diameter=2.0, plunges=False)
    assert record_of(mill).meets_solid
    assert not record_of(mill).plunges
    assert opening_of(mill) == 1.0
    assert opening_of(Cutter(kind="end-mill", diameter=2.0, plunges=True)) is None


# --- outlines -------------------------------------------------------------------------------------

@st.composite
def any_cutter(draw: st.DrawFn) -> Cutter:
    size = draw(st.floats(0.1, 30))
    words: dict[str, Any] = {"kind": draw(st.sampled_from(KINDS)), "diameter": size}
    for word, low, high in (("flute_length", 0.2, 5), ("reach", 0.2, 12), ("shank", 0.2, 3),
                            ("holder", 1.1, 9), ("thickness", 0.02, 0.4), ("arbor", 0.2, 0.8),
                            ("tip", 0, 0.9), ("corner_radius", 0, 0.5), ("pitch", 0.05, 0.3)):
        if draw(st.booleans()):
            words[word] = size * draw(st.floats(low, high))
    if draw(st.booleans()):
        words["point_angle"] = draw(st.floats(10, 170))
    return Cutter(**words)


@given(any_cutter())
def test_the_parts_of_any_outline_stand_on_one_another_without_gap(cutter: Cutter) -> None:
    profile = profile_of(cutter)
    for below, above in zip(profile.parts, profile.parts[1:], strict=False):
        assert below.high == pytest.approx(above.low)
    for part in profile.parts:
        heights = [z for _, z in part.outline]
        assert heights == sorted(heights)
        assert all(r >= 0 and math.isfinite(r) and math.isfinite(z) for r, z in part.outline)
    assert [part.name for part in profile.parts][-2:] == [PartName.HOLDER, PartName.NOSE]
    assert profile.edge.radius == pytest.approx(cutter.diameter / 2)
    assert profile.radius_at(profile.parts[-1].high + 1) == 0
    # What is not said is told, by the word that would say it.
    for word in ("reach", "holder"):
        said = getattr(cutter, word) is not None
        assert said != any(one.word == word for one in profile.taken)


@pytest.mark.parametrize(("cutter", "points"), [
    # A drill of 118°: its point is r / tan 59° high.
    (Cutter(kind="drill", diameter=2, point_angle=118, flute_length=8, reach=10),
     [(0, 0), (1, 1 / math.tan(math.radians(59))), (1, 8)]),
    (Cutter(kind="engraver", diameter=4, tip=0.2, point_angle=90, reach=8),
     [(0, 0), (0.1, 0), (2, 1.9), (2, 8)]),
    # A tap M1: 1 − 1.0825 · 0.25 at its end, full after three pitches.
    (Cutter(kind="tap", diameter=1, pitch=0.25, flute_length=4, reach=6),
     [(0, 0), (0.36468, 0), (0.5, 0.75), (0.5, 4)]),
    (Cutter(kind="form-disc", diameter=20, thickness=2, arbor=12, shank=8, reach=20),
     [(0, -1), (10, -1), (10, 1)]),
])
def test_an_edge_is_where_geometry_puts_it(cutter: Cutter, points: list[tuple[float, float]]
                                           ) -> None:
    outline = profile_of(cutter).edge.outline
    assert len(outline) == len(points)
    for found, wanted in zip(outline, points, strict=True):
        assert found == pytest.approx(wanted, abs=1e-4)


@given(st.floats(0.2, 20), st.floats(0, 1))
def test_a_ball_is_round(diameter: float, share: float) -> None:
    profile = profile_of(Cutter(kind="ball-end-mill", diameter=diameter))
    radius, height = diameter / 2, share * diameter / 2
    # Chords of 7.5° lie within the ball by at most 1 − cos 3.75° of its radius.
    away = math.hypot(profile.radius_at(height), radius - height)
    assert 0.9978 * radius <= away <= radius * (1 + 1e-9)
    assert profile.radius_at(radius) == pytest.approx(radius)


def test_a_disc_stands_between_screw_and_collar_below_its_holder() -> None:
    disc = Cutter(kind="form-disc", diameter=20, thickness=2, arbor=12, shank=8, reach=20,
                  holder=25)
    parts = {part.name: part for part in profile_of(disc).parts}
    assert list(parts) == [PartName.SCREW, PartName.EDGE, PartName.COLLAR, PartName.SHANK,
                           PartName.HOLDER, PartName.NOSE]
    assert (parts[PartName.SCREW].radius, parts[PartName.COLLAR].radius) == (6, 6)
    assert parts[PartName.SHANK].radius == 4
    # From the far side of the edge to the holder is the reach.
    assert parts[PartName.HOLDER].low == pytest.approx(20 - 1)
    assert parts[PartName.HOLDER].radius == 12.5


def test_a_single_point_is_on_one_side_only() -> None:
    for kind in KINDS:
        edge = profile_of(Cutter(kind=kind, diameter=6, shank=4, reach=20)).edge
        assert edge.one_sided == (RECORDS[kind].edge is EdgeForm.SINGLE_POINT)


# --- the highest speed ----------------------------------------------------------------------------

FAST = Machine(name="fast", describes="an example")
SLOW = FAST.model_copy(update={"spindle": FAST.spindle.model_copy(update={
    "lowest": 300.0, "power": ((300.0, 100.0), (24000.0, 200.0))})})


def small(kind: CutterKind) -> Cutter:
    pitch = 0.25 if RECORDS[kind].threads else None
    record = RECORDS[kind]
    # A sharp point breaks before it cuts.
    more: dict[str, Any] = {"tip": 0.3} if record.pointed else {}
    return Cutter(kind=kind, diameter=1.0, pitch=pitch, reach=4.0,
                  flutes=1 if record.single_point or record.half_round else 3,
                  shank=0.8 if record.bores else None, **more)


def test_a_probe_cuts_nothing() -> None:
    with pytest.raises(Refused, match="a probe cuts nothing"):
        plan_cut(find_material("brass"), Cutter(kind="probe", diameter=2.0), SLOW)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if not RECORDS[kind].touches])
def test_no_cutter_is_planned_or_asked_beyond_its_own_highest_speed(kind: CutterKind) -> None:
    brass = find_material("brass")
    cutter = small(kind)
    own = highest_speed(cutter)
    planned = plan_cut(brass, cutter, SLOW)
    assert own is None or planned.speed <= own.value
    if own is None:
        assert kind in ("drill", "spot-drill", "end-mill", "ball-end-mill", "bull-end-mill",
                        "chamfer-mill", "thread-mill")
        return
    assert source(own.source).kind in ("practice", "memory")
    assert own.low < own.value <= own.high
    if own.high < SLOW.spindle.highest:
        with pytest.raises(Refused, match="cutter's highest speed"):
            plan_cut(brass, cutter, SLOW, speed=own.high + 1)


def test_a_boring_bar_never_turns_at_24000() -> None:
    bar = Cutter(kind="boring-bar", diameter=1.0, shank=0.8, reach=3, flutes=1)
    cut = plan_cut(find_material("brass"), bar, SLOW)
    assert cut.speed == 3000
    assert cut.governed_by["speed"] == "cutter's highest speed"
    asked = plan_cut(find_material("brass"), bar, SLOW, speed=4500)
    assert any("does not shake" in warning for warning in asked.warnings)
    # Its maker's word comes first, either way.
    slower = bar.model_copy(update={"highest_speed": 2000.0})
    assert plan_cut(find_material("brass"), slower, SLOW).speed == 2000
    assert parse_cutter("boring-bar 1 highest-speed 8000").highest_speed == 8000


def test_a_spindle_too_fast_for_a_cutter_is_named() -> None:
    quick = FAST.model_copy(update={"spindle": FAST.spindle.model_copy(update={
        "lowest": 8000.0, "power": ((8000.0, 100.0), (24000.0, 200.0))})})
    with pytest.raises(Refused, match="even the spindle's lowest speed of 8000"):
        plan_cut(find_material("brass"), small("tap"), quick)


# --- what no cutter is ----------------------------------------------------------------------------

WHEEL = MadeFor(form="cycloidal-wheel", module=0.14, teeth=75, mate=10)


@pytest.mark.parametrize(("words", "wrong"), [
    ({"kind": "form-disc", "diameter": 20, "reach": 0.5, "holder": 40}, {"reach"}),
    ({"kind": "fly-cutter", "diameter": 16, "reach": 1, "holder": 60, "flutes": 1}, {"reach"}),
    ({"kind": "form-disc", "diameter": 20, "thickness": 2, "reach": 5, "holder": 40}, {"holder"}),
    ({"kind": "fly-cutter", "diameter": 16, "thickness": 1, "reach": 4, "holder": 60, "flutes": 1},
     {"holder"}),
    ({"kind": "form-disc", "diameter": 20, "shank": 22}, {"shank"}),
    ({"kind": "fly-cutter", "diameter": 16, "shank": 16, "flutes": 1}, {"shank"}),
    ({"kind": "form-disc", "diameter": 20, "arbor": 20}, {"arbor"}),
    ({"kind": "form-disc", "diameter": 20, "thickness": 25}, {"thickness"}),
    ({"kind": "fly-cutter", "diameter": 20, "flutes": 2}, {"flutes"}),
    ({"kind": "boring-bar", "diameter": 2, "shank": 2.5}, {"shank"}),
    ({"kind": "end-mill", "diameter": 1, "flute_length": 5, "reach": 3}, {"reach"}),
    ({"kind": "end-mill", "diameter": 1, "corner_radius": 0.6}, {"corner-radius"}),
    ({"kind": "engraver", "diameter": 1, "tip": 1.2}, {"tip"}),
    ({"kind": "engraver", "diameter": 1, "tip": 1.0}, {"tip"}),
    ({"kind": "tap", "diameter": 1, "pitch": 1.0}, {"pitch"}),
    ({"kind": "drill", "diameter": 10, "reach": 2}, {"reach"}),
    ({"kind": "ball-end-mill", "diameter": 10, "reach": 4}, {"reach"}),
    ({"kind": "end-mill", "diameter": 1, "shank": 6, "reach": 8, "flute_length": 2, "holder": 5},
     {"holder"}),
    ({"kind": "drill", "diameter": 1, "run_out": 0.3}, {"run-out"}),
    ({"kind": "drill", "diameter": 1, "edge_radius": 0.3}, {"edge-radius"}),
    ({"kind": "drill", "diameter": 1, "pitch": 0.3}, {"pitch"}),
    ({"kind": "form-disc", "diameter": 20, "plunges": True}, {"plunges"}),
])
def test_what_cannot_be_is_told_by_its_word(words: dict[str, Any], wrong: set[str]) -> None:
    if RECORDS[words["kind"]].forms:
        words = {"made_for": WHEEL, **words}
    assert {one.word for one in disagreements(Cutter(**words))} == wrong
    for one in disagreements(Cutter(**words)):
        assert one.what
        assert one.remedy


def test_the_demo_cutters_and_the_usual_ones_are_all_possible() -> None:
    for path in demo_jobs():
        for name, cutter in read_job(path, step_words()).job.cutters.items():
            assert not list(disagreements(cutter)), (path, name)
    for kind in KINDS:
        assert not list(disagreements(small(kind)))


def test_the_workshops_own_table_is_looked_at_too(tmp_path: Path) -> None:
    (tmp_path / "cutters.yaml").write_text(
        "saw: {kind: form-disc, diameter: 20, thickness: 2, reach: 0.5, holder: 40}\n")
    with pytest.raises(Refused, match="inside its holder") as no:
        own_cutters(tmp_path)
    assert no.value.faults[0].place is not None
    assert no.value.faults[0].place.line == 1


# --- a kind added by the recipe -------------------------------------------------------------------

SAW = '''\
    _record("slitting-saw", Message("slitting saw"), Message("SLITTING SAW"), Way.FORM_CUTTING,
            EdgeForm.FORM, End.OPEN, sideways=True, said=("saw",)),
)}


class _OfAKind'''


def test_a_kind_of_cutter_is_one_record_and_its_figures(tmp_path: Path) -> None:
    copy = tmp_path / "camgen"
    # Rooms that stand on the shop's and the planner's are not asked.
    shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(
        "clearing", "commands", "drawings", "job", "layout", "library", "make", "post", "preview",
        "proof", "reader", "sheet", "steps"))
    records = copy / "shop/cutters/records.py"
    text = records.read_text(encoding="utf-8")
    text = text.replace('    "fly-cutter",\n]', '    "fly-cutter", "slitting-saw",\n]')
    text = text.replace(")}\n\n\nclass _OfAKind", SAW)
    records.write_text(text, encoding="utf-8")
    table = copy / "shop/data/cutters.yaml"
    table.write_text(table.read_text(encoding="utf-8") + """
slitting-saw:
  flutes: {value: 40, unit: edges, source: practice}
  reach: {value: 1, unit: D, source: practice}
  thickness: {value: 0.02, unit: D, source: practice}
  shank: {value: 0.3, unit: D, source: practice}
  highest-speed: {value: 800, unit: rev/min, low: 100, high: 1500, source: practice}
""", encoding="utf-8")
    asked = """
from camgen.cutting.planner import plan_cut
from camgen.faults import Refused
from camgen.shop.cutters import disagreements, parse_cutter, profile_of, record_of
from camgen.shop.machine import Machine
from camgen.shop.materials import find_material
saw = parse_cutter("hss saw 20 thickness 0.3 reach 20 shank 6")
assert saw.kind == "slitting-saw" and saw.flutes == 40 and not list(disagreements(saw))
assert not record_of(saw).meets_solid and not record_of(saw).forms
edge = profile_of(saw).edge
assert (edge.low, edge.high, edge.radius) == (-0.15, 0.15, 10), edge
slow = Machine(name="slow", describes="x").spindle.model_copy(update={"lowest": 300.0,
    "power": ((300.0, 100.0), (24000.0, 200.0))})
mill = Machine(name="slow", describes="x").model_copy(update={"spindle": slow})
cut = plan_cut(find_material("brass"), saw, mill, width=0.3, depth=1.0)
assert cut.speed == 800 and cut.governed_by["speed"] == "cutter's highest speed", cut
try:
    plan_cut(find_material("brass"), saw, mill, width=0.3, depth=1.0, speed=2000)
except Refused as no:
    assert "slitting-saw" in str(no)
else:
    raise SystemExit("not refused")
try:
    parse_cutter("saw 20 reach 0.2 thickness 0.3")
except Refused:
    print("told")
"""
    run = subprocess.run([sys.executable, "-c", asked], cwd=tmp_path, text=True, timeout=60,
                         capture_output=True, check=False,
                         env={**os.environ, "PYTHONPATH": str(tmp_path)})
    assert run.stdout == "told\n", run.stderr
