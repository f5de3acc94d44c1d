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
from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import metal_faults
from camgen.job.reading import read_job
from camgen.reader import read_program
from camgen.shop.machines import find_machine
from camgen.steps import step_words

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


def drawn_up(how: tuple[str, str, str], post: str) -> bool:
    """Whether the cutter would pass through the work above it: that is refused, by its words."""
    machine = find_machine(post, TOP)
    stands = machine.offsets.stands_at
    return how[1] == "+Z" and (
        machine.change.way == "automatic" or (stands is not None and stands[2] > 0))


def amiss(how: tuple[str, str, str], zero: str, post: str, folder: Path, some: int) -> list[str]:
    """What is wrong with the job on a machine where the head stands so."""
    if drawn_up(how, post):
        return []
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


@pytest.mark.parametrize("post", [post for post in POSTS
                                  if find_machine(post, TOP).retract.way != "plain"
                                  or find_machine(post, TOP).offsets.stands_at])
def test_a_cutter_below_the_work_is_never_drawn_up_through_it(post: str, tmp_path: Path) -> None:
    """Nor by whoever writes such a retract into the program: that is told."""
    how = ("-Y", "+Z", "X")
    path = job(tmp_path, more=standing(how))
    if drawn_up(how, post):
        faults = checked(path, post)
        assert ["infeed: -Z" in fault.remedy and fault.place.line > 0 for fault in faults] == [True]
        path = job(tmp_path, more=standing(("-Y", "-Z", "X")))
        assert not checked(path, post)
        return
    (programs,) = made(path, post)
    up = {"machine": "G53 G0 Z0.", "reference": "G91 G28 Z0.\nG90"}[programs.machine.retract.way]
    assert up.split("\n", maxsplit=1)[0] not in programs.texts[0]
    assert programs.first_failing(programs.read) is None
    worse = programs.texts[0].replace("M30", f"{up}\nM30")
    read_back = read_program(worse.encode(), programs.machine, "leaves.nc",
                             infeed=programs.planned.moves.retract_axis)
    found = programs.first_failing((read_back, *programs.read[1:]))
    assert found is not None
    assert found.startswith("motion.")


def checked(path: Path, post: str) -> list[Fault]:
    """What is found wrong with a job on a machine before anything is planned."""
    return metal_faults(read_job(path, step_words()), find_machine(post, TOP))


def test_a_program_is_read_with_the_head_as_its_job_stands_it(tmp_path: Path) -> None:
    path = job(tmp_path, more=standing(("-Y", "-X", "Z")))
    (programs,) = made(path, "plain-iso")
    program = tmp_path / "leaves-teeth.nc"
    program.write_text(programs.texts[0], encoding="ascii")
    answer = CliRunner().invoke(read, [str(program), "--job", str(path)])
    assert answer.exit_code == 0, answer.output
