"""Speed, feed, depth: the largest that every limit allows, and each limit named.

The chip is made as thick as the table allows, the speed as high, and the depth as large as the
cutter, the spindle and practice allow; where the depth is fixed, the chip gives way instead. So a
limit that is loosened never lowers an answer. What cannot be done is refused by name.

Lengths mm, speeds rev/min and m/min, feeds mm/min, forces N, stresses N/mm², power W, torque N·mm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, floor, pi, sin, sqrt
from math import radians as in_radians
from typing import Literal, TypeAlias

from camgen.cutting.chips import (
    EdgeShape,
    chip_load_for_peak,
    engagement,
    mean_chip_share,
    peak_chip_share,
    plain_edge,
    rounded_corner,
    teeth_sum,
    top_tooth,
)
from camgen.cutting.forces import (
    drill_thrust,
    drill_torque,
    power_at,
    specific_force,
)
from camgen.cutting.stiffness import (
    bending_factor,
    buckling_force,
    principal_stress,
    tip_compliance,
    torsion_factor,
)
from camgen.faults import Fault, Refused
from camgen.shop.cutters import Cutter
from camgen.shop.machine import Machine
from camgen.shop.materials import EdgeMaterial, Material, edge_material
from camgen.shop.tables import rule

__all__ = ["CutPlan", "Limit", "plan_drilling", "plan_form_cut", "plan_milling"]

Governs: TypeAlias = Literal["speed", "feed", "depth", "width"]


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit: ``used`` is the figure at the answer, ``value`` the bound, both in ``unit``.

    ``share`` is how much of it is used: used/value, or value/used for a bound from below
    (``least``), so that 1 is at the limit either way. ``governs`` is the quantity it bears on.
    """

    name: str
    value: float
    unit: str
    governs: Governs
    share: float
    used: float
    least: bool = False


@dataclass(frozen=True)
class CutPlan:
    """The planner's answer for one cut.

    ``speed`` rev/min, ``surface_speed`` m/min, ``chip_load`` mm a tooth, ``feed`` mm/min along the
    path, ``plunge_feed`` mm/min straight down, ``ramp_feed`` mm/min along a ramp of ``ramp_angle``
    degrees, ``depth`` of one pass and ``width`` mm, ``peck`` the depth of one bite of a drill, 0
    for a single stroke. ``passes`` of equal depth reach the depth asked for. ``governed_by`` names
    for speed, feed, depth and width the limit that set it. ``force`` N is the greatest across the
    cutter (along it for a drill), ``torque`` N·mm the greatest, ``power`` W the mean,
    ``deflection`` mm at the tip.
    """

    speed: float
    surface_speed: float
    chip_load: float
    feed: float
    plunge_feed: float
    depth: float
    width: float
    limits: tuple[Limit, ...]
    governed_by: dict[Governs, str]
    warnings: tuple[str, ...]
    ramp_feed: float = 0.0
    ramp_angle: float = 0.0
    peck: float = 0.0
    passes: int = 1
    force: float = 0.0
    torque: float = 0.0
    power: float = 0.0
    deflection: float = 0.0
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Body:
    """The cutter as a thing that bends: sections from the tip, thinnest part in torsion."""

    reach: float
    compliance: float
    bending: float
    torsion: float
    edge_radius: float
    run_out: float
    notes: tuple[str, ...]


def _body(cutter: Cutter, machine: Machine, edge: EdgeMaterial) -> _Body:
    diameter = cutter.diameter
    notes: list[str] = []
    flute = cutter.flute_length
    reach = cutter.reach
    if reach is None:
        reach = flute if flute is not None else 3.0 * diameter
        notes.append(f"reach not given: {reach:g} mm taken")
    fluted = min(flute if flute is not None else reach, reach)
    core = rule("fluted-diameter").value * diameter
    shank = cutter.shank if cutter.shank is not None else diameter
    sections = [(fluted, core)]
    if reach > fluted:
        sections.append((reach - fluted, shank))
    radius = cutter.edge_radius
    if radius is None and cutter.kind in ("form-disc", "fly-cutter"):
        radius = edge.edge_base  # ground to a form, sharp whatever the disc's diameter
    if radius is None:
        radius = min(edge.edge_base + edge.edge_share * diameter, edge.edge_most)
    run_out = cutter.run_out if cutter.run_out is not None else machine.spindle.run_out
    return _Body(reach, tip_compliance(sections, edge.modulus), bending_factor(sections),
                 torsion_factor(core), radius, run_out, tuple(notes))


def _edge(cutter: Cutter, depth: float) -> EdgeShape:
    if cutter.kind == "end-mill":
        return rounded_corner(cutter.diameter, min(cutter.corner_radius, cutter.diameter / 2.0),
                              depth)
    return plain_edge(cutter.diameter)


@dataclass(frozen=True, slots=True)
class _Speed:
    rpm: float
    governed: str
    limits: tuple[Limit, ...]
    warnings: tuple[str, ...]


