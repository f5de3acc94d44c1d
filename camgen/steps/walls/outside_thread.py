"""Milling a thread outside, round a post, on a helix about it.

With the spindle clockwise a cutter that goes round a post clockwise climbs. A right-hand thread
falls as its helix turns clockwise: in climb milling the cutter comes down from above the post, in
conventional milling it begins below and rises; with a left-hand thread it is the other way. The
helix is entered and left level, on arcs tangent to it from outside. A mill with one row of teeth
goes round once for each pitch; one whose rows are as long as the thread goes round once. Lengths
mm.
"""

import math
from collections.abc import Iterator
from typing import Annotated, ClassVar, Literal

import shapely
from pydantic import Field
from shapely.geometry.base import BaseGeometry

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, did_you_mean, no_less, no_more
from camgen.job.models import StepWords
from camgen.job.order.deeds import deeds_of, elsewhere, features_of_job
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.moves import Feed, Move
from camgen.part.declaration import Correction, Declaration, MakesOutsideThreads, Named
from camgen.part.features import OutsideThread, Recess
from camgen.shapes.path import circle
from camgen.shop.cutters import Ability, profile_of, tooth_height
from camgen.shop.threads import (
    best_wire,
    flat_of,
    outside_thread_of,
    over_wires,
    rows_of,
)
from camgen.steps.cuts import outside_thread_cut
from camgen.steps.kind import SENSES, FlatBench, PlannedStep, StepKind
from camgen.steps.moving import Feeds, above, away, follow, leads, shifted
from camgen.tolerances import AREA_CHORD
from camgen.values import dataclass
from camgen.yamlfile.length_units import IN_FILE_UNITS

__all__ = ["OUTSIDE_THREAD", "MilledOutside"]

# What the cutter is off the thread's crest where it comes down and goes up, and off what stands
# beside its way, mm. Common practice, no source.
CLEAR = 0.1
BESIDE = 0.05


class MilledOutside(StepWords):
    """Mill the threads that the plate says are round its posts."""

    kind: ClassVar[str] = "outside-thread"
    called: ClassVar[Message] = Message("thread outside")
    posts: tuple[str, ...] | None = Field(
        None, description="names of posts; all whose thread has the cutter's pitch when left out"
    )
    milling: Literal["climb", "conventional"] = Field(
        "climb", description="which way the cutter goes round"
    )
    correction: Annotated[float, IN_FILE_UNITS, Field(ge=-0.5, le=0.5)] = Field(
        0.0, description="metal to leave on the thread all round, on the radius; negative takes "
        "more: half of what it measures too large over wires, taken off"
    )

    def declares(self) -> Declaration:
        """Threads round posts."""
        return Declaration(
            (MakesOutsideThreads(Named(self.posts)),), (Ability.MILL_THREAD,),
            corrections=(Correction("correction", self.correction, "wall", 0.5),))


@dataclass(frozen=True)
class _Cut:
    """One thread: ``root`` diameter, radius of the centre's ``ring``; ``deep`` into the post;
    Z of the post's ``top`` and of the mill's end at the ``bottom``; how many ``turns``, how many
    ``rows`` of teeth are in it."""

    root: float
    ring: float
    deep: float
    top: float
    bottom: float
    turns: int
    rows: int


def _meant(bench: FlatBench, words: MilledOutside) -> tuple[OutsideThread, ...]:
    return tuple(
        one for one in bench.layout.part.outside_threads
        if (one.name in words.posts if words.posts is not None else
            abs(outside_thread_of(one.called).thread.pitch - (bench.cutter.pitch or 0.0)) < 1e-6))


def _cut(bench: FlatBench, words: MilledOutside, one: OutsideThread) -> _Cut:
    layout, outside = bench.layout, outside_thread_of(one.called)
    pitch = outside.thread.pitch
    root = outside.root(flat_of(bench.cutter)) + 2 * words.correction
    top = layout.face - one.depth
    # The last groove is as long as a pitch, and runs out below the last full thread.
    long, rows = one.length + pitch, rows_of(bench.cutter)
    turns = max(1, math.ceil(long / pitch - (rows - 1) - 1e-9))
    return _Cut(root, (root + bench.cutter.diameter) / 2, (one.over - root) / 2, top, top - long,
                turns, min(rows, math.ceil(long / pitch - 1e-9)))


def check(bench: FlatBench, words: MilledOutside) -> list[Fault]:
    """Faults seen without planning."""
    faults = [*bench.need(), *_names(bench, words)]
    if faults:
        return faults
    meant = _meant(bench, words)
    if not meant:
        return [Fault(Message("no post has a thread of the cutter's pitch, {pitch:g} mm",
                              pitch=bench.cutter.pitch or 0.0),
                      Message("give the post its thread:, or take the mill of its pitch"),
                      bench.place("cutter"))]
    for one in meant:
        faults += _tooth(bench, one) or [*_room(bench, words, one), *_stands(bench, one)]
    return list(dict.fromkeys(faults))


