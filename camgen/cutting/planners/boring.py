"""Holes brought to size by a boring bar: a corner set out on a round bar."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

from camgen.cutting.answer import CutPlan, Limit
from camgen.cutting.body import Body, body_of, choose_speed, plain_sense, plunge_beyond, too_weak
from camgen.cutting.forces import torque_at
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.cutters import Cutter, record_of, usual
from camgen.shop.machine import Machine
from camgen.shop.materials import EdgeMaterial, Material, edge_of
from camgen.shop.tables import rule

__all__ = ["free_boring"]


def free_boring(
    material: Material,
    cutter: Cutter,
    machine: Machine,
    depth: float | None = None,
    *,
    stock: float | None = None,
    finish: bool = False,
    speed: float | None = None,
    feed: float | None = None,
) -> CutPlan:
    """Plan a hole bored by a single-edged bar that turns with the spindle.

    ``depth`` mm of the hole, ``stock`` mm to be taken off the radius; the answer's ``width`` is
    what one pass takes of it, and ``passes`` how many that makes. With ``finish`` the feed is kept
    to the finish f²/(8·r) allowed by the corner's radius r (theoretical roughness, geometry) and
    the bar may bend a tenth as much, for what it bends the hole is out of round or tapered.

    The bar bends as a round one of its shank under the resultant of Kienzle's force on a chip of
    the section f · width.

    Raises Refused when no safe choice exists.
    """
    if not record_of(cutter).bores:
        raise Refused(Fault(Message("the {kind} does not bore", kind=cutter.kind),
                            Message("take a boring bar")))
    faults = plain_sense(stock, depth, cutter.diameter)
    if faults:
        raise Refused(faults)
    edge = edge_of(cutter)
    bar = _bar(cutter, machine, edge)
    diameter = cutter.diameter
    deep = min(diameter, bar.reach) if depth is None else depth
    if deep > bar.reach * (1.0 + 1e-9):
        raise Refused(Fault(
            Message("reach: a hole of {deep:g} mm is deeper than the bar reaches, {reach:g} mm",
                    deep=deep, reach=bar.reach), Message("take a longer bar")))
    turned = choose_speed(material, cutter, machine, diameter, rule("bore-speed-share").value,
                          speed)
    rpm = turned.rpm
    least_chip = material.least_chip.value * bar.edge_radius
    corner = rule("bore-corner").value
    roughness = rule("bore-roughness").value
    by_finish = sqrt(8.0 * corner * roughness)
    table = min(material.drill_feed.value * diameter, material.chip_most.value)
    axis_feed = machine.z.feed_limit
    per_turn, governed = min((table, Message("chip load")), (by_finish if finish else table,
                                                             Message("finish")),
                             (axis_feed / rpm, Message("axis feed")))
    if feed is not None:
        if feed > axis_feed:
            raise Refused(plunge_beyond(axis_feed, feed))
        per_turn, governed = feed / rpm, Message("asked")
    elif per_turn < least_chip:
        if governed != "axis feed":
            per_turn, governed = least_chip, Message("least chip")
        if axis_feed / rpm < least_chip:
            slower = max(axis_feed / table, machine.spindle.lowest)
            if speed is not None or axis_feed / slower < least_chip:
                raise Refused(too_weak(Message("axis feed"), deep, axis_feed / rpm, least_chip,
                                       cutter))
            rpm, turned = slower, replace(turned,
                                          governed=Message("axis feed, so that the edge cuts"))
            per_turn, governed = min(axis_feed / rpm, table), Message("axis feed")
    kc1, mc = material.kc1.value * rule("wear").value, material.mc.value
    share = rule("radial-share").value
    resultant = sqrt(1.0 + share * share)
    # A hole comes out small by what the bar bends: a tenth of what a milling cutter may.
    bent_most = min(rule("deflection-share").value * diameter, rule("deflection-most").value) * (
        0.1 if finish else 0.5)
    stress_most = edge.bending_strength / rule("safety-factor").value
    torque_most = torque_at(machine.spindle.power, rpm)
    per_width = kc1 * per_turn ** (1.0 - mc)
    wanted = max(0.02 * diameter, 2.0 * least_chip) if stock is None else stock
    width, width_governed = min(
        (wanted, Message("asked") if stock is not None else Message("depth in practice")),
        (bent_most / bar.compliance / (per_width * resultant), Message("deflection")),
        (stress_most / bar.bending / (per_width * resultant), Message("bending stress")),
        (torque_most / (diameter / 2.0) / per_width, Message("spindle power")))
    if width < min(wanted, least_chip):
        raise Refused(Fault(
            Message("{name}: the bar can take {width:.2g} µm off the radius, the edge needs "
                    "{least:.2g} µm to cut", name=width_governed, width=width * 1000,
                    least=least_chip * 1000),
            Message("a shorter or thicker bar, a sharper edge, or less feed")))
    force = per_width * width * resultant
    torque = per_width * width * diameter / 2.0
    power = torque * rpm * pi / 30000.0
    bent = force * bar.compliance
    stress = force * bar.bending
    passes = 1 if stock is None else max(1, -int(-(stock / width - 1e-9) // 1))
    feed_now = rpm * per_turn
    warnings = [*bar.notes, *turned.warnings]
    if width < least_chip:
        warnings.append(Message("so little is left on the radius that the edge rubs"))
    if per_turn < least_chip * (1.0 - 1e-9):
        warnings.append(Message("the feed asked for is so small that the edge rubs"))
    return CutPlan(
        speed=rpm, surface_speed=rpm * pi * diameter / 1000.0, chip_load=per_turn, feed=feed_now,
        plunge_feed=feed_now, depth=deep, width=width,
        limits=(
            *turned.limits(rpm),
            Limit.at_most(Message("chip load"), table, "mm/rev", "feed", per_turn),
            *((Limit.at_most(Message("finish"), roughness, "mm", "feed",
                             per_turn**2 / (8.0 * corner)),) if finish else ()),
            Limit.at_least(Message("least chip"), least_chip, "mm", "feed", per_turn),
            Limit.at_most(Message("axis feed"), axis_feed, "mm/min", "feed", feed_now),
            Limit.at_most(Message("deflection"), bent_most, "mm", "width", bent),
            Limit.at_most(Message("bending stress"), stress_most, "N/mm2", "width", stress),
            *turned.spindle_limits(rpm, "width", torque, power),
            Limit.at_most(Message("reach"), bar.reach, "mm", "depth", deep)),
        governed_by={"speed": turned.governed, "feed": governed,
                     "depth": Message("asked") if depth is not None else Message("one diameter"),
                     "width": width_governed},
        warnings=tuple(warnings), passes=passes, force=force, torque=torque, power=power,
        deflection=bent, tangential=force / resultant, radial=force / resultant * share,
        peak_chip=per_turn, mean_chip=per_turn, cautions=material.cautions,
        own_values=material.own)


def _bar(cutter: Cutter, machine: Machine, edge: EdgeMaterial) -> Body:
    """A boring bar's body: a plain round bar of its shank, of 0.7 of the hole where not given."""
    shank = cutter.shank if cutter.shank is not None else 0.7 * cutter.diameter
    plain = cutter.model_copy(update={"flute_length": None, "shank": None,
                                      "diameter": shank / rule("fluted-diameter").value,
                                      "reach": cutter.reach or (
                                          usual(cutter.kind, "reach") * cutter.diameter)})
    body = body_of(plain, machine, edge)
    notes = [] if cutter.shank is not None else [Message("bar's shank not given: {shank:.3g} mm "
                                                         "taken", shank=shank)]
    if cutter.reach is None:
        notes.append(Message("reach not given: {reach:g} mm taken", reach=body.reach))
    radius = cutter.edge_radius if cutter.edge_radius is not None else edge.edge_base
    return replace(body, edge_radius=radius, notes=tuple(notes))
