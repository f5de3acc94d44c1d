"""Whole jobs however the head stands: each is proved, and safe from any start.

The second reader knows nothing of the proofs but the axis of the infeed.
"""

from __future__ import annotations

import random
from itertools import product
from pathlib import Path

import pytest
from arrangements import WAYS
from click.testing import CliRunner
from planting.harness import Made, made
from sampling import sampled
from second_control import Start, control
from second_reader import run
from test_second_reader import other, starts

from camgen.commands.read import read
from camgen.faults import Refused
from camgen.shop.machines import find_machine

TOP = Path(__file__).resolve().parent.parent
POSTS = [path.stem for path in sorted((TOP / "postprocessors").glob("*.yaml"))
         if find_machine(path.stem, TOP).dividing is not None]
JOB = """
job: leaves
post: plain-iso
material: brass
made-elsewhere: [bore, outline]
wheel: {{teeth: 12, module: 0.2, mate: 60, thickness: 0.5, bore: 0.8}}
cutters:
  teeth: {{kind: form-disc, diameter: 16, flutes: 12, material: hss, thickness: 2, arbor: 8,
          shank: 6, reach: 15,
          made-for: {{form: cycloidal-wheel, module: 0.2, teeth: 12, mate: 60}}}}
setups:
  - name: teeth
    dividing: {{stack: 2, backing: 1.5, arbor: 1.6, zero: {zero},
               front: {{nut: 1.5, length: 2}}{more}}}
    holding: {{by: arbor}}
    steps:
      - cut-teeth: {{cutter: teeth, passes: 2}}
"""


def job(folder: Path, zero: str = "touch", more: str = "") -> Path:
    """The job as a file."""
    path = folder / "jobs" / "leaves.yaml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(JOB.format(zero=zero, more=more), encoding="utf-8")
    return path


def standing(how: tuple[str, str, str]) -> str:
    """The arrangement in the words of a job."""
    return ", arrangement: {{along: {}, infeed: {}, across: {}}}".format(*how)


def touched(programs: Made, post: str, infeed: str, some: int) -> list[str]:
    """What a program touches, or does otherwise, from a sample of starts."""
    moves = programs.planned.moves
    assert moves.retract_axis == infeed[1]
    on = control(TOP / "postprocessors" / f"{post}.yaml", infeed[1],
                 -1.0 if infeed[0] == "+" else 1.0, moves.retract_to)
    told = []
    for text in programs.texts:
        measure = run(text, on, Start())
        assert len(measure.moves) > 40
        told += measure.touched
        for start in random.Random(f"{post} {infeed}").sample(starts(on), some):
            told += [f"{start.name}: {one}" for one in other(text, on, start, measure)[:1]]
    return told


def amiss(how: tuple[str, str, str], zero: str, post: str, folder: Path, some: int) -> list[str]:
    """What is wrong with the job on a machine where the head stands so."""
    try:
        (programs,) = made(job(folder, zero=zero, more=standing(how)), post)
    except Refused as no:
        return [f"refused: {no}"]
    failing = programs.first_failing(programs.read)
    if failing == "head.rapids" and programs.machine.offsets.stands_at and zero == "axis":
        # The place where the machine file has the cutter stand lies in the stack of such a head.
        return []
    return ([f"{failing} fails"] if failing else []) + touched(programs, post, how[1], some)


@pytest.mark.parametrize(("post", "zero"), sampled(product(POSTS, ["touch", "axis"]), 18))
def test_every_machine_takes_the_head_as_it_may_stand(post: str, zero: str, tmp_path: Path) -> None:
    """A sample here, with one of each infeed; the long run takes all."""
    chance = random.Random(f"{post} {zero}")
    for infeed in ("+X", "-X", "+Y", "-Y"):
        how = chance.choice([one for one in WAYS if one[1] == infeed])
        assert not amiss(how, zero, post, tmp_path, 6), how


@pytest.mark.long
@pytest.mark.parametrize("zero", ["touch", "axis"])
@pytest.mark.parametrize("post", POSTS)
@pytest.mark.parametrize("how", WAYS, ids=str)
def test_every_machine_takes_every_arrangement(
    how: tuple[str, str, str], post: str, zero: str, tmp_path: Path
) -> None:
    assert not amiss(how, zero, post, tmp_path, 60)


def test_a_program_is_read_with_the_head_as_its_job_stands_it(tmp_path: Path) -> None:
    path = job(tmp_path, more=standing(("-Y", "-X", "Z")))
    (programs,) = made(path, "plain-iso")
    program = tmp_path / "leaves-teeth.nc"
    program.write_text(programs.texts[0], encoding="ascii")
    answer = CliRunner().invoke(read, [str(program), "--job", str(path)])
    assert answer.exit_code == 0, answer.output
