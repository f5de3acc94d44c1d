"""Milling by the side or the end of a cutter: end mills of all shapes, chamfer mills, engravers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil, pi, sqrt, tan
from math import radians as in_radians

from camgen.cutting.answer import CutPlan, Governs, Limit
from camgen.cutting.body import (
    ChosenSpeed,
    allowed_depth,
    body_of,
    going_down,
    is_shaped,
    plain_sense,
    slowed_or_thinner,
    too_weak,
)
from camgen.cutting.chips import engagement, peak_chip_share, top_tooth
from camgen.cutting.findings import Caps, ShopFinding, caps, matching, no_milder
from camgen.cutting.planners.milling_cut import CutAtDepth, asked_of, milling_cut_at
from camgen.cutting.planners.milling_shaped_depth import deepest_cut
from camgen.cutting.stiffness import principal_stress
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.cutters import RECORDS, Cutter, cutting_length, record_of
from camgen.shop.machine import Machine
from camgen.shop.materials import Material, edge_of
from camgen.shop.tables import rule

__all__ = ["force_limit", "free_milling"]

# Diameters below which catalogues give slots of micro mills, and up to which they do so at all, mm.
MICRO, SMALL = 0.8, 3.0
# Groups of ISO 513 that carry heat badly, and the rule that bounds a slot in each. Non-ferrous
# metals (N) carry it off; what is in O is no metal.
HOT = (("PH", "heat-slot"), ("MS", "heat-slot-poor"))
HEAT = Message("heat of the edge")


def free_milling(
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
    findings: Sequence[ShopFinding] = (),
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
        raise Refused(Fault(
            Message("the {kind} does not mill", kind=cutter.kind),
            Message("milling is done with: {able}", able=tuple(
                kind for kind, record in RECORDS.items() if record.mills))))
    faults = plain_sense(width, depth_wanted, cutter.diameter)
    if faults:
        raise Refused(faults)
    found = matching(findings, material, cutter)
    kept = caps(found) if keep_to_findings else Caps()
    ask = asked_of(material, cutter, machine, width, speed, feed, deflection, kept)

    # Depth as far as geometry and practice go; forces come after.
    deepest = _deepest(material, cutter, width, keep_depth)
    bounds = list(deepest)
    if depth_wanted is not None:
        bounds.append((depth_wanted, Message("asked")))
    by_finding = kept.depth_at(cutter.diameter if width is None else width)
    if by_finding is not None:
        bounds.append((by_finding, kept.name))
    depth, depth_governed = min(bounds)
    if keep_depth and depth_wanted is not None and depth < depth_wanted * (1.0 - 1e-9):
        raise Refused(Fault(
            Message("{name}: a depth of {wanted:g} mm cannot be taken at once, {depth:.3g} mm can",
                    name=depth_governed, wanted=depth_wanted, depth=depth),
            Message("less depth in more passes, or a larger or longer cutter")))
    least_depth = depth if keep_depth else min(allowed_depth(cutter, machine), depth)
    if is_shaped(cutter) and not keep_depth and feed is None:
        reached, name, cut = deepest_cut(ask, depth, least_depth)
        if reached < depth:
            depth, depth_governed = reached, name
        least_depth = depth
    else:
        cut = milling_cut_at(ask, depth)
    rpm, chip, turned, feed_governed = cut.rpm, cut.chip, cut.turned, cut.feed_governed
    by_load, load_name = cut.depth_for(chip)
    if feed is not None and not cut.point_bears(chip):
        # What the point bears of a chip that is kept is the same at any depth.
        raise Refused(too_weak(Message("bending at the point"), depth,
                               cut.chip_for(depth, rpm)[0], chip, cutter))
    if least_depth <= by_load < depth:
        depth, depth_governed = by_load, load_name
    elif by_load < depth * (1.0 - 1e-9) and feed is not None:
        raise Refused(too_weak(load_name, least_depth, cut.chip_for(least_depth, rpm)[0], chip,
                               cutter))
    elif by_load < depth * (1.0 - 1e-9):
        # The depth cannot give way further: the chip does, and the speed where that helps.
        depth = least_depth
        if not keep_depth and not is_shaped(cutter):
            depth_governed = Message("least depth")
        chip, feed_governed, rpm, slowed = slowed_or_thinner(
            chip, rpm, machine.spindle.lowest, machine.spindle.highest, feed_governed,
            cut.ask.axis_feed, cutter.flutes, lambda at: cut.chip_for(depth, at),
            cut.chip_least, speed is None)
        if slowed:
            turned = replace(turned, governed=feed_governed)
        if chip < cut.chip_least * (1.0 - 1e-9):
            raise Refused(too_weak(feed_governed, depth, chip, cut.chip_least, cutter))
    return _plan(cut, turned, rpm, chip, depth, depth_wanted, deepest,
                 "feed" if keep_depth else "depth",
                 {"speed": turned.governed, "feed": feed_governed, "depth": depth_governed,
                  "width": Message("cutter's diameter") if width is None else Message("asked")},
                 found)


def _deepest(material: Material, cutter: Cutter, width: float | None,
             keep: bool) -> tuple[tuple[float, Message], ...]:
    """What bounds the depth whatever the load, mm: the flutes, practice, and heat where it does."""
    heat = _depth_by_heat(material, cutter, width)
    return ((cutting_length(cutter), Message("flute length")),
            _practice(material, cutter, width, keep),
            *(() if heat is None else ((heat, HEAT),)))


def _practice(material: Material, cutter: Cutter, width: float | None,
              keep: bool) -> tuple[float, Message]:
    """The greatest depth of practice, mm, and its name."""
    diameter = cutter.diameter
    if record_of(cutter).pointed:
        half = tan(in_radians(cutter.cone_angle / 2.0))
        return (diameter - cutter.tip) / (2.0 * half), Message("height of the cone")
    share = material.slot_depth.high if keep else material.slot_depth.value
    if record_of(cutter).ball:
        share = min(share, rule("ball-depth").high if keep else rule("ball-depth").value)
    return share * diameter * sqrt(diameter / (diameter if width is None else width)), \
        Message("depth in practice")


def _depth_by_heat(material: Material, cutter: Cutter, width: float | None) -> float | None:
    """The greatest depth at which an edge does not become too hot in a wide cut, mm.

    In a slot an edge is in metal half of every turn, and in metals that carry heat badly it hardly
    cools in the other half; in a narrow cut it may go deeper as it is in metal for less of the
    turn. The share of a slot is common practice, no source. None for metals that carry heat well,
    and where the edge's shape sets the depth.
    """
    if record_of(cutter).pointed:
        return None
    share = next((rule(name) for groups, name in HOT if material.group[:1] in groups), None)
    if share is None:
        return None
    wide = cutter.diameter if width is None else width
    return share.value * cutter.diameter * pi / engagement(wide, cutter.diameter)


def _plan(cut: CutAtDepth, turned: ChosenSpeed, rpm: float, chip: float, depth: float,
          depth_wanted: float | None, deepest: Sequence[tuple[float, Message]],
          loads: Governs, governed: dict[Governs, Message],
          found: tuple[ShopFinding, ...]) -> CutPlan:
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
    bent = force * body.compliance
    stress = force * cut.stress_per_newton
    twist = torque * body.torsion
    peak_chip = chip * cut.peak_share
    limits = (
        *turned.limits(rpm),
        Limit.at_most(cut.chip_name, cut.chip_table, "mm", "feed", chip),
        Limit.at_least(Message("least chip"), ask.least_chip, "mm", "feed", peak_chip),
        Limit.at_most(Message("axis feed"), cut.ask.axis_feed, "mm/min", "feed", feed),
        *(Limit.at_most(name, most, "mm", "depth", depth) for most, name in deepest),
        Limit.at_most(Message("deflection"), ask.bend_allowed, "mm", loads, bent),
        Limit.at_most(Message("bending stress"), ask.stress_allowed, "N/mm2", loads, stress),
        *(() if ask.cone is None else (
            Limit.at_most(Message("bending at the point"), ask.stress_allowed, "N/mm2", loads,
                          force * cut.point_per_newton),)),
        Limit.at_most(Message("torsion"), ask.shear_allowed, "N/mm2", loads, twist),
        *turned.spindle_limits(rpm, loads, torque, power, ask.overload),
    )
    warnings = list(cut.warnings)
    if body.run_out > chip and teeth > 1:
        warnings.append(Message("run-out of {run_out:.2g} µm is more than the chip: one tooth "
                                "does most of the work", run_out=body.run_out * 1000))
    if body.reach > rule("long-cutter").value * cutter.diameter:
        warnings.append(Message("the cutter stands out {reach:.0f} times its diameter: shorten "
                                "it if you can, it will sing", reach=body.reach / cutter.diameter))
    warnings += _beyond_catalogues(cutter, cut.wide, depth)
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
        findings=tuple(one.told() for one in found), own_values=material.own)


def _beyond_catalogues(cutter: Cutter, wide: float, depth: float) -> tuple[Message, ...]:
    """What is told of a slot that is deeper than catalogues of micro end mills give it."""
    diameter = cutter.diameter
    published = rule("micro-slot" if diameter < MICRO else "small-slot")
    if (record_of(cutter).pointed or diameter > SMALL or wide < diameter * (1.0 - 1e-6)
            or depth <= published.high * diameter * (1.0 + 1e-6)):
        return ()
    return (Message("a slot {depth:.3g} mm deep is {share:.2g} of the cutter's width; catalogues "
                    "of such small mills give {least:g} to {most:g}: what is reckoned here allows "
                    "it, begin with less depth and listen", depth=depth, share=depth / diameter,
                    least=published.low, most=published.high),)


def force_limit(cutter: Cutter, machine: Machine) -> tuple[float, Message]:
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
    return min((allowed / body.compliance, Message("deflection")),
               (stress / principal_stress(body.bending, arm * body.torsion),
                Message("bending stress")))
