"""What to measure on a wheel as it is cut, which of it checks what, and what a deviation asks for.

Every figure is that of the wheel as cut at the moment of measuring. Depth is checked at the root;
it is offered as the remedy of another size only where it changes that size well.
"""

from __future__ import annotations

from collections.abc import Iterator

from camgen.faults import Refused
from camgen.job.models import HeadSetup, Job, StepWords
from camgen.layout import HeadWork
from camgen.layout.gauged import cutting_of
from camgen.make.chain import ProvedSetup
from camgen.messages import Message
from camgen.part.declaration import MakesSpaces
from camgen.sheet.data import Measure
from camgen.steps.typed import FAR_TIMES, correction_most
from camgen.teeth.cut.correcting import Gauges, Sized, deeper_for, gauges
from camgen.teeth.cut.odd_counts import OddCount, odd_count
from camgen.teeth.tooth import Tooth
from camgen.words import Words

__all__ = ["forming_step", "tooth_measures", "trials_cut"]

# What a tooth is said to be off by where its correction is told, mm.
OFF = 0.01


def forming_step(setup: HeadSetup) -> tuple[int, StepWords, MakesSpaces] | None:
    """The step that leaves the teeth as they stay: the last that cuts spaces, by its number."""
    found = [(number, step, made) for number, step in enumerate(setup.steps)
             for made in step.declares().makes
             if isinstance(made, MakesSpaces) and not made.cuts]
    return found[-1] if found else None


def trials_cut(setup: ProvedSetup, work: HeadWork) -> bool:
    """Whether its program cuts trial spaces short: not where it begins after them."""
    sections, forming = setup.planned.moves.sections, forming_step(work.setup)
    if forming is None:
        return False
    number, _, made = forming
    if setup.begins is not None and sections[0].step == number:
        return setup.begins < work.layout.spaces[0] + made.trials
    return any(section.step == number for section in sections)


def tooth_measures(
    job: Job, work: HeadWork, say: Words, *, trials: bool = True
) -> tuple[Measure, ...]:
    """What to measure of a wheel's teeth, in the order of measuring; of trial spaces where
    ``trials`` are cut."""
    try:
        asked = gauges(cutting_of(work.layout))
    except Refused:
        return ()  # told by the proof of the teeth
    return (*_before(work, asked, say), *(_trial(job, work, say) if trials else ()),
            *_finished(work, asked, say))


def _before(work: HeadWork, asked: Gauges, say: Words) -> Iterator[Measure]:
    touched = work.layout.zero == "touch"
    yield Measure(
        "blank-diameter", Sized.BLANK.value,
        2 * work.layout.blank_radius if work.layout.topped else asked.blank,
        correct=say.say(
            Message("measure before cutting; the zero is touched on it, so half of what it is off "
                    "is missing in the depth; the cutter takes what stands above the tips")
            if touched and work.layout.topped else
            Message("measure before cutting, turn to size where too large; the zero is touched on "
                    "it, so half of what it is off is missing in the depth") if touched else
            Message("measure before cutting, turn to size where too large; the depth counts from "
                    "the axis and not from it")))


def _trial(job: Job, work: HeadWork, say: Words) -> Iterator[Measure]:
    """The trial spaces' own depth and thickness, where they are cut short."""
    forming = forming_step(work.setup)
    if forming is None or not (forming[2].trials and forming[2].short):
        return
    _, step, made = forming
    try:
        asked = gauges(cutting_of(work.layout, job.cutters.get(step.cutter), made.short))
    except Refused:
        return
    infeed = work.layout.arrangement.infeed
    yield Measure(
        "trial-depth", "trial-depth", asked.depth, kept=False,
        correct=say.say(Message(
            "cut {short:g} short. Less deep than this by so much: move the zero of {axis} by so "
            "much towards {way}, the blank being at size; reckoned by camgen correct with "
            "trial-depth and blank", short=made.short, axis=infeed[1],
            way=infeed)))
    yield Measure(
        say.say(Message("Tooth between the trial spaces, at height {height:.3f}",
                        height=asked.height)),
        "trial-thickness", asked.thickness,
        correct=say.say(_by_depth(work.layout.tooth, asked)), kept=False)


