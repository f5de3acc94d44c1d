"""Milling by the side or the end of a cutter: end mills of all shapes, chamfer mills, engravers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil, exp, log, pi, sqrt, tan
from math import radians as in_radians

from camgen.cutting.answer import CutPlan, FeedBounds, Governs, Limit
from camgen.cutting.body import (
    Body,
    Cone,
    Speed,
    allowed_depth,
    body_of,
    choose_speed,
    cone_of,
    edge_at,
    going_down,
    is_shaped,
    plain_sense,
    pointed_body,
    slowed_or_thinner,
    too_weak,
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
from camgen.cutting.findings import Caps, Finding, caps, matching, no_milder
from camgen.cutting.forces import mean_power, power_at, tangential_force, torque_at
from camgen.cutting.stiffness import principal_stress
from camgen.faults import Fault, Refused
from camgen.shop.cutters import RECORDS, Cutter, cutting_length, record_of
from camgen.shop.machine import Machine
from camgen.shop.materials import EdgeMaterial, Material, edge_of
from camgen.shop.tables import rule
from camgen.values import dataclass

__all__ = ["feed_bounds", "force_limit", "plan_milling"]

# Where the edge changes with the depth, depths are tried, each where the last two say that the
# loads would just allow it, within these bounds; then between one that will do and one that will
# not, the loads' own course is followed until they allow no more than this share beyond it.
SMALLEST_STEP, GREATEST_STEP = 0.92, 0.4
DEPTHS_TRIED = 24
NEAR = 0.02
# Where nothing is found so, every depth of a ladder is tried before an answer is refused.
RUNG = 0.85
NARROWED = 4


@dataclass(frozen=True, slots=True)
class _Ask:
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
    cone: Cone | None
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


def _asked(material: Material, cutter: Cutter, machine: Machine, wide: float | None,
           speed: float | None, feed: float | None, deflection: float | None = None,
           kept: Caps | None = None) -> _Ask:
    """What was asked for, with its bounds."""
    edge = edge_of(cutter)
    body = body_of(cutter, machine, edge)
    mc = material.mc.value
    radial_share = rule("radial-share").value
    safety = rule("safety-factor").value
    if deflection is None:
        deflection = min(rule("deflection-share").value * cutter.diameter,
                         rule("deflection-most").value)
    return _Ask(
        material, cutter, machine, edge, body, wide, speed, feed, kept or Caps(),
        cone_of(cutter), material.least_chip.value * body.edge_radius,
        min(machine.x.feed_limit, machine.y.feed_limit),
        material.kc1.value * rule("wear").value, mc, 1.0 - mc,
        sqrt(1.0 + radial_share * radial_share), rule("overload").value,
        rule("most-thinning").value, deflection, edge.bending_strength / safety,
        edge.shear_strength / safety)


@dataclass(frozen=True, slots=True)
class _Cut:
    """The cut at one depth: the chip before loads are looked at, and what every load would be.

    All loads are powers of the chip load, so each limit can be solved for it or for the depth.
    ``tangential`` N at 1 mm depth for a highest tooth that takes 1 mm; ``power`` W at 1 mm depth,
    1 rev/min and 1 mm chip load; ``resultant`` the force across over the tangential.
    """

    ask: _Ask
    body: Body
    shape: EdgeShape
    wide: float
    turned: Speed
    rpm: float
    chip: float
    feed_governed: str
    chip_name: str
    chip_table: float
    peak_share: float
    mean_share: float
    tangential: float
    power: float
    stress_per_newton: float
    warnings: tuple[str, ...]

    @property
    def chip_least(self) -> float:
        """The chip load at which the thickest chip is the least that is cut."""
        return self.ask.least_chip / self.peak_share

    def strengths(self, rpm: float) -> tuple[tuple[float, str], ...]:
        """The greatest force across the cutter, N, by each limit; mean power apart."""
        ask, body, radius = self.ask, self.body, self.shape.diameter / 2.0
        torque = ask.overload * torque_at(ask.machine.spindle.power, rpm)
        return ((ask.bend_allowed / body.compliance, "deflection"),
                (ask.stress_allowed / self.stress_per_newton, "bending stress"),
                (ask.shear_allowed / (radius * body.torsion) * ask.resultant, "torsion"),
                (torque / radius * ask.resultant, "spindle torque"))

    def depth_for(self, chip: float) -> tuple[float, str]:
        """The greatest depth at a chip load."""
        ask = self.ask
        top = top_tooth(chip, self.body.run_out, ask.cutter.flutes)
        force, name = min(self.strengths(self.rpm))
        by_force = force / (self.tangential * ask.resultant * top**ask.exponent)
        by_power = power_at(ask.machine.spindle.power, self.rpm) / (
            self.power * self.rpm * chip**ask.exponent)
        return min((by_force, name), (by_power, "spindle power"))

    def chip_for(self, depth: float, rpm: float) -> tuple[float, str]:
        """The greatest chip load at a depth and a speed."""
        force, name = min(self.strengths(rpm))
        return min((self.chip_for_force(force, depth), name), self.chip_for_power(depth, rpm))

    def chip_for_force(self, force: float, depth: float) -> float:
        """The chip load at which the highest tooth brings a force across the cutter."""
        ask = self.ask
        top = float((force / (self.tangential * ask.resultant * depth)) ** (1.0 / ask.exponent))
        return chip_load_for_peak(top, self.body.run_out, ask.cutter.flutes)

    def chip_for_power(self, depth: float, rpm: float) -> tuple[float, str]:
        """The chip load that uses all of the spindle's power."""
        able = power_at(self.ask.machine.spindle.power, rpm)
        chip = (able / (self.power * depth * rpm)) ** (1.0 / self.ask.exponent)
        return float(chip), "spindle power"


