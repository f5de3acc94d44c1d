"""From sizes as measured to the word of the job that makes them right, and why; or to the cause.

Lengths mm; what is told of them is in the units of the job.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field

from camgen.faults import Fault, Place, Refused, parted
from camgen.job.models import HeadSetup, Job, StepWords
from camgen.job.reading import JobFile
from camgen.layout import ToothLayout, tooth_layout
from camgen.layout.gauged import cutting_of
from camgen.make.runs.corrected_holes import hole_answers, hole_sizes
from camgen.make.runs.word_to_write import (
    Answer,
    WordToWrite,
    as_said,
    in_file_units,
    where,
)
from camgen.make.told.on_head.tooth_measures import forming_step, tooth_topped
from camgen.messages import NOTHING, Message
from camgen.part.declaration import Correction, MakesSpaces
from camgen.part.plates.plate import Plate
from camgen.proof.head.tooth_form import corrected_pair
from camgen.shop.machine import Machine
from camgen.steps.typed import FAR_TIMES, correction_most
from camgen.teeth.cut.correcting import (
    LEAST_SLOPE,
    Cutting,
    Gauges,
    Reckoned,
    Sized,
    foretold,
    gauges,
    reckoned_from,
    with_pins,
)
from camgen.teeth.cut.odd_counts import odd_count, with_root_and_tip
from camgen.values import dataclass

__all__ = ["MeasuredSizes", "corrected"]

# Depth is right to this, mm; a size that is off by more than the other is told.
RIGHT, TOLD = 0.0005, 0.002
# Two readings that say the cutter is so much differently wide contradict each other, mm.
CONTRADICT = 0.004
# A tooth or a span that differs by more than this share of the module is a slip of the pen, and so
# is a depth that differs by more than a correction may mean. Common practice, no source.
SLIP = 0.3
# How sizes may be called for short.
SHORT = {"thickness": Sized.THICKNESS.value, "depth": Sized.DEPTH.value,
         "pins": Sized.PINS.value, "across": Sized.SPAN.value, "jaws": Sized.JAWS.value}
_MEASURED = {
    Sized.PINS: Message("over pins"), Sized.SPAN: Message("across several teeth"),
    Sized.JAWS: Message("so: the count is even, the jaws read the tip"),
    Sized.ROOT_TO_TIP: Message("so: the count is even, and a root lies across a root")}
# What needs a tooth or a space on the other side of the axis.
_ACROSS = (Sized.PINS, Sized.JAWS, Sized.ROOT_TO_TIP)
TRIAL = {"trial-depth": Sized.DEPTH, "trial-thickness": Sized.THICKNESS}


@dataclass(frozen=True)
class MeasuredSizes:
    """What was measured, mm, by the names of the sizes, and how.

    ``height`` is where the caliper's stop stood, ``pins`` the diameter of the pins, where not as
    the sheet has them. ``setup`` and ``step``, from 1, are named where several are possible.
    """

    sizes: Mapping[str, float]
    height: float | None = None
    pins: float | None = None
    setup: str | None = None
    step: int | None = None
    named: Mapping[str, str] = field(default_factory=dict)
    file: str = ""


@dataclass(frozen=True)
class _Teeth:
    """The step whose teeth were measured, and what stands on the head there."""

    setup: HeadSetup
    number: int
    step: StepWords
    made: MakesSpaces
    layout: ToothLayout

    @property
    def correction(self) -> Correction:
        """What the step takes of the depth."""
        return next(one for one in self.step.declares().corrections if one.added == "depth")

    @property
    def where(self) -> Message:
        """The step, as a person finds it."""
        return where(self.setup.name, self.number, self.step.kind)


def corrected(job_file: JobFile, machine: Machine, measured: MeasuredSizes) -> Answer:
    """What the sizes measured ask for. Raises Refused for those that the job has not, that are
    slips of the pen, or where it is not said which setup is meant."""
    job = job_file.job
    toothed = not isinstance(job.part, Plate)
    sizes = {(SHORT.get(name, name) if toothed else name): value
             for name, value in measured.sizes.items()}
    known = {*(one.value for one in Sized), *TRIAL} if job.on_head else set()
    of_teeth = {name: value for name, value in sizes.items() if name in known}
    others = {name: value for name, value in sizes.items() if name not in known}
    _known(job, others, known, measured)
    answer = hole_answers(job_file, others, measured.setup, measured.file)
    if not of_teeth:
        return answer
    teeth = _which(job_file, machine, measured, trial=any(name in TRIAL for name in of_teeth))
    return _joined((answer, _of_teeth(job, teeth, of_teeth, measured)))


def _joined(answers: Iterable[Answer]) -> Answer:
    told = tuple(answers)
    return Answer(tuple(line for one in told for line in one.told),
                  tuple(word for one in told for word in one.words))


def _known(job: Job, others: Mapping[str, float], known: set[str], measured: MeasuredSizes) -> None:
    have = [*hole_sizes(job), *(one for one in (*(size.value for size in Sized), *TRIAL)
                                if one in known)]
    faults = [Fault(Message("no size of this job is called '{name}'", name=name),
                    Message("it has {names}", names=tuple(have)),
                    Place(measured.file, path=name)) for name in others if name not in have]
    if faults:
        raise Refused(faults)


def _which(job_file: JobFile, machine: Machine, measured: MeasuredSizes, *, trial: bool) -> _Teeth:
    """The step that is meant: the one that leaves the teeth, or the one that is named."""
    job = job_file.job
    setups = [one for one in job.on_head if measured.setup in (None, one.name)]
    able = [(setup, forming) for setup in setups
            if (forming := _named_step(setup, measured.step)) is not None]
    if trial:
        able = [one for one in able if one[1][2].trials and one[1][2].short]
    if len(able) != 1:
        if able:
            raise Refused(Fault(
                Message("it is not clear in which setup these teeth were cut"),
                Message("name it with --setup: {names}",
                        names=tuple(setup.name for setup, _ in able)), Place(str(job_file.path))))
        raise Refused(Fault(
            Message("no trial spaces are cut short in this job"),
            Message("measure the finished sizes, or write trial-short"),
            Place(str(job_file.path))) if trial else Fault(
            Message("no step there cuts teeth"),
            Message("they are cut in: {steps}", steps=parted(
                where(one.name, found[0], found[1].kind) for one in job.on_head
                if (found := forming_step(one)) is not None)), Place(str(job_file.path))))
    setup, (number, step, made) = able[0]
    return _Teeth(setup, number, step, made, tooth_layout(job, setup, machine))


def _named_step(
    setup: HeadSetup, number: int | None
) -> tuple[int, StepWords, MakesSpaces] | None:
    if number is None:
        return forming_step(setup)
    if not 1 <= number <= len(setup.steps):
        return None
    step = setup.steps[number - 1]
    return next(((number - 1, step, made) for made in step.declares().makes
                 if isinstance(made, MakesSpaces)), None)


def _of_teeth(
    job: Job, teeth: _Teeth, sizes: Mapping[str, float], measured: MeasuredSizes
) -> Answer:
    trial = {TRIAL[name]: value for name, value in sizes.items() if name in TRIAL}
    whole = {Sized(name): value for name, value in sizes.items() if name not in TRIAL}
    if trial and set(whole) - {Sized.BLANK, Sized.TIP}:
        raise Refused(Fault(
            Message("sizes of the trial spaces and of the finished teeth are given together"),
            Message("give those of one moment"), Place(measured.file)))
    cutting = cutting_of(teeth.layout, job.cutters.get(teeth.step.cutter),
                         teeth.made.short if trial else 0.0)
    asked = gauges(cutting)
    if measured.pins is not None:
        asked = with_pins(asked, measured.pins)
    readings = {**whole, **trial}
    _bounded(job, cutting, asked, readings, measured)
    odd = odd_count(cutting, asked)
    if odd is not None:
        readings = with_root_and_tip(odd, readings)
    tells = reckoned_from(cutting, asked, readings, measured.height)
    return _joined(_told(job, teeth, cutting, asked, readings, tells, bool(trial)))


def _bounded(job: Job, cutting: Cutting, asked: Gauges, readings: Mapping[Sized, float],
             measured: MeasuredSizes) -> None:
    """Raises Refused for readings that are slips of the pen, each asked back."""
    far = FAR_TIMES * correction_most(cutting.tooth.sizes.whole_depth, teeth=True)
    slip = SLIP * cutting.tooth.sizes.module
    most = {Sized.DEPTH: far, Sized.THICKNESS: slip, Sized.SPAN: slip}
    across = (_none_across(cutting, asked, which, measured) for which in readings)
    faults = [fault for fault in across if fault is not None]
    if faults:
        raise Refused(faults)
    meant = {which: value for which, value in asked.readings.items()
             if not (cutting.tooth.part_circle and which in _ACROSS)}
    deep = cutting.tooth.sizes.whole_depth
    if measured.height is not None and not measured.height < deep:
        faults.append(Fault(
            Message("a caliper whose stop stands {height} below the tip does not measure a tooth: "
                    "the space is {deep} deep", height=as_said(job, measured.height),
                    deep=as_said(job, deep)),
            Message("look at its point and write it again"), Place(measured.file, path="--height")))
    for which, value in readings.items():
        if which not in meant:
            faults.append(Fault(
                Message("these teeth cannot be measured {how}",
                        how=_MEASURED[which]),
                Message("measure the root, and a tooth by caliper"), Place(measured.file,
                                                                         path=which.value)))
        elif which is Sized.TIP and Sized.JAWS in meant and abs(value - meant[Sized.JAWS]) < min(
                abs(value - meant[which]), (meant[which] - meant[Sized.JAWS]) / 2):
            faults.append(Fault(
                Message("tip measured {value} is what flat jaws read, not the tip diameter: the "
                        "count is odd", value=as_said(job, value)),
                Message("write over-tips={value}", value=in_file_units(job, value)),
                Place(measured.file, path=which.value)))
        elif not abs(value - meant[which]) <= most.get(which, 2 * far) + 1e-9:
            faults.append(Fault(
                Message("{name} measured {value}, should be {meant}", name=which.value,
                        value=as_said(job, value), meant=as_said(job, meant[which])),
                Message("look at its point and write it again; where a piece truly measured so far "
                        "off, look for the cause first: zero, blank, diameter of the cutter, "
                        "made-for"), Place(measured.file, path=which.value)))
    if faults:
        raise Refused(faults)


def _none_across(
    cutting: Cutting, asked: Gauges, which: Sized, measured: MeasuredSizes
) -> Fault | None:
    """A reading that teeth round part of the circle do not give; None where they do."""
    tooth, place = cutting.tooth, Place(measured.file, path=which.value)
    if not tooth.part_circle:
        return None
    if which in _ACROSS:
        return Fault(
            Message("{name} needs teeth that stand across from one another, and these stand round "
                    "part of the circle", name=which.value),
            Message("measure from a root to the blank's outside across; twice that, less the "
                    "blank's diameter, is the root: write root={root:.3f} where all is right",
                    root=asked.readings[Sized.ROOT]), place)
    if which is Sized.SPAN and asked.span is not None and asked.span.teeth >= len(tooth.spaces):
        return Fault(
            Message("across {teeth} teeth cannot be measured where {count} spaces are cut",
                    teeth=asked.span.teeth, count=len(tooth.spaces)),
            Message("measure the root, and a tooth by caliper"), place)
    return None


def _told(job: Job, teeth: _Teeth, cutting: Cutting, asked: Gauges,
          readings: Mapping[Sized, float], tells: Reckoned, trial: bool) -> Iterable[Answer]:
    if tells.deeper is None:
        yield Answer(tuple(_nothing_told(job, teeth, asked, readings)))
        return
    yield _depth(job, teeth, readings, tells, trial)
    told = [*_blank(job, teeth, asked, readings, tells),
            *_width(job, teeth, cutting, asked, readings, tells, trial)]
    yield Answer(tuple(told))


def _nothing_told(job: Job, teeth: _Teeth, asked: Gauges,
                  readings: Mapping[Sized, float]) -> Iterable[Message]:
    """No depth can be concluded from what was measured."""
    gave = [which for which in readings if which not in (Sized.BLANK, Sized.TIP)]
    if not gave:
        yield Message("{where}: blank and tips tell nothing of depth and cutter: measure the root "
                      "too", where=teeth.where)
    elif asked.thickness_slope < LEAST_SLOPE:
        yield Message("{where}: depth is no remedy here: 0.01 mm deeper changes the reading by "
                      "{per:.4f} mm; where the tooth is off, the cutter's width or its centring is "
                      "the cause; measure the root too, it tells the depth", where=teeth.where,
                      per=0.01 * asked.thickness_slope)
    else:
        yield Message("{where}: this tells neither depth nor cutter: measure the root too",
                      where=teeth.where)


def _depth(job: Job, teeth: _Teeth, readings: Mapping[Sized, float], tells: Reckoned,
           trial: bool) -> Answer:
    """What to write for the depth, or to shift by at the trial pause."""
    assert tells.deeper is not None
    off, now = -tells.deeper, teeth.correction.value
    new = round(now + off, 3) + 0.0
    why = (Message("the trial spaces are {by} too deep, and still short of the finished depth",
                   by=as_said(job, -off)) if trial and off < 0 and not tells.supposed else
           _why_depth(job, readings, off, tells.supposed))
    if abs(off) < RIGHT:
        return Answer((Message("{where}: the depth is right: leave {word} as it is, {now}",
                               where=teeth.where, word=teeth.correction.word,
                               now=as_said(job, now)),))
    infeed = teeth.layout.arrangement.infeed
    way = infeed if off > 0 else f"{'+' if infeed[0] == '-' else '-'}{infeed[1]}"
    shift = Message("move the zero of {axis} by {by} towards {way}", axis=infeed[1],
                    by=as_said(job, abs(off)), way=way)
    refused = _refused(job, teeth, new)
    if trial and off < 0 and -off > teeth.made.short - RIGHT:
        return Answer((Message(
            "{where}: so measured, a space is as deep as the finished ones shall be, or deeper: "
            "one that is cut to its whole depth is given as {depth} or {root}; only where it was "
            "measured at the pause, what is cut stays so: look for the cause before going on",
            where=teeth.where, depth=Sized.DEPTH.value, root=Sized.ROOT.value),))
    if refused and trial:
        return Answer((Message("{where}: {why}; before going on {shift}, and look for the cause",
                               where=teeth.where, why=why, shift=shift),))
    if refused:
        return Answer((Message("{where}: {why}; {shift}, and look for the cause: {word}: {new} "
                               "would be refused, {refused}", where=teeth.where, why=why,
                               shift=shift, word=teeth.correction.word, new=as_said(job, new),
                               refused=refused),))
    most = correction_most(teeth.layout.tooth.sizes.whole_depth, teeth=True)
    far = abs(new) > most + 1e-9 and not teeth.step.far
    word = WordToWrite(teeth.setup.name, teeth.number, teeth.step.kind, teeth.correction.word, now,
                       new, far, tells.supposed)
    if trial:
        return Answer((Message(
            "{where}: {why}; before going on {shift}; and in the job, for the next run: {word}",
            where=teeth.where, why=why, shift=shift, word=word.told(job)),), (word,))
    return Answer((Message("{where}: {why}; write {word}", where=teeth.where, why=why,
                           word=word.told(job)),), (word,))


def _why_depth(job: Job, readings: Mapping[Sized, float], off: float, supposed: bool) -> Message:
    by = as_said(job, abs(off))
    if supposed:
        return (Message("if the cutter is right, the teeth are {by} not deep enough (measure the "
                        "root to know)", by=by) if off > 0 else
                Message("if the cutter is right, the teeth are {by} too deep (measure the root to "
                        "know)", by=by))
    by_root = Sized.ROOT in readings
    if off > 0:
        return (Message("the root says {by} not deep enough", by=by) if by_root else
                Message("the spaces are {by} not deep enough", by=by))
    return (Message("the root says {by} too deep; what is cut stays so, the next run", by=by)
            if by_root else Message("the spaces are {by} too deep; what is cut stays so, the next "
                                    "run", by=by))


def _refused(job: Job, teeth: _Teeth, new: float) -> Message:
    """Why the job would be refused with this correction; nothing where it is not."""
    far = FAR_TIMES * correction_most(teeth.layout.tooth.sizes.whole_depth, teeth=True)
    if abs(new) > far + 1e-9:
        return Message("{far} is the most that a cutter or a zero is off by",
                       far=as_said(job, far))
    cutter = job.cutters.get(teeth.step.cutter)
    if cutter is None:
        return NOTHING
    try:
        return corrected_pair(job.part, cutter, new)
    except (Refused, ValueError):
        return NOTHING


def _blank(job: Job, teeth: _Teeth, asked: Gauges, readings: Mapping[Sized, float],
           tells: Reckoned) -> Iterable[Message]:
    """What of it the blank is the cause of, and tips that no word brings back."""
    assert tells.deeper is not None
    off = readings.get(Sized.BLANK, asked.blank) - asked.blank
    if abs(off) > TOLD:
        by = as_said(job, abs(off))
        size = Message("the blank is {by} too large", by=by) if off > 0 else Message(
            "the blank is {by} too small", by=by)
        if teeth.layout.zero == "touch":
            rest = as_said(job, round(teeth.correction.value - tells.deeper - off / 2, 3) + 0.0)
            yield Message("{size} and was touched for the zero: of the depth {half} comes of that; "
                          "with blanks at size it is {word}: {rest}", size=size,
                          half=as_said(job, off / 2), word=teeth.correction.word, rest=rest)
        elif off > 0 and not tooth_topped(teeth.layout.tooth, asked):
            yield Message("{size}: turn the next to size; the depth does not hang on it",
                          size=size)
        elif off < 0:
            yield Message("{size}: the tips stay low, no depth brings them back; turn the next to "
                          "size", size=size)


def _width(job: Job, teeth: _Teeth, cutting: Cutting, asked: Gauges,
           readings: Mapping[Sized, float], tells: Reckoned, trial: bool) -> Iterable[Message]:
    """What the cutter's width does, which depth does not mend."""
    if tells.apart > CONTRADICT:
        yield Message("caliper, pins or jaws contradict each other by {apart}: measure again; "
                      "where they stand, the teeth lean: look at the centring",
                      apart=as_said(job, tells.apart))
        return
    if tells.wider is None:
        if not tells.supposed:
            yield Message("nothing measured tells the cutter's width: give a tooth's thickness too")
        return
    if abs(tells.wider) <= TOLD:
        yield Message("the cutter's width is right")
    else:
        wide = as_said(job, abs(tells.wider))
        yield (Message("the spaces are {wide} too wide: the cutter is, or it runs out sideways; "
                       "no depth mends that, look at how it sits on its arbor", wide=wide)
               if tells.wider > 0 else
               Message("the spaces are {wide} too narrow: the cutter is, worn or ground so; depth "
                       "would spoil the root for it", wide=wide))
    if trial:
        return
    meant = gauges(Cutting(cutting.tooth, cutting.tooth, cutting.blank_radius)).readings
    if asked.pins is not None and Sized.PINS in meant:
        meant[Sized.PINS] = with_pins(
            gauges(Cutting(cutting.tooth, cutting.tooth, cutting.blank_radius)),
            asked.pins.diameter).readings[Sized.PINS]
    off = [Message("{name} {value} for {meant}", name=which.value, value=as_said(job, value),
                   meant=as_said(job, meant[which]))
           for which, value in foretold(tells, asked).items()
           if which in meant and abs(value - meant[which]) > TOLD]
    if off:
        yield Message("at the right depth this cutter leaves: {sizes}", sizes=parted(off))
