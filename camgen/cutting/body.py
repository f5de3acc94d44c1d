"""The cutter as a thing that bends and breaks, and the speed it may run at."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, floor, pi, sin, tan
from math import radians as in_radians

from camgen.cutting.answer import Governs, Limit
from camgen.cutting.chips import EdgeShape, plain_edge, pointed_edge, round_edge, rounded_corner
from camgen.cutting.forces import power_at, torque_at
from camgen.cutting.stiffness import bending_factor, cone_stress, tip_compliance, torsion_factor
from camgen.faults import Fault, Refused, either, no_more
from camgen.messages import NOTHING, Message
from camgen.shop.cutters import (
    Cutter,
    balance_speed,
    cutting_length,
    highest_speed,
    reach_of,
    record_of,
    usual,
)
from camgen.shop.machine import Machine, Spindle
from camgen.shop.materials import EdgeMaterial, Material
from camgen.shop.tables import Quantity, rule
from camgen.values import dataclass

__all__ = [
    "Body",
    "ChosenSpeed",
    "CutterCone",
    "allowed_depth",
    "body_of",
    "choose_speed",
    "cone_of",
    "edge_at",
    "feed_beyond",
    "going_down",
    "is_shaped",
    "plain_sense",
    "plunge_beyond",
    "point_stress",
    "pointed_body",
    "slowed_or_thinner",
    "too_weak",
]

def is_shaped(cutter: Cutter) -> bool:
    """Whether the edge's shape changes with the depth."""
    return record_of(cutter).pointed or cutter.corner > 0.0


def edge_at(cutter: Cutter, depth: float) -> EdgeShape:
    """The edge in the metal at a depth, mm."""
    record = record_of(cutter)
    if record.ball:
        return round_edge(cutter.diameter, depth)
    if record.pointed:
        return pointed_edge(cutter.diameter, cutter.tip, cutter.cone_angle, depth)
    if cutter.corner > 0.0:
        return rounded_corner(cutter.diameter, cutter.corner, depth)
    return plain_edge(cutter.diameter)


@dataclass(frozen=True, slots=True)
class Body:
    """What of a cutter bears on its loads.

    ``reach`` mm stands out, of it ``fluted``; ``compliance`` mm/N and ``bending`` (N/mm²)/N for a
    force at the tip, ``torsion`` (N/mm²)/(N·mm) in the thinnest part; ``edge_radius`` and
    ``run_out`` mm; ``notes`` say what was assumed.
    """

    reach: float
    fluted: float
    compliance: float
    bending: float
    torsion: float
    edge_radius: float
    run_out: float
    notes: tuple[Message, ...]


def body_of(cutter: Cutter, machine: Machine, edge: EdgeMaterial) -> Body:
    """The cutter's body: a fluted part of 0.8 of the diameter (Kops and Vo), then the shank.

    An engraver is half-round, and stands for a round bar of 0.61 of its size, for the half circle's
    second moment is (π/8 − 8/9π)·r⁴. Where the flute length is not given the whole reach is taken
    as fluted.
    """
    diameter = cutter.diameter
    notes: list[Message] = []
    flute = cutter.flute_length
    reach = reach_of(cutter)
    if cutter.reach is None:
        notes.append(Message("reach not given: {reach:g} mm taken", reach=reach))
    if flute is None and usual(cutter.kind, "flute-length"):
        notes.append(Message("flute length not given: all that stands out is taken as fluted and "
                             "weak, and {cutting_length:.3g} mm of it as able to cut",
                             cutting_length=cutting_length(cutter)))
    if cutter.strength is not None or cutter.modulus is not None:
        notes.append(Message("reckoned with the strength or stiffness of the maker's own sheet"))
    fluted = min(flute if flute is not None else reach, reach)
    slim = _slim(cutter)
    core = slim * diameter
    shank = cutter.shank if cutter.shank is not None else diameter
    sections = [(fluted, core)]
    if reach - fluted > 1e-9:
        sections.append((reach - fluted, shank))
    radius = cutter.edge_radius
    if radius is None and record_of(cutter).sharp_form:
        radius = edge.edge_base  # ground to a form, sharp whatever the diameter
    if radius is None:
        radius = min(edge.edge_base + edge.edge_share * diameter, edge.edge_most)
    run_out = cutter.run_out if cutter.run_out is not None else machine.spindle.run_out
    return Body(reach, fluted, tip_compliance(sections, edge.modulus), bending_factor(sections),
                torsion_factor(core), radius, run_out, tuple(notes))