def _cut_at(ask: _Ask, depth: float) -> _Cut:
    """The cut at one depth. Raises Refused where speed or chip cannot be had."""
    material, cutter, machine, body = ask.material, ask.cutter, ask.machine, ask.body
    if ask.cone is None:
        shape = edge_at(cutter, depth)
    else:
        shape = ask.cone.edge_at(depth)
        body = pointed_body(body, ask.cone, ask.edge, depth)
    wide = shape.diameter if ask.wide is None else min(ask.wide, shape.diameter)
    turned = choose_speed(material, cutter, machine, shape.diameter, 1.0, ask.speed,
                          ask.kept.speed, ask.kept.name)
    rpm = turned.rpm
    warnings = [*body.notes, *turned.warnings]
    least_chip = ask.least_chip
    if wide < least_chip:
        raise Refused(Fault(
            f"least chip: a width of {wide * 1000:.2g} µm is less than the {least_chip * 1000:.2g} "
            "µm below which this edge rubs", "More width, or a sharper cutter."))

    radial = peak_chip_share(wide, shape.diameter)
    peak_share = radial * shape.peak
    sized = shape.diameter if ask.cone is not None else cutter.diameter
    chip_name = "chip load"
    least_share = 1.0 / ask.most_thinning
    if ask.kept.peak_chip is not None:
        chip_table, chip_name = ask.kept.peak_chip / max(radial, least_share), ask.kept.name
    else:
        chip_table = min(material.chip_load.value * sized, material.chip_most.value) / max(
            peak_share, least_share)
    chip_least = least_chip / peak_share
    chip, governed = chip_table, chip_name
    if chip_least > chip:
        chip, governed = chip_least, "least chip"
        warnings.append(
            f"chips are thin: {chip * 1000:.2g} µm a tooth is more than the "
            f"{chip_table * 1000:.2g} µm of practice, else the edge would rub; a sharper cutter "
            "would help")
    teeth = cutter.flutes
    axis_feed = ask.axis_feed
    if ask.feed is not None:
        chip, governed = ask.feed / (rpm * teeth), "asked"
        if ask.feed > axis_feed:
            raise Refused(Fault(f"the axes do not go faster than {axis_feed:g} mm/min, the feed "
                                f"asked for is {ask.feed:g}", "Ask for less."))
        warnings = [*body.notes, *turned.warnings]
        if chip > chip_table * (1.0 + 1e-9):
            warnings.append(f"the feed asked for makes {chip * 1000:.2g} µm a tooth, more than the "
                            f"{chip_table * 1000:.2g} µm of practice")
        if chip < chip_least * (1.0 - 1e-9):
            warnings.append(f"the feed asked for makes {chip * 1000:.2g} µm a tooth: under "
                            f"{chip_least * 1000:.2g} µm the edge rubs; more feed or less speed")
    elif rpm * teeth * chip > axis_feed:
        if ask.speed is None and axis_feed / (rpm * teeth) < chip_least:
            # Slower, so that the teeth cut: the feed stays at what the axes can do.
            rpm = max(axis_feed / (teeth * chip), machine.spindle.lowest)
            turned = replace(turned, rpm=rpm, governed="axis feed, so that the teeth do not rub")
        chip, governed = axis_feed / (rpm * teeth), "axis feed"
        if chip < chip_least * (1.0 - 1e-9):
            if ask.speed is None:
                raise Refused(Fault(
                    f"least chip: at the spindle's lowest speed and the axes' fastest feed of "
                    f"{axis_feed:g} mm/min a tooth takes {chip * 1000:.2g} µm; under "
                    f"{chip_least * 1000:.2g} µm the edge rubs",
                    "A slower spindle, fewer flutes or a sharper cutter."))
            warnings.append(f"at the speed asked for the axes are too slow: {chip * 1000:.2g} µm a "
                            "tooth rubs; less speed")

    # A slanting edge is longer and takes a chip as much thinner: by Jensen's inequality the force
    # is never more than that of the mean slant.
    tangential = tangential_force(ask.kc1, ask.mc, 1.0 / shape.mean, shape.mean) * teeth_sum(
        teeth, engagement(wide, shape.diameter), ask.exponent)
    mean_share = mean_chip_share(wide, shape.diameter) * shape.mean
    return _Cut(
        ask, body, shape, wide, turned, rpm, chip, governed, chip_name, chip_table, peak_share,
        mean_share, tangential, mean_power(ask.kc1, ask.mc, wide, teeth, mean_share),
        principal_stress(body.bending, shape.diameter / 2.0 * body.torsion / ask.resultant),
        tuple(warnings))


