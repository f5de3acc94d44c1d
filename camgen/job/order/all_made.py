"""Whether a job makes all that it says, and in an order that can be.

A feature that no step makes would be missing on the finished piece with nothing said. So each has
a step that makes it, or stands under ``made-elsewhere``. Blanks that only go on the dividing head
come to it turned and bored: such a job needs no word for that.
"""

from __future__ import annotations

from collections.abc import Iterator

from camgen.faults import Fault, did_you_mean
from camgen.job.checks.broken_walls import wall_faults
from camgen.job.file import JobFile
from camgen.job.models import SORTS, HeadSetup, Job, Setup
from camgen.job.order.deeds import (
    Deed,
    deeds_of,
    elsewhere,
    features_of_job,
    makes,
    meant,
    names_elsewhere,
    works_round,
)
from camgen.job.order.found import blank_faults, blank_from_elsewhere
from camgen.job.order.holes_made import hole_faults
from camgen.job.order.idle import idle_faults
from camgen.job.order.opened import opened_before, opening_faults
from camgen.messages import Message, counted
from camgen.part.called import mouth_called, thing_called
from camgen.part.declaration import (
    LeavesSkin,
    LeavesTabs,
    MakesMarks,
    MakesOutline,
    MakesOutsideThreads,
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
    Whole,
    is_a,
)
from camgen.part.plates.plate import Plate
from camgen.shop.cutters import Ability, record_of

__all__ = ["making_faults", "missing_faults", "order_remarks", "stack_remarks"]


def making_faults(job_file: JobFile) -> list[Fault]:
    """Features that no step makes, and setups and steps in an order in which they cannot be done.

    Of a wheel that has no flat setup the blank comes from elsewhere.
    """
    job = job_file.job
    deeds, features = deeds_of(job), features_of_job(job)
    blank = list(blank_faults(job_file, features))
    if blank_from_elsewhere(job):
        features = tuple(one for one in features if is_a(one, Spaces))
    holes = hole_faults(job_file, deeds, features)
    return [*blank, *holes, *_unmade(job_file, deeds, features), *opening_faults(job_file),
            *wall_faults(job_file), *_threaded_twice(job_file, deeds, features),
            *_sunk_first(job_file, deeds, features), *idle_faults(job_file),
            *_setups_in_order(job_file, deeds), *_names_elsewhere(job_file, features)]


def missing_faults(job_file: JobFile) -> list[Fault]:
    """Features that no step makes, whatever the order of the steps and what each finds open."""
    job = job_file.job
    deeds, features = deeds_of(job), features_of_job(job)
    if blank_from_elsewhere(job):
        features = tuple(one for one in features if is_a(one, Spaces))
    return [*hole_faults(job_file, deeds, features), *_unmade(job_file, deeds, features),
            *_names_elsewhere(job_file, features)]


def _unmade(
    job_file: JobFile, deeds: tuple[Deed, ...], features: tuple[Feature, ...]
) -> Iterator[Fault]:
    """Everything but holes that no step makes and the job does not say is made elsewhere."""
    job = job_file.job
    told: set[tuple[str, ...]] = set()
    for one in sorted(features, key=lambda one: isinstance(one, Recess)):
        # How thick the part is left hangs on its stock: that is looked at with the setups.
        if (isinstance(one, Hole) or is_a(one, Thickness) or one.at in told
                or elsewhere(job, one)):
            continue
        if is_a(one, PartOutline) and not _has_edge_to_cut(job):
            continue
        # On the wrong face is told with the faces; a thread has none of its own.
        threaded = isinstance(one, Thread | OutsideThread)
        if isinstance(one, OutsideThread) and _finds_none(deeds, features):
            continue
        if not any(deed.makes(one) if threaded else deed.would_make(one) for deed in deeds):
            told.add(one.at)
            other = _of_another_size(job_file, deeds, features, one)
            if other is not None:
                yield other
                continue
            what, word, step = _in_words(one)
            # The word for how many there are says that there are any.
            at = (one.at[0], _of_teeth(one)) if is_a(one, Spaces) else one.at
            yield Fault(Message("no step makes {what}", what=what),
                        Message("add the step - {step}: {typed}, or say made-elsewhere: [{word}] "
                                "where another job or hand does", step=step, typed="{cutter: …}",
                                word=word), job_file.place(*at, key=True))


