"""Whether a plate can be, as a thing of metal; every fault with its place in the job file."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import shapely

from camgen.faults import Fault, Refused
from camgen.job.file import JobFile
from camgen.job.order.holes_made import SAME_SIZE, usual_for_thread
from camgen.messages import Message
from camgen.part.called import mouth_called, thing_called
from camgen.part.figures import path_of, places_of
from camgen.part.plates.end_shake import end_shake_at, seat_depth
from camgen.part.plates.floors import floor_faults, openings_of
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_features import left_faults
from camgen.part.plates.plate_words import Shape
from camgen.part.plates.round_features import (
    diameter_of,
    hole_for_thread,
    hole_limits,
    jewel_limits,
    round_holes_of,
)
from camgen.part.plates.threaded_posts import threaded_post_faults
from camgen.shop.threads import thread_of
from camgen.tolerances import CHECK_CHORD

__all__ = ["plate_faults"]




def plate_faults(job_file: JobFile, plate: Plate) -> list[Fault]:
    """Shapes that are none, features outside the plate or into one another, pockets too deep."""
    faults = [*_shapes(job_file, plate), *_sizes(job_file, plate)]
    if faults:
        return faults
    return [
        *_holes(job_file, plate),
        *_mouths(job_file, plate),
        *_jewels(job_file, plate),
        *_inside(job_file, plate),
        *_depths(job_file, plate),
        *(Fault(fault.message, fault.remedy, job_file.place("plate", *words))
          for words, fault in threaded_post_faults(plate)),
    ]


def _shapes(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    shapes: list[tuple[tuple[str, ...], Shape]] = [(("outline",), plate.outline)]
    shapes += [(("openings", name), shape) for name, shape in plate.openings.items()]
    outline_refused = False
    for at, shape in shapes:
        try:
            path_of(shape)
        except Refused as no:
            outline_refused |= at == ("outline",)
            yield from (
                Fault(f.message, f.remedy, job_file.place("plate", *at)) for f in no.faults
            )
    if not outline_refused:
        found = list(floor_faults(plate))
        for words, fault in found or left_faults(plate):
            yield Fault(fault.message, fault.remedy, job_file.place("plate", *words))


def _sizes(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    """Holes of no size, threads and classes that are none."""
    for name, hole in plate.holes.items():
        at = ("plate", "holes", name)
        if hole.thread is not None:
            try:
                thread_of(hole.thread)
            except Refused as no:
                yield from (Fault(f.message, f.remedy, job_file.place(*at, "thread"))
                            for f in no.faults)
        elif hole.diameter is None:
            yield Fault(Message("hole {name} has no diameter", name=name),
                        Message("say it, or the thread in it"), job_file.place(*at))
        if hole.fit is not None and hole.thread is not None:
            yield Fault(Message("{name} has both a class of fit and a thread", name=name),
                        Message("say one of them"), job_file.place(*at, "fit"))
        elif hole.fit is not None and hole.diameter is not None:
            try:
                hole_limits(hole)
            except Refused as no:
                yield from (Fault(f.message, f.remedy, job_file.place(*at, "fit"))
                            for f in no.faults)
    for name, jewel in plate.jewels.items():
        at = ("plate", "jewels", name)
        if jewel.fit is not None and jewel.under is not None:
            yield Fault(Message("{name} has both a class of fit and an allowance", name=name),
                        Message("say one of them"), job_file.place(*at, "under"))
        try:
            limits = jewel_limits(jewel, job_file.job.material)
        except Refused as no:
            yield from (Fault(f.message, f.remedy, job_file.place(*at, "fit")) for f in no.faults)
            continue
        if limits.least <= 0:
            yield Fault(Message("{name} is under its jewel by more than the jewel", name=name),
                        Message("a few hundredths"), job_file.place(*at, "under"))


def _holes(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    for word, holes in (("holes", plate.holes), ("jewels", plate.jewels)):
        for name, hole in holes.items():
            if not places_of(hole):
                yield Fault(Message("hole {name} is nowhere", name=name),
                            Message("give its places: at: [[x, y]], ring: or rows:"),
                            job_file.place("plate", word, name))


def _mouths(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    """Cones and counterbores narrower than their holes, threads that do not suit theirs."""
    for name, hole in plate.holes.items():
        at, diameter = ("plate", "holes", name), diameter_of(hole)
        if hole.countersink is not None and hole.countersink <= diameter:
            yield _narrow(job_file, mouth_called("countersink", name), hole.countersink, diameter,
                          (*at, "countersink"))
        if hole.counterbore is not None:
            wide = hole.counterbore.diameter
            if wide <= diameter:
                yield _narrow(job_file, Message("the counterbore of {hole}", hole=name), wide,
                              diameter, (*at, "counterbore"))
            if hole.countersink is not None:
                yield Fault(Message("{name} is both countersunk and counterbored", name=name),
                            Message("say one of them"), job_file.place(*at, "counterbore"))
            if hole.depth is not None and hole.counterbore.depth >= hole.depth:
                yield Fault(Message("the counterbore of {name} is as deep as its hole", name=name),
                            Message("make it shallower"), job_file.place(*at, "counterbore"))
        if hole.thread is None:
            continue
        suits = hole_for_thread(hole, plate.thickness, job_file.job.material)
        if suits is not None and hole.diameter is not None and not (
                suits.may.least - 1e-6 <= diameter <= suits.may.most + SAME_SIZE):
            yield Fault(Message("hole {name}, {diameter:g} mm, is none for {thread} so long: from "
                                "{least:g} to {most:g} mm may be", name=name, diameter=diameter,
                                thread=hole.thread, least=suits.may.least, most=suits.may.most),
                        usual_for_thread(suits), job_file.place(*at, "diameter"))


def _jewels(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    """Lead-ins narrower than the jewel, holes below the seat that leave no seat."""
    for name, jewel in plate.jewels.items():
        at = ("plate", "jewels", name)
        if jewel.lead_in is not None and jewel.lead_in <= jewel.diameter:
            yield _narrow(job_file, mouth_called("lead-in", name), jewel.lead_in, jewel.diameter,
                          (*at, "lead-in"))
        yield from _end_shake(job_file, plate, name, at)
        if jewel.oil_sink is not None and jewel.through is None:
            yield Fault(Message("{name} has an oil sink and no hole below its seat to put it at",
                                name=name),
                        Message("add through:, or give a hole its countersink:"),
                        job_file.place(*at, "oil-sink"))
        if jewel.through is None:
            continue
        if jewel.oil_sink is not None and jewel.oil_sink <= jewel.through:
            yield _narrow(job_file, mouth_called("oil-sink", name), jewel.oil_sink, jewel.through,
                          (*at, "oil-sink"))
        if seat_depth(jewel, plate.thickness) is None:
            yield Fault(Message("{name} has a hole below its seat and no depth of seat", name=name),
                        Message("add depth:, or leave through: out"),
                        job_file.place(*at, "through"))
        if jewel.through >= jewel.diameter:
            yield Fault(Message("the hole below the seat of {name}, {through:g} mm, leaves no seat",
                                name=name, through=jewel.through),
                        Message("narrower than the jewel, {diameter:g} mm",
                                diameter=jewel.diameter), job_file.place(*at, "through"))


def _end_shake(
    job_file: JobFile, plate: Plate, name: str, at: tuple[str, ...]
) -> Iterator[Fault]:
    """Seats that cannot be cut for the end-shake wanted; depths that leave none."""
    jewel = plate.jewels[name]
    shake = jewel.end_shake
    if shake is None:
        return
    if jewel.depth is not None and shake.wanted is not None:
        yield Fault(Message("{name} has both a depth and the end-shake wanted", name=name),
                    Message("say one of them: the other follows"), job_file.place(*at, "depth"))
        return
    depth = seat_depth(jewel, plate.thickness)
    assert depth is not None
    if jewel.depth is not None:
        left = end_shake_at(shake, depth, plate.thickness)
        if left <= 0:
            yield Fault(Message("a seat {depth:g} mm deep leaves {name} no end-shake: the arbor "
                                "is {off:.3f} mm too long", depth=depth, name=name, off=-left),
                        Message("look at depth, arbor and between, and at the face it is pressed "
                                "from"), job_file.place(*at, "depth"))
    elif not 0 < depth < plate.thickness:
        yield Fault(Message("the seat of {name} would have to be {depth:.3f} mm deep for its "
                            "end-shake, in a plate of {thickness:g} mm", name=name, depth=depth,
                            thickness=plate.thickness),
                    Message("look at arbor, between, jewel and other, and at the face it is "
                            "pressed from"), job_file.place(*at, "end-shake"))


def _narrow(
    job_file: JobFile, what: Message, wide: float, hole: float, at: tuple[str, ...]
) -> Fault:
    return Fault(Message("{what}, {wide:g} mm, is not wider than the hole, {hole:g} mm",
                         what=what, wide=wide, hole=hole),
                 Message("its width is that at the upper face"), job_file.place(*at))


def _inside(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    outline = path_of(plate.outline).region(CHECK_CHORD)
    through: list[tuple[str, str, shapely.Polygon]] = []
    for hole in round_holes_of(plate, job_file.job.material):
        _, group, name, *_ = hole.at
        disc = shapely.Point(hole.place).buffer(hole.diameter / 2, quad_segs=16)
        # A counterbore, or a hole to a depth, may run out at the edge: it is open there.
        half_open = (group == "holes" and hole.depth is not None
                     and outline.contains(shapely.Point(hole.place)))
        if not outline.contains(disc) and not half_open:
            yield Fault(Message("hole {group} at X {x:g} Y {y:g} does not lie within the outline",
                                group=hole.group, x=hole.place.x, y=hole.place.y),
                        Message("look at its place, or at where the outline has its 0, 0"),
                        job_file.place("plate", group, name))
        if hole.depth is None:
            through.append((group, name, disc))
    for name, path in openings_of(plate).items():
        region = path.region(CHECK_CHORD)
        word = "openings" if name in plate.openings else "slots"
        if not outline.contains(region):
            yield Fault(Message("{what} does not lie within the outline",
                                what=thing_called(word, name)),
                        Message("what is open at the edge right through belongs into the outline: "
                                "draw it there; else look at its place and size")
                        if outline.intersects(region) else Message("look at its place and size"),
                        job_file.place("plate", word, name))
        through.append((word, name, region))
    if not through:
        return
    tree = shapely.STRtree([region for _, _, region in through])
    found = tree.query([region for _, _, region in through], predicate="intersects")
    for one, other in sorted({(min(pair), max(pair)) for pair in zip(*found, strict=True)}):
        if one == other:
            continue
        (_, first, a), (group, second, b) = through[one], through[other]
        # Holes about one middle are one hole in steps.
        if not (a.contains(b) or b.contains(a)) and a.intersection(b).area > CHECK_CHORD:
            yield Fault(Message("{second} runs into {first}", second=second, first=first),
                        Message("move one of them or make it smaller"),
                        job_file.place("plate", group, second))


def _depths(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    named = itertools.chain(
        (("holes", name, hole.depth) for name, hole in plate.holes.items()),
        (("holes", name, hole.counterbore.depth) for name, hole in plate.holes.items()
         if hole.counterbore is not None),
        (("jewels", name, jewel.depth) for name, jewel in plate.jewels.items()),
        (("pockets", name, pocket.depth) for name, pocket in plate.pockets.items()),
        (("slots", name, one.depth) for name, one in plate.slots.items()),
    )
    for group, name, depth in named:
        if depth is not None and depth >= plate.thickness:
            yield Fault(Message("{name} is {depth:g} mm deep and the plate {thickness:g} mm thick",
                                name=name, depth=depth, thickness=plate.thickness),
                        Message("leave depth out for a hole right through")
                        if group != "pockets"
                        else Message("list it under openings when it goes right through"),
                        job_file.place("plate", group, name, "depth"))