def _deepest(ask: _Ask, depth: float, least: float) -> tuple[float, str, _Cut]:
    """The greatest depth from ``depth`` down that all loads allow, for shaped edges; its limit, and
    the cut there.

    Chips, speed and strength all change with the depth there, so depths are tried; if none will
    bear the full chip, the deepest that bears one that still cuts. Raises Refused with the last
    reason when none will do.
    """
    no: Refused | None = None
    governed, thin = "", None
    at, above = depth, _Tried(depth)
    for _ in range(DEPTHS_TRIED):
        try:
            tried = _tried(ask, at)
        except Refused as reason:
            no, governed, step = reason, "surface speed", GREATEST_STEP
            above = _Tried(at)
        else:
            assert tried.cut is not None
            if tried.over >= -1e-9:
                best = tried if at == depth else _narrowed(ask, tried, above)
                assert best.cut is not None
                return best.depth, governed, best.cut
            no, governed = None, tried.name
            if thin is None and tried.cut.chip_for(at, tried.cut.rpm)[0] >= tried.cut.chip_least:
                thin = (at, tried.name, tried.cut)
            step = exp(tried.over) if above.cut is None else _crossing(tried, above) / at
            above = tried
        at *= min(max(step, GREATEST_STEP), SMALLEST_STEP)
        if at < least:
            break
    if thin is not None:
        return thin
    at = depth
    while at >= least:
        try:
            tried = _tried(ask, at)
        except Refused:
            pass
        else:
            assert tried.cut is not None
            if tried.cut.chip_for(at, tried.cut.rpm)[0] >= tried.cut.chip_least:
                return at, tried.name, tried.cut
        at *= RUNG
    if no is None and above.cut is not None:
        cut = above.cut
        raise Refused(too_weak(governed, above.depth, cut.chip_for(above.depth, cut.rpm)[0],
                               cut.chip_least, ask.cutter))
    assert no is not None
    raise no


