"""Holes made along the spindle: drills, spot drills, countersinks, counterbores, reamers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import pi, sin, sqrt
from math import radians as in_radians

from camgen.cutting.answer import CutPlan, Limit
from camgen.cutting.body import (
    Body,
    ChosenSpeed,
    body_of,
    choose_speed,
    edge_at,
    plain_sense,
    plunge_beyond,
    too_weak,
)
from camgen.cutting.findings import Caps, ShopFinding, caps, matching, no_milder
from camgen.cutting.forces import drill_thrust, drill_torque, specific_force, torque_at
from camgen.cutting.stiffness import buckling_force, torsion_factor
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.cutters import Cutter, EdgeForm, Way, kinds_of, reach_of, record_of
from camgen.shop.machine import Machine
from camgen.shop.materials import Material, edge_of
from camgen.shop.reaming import for_reamer
from camgen.shop.tables import rule
from camgen.values import dataclass

__all__ = ["free_drilling", "peck_depth"]


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


def free_drilling(
    material: Material,
    cutter: Cutter,
    machine: Machine,
    depth: float | None = None,
    *,
    existing: float = 0.0,
    speed: float | None = None,
    feed: float | None = None,
    findings: Sequence[ShopFinding] = (),
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
    hole = _hole(cutter, depth, existing)
    reaming, wide = record.reams, hole.wide
    body = body_of(cutter, machine, edge_of(cutter))
    found = matching(findings, material, cutter)
    kept = caps(found) if keep_to_findings else Caps()
    turned = choose_speed(material, cutter, machine, wide,
                          rule("ream-speed-share" if reaming else "drill-speed-share").value, speed,
                          kept.speed, kept.name)
    lips = _lips(material, cutter, body, hole)
    name = Message("drill feed")
    table = min(material.drill_feed.value * wide * (rule("ream-feed").value if reaming else 1.0),
                lips.count * material.chip_most.value)
    if kept.peak_chip is not None:
        table, name = kept.peak_chip * cutter.flutes, kept.name
    if feed is not None:
        chosen = _feed_asked(lips, machine, turned, table, feed)
    else:
        chosen = _feed_chosen(lips, machine, turned, (table, name), hole.deep, cutter,
                              speed is None)
    rpm, per_turn = chosen.rpm, chosen.per_turn
    torque, thrust = lips.loads(per_turn)
    power = torque * rpm * pi / 30000.0
    peck = peck_depth(hole.deep, cutter.diameter, hole.flute, material.chip_bulk.value) \
        if record.drills else 0.0
    limits = _limits(lips, machine, chosen, (table, name), hole)
    if peck:
        by_room = rule("flute-room").value * hole.flute / material.chip_bulk.value
        limits = (*limits, Limit.at_most(Message("chip room"), by_room, "mm", "depth", peck))
    if feed is not None:
        _refuse_overloaded(limits)
    warnings = [*body.notes, *turned.warnings, *chosen.warnings]
    if record.drills and body.run_out > 0.5 * per_turn:
        warnings.append(Message("run-out of {run_out:.2g} µm is much beside a feed of "
                                "{per_turn:.2g} µm a turn: one lip does most of the work, the "
                                "hole comes out large", run_out=body.run_out * 1000,
                                per_turn=per_turn * 1000))
    warnings += no_milder(found, per_turn / cutter.flutes, hole.deep)
    if reaming:
        warnings.append(Message("leave {ream_allowance:.2g} mm on the diameter for the reamer; "
                                "come out at the feed, the spindle turning on",
                                ream_allowance=for_reamer(cutter.diameter).usual))
    feed_now, peak = rpm * per_turn, lips.chip(per_turn)
    return CutPlan(
        speed=rpm, surface_speed=rpm * pi * wide / 1000.0, chip_load=per_turn / lips.count,
        feed=feed_now, plunge_feed=feed_now, depth=hole.deep, width=wide, limits=limits,
        governed_by={"speed": chosen.turned.governed, "feed": chosen.governed,
                     "depth": Message("asked") if depth is not None else Message("one diameter"),
                     "width": Message("cutter's diameter")},
        warnings=tuple(warnings), peck=peck, force=thrust, torque=torque, power=power,
        peak_chip=peak, mean_chip=peak,
        cautions=material.cautions, findings=tuple(one.told() for one in found),
        own_values=material.own)


@dataclass(frozen=True, slots=True)
class _Hole:
    """The hole to be made: ``deep`` mm, at most ``deepest`` for the reason named; ``wide`` where
    the cutter is widest in it, ``inner`` the diameter there already; ``flute`` the flutes' length.
    """

    deep: float
    deepest: float
    deepest_name: Message
    wide: float
    inner: float
    flute: float


def _hole(cutter: Cutter, depth: float | None, existing: float) -> _Hole:
    """The hole asked for. Raises Refused where the cutter cannot make such a one."""
    record, diameter = record_of(cutter), cutter.diameter
    if record.way is not Way.DRILLING:
        raise Refused(Fault(
            Message("the {kind} does not drill", kind=cutter.kind),
            Message("holes are made with: {able}", able=tuple(kinds_of(Way.DRILLING)))))
    faults = plain_sense(None, depth, diameter)
    if not 0.0 <= existing < diameter:
        faults.append(Fault(
            Message("a hole of {existing:g} mm cannot be enlarged by the {kind} of {diameter:g} mm",
                    existing=existing, kind=cutter.kind, diameter=diameter),
            Message("take a larger one")))
    if faults:
        raise Refused(faults)
    flute = cutter.flute_length if cutter.flute_length is not None else reach_of(cutter)
    deep, deepest, name = _depth(cutter, depth, flute)
    wide = edge_at(cutter, deep).diameter if record.pointed else diameter
    inner = max(diameter - for_reamer(diameter).usual, 0.5 * diameter) \
        if record.reams and existing == 0.0 else existing
    return _Hole(deep, deepest, name, wide, min(inner, 0.9 * wide), flute)


@dataclass(frozen=True, slots=True)
class _Lips:
    """The lips in the metal, all cutting the ring between ``inner`` and ``wide`` mm.

    ``sine`` is that of their angle to the axis, ``chisel`` what the chisel edge adds to the thrust,
    ``twist`` the shear, (N/mm²)/(N·mm), in the core; a chip of ``least_chip`` mm is the least that
    is cut.
    """

    count: int
    sine: float
    wide: float
    inner: float
    kc1: float
    mc: float
    chisel: float
    least_chip: float
    twist: float
    shear_allowed: float
    thrust_allowed: float

    @property
    def least_feed(self) -> float:
        """The least feed, mm a turn, at which the lips cut."""
        return self.count * self.least_chip / self.sine

    def chip(self, per_turn: float) -> float:
        """Thickness of the chip, mm, at a feed of ``per_turn`` mm."""
        return per_turn / self.count * self.sine

    def loads(self, per_turn: float) -> tuple[float, float]:
        """Torque, N·mm, and thrust, N, at a feed of ``per_turn`` mm."""
        kc = specific_force(self.kc1, self.mc, self.chip(per_turn))
        ring = 1.0 - (self.inner / self.wide) ** 2
        return (drill_torque(kc, per_turn, self.wide) * ring,
                drill_thrust(kc, per_turn, self.wide - self.inner, self.sine, self.chisel))

    def feed_at(self, per_turn: float, used: float, allowed: float) -> float:
        """The feed, mm a turn, at which a load that ``used`` so much is what is ``allowed``."""
        return float(per_turn * (allowed / used) ** (1.0 / (1.0 - self.mc)))


def _lips(material: Material, cutter: Cutter, body: Body, hole: _Hole) -> _Lips:
    """The lips of a cutter in a metal, with what they bear."""
    record, edge = record_of(cutter), edge_of(cutter)
    core = rule("drill-core").value * hole.wide
    safety = rule("safety-factor").value
    return _Lips(
        count=cutter.flutes if record.reams else 2,
        sine={EdgeForm.FLAT: 1.0, EdgeForm.LEAD: sin(in_radians(45.0))}.get(
            record.edge, sin(in_radians(cutter.cone_angle / 2.0))),
        wide=hole.wide, inner=hole.inner, kc1=material.kc1.value * rule("wear").value,
        mc=material.mc.value,
        chisel=rule("drill-thrust").value if hole.inner == 0.0 else 1.0,
        least_chip=material.least_chip.value * body.edge_radius, twist=torsion_factor(core),
        shear_allowed=edge.shear_strength / safety,
        thrust_allowed=buckling_force(body.reach, core, edge.modulus) / safety)


@dataclass(frozen=True, slots=True)
class _Feed:
    """The feed, mm a turn, what set it, the speed it goes with, and what is to be said of it."""

    per_turn: float
    governed: Message
    turned: ChosenSpeed
    rpm: float
    warnings: tuple[Message, ...]


def _feed_asked(lips: _Lips, machine: Machine, turned: ChosenSpeed, table: float,
                feed: float) -> _Feed:
    """The feed asked for, mm/min. Raises Refused where the axis does not go so fast."""
    if feed > machine.z.feed_limit:
        raise Refused(plunge_beyond(machine.z.feed_limit, feed))
    per_turn = feed / turned.rpm
    warnings: list[Message] = []
    if per_turn < lips.least_feed * (1.0 - 1e-9):
        warnings.append(Message("the feed asked for is so small that the lips rub; more feed or "
                                "less speed"))
    if per_turn > table * (1.0 + 1e-9):
        warnings.append(Message("the feed asked for is {per_turn:.2g} µm a turn, more than the "
                                "{table:.2g} µm of practice", per_turn=per_turn * 1000,
                                table=table * 1000))
    return _Feed(per_turn, Message("asked"), turned, turned.rpm, tuple(warnings))


def _feed_chosen(lips: _Lips, machine: Machine, turned: ChosenSpeed,
                 by_table: tuple[float, Message], deep: float, cutter: Cutter,
                 free_speed: bool) -> _Feed:
    """The most feed that the table and every load allow. Raises Refused where the lips would rub.

    With ``free_speed`` the spindle may go slower than was chosen.
    """
    rpm, axis_feed, warnings = turned.rpm, machine.z.feed_limit, []
    per_turn, governed = by_table
    if lips.least_feed > per_turn:
        per_turn, governed = lips.least_feed, Message("least chip")
        warnings.append(Message("feed raised to {per_turn:.2g} µm a turn, else the lips would rub",
                                per_turn=per_turn * 1000))
    start = per_turn
    torque, thrust = lips.loads(start)
    for used, allowed, what in ((torque * lips.twist, lips.shear_allowed, Message("torsion")),
                                (thrust, lips.thrust_allowed, Message("thrust"))):
        by_load = lips.feed_at(start, used, allowed)
        if by_load < per_turn:
            per_turn, governed = by_load, what
    # A drill needs its feed: where the axis is slow the spindle goes slower.
    if rpm * per_turn > axis_feed:
        if free_speed:
            rpm = max(axis_feed / per_turn, machine.spindle.lowest)
            turned = replace(turned, governed=Message("axis feed, so that the lips cut"))
        if rpm * per_turn > axis_feed * (1.0 + 1e-9):
            per_turn, governed = axis_feed / rpm, Message("axis feed")
    torque, _ = lips.loads(per_turn)
    able = torque_at(machine.spindle.power, rpm)  # a drill cuts all the time: no overload
    if torque > able:
        per_turn, governed = lips.feed_at(per_turn, torque, able), Message("spindle power")
    if per_turn < lips.least_feed * (1.0 - 1e-9):
        raise Refused(too_weak(governed, deep, per_turn / lips.count, lips.least_feed / lips.count,
                               cutter))
    return _Feed(per_turn, governed, turned, rpm, tuple(warnings))


def _limits(lips: _Lips, machine: Machine, chosen: _Feed, by_table: tuple[float, Message],
            hole: _Hole) -> tuple[Limit, ...]:
    """Every limit at the feed and the speed chosen."""
    rpm, per_turn = chosen.rpm, chosen.per_turn
    torque, thrust = lips.loads(per_turn)
    table, name = by_table
    return (
        *chosen.turned.limits(rpm),
        Limit.at_most(name, table, "mm/rev", "feed", per_turn),
        Limit.at_least(Message("least chip"), lips.least_chip, "mm", "feed", lips.chip(per_turn)),
        Limit.at_most(Message("axis feed"), machine.z.feed_limit, "mm/min", "feed", rpm * per_turn),
        Limit.at_most(Message("torsion"), lips.shear_allowed, "N/mm2", "feed", torque * lips.twist),
        Limit.at_most(Message("thrust"), lips.thrust_allowed, "N", "feed", thrust),
        *chosen.turned.spindle_limits(rpm, "feed", torque, torque * rpm * pi / 30000.0),
        Limit.at_most(hole.deepest_name, hole.deepest, "mm", "depth", hole.deep),
    )


def _refuse_overloaded(limits: Sequence[Limit]) -> None:
    """Raises Refused where a load of the feed asked for is more than is allowed."""
    broken = [Fault(Message("{name}: the feed asked for needs {used:.3g} {unit}, {most:.3g} is "
                            "allowed", name=limit.name, used=limit.used, unit=limit.unit,
                            most=limit.value),
                    Message("less feed, or a larger, shorter drill"))
              for limit in limits if limit.share > 1.0 + 1e-9 and limit.name in
              (Message("torsion"), Message("thrust"), Message("spindle torque"),
               Message("spindle power"))]
    if broken:
        raise Refused(broken)


def _depth(cutter: Cutter, depth: float | None, flute: float) -> tuple[float, float, Message]:
    """The depth, the deepest possible and its name. Raises Refused."""
    diameter = cutter.diameter
    pointed = record_of(cutter).pointed
    if pointed:
        deepest = (diameter - cutter.tip) / (2.0 * _tangent(cutter))
        name = Message("height of the point")
    else:
        deepest = min(flute, rule("deepest-hole").value * diameter)
        name = Message("flute length") if deepest == flute else Message("deepest hole")
    deep = min(deepest / 2.0 if pointed else diameter, deepest) if depth is None else depth
    if deep > deepest * (1.0 + 1e-9):
        raise Refused(Fault(
            Message("{name}: a hole of {deep:g} mm is deeper than the {deepest:.3g} mm this {kind} "
                    "of {diameter:g} mm can make", name=name, deep=deep, deepest=deepest,
                    kind=cutter.kind, diameter=diameter),
            Message("take a longer or larger one, or work from both sides")))
    return deep, deepest, name


def _tangent(cutter: Cutter) -> float:
    half = in_radians(cutter.cone_angle / 2.0)
    return sin(half) / sqrt(1.0 - sin(half) ** 2)