@dataclass(frozen=True, slots=True)
class CutterCone:
    """A pointed cutter's cone: ``diameter`` at its top and ``tip`` at its flat, mm; ``slope`` is
    how much wider it grows for each mm, ``cosine`` that of half its angle; ``slim`` the round bar
    it stands for over its diameter, ``shank`` mm what holds it."""

    diameter: float
    tip: float
    slope: float
    cosine: float
    slim: float
    shank: float

    def edge_at(self, depth: float) -> EdgeShape:
        """The edge in the metal at a depth: as :func:`camgen.cutting.chips.pointed_edge`."""
        wide = min(self.diameter, self.tip + depth * self.slope)
        return EdgeShape(wide, self.cosine, self.cosine)


def cone_of(cutter: Cutter) -> CutterCone | None:
    """The cone of a pointed cutter; None for others."""
    if not record_of(cutter).pointed:
        return None
    half = in_radians(cutter.cone_angle / 2.0)
    return CutterCone(cutter.diameter, cutter.tip, 2.0 * tan(half), cos(half), _slim(cutter),
                cutter.shank if cutter.shank is not None else cutter.diameter)


def pointed_body(body: Body, cone: CutterCone, edge: EdgeMaterial, depth: float) -> Body:
    """The body of a pointed cutter that mills to a depth, mm.

    It bends from the middle of its cut on as a cone, where the force is taken to act. With the
    diameter s there, d at the cone's end and c between, a cone adds ∫x²/d(x)⁴ dx = c³/(3·s·d³) to
    the compliance, and x/d(x)³ is greatest at the cone's end or where its diameter is 1.5 s
    (Castigliano; elementary integration).
    """
    diameter, slope, slim = cone.diameter, cone.slope, cone.slim
    start = min(diameter, cone.tip + depth * slope / 2.0)
    long = (diameter - start) / slope
    thick, cube = diameter**4, long**3
    bends = cube / (start * diameter**3)
    bent = 4.0 / (27.0 * slope * start * start) if 1.5 * start < diameter else long / diameter**3
    end = max(long, body.fluted)
    bends = (bends + (end**3 - cube) / thick) / slim**4
    bent = max(bent, end / diameter**3) / slim**3
    reach = max(body.reach, long)
    if reach - end > 1e-9:
        bends += (reach**3 - end**3) / cone.shank**4
        bent = max(bent, reach / cone.shank**3)
    # All of the torque passes the top of the cut; below it only a part.
    thinnest = slim * min(diameter, cone.tip + depth * slope)
    return Body(reach, body.fluted, bends * 64.0 / (3.0 * pi * edge.modulus), bent * 32.0 / pi,
                torsion_factor(thinnest), body.edge_radius, body.run_out, body.notes)


def point_stress(cone: CutterCone, body: Body, depth: float, around: float) -> float:
    """Greatest stress in a cone within a cut of ``depth`` mm, for 1 N across in all, 1/mm²; 1 N
    across comes with ``around`` N tangentially. No tip is narrower than its edge is round."""
    return cone_stress(cone.tip, cone.slope, 2.0 * body.edge_radius, depth, around) / cone.slim**3


def _slim(cutter: Cutter) -> float:
    """The round bar that a cutter's fluted part stands for, over its diameter."""
    return rule("engraver-section" if record_of(cutter).half_round else "fluted-diameter").value


