"""Tooth spaces cut by form discs and fly cutters, by the section they cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import pi, sqrt

from camgen.cutting.answer import CutPlan, FeedBounds, Limit
from camgen.cutting.body import (
    Body,
    ChosenSpeed,
    body_of,
    choose_speed,
    feed_beyond,
    plain_sense,
    slowed_or_thinner,
    too_weak,
)
from camgen.cutting.chips import (
    chip_load_for_peak,
    engagement,
    mean_chip_share,
    peak_chip_share,
    teeth_sum,
    top_tooth,
)
from camgen.cutting.findings import Caps, ShopFinding, caps, matching, no_milder
from camgen.cutting.forces import mean_power, power_at, tangential_force, torque_at
from camgen.cutting.stiffness import (
    bending_factor,
    principal_stress,
    tip_compliance,
    torsion_factor,
)
from camgen.faults import Fault, Refused
from camgen.messages import Message, counted
from camgen.shop.cutters import Cutter, record_of
from camgen.shop.machine import Machine
from camgen.shop.materials import Material, edge_material, edge_of
from camgen.shop.tables import rule
from camgen.values import dataclass

__all__ = ["form_feed_bounds", "free_form_cut"]

PASSES_TRIED = (1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 32, 40)


@dataclass(frozen=True, slots=True)
class _Arbor:
    """The steel arbor a form cutter runs on: mm/N, (N/mm²)/N, and what it may bear."""

    compliance: float
    stress_per_newton: float
    bend_allowed: float
    stress_allowed: float


def _arbor(cutter: Cutter) -> _Arbor | None:
    """The arbor where its diameter and reach are known, else None."""
    thick = cutter.shank if cutter.shank is not None else cutter.arbor
    if cutter.reach is None or thick is None:
        return None
    sections = [(cutter.reach, thick)]
    share = rule("radial-share").value
    twist = cutter.diameter / 2.0 * torsion_factor(thick) / sqrt(1.0 + share * share)
    return _Arbor(
        tip_compliance(sections, edge_material("hss").modulus),
        principal_stress(bending_factor(sections), twist),
        min(rule("deflection-share").value * cutter.diameter, rule("deflection-most").value),
        rule("arbor-stress").value)


@dataclass(frozen=True, slots=True)
class _FormCut:
    """A form cutter in its space: what is the same for every number of passes.

    ``wide`` is the mean width of the space, ``long`` the developed length of its edge, mm; ``left``
    the share of it that roughing has left.
    """

    material: Material
    cutter: Cutter
    machine: Machine
    arbor: _Arbor | None
    body: Body
    wide: float
    long: float
    turned: ChosenSpeed
    feed: float | None
    kept: Caps
    left: float = 1.0

    @property
    def axis_feed(self) -> float:
        machine = self.machine
        return min(machine.x.feed_limit, machine.y.feed_limit, machine.z.feed_limit)

    @property
    def alone(self) -> bool:
        """Whether it is one edge on a bar."""
        return record_of(self.cutter).single_point

    @property
    def least_chip(self) -> float:
        return self.material.least_chip.value * self.body.edge_radius

    def table(self, depth: float) -> tuple[float, Message]:
        """Chip load by table or finding, and its name.

        A narrow form is a weak one: its chip is also kept to a share of its width. A tooth of a
        disc takes up to double where it runs out, an edge alone has no others beside it.
        """
        if self.kept.peak_chip is not None:
            return self.kept.peak_chip, self.kept.name
        alone = rule("fly-chip-share").value if self.alone else 1.0
        thinned = max(peak_chip_share(depth, self.cutter.diameter),
                      1.0 / rule("form-thinning").value)
        return min((alone * self.material.form_chip.value / thinned, Message("chip load")),
                   (rule("form-width-share").value * self.wide / thinned,
                    Message("width of the form")))

    def start(self, depth: float) -> tuple[float, Message]:
        """The chip load before the loads are looked at, and what set it."""
        if self.feed is not None:
            return self.feed / (self.turned.rpm * self.cutter.flutes), Message("asked")
        least = self.least_chip / peak_chip_share(depth, self.cutter.diameter)
        return max(self.table(depth), (least, Message("least chip")))

    def factors(self, depth: float) -> tuple[float, float, float]:
        """Tangential N and power W/(rev/min) at a chip load of 1 mm; force over tangential."""
        material, cutter = self.material, self.cutter
        mc = material.mc.value
        kc1 = material.kc1.value * rule("wear").value
        long = max(self.long, self.wide)
        whole = tangential_force(kc1, mc, long, self.wide / long)
        angle = engagement(depth, cutter.diameter)
        mean = mean_chip_share(depth, cutter.diameter)
        share = rule("radial-share").value
        return (self.left * whole * teeth_sum(cutter.flutes, angle, 1.0 - mc),
                mean_power(kc1, mc, self.left * self.wide * depth, cutter.flutes,
                           mean * self.wide / long),
                sqrt(1.0 + share * share))

    def overload(self, depth: float, at: float) -> float:
        """The peak of a cut over the spindle's torque at a speed, as much as it may be.

        A single edge is in the metal for a small part θ of the turn, its chip growing from nothing.
        What the spindle must give is the energy of that bite: its torque through θ, and what its
        mass gives where it slows by a small share, J · ω² · share.
        """
        overload = rule("overload").value
        if not self.alone:
            return overload
        tangential, power, _ = self.factors(depth)
        angle = engagement(depth, self.cutter.diameter)
        # Energy of one bite at a chip of 1 mm, N·mm, and what the peak through θ would be.
        bite = power * 60000.0
        peak = tangential * self.cutter.diameter / 2.0 * angle
        turning = at * pi / 30.0
        carried = rule("spindle-inertia").value / 1000.0 * turning * turning * rule("slip").value
        given = torque_at(self.machine.spindle.power, at) * angle
        return max(overload, peak / bite * (overload + carried / given))

    def chip_for(self, depth: float, at: float) -> tuple[float, Message]:
        """The chip load the loads allow at one depth and speed, with the limit's name."""
        return min(self.chips_for(depth, at))

    def chips_for(self, depth: float, at: float) -> tuple[tuple[float, Message], ...]:
        """The chip load that each of the loads allows at one depth and speed."""
        tangential, power, resultant = self.factors(depth)
        inverse = 1.0 / (1.0 - self.material.mc.value)
        able = power_at(self.machine.spindle.power, at)
        torque = self.overload(depth, at) * torque_at(self.machine.spindle.power, at)
        forces = [(torque / (self.cutter.diameter / 2.0), Message("spindle torque"))]
        if self.arbor is not None:
            forces += [
                (self.arbor.bend_allowed / self.arbor.compliance / resultant,
                 Message("deflection")),
                (self.arbor.stress_allowed / self.arbor.stress_per_newton / resultant,
                 Message("bending stress"))]
        return (
            (float((able / (power * at)) ** inverse), Message("spindle power")),
            *((chip_load_for_peak(float((force / tangential) ** inverse), self.body.run_out,
                                  self.cutter.flutes), name) for force, name in forces))

    def bounds(self, depth: float) -> FeedBounds:
        """How far each limit lets the feed go at one depth."""
        rpm = self.turned.rpm
        per_chip = rpm * self.cutter.flutes
        table, name = self.table(depth)
        most = {what: chip * per_chip for chip, what in self.chips_for(depth, rpm)}
        return FeedBounds(
            {**most, name: table * per_chip, Message("axis feed"): self.axis_feed},
            self.least_chip / peak_chip_share(depth, self.cutter.diameter) * per_chip)

    def lasts(self, full: float, passes: int) -> float:
        """What so many passes cost in time, by itself of no meaning: passes over the feed.

        All passes go through the same stack, and their ways before it hardly differ.
        """
        depth, rpm = full / passes, self.turned.rpm
        chip = min(self.start(depth)[0], self.chip_for(depth, rpm)[0])
        return passes / min(chip * rpm * self.cutter.flutes, self.axis_feed)

    def bears(self, depth: float) -> bool:
        """Whether a chip that still cuts can be taken at one depth."""
        able = self.chip_for(depth, self.turned.rpm)[0]
        return able * peak_chip_share(depth, self.cutter.diameter) >= self.least_chip

    def plan(self, full: float, passes: int, asked: bool, may_slow: bool,
             found: tuple[ShopFinding, ...]) -> CutPlan:
        """The answer for a number of passes. Raises Refused."""
        material, cutter, machine, turned = self.material, self.cutter, self.machine, self.turned
        depth = full / passes
        rpm, teeth, axis_feed = turned.rpm, cutter.flutes, self.axis_feed
        peak_share = peak_chip_share(depth, cutter.diameter)
        least_chip = self.least_chip
        least = least_chip / peak_share
        table, table_name = self.table(depth)
        chip, governed = self.start(depth)
        warnings = list(turned.warnings)
        if self.feed is not None:
            if self.feed > axis_feed:
                raise Refused(feed_beyond(axis_feed, self.feed))
            allowed, name = self.chip_for(depth, rpm)
            if chip > allowed * (1.0 + 1e-9):
                raise Refused(too_weak(name, depth, allowed, chip, cutter))
            if chip > table * (1.0 + 1e-9):
                warnings.append(Message("the feed asked for makes {chip:.2g} µm a tooth, more "
                                        "than the {table:.2g} µm of practice", chip=chip * 1000,
                                        table=table * 1000))
            if chip < least * (1.0 - 1e-9):
                warnings.append(Message("the feed asked for is so small that the edge rubs; more "
                                        "feed or less speed"))
        else:
            if rpm * teeth * chip > axis_feed:
                if may_slow and axis_feed / (rpm * teeth) < least:
                    rpm = max(axis_feed / (teeth * chip), machine.spindle.lowest)
                    turned = replace(turned,
                                     governed=Message("axis feed, so that the teeth do not rub"))
                chip, governed = axis_feed / (rpm * teeth), Message("axis feed")
            chip, governed, rpm, slowed = slowed_or_thinner(
                chip, rpm, machine.spindle.lowest, machine.spindle.highest, governed, axis_feed,
                teeth, lambda at: self.chip_for(depth, at), least, may_slow)
            if slowed:
                turned = replace(turned, governed=governed)
            if chip < least * (1.0 - 1e-9):
                raise Refused(too_weak(governed, depth, chip, least, cutter))
        tangential, power_factor, resultant = self.factors(depth)
        exponent = 1.0 - material.mc.value
        force = tangential * top_tooth(chip, self.body.run_out, teeth) ** exponent * resultant
        torque = force / resultant * cutter.diameter / 2.0
        power = power_factor * rpm * chip**exponent
        feed_now = rpm * teeth * chip
        peak = chip * peak_share
        limits = [
            *turned.limits(rpm),
            Limit.at_most(table_name, table, "mm", "feed", chip),
            Limit.at_least(Message("least chip"), least_chip, "mm", "feed", peak),
            Limit.at_most(Message("axis feed"), axis_feed, "mm/min", "feed", feed_now),
            *turned.spindle_limits(rpm, "depth", torque, power, self.overload(depth, rpm)),
        ]
        bent = 0.0
        if self.arbor is not None:
            bent = force * self.arbor.compliance
            stress = force * self.arbor.stress_per_newton
            limits += [
                Limit.at_most(Message("deflection"), self.arbor.bend_allowed, "mm", "depth", bent),
                Limit.at_most(Message("bending stress"), self.arbor.stress_allowed, "N/mm2",
                              "depth",
                              stress),
            ]
        else:
            warnings.append(Message("the arbor's diameter and reach are not given: its bending "
                                    "is not looked at"))
        if self.body.run_out > chip and teeth > 1:
            warnings.append(Message("run-out of {run_out:.2g} µm is more than the chip: one "
                                    "tooth does most of the work",
                                    run_out=self.body.run_out * 1000))
        warnings += no_milder(found, chip, depth)
        depth_governed = Message("depth of the space")
        if passes > 1:
            depth_governed = Message("asked") if asked else self.chip_for(full, self.turned.rpm)[1]
        return CutPlan(
            speed=rpm, surface_speed=rpm * pi * cutter.diameter / 1000.0, chip_load=chip,
            feed=feed_now, plunge_feed=min(feed_now * rule("slow-plunge").value,
                                           machine.z.feed_limit),
            depth=depth, width=self.wide, limits=tuple(limits),
            governed_by={"speed": turned.governed, "feed": governed, "depth": depth_governed,
                         "width": Message("the cutter's form")},
            warnings=tuple(warnings), passes=passes, force=force, torque=torque, power=power,
            deflection=bent, tangential=force / resultant,
            radial=force / resultant * rule("radial-share").value, peak_chip=peak,
            mean_chip=chip * mean_chip_share(depth, cutter.diameter), cautions=material.cautions,
            findings=tuple(one.told() for one in found), own_values=material.own)


