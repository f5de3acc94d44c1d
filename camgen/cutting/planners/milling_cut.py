"""The cut of a mill at one depth: the chip before loads are looked at, and what each load bears."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

from camgen.cutting.answer import FeedBounds
from camgen.cutting.body import (
    Body,
    ChosenSpeed,
    CutterCone,
    body_of,
    choose_speed,
    cone_of,
    edge_at,
    feed_beyond,
    point_stress,
    pointed_body,
)
from camgen.cutting.chips import (
    EdgeShape,
    chip_load_for_peak,
    engagement,
    mean_chip_share,
    peak_chip_share,
    teeth_sum,
    top_tooth,
)
from camgen.cutting.findings import Caps
from camgen.cutting.forces import mean_power, power_at, tangential_force, torque_at
from camgen.cutting.stiffness import principal_stress
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.cutters import Cutter
from camgen.shop.machine import Machine
from camgen.shop.materials import EdgeMaterial, Material, edge_of
from camgen.shop.tables import rule
from camgen.values import dataclass

__all__ = ["CutAtDepth", "MillingAsked", "asked_of", "feed_bounds", "milling_cut_at"]


@dataclass(frozen=True, slots=True)
class MillingAsked:
    """What was asked for, and all that comes of it whatever the depth."""

    material: Material
    cutter: Cutter
    machine: Machine
    edge: EdgeMaterial
    body: Body
    wide: float | None
    speed: float | None
    feed: float | None
    kept: Caps
    cone: CutterCone | None
    least_chip: float
    axis_feed: float
    kc1: float
    mc: float
    exponent: float
    resultant: float
    overload: float
    most_thinning: float
    bend_allowed: float
    stress_allowed: float
    shear_allowed: float


def asked_of(material: Material, cutter: Cutter, machine: Machine, wide: float | None,
           speed: float | None, feed: float | None, deflection: float | None = None,
           kept: Caps | None = None) -> MillingAsked:
    """What was asked for, with its bounds: width and deflection in mm, speed in rev/min, feed in
    mm/min.
    """
    edge = edge_of(cutter)
    body = body_of(cutter, machine, edge)
    mc = material.mc.value
    radial_share = rule("radial-share").value
    safety = rule("safety-factor").value
    if deflection is None:
        deflection = min(rule("deflection-share").value * cutter.diameter,
                         rule("deflection-most").value)
    return MillingAsked(
        material, cutter, machine, edge, body, wide, speed, feed, kept or Caps(),
        cone_of(cutter), material.least_chip.value * body.edge_radius,
        min(machine.x.feed_limit, machine.y.feed_limit),
        material.kc1.value * rule("wear").value, mc, 1.0 - mc,
        sqrt(1.0 + radial_share * radial_share), rule("overload").value,
        rule("most-thinning").value, deflection, edge.bending_strength / safety,
        edge.shear_strength / safety)


@dataclass(frozen=True, slots=True)
class CutAtDepth:
    """The cut at one depth: the chip before loads are looked at, and what every load would be.

    All loads are powers of the chip load, so each limit can be solved for it or for the depth.
    ``tangential`` N at 1 mm depth for a highest tooth that takes 1 mm; ``power`` W at 1 mm depth,
    1 rev/min and 1 mm chip load; ``point_per_newton`` 1/mm² the stress in a cone's point, else 0.
    """

    ask: MillingAsked
    depth: float
    body: Body
    shape: EdgeShape
    wide: float
    turned: ChosenSpeed
    rpm: float
    chip: float
    feed_governed: Message
    chip_name: Message
    chip_table: float
    peak_share: float
    mean_share: float
    tangential: float
    power: float
    stress_per_newton: float
    point_per_newton: float
    warnings: tuple[Message, ...]

    @property
    def chip_least(self) -> float:
        """The chip load at which the thickest chip is the least that is cut."""
        return self.ask.least_chip / self.peak_share

    def strengths(self, rpm: float) -> tuple[tuple[float, Message], ...]:
        """The greatest force across the cutter, N, by each limit; mean power apart."""
        ask, body, radius = self.ask, self.body, self.shape.diameter / 2.0
        torque = ask.overload * torque_at(ask.machine.spindle.power, rpm)
        point = () if self.point_per_newton == 0.0 else (
            (ask.stress_allowed / self.point_per_newton, Message("bending at the point")),)
        return (*point, (ask.bend_allowed / body.compliance, Message("deflection")),
                (ask.stress_allowed / self.stress_per_newton, Message("bending stress")),
                (ask.shear_allowed / (radius * body.torsion) * ask.resultant, Message("torsion")),
                (torque / radius * ask.resultant, Message("spindle torque")))

    def point_bears(self, chip: float) -> bool:
        """Whether a cone's point bears what is cut by it at a chip load; others have none."""
        top = top_tooth(chip, self.body.run_out, self.ask.cutter.flutes)
        force = float(self.tangential * self.ask.resultant * self.depth * top**self.ask.exponent)
        return force * self.point_per_newton <= self.ask.stress_allowed * (1.0 + 1e-9)

    def depth_for(self, chip: float) -> tuple[float, Message]:
        """The greatest depth at a chip load."""
        ask = self.ask
        top = top_tooth(chip, self.body.run_out, ask.cutter.flutes)
        force, name = min(self.strengths(self.rpm))
        by_force = force / (self.tangential * ask.resultant * top**ask.exponent)
        by_power = power_at(ask.machine.spindle.power, self.rpm) / (
            self.power * self.rpm * chip**ask.exponent)
        return min((by_force, name), (by_power, Message("spindle power")))

    def chip_for(self, depth: float, rpm: float) -> tuple[float, Message]:
        """The greatest chip load at a depth and a speed."""
        force, name = min(self.strengths(rpm))
        return min((self.chip_for_force(force, depth), name), self.chip_for_power(depth, rpm))

    def chip_for_force(self, force: float, depth: float) -> float:
        """The chip load at which the highest tooth brings a force across the cutter."""
        ask = self.ask
        top = float((force / (self.tangential * ask.resultant * depth)) ** (1.0 / ask.exponent))
        return chip_load_for_peak(top, self.body.run_out, ask.cutter.flutes)

    def chip_for_power(self, depth: float, rpm: float) -> tuple[float, Message]:
        """The chip load that uses all of the spindle's power."""
        able = power_at(self.ask.machine.spindle.power, rpm)
        chip = (able / (self.power * depth * rpm)) ** (1.0 / self.ask.exponent)
        return float(chip), Message("spindle power")


