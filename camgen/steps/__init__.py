"""Kinds of steps. A new kind is one new module and one line here, by where it is done."""

from __future__ import annotations

from camgen.job.models import StepWords
from camgen.steps.areas.face import FACE
from camgen.steps.areas.pocket import POCKET
from camgen.steps.head.cut_teeth import CUT_TEETH
from camgen.steps.holes.bore import BORE
from camgen.steps.holes.counterbore import COUNTERBORE
from camgen.steps.holes.countersink import COUNTERSINK
from camgen.steps.holes.drill import DRILL
from camgen.steps.holes.fine_bore import FINE_BORE
from camgen.steps.holes.ream import REAM
from camgen.steps.holes.spot import SPOT
from camgen.steps.holes.tap import TAP
from camgen.steps.holes.thread_mill import THREAD_MILL
from camgen.steps.kind import FlatBench, HeadBench, RoundBench, StepKind
from camgen.steps.round.holes import (
    COUNTERBORE_ROUND,
    DRILL_ROUND,
    REAM_ROUND,
    SPOT_ROUND,
)
from camgen.steps.round.mill_flats import MILL_FLATS
from camgen.steps.round.mill_slots import MILL_SLOTS
from camgen.steps.walls.cross_out import CROSS_OUT
from camgen.steps.walls.cut_out import CUT_OUT
from camgen.steps.walls.outline import OUTLINE
from camgen.steps.walls.outside_thread import OUTSIDE_THREAD
from camgen.steps.zeros.probe import PROBE

__all__ = ["FLAT_STEPS", "HEAD_STEPS", "ROUND_STEPS", "STEPS", "StepKind", "step_words"]

FLAT_STEPS: dict[str, StepKind[FlatBench]] = {
    kind.kind: kind
    for kind in (
        FACE, SPOT, DRILL, BORE, FINE_BORE, REAM, COUNTERBORE, COUNTERSINK, THREAD_MILL, TAP,
        POCKET, CUT_OUT, CROSS_OUT, OUTSIDE_THREAD, OUTLINE, PROBE,
    )
}
HEAD_STEPS: dict[str, StepKind[HeadBench]] = {
    kind.kind: kind for kind in (CUT_TEETH,)
}
ROUND_STEPS: dict[str, StepKind[RoundBench]] = {
    kind.kind: kind for kind in (
        MILL_FLATS, MILL_SLOTS, SPOT_ROUND, DRILL_ROUND, REAM_ROUND, COUNTERBORE_ROUND)
}
STEPS: dict[str, StepKind[FlatBench] | StepKind[HeadBench] | StepKind[RoundBench]] = {
    **ROUND_STEPS, **FLAT_STEPS, **HEAD_STEPS}


def step_words() -> dict[str, type[StepWords]]:
    """The model of each kind's words, for the reader of job files."""
    return {name: kind.words for name, kind in STEPS.items()}
