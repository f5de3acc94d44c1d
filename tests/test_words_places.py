"""Where a proof of what stands on the table fails, and its cure, in every language."""

from __future__ import annotations

import re

import pytest
from message_templates import left_in_english
from motion_by_hand import Piece, bench_mill, evidence, flat, program
from sampling import sampled
from shapely import box

from camgen.job.models import Job, Setup
from camgen.layout import Clamp
from camgen.part.features import Hole
from camgen.proof import Proof, gather
from camgen.proof.table.cutter_body import prove_cutter_body
from camgen.proof.table.holes_found import prove_holes_found
from camgen.proof.table.ramps import prove_ramps
from camgen.proof.table.upright import prove_upright
from camgen.shapes.path import Point
from camgen.shop.cutters import Cutter
from camgen.words import languages, words

OTHERS = [language for language in languages() if language != "en"]
LONG = {"flute_length": 3.0, "reach": 5.0}
DOWN: list[Piece] = [("line", 0, 0, -4)]


def body(**more: object) -> Cutter:
    return Cutter(kind="end-mill", diameter=2.0, **LONG, **more)  # type: ignore[arg-type]


def told() -> list[Proof]:
    """Answers of every kind: nothing met, and each part, thing and cure."""
    pinned = flat(thickness=8.0, dowels=(Hole("pin", Point(0, 0), 1.0),))
    clamp = Clamp(box(-1, -1, 1, 1), 0.0)
    held = [flat(thickness=8.0, clamps=(clamp,)), flat(thickness=8.0, clamps=(clamp, clamp)),
            pinned]
    cutters = [body(), body(shank=4.0, holder=4.0), body(holder=6.0)]
    found: list[Proof] = []
    for layout in held:
        for cutter in cutters:
            for deep in (-1, -4, -6):
                one = evidence(layout, program([("line", 0, 0, deep)]), cutter=cutter)
                found += (*prove_upright(one), *prove_cutter_body(one))
    needs = [Cutter(kind="tap", diameter=1.0, pitch=0.25), Cutter(kind="reamer", diameter=1.0),
             Cutter(kind="counterbore", diameter=2.0), Cutter(kind="boring-bar", diameter=2.0),
             Cutter(kind="end-mill", diameter=2.0, plunges=False)]
    mill = Cutter(kind="end-mill", diameter=1.0)
    for cutter in needs:
        job = Job(job="by hand", material="brass", cutters={"one": mill, "two": cutter},
                  setups=(Setup(name="work"),))
        for first, deep in ((0.0, -0.5), (-0.3, -0.5), (-1.0, -0.5), (-1.0, -1.4)):
            before: list[Piece] = [("line", 0, 0, first)] if first else []
            pieces = [*((*one, {"cutter": 1}) for one in before),
                      ("rapid", 0, 0, 2, {"cutter": 2}), ("line", 0, 0, deep, {"cutter": 2})]
            found += prove_holes_found(gather("work", job, bench_mill(), flat(), None,
                                              [program(pieces)], {1: mill, 2: cutter}))
    for cutter in (needs[-1], Cutter(kind="thread-mill", diameter=2.0, pitch=0.4)):
        found += prove_ramps(evidence(
            flat(thickness=4.0), program([("line", 0, 0, 0), ("line", 2, 0, -1)]), cutter=cutter))
    return [one for one in found if one.where]


@pytest.mark.parametrize("language", sampled(OTHERS, 2))
def test_where_it_fails_is_said_with_the_same_figures(language: str) -> None:
    say = words(language)
    failing = [one for one in told() if not one.holds]
    assert {one.id.word for one in failing} >= {
        "clamps", "dowels", "cutter-body", "hole-open-before", "dead-middle", "end-in-metal"}
    for proof in told():
        if re.fullmatch(r"X \S+ Y \S+ Z \S+", proof.where):
            continue
        assert left_in_english(say, proof.where) == []
        said = say.say(proof.where)
        assert said != proof.where
        assert sorted(re.findall(r"-?\d+\.?\d*", said)) == sorted(
            re.findall(r"-?\d+\.?\d*", proof.where))
        assert not re.search(r"\b(the|must|drill it|let)\b", said), said
