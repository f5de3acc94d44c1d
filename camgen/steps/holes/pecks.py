"""Bites of a drill that are asked for, held against the drill and against what is planned."""

from __future__ import annotations

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, no_less
from camgen.messages import Message
from camgen.steps.kind import Bench
from camgen.steps.typed import or_far

__all__ = ["peck_faults"]

# A bite is no less than this share of the drill's diameter: below it the drill is drawn out more
# than it cuts, and its lips rub. It is no more than so many times the planned one, in whose chips
# the flutes are full, and with `far: true` so many. Common practice, no source.
LEAST_SHARE = 0.05
TIMES, FAR_TIMES = 2.0, 4.0


def peck_faults(bench: Bench, asked: float, cut: CutPlan, deep: float) -> list[Fault]:
    """A bite ``asked`` for, 0 for one stroke, in a hole ``deep`` mm to the drill's point."""
    diameter = bench.cutter.diameter
    least = LEAST_SHARE * diameter
    if 0 < asked < least - 1e-9:
        return [Fault(
            Message("a peck of {peck:g} mm is next to nothing for a drill of {diameter:g} mm: its "
                    "lips would rub", peck=asked, diameter=diameter),
            Message("{word}: {least} or more, or leave it out", word="peck",
                    least=no_less(least)), bench.place("peck"))]
    bite = min(asked, deep) if asked else deep
    if not cut.peck:
        return []
    far = FAR_TIMES * cut.peck
    most = far if bench.words.far else TIMES * cut.peck
    if bite <= most + 1e-9:
        return []
    remedy = Message("peck: {peck:.2g}, or leave it out", peck=cut.peck)
    return [Fault(
        Message("{what} of {bite:.3g} mm packs the flutes of a drill of {diameter:g} mm: "
                "{planned:.2g} mm is planned",
                what=Message("a peck") if asked else Message("one stroke"), bite=bite,
                diameter=diameter, planned=cut.peck),
        remedy if bite > far + 1e-9 or bench.words.far else or_far(remedy), bench.place("peck"))]
