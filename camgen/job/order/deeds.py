"""The steps of a job in order, each with what it declares, and which features of the part it makes.

A step that names nothing means all of its sort; but only what can be reached from the face that
looks up. Lengths mm, in the part's frame.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import lru_cache, wraps
from typing import TypeVar

from camgen.faults import Refused
from camgen.job.models import FlatSetup, HeadSetup, Job, RoundSetup, StepWords
from camgen.part.declaration import (
    AtHoles,
    Declaration,
    Made,
    MakesCones,
    MakesCrossing,
    MakesFace,
    MakesFlats,
    MakesHoles,
    MakesMarks,
    MakesOpenings,
    MakesOutline,
    MakesOutsideThreads,
    MakesPockets,
    MakesSlotsRound,
    MakesSpaces,
    MakesThreads,
    SetsZero,
)
from camgen.part.features import (
    Cone,
    CrossedOut,
    Feature,
    Flats,
    Hole,
    Opening,
    OutsideThread,
    PartOutline,
    Recess,
    RoundHole,
    RoundSlot,
    Spaces,
    Thickness,
    Thread,
    is_a,
)
from camgen.part.parts import features_of
from camgen.part.plates.plate_words import Face
from camgen.shop.cutters import Cutter
from camgen.shop.threads import ScrewThread, outside_thread_of, thread_of
from camgen.values import dataclass

__all__ = ["OF_ITS_SIZE", "Deed", "all_made", "at_hole", "deeds_of", "elsewhere",
           "features_of_job", "makes", "meant", "names_elsewhere", "within_reach", "works_round",
           "would_make"]

_Found = TypeVar("_Found")
# A cutter makes a hole of its own size where that is within this of the hole's, mm.
OF_ITS_SIZE = 0.006


@dataclass(frozen=True)
class Deed:
    """One step of a job: ``number`` is its setup's, ``step`` its own within that, both from 0.

    ``cutter`` is None where the job has none of that name.
    """

    number: int
    step: int
    setup: FlatSetup | HeadSetup | RoundSetup
    words: StepWords
    cutter: Cutter | None
    says: Declaration

    @property
    def at(self) -> tuple[str | int, ...]:
        """Where it stands in the job file."""
        return "setups", self.number, "steps", self.step, self.words.kind

    @property
    def flat(self) -> bool:
        """Whether it is done on flat work, and not on the dividing head."""
        return isinstance(self.setup, FlatSetup)

    @property
    def face(self) -> Face:
        """The part's face that it works at; what is on the head stands as the part is drawn."""
        return self.setup.face if isinstance(self.setup, FlatSetup) else "upper"

    @property
    def order(self) -> tuple[int, int]:
        """By which deeds are in the order in which they are done."""
        return self.number, self.step

    def makes(self, feature: Feature) -> bool:
        """Whether this step makes a feature, to whatever size."""
        return any(makes(self, made, feature) for made in self.says.makes)

    def would_make(self, feature: Feature) -> bool:
        """Whether this step makes a feature, or would with the other face up."""
        return any(would_make(self, made, feature) for made in self.says.makes)


def _for_the_last(find: Callable[[Job], _Found]) -> Callable[[Job], _Found]:
    """``find``, which remembers what it found of the job that it was asked of last.

    A job never changes; checks, plan and proofs ask the same of it for every step.
    """
    last: list[tuple[Job, _Found]] = []

    @wraps(find)
    def found(job: Job) -> _Found:
        for known, answer in last:
            if known is job:
                return answer
        answer = find(job)
        last[:] = [(job, answer)]
        return answer

    return found


@_for_the_last
def deeds_of(job: Job) -> tuple[Deed, ...]:
    """All steps of a job, in the order in which they are done."""
    return tuple(
        Deed(number, n, setup, words, job.cutters.get(words.cutter), words.declares())
        for number, said in enumerate(job.setups) for setup in said.given[:1]
        for n, words in enumerate(setup.steps)
    )


@_for_the_last
def features_of_job(job: Job) -> tuple[Feature, ...]:
    """All that the job's part has; nothing of a part that cannot be, which is told elsewhere."""
    try:
        return features_of(job.part, job.material)
    except Refused:
        return ()


def elsewhere(job: Job, feature: Feature) -> bool:
    """Whether another job or hand makes a feature, by the words of ``made-elsewhere``.

    They may be a sort, or the name of one thing with all that is at it, or one thing at a hole:
    ``threads``, ``screws`` or ``screws-thread``.
    """
    words = {*feature.elsewhere, *names_elsewhere(feature)} if job.made_elsewhere else ()
    return any(word in words for word in job.made_elsewhere)


def names_elsewhere(feature: Feature) -> frozenset[str]:
    """The names by which ``made-elsewhere`` may speak of a feature alone."""
    names = {feature.name, feature.group, *feature.at[2:3]}
    if isinstance(feature, Cone):
        names |= {f"{name}-{feature.mouth}"
                  for name in (feature.group, feature.name, *feature.at[2:3])}
    if isinstance(feature, Thread | OutsideThread):
        names |= {f"{name}-thread" for name in (feature.group, feature.name)}
    return frozenset(names - {""})


