"""Whether the teeth asked for can be cut: passes, trial spaces, and what the cutter would reach."""

import math
from dataclasses import replace

from camgen.faults import Fault, Refused, no_more
from camgen.layout import ToothLayout, place_of
from camgen.messages import Message
from camgen.shop.cutters.records import Ability, record_of
from camgen.shop.machine import Arrangement
from camgen.steps.cuts import overhang
from camgen.steps.head.around_stack import Sweep, chord_reach, standing_faults
from camgen.steps.head.arrangement import Frame, milling_sense, sense_seen
from camgen.steps.head.cut_teeth_words import (
    OVERHANG,
    RUN_OUT,
    CutTeeth,
    along_start,
    clockwise_of,
    depth_with_correction,
)
from camgen.steps.head.in_ways import way_faults
from camgen.steps.head.last_cut import measured_faults
from camgen.steps.head.roughing import rough_faults
from camgen.steps.kind import SENSES, TURNS, HeadBench

__all__ = ["check"]

# A cutter whose flanks differ by so much at one height, mm, is not put on the other way round.
UNEVEN = 0.001


def _need(bench: HeadBench, words: CutTeeth) -> list[Fault]:
    """A fault unless the cutter can form the spaces, or rough them where that is asked for."""
    faults = bench.need()
    if not faults or not record_of(bench.cutter).can(Ability.ROUGH_SPACES):
        return faults
    return [replace(fault, remedy=Message(
        "{kinds}; or, to rough the spaces for a form cutter, add leave:", kinds=fault.remedy))
        for fault in faults]


def check(bench: HeadBench, words: CutTeeth) -> list[Fault]:
    """Faults seen without planning."""
    faults = [*_need(bench, words), *way_faults(bench), *rough_faults(bench),
              *_milling_faults(bench, words)]
    layout, radius = bench.layout, bench.cutter.diameter / 2
    depth = depth_with_correction(bench, words)
    spaces, first, last = len(layout.spaces), layout.spaces[0], layout.spaces[-1]
    if words.trial_spaces >= spaces:
        faults.append(
            Fault(
                Message("{trial} trial spaces of {spaces} leave nothing to correct",
                        trial=words.trial_spaces, spaces=spaces),
                Message("two or three are enough to measure one tooth"),
                bench.place("trial-spaces"),
            )
        )
    hangs = overhang(layout.tooth)
    if hangs > OVERHANG:
        faults.append(
            Fault(
                Message("the teeth hang {hangs:.3f} mm over their spaces: a disc that comes along "
                        "the arbor passes every lesser depth on its way and takes so much off "
                        "their tips", hangs=hangs),
                Message("give the teeth radial fronts: `front: 0`"),
                bench.place("cutter"),
            )
        )
    if words.trial_short is not None and not words.trial_spaces:
        faults.append(
            Fault(
                Message("no trial spaces are asked for that could be cut short"),
                Message("`trial-spaces: 3`, or leave `trial-short` out"),
                bench.place("trial-short"),
            )
        )
    if words.trial_short is not None and words.trial_short >= depth:
        faults.append(
            Fault(
                Message("trial spaces {short:g} mm short of {depth:.3f} mm are not cut at all",
                        short=words.trial_short, depth=depth),
                Message("a few hundredths of a millimetre are enough"),
                bench.place("trial-short"),
            )
        )
    elif words.trial_short is not None and words.trial_spaces:
        faults += measured_faults(bench, words.trial_short, depth)
    if words.last_cut is not None and words.passes == 1:
        faults.append(
            Fault(
                Message("one pass has no last cut of its own"),
                Message("`passes: 2`, or leave `last-cut` or `passes` out"),
                bench.place("last-cut"),
            )
        )
    if words.last_cut is not None and words.last_cut >= depth:
        faults.append(
            Fault(
                Message("a last cut of {last:g} mm is the whole depth, {depth:.3f} mm",
                        last=words.last_cut, depth=depth),
                Message("a smaller `last-cut`"),
                bench.place("last-cut"),
            )
        )
    if bench.from_space is not None and not first <= bench.from_space <= last:
        faults.append(
            Fault(
                Message("there is no space {space}: they are counted from {first} to {last}",
                        space=bench.from_space, first=first, last=last),
                Message("give the space that was being cut when the work stopped"),
            )
        )
    if depth <= 0 or depth >= radius:
        faults.append(
            Fault(
                Message("a depth of {depth:.3f} mm cannot be cut by a cutter of {diameter:g} mm",
                        depth=depth, diameter=2 * radius),
                Message("look at the cutter's diameter and `depth-correction`"),
                bench.place("cutter"),
            )
        )
        return faults
    return faults + _reach_faults(bench, layout, radius, depth)


