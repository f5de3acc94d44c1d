"""Climb or conventional milling asked for: had where it can be, else told what must change."""

from __future__ import annotations

import re
from itertools import product

import numpy as np
import pytest
from arrangements import WAYS
from sampling import sampled
from workshop import DRIVEN, TEETH, WHEEL, arranged, read

from camgen.faults import Fault, Refused
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import each_proof, gather
from camgen.reader import read_program
from camgen.shop.machine import Machine


def planned(words: str, machine: Machine, wheel: str = WHEEL) -> PlannedSetup | list[Fault]:
    try:
        return plan_job(read(wheel + TEETH % ("touch", f", passes: 2{words}")), machine).setups[0]
    except Refused as no:
        return list(no.faults)


def both_senses(machine: Machine) -> Machine:
    spindle = machine.spindle.model_copy(update={"senses": ("clockwise", "anticlockwise")})
    return machine.model_copy(update={"spindle": spindle})


def failing(one: PlannedSetup, machine: Machine, words: str,
            change: tuple[str, str] = ("", "")) -> list[str]:
    texts = [program.text.decode().replace(*change)
             for program in write_programs(one.moves, machine, stem="x")]
    programs = [read_program(text.encode(), machine, "x.nc", infeed=one.moves.retract_axis)
                for text in texts]
    job = read(WHEEL + TEETH % ("touch", f", passes: 2{words}")).job
    evidence = gather(one.name, job, machine, one.layout, one.moves, programs,
                      planned_cuts=one.cuts)
    return [proof.id.word for proof in each_proof(evidence) if not proof.holds]


def climbs_by_hand(along: str, infeed: str, clockwise: bool) -> bool:
    """As every miller knows it: seen from above, a cutter that turns clockwise climbs where the
    metal is on the right of its way, and goes against the feed where it is on the left."""
    way, into = np.zeros(3), np.zeros(3)
    way["XYZ".index(along[1])] = 1 if along[0] == "+" else -1
    into["XYZ".index(infeed[1])] = 1 if infeed[0] == "+" else -1
    metal_on_the_left = np.cross(way, into)[2] > 0
    return bool(metal_on_the_left != clockwise)


@pytest.mark.parametrize(("how", "asked"), sampled(product(WAYS, ["climb", "conventional"]), 5))
def test_what_is_asked_is_had_or_told_what_must_change(how: tuple[str, str, str], asked: str
                                                       ) -> None:
    machine = both_senses(arranged(*how))
    words = f", milling: {asked}"
    one = planned(words, machine)
    if how[2] != "Z":
        assert isinstance(one, list)
        (fault,) = one
        assert fault.place.line > 0
        side = re.findall(r"spindle: (\w+) where", str(fault.remedy))
        assert sorted(side) == ["anticlockwise", "clockwise"]
        return
    assert isinstance(one, PlannedSetup)
    clockwise = one.moves.sections[0].clockwise
    assert climbs_by_hand(how[0], how[1], clockwise) == (asked == "climb")
    assert failing(one, machine, words) == []
    other = ("M3", "M4") if clockwise else ("M4", "M3")
    assert "milling-sense" in failing(one, machine, words, other)


@pytest.mark.parametrize("asked", ["climb", "conventional"])
def test_a_spindle_of_one_sense_is_answered_with_how_the_head_must_stand(asked: str) -> None:
    answers = {}
    for how in (("-X", "+Y", "Z"), ("-X", "-Y", "Z")):
        one = planned(f", milling: {asked}", arranged(*how))  # type: ignore[arg-type]
        answers[how] = one
    refused = [one for one in answers.values() if isinstance(one, list)]
    assert len(refused) == 1
    (fault,) = refused[0]
    assert "infeed: " in str(fault.remedy)
    infeed = re.search(r"infeed: (\S+?),", str(fault.remedy))
    along = re.search(r"along: (\S+)", str(fault.remedy))
    assert infeed is not None
    assert along is not None
    for how in (("-X", infeed[1], "Z"),
                (along[1], next(w for w in answers if isinstance(answers[w], list))[1], "Z")):
        assert isinstance(planned(f", milling: {asked}", arranged(*how)),  # type: ignore[arg-type]
                          PlannedSetup)


def test_a_sense_typed_against_what_is_asked_is_told() -> None:
    machine = both_senses(DRIVEN)
    good = planned(", milling: climb", machine)
    assert isinstance(good, PlannedSetup)
    turn = "clockwise" if good.moves.sections[0].clockwise else "anticlockwise"
    other = "anticlockwise" if turn == "clockwise" else "clockwise"
    assert isinstance(planned(f", milling: climb, spindle: {turn}", machine), PlannedSetup)
    found = planned(f", milling: climb, spindle: {other}", machine)
    assert isinstance(found, list)
    assert f"spindle: {turn}" in str(found[0].remedy)


def test_a_cutter_for_one_hand_is_not_put_on_the_other_way_round() -> None:
    wheel = WHEEL.replace("{teeth: 75, module: 0.14, mate: 10,",
                          "{teeth: 40, module: 0.2, form: ratchet, front: 0,").replace(
        "{form: cycloidal-wheel, module: 0.14, teeth: 75, mate: 10}",
        "{form: ratchet, module: 0.2, teeth: 40, front: 0}")
    machine = both_senses(DRIVEN)
    answers = [planned(f", milling: {asked}", machine, wheel)
               for asked in ("climb", "conventional")]
    refused = [one for one in answers if isinstance(one, list)]
    assert len(refused) == 1, refused
    assert "two flanks differ" in str(refused[0][0].message)