@dataclass(frozen=True, slots=True)
class ChosenSpeed:
    """A spindle speed, rev/min, the limit that set it, and what bounds it.

    ``aim`` m/min is the surface speed wished for; ``per_turn`` m the way of the edge in one turn;
    ``own`` the highest speed of the cutter itself, rev/min.
    """

    rpm: float
    governed: Message
    aim: float
    per_turn: float
    spindle: Spindle
    own: Quantity | None
    warnings: tuple[Message, ...]

    def limits(self, rpm: float) -> tuple[Limit, ...]:
        """The limits of the speed, at this one or one that was changed since."""
        surface, low, high = rpm * self.per_turn, self.spindle.lowest, self.spindle.highest
        return (
            Limit.at_most(Message("surface speed"), self.aim, "m/min", "speed", surface),
            Limit.at_most(Message("spindle's highest speed"), high, "rev/min", "speed", rpm),
            Limit.at_least(Message("spindle's lowest speed"), low, "rev/min", "speed", rpm),
            *(() if self.own is None else (
                Limit.at_most(Message("cutter's highest speed"), self.own.high, "rev/min", "speed",
                              rpm),)),
        )

    def spindle_limits(self, rpm: float, governs: Governs, torque: float, power: float,
                       overload: float = 1.0) -> tuple[Limit, Limit]:
        """The limits of the spindle's own torque, N·mm, and power, W, at a speed.

        ``overload`` is how much more torque it has for moments; what cuts all the time has none.
        """
        curve = self.spindle.power
        return (
            Limit.at_most(Message("spindle torque"), overload * torque_at(curve, rpm), "N mm",
                          governs,
                          torque),
            Limit.at_most(Message("spindle power"), power_at(curve, rpm), "W", governs, power))


def choose_speed(material: Material, cutter: Cutter, machine: Machine, diameter: float,
                 share: float, asked: float | None, most: float | None = None,
                 most_name: Message = NOTHING) -> ChosenSpeed:
    """The highest speed allowed where the cutter is ``diameter`` mm across: n = 1000·v/(π·D).

    ``share`` is how much of the material's milling speed this sort of cut may have; ``most`` a
    further bound called ``most_name``. Raises Refused when the spindle has no such speed or the
    material cannot be cut by what the cutter is made of.
    """
    spindle = machine.spindle
    allowed = material.surface_speed.get(cutter.material)
    if allowed is None:
        raise Refused(Fault(
            Message("{stuff} must not cut {title}", stuff=cutter.material, title=material.title),
            Message("take a cutter of {able}", able=either(material.surface_speed))))
    per_turn = pi * diameter / 1000.0
    aim, highest = allowed.value * share, allowed.high * share
    by_metal, governed = aim / per_turn, Message("surface speed")
    own = highest_speed(cutter)
    if own is not None and (most is None or own.value < most):
        most, most_name = own.value, _own_name(cutter, own)
    if most is not None and most < by_metal:
        by_metal, governed = most, most_name
    _not_faster(cutter, own, spindle, asked)
    warnings: list[Message] = []
    if asked is not None:
        if not spindle.lowest <= asked <= spindle.highest:
            raise Refused(Fault(
                Message("the speed of {asked:g} rev/min is not one of this spindle", asked=asked),
                Message("it turns from {lowest:g} to {highest:g} rev/min", lowest=spindle.lowest,
                        highest=spindle.highest)))
        rpm, governed = asked, Message("asked")
        if own is not None and asked > own.value:
            warnings.append(Message("the speed asked for is more than this kind of cutter is "
                                    "usually turned at: see that it runs true and does not shake"))
        if asked * per_turn > highest:
            warnings.append(Message("the speed asked for gives {asked:.0f} m/min, more than the "
                                    "{highest:.0f} m/min {title} allows: the edge will not last",
                                    asked=asked * per_turn, highest=highest, title=material.title))
    elif by_metal >= spindle.highest:
        rpm, governed = spindle.highest, Message("spindle's highest speed")
    elif by_metal >= spindle.lowest:
        rpm = by_metal
    elif spindle.lowest * per_turn <= highest:
        rpm, governed = spindle.lowest, Message("spindle's lowest speed")
    else:
        raise _too_fast(material, cutter, spindle, diameter, highest)
    if asked is None:
        stepped = floor(rpm / spindle.speed_step + 1e-9) * spindle.speed_step
        rpm = min(max(stepped, spindle.lowest), spindle.highest)
    surface = rpm * per_turn
    low = allowed.low * share
    if surface < 0.5 * low and governed != most_name:
        warnings.append(Message("{surface:.0f} m/min is far below the usual {low:.0f} m/min: the "
                                "spindle, not the metal, limits; a burr or a built-up edge may "
                                "come", surface=surface, low=low))
    return ChosenSpeed(rpm, governed, aim, per_turn, spindle, own, tuple(warnings))


