"""Holes with limits come out within them on machines of any increments, or are refused by word.

The widest and the narrowest across are taken from the text by a few lines of this file's own.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache

import pytest
from odd_machines import machine_with
from workshop import read as parse

from camgen.faults import Refused
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import gather
from camgen.proof.flat.holes.holes_made import prove_within_limits
from camgen.reader import read_program
from camgen.shop.machine import Machine

JOB = """
job: a plate
material: brass
plate:
  thickness: 1.2
  outline: {circle: 14}
  jewels:
    centre: {diameter: 1.5, at: [[%s, %s]]}
cutters:
  small: {kind: drill, diameter: 0.8, flute-length: 6, reach: 8}
  fine: {kind: end-mill, diameter: 0.6, flutes: 2, flute-length: 1.8, reach: 2.4}
  reamer: {kind: reamer, diameter: 1.49, flutes: 6, flute-length: 8, reach: 10}
setups:
  - name: train
    stock: {sheet: [20, 20], thickness: 1.2}
    holding: {by: shellac on brass, cut-into: 0.5, holds-slugs: true}
    steps:
      - drill: {cutter: small, holes: [centre]}
      - bore: {cutter: fine, holes: [centre], drilled: 0.8%s}
"""
# A press fit of a jewel of 1.5 mm in brass may be 3 µm wider or narrower than 1.490 mm.
LEAST, MOST = 1.487, 1.493
PLACES = ((0.0, 0.0), (1.2345, -2.3456), (0.0007, 3.0005))


def increments(x: float, y: float) -> str:
    return f"x: {{increment: {x}}}\ny: {{increment: {y}}}\n"


@lru_cache(maxsize=32)
def made(words: str, x: float, y: float, more: str = "", base: str = "plain-iso") -> tuple[
        Machine, str, dict[str, tuple[bool, float, float]]]:
    """The program of the plate, and what its proof of limits says."""
    machine = machine_with(base, words)
    job = parse(JOB % (x, y, more))
    (setup,) = plan_job(job, machine).setups
    programs = write_programs(setup.moves, machine, stem="plate")
    read = [read_program(one.text, machine, "plate.nc") for one in programs]
    evidence = gather(setup.name, job.job, machine, setup.layout, setup.moves, read)
    return machine, "".join(one.text.decode("ascii") for one in programs), {
        str(one.id): (one.holds, one.figure, one.limit) for one in prove_within_limits(evidence)}


def across(text: str, cutter: float) -> tuple[float, float]:
    """How wide the hole is across X and across Y, from the fed blocks of the last cutter."""
    at, motion, places = {"X": 0.0, "Y": 0.0}, "", []
    for line in text[text.rindex("M6"):].splitlines():
        words = dict(re.findall(r"([A-Z])([-+.\d]+)", re.sub(r"\(.*?\)", "", line)))
        if "53" in re.findall(r"G(\d+)", line):
            continue
        motion = next((g for g in re.findall(r"G(\d+)", line) if int(g) < 4), motion)
        before = (at["X"], at["Y"])
        at |= {axis: float(words[axis]) for axis in "XY" if axis in words}
        if int(motion or 0) in (2, 3) and ("I" in words or "J" in words):
            a, b = (before[0] + float(words.get("I", 0)), before[1] + float(words.get("J", 0)))
            radius = math.dist((a, b), before)
            first = math.atan2(before[1] - b, before[0] - a)
            last = math.atan2(at["Y"] - b, at["X"] - a)
            side = 1 if motion.endswith("3") else -1
            sweep = side * ((side * (last - first)) % (2 * math.pi))
            places += [(a + radius * math.cos(first + sweep * n / 400),
                        b + radius * math.sin(first + sweep * n / 400)) for n in range(401)]
        elif int(motion or 0) == 1:
            places.append((at["X"], at["Y"]))
    wide = [max(place[axis] for place in places) - min(place[axis] for place in places)
            for axis in (0, 1)]
    return wide[0] + cutter, wide[1] + cutter


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize(("x", "y"), [(0.001, 0.001), (0.0005, 0.002), (0.002, 0.001),
                                      (0.0001, 0.003), (0.005, 0.01), (0.001, 0.005),
                                      (0.004, 0.001), (0.05, 0.05)])
def test_a_seat_is_within_its_limits_or_refused_by_word(
        x: float, y: float, place: tuple[float, float]) -> None:
    coarse = [f"{axis}.increment: {size:g}" for axis, size in (("x", x), ("y", y)) if size > 0.003]
    if coarse:
        with pytest.raises(Refused) as no:
            made(increments(x, y), *place)
        (fault,) = no.value.faults
        assert all(word in str(fault.message) for word in coarse)
        assert str(fault.message).count(".increment") == len(coarse)
        assert "plain-iso" in str(fault.message)
        assert "`ream`" in str(fault.remedy)
        assert fault.place.path.endswith("bore.holes")
        assert fault.place.line
        return
    _, text, proofs = made(increments(x, y), *place)
    assert all(LEAST <= wide <= MOST for wide in across(text, 0.6))
    ((holds, _, limit),) = proofs.values()
    assert holds
    assert limit == pytest.approx(3.0)


@pytest.mark.parametrize(("words", "said"), [
    ("numbers: {decimals: 2}\n", "numbers.decimals: 2"),
    ("program: {units: inch}\nnumbers: {decimals: 3, feed-decimals: 2}\n", "numbers.decimals: 3"),
])
def test_places_too_few_are_named(words: str, said: str) -> None:
    with pytest.raises(Refused) as no:
        made(words, 0.0, 0.0)
    assert said in str(no.value)
    finer = re.search(r"numbers.decimals: (\d)", str(no.value.faults[0].remedy))
    assert finer is not None
    _, _, proofs = made(words.replace(said[8:], f"decimals: {finer[1]}"), 0.0, 0.0)
    assert all(holds for holds, _, _ in proofs.values())


def test_a_circle_wider_than_its_limits_fails_its_proof_however_coarse_the_machine() -> None:
    """The program of a cutter 0.01 mm narrower, on a machine whose wall may be 7 µm off."""
    machine = machine_with("plain-iso", "z: {increment: 0.003}\n")
    job = parse(JOB % (0.0, 0.0, ""))
    near = parse((JOB % (0.0, 0.0, "")).replace("diameter: 0.6,", "diameter: 0.59,"))
    for cut, holds in ((job, True), (near, False)):
        (setup,) = plan_job(cut, machine).setups
        programs = write_programs(setup.moves, machine, stem="plate")
        read = [read_program(one.text, machine, "plate.nc") for one in programs]
        evidence = gather(setup.name, job.job, machine, setup.layout, setup.moves, read)
        (proof,) = prove_within_limits(evidence)
        assert proof.holds is holds, proof
        assert proof.limit == pytest.approx(3.0)
