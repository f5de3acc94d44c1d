"""How long a plate takes from its job to its proof. Run it: ``python tests/bench_plate.py``

Prints processor seconds of each room for the demo plates, and how they grow with the number of
holes and of pockets; ``growth`` is the exponent p of n^p from one row to the next: 1 is in
proportion, and n·log n is 1.2 at these numbers.

Measured once on 30 November 2026, the whole of ``camgen make --no-pictures`` with sheet and report,
processor seconds, on two cores that others kept busy: 400 outline steps 9.0 s, 1000 18.6 s and
499 MB; 3000 are refused after 25.4 s, for their way of 394 m is longer than is looked at; 2500
holes, spotted and drilled, 9.8 s, 10 000 33.1 s and 491 MB.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from camgen.job.reading import parse_job, read_job
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import gather, prove_evidence
from camgen.reader import read_program
from camgen.shop.machines import find_machine
from camgen.steps import step_words

JOBS = Path(__file__).resolve().parent.parent / "jobs"
ROOMS = ("job", "plan", "post", "read", "proof")
PLATES = ("train-plate.yaml", "train-bridge.yaml", "balance-cock.yaml")

GRID = """
job: grid
material: brass
plate:
  thickness: 1.0
  outline: {{rectangle: [{wide}, {high}]}}
{features}
cutters:
  cone: {{kind: spot-drill, diameter: 1.5, point-angle: 90, reach: 6}}
  drill: {{kind: drill, diameter: 0.8, flute-length: 6, reach: 8}}
  mill: {{kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.4, reach: 2.8}}
setups:
  - name: top
    stock: {{sheet: [{stock_wide}, {stock_high}], thickness: 1.0}}
    holding: {{by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 0.5,
              holds-slugs: true}}
    steps:
{steps}
"""


def seconds(task: Callable[[], object]) -> tuple[float, object]:
    """Processor seconds of a task, and what it gives."""
    begun = time.process_time()
    answer = task()
    return time.process_time() - begun, answer


def rooms(read: Callable[[], object]) -> tuple[dict[str, float], int, int]:
    """Seconds of each room for all setups of a job; blocks, and proofs that do not hold."""
    spent = dict.fromkeys(ROOMS, 0.0)
    spent["job"], job_file = seconds(read)
    machine = find_machine("plain-iso", JOBS.parent)
    spent["plan"], plan = seconds(lambda: plan_job(job_file, machine))  # type: ignore[arg-type]
    blocks = failed = 0
    for planned in plan.setups:  # type: ignore[attr-defined]
        took, programs = seconds(lambda one=planned: write_programs(one.moves, machine, stem="b"))
        spent["post"] += took
        took, found = seconds(
            lambda some=programs: tuple(read_program(p.text, machine, p.file) for p in some))
        spent["read"] += took
        evidence = gather(planned.name, job_file.job, machine, planned.layout,  # type: ignore[attr-defined]
                          planned.moves, found, planned_cuts=planned.cuts)  # type: ignore[arg-type]
        took, proofs = seconds(lambda one=evidence: prove_evidence(one))
        spent["proof"] += took
        blocks += len(evidence.motion)
        failed += sum(not proof.holds for proof in proofs)  # type: ignore[attr-defined]
    return spent, blocks, failed


def grid(holes: int, pockets: int) -> str:
    """A plate with so many drilled holes and round pockets, in rows."""
    across = math.ceil(math.sqrt(2 * holes)) if holes else 1
    down = math.ceil(holes / across)
    features = ["  holes:"] if holes else []
    for n in range(down):
        columns = min(across, holes - n * across)
        features.append(f"    row-{n}: {{diameter: 0.8, rows: {{columns: {columns}, rows: 1, "
                        f"pitch: [1.6, 1.6], at: [0, {1.6 * n + 4:g}]}}}}")
    wide = max(1.6 * across, 8.0 * pockets) + 6
    if pockets:
        features.append("  pockets:")
        # No two plates have the same pocket, so that none is cleared as remembered.
        long = 4 + 1e-4 * (holes + 1000 * pockets)
        features += [f"    seat-{n}: {{rectangle: [{long:g}, 3], corner: 0.6, "
                     f"at: [{8 * (n - (pockets - 1) / 2):g}, -4], depth: 0.4}}"
                     for n in range(pockets)]
    high = 2 * max(1.6 * down + 6, 10)
    steps = ["      - pocket: {cutter: mill}"] if pockets else []
    steps += ["      - spot: {cutter: cone}", "      - drill: {cutter: drill}"] if holes else []
    return GRID.format(wide=wide, high=high, features="\n".join(features), stock_wide=wide + 10,
                       stock_high=high + 10, steps="\n".join([*steps,
                                                              "      - outline: {cutter: mill}"]))


MANY = """
job: many
material: brass
plate: {{thickness: 1.2, outline: {{{outline}}}{openings}}}
made-elsewhere: [outline]
cutters:
  mill: {{kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.0, reach: 2.4}}