def _speed(material: Material, cutter: Cutter, machine: Machine, diameter: float, share: float,
           asked: float | None) -> _Speed:
    """The highest speed allowed at the cutting diameter. Raises Refused."""
    spindle = machine.spindle
    allowed = material.surface_speed.get(cutter.material)
    if allowed is None:
        able = ", ".join(material.surface_speed)
        raise Refused(Fault(f"{cutter.material} must not cut {material.title}",
                            f"Take a cutter of {able}."))
    per_turn = pi * diameter / 1000.0
    aim, most = allowed.value * share, allowed.high * share
    by_metal = aim / per_turn
    warnings: list[str] = []
    if asked is not None:
        if not spindle.lowest <= asked <= spindle.highest:
            raise Refused(Fault(
                f"the speed of {asked:g} rev/min is not one of this spindle",
                f"It turns from {spindle.lowest:g} to {spindle.highest:g} rev/min."))
        rpm, governed = asked, "asked"
        if asked * per_turn > most:
            warnings.append(f"the speed asked for gives {asked * per_turn:.0f} m/min, more than "
                            f"the {most:.0f} m/min {material.title} allows: the edge will not last")
    elif by_metal >= spindle.highest:
        rpm, governed = spindle.highest, "spindle's highest speed"
    elif by_metal >= spindle.lowest:
        rpm, governed = by_metal, "surface speed"
    elif spindle.lowest * per_turn <= most:
        rpm, governed = spindle.lowest, "spindle's lowest speed"
    else:
        raise Refused(Fault(
            f"surface speed: even the spindle's lowest speed of {spindle.lowest:g} rev/min gives "
            f"{spindle.lowest * per_turn:.0f} m/min on {diameter:g} mm; {material.title} allows "
            f"{most:.0f} m/min with {cutter.material}",
            f"A cutter of at most {most * 1000.0 / (pi * spindle.lowest):.2g} mm, a slower spindle"
            + (", or a carbide cutter." if cutter.material == "hss" else ".")))
    if asked is None:
        stepped = floor(rpm / spindle.speed_step + 1e-9) * spindle.speed_step
        rpm = min(max(stepped, spindle.lowest), spindle.highest)
    surface = rpm * per_turn
    low = allowed.low * share
    if surface < 0.5 * low:
        warnings.append(f"{surface:.0f} m/min is far below the usual {low:.0f} m/min: the spindle, "
                        "not the metal, limits; a burr or a built-up edge may come")
    limits = (
        Limit("surface speed", aim, "m/min", "speed", surface / aim, surface),
        Limit("spindle's highest speed", spindle.highest, "rev/min", "speed",
              rpm / spindle.highest, rpm),
        Limit("spindle's lowest speed", spindle.lowest, "rev/min", "speed", spindle.lowest / rpm,
              rpm, True),
    )
    return _Speed(rpm, governed, limits, tuple(warnings))


def _least_depth(cutter: Cutter, machine: Machine) -> float:
    return max(rule("least-depth-share").value * cutter.diameter, 2.0 * machine.z.increment)