def _reach_faults(
    bench: HeadBench, layout: ToothLayout, radius: float, depth: float
) -> list[Fault]:
    """The cutter must touch nothing but blanks and backing."""
    faults: list[Fault] = []
    tip = layout.tooth.sizes.tip_diameter / 2
    over_arbor = depth - (tip - layout.arbor_radius)
    # Over what is thicker than the disc is high it reaches with its whole radius.
    over = radius if over_arbor >= radius else chord_reach(max(over_arbor, 0.0), radius)
    reach = layout.stack_to + RUN_OUT + over if over_arbor > 0 else 0.0
    if reach + layout.clearance > layout.backing_to and not layout.behind:
        need = reach + layout.clearance - layout.stack_to
        faults.append(
            Fault(
                Message("the cutter needs {need:.2f} mm behind the blanks to run out, and has "
                        "{backing:g} mm of backing; behind that stands something {wide:g} mm in "
                        "diameter", need=need, backing=layout.backing_to - layout.stack_to,
                        wide=2 * layout.arbor_radius),
                Message("`backing: {backing:g}`, or say under `arbor` that nothing behind is "
                        "larger than {most} mm", backing=math.ceil(need * 10) / 10,
                        most=no_more(2 * (tip - depth - 0.05), 0.01)),
                place_of(bench.job, bench.setup, "dividing"),
            )
        )
    frame = Frame(layout, radius)
    faults += standing_faults(bench, Sweep(radius, along_start(frame, depth),
                                           layout.stack_to + RUN_OUT, tip - depth))
    collar = bench.cutter.arbor
    outside = frame.outside
    if collar is not None and radius - collar / 2 < depth + outside + layout.clearance:
        away = radius - collar / 2 - depth - outside
        told = (Message("would come to {away:.2f} mm from the blank", away=away) if away > 0 else
                Message("would touch the blank"))
        wide = 2 * (radius - depth - outside - layout.clearance)
        faults.append(
            Fault(
                Message("the cutter's collar of {collar:g} mm {told} at a depth of {depth:.3f} mm, "
                        "and shall be {clearance:g} mm clear", collar=collar, told=told,
                        depth=depth, clearance=layout.clearance),
                Message("arbor: {most} with the cutter, or a larger cutter",
                        most=no_more(wide, 0.01)) if wide > 0 else Message("a larger cutter"),
                bench.place("cutter"),
            )
        )
    return faults


def _milling_faults(bench: HeadBench, words: CutTeeth) -> list[Fault]:
    """Milling asked for that cannot be had, and what must change."""
    asked, layout, arrangement = words.milling, bench.layout, bench.layout.arrangement
    if asked is None:
        return []
    if arrangement.across != "Z":
        climbs = {side: sense_seen(arrangement, True, f"{side}{arrangement.across}")
                  for side in "+-"}
        turned = {side: "clockwise" if sense == asked else "anticlockwise"
                  for side, sense in climbs.items()}
        return [Fault(
            Message("on which side of the work the spindle lies along {across} is not known, so "
                    "neither is which way the cutter turns in the metal",
                    across=arrangement.across),
            Message("leave `milling` out; {asked} milling is spindle: {plus} where the spindle is "
                    "on the +{across} side of the work, spindle: {minus} where it is on the "
                    "-{across} side", asked=SENSES[asked], plus=turned["+"], minus=turned["-"],
                    across=arrangement.across), bench.place("milling"))]
    clockwise = clockwise_of(layout, words)
    turn = "clockwise" if clockwise else "anticlockwise"
    back = "anticlockwise" if clockwise else "clockwise"
    if milling_sense(layout, clockwise) != asked:
        return [Fault(
            Message("with the spindle {turn} the cutter does not mill as asked: {asked}",
                    turn=TURNS[turn], asked=SENSES[asked]),
            Message("leave `spindle` out or write spindle: {back}; or {otherwise}", back=back,
                    otherwise=_stand_otherwise(arrangement))
            if back in bench.machine.spindle.senses else _stand_otherwise(arrangement),
            bench.place("spindle"))]
    if turn not in bench.machine.spindle.senses:
        return [Fault(
            Message("{asked} milling wants the spindle {turn}, and that of {name} does not turn so",
                    asked=SENSES[asked], turn=TURNS[turn], name=bench.machine.name),
            _stand_otherwise(arrangement), bench.place("milling"))]
    if "spindle" not in words.model_fields_set and not clockwise and _uneven(bench):
        return [Fault(
            Message("{asked} milling wants the spindle anticlockwise, and a cutter whose two "
                    "flanks differ cannot be put on the other way round", asked=SENSES[asked]),
            Message("write spindle: anticlockwise where the cutter is made for that sense; or "
                    "{otherwise}", otherwise=_stand_otherwise(arrangement)),
            bench.place("milling"))]
    return []


def _stand_otherwise(arrangement: Arrangement) -> Message:
    return Message("let the head stand otherwise: infeed: {infeed}, or along: {along}",
                   infeed=_other_way(arrangement.infeed), along=_other_way(arrangement.along))


def _other_way(axis: str) -> str:
    return ("-" if axis[0] == "+" else "+") + axis[1]


def _uneven(bench: HeadBench) -> bool:
    try:
        space = bench.cutter.cut_space()
    except Refused:
        return False  # told where the cutter is looked at
    return space is not None and space.uneven > UNEVEN
