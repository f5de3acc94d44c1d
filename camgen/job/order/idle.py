"""Steps that find nothing left to cut: their words are in the wrong order, or one too many.

What the steps before made is followed along each hole's axis, as in
:mod:`camgen.job.order.opened`. What another job or hand makes is left aside: when it does so is not
known here. Lengths mm.
"""

from __future__ import annotations

import bisect
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import field

from camgen.faults import Fault
from camgen.job.file import JobFile
from camgen.job.models import Job, Setup
from camgen.job.order.deeds import Deed, deeds_of, elsewhere, features_of_job, makes, meant
from camgen.job.order.holes_made import left_at
from camgen.job.order.opened import Open, made_of, opened_by, width_over
from camgen.messages import Message
from camgen.part.declaration import (
    AtHoles,
    MakesCones,
    MakesCrossing,
    MakesHoles,
    MakesMarks,
    MakesOpenings,
    MakesOutline,
)
from camgen.part.features import Cone, Feature, Hole, Opening, Recess, Whole
from camgen.shop.cutters import Cutter
from camgen.values import dataclass

__all__ = ["idle_faults", "idle_remarks"]

# What is less than this is nothing: half a micrometre, below what any program says.
NOTHING_TO_CUT = 0.0005


@dataclass(frozen=True)
class _Idle:
    """One step: the names at which it finds nothing, those at which it cuts, who was first."""

    deed: Deed
    idle: tuple[str, ...]
    cuts: tuple[str, ...]
    first: Deed


def idle_faults(job_file: JobFile) -> Iterator[Fault]:
    """Steps that cut nothing at all."""
    for one in _idle(job_file.job):
        if not one.cuts:
            deed, first = one.deed, one.first
            yield Fault(Message("{kind} finds nothing to cut at {places}: step {step} of {name}, "
                                "{other_kind}, has taken it all", kind=deed.words.kind,
                                places=tuple(one.idle), step=first.step + 1, name=first.setup.name,
                                other_kind=first.words.kind),
                        Message("put it before that step, or leave it out"),
                        job_file.place(*deed.at, key=True))


def idle_remarks(job: Job, setup: Setup) -> tuple[Message, ...]:
    """What the steps of a setup find cut already, beside what they do cut."""
    return tuple(
        Message("{step}: finds nothing to cut at {places}, which {first} has taken before",
                step=one.deed.words.called, places=one.idle, first=one.first.words.called)
        for one in _idle(job)
        if one.cuts and job.setups[one.deed.number] is setup)


def _idle(job: Job) -> Iterator[_Idle]:
    deeds, features = deeds_of(job), features_of_job(job)
    near = _by_middle(features)
    walls = tuple(one for one in features if isinstance(one, Whole | Opening))
    finished = {id(one): _Finished() for one in walls}
    for count, deed in enumerate(deeds):
        if count:
            for one in walls:
                if deeds[count - 1].makes(one):
                    finished[id(one)].add(deeds[count - 1])
        if not count or deed.cutter is None or not deed.flat:
            continue
        found: dict[str, Deed | None] = {}
        for feature, made in _worked_at(deed, features, near):
            group = feature.group or feature.name
            if found.get(group, deed) is None:
                continue  # one of its like is cut
            found[group] = (_at_hole(job, deed, deed.cutter, made, feature, deeds[:count], near)
                            if made is not None else finished[id(feature)].before(deed))
        idle = {name: first for name, first in found.items() if first is not None}
        if idle:
            yield _Idle(deed, tuple(idle), tuple(name for name in found if name not in idle),
                        next(iter(idle.values())))


Middle = tuple[float, float]


def _middle(hole: Hole) -> Middle:
    return round(hole.x, 6), round(hole.y, 6)


def _by_middle(features: tuple[Feature, ...]) -> dict[Middle, list[Hole]]:
    found: dict[Middle, list[Hole]] = {}
    for one in features:
        if isinstance(one, Hole):
            found.setdefault(_middle(one), []).append(one)
    return found


def _worked_at(
    deed: Deed, features: tuple[Feature, ...], near: dict[Middle, list[Hole]]
) -> Iterator[tuple[Feature, AtHoles | None]]:
    """What a step works at, with what it makes there; walls right through without."""
    for made in deed.says.makes:
        for one in features:
            match made:
                case MakesHoles():
                    if isinstance(one, Hole) and makes(deed, made, one):
                        yield one, made
                case MakesMarks():
                    # Where several are about one middle, the narrowest is marked.
                    if isinstance(one, Hole) and meant(deed, made, one) and one == min(
                            (hole for hole in near[_middle(one)] if meant(deed, made, hole)),
                            key=lambda hole: hole.diameter):
                        yield one, made
                case MakesCones():
                    if isinstance(one, Cone) and makes(deed, made, one):
                        yield one, made
                case MakesOutline() | MakesCrossing() | MakesOpenings():
                    if isinstance(one, Whole | Opening) and makes(deed, made, one):
                        yield one, None
                case _:
                    pass


