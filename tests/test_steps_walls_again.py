"""A wall that two steps cut: the second finds something, or is told what the first has taken."""

from __future__ import annotations

import itertools

import pytest
from sampling import sampled
from test_steps_outlines import job_text, proofs
from workshop import blanks, plate

from camgen.faults import Refused

TABS = "tabs: {count: 3, width: 0.4, height: 0.1}"
LOWER = "tabs: {count: 3, width: 0.5, height: 0.06}"
# What a step says more than its cutter, and what it leaves below: everywhere, and where it holds.
LEFT = {"": (0.0, 0.0), "skin: 0.06": (0.06, 0.06), "skin: 0.1": (0.1, 0.1),
        TABS: (0.0, 0.1), LOWER: (0.0, 0.06), "skin: 0.06, cut-skin: true": (0.0, 0.0),
        "direction: conventional": (0.0, 0.0), "finish: 0.03": (0.0, 0.0)}


def said(kind: str, words: str) -> str:
    return f"{kind}: {{cutter: mill{', ' * bool(words)}{words}}}"


def refusal(*steps: str) -> str:
    try:
        blanks(*steps)
    except Refused as no:
        faults = no.faults
    else:
        return ""
    (fault,) = faults
    assert fault.place.line
    assert fault.remedy
    return fault.message


@pytest.mark.parametrize(("kind", "first", "second"), sampled([
    *(("outline", *pair) for pair in itertools.product(LEFT, LEFT)),
    ("cross-out", "skin: 0.06", "skin: 0.1"), ("cross-out", "", ""), ("cross-out", "", TABS)], 6))
def test_the_second_leaves_no_more_than_the_first_left(kind: str, first: str, second: str) -> None:
    refused = refusal(said(kind, first), said(kind, second))
    if first == second:
        assert "says just what step 1 says" in refused
    elif LEFT[first][0] < LEFT[second][1]:
        assert "step 1 has gone deeper" in refused
    else:
        assert refused == ""


@pytest.mark.parametrize("first", [-0.02, 0.0, 0.01, 0.02])
@pytest.mark.parametrize("second", [-0.02, 0.0, 0.01, 0.02])
def test_the_second_brings_the_wall_no_further_out(first: float, second: float) -> None:
    refused = refusal(said("outline", f"correction: {first}, finish: 0.03"),
                      said("outline", f"correction: {second}"))
    assert ("are to be left on the walls" in refused) == (second > first)
    assert refused == "" or "step 1 has left" in refused


def test_any_earlier_step_counts_and_others_between_do_not() -> None:
    assert "step 1 has gone deeper" in refusal(
        said("outline", "finish: 0.03"), said("cross-out", ""), said("outline", "skin: 0.06"))
    assert "step 2 says" not in refusal(said("cross-out", ""), said("outline", ""))


def test_openings_are_told_apart_by_their_names() -> None:
    text = """
job: two eyes
material: brass-leaded
made-elsewhere: [outline]
plate:
  thickness: 1.0
  outline: {circle: 16}
  openings:
    left: {circle: 4, at: [-4, 0]}
    right: {circle: 4, at: [4, 0]}
cutters:
  mill: {kind: end-mill, diameter: 0.80, flutes: 2, flute-length: 1.6, reach: 2.4}
setups:
  - name: top
    stock: {sheet: [30, 30], thickness: 1.0}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 0.5,
              holds-slugs: true}
    steps:
"""
    left, right = (f"cut-out: {{cutter: mill, openings: [{name}]}}" for name in ("left", "right"))
    both = "cut-out: {cutter: mill, skin: 0.1}"
    assert len(plate(left, right, text=text).moves.sections) == 2
    for steps in ((left, right, both), (right, left, both)):
        with pytest.raises(Refused, match="step 1 has gone deeper"):
            plate(*steps, text=text)
    with pytest.raises(Refused, match="step 2 says"):
        plate(both, left, left, text=text)


def test_what_is_gone_through_later_is_not_to_be_cut_by_hand() -> None:
    planned = blanks(said("outline", "skin: 0.06"), said("outline", ""))
    assert any("holds until step 2 goes through it" in one for one in planned.remarks)
    assert not any("cut it by hand" in one for one in planned.remarks)


def test_a_wall_gone_round_twice_holds_every_proof() -> None:
    """The first cut is none the deeper for a second one along the same way."""
    steps = (said("outline", ""), said("outline", "direction: climb, finish: 0.02"))
    found = proofs(blanks(*steps), job_text(*steps))
    assert [name for name, proof in found.items() if not proof.holds] == []


def test_many_tight_corners_are_summed_up() -> None:
    teeth = ", ".join(f"[{10 - n * 0.5}, 6], [{9.75 - n * 0.5}, 5]" for n in range(40))
    text = f"""
job: comb
material: brass-leaded
plate:
  thickness: 1.0
  outline: {{polygon: [[-11, -5], [11, -5], [11, 6], {teeth}, [-11, 6]], corner: 0.0}}
cutters:
  mill: {{kind: end-mill, diameter: 0.80, flutes: 2, flute-length: 1.6, reach: 2.4}}
setups:
  - name: top
    stock: {{sheet: [40, 30], thickness: 1.0}}
    holding: {{by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 0.5,
              holds-slugs: true}}
    steps:
"""
    with pytest.raises(Refused) as no:
        plate("outline: {cutter: mill}", text=text)
    told = [fault.message for fault in no.value.faults if "corner" in fault.message]
    assert len(told) == 1
    assert "does not get into 40 corners, at X" in told[0]
    assert told[0].count(" Y ") == 4
    assert "is sharp" in told[0]
