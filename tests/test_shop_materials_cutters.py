"""Cutters said in trade words."""

from __future__ import annotations

from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from camgen.faults import Refused
from camgen.shop.cutters import CutterKind, cutter_text, find_cutter, parse_cutter, usual


@pytest.mark.parametrize(("words", "values"), [
    ("end-mill 0.4 2 flutes reach 1.6",
     {"kind": "end-mill", "diameter": 0.4, "flutes": 2, "reach": 1.6, "material": "carbide"}),
    ("HSS drill Ø0.75mm flute length 6 reach 9",
     {"kind": "drill", "material": "hss", "diameter": 0.75, "flute_length": 6.0, "reach": 9.0}),
    ("form disc 20, 14 teeth, arbor 8", {"kind": "form-disc", "flutes": 14, "arbor": 8.0}),
    ("ball end mill 1 2 flutes stick out 3", {"kind": "ball-end-mill", "reach": 3.0}),
    ("bull-mill 2 corner 0.3", {"kind": "bull-end-mill", "corner_radius": 0.3}),
    ("diamond fly-cutter 12", {"kind": "fly-cutter", "material": "diamond", "flutes": 1}),
    ("engraving point 3 angle 60 tip 100 um", {"kind": "engraver", "point_angle": 60.0,
                                               "tip": 0.1}),
    ("tap 1.0 pitch 0.25", {"kind": "tap", "pitch": 0.25}),
    ("end-mill 0.125inch", {"diameter": 3.175}),
    ("reamer 0.75 4 flutes", {"kind": "reamer", "flutes": 4}),
    ("end-mill 1 edge radius 4 um run-out 2um", {"edge_radius": 0.004, "run_out": 0.002}),
    ("chamfer 3 angle 90°", {"kind": "chamfer-mill", "point_angle": 90.0}),
])
def test_trade_words_make_a_cutter(words: str, values: dict[str, Any]) -> None:
    cutter = parse_cutter(words)
    assert {name: getattr(cutter, name) for name in values} == pytest.approx(values)


@pytest.mark.parametrize(("words", "said"), [
    ("endmil 0.4", "did you mean endmill"),
    ("end-mill", "diameter is missing"),
    ("0.4 2 flutes", "kind of cutter is missing"),
    ("end-mill 0.4 reach", "reach is followed by no figure"),
    ("end-mill 0.4 7", "7 stands alone"),
    ("end-mill flutes 0.4", "no number stands before flutes"),
    ("end-mill 0.4 2.5 flutes", "2.5 flutes make no sense"),
    ("end-mill 0 2 flutes", "diameter is 0"),
    ("drill 1 angle 190", "an angle of 190"),
    ("end-mill -0.4", "is not a word of a cutter"),
    ("", "kind of cutter is missing"),
])
def test_what_is_not_understood_is_named(words: str, said: str) -> None:
    with pytest.raises(Refused) as no:
        parse_cutter(words)
    assert said in str(no.value)


def test_all_faults_come_at_once() -> None:
    with pytest.raises(Refused) as no:
        parse_cutter("endmil 0.4 reech 3 banana")
    assert len(no.value.faults) >= 3


def test_a_workshops_cutters_have_names(tmp_path: Path) -> None:
    (tmp_path / "cutters.yaml").write_text(
        "crossing mill: {kind: end-mill, diameter: 0.4, flutes: 2, reach: 1.6, strength: 3800}\n"
        "pilot: {kind: drill, diameter: 0.7}\n", encoding="utf-8")
    assert find_cutter("crossing mill", tmp_path).strength == 3800
    assert find_cutter("drill 0.5", tmp_path).diameter == 0.5
    with pytest.raises(Refused, match="did you mean pilot"):
        find_cutter("pilo", tmp_path)
    assert find_cutter("drill 0.5", None).kind == "drill"


def test_all_faults_of_a_workshops_cutters_are_told_with_their_lines(tmp_path: Path) -> None:
    (tmp_path / "cutters.yaml").write_text(
        "a: {kind: endmill, diameter: 0.4}\nb: {kind: drill, diameter: -1}\nc: 3\n",
        encoding="utf-8")
    with pytest.raises(Refused) as no:
        find_cutter("a", tmp_path)
    assert {fault.place.line for fault in no.value.faults} == {1, 2, 3}


@pytest.mark.parametrize("kind", get_args(CutterKind))
def test_every_kind_has_what_is_usual_for_it(kind: CutterKind) -> None:
    assert usual(kind, "flutes") >= 1
    assert usual(kind, "reach") > 0


@given(st.sampled_from(get_args(CutterKind)), st.integers(50, 32000), st.integers(1, 12),
       st.integers(100, 90000), st.sampled_from(["hss", "carbide", "diamond"]))
def test_a_cutter_in_words_reads_back_the_same(kind: str, micrometres: int, flutes: int, reach: int,
                                              material: str) -> None:
    flutes = 1 if kind == "fly-cutter" else flutes
    cutter = parse_cutter(f"{material} {kind} {micrometres / 1000} {flutes} flutes "
                          f"reach {(micrometres + reach) / 1000}")
    again = parse_cutter(cutter_text(cutter))
    assert (again.kind, again.flutes, again.material) == (kind, flutes, material)
    # Words give six figures that count.
    assert again.diameter == pytest.approx(cutter.diameter, rel=1e-5)
    assert again.reach == pytest.approx(cutter.reach, rel=1e-5)


@given(st.text(max_size=60))
def test_any_text_is_a_cutter_or_refused(text: str) -> None:
    try:
        cutter = parse_cutter(text)
    except Refused as no:
        good = bool(no.faults)
    else:
        good = cutter.diameter > 0
    assert good