setups:
  - name: one
    stock: {{sheet: [{wide}, {wide}], thickness: 1.2}}
    holding: {{by: shellac on brass, carrier: brass, carrier-thickness: 6, cut-into: 2.6,
              holds-slugs: true}}
    steps:
{steps}
"""


def outlines(count: int) -> str:
    """So many outline steps, each leaving a thinner skin than the one before."""
    steps = [f"      - outline: {{cutter: mill, skin: {0.9 - 0.8 * n / count:.6f}}}"
             for n in range(count)]
    return MANY.format(outline="circle: 8", openings="", wide=16, steps="\n".join(steps)).replace(
        "made-elsewhere: [outline]\n", "")


def openings(count: int) -> str:
    """So many round openings, cut out by one step."""
    side = math.ceil(math.sqrt(count))
    each = ", ".join(
        f"o{n}: {{circle: 2, at: [{3 * (n % side - side / 2) + 1.5}, "
        f"{3 * (n // side - side / 2) + 1.5}]}}" for n in range(count))
    wide = 3 * side + 4
    return MANY.format(outline=f"rectangle: [{wide}, {wide}]", openings=f", openings: {{{each}}}",
                       wide=wide + 10, steps="      - cut-out: {cutter: mill}")


def row(name: str, spent: dict[str, float], blocks: int, failed: int) -> None:
    """One line: seconds of each room with its share, and the whole."""
    whole = sum(spent.values())
    parts = "  ".join(f"{room} {took:6.2f} {100 * took / whole:3.0f}%"
                      for room, took in spent.items())
    told = f", {failed} proofs DO NOT HOLD" if failed else ""
    print(f"  {name:18} {blocks:7} moves  {parts}  all {whole:6.2f} s{told}")


def growth(name: str, counts: Sequence[int], text: Callable[[int], str]) -> None:
    """Plates with ever more of something, and the exponents from one to the next."""
    before: tuple[int, dict[str, float]] | None = None
    for count in counts:
        spent, blocks, failed = rooms(
            lambda n=count: parse_job(text(n), JOBS / "grid.yaml", step_words()))
        row(f"{count} {name}", spent, blocks, failed)
        if before is not None:
            step = math.log(count / before[0])
            print("  growth             " + "  ".join(
                f"{room} {math.log(max(spent[room], 1e-3) / max(before[1][room], 1e-3)) / step:.2f}"
                for room in ROOMS))
        before = count, spent


def main() -> None:
    """Print the figures."""
    print("demo plates, plain-iso: processor seconds and share of each room")
    for name in PLATES:
        if (JOBS / name).is_file():
            row(name, *rooms(lambda path=JOBS / name: read_job(path, step_words())))
    if "--demo" in sys.argv:
        return
    print("plates with ever more holes and four pockets")
    growth("holes", (50, 100, 200, 400), lambda n: grid(n, 4))
    print("plates with fifty holes and ever more pockets, all alike")
    growth("pockets", (2, 4, 8, 16), lambda n: grid(51, n))
    most = 4 if "--many" in sys.argv else 1
    print("ever more steps along one outline, ever more openings, ever more holes; --many: more")
    growth("outline steps", (100, 200, 750 * most), outlines)
    growth("openings", (100, 200, 750 * most), openings)
    growth("holes", (1250 * most, 2500 * most), lambda n: grid(n, 0))


if __name__ == "__main__":
    main()