def plan_milling(
    material: Material,
    cutter: Cutter,
    machine: Machine,
    width: float | None = None,
    depth_wanted: float | None = None,
    *,
    keep_depth: bool = False,
    speed: float | None = None,
    feed: float | None = None,
    deflection: float | None = None,
) -> CutPlan:
    """Plan a cut with an end mill.

    ``width`` is the radial width of the cut, the cutter's diameter (a slot) when left out.
    ``depth_wanted`` is the most depth wanted; the answer may be less, and then ``passes`` says how
    many. With ``keep_depth`` it is kept and the chip gives way. ``speed`` and ``feed`` are kept
    when given, and what they overstep is said. ``deflection`` mm allowed at the tip; left out, the
    planner's rule.

    Raises Refused when no safe choice exists, naming the limit that cannot be met.
    """
    edge_of = edge_material(cutter.material)
    body = _body(cutter, machine, edge_of)
    diameter = cutter.diameter
    faults = _sense(width, depth_wanted, diameter, machine)
    if faults:
        raise Refused(faults)
    width_governed = "cutter's diameter" if width is None else "asked"
    wide = diameter if width is None else width
    least_chip = material.least_chip.value * body.edge_radius
    if wide < least_chip:
        raise Refused(Fault(
            f"least chip: a width of {wide * 1000:.2g} µm is less than the {least_chip * 1000:.2g} "
            "µm below which this edge rubs", "More width, or a sharper cutter."))

    # Depth as far as geometry and practice go; forces come after.
    flute = cutter.flute_length if cutter.flute_length is not None \
        else min(1.5 * diameter, body.reach)
    depth_share = material.slot_depth.high if keep_depth else material.slot_depth.value
    by_practice = depth_share * diameter * sqrt(diameter / wide)
    bounds: list[tuple[float, str]] = [(flute, "flute length"), (by_practice, "depth in practice")]
    if depth_wanted is not None:
        bounds.append((depth_wanted, "asked"))
    depth, depth_governed = min(bounds)
    if keep_depth and depth_wanted is not None and depth < depth_wanted:
        raise Refused(Fault(
            f"{depth_governed}: a depth of {depth_wanted:g} mm cannot be taken at once, "
            f"{depth:.3g} mm can", "Less depth in more passes, or a larger or longer cutter."))

    shape = _edge(cutter, depth)
    turned = _speed(material, cutter, machine, shape.diameter, 1.0, speed)
    rpm = turned.rpm
    warnings = [*body.notes, *turned.warnings]

    # The chip.
    radial = peak_chip_share(wide, diameter)
    peak_share = radial * shape.peak
    table_chip = min(material.chip_load.value * diameter, material.chip_most.value)
    chip_table = table_chip / max(peak_share, 1.0 / rule("most-thinning").value)
    chip_least = least_chip / peak_share
    chip, feed_governed = chip_table, "chip load"
    if chip_least > chip:
        chip, feed_governed = chip_least, "least chip"
        warnings.append(
            f"chips are thin: {chip * 1000:.2g} µm a tooth is more than practice's "
            f"{chip_table * 1000:.2g} µm, else the edge would rub; a sharper cutter would help")
    teeth = cutter.flutes
    axis_feed = min(machine.x.feed_limit, machine.y.feed_limit)
    if feed is not None:
        chip, feed_governed = feed / (rpm * teeth), "asked"
        if feed > axis_feed:
            raise Refused(Fault(f"the axes do not go faster than {axis_feed:g} mm/min, the feed "
                                f"asked for is {feed:g}", "Ask for less."))
        if chip > chip_table:
            warnings.append(f"the feed asked for makes {chip * 1000:.2g} µm a tooth, more than the "
                            f"{chip_table * 1000:.2g} µm of practice")
        if chip < chip_least:
            warnings.append(f"the feed asked for makes {chip * 1000:.2g} µm a tooth: under "
                            f"{chip_least * 1000:.2g} µm the edge rubs; more feed or less speed")
    elif rpm * teeth * chip > axis_feed:
        if speed is None and axis_feed / (rpm * teeth) < chip_least:
            # Slower, so that the teeth cut: the feed stays at what the axes can do.
            rpm = max(axis_feed / (teeth * chip), machine.spindle.lowest)
            turned = _Speed(rpm, "axis feed, so that the teeth do not rub", turned.limits,
                            turned.warnings)
        chip, feed_governed = axis_feed / (rpm * teeth), "axis feed"
        if chip < chip_least and speed is None:
            raise Refused(Fault(
                f"least chip: at the spindle's lowest speed and the axes' fastest feed of "
                f"{axis_feed:g} mm/min a tooth takes {chip * 1000:.2g} µm; under "
                f"{chip_least * 1000:.2g} µm the edge rubs",
                "A slower spindle, fewer flutes or a sharper cutter."))

    # Loads as powers of the chip load.
    mc = material.mc.value
    exponent = 1.0 - mc
    angle = engagement(wide, diameter)
    wear = rule("wear").value
    kc1 = material.kc1.value * wear
    # Wider, thinner chips on a slanting edge: by Jensen's inequality never more than this.
    tangential = kc1 * shape.mean**-mc * teeth_sum(teeth, angle, exponent)
    radial_share = rule("radial-share").value
    resultant = sqrt(1.0 + radial_share * radial_share)
    radius = shape.diameter / 2.0
    mean_share = mean_chip_share(wide, diameter) * shape.mean
    power_factor = kc1 * wide * teeth * mean_share**-mc / 60000.0

    spindle = machine.spindle
    safety = rule("safety-factor").value
    stress_allowed = edge_of.bending_strength / safety
    shear_allowed = edge_of.shear_strength / safety
    bend_allowed = deflection if deflection is not None else min(
        rule("deflection-share").value * diameter, rule("deflection-most").value)
    stress_per_newton = principal_stress(body.bending, radius * body.torsion / resultant)
    by_deflection = bend_allowed / body.compliance
    by_stress = stress_allowed / stress_per_newton
    by_torsion = shear_allowed / (radius * body.torsion) * resultant
    overload = rule("overload").value

    def strongest(at: float) -> tuple[tuple[float, str], ...]:
        """Greatest force across the cutter by each limit but the mean power."""
        torque = overload * power_at(spindle.power, at) * 30000.0 / (pi * at)
        return ((by_deflection, "deflection"), (by_stress, "bending stress"),
                (by_torsion, "torsion"), (torque / radius * resultant, "spindle torque"))

    def depth_for(chip_load: float) -> tuple[float, str]:
        top = top_tooth(chip_load, body.run_out, teeth)
        force, name = min(strongest(rpm))
        by_force = force / (tangential * resultant * top**exponent)
        by_power = power_at(spindle.power, rpm) / (power_factor * rpm * chip_load**exponent)
        return min((by_force, name), (by_power, "spindle power"))

    def chip_for(at_depth: float, at: float) -> tuple[float, str]:
        force, name = min(strongest(at))
        top = (force / (tangential * resultant * at_depth)) ** (1.0 / exponent)
        by_power = (power_at(spindle.power, at) / (power_factor * at_depth * at)) ** (
            1.0 / exponent)
        return min((chip_load_for_peak(top, body.run_out, teeth), name),
                   (by_power, "spindle power"))

    least_depth = min(_least_depth(cutter, machine), depth)
    if keep_depth:
        least_depth = depth
    by_load, load_name = depth_for(chip)
    if least_depth <= by_load < depth:
        depth, depth_governed = by_load, load_name
    elif by_load < depth and feed is not None:
        raise Refused(_too_weak(load_name, least_depth, by_load, chip, cutter))
    elif by_load < depth:
        # The depth cannot give way further: the chip does, and the speed where that helps.
        depth = least_depth
        if not keep_depth:
            depth_governed = "least depth"
        chip, feed_governed, rpm, slowed = _thinner(
            chip, rpm, spindle.lowest, spindle.highest, feed_governed, axis_feed, teeth,
            lambda at: chip_for(depth, at), speed is None)
        if slowed:
            turned = _Speed(rpm, feed_governed, turned.limits, turned.warnings)
        if chip < chip_least * (1.0 - 1e-9):
            raise Refused(_too_weak(feed_governed, depth, chip, chip_least, cutter))

    passes = 1
    if depth_wanted is not None and depth < depth_wanted:
        passes = ceil(depth_wanted / depth - 1e-9)
    feed_now = rpm * teeth * chip
    top = top_tooth(chip, body.run_out, teeth)
    force = tangential * depth * top**exponent * resultant
    torque = force / resultant * radius
    power = power_factor * rpm * depth * chip**exponent
    power_most = power_at(spindle.power, rpm)
    torque_most = overload * power_most * 30000.0 / (pi * rpm)
    bent = force * body.compliance
    stress = force * stress_per_newton
    loads: Governs = "feed" if keep_depth else "depth"
    peak_chip = chip * peak_share
    limits = (
        *_refreshed(turned.limits, rpm),
        Limit("chip load", chip_table, "mm", "feed", chip / chip_table, chip),
        Limit("least chip", least_chip, "mm", "feed", least_chip / peak_chip, peak_chip, True),
        Limit("axis feed", axis_feed, "mm/min", "feed", feed_now / axis_feed, feed_now),
        Limit("flute length", flute, "mm", "depth", depth / flute, depth),
        Limit("depth in practice", by_practice, "mm", "depth", depth / by_practice, depth),
        Limit("deflection", bend_allowed, "mm", loads, bent / bend_allowed, bent),
        Limit("bending stress", stress_allowed, "N/mm2", loads, stress / stress_allowed, stress),
        Limit("torsion", shear_allowed, "N/mm2", loads, torque * body.torsion / shear_allowed,
              torque * body.torsion),
        Limit("spindle torque", torque_most, "N mm", loads, torque / torque_most, torque),
        Limit("spindle power", power_most, "W", loads, power / power_most, power),
    )
    if body.run_out > chip and teeth > 1:
        warnings.append(f"run-out of {body.run_out * 1000:.2g} µm is more than the chip: one tooth "
                        "does most of the work")
    if body.reach > rule("long-cutter").value * diameter:
        warnings.append(f"the cutter stands out {body.reach / diameter:.0f} times its diameter: "
                        "shorten it if you can, it will sing")
    plunge, ramp, ramp_angle = _down(feed_now, rpm, teeth, least_chip, machine, warnings)
    return CutPlan(
        speed=rpm, surface_speed=rpm * pi * shape.diameter / 1000.0, chip_load=chip, feed=feed_now,
        plunge_feed=plunge, depth=depth, width=wide, limits=limits,
        governed_by={"speed": turned.governed, "feed": feed_governed, "depth": depth_governed,
                     "width": width_governed},
        warnings=tuple(warnings), ramp_feed=ramp, ramp_angle=ramp_angle, passes=passes, force=force,
        torque=torque, power=power, deflection=bent, cautions=material.cautions)


