"""What a wheel would be if it were taken as its cutter makes it: the remedy where that is not its
form."""

from __future__ import annotations

import math

from camgen.faults import Refused
from camgen.messages import Message
from camgen.part.parts import Toothed
from camgen.shop.cutters import Cutter
from camgen.teeth.pairs import pair_runs, runs_said

__all__ = ["MOST_OFF", "as_cut_would_be"]

# What a tooth may be let differ from its form at most, in modules: one that is farther off is
# another tooth, and its sizes follow from its cutter (common practice, no source).
MOST_OFF = 0.1

# What is told of a tolerance is a little more than was found, mm.
STEP = 0.001


def as_cut_would_be(part: Toothed, cutter: Cutter, off: float = math.inf) -> Message:
    """What ``tooth: as-cut`` would give; and the tolerance that would let teeth be that are ``off``
    so many µm, where one would."""
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
    if off / 1000 + STEP > MOST_OFF * part.module:
        return made
    bearable = math.ceil(off / 1000 / STEP + 0.5) * STEP
    return Message("{made}. Where so much may be borne, form-tolerance: {bearable:.3f} keeps the "
                   "form's own sizes", made=made, bearable=bearable)
