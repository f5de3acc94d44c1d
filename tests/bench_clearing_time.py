"""Time of whole pockets at the machine and in planning: ``python tests/bench_clearing_time.py``

Six pockets in leaded brass with a 0.8 mm mill. Printed of each: minutes by the report's own clock
(fed moves and rapids); those over the least, which is the metal at the best rate that the limits
allow, the walls at their feed and the way in; processor seconds of planning the whole job, as it is
and with a narrow cut asked for (``width:`` 15 % of the cutter), which is bounded engagement; and
each over a bare ladder of the same pocket at the same step (:func:`bare_ladder`).

A bare ladder is what plane geometry alone costs: no feeds, no way down, no proof of what is left.
Planning a job takes some milliseconds whatever its pockets are, more than the bare ladder of a
small one; so these are told beside it, from a plate whose pocket is hardly larger than the cutter.

Names of pockets given as arguments are measured alone; ``--wide`` leaves out the narrow cut.
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

from camgen.arrays import Floats
from camgen.cutting.planner import CutPlan
from camgen.job.reading import read_job
from camgen.layout import FlatLayout
from camgen.make.chain import Proved, proved_job
from camgen.make.told.report import report_of, times_of
from camgen.plan import plan_job
from camgen.shapes import offset as offset_of
from camgen.shapes.offset import Area
from camgen.shop.machines import find_machine
from camgen.steps import step_words
from camgen.steps.areas import pocket_cuts, pocket_ground, pocket_ladder
from camgen.tolerances import AREA_CHORD

# The cutter, mm; from row to row of a ladder and of a narrow cut, in cutters.
MILL, STEP, NARROW = 0.8, 0.95, 0.15
# What is kept while a job is planned.
KEPT = (pocket_cuts._cleared, pocket_cuts._kept_cuts, pocket_ladder._laddered,
        pocket_ground._reached, pocket_ground._opened, offset_of.offset, offset_of._region)
SMALL = {"small": {"circle": 1.6, "depth": 0.1}}
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
        "cutters": {"mill": {"kind": "end-mill", "diameter": MILL, "flutes": 2,
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


def planning_seconds(file: Path, times: int = 5) -> float:
    """Processor seconds from a job to its moves, nothing kept from before; the best of several."""
    machine = find_machine("plain-iso", file.parent)
    best = math.inf
    for _ in range(times):
        job_file = read_job(file, step_words())
        for kept in KEPT:
            kept.cache_clear()
        begun = time.process_time()
        plan_job(job_file, machine)
        best = min(best, time.process_time() - begun)
    return best


def bare_seconds(layout: FlatLayout, radius: float, step: float) -> float:
    """Processor seconds of a bare ladder of every pocket, the best of five."""
    best = math.inf
    for _ in range(5):
        begun = time.process_time()
        for recess in layout.part.recesses:
            # Kept regions would count for nothing.
            area = Area(recess.area.outer, recess.area.islands)
            bare_ladder(shapely.Polygon(area.outer.points(AREA_CHORD), [
                one.points(AREA_CHORD) for one in area.islands]), radius, step)
        best = min(best, time.process_time() - begun)
    return best


def bare_ladder(region: shapely.Polygon, radius: float, step: float) -> list[Floats]:
    """Ways that clear a region, rows of points: round every edge, then parallels ``step`` apart
    over what is left, each gone on to from the nearest end where the centre may go straight there.
    """
    runs: list[Floats] = []
    for part in shapely.get_parts(region.buffer(-radius, quad_segs=32)):
        runs += [shapely.get_coordinates(ring) for ring in shapely.get_rings(part)]
        rows = _rows(part.buffer(-step), step)
        shapely.prepare(part)
        chain: list[Floats] = []
        at = runs[-1][-1]
        number = min(rows, default=0)
        while rows:
            if number not in rows:
                number = min(rows)
            row = min(rows[number], key=lambda one: min(math.dist(at, end) for end in one[[0, -1]]))
            rows[number] = [one for one in rows[number] if one is not row]
            if not rows[number]:
                del rows[number]
            if math.dist(at, row[-1]) < math.dist(at, row[0]):
                row = row[::-1]
            if chain and not part.contains(shapely.LineString([at, row[0]])):
                runs.append(np.concatenate(chain))
                chain = []
            chain.append(row)
            at = row[-1]
            number += 1
        if chain:
            runs.append(np.concatenate(chain))
    return runs


def _rows(region: shapely.Geometry, step: float) -> dict[int, list[Floats]]:
    """The parallels across a region, by number from below."""
    if region.is_empty:
        return {}
    x0, y0, x1, y1 = region.bounds
    ys = np.linspace(y0, y1, max(1, math.ceil((y1 - y0) / step)) + 1)
    ends = np.stack([np.column_stack((np.full_like(ys, x), ys)) for x in (x0 - 1, x1 + 1)], axis=1)
    pieces, numbers = shapely.get_parts(
        shapely.intersection(shapely.linestrings(ends), region), return_index=True)
    found: dict[int, list[Floats]] = {}
    for number, piece in zip(numbers.tolist(), pieces, strict=True):
        points = shapely.get_coordinates(piece)
        if len(points) > 1:
            found.setdefault(number, []).append(points)
    return found


def main() -> None:
    wanted = [one for one in sys.argv[1:] if one != "--wide"] or list(POCKETS)
    with tempfile.TemporaryDirectory() as folder:
        small = planning_seconds(written(Path(folder), job_of(SMALL)))
        print(f"a plate with hardly a pocket is planned in {1000 * small:.1f} ms")
        heads = ("minutes", "over least", "planned in", "over bare", "less plate", "narrow in",
                 "over bare")
        print(f"{'pocket':24}" + "".join(f"{head:>12}" for head in heads))
        for name in wanted:
            file = written(Path(folder), job_of(POCKETS[name]))
            spent = planning_seconds(file)
            proved = proved_job(file)
            layout = proved.setups[0].planned.layout
            minutes, share = minutes_and_share(proved)
            bare = bare_seconds(layout, MILL / 2, STEP * MILL)
            print(f"{name:24}{minutes:12.2f}{share:12.2f}{1000 * spent:9.1f} ms"
                  f"{spent / bare:12.1f}{(spent - small) / bare:12.1f}", end="", flush=True)
            if "--wide" not in sys.argv:
                file = written(Path(folder), job_of(POCKETS[name], width=NARROW * MILL))
                spent = planning_seconds(file, times=1)
                bare = bare_seconds(layout, MILL / 2, NARROW * MILL)
                print(f"{spent:10.2f} s{spent / bare:12.1f}", end="")
            print(flush=True)


if __name__ == "__main__":
    main()