def plan_drilling(
    material: Material,
    cutter: Cutter,
    machine: Machine,
    depth: float | None = None,
    *,
    speed: float | None = None,
    feed: float | None = None,
) -> CutPlan:
    """Plan a hole with a drill or spot drill. ``depth`` of the hole to the drill's corners, mm.

    The answer's ``peck`` is the depth of one bite, 0 where one stroke will do. Raises Refused when
    no safe choice exists.
    """
    edge_of = edge_material(cutter.material)
    body = _body(cutter, machine, edge_of)
    diameter = cutter.diameter
    faults = _sense(None, depth, diameter, machine)
    if faults:
        raise Refused(faults)
    flute = cutter.flute_length if cutter.flute_length is not None else body.reach
    deepest = min(flute, rule("deepest-hole").value * diameter)
    deep = min(diameter, deepest) if depth is None else depth
    if deep > deepest * (1.0 + 1e-9):
        name = "flute length" if deepest == flute else "deepest hole"
        raise Refused(Fault(f"{name}: a hole of {deep:g} mm is deeper than the {deepest:g} mm this "
                            f"drill of {diameter:g} mm can make",
                            "A longer drill, or drill from both sides."))
    turned = _speed(material, cutter, machine, diameter, rule("drill-speed-share").value, speed)
    rpm = turned.rpm
    governed_speed = turned.governed
    warnings = [*body.notes, *turned.warnings]
    lip = sin(in_radians(cutter.point_angle / 2.0))
    lips = 2  # both lips share the feed whatever the number of flutes is called
    least_chip = material.least_chip.value * body.edge_radius
    least_feed = lips * least_chip / lip
    table = min(material.drill_feed.value * diameter, lips * material.chip_most.value)
    per_turn, feed_governed = (table, "drill feed")
    if least_feed > per_turn:
        per_turn, feed_governed = least_feed, "least chip"
        warnings.append(f"feed raised to {per_turn * 1000:.2g} µm a turn, else the lips would rub")
    axis_feed = machine.z.feed_limit
    spindle = machine.spindle
    kc1 = material.kc1.value * rule("wear").value
    mc = material.mc.value
    exponent = 1.0 - mc
    safety = rule("safety-factor").value
    core = rule("drill-core").value * diameter
    shear_allowed = edge_of.shear_strength / safety
    twist = torsion_factor(core)
    thrust_allowed = buckling_force(body.reach, core, edge_of.modulus) / safety
    chisel = rule("drill-thrust").value
    overload = rule("overload").value

    def loads(turn_feed: float) -> tuple[float, float]:
        kc = specific_force(kc1, mc, turn_feed / 2.0 * lip)
        return (drill_torque(kc, turn_feed, diameter),
                drill_thrust(kc, turn_feed, diameter, lip, chisel))

    if feed is not None:
        if feed > axis_feed:
            raise Refused(Fault(f"the Z axis does not go faster than {axis_feed:g} mm/min, the "
                                f"feed asked for is {feed:g}", "Ask for less."))
        per_turn, feed_governed = feed / rpm, "asked"
    else:
        start = per_turn
        torque, thrust = loads(start)
        for used, allowed, name in ((torque * twist, shear_allowed, "torsion"),
                                    (thrust, thrust_allowed, "thrust")):
            if used > allowed:
                by_load = start * (allowed / used) ** (1.0 / exponent)
                if by_load < per_turn:
                    per_turn, feed_governed = by_load, name
        # A drill needs its feed: where the axis is slow the spindle goes slower.
        if rpm * per_turn > axis_feed:
            if speed is None:
                rpm = max(axis_feed / per_turn, spindle.lowest)
                governed_speed = "axis feed, so that the lips cut"
            if rpm * per_turn > axis_feed:
                per_turn, feed_governed = axis_feed / rpm, "axis feed"
        torque_most = overload * power_at(spindle.power, rpm) * 30000.0 / (pi * rpm)
        by_torque = per_turn * (torque_most / loads(per_turn)[0]) ** (1.0 / exponent)
        if by_torque < per_turn:
            per_turn, feed_governed = by_torque, "spindle torque"
    if feed is None and per_turn < least_feed * (1.0 - 1e-9):
        raise Refused(_too_weak(feed_governed, deep, per_turn / lips, least_feed / lips, cutter))
    torque, thrust = loads(per_turn)
    torque_most = overload * power_at(spindle.power, rpm) * 30000.0 / (pi * rpm)
    power = torque * rpm * pi / 30000.0
    power_most = power_at(spindle.power, rpm)
    feed_now = rpm * per_turn
    by_room = rule("flute-room").value * flute / material.chip_bulk.value
    peck = 0.0
    depth_governed = "asked" if depth is not None else "cutter's diameter"
    if cutter.kind == "drill" and deep > rule("peck-from").value * diameter:
        peck = min(rule("peck-most").value * diameter, by_room)
        if peck >= deep:
            peck = 0.0
    peak = per_turn / lips * lip
    limits = (
        *_refreshed(turned.limits, rpm),
        Limit("drill feed", table, "mm/rev", "feed", per_turn / table, per_turn),
        Limit("least chip", least_chip, "mm", "feed", least_chip / peak, peak, True),
        Limit("axis feed", axis_feed, "mm/min", "feed", feed_now / axis_feed, feed_now),
        Limit("torsion", shear_allowed, "N/mm2", "feed", torque * twist / shear_allowed,
              torque * twist),
        Limit("thrust", thrust_allowed, "N", "feed", thrust / thrust_allowed, thrust),
        Limit("spindle torque", torque_most, "N mm", "feed", torque / torque_most, torque),
        Limit("spindle power", power_most, "W", "feed", power / power_most, power),
        Limit("flute length", flute, "mm", "depth", deep / flute, deep),
        Limit("chip room", by_room, "mm", "depth", (peck or min(deep, by_room)) / by_room,
              peck or min(deep, by_room)),
    )
    for limit in limits:
        if feed is not None and limit.name in ("torsion", "thrust", "spindle torque",
                                               "spindle power") and limit.share > 1.0:
            raise Refused(_too_weak(limit.name, deep, per_turn / lips, per_turn / lips, cutter))
    if feed is not None and peak < least_chip:
        warnings.append("the feed asked for is so small that the lips rub; more feed or less speed")
    return CutPlan(
        speed=rpm, surface_speed=rpm * pi * diameter / 1000.0, chip_load=per_turn / lips,
        feed=feed_now, plunge_feed=feed_now, depth=deep, width=diameter, limits=limits,
        governed_by={"speed": governed_speed, "feed": feed_governed, "depth": depth_governed,
                     "width": "cutter's diameter"},
        warnings=tuple(warnings), peck=peck, force=thrust, torque=torque, power=power,
        cautions=material.cautions)


