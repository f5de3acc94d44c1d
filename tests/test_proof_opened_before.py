"""What an earlier setup took off is met no more: a mouth bored round a hole that is there."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_wheel_under_face import evidences

from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.load.full_feed import prove_full_feed
from camgen.proof.flat.load.passes import prove_flat_passes
from camgen.proof.result import Proof

MOUTH = """
job: mouth
material: brass
made-elsewhere: [outline]
plate:
  thickness: 0.8
  outline: {circle: 5}
  holes:
    middle: {diameter: 1.2, at: [0, 0], face: MOUTH, counterbore: {diameter: 1.8, depth: 0.3}}
cutters:
  mill: {kind: end-mill, diameter: 0.4, flutes: 2, flute-length: 1.2, reach: 2}
setups:
  - name: one
    stock: {disc: 5, thickness: 0.8}
    FIRST
    holding: {by: shellac, carrier: brass, carrier-thickness: 3, cut-into: 0.3, holds-slugs: true}
    steps: [bore: {cutter: mill, holes: [middle]}]
  - name: two
    stock: {left-by: one, thickness: 0.8}
    SECOND
    zero: {dowel: middle}
    holding: {by: shellac, carrier: brass, carrier-thickness: 3, cut-into: 0.3, holds-slugs: true}
    steps: [bore: {cutter: mill, drilled: 1.2, holes: [middle-counterbore]}]
"""
TURNED = "face: under\n    turned-over: about Y"


def mouth(face: str, first: str) -> str:
    """The hole bored with the face ``first`` up, its mouth then with ``face`` up."""
    return (MOUTH.replace("MOUTH", face)
            .replace("FIRST", TURNED if first == "under" else "")
            .replace("SECOND", TURNED if face == "under" else ""))


def proofs(one: FlatEvidence) -> list[Proof]:
    return [*prove_flat_passes(one), *prove_full_feed(one)]


@pytest.mark.parametrize(("face", "first"), [("under", "upper"), ("upper", "under"),
                                             ("upper", "upper")])
def test_a_mouth_bored_round_a_hole_of_an_earlier_setup_meets_no_more_than_planned(
    face: str, first: str
) -> None:
    two = evidences(mouth(face, first))[1]
    assert [proof for proof in proofs(two) if not proof.holds] == []


def test_where_the_hole_is_not_there_the_same_program_meets_too_much() -> None:
    two = evidences(mouth("under", "upper"))[1]
    failing = [str(proof.id) for proof in proofs(replace(two, earlier=())) if not proof.holds]
    assert any("pass-depth" in id for id in failing)
    assert any("more-metal" in id for id in failing)