def within_reach(deed: Deed, feature: Hole | Thread | OutsideThread | Recess | Cone) -> bool:
    """Whether a feature can be cut with the face up that a step works at."""
    if isinstance(feature, Cone | Recess | OutsideThread):
        return feature.face == deed.face
    return feature.depth is None or feature.face == deed.face


def makes(deed: Deed, made: Made, feature: Feature) -> bool:
    """Whether something that a step makes is, or holds, a feature that it can reach."""
    reached = (not isinstance(feature, Hole | Cone | Thread | OutsideThread | Recess)
               or within_reach(deed, feature))
    return reached and would_make(deed, made, feature)


def would_make(deed: Deed, made: Made, feature: Feature) -> bool:
    """Whether something that a step makes is a feature, whichever face looks up."""
    match made:
        case MakesHoles():
            if isinstance(feature, RoundHole):
                return _makes_round(deed, made, feature)
            return isinstance(feature, Hole) and _means(deed, made, feature)
        case MakesCones():
            return isinstance(feature, Cone) and _means(deed, made, feature)
        case MakesThreads():
            return isinstance(feature, Thread) and _means(deed, made, feature)
        case MakesOutsideThreads():
            return (isinstance(feature, OutsideThread) and made.posts.means(feature.name)
                    and (made.posts.names is not None or _of_pitch(deed, feature)))
        case MakesPockets():
            return (isinstance(feature, Recess)
                    and made.pockets.means_some_of(feature.group or feature.name))
        case MakesOpenings():
            return isinstance(feature, Opening) and made.openings.means_some_of(feature.name)
        case MakesCrossing():
            return is_a(feature, CrossedOut)
        case MakesOutline():
            return is_a(feature, PartOutline)
        case MakesFace():
            return is_a(feature, Thickness)
        case MakesSpaces():
            return is_a(feature, Spaces)
        case MakesFlats():
            return isinstance(feature, Flats) and made.flats.means(feature.name)
        case MakesSlotsRound():
            return isinstance(feature, RoundSlot) and made.slots.means(feature.name)
        case MakesMarks() | SetsZero():
            return False


def meant(deed: Deed, made: AtHoles, feature: Hole | Cone | Thread) -> bool:
    """Whether a step works at a hole, at the cone at its mouth or at the thread in it."""
    return within_reach(deed, feature) and _means(deed, made, feature)


def _means(deed: Deed, made: AtHoles, feature: Hole | Cone | Thread) -> bool:
    if not deed.flat or not made.holes.means(feature.name, feature.group):
        return False
    if isinstance(made, MakesThreads) and isinstance(feature, Thread):
        return made.holes.names is not None or _size(deed, made, feature)
    return True


def _makes_round(deed: Deed, made: MakesHoles, hole: RoundHole) -> bool:
    """Whether a step brings holes round a turned part to their size, and to their floor's form."""
    return (works_round(deed, made, hole) and deed.cutter is not None
            and not (hole.flat and made.pointed)
            and abs(deed.cutter.diameter - hole.diameter) <= OF_ITS_SIZE)


def works_round(deed: Deed, made: AtHoles, hole: RoundHole) -> bool:
    """Whether a step means holes round a turned part, and is done at one."""
    return (isinstance(deed.setup, RoundSetup)
            and made.holes.means(hole.name, hole.group))


def _size(deed: Deed, made: MakesThreads, thread: Thread) -> bool:
    """Whether a step that names no holes is for a thread, by the size that it cuts."""
    if made.called is not None:
        called = _thread(made.called)
        return called is not None and called.cuts(thread.diameter, thread.pitch)
    cutter = deed.cutter
    return (cutter is not None and abs(cutter.diameter - thread.diameter) < 1e-6
            and abs((cutter.pitch or 0.0) - thread.pitch) < 1e-6)


def _of_pitch(deed: Deed, outside: OutsideThread) -> bool:
    """Whether the cutter of a step that names no posts has the pitch of a thread outside."""
    return deed.cutter is not None and deed.cutter.pitch is not None and (
        abs(deed.cutter.pitch - outside_thread_of(outside.called).thread.pitch) < 1e-6)


@lru_cache(maxsize=64)
def _thread(called: str) -> ScrewThread | None:
    """The thread called so; None for one that is told elsewhere to be none."""
    try:
        return thread_of(called)
    except Refused:
        return None


def at_hole(deed: Deed, hole: Hole, features: tuple[Feature, ...]) -> bool:
    """Whether a step cuts anything at a hole: it, a mark, or the cone or thread that it has."""
    for made in deed.says.at_holes:
        if isinstance(made, MakesHoles | MakesMarks):
            own: tuple[Hole | Cone | Thread, ...] = (hole,)
        else:
            own = tuple(one for one in features
                        if isinstance(one, Cone | Thread) and one.hole == hole)
        if any(meant(deed, made, one) for one in own
               if not isinstance(one, Cone) or isinstance(made, MakesCones)
               if not isinstance(one, Thread) or isinstance(made, MakesThreads)):
            return True
        if made.holes.names is not None and meant(deed, made, hole):
            return True
    return False


def all_made(deeds: tuple[Deed, ...], feature: Feature) -> Iterator[Deed]:
    """The steps that make a feature, in order."""
    return (deed for deed in deeds if deed.makes(feature))