def _at_hole(
    job: Job, deed: Deed, cutter: Cutter, made: AtHoles, feature: Feature, before: Sequence[Deed],
    near: dict[Middle, list[Hole]],
) -> Deed | None:
    """The step that left nothing to cut at a hole; None where there is something."""
    if isinstance(feature, Cone):
        return next((one for one in before if one.makes(feature)), None)
    assert isinstance(feature, Hole)
    if isinstance(made, MakesHoles) and made.size == "as the cutter" and left_at(
            deeds_of(job), feature):
        return None  # no step brings it to size: that is what is wrong, and told
    if isinstance(made, MakesHoles) and made.pointed:
        # In a carrier beneath a piece that was turned over, or deeper into it, it cuts again.
        before = [one for one in before if one.number == deed.number
                  and _as_deep(one, feature, made.depth)]
    about: list[Feature] = [*near[_middle(feature)],
                            *(one for one in features_of_job(job) if isinstance(one, Recess))]
    about = [one for one in about if not elsewhere(job, one)]
    thick = job.part.height

    def nothing_after(count: int) -> bool:
        opened = opened_by(job, before[:count], about, feature)
        if isinstance(made, MakesHoles):
            mine = made_of(deed, made, feature, thick)
            return width_over(opened, mine.begin, mine.end) >= mine.diameter - NOTHING_TO_CUT
        assert isinstance(made, MakesMarks)
        return bool(opened) and _cone_in_air(deed, cutter, made, feature, opened, thick)

    if not before or not nothing_after(len(before)):
        return None
    return before[next(count for count in range(1, len(before) + 1) if nothing_after(count)) - 1]


def _as_deep(earlier: Deed, hole: Hole, depth: float | None) -> bool:
    """Whether an earlier step makes a hole as deep as a drill to ``depth`` goes."""
    deepest = max((math.inf if made.depth is None else made.depth
                   for made in earlier.says.holes if makes(earlier, made, hole)), default=None)
    if deepest is None:
        return True  # it takes something else about the same middle, which cannot go deeper
    return (depth or 0.0) <= deepest if deepest < math.inf else (
        depth is None or hole.depth is not None)


def _cone_in_air(
    deed: Deed, cutter: Cutter, made: MakesMarks, hole: Hole, opened: tuple[Open, ...],
    thick: float,
) -> bool:
    """Whether a mark's cone lies all in what is open: at each height narrower than that is."""
    slope = 2 * math.tan(math.radians(cutter.cone_angle / 2))
    wide = min(made.share * hole.diameter if made.depth is None
               else cutter.tip + made.depth * slope, cutter.diameter)
    deep = max(wide - cutter.tip, 0.0) / slope if made.depth is None else made.depth
    heights = [end if deed.face == "upper" else thick - end
               for one in opened for end in (one.begin, one.end)]
    steps = sorted({0.0, deep, *(height for height in heights if 0.0 < height < deep)})
    return all(
        width_over(opened, *((low, high) if deed.face == "upper" else (thick - high, thick - low)))
        >= wide - slope * low - NOTHING_TO_CUT
        for low, high in itertools.pairwise(steps))


@dataclass(frozen=True)
class _Finished:
    """The steps that brought a wall right through to size, in order.

    By the diameter of their cutter those that went further than all before with the same: what they
    added, its sign turned so that it rises, and themselves.
    """

    by: dict[float, tuple[list[float], list[Deed]]] = field(default_factory=dict)

    def add(self, deed: Deed) -> None:
        """One more; nothing where it leaves something, or has gone no further than one before."""
        if deed.says.leaves or deed.cutter is None:
            return
        further, deeds = self.by.setdefault(deed.cutter.diameter, ([], []))
        less = -deed.says.added("wall")
        if not further or less > further[-1]:
            further.append(less)
            deeds.append(deed)

    def before(self, deed: Deed) -> Deed | None:
        """The first that brought it to the same size as ``deed`` with no larger a cutter."""
        if deed.cutter is None:
            return None
        less, found = -deed.says.added("wall"), []
        for diameter, (further, deeds) in self.by.items():
            at = bisect.bisect_left(further, less)
            if diameter <= deed.cutter.diameter and at < len(deeds):
                found.append(deeds[at])
        return min(found, key=lambda one: one.order, default=None)
