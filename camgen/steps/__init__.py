"""Kinds of steps. A new kind is one new module and one line here, by where it is done."""

from __future__ import annotations

from camgen.job.models import StepWords
from camgen.steps.bore import BORE
from camgen.steps.counterbore import COUNTERBORE
from camgen.steps.countersink import COUNTERSINK
from camgen.steps.cross_out import CROSS_OUT
from camgen.steps.cut_out import CUT_OUT
from camgen.steps.cut_teeth import CUT_TEETH
from camgen.steps.drill import DRILL
from camgen.steps.face import FACE
from camgen.steps.fine_bore import FINE_BORE
from camgen.steps.kind import FlatBench, HeadBench, StepKind
from camgen.steps.outline import OUTLINE
from camgen.steps.pocket import POCKET
from camgen.steps.ream import REAM
from camgen.steps.spot import SPOT
from camgen.steps.tap import TAP
from camgen.steps.thread_mill import THREAD_MILL

__all__ = ["FLAT_STEPS", "HEAD_STEPS", "STEPS", "StepKind", "step_words"]

FLAT_STEPS: dict[str, StepKind[FlatBench]] = {
    kind.kind: kind
    for kind in (
        FACE, SPOT, DRILL, BORE, FINE_BORE, REAM, COUNTERBORE, COUNTERSINK, THREAD_MILL, TAP,
        POCKET, CUT_OUT, CROSS_OUT, OUTLINE,
    )
}
HEAD_STEPS: dict[str, StepKind[HeadBench]] = {
    kind.kind: kind for kind in (CUT_TEETH,)
}
STEPS: dict[str, StepKind[FlatBench] | StepKind[HeadBench]] = {**FLAT_STEPS, **HEAD_STEPS}


def step_words() -> dict[str, type[StepWords]]:
    """The model of each kind's words, for the reader of job files."""
    return {name: kind.words for name, kind in STEPS.items()}
