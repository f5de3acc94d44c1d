"""Tooth spaces roughed by one cutter and formed by another, in one setup.

Who roughs says by ``leave`` how much he leaves at the roots; how much he leaves on the flanks
follows from his cutter's own form. Lengths mm.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator

from camgen.faults import Fault, Place, Refused, no_less, no_more
from camgen.layout import place_of
from camgen.layout.approaches import stance_of
from camgen.messages import Message
from camgen.shop.cutters import record_of
from camgen.steps.kind import HeadBench
from camgen.teeth.cut.bought import CutterSpace
from camgen.teeth.cut.roughed import Within, straight_slot, taken, within
from camgen.tolerances import AREA_CHORD

__all__ = ["formed_after", "formed_correction", "rough_faults", "rough_remarks", "rough_section",
           "roughed_area", "roughed_before"]

# What chords may feign, mm: less lies beyond nothing.
CHORDS = 0.0005
# By how much what a saw or disc leaves is told to be less than it may be, mm.
LESS = 0.001


def roughed_before(bench: HeadBench) -> list[HeadBench]:
    """The benches of the steps before this one that rough the spaces it cuts."""
    return [one for one in _others(bench)
            if one.number < bench.number and one.words.declares().roughs_spaces is not None]


def formed_after(bench: HeadBench) -> HeadBench | None:
    """The bench of the step that forms what this one roughs; None where none does."""
    return next((one for one in _others(bench) if one.number > bench.number
                 and one.words.declares().forms_spaces), None)


def formed_correction(bench: HeadBench) -> float:
    """What the step that forms the spaces adds to their depth."""
    own = bench.words.declares()
    if own.forms_spaces:
        return own.added("depth")
    after = formed_after(bench)
    return after.words.declares().added("depth") if after is not None else 0.0


def _others(bench: HeadBench) -> Iterator[HeadBench]:
    """All steps of the setup as benches, this one among them."""
    return (dataclasses.replace(bench, number=number) for number in range(len(bench.setup.steps)))


def _depth(bench: HeadBench) -> float:
    """How deep a step cuts the spaces, below the tip circle."""
    whole = stance_of(bench.layout, bench.words.declares()).depth + formed_correction(bench)
    return whole - (bench.words.declares().roughs_spaces or 0.0)


def roughed_area(bench: HeadBench) -> float:
    """What the steps before have taken out of a space that this one cuts, mm² in section.

    Raises Refused where a cutter's form cannot be.
    """
    spaces = [(space, _depth(one)) for one in roughed_before(bench)
              if (space := one.cutter.cut_space()) is not None]
    return taken(bench.layout.tooth, spaces, bench.layout.blank_radius) if spaces else 0.0


def rough_section(bench: HeadBench) -> tuple[float, float]:
    """What a roughing step takes of a space, mm² in section, and the length of its edge, mm."""
    space, layout = bench.cutter.cut_space(), bench.layout
    assert space is not None  # the check saw to it
    area = taken(layout.tooth, [(space, _depth(bench))], layout.blank_radius)
    depth = _depth(bench) + layout.over_tip
    straight = not record_of(bench.cutter).forms
    wide = space.width if straight else area / depth
    return area, wide if straight else 2.0 * float((depth * depth + wide * wide) ** 0.5)


def rough_faults(bench: HeadBench) -> list[Fault]:
    """What is amiss between the steps that rough and the one that forms the spaces."""
    if bench.words.declares().forms_spaces:
        return [*_formed_twice(bench), *_zero_of_two(bench)]
    faults = _belongs_elsewhere(bench)
    after = formed_after(bench)
    if after is None:
        faults.append(Fault(
            Message("the spaces are only roughed: no step after this one forms them"),
            Message("add the step that does, with its form cutter, or leave `leave` out"),
            bench.place("leave")))
        return faults
    if after.words.cutter == bench.words.cutter:
        faults.append(Fault(
            Message("{cutter} both roughs and forms the spaces", cutter=bench.words.cutter),
            Message("one step with `passes` and `order: each-round` does the same; or name "
                    "another cutter"), bench.place("cutter")))
    return [*faults, *_form_faults(bench)]


def _formed_twice(bench: HeadBench) -> list[Fault]:
    own = bench.words.declares().way_of_spaces
    before = next((one for one in _others(bench) if one.number < bench.number
                   and one.words.declares().forms_spaces
                   and one.words.declares().way_of_spaces == own), None)
    if before is None:
        return []
    return [Fault(
        Message("the spaces are cut twice: step {number} forms them already",
                number=before.number + 1),
        Message("say by `leave: 0.1` in the step that roughs them how much it leaves at their "
                "roots, or leave one of the two out"), bench.place("cutter"))]


def _cut_before(bench: HeadBench) -> bool:
    """Whether another cutter was at the spaces before."""
    return any(one.number < bench.number and one.words.cutter != bench.words.cutter
               and one.words.declares().way_of_spaces is not None for one in _others(bench))


def _zero_of_two(bench: HeadBench) -> list[Fault]:
    """Two discs are never alike: where no stop is made for their zeros, one must serve both."""
    if not _cut_before(bench) or bench.machine.offsets.length != "table":
        return []
    layout, faults = bench.layout, []
    if layout.zero == "touch":
        faults.append(Fault(
            Message("the zero of {axis} is set by touching with the first cutter, and {name} goes "
                    "on to the second without a stop for its own", axis=layout.infeed[1],
                    name=bench.machine.name),
            Message("`zero: axis`, so that it counts from the axis of the work"),
            place_of(bench.job, bench.setup, "dividing", "zero")))
    if layout.arrangement.across != "Z":
        faults.append(Fault(
            Message("two cutters never stand at the same centre height, and {name} has a length "
                    "for each along Z alone, not along {axis}", name=bench.machine.name,
                    axis=layout.arrangement.across),
            Message("an arrangement with `across: Z`, or `length: touch-off` under offsets in the "
                    "machine file"), bench.place("cutter")))
    return faults


def _belongs_elsewhere(bench: HeadBench) -> list[Fault]:
    """Words that mean something for finished teeth alone."""
    typed = bench.words.model_fields_set
    return [
        Fault(Message("{word} is for the step that forms the teeth, and this one roughs them",
                      word=word.replace("_", "-")),
              Message("say it there, or leave `leave` out"), bench.place(word.replace("_", "-")))
        for word in ("trial_spaces", "trial_short", "depth_correction") if word in typed
    ]


def _form_faults(bench: HeadBench) -> Iterator[Fault]:
    """The cutter takes metal of the teeth, or nothing that is still there."""
    layout, cutter, name = bench.layout, bench.cutter, bench.words.cutter
    leave, depth = bench.words.declares().roughs_spaces or 0.0, _depth(bench)
    if depth <= 0:
        yield Fault(
            Message("a step that leaves {leave:g} mm of {whole:.3f} mm cuts nothing", leave=leave,
                    whole=depth + leave), Message("a smaller `leave`"), bench.place("leave"))
        return
    if not record_of(cutter).forms and cutter.thickness is None:
        yield Fault(Message("{name}: how wide a slot it cuts is not said", name=name),
                    Message("add thickness: to the cutter"),
                    Place(path=f"cutters.{name}"))
        return
    try:
        space = bench.cutter.cut_space()
    except Refused as no:
        yield from no.faults
        return
    if space is None:
        return  # told where the cutter is looked at
    found = _within(bench, space, depth)
    if found.beyond > CHORDS:
        yield Fault(
            Message("{name} would cut {beyond:.1f} µm into the teeth, at radius {radius:.3f} mm",
                    name=name, beyond=1000 * found.beyond, radius=found.radius),
            _remedy(bench, space, depth, leave), bench.place("leave"))
    before = [(other, _depth(one)) for one in roughed_before(bench)
              if (other := one.cutter.cut_space()) is not None]
    if before:
        tooth, radius = layout.tooth, layout.blank_radius
        more = (taken(tooth, [*before, (space, depth)], radius) - taken(tooth, before, radius))
        if more <= AREA_CHORD * depth:
            yield Fault(
                Message("{name} finds nothing left to cut: what roughed before it took more",
                        name=name), Message("leave the step out, or put it first"), bench.place())


def _within(bench: HeadBench, space: CutterSpace, depth: float) -> Within:
    layout = bench.layout
    return within(layout.tooth, space, depth, layout.blank_radius,
                  correction=formed_correction(bench))


def _remedy(bench: HeadBench, space: CutterSpace, depth: float, leave: float) -> Message:
    """The least that must be left, or the widest saw, that keeps within the teeth's form."""
    whole = depth + leave
    good = _most(lambda share: _within(bench, space, share * whole).beyond <= CHORDS / 2)
    narrower = Message("take a narrower cutter")
    if not record_of(bench.cutter).forms:
        width = space.width
        share = _most(lambda share: _within(bench, straight_slot(share * width), depth).beyond
                      <= CHORDS / 2)
        if share * width >= 0.02:
            narrower = Message("a saw {most} mm thick or less",
                               most=no_more(share * width - LESS, 0.001))
    if good * whole < 0.1 * whole:
        return narrower
    return Message("leave: {least} or more; or {narrower}",
                   least=no_less((1.0 - good) * whole + LESS), narrower=narrower)