@dataclass(frozen=True, slots=True)
class _Tried:
    """A depth, the cut there, the logarithm of what its loads allow over the depth, and the limit
    that does; no cut where it is not to be had at all."""

    depth: float
    cut: _Cut | None = None
    over: float = 0.0
    name: str = ""


def _tried(ask: _Ask, depth: float) -> _Tried:
    """A depth tried. Raises Refused where the cut is not to be had at all."""
    cut = _cut_at(ask, depth)
    able, name = cut.depth_for(cut.chip)
    return _Tried(depth, cut, log(able / depth), name)


def _crossing(one: _Tried, other: _Tried) -> float:
    """Just above the depth that its loads allow, by two tried: straight in the logarithms."""
    slope = (one.over - other.over) / log(one.depth / other.depth)
    if slope >= 0.0:
        return one.depth
    # Far beyond the bounds of a step is as far as the bounds.
    return one.depth * exp(max(-one.over / slope, -10.0)) * (1.0 - NEAR / 2.0)


def _narrowed(ask: _Ask, works: _Tried, fails: _Tried) -> _Tried:
    """A depth that all loads allow, between one that works and one that does not."""
    for _ in range(NARROWED):
        if works.over <= NEAR or fails.depth <= works.depth * (1.0 + NEAR):
            break
        middle = (works.depth + fails.depth) / 2.0
        if fails.cut is not None:
            middle = min(max(_crossing(works, fails), works.depth), fails.depth)
        try:
            tried = _tried(ask, middle)
        except Refused:
            fails = _Tried(middle)
        else:
            works, fails = (tried, fails) if tried.over >= 0.0 else (works, tried)
    return works


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
    findings: Sequence[Finding] = (),
    keep_to_findings: bool = False,
) -> CutPlan:
    """Plan a cut with an end mill of any shape, a chamfer mill or an engraver.

    ``width`` is the radial width of the cut in straight metal, the cutter's diameter (a slot) when
    left out; :func:`camgen.cutting.chips.effective_width_in_circle` gives the width that stands for
    a cut along a circle. ``depth_wanted`` is the most depth wanted; the answer may be less, and
    then ``passes`` says how many. With ``keep_depth`` it is kept and the chip gives way. ``speed``
    and ``feed`` are kept when given, and what they overstep is said. ``deflection`` mm is allowed
    at the tip; left out, the planner's rule. ``findings`` of the workshop that match are shown, and
    with ``keep_to_findings`` kept to.

    The chip is as thick as the table allows, the speed as high, the depth as large as the cutter,
    the spindle and practice allow; so for a cylindrical cutter, or at a kept depth, loosening a
    limit never lowers the feed. Where the edge's shape changes with the depth, less depth may
    rightly mean more feed.

    Raises Refused when no safe choice exists, naming the limit that cannot be met.
    """
    if not record_of(cutter).mills:
        able = ", ".join(kind for kind, record in RECORDS.items() if record.mills)
        raise Refused(Fault(f"a {cutter.kind} does not mill", f"Milling is done with: {able}."))
    faults = plain_sense(width, depth_wanted, cutter.diameter)
    if faults:
        raise Refused(faults)
    found = matching(findings, material, cutter)
    kept = caps(found) if keep_to_findings else Caps()
    ask = _asked(material, cutter, machine, width, speed, feed, deflection, kept)

    # Depth as far as geometry and practice go; forces come after.
    by_practice, practice_name = _practice(material, cutter, width, keep_depth)
    flute = cutting_length(cutter)
    bounds: list[tuple[float, str]] = [(flute, "flute length"), (by_practice, practice_name)]
    if depth_wanted is not None:
        bounds.append((depth_wanted, "asked"))
    by_finding = kept.depth_at(cutter.diameter if width is None else width)
    if by_finding is not None:
        bounds.append((by_finding, kept.name))
    depth, depth_governed = min(bounds)
    if keep_depth and depth_wanted is not None and depth < depth_wanted * (1.0 - 1e-9):
        raise Refused(Fault(
            f"{depth_governed}: a depth of {depth_wanted:g} mm cannot be taken at once, "
            f"{depth:.3g} mm can", "Less depth in more passes, or a larger or longer cutter."))
    least_depth = depth if keep_depth else min(allowed_depth(cutter, machine), depth)
    if is_shaped(cutter) and not keep_depth and feed is None:
        reached, name, cut = _deepest(ask, depth, least_depth)
        if reached < depth:
            depth, depth_governed = reached, name
        least_depth = depth
    else:
        cut = _cut_at(ask, depth)
    rpm, chip, turned, feed_governed = cut.rpm, cut.chip, cut.turned, cut.feed_governed
    by_load, load_name = cut.depth_for(chip)
    if least_depth <= by_load < depth:
        depth, depth_governed = by_load, load_name
    elif by_load < depth * (1.0 - 1e-9) and feed is not None:
        raise Refused(too_weak(load_name, least_depth, cut.chip_for(least_depth, rpm)[0], chip,
                               cutter))
    elif by_load < depth * (1.0 - 1e-9):
        # The depth cannot give way further: the chip does, and the speed where that helps.
        depth = least_depth
        if not keep_depth and not is_shaped(cutter):
            depth_governed = "least depth"
        chip, feed_governed, rpm, slowed = slowed_or_thinner(
            chip, rpm, machine.spindle.lowest, machine.spindle.highest, feed_governed,
            cut.ask.axis_feed, cutter.flutes, lambda at: cut.chip_for(depth, at),
            cut.chip_least, speed is None)
        if slowed:
            turned = replace(turned, governed=feed_governed)
        if chip < cut.chip_least * (1.0 - 1e-9):
            raise Refused(too_weak(feed_governed, depth, chip, cut.chip_least, cutter))
    return _plan(cut, turned, rpm, chip, depth, depth_wanted, flute, by_practice, practice_name,
                 "feed" if keep_depth else "depth",
                 {"speed": turned.governed, "feed": feed_governed, "depth": depth_governed,
                  "width": "cutter's diameter" if width is None else "asked"}, found)


