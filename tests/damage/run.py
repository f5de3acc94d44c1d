"""Very many damaged inputs of six kinds. Run it: ``python tests/damage/run.py --many 100000``

Prints for each kind how many were tried, the answers, and every fault with the number that makes it
again: ``--kind jobs --first 1234 --many 1``.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from damage.kinds import KINDS
from damage.workers import Found, answers

# Inputs at a time: a worker begins anew after so many, and kinds take turns.
_STRETCH = 500


def _answers(task: tuple[str, int, int, float]) -> Found:
    return answers(*task)


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--many", type=int, default=100_000, help="inputs in all")
    words.add_argument("--first", type=int, default=0)
    words.add_argument("--kind", choices=list(KINDS), action="append")
    words.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    words.add_argument("--minutes", type=float, default=24 * 60)
    given = words.parse_args()
    kinds = given.kind or list(KINDS)
    each = max(1, given.many // len(kinds))
    until = time.monotonic() + 60 * given.minutes
    tasks = [(kind, given.first + at, min(_STRETCH, each - at), until)
             for at in range(0, each, _STRETCH) for kind in kinds]
    found: list[Found] = []
    # Processes and no threads: what is forked while another thread holds a lock waits for ever.
    with ProcessPoolExecutor(given.workers) as pool:
        for one in pool.map(_answers, tasks):
            found.append(one)
            for fault in one.faults:
                print(fault.replace("\\n", "\n  "), flush=True)
    for kind in kinds:
        mine = [one for one in found if one.kind == kind]
        counts = sum((one.answers for one in mine), start=type(mine[0].answers)())
        seconds = sum(one.seconds for one in mine)
        told = ", ".join(f"{many} {answer}" for answer, many in sorted(counts.items()))
        print(f"{kind}: {counts.total()} tried in {seconds:.0f} s of workers: {told}; "
              f"{sum(len(one.faults) for one in mine)} faults")
    sys.exit(any(one.faults for one in found))


if __name__ == "__main__":
    main()
