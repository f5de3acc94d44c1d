"""How far a hole is open before a step goes into it: from what the job's steps before it declare.

A tap, a reamer, a boring bar or a counterbore cannot cut its way into solid metal, whatever the job
says of a hole that was drilled. So what earlier steps made about the same middle is followed along
the hole's axis, through all setups and from both faces. Heights count downwards from the upper
face. What another job or hand makes counts as open from the beginning, to the size that the job
says. Lengths mm.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

import shapely
from shapely.geometry.base import BaseGeometry

from camgen.faults import Fault, no_less
from camgen.job.file import JobFile
from camgen.job.models import Job, Setup
from camgen.job.order.deeds import (
    Deed,
    deeds_of,
    elsewhere,
    features_of_job,
    makes,
    meant,
    would_make,
)
from camgen.messages import Message
from camgen.part.called import face_called
from camgen.part.declaration import FindsHoles, MakesHoles
from camgen.part.features import Feature, Hole, Recess, Thread
from camgen.part.plates.plate_words import Face
from camgen.shop.cutters import Cutter, opening_of, record_of
from camgen.shop.reaming import for_reamer
from camgen.tolerances import CHECK_CHORD, ROUNDING
from camgen.values import dataclass

__all__ = ["SAME_SIZE", "Open", "entered", "made_of", "open_for", "opened_at", "opened_at_last",
           "opened_before", "opened_by", "opening_faults"]

# A hole and the cutter of its size are the same to within this, mm: what a fit leaves between the
# nominal sizes that reamers are sold in, steps of 0.01 (common practice, no source).
SAME_SIZE = 0.006


@dataclass(frozen=True)
class Open:
    """A stretch of a hole's axis that is open to a ``diameter``, between two heights."""

    diameter: float
    begin: float
    end: float


def opened_before(job: Job, number: int, step: int, hole: Hole) -> tuple[Open, ...]:
    """What is open about the middle of a hole before a step, the setup and the step from 0."""
    return _opened(job, deeds_of(job), features_of_job(job), (number, step), hole)


def opened_at(job: Job, setup: Setup, step: int, hole: Hole) -> tuple[Open, ...]:
    """What is open about the middle of a hole before a step of one of the job's setups."""
    return opened_before(job, next(n for n, one in enumerate(job.setups) if one is setup), step,
                         hole)


def opened_at_last(job: Job, hole: Hole) -> tuple[Open, ...]:
    """What is open about the middle of a hole when all steps are done."""
    return opened_before(job, len(job.setups), 0, hole)


def opened_by(
    job: Job, deeds: Sequence[Deed], features: Iterable[Feature], hole: Hole
) -> tuple[Open, ...]:
    """What some steps alone open about the middle of a hole, of the ``features`` about it."""
    return _opened(job, deeds, features, (len(job.setups), 0), hole)


def _opened(
    job: Job, deeds: Sequence[Deed], features: Iterable[Feature], before: tuple[int, int],
    hole: Hole,
) -> tuple[Open, ...]:
    found: list[Open] = []
    thick = job.part.height
    for one in features:
        if isinstance(one, Recess) and (elsewhere(job, one) or any(
                deed.makes(one) for deed in deeds if deed.order < before)):
            wide = room_in(one, hole)
            if wide > 0:
                found.append(_stretch(wide, one.face, one.depth, thick))
        if not isinstance(one, Hole) or math.dist((one.x, one.y), (hole.x, hole.y)) > ROUNDING:
            continue
        if elsewhere(job, one):
            found.append(_stretch(one.diameter, one.face, one.depth, thick))
        for deed in deeds:
            if deed.order >= before:
                break
            for made in deed.says.holes:
                if makes(deed, made, one):
                    found.append(made_of(deed, made, one, thick))
    return tuple(found)


def room_in(pocket: Recess, hole: Hole) -> float:
    """Diameter of the widest round about a hole's middle that a pocket holds; 0 where it holds
    none of it."""
    region, middle = _region(pocket), shapely.Point(hole.place)
    return 2 * float(region.boundary.distance(middle)) if region.contains(middle) else 0.0