def plan_form_cut(
    material: Material,
    cutter: Cutter,
    machine: Machine,
    space_area: float,
    depth: float,
    edge_length: float | None = None,
    *,
    passes: int | None = None,
    speed: float | None = None,
    feed: float | None = None,
) -> CutPlan:
    """Plan the cutting of a tooth space by a form disc or fly cutter, along the blank.

    ``space_area`` mm² is the section of the space, ``depth`` mm its full depth, ``edge_length`` mm
    the length of its outline (both flanks and the root); left out, that of a wedge of the same area
    and depth. ``passes`` of equal depth are kept when given; else as many are taken as the loads
    ask for. The answer's ``depth`` is that of one pass, ``width`` the mean width of the space.

    The section cut sets the load: an edge of the developed length L takes a chip of the mean width
    b and the thickness h measured along the depth, so its mean thickness square to the edge is
    h·b/L and Kienzle's force kc1 · b · h^(1−mc) · (L/b)^mc.

    Raises Refused when no safe choice exists.
    """
    edge_of = edge_material(cutter.material)
    body = _body(cutter, machine, edge_of)
    faults = _sense(None, depth, cutter.diameter, machine)
    if not 0.0 < space_area < float("inf"):
        faults.append(Fault(f"the section of the space is {space_area:g} mm²",
                            "An area of more than 0 is wanted."))
    elif not faults and depth >= cutter.diameter / 2.0:
        faults.append(Fault(f"a space {depth:g} mm deep cannot be cut by a disc of "
                            f"{cutter.diameter:g} mm: it would reach to its middle",
                            "A larger disc."))
    if faults:
        raise Refused(faults)
    wide = space_area / depth
    long = edge_length if edge_length is not None else 2.0 * sqrt(depth * depth + wide * wide)
    turned = _speed(material, cutter, machine, cutter.diameter, 1.0, speed)
    stiff = cutter.reach is not None and (cutter.arbor or cutter.shank) is not None
    cut = _FormCut(material, cutter, machine, edge_of, body if stiff else None, body, wide, long,
                   turned, feed)
    if passes is not None:
        if passes < 1:
            raise Refused(Fault(f"{passes} passes cannot be made", "One or more."))
        return cut.plan(depth, passes, speed is None)
    for count in (1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 32):
        if cut.fits(depth / count):
            return cut.plan(depth, count, speed is None)
    return cut.plan(depth, 40, speed is None)