def _most(holds: Callable[[float], bool]) -> float:
    """The largest share for which something holds that holds below it; 0 where it never does."""
    low, high = 0.0, 1.0
    for _ in range(12):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def rough_remarks(bench: HeadBench) -> tuple[Message, ...]:
    """What a roughing step leaves, and for whom; and how the next cutter's zero is found."""
    if bench.words.declares().forms_spaces:
        return _zero_remarks(bench)
    after, space = formed_after(bench), bench.cutter.cut_space()
    if after is None or space is None:
        return ()
    room = _within(bench, space, _depth(bench))
    return (Message("roughed {leave:g} mm less deep than step {number} forms them; {name} keeps "
                    "{left:.3f} mm or more off the form of the teeth",
                    leave=bench.words.declares().roughs_spaces or 0.0, number=after.number + 1,
                    name=bench.words.cutter, left=room.left),
            *(_zero_remarks(bench) if roughed_before(bench) else ()))


def _zero_remarks(bench: HeadBench) -> tuple[Message, ...]:
    """The zeros of a cutter that comes to spaces which another has roughed."""
    # Where it begins again, what is to be done anew is told by itself.
    if not _cut_before(bench) or bench.from_space is not None:
        return ()
    layout, name = bench.layout, bench.words.cutter
    said = [Message("{name} stands at another centre height than the cutter before it: set "
                    "{axis} anew, the blanks neither moved nor turned on their arbor", name=name,
                    axis=layout.arrangement.across)]
    if layout.zero == "touch":
        said.append(Message(
            "{name} finds roughed spaces: for its touch turn the head half a pitch, {half:.3f}°, "
            "beside one, touch between two of them, and turn it back to where it stood",
            name=name, half=180.0 / layout.division.count))
    return tuple(said)