def milling_cut_at(ask: MillingAsked, depth: float) -> CutAtDepth:
    """The cut at one depth, mm. Raises Refused where speed or chip cannot be had."""
    material, cutter, machine, body = ask.material, ask.cutter, ask.machine, ask.body
    point = 0.0
    if ask.cone is None:
        shape = edge_at(cutter, depth)
    else:
        shape = ask.cone.edge_at(depth)
        body = pointed_body(body, ask.cone, ask.edge, depth)
        point = point_stress(ask.cone, body, depth, 1.0 / ask.resultant)
    wide = shape.diameter if ask.wide is None else min(ask.wide, shape.diameter)
    turned = choose_speed(material, cutter, machine, shape.diameter, 1.0, ask.speed,
                          ask.kept.speed, ask.kept.name)
    rpm = turned.rpm
    warnings = [*body.notes, *turned.warnings]
    least_chip = ask.least_chip
    if wide < least_chip:
        raise Refused(Fault(
            Message("least chip: a width of {wide:.2g} µm is less than the {least:.2g} µm below "
                    "which this edge rubs", wide=wide * 1000, least=least_chip * 1000),
            Message("more width, or a sharper cutter")))

    radial = peak_chip_share(wide, shape.diameter)
    peak_share = radial * shape.peak
    sized = shape.diameter if ask.cone is not None else cutter.diameter
    chip_name = Message("chip load")
    least_share = 1.0 / ask.most_thinning
    if ask.kept.peak_chip is not None:
        chip_table, chip_name = ask.kept.peak_chip / max(radial, least_share), ask.kept.name
    else:
        chip_table = min(material.chip_load.value * sized, material.chip_most.value) / max(
            peak_share, least_share)
    chip_least = least_chip / peak_share
    chip, governed = chip_table, chip_name
    if chip_least > chip:
        chip, governed = chip_least, Message("least chip")
        warnings.append(
            Message("chips are thin: {chip:.2g} µm a tooth is more than the {chip_table:.2g} µm "
                    "of practice, else the edge would rub; a sharper cutter would help",
                    chip=chip * 1000, chip_table=chip_table * 1000))
    teeth = cutter.flutes
    axis_feed = ask.axis_feed
    if ask.feed is not None:
        chip, governed = ask.feed / (rpm * teeth), Message("asked")
        if ask.feed > axis_feed:
            raise Refused(feed_beyond(axis_feed, ask.feed))
        warnings = [*body.notes, *turned.warnings]
        if chip > chip_table * (1.0 + 1e-9):
            warnings.append(Message("the feed asked for makes {chip:.2g} µm a tooth, more than "
                                    "the {chip_table:.2g} µm of practice", chip=chip * 1000,
                                    chip_table=chip_table * 1000))
        if chip < chip_least * (1.0 - 1e-9):
            warnings.append(Message("the feed asked for makes {chip:.2g} µm a tooth: under "
                                    "{chip_least:.2g} µm the edge rubs; more feed or less speed",
                                    chip=chip * 1000, chip_least=chip_least * 1000))
    elif rpm * teeth * chip > axis_feed:
        if ask.speed is None and axis_feed / (rpm * teeth) < chip_least:
            # Slower, so that the teeth cut: the feed stays at what the axes can do.
            rpm = max(axis_feed / (teeth * chip), machine.spindle.lowest)
            turned = replace(turned, rpm=rpm,
                             governed=Message("axis feed, so that the teeth do not rub"))
        chip, governed = axis_feed / (rpm * teeth), Message("axis feed")
        if chip < chip_least * (1.0 - 1e-9):
            if ask.speed is None:
                raise Refused(Fault(
                    Message("least chip: at the spindle's lowest speed and the axes' fastest feed "
                            "of {axes:g} mm/min a tooth takes {chip:.2g} µm; under {least:.2g} µm "
                            "the edge rubs", axes=axis_feed, chip=chip * 1000,
                            least=chip_least * 1000),
                    Message("a slower spindle, fewer flutes or a sharper cutter")))
            warnings.append(Message("at the speed asked for the axes are too slow: {chip:.2g} µm "
                                    "a tooth rubs; less speed", chip=chip * 1000))

    # A slanting edge is longer and takes a chip as much thinner: by Jensen's inequality the force
    # is never more than that of the mean slant.
    tangential = tangential_force(ask.kc1, ask.mc, 1.0 / shape.mean, shape.mean) * teeth_sum(
        teeth, engagement(wide, shape.diameter), ask.exponent)
    mean_share = mean_chip_share(wide, shape.diameter) * shape.mean
    return CutAtDepth(
        ask, depth, body, shape, wide, turned, rpm, chip, governed, chip_name, chip_table,
        peak_share, mean_share, tangential, mean_power(ask.kc1, ask.mc, wide, teeth, mean_share),
        principal_stress(body.bending, shape.diameter / 2.0 * body.torsion / ask.resultant),
        point, tuple(warnings))


def feed_bounds(material: Material, cutter: Cutter, machine: Machine, width: float | None,
                depth: float, speed: float) -> FeedBounds:
    """How far each limit lets the feed go at one depth, mm, and one speed, rev/min.

    Raises Refused where speed or width are not to be had.
    """
    cut = milling_cut_at(asked_of(material, cutter, machine, width, speed, None), depth)
    per_chip = speed * cutter.flutes
    chips = {name: cut.chip_for_force(force, depth) for force, name in cut.strengths(speed)}
    chips[Message("spindle power")] = cut.chip_for_power(depth, speed)[0]
    chips[cut.chip_name] = cut.chip_table
    most = {name: chip * per_chip for name, chip in chips.items()}
    most[Message("axis feed")] = cut.ask.axis_feed
    return FeedBounds(most, cut.chip_least * per_chip)