def _practice(material: Material, cutter: Cutter, width: float | None,
              keep: bool) -> tuple[float, str]:
    """The greatest depth of practice, mm, and its name."""
    diameter = cutter.diameter
    if record_of(cutter).pointed:
        half = tan(in_radians(cutter.cone_angle / 2.0))
        return (diameter - cutter.tip) / (2.0 * half), "height of the cone"
    share = material.slot_depth.high if keep else material.slot_depth.value
    if record_of(cutter).ball:
        share = min(share, rule("ball-depth").high if keep else rule("ball-depth").value)
    return share * diameter * sqrt(diameter / (diameter if width is None else width)), \
        "depth in practice"


def _plan(cut: _Cut, turned: Speed, rpm: float, chip: float, depth: float,
          depth_wanted: float | None, flute: float, by_practice: float, practice_name: str,
          loads: Governs, governed: dict[Governs, str], found: tuple[Finding, ...]) -> CutPlan:
    """The answer, with every limit at the figures chosen."""
    ask, body = cut.ask, cut.body
    cutter, machine, material = ask.cutter, ask.machine, ask.material
    teeth = cutter.flutes
    passes = 1
    if depth_wanted is not None and depth < depth_wanted:
        passes = ceil(depth_wanted / depth - 1e-9)
    feed = rpm * teeth * chip
    force = cut.tangential * depth * top_tooth(chip, body.run_out, teeth) ** ask.exponent \
        * ask.resultant
    torque = force / ask.resultant * cut.shape.diameter / 2.0
    power = cut.power * rpm * depth * chip**ask.exponent
    power_most = power_at(machine.spindle.power, rpm)
    torque_most = ask.overload * torque_at(machine.spindle.power, rpm)
    bent = force * body.compliance
    stress = force * cut.stress_per_newton
    twist = torque * body.torsion
    peak_chip = chip * cut.peak_share
    limits = (
        *turned.limits(rpm),
        Limit(cut.chip_name, cut.chip_table, "mm", "feed", chip / cut.chip_table, chip),
        Limit("least chip", ask.least_chip, "mm", "feed", ask.least_chip / peak_chip, peak_chip,
              True),
        Limit("axis feed", cut.ask.axis_feed, "mm/min", "feed", feed / cut.ask.axis_feed, feed),
        Limit("flute length", flute, "mm", "depth", depth / flute, depth),
        Limit(practice_name, by_practice, "mm", "depth", depth / by_practice, depth),
        Limit("deflection", ask.bend_allowed, "mm", loads, bent / ask.bend_allowed, bent),
        Limit("bending stress", ask.stress_allowed, "N/mm2", loads, stress / ask.stress_allowed,
              stress),
        Limit("torsion", ask.shear_allowed, "N/mm2", loads, twist / ask.shear_allowed, twist),
        Limit("spindle torque", torque_most, "N mm", loads, torque / torque_most, torque),
        Limit("spindle power", power_most, "W", loads, power / power_most, power),
    )
    warnings = list(cut.warnings)
    if body.run_out > chip and teeth > 1:
        warnings.append(f"run-out of {body.run_out * 1000:.2g} µm is more than the chip: one tooth "
                        "does most of the work")
    if body.reach > rule("long-cutter").value * cutter.diameter:
        warnings.append(f"the cutter stands out {body.reach / cutter.diameter:.0f} times its "
                        "diameter: shorten it if you can, it will sing")
    if found:
        warnings += no_milder(found, chip * peak_chip_share(cut.wide, cutter.diameter), depth)
    plunge, ramp, ramp_angle = going_down(feed, rpm, teeth, ask.least_chip, machine, warnings)
    return CutPlan(
        speed=rpm, surface_speed=rpm * pi * cut.shape.diameter / 1000.0, chip_load=chip, feed=feed,
        plunge_feed=plunge, depth=depth, width=cut.wide, limits=limits, governed_by=governed,
        warnings=tuple(warnings), ramp_feed=ramp, ramp_angle=ramp_angle, passes=passes, force=force,
        torque=torque, power=power, deflection=bent, tangential=force / ask.resultant,
        radial=force / ask.resultant * rule("radial-share").value, peak_chip=peak_chip,
        mean_chip=chip * cut.mean_share, cautions=material.cautions,
        findings=tuple(str(one) for one in found), own_values=material.own)


