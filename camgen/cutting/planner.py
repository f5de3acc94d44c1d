"""Speed, feed, depth: the largest that every limit allows, and each limit named.

One function for each way of cutting, and :func:`plan_cut` that picks by the way a cutter cuts. What
cannot be done is refused by name, with what would help.

Lengths mm, speeds rev/min and m/min, feeds mm/min, forces N, stresses N/mm², power W, torque N·mm.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from camgen.cutting.answer import CutPlan, Governs, Limit
from camgen.cutting.findings import ShopFinding
from camgen.cutting.planners import boring, circles, drilling, form_cut, milling, tapping
from camgen.cutting.planners.circles import circle_feed
from camgen.cutting.planners.milling import force_limit
from camgen.cutting.speeds_had import at_speeds_had
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.cutters import Cutter, Way, record_of
from camgen.shop.machine import Machine
from camgen.shop.materials import Material
from camgen.values import dataclass

__all__ = [
    "CutPlan",
    "Governs",
    "Limit",
    "ShopFinding",
    "circle_feed",
    "force_limit",
    "plan_boring",
    "plan_cut",
    "plan_drilling",
    "plan_form_cut",
    "plan_milling",
    "plan_outside_thread_milling",
    "plan_tapping",
    "plan_thread_milling",
]

# Free plans take any speed between a spindle's ends; these the speeds that can be had of it.
plan_boring = at_speeds_had(boring.free_boring)
plan_drilling = at_speeds_had(drilling.free_drilling)
plan_form_cut = at_speeds_had(form_cut.free_form_cut)
plan_milling = at_speeds_had(milling.free_milling)
plan_outside_thread_milling = at_speeds_had(circles.free_outside_thread_milling)
plan_tapping = at_speeds_had(tapping.free_tapping)
plan_thread_milling = at_speeds_had(circles.free_thread_milling)

# A form cutter asked about without its space gets one as wide as a wheel's tooth space is on the
# whole: about π/2 modules to a depth of about 3.
SPACE_WIDTH_SHARE = 0.55


def plan_cut(
    material: Material,
    cutter: Cutter,
    machine: Machine,
    width: float | None = None,
    depth: float | None = None,
    *,
    keep_depth: bool = False,
    speed: float | None = None,
    feed: float | None = None,
    findings: Sequence[ShopFinding] = (),
    keep_to_findings: bool = False,
) -> CutPlan:
    """The answer for any cutter, with as little said as need be.

    ``width`` is for mills the radial width of the cut; for boring bars the metal on the radius; for
    thread mills the diameter of the thread, else half as much again as the cutter; for form cutters
    the mean width of the space, else 0.55 of its depth. ``depth`` left out is the most for mills,
    and for others what is usual. Both in mm, ``speed`` in rev/min, ``feed`` in mm/min.

    Raises Refused when no safe choice exists.
    """
    asked = _Asked(material, cutter, machine, width, depth, keep_depth, speed, feed, findings,
                   keep_to_findings)
    return _PLANNERS[record_of(cutter).way](asked)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What any cutter was asked for: see :func:`plan_cut`."""

    material: Material
    cutter: Cutter
    machine: Machine
    width: float | None
    depth: float | None
    keep_depth: bool
    speed: float | None
    feed: float | None
    findings: Sequence[ShopFinding]
    keep_to_findings: bool


def _milling(ask: _Asked) -> CutPlan:
    return plan_milling(ask.material, ask.cutter, ask.machine, ask.width, ask.depth,
                        keep_depth=ask.keep_depth, speed=ask.speed, feed=ask.feed,
                        findings=ask.findings, keep_to_findings=ask.keep_to_findings)


def _drilling(ask: _Asked) -> CutPlan:
    return plan_drilling(ask.material, ask.cutter, ask.machine, ask.depth, speed=ask.speed,
                         feed=ask.feed, findings=ask.findings,
                         keep_to_findings=ask.keep_to_findings)


def _tapping(ask: _Asked) -> CutPlan:
    return plan_tapping(ask.material, ask.cutter, ask.machine, ask.depth, speed=ask.speed)


def _boring(ask: _Asked) -> CutPlan:
    return plan_boring(ask.material, ask.cutter, ask.machine, ask.depth, stock=ask.width,
                       speed=ask.speed, feed=ask.feed)


def _form_cutting(ask: _Asked) -> CutPlan:
    deep = ask.depth if ask.depth is not None else 0.02 * ask.cutter.diameter
    wide = ask.width if ask.width is not None else SPACE_WIDTH_SHARE * deep
    return plan_form_cut(ask.material, ask.cutter, ask.machine, wide * deep, deep, speed=ask.speed,
                         feed=ask.feed, findings=ask.findings,
                         keep_to_findings=ask.keep_to_findings)


def _thread_milling(ask: _Asked) -> CutPlan:
    cutter = ask.cutter
    around = ask.width if ask.width is not None else 1.5 * cutter.diameter + (cutter.pitch or 0.0)
    return plan_thread_milling(ask.material, cutter, ask.machine, around, speed=ask.speed,
                               findings=ask.findings, keep_to_findings=ask.keep_to_findings)


def _touching(ask: _Asked) -> CutPlan:
    raise Refused(Fault(Message("a {kind} cuts nothing", kind=ask.cutter.kind),
                        Message("ask with a cutter; probe: sets a zero with it")))


# The planner of each way of cutting.
_PLANNERS: Final[dict[Way, Callable[[_Asked], CutPlan]]] = {
    Way.MILLING: _milling,
    Way.DRILLING: _drilling,
    Way.TAPPING: _tapping,
    Way.BORING: _boring,
    Way.THREAD_MILLING: _thread_milling,
    Way.FORM_CUTTING: _form_cutting,
    Way.TOUCHING: _touching,
}