@dataclass(frozen=True, slots=True)
class _FormCut:
    """A form cutter in its space: what is the same for every number of passes."""

    material: Material
    cutter: Cutter
    machine: Machine
    edge_of: EdgeMaterial
    stiff: _Body | None
    body: _Body
    wide: float
    long: float
    turned: _Speed
    feed: float | None

    def axis_feed(self) -> float:
        machine = self.machine
        return min(machine.x.feed_limit, machine.y.feed_limit, machine.z.feed_limit)

    def chips(self, depth: float) -> tuple[float, float, float, float]:
        """Chip load by table and least, share of the peak, least chip."""
        material = self.material
        peak = peak_chip_share(depth, self.cutter.diameter)
        least_chip = material.least_chip.value * self.body.edge_radius
        # A narrow form is a weak one: its chip is kept to a share of its width.
        table = min(material.form_chip.value, rule("form-width-share").value * self.wide)
        thinned = max(peak, 1.0 / rule("form-thinning").value)
        return (table / thinned, least_chip / peak, peak, least_chip)

    def start(self, depth: float) -> float:
        """The chip load before loads are looked at."""
        table, least, _, _ = self.chips(depth)
        if self.feed is not None:
            return self.feed / (self.turned.rpm * self.cutter.flutes)
        return max(table, least)

    def factors(self, depth: float) -> tuple[float, float, float]:
        """Tangential N and power W/(rev/min) at a chip load of 1 mm, and force over tangential."""
        material, cutter = self.material, self.cutter
        mc = material.mc.value
        slant = max(self.long / self.wide, 1.0) ** mc
        kc1 = material.kc1.value * rule("wear").value * slant * self.wide
        angle = engagement(depth, cutter.diameter)
        mean = mean_chip_share(depth, cutter.diameter)
        share = rule("radial-share").value
        return (kc1 * teeth_sum(cutter.flutes, angle, 1.0 - mc),
                kc1 * depth * cutter.flutes * mean**-mc / 60000.0, sqrt(1.0 + share * share))

    def strongest(self, at: float) -> tuple[tuple[float, str], ...]:
        """Greatest tangential force by each limit, N."""
        radius = self.cutter.diameter / 2.0
        spindle = self.machine.spindle
        torque = rule("overload").value * power_at(spindle.power, at) * 30000.0 / (pi * at)
        forces = [(torque / radius, "spindle torque")]
        if self.stiff is not None:
            share = rule("radial-share").value
            resultant = sqrt(1.0 + share * share)
            forces.append((self.bend_allowed() / self.compliance() / resultant, "deflection"))
            forces.append((self.stress_allowed() / self.stress_per_newton() / resultant,
                           "bending stress"))
        return tuple(forces)

    def thick(self) -> float:
        return self.cutter.arbor or self.cutter.shank or self.cutter.diameter

    def compliance(self) -> float:
        return tip_compliance([(self.cutter.reach or 1.0, self.thick())],
                              edge_material("hss").modulus)

    def bend_allowed(self) -> float:
        return min(rule("deflection-share").value * self.cutter.diameter,
                   rule("deflection-most").value)

    def stress_allowed(self) -> float:
        return edge_material("hss").bending_strength / rule("safety-factor").value / 2.0

    def stress_per_newton(self) -> float:
        sections = [(self.cutter.reach or 1.0, self.thick())]
        shear = self.cutter.diameter / 2.0 * torsion_factor(self.thick())
        return principal_stress(bending_factor(sections), shear)

    def chip_for(self, depth: float, at: float) -> tuple[float, str]:
        """The chip load the loads allow at one depth and speed, with the limit's name."""
        tangential, power, _ = self.factors(depth)
        exponent = 1.0 - self.material.mc.value
        force, name = min(self.strongest(at))
        top = float((force / tangential) ** (1.0 / exponent))
        by_power = float((power_at(self.machine.spindle.power, at) / (power * at))
                         ** (1.0 / exponent))
        return min((chip_load_for_peak(top, self.body.run_out, self.cutter.flutes), name),
                   (by_power, "spindle power"))

    def fits(self, depth: float) -> bool:
        """Whether the planned chip can be taken at one depth without giving way."""
        return self.chip_for(depth, self.turned.rpm)[0] >= self.start(depth)

    def plan(self, full: float, passes: int, may_slow: bool) -> CutPlan:
        """The answer for a number of passes. Raises Refused."""
        material, cutter, machine, turned = self.material, self.cutter, self.machine, self.turned
        depth = full / passes
        rpm, governed_speed = turned.rpm, turned.governed
        table, least, peak_share, least_chip = self.chips(depth)
        chip = self.start(depth)
        teeth = cutter.flutes
        governed = "chip load" if table >= least else "least chip"
        warnings = list(turned.warnings)
        axis_feed = self.axis_feed()
        if self.feed is not None:
            governed = "asked"
            if self.feed > axis_feed:
                raise Refused(Fault(f"the axes do not go faster than {axis_feed:g} mm/min, the "
                                    f"feed asked for is {self.feed:g}", "Ask for less."))
            allowed, name = self.chip_for(depth, rpm)
            if chip > allowed * (1.0 + 1e-9):
                raise Refused(_too_weak(name, depth, chip, chip, cutter))
            if chip > table:
                warnings.append(f"the feed asked for makes {chip * 1000:.2g} µm a tooth, more than "
                                f"the {table * 1000:.2g} µm of practice")
            if chip < least:
                warnings.append("the feed asked for is so small that the edge rubs; more feed or "
                                "less speed")
        else:
            if rpm * teeth * chip > axis_feed:
                if may_slow and axis_feed / (rpm * teeth) < least:
                    rpm = max(axis_feed / (teeth * chip), machine.spindle.lowest)
                    governed_speed = "axis feed, so that the teeth do not rub"
                chip, governed = axis_feed / (rpm * teeth), "axis feed"
            allowed, name = self.chip_for(depth, rpm)
            if allowed < chip:
                chip, governed, rpm, slowed = _thinner(
                    chip, rpm, machine.spindle.lowest, machine.spindle.highest, governed, axis_feed,
                    teeth, lambda at: self.chip_for(depth, at), may_slow)
                if slowed:
                    governed_speed = governed
            if chip < least * (1.0 - 1e-9):
                raise Refused(_too_weak(governed, depth, chip, least, cutter))
        tangential, power_factor, resultant = self.factors(depth)
        exponent = 1.0 - material.mc.value
        top = top_tooth(chip, self.body.run_out, teeth)
        force = tangential * top**exponent * resultant
        torque = force / resultant * cutter.diameter / 2.0
        power = power_factor * rpm * chip**exponent
        power_most = power_at(machine.spindle.power, rpm)
        torque_most = rule("overload").value * power_most * 30000.0 / (pi * rpm)
        feed_now = rpm * teeth * chip
        peak = chip * peak_share
        limits = [
            *_refreshed(turned.limits, rpm),
            Limit("chip load", table, "mm", "feed", chip / table, chip),
            Limit("least chip", least_chip, "mm", "feed", least_chip / peak, peak, True),
            Limit("axis feed", axis_feed, "mm/min", "feed", feed_now / axis_feed, feed_now),
            Limit("spindle torque", torque_most, "N mm", "depth", torque / torque_most, torque),
            Limit("spindle power", power_most, "W", "depth", power / power_most, power),
        ]
        bent = 0.0
        if self.stiff is not None:
            bent = force * self.compliance()
            stress = force * self.stress_per_newton()
            limits += [
                Limit("deflection", self.bend_allowed(), "mm", "depth", bent / self.bend_allowed(),
                      bent),
                Limit("bending stress", self.stress_allowed(), "N/mm2", "depth",
                      stress / self.stress_allowed(), stress),
            ]
        else:
            warnings.append("the arbor's diameter and reach are not given: its bending is not "
                            "looked at")
        if self.body.run_out > chip and teeth > 1:
            warnings.append(f"run-out of {self.body.run_out * 1000:.2g} µm is more than the chip: "
                            "one tooth does most of the work")
        return CutPlan(
            speed=rpm, surface_speed=rpm * pi * cutter.diameter / 1000.0, chip_load=chip,
            feed=feed_now, plunge_feed=min(feed_now * rule("slow-plunge").value,
                                           machine.z.feed_limit),
            depth=depth, width=self.wide, limits=tuple(limits),
            governed_by={"speed": governed_speed, "feed": governed,
                         "depth": "depth of the space" if passes == 1 else
                         self.chip_for(full, turned.rpm)[1],
                         "width": "the cutter's form"},
            warnings=tuple(warnings), passes=passes, force=force, torque=torque, power=power,
            deflection=bent, cautions=material.cautions)


