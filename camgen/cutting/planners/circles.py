"""Cuts along circles: the feed of the cutter's centre, and threads milled along a helix."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt

from camgen.cutting.answer import CutPlan, Limit
from camgen.cutting.chips import effective_width_in_circle
from camgen.cutting.findings import ShopFinding
from camgen.cutting.planners.milling import free_milling
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.cutters import Ability, Cutter, record_of
from camgen.shop.machine import Machine
from camgen.shop.materials import Material

__all__ = ["circle_feed", "free_outside_thread_milling", "free_thread_milling"]


def circle_feed(feed: float, circle: float, cutter: float, machine: Machine,
                inside: bool = True) -> tuple[float, Message]:
    """Feed of the cutter's centre round a circle, mm/min, and what set it.

    ``feed`` is what the wall may see, ``circle`` and ``cutter`` diameters, mm. The wall of a hole
    of the radius R sees the centre's feed times R/(R − r), so the centre gets feed · (R − r)/R;
    outside, feed · (R + r)/R, but never more than the feed itself. The axes follow a circle of the
    radius ρ only up to v = √(a·ρ), a their acceleration (uniform motion round a circle).

    Raises ValueError when the cutter does not go into the hole.

    >>> from camgen.shop.machine import Machine
    >>> mill = Machine(name="a-mill", describes="an example")
    >>> circle_feed(200.0, 0.8, 0.4, mill)
    (100.0, 'the wall')
    """
    path = (circle - cutter) / 2.0 if inside else (circle + cutter) / 2.0
    if path <= 0.0:
        raise ValueError("the cutter does not go into the hole")
    at_centre = feed * min(1.0, path / (circle / 2.0))
    by_axes = 60.0 * sqrt(min(machine.x.acceleration, machine.y.acceleration) * path)
    return min((at_centre, Message("the wall")), (by_axes, Message("acceleration in the circle")))


def free_thread_milling(
    material: Material,
    cutter: Cutter,
    machine: Machine,
    thread_diameter: float,
    *,
    rows: int = 1,
    speed: float | None = None,
    findings: Sequence[ShopFinding] = (),
    keep_to_findings: bool = False,
) -> CutPlan:
    """Plan an internal thread milled along a helix, one turn of which rises by the pitch.

    ``rows`` is the number of rows of teeth in the metal at once. The thread is 0.5413 P deep (ISO
    68-1, from memory). Its triangles are taken as full rectangles, so the forces said are about
    twice what is there: on the safe side. The answer's ``feed`` is that of the cutter's centre.

    Raises Refused when the pitch is not known, the cutter does not go in, or no safe choice exists.
    """
    able = record_of(cutter).can(Ability.MILL_THREAD)
    if not able or cutter.pitch is None:
        raise Refused(Fault(Message("the thread mill's pitch is not given") if able else
                            Message("the {kind} does not mill threads", kind=cutter.kind),
                            Message("such as thread-mill 0.7 pitch 0.25")))
    pitch = cutter.pitch
    deep = 0.5413 * pitch
    minor = thread_diameter - 2.0 * deep
    if cutter.diameter >= minor or rows < 1:
        raise Refused(Fault(
            Message("a thread mill of {diameter:g} mm does not go into a hole of {minor:.3g} mm",
                    diameter=cutter.diameter, minor=minor),
            Message("take a smaller one, and at least one row of teeth")))
    width = min(effective_width_in_circle(deep, cutter.diameter, thread_diameter), cutter.diameter)
    cut = free_milling(material, cutter, machine, width, rows * pitch, keep_depth=True,
                       speed=speed, findings=findings, keep_to_findings=keep_to_findings)
    feed, name = circle_feed(cut.feed, thread_diameter, cutter.diameter, machine)
    by_axes = 60.0 * sqrt(min(machine.x.acceleration, machine.y.acceleration)
                          * (thread_diameter - cutter.diameter) / 2.0)
    governed = dict(cut.governed_by)
    governed["depth"], governed["width"] = (
        Message("pitch of the thread"), Message("depth of the thread"))
    warnings = (*cut.warnings,
                Message("the feed is that of the cutter's centre round the helix"))
    if name != "the wall":
        governed["feed"] = name
        least = next(limit for limit in cut.limits if limit.name == "least chip")
        slower = feed * thread_diameter / (thread_diameter - cutter.diameter)
        if least.used * slower / cut.feed < least.value:
            warnings = (*warnings, Message("the axes are so slow round this circle that the edge "
                                           "rubs: less speed"))
    return replace(
        cut, feed=feed, governed_by=governed, warnings=warnings,
        plunge_feed=min(cut.plunge_feed, feed), ramp_feed=min(cut.ramp_feed, feed),
        limits=(*cut.limits, Limit(Message("acceleration in the circle"), by_axes, "mm/min",
                                   "feed", feed / by_axes, feed)))


def free_outside_thread_milling(
    material: Material,
    cutter: Cutter,
    machine: Machine,
    deep: float,
    root: float,
    *,
    rows: int = 1,
    speed: float | None = None,
) -> CutPlan:
    """Plan a thread milled round a post, ``deep`` mm down to a ``root`` diameter, mm.

    ``rows`` of teeth are in the metal at once, their triangles taken as full rectangles. Round a
    post the engaged arc is shorter than along a straight wall, which is what is reckoned: both on
    the safe side. The answer's ``feed`` is that of the cutter's centre, which is never slower than
    the wall sees it.

    Raises Refused when the pitch is not known or no safe choice exists.
    """
    if cutter.pitch is None:
        raise Refused(Fault(Message("the thread mill's pitch is not given"),
                            Message("such as thread-mill 0.7 pitch 0.25")))
    cut = free_milling(material, cutter, machine, min(deep, cutter.diameter), rows * cutter.pitch,
                       keep_depth=True, speed=speed)
    feed, name = circle_feed(cut.feed, root, cutter.diameter, machine, inside=False)
    governed = dict(cut.governed_by)
    governed["depth"], governed["width"] = (
        Message("pitch of the thread"), Message("depth of the thread"))
    by_axes = 60.0 * sqrt(min(machine.x.acceleration, machine.y.acceleration)
                          * (root + cutter.diameter) / 2.0)
    if name != "the wall":
        governed["feed"] = name
    return replace(
        cut, feed=feed, governed_by=governed,
        plunge_feed=min(cut.plunge_feed, feed), ramp_feed=min(cut.ramp_feed, feed),
        limits=(*cut.limits, Limit(Message("acceleration in the circle"), by_axes, "mm/min",
                                   "feed", feed / by_axes, feed)))
