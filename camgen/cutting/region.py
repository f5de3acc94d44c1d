"""How far each limit lets depth and feed go, and what would help where nothing goes."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from camgen.cutting.answer import CutPlan
from camgen.cutting.planners.form_cut import form_feed_bounds
from camgen.cutting.planners.milling_cut import feed_bounds
from camgen.faults import Fault, Refused, no_more
from camgen.shop.cutters import Cutter, reach_of, record_of
from camgen.shop.machine import Machine
from camgen.shop.materials import Material
from camgen.values import dataclass

__all__ = ["Region", "feasible_region", "what_would_help"]

Floats = NDArray[np.float64]
Plan = Callable[[Material, Cutter, Machine, float | None, float | None], CutPlan]
CURVE_POINTS = 160
DEEPEST_OF = ("flute length", "depth in practice", "height of the cone")


@dataclass(frozen=True)
class Region:
    """Curves over depth at the answer's speed and width.

    ``depths`` (n,) mm; ``most`` the greatest feed each limit allows and ``least`` the least feed
    that cuts, mm/min, (n,) each; ``deepest`` the limits on depth alone, mm.
    """

    depths: Floats
    most: dict[str, Floats]
    least: Floats
    deepest: dict[str, float]


def feasible_region(material: Material, cutter: Cutter, machine: Machine, width: float | None,
                    cut: CutPlan) -> Region:
    """The region about an answer of a mill or a form cutter.

    Raises Refused for cutters whose depth and feed do not bear on one another.
    """
    forms, mills = record_of(cutter).on_arbor, record_of(cutter).mills
    if not forms and not mills:
        raise Refused(Fault(f"depth against feed is no question for a {cutter.kind}",
                            "The picture is drawn for cutters that mill."))
    deepest = {limit.name: limit.value for limit in cut.limits if limit.name in DEEPEST_OF}
    if forms:
        deepest = {"depth of the space": cut.depth * cut.passes}
    far = 1.25 * min(max(cut.depth * 3.0, 0.3 * min(deepest.values())), min(deepest.values()))
    depths = np.linspace(far / CURVE_POINTS, far, CURVE_POINTS)
    most: dict[str, list[float]] = {}
    least: list[float] = []
    for depth in depths.tolist():
        if forms:
            bounds = form_feed_bounds(material, cutter, machine, cut.width, depth, cut.speed)
        else:
            bounds = feed_bounds(material, cutter, machine, width, depth, cut.speed)
        for name, feed in bounds.most.items():
            most.setdefault(name, []).append(feed)
        least.append(bounds.least)
    return Region(depths, {name: np.array(feeds) for name, feeds in most.items()},
                  np.array(least), deepest)


def what_would_help(plan: Plan, material: Material, cutter: Cutter, machine: Machine,
                    width: float | None, depth: float | None) -> tuple[str, ...]:
    """Changes that each alone make a refused cut possible, tried one after another.

    ``plan`` answers for material, cutter, machine, width and depth. Stick-out, depth and width are
    narrowed down to the largest that will do; larger cutters, another cutter material, fewer
    flutes, other spindles are tried in steps.
    """
    def goes(new: Cutter = cutter, mill: Machine = machine, wide: float | None = width,
             deep: float | None = depth) -> bool:
        try:
            plan(material, new, mill, wide, deep)
        except Refused:
            return False
        return True

    def altered(**change: Any) -> Cutter:
        return cutter.model_copy(update=change)

    def largest(low: float, high: float, works: Callable[[float], bool]) -> float | None:
        """The largest value that works between two bounds, to a hundredth, or None."""
        if not works(low):
            return None
        for _ in range(12):
            middle = (low + high) / 2.0
            low, high = (middle, high) if works(middle) else (low, middle)
        return low

    found: list[str] = []
    reach = reach_of(cutter)

    def shorter(value: float) -> bool:
        flute = min(cutter.flute_length or value, value)
        return goes(altered(reach=value, flute_length=flute))

    best = largest(0.3 * reach, reach, shorter)
    if best is not None:
        found.append(f"a stick-out of at most {_down(best)} mm")
    if depth is not None:
        best = largest(0.05 * depth, depth, lambda value: goes(deep=value))
        if best is not None:
            found.append(f"a depth of at most {_down(best)} mm")
    wide = width if width is not None else cutter.diameter
    record = record_of(cutter)
    if record.mills:
        best = largest(0.05 * wide, wide, lambda value: goes(wide=value))
        if best is not None:
            found.append(f"a width of at most {_down(best)} mm")
        wider = next((size for size in (2.0, 5.0, 10.0, 30.0, 100.0) if size * wide
                      <= cutter.diameter and goes(wide=size * wide)), None)
        if wider is not None and best is None:
            found.append(f"a width of {wider * wide:.2g} mm")
    for larger in (1.25, 1.5, 2.0, 3.0, 4.0):
        if goes(altered(diameter=cutter.diameter * larger)):
            found.append(f"a cutter of {cutter.diameter * larger:.2g} mm")
            break
    # The hole wants one of its own size.
    to_size = record.taps or record.bores or record.reams
    for smaller in (0.8, 0.6, 0.4, 0.25):
        size = cutter.diameter * smaller
        if not to_size and width is None and goes(
                altered(diameter=size)):
            found.append(f"a cutter of {size:.2g} mm")
            break
    for stuff in ("carbide", "hss", "diamond"):
        if stuff != cutter.material and goes(altered(material=stuff)):
            found.append(f"a cutter of {stuff}")
    for flutes in range(cutter.flutes - 1, 0, -1):
        if goes(altered(flutes=flutes)):
            found.append(f"{flutes} flute{'s' if flutes > 1 else ''}")
            break
    spindle = machine.spindle
    for slower in (2.0, 4.0, 10.0):
        slow = spindle.model_copy(update={
            "lowest": spindle.lowest / slower,
            "power": ((spindle.lowest / slower, spindle.power[0][1] / slower), *spindle.power)})
        if goes(mill=machine.model_copy(update={"spindle": slow})):
            found.append(f"a spindle that turns as slowly as {spindle.lowest / slower:.0f} rev/min")
            break
    for stronger in (2.0, 5.0):
        strong = spindle.model_copy(update={
            "power": tuple((rpm, power * stronger) for rpm, power in spindle.power)})
        if goes(mill=machine.model_copy(update={"spindle": strong})):
            found.append(f"a spindle {stronger:g} times as strong")
            break
    true = spindle.model_copy(update={"run_out": 0.0})
    if cutter.run_out != 0.0 and goes(
            altered(run_out=None if cutter.run_out is None else 0.0),
            machine.model_copy(update={"spindle": true})):
        found.append("a cutter that runs true")
    return tuple(found)


def _down(size: float) -> str:
    """A size in two figures that is no larger."""
    return no_more(size, 10.0 ** (math.floor(math.log10(size)) - 1))