@lru_cache(maxsize=64)
def _region(pocket: Recess) -> BaseGeometry:
    return pocket.area.region(CHECK_CHORD)


def made_of(deed: Deed, made: MakesHoles, hole: Hole, thick: float) -> Open:
    """What a step makes of a hole: how wide, and how far down with its whole width."""
    cutter = deed.cutter
    own = made.size == "as the cutter" and cutter is not None
    wide = cutter.diameter if own and cutter is not None else hole.diameter + made.more
    depth = hole.depth if made.depth is None else made.depth
    if made.pointed and made.depth is None and depth is not None and cutter is not None:
        # Of a wider hole the point of a drill stays above the floor.
        depth -= point_of(cutter) if cutter.diameter < hole.diameter - 1e-9 else 0.0
    return _stretch(wide, deed.face if deed.flat else hole.face, depth, thick)


def point_of(cutter: Cutter) -> float:
    """Length of a cutter's point: half its width less the flat, over the tangent of half the angle.
    """
    return max(0.0, cutter.diameter - cutter.tip) / 2 / math.tan(math.radians(
        cutter.cone_angle / 2))


def _stretch(wide: float, face: Face, depth: float | None, thick: float) -> Open:
    if depth is None or depth >= thick:
        return Open(wide, 0.0, thick)
    return Open(wide, 0.0, depth) if face == "upper" else Open(wide, thick - depth, thick)


def width_over(opened: Iterable[Open], begin: float, end: float) -> float:
    """The diameter that is open all the way between two heights; 0 where metal stands between.

    >>> width_over([Open(1.0, 0.0, 2.0), Open(1.5, 0.0, 0.5)], 0.0, 2.0)
    1.0
    >>> width_over([Open(1.0, 0.0, 0.9), Open(1.0, 1.0, 2.0)], 0.0, 2.0)
    0.0
    """
    found = tuple(opened)
    edges = sorted({begin, end, *(height for one in found for height in (one.begin, one.end)
                                  if begin < height < end)})
    widths = [
        max((one.diameter for one in found
             if one.begin <= low + ROUNDING and one.end >= high - ROUNDING), default=0.0)
        for low, high in itertools.pairwise(edges) if high - low > ROUNDING
    ]
    return min(widths, default=0.0)


def open_for(opened: Iterable[Open], wide: float, face: Face, thick: float) -> float:
    """How deep a cutter so ``wide`` goes in from a face before it meets metal."""
    found = tuple(opened)
    heights = sorted({height for one in found for height in (one.begin, one.end)})
    ends = heights if face == "upper" else [thick - height for height in reversed(heights)]
    deep = 0.0
    for depth in ends:
        low, high = (0.0, depth) if face == "upper" else (thick - depth, thick)
        if depth > ROUNDING and width_over(found, low, high) >= wide - ROUNDING:
            deep = max(deep, depth)
    return deep


# --- what is wrong with it ------------------------------------------------------------------------


def opening_faults(job_file: JobFile) -> Iterator[Fault]:
    """Cutters that go into a hole which is not open for them, as the steps before make it."""
    job = job_file.job
    deeds, features = deeds_of(job), features_of_job(job)
    for deed in deeds:
        if deed.cutter is None or not deed.flat:
            continue
        told: set[str] = set()
        for find in deed.says.finds:
            for hole in entered(deed, find, features):
                group = hole.group or hole.name
                if group in told:
                    continue
                look = _Look(job_file, deeds, features, deed, deed.cutter, find, hole)
                fault = look.fault()
                if fault is not None:
                    told.add(group)
                    yield fault


def entered(deed: Deed, find: FindsHoles, features: tuple[Feature, ...]) -> Iterator[Hole]:
    """The holes that a step goes into: those of its threads, where it makes such."""
    threads = list(deed.says.threads)
    for one in features:
        if threads and isinstance(one, Thread):
            if any(makes(deed, made, one) for made in threads):
                yield one.hole
        elif (not threads and isinstance(one, Hole)
              and meant(deed, MakesHoles(find.holes, "as asked"), one)):
            yield one


