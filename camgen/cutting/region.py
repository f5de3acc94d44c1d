"""How far each limit lets depth and feed go, and what would help where nothing goes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import numpy as np

from camgen.arrays import Floats
from camgen.cutting.answer import CutPlan
from camgen.cutting.planners.form_cut import form_feed_bounds
from camgen.cutting.planners.milling_cut import feed_bounds
from camgen.faults import Fault, Refused, no_more
from camgen.messages import Message, counted
from camgen.shop.cutters import Cutter, reach_of, record_of
from camgen.shop.machine import Machine
from camgen.shop.materials import Material
from camgen.values import dataclass

__all__ = ["Region", "feasible_region", "what_would_help"]

Plan = Callable[[Material, Cutter, Machine, float | None, float | None], CutPlan]
CURVE_POINTS = 160
DEEPEST_OF = (Message("flute length"), Message("depth in practice"), Message("height of the cone"),
              Message("heat of the edge"))


@dataclass(frozen=True)
class Region:
    """Curves over depth at the answer's speed and width.

    ``depths`` (n,) mm; ``most`` the greatest feed each limit allows and ``least`` the least feed
    that cuts, mm/min, (n,) each; ``deepest`` the limits on depth alone, mm.
    """

    depths: Floats
    most: dict[Message, Floats]
    least: Floats
    deepest: dict[Message, float]


def feasible_region(material: Material, cutter: Cutter, machine: Machine, width: float | None,
                    cut: CutPlan) -> Region:
    """The region about an answer of a mill or a form cutter in a cut ``width`` mm wide.

    Raises Refused for cutters whose depth and feed do not bear on one another.
    """
    forms, mills = record_of(cutter).on_arbor, record_of(cutter).mills
    if not forms and not mills:
        raise Refused(Fault(
            Message("depth against feed is no question for the {kind}", kind=cutter.kind),
            Message("the picture is drawn for cutters that mill")))
    deepest = {limit.name: limit.value for limit in cut.limits if limit.name in DEEPEST_OF}
    if forms:
        deepest = {Message("depth of the space"): cut.depth * cut.passes}
    far = 1.25 * min(max(cut.depth * 3.0, 0.3 * min(deepest.values())), min(deepest.values()))
    depths = np.linspace(far / CURVE_POINTS, far, CURVE_POINTS)
    most: dict[Message, list[float]] = {}
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
                    width: float | None, depth: float | None) -> tuple[Message, ...]:
    """Changes that each alone make a refused cut possible, tried one after another.

    ``plan`` answers for material, cutter, machine, width and depth, mm. Stick-out, depth and width
    are narrowed down to the largest that will do; larger cutters, another cutter material, fewer
    flutes, other spindles are tried in steps.
    """
    refused = _RefusedCut(plan, material, cutter, machine, width, depth)
    return (*_less_of_the_cut(refused), *_other_sizes(refused), *_other_makes(refused),
            *_other_spindles(refused))


@dataclass(frozen=True)
class _RefusedCut:
    """A cut that was refused, to be asked for again with one thing changed."""

    plan: Plan
    material: Material
    cutter: Cutter
    machine: Machine
    width: float | None
    depth: float | None

    def goes(self, cutter: Mapping[str, Any] | None = None,
             spindle: Mapping[str, Any] | None = None, *,
             width: float | None = None, depth: float | None = None) -> bool:
        """Whether it can be done with other words of the cutter or the spindle, width or depth."""
        machine = self.machine if spindle is None else self.machine.model_copy(
            update={"spindle": self.machine.spindle.model_copy(update=dict(spindle))})
        try:
            self.plan(self.material, self.cutter.model_copy(update=dict(cutter or {})), machine,
                      self.width if width is None else width,
                      self.depth if depth is None else depth)
        except Refused:
            return False
        return True


def _largest(low: float, high: float, works: Callable[[float], bool]) -> float | None:
    """The largest value that works between two bounds, to a hundredth, or None."""
    if not works(low):
        return None
    for _ in range(12):
        middle = (low + high) / 2.0
        low, high = (middle, high) if works(middle) else (low, middle)
    return low


def _less_of_the_cut(refused: _RefusedCut) -> Iterator[Message]:
    """Less stick-out, depth or width; or more width, where the edge would rub."""
    cutter, depth = refused.cutter, refused.depth
    reach = reach_of(cutter)

    def shorter(value: float) -> bool:
        flute = min(cutter.flute_length or value, value)
        return refused.goes({"reach": value, "flute_length": flute})

    best = _largest(0.3 * reach, reach, shorter)
    if best is not None:
        yield Message("a stick-out of at most {most} mm", most=_down(best))
    if depth is not None:
        best = _largest(0.05 * depth, depth, lambda value: refused.goes(depth=value))
        if best is not None:
            yield Message("a depth of at most {most} mm", most=_down(best))
    wide = refused.width if refused.width is not None else cutter.diameter
    if record_of(cutter).mills:
        best = _largest(0.05 * wide, wide, lambda value: refused.goes(width=value))
        if best is not None:
            yield Message("a width of at most {most} mm", most=_down(best))
        wider = next((size for size in (2.0, 5.0, 10.0, 30.0, 100.0) if size * wide
                      <= cutter.diameter and refused.goes(width=size * wide)), None)
        if wider is not None and best is None:
            yield Message("a width of {width:.2g} mm", width=wider * wide)


def _other_sizes(refused: _RefusedCut) -> Iterator[Message]:
    """A larger cutter, or a smaller one where neither hole nor width asks for its size."""
    cutter, record = refused.cutter, record_of(refused.cutter)
    # The hole wants one of its own size.
    to_size = record.taps or record.bores or record.reams
    smaller = () if to_size or refused.width is not None else (0.8, 0.6, 0.4, 0.25)
    for shares in ((1.25, 1.5, 2.0, 3.0, 4.0), smaller):
        size = next((cutter.diameter * share for share in shares
                     if refused.goes({"diameter": cutter.diameter * share})), None)
        if size is not None:
            yield Message("a cutter of {size:.2g} mm", size=size)


def _other_makes(refused: _RefusedCut) -> Iterator[Message]:
    """A cutter of another material, or with fewer flutes."""
    for stuff in ("carbide", "hss", "diamond"):
        if stuff != refused.cutter.material and refused.goes({"material": stuff}):
            yield Message("a cutter of {stuff}", stuff=stuff)
    flutes = next((fewer for fewer in range(refused.cutter.flutes - 1, 0, -1)
                   if refused.goes({"flutes": fewer})), None)
    if flutes is not None:
        yield counted("{n} flute", "{n} flutes", flutes)


def _other_spindles(refused: _RefusedCut) -> Iterator[Message]:
    """A slower spindle, a stronger one, one that runs true."""
    spindle = refused.machine.spindle
    for slower in (2.0, 4.0, 10.0):
        lowest = spindle.lowest / slower
        if refused.goes(spindle={
                "lowest": lowest,
                "power": ((lowest, spindle.power[0][1] / slower), *spindle.power)}):
            yield Message("a spindle that turns as slowly as {lowest:.0f} rev/min", lowest=lowest)
            break
    for stronger in (2.0, 5.0):
        if refused.goes(spindle={
                "power": tuple((rpm, power * stronger) for rpm, power in spindle.power)}):
            yield Message("a spindle {stronger:g} times as strong", stronger=stronger)
            break
    run_out = refused.cutter.run_out
    if run_out != 0.0 and refused.goes({"run_out": None if run_out is None else 0.0},
                                       {"run_out": 0.0}):
        yield Message("a cutter that runs true")


def _down(size: float) -> str:
    """A size in two figures that is no larger."""
    return no_more(size, 10.0 ** (math.floor(math.log10(size)) - 1))