# --- shared -------------------------------------------------------------------------------------


def _sense(width: float | None, depth: float | None, diameter: float,
           machine: Machine) -> list[Fault]:
    """Faults of plain sense in what was asked for."""
    faults: list[Fault] = []
    if width is not None and not 0.0 < width <= diameter:
        faults.append(Fault(f"a width of {width:g} mm cannot be cut by a cutter of {diameter:g} mm",
                            f"More than 0 and at most {diameter:g} mm."))
    if depth is not None and not 0.0 < depth < float("inf"):
        faults.append(Fault(f"a depth of {depth:g} mm cannot be cut", "More than 0."))
    return faults


def _thinner(chip: float, rpm: float, lowest: float, highest: float, governed: str,
             axis_feed: float, teeth: int, chip_for: Callable[[float], tuple[float, str]],
             may_slow: bool) -> tuple[float, str, float, bool]:
    """The chip that gives the fastest feed a fixed depth allows, and the speed for it.

    Where the spindle's power or torque is short, a slower speed can give more feed: the speeds of a
    fixed ladder from lowest to highest are tried. The ladder does not depend on the material, so
    loosening any limit only adds to what is tried. Returns chip load, limit's name, speed, slowed.
    """
    allowed, name = chip_for(rpm)
    if allowed >= chip:
        return chip, governed, rpm, False
    if not name.startswith("spindle") or not may_slow:
        return allowed, name, rpm, False
    best = (0.0, allowed, name, rpm)
    steps = 48
    for step in range(steps + 1):
        at = lowest * (highest / lowest) ** (step / steps)
        if step and at > rpm:
            break
        able, why = chip_for(at)
        able, why = min((chip, governed), (able, why))
        able, why = min((able, why), (axis_feed / (at * teeth), "axis feed"))
        if at * teeth * able > best[0]:
            best = (at * teeth * able, able, why if why != governed else name, at)
    _, able, why, at = best
    return able, why, at, True