@dataclass(frozen=True)
class _Look:
    """One step and one hole that it goes into."""

    job_file: JobFile
    deeds: tuple[Deed, ...]
    features: tuple[Feature, ...]
    deed: Deed
    cutter: Cutter
    find: FindsHoles
    hole: Hole

    def fault(self) -> Fault | None:
        """What is wrong with how the hole is open; None where it is as it must be."""
        job, hole, find = self.job_file.job, self.hole, self.find
        opened = _opened(job, self.deeds, self.features, self.deed.order, hole)
        deep = self.depth()
        begin, end = ((0.0, deep) if self.deed.face == "upper"
                      else (job.part.height - deep, job.part.height))
        if find.room == "none":
            wide = max((one.diameter for one in opened), default=0.0)
            said = find.said or 0.0
            if opened and wide >= said > width_over(opened, begin, end) + SAME_SIZE:
                return self.shallow(said, open_for(
                    opened, said, self.deed.face, job.part.height), deep)
        else:
            wide = width_over(opened, begin, end)
            need = self.need()
            if wide < need - ROUNDING:
                return self.closed(opened, wide, need, deep)
        return self.contradicted(wide)

    def depth(self) -> float:
        """How deep the cutter goes into the hole, no deeper than it is.

        The end of a tap stays a pitch above a floor, for its chips.
        """
        thick = self.job_file.job.part.height
        whole = thick if self.hole.depth is None else self.hole.depth
        if self.find.depth is not None:
            return min(self.find.depth, thick if self.hole.depth is None else self.find.depth)
        if self.hole.depth is not None and any(True for _ in self.deed.says.threads):
            return max(whole - (self.cutter.pitch or 0.0), 0.0)
        return whole

    def need(self) -> float:
        """How wide the hole must be open."""
        if self.find.room == "hole":
            limits = self.hole.limits
            return self.hole.diameter - SAME_SIZE if limits is None else limits.least
        return opening_of(self.cutter) or 0.0

    @property
    def what(self) -> Message:
        return Message("{cutter}, a {kind} of {diameter:g} mm,", cutter=self.deed.words.cutter,
                       kind=self.cutter.kind, diameter=self.cutter.diameter)

    def shallow(self, said: float, there: float, deep: float) -> Fault:
        """The hole is as wide as the job says on a part of its depth only."""
        return Fault(Message("{word} says that {name} is {said:g} mm wide, and the steps before "
                             "make it so {there:.3g} of {deep:.3g} mm deep", word=self.find.word,
                             name=self.hole.name, said=said, there=there, deep=deep),
                     Message("drill it {least} mm deep first, or leave {word}: out",
                             least=no_less(deep), word=self.find.word),
                     self.job_file.place(*self.deed.at, self.find.word))

    def closed(self, opened: tuple[Open, ...], wide: float, need: float, deep: float) -> Fault:
        """The hole is not open, not wide enough or not deep enough."""
        name, place = self.hole.name, self.job_file.place(*self.deed.at, "cutter")
        mouth = max((one.diameter for one in opened), default=0.0)
        if not opened:
            return Fault(Message("{what} goes into {name}, which no step before it makes: it "
                                 "cannot cut its way into solid metal", what=self.what, name=name),
                         self.later(), place)
        if mouth >= need - ROUNDING:
            thick = self.job_file.job.part.height
            there = open_for(opened, need, self.deed.face, thick)
            return Fault(Message("{what} goes {deep:.3g} mm deep into {name}, which is open for "
                                 "it {there:.3g} mm deep as the steps before make it",
                                 what=self.what, deep=deep, name=name, there=there) if there
                         else Message("{what} goes into {name}, which the steps before open from "
                                      "the other side only, not as far as this face",
                                      what=self.what, name=name),
                         Message("drill it {least} mm deep first (depth: of the drill counts to "
                                 "where it is full), or go less deep", least=no_less(deep)), place)
        if self.find.room == "hole":
            return Fault(Message("{what} goes into {name}, which is {wide:g} mm wide as the steps "
                                 "before make it and must be {diameter:g} mm for the thread",
                                 what=self.what, name=name, wide=wide or mouth,
                                 diameter=self.hole.diameter),
                         Message("bring it to {diameter:g} mm first; {later}",
                                 diameter=self.hole.diameter, later=self.later()), place)
        if record_of(self.cutter).reams:
            off = for_reamer(self.cutter.diameter).usual
            return Fault(Message("{what} goes into {name}, which is {wide:g} mm wide as the steps "
                                 "before make it: its lead needs a hole of {need:.3g} mm at "
                                 "least, and {off:.2g} mm are usually left for it", what=self.what,
                                 name=name, wide=wide or mouth, need=need, off=off),
                         Message("drill or bore it to {least:.4g} mm first, or take a bore for it",
                                 least=self.cutter.diameter - off), place)
        return Fault(Message("{what} goes into {name}, which is {wide:g} mm wide as the steps "
                             "before make it: it needs a hole of {need:.3g} mm at least",
                             what=self.what, name=name, wide=wide or mouth, need=need),
                     Message("drill or bore it wider first, or take a smaller one for it"), place)

    def later(self) -> Message:
        """What to do about a hole that is made too late, or not at all."""
        after = next((one for one in self.deeds if one.order > self.deed.order
                      and any(makes(one, made, self.hole) for made in one.says.holes)), None)
        turned = next((one for one in self.deeds if one.order < self.deed.order and one.flat
                       and any(would_make(one, made, self.hole)
                               and not makes(one, made, self.hole)
                               for made in one.says.holes)), None)
        if after is None and turned is not None:
            return Message("step {step} of {name} would make it, but it is on {face}: put that "
                           "step in a setup with face: {word}", step=turned.step + 1,
                           name=turned.setup.name, face=face_called(self.hole.face),
                           word=self.hole.face)
        if after is None:
            return Message("put a step that drills it before this one, or say made-elsewhere: "
                           "with its name where it is there already")
        if after.number == self.deed.number:
            return Message("put step {step} of {name}, which makes it, before it",
                           step=after.step + 1, name=after.setup.name)
        return Message("setup {name} makes it, too late: put that before it",
                       name=after.setup.name)

    def contradicted(self, wide: float) -> Fault | None:
        """The job says another diameter of the hole than its own steps made."""
        said = self.find.said
        if said is None or abs(said - wide) <= SAME_SIZE:
            return None
        if elsewhere(self.job_file.job, self.hole):
            return None  # How far it was brought there the job alone can say.
        if self.find.room == "none" and said < wide:
            return None  # It only goes round in air for longer.
        place = self.job_file.place(*self.deed.at, self.find.word)
        if not wide:
            return Fault(Message("{word} says that {name} is {said:g} mm wide, and no step before "
                                 "makes it", word=self.find.word, name=self.hole.name, said=said),
                         self.later(), place)
        return Fault(Message("{word} says that {name} is {said:g} mm wide, and it is {wide:g} mm "
                             "as the steps before make it", word=self.find.word,
                             name=self.hole.name, said=said, wide=wide),
                     Message("write {word}: {wide:g}, or make it {said:g} mm wide before",
                             word=self.find.word, wide=wide, said=said), place)


def drilled_width(job: Job, number: int, step: int, name: str) -> float:
    """How wide a hole is open over its whole depth before a step, as the steps before make it; 0
    where it is not. The setup and the step count from 0."""
    hole = next((one for one in features_of_job(job)
                 if isinstance(one, Hole) and one.name == name), None)
    if hole is None:
        return 0.0
    thick = job.part.height
    deep = thick if hole.depth is None else hole.depth
    return width_over(opened_before(job, number, step, hole),
                      *((0.0, deep) if hole.face == "upper" else (thick - deep, thick)))