def _speed_share(cutter: Cutter) -> float:
    """How much of a material's milling speed a form cutter may have."""
    return rule("fly-speed-share").value if record_of(cutter).single_point else 1.0


def _wedge(wide: float, depth: float) -> float:
    """Length of both sides of a wedge of the mean width and the depth, mm."""
    return 2.0 * sqrt(depth * depth + wide * wide)


def form_feed_bounds(material: Material, cutter: Cutter, machine: Machine, wide: float,
                     depth: float, speed: float) -> FeedBounds:
    """How far each limit lets the feed of a form cutter go at one depth of a space ``wide`` mm wide
    on the mean, at one speed. Raises Refused where the speed is not to be had."""
    turned = choose_speed(material, cutter, machine, cutter.diameter, _speed_share(cutter), speed)
    body = body_of(cutter, machine, edge_of(cutter))
    return _FormCut(material, cutter, machine, _arbor(cutter), body, wide, _wedge(wide, depth),
                    turned, None, Caps()).bounds(depth)


def free_form_cut(
    material: Material,
    cutter: Cutter,
    machine: Machine,
    space_area: float,
    depth: float,
    edge_length: float | None = None,
    *,
    taken: float = 0.0,
    passes: int | None = None,
    speed: float | None = None,
    feed: float | None = None,
    findings: Sequence[ShopFinding] = (),
    keep_to_findings: bool = False,
) -> CutPlan:
    """Plan the cutting of a tooth space by a form disc or fly cutter, along the blank.

    ``space_area`` mm² is the section of the space, ``depth`` mm its full depth, ``edge_length`` mm
    the length of its outline (both flanks and the root); left out, that of a wedge of the same area
    and depth. ``taken`` is the share of the section that an earlier cutter has taken: force and
    power are those of the rest. ``passes`` of equal depth are kept when given; else as many are
    taken as the loads ask for. The answer's ``depth`` is that of one pass, ``width`` the mean
    width of the space.

    The section cut sets the load: an edge of the developed length L takes a chip of the mean width
    b and the thickness h measured along the depth, so its mean thickness square to the edge is
    h·b/L and Kienzle's force kc1 · b · h^(1−mc) · (L/b)^mc. The disc's engagement is that of a
    side-milling cutter whose width of cut is the depth of the space.

    Raises Refused when no safe choice exists.
    """
    if not record_of(cutter).on_arbor:
        raise Refused(Fault(Message("the {kind} does not cut tooth spaces", kind=cutter.kind),
                            Message("take a form disc or a fly cutter")))
    faults = plain_sense(None, depth, cutter.diameter)
    if not 0.0 < space_area < float("inf"):
        faults.append(Fault(
            Message("the section of the space is {area:g} mm²", area=space_area),
            Message("an area of more than 0 is wanted")))
    if not faults and depth >= cutter.diameter / 2.0:
        faults.append(Fault(
            Message("a space {depth:g} mm deep cannot be cut by a disc of {diameter:g} mm: it "
                    "would reach to its middle", depth=depth, diameter=cutter.diameter),
            Message("take a larger disc")))
    if passes is not None and passes < 1:
        faults.append(Fault(counted("{n} pass cannot be made", "{n} passes cannot be made", passes),
                            Message("one or more")))
    if faults:
        raise Refused(faults)
    wide = space_area / depth
    long = edge_length if edge_length is not None else _wedge(wide, depth)
    found = matching(findings, material, cutter)
    kept = caps(found) if keep_to_findings else Caps()
    turned = choose_speed(material, cutter, machine, cutter.diameter, _speed_share(cutter), speed,
                          kept.speed, kept.name)
    cut = _FormCut(material, cutter, machine, _arbor(cutter),
                   body_of(cutter, machine, edge_of(cutter)), wide, long, turned,
                   feed, kept, 1.0 - taken)
    if passes is None:
        deepest = depth if kept.depth is None else kept.depth
        counts = [count for count in PASSES_TRIED if depth / count <= deepest * (1.0 + 1e-9)]
        able = [count for count in counts if cut.bears(depth / count)]
        count = min(able, key=lambda count: cut.lasts(depth, count), default=PASSES_TRIED[-1])
    else:
        count = passes
    return cut.plan(depth, count, passes is not None, speed is None, found)