def _own_name(cutter: Cutter, own: Quantity) -> Message:
    """What a cutter's highest speed comes from."""
    return Message("cutter's balance") if own == balance_speed(cutter) else Message(
        "cutter's highest speed")


def _too_fast(material: Material, cutter: Cutter, spindle: Spindle, diameter: float,
              highest: float) -> Refused:
    """Even the spindle's lowest speed is more than the ``highest`` m/min the metal allows."""
    most = no_more(highest * 1000.0 / (pi * spindle.lowest), 0.01)
    return Refused(Fault(
        Message("surface speed: even the spindle's lowest speed of {lowest:g} rev/min gives "
                "{surface:.0f} m/min on {diameter:.3g} mm; {title} allows {highest:.0f} m/min with "
                "{stuff}", lowest=spindle.lowest, surface=spindle.lowest * pi * diameter / 1000.0,
                diameter=diameter, title=material.title, highest=highest, stuff=cutter.material),
        Message("take a cutter of at most {most} mm, a slower spindle, or a carbide cutter",
                most=most) if cutter.material == "hss"
        else Message("take a cutter of at most {most} mm, or a slower spindle", most=most),
        hangs_on=("spindle.lowest",)))


def _not_faster(cutter: Cutter, own: Quantity | None, spindle: Spindle,
                asked: float | None) -> None:
    """Raises Refused where a cutter would have to turn faster than its kind ever is."""
    if own is None or (asked or spindle.lowest) <= own.high:
        return
    if asked is not None:
        what = Message("the speed of {asked:g} rev/min", asked=asked)
        remedy = Message("ask for {most:g} rev/min or less", most=floor(own.value))
    else:
        what = Message("even the spindle's lowest speed of {lowest:g} rev/min",
                       lowest=spindle.lowest)
        remedy = Message("take a slower spindle")
    raise Refused(Fault(
        Message("cutter's highest speed: {what} is more than the {kind} bears; {bound}", what=what,
                kind=cutter.kind, bound=(
                    Message("its own word says {most:g} rev/min at most", most=own.high)
                    if own.own else
                    Message("set out so far it shakes the spindle above {most:g} rev/min",
                            most=floor(own.high))
                    if own == balance_speed(cutter) else
                    Message("common practice turns it at {most:g} rev/min at most",
                            most=own.high))),
        remedy if own.own else Message(
            "{remedy}, or say highest-speed: as on its maker's sheet", remedy=remedy),
        hangs_on=("spindle.lowest",) if asked is None else ()))


def plain_sense(width: float | None, depth: float | None, diameter: float) -> list[Fault]:
    """Faults of plain sense in the width, depth and diameter asked for, mm."""
    faults: list[Fault] = []
    if width is not None and not 0.0 < width <= diameter:
        faults.append(Fault(
            Message("a width of {width:g} mm cannot be cut by a cutter of {diameter:g} mm",
                    width=width, diameter=diameter),
            Message("more than 0 and at most {diameter:g} mm", diameter=diameter)))
    if depth is not None and not 0.0 < depth < float("inf"):
        faults.append(Fault(Message("a depth of {depth:g} mm cannot be cut", depth=depth),
                            Message("more than 0")))
    return faults


def feed_beyond(axes: float, feed: float) -> Fault:
    """The fault for a feed asked for, mm/min, that is more than the ``axes`` go."""
    return Fault(
        Message("the axes do not go faster than {axes:g} mm/min, the feed asked for is {feed:g}",
                axes=axes, feed=feed), Message("ask for less"))


def plunge_beyond(axis: float, feed: float) -> Fault:
    """The fault for a feed asked for, mm/min, that is more than the Z ``axis`` goes."""
    return Fault(
        Message("the Z axis does not go faster than {axis:g} mm/min, the feed asked for is "
                "{feed:g}", axis=axis, feed=feed), Message("ask for less"))


def allowed_depth(cutter: Cutter, machine: Machine) -> float:
    """The least depth worth cutting, mm: what the machine can set and the cutter can feel."""
    return max(rule("least-depth-share").value * cutter.diameter, 2.0 * machine.z.increment)


