"""Holes made along the spindle: drills, spot drills, countersinks, counterbores, reamers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import pi, sin, sqrt
from math import radians as in_radians

from camgen.cutting.answer import CutPlan, Limit
from camgen.cutting.body import body_of, choose_speed, edge_at, plain_sense, too_weak
from camgen.cutting.findings import Caps, Finding, caps, matching, no_milder
from camgen.cutting.forces import drill_thrust, drill_torque, power_at, specific_force, torque_at
from camgen.cutting.stiffness import buckling_force, torsion_factor
from camgen.faults import Fault, Refused
from camgen.shop.cutters import Cutter, EdgeForm, Way, kinds_of, record_of
from camgen.shop.machine import Machine
from camgen.shop.materials import Material, edge_of
from camgen.shop.tables import rule

__all__ = ["peck_depth", "plan_drilling", "ream_allowance"]

def peck_depth(depth: float, diameter: float, flute_length: float, chip_bulk: float) -> float:
    """Depth of one bite, mm, 0 where the hole can be made in one stroke.

    A hole deeper than some diameters is pecked (practice). The chips of one bite take ``chip_bulk``
    times its room and must lie in the flutes, which are about half of the drill's section: bite ≤
    half · flute length / bulk (a balance of volumes).

    >>> peck_depth(1.0, 0.5, 8.0, 4.0), peck_depth(3.0, 0.5, 8.0, 4.0)
    (0.0, 0.5)
    """
    if depth <= rule("peck-from").value * diameter:
        return 0.0
    bite = min(rule("peck-most").value * diameter,
               rule("flute-room").value * flute_length / chip_bulk)
    return 0.0 if bite >= depth else bite


def plan_drilling(
    material: Material,
    cutter: Cutter,
    machine: Machine,
    depth: float | None = None,
    *,
    existing: float = 0.0,
    speed: float | None = None,
    feed: float | None = None,
    findings: Sequence[Finding] = (),
    keep_to_findings: bool = False,
) -> CutPlan:
    """Plan a hole with a drill, spot drill, countersink, counterbore or reamer.

    ``depth`` mm is that of the full diameter, for pointed cutters that of the point; left out, one
    diameter. ``existing`` mm is the diameter of the hole there already; for a reamer left out, the
    usual allowance. ``peck`` of the answer is the depth of one bite, 0 where one stroke will do.

    Both lips together cut the ring between the two diameters: torque kc · f · (D² − d²)/8, thrust
    0.5 · kc · f · (D − d)/2 · sin κ, doubled by the chisel edge where there is no hole yet; kc at
    the chip f/2 · sin κ. A drill twists in its core and gives way under thrust as a column.

    Raises Refused when no safe choice exists.
    """
    record = record_of(cutter)
    if record.way is not Way.DRILLING:
        raise Refused(Fault(f"a {cutter.kind} does not drill",
                            f"Holes are made with: {', '.join(kinds_of(Way.DRILLING))}."))
    edge = edge_of(cutter)
    diameter = cutter.diameter
    faults = plain_sense(None, depth, diameter)
    if not 0.0 <= existing < diameter:
        faults.append(Fault(f"a hole of {existing:g} mm cannot be enlarged by a {cutter.kind} of "
                            f"{diameter:g} mm", "A larger one."))
    if faults:
        raise Refused(faults)
    reaming = record.reams
    allowance = ream_allowance(diameter)
    inner = max(diameter - allowance, 0.5 * diameter) if reaming and existing == 0.0 else existing
    body = body_of(cutter, machine, edge)
    flute = cutter.flute_length if cutter.flute_length is not None else body.reach
    deep, deepest, deepest_name = _depth(cutter, depth, flute)
    wide = edge_at(cutter, deep).diameter if record.pointed else diameter
    inner = min(inner, 0.9 * wide)
    found = matching(findings, material, cutter)
    kept = caps(found) if keep_to_findings else Caps()
    turned = choose_speed(material, cutter, machine, wide,
                          rule("ream-speed-share" if reaming else "drill-speed-share").value, speed,
                          kept.speed, kept.name)
    rpm = turned.rpm
    warnings = [*body.notes, *turned.warnings]

    lips = cutter.flutes if reaming else 2
    lip = {EdgeForm.FLAT: 1.0, EdgeForm.LEAD: sin(in_radians(45.0))}.get(
        record.edge, sin(in_radians(cutter.cone_angle / 2.0)))
    least_chip = material.least_chip.value * body.edge_radius
    least_feed = lips * least_chip / lip
    name = "drill feed"
    table = min(material.drill_feed.value * wide * (rule("ream-feed").value if reaming else 1.0),
                lips * material.chip_most.value)
    if kept.peak_chip is not None:
        table, name = kept.peak_chip * cutter.flutes, kept.name
    per_turn, governed = table, name
    if least_feed > per_turn:
        per_turn, governed = least_feed, "least chip"
        warnings.append(f"feed raised to {per_turn * 1000:.2g} µm a turn, else the lips would rub")
    kc1 = material.kc1.value * rule("wear").value
    exponent = 1.0 - material.mc.value
    core = rule("drill-core").value * wide
    twist = torsion_factor(core)
    safety = rule("safety-factor").value
    shear_allowed = edge.shear_strength / safety
    thrust_allowed = buckling_force(body.reach, core, edge.modulus) / safety
    chisel = rule("drill-thrust").value if inner == 0.0 else 1.0
    axis_feed = machine.z.feed_limit
    curve = machine.spindle.power

    def loads(turn_feed: float) -> tuple[float, float]:
        kc = specific_force(kc1, material.mc.value, turn_feed / lips * lip)
        ring = 1.0 - (inner / wide) ** 2
        return (drill_torque(kc, turn_feed, wide) * ring,
                drill_thrust(kc, turn_feed, wide - inner, lip, chisel))

    if feed is not None:
        if feed > axis_feed:
            raise Refused(Fault(f"the Z axis does not go faster than {axis_feed:g} mm/min, the "
                                f"feed asked for is {feed:g}", "Ask for less."))
        per_turn, governed = feed / rpm, "asked"
        warnings = [*body.notes, *turned.warnings]
        if per_turn < least_feed * (1.0 - 1e-9):
            warnings.append("the feed asked for is so small that the lips rub; more feed or less "
                            "speed")
        if per_turn > table * (1.0 + 1e-9):
            warnings.append(f"the feed asked for is {per_turn * 1000:.2g} µm a turn, more than the "
                            f"{table * 1000:.2g} µm of practice")
    else:
        start = per_turn
        torque, thrust = loads(start)
        for used, allowed, what in ((torque * twist, shear_allowed, "torsion"),
                                    (thrust, thrust_allowed, "thrust")):
            by_load = start * (allowed / used) ** (1.0 / exponent)
            if by_load < per_turn:
                per_turn, governed = by_load, what
        # A drill needs its feed: where the axis is slow the spindle goes slower.
        if rpm * per_turn > axis_feed:
            if speed is None:
                rpm = max(axis_feed / per_turn, machine.spindle.lowest)
                turned = replace(turned, governed="axis feed, so that the lips cut")
            if rpm * per_turn > axis_feed * (1.0 + 1e-9):
                per_turn, governed = axis_feed / rpm, "axis feed"
        torque, _ = loads(per_turn)
        able = torque_at(curve, rpm)  # a drill cuts all the time: no overload
        if torque > able:
            per_turn *= (able / torque) ** (1.0 / exponent)
            governed = "spindle power"
        if per_turn < least_feed * (1.0 - 1e-9):
            raise Refused(too_weak(governed, deep, per_turn / lips, least_feed / lips, cutter))
    torque, thrust = loads(per_turn)
    power_most = power_at(curve, rpm)
    torque_most = torque_at(curve, rpm)
    power = torque * rpm * pi / 30000.0
    feed_now = rpm * per_turn
    peck = peck_depth(deep, diameter, flute, material.chip_bulk.value) \
        if record.drills else 0.0
    by_room = rule("flute-room").value * flute / material.chip_bulk.value
    peak = per_turn / lips * lip
    limits = [
        *turned.limits(rpm),
        Limit(name, table, "mm/rev", "feed", per_turn / table, per_turn),
        Limit("least chip", least_chip, "mm", "feed", least_chip / peak, peak, True),
        Limit("axis feed", axis_feed, "mm/min", "feed", feed_now / axis_feed, feed_now),
        Limit("torsion", shear_allowed, "N/mm2", "feed", torque * twist / shear_allowed,
              torque * twist),
        Limit("thrust", thrust_allowed, "N", "feed", thrust / thrust_allowed, thrust),
        Limit("spindle torque", torque_most, "N mm", "feed", torque / torque_most, torque),
        Limit("spindle power", power_most, "W", "feed", power / power_most, power),
        Limit(deepest_name, deepest, "mm", "depth", deep / deepest, deep),
    ]
    if peck:
        limits.append(Limit("chip room", by_room, "mm", "depth", peck / by_room, peck))
    if feed is not None:
        broken = [Fault(f"{limit.name}: the feed asked for needs {limit.used:.3g} {limit.unit}, "
                        f"{limit.value:.3g} is allowed", "Less feed, or a larger, shorter drill.")
                  for limit in limits if limit.share > 1.0 + 1e-9 and limit.name in
                  ("torsion", "thrust", "spindle torque", "spindle power")]
        if broken:
            raise Refused(broken)
    if record.drills and body.run_out > 0.5 * per_turn:
        warnings.append(f"run-out of {body.run_out * 1000:.2g} µm is much beside a feed of "
                        f"{per_turn * 1000:.2g} µm a turn: one lip does most of the work, the hole "
                        "comes out large")
    warnings += no_milder(found, per_turn / cutter.flutes, deep)
    if reaming:
        warnings.append(f"leave {allowance:.2g} mm on the diameter for the reamer; come out at the "
                        "feed, the spindle turning on")
    return CutPlan(
        speed=rpm, surface_speed=rpm * pi * wide / 1000.0, chip_load=per_turn / lips, feed=feed_now,
        plunge_feed=feed_now, depth=deep, width=wide, limits=tuple(limits),
        governed_by={"speed": turned.governed, "feed": governed,
                     "depth": "asked" if depth is not None else "one diameter",
                     "width": "cutter's diameter"},
        warnings=tuple(warnings), peck=peck, force=thrust, torque=torque, power=power,
        peak_chip=peak, mean_chip=peak,
        cautions=material.cautions, findings=tuple(str(one) for one in found),
        own_values=material.own)


def ream_allowance(diameter: float) -> float:
    """What is usually left on the diameter for a reamer of this ``diameter``, mm.

    >>> ream_allowance(2.0), ream_allowance(0.5)
    (0.06, 0.02)
    """
    return max(rule("ream-share").value * diameter, rule("ream-least").value)


def _depth(cutter: Cutter, depth: float | None, flute: float) -> tuple[float, float, str]:
    """The depth, the deepest possible and its name. Raises Refused."""
    diameter = cutter.diameter
    pointed = record_of(cutter).pointed
    if pointed:
        deepest = (diameter - cutter.tip) / (2.0 * _tangent(cutter))
        name = "height of the point"
    else:
        deepest = min(flute, rule("deepest-hole").value * diameter)
        name = "flute length" if deepest == flute else "deepest hole"
    deep = min(deepest / 2.0 if pointed else diameter, deepest) if depth is None else depth
    if deep > deepest * (1.0 + 1e-9):
        raise Refused(Fault(f"{name}: a hole of {deep:g} mm is deeper than the {deepest:.3g} mm "
                            f"this {cutter.kind} of {diameter:g} mm can make",
                            "A longer or larger one, or work from both sides."))
    return deep, deepest, name


def _tangent(cutter: Cutter) -> float:
    half = in_radians(cutter.cone_angle / 2.0)
    return sin(half) / sqrt(1.0 - sin(half) ** 2)