def _names(bench: FlatBench, words: MilledOutside) -> Iterator[Fault]:
    known = [one.name for one in bench.layout.part.outside_threads]
    for number, name in enumerate(words.posts or ()):
        if name not in known:
            yield Fault(Message("no post called '{name}' has a thread on the face that looks up",
                                name=name),
                        did_you_mean(name, known, Message("posts that have one: {names}",
                                                          names=tuple(known) or Message("none"))),
                        bench.place("posts", number))


def _tooth(bench: FlatBench, one: OutsideThread) -> list[Fault]:
    """A mill of another pitch, or whose teeth are too sharp or too blunt for the thread."""
    cutter, outside = bench.cutter, outside_thread_of(one.called)
    pitch, flats = outside.thread.pitch, outside.flats
    if cutter.pitch is None or abs(cutter.pitch - pitch) > 1e-6:
        return [Fault(Message("the cutter's pitch is {pitch:g} mm, that of {thread} {wanted:g} mm",
                              pitch=cutter.pitch or 0.0, thread=outside.name, wanted=pitch),
                      Message("the cutter of that pitch"), bench.place("cutter"))]
    flat = flat_of(cutter)
    if not flats.least - 1e-6 <= flat <= flats.most + 1e-6:
        return [Fault(Message("teeth with a flat of {flat:.3g} mm at their tips do not cut "
                              "{thread}: from {least:.3f} to {most:.3f} mm may be", flat=flat,
                              thread=outside.name, least=flats.least, most=flats.most),
                      Message("another thread mill, or its tip: as it was measured"),
                      bench.place("cutter"))]
    return []


def _room(bench: FlatBench, words: MilledOutside, one: OutsideThread) -> Iterator[Fault]:
    """Thread, walls beside it, and what of the mill is above its teeth."""
    cutter, cut, layout = bench.cutter, _cut(bench, words, one), bench.layout
    most = tooth_height(cutter.pitch or 0.0, cutter.tip)
    if not 0 < cut.deep <= most + 1e-9:
        yield Fault(Message("the thread of post {name} would be {deep:.3f} mm deep, and the mill's "
                            "teeth are {high:.3f} mm high", name=one.name, deep=cut.deep,
                            high=most),
                    Message("a post within its limits, and correction: nearer to 0"),
                    bench.place("cutter"))
        return
    beside = _nearest(layout, one, layout.face - cut.bottom)
    out = cut.ring + cut.deep + CLEAR
    if out + cutter.diameter / 2 + BESIDE > beside:
        widest = (beside - BESIDE - CLEAR - cut.deep - cut.root / 2) / 2
        yield Fault(Message("round post {name} {room:.3g} mm are open, and a thread mill of "
                            "{diameter:g} mm needs {need:.3g}", name=one.name,
                            room=beside - one.over / 2, diameter=cutter.diameter,
                            need=out + cutter.diameter / 2 + BESIDE - one.over / 2),
                    Message("one of {most} mm or less, or a wider pocket",
                            most=no_more(2 * widest)) if widest > cut.deep else
                    Message("a wider pocket"), bench.place("cutter"))
        return
    for part in profile_of(cutter).solid:
        below = cut.top - cut.bottom - part.low
        if below > 1e-9 and part.radius > cut.ring - one.over / 2 - 0.005:
            yield Fault(Message("the mill's {part} is {wide:.3g} mm wide and rubs on post {name}: "
                                "beside it {free:.3g} mm are free", part=part.name.called,
                                wide=2 * part.radius, name=one.name,
                                free=2 * (cut.ring - one.over / 2 - 0.005)),
                        _longer(part.word, cut.top - cut.bottom), bench.place("cutter"))
            return
        below = layout.face - cut.bottom - part.low
        if below > 1e-9 and out + part.radius > beside:
            yield Fault(Message("the mill's {part} is {wide:.3g} mm wide and meets the wall round "
                                "post {name}", part=part.name.called, wide=2 * part.radius,
                                name=one.name),
                        _longer(part.word, layout.face - cut.bottom), bench.place("cutter"))
            return


def _longer(word: str, need: float) -> Message:
    """What to write where something of the mill above its teeth is in the way."""
    longer = Message("a mill with a thinner shank that stands out {need} mm or more",
                     need=no_less(need))
    return Message("{longer}; write its {word}: with the cutter", longer=longer,
                   word=word) if word else longer


def _open(layout: FlatLayout, depth: float) -> BaseGeometry:
    """What is cleared to ``depth`` below the face, or deeper."""
    return shapely.union_all([one.area.region(AREA_CHORD) for one in layout.part.recesses
                              if one.depth >= depth - 1e-9])


