"""Speed, feed, depth: the largest that every limit allows, and each limit named.

One function for each way of cutting, and :func:`plan_cut` that picks by the kind of cutter. What
cannot be done is refused by name, with what would help.

Lengths mm, speeds rev/min and m/min, feeds mm/min, forces N, stresses N/mm², power W, torque N·mm.
"""

from __future__ import annotations

from collections.abc import Sequence

from camgen.cutting.answer import CutPlan, Governs, Limit
from camgen.cutting.circles import circle_feed, plan_thread_milling
from camgen.cutting.drilling import plan_boring, plan_drilling, plan_tapping
from camgen.cutting.findings import Finding
from camgen.cutting.form_cut import plan_form_cut
from camgen.cutting.milling import force_limit, plan_milling
from camgen.shop.cutters import Cutter
from camgen.shop.machine import Machine
from camgen.shop.materials import Material

__all__ = [
    "CutPlan",
    "Finding",
    "Governs",
    "Limit",
    "circle_feed",
    "force_limit",
    "plan_boring",
    "plan_cut",
    "plan_drilling",
    "plan_form_cut",
    "plan_milling",
    "plan_tapping",
    "plan_thread_milling",
]

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
    findings: Sequence[Finding] = (),
    keep_to_findings: bool = False,
) -> CutPlan:
    """The answer for any cutter, with as little said as need be.

    ``width`` is for mills the radial width of the cut; for boring bars the metal on the radius; for
    thread mills the diameter of the thread, else half as much again as the cutter; for form cutters
    the mean width of the space, else 0.55 of its depth. ``depth`` left out is the most for mills,
    and for others what is usual.

    Raises Refused when no safe choice exists.
    """
    kind = cutter.kind
    if kind in ("drill", "spot-drill", "countersink", "counterbore", "reamer"):
        return plan_drilling(material, cutter, machine, depth, speed=speed, feed=feed,
                             findings=findings, keep_to_findings=keep_to_findings)
    if kind == "tap":
        return plan_tapping(material, cutter, machine, depth, speed=speed)
    if kind == "boring-bar":
        return plan_boring(material, cutter, machine, depth, stock=width, speed=speed, feed=feed)
    if kind in ("form-disc", "fly-cutter"):
        deep = depth if depth is not None else 0.02 * cutter.diameter
        wide = width if width is not None else SPACE_WIDTH_SHARE * deep
        return plan_form_cut(material, cutter, machine, wide * deep, deep, speed=speed, feed=feed,
                             findings=findings, keep_to_findings=keep_to_findings)
    if kind == "thread-mill":
        around = width if width is not None else 1.5 * cutter.diameter + (cutter.pitch or 0.0)
        return plan_thread_milling(material, cutter, machine, around, speed=speed,
                                   findings=findings, keep_to_findings=keep_to_findings)
    return plan_milling(material, cutter, machine, width, depth, keep_depth=keep_depth, speed=speed,
                        feed=feed, findings=findings, keep_to_findings=keep_to_findings)