def feed_bounds(material: Material, cutter: Cutter, machine: Machine, width: float | None,
                depth: float, speed: float) -> FeedBounds:
    """How far each limit lets the feed go at one depth, mm, and one speed, rev/min.

    Raises Refused where speed or width are not to be had.
    """
    cut = _cut_at(_asked(material, cutter, machine, width, speed, None), depth)
    per_chip = speed * cutter.flutes
    chips = {name: cut.chip_for_force(force, depth) for force, name in cut.strengths(speed)}
    chips["spindle power"] = cut.chip_for_power(depth, speed)[0]
    chips[cut.chip_name] = cut.chip_table
    most = {name: chip * per_chip for name, chip in chips.items()}
    most["axis feed"] = cut.ask.axis_feed
    return FeedBounds(most, cut.chip_least * per_chip)


def force_limit(cutter: Cutter, machine: Machine) -> tuple[float, str]:
    """The greatest force across the tip that the cutter itself bears, N, and what bounds it.

    Deflection by the planner's rule, and bending together with the torsion such a force brings.

    >>> from camgen.shop.cutters import parse_cutter
    >>> from camgen.shop.machine import Machine
    >>> mill = Machine(name="a-mill", describes="an example")
    >>> force, name = force_limit(parse_cutter("end-mill 0.4 2 flutes reach 1.6"), mill)
    >>> round(force, 2), name
    (1.81, 'deflection')
    """
    edge = edge_of(cutter)
    body = body_of(cutter, machine, edge)
    share = rule("radial-share").value
    arm = cutter.diameter / 2.0 / sqrt(1.0 + share * share)
    allowed = min(rule("deflection-share").value * cutter.diameter, rule("deflection-most").value)
    stress = edge.bending_strength / rule("safety-factor").value
    return min((allowed / body.compliance, "deflection"),
               (stress / principal_stress(body.bending, arm * body.torsion), "bending stress"))
