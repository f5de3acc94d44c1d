"""Threads cut by taps that screw themselves in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import ceil, pi, tan

from camgen.cutting.answer import CutPlan, Limit
from camgen.cutting.body import body_of, choose_speed, plain_sense
from camgen.cutting.forces import specific_force, torque_at
from camgen.cutting.stiffness import torsion_factor
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.cutters import Cutter, record_of
from camgen.shop.machine import Machine
from camgen.shop.materials import Material, edge_of
from camgen.shop.tables import rule
from camgen.shop.tapping_holes import less_full

__all__ = ["free_tapping", "tap_torque"]

# The least of a thread's height that is worth cutting, as a share of the pitch: a hole of
# D - 0.58 P, the widest that is published for long miniature threads.
LEAST_HEIGHT = 0.58 / 2


def tap_torque(kc: float, diameter: float, hole: float) -> float:
    """The torque of a tap in N mm: K · kc · (D − d)² · (D + 2d) · tan 30° / 24.

    A tap maker's published formula. The section of a thread's triangle on a ``hole`` of d, times kc
    (N/mm²), at the radius of its middle (geometry); K is for friction and for edges that are not
    quite sharp.

    >>> round(tap_torque(700.0, 1.0, 0.85) / tap_torque(700.0, 1.0, 0.76), 3)
    0.419
    """
    height = diameter - hole
    share = rule("tap-torque").value
    return share * kc * height**2 * (diameter + 2.0 * hole) * tan(pi / 6.0) / 24.0


def _wider(torque: Callable[[float], float], most_torque: float, diameter: float, hole: float,
           pitch: float) -> Message:
    """What to do where a tap would be twisted too much in a ``hole``: a hole so much wider that it
    holds, where such a hole still leaves a thread; else otherwise."""
    most = diameter - 2.0 * LEAST_HEIGHT * pitch
    wide = ceil(100.0 * hole - 1e-6) / 100.0
    while wide <= most and torque(wide) > most_torque:
        wide += 0.01
    if wide <= most:
        return Message("a hole of {wide:.2f} mm or more for it, where the thread may be less full; "
                       "or a thread mill, or several taps one after another by hand", wide=wide)
    return Message("tap by hand, with several taps one after another and a hole up to {most:.2f} "
                   "mm, and write made-elsewhere: [threads]; or a thread mill, or a thread former "
                   "made for the material", most=most)


def free_tapping(
    material: Material,
    cutter: Cutter,
    machine: Machine,
    depth: float | None = None,
    *,
    hole: float | None = None,
    speed: float | None = None,
) -> CutPlan:
    """Plan a thread cut with a tap: the feed is the pitch times the speed, exactly.

    Torque as in :func:`tap_torque`, kc at the chip that each of the teeth in the tapered lead of
    three pitches takes: of the hole really there, ``hole`` mm wide; left out, the minor diameter.
    The core twists; a sharp tap in a drilled hole is trusted nearer to breaking than a milling
    cutter is. ``depth`` mm of thread; left out, one and a half diameters.

    Raises Refused when the pitch is not known, or no safe choice exists.
    """
    if not record_of(cutter).taps:
        raise Refused(Fault(Message("the {kind} does not tap", kind=cutter.kind),
                            Message("take a tap")))
    if cutter.pitch is None or cutter.pitch >= 0.6 * cutter.diameter:
        raise Refused(Fault(
            Message("the tap's pitch is not given") if cutter.pitch is None else
            Message("a pitch of {pitch:g} mm is too coarse for a thread of {diameter:g} mm",
                    pitch=cutter.pitch, diameter=cutter.diameter),
            Message("such as tap 1.0 pitch 0.25")))
    faults = plain_sense(None, depth, cutter.diameter)
    if faults:
        raise Refused(faults)
    edge = edge_of(cutter)
    body = body_of(cutter, machine, edge)
    pitch, diameter = cutter.pitch, cutter.diameter
    deep = 1.5 * diameter if depth is None else depth
    deepest = min(cutter.flute_length or body.reach, 3.0 * diameter)
    deep = min(deep, deepest) if depth is None else deep
    if deep > deepest * (1.0 + 1e-9):
        raise Refused(Fault(
            Message("deepest thread: {deep:g} mm cannot be tapped in one go, {deepest:.3g} mm can",
                    deep=deep, deepest=deepest),
            Message("back out to break the chip, or tap by hand")))
    turned = choose_speed(material, cutter, machine, diameter, rule("tap-speed-share").value, speed)
    rpm = turned.rpm
    slow = machine.z.feed_limit / pitch
    if rpm > slow:
        if speed is not None or slow < machine.spindle.lowest:
            raise Refused(Fault(
                Message("axis feed: a pitch of {pitch:g} mm at {rpm:.0f} rev/min is {feed:.0f} "
                        "mm/min, the Z axis goes {axis:g}", pitch=pitch, rpm=rpm, feed=rpm * pitch,
                        axis=machine.z.feed_limit),
                Message("take a slower spindle, or tap by hand")))
        rpm, turned = slow, replace(turned, governed=Message("axis feed"))
    # The thread's height as the hole leaves it, shared by all teeth of the lead.
    wide = min(diameter - 1.0825 * pitch if hole is None else hole, 0.98 * diameter)

    def chip_in(there: float) -> float:
        return (diameter - there) / 2.0 / (3.0 * cutter.flutes)

    def torque_in(there: float) -> float:
        return tap_torque(
            specific_force(material.kc1.value, material.mc.value, chip_in(there)), diameter, there)

    chip = chip_in(wide)
    least_chip = material.least_chip.value * body.edge_radius
    torque = torque_in(wide)
    core = rule("tap-core").value * (diameter - 1.2 * pitch)
    twist = torque * torsion_factor(core)
    allowed = edge.shear_strength / rule("tap-safety").value
    torque_most = torque_at(machine.spindle.power, rpm)  # a tap cuts all the time: no overload
    faults = []
    if twist > allowed:
        faults.append(Fault(
            Message("torsion: the tap's core of {core:.2g} mm would be twisted with {twist:.0f} "
                    "N/mm², {allowed:.0f} is allowed", core=core, twist=twist, allowed=allowed),
            _wider(torque_in, allowed / torsion_factor(core), diameter, wide, pitch)))
    if torque > torque_most:
        faults.append(Fault(
            Message("spindle torque: {torque:.3g} N mm are needed, {most:.3g} are there at "
                    "{rpm:.0f} rev/min", torque=torque, most=torque_most, rpm=rpm),
            Message("take another speed, or tap by hand")))
    if faults:
        raise Refused(faults)
    power = torque * rpm * pi / 30000.0
    feed = rpm * pitch
    warnings = [*body.notes, *turned.warnings,
                Message("a spindle whose turning is not tied to the axis needs a holder that "
                        "gives way along its length, and a reversal; else tap by hand")]
    if less_full(material.group):
        warnings.append(Message("a tap in so tough a metal: the widest hole that is usual for its "
                                "thread, plenty of cutting oil, and by hand where a broken tap "
                                "would cost the part (made-elsewhere: [threads])"))
    if chip < least_chip:
        warnings.append(Message("the tap's chips are thinner than its edges are sharp: it will "
                                "rub; oil, and a sharp tap"))
    return CutPlan(
        speed=rpm, surface_speed=rpm * pi * diameter / 1000.0, chip_load=chip, feed=feed,
        plunge_feed=feed, depth=deep, width=diameter,
        limits=(
            *turned.limits(rpm),
            Limit.at_most(Message("axis feed"), machine.z.feed_limit, "mm/min", "speed", feed),
            Limit.at_most(Message("torsion"), allowed, "N/mm2", "feed", twist),
            *turned.spindle_limits(rpm, "feed", torque, power),
            Limit.at_most(Message("deepest thread"), deepest, "mm", "depth", deep)),
        governed_by={"speed": turned.governed, "feed": Message("pitch of the thread"),
                     "depth": Message("asked") if depth is not None
                     else Message("one and a half diameters"),
                     "width": Message("cutter's diameter")},
        warnings=tuple(warnings), torque=torque, power=power, cautions=material.cautions,
        own_values=material.own)
