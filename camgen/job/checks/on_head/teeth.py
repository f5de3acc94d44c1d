"""Whether a toothed part can be of its sizes, and whether its cutters were made for such teeth."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from camgen.faults import Fault, Refused, no_more
from camgen.job.checks.bench import CheckBench, moved
from camgen.job.checks.hub import hub_faults
from camgen.job.checks.on_head.as_cut_instead import MOST_OFF, as_cut_would_be
from camgen.messages import Message
from camgen.part.wheels.crossing import Crossing, RoundCrossing
from camgen.part.wheels.wheel import Wheel
from camgen.shop.cutters import Cutter, GroundChart, MadeFor
from camgen.teeth.cut.bought import BEYOND
from camgen.tolerances import AREA_CHORD, LEAST_INCREMENT

__all__ = ["made_for_faults", "size_faults"]

# A trace as wide as a space within this is of such a cutter; else its scale or units are wrong.
LIKE_A_SPACE = 1.6
# And what it may be let differ at least, mm: what is drawn is no truer.
LEAST_OFF = 0.0005
# What tooth and space together differ by and nobody sees under a glass, mm. Common practice, no
# source.
UNSEEN = 0.005


def size_faults(bench: CheckBench) -> Iterator[Fault]:
    """Bore, depth and crossing against what the teeth leave of the part."""
    sizes, bore = bench.tooth.sizes, bench.part.bore
    if bore >= sizes.root_diameter:
        yield Fault(Message("bore {bore:g} mm is not smaller than the root diameter, "
                            "{root_diameter:.3f} mm", bore=bore, root_diameter=sizes.root_diameter),
                    Message("look at bore, teeth and module"), bench.place(bench.part.word, "bore"))
    wheel = bench.part
    if not isinstance(wheel, Wheel):
        return
    deep = wheel.depth_said
    if deep is not None and deep >= sizes.tip_diameter / 4:
        yield Fault(Message("teeth {deep:g} mm deep on a wheel of {tip_diameter:.3f} mm", deep=deep,
                            tip_diameter=sizes.tip_diameter),
                    Message("less than a quarter of the tip diameter"),
                    bench.place("wheel", "depth"))
    if wheel.round_crossing is not None:
        if wheel.crossing is not None:
            yield Fault(Message("a wheel with crossing and round-crossing"),
                        Message("leave one of them out"), bench.place("wheel", "round-crossing"))
        yield from _round(bench, wheel, wheel.round_crossing)
    if wheel.crossing is not None:
        yield from _crossing(bench, wheel.crossing, wheel.bore)
        yield from _thin(bench, wheel, wheel.crossing)
    if bore < sizes.root_diameter:
        yield from hub_faults(bench, wheel)


def _crossing(bench: CheckBench, crossing: Crossing, bore: float) -> Iterator[Fault]:
    at = ("wheel", "crossing")
    inner = bench.tooth.sizes.root_diameter - 2 * crossing.rim
    if bore >= crossing.hub:
        yield Fault(Message("bore {bore:g} mm is larger than the hub, {hub:g} mm", bore=bore,
                            hub=crossing.hub) if bore > crossing.hub
                    else Message("bore and hub are both {bore:g} mm", bore=bore),
                    Message("a larger hub, or a smaller bore"), bench.place("wheel", "bore"))
    if inner <= 0:
        yield Fault(Message("a rim {rim:g} mm wide fills the whole wheel", rim=crossing.rim),
                    Message("its width counts from the root of the teeth inwards"),
                    bench.place(*at, "rim"))
        return
    if inner <= crossing.hub:
        yield Fault(Message("the hub, {hub:g} mm, meets the rim, which is {inner:.3f} mm in "
                            "diameter inside", hub=crossing.hub, inner=inner),
                    Message("a smaller hub or a narrower rim"), bench.place(*at, "hub"))
        return
    at_hub = crossing.width_at_hub
    room = crossing.hub * math.sin(math.pi / crossing.arms)
    if at_hub >= room:
        yield Fault(Message("{arms} arms {at_hub:g} mm wide meet before they reach the hub: each "
                            "has {room:.2f} mm there", arms=crossing.arms, at_hub=at_hub,
                            room=room), Message("narrower or fewer arms, or a larger hub"),
                    bench.place(*at, "arm" if crossing.arm_at_hub is None else "arm-at-hub"))
        return
    try:
        crossing.openings(bench.tooth.sizes.root_diameter)
    except Refused as no:
        yield from moved(no, bench.place(*at))


def _thin(bench: CheckBench, wheel: Wheel, crossing: Crossing) -> Iterator[Fault]:
    """A rim, arms and a ring about the bore thinner than the job lets them be.

    An arm that is tapered is thinnest at its narrower end.
    """
    at = ("wheel", "crossing")
    least = wheel.least_wall
    at_hub = crossing.width_at_hub
    narrow = "arm" if crossing.arm <= at_hub else "arm-at-hub"
    about = (crossing.hub - wheel.bore) / 2
    for what, size, wanted, word in (
        (Message("an arm"), min(crossing.arm, at_hub), least, narrow),
        (Message("the rim"), crossing.rim, least, "rim"),
        (Message("the ring between bore and hub"), about, wheel.bore + 2 * least, "hub"),
    ):
        if 0 < size < least - LEAST_INCREMENT:
            yield Fault(Message("{what} of {size:.3g} mm is thinner than a wall may be, {least:g} "
                                "mm", what=what, size=size, least=least),
                        Message("{word}: {wanted:g} or more; or least-wall: {most} in the wheel "
                                "where it is meant", word=word, wanted=wanted,
                                most=no_more(size)), bench.place(*at, word))


def _round(bench: CheckBench, wheel: Wheel, crossing: RoundCrossing) -> Iterator[Fault]:
    """What stands beside round openings: to the teeth, to the bore, and from one to the next."""
    at = ("wheel", crossing.word, "diameter")
    least, root = wheel.least_wall, bench.tooth.sizes.root_diameter
    wide, around = crossing.diameter, crossing.around
    apart = around * math.sin(math.pi / crossing.circles)
    for what, size, most in (
        (Message("the rim"), (root - around - wide) / 2, root - around - 2 * least),
        (Message("the ring between bore and openings"), (around - wide - wheel.bore) / 2,
         around - wheel.bore - 2 * least),
        (Message("what stands between two openings"), apart - wide, apart - least),
    ):
        if size >= least - LEAST_INCREMENT and size > 0:
            continue
        message = (Message("{what} of {size:.3g} mm is thinner than a wall may be, {least:g} mm",
                           what=what, size=size, least=least) if size > 0 else
                   Message("{what} is cut through: it would be {size:.3g} mm wide", what=what,
                           size=size))
        remedy = (Message("diameter: {most} or less, or another circle", most=no_more(most))
                  if most > LEAST_INCREMENT else
                  Message("another circle: around is the diameter on which the middles lie"))
        yield Fault(message, remedy, bench.place(*at))


def made_for_faults(bench: CheckBench) -> Iterator[Fault]:
    """Cutters of teeth that were made for another form or module than the job's."""
    yield from _tolerance(bench)
    for name, cutter in bench.job.cutters.items():
        if not _cuts_teeth(bench, name):
            continue
        if cutter.made_for is not None:
            yield from _made_for(bench, name, cutter)
        elif cutter.bought is not None:
            yield from _bought(bench, name, cutter)
    mates = bench.job.cutters.get(bench.part.mate_cutter or "")
    if mates is not None:
        yield from _mates(bench, mates)


