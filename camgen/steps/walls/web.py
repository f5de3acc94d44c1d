"""What stands of a wheel where its walls are cut, once its web was cleared on one face or both.

A crossing or an outline that is cut after the hub was cleared round begins at the web, and ends
beneath it: above is air, and a tab or a skin that counted from the hub's other end would hold
nothing. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from camgen.job.models import Job, Setup
from camgen.job.order.deeds import deeds_of
from camgen.layout import FlatLayout
from camgen.part.features import Recess
from camgen.part.plates.plate import Plate
from camgen.shapes.path import Path
from camgen.steps.kind import FlatBench
from camgen.tolerances import CHECK_CHORD

__all__ = ["at_web"]


def at_web(bench: FlatBench, ways: Sequence[Path], wide: float) -> FlatBench:
    """The bench of a step that goes along ``ways``, with the metal as it stands there.

    ``wide`` is how far off a way the cutter takes metal. Of plates it is the bench itself.
    """
    if isinstance(bench.job.part, Plate) or not bench.job.part.raised:
        return bench
    layout = bench.layout
    lifted = _cleared_beneath(bench.job, bench.setup, layout)
    return replace(bench, layout=replace(
        layout, top=layout.top - _cleared_above(bench, ways, wide),
        bottom=layout.bottom + lifted, floor=layout.floor + lifted))


def _cleared_above(bench: FlatBench, ways: Sequence[Path], wide: float) -> float:
    """How deep all is gone over the ways, by the steps before in this setup."""
    # The module knows of outlines, which ask here.
    from camgen.steps.areas.pocket_cuts import ground_before

    depths = sorted({one.depth for one in bench.layout.part.recesses}, reverse=True)
    for depth in depths:
        gone = ground_before(bench, depth)
        if gone is not None and not gone.is_empty and all(
                gone.covers(shapely.LineString(_round(way)).buffer(wide)) for way in ways):
            return depth
    return 0.0


def _round(way: Path) -> list[tuple[float, float]]:
    points = [(float(x), float(y)) for x, y in way.points(CHECK_CHORD)]
    return [*points, points[0]]


def _cleared_beneath(job: Job, setup: Setup, layout: FlatLayout) -> float:
    """How far the web's other face lies above what the wheel stands on, by setups before."""
    before = job.setups.index(setup)
    return max((one.depth for one in layout.part.beneath if isinstance(one, Recess)
                and any(deed.number < before and deed.makes(one) for deed in deeds_of(job))),
               default=0.0)
