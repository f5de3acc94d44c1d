"""What a wheel would be if it were taken as its cutter makes it: the remedy where that is not its
form."""

from __future__ import annotations

import math

from camgen.faults import Refused
from camgen.job.checks.teeth import MOST_OFF
from camgen.messages import Message
from camgen.part.parts import Toothed
from camgen.shop.cutters import Cutter
from camgen.teeth.pairs import pair_runs, runs_said

__all__ = ["as_cut_would_be"]

# What is told of a tolerance is a little more than was found, mm.
STEP = 0.001


def as_cut_would_be(part: Toothed, cutter: Cutter, off: float) -> Message:
    """What ``tooth: as-cut`` would give, and the tolerance that would let it be; ``off`` µm."""
    line = cutter.cut_space()
    assert line is not None
    try:
        tooth = part.cut_by(line, None).tooth()
        mate = part.mate_tooth()
    except Refused as no:
        return Message("taken as cut there would be no wheel either: {why}",
                       why=no.faults[0].message)
    sizes = tooth.sizes
    made = Message("{word}: {typed} would take it as it comes out: blank {blank:.3f} mm, root "
                   "{root:.3f} mm, {deep:.3f} mm deep", word=part.word, typed="{tooth: as-cut}",
                   blank=sizes.tip_diameter, root=sizes.root_diameter, deep=sizes.whole_depth)
    if mate is not None:
        pair = (tooth, mate) if part.drives else (mate, tooth)
        made = Message("{made}; with its mate {runs}", made=made,
                       runs=runs_said(pair_runs(*pair)))
    bearable = math.ceil(off / 1000 / STEP + 0.5) * STEP
    if bearable > MOST_OFF * part.module:
        return made
    return Message("{made}. Where so much may be borne, form-tolerance: {bearable:.3f} keeps the "
                   "form's own sizes", made=made, bearable=bearable)
