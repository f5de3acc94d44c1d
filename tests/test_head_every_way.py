"""Every way a head may stand, on every machine file that has one, in every order of cutting."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest
from arrangements import WAYS
from sampling import sampled
from test_head_arrangements import JOB, POSTS, drawn_up, standing
from workshop import read

from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import each_proof, gather
from camgen.reader import read_program
from camgen.shop.machine import HandHead
from camgen.shop.machines import find_machine

TOP = Path(__file__).resolve().parent.parent
# The words of the step, and the space that is begun at.
ORDERS: dict[str, tuple[str, int | None]] = {
    "plain": ("passes: 2, trial-spaces: 3", None),
    "trial-short": ("passes: 2, trial-spaces: 3, trial-short: 0.02", None),
    "each-round": ("passes: 3, order: each-round, trial-spaces: 2, trial-short: 0.02", None),
    "last-cut": ("passes: 3, last-cut: 0.03, order: each-round", None),
    "from-space": ("passes: 2", 5),
    "from-space-each-round": ("passes: 2, order: each-round", 5),
}


@pytest.mark.parametrize(("how", "post", "order"), sampled(product(WAYS, POSTS, ORDERS), 71))
def test_every_machine_cuts_in_every_order_however_the_head_stands(
        how: tuple[str, str, str], post: str, order: str) -> None:
    """Planned, written, read back and proved; the default run takes a sample."""
    if drawn_up(how, post):
        return  # refused, and told why: test_head_arrangements.py
    words, space = ORDERS[order]
    machine = find_machine(post, TOP)
    text = JOB.format(zero="touch", more=standing(how)).replace("passes: 2", words)
    file = read(text)
    one = plan_job(file, machine, from_space=space).setups[0]
    programs = [read_program(program.text, machine, program.file, infeed=one.moves.retract_axis)
                for program in write_programs(one.moves, machine, stem="leaves")]
    evidence = gather(one.name, file.job, machine, one.layout, one.moves, programs,
                      planned_cuts=one.cuts)
    assert [str(proof.id) for proof in each_proof(evidence) if not proof.holds] == []
    # Arrived at from below alone, by the angles as they are read: each by itself.
    motion = evidence.motion
    turns = motion.angle_end - motion.angle_start
    before = 0.0
    for piece in range(len(motion)):
        if abs(turns[piece]) > 1e-6:
            before = turns[piece]
        elif evidence.cut[piece] and not isinstance(machine.dividing, HandHead):
            assert before > 0
