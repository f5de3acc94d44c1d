"""The planner asked in the words of a step: its own speed and feed, where given, come first."""

from __future__ import annotations

import math

import numpy as np

from camgen.cutting.planner import (
    CutPlan,
    plan_boring,
    plan_drilling,
    plan_form_cut,
    plan_milling,
    plan_outside_thread_milling,
    plan_tapping,
    plan_thread_milling,
)
from camgen.faults import Refused
from camgen.steps.kind import Bench, HeadBench
from camgen.teeth.tooth import Tooth
from camgen.tolerances import AREA_CHORD

# However much roughing took, so much of a space is left to whoever forms it: it never lies quite in
# the middle. Common practice, no source.
MOST_TAKEN = 0.8

__all__ = ["boring", "drilling", "finishing", "form_cut", "milling", "outside_thread_cut",
           "overhang",
           "space_section", "tapping", "thread_cut"]



def milling(
    bench: Bench, width: float, depth: float, *, at_once: bool = False, speed: float | None = None
) -> CutPlan:
    """The cut of an end mill ``width`` mm wide in metal down to ``depth`` mm.

    In passes, or ``at_once``, when the chip gives way to the depth. Raises Refused when it cannot
    be done.
    """
    return plan_milling(
        bench.material,
        bench.cutter,
        bench.machine,
        width,
        depth,
        keep_depth=at_once,
        speed=bench.words.speed or speed,
        feed=bench.words.feed,
        findings=bench.findings,
        keep_to_findings=bench.job.keep_to_findings,
    )


def finishing(
    bench: Bench, width: float, top: float, bottom: float, speed: float
) -> tuple[CutPlan, tuple[float, ...]]:
    """The last cut on a wall, ``width`` mm wide, and the heights (Z) it is made at, going down.

    In one at full depth where the cutter is stiff enough, which marks the wall least; else in as
    few as it takes. Raises Refused when it cannot be done.
    """
    deep = top - bottom
    try:
        return milling(bench, width, deep, at_once=True, speed=speed), (bottom,)
    except Refused:
        cut = milling(bench, width, deep, speed=speed)
    return cut, tuple(top - deep * (number + 1) / cut.passes for number in range(cut.passes))


def drilling(bench: Bench, depth: float, *, drilled: float = 0.0) -> CutPlan:
    """The cut of a drill, reamer or countersink to ``depth`` mm, in a hole of ``drilled`` mm.

    Raises Refused when it cannot be done.
    """
    return plan_drilling(
        bench.material,
        bench.cutter,
        bench.machine,
        depth,
        existing=drilled,
        speed=bench.words.speed,
        feed=bench.words.feed,
        findings=bench.findings,
        keep_to_findings=bench.job.keep_to_findings,
    )


def boring(bench: Bench, depth: float, stock: float) -> CutPlan:
    """The cut of a boring bar to ``depth`` mm, ``stock`` mm off the radius at once.

    Raises Refused when it cannot be done.
    """
    return plan_boring(
        bench.material, bench.cutter, bench.machine, depth, stock=stock, finish=True,
        speed=bench.words.speed, feed=bench.words.feed,
    )


def tapping(bench: Bench, depth: float, fastest: float, hole: float) -> CutPlan:
    """The cut of a tap ``depth`` mm deep in a ``hole`` so many mm wide, turning no faster than
    ``fastest`` rev/min.

    Raises Refused when it cannot be done.
    """
    def at(speed: float | None) -> CutPlan:
        return plan_tapping(bench.material, bench.cutter, bench.machine, depth, hole=hole,
                            speed=speed)

    cut = at(bench.words.speed)
    if bench.words.speed is not None or cut.speed <= fastest:
        return cut
    spindle = bench.machine.spindle
    step = spindle.speed_step
    return at(spindle.at_most(math.floor(fastest / step + 1e-9) * step))


def thread_cut(bench: Bench, diameter: float) -> CutPlan:
    """The cut of a thread mill in a thread of ``diameter`` mm. Raises Refused if it cannot be."""
    return plan_thread_milling(
        bench.material, bench.cutter, bench.machine, diameter, speed=bench.words.speed
    )


def outside_thread_cut(bench: Bench, deep: float, root: float, rows: int) -> CutPlan:
    """The cut of a thread mill round a post, ``deep`` mm down to a ``root`` diameter, with so many
    ``rows`` of teeth in it. Raises Refused if it cannot be."""
    return plan_outside_thread_milling(bench.material, bench.cutter, bench.machine, deep, root,
                                       rows=rows, speed=bench.words.speed)


def form_cut(
    bench: HeadBench, depth: float, passes: int | None, *,
    section: tuple[float, float] | None = None, taken: float = 0.0,
) -> CutPlan:
    """The cut of a form cutter down to ``depth`` mm from the blank's outside.

    What a larger blank adds is cut as wide as teeth are apart at their tips, the most there is.
    ``section`` is what is cut instead, mm² and mm of edge, where the teeth's form is not;
    ``taken`` what roughing has taken before, mm². Raises Refused when it cannot be done.
    """
    if section is None:
        sizes, over = bench.layout.tooth.sizes, bench.layout.over_tip
        area, edge = space_section(bench.layout.tooth)
        area += over * math.pi * sizes.tip_diameter / sizes.teeth
        edge += 2 * over
        if bench.cutter.topping:
            edge += math.pi * sizes.tip_diameter / sizes.teeth
    else:
        area, edge = section
    return plan_form_cut(
        bench.material,
        bench.cutter,
        bench.machine,
        area,
        depth,
        edge,
        taken=min(taken / area, MOST_TAKEN),
        passes=passes,
        speed=bench.words.speed,
        feed=bench.words.feed,
        findings=bench.findings,
        keep_to_findings=bench.job.keep_to_findings,
    )


def space_section(tooth: Tooth) -> tuple[float, float]:
    """Area of a tooth space, mm², and the length of its flanks and root, mm."""
    space = tooth.space(AREA_CHORD)
    x, y = space[:, 0], space[:, 1]
    area = abs(float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))) / 2
    steps = np.hypot(np.diff(x), np.diff(y))
    on_tip = np.hypot(x, y) > tooth.sizes.tip_diameter / 2 - 1e-9
    return area, float(steps[~(on_tip[:-1] & on_tip[1:])].sum())


def overhang(tooth: Tooth) -> float:
    """How much of a tooth hangs over the space beside it, seen along the infeed; mm.

    A disc cutter of that space's form takes so much off the tooth: coming along the arbor its edge
    passes every lesser depth at every place before its axis is there.

    >>> from camgen.teeth.forms import wheel_tooth
    >>> overhang(wheel_tooth("cycloidal", 75, 0.14, 10))
    0.0
    """
    space = tooth.space(AREA_CHORD)[:-1]
    turn = math.radians(tooth.ways[0].turn)
    space = space @ np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    space = np.roll(space, -int(np.argmin(space[:, 0])), axis=0)
    worst = 0.0
    # Anticlockwise from the deepest point out along one flank; the other way out along the other.
    for way, side in ((space, -1.0), (space[::-1], 1.0)):
        on_tip = np.hypot(*way.T) > tooth.sizes.tip_diameter / 2 - 1e-9
        out = side * way[: int(np.argmax(on_tip)) + 1, 1]
        worst = max(worst, float(np.max(np.maximum.accumulate(out) - out)))
    return worst