def _finds_none(deeds: tuple[Deed, ...], features: tuple[Feature, ...]) -> bool:
    """Whether a step for threads outside makes none of them: why is told with the step."""
    return any(deed.says.makes_a(MakesOutsideThreads) and not any(
        deed.makes(one) for one in features) for deed in deeds)


def _of_another_size(
    job_file: JobFile, deeds: tuple[Deed, ...], features: tuple[Feature, ...], thread: Feature
) -> Fault | None:
    """A thread that no step makes, beside a step that makes none of the part's threads: its cutter,
    or the thread that it names, is of another size."""
    if isinstance(thread, RoundHole):
        return _round_of_another_size(job_file, deeds, thread)
    if not isinstance(thread, Thread):
        return None
    for deed in deeds:
        for made in deed.says.threads:
            cutter = deed.cutter
            if cutter is None or any(makes(deed, made, one) for one in features):
                continue
            name = deed.words.cutter
            its = Message("the thread of {name} is {diameter:g} mm with pitch {pitch:g} mm",
                          name=thread.group or thread.name, diameter=thread.diameter,
                          pitch=thread.pitch)
            if made.called is not None:
                return Fault(Message("no hole has a thread {called}, which {kind} makes: {its}",
                                     called=made.called, kind=deed.words.kind, its=its),
                             Message("name that thread in the step, or give the hole the other"),
                             job_file.place(*deed.at, "thread"))
            word, value = (("diameter", thread.diameter)
                           if abs(cutter.diameter - thread.diameter) > 1e-6
                           else ("pitch", thread.pitch))
            return Fault(Message("{kind} finds no hole of its thread: {name} cuts {diameter:g} mm "
                                 "with pitch {pitch:g} mm, and {its}", kind=deed.words.kind,
                                 name=name, diameter=cutter.diameter, pitch=cutter.pitch or 0.0,
                                 its=its),
                         Message("write {word}: {value:g} with {name} where that is what it is, "
                                 "or take the tap of that thread", word=word, value=value,
                                 name=name), job_file.place("cutters", name, word))
    return None


def _round_of_another_size(
    job_file: JobFile, deeds: tuple[Deed, ...], hole: RoundHole
) -> Fault | None:
    """Holes round a turned part that steps are done at, the last of them of another size."""
    at = [deed for deed in deeds if deed.cutter is not None
          and any(works_round(deed, made, hole) for made in deed.says.holes)]
    if not at or at[-1].cutter is None:
        return None
    return Fault(Message("{cutter}, {size:g} mm, does not make the holes {name}, {wide:g} mm",
                         cutter=at[-1].words.cutter, size=at[-1].cutter.diameter, name=hole.name,
                         wide=hole.diameter),
                 Message("a cutter of {wide:g} mm, or name other holes", wide=hole.diameter),
                 job_file.place(*at[-1].at, "cutter"))