def _tolerance(bench: CheckBench) -> Iterator[Fault]:
    said, most = bench.part.form_tolerance, MOST_OFF * bench.part.module
    place = bench.place(bench.part.word, "form-tolerance")
    if said is None:
        return
    if bench.part.is_as_cut:
        yield Fault(Message("form-tolerance says how far teeth may be from their form, and tooth: "
                            "as-cut that they have none but their cutter's"),
                    Message("leave one of them out"), place)
    elif said > most + 1e-9:
        yield Fault(Message("a form-tolerance of {said:g} mm is more than a tooth of module "
                            "{module:g} bears", said=said, module=bench.part.module),
                    Message("{most} or less; where the cutter is farther off, tooth: as-cut takes "
                            "the sizes from it", most=no_more(most)), place)
    elif said < LEAST_OFF:
        yield Fault(Message("a form-tolerance of {said:g} mm is finer than anything is measured",
                            said=said), Message("{least:g} or more", least=LEAST_OFF), place)


def _bought(bench: CheckBench, name: str, cutter: Cutter) -> Iterator[Fault]:
    """A bought cutter for another kind of teeth or module, or of a trace that is no such space."""
    at, part, ground = ("cutters", name), bench.part, cutter.ground
    if ground is not None:
        yield from _ground(bench, name, ground, part.module, pinion=part.word == "pinion")
    try:
        line = cutter.cut_space()
    except Refused:
        return  # told where the cutter itself is looked at
    assert line is not None
    if cutter.profile is not None:
        wide = line.width_at(bench.tooth.sizes.dedendum)
        usual = math.pi * part.module / 2
        if not usual / LIKE_A_SPACE < wide < usual * LIKE_A_SPACE:
            yield Fault(Message("the profile of {name} is {wide:.3g} mm wide where a space of "
                                "module {module:g} is about {usual:.3f} mm", name=name, wide=wide,
                                module=part.module, usual=usual),
                        Message("look at scale and units of the trace, and at the module"),
                        bench.place(*at, "profile"))
            return
    deep = bench.tooth.sizes.whole_depth
    known = line.known_high
    if known < (1.0 - BEYOND) * deep and not bench.part.is_as_cut:
        yield Fault(Message("the profile of {name} is known {known:.3f} mm high, and the space is "
                            "{deep:.3f} mm deep", name=name, known=known, deep=deep),
                    as_cut_would_be(part, cutter), bench.place(*at, cutter.said_as))
    if cutter.thickness is not None and cutter.thickness < line.width:
        yield Fault(Message("{name} is {thickness:g} mm thick and the space it leaves "
                            "{width:.3f} mm wide", name=name, thickness=cutter.thickness,
                            width=line.width),
                    Message("look at its thickness and at {word}", word=cutter.said_as),
                    bench.place(*at, "thickness"))