def _refreshed(limits: tuple[Limit, ...], rpm: float) -> tuple[Limit, ...]:
    """The limits of the speed, at a speed that was changed since."""
    surface, highest, lowest = limits
    if highest.used == rpm:
        return limits
    used = surface.used * rpm / highest.used
    return (
        Limit(surface.name, surface.value, surface.unit, "speed", used / surface.value, used),
        Limit(highest.name, highest.value, highest.unit, "speed", rpm / highest.value, rpm),
        Limit(lowest.name, lowest.value, lowest.unit, "speed", lowest.value / rpm, rpm, True),
    )


def _down(feed: float, rpm: float, teeth: int, least_chip: float, machine: Machine,
          warnings: list[str]) -> tuple[float, float, float]:
    """Plunge feed, ramp feed and ramp angle.

    Slow enough for the end of the cutter, fast enough that its edges cut and do not heat up by
    rubbing; the Z axis's own limit comes last.
    """
    plunge = max(feed * rule("slow-plunge").value, rpm * teeth * least_chip)
    plunge = min(plunge, feed, machine.z.feed_limit)
    if plunge < rpm * teeth * least_chip * (1.0 - 1e-9):
        warnings.append("straight down the edges rub and heat at this speed: ramp in, or go down "
                        "in a drilled hole")
    angle = rule("steep-ramp").value
    ramp = min(feed, machine.z.feed_limit / sin(in_radians(angle)))
    return plunge, ramp, angle


_HELP = {
    "deflection": "A shorter stick-out, a larger cutter, less width or less depth.",
    "bending stress": "A shorter stick-out, a larger cutter, less width or less depth.",
    "torsion": "A larger cutter, less depth, or a tougher one.",
    "thrust": "A shorter drill, a larger one, or a sharper point.",
    "spindle torque": "Less depth or width, a smaller cutter, or a spindle with more torque.",
    "spindle power": "Less depth or width, a smaller cutter, or a stronger spindle.",
    "axis feed": "A slower spindle, fewer flutes or a sharper cutter.",
}


def _too_weak(name: str, depth: float, chip: float, least: float, cutter: Cutter) -> Fault:
    """The fault for a load that cannot be met even by the least chip."""
    return Fault(
        f"{name}: at a depth of {depth:.3g} mm the {cutter.kind} of {cutter.diameter:g} mm can "
        f"take no chip that cuts: {chip * 1000:.2g} µm a tooth is allowed, {least * 1000:.2g} µm "
        "are needed", _HELP.get(name, "A larger or shorter cutter."))
