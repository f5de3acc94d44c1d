"""Time of whole pockets at the machine and in planning: ``python tests/bench_clearing_time.py``

Six pockets in leaded brass with a 0.8 mm mill. Printed of each: minutes by the report's own clock
(fed moves and rapids); those over the least, which is the metal at the best rate that the limits
allow, the walls at their feed and the way in; processor seconds of planning, and those over a bare
ladder of the same pocket (parallels half a cutter apart, by buffers of the area alone).

Names of pockets given as arguments are measured alone.
"""

from __future__ import annotations

import math
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
import shapely
import yaml

from camgen.cutting.planner import CutPlan
from camgen.job.reading import read_job
from camgen.layout import FlatLayout
from camgen.make.chain import Proved, proved_job
from camgen.make.told.report import report_of, times_of
from camgen.plan import plan_job
from camgen.shop.machines import find_machine
from camgen.steps import step_words
from camgen.steps.areas import pocket_cuts, pocket_ladder
from camgen.tolerances import AREA_CHORD

STAR = [[round((8.0, 4.4)[n % 2] * math.cos(math.pi * n / 7), 4),
         round((8.0, 4.4)[n % 2] * math.sin(math.pi * n / 7), 4)] for n in range(14)]
PLATE = {
    "barrel": {"circle": 6.4, "at": [0, -5.2], "depth": 0.6, "islands": [{"circle": 2.4}]},
    "great-wheel": {"circle": 4.6, "at": [7.2, -2.6], "depth": 0.4},
    "keyless": {"rectangle": [4.4, 2.6], "corner": 0.5, "at": [0.4, 6.6], "turned": 10,
                "depth": 0.3},
    "click": {"slot": [[-8.2, -2.6], [-5.6, -2.6]], "width": 1.8, "depth": 0.5},
}
POCKETS: dict[str, dict[str, Any]] = {
    "demo plate": PLATE,
    "20 x 20": {"square": {"rectangle": [20, 20], "corner": 1, "depth": 0.5}},
    "60 x 40": {"field": {"rectangle": [60, 40], "corner": 1, "depth": 0.3}},
    "ring with four islands": {"ring": {"circle": 16, "depth": 0.4, "islands": [
        {"circle": 2.4, "at": place} for place in ([4.5, 0], [0, 4.5], [-4.5, 0], [0, -4.5])]}},
    "seven-pointed star": {"star": {"polygon": STAR, "corner": 0.5, "depth": 0.4}},
    "channel": {"channel": {"slot": [[-10, 0], [10, 0]], "width": 1.8, "depth": 0.5}},
}


def job_of(pockets: dict[str, Any], **words: Any) -> dict[str, Any]:
    """A plate with nothing but ``pockets``, cleared in one step that has ``words``."""
    return {
        "job": "pockets", "material": "brass", "post": "plain-iso", "made-elsewhere": ["outline"],
        "plate": {"thickness": 1.6, "outline": {"rectangle": [66, 46]}, "pockets": pockets},
        "cutters": {"mill": {"kind": "end-mill", "diameter": 0.8, "flutes": 2,
                             "flute-length": 2.4, "reach": 2.8}},
        "setups": [{
            "name": "top", "stock": {"sheet": [70, 50], "thickness": 1.6},
            "holding": {"by": "wax on a carrier", "carrier": "brass", "carrier-thickness": 6,
                        "cut-into": 0.5, "holds-slugs": True},
            "steps": [{"pocket": {"cutter": "mill", **words}}],
        }],
    }


def written(folder: Path, job: dict[str, Any]) -> Path:
    """A job as a file."""
    file = folder / "pockets.yaml"
    file.write_text(yaml.safe_dump(job, sort_keys=False), encoding="utf-8")
    return file


def minutes_and_share(proved: Proved) -> tuple[float, float]:
    """Minutes in pockets by the report's clock, and how many times the least that is."""
    (setup,) = proved.setups
    pockets = report_of(proved, times_of(proved), None)["time"]["pockets"]
    return pockets["seconds"] / 60, pockets["seconds"] / least_seconds(proved, setup)


def least_seconds(proved: Proved, setup: Any) -> float:
    """The metal at the best rate of its section, the walls at their feed, and the ways down, s."""
    evidence = setup.evidence
    motion = evidence.motion
    falls = evidence.cut & (motion.end[:, 2] < motion.start[:, 2] - 1e-6)
    falls &= np.hypot(*(motion.end[:, :2] - motion.start[:, :2]).T) > 1e-6
    down = float(60 * (evidence.length[falls] / motion.feed[falls]).sum())
    return down + sum(
        section.to_clear / max(_rate(one) for one in (cut, *cut.others)) * 60 + section.finishing
        for section, cut in zip(setup.planned.moves.sections, setup.planned.cuts, strict=True))


def _rate(cut: CutPlan) -> float:
    """mm³ a minute."""
    return cut.feed * cut.width * cut.depth


def planning_seconds(file: Path) -> float:
    """Processor seconds from a job to its moves."""
    job_file = read_job(file, step_words())
    pocket_cuts._cleared.cache_clear()
    pocket_ladder._laddered.cache_clear()
    begun = time.process_time()
    plan_job(job_file, find_machine("plain-iso", file.parent))
    return time.process_time() - begun


def bare_ladder_seconds(layout: FlatLayout, radius: float) -> float:
    """Processor seconds of parallels of every pocket, half a cutter apart, and nothing else."""
    begun = time.process_time()
    for recess in layout.part.recesses:
        ring: shapely.Geometry = recess.area.region(AREA_CHORD).buffer(-radius)
        while not ring.is_empty:
            ring = ring.buffer(-radius)
    return time.process_time() - begun


def main() -> None:
    wanted = sys.argv[1:] or list(POCKETS)
    print(f"{'pocket':24} {'minutes':>8} {'over least':>11} {'planned in':>11} {'over bare':>10}")
    with tempfile.TemporaryDirectory() as folder:
        for name in wanted:
            file = written(Path(folder), job_of(POCKETS[name]))
            spent = planning_seconds(file)
            proved = proved_job(file)
            minutes, share = minutes_and_share(proved)
            bare = bare_ladder_seconds(proved.setups[0].planned.layout, 0.4)
            print(f"{name:24} {minutes:8.2f} {share:11.2f} {spent:9.2f} s {spent / bare:10.1f}",
                  flush=True)


if __name__ == "__main__":
    main()
