"""How long proofs take. Run it: ``python tests/bench_proof.py``;
with ``--largest`` up to a million blocks and more.

Prints processor milliseconds for every setup of the demo jobs, and the share each proof takes; how
the cost grows with the number of pieces on a sheet; and the memory at its peak.
"""

from __future__ import annotations

import re
import sys
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

from planting.harness import Made, made

from camgen.job.reading import parse_job
from camgen.layout import FlatLayout
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import each_proof, gather
from camgen.proof.evidence import Evidence
from camgen.proof.flat.facing import prove_facing
from camgen.proof.flat.flat_removal import prove_flat_removal
from camgen.proof.flat.floors import prove_floors
from camgen.proof.flat.holes.holes_made import prove_concentric
from camgen.proof.flat.load.engagement import prove_engagement
from camgen.proof.flat.load.full_feed import prove_full_feed
from camgen.proof.flat.load.passes import prove_flat_passes
from camgen.proof.flat.thin_walls import prove_thin_walls
from camgen.proof.ground.planned import lay_out
from camgen.proof.head.around_head import prove_around_head
from camgen.proof.head.spaces import prove_spaces
from camgen.proof.head.tooth_form import prove_tooth_form
from camgen.proof.head.tooth_passes import prove_tooth_passes
from camgen.proof.motion.limits import prove_limits
from camgen.proof.motion.same_motion import prove_same_motion
from camgen.proof.table.cutter_body import prove_cutter_body
from camgen.proof.table.head_clear import prove_head_clear
from camgen.proof.table.holes_found import prove_holes_found
from camgen.proof.table.rapids import prove_flat_rapids
from camgen.proof.table.upright import prove_upright
from camgen.reader import read_program
from camgen.shipped import demo_jobs
from camgen.shop.machines import find_machine
from camgen.steps import step_words

JOBS = Path(__file__).resolve().parent.parent / "jobs"
BOTH = (prove_same_motion, prove_limits)
FLAT = (
    *BOTH, prove_flat_rapids, prove_upright, prove_cutter_body, prove_holes_found,
    prove_flat_passes, prove_facing, prove_flat_removal, prove_concentric, prove_floors,
    prove_thin_walls, prove_engagement, prove_full_feed,
)
TEETH = (*BOTH, prove_around_head, prove_head_clear, prove_spaces, prove_tooth_passes,
         prove_tooth_form)


def fresh(setup: Made) -> Evidence:
    """Evidence with nothing worked out yet."""
    return gather(
        setup.planned.name, setup.job, setup.machine, setup.planned.layout, setup.planned.moves,
        setup.read, planned_cuts=setup.planned.cuts,
    )


def best(task: Callable[[], object], times: int = 5) -> float:
    """Least processor milliseconds of several runs."""
    least = float("inf")
    for _ in range(times):
        begun = time.process_time()
        task()
        least = min(least, time.process_time() - begun)
    return 1000 * least


def whole(setup: Made) -> float:
    """Milliseconds for all proofs of a setup."""
    return best(lambda: list(each_proof(fresh(setup))), 3)


def rooms(setup: Made) -> str:
    """Share of each room in hundredths, in the order they run, where it is one or more.

    What one works out the next has at hand.
    """
    flat = isinstance(setup.planned.layout, FlatLayout)
    looked_at = fresh(setup)
    spent: dict[str, float] = {}
    for room in FLAT if flat else TEETH:
        begun = time.process_time()
        list(room(looked_at))
        spent[room.__name__.removeprefix("prove_").replace("_", " ")] = (
            time.process_time() - begun)
    whole = sum(spent.values())
    shares = {name: round(100 * took / whole) for name, took in spent.items()}
    return ", ".join(f"{name} {share}" for name, share in shares.items() if share)


def from_text(text: str, name: str) -> list[Made]:
    """Every setup of a job given as text, on plain-iso."""
    job_file = parse_job(text, JOBS / name, step_words())
    machine = find_machine("plain-iso", JOBS.parent)
    found = []
    for planned in plan_job(job_file, machine).setups:
        texts = [p.text.decode("ascii") for p in write_programs(planned.moves, machine, stem=name)]
        read = tuple(read_program(t, machine, name) for t in texts)
        found.append(Made(planned.name, job_file.job, machine, planned, tuple(texts), read,
                          lay_out(planned.moves)))
    return found


def main() -> None:
    """Print the figures."""
    print("demo jobs, plain-iso: pieces of motion, ms, and of these hundredths for")
    for path in demo_jobs():
        for setup in made(path, "plain-iso"):
            pieces = sum(len(read.motion) for read in setup.read)
            print(f"  {setup.name:42} {pieces:6} {whole(setup):8.1f}   {rooms(setup)}")
    text = (JOBS / "third-wheel.yaml").read_text()
    print("blanks of the third wheel on ever larger sheets")
    sheets = [(4, 2), (10, 6), (20, 15)]
    if "--largest" in sys.argv:
        # 3 500 blanks are more than a million blocks.
        sheets.append((70, 50))
    for columns, rows in sheets:
        larger = re.sub(r"sheet: \[[^]]*\]", f"sheet: [{14 * columns + 10}, {14 * rows + 10}]",
                        text)
        larger = re.sub(r"columns: \d+, rows: \d+", f"columns: {columns}, rows: {rows}", larger)
        setup = from_text(larger, "third-wheel.yaml")[0]
        tracemalloc.start()
        list(each_proof(fresh(setup)))
        peak = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        pieces = len(setup.read[0].motion)
        print(f"  {columns * rows:4} blanks {pieces:8} {whole(setup):8.1f} ms  peak {peak:.0f} MB")


if __name__ == "__main__":
    main()