def slowed_or_thinner(chip: float, rpm: float, lowest: float, highest: float, governed: Message,
                      axis_feed: float, teeth: int,
                      chip_for: Callable[[float], tuple[float, Message]], least: float,
                      may_slow: bool) -> tuple[float, Message, float, bool]:
    """The chip that gives the fastest feed a fixed depth allows, and the speed for it.

    ``chip_for`` gives the greatest chip load at a speed and the limit's name. Where the spindle's
    power or torque is short, a slower speed can give more feed: the speeds of a fixed ladder from
    lowest to highest are tried, and ``rpm`` itself. The ladder does not depend on the material, so
    loosening any limit only adds to what is tried. A speed at which the chip is under ``least``,
    and rubs, is no choice. Returns chip load, limit's name, speed, and whether it was slowed; chips
    in mm, speeds in rev/min.
    """
    allowed, name = chip_for(rpm)
    if allowed >= chip:
        return chip, governed, rpm, False
    if not name.startswith("spindle") or not may_slow:
        return allowed, name, rpm, False
    best = (0.0, allowed, name, rpm)
    steps = 48
    for step in range(steps + 1):
        at = min(lowest * (highest / lowest) ** (step / steps), max(rpm, lowest))
        able, why = min((chip, governed), chip_for(at), (axis_feed / (at * teeth),
                                                         Message("axis feed")))
        if able >= least and at * teeth * able > best[0]:
            best = (at * teeth * able, able, why if why != governed else name, at)
        if at >= rpm:
            break
    _, able, why, at = best
    return able, why, at, True


def going_down(feed: float, rpm: float, teeth: int, least_chip: float, machine: Machine,
               warnings: list[Message]) -> tuple[float, float, float]:
    """Plunge feed, ramp feed mm/min and ramp angle in degrees.

    Slow enough for the end of the cutter, fast enough that its edges cut and do not heat up by
    rubbing; the Z axis's own limit comes last.
    """
    plunge = max(feed * rule("slow-plunge").value, rpm * teeth * least_chip)
    plunge = min(plunge, feed, machine.z.feed_limit)
    if plunge < rpm * teeth * least_chip * (1.0 - 1e-9):
        warnings.append(Message("straight down the edges rub and heat at this speed: ramp in, or "
                                "go down in a drilled hole"))
    angle = rule("steep-ramp").value
    ramp = min(feed, machine.z.feed_limit / sin(in_radians(angle)))
    return plunge, ramp, angle


_HELP = {
    "deflection": Message("a shorter stick-out, a larger cutter, less width or less depth"),
    "bending stress": Message("a shorter stick-out, a larger cutter, less width or less depth"),
    "bending at the point": Message("a wider tip (tip: as measured, where it is not given), or a "
                                    "wider angle"),
    "torsion": Message("a larger cutter, less depth, or a tougher one"),
    "thrust": Message("a shorter drill, a larger one, or a sharper point"),
    "spindle torque": Message("less depth or width, a smaller cutter, or a spindle with more "
                              "torque"),
    "spindle power": Message("less depth or width, a smaller cutter, or a stronger spindle"),
    "axis feed": Message("a slower spindle, fewer flutes or a sharper cutter"),
}

_FEEDS = ("x.feed-limit", "y.feed-limit", "z.feed-limit")
# The words of a machine file that a limit is of.
_OF_MACHINE = {
    "spindle torque": ("spindle.power",), "spindle power": ("spindle.power",),
    "axis feed": _FEEDS,
}


def too_weak(name: Message, depth: float, chip: float, least: float, cutter: Cutter) -> Fault:
    """The fault for a load that cannot be met even by the least chip; chips in mm a tooth."""
    return Fault(
        Message("{name}: at a depth of {depth:.3g} mm the {kind} of {diameter:g} mm can take no "
                "chip that cuts: {chip:.2g} µm a tooth is allowed, {least:.2g} µm are needed",
                name=name, depth=depth, kind=cutter.kind, diameter=cutter.diameter,
                chip=chip * 1000, least=least * 1000),
        _HELP.get(name, Message("a larger or shorter cutter")),
        hangs_on=_OF_MACHINE.get(name, ()))
