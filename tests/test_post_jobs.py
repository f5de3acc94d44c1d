"""Any job on any post: the demo jobs written for every shipped machine file."""

from __future__ import annotations

from functools import cache
from itertools import product

import numpy as np
import pytest
from demos import proved_demo
from sampling import sampled

from camgen.job.reading import JobFile, read_job
from camgen.make.variants import Wish
from camgen.moves import SetupMoves
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.reader.motion import Kind
from camgen.shipped import demo_jobs, shipped_folder
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine, machine_names
from camgen.steps import step_words

JOBS = [path.stem for path in demo_jobs()]
PLANES = ((1, 2), (2, 0), (0, 1))
NIST_RADII_AGREE = 0.002
"""mm, NISTIR 6556 (from memory)."""


@cache
def job_file(name: str) -> JobFile:
    return read_job(shipped_folder("jobs") / f"{name}.yaml", step_words())


@cache
def setups(job: str, post: str) -> tuple[Machine, tuple[tuple[str, SetupMoves], ...]]:
    """The job's moves for a machine; machines that stand alike and move alike plan alike."""
    machine = find_machine(post)
    plan = plan_job(job_file(job), machine)
    return machine, tuple((one.name, one.moves) for one in plan.setups)


@pytest.mark.parametrize(("job", "post"), sampled(product(JOBS, machine_names()), 176))
def test_every_arc_of_every_job_on_every_post_keeps_the_radius_rule(job: str, post: str) -> None:
    machine, planned = setups(job, post)
    for name, moves in planned:
        for program in write_programs(moves, machine, stem=name):
            read = read_program(program.text, machine, program.file)
            assert [f.message for f in read.findings if f.grave] == []
            motion = read.motion
            arcs = np.isin(motion.kind, (Kind.ARC_CLOCKWISE, Kind.ARC_ANTICLOCKWISE))
            assert machine.arcs.style != "none" or not arcs.any()
            for normal, pair in enumerate(PLANES):
                these = arcs & (motion.plane == normal)
                start = motion.start[these][:, pair] - motion.centre[these][:, pair]
                end = motion.end[these][:, pair] - motion.centre[these][:, pair]
                differ = np.abs(np.linalg.norm(start, axis=1) - np.linalg.norm(end, axis=1))
                assert differ.max(initial=0.0) <= NIST_RADII_AGREE
                if machine.arcs.style in ("incremental", "absolute"):
                    step = 10.0**-machine.numbers.decimals
                    step *= 25.4 if machine.program.units == "inch" else 1.0
                    assert differ.max(initial=0.0) <= step + 1e-9


@pytest.mark.parametrize("post", sampled(machine_names(), 4))
def test_a_small_job_proves_right_on_every_post(post: str) -> None:
    proved = proved_demo("seconds-pinion", Wish(post=post))
    assert [one.name for one in proved.failed] == []


def test_a_small_memory_gets_by_with_a_fraction_of_the_bytes() -> None:
    sizes = {}
    for post in ("plain-iso", "small-memory"):
        machine, planned = setups("third-wheel", post)
        sizes[post] = sum(
            len(program.text) for name, moves in planned
            for program in write_programs(moves, machine, stem=name)
        )
    assert sizes["small-memory"] < 0.2 * sizes["plain-iso"]
