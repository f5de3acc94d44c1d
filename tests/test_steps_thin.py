"""Tabs and skins are refused where they do not bear the force of the cut, or are nearly nothing."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from message_templates import left_in_english
from motion_by_hand import MILL, flat
from sampling import few
from test_steps_outlines import job_text, proofs
from workshop import WHEEL, bench_of, blanks

from camgen.cutting.planner import CutPlan
from camgen.faults import Refused
from camgen.plan import PlannedSetup
from camgen.shop.materials import find_material, material_names
from camgen.steps.walls.outline import Outline
from camgen.steps.walls.tabs import TabWords
from camgen.steps.walls.thin import (
    SKIN,
    TAB_HEIGHT,
    TAB_WIDTH,
    _too_thin,
    bearable_shear,
    crowded_faults,
)
from camgen.words import languages, words

STEP = "outline: {cutter: mill, %s}"
# Strength in shear of some materials, N/mm²: 0.6 to 0.7 of their tensile strength, from memory.
SHEAR = {"brass-leaded": 240, "brass-plain": 200, "pinion-steel": 400, "stainless-316l": 360,
         "titanium-grade-5": 550, "aluminium": 190, "gold-750-yellow": 250, "silver-925": 170,
         "acetal": 40}


def planned(said: str) -> PlannedSetup:
    return blanks(STEP % said, holds_slugs="cut-skin" in said)


def refusal(said: str) -> str:
    try:
        planned(said)
    except Refused as no:
        faults = no.faults
    else:
        return ""
    assert all(fault.place.line > 0 and fault.remedy for fault in faults)
    return " ".join(f"{fault.message} {fault.remedy}" for fault in faults)


def force(cut: CutPlan) -> float:
    return max(one.force for one in (cut, *cut.others))


def test_no_material_is_trusted_with_more_than_it_bears() -> None:
    assert set(SHEAR) <= set(material_names())
    for name, strength in SHEAR.items():
        assert bearable_shear(find_material(name).kc1.value) <= strength


@settings(max_examples=few(48), deadline=None)
@given(st.integers(1, 6), st.floats(0.1, 0.8), st.floats(0.05, 0.16))
def test_tabs_hold_or_are_refused_by_their_section(count: int, width: float, height: float) -> None:
    width, height = round(width, 3), round(height, 3)
    said = f"tabs: {{count: {count}, width: {width}, height: {height}}}"
    cut = planned("tabs: {count: 6, width: 0.8, height: 0.16}").cuts[0]
    borne = bearable_shear(700.0) * height * (width + height) / min(1.0, 2.0 / count)
    refused = refusal(said)
    if borne < force(cut):
        assert "of the cut" in refused
        assert "thin: true" in refused
        with_word = planned(f"{said}, thin: true")
        assert any("may be too thin" in remark for remark in with_word.remarks)
    else:
        assert refused == ""


@pytest.mark.parametrize(("said", "holds"), [
    ("tabs: {count: 2, width: 0.1, height: 0.16}", True),
    ("tabs: {count: 3, width: 0.4, height: 0.05}", True),
    ("skin: 0.01", True), ("skin: 0.01, cut-skin: true", True),
    ("tabs: {count: 12, width: 0.099, height: 0.2}", False),
    ("tabs: {count: 12, width: 0.8, height: 0.049}", False),
    ("tabs: {count: 2, width: 0.001, height: 0.1}", False),
    ("tabs: {count: 2, width: 0.5, height: 0.001}", False),
    ("skin: 0.009", False), ("skin: 0.001", False), ("skin: 0.001, cut-skin: true", False),
])
def test_least_sizes_at_their_ends(said: str, holds: bool) -> None:
    found = refusal(said)
    if "0.05}" in said:
        # High enough, and too little in section for this cutter.
        assert "may as well not be there" not in found
        return
    assert (found == "") == holds, found
    # Some least is left also with the word that lets thinner ones through.
    with_word = refusal(f"{said}, thin: true")
    assert ("may as well not be there" in with_word) == ("0.001" in said)
    if holds:
        step = STEP % said
        made = proofs(planned(said), job_text(step, slugs=str("cut-skin" in said).lower()))
        assert [name for name, proof in made.items() if not proof.holds] == []


def test_a_skin_around_a_small_opening_bears_less_than_around_the_piece() -> None:
    """The same skin, and the same force: 34 mm of wall, and some 3 mm."""
    wheel = WHEEL.replace("arms: 5, hub: 2.4", "arms: 12, hub: 5.4")
    assert blanks(STEP % "skin: 0.012", holds_slugs=False, wheel=wheel)
    with pytest.raises(Refused, match="of wall") as no:
        blanks("cross-out: {cutter: mill, skin: 0.012}", holds_slugs=False, wheel=wheel)
    (fault,) = no.value.faults
    need = fault.remedy.split()[1]
    assert blanks(f"cross-out: {{cutter: mill, skin: {need}}}", holds_slugs=False, wheel=wheel)


def test_what_a_word_lets_through_is_told_in_every_language() -> None:
    (told,) = [remark for remark in planned("skin: 0.006, thin: true").remarks
               if "thin: true" in remark]
    for language in languages():
        if language != "en":
            assert not left_in_english(words(language), told)
    assert not any("thin" in remark for remark in planned("skin: 0.05, thin: true").remarks)


@pytest.mark.parametrize("more", ["", ", cut-skin: true"])
@settings(max_examples=few(48), deadline=None)
@given(share=st.floats(0.2, 1.2))
def test_a_skin_is_not_nearly_the_whole_stock(more: str, share: float) -> None:
    """Of 0.25 mm: a wall that is hardly begun is no wall; what the answer names is accepted."""
    skin = round(0.25 * share, 3)
    refused = refusal(f"skin: {skin}{more}")
    assert bool(refused) == (skin > 0.2)
    if "nearly the whole stock" in refused:
        assert refusal(f"skin: {refused.split('a thinner skin, ')[1].split()[0]}{more}") == ""
    elif refused:
        assert "is the whole stock" in refused


@pytest.mark.parametrize(("words", "told"), [
    ({"tabs": {"count": 2, "width": 0.1, "height": 0.05}}, []),
    ({"tabs": {"count": 2, "width": 0.09, "height": 0.05}}, ["0.09 mm wide"]),
    ({"tabs": {"count": 2, "width": 0.1, "height": 0.04}}, ["0.04 mm high"]),
    ({"tabs": {"count": 2, "width": 0.09, "height": 0.04}}, ["0.09 mm wide", "0.04 mm high"]),
    ({"skin": 0.01}, []), ({"skin": 0.009}, ["a skin of 0.009 mm"]), ({}, [])])
def test_tabs_and_skins_below_their_least_are_told_each(
    words: dict[str, Any], told: list[str]
) -> None:
    bench = bench_of(flat(), {"mill": MILL}, Outline(cutter="mill", **words))
    found = _too_thin(bench, bench.words, TAB_WIDTH, TAB_HEIGHT, SKIN)  # type: ignore[arg-type]
    assert [what in str(one.message) for one, what in zip(found, told, strict=True)] == (
        [True] * len(told))


@pytest.mark.parametrize(("count", "walls", "fit"), [
    (4, (20.0, 50.0), None), (5, (50.0, 20.0), 4), (5, (50.0,), None), (2, (50.0, 2.0), 0)])
def test_on_every_wall_there_is_a_way_down_between_the_tabs(
    count: int, walls: tuple[float, ...], fit: int | None
) -> None:
    """Each takes 1.5 + 2 · 0.5 + 1 mm of the shortest wall, and all no more than 0.8 of it."""
    bench = bench_of(flat(), {"mill": MILL}, Outline(
        cutter="mill", tabs=TabWords(count=count, width=1.5, height=0.5)))
    found = crowded_faults(bench, bench.words, walls)  # type: ignore[arg-type]
    assert [(str(one.remedy).startswith("narrower" if not fit else f"tabs: {{count: {fit}, "),
             f"on {min(walls):.1f} mm of wall" in str(one.message))
            for one in found] == [(True, True)] * (fit is not None)