def _finished(work: HeadWork, asked: Gauges, say: Words) -> Iterator[Measure]:
    tooth, readings = work.layout.tooth, asked.readings
    around = len(work.layout.spaces) == tooth.sizes.teeth
    odd = odd_count(cutting_of(work.layout), asked) if around else None
    yield Measure(
        "tip-diameter", Sized.TIP.value, readings[Sized.TIP], correct=say.say(
            Message("the cutter makes the tips too: every {off:g} deeper takes twice as much off, "
                    "and they are no measure of depth", off=OFF)
            if tooth_topped(tooth, asked) else
            Message("the cutter makes it, as deep as it goes") if work.layout.topped else
            Message("the turned blank makes it")))
    if odd is not None:
        yield Measure(
            say.say(Message("Over the tips, flat jaws over a tooth and the two across")),
            Sized.JAWS.value, odd.jaws, correct=say.say(Message(
                "the count is odd: jaws read {less:.3f} less than the tip diameter",
                less=odd.less)))
    yield Measure("whole-depth", Sized.DEPTH.value, readings[Sized.DEPTH], correct=say.say(
        Message("from the blank's outside: {off:g} too little is {off:g} deeper only where the "
                "blank is at size", off=OFF)))
    yield Measure(
        "tooth-thickness" if asked.height <= 0 else "chordal-thickness", Sized.THICKNESS.value,
        asked.thickness, at=asked.height, correct=say.say(_by_depth(tooth, asked)))
    yield Measure("root-diameter", Sized.ROOT.value, readings[Sized.ROOT], correct=say.say(
        Message("this checks the depth: {off:g} too large: go {half:.3f} mm deeper; {how}",
                off=OFF, half=OFF / 2, how=_over_root(asked, odd, around))))
    if odd is not None:
        yield Measure(say.say(Message("From a root to the tip across")), Sized.ROOT_TO_TIP.value,
                      odd.across, correct=say.say(Message(
                          "of this and the tips the root is reckoned: by the rule beside it, or by "
                          "camgen correct with root-to-tip and over-tips")))
    if asked.pins is not None and around:
        yield Measure(
            say.say(Message("Over two pins D {diameter:.2f}", diameter=asked.pins.diameter)),
            Sized.PINS.value, asked.pins.over, correct=say.say(Message(
                "root right, this too large: the cutter is too narrow; too small: it is too wide "
                "or runs out sideways; {off:g} deeper makes it {twice:g} smaller", off=OFF,
                twice=2 * OFF)))
    if asked.span is not None and (around or asked.span.teeth < len(work.layout.spaces)):
        yield Measure(
            say.say(Message("Across {teeth} teeth, flat jaws", teeth=asked.span.teeth)),
            Sized.SPAN.value, asked.span.reading, correct=say.say(Message(
                "it does not hang on the tips: root right, this too large: the cutter is too "
                "narrow; too small: it is too wide or runs out sideways")))


def tooth_topped(tooth: Tooth, asked: Gauges) -> bool:
    """Whether the flanks meet at the tip, so that a deeper cut takes of it."""
    wheel = asked.wheel
    return wheel.pointed or abs(wheel.left[-1] - wheel.right[-1]) < 0.02 * tooth.sizes.module


def _over_root(asked: Gauges, odd: OddCount | None, around: bool) -> Message:
    """How a root is measured that has another root across, or a tip, or no tooth at all."""
    if not around:
        return Message("from a root to the blank's outside across, {reading:.3f}, less half of "
                       "what is over the blank, twice",
                       reading=asked.wheel.root_radius + asked.blank / 2)
    if odd is None:
        return Message("over two spaces that lie across")
    if odd.topped:
        return Message(
            "the count is odd, so twice from a root to the tip across, {reading:.3f}, less the tip "
            "diameter: what flat jaws read over the tips and {less:.3f} more, or the blank as "
            "measured before cutting where that is smaller", reading=odd.across, less=odd.less)
    more, fewer = odd.shares
    return Message(
        "the count is odd, so twice from a root to the tip across, {reading:.3f}, less the blank "
        "as measured before cutting; or, by flat jaws over the tips: {root:.3f}, and {more:.2f} "
        "times what it is more than {reading:.3f}, less {fewer:.2f} times what the jaws read more "
        "than {jaws:.3f}", reading=odd.across, root=odd.root, more=more, fewer=fewer, jaws=odd.jaws)


def _by_depth(tooth: Tooth, asked: Gauges) -> Message:
    """How much deeper for a tooth too thick, where depth is the remedy; else what is the cause."""
    by = deeper_for(asked, OFF)
    most = correction_most(tooth.sizes.whole_depth, teeth=True)
    if by is None or by > FAR_TIMES * most:
        return Message(
            "the cutter makes it: {off:g} deeper changes it by {per:.4f}; where the root is right "
            "and this is not, the cutter's width or its centring is the cause", off=OFF,
            per=OFF * asked.thickness_slope)
    far = Message("{off:g} too thick, and the root {root:.3f} too large: go {by:.4f} mm deeper, "
                  "which takes far: true; with the root right the cutter's width or its centring "
                  "is the cause", off=OFF, root=2 * by, by=by)
    return far if by > most else Message(
        "{off:g} too thick, and the root {root:.3f} too large: go {by:.4f} mm deeper; with the "
        "root right the cutter's width or its centring is the cause", off=OFF, root=2 * by, by=by)