def _unseen(one: float, other: float) -> bool:
    """Whether modules differ by so little that no eye sees it on the teeth."""
    return math.pi * abs(one - other) <= UNSEEN


def _ground(
    bench: CheckBench, name: str, ground: GroundChart, module: float, *, pinion: bool
) -> Iterator[Fault]:
    at, as_cut = ("cutters", name, "ground"), bench.part.is_as_cut
    if not math.isclose(ground.module, module, rel_tol=1e-6) and not (
            as_cut and _unseen(ground.module, module)):
        yield Fault(Message("{name} is ground for module {module:g}, the job's is "
                            "{other_module:g}", name=name, module=ground.module,
                            other_module=module),
                    Message("write module: {module:g} with the {word}, which is then {pitch:.3f} "
                            "mm over the pitch circle; or take a cutter of its own module",
                            module=ground.module, word=bench.part.word,
                            pitch=ground.module * bench.part.count) if as_cut else
                    Message("another number of teeth only changes the form a little; another "
                            "module is another tooth"), bench.place(*at, "module"))
    if ground.is_pinion != pinion:
        yield Fault(Message("{name} is a pinion cutter, and cuts a wheel here", name=name)
                    if ground.is_pinion else
                    Message("{name} is a wheel cutter, and cuts a pinion here", name=name),
                    Message("take another cutter; of pinion cutters leaves is said, of wheel "
                            "cutters addendum and depth"), bench.place(*at))


def _mates(bench: CheckBench, cutter: Cutter) -> Iterator[Fault]:
    """A cutter that the mate cannot have been cut with."""
    name, part = bench.part.mate_cutter or "", bench.part
    if cutter.ground is not None:
        yield from _ground(bench, name, cutter.ground, part.module, pinion=part.word != "pinion")
    made = cutter.made_for
    if made is not None and not math.isclose(made.module, part.module, rel_tol=1e-6):
        yield Fault(Message("{name} was made for module {module:g}, the job's is {other_module:g}",
                            name=name, module=made.module, other_module=part.module),
                    Message("another number of teeth only changes the form a little; another "
                            "module is another tooth"),
                    bench.place("cutters", name, "made-for", "module"))


def _cuts_teeth(bench: CheckBench, name: str) -> bool:
    """Whether teeth have the form of a cutter; one that only roughs them may have any other."""
    return any(step.cutter == name and step.declares().forms_spaces
               for setup in bench.job.on_head for step in setup.steps)


def _made_for(bench: CheckBench, name: str, cutter: Cutter) -> Iterator[Fault]:
    """A cutter for another number of teeth may serve; its error of form is measured later."""
    made = cutter.made_for
    assert made is not None
    at = ("cutters", name, "made-for")
    part = bench.part
    if made.form != part.space_form:
        yield Fault(Message("{name} was made for {form} teeth, the job's are {space_form}",
                            name=name, form=made.form, space_form=part.space_form),
                    Message("take another cutter, or look at the form of the part"),
                    bench.place(*at, "form"))
    if not math.isclose(made.module, part.module, rel_tol=1e-6) and not (
            part.is_as_cut and _unseen(made.module, part.module)):
        yield Fault(Message("{name} was made for module {module:g}, the job's is {other_module:g}",
                            name=name, module=made.module, other_module=part.module),
                    Message("another number of teeth only changes the form a little; another "
                            "module is another tooth"), bench.place(*at, "module"))
    if cutter.thickness is not None:
        yield from _disc(bench, name, cutter.thickness, made)


def _disc(bench: CheckBench, name: str, thickness: float, made: MadeFor) -> Iterator[Fault]:
    """A disc must be thicker than the widest of the space that is ground on it."""
    try:
        space = made.tooth().space(AREA_CHORD)
    except Refused as no:
        yield from moved(no, bench.place("cutters", name, "made-for"))
        return
    width = float(np.ptp(space[:, 1]))
    if thickness < width:
        yield Fault(Message("{name} is {thickness:g} mm thick and the space it was made for "
                            "{width:.3f} mm wide", name=name, thickness=thickness, width=width),
                    Message("look at its thickness and at made-for"),
                    bench.place("cutters", name, "thickness"))
