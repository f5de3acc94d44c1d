"""Steps that cut the spaces of one form of teeth in several ways, each with its own cutter.

Lengths mm, angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely
from shapely import Polygon

from camgen.faults import Fault, Place
from camgen.layout import place_of
from camgen.layout.approaches import approach_of, stance_of
from camgen.messages import Message
from camgen.steps.kind import HeadBench
from camgen.teeth.cut.bought import CutterSpace, space_beside
from camgen.teeth.cut.in_ways import Came, ways_error
from camgen.teeth.tooth import Approach

__all__ = ["way_faults", "way_remarks", "way_section"]

# What the head cannot be turned to may be off so much at the tips, mm: the least that the form of
# any teeth may be off.
OFF_AT_TIPS = 0.003


def way_section(bench: HeadBench) -> tuple[float, float] | None:
    """What a step takes of a space in a way of its own, mm² in section, and the length of its edge,
    mm; None where that is the space of the teeth's own form.

    All that its cutter passes over counts, whatever was taken before.
    """
    tooth, layout, line = bench.layout.tooth, bench.layout, bench.cutter.cut_space()
    if not tooth.tops or line is None:
        return None
    way = approach_of(layout, bench.words.declares())
    outer = layout.blank_radius + tooth.sizes.whole_depth
    shape = Polygon(line.polygon(way.bottom, outer, way.over))
    inside = shapely.intersection(
        shape, shapely.Point(0.0, 0.0).buffer(layout.blank_radius, quad_segs=256))
    edge = shapely.intersection(shape.exterior, inside).length
    return float(inside.area), float(edge)


def way_faults(bench: HeadBench) -> Iterator[Fault]:
    """What is amiss between a step and the ways that the form of the teeth has."""
    layout, says = bench.layout, bench.words.declares()
    tooth, asked = layout.tooth, says.way_of_spaces or ""
    known = [one.cuts for one in tooth.ways]
    if asked and asked not in known:
        yield Fault(
            Message("the form of these teeth has no cut called {cuts}", cuts=asked),
            Message("cuts: {known}", known=tuple(known)) if len(known) > 1 else
            Message("leave `cuts` out"), bench.place("cuts"))
        return
    if says.roughs_spaces is not None and tooth.approaches:
        yield Fault(
            Message("spaces with an undercut front are not roughed: the cutter that forms them "
                    "goes in along the front"),
            Message("leave this step out, and give the step that forms them more passes"),
            bench.place("leave"))
    if tooth.approaches and bench.cutter.topping:
        yield Fault(
            Message("a topping cutter goes straight in, and these fronts are undercut"),
            Message("leave topping out, and turn the blank to size"),
            Place(path=f"cutters.{bench.words.cutter}.topping"))
    if len(known) > 1 and bench.from_space is not None:
        yield Fault(
            Message("teeth that are cut in {count} ways are not begun again at a space",
                    count=len(known)),
            Message("begin with the whole program: the cutter goes through what is cut"))
    yield from _all_ways(bench, known)
    if len(known) > 1 and layout.zero == "touch" and bench.number == 0:
        yield Fault(
            Message("the second cutter finds no blank to touch: the spaces are cut"),
            Message("`zero: axis`, so that depths count from the axis of the work"),
            place_of(bench.job, bench.setup, "dividing", "zero"))
    if asked:
        yield from _second(bench)


def way_remarks(bench: HeadBench) -> tuple[Message, ...]:
    """How the cutter of a way stands where it does not simply go straight in."""
    layout, says = bench.layout, bench.words.declares()
    if not layout.tooth.approaches:
        return ()
    stance, axis = stance_of(layout, says), layout.arrangement.across
    if not says.way_of_spaces:
        return (Message("{name} goes in along the fronts, set over to {axis}{over:.3f}: the zero "
                        "of {axis} is where its front edge stands at the middle",
                        name=bench.words.cutter, axis=axis, over=stance.across),)
    return (Message("{name} cuts the {cuts}, at {axis}{over:.3f} and with the head turned "
                    "{turned:.3f}° on: the zero of {axis} is where the middle of its thickness "
                    "stands at the middle", name=bench.words.cutter, cuts=says.way_of_spaces,
                    axis=axis, over=stance.across, turned=stance.turned),)


def _all_ways(bench: HeadBench, known: list[str]) -> Iterator[Fault]:
    """Cuts of the form that no step of the setup makes; told once, by the first step."""
    cut = {step.declares().way_of_spaces or known[0] for step in bench.setup.steps
           if step.declares().forms_spaces}
    missing = [one for one in known if one not in cut]
    if missing and bench.number == 0:
        yield Fault(
            Message("no step of this setup cuts the {missing} of the teeth", missing=missing[0]),
            Message("add a step cut-teeth with cuts: {missing} and its own cutter",
                    missing=missing[0]), bench.place())


def _beside(bench: HeadBench, line: CutterSpace, way: Approach) -> Iterator[Fault]:
    """What a cutter takes of the teeth, or leaves on them, where it does all right."""
    tooth, name = bench.layout.tooth, bench.words.cutter
    first = tooth.ways[0]
    cuts = [Came(one, at.turn, at.over, at.bottom)
            for one, at in ((space_beside(tooth), first), (line, way))]
    error = ways_error(tooth, [cuts] * 3, tooth.tip_radius)
    if error.missing > 1000 * OFF_AT_TIPS:
        yield Fault(
            Message("{name}, {width:.3f} mm wide, would cut {off:.1f} µm into the teeth ({where})",
                    name=name, width=line.width, off=error.missing, where=error.missing_where),
            Message("a narrower cutter"), bench.place("cutter"))
    elif error.left > 1000 * OFF_AT_TIPS:
        yield Fault(
            Message("{name} would leave {off:.1f} µm standing on the {cuts} ({where})", name=name,
                    off=error.left, cuts=way.cuts, where=error.left_where),
            Message("a slitting-saw or disc with a flat rim"), bench.place("cutter"))


def _second(bench: HeadBench) -> Iterator[Fault]:
    """A later way: its cutter wide enough, the head turned near enough, no trial spaces."""
    layout, words = bench.layout, bench.words
    way = approach_of(layout, words.declares())
    for word in ("trial_spaces", "trial_short"):
        if word in words.model_fields_set:
            yield Fault(
                Message("{word} is for the step that cuts the space", word=word.replace("_", "-")),
                Message("say it there"), bench.place(word.replace("_", "-")))
    line = bench.cutter.cut_space()
    face = next((one.at for one, cuts in zip(layout.tooth.faces, layout.tooth.ways, strict=True)
                 if cuts.cuts == way.cuts), None)
    if line is None:
        yield Fault(
            Message("{name}: what it leaves is not given", name=words.cutter),
            Message("a slitting-saw with its thickness, or a form cutter with its form"),
            bench.place("cutter"))
    elif face is not None and line.width < abs(face.end - face.start):
        yield Fault(
            Message("{name} is {width:.3f} mm wide, and the face it shall cut at once {long:.3f} "
                    "mm", name=words.cutter, width=line.width, long=abs(face.end - face.start)),
            Message("a wider cutter"), bench.place("cutter"))
    else:
        yield from _beside(bench, line, way)
    meant = way.turn - layout.tooth.ways[0].turn
    off = abs(abs(stance_of(layout, words.declares()).turned) - abs(meant))
    at_tips = math.radians(off) * layout.tooth.tip_radius
    if at_tips > OFF_AT_TIPS:
        yield Fault(
            Message("this head turns by {step:.4f}° at the least, and the {cuts} wants the wheel "
                    "turned by {meant:.3f}°: {off:.4f} mm would be off at the tips",
                    step=layout.turn_step, cuts=way.cuts, meant=meant, off=at_tips),
            Message("a circle with more holes, or a driven head"), bench.place("cuts"))