def _threaded_twice(
    job_file: JobFile, deeds: tuple[Deed, ...], features: tuple[Feature, ...]
) -> Iterator[Fault]:
    """Threads both tapped and milled, or tapped twice by one tap: the second crosses the first.

    A set of taps, each its own, may follow one another.
    """
    told: set[str] = set()
    for one in features:
        if isinstance(one, OutsideThread):
            makers = [deed for deed in deeds if deed.makes(one)]
            if len(makers) > 1:
                yield Fault(Message("the thread of {group} is made by {kind} and again by {other}: "
                                    "the second crosses the first", group=one.name,
                                    kind=makers[0].words.kind, other=makers[1].words.kind),
                            Message("leave one of the two steps out, or name other posts in it"),
                            job_file.place(*makers[1].at, key=True))
        if not isinstance(one, Thread):
            continue
        by = [(deed, made.round) for deed in deeds for made in deed.says.threads
              if deed.makes(one)]
        other = next((deed for deed, way in by[1:]
                      if way != by[0][1]
                      or (not way and deed.words.cutter == by[0][0].words.cutter)),
                     None)
        group = one.group or one.name
        if other is not None and group not in told:
            told.add(group)
            yield Fault(Message("the thread of {group} is made by {kind} and again by {other}: "
                                "the second crosses the first", group=group,
                                kind=by[0][0].words.kind, other=other.words.kind),
                        Message("leave one of the two steps out, or name other holes in it"),
                        job_file.place(*other.at, key=True))


def _sunk_first(
    job_file: JobFile, deeds: tuple[Deed, ...], features: tuple[Feature, ...]
) -> Iterator[Fault]:
    """Cones sunk before anything is open there by cutters whose lips do not meet in a point.

    Such a countersink follows its hole; in whole metal it wanders and chatters. Common practice, no
    source.
    """
    job = job_file.job
    told: set[tuple[tuple[int, int], str]] = set()
    for deed in deeds:
        if deed.cutter is None or not deed.flat or record_of(deed.cutter).can(Ability.SPOT):
            continue
        for one in features:
            group = one.group or one.name
            if (not isinstance(one, Cone) or not deed.makes(one) or (deed.order, group) in told
                    or opened_before(job, deed.number, deed.step, one.hole)
                    or any(isinstance(made, MakesMarks) and meant(mark, made, one.hole)
                           for mark in deeds if mark.order < deed.order
                           and mark.face == deed.face for made in mark.says.makes)):
                continue
            told.add((deed.order, group))
            later = next((made for made in deeds if made.makes(one.hole)), None)
            yield Fault(Message("{cutter}, a {kind}, sinks {group} before any step opens or spots "
                                "it: its lips do not meet in a point, and in whole metal it "
                                "wanders", cutter=deed.words.cutter, kind=deed.cutter.kind,
                                group=group),
                        Message("put the step that drills it before this one, or spot it first")
                        if later is None else
                        Message("put step {step} of {name}, which makes it, before it, or spot it "
                                "first", step=later.step + 1, name=later.setup.name),
                        job_file.place(*deed.at, "cutter"))


def _has_edge_to_cut(job: Job) -> bool:
    """A single disc may be turned to size before it comes here; a sheet is not."""
    return isinstance(job.part, Plate) or any(
        setup.stock.rectangle or setup.repeat for setup in job.flat)


def _in_words(one: Feature) -> tuple[Message, str, str]:
    """What a feature is called, its word for ``made-elsewhere``, and a step that would make it."""
    name = one.group or one.name
    match one:
        case Whole(thing=Spaces()):
            return (Message("the teeth") if one.at[0] == "wheel" else Message("the leaves"),
                    "teeth", "cut-teeth")
        case Whole(thing=CrossedOut()):
            return Message("the crossing"), "crossing", "cross-out"
        case Whole(thing=PartOutline()):
            return (Message("the plate's outline") if one.at[0] == "plate"
                    else Message("the blank's outline"), "outline", "outline")
        case Opening():
            return thing_called(one.elsewhere[0], name), one.elsewhere[0], "cut-out"
        case Recess():
            return thing_called(one.elsewhere[0], name), one.elsewhere[0], "pocket"
        case Cone():
            return mouth_called(one.mouth, name), one.elsewhere[-1], "countersink"
        case Thread():
            return Message("the thread of {name}", name=name), "threads", "tap"
        case OutsideThread():
            return (Message("the thread outside on the post {name}", name=name), "threads",
                    "outside-thread")
        case Flats():
            return Message("the flats {name}", name=name), "flats", "mill-flats"
        case RoundSlot():
            return Message("the slots {name}", name=name), "slots", "mill-slots"
        case RoundHole():
            return Message("the holes {name}", name=name), "holes", (
                "counterbore" if one.flat else "drill")
        case Hole() | Whole():
            return thing_called(one.elsewhere[0], name), one.elsewhere[0], "bore"