def _nearest(layout: FlatLayout, one: OutsideThread, depth: float) -> float:
    """From a post's middle to the nearest wall at ``depth`` below the face but its own."""
    middle = shapely.Point(one.place.x, one.place.y)
    # Round enough that no sliver is left beside the post's own edge.
    post = middle.buffer(one.over / 2 + 0.005, quad_segs=720)
    around = middle.buffer(one.over / 2 + 0.02, quad_segs=720).difference(post)
    cleared = _open(layout, depth)
    if not cleared.contains(around):
        return one.over / 2
    walls = shapely.union(cleared, post).boundary
    return float(shapely.distance(walls, middle))


def _stands(bench: FlatBench, one: OutsideThread) -> Iterator[Fault]:
    """Pockets round a post that are not cleared yet."""
    job = bench.job
    mine = (job.setups.index(bench.setup), bench.number)
    post = shapely.Point(one.place.x, one.place.y).buffer(one.over / 2)
    near = [recess.name for recess in bench.layout.part.recesses
            if recess.depth > one.depth + 1e-9
            and recess.area.region(AREA_CHORD).distance(post) < AREA_CHORD * 4]
    for recess in features_of_job(job):
        if not isinstance(recess, Recess) or recess.name not in near or elsewhere(job, recess):
            continue
        if not any(deed.order < mine and deed.makes(recess) for deed in deeds_of(job)):
            yield Fault(Message("the thread of post {name} is milled before {pocket} is cleared "
                                "round it", name=one.name, pocket=recess.pocket),
                        Message("put the step that clears it before this one"), bench.place())


def plan(bench: FlatBench, words: MilledOutside) -> PlannedStep:
    """Each post in turn, on each piece."""
    layout, meant = bench.layout, _meant(bench, words)
    cuts = [(one, _cut(bench, words, one)) for one in meant]
    # All go by the cut of the hardest.
    deepest = max(cut.deep for _, cut in cuts)
    plan = outside_thread_cut(bench, deepest, min(cut.root for _, cut in cuts),
                              max(cut.rows for _, cut in cuts))
    one_piece: list[Move] = []
    for one, cut in cuts:
        one_piece += _around(bench, words, one, cut, plan)
    moves = away(layout)
    for x, y in layout.places:
        moves += shifted(one_piece, x, y)
    remarks = tuple(_remark(bench, words, one, cut) for one, cut in cuts)
    return PlannedStep(bench.section(words.called, plan.speed, moves), plan, remarks)


def _around(
    bench: FlatBench, words: MilledOutside, one: OutsideThread, cut: _Cut, plan: CutPlan
) -> list[Move]:
    """Down beside the post, onto the helix, round it, off it and up."""
    layout = bench.layout
    outside = outside_thread_of(one.called)
    pitch, climb = outside.thread.pitch, words.milling == "climb"
    feeds = Feeds.on(bench.machine, plan.feed, plan.plunge_feed, 0.0)
    ring = circle(one.place, cut.ring, clockwise=climb)
    room = cut.deep + CLEAR
    onto, off = leads(ring, climb, max(room, bench.cutter.diameter / 2), room)
    # A right-hand thread falls clockwise.
    falls = climb != outside.left
    z, step = ((cut.bottom + cut.turns * pitch, -pitch) if falls else (cut.bottom, pitch))
    moves = above(layout, onto.start)
    moves.append(Feed(feeds.straight, z=z))
    moves += follow(onto, feeds, wall_on_right=climb)
    for turn in range(cut.turns):
        low = z + turn * step
        moves += follow(ring, feeds, wall_on_right=climb,
                        heights=((0.0, low), (ring.length, low + step)))
    moves += follow(off, feeds, wall_on_right=climb)
    return moves + away(layout)


def _remark(
    bench: FlatBench, words: MilledOutside, one: OutsideThread, cut: _Cut
) -> Message:
    """What the thread shall measure, and what to do where it does not."""
    outside = outside_thread_of(one.called)
    pitch, limits = outside.thread.pitch, outside.pitch_diameter
    wire = round(best_wire(pitch), 3)
    return Message(
        "{name}: {hand} thread outside, {thread}, {milling} in {turns} turns, full for {length:g} "
        "mm, root {root:.3f} mm; over wires of {wire:.3f} mm it measures {least:.3f} to "
        "{most:.3f} mm (pitch diameter {low:.3f} to {high:.3f}), or try it with the ring gauge. "
        "Too large by so much: correction: less by half of it",
        name=one.name, thread=outside.name, milling=SENSES[words.milling], turns=cut.turns,
        hand=Message("left-hand") if outside.left else Message("right-hand"),
        length=one.length, root=cut.root - 2 * words.correction, wire=wire,
        least=over_wires(pitch, limits.least, wire), most=over_wires(pitch, limits.most, wire),
        low=limits.least, high=limits.most)


OUTSIDE_THREAD = StepKind("outside-thread", MilledOutside, check, plan)
