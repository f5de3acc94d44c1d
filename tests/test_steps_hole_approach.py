"""The clearance over a hole is gone down as fast as Z follows, all but the last tenth of it."""

from __future__ import annotations

import numpy as np
import pytest
from workshop import DRIVEN, PLATE, read

from camgen.moves import Drill
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import prove
from camgen.reader import read_program
from camgen.shop.machine import Machine

STEPS = ("spot: {cutter: spot}",
         "drill: {cutter: drill, holes: [train], depth: 0.7}",
         "drill: {cutter: drill, holes: [train], depth: 0.7, peck: 0.3}")


def _machine(limit: float, cycles: bool) -> Machine:
    z = DRIVEN.z.model_copy(update={"feed_limit": limit})
    return DRIVEN.model_copy(update={
        "z": z, "cycles": DRIVEN.cycles.model_copy(update={"use": cycles})})


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("clearance", [0.05, 0.5, 2.0])
@pytest.mark.parametrize(("limit", "cycles"), [(1000.0, False), (1000.0, True), (30.0, False)])
def test_only_metal_is_met_at_the_feed_of_a_hole(
    step: str, clearance: float, limit: float, cycles: bool
) -> None:
    machine = _machine(limit, cycles)
    job_file = read(PLATE.replace("    holding:", f"    clearance: {clearance}\n    holding:", 1)
                    + f"      - {step}\n")
    planned = plan_job(job_file, machine).setups[0]
    strokes = [move for move in planned.moves.sections[0].moves if isinstance(move, Drill)]
    (program,) = [read_program(one.text, machine, one.file)
                  for one in write_programs(planned.moves, machine, stem="plate")]
    failed = [str(one.id) for one in prove(job_file, planned, machine, [program])
              if not one.holds]
    assert not [one for one in failed if one.startswith(("motion", "table"))], failed
    motion = program.motion
    fed = np.isfinite(motion.feed)
    goes_on = not cycles and clearance > 0.1 and 2 * strokes[0].feed <= limit
    assert all(bool(one.quick) == goes_on for one in strokes)
    quick = fed & (motion.feed > strokes[0].feed * 1.01)
    assert bool(quick.any()) == goes_on
    if goes_on:
        assert motion.feed[quick] == pytest.approx(limit)
        assert motion.end[quick, 2] == pytest.approx(planned.layout.face + 0.1)
        assert quick.sum() == len(strokes)