def _of_teeth(one: Feature) -> str:
    """The word of a part that says how many teeth it has."""
    return "teeth" if one.at[0] == "wheel" else "leaves"


def _names_elsewhere(job_file: JobFile, features: tuple[Feature, ...]) -> Iterator[Fault]:
    """Words of ``made-elsewhere`` that are neither a sort nor the name of something."""
    job = job_file.job
    if not features:
        return  # told where the part itself is looked at
    known = {word for one in features for word in names_elsewhere(one)}
    for number, word in enumerate(job.made_elsewhere):
        if word in SORTS or word in known:
            continue
        yield Fault(Message("nothing of the part is called {word}", word=word),
                    did_you_mean(word, sorted({*SORTS, *known}),
                                 Message("a name of the part's own, or one of {sorts}",
                                         sorts=tuple(SORTS))),
                    job_file.place("made-elsewhere", number))


def _setups_in_order(job_file: JobFile, deeds: tuple[Deed, ...]) -> Iterator[Fault]:
    """Teeth cut before the blank is there, or before the bore that the arbor goes through."""
    job = job_file.job
    for number, setup in enumerate(one.work for one in job.setups):
        if not isinstance(setup, HeadSetup):
            continue
        outlines = [deed for deed in deeds if deed.says.makes_a(MakesOutline)]
        bores = [deed for deed in deeds if any(True for _ in deed.says.holes)]
        bored, late = False, next((deed for deed in outlines if deed.number > number), None)
        if (late is None and setup.dividing.stack > 1 and "bore" not in job.made_elsewhere
                and not any(deed.number < number for deed in bores)):
            bored, late = True, next((deed for deed in bores if deed.number > number), None)
        if late is not None:
            late = min((deed for deed in (*outlines, *bores) if deed.number > number),
                       key=lambda deed: deed.order)
            names = {"name": setup.name, "other": late.setup.name}
            yield Fault(Message("setup {name} cuts the teeth before setup {other}, in which the "
                                "blank is bored", **names) if bored else
                        Message("setup {name} cuts the teeth before setup {other}, in which the "
                                "blank is cut out", **names),
                        Message("put {name} first", name=late.setup.name),
                        job_file.place("setups", number, "name"))


def order_remarks(setup: Setup) -> tuple[Message, ...]:
    """What comes after the piece was set free but for its tabs, a skin or what holds it below.

    An outline that leaves the piece loose is refused where the step is planned.
    """
    says = [step.declares() for step in setup.steps]
    free = [number for number, one in enumerate(says) if one.makes_a(MakesOutline)]
    if not free:
        return ()
    rest = [step for step, one in zip(setup.steps[free[0] + 1:], says[free[0] + 1:], strict=True)
            if not one.makes_a(MakesOutline)]
    if not rest:
        return ()
    held = says[free[0]].held_by
    by = (Message("its tabs") if isinstance(held, LeavesTabs) else
          Message("a skin") if isinstance(held, LeavesSkin) else Message("what it lies on"))
    return (Message("outline comes before {what}: from then on the piece is held by {by} alone; "
                    "outline is best last", what=rest[0].called, by=by),)


def stack_remarks(job: Job) -> tuple[Message, ...]:
    """Stacks of more blanks than there are pieces asked for."""
    return tuple(
        counted("stack of {stack}, but {n} piece is asked for",
                "stack of {stack}, but {n} pieces are asked for", job.quantity,
                stack=setup.dividing.stack)
        for setup in job.on_head if setup.dividing.stack > job.quantity
    )
